"""Adding shapes up and cutting pieces out of an outline, exactly."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from platekit.errors import GeometryError
from platekit.geometry.arrange import outlines
from platekit.geometry.edges import Edge
from platekit.geometry.loop import Loop
from platekit.geometry.measure import crosses, distance, edge_distance
from platekit.geometry.point import EPS, Point
from platekit.geometry.shapes import Shape


def union_loops(shapes: Iterable[Shape]) -> list[Loop]:
    """The outer outlines of shapes taken together, largest first; holes between them are filled.

    Shapes that only touch in a point stay apart.

    >>> from platekit.geometry.shapes import Disc
    >>> len(union_loops([Disc((0, 0), 2), Disc((3, 0), 2), Disc((9, 0), 1)]))
    2
    """
    loops = [shape.loop() for shape in shapes]
    if len(loops) < 2:
        return loops

    def inside(p: Point) -> bool:
        return any(_within(loop, p) for loop in loops)

    return outlines([edge for loop in loops for edge in loop.edges], inside)


def _within(loop: Loop, p: Point) -> bool:
    x0, y0, x1, y1 = loop.box
    return x0 <= p[0] <= x1 and y0 <= p[1] <= y1 and loop.contains(p)


def notch(outline: Loop, cutter: Shape) -> Loop:
    """The outline with `cutter` taken away where the two overlap, lines and arcs cut where they cross.

    The outline itself comes back when the cutter does not enter it. Raises GeometryError when the cutter lies
    wholly inside (that is an opening, not a notch), takes everything away, or cuts the outline in two.

    >>> from platekit.geometry.loop import rectangle
    >>> notch(rectangle(10, 10), rectangle(4, 4, center=(5, 0))).area
    92.0
    """
    if not crosses(outline, cutter):
        return outline
    x, y = cutter.centroid
    if edge_distance(cutter, outline).distance > EPS:
        raise GeometryError(
            f"the cut-out at {x:.6g}, {y:.6g} lies wholly inside the outline; make it an opening of its own"
        )
    loops = difference(outline, [cutter])
    if len(loops) == 1:
        return loops[0]
    what = "takes the whole plate away" if not loops else f"cuts the plate into {len(loops)} pieces"
    raise GeometryError(f"the cut-out at {x:.6g}, {y:.6g} {what}; make it smaller or move it outwards")


def difference(outline: Shape, cutters: Sequence[Shape]) -> list[Loop]:
    """What is left of `outline` without the `cutters`: outer outlines, largest first, holes not shown."""
    body = outline.loop()
    others = [cutter.loop() for cutter in cutters if distance(outline, cutter).distance <= EPS]

    def inside(p: Point) -> bool:
        return _within(body, p) and not any(_within(loop, p) for loop in others)

    return outlines(_all_edges([body, *others]), inside)


def intersection(a: Shape, b: Shape) -> list[Loop]:
    """What two shapes have in common, as outlines, largest first; empty when they only touch."""
    first, second = a.loop(), b.loop()

    def inside(p: Point) -> bool:
        return _within(first, p) and _within(second, p)

    return outlines(_all_edges([first, second]), inside)


def _all_edges(loops: Sequence[Loop]) -> list[Edge]:
    return [edge for loop in loops for edge in loop.edges]
