"""The verdict as text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from platekit.checks import Finding, Level, Verdict
from platekit.cutting import operations_of
from platekit.drawing.cautions import TWO_LINES
from platekit.drawing.like_findings import count_words, grouped, led, same_at
from platekit.drawing.sizes import mass_figure
from platekit.export.data.found_places import found_lines
from platekit.export.text.belt import belt_line
from platekit.export.text.terminal import folded
from platekit.placed import Layout
from platekit.units import show_length

if TYPE_CHECKING:
    from platekit.export.publishing import Published

INDENT = " " * 6


def verdict_text(layout: Layout, verdict: Verdict) -> str:
    """What the plate is, every finding with its advice, and the verdict last, where the eye ends up."""
    unit = layout.spec.unit
    box = layout.outline.box
    size = f"{show_length(box.width, unit)} x {show_length(box.height, unit)}"
    plan = operations_of(layout)
    cut = sum(operations.as_cut for operations in plan)
    lines = [
        f"{layout.title}  (revision {layout.spec.revision})",
        f"{size}, {show_length(layout.thickness, unit)} {layout.material.name}, {mass_figure(layout.mass, unit)}; "
        f"{_count(len(plan), 'opening')}: {cut} cut to size by {layout.cutting.process}, "
        f"{len(plan) - cut} finished by hand",
        *(belt_line(layout, belt) for belt in layout.belts),
        *found_lines(layout),
        "",
    ]
    for alike in grouped(verdict.findings):
        lines += [*finding_lines(alike), ""]
    lines += [*TWO_LINES, closing(verdict)]
    return "\n".join(lines)


def closing(verdict: Verdict) -> str:
    """The verdict in one line, with how many findings of each level are open, and at how many places."""
    words: tuple[tuple[Level, str], ...] = (("stop", "stop"), ("warn", "warning"), ("note", "note"))
    said = [count_words(verdict.open(level), word) for level, word in words]
    if verdict.accepted:
        said.append(f"{len(verdict.accepted)} accepted")
    return f"{'CLEAR TO CUT' if verdict.clear else 'NOT FOR CUTTING'}: {', '.join(said)}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def finding_lines(alike: Sequence[Finding]) -> list[str]:
    """Findings that say the same, as lines: the sentence, what would do, the reason why it is accepted."""
    finding = alike[0]
    where = f" (line {finding.line})" if finding.line and finding.level != "note" else ""
    first = f"{finding.level:<5} {led(finding)}{same_at(alike)}{where}"
    lines = folded(first, then=INDENT)
    if finding.advice:
        lines += folded(f"> {finding.advice.text}", INDENT, INDENT + "  ")
    if finding.accepted is not None:
        text = f"accepted: {finding.accepted}"
        lines += folded(text, INDENT, INDENT)
    return lines


def made_text(published: Published) -> str:
    """Which files were written, and which outdated ones were taken away."""
    lines = [f"wrote {published.folder}:", *(f"  {path.name}" for path in published.written)]
    for path in published.removed:
        lines.append(f"took away {path.name}: it belonged to an older state of the plate")
    return "\n".join(lines)
