"""`platekit make`: every file of a plate, and what was written."""

from __future__ import annotations

from pathlib import Path

from platekit.cutting import capability_of, plan
from platekit.export.data.cut_plan import plan_text
from platekit.export.data.found_places import found_figures
from platekit.export.data.plate import verdict_figures
from platekit.export.data.rounded import Figures
from platekit.export.publishing import FilesWanted, publish
from platekit.export.text.verdict import made_text, verdict_text
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent


def make(path: Path, out: Path, wanted: FilesWanted | None = None, working: Working = silent) -> Told:
    """Writes the files of the spec at `path` under `out`, the cut files only if no stop is open.

    Raises `SpecError`, `OutputError`; see `publish`; `KernelMissing` for an assembly without the extra `solid`.
    """
    if wanted is not None and wanted.assembly:
        from platekit.geometry.kernel import need_kernel

        need_kernel("an assembly")  # said before anything is written
    layout, verdict = judged(path, out, working)
    published = publish(layout, verdict, out, wanted, lambda name: working(f"making {name}"))

    # without a plan either the table cannot cut the plate as it is, or nothing is cut on a table at all
    def text() -> str:
        no_plan = "no time to tell: not to be cut so" if capability_of(layout).traits.table else "no cutting table"
        times = plan_text(plan(layout), layout.spec.unit) or no_plan
        return "\n".join([verdict_text(layout, verdict), times, made_text(published)])

    def figures() -> Figures:
        return {
            **verdict_figures(verdict),
            **found_figures(layout),
            "files": [str(path) for path in published.written],
            "removed": [str(path) for path in published.removed],
        }

    return Told(verdict.word, text, figures, published.written)
