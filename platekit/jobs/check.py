"""`platekit check`: the verdict on a plate, and what stands in its folder."""

from __future__ import annotations

from pathlib import Path

from platekit.export.data.rounded import Figures
from platekit.export.standing import left_of
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent

EXPLAINING = "making the tightest pairs"


def check(path: Path, out: Path, explain: bool = False, working: Working = silent) -> Told:
    """What stands against cutting the plate of the spec at `path`; `explain` adds its tightest pairs and its order.

    Void cut files under `out` are taken away. Raises `SpecError`, `OutputError`.
    """
    layout, verdict = judged(path, out, working)
    standing = left_of(layout, verdict, out, keep_clear=True)

    def text() -> str:
        from platekit.export.text.verdict import verdict_text

        said = "\n".join([*standing.lines(), verdict_text(layout, verdict)])
        if not explain:
            return said
        # only here: laying out again for every number that might govern costs more than the whole check
        from platekit.jobs.explained import explained_text

        working(EXPLAINING)
        return f"{said}\n\n{explained_text(layout)}"

    def figures() -> Figures:
        from platekit.export.data.found_places import found_figures
        from platekit.export.data.plate import verdict_figures

        more: Figures = {}
        if explain:
            from platekit.jobs.explained import explained_figures

            working(EXPLAINING)
            more = explained_figures(layout)
        return {**verdict_figures(verdict), **found_figures(layout), **more, **standing.figures()}

    return Told(verdict.word, text, figures)
