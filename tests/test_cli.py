"""The commands as someone types them: exit codes, where words go, examples that work, JSON, starter specs, tables."""

from __future__ import annotations

import gc
import io
import itertools
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import get_args

import pytest
import typer

import platekit
from platekit import cli
from platekit.choices import Form, Merit, OldPattern, Process, Side
from platekit.cli import Exit
from platekit.errors import OutputError
from platekit.units import Unit

ROOT = Path(platekit.__file__).parent.parent
CLEAR = "specs/bead-sorter.yaml"
STOPPED = "specs/wrong-on-purpose.yaml"
COMMANDS = typer.main.get_command(cli.app).commands  # type: ignore[attr-defined]  # a group, as it has commands


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str


class Terminal:
    """Runs commands in a folder of its own that holds the example specs."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self._monkeypatch = monkeypatch
        self._capsys = capsys

    def __call__(self, *words: str | Path) -> Ran:
        """The end of `platekit` with these words."""
        self._monkeypatch.setattr(sys, "argv", ["platekit", *map(str, words)])
        self._capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            cli.main()
        code = ended.value.code
        said = self._capsys.readouterr()
        assert isinstance(code, int)
        return Ran(code, said.out, said.err)


@pytest.fixture
def terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Terminal]:
    shutil.copytree(ROOT / "specs", tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    seldom = gc.get_threshold()
    yield Terminal(monkeypatch, capsys)
    gc.set_threshold(*seldom)


def in_a_process(*words: str | Path, cwd: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """`platekit` run as a program of its own, its output as bytes."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    line = [sys.executable, "-m", "platekit", *map(str, words)]
    return subprocess.run(line, cwd=cwd, env=env, capture_output=True, check=False)


# --------------------------------------------------------------------------------------------- exit codes


def fails_with(error: BaseException) -> object:
    def laid_out(*_: object) -> object:
        raise error

    return laid_out


