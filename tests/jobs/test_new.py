"""`platekit new`: a spec that passes whatever is chosen, its schema, and the questions."""

from __future__ import annotations

import errno
import io
import itertools
import json
import os
import sys
from pathlib import Path
from typing import Any, get_args

import pytest
import typer

from platekit.choices import OldPattern, Process
from platekit.cli import Exit
from platekit.errors import OutputError
from platekit.jobs.new import Answers, new
from tests.terminal import Terminal

MOTORS = ("NEMA 56C", "NEMA 182TC", "NEMA 17", "IEC 90 B14", "IEC 80 B5", "IEC 71 B3", "SAE A 2-bolt")
AT_ONCE = 3
"""How many motors each process is tried with on each pattern: going on, all motors meet all patterns."""


@pytest.mark.parametrize("process", get_args(Process))
def test_a_new_spec_passes_check_whatever_is_chosen(process: str, terminal: Terminal) -> None:
    first = get_args(Process).index(process)
    for index, (machine, step) in enumerate(itertools.product(get_args(OldPattern), range(AT_ONCE))):
        motor = MOTORS[(AT_ONCE * first + index) % len(MOTORS)]
        unit, thickness = (("mm", "10 mm"), ("in", "3/8 in"))[step % 2]
        words = ("--process", process, "--machine", machine, "--motor", motor, "--units", unit)
        take_up = ("--take-up", "--no-take-up")[index // 2 % 2]
        made = terminal("new", f"{index}.yaml", *words, "--thickness", thickness, take_up)
        assert made.code == Exit.CLEAR, (machine, motor, made.err)
        checked = terminal("check", f"{index}.yaml")
        assert checked.code == Exit.CLEAR, (machine, motor, checked.out)


def test_a_material_that_the_process_does_not_cut_is_said_at_once(terminal: Terminal, tmp_path: Path) -> None:
    ran = terminal("new", "a.yaml", "--process", "router", "--material", "mild steel")
    assert ran.code == Exit.UNUSABLE
    assert "found mild steel cut by router: a router turns too fast" in ran.err
    assert not (tmp_path / "a.yaml").exists()


@pytest.mark.parametrize(("asked", "answer"), [("(mm, in)", "cm"), ("cut", "teeth"), ("old holes", "spiral")])
def test_an_answer_that_is_no_choice_is_told_and_nothing_written(
    asked: str, answer: str, terminal: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "stdin", AtATerminal())
    monkeypatch.setattr(typer, "prompt", lambda question, default: answer if asked in question else default)
    ran = terminal("new", "a.yaml")
    assert ran.code == Exit.UNUSABLE
    assert f"found {answer} for " in ran.err
    assert not (tmp_path / "a.yaml").exists()


def test_what_was_made_while_questions_were_answered_stays(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"

    def ask(question: str, default: str) -> str:
        path.write_text("mine", "utf-8")
        return default

    with pytest.raises(OutputError, match=r"a\.yaml exists already"):
        new(path, Answers(None, None, None, None, None, None, None, take_up=True), ask)
    assert path.read_text("utf-8") == "mine"


def test_a_run_that_ended_between_its_two_files_can_be_run_again(
    terminal: Terminal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace, left = os.replace, iter([True, False])

    def once(*names: Any) -> None:
        if not next(left):
            raise OSError(errno.ENOSPC, "full")
        replace(*names)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", once)
        assert terminal("new", "a.yaml").code == Exit.UNUSABLE
    assert terminal("new", "a.yaml").code == Exit.CLEAR
    assert sorted(one.name for one in tmp_path.iterdir() if one.is_file()) == ["a.yaml", "platekit.schema.json"]


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
