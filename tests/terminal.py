"""Commands as someone types them: run in this process, in a folder of their own."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

import platekit
from platekit import cli

ROOT = Path(platekit.__file__).parent.parent
CLEAR = "specs/bead-sorter.yaml"
STOPPED = "specs/wrong-on-purpose.yaml"


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
