"""`platekit check`: the verdict on a plate, and what stands in its folder."""

from __future__ import annotations

from pathlib import Path

from platekit.checks import Verdict
from platekit.export.data.rounded import Figures
from platekit.export.standing import left_of, telling
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent
from platekit.placed import Layout

EXPLAINING = "making the tightest pairs"
USUAL_PAPER = ("a4", "letter", "a3", "tabloid")
MOST_ON_IT = 2000.0
"""A plate up to this size, mm, goes on less than a fifth of the most sheets, of the smallest of these (ours)."""
MOST_ACCEPTED = 1000
"""Letters of accepted findings that a sheet of these sizes has room for beside its drawing (ours)."""


def check(path: Path, out: Path, explain: bool = False, working: Working = silent) -> Told:
    """What stands against cutting the plate of the spec at `path`; `explain` adds its tightest pairs and its order.

    Void cut files under `out` are taken away. Raises `SpecError`, also for paper that the template would be refused on,
    and `OutputError`.
    """
    layout, verdict = judged(path, out, working)
    standing = left_of(layout, verdict, out, keep_clear=True)
    if _paper_may_be_refused(layout, verdict):
        from platekit.export.paper.template import refuse_paper

        with telling(standing):
            refuse_paper(layout, verdict)

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


def _paper_may_be_refused(layout: Layout, verdict: Verdict) -> bool:
    """Whether its paper has to be looked at: working out the words on a usual sheet costs more than the whole check."""
    paper, box = layout.paper, layout.outline.box
    usual = paper.size in USUAL_PAPER and paper.printer is None and paper.measured is None
    accepted = sum(len(one.message) + len(one.accepted or "") for one in verdict.accepted)
    return not usual or max(box.width, box.height) > MOST_ON_IT or accepted > MOST_ACCEPTED
