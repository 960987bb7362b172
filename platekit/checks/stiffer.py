"""What would make a plate hold: the next thickness in stock, and where one more screw helps most.

Each is worked out, not guessed: the thickness is the first in stock with which stress, edges and shafts are all within
their limits; the screw is tried all over the plate. Neither knows what else the change touches; `studies/advised.py`
tries an edit against every rule before it is given.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final, Literal

from msgspec.structs import replace

from platekit import tables
from platekit.checks.advice import in_units, rounded_up, say, words_at
from platekit.checks.finding import Advice, Remedy
from platekit.errors import PlatekitError
from platekit.geometry import Disc, Point, distance, edge_distance
from platekit.laying.lighten import FIELD, webs_wanted
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Layout, PlacedRib, Side
from platekit.spec import with_data
from platekit.tables.strengths import limit
from platekit.units import INCH, mm_per

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
STAY: Final = "stay"
"""What a mount is called that is one more fixing point (ours)."""
RIB: Final = "rib"
"""What a rib is called that is advised (ours)."""
BARS: Final = {"mm": (5, 6, 8, 10, 12, 15, 20), "in": tuple(INCH * one for one in (3 / 16, 1 / 4, 3 / 8, 1 / 2, 3 / 4))}
"""Thicknesses in which flat bar is stocked, mm (common practice)."""
HEIGHTS: Final = (4.0, 6.0)
"""Heights of a rib that are tried, in thicknesses of its bar (ours): taller ones buckle and are in the way."""
LINES: Final = 2
"""Lines for a rib that are worked out (ours): each takes about a second."""
ROWS, STEPS = 8, 30
"""Lines to either side of the plate's middle that are looked at, and places along each to either side (ours)."""
SHORTEST: Final = 10.0
"""A rib shorter than this many thicknesses of its bar does little (ours)."""
ROOM_BESIDE: Final = 6.0
"""Room for the weld beside a rib, mm (ours)."""
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


def weld_category(length: float) -> float:
    """The detail category (N/mm2) of the end of a rib's weld, by the rib's length (mm)."""
    named = next((most for most in (50, 80, 100) if length <= most), None)
    return limit("weld end" if named is None else f"weld end to {named} mm").figure


def weld_range(length: float) -> float:
    """The range of stress in N/mm2 that the end of a rib's weld bears without end, by the rib's length (mm)."""
    return limit("borne without end").figure * weld_category(length) / limit("fatigue safety").figure


def out_of_line(shaft: ShaftSag) -> float:
    """How far out of line a shaft is, by tilt (rad) or shift along itself (mm): the share of what the belt bears."""
    return max(shaft.tilt, abs(shaft.axial) / shaft.centres) / shaft.bears


def shares(layout: Layout, answer: Answer) -> Mapping[Judged, float]:
    """How much of each limit is used, as a share: above one it is too much."""
    found: dict[Judged, float] = {"strength": answer.worst.stress / allowed_stress(layout)}
    if layout.material.family in METALS_IN_FATIGUE:
        welds = [weld.swing / weld_range(weld.length) for weld in answer.welds]
        found["fatigue"] = max(answer.swing / endless_range(), *welds, 0.0)
    shafts = [out_of_line(shaft) for state in answer.states for shaft in state.shafts]
    return found | {"sag": max(shafts, default=0.0)}


def cures(layout: Layout, answer: Answer, rule: Judged) -> list[Advice]:
    """What ends the finding of a rule on this plate (N/mm2, mm), the edit first."""
    return [
        *wider_webs(layout, rule),
        *_thicker(layout, answer, rule),
        *_rib(layout, answer, rule),
        *_screw(layout, answer, rule),
        *nearer(layout),
        NEARER,
    ]


NEARER = Advice("bring what it carries nearer to the screws that hold the plate")
"""What else helps, without an edit."""


WEBS_WIDER: Final = (1.25, 1.5, 2.0, 3.0)
"""How many times wider the webs between lightening openings are tried (ours)."""


