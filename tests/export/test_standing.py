"""What an earlier state left in the folder: no cut file outlives its verdict, no outdated paper goes untold."""

from __future__ import annotations

import errno
import json
import os
import re
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

import platekit
from platekit.checks import Verdict
from platekit.cli import Exit
from platekit.errors import OutputError
from platekit.export.marks import mark_of
from platekit.export.publishing import FilesWanted, every_cut_suffix, publish
from platekit.export.standing import cut_files
from tests.adversary.commands import run
from tests.export.test_publishing import NARROW, PLATE, STOPPED, WIDE, contents, papers, published, stale_cut_files

SMALL_PAPER = "paper: {size: {width: 40, height: 40}}\n"
UNUSABLE = WIDE.replace("thickness: 5", "thicknes: 5")
DRIVE = (Path(platekit.__file__).parents[1] / "specs" / "dough-mixer.yaml").read_text("utf-8")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the spec `bracket.yaml`, made while it was clear."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bracket.yaml").write_text(NARROW, "utf-8")
    published(NARROW, tmp_path / "output")
    assert cut(tmp_path)
    return tmp_path


def cut(shop: Path) -> list[str]:
    return [path.name for path in cut_files(shop / "output" / "bracket", "bracket")]


@pytest.mark.parametrize("command", ["check", "make", "template"])
@pytest.mark.parametrize("text", [STOPPED, STOPPED + SMALL_PAPER, UNUSABLE, "{", "platekit: 1\n"])
def test_no_cut_file_outlives_an_open_stop_or_an_unusable_spec(shop: Path, command: str, text: str) -> None:
    (shop / "bracket.yaml").write_text(text, "utf-8")
    ended = run(command, "bracket.yaml")
    assert ended.code in (Exit.STOP, Exit.UNUSABLE)
    assert not cut(shop)
    assert "took away" in ended.out + ended.err
    assert "bracket.cut.dxf" in ended.out + ended.err


@pytest.mark.parametrize("command", ["make", "template"])
@pytest.mark.parametrize("text", [WIDE, WIDE + SMALL_PAPER])
def test_no_cut_file_of_another_revision_stays_where_papers_are_written(shop: Path, command: str, text: str) -> None:
    (shop / "bracket.yaml").write_text(text, "utf-8")
    old = platekit.loads(NARROW).revision
    run(command, "bracket.yaml", *(["--no-solid"] if command == "make" else []))
    assert old not in {mark_of(shop / "output" / "bracket" / name) for name in cut(shop)}


def test_a_spec_that_is_not_there_takes_nothing_away(shop: Path) -> None:
    before = contents(shop)
    assert run("make", "bracket.yml").code == Exit.UNUSABLE
    assert contents(shop) == before


@pytest.mark.parametrize("command", ["check", "template"])
def test_what_is_of_another_revision_is_told(shop: Path, command: str) -> None:
    (shop / "bracket.yaml").write_text(WIDE, "utf-8")
    ended = run(command, "bracket.yaml")
    assert "of another revision" in ended.out
    assert "bracket.report.html" in ended.out
    told = json.loads(run(command, "bracket.yaml", "--json").out)
    assert {Path(one["path"]).name for one in told["outdated"]} >= {"bracket.report.html", "bracket.sheet.pdf"}
    (shop / "bracket.yaml").write_text(NARROW, "utf-8")
    run("make", "bracket.yaml", "--no-solid")
    assert "of another revision" not in run(command, "bracket.yaml").out


def test_check_leaves_the_cut_file_of_another_clear_state_and_says_so(shop: Path) -> None:
    (shop / "bracket.yaml").write_text(WIDE, "utf-8")
    before = contents(shop)
    ended = run("check", "bracket.yaml")
    assert contents(shop) == before
    assert "bracket.cut.dxf (" in ended.out


def test_a_paper_that_the_plate_has_no_more_goes_and_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bracket.yaml").write_text(DRIVE, "utf-8")
    run("make", "bracket.yaml", "--no-solid")
    assert (tmp_path / "output" / "bracket" / "bracket.drive.svg").exists()
    (tmp_path / "bracket.yaml").write_text(WIDE, "utf-8")
    ended = run("make", "bracket.yaml", "--no-solid")
    assert "took away bracket.drive.svg" in ended.out
    assert not (tmp_path / "output" / "bracket" / "bracket.drive.svg").exists()


