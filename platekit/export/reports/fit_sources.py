"""What the small ends of cut openings and the odds of a fit rest on: taper, places of holes, limits of the odds."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.analysis.fitting import FIT_STOP, FIT_WARN, limits_of
from platekit.cutting import capability_of, operations_of
from platekit.cutting.capability import LIMIT_SIGMAS
from platekit.export.reports.rows import SourceRow, kind_of, source_row
from platekit.placed import Layout, Value
from platekit.tables.scatter import hole_scatter
from platekit.units import show_length


def fit_sources(layout: Layout) -> Iterator[SourceRow]:
    """A row for each figure behind small ends and odds; nothing on odds where no mount has screws."""
    capability, unit = capability_of(layout), layout.spec.unit
    cut = [operations.as_cut for operations in operations_of(layout)]
    if any(cut):
        yield SourceRow(
            "taper of a cut edge", f"{math.degrees(capability.taper.value):g} degrees", *kind_of(capability.taper)
        )
    if capability.own_scatter is not None:
        yield SourceRow(
            "scatter of a cut size", show_length(capability.own_scatter.value, unit), *kind_of(capability.own_scatter)
        )
    elif any(cut):
        for size, found in _by_standard(layout).items():
            yield SourceRow(
                f"scatter of {show_length(size, unit)}", f"± {show_length(found.value, unit)}", *kind_of(found)
            )
    if not layout.stacks:
        return
    measured = {mount.name for mount in layout.mounts.values() if mount.survey is not None}
    ways = [("places of drilled holes", "drilled")] if layout.cutting.drilling is None else []
    if capability.traits.table:
        sigma = f"{show_length(capability.position.value, unit)} each way, one standard deviation"
        said, kind = kind_of(capability.position)
        if layout.cutting.position is not None:
            said = _third(show_length(layout.cutting.position, unit))
        yield SourceRow("places of what the table cuts or marks", sigma, said, kind)
    else:
        ways.insert(0, ("places of what is marked through the paper", "printed"))
    if len(measured) < len(layout.stacks):
        ways.append(("places of the part's holes", "part"))
    for what, way in ways:
        scatter = hole_scatter(way)
        yield source_row(
            what, f"{show_length(scatter.position, unit)} each way, one standard deviation", scatter.source
        )
    if layout.cutting.drilling is not None:
        sigma = f"{show_length(layout.cutting.drilling / LIMIT_SIGMAS, unit)} each way, one standard deviation"
        yield SourceRow("places of drilled holes", sigma, _third(show_length(layout.cutting.drilling, unit)), "")
    drilled = hole_scatter("drilled")
    if drilled.larger:
        said = f"{show_length(drilled.larger, unit)} over the drill's size"
        yield source_row("drilled holes come out larger", said, drilled.source)
    yield SourceRow("scatter of a size, in standard deviations", f"{LIMIT_SIGMAS:g}", "usual", "common practice")
    warn, stop = limits_of(layout)
    own = (warn, stop) != (FIT_WARN, FIT_STOP)
    yield SourceRow(
        "odds below which it warns, and stops",
        f"{100 * warn:g} %, {100 * stop:g} %",
        *(("given in the spec", "") if own else ("one plate in a hundred, one in five", "common practice")),
    )


def _third(given: str) -> str:
    return f"given in the spec as ± {given}, which is taken for {LIMIT_SIGMAS:g} standard deviations"


def _by_standard(layout: Layout) -> dict[float, Value]:
    """What the standard says of each size that stays as cut and that something must pass."""
    from platekit.checks.cutting import cut_to_pass

    capability = capability_of(layout)
    return {opening.size: capability.scatter(opening.size) for opening, _ in cut_to_pass(layout)}