def wider_webs(layout: Layout, rule: Judged) -> Iterator[Advice]:
    """The first wider webs between lightening openings with which the plate holds; else that they be left out."""
    from platekit.layout import lay_out
    from platekit.strength.answer import answer_to
    from platekit.strength.question import question_of

    web = webs_wanted(layout)
    if web is None or not layout.lightening:
        return
    for times in WEBS_WIDER:
        width = rounded_up(layout, times * web)
        try:
            wider = lay_out(with_data(layout.spec, ((f"{FIELD}.web", width),)))
            then = shares(wider, answer_to(question_of(wider)))
        except PlatekitError:
            continue
        if then.get(rule, 0.0) <= 1.0:
            said = f"leave webs of {width:g} {layout.spec.unit} between its lightening openings"
            yield Advice(f"{said} (lighten: web: {width:g})", (Remedy(f"{FIELD}.web", width),))
            return
    yield Advice("leave its lightening openings out (plate: lighten)")


def _thicker(layout: Layout, answer: Answer, rule: Judged) -> Iterator[Advice]:
    """The first thickness in stock that clears all that thickness can clear; else the first that ends this finding."""
    from platekit.strength.answer import answer_to
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
            then = shares(layout, answer_to(thicker(question, size)))
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
    box = layout.plane.box
    wide, high = box.x1 - box.x0, box.y1 - box.y0
    openings = [opening.shape for opening in layout.openings]
    seats = []
    for row in range(GRID):
        for column in range(GRID):
            at = (box.x0 + wide * (column + 0.5) / GRID, box.y0 + high * (row + 0.5) / GRID)
            washer = Disc(at, ROOM * seat.outer)
            inside = layout.plane.contains(at) and edge_distance(washer, layout.plane).distance >= 0
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
    typed, straight = layout.typed_mounts[part.name], layout.mounts[part.name].standoff == 0.0
    remedies: tuple[Remedy, ...] = ()
    if stack.into == "part" and typed.thread_depth is not None and straight and STAY not in layout.mounts:
        remedies = (
            Remedy(
                f"mounts.{STAY}",
                {
                    "side": part.side,
                    "looking_at": "face",
                    "pattern": {"points": [[0.0, 0.0]], "hole": in_units(layout, layout.mounts[part.name].hole)},
                    "at": [in_units(layout, round(x)), in_units(layout, round(y))],
                    "original": True,
                    "screws": {
                        "size": stack.size,
                        "into": "part",
                        "depth": in_units(layout, typed.thread_depth),
                        "washer": True,
                    },
                },
            ),
            *(Remedy(f"{layout.mounts[one.name].field}.original", True) for one in question.held),
        )
    yield Advice(
        f"put one more {size} into {part.name} near ({say(layout, round(x))}, {say(layout, round(y))}), if there is "
        f"something behind it to screw into: of {GRID * GRID} places it helps most there, and {enough}",
        remedies,
    )


def _rib(layout: Layout, answer: Answer, rule: Judged) -> Iterator[Advice]:
    """A flat bar on edge from the screws that hold the plate towards what it carries: the lowest that clears all."""
    from platekit.strength.answer import answer_to
    from platekit.strength.question import Rib, question_of, rib_of

    if layout.material.family != "steel" or len(layout.openings) > CROWDED or RIB in {rib.name for rib in layout.ribs}:
        return
    question = question_of(layout)
    width = min((size for size in BARS[layout.spec.unit] if size >= 0.6 * layout.thickness), default=0.0)
    if not width:
        return
    own: Advice | None = None
    for rib in _free_lines(layout, width)[:LINES]:
        for times in HEIGHTS:
            height = in_units(layout, times * width) * mm_per(layout.spec.unit)
            taller = PlacedRib(RIB, rib.side, rib.start, rib.end, height, width)
            asked: Rib = rib_of(taller)
            try:
                then = shares(layout, answer_to(replace(question, ribs=(*question.ribs, asked))))
            except PlatekitError:
                break
            (ax, ay), (bx, by) = rib.start, rib.end
            advice = Advice(
                f"weld a flat bar of {say(layout, height)} x {say(layout, width)} on edge to its {rib.side} side, "
                f"from ({say(layout, ax)}, {say(layout, ay)}) to ({say(layout, bx)}, {say(layout, by)})",
                (
                    Remedy(
                        f"plate.ribs.{RIB}",
                        {
                            "side": rib.side,
                            "from": [in_units(layout, ax), in_units(layout, ay)],
                            "to": [in_units(layout, bx), in_units(layout, by)],
                            "height": in_units(layout, height),
                            "width": in_units(layout, width),
                        },
                    ),
                ),
            )
            if max(then.values()) <= 1.0:
                yield advice
                return
            if own is None and then[rule] <= 1.0:
                own = advice
    if own is not None:
        yield own


