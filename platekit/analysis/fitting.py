"""The odds that each mount bolts up: what its holes, screws and errors are, and what would help.

The fixed part is the screws of one mount, with the plate free to shift and turn on it. A pilot that enters the plate
is a joint as well. A slot lets go what lies along it; whether its width passes the screw is not asked here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.cutting import capability_of, how_made
from platekit.cutting.capability import LIMIT_SIGMAS
from platekit.geometry import CurvedSlot, Disc, Slot
from platekit.placed import Layout, Opening, PlacedMount, held
from platekit.tables.scatter import hole_scatter
from platekit.units import INCH

if TYPE_CHECKING:
    from platekit.survey.joint import Joint
    from platekit.survey.odds import FitOdds, JointGroup, Source

FIT_WARN = 0.99
"""Probability that every screw goes in below which the plate gets a warning. Ours: one plate in a hundred."""
FIT_STOP = 0.8
"""Probability below which it may not be cut. Ours: one plate in five."""
MOST_JOINTS = 200
"""Screws of one mount up to which odds are worked out (a stated limit, ours)."""
OPENED_DRAWS = 20_000
"""Most imagined plates for what an opened hole would bring. Ours: the standard error at 99 % is then 0.07 %."""
SURE = 4.0
"""Standard errors by which advice must be above the limit, so that it ends the finding when followed (ours)."""
LARGEST_OPENED = 1.5
"""A hole is not opened beyond this many screw diameters (ours: washers end there)."""
HOLE_STEP = {"mm": 0.5, "in": INCH / 32}
"""Steps in which holes are opened, mm: drills that a shop has (common practice)."""
PILOT_STEPS = (0.2, 0.3, 0.5, 0.8, 1.0)
"""Clearances of a pilot that are tried as advice, mm (ours)."""
CLEARLY = 1e-9
"""Probability by which a bound in plain numbers must be above a limit (rounding)."""
SAME_CENTRE = 1.0
"""A measured bore this close to a pilot's middle is the pilot, mm (ours)."""


class MountFit(Struct, frozen=True):
    """The odds of one mount.

    `probability` is that of every screw going in; a lower bound by formula where `drawn` is False, else from
    `draws` imagined plates. `shares` is the error budget by source. `warn` and `stop` are the limits that hold.
    """

    mount: str
    probability: float
    standard_error: float
    drawn: bool
    draws: int
    shares: tuple[tuple[Source, float], ...]
    warn: float
    stop: float
    holes: int
    hole: float
    slack: float

    @property
    def largest(self) -> tuple[Source, float]:
        """The source with the largest share of the error budget, and that share."""
        return max(self.shares, key=lambda share: round(share[1], 9))


class FitCure(Struct, frozen=True):
    """One change that raises the odds: screw holes, or the pilot's opening, of this size (mm), and the odds then."""

    pilot: bool
    size: float
    probability: float


@held
def fits(layout: Layout) -> tuple[MountFit, ...]:
    """The odds of every mount that has screws (mm), in the order of the spec; up to `MOST_JOINTS` screws each."""
    return tuple(_fits(layout))


@held
def in_doubt(layout: Layout) -> tuple[MountFit, ...]:
    """Those of `fits` (mm) that may be below the limit: most mounts are passed over that are above it.

    Whoever only asks for findings gets them sooner.
    """
    return tuple(_fits(layout, sure=False))


