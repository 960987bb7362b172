"""In which order many places are visited: short ways, and not twice running in the same hot corner.

The cost of going from one place to the next is the way between them, more by `HEAT_WEIGHT` times what is missing to the
reach of the heat. First the nearest place in that sense, again and again; then pieces of the route are turned round as
long as that makes it cheaper. Nothing is left to chance: the same places give the same order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platekit.geometry import Point

HEAT_WEIGHT = 3.0
"""Cost of one mm that the next place is too near, in mm of way (ours): above 1, so that a little further is cheaper."""
TURNED_UP_TO = 250
"""Up to so many places the route is bettered by turning pieces round (ours: the time grows with the square)."""
NEAREST_UP_TO = 600
"""Up to so many places the nearest is looked for (ours); more are visited row by row, to and fro."""
GAIN = 1e-9
"""Less than this is no gain, mm (rounding)."""


def in_order(places: Sequence[Point], start: Point, heat_reach: float, end: Point | None) -> list[int]:
    """The numbers of the places in the order to visit them, from `start` and, if given, on to `end`; lengths in mm.

    >>> in_order([(30, 0), (10, 0), (20, 0)], (0, 0), 0.0, None)
    [1, 2, 0]
    """
    if len(places) > NEAREST_UP_TO:
        # Where there are too many places to look for a short way, they are taken in rows, every second one from right
        # to
        # left. So many rows that they are about three times as far apart as the places in them come out shortest.
        low = min(y for _, y in places)
        high = max(y for _, y in places)
        rows = max(int(math.sqrt(len(places) / 3)), 1)
        height = (high - low) / rows or 1.0

        def position(k: int) -> tuple[int, float, float, int]:
            x, y = places[k]
            row = min(int((y - low) / height), rows - 1)
            return (row, x if row % 2 == 0 else -x, y, k)

        return sorted(range(len(places)), key=position)
    # nearest first: a fair start, which the turning of pieces below then betters
    left = list(range(len(places)))
    order: list[int] = []
    here = start
    while left:
        reach = heat_reach if order else 0.0
        nearest = min(left, key=lambda k: (round(way_cost(here, places[k], reach), 6), k))
        left.remove(nearest)
        order.append(nearest)
        here = places[nearest]
    if len(places) <= TURNED_UP_TO:
        # 2-opt: whatever piece of the way gets shorter by running it backwards is turned round, until none does.
        count = len(order)
        better = True
        while better:
            better = False
            for i in range(count - 1):
                before = places[order[i - 1]] if i else start
                reach = heat_reach if i else 0.0
                for j in range(i + 1, count):
                    first, last = places[order[i]], places[order[j]]
                    after = places[order[j + 1]] if j + 1 < count else end
                    now = way_cost(before, first, reach)
                    then = way_cost(before, last, reach)
                    if after is not None:
                        now += way_cost(last, after, heat_reach)
                        then += way_cost(first, after, heat_reach)
                    if then < now - GAIN:
                        order[i : j + 1] = order[i : j + 1][::-1]
                        better = True
    return order


def way_cost(a: Point, b: Point, heat_reach: float) -> float:
    """What it costs to cut at `b` right after `a`, mm."""
    # a place within the heat's reach costs more the nearer it is: at the same spot three reaches of way
    way = math.dist(a, b)
    return way + HEAT_WEIGHT * max(heat_reach - way, 0.0)