def _free_lines(layout: Layout, width: float) -> list[PlacedRib]:
    """Lines on either face that no washer, opening or body is in the way of; the longest first."""
    from platekit.strength.question import question_of

    question = question_of(layout)
    held = [seat.center for part in question.held for seat in part.positions[0].seats]
    loads = [seat.center for part in question.carried for seat in part.positions[0].seats]
    ax, ay = (sum(one[axis] for one in held) / len(held) for axis in (0, 1))
    bx, by = (sum(one[axis] for one in loads) / len(loads) for axis in (0, 1))
    far = math.hypot(bx - ax, by - ay)
    box = layout.plane.box
    long_way = (1.0, 0.0) if box.width >= box.height else (0.0, 1.0)
    # along the way from the screws to the load, the plate bends as a cantilever; a rib across it does nothing
    x, y = ((bx - ax) / far, (by - ay) / far) if far > SAME_LENGTH else long_way
    reach = math.hypot(box.width, box.height)
    middle = ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)
    rings = [Disc(s.center, s.outer + width) for part in question.parts for p in part.positions for s in p.seats]
    openings = [*rings, *(opening.shape for opening in layout.openings)]
    found: list[tuple[float, PlacedRib]] = []
    sides: tuple[Side, Side] = ("near", "far")
    for side in sides:
        low, high = z_range(side, (0.0, HEIGHTS[-1] * width), layout.thickness, 0.0)
        bodies = [body.swept for body in layout.bodies if body.z[0] < high and body.z[1] > low]
        for row in range(-ROWS, ROWS + 1):
            off = row * reach / 2 / ROWS
            run: list[Point] = []
            for step in (*range(-STEPS, STEPS + 1), None):
                along = 0.0 if step is None else step * reach / 2 / STEPS
                at = (middle[0] + along * x - off * y, middle[1] + along * y + off * x)
                spot = Disc(at, width / 2 + ROOM_BESIDE)
                clear = (
                    step is not None
                    and layout.plane.contains(at)
                    and edge_distance(spot, layout.plane).distance >= 0
                    and all(distance(spot, shape).distance >= 0 for shape in (*openings, *bodies))
                )
                if clear:
                    run.append(at)
                    continue
                if len(run) > 1 and math.dist(run[0], run[-1]) >= SHORTEST * width:
                    ends = [(in_units(layout, p[0]), in_units(layout, p[1])) for p in (run[0], run[-1])]
                    unit = mm_per(layout.spec.unit)
                    start, end = ((p[0] * unit, p[1] * unit) for p in ends)
                    found.append((-round(math.dist(start, end), 6), PlacedRib(RIB, side, start, end, width, width)))
                run = []
    found.sort(key=lambda one: (one[0], one[1].side == "far", one[1].start))
    return [rib for _, rib in found]


def nearer(layout: Layout) -> Iterator[Advice]:
    """What is carried, half-way and a quarter of the way nearer to the screws, where its own place is typed."""
    from platekit.strength.question import question_of

    question = question_of(layout)
    held = [seat.center for part in question.held for seat in part.positions[0].seats]
    x, y = (sum(one[axis] for one in held) / len(held) for axis in (0, 1))
    for part in question.carried:
        mount = layout.mounts[part.name]
        if not isinstance(words_at(layout, f"{mount.field}.at"), tuple):
            continue  # a belt, or another mount, decides where it is
        for share in (0.25, 0.5):
            there = [in_units(layout, a + share * (b - a)) for a, b in ((mount.pose.x, x), (mount.pose.y, y))]
            unit = layout.spec.unit
            yield Advice(
                f"bring {part.name} nearer to its screws, to ({there[0]:g}, {there[1]:g}) {unit}",
                (Remedy(f"{mount.field}.at", [*there]),),
            )


def _share(layout: Layout, state: State, rule: Judged) -> float:
    if rule == "sag":
        return max((out_of_line(shaft) for shaft in state.shafts), default=0.0)
    return state.stress / allowed_stress(layout)
