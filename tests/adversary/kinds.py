"""What is tried, by name: each kind makes one trial out of a folder and a source of chance.

A trial is the text that shows what was tried, and a call that tries it and gives back how it ended and what was wrong.
"""

from __future__ import annotations

import json
import random
import re
import shutil
from collections.abc import Callable, Iterable
from contextlib import chdir
from pathlib import Path
from typing import Any, Final

import platekit
from platekit.cli import Exit
from platekit.errors import PlatekitError
from platekit.page.acts import done
from platekit.page.desk import Desk
from platekit.page.picture import taken
from platekit.spec.machine import load_machine
from tests.adversary import advice, commands, drawings, grammar, pictures, runs, small_files
from tests.adversary.spoil import spoilt
from tests.jobs.test_read import spec_text

SPECS: Final = Path(platekit.__file__).parent.parent / "specs"

Trial = tuple[str, Callable[[], tuple[str, list[str]]]]
Kind = Callable[[random.Random, Path], Trial]


def with_specs(folder: Path) -> Path:
    """The folder, with the example specs and all that they name in it."""
    if not (folder / "machines").exists():
        shutil.copytree(SPECS, folder, dirs_exist_ok=True)
        (folder / "printers").mkdir()
        (folder / "printers" / "office.yaml").write_text(small_files.PRINTER, "utf-8")
    return folder


def a_spec(rng: random.Random) -> bytes:
    """One of the example specs."""
    return rng.choice(sorted(SPECS.glob("*.yaml"))).read_bytes()


def written(folder: Path, name: str, data: bytes) -> tuple[Path, str]:
    """The file with that in it, and its text for people."""
    path = with_specs(folder) / name
    path.parent.mkdir(exist_ok=True)
    path.unlink(missing_ok=True)
    path.write_bytes(data)
    return path, data.decode("utf-8", "backslashreplace")


def judged(path: Path) -> tuple[str, list[str]]:
    """A spec from reading to verdict."""
    ended = runs.outcome(path)
    return ended.code.name, runs.faults(ended)


def commanded(folder: Path, words: Iterable[str | Path], allowed: Iterable[str] = ("out/",)) -> tuple[str, list[str]]:
    """A command that writes into `out`, and what it leaves behind."""
    shutil.rmtree(folder / "out", ignore_errors=True)
    before = commands.contents(folder)
    ended = commands.run(*words)
    found = commands.faults(ended) + commands.disturbed(before, commands.contents(folder), allowed)
    name = {0: "CLEAR", 1: "STOP", 2: "UNUSABLE"}.get(ended.code, str(ended.code))
    return name, found


# --------------------------------------------------------------------------------------------- what is tried


def spoilt_specs(rng: random.Random, folder: Path) -> Trial:
    """An example spec with one to three slips, beside all that it names."""
    path, text = written(folder, "spoilt.yaml", spoilt(a_spec(rng), rng))
    return text, lambda: judged(path)


ON_A_MACHINE: Final = b"""\
platekit: 1
title: On a machine
units: mm
plate: {material: mild steel, thickness: 8}
mounts:
  post: {side: far, looking_at: face, pattern: {rectangle: {width: 90, height: 60, hole: 9}}}
cutting: {machine: odd, copies: 3}
"""


def machines(rng: random.Random, folder: Path) -> Trial:
    """A machine file with slips, under a plate that is cut on it."""
    _, text = written(folder, "machines/odd.yaml", small_files.machine(rng))
    path, _ = written(folder, "on a machine.yaml", ON_A_MACHINE)

    def tried() -> tuple[str, list[str]]:
        code, found = judged(path)
        if code == "UNUSABLE" or rng.random() < 0.1:
            return code, found
        return commanded(folder, ("make", path, "--no-solid", "--kerf", "--out", folder / "out"))

    return text, tried


def printers(rng: random.Random, folder: Path) -> Trial:
    """A printer's file with slips, named in a spec or on the command line."""
    name = rng.choice(("odd", "odd", "odd", "office printer"))
    _, text = written(folder, f"printers/{name}.yaml", small_files.printer(rng))
    named = b"paper: {printer: odd}\n" if name == "odd" else b""
    path, _ = written(folder, "printed.yaml", ON_A_MACHINE.replace(b"odd, copies: 3", b"yard-plasma") + named)
    more = ("--printer", name) if rng.random() < 0.3 else ()
    return text, lambda: commanded(folder, ("template", path, "--out", folder / "out", *more))


def bars(rng: random.Random, folder: Path) -> Trial:
    """Measured bars of a print, typed on the command line."""
    text = small_files.bars(rng)
    path, _ = written(folder, "printed.yaml", ON_A_MACHINE.replace(b"odd, copies: 3", b"yard-plasma"))
    more = rng.choice(((), (), ("--printer", "new"), ("--printer", "../new"), ("--printer", "a/b"), ("--both-sides",)))
    words = ("template", path, "--measured", text, *more, "--out", folder / "out")
    return f"--measured {text!r} {more}", lambda: commanded(folder, words, ("out/", "printers/new.yaml"))


