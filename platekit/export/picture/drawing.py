"""The drawing of the plate, in the order in which it is drawn: steel, then what is round it, then the labels."""

from __future__ import annotations

from typing import Final, Literal
from xml.etree.ElementTree import Element

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.cutting import operations_of
from platekit.cutting.heads import seats
from platekit.cutting.scribe import scribing_of
from platekit.drawing.svg.parts import (
    node,
)
from platekit.drawing.svg.shown import content_of, marks_of, mounts_of, parts, side_of, view_of
from platekit.export.picture.belt_lines import draw_belts
from platekit.export.picture.callouts import (
    body_labels,
    distance_labels,
    draw_labels,
    finding_labels,
    mount_labels,
    opening_labels,
    pattern_labels,
    travel_labels,
)
from platekit.export.picture.dimensions import (
    draw_distances,
    draw_orientation,
    draw_over_all,
    draw_stamp,
    draw_travel,
    draw_zeros,
)
from platekit.export.picture.steel import (
    definitions,
    draw_bodies,
    draw_centre_lines,
    draw_ghosts,
    draw_openings,
    draw_plate,
    draw_screws,
    draw_scribed,
    steel_group,
)
from platekit.placed import Layout

MOST_MARKS: Final = 60
"""Most findings marked in the picture; all of them are listed in the report (ours)."""


CROWDED: Final = 30
"""More labels than this, marks of findings among them, and the findings get a picture of their own (ours)."""
FEW_MARKS: Final = 3
"""So few marks find room on any picture (ours)."""

Show = Literal["all", "parts", "findings"]
"""What a drawing labels: everything, or parts and openings without the findings, or the findings alone."""


class DrawnPicture(Struct, frozen=True):
    """The finished drawing: its group, its height, the findings by their number, and what a legend must explain."""

    group: Element
    height: float
    scale: float
    shown: frozenset[str]
    labels: int
    marks: int


def drawings(layout: Layout, verdict: Verdict) -> tuple[DrawnPicture, ...]:
    """The drawing of a layout with the findings marked, or two where one would be crowded: parts, then findings."""
    whole = draw(layout, verdict)
    if whole.labels <= CROWDED or whole.marks <= FEW_MARKS:
        return (whole,)
    return draw(layout, verdict, "parts"), draw(layout, verdict, "findings")


def draw(layout: Layout, verdict: Verdict, show: Show = "all") -> DrawnPicture:
    """The drawing of a layout; `show` says what is labelled.

    From below upwards: the steel and what is cut out of it; parts, the far ones first, as the plate lies between them
    and the eye; belts and screws over the parts that carry them; where things move; centre lines; the stamp; and last
    the labels, which have to keep off all of it.
    """
    content = content_of(layout)
    view = view_of(content)
    edge = view.box(content)
    group = node(None, "g", class_="pk-drawing")
    definitions(group, view, edge)
    steel = steel_group(group, view)
    draw_plate(steel, layout, view)
    made = operations_of(layout)
    draw_openings(steel, layout, made, view)
    words = scribing_of(layout)
    if words.words:
        draw_scribed(steel, words, view)
    draw_bodies(steel, layout, view, "far")
    draw_bodies(steel, layout, view, "near")
    draw_belts(steel, layout, view)
    draw_screws(steel, layout, view)
    draw_ghosts(steel, layout, view)
    draw_centre_lines(steel, layout, view, words)
    if not verdict.clear:
        draw_stamp(group, edge)
    marks = marks_of(verdict, MOST_MARKS)
    on_plate = frozenset(word.feature for word in words.words if word.feature is not None)
    labels = [*finding_labels(layout, view, marks)] if show != "parts" else []
    if show == "findings":
        labels += mount_labels(layout, view)
    else:
        labels += [
            *distance_labels(layout, view),
            *mount_labels(layout, view),
            *travel_labels(layout, view),
            *pattern_labels(layout, view),
            *opening_labels(layout, made, view, on_plate),
            *body_labels(layout, view, edge),
        ]
    # Findings and dimensions have one place each, names can stand anywhere near: so the marks are placed first
    taken = [*draw_orientation(group, layout)]
    if show != "findings":
        taken += draw_over_all(group, layout, view, edge)
    taken += [view.box(word.box) for word in words.words]
    taken += [view.box(seat.mouth.box) for seat in seats(layout).values()]
    if show != "findings":
        draw_distances(group, layout, view)
    draw_zeros(group, layout, view)
    draw_travel(group, layout, view)
    bottom = draw_labels(group, labels, view, layout, edge, taken)
    # The legend explains what there is to see, and nothing else
    shown = {"plate", "zero"} if layout.mounts else {"plate"}
    shown |= {side_of(layout, body) for body in parts(layout)}
    if any(body.hardware for body in layout.bodies):
        shown.add("screws")
    if any(mount.travel is not None for mount in mounts_of(layout)):
        shown.add("travel")
    if any(operations.mark is not None for operations in made):
        shown.add("punch")
    if seats(layout):
        shown.add("mouth")
    if words.words:
        shown.add("scribed")
    marks = () if show == "parts" else marks
    shown |= {mark.finding.level for mark in marks if mark.finding.accepted is None}
    if any(mark.finding.accepted is not None for mark in marks):
        shown.add("accepted")
    if show == "findings":
        # the same plate stands above: no two elements of a picture have one name, but for the marks, which are here
        for element in group.iter():
            for name, value in element.attrib.items():
                if name == "id" and not value.startswith("pk-finding-"):
                    element.set(name, f"{value}-2")
                elif value.startswith("url(#"):
                    element.set(name, f"{value[:-1]}-2)")
    return DrawnPicture(group, bottom, view.scale, frozenset(shown), len(labels), len(marks))