@pytest.mark.parametrize("code", Exit, ids=lambda code: code.name)
def test_every_exit_code_is_what_it_says(code: Exit, terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    words = {Exit.CLEAR: CLEAR, Exit.STOP: STOPPED, Exit.UNUSABLE: "no such file.yaml"}.get(code, CLEAR)
    if code == Exit.BUG:
        monkeypatch.setattr(cli, "laid_out", fails_with(ZeroDivisionError("a bug of ours")))
    if code == Exit.INTERRUPTED:
        monkeypatch.setattr(cli, "laid_out", fails_with(KeyboardInterrupt()))
    ran = terminal("check", words)
    assert ran.code == code
    assert "Traceback" not in ran.out + ran.err


def test_a_bug_is_a_sentence_and_its_trace_a_file(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(cli, "laid_out", fails_with(ZeroDivisionError("a bug of ours")))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    ran = terminal("check", CLEAR)
    assert ran.err.count("\n") == 1
    assert not ran.out
    (kept,) = tmp_path.glob("platekit-mistake-*.txt")
    assert str(kept) in ran.err
    assert "ZeroDivisionError: a bug of ours" in kept.read_text("utf-8")


def test_an_output_that_cannot_be_written_is_unusable(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "laid_out", fails_with(OutputError("a.svg was not written: the disk is full")))
    ran = terminal("check", CLEAR)
    assert (ran.code, ran.out, ran.err) == (Exit.UNUSABLE, "", "a.svg was not written: the disk is full\n")


@pytest.mark.parametrize(
    "words",
    [
        ("chekc", CLEAR),
        ("check",),
        ("check", CLEAR, "--jsn"),
        ("check", "."),
        ("check", "specs/machines"),
        ("make", CLEAR, "--dxf", "r13"),
        ("new", "a.yaml", "--motor", "NEMA 56Q"),
        ("new", "a.yaml", "--thickness", "thick"),
        ("new", "a.yaml", "--thickness", "-3 mm"),
        ("new", "a.yaml", "--material", "cheese"),
        ("new", "no/such\0name.yaml"),
        ("tables", "no such thing at all"),
        ("tables", "--bolt-circle", "wide"),
        ("tables", "--bolt-circle", "nan"),
        ("drive", CLEAR),
        ("survey", CLEAR, "--plan"),
        ("place", CLEAR),
        ("place", CLEAR, "--mount", "nobody"),
        ("compare", CLEAR, "no such file.yaml"),
        ("coupon", "--measured", "no such file.yaml", "--machine", "m.yaml"),
        ("coupon", "--measured", "no such file.yaml"),
        ("coupon", "--thickness", "thin"),
        ("template", CLEAR, "--measured", "bottom=long"),
        ("template", CLEAR, "--printer", "nobody"),
    ],
    ids=" ".join,
)
def test_what_cannot_be_used_is_said_on_the_side_and_nothing_is_printed(
    words: tuple[str, ...], terminal: Terminal
) -> None:
    ran = terminal(*words)
    assert ran.code == Exit.UNUSABLE, ran
    assert not ran.out
    assert ran.err.strip()
    assert "Traceback" not in ran.err
    assert "mistake of its own" not in ran.err


def test_no_word_at_all_shows_what_there_is(terminal: Terminal) -> None:
    ran = terminal()
    assert ran.code in (Exit.CLEAR, Exit.UNUSABLE)
    assert all(name in ran.out + ran.err for name in COMMANDS)


# --------------------------------------------------------------------------------------------- help


def example_lines(name: str) -> list[str]:
    """The command lines of a command's examples, without the words between them."""
    epilog = COMMANDS[name].epilog
    assert epilog is not None, f"{name} has no example"
    return [part.strip() for part in re.split(r"(?:^Example|[,;] (?:or|then)): ", epilog) if part.strip()]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_each_command_ends_with_an_example(name: str, terminal: Terminal) -> None:
    ran = terminal(name, "--help")
    assert ran.code == Exit.CLEAR
    said = "".join(ran.out.split())
    last = example_lines(name)[-1]
    assert said.endswith("".join(last.split()))
    assert COMMANDS[name].help


def test_every_example_works(terminal: Terminal, tmp_path: Path) -> None:
    for name in COMMANDS:
        for line in example_lines(name):
            words = shlex.split(line)
            target = words[words.index(">") + 1] if ">" in words else None
            words = words[: words.index(">")] if target is not None else words
            assert words[:2] == ["platekit", name]
            fill_in_readings(words, tmp_path)
            ran = terminal(*words[1:])
            assert ran.code == Exit.CLEAR, f"{line}: {ran.err or ran.out}"
            assert ran.out
            if target is not None:
                (tmp_path / target).write_text(ran.out, "utf-8")


READ_OFF = {
    "kerf_set: _": "kerf_set: 0",
    "square: {x: [_, _], y: [_, _]}": "square: {x: [128.6, 129.1], y: [128.5, 129.0]}",
    "holes: {a: [_, _], b: [_, _], c: [_, _]}": "holes: {a: [16.1, 15.5], b: [23.6, 23.0], c: [31.2, 30.6]}",
    "slot: {length: [_, _], width: [_, _]}": "slot: {length: [46.2, 45.7], width: [16.2, 15.6]}",
}
"""What was measured on a coupon cut on the line with 1.2 mm of kerf, at the face cut from and at the other."""


def fill_in_readings(words: list[str], folder: Path) -> None:
    """What someone does between the two examples of `coupon`: types what was measured into the readings."""
    for path in (folder / word for word in words if word.endswith(".readings.yaml")):
        text = path.read_text("utf-8")
        for blank, filled in READ_OFF.items():
            text = text.replace(blank, filled)
        path.write_text(text, "utf-8")


# --------------------------------------------------------------------------------------------- check, make


def test_check_tells_a_person_the_verdict_last(terminal: Terminal) -> None:
    ran = terminal("check", STOPPED)
    assert ran.out.rstrip().splitlines()[-1].startswith("NOT FOR CUTTING: ")
    assert not ran.err
    assert terminal("check", CLEAR).out.rstrip().splitlines()[-1].startswith("CLEAR TO CUT: 0 stops")


FINDING_KEYS = {"rule", "level", "message", "features", "found", "needed", "unit", "at_mm"}


@pytest.mark.parametrize(("spec", "verdict"), [(CLEAR, "clear"), (STOPPED, "stop")])
def test_check_tells_a_program_its_findings(spec: str, verdict: str, terminal: Terminal) -> None:
    ran = terminal("check", spec, "--json")
    told = json.loads(ran.out)
    assert told["verdict"] == verdict
    assert ran.code == (Exit.CLEAR if verdict == "clear" else Exit.STOP)
    assert any(finding["level"] == "stop" for finding in told["findings"]) == (verdict == "stop")
    for finding in told["findings"]:
        assert finding.keys() >= FINDING_KEYS
        assert finding["level"] in ("stop", "warn", "note")
        assert isinstance(finding["features"], list)
        assert finding["at_mm"] is None or len(finding["at_mm"]) == 2


def test_json_of_an_unusable_spec_names_every_problem(terminal: Terminal, tmp_path: Path) -> None:
    spec = tmp_path / "slips.yaml"
    spec.write_text(SLIPS, "utf-8")
    ran = terminal("check", spec, "--json")
    told = json.loads(ran.out)
    assert ran.code == Exit.UNUSABLE
    assert told["verdict"] == "unusable"
    fields = [problem["field"] for problem in told["problems"]]
    assert fields == ["units", "plate.thickness", "plate.colour", "mounts.machine.side", "mounts.machine.bolts.fit"]
    assert [problem["line"] for problem in told["problems"]] == [3, 4, 4, 6, 8]


SLIPS = """\
platekit: 1
title: Five slips in one file
units: cm
plate: {material: mild steel, thickness: -4, colour: grey}
mounts:
  machine: {side: left,
    looking_at: face, pattern: {circle: {count: 4, diameter: 130}},
    bolts: {size: M8, into: part, fit: nromal}}
"""


def test_all_slips_of_a_file_are_shown_at_once_with_the_line_they_stand_in(terminal: Terminal, tmp_path: Path) -> None:
    spec = tmp_path / "slips.yaml"
    spec.write_text(SLIPS, "utf-8")
    ran = terminal("check", spec)
    assert ran.code == Exit.UNUSABLE
    assert not ran.out
    for line, word in ((3, '"cm"'), (4, "-4"), (4, "`colour`"), (6, '"left"'), (8, '"nromal"')):
        assert re.search(rf"slips\.yaml:{line}:\d+  \S+: found .*{re.escape(word)}", ran.err), (line, word)
    assert ran.err.count("^") >= 5


def test_make_lists_its_files_for_people_and_programs(terminal: Terminal, tmp_path: Path) -> None:
    ran = terminal("make", CLEAR, "--no-solid", "--json", "--out", "made")
    told = json.loads(ran.out)
    assert told["verdict"] == "clear"
    assert sorted(Path(file) for file in told["files"]) == sorted(
        file.relative_to(tmp_path) for file in (tmp_path / "made" / "bead-sorter").iterdir()
    )
    assert {"bead-sorter.cut.dxf", "bead-sorter.template.pdf", "bead-sorter.svg", "bead-sorter.report.html"} <= {
        Path(file).name for file in told["files"]
    }
    said = terminal("make", CLEAR, "--no-solid", "--out", "made").out
    assert all(Path(file).name in said for file in told["files"])


def test_every_form_of_the_cut_file_can_be_had(terminal: Terminal, tmp_path: Path) -> None:
    words = list(itertools.chain.from_iterable(("--dxf", form.value) for form in cli.DxfForm))
    ran = terminal("make", CLEAR, "--no-solid", "--dxf-unit", "in", *words)
    assert ran.code == Exit.CLEAR
    assert len(list((tmp_path / "output" / "bead-sorter").glob("*.dxf"))) == len(cli.DxfForm)


# --------------------------------------------------------------------------------------------- new

MOTORS = ("NEMA 56C", "NEMA 182TC", "NEMA 17", "IEC 90 B14", "IEC 80 B5", "IEC 71 B3", "SAE A 2-bolt")
AT_ONCE = 3
"""How many motors each process is tried with on each pattern: going on, all motors meet all patterns."""


@pytest.mark.parametrize(
    ("offered", "known"),
    [
        (cli.ProcessName, Process),
        (cli.OldPattern, OldPattern),
        (cli.LengthUnit, Unit),
        (cli.SeenFrom, Side),
        (cli.DxfForm, Form),
        (cli.MeritName, Merit),
    ],
)
def test_an_option_offers_all_that_the_package_knows(offered: type[StrEnum], known: object) -> None:
    """The commands list the choices anew, since importing the models would make every help wait."""
    assert tuple(choice.value for choice in offered) == get_args(known)


@pytest.mark.parametrize("process", cli.ProcessName)
def test_a_new_spec_passes_check_whatever_is_chosen(process: cli.ProcessName, terminal: Terminal) -> None:
    first = list(cli.ProcessName).index(process)
    for index, (machine, step) in enumerate(itertools.product(cli.OldPattern, range(AT_ONCE))):
        motor = MOTORS[(AT_ONCE * first + index) % len(MOTORS)]
        unit, thickness = (("mm", "10 mm"), ("in", "3/8 in"))[step % 2]
        words = ("--process", process, "--machine", machine, "--motor", motor, "--units", unit)
        take_up = ("--take-up", "--no-take-up")[index // 2 % 2]
        made = terminal("new", f"{index}.yaml", *words, "--thickness", thickness, take_up)
        assert made.code == Exit.CLEAR, (machine, motor, made.err)
        checked = terminal("check", f"{index}.yaml")
        assert checked.code == Exit.CLEAR, (machine, motor, checked.out)


def test_new_never_overwrites(terminal: Terminal, tmp_path: Path) -> None:
    for taken in ("a.yaml", "folder.yaml"):
        path = tmp_path / taken
        path.mkdir() if taken.startswith("folder") else path.write_text("mine", "utf-8")
        ran = terminal("new", taken)
        assert ran.code == Exit.UNUSABLE
        assert taken in ran.err
    assert (tmp_path / "a.yaml").read_text("utf-8") == "mine"


def test_new_writes_the_schema_that_its_first_line_names(terminal: Terminal, tmp_path: Path) -> None:
    terminal("new", "shop/first.yaml", "--title", 'Mill, "old" one: #2')
    first = (tmp_path / "shop" / "first.yaml").read_text("utf-8").splitlines()
    named = first[0].split("$schema=")[1]
    assert json.loads((tmp_path / "shop" / named).read_text("utf-8"))["title"]
    assert terminal("check", "shop/first.yaml").code == Exit.CLEAR


# --------------------------------------------------------------------------------------------- tables, schema


def test_tables_tell_people_and_programs_the_same(terminal: Terminal) -> None:
    """NEMA 56C: bolt circle 5.875 in, as in NEMA MG 1."""
    text, figures = terminal("tables", "NEMA 56C"), json.loads(terminal("tables", "NEMA 56C", "--json").out)
    assert "5.875" in text.out or "149.2" in text.out
    assert figures["bolt_circle_mm"] == pytest.approx(149.225)
    assert "source" in json.dumps(figures)


def test_tables_find_what_was_measured(terminal: Terminal) -> None:
    found = json.loads(terminal("tables", "--bolt-circle", "149", "--holes", "4", "--json").out)
    assert "NEMA 56C" in json.dumps(found)
    assert "NEMA 56C" in terminal("tables", "--bolt-circle", "5.875 in", "--holes", "4").out


def test_an_unknown_name_gets_its_nearest(terminal: Terminal) -> None:
    ran = terminal("tables", "NEMA 56D")
    assert ran.code == Exit.UNUSABLE
    assert "NEMA 56C" in ran.err
    assert len(re.findall(r"NEMA \w+", ran.err.replace("NEMA 56D", "", 1))) >= 3


def test_tables_without_a_name_give_an_overview(terminal: Terminal) -> None:
    ran = terminal("tables")
    assert ran.code == Exit.CLEAR
    assert "NEMA" in ran.out
    assert "screw" in ran.out.lower()


def test_the_schema_beside_the_examples_is_the_one_that_is_printed(terminal: Terminal) -> None:
    printed = terminal("schema").out
    assert printed == (ROOT / "specs" / "platekit.schema.json").read_text("utf-8"), (
        "write it anew: platekit schema > specs/platekit.schema.json"
    )


# --------------------------------------------------------------------------------------------- as a program

ODD_TITLE = "Mühlenantrieb – Ø 130, ½″"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_a_terminal_that_lacks_a_sign_gets_another_one(encoding: str, tmp_path: Path) -> None:
    spec = tmp_path / "mill.yaml"
    text = (ROOT / CLEAR).read_text("utf-8")
    spec.write_text(re.sub(r"(?m)^title:.*", f'title: "{ODD_TITLE}"', text), "utf-8")
    ran = in_a_process("check", spec, cwd=tmp_path, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert ran.returncode == Exit.CLEAR, ran.stderr
    assert b"130" in ran.stdout
    assert not ran.stderr


@pytest.mark.parametrize("words", [("schema",), ("check", ROOT / CLEAR)], ids=["schema", "check"])
def test_a_reader_that_goes_away_is_no_stop_and_no_bug(words: tuple[str | Path, ...], tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    ran = subprocess.run(
        [sys.executable, "-m", "platekit", *map(str, words)],
        cwd=tmp_path,
        env=env,
        stdout=writing,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writing)
    assert ran.returncode == Exit.INTERRUPTED
    assert not ran.stderr


def test_questions_that_are_not_answered_end_without_a_file(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def no_answer(*_: object, **__: object) -> str:
        raise typer.Abort

    monkeypatch.setattr(sys, "stdin", AtATerminal())
    monkeypatch.setattr(typer, "prompt", no_answer)
    assert terminal("new", "a.yaml").code == Exit.INTERRUPTED
    assert not (tmp_path / "a.yaml").exists()


def test_questions_are_asked_only_for_what_was_not_given(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked: list[str] = []

    def answer(question: str, default: str) -> str:
        asked.append(question)
        return "in" if "(mm, in)" in question else default

    monkeypatch.setattr(sys, "stdin", AtATerminal())
    monkeypatch.setattr(typer, "prompt", answer)
    assert terminal("new", "a.yaml").code == Exit.CLEAR
    assert len(asked) >= 5
    assert "units: in" in (tmp_path / "a.yaml").read_text("utf-8")
    asked.clear()
    assert terminal("new", "b.yaml", "--motor", "NEMA 56C").code == Exit.CLEAR
    assert not asked


class AtATerminal(io.StringIO):
    """Standard input at which someone sits."""

    def isatty(self) -> bool:
        return True
