"""What the README shows of the program, taken from it so that it stays true: `python -m tests.readme` writes it.

The walk through a whole job is really walked, with the commands that the README shows, in a folder that is gone
afterwards: from `specs/apple-mill.yaml` as it was before anything was found, to `specs/apple-mill.yaml`.
"""

from __future__ import annotations

import contextlib
import re
import shlex
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

from typer.testing import CliRunner

import platekit
from platekit.cli import app
from platekit.export.text.verdict import closing, verdict_text
from platekit.tables import counts_by_kind

ROOT = Path(platekit.__file__).parents[1]
README = ROOT / "README.md"
PICTURE = ROOT / "specs" / "dough-mixer.svg"
BLOCK = re.compile(r"(<!-- from: (\w+) -->\n```(\w*)\n)(.*?)(```\n<!-- end -->)", re.DOTALL)
SHOWN = ("clash", "fit-odds", "grip", "pilot-over-bolts", "web")
"""Rules of which the README shows a stop on the plate that is wrong on purpose."""
MILL = "apple-mill.yaml"
AS_FOUND = """\
at: {belt: {from: bracket, angle: -1.2 deg}}        # found by platekit place, as was the turn
    turn: 82.5 deg"""
TO_FIND = "at: {find: {belt: {from: bracket, angles: [-30 deg, 90 deg]}, turn: [0 deg, 90 deg]}}"
TOOK_AGAIN = {"[B, C, inside, 81.28]": "[B, C, inside, 81.82]", "[B, D, over, 161.74]": "[B, D, over, 162.10]"}
"""The two readings that the paper showed to be wrong, and what they were before."""
SLIP = {"[A, C, over, 163.22]": "[A, C, over, 162.32]"}
"""A reading, and how it was written down at first."""
GUARDED = "\nguard: {gap: 26"
"""How the guard begins, which is the last that the walk describes: up to the next blank line."""
LEFT_OUT = "..."


def judged(name: str) -> tuple[platekit.Layout, platekit.Verdict]:
    layout = platekit.lay_out(platekit.load(ROOT / "specs" / f"{name}.yaml"))
    return layout, platekit.check(layout)


def wrong() -> str:
    """Some of the stops of the plate that is wrong on purpose, and the verdict."""
    layout, verdict = judged("wrong-on-purpose")
    told = verdict_text(layout, verdict).split("\n\n")
    stops = [next(part for part in told if part.startswith(f"stop  {rule}:")) for rule in SHOWN]
    return "\n\n".join([*stops, closing(verdict)]) + "\n"


def counts() -> str:
    """Rows and figures of the tables by kind of source."""
    found = counts_by_kind()
    return "".join(f"{kind:<16}{found.rows[kind]:>6} rows{found.figures[kind]:>8} figures\n" for kind in found.rows)


def picture() -> str:
    """The demo's picture."""
    return platekit.export.svg_text(*judged("dough-mixer"))


# --------------------------------------------------------------------------------------------- the walk


def changed(text: str, swaps: dict[str, str]) -> str:
    """A spec with pieces of it replaced; each must stand in it once."""
    for old, new in swaps.items():
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {MILL}"
        text = text.replace(old, new)
    return text


def ran(command: str) -> list[str]:
    """The lines that a command prints, run in the current folder; it must not fail."""
    done = CliRunner().invoke(app, shlex.split(command)[1:], catch_exceptions=False)
    assert done.exit_code in (0, 1), f"{command}: {done.output}"
    return [command, *done.stdout.replace("\\", "/").splitlines()]  # paths as they are written outside Windows


def between(lines: list[str], first: str, last: str) -> list[str]:
    """The lines from the one that begins with `first` to before the next one that begins with `last`."""
    start = next(n for n, line in enumerate(lines) if line.startswith(first))
    end = next((n for n, line in enumerate(lines[start:], start) if line.startswith(last)), len(lines))
    return lines[start:end]


