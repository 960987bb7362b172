"""The bench sheet's page on how the plate holds: stress and movement in greys, and what each screw takes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from platekit.drawing.labels import points_along
from platekit.drawing.pdf.letters import SMALLEST_TEXT, letters
from platekit.drawing.pdf.names import Name, NameWish, placed_names, write_name
from platekit.drawing.pdf.pen import HAIRLINE, Pen, Way
from platekit.drawing.text import shortened
from platekit.export.picture.strength import panels, scale_figures
from platekit.geometry import Box, Point
from platekit.placed import Layout
from platekit.units import Unit, show_force

if TYPE_CHECKING:
    from platekit.strength.shown import Field, Shown

GAP: Final = 8.0
"""Between two plates, mm (ours)."""
HEAD: Final = 13.0
"""Room for the words over a plate, mm (ours): a cross at its edge reaches into it."""
FOOT: Final = 9.0
"""Room for the scale below it, mm (ours)."""
STEP: Final = 0.8
"""Between the points of edges that the forces keep off, mm of paper (ours: under a cell of `labels`)."""
LIGHTEST, DARKEST = 0.97, 0.3
"""Greys of the lowest and the highest level (ours)."""


def draw_strength(pen: Pen, layout: Layout, shown: Shown, room: Box) -> None:
    """Up to four small plates in their room: as many figures as were worked out, then the screws."""
    fields = panels(layout, shown)
    wide, tall = (room.width - GAP) / 2, (room.height - GAP) / 2
    unit = layout.spec.unit
    pulled_in = "pounds-force" if unit == "in" else "newtons"
    screws = ("What each screw takes", f"{pulled_in} off the plate / sideways, the most of all cases", None)
    for index, (title, note, field) in enumerate([*fields, screws]):
        left, top = room.x0 + (index % 2) * (wide + GAP), room.y1 - (index // 2) * (tall + GAP)
        pen.text((left, top - 4), shortened(title, wide, letters(10, "bold")), 10, "bold")
        pen.text((left, top - 8.5), shortened(note, wide, letters(SMALLEST_TEXT)), SMALLEST_TEXT)
        box = layout.plane.box
        scale = min(wide / box.width, (tall - HEAD - FOOT) / box.height)
        below = top - HEAD - box.height * scale

        def at(point: Point, left: float = left, below: float = below, scale: float = scale) -> Point:
            box = layout.plane.box
            return left + (point[0] - box.x0) * scale, below + (point[1] - box.y0) * scale

        if field is not None:
            _shaded(pen, field, at)
            _scale(pen, field, left, below - 4.5, wide, layout.spec.unit)
        ribs = [rib.shape for rib in layout.ribs]
        for shape in (layout.plane, *(opening.shape for opening in layout.openings), *ribs):
            pen.shape(shape, at, 0.25)
        if field is None:
            window = Box(left, top - tall, left + wide, top - HEAD)
            for name in _forces(layout, shown, at, scale, window):
                write_name(pen, name, SMALLEST_TEXT)


def _forces(layout: Layout, shown: Shown, at: Way, scale: float, window: Box) -> list[Name]:
    """What each screw takes, in words beside its hole and over no edge."""
    ribs = [rib.shape for rib in layout.ribs]
    holes = {opening.name: opening.shape for opening in layout.openings}
    unit = layout.spec.unit
    wanted = []
    for screw in shown.screws:
        said = f"{_bare(max(screw.pull, 0.0), unit)} / {_bare(screw.shear, unit)}"
        # of a slot its width: the words stand beside the screw, not beyond the slot's end
        box = holes[screw.hole].box
        radius = min(box.width, box.height) / 2 * scale
        wanted.append(NameWish(((said, "regular"),), at(screw.at), radius + 0.3, radius))
    edges = [
        point for shape in (layout.plane, *holes.values(), *ribs) for point in points_along(shape, at, STEP / scale)
    ]
    corners = [(at((shape.box.x0, shape.box.y0)), at((shape.box.x1, shape.box.y1))) for shape in holes.values()]
    hollows = [Box(*low, *high) for low, high in corners]
    return placed_names(wanted, window, (), (), SMALLEST_TEXT, edges, hollows)


def _shaded(pen: Pen, field: Field, at: Way) -> None:
    """The regions from the lightest grey to the darkest, and a cross where there is most."""
    for level, region in enumerate(field.regions):
        pen.area([[at(point) for point in line] for line in region], _grey(level, len(field.regions)))
        if level:
            for line in region:
                pen.chain([at(point) for point in (*line, line[0])], 0.05)
    # on white, or the darkest shade would hide it
    x, y = at(field.at)
    arms = Box(x - 2, y, x + 2, y), Box(x, y - 2, x, y + 2)
    for arm in arms:
        pen.box(arm.grown(0.5), width=0, fill=1.0)
    for arm in arms:
        pen.line((arm.x0, arm.y0), (arm.x1, arm.y1), 0.3)


def _bare(newtons: float, unit: Unit) -> str:
    """A force in the unit of the spec, without its name, which stands over all of them."""
    return show_force(newtons, unit).partition(" ")[0]


def _grey(level: int, levels: int) -> float:
    return LIGHTEST + (DARKEST - LIGHTEST) * level / max(levels - 1, 1)


def _scale(pen: Pen, field: Field, left: float, bottom: float, wide: float, unit: Unit) -> None:
    figures = scale_figures(field, unit)
    count = len(field.regions)
    each = wide / count
    for level in range(count):
        x = left + each * level
        pen.box(Box(x, bottom, x + each, bottom + 2.5), HAIRLINE, fill=_grey(level, count))
    for level, said in figures:
        off = 0.0 if level == 0 else -letters(SMALLEST_TEXT)(said) / (1 if level == count else 2)
        pen.text((left + each * level + off, bottom - 3), said, SMALLEST_TEXT)