def _fits(layout: Layout, sure: bool = True) -> Iterator[MountFit]:
    openings = {opening.name: opening for opening in layout.openings}
    for mount in layout.mounts.values():
        # a layer's holes are spotted through the plate's, so that they meet as they were made, and so are a lug's
        if mount.layer is not None or mount.lug_of is not None or not (sure or _open(layout, mount, openings)):
            continue
        fixed = mount_of(layout, mount, openings)
        if fixed is not None:
            from platekit.survey.joint import slack_of

            warn, stop = limits_of(layout)
            key = _Key.of(fixed)
            screws = fixed.joints[: len(mount.points)]
            # Drawing imagined plates takes a second; most mounts are cleared by a bound that takes none.
            bound = _bound(key)
            odds = None if bound >= warn else _odds(key, (warn, stop))
            yield MountFit(
                mount=mount.name,
                probability=bound if odds is None else odds.probability,
                standard_error=0.0 if odds is None else odds.standard_error,
                drawn=odds is not None,
                draws=0 if odds is None else odds.draws,
                shares=_budget(key),
                warn=warn,
                stop=stop,
                holes=len(screws),
                hole=mount.hole,
                slack=min(slack_of(joint) for joint in screws),
            )


def limits_of(layout: Layout) -> tuple[float, float]:
    """The probabilities below which a mount gets a warning and a stop: the spec's own, else the usual ones."""
    own = layout.limits
    warn = FIT_WARN if own.fit_warn is None else own.fit_warn
    stop = FIT_STOP if own.fit_stop is None else own.fit_stop
    return max(warn, stop), stop


# --------------------------------------------------------------------------------------- what would help


def way_out(layout: Layout, mount: PlacedMount) -> FitCure | None:
    """The smallest screw holes (mm) that reach the warning limit, else the tightest pilot that does; else None."""
    openings = {opening.name: opening for opening in layout.openings}
    warn, _ = limits_of(layout)
    ways: list[tuple[bool, float]] = []
    if mount.stack is not None and mount.stack.into != "plate":
        step, largest = HOLE_STEP[layout.spec.unit], LARGEST_OPENED * tables.screw(mount.stack.size).diameter
        count = math.floor(mount.hole / step + 1e-6) + 1  # the next drill up, also from a hole that is itself one
        while count * step <= largest + 1e-6:
            ways.append((False, count * step))
            count += 1
    # a pilot last: more play there costs the part its centring, more play in the screws costs nothing
    own = openings.get(f"{mount.name}.pilot")
    if own is not None and mount.pilot is not None:
        ways += [(True, mount.pilot + step) for step in PILOT_STEPS if mount.pilot + step > own.size]
    for pilot, size in ways:
        changed = dict(openings)
        for name, opening in openings.items():
            if opening.mount == mount.name and opening.role == ("pilot" if pilot else "screw"):
                round_one = isinstance(opening.shape, Disc)
                shape = Disc(opening.shape.centroid, size / 2) if round_one else opening.shape
                changed[name] = replace(opening, size=size, shape=shape)
        fixed = mount_of(layout, mount, changed)
        if fixed is None:
            continue
        bound = _bound(_Key.of(fixed))
        if bound >= warn:
            return FitCure(pilot, size, bound)
        # The odds of an advice are drawn too, with an error of their own: it counts only where it is clear of that.
        odds = _opened(_Key.of(fixed), warn)
        if odds.probability - SURE * odds.standard_error > warn:
            return FitCure(pilot, size, odds.probability)
    return None


# --------------------------------------------------------------------------------------- the fixed part


def mount_of(layout: Layout, mount: PlacedMount, openings: dict[str, Opening]) -> JointGroup | None:
    """What the fit of a mount depends on (plate frame, mm); None without screws, or with too many of them.

    The covariance is the survey's where the pattern was measured, else the scatter of made parts.
    """
    if mount.stack is None or len(mount.points) > MOST_JOINTS:
        return None
    import numpy as np

    from platekit.survey.odds import JointGroup

    joints, pilot = _joints(layout, mount, openings)
    bore = None
    if pilot is not None and mount.survey is not None:
        # The measured bore or spigot in the mount's zero is where its pilot is.
        bores = [hole for hole in mount.survey.holes.values() if hole.kind == "bore"]
        bore = next((one.name for one in bores if math.hypot(one.x, one.y) <= SAME_CENTRE), None)
    covariance = np.zeros((2 * len(joints), 2 * len(joints)))
    if mount.survey is None:
        # Nobody measured the part: its holes are off by what a maker's drill jig leaves, each by itself.
        covariance += hole_scatter("part").position ** 2 * np.eye(len(covariance))
    else:
        # Errors of a survey hang together: a hole that was misread pulls its neighbours along.
        from platekit.survey.frame import turned_covariance

        names = mount.labels if bore is None else (*mount.labels, bore)
        block = turned_covariance(mount.survey.block(names), turn=mount.pose.turn, mirrored=mount.pose.mirrored)
        covariance[: len(block), : len(block)] = block
    cut = _Cut.of(layout, openings[mount.hole_names[0]])
    return JointGroup(joints, covariance, cut.position, cut.size, cut.printed)


