"""The order of equals: rounding must not decide which of two solutions that suit as well comes first.

Figures that are equal on paper differ in their last bits, and by how much depends on the processor and on how many of
its cores take part. So they count as equal when they are nearly so, and among equals the order in which they were
found decides, which is the order of the names and readings in the net.
"""

from __future__ import annotations

from collections.abc import Sequence

ALIKE = 1e-6
"""Figures are equal when they differ by less than this share of one more than the smaller. Ours: rounding comes to some
1e-12 of a sum of squares, while a millionth of one sigma squared tells no two solutions apart."""


def foremost(figures: Sequence[float]) -> int:
    """The first place of `ranking`, found without ordering the rest; figures equal to a share of `ALIKE` are equals.

    >>> foremost([3.0, 1.0 + 1e-12, 1.0])
    1
    """
    least = min(figures)
    limit = least + ALIKE * (1.0 + abs(least))
    return next(k for k, figure in enumerate(figures) if figure <= limit)


def ranking(figures: Sequence[float], *, alike: float = ALIKE) -> list[int]:
    """Places of the figures from the smallest up; those equal to the smallest that is left in the order given.

    `alike` is the share up to which figures are equal. It is told from the smallest of each group, not from neighbour
    to neighbour: a long row of nearly equal figures is no one group.

    >>> ranking([3.0, 1.0 + 1e-12, 1.0, 0.5])
    [3, 1, 2, 0]
    """
    left = sorted(range(len(figures)), key=lambda k: (figures[k], k))
    order: list[int] = []
    at = 0
    while at < len(left):
        least = figures[left[at]]
        limit, end = least + alike * (1.0 + abs(least)), at + 1
        while end < len(left) and figures[left[end]] <= limit:
            end += 1
        order += sorted(left[at:end])
        at = end
    return order
