"""The commands as someone types them: exit codes, where words go, help and its examples, as a program among others."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path
from typing import get_args

import pytest
import typer

from platekit import cli
from platekit.choices import Form, Merit, OldPattern, Process, Side
from platekit.cli import ENDS, Exit
from platekit.errors import OutputError
from platekit.jobs.told import State
from platekit.units import Unit
from tests.jobs.test_read import put_picture
from tests.terminal import CLEAR, ROOT, STOPPED, Terminal

PROGRAM = [sys.executable, "-c", "import sys; sys.argv[0] = 'platekit'; from platekit.cli import main; main()"]
"""The program under its own name, as a shell calls it, wherever that lies."""
COMMANDS = typer.main.get_command(cli.app).commands  # type: ignore[attr-defined]  # a group, as it has commands


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
        monkeypatch.setattr("platekit.jobs.plates.laid_out", fails_with(ZeroDivisionError("a bug of ours")))
    if code == Exit.INTERRUPTED:
        monkeypatch.setattr("platekit.jobs.plates.laid_out", fails_with(KeyboardInterrupt()))
    ran = terminal("check", words)
    assert ran.code == code
    assert "Traceback" not in ran.out + ran.err


def test_a_bug_is_a_sentence_and_its_trace_a_file(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("platekit.jobs.plates.laid_out", fails_with(ZeroDivisionError("a bug of ours")))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    ran = terminal("check", CLEAR)
    assert ran.err.count("\n") == 1
    assert not ran.out
    (kept,) = tmp_path.glob("platekit-mistake-*.txt")
    assert str(kept) in ran.err
    assert "ZeroDivisionError: a bug of ours" in kept.read_text("utf-8")


def test_an_output_that_cannot_be_written_is_unusable(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    full = OutputError("a.svg was not written: the disk is full")
    monkeypatch.setattr("platekit.jobs.plates.laid_out", fails_with(full))
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
        ("strength", CLEAR),
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


def test_every_state_of_a_job_has_its_exit_code() -> None:
    assert ENDS.keys() == set(get_args(State))


@pytest.mark.parametrize("columns", ["30", "80"])
def test_the_list_of_commands_cuts_no_summary_short(
    columns: str, terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    said = " ".join(terminal("--help").out.partition("Commands:")[2].split())
    assert "..." not in said
    for name, command in COMMANDS.items():
        assert f"{name} {command.short_help} " in said
        assert 10 < len(command.short_help) <= 60


OFFERED = {
    ("new", "--units"): Unit,
    ("new", "--process"): Process,
    ("new", "--machine"): OldPattern,
    ("make", "--dxf"): Form,
    ("make", "--dxf-unit"): Unit,
    ("make", "--seen-from"): Side,
    ("template", "--seen-from"): Side,
    ("place", "--by"): Merit,
    ("coupon", "--process"): Process,
}


@pytest.mark.parametrize(("command", "option"), OFFERED)
def test_an_option_offers_all_that_the_package_knows_and_takes_nothing_else(
    command: str, option: str, terminal: Terminal
) -> None:
    words = get_args(OFFERED[command, option])
    assert f"{option} <{'|'.join(words)}>" in terminal(command, "--help").out
    ran = terminal(command, CLEAR, option, "neither")
    assert ran.code == Exit.UNUSABLE
    assert "'neither' is not one of " + ", ".join(map(repr, words)) in ran.err


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_each_command_ends_with_an_example(name: str, terminal: Terminal) -> None:
    ran = terminal(name, "--help")
    assert ran.code == Exit.CLEAR
    said = "".join(ran.out.split())
    last = example_lines(name)[-1]
    assert said.endswith("".join(last.split()))
    assert COMMANDS[name].help


def test_every_example_works(terminal: Terminal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The page is served until somebody ends it, in a browser that is opened: tests/page/test_opening.py does that.
    monkeypatch.setattr("platekit.page.opening.serve", lambda page, opened: opened(page.address))
    monkeypatch.setattr("webbrowser.open", lambda address: True)
    put_picture(Path("scan.png"), Path("press.yaml"))
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


# ---------------------------------------------------------------------------------- version, completion


def test_it_says_which_version_it_is(terminal: Terminal) -> None:
    ran = terminal("--version")
    assert (ran.code, ran.out) == (0, f"platekit {version('platekit')}\n")


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("platekit tem", "template"),
        ("platekit make --ker", "--kerf"),
        ("platekit new --process pla", "plasma"),
        ("platekit make --dxf r20", "r2000"),
    ],
)
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_completes_commands_options_and_choices(shell: str, typed: str, offered: str, tmp_path: Path) -> None:
    words = {
        "PYTHONPATH": str(ROOT),
        "COMP_WORDS": typed,
        "COMP_CWORD": str(typed.count(" ")),
        "_TYPER_COMPLETE_ARGS": typed,
    }
    words |= {"_TYPER_COMPLETE_FISH_ACTION": "get-args", "_PLATEKIT_COMPLETE": f"complete_{shell}"}
    ran = subprocess.run(PROGRAM, cwd=tmp_path, env={**os.environ, **words}, capture_output=True, check=False)
    assert offered in ran.stdout.decode()
    assert ran.stderr == b""


# --------------------------------------------------------------------------------------------- the end of the process

ENDING = """
import atexit, sys, threading, time
sys.argv = ["platekit", "tables", "M8"]
from platekit import __main__ as program, cli
def slow():
    time.sleep(0.2)
    sys.stdout.write("thread done\\n")
def done():
    if threads: threading.Thread(target=slow).start()
    atexit.register(lambda: print("registered later", end=""))
    sys.stdout.write("said ")
    raise SystemExit(code)
threads, code = {threads}, {code!r}
cli.main = done
program.main()
"""


@pytest.mark.parametrize("code", [0, 1, 2, 130, None])
@pytest.mark.parametrize("threads", [False, True])
def test_the_process_ends_with_its_code_when_all_is_out(code: int | None, threads: bool) -> None:
    done = subprocess.run(
        [sys.executable, "-c", ENDING.format(threads=threads, code=code)], cwd=ROOT, capture_output=True, check=False
    )
    assert (done.returncode, done.stderr) == (code or 0, b"")
    assert done.stdout == (b"said thread done\nregistered later" if threads else b"said registered later")


def test_the_process_ends_before_python_takes_itself_apart(tmp_path: Path) -> None:
    late = "class Late:\n    def __del__(self): print('taken apart', flush=True)\nkept = Late()\n"
    quick = subprocess.run(
        [sys.executable, "-c", late + ENDING.format(threads=False, code=0)], cwd=ROOT, capture_output=True, check=False
    )
    usual = subprocess.run([sys.executable, "-c", late], cwd=ROOT, capture_output=True, check=False)
    assert b"taken apart" in usual.stdout
    assert b"taken apart" not in quick.stdout
