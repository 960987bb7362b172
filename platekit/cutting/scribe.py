"""Words that the table scribes on the plate: which, where, and what is left out.

Vocabulary
    word      a text in single strokes at its place on the near face, which lies up on the table and reads right there
    room      the steel that is left: off every opening, every punch mark, the outside, and the words already placed
    beside    at the opening that a name belongs to, clearly nearer to it than to any other

Names come first, as they belong at one place. Where that leaves none for the face or the revision mark, these two go
first: reading the wrong face ruins the plate. The title takes what is left. What finds no room is left out and told
(`LeftOut`); nothing is made smaller or moved elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.cutting.capability import capability_of
from platekit.cutting.contours import merge
from platekit.cutting.lettering import Stroke, letter, plain, unknown
from platekit.cutting.operations import CROSS, Operations, operations_of
from platekit.geometry import (
    Arc,
    Box,
    CurvedSlot,
    Disc,
    Edge,
    Index,
    Line,
    Loop,
    Point,
    Pose,
    Shape,
    box_round,
    distance,
    edge_distance,
)
from platekit.laying.welded import welded_bars
from platekit.placed import Layout, Opening, Side
from platekit.tables.shop import shop_figure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CLEAR: Final = 2.0
"""Least steel between a scribed line and any opening, the outside or a punch mark, mm (ours): a hard or ground edge is
not wider, and the words stay readable once the edge is dressed."""
HALF_LINE: Final = shop_figure("scribed line, half its width")
"""Half the width that a scribed line may have, mm (`shop_figures.csv`)."""
TELLS_APART: Final = 0.25
"""By this share of its height a name is nearer to its own opening than to any other (ours)."""
BETWEEN_WORDS: Final = 0.5
"""Between two words, as a share of their height (ours); never less than `CLEAR`."""
ROOMY: Final = 3.0
"""A place with this many heights of room all round is as good as one with more (ours)."""
MOST_NAMES: Final = 500
"""Most names that a place is looked for (ours): of more holes nobody reads them on the plate."""
ACROSS: Final = 40
"""Most places that are looked at along each side of the plate for a word that belongs nowhere (ours)."""
MOST_TRIED: Final = 100
"""Most of them, the best first, that are measured exactly (ours); the others were near misses."""
MOST_CHORDS: Final = 500
"""An outline of more chords than this is not looked at beforehand, only measured (ours)."""
CHORD: Final = math.radians(10)
"""An arc is looked at as chords of at most this angle (ours); what is measured is the arc."""
NEAR_ENOUGH: Final = 0.5
"""How much farther from its opening than wanted a name may stand, mm (ours)."""
MOST_STEPS: Final = 8
"""Steps in which a name is moved up to its opening (ours): each leaves a share of the way that depends on the slant."""
FOLD_TICK: Final = 12.0
"""Length of the marks at the ends of a flange's bend line, mm (ours: read beside a punch)."""
FOLD_INSET: Final = 3.0
"""How far such a mark begins from the edge, mm (ours: past what dressing the edge takes away)."""
ROUNDING: Final = 1e-9
"""Less than this is rounding, mm."""
UPRIGHT: Final = math.pi / 2

What = Literal["face", "revision", "names", "title", "fold", "weld"]
Why = Literal["room", "signs", "table", "many"]


NAMES_FIRST: Final[tuple[What, ...]] = ("names", "face", "revision", "title")
FACE_FIRST: Final[tuple[What, ...]] = ("face", "revision", "names", "title")


class Word(Struct, frozen=True):
    """A word where it is scribed, plate frame, mm: `at` is the left end of its base line, `turn` its direction (rad).

    `feature` is the opening that it names, None for the others. `box` is round its lines, their width included.
    """

    text: str
    what: What
    feature: str | None
    at: Point
    turn: float
    strokes: tuple[Stroke, ...]
    box: Box

    @property
    def edges(self) -> Iterator[Edge]:
        """All lines and arcs, in the order of drawing."""
        return (edge for stroke in self.strokes for edge in stroke)


class LeftOut(Struct, frozen=True):
    """A word that is not scribed, and why; `signs` are those that the alphabet has not."""

    text: str
    what: What
    feature: str | None
    why: Why
    signs: str = ""


