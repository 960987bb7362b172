"""Adding shapes up and cutting pieces out of an outline, exactly."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from platekit.errors import GeometryError
from platekit.geometry.arrange import beside, outlines, pieces_of
from platekit.geometry.edges import Edge
from platekit.geometry.loop import Loop, loops_of, reject_crossing
from platekit.geometry.measure import COVER_TOLERANCE, covers, crosses, lies_inside, within_reach
from platekit.geometry.point import EPS, Point
from platekit.geometry.shapes import Shape


def union_loops(shapes: Iterable[Shape]) -> list[Loop]:
    """The outer outlines of shapes taken together, largest first; holes between them are filled.

    Shapes (mm) that only touch in a point stay apart.

    >>> from platekit.geometry.shapes import Disc
    >>> len(union_loops([Disc((0, 0), 2), Disc((3, 0), 2), Disc((9, 0), 1)]))
    2
    """
    loops = [shape.loop() for shape in shapes]
    return loops if len(loops) < 2 else list(_together(tuple(loops)))


@lru_cache(maxsize=128)
def _together(loops: tuple[Loop, ...]) -> tuple[Loop, ...]:
    # Of hundreds of holes piled on each other nearly every piece lies within some other one, and the next piece mostly
    # within the same: so whichever loop held a point is asked first from then on (a self-organizing list, moved to
    # front). Whether any holds it does not hang on the order.
    asked = list(loops)

    def inside(p: Point) -> bool:
        for k, loop in enumerate(asked):
            if _within(loop, p):
                asked.insert(0, asked.pop(k))
                return True
        return False

    return tuple(loops_of(outlines(_all_edges(loops), inside)))


def _within(loop: Loop, p: Point) -> bool:
    # asked of every loop for every piece: the box first, as most points lie far from most loops
    x0, y0, x1, y1 = loop.box
    return x0 <= p[0] <= x1 and y0 <= p[1] <= y1 and loop.contains(p)


def notch(outline: Loop, cutter: Shape) -> Loop:
    """The outline with `cutter` (both in mm) taken away where the two overlap, lines and arcs cut where they cross.

    The outline itself comes back when the cutter does not enter it. Raises GeometryError when the cutter lies
    wholly inside (that is an opening, not a notch), takes everything away, or cuts the outline in two.

    >>> from platekit.geometry.loop import rectangle
    >>> notch(rectangle(10, 10), rectangle(4, 4, center=(5, 0))).area
    92.0
    """
    if not crosses(outline, cutter):
        return outline
    x, y = cutter.centroid
    if lies_inside(cutter, outline):
        raise GeometryError(
            f"the cutout at {x:.6g}, {y:.6g} lies wholly inside the outline", "make it an opening of its own"
        )
    loops = difference(outline, [cutter])
    if len(loops) == 1:
        reject_crossing(loops[0])
        return loops[0]
    what = "takes the whole plate away" if not loops else f"cuts the plate into {len(loops)} pieces"
    raise GeometryError(f"the cutout at {x:.6g}, {y:.6g} {what}", "make it smaller or move it outwards")


def difference(outline: Shape, cutters: Sequence[Shape]) -> list[Loop]:
    """What is left of `outline` without the `cutters`: its outer outlines, largest first; mm.

    Openings that lie wholly inside are not shown; one that touches the outline becomes part of it.
    """
    return list(_left_of(outline, tuple(cutters)))


@lru_cache(maxsize=256)  # a page asks again after every edit, most of which change nothing of a sheet
def _left_of(outline: Shape, cutters: tuple[Shape, ...]) -> tuple[Loop, ...]:
    body = outline.loop()
    # a cutter that stays clear cannot change the outline: its edges would only be more to cut and to ask about
    others = [cutter.loop() for cutter in cutters if within_reach(outline, cutter, 2 * EPS)]

    def inside(p: Point) -> bool:
        return _within(body, p) and not any(_within(loop, p) for loop in others)

    return tuple(loops_of(outlines(_all_edges([body, *others]), inside, keep_touching=True)))


def intersection(a: Shape, b: Shape) -> list[Loop]:
    """What two shapes have in common, as outlines in mm, largest first; empty when they only touch."""
    return list(_in_common(a.loop(), b.loop()))


@lru_cache(maxsize=128)
def _in_common(first: Loop, second: Loop) -> tuple[Loop, ...]:
    def inside(p: Point) -> bool:
        return _within(first, p) and _within(second, p)

    return tuple(loops_of(outlines(_all_edges([first, second]), inside)))


def _all_edges(loops: Sequence[Loop]) -> list[Edge]:
    return [edge for loop in loops for edge in loop.edges]


def covered_by_union(inner: Shape, outers: Sequence[Shape], margin: float = 0.0) -> bool:
    """True when `inner` with `margin` mm round it lies inside the `outers` taken together; exact.

    A crack between two outers that is narrower than `arrange.SIDE_STEP` (1e-7 mm) does not count.

    >>> from platekit.geometry.loop import rectangle
    >>> from platekit.geometry.shapes import Disc
    >>> covered_by_union(Disc((0, 0), 2), [rectangle(4, 8, center=(-2, 0)), rectangle(4, 8, center=(2, 0))])
    True
    """
    if any(covers(outer, inner, margin) for outer in outers):
        return True
    body = (inner.grown(margin) if margin else inner).loop()
    reach = body.box.grown(COVER_TOLERANCE)
    others = [outer.loop() for outer in outers if outer.box.overlaps(reach)]
    # A bare part of the body would have an edge: a piece of the body's own outline with bare ground on its inner side,
    # or a piece of another outline with bare ground outside it. So looking beside every piece is enough.
    return len(others) > 1 and not any(
        _within(body, p) and not any(_within(other, p) for other in others)
        for piece in pieces_of(_all_edges([body, *others]))
        for p in beside(piece)
    )
