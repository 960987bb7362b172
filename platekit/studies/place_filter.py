"""Which of many poses of a mount would surely be stopped: the rules on clashes, webs and edges, for all poses at once.

Every question is one of those that the rules ask of two things of which one moves with the mount and the other stays:
bodies that are prisms, screw holes, pilots and cutouts, and the outline where it is given. The answers are on the safe
side: a pose that passes has no stop for a reason that a question covers. Bodies that are no prisms, belts, guards,
reliefs, swings and what a spec accepts are left to the full check.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.checks.bodies import may_touch
from platekit.checks.openings import edge_figures, web_needed
from platekit.cutting.heads import seats
from platekit.geometry import Disc
from platekit.geometry.poses import Core, Flags, Numbers, Poses, core_of, gaps, insets
from platekit.laying.limits import seat_web
from platekit.placed import SAME_LENGTH, Layout, Opening
from platekit.spec import models as words
from platekit.studies.place_space import SearchSpace

CHUNK: Final = 8192
"""Poses judged at once (ours: their numbers stay in the processor's own memory)."""
SAMPLE: Final = 1024
"""Poses by which the questions are sorted, those that stop most of them first (ours)."""
ENOUGH: Final = 10.0
"""Clearance beyond what is needed that counts as plenty, mm (ours: more is no better)."""
MOVING_ROLES: Final = frozenset({"screw", "pilot"})
FIXED_ROLES: Final = frozenset({"screw", "pilot", "pivot", "cutout", "fixing", "dowel"})


class RequiredClearance(Struct, frozen=True):
    """Whether two things keep `needed` (mm) between them; `fixed` is an outline to stay in where `inside`."""

    rule: str
    what: str
    features: tuple[str, str]
    moving: Core
    fixed: Core
    needed: float
    inside: bool = False

    @property
    def rules(self) -> tuple[str, ...]:
        """The rules that would speak of it; of two openings that is another one once they run into each other."""
        return ("web", "overlap") if self.rule == "web" else (self.rule,)

    def spare(self, at: Poses, far: float = 0.0, near: float = -2 * SAME_LENGTH) -> Numbers:
        """What is left over of the distance in every pose, mm; negative where it is too little.

        Exact from `near` up to `far`, and on the same side of them beyond.
        """
        if self.inside:
            return insets(self.moving, at, self.fixed) - self.needed
        return gaps(self.moving, at, self.fixed, self.needed + far, self.needed + near) - self.needed


class Filter(Struct, frozen=True):
    """The questions of one side."""

    questions: tuple[RequiredClearance, ...]

    def sorted_by(self, at: Poses) -> Filter:
        """The same questions (mm), those first that stop most of a sample of the poses."""
        # A pose is out with the first question that it fails: with the strictest first most poses cost one question.
        some = at.only(sample(len(at)))
        return Filter(tuple(sorted(self.questions, key=lambda q: -int(np.count_nonzero(_stopped(q, some))))))

    def passed(self, at: Poses) -> Flags:
        """Which poses no question stops, to a nanometre (mm inside)."""
        result = np.zeros(len(at), dtype=bool)
        for start in range(0, len(at), CHUNK):
            rows = np.arange(start, min(start + CHUNK, len(at)))
            here = at.only(rows)
            # a pose that fails one question is not asked the others
            for question in self.questions:
                good = ~_stopped(question, here)
                if not good.all():
                    rows, here = rows[good], here.only(good)
                if not len(rows):
                    break
            result[rows] = True
        return result

    def clearances(self, at: Poses) -> Numbers:
        """The least that any question leaves over in every pose, mm, at most `ENOUGH`."""
        least = np.full(len(at), ENOUGH)
        for question in self.questions:
            least = np.minimum(least, question.spare(at, ENOUGH))
        return least

    def blockers(self, at: Poses) -> list[tuple[str, int]]:
        """How many of the poses each question (mm) stops, most first; those that stop none are left out."""
        counts: dict[str, NDArray[np.bool_]] = {}
        for question in self.questions:
            stopped = _stopped(question, at)
            counts[question.what] = counts.get(question.what, np.zeros(len(at), dtype=bool)) | stopped
        found = [(what, int(np.count_nonzero(flags))) for what, flags in counts.items()]
        return sorted(((what, count) for what, count in found if count), key=lambda pair: (-pair[1], pair[0]))


def sample(count: int) -> NDArray[np.intp]:
    """Rows spread evenly over `count` of them."""
    return np.unique(np.linspace(0, count - 1, min(count, SAMPLE)).astype(np.intp))


def _stopped(question: RequiredClearance, at: Poses) -> Flags:
    return np.asarray(question.spare(at) < -SAME_LENGTH)


# ------------------------------------------------------------------------------------------ questions


def filter_of(space: SearchSpace, layout: Layout) -> Filter:
    """The questions (mm) of a mount, from a layout in which it stands in any one pose of the side in question."""
    asked = [*_clashes(space, layout), *_webs(space, layout)]
    # Openings against an outline that is given; one that wraps them follows wherever they go.
    sunk, back = seats(layout), layout.mounts[space.name].pose.inverse()
    for opening in layout.openings if not layout.wrapped else ():
        if opening.mount != space.name or opening.role not in MOVING_ROLES:
            continue
        extra, needed, _ = edge_figures(layout, opening, 0.0)
        room = needed - extra
        if opening.name in sunk:
            # a head's mouth is as much nearer to the edge as it is wider than the hole
            wider = (sunk[opening.name].diameter - opening.size) / 2
            room = max(room, seat_web(layout.limits, layout.thickness) + wider)
        core, outline = core_of(_nominal(opening).moved(back)), core_of(layout.outline, outside=False)
        what, names = f"{opening.name} against the outline", (opening.name, "outline")
        asked.append(RequiredClearance("edge", what, names, core, outline, room, inside=True))
    # What the user accepts must not be filtered out: the full check judges it with its figure.
    taken = [(one.rule, one.features) for one in layout.accepted]
    kept = [q for q in asked if not any(rule in q.rules and set(names) <= set(q.features) for rule, names in taken)]
    return Filter(tuple(kept))


def staying(space: SearchSpace) -> frozenset[str]:
    """The mounts whose place and travel (mm, rad) do not depend on the one that is looked for."""
    stay = []
    for name in space.spec.model.mounts:
        # up the chain of what each is placed from, unless the mount itself or a travel by the belt comes first
        here: str | None = name
        while here is not None and here != space.name:
            mount = space.spec.model.mounts[here]
            take, at = mount.take_up, mount.at
            if take is not None and take.straight is not None:
                ends: tuple[object, ...] = (take.straight.install, take.straight.tension)
                if "auto" in ends or take.straight.along == "belt":
                    break
            elif take is not None:
                turning = take.swing or take.hinge
                assert turning is not None
                if "auto" in (turning.install, turning.tension):
                    break
            if isinstance(at, words.Polar):
                here = at.from_
            else:
                here = at.belt.from_ if isinstance(at, words.BeltPlace) else None
        if here is None:
            stay.append(name)
    return frozenset(stay)


def _clashes(space: SearchSpace, layout: Layout) -> Iterator[RequiredClearance]:
    stay = staying(space)
    back = layout.mounts[space.name].pose.inverse()
    prisms = [body for body in layout.bodies if not body.pieces]
    moving = [(body, core_of(body.shape.moved(back))) for body in prisms if body.carrier == space.name]
    fixed = [(body, core_of(body.swept)) for body in prisms if body.carrier in stay or body.carrier == "plate"]
    for a, core in moving:
        for b, other in fixed:
            # Two prisms that are apart along the normal need less across it: gap, both distances square to each other.
            gap = max(a.gap, b.gap)
            apart = max(a.z[0], b.z[0]) - min(a.z[1], b.z[1])
            if apart <= max(gap - SAME_LENGTH, -SAME_LENGTH) and not may_touch(a, b):
                needed = gap if apart <= 0 else (gap**2 - apart**2) ** 0.5
                # what a shop would name: the screw instead of its head and washer
                what = f"{a.screw or a.name} against {b.screw or b.name}"
                yield RequiredClearance("clash", what, (a.name, b.name), core, other, needed)


def _webs(space: SearchSpace, layout: Layout) -> Iterator[RequiredClearance]:
    stay = staying(space)
    back = layout.mounts[space.name].pose.inverse()
    moving = [
        (o, core_of(_nominal(o).moved(back)))
        for o in layout.openings
        if o.through and o.mount == space.name and o.role in MOVING_ROLES
    ]
    # a relief follows the body that it is for, which may move with the mount: those are left to the full check
    fixed = [
        (opening, core_of(opening.shape))
        for opening in layout.openings
        if opening.through and opening.role in FIXED_ROLES and (opening.mount is None or opening.mount in stay)
    ]
    for a, core in moving:
        for b, other in fixed:
            names = (a.name, b.name)
            yield RequiredClearance("web", f"{a.name} against {b.name}", names, core, other, web_needed(layout, a, b))
    # Heads that are let in take a wider hole in one face: the same is asked of these, face by face.
    sunk = seats(layout)
    if not sunk:
        return
    needed = seat_web(layout.limits, layout.thickness)
    wide = {o.name: core_of(Disc(o.center, sunk[o.name].diameter / 2).moved(back)) for o, _ in moving if o.name in sunk}
    mouths = {o.name: core_of(sunk[o.name].mouth) for o, _ in fixed if o.name in sunk}
    for a, core in moving:
        for b, other in fixed:
            names, what = (a.name, b.name), f"{a.name} against {b.name}"
            if a.name in wide:
                yield RequiredClearance("web", what, names, wide[a.name], other, needed)
            if b.name in mouths:
                yield RequiredClearance("web", what, names, core, mouths[b.name], needed)
            if a.name in wide and b.name in mouths and sunk[a.name].side == sunk[b.name].side:
                yield RequiredClearance("web", what, names, wide[a.name], mouths[b.name], needed)


def _nominal(opening: Opening) -> Disc:
    """The opening before its travel: screw holes and pilots are round."""
    return Disc(opening.center, opening.size / 2)