class Scribed(Struct, frozen=True):
    """All words of a plate: capitals `height` mm high, on the face `side`."""

    height: float
    words: tuple[Word, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    side: Side = "near"

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """The strokes of all words in the order of drawing, plate frame."""
        return tuple(stroke for word in self.words for stroke in word.strokes)

    @property
    def length(self) -> float:
        """Length of all strokes, mm."""
        return math.fsum(edge.length for stroke in self.strokes for edge in stroke)


class _Wanted(Struct, frozen=True):
    text: str
    what: What
    feature: str | None = None


def scribing_of(layout: Layout) -> Scribed:
    """The words that the spec asks for, each where it is scribed (mm); without `cutting.scribe` there are none.

    Bend lines of a flat part, and the places of bars that are welded to the near face, are marked whether or not words
    are wanted: without them it cannot be bent, or they cannot be set.
    """
    asked, height = layout.cutting.scribe, layout.cutting.scribe_height
    if layout.flat is not None and layout.flat.folds:
        # a stretch of a bend line is a word without letters
        return Scribed(
            height,
            tuple(
                Word("bend line", "fold", None, line.a, 0.0, ((line,),), line.box.grown(HALF_LINE))
                for line in layout.flat.folds
            ),
        )
    table = capability_of(layout).traits.table
    places = (*fold_marks(layout), *weld_marks(layout, "near")) if table else ()
    if not asked:
        return Scribed(height, places)
    wanted: list[_Wanted] = []
    if "face" in asked:
        wanted.append(_Wanted(face_words(layout), "face"))
    if "revision" in asked:
        wanted.append(_Wanted(f"REV {layout.spec.revision}", "revision"))
    if "names" in asked:
        wanted += [_Wanted(opening.name, "names", opening.name) for opening in layout.openings]
    if "title" in asked:
        wanted.append(_Wanted(layout.title, "title"))
    covered = tuple(bar.covered for bar in welded_bars(layout) if bar.side == "near")
    plate = _Plate(layout.outline, layout.openings, tuple(operations_of(layout)), height, covered)
    found = _in_order(tuple(wanted), NAMES_FIRST, table, plate)
    if any(one.why == "room" and one.what in ("face", "revision") for one in found.left_out):
        found = _in_order(tuple(wanted), FACE_FIRST, table, plate)
    return replace(found, words=(*places, *found.words))


def fold_marks(layout: Layout) -> tuple[Word, ...]:
    """Where a flange is bent, as short lines at both ends of its bend line (plate frame, mm); none without one."""
    if layout.flange is None:
        return ()
    line = layout.flange.bend_line
    inset, tick = FOLD_INSET / line.length, min(FOLD_TICK / line.length, 0.5 - 2 * FOLD_INSET / line.length)
    ends = ((inset, inset + tick), (1 - inset - tick, 1 - inset))
    lines = [Line(line.at(a), line.at(b)) for a, b in ends]
    return tuple(Word("bend line", "fold", None, one.a, 0.0, ((one,),), one.box.grown(HALF_LINE)) for one in lines)


def weld_marks(layout: Layout, side: Side) -> tuple[Word, ...]:
    """Where bars are welded to a face, as short lines at both ends of both their faces (plate frame, mm)."""
    # a line is a word without letters, as a stretch of a bend line is
    return tuple(
        Word(f"place of {bar.name}", "weld", None, line.a, 0.0, ((line,),), line.box.grown(HALF_LINE))
        for bar in welded_bars(layout)
        if bar.side == side
        for line in bar.ticks
    )


@lru_cache(maxsize=8)  # every file of a plate asks for its words, and a page asks again after a change of anything else
def _in_order(wanted: tuple[_Wanted, ...], order: tuple[What, ...], table: bool, plate: _Plate) -> Scribed:
    """The words placed kind by kind in this order (mm)."""
    room = _Room(plate)
    words: list[Word] = []
    left_out: list[LeftOut] = []
    names = 0
    for want in sorted(wanted, key=lambda want: order.index(want.what)):
        text = plain(want.text)
        names += want.what == "names"
        # What is not even given a place: nothing scribes it, nobody could read it, or it is one name too many.
        signs = unknown(text)
        if not table:
            left_out.append(LeftOut(want.text, want.what, want.feature, "table"))
            continue
        if signs or not text:
            left_out.append(LeftOut(want.text, want.what, want.feature, "signs", signs))
            continue
        if want.what == "names" and names > MOST_NAMES:
            left_out.append(LeftOut(text, want.what, want.feature, "many"))
            continue
        letters = letter(text, plate.height)
        upright = Box(-letters.box.y1, letters.box.x0, -letters.box.y0, letters.box.x1)
        # Level first, as it is read without turning the plate; upright where that finds no room.
        for turn, box in ((0.0, letters.box), (UPRIGHT, upright)):
            size = box.grown(HALF_LINE)
            place = room.anywhere(size) if want.feature is None else room.beside(want.feature, size)
            if place is not None:
                pose = Pose(place.x0 - size.x0, place.y0 - size.y0, turn)
                at, strokes = (pose.x, pose.y), letters.moved(pose)
                words.append(Word(letters.text, want.what, want.feature, at, turn, strokes, place))
                room.take(place)
                break
        else:
            left_out.append(LeftOut(letters.text, want.what, want.feature, "room"))
    return Scribed(plate.height, tuple(words), tuple(left_out))


def face_words(layout: Layout) -> str:
    """What the near face says of itself: it lies against the machine, or it looks away from it.

    The machine is whatever the spec calls original, else its first mount.
    """
    sides = {layout.mounts[name].side for name in layout.originals}
    if sides == {"far"}:
        return "THIS FACE OUT"
    return "THIS FACE IN" if sides == {"near"} else "NEAR FACE"


# -------------------------------------------------------------------------------------------------- room


class _Plate(Struct, frozen=True):
    """All that decides where words find room: outline, openings and how they are made, height of capitals, mm.

    `covered` are the feet of bars with their welds, under which nobody reads.
    """

    outline: Shape
    openings: tuple[Opening, ...]
    made: tuple[Operations, ...]
    height: float
    covered: tuple[Shape, ...] = ()


class _Taken(Struct, frozen=True):
    """What a word must stay clear of, as a filled shape; `features` are the openings that it belongs to.

    What is not `seen` when the plate comes off the table, the room for a head, does not tell whose a name is.
    """

    shape: Shape
    features: tuple[str | None, ...]
    seen: bool = True


class _Room:
    """The steel that is left for words; each word that is placed takes its part."""

    def __init__(self, plate: _Plate) -> None:
        self._outline = plate.outline
        self._height = plate.height
        taken: list[_Taken] = []
        arm = CROSS / 2

        def filled(shape: Shape) -> Shape:
            # a ring's island drops out with it
            return shape.loop() if isinstance(shape, CurvedSlot) and shape.has_island else shape

        # Openings as finished, heads let in, punch marks; and what drops out when openings meet or shut something in.
        for opening, operations in zip(plate.openings, plate.made, strict=True):
            taken.append(_Taken(filled(opening.shape), (opening.name,)))
            for step in operations.steps:
                if step.diameter is not None and step.diameter > opening.size > 0:
                    taken.append(_Taken(Disc(opening.center, step.diameter / 2), (opening.name,), seen=False))
            for x, y in operations.marks:
                taken.append(_Taken(_rectangle(Box(x - arm, y - arm, x + arm, y + arm)), (opening.name,)))
        taken += [_Taken(shape, (), seen=False) for shape in plate.covered]
        cut = [(operations.opening, operations.cut) for operations in plate.made if operations.cut is not None]
        for one in merge([shape for _, shape in cut]):
            if len(one.members) > 1:
                taken.append(_Taken(filled(one.shape), tuple(cut[member][0] for member in one.members)))
        self._taken = tuple(taken)
        self._index = Index([one.shape.box for one in self._taken])
        self._words: list[Box] = []

    def take(self, box: Box) -> None:
        """A word stands there (mm) from now on."""
        self._words.append(box)

    def beside(self, feature: str, size: Box) -> Box | None:
        """The first free place (mm) for a name at its opening, as a box of the size of `size`."""

        def nearest(box: Box, shapes: Sequence[Shape]) -> float:
            return min(_to_shape(box, _rectangle(box), shape) for shape in shapes)

        taken = [one for one in self._taken if feature in one.features]
        own, seen = [one.shape for one in taken], [one.shape for one in taken if one.seen]
        tells_apart = TELLS_APART * self._height
        around = box_round([shape.box for shape in own])
        # As near as may be at first: what stands off by a line's height could belong to the next hole.
        for off in (CLEAR, CLEAR + self._height / 2, CLEAR + self._height):
            for place, way in _round(around, size, off):
                # The box goes that way until it is `off` from the nearest of the shapes. Each step is what is left
                # to go, so that it never goes too far: the gap shrinks by no more than the step. It may pass by.
                box = place
                for _ in range(MOST_STEPS):
                    gap = nearest(box, own)
                    left = gap - off
                    if left <= NEAR_ENOUGH / 10:
                        break
                    x, y = way[0] * left, way[1] * left
                    box = Box(box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y)
                # It must be clearly nearer to its own hole than to any other, or it names the wrong one.
                if gap <= off + NEAR_ENOUGH and self._free(box, feature, nearest(box, seen) + tells_apart):
                    return box
        return None

    def anywhere(self, size: Box) -> Box | None:
        """The roomiest free place (mm) for a word, the lowest and leftmost of equal ones."""
        # All places are looked at roughly and at once, then the most promising are measured exactly.
        return next((place for place in self._promising(size) if self._free(place, None, CLEAR)), None)

    def _free(self, box: Box, feature: str | None, to_others: float) -> bool:
        """Whether a word in that box is clear of everything; `to_others` (mm) from what is not its own."""
        # boxes first, which cost nothing; exact distances only where boxes are near
        outer = self._outline.box.grown(-CLEAR)
        if not (outer.x0 <= box.x0 and outer.y0 <= box.y0 and box.x1 <= outer.x1 and box.y1 <= outer.y1):
            return False
        apart = max(BETWEEN_WORDS * self._height, CLEAR)
        if any(box.gap(other) < apart - ROUNDING for other in self._words):
            return False
        rectangle = _rectangle(box)
        for k in self._index.near(box, to_others):
            one = self._taken[k]
            needed = CLEAR if feature in one.features else to_others
            if _to_shape(box, rectangle, one.shape) < needed - ROUNDING:
                return False
        return edge_distance(rectangle, self._outline).distance >= CLEAR - ROUNDING

    def _promising(self, size: Box) -> list[Box]:
        """Of places all over the plate those with the most room, up to enough; of equals the lowest and leftmost."""
        import numpy as np

        inner, wide, high = self._outline.box.grown(-CLEAR), size.width, size.height
        xs = _steps(inner.x0, inner.x1 - wide, self._height / 2)
        ys = _steps(inner.y0, inner.y1 - high, self._height / 2)
        if not xs or not ys:
            return []
        x, y = (side.ravel() for side in np.meshgrid(xs, ys))
        edge = self._outline.box
        across, along = np.minimum(x - edge.x0, edge.x1 - x - wide), np.minimum(y - edge.y0, edge.y1 - y - high)
        room: NDArray[np.float64] = np.minimum(across, along)

        # Each thing leaves less room, and what has none left is not looked at again: so what costs most comes last.
        def narrow(less: NDArray[np.float64]) -> None:
            nonlocal x, y, room
            left = np.minimum(room, less)
            still = left > -1e-6  # which is rounded to none below
            x, y, room = x[still], y[still], left[still]

        apart = max(BETWEEN_WORDS * self._height, CLEAR)
        for box in self._words:
            gap = _gaps(x, y, wide, high, box)
            narrow(np.where(gap < apart, -np.inf, gap))
        shapes = [one.shape for one in self._taken]
        for shape in shapes:
            if isinstance(shape, Disc):
                (cx, cy), r = shape.center, shape.radius
                gap = _gaps(x, y, wide, high, Box(cx, cy, cx, cy)) - r
                narrow(np.where(gap < CLEAR - ROUNDING, -np.inf, gap))
        # the four corners of every place against the outline's chords: cheap, and enough to leave most places out
        chords = _chords(self._outline)
        if len(chords) <= MOST_CHORDS:
            for dx, dy in ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)):
                depth = _depths(x + dx, y + dy, chords)
                narrow(np.where(depth < CLEAR / 2, -np.inf, depth))
        for shape in shapes:
            if not isinstance(shape, Disc):
                # a bound from below, and minus infinity where it is surely too near: a box round what is no disc stands
                # for it, and where that is near, points along its outline
                gap = _gaps(x, y, wide, high, shape.box)
                for px, py in _chords(shape) if np.any(gap < CLEAR) else ():
                    close = _gaps(x, y, wide, high, Box(px, py, px, py)) < CLEAR - ROUNDING
                    gap = np.where(close, -np.inf, gap)
                narrow(gap)
        merits = np.round(np.minimum(room, ROOMY * self._height), 6)
        best = [k for k in np.lexsort((x, y, -merits)).tolist() if merits[k] >= 0][:MOST_TRIED]
        return [Box(u, v, u + wide, v + high) for u, v in zip(x[best].tolist(), y[best].tolist(), strict=True)]