def test_the_endings_of_cut_files_are_known_and_no_others_taken(tmp_path: Path) -> None:
    folder = tmp_path / "bracket"
    folder.mkdir()
    mine = ("bracket.nc", "bracket.mine.dxf", "bracket.cut.old.dxf", "other.cut.dxf", "bracket.dxf", "bracket.cut.txt")
    for name in (*(f"bracket{suffix}" for suffix in every_cut_suffix()), *mine):
        (folder / name).touch()
    assert {path.name for path in cut_files(folder, "bracket")} == {f"bracket{one}" for one in every_cut_suffix()}


# --------------------------------------------------------------------------------------------- killed, or refused


class Dies:
    """Takes the place of a call; the process ends at the one after the `allowed` ones, as if it were killed."""

    def __init__(self, call: Callable[..., Any], allowed: int) -> None:
        self.call, self.allowed = call, allowed

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        if self.allowed == 0:
            os._exit(9)
        self.allowed -= 1
        return self.call(*args, **kwargs)


def dies_in(action: Callable[[], object], name: str, allowed: int) -> bool:
    """Whether a child process, which does `action`, died at that call of the operating system."""
    child = os.fork()
    if child == 0:
        setattr(os, name, Dies(getattr(os, name), allowed))
        try:
            action()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be forked there")
@pytest.mark.parametrize("name", ["open", "fsync", "replace", "unlink", "close"])
@pytest.mark.parametrize("text", [WIDE, STOPPED], ids=["clear", "stopped"])
def test_killed_at_any_call_no_cut_file_lies_beside_another_state(tmp_path: Path, name: str, text: str) -> None:
    layout = platekit.lay_out(platekit.loads(text, "bracket"))
    verdict = platekit.check(layout)
    for folder, state in (("old", NARROW), ("new", text)):
        published(state, tmp_path / folder)
    old, new = contents(tmp_path / "old"), contents(tmp_path / "new")
    for allowed in range(60):
        out = tmp_path / f"{name}{allowed}"
        published(NARROW, out)
        died = dies_in(partial(publish, layout, verdict, out, FilesWanted(solid=False, kerf=True)), name, allowed)
        now = {file: data for file, data in contents(out).items() if not file.endswith((".part", ".lock"))}
        assert not [file for file, data in now.items() if data not in (old.get(file), new.get(file))]
        assert not stale_cut_files(now, old, new), f"killed at {name} {allowed}"
        assert died or now == new
        published(text, out)
        assert contents(out) == new, "the next run makes good whatever was left"
        if not died:
            return
    raise AssertionError("it never came to its end")


def test_a_cut_file_that_cannot_go_is_said_and_nothing_is_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    published(NARROW, tmp_path)
    before = contents(tmp_path)

    def busy(path: Path, *_: object, **__: object) -> None:
        if path.suffix == ".dxf":
            raise PermissionError(errno.EACCES, "Permission denied")

    for text in (WIDE, STOPPED):
        with monkeypatch.context() as patched:
            patched.setattr(Path, "unlink", busy)
            with pytest.raises(OutputError, match=r"bracket\.cut\.dxf is out of date and could not be removed"):
                published(text, tmp_path)
        assert contents(tmp_path) == before


def test_papers_of_a_stop_are_never_beside_a_cut_file_that_came_in_between(tmp_path: Path) -> None:
    """Another run writes its cut files after this one's verdict, before its papers: they go with the papers' coming."""
    layout = platekit.lay_out(platekit.loads(STOPPED, "bracket"))
    verdict: Verdict = platekit.check(layout)
    came: list[str] = []

    def meanwhile(name: str) -> None:
        if not came:
            came.append(name)
            published(NARROW, tmp_path)

    publish(layout, verdict, tmp_path, FilesWanted(solid=False), meanwhile)
    assert came
    assert contents(tmp_path) == papers(contents(tmp_path))


def test_the_plate_of_these_tests_is_what_it_says() -> None:
    assert re.search("WIDTH", PLATE)
    assert [platekit.check(platekit.lay_out(platekit.loads(text))).clear for text in (NARROW, WIDE, STOPPED)] == [
        1,
        1,
        0,
    ]
