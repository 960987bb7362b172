"""`platekit check`: the verdict on a plate, and what stands in its folder."""

from __future__ import annotations

from pathlib import Path

from platekit.checks.finding import Verdict
from platekit.export.data.rounded import Figures
from platekit.export.standing import Standing, left_of
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent
from platekit.placed import Layout

EXPLAINING = "making the tightest pairs"


def check(path: Path, out: Path, explain: bool = False, working: Working = silent) -> Told:
    """What stands against cutting the plate of the spec at `path`; `explain` adds its tightest pairs and its order.

    Void cut files under `out` are taken away. Raises `SpecError`, `OutputError`.
    """
    layout, verdict = judged(path, out, working)
    standing = left_of(layout, verdict, out, keep_clear=True)
    return Told(
        verdict.word,
        lambda: _text(layout, verdict, standing, explain, working),
        lambda: _figures(layout, verdict, standing, explain, working),
    )


def _text(layout: Layout, verdict: Verdict, standing: Standing, explain: bool, working: Working) -> str:
    from platekit.export.text.verdict import verdict_text

    text = "\n".join([*standing.lines(), verdict_text(layout, verdict)])
    if not explain:
        return text
    from platekit.jobs.explained import explained_text

    working(EXPLAINING)
    return f"{text}\n\n{explained_text(layout)}"


def _figures(layout: Layout, verdict: Verdict, standing: Standing, explain: bool, working: Working) -> Figures:
    from platekit.export.data.found_places import found_figures
    from platekit.export.data.plate import verdict_figures

    more: Figures = {}
    if explain:
        from platekit.jobs.explained import explained_figures

        working(EXPLAINING)
        more = explained_figures(layout)
    return {**verdict_figures(verdict), **found_figures(layout), **more, **standing.figures()}