def _round(own: Box, size: Box, off: float) -> Iterator[tuple[Box, Point]]:
    """Places round a box, `off` (mm) from it, each with the way towards it.

    Level with its middle, then at its corners, then flush with its sides.
    """
    wide, high, slant = size.width, size.height, math.sqrt(0.5)
    (cx, cy), right, above = own.center, own.x1 + off, own.y1 + off
    left, below = own.x0 - off - wide, own.y0 - off - high
    level, upright = cy - high / 2, cx - wide / 2
    for x, y, dx, dy in (
        (right, level, -1.0, 0.0),
        (left, level, 1.0, 0.0),
        (upright, above, 0.0, -1.0),
        (upright, below, 0.0, 1.0),
        (right, above, -slant, -slant),
        (right, below, -slant, slant),
        (left, above, slant, -slant),
        (left, below, slant, slant),
        (own.x0, above, 0.0, -1.0),
        (own.x1 - wide, above, 0.0, -1.0),
        (own.x0, below, 0.0, 1.0),
        (own.x1 - wide, below, 0.0, 1.0),
        (right, own.y1 - high, -1.0, 0.0),
        (right, own.y0, -1.0, 0.0),
        (left, own.y1 - high, 1.0, 0.0),
        (left, own.y0, 1.0, 0.0),
    ):
        yield Box(x, y, x + wide, y + high), (dx, dy)


