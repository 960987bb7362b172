"""`platekit commissioning`, `platekit back`: one paper by itself, as `make` writes it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import CAUTIONS, NOT_FOR_CUTTING, TWO_LINES
from platekit.export.bench.commissioning import COMMISSIONING_SUFFIX, commissioning_bytes
from platekit.export.bench.going_back import BACK_SUFFIX, going_back_bytes
from platekit.export.data.rounded import Figures
from platekit.export.files import file_in, folder_in, write_together
from platekit.export.one_writer import one_writer
from platekit.export.standing import left_of, telling, void_cut_files
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent, wrote_lines
from platekit.placed import Layout


def commissioning(path: Path, out: Path, working: Working = silent) -> Told:
    """Writes the commissioning sheet of the spec at `path` under `out`; raises `SpecError`, `OutputError`."""
    return _one(path, out, COMMISSIONING_SUFFIX, commissioning_bytes, working)


def going_back(path: Path, out: Path, working: Working = silent) -> Told:
    """Writes the paper for going back of the spec at `path` under `out`; raises `SpecError`, `OutputError`."""
    return _one(path, out, BACK_SUFFIX, going_back_bytes, working)


def _one(path: Path, out: Path, suffix: str, made: Callable[[Layout, Verdict], bytes], working: Working) -> Told:
    layout, verdict = judged(path, out, working)
    name = layout.spec.name
    file_in(out, name)  # a name that no file can have is refused before anything is drawn
    # as with every paper, cut files of another state go first: none may lie beside a paper that says something else
    before = left_of(layout, verdict, out)
    with telling(before):
        data = made(layout, verdict)
        folder = folder_in(out, name)
        file = file_in(folder, name + suffix)
        with one_writer(folder):
            write_together([(file, data)], void_cut_files(layout, verdict, folder))
    after = left_of(layout, verdict, out)

    def text() -> str:
        lines = [*wrote_lines((file,)), *before.lines()[: len(before.removed)], *after.lines(), *TWO_LINES]
        return "\n".join(lines if verdict.clear else [*lines, f"{NOT_FOR_CUTTING}: a stop is open, see platekit check"])

    def figures() -> Figures:
        return {
            "verdict": verdict.word,
            "files": [str(file)],
            "cautions": list(CAUTIONS),
            "removed": [str(one) for one in (*before.removed, *after.removed)],
            "outdated": after.figures()["outdated"],
        }

    return Told(verdict.word, text, figures, (file,))
