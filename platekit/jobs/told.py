"""What every job gives: one value with its state, text, figures and the files written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

State = Literal["clear", "stop", "placed", "open", "done", "unusable"]
"""`clear` and `stop` are a verdict; `placed`, `open` and `unusable` what a survey came to; `done` is all the rest."""
Working = Callable[[str], None]
"""Is told what is being done, by a job that takes a while."""


class Told(Struct, frozen=True):
    """What a job came to. The files in `written` are there by then.

    Text and figures are worked out when they are asked for: a command wants one of them, and has to start at once.
    """

    state: State
    # functions, and not the texts: `--json` never pays for words, a terminal never for figures
    tell: Callable[[], str]
    count: Callable[[], object]
    written: tuple[Path, ...] = ()

    @property
    def text(self) -> str:
        """For a person."""
        return self.tell()

    @property
    def figures(self) -> Any:
        """For a program: what JSON takes, lengths in mm unless a key says otherwise."""
        return self.count()


def silent(words: str) -> None:
    """Nobody is told what is being done."""


def wrote_lines(files: tuple[Path, ...]) -> list[str]:
    """Which files were written, a line each."""
    return [f"wrote {path}" for path in files]