def _steps(low: float, high: float, step: float) -> list[float]:
    """Values from `low` to `high`, both included, `step` or a little more apart; none if there is no room."""
    if high < low:
        return []
    # both ends included: words often fit only against the far edge
    count = min(max(math.floor((high - low) / step), 1), ACROSS)
    return [low + (high - low) * k / count for k in range(count + 1)]


def _gaps(x: NDArray[np.float64], y: NDArray[np.float64], wide: float, high: float, box: Box) -> NDArray[np.float64]:
    """How far each of many boxes of one size is from another box; 0 where they overlap."""
    import numpy as np

    across = np.maximum(np.maximum(box.x0 - x - wide, x - box.x1), 0.0)
    along = np.maximum(np.maximum(box.y0 - y - high, y - box.y1), 0.0)
    gaps: NDArray[np.float64] = np.hypot(across, along)
    return gaps


def _to_shape(box: Box, rectangle: Shape, shape: Shape) -> float:
    """How far a rectangle is from a filled shape, mm; exact where they are apart, not above 0 where they overlap."""
    if isinstance(shape, Disc):
        # exact without the loops of the general way: round holes are nearly all that words stand beside
        (x, y), r = shape.center, shape.radius
        return box.gap(Box(x, y, x, y)) - r
    return distance(rectangle, shape).distance