def coupons(rng: random.Random, folder: Path) -> Trial:
    """Readings of a coupon, put into a new machine file, a good one or an odd one."""
    readings, text = written(folder, "readings.yaml", small_files.coupon(rng))
    machine = with_specs(folder) / "bench.yaml"
    match rng.choice(("new", "good", "good", "odd")):
        case "new":
            machine.unlink(missing_ok=True)
        case "good":
            machine.write_text(rng.choice(small_files.MACHINES), "utf-8")
        case _:
            _, more = written(folder, "bench.yaml", small_files.machine(rng))
            text += f"\n--- and the machine file\n{more}"

    def tried() -> tuple[str, list[str]]:
        code, found = commanded(folder, ("coupon", "--measured", readings, "--machine", machine), ("bench.yaml",))
        if code == "CLEAR":
            try:
                load_machine(machine)
            except PlatekitError as error:
                found.append(f"wrote a machine file that cannot be read: {error}")
        return code, found

    return text, tried


def readings(rng: random.Random, folder: Path) -> Trial:
    """A measured pattern, told by `survey`."""
    path, text = written(folder, "measured.yaml", small_files.readings(rng))
    words: tuple[str | Path, ...] = ("survey", path, "--out", folder / "out")
    words += rng.choice(((), (), ("--plan",), ("--json",)))
    return text, lambda: commanded(folder, words)


DRAWN: Final = """\
platekit: 1
title: Drawn
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 900, height: 900}}}}}}
mounts:
  part: {{side: far, looking_at: face, pattern: {{points: [[300, 300], [-300, 300], [310, -300]], hole: 9}}}}
{where}
"""
PLACES: Final = (
    "bodies: {{lug: {{carried_by: part, shape: {{drawn: {drawn}}}, span: [0, 20]}}}}",
    "bodies: {{lug: {{carried_by: part, shape: {{drawn: {drawn}}}, span: [-20, 20], relief: auto}}}}",
)


def drawn(name: str, make: Callable[[random.Random], bytes]) -> Kind:
    """A drawing of that kind, as a body and as what is cut out for it."""

    def kind(rng: random.Random, folder: Path) -> Trial:
        file = f"{rng.getrandbits(60):x}.{name}"
        data = make(rng)
        path, _ = written(folder, file, data)
        layer = rng.choice((", layer: CUT", ", layer: cut")) if rng.random() < 0.1 else ""
        unit = rng.choice(("mm", "mm", "in", "px", "cm"))
        zero = rng.choice(("own", "middle"))
        place = rng.choice(PLACES).format(drawn=f"{{file: {file}, units: {unit}, zero: {zero}{layer}}}")
        spec, _ = written(folder, "drawn.yaml", DRAWN.format(where=place).encode())

        def tried() -> tuple[str, list[str]]:
            try:
                return judged(spec)
            finally:
                path.unlink()

        return f"{place}\n{data[:4000]!r}", tried

    return kind


WORDS: Final[tuple[tuple[str, ...], ...]] = (
    ("check", "--explain"),
    ("check", "--json"),
    ("survey",),
    ("survey", "--plan"),
    ("drive",),
    ("drive", "--json"),
    ("drive", "--choose", "--section", "A", "--count", "3"),
    ("place", "--count", "2"),
    ("place", "--count", "2", "--mount", "motor"),
    ("template",),
    ("template", "--both-sides", "--json"),
    ("compare",),
    ("make", "--no-solid"),
    ("make", "--no-solid", "--kerf", "--dxf", "r12", "--reference"),
)


def any_command(rng: random.Random, folder: Path) -> Trial:
    """A spec with one slip that mostly leaves it usable, under any of the commands."""
    good = a_spec(rng)
    data = small_files.other_figures(good.decode(), rng).encode() if rng.random() < 0.7 else spoilt(good, rng)
    path, text = written(folder, "spoilt.yaml", data)
    name, *more = rng.choice(WORDS)
    words: list[str | Path] = [name, path, *more]
    if name == "compare":
        other, _ = written(folder, "other.yaml", good)
        words.insert(rng.choice((1, 2)), other)
    if name != "check":
        words += ["--out", folder / "out"]
    return f"{name} {more}\n{text}", lambda: commanded(folder, words)


FACES: Final = (
    spec_text(),
    re.sub(r"holes: .*\n.*sketch.*\n.*readings:.*\n(?:.*centres.*\n)+", "holes: {}\n", spec_text()),
)
"""A measured pattern with a sketch and three distances, and one with nothing on it."""


def seen(rng: random.Random, folder: Path) -> Trial:
    """A picture of any bad kind, or a good one, with any options, under `read`."""
    about, data = pictures.a_picture(rng, folder / "picture.tmp")
    (folder / "picture.tmp").unlink(missing_ok=True)
    picture, _ = written(folder, "picture", data)
    spec, _ = written(folder, "press.yaml", rng.choice(FACES).encode())
    more = pictures.words(rng)
    words: list[str | Path] = ["read", picture, "--spec", spec, *more, "--out", folder / "out"]

    def tried() -> tuple[str, list[str]]:
        code, found = commanded(folder, words, ("out/", "press.yaml"))
        return code, found + unreadable(spec)

    return f"{about}, {len(data)} bytes, {more}", tried


