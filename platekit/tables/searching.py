"""From what one measured to the standard mounts that it may be, across inch and metric, closest first.

The **distance** of a candidate is the root of the mean square of its differences, in mm. Mounts that agree in
all that was measured are one candidate: their names stand together.
"""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.mounts import every_mount
from platekit.tables.values import StandardMount

FARTHEST = 0.15
"""Largest difference that is still shown, as a share of the measured size (ours): beyond it nothing is alike."""
COUNT = 8
"""Candidates shown (ours): a screenful."""
_SAME = 1e-6  # mm


class Difference(Struct, frozen=True):
    """One measured size beside the listed one, mm; `difference` is listed minus measured."""

    what: str
    measured: float
    listed: float

    @property
    def difference(self) -> float:
        """Listed minus measured, mm."""
        return self.listed - self.measured


class StandardCandidate(Struct, frozen=True):
    """A standard mount that may be meant, the others like it in all that was measured, and how far off."""

    mount: StandardMount
    also: tuple[str, ...]
    differences: tuple[Difference, ...]
    distance: float


def search(
    *,
    bolt_circle: float | None = None,
    holes: int | None = None,
    pilot: float | None = None,
    width: float | None = None,
    height: float | None = None,
    shaft: float | None = None,
    count: int = COUNT,
) -> tuple[StandardCandidate, ...]:
    """The standard mounts closest to what was measured, lengths in mm, best first.

    `width` and `height` are the two sides of a rectangle of holes, either way round; `holes` keeps only
    patterns of that many. A mount that lacks a measured size, or is farther from it than 15 percent, is left
    out. Raises LookupFailed when nothing was measured.

    >>> search(bolt_circle=165, holes=4)[0].mount.designation
    'FF165'
    """
    measured = {"bolt circle": bolt_circle, "pilot": pilot, "shaft": shaft, "width": width, "height": height}
    given = {what: size for what, size in measured.items() if size is not None}
    if not given:
        raise LookupFailed("nothing to search for", wanted="give a bolt circle, a width and height, a pilot or a shaft")
    for what, size in given.items():
        if not size > 0:
            raise LookupFailed(f"found {size:g} mm for the {what}", wanted="a measured size is above zero")
    # All are looked at, as there are a few hundred: closest first, equals in the order of the families.
    near: list[StandardCandidate] = []
    for found in every_mount():
        if holes is not None and found.holes != holes:
            continue
        # A rectangle of holes is measured either way round; the nearer way counts.
        both = (_compared(found, given, turned) for turned in (False, True))
        # How far off on the whole: the root of the mean square, mm, so that one bad figure outweighs several fair ones.
        ways = [(math.sqrt(sum(pair.difference**2 for pair in pairs) / len(pairs)), pairs) for pairs in both if pairs]
        if ways:
            distance, best = min(ways, key=lambda way: way[0])
            near.append(StandardCandidate(found, (), best, distance))
    # Candidates that agree in all that was measured become one, under the first name.
    ranked = sorted(near, key=lambda candidate: candidate.distance)
    # Several frames share a face: what cannot be told apart by what was measured is one line, not six.
    groups: list[list[StandardCandidate]] = []
    for one_more in ranked:
        for group in groups:
            first = group[0]
            if first.mount.holes == one_more.mount.holes and all(
                abs(a.listed - b.listed) < _SAME for a, b in zip(first.differences, one_more.differences, strict=True)
            ):
                group.append(one_more)
                break
        else:
            groups.append([one_more])
    return tuple(
        StandardCandidate(
            group[0].mount,
            tuple(other.mount.designation for other in group[1:]),
            group[0].differences,
            group[0].distance,
        )
        for group in groups
    )[:count]


def _compared(found: StandardMount, given: dict[str, float], turned: bool) -> tuple[Difference, ...] | None:
    """Each measured size beside the mount's own; None where one is missing or too far off."""
    width, height = (found.height, found.width) if turned else (found.width, found.height)
    own = {
        "bolt circle": found.bolt_circle,
        "pilot": found.pilot,
        "shaft": found.shaft,
        "width": width,
        "height": height,
    }
    pairs = []
    for what, size in given.items():
        listed = own[what]
        # A share and not so many mm: calipers slip on large parts by more.
        if listed is None or abs(listed - size) > FARTHEST * size:
            return None
        pairs.append(Difference(what, size, listed))
    return tuple(pairs)