def _rectangle(box: Box) -> Loop:
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    return Loop(tuple((x, y, 0.0) for x, y in corners))


def _chords(shape: Shape) -> list[Point]:
    """Points along an outline, from edge to edge and closer together along arcs."""
    return [
        edge.at(k / count)
        for edge in shape.loop().edges
        for count in (max(math.ceil(abs(edge.sweep) / CHORD), 1) if isinstance(edge, Arc) else 1,)
        for k in range(count)
    ]


def _depths(x: NDArray[np.float64], y: NDArray[np.float64], chords: Sequence[Point]) -> NDArray[np.float64]:
    """How deep many points lie inside a ring of chords, mm; below 0 outside."""
    import numpy as np

    nearest = np.full(x.shape, np.inf)
    inside = np.zeros(x.shape, dtype=bool)
    for (ax, ay), (bx, by) in zip(chords, [*chords[1:], chords[0]], strict=True):
        dx, dy = bx - ax, by - ay
        # the nearest point of the chord, and whether a ray to the right crosses it: an odd number of times is inside
        along = np.clip(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0.0, 1.0)
        nearest = np.minimum(nearest, np.hypot(x - ax - along * dx, y - ay - along * dy))
        if dy:
            inside ^= ((ay > y) != (by > y)) & (x < ax + (y - ay) * dx / dy)
    return np.where(inside, nearest, -nearest)
