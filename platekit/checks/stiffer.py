"""What would make a plate hold: the next thickness in stock, and where one more screw helps most.

Each is worked out, not guessed: the thickness is the first in stock with which stress, edges and shafts are all within
their limits; the screw is tried all over the plate. Neither knows what else the change touches; `studies/advised.py`
tries an edit against every rule before it is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final, Literal

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, Remedy
from platekit.errors import PlatekitError
from platekit.geometry import Disc, distance, edge_distance
from platekit.placed import SAME_LENGTH, Layout
from platekit.tables.strengths import limit
from platekit.units import INCH

if TYPE_CHECKING:
    from platekit.strength.answer import Answer, ShaftSag, State

Judged = Literal["strength", "fatigue", "sag"]

SHEETS: Final = {
    "mm": (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 35, 40, 50, 60),
    "in": tuple(
        INCH * share
        for share in (1 / 8, 3 / 16, 1 / 4, 5 / 16, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1, 1.25, 1.5, 1.75, 2, 2.5)
    ),
}
"""Thicknesses in which plate is stocked, mm (common practice)."""
TRIED: Final = 4
"""Thicknesses that are worked out at most (ours): the law of the cube is seldom off by more than two sizes."""
CROWDED: Final = 100
"""Openings beyond which one thickness is worked out, and no place for a screw (ours): each takes many seconds."""
GRID: Final = 4
"""Places along and across at which one more screw is tried (ours): sixteen at most."""
ROOM: Final = 1.5
"""How far from an edge one more screw is tried, in radii of its washer (ours)."""
HELPS: Final = 0.9
"""A screw that leaves more than this share of what is too much is not worth its hole (ours)."""
METALS_IN_FATIGUE: Final = frozenset({"steel", "stainless steel"})
"""Families of materials for which the limits of cut edges hold."""


def allowed_stress(layout: Layout) -> float:
    """What the plate may be stressed to, N/mm2."""
    return layout.material.yield_strength / limit("yield over allowed").figure


def endless_range() -> float:
    """The range of stress in N/mm2 that any cut edge bears without end: the least of those of EN 1993-1-9 and AISC 360.

    The stress at the edge is the true one, with what a hole adds, so that nothing is counted for its shape again.
    """
    european = limit("borne without end").figure * limit("cut edge").figure / limit("fatigue safety").figure
    return min(european, limit("holed or notched edge").figure)


def out_of_line(shaft: ShaftSag) -> float:
    """How far out of line a shaft is, by tilt (rad) or shift along itself (mm): the share of what the belt bears."""
    return max(shaft.tilt, abs(shaft.axial) / shaft.centres) / shaft.bears


def shares(layout: Layout, answer: Answer) -> Mapping[Judged, float]:
    """How much of each limit is used, as a share: above one it is too much."""
    found: dict[Judged, float] = {"strength": answer.worst.stress / allowed_stress(layout)}
    if layout.material.family in METALS_IN_FATIGUE:
        found["fatigue"] = answer.swing / endless_range()
    shafts = [out_of_line(shaft) for state in answer.states for shaft in state.shafts]
    return found | {"sag": max(shafts, default=0.0)}


def cures(layout: Layout, answer: Answer, rule: Judged) -> list[Advice]:
    """What ends the finding of a rule on this plate (N/mm2, mm), the edit first."""
    return [*_thicker(layout, answer, rule), *_screw(layout, answer, rule), NEARER]


NEARER = Advice("bring what it carries nearer to its screws, or stiffen it by a rib and have that judged")
"""What else helps, without an edit."""


def _thicker(layout: Layout, answer: Answer, rule: Judged) -> Iterator[Advice]:
    """The first thickness in stock that clears all that thickness can clear; else the first that ends this finding."""
    from platekit.strength.answer import answered
    from platekit.strength.question import question_of, thicker

    now = shares(layout, answer)
    # stress falls with the square of the thickness, movement with its cube: a start, which the plate's answer corrects
    times = max(share ** (1 / 3 if name == "sag" else 1 / 2) for name, share in now.items())
    sizes = [size for size in SHEETS[layout.spec.unit] if size > layout.thickness + SAME_LENGTH]
    sizes = [size for size in sizes if size >= 0.95 * times * layout.thickness]
    sizes = sizes[: TRIED if len(layout.openings) <= CROWDED else 1]
    # a thickness that ends this finding and leaves another is second best: the next check would ask for more again
    own: float | None = None
    question = question_of(layout)
    for size in sizes:
        try:
            then = shares(layout, answered(thicker(question, size)))
        except PlatekitError:
            return
        if max(then.values()) <= 1.0:
            yield Advice(f"make it {say(layout, size)} thick", (Remedy("plate.thickness", say(layout, size)),))
            return
        if own is None and then[rule] <= 1.0:
            own = size
    if own is not None:
        yield Advice(f"make it {say(layout, own)} thick", (Remedy("plate.thickness", say(layout, own)),))


def _screw(layout: Layout, answer: Answer, rule: Judged) -> Iterator[Advice]:
    """Where one more screw into what holds the plate helps most, and what is left then."""
    from platekit.strength.answer import with_one_more
    from platekit.strength.question import Seat, question_of

    question = question_of(layout)
    part = question.held[0]
    stack = layout.mounts[part.name].stack
    if stack is None or rule == "fatigue" or len(layout.openings) > CROWDED:
        return
    seat = max((seat for seat in part.positions[0].seats), key=lambda seat: seat.outer)
    # a grid over the plate, without places whose washer would lie too near to an edge or an opening
    box = layout.outline.box
    wide, high = box.x1 - box.x0, box.y1 - box.y0
    openings = [opening.shape for opening in layout.openings]
    seats = []
    for row in range(GRID):
        for column in range(GRID):
            at = (box.x0 + wide * (column + 0.5) / GRID, box.y0 + high * (row + 0.5) / GRID)
            washer = Disc(at, ROOM * seat.outer)
            inside = layout.outline.contains(at) and edge_distance(washer, layout.outline).distance >= 0
            if inside and all(distance(washer, shape).distance >= 0 for shape in openings):
                seats.append(Seat("one more", at, 0.0, seat.outer))
    # only the worst state is asked again for every place: to go through all would take as long as a new plate each
    worst = max(answer.states, key=lambda state: _share(layout, state, rule))
    if not seats:
        return
    states = with_one_more(question, worst, seats)
    then = [(_share(layout, state, rule), seat) for state, seat in zip(states, seats, strict=True)]
    left, best = min(then, key=lambda pair: (round(pair[0], 6), pair[1].center))
    now = _share(layout, worst, rule)
    if left > HELPS * now:
        return
    x, y = best.center
    size = tables.screw(stack.size).size
    enough = "is enough" if left <= 1.0 else f"leaves {left:.1f} times what is allowed"
    yield Advice(
        f"or put one more {size} into {part.name} near ({say(layout, round(x))}, {say(layout, round(y))}), if there is "
        f"something behind it to screw into: of {GRID * GRID} places it helps most there, and {enough}"
    )


def _share(layout: Layout, state: State, rule: Judged) -> float:
    if rule == "sag":
        return max((out_of_line(shaft) for shaft in state.shafts), default=0.0)
    return state.stress / allowed_stress(layout)