def unreadable(spec: Path) -> list[str]:
    """Why a file is no spec; empty where it can be read."""
    try:
        platekit.load(spec)
    except PlatekitError as error:
        return [str(error)]
    return []


def seen_on_page(rng: random.Random, folder: Path) -> Trial:
    """The same on the page: taken, looked at with clicks of any kind, and put in."""
    about, data = pictures.a_picture(rng, folder / "picture.tmp")
    (folder / "picture.tmp").unlink(missing_ok=True)
    spec, _ = written(folder, "press.yaml", rng.choice(FACES).encode())
    odd = dict.fromkeys(("mount", "find", "clicks", "without", "sizes", "sigma"), False)
    for key in odd:
        odd[key] = rng.random() < 0.1
    asked: dict[str, Any] = {
        "mount": rng.choice(("motor", "")) if odd["mount"] else "face",
        "find": rng.choice(("all", 3)) if odd["find"] else rng.choice(("pattern", "clicks", "blind", None)),
        "clicks": {
            rng.choice(pictures.NAMES if odd["clicks"] else ("A", "B")): [
                rng.uniform(-50, 300) for _ in range(rng.choice((1, 3)) if odd["clicks"] else 2)
            ]
            for _ in range(rng.choice((0, 1, 3)))
        },
        "without": rng.choice((["Q"], "A", [1])) if odd["without"] else rng.choice(([], ["C"])),
        "sizes": rng.choice(({"A": "wide"}, {"Q": "9"}, [], {"A": 9})) if odd["sizes"] else {},
        "sigma": rng.choice(pictures.LENGTHS) if odd["sigma"] else None,
        "whole": rng.random() < 0.3,
    }

    def tried() -> tuple[str, list[str]]:
        desk = Desk(spec, folder / "out")
        told = taken(desk, data, "picture.jpg")
        answers = [told]
        if "picture" in told:
            asked["picture"] = told["picture"]
            answers.append(done(desk, {"act": "see", **asked}))
            answers.append(done(desk, {"act": "put places", "state": desk.now().state, **asked}))
        said = [str(one["refused"]) for one in answers if "refused" in one]
        found = [f"not a sentence: {one!r}" for one in said if not one.strip() or "\n" in one or "Traceback" in one]
        for one in answers:
            json.dumps(one, allow_nan=False)
        return "REFUSED" if said else "SEEN", found + unreadable(spec)

    return f"{about}, {len(data)} bytes, {asked}", tried


def framed(rng: random.Random, folder: Path) -> Trial:
    """The frame's page, corrected for printers of any kind."""
    _, text = written(folder, "printers/odd.yaml", small_files.printer(rng))
    name = rng.choice(("odd", "odd", "odd", "office", "office", "../x", "", "none"))
    more = (*rng.choice(((), ("--size", "letter"), ("--size", "a3"), ("--size", "a5"))), *rng.choice(((), ("--json",))))
    words: list[str | Path] = ["frame", "--printer", name, *more, "--out", folder / "out"]

    def tried() -> tuple[str, list[str]]:
        with chdir(folder):
            return commanded(folder, words)

    return f"{name} {more}\n{text}", tried


def followed_advice(rng: random.Random, folder: Path) -> Trial:
    """A sound plate with a slip or two, and every advice on it carried out."""
    _, text = advice.bad_spec(rng)

    def trial() -> tuple[str, list[str]]:
        outcome = advice.follow(text)
        return "FOLLOWED" if outcome.followed else "BY HAND", outcome.wrong

    return text, trial


MOST_HEALED: Final = 12
"""Problems of a drawn spec that are taken out of it one after the other, to get past reading."""


def by_grammar(rng: random.Random, folder: Path) -> Trial:
    """A spec drawn from the schema; the key of its first problem goes, again and again, until it is laid out."""
    made = grammar.drawn(rng)

    def tried() -> tuple[str, list[str]]:
        found: list[str] = []
        for _ in range(MOST_HEALED):
            text = grammar.as_text(made, rng)
            ended = runs.outcome(text)
            found += runs.faults(ended)
            problems = runs.problems(text) if ended.code == Exit.UNUSABLE else ()
            if not problems or not grammar.without(made, problems[0].field):
                break
        if ended.layout is not None and ended.verdict is not None and rng.random() < 0.3:
            told = runs.written(ended.layout, ended.verdict)
            found += [f"{name}: {said}" for name, said in told.items() if "please report this" in said]
        return ended.code.name, found

    return grammar.as_text(made, rng), tried


KINDS: Final[dict[str, Kind]] = {
    "grammar": by_grammar,
    "specs": spoilt_specs,
    "machines": machines,
    "printers": printers,
    "bars": bars,
    "coupons": coupons,
    "readings": readings,
    "dxf": drawn("dxf", drawings.odd_dxf),
    "svg": drawn("svg", drawings.odd_svg),
    "commands": any_command,
    "pictures": seen,
    "pictures on the page": seen_on_page,
    "frames": framed,
    "advice": followed_advice,
}
