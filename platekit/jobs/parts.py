"""`platekit parts`: everything to buy and to cut, with totals by part of the job."""

from __future__ import annotations

from pathlib import Path

from platekit.drawing.cautions import CAUTIONS, TWO_LINES
from platekit.export.data.parts_list import parts_figures
from platekit.export.data.rounded import Figures, tidied
from platekit.export.text.parts_list import list_lines
from platekit.export.text.terminal import folded
from platekit.export.text.verdict import closing
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent


def parts(path: Path, out: Path, working: Working = silent) -> Told:
    """The list of the spec at `path`; nothing is written, `make` writes it as a file. Raises `SpecError`."""
    layout, verdict = judged(path, out, working)

    def text() -> str:
        lines = [f"{layout.title}  (revision {layout.spec.revision})", ""]
        for line in list_lines(layout):
            inset = " " * (len(line) - len(line.lstrip()))
            lines += folded(line.lstrip(), inset, inset + "   ")
        return "\n".join([*lines, "", *TWO_LINES, closing(verdict)])

    def figures() -> Figures:
        about: Figures = {"verdict": verdict.word, "cautions": list(CAUTIONS), **parts_figures(layout)}
        return tidied(about)

    return Told(verdict.word, text, figures)