def _open(layout: Layout, mount: PlacedMount, openings: dict[str, Opening]) -> bool:
    """Whether it is still to be asked if a mount's odds are below the limit; that they are not, plain numbers tell."""
    if mount.stack is None or mount.survey is not None or len(mount.points) > MOST_JOINTS:
        return True
    from platekit.survey.joint import at_least_alike

    joints, _ = _joints(layout, mount, openings)
    cut = _Cut.of(layout, openings[mount.hole_names[0]])
    error = math.hypot(hole_scatter("part").position, cut.position, cut.printed)
    return at_least_alike(joints, error, cut.size) < limits_of(layout)[0] + CLEARLY


def _joints(
    layout: Layout, mount: PlacedMount, openings: dict[str, Opening]
) -> tuple[tuple[Joint, ...], Opening | None]:
    """The joints of a mount with screws (plate frame, mm), and the opening of its pilot if it has one."""
    from platekit.survey.joint import Joint

    joints = [_joint(layout, mount, openings[name]) for name in mount.hole_names]
    # A pilot goes in like one more screw, of the size of its pilot, and may well be what is tightest.
    pilot = openings.get(f"{mount.name}.pilot") if mount.pilot is not None else None
    if pilot is not None:
        assert mount.pilot is not None
        cut = _Cut.of(layout, pilot)
        joints.append(
            Joint(
                pilot.center[0],
                pilot.center[1],
                max(cut.hole, mount.pilot),
                mount.pilot,
                along=_slot_direction(pilot),
                cut_size=cut.size,
            )
        )
    return tuple(joints), pilot


def _joint(layout: Layout, mount: PlacedMount, opening: Opening) -> Joint:
    from platekit.survey.joint import Joint

    stack = mount.stack
    assert stack is not None
    screw = tables.screw(stack.size)
    # The hole in the part, mm: as measured, else the standard's; None where nobody says.
    part = None if mount.standard is None else mount.standard.hole
    if mount.survey is not None:
        assert opening.label is not None
        part = mount.survey.holes[opening.label].diameter
    x, y = opening.center
    if stack.into == "plate":  # the plate holds the screw; the clearance is in the part
        clear = part if part is not None else screw.clearance.get("normal") or screw.diameter
        return Joint(x, y, max(clear, screw.diameter), screw.diameter, cut_size=0.0)
    cut = _Cut.of(layout, opening)
    return Joint(
        x,
        y,
        max(cut.hole, screw.diameter),
        screw.diameter,
        part if stack.into == "nut" and part is not None and part > screw.diameter else None,
        _slot_direction(opening),
        cut.size,
    )


def _slot_direction(opening: Opening) -> float | None:
    shape = opening.shape
    if isinstance(shape, Slot):
        return math.atan2(shape.b[1] - shape.a[1], shape.b[0] - shape.a[0])
    if isinstance(shape, CurvedSlot):
        # a curved slot lets go along its arc: square to the way from its middle
        away = (opening.center[0] - shape.center[0], opening.center[1] - shape.center[1])
        return math.atan2(away[1], away[0]) + math.pi / 2
    return None


