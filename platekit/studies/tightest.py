"""The tightest places: where parts come nearest to each other, whether or not a rule objects."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from platekit.analysis.nearness import Meeting, hardest_positions, meeting
from platekit.checks.bodies import may_touch
from platekit.geometry import Index
from platekit.placed import Body, Layout, Position

MOST: Final = 10
"""Pairs that are told (ours: more would not be read)."""
REACHES: Final = (5.0, 20.0, 80.0)
"""How far round each body others are looked for, mm, farther while there are too few (ours)."""
MOST_BODIES: Final = 600
"""With more bodies than this, those that belong to one screw are left out (ours: there would be too many pairs)."""


class TightPair(Struct, frozen=True):
    """Two parts, how near they come over all travel and how near they may (mm), and where the mounts stand then."""

    a: str
    b: str
    found: float
    needed: float
    positions: tuple[Position, ...]

    @property
    def spare(self) -> float:
        """What is left over the needed distance, mm; below zero where they are too near."""
        return self.found - self.needed


def tightest(layout: Layout, most: int = MOST) -> tuple[TightPair, ...]:
    """The pairs with the least to spare (mm), least first; each pair of parts once, a screw as one part."""
    bodies = layout.bodies
    if len(bodies) > MOST_BODIES:
        bodies = tuple(body for body in bodies if not body.hardware)[:MOST_BODIES]
    found: dict[frozenset[str], Meeting] = {}
    # Near pairs are looked for first, farther off only while there are too few: most plates are done with the first
    # reach.
    for reach in REACHES:
        found = {}
        for i, j in Index([body.swept.box for body in bodies]).pairs_within(reach):
            a, b = bodies[i], bodies[j]
            if part_of(a) == part_of(b) or may_touch(a, b):
                continue
            # The index knows boxes in plan only; how far apart they are along the normal is cheap to ask, too.
            if max(a.z[0], b.z[0]) - min(a.z[1], b.z[1]) > reach:
                continue
            one = meeting(a, b)
            key = frozenset((part_of(a), part_of(b)))
            known = found.get(key)
            if known is None or one.found - one.needed < known.found - known.needed:
                found[key] = one
        if len(found) >= most:
            break
    ranked = sorted(found.values(), key=lambda one: (round(one.found - one.needed, 6), one.a.name, one.b.name))
    return tuple(
        TightPair(part_of(one.a), part_of(one.b), one.found, one.needed, hardest_positions(one))
        for one in ranked[:most]
    )


def part_of(body: Body) -> str:
    """What a shop would name: the screw instead of its head and washer, the belt or guard instead of a strip of it."""
    if body.kind in {"belt", "guard"}:
        return body.carrier if body.kind == "belt" else body.name.split(".")[0]
    return body.screw or body.name