@cache
def walk() -> dict[str, str]:
    """What each step of the job shows, by the name of its block."""
    end = (ROOT / "specs" / MILL).read_text("utf-8")
    guard = end[end.index(GUARDED) : end.index("\ncutting:")]
    measured = changed(end, {AS_FOUND: TO_FIND, guard: "", **TOOK_AGAIN})
    shown: dict[str, list[str]] = {}
    spec = Path(MILL)
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        spec.write_text(changed(measured, SLIP), "utf-8")
        survey = ran(f"platekit survey {MILL}")
        shown["survey"] = [survey[0], LEFT_OUT, *between(survey, "  suspect", "  next reading")]
        spec.write_text(measured, "utf-8")
        shown["holes"] = between(ran(f"platekit survey {MILL}"), "  hole", "  reading")[:-1]
        shown["tables"] = _tables()
        chosen = ran(f'platekit drive {MILL} --choose --section SPZ --largest-driven "200 mm" --count 3')
        shown["choose"] = [chosen[0], *between(chosen, "     belt", "A score")[:4]]
        placed = ran(f"platekit place {MILL} --count 3 --write 1")
        shown["place"] = [placed[0], LEFT_OUT, *between(placed, "1 ", "2 "), LEFT_OUT, placed[-1]]
        before = Path("before.yaml")
        before.write_bytes(spec.read_bytes())
        ran(f"platekit template {MILL}")
        shown["template"] = ran(
            f"platekit template {MILL} --printer bench --measured "
            '"bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.2, falling=327.8"'
        )
        spec.write_text(changed(spec.read_text("utf-8"), {old: new for new, old in TOOK_AGAIN.items()}), "utf-8")
        shown["compare"] = ran(f"platekit compare before.yaml {MILL}")
        spec.write_text(changed(spec.read_text("utf-8"), {"\ncutting:": f"{guard}\ncutting:"}), "utf-8")
        shown["guard"] = guard.strip("\n").splitlines()
        made = ran(f"platekit make {MILL} --no-solid")
        shown["make"] = [made[0], LEFT_OUT, *between(made, "CLEAR", "  apple-mill"), LEFT_OUT]
        assert platekit.load(spec).model == platekit.load(ROOT / "specs" / MILL).model, (
            f"the walk does not end at {MILL}"
        )
    return {name: "\n".join(lines).rstrip("\n") + "\n" for name, lines in shown.items()}


def _tables() -> list[str]:
    told = ran('platekit tables "IEC 80 B14"')
    return [told[0], LEFT_OUT, *between(told, "  holes", "  face"), LEFT_OUT, *between(told, "  source", "  also")]


def mill() -> str:
    """The motor and the drive of the walk's spec, as they are before a place is found."""
    lines = changed((ROOT / "specs" / MILL).read_text("utf-8"), {AS_FOUND: TO_FIND}).splitlines()
    motor, drive = between(lines, "  motor:", "bodies:")[:-1], between(lines, "drive:", "guard:")[:-1]
    return "\n".join(["mounts:", *motor, "", *drive]) + "\n"


def _step(name: str) -> Callable[[], str]:
    return lambda: walk()[name]


BLOCKS: dict[str, Callable[[], str]] = {
    "wrong": wrong,
    "counts": counts,
    "mill": mill,
    **{
        name: _step(name)
        for name in ("survey", "holes", "tables", "choose", "place", "template", "compare", "guard", "make")
    },
}


def written(text: str) -> str:
    """The README's text with every block taken from the program."""
    return BLOCK.sub(lambda found: found[1] + BLOCKS[found[2]]() + found[5], text)


def stale() -> Iterator[str]:
    """What in the README is not as the program has it."""
    text = README.read_text("utf-8")
    if written(text) != text:
        yield "a block of README.md"
    if PICTURE.read_text("utf-8") != picture():
        yield "specs/dough-mixer.svg"


if __name__ == "__main__":
    README.write_text(written(README.read_text("utf-8")), "utf-8")
    PICTURE.write_text(picture(), "utf-8")