class _Cut(Struct, frozen=True):
    """A hole as it comes out: its narrowest size but for chance, and its scatters; mm, one standard deviation."""

    hole: float
    position: float
    size: float
    printed: float

    @classmethod
    def of(cls, layout: Layout, opening: Opening) -> _Cut:
        """An opening as the table cuts it, or as it is drilled, bored or reamed afterwards (mm)."""
        capability, operations = capability_of(layout), how_made(layout, opening)
        is_round = isinstance(opening.shape, Disc)
        if operations.as_cut:
            position = capability.position.value
            if not is_round:
                return cls(opening.size, position, 0.0, 0.0)
            # what is systematic, the taper above all, narrows every hole alike; the rest scatters
            narrowest = opening.size + capability.hole_error.value - capability.taper_loss
            return cls(narrowest, position, capability.scatter(opening.size).value / LIMIT_SIGMAS, 0.0)
        done = {step.work for step in operations.steps}
        tool = "reamed" if "ream" in done else "bored" if "bore" in done else "drilled"
        tool += {"bored": " out", "drilled": " out"}.get(tool, "") if operations.small else ""
        scatter, printed, drilling = hole_scatter(tool), 0.0, layout.cutting.drilling
        # Drilling, boring and reaming at a mark differ by who does it and how: the shop's own figure goes first.
        position = scatter.position
        if drilling is not None and not tool.endswith(" out"):
            position = drilling / LIMIT_SIGMAS
        # A drill follows the mark or the small hole that the table made, and errs on top of it. Without a table it
        # follows a punch mark through paper, whose error is kept apart: the budget tells printing from drilling.
        if capability.traits.table:
            position = math.hypot(position, capability.position.value)
        else:
            printed = hole_scatter("printed").position
        # A drill leaves a hole larger than itself every time, so that much slack is there whatever chance does.
        larger = scatter.larger if is_round else 0.0
        return cls(opening.size + larger, position, scatter.size or 0.0, printed)


# --------------------------------------------------------------------------------------- drawing once


class _Key(Struct, frozen=True):
    """A mount as something that can be looked up."""

    joints: tuple[Joint, ...]
    covariance: bytes
    cut_position: float
    cut_size: float
    printed: float

    @classmethod
    def of(cls, mount: JointGroup) -> _Key:
        return cls(mount.joints, mount.covariance.tobytes(), mount.cut_position, mount.cut_size, mount.printed)

    def mount(self) -> JointGroup:
        import numpy as np

        from platekit.survey.odds import JointGroup

        covariance = np.frombuffer(self.covariance).reshape(2 * len(self.joints), -1)
        return JointGroup(self.joints, covariance, self.cut_position, self.cut_size, self.printed)


@lru_cache(maxsize=256)
def _bound(key: _Key) -> float:
    from platekit.survey.bound import at_least

    return at_least(key.mount())


@lru_cache(maxsize=256)
def _budget(key: _Key) -> tuple[tuple[Source, float], ...]:
    from platekit.survey.odds import error_budget

    return tuple(error_budget(key.mount()).items())


@lru_cache(maxsize=256)
def _odds(key: _Key, limits: tuple[float, float]) -> FitOdds:
    from platekit.survey.odds import fit_odds

    return fit_odds(key.mount(), clear_of=limits)


@lru_cache(maxsize=256)
def _opened(key: _Key, wanted: float) -> FitOdds:
    from platekit.survey.odds import fit_odds

    return fit_odds(key.mount(), draws=OPENED_DRAWS, clear_of=(wanted,))


def hole_text(size: float, unit: str) -> str:
    """A hole's size as it stands in a spec: a bare number in mm, a fraction with its unit in inches.

    >>> hole_text(9.5, "mm"), hole_text(25.4 * 13 / 32, "in")
    ('9.5 mm', '13/32 in')
    """
    if unit == "mm":
        return f"{size:g} mm"
    whole, part = divmod(Fraction(round(size / INCH * 32), 32), 1)
    return f"{part} in" if not whole else f"{whole} in" if not part else f"{whole}-{part} in"
