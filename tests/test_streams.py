"""Streams that are closed or full, folders that are gone, parts of the program that are missing: a sentence each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import warnings
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit import cli
from platekit.cli import Exit
from platekit.drawing.pdf import letters
from platekit.errors import OutputError, PlatekitError
from platekit.tables.naming import nearest
from tests.adversary.commands import run
from tests.export.test_publishing import NARROW, ROOT

LINE = [sys.executable, "-m", "platekit"]
ENV = {**os.environ, "PYTHONPATH": str(ROOT)}


@pytest.fixture
def spec(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bracket.yaml").write_text(NARROW, "utf-8")
    return tmp_path / "bracket.yaml"


FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full here")
@pytest.mark.parametrize("words", [("check", "bracket.yaml"), ("check", "bracket.yaml", "--json"), ("tables",)])
def test_an_output_that_takes_no_more_is_said(spec: Path, words: tuple[str, ...]) -> None:
    with FULL.open("w") as full:
        done = subprocess.run([*LINE, *words], env=ENV, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == Exit.UNUSABLE
    assert "what is printed could not be written" in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full here")
@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("check", "bracket.yaml"), Exit.UNUSABLE),
        (("check", "nothing.yaml"), Exit.UNUSABLE),
        (("chekc", "bracket.yaml"), Exit.UNUSABLE),
        (("check", "bracket.yaml", "--nope"), Exit.UNUSABLE),
    ],
)
def test_where_nobody_can_be_told_the_exit_code_still_tells(spec: Path, words: tuple[str, ...], code: Exit) -> None:
    with FULL.open("w") as full:
        done = subprocess.run([*LINE, *words], env=ENV, stdout=full, stderr=full, check=False)
    assert done.returncode == code


@pytest.mark.skipif(sys.platform == "win32", reason="closes streams through a shell")
@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("new fresh.yaml <&-", Exit.CLEAR),
        ("check bracket.yaml >&-", Exit.CLEAR),
        ("make bracket.yaml --no-solid 2>&-", Exit.CLEAR),
        ("check none.yaml <&- 2>&-", Exit.UNUSABLE),
        ("check none.yaml >&- 2>&-", Exit.UNUSABLE),
    ],
)
def test_closed_streams_hinder_nothing(spec: Path, words: str, code: int) -> None:
    line = f"{sys.executable} -m platekit {words}"
    done = subprocess.run(["sh", "-c", line], env=ENV, capture_output=True, text=True, check=False)
    assert done.returncode == code, done.stderr
    assert "mistake" not in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="there a folder in use cannot be taken away")
@pytest.mark.parametrize("words", [("check", "SPEC"), ("make", "SPEC"), ("new", "fresh.yaml"), ("coupon",)])
def test_a_working_folder_that_is_gone_is_said(spec: Path, words: tuple[str, ...]) -> None:
    gone = spec.parent / "gone"
    gone.mkdir()
    line = " ".join([sys.executable, "-m", "platekit", *words]).replace("SPEC", str(spec))
    done = subprocess.run(
        ["sh", "-c", f"rmdir {gone}; {line}"], cwd=gone, env=ENV, capture_output=True, text=True, check=False
    )
    assert done.returncode == Exit.UNUSABLE
    assert "the working folder is not there any more" in done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
@pytest.mark.parametrize("command", ["check", "make", "template", "drive", "survey"])
def test_a_name_that_is_no_utf_8_is_said_or_read(spec: Path, command: str) -> None:
    name = os.fsdecode(b"b\xff.yaml")
    spec.rename(spec.with_name(name))
    ended = run(command, name)
    assert ended.code in (Exit.CLEAR, Exit.UNUSABLE)
    (ended.out + ended.err).encode()


def test_a_package_that_is_missing_is_named_with_how_to_get_it(spec: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    ended = run("make", "bracket.yaml", "--no-solid")
    assert ended.code == Exit.UNUSABLE
    assert "ezdxf" in ended.err
    assert "is not installed" in ended.err


def test_a_typeface_that_is_missing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def forget() -> None:  # what other tests have measured in this process
        for told in (letters.font_name, letters._widths, letters.text_width):
            told.cache_clear()

    monkeypatch.setitem(letters._FILES, "regular", "gone.ttf")
    forget()
    with pytest.raises(OutputError, match="the typeface of the papers is missing"):
        letters.text_width("a text", 9)
    monkeypatch.undo()
    forget()
    assert letters.text_width("a text", 9) > 0


def test_with_json_every_end_is_json(spec: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert json.loads(run("check", "none.yaml", "--json").out)["verdict"] == "unusable"
    spec.write_text(NARROW + "paper: {size: {width: 40, height: 40}}\n", "utf-8")
    told = json.loads(run("make", "bracket.yaml", "--json").out)
    assert told["problems"][0]["field"] == "paper.size"

    def mistake(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("platekit.jobs.plates.laid_out", mistake)
    monkeypatch.setattr(cli, "own_mistake", lambda error: "a sentence")
    monkeypatch.setattr(sys, "argv", ["platekit", "check", "bracket.yaml", "--json"])
    printed: list[object] = []
    monkeypatch.setattr(cli, "show_json", printed.append)
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == Exit.BUG
    assert printed == [{"verdict": "mistake", "message": "a sentence", "problems": []}]


def test_no_warning_of_a_library_reaches_the_terminal(spec: Path) -> None:
    """An edge that no reading was taken to is looked for with nothing to go by."""
    sides = "[A,B,centres,100],[B,C,centres,80],[C,D,centres,100],[A,D,centres,80]"
    sides += ",[A,C,centres,128.06],[B,D,centres,128.06]"
    holes = "holes: {A: 9, B: 9, C: 9, D: 9}, sigma: 0.1, edges: [E1], clockwise: [A,C,B], origin: A, x_axis: [A,B]"
    pattern = f"{{measured: {{{holes}, readings: [{sides}]}}}}"
    text = NARROW.replace("{rectangle: {width: 40, height: 20, hole: 6.6}}", pattern).replace(
        "far,", "far, looking_at: face,"
    )
    assert text != NARROW
    spec.write_text(text, "utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with suppress(PlatekitError):
            platekit.check(platekit.lay_out(platekit.load(spec)))
    done = subprocess.run([*LINE, "check", str(spec)], env=ENV, capture_output=True, text=True, check=False)
    assert "Warning" not in done.stderr


# --------------------------------------------------------------------------------------------- text


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("%YAML 1.3\n---", (1, 1)),
        (f"%YAML 1.{'9' * 5000}\n---", (1, 1)),
        (f"# first\n\n%YAML {2**70}.2\n---", (3, 1)),
        ("%TAG ! tag:x,2000:\n---", (1, 1)),
        ('x: "\\UFFFFFFFF"', (1, 4)),
        ('x: "\\uD800"', (1, 4)),
        ('"\\uDFFF": 1', (1, 1)),
        (f"x: {'7' * 5000}", (1, 4)),
    ],
)
def test_text_on_which_a_reader_of_yaml_fails_is_told_at_its_place(line: str, place: tuple[int, int]) -> None:
    with pytest.raises(platekit.SpecError) as caught:
        platekit.loads(f"{line}\n{NARROW}", "bracket.yaml")
    first = caught.value.problems[0]
    assert first.line == place[0]
    assert place[1] <= first.column <= place[1] + 1
    str(first).encode()


def test_the_line_of_yaml_1_2_may_stand() -> None:
    assert platekit.loads(f"%YAML 1.2\n---\n{NARROW}").model.title == "Shelf bracket"


def test_text_in_another_code_has_a_place(tmp_path: Path) -> None:
    for data in (NARROW.encode("utf-16"), b"\0" * 9):
        (tmp_path / "bracket.yaml").write_bytes(data)
        with pytest.raises(platekit.SpecError) as caught:
            platekit.load(tmp_path / "bracket.yaml")
        assert caught.value.problems[0].line == 1


PIECES = st.sampled_from(
    [
        *(
            "%YAML 1.2",
            "%",
            "---",
            "...",
            "? ",
            ": ",
            "- ",
            "&a ",
            "*a",
            "!!int ",
            "!<",
            "| ",
            ">9",
            "<<",
            '"\\x',
            '"\\U',
        ),
        *("FFFFFFFF", "'", '"', "\\", "[", "]", "{", "}", ",", "#", "\n", "\n  ", "0x1", "1e999", "\u2028", "\ufeff"),
        *("9" * 400, "~"),
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.lists(PIECES | st.characters(), max_size=12).map("".join), st.sampled_from(NARROW.splitlines()))
def test_whatever_stands_in_a_spec_is_read_or_told(text: str, line: str) -> None:
    """Anything between, before or in place of the values of a sound spec."""
    for changed in (
        NARROW.replace(line, f"{line}\n{text}"),
        NARROW.replace(line, line.partition(":")[0] + f": {text}"),
    ):
        try:
            platekit.loads(changed, "bracket.yaml")
        except PlatekitError as error:
            str(error).encode()


def test_a_path_moves_no_cursor(spec: Path) -> None:
    ended = run("template", spec.name, "--out", "out\x1b[2J")
    assert "out\\x1b[2J" in ended.out
    assert "\x1b" not in ended.out + ended.err


def test_a_name_without_end_is_no_slip_of_one(spec: Path) -> None:
    assert nearest("A" * 10_000, ("NEMA 56C", "IEC 90 B14")) == nearest("A" * 100, ("NEMA 56C", "IEC 90 B14"))
    assert run("new", "made.yaml", "--motor", "A" * 10_000).code == Exit.UNUSABLE
