"""What a command does not need it does not wait for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import platekit
from platekit import cli

ROOT = Path(platekit.__file__).parents[1]


def test_only_the_command_that_is_named_is_put_together(monkeypatch: pytest.MonkeyPatch) -> None:
    every = list(cli.app.registered_commands)
    whole = cli.app
    for words, left in ((["check", "make"], 1), (["chekc"], len(every)), (["--help"], len(every)), ([], len(every))):
        monkeypatch.setattr(cli, "app", whole)
        cli.only_the_command_named(words)
        assert len(cli.app.registered_commands) == left


@pytest.mark.parametrize("words", [["check", "--help"], ["strength", "--help"]])
def test_the_help_of_a_command_is_the_same_with_and_without_the_others(words: list[str]) -> None:
    alone = "from platekit.__main__ import main\nmain()"
    among = "from platekit.cli import app\napp(prog_name='platekit')"
    asked = "import sys; sys.argv = ['platekit', *{words!r}]\n{how}"
    outs = [
        subprocess.run(
            [sys.executable, "-c", asked.format(words=words, how=how)], cwd=ROOT, capture_output=True, check=True
        ).stdout
        for how in (alone, among)
    ]
    assert outs[0] == outs[1] != b""
