"""All pairs of stocked pulleys on all stocked belts, tried against what is wanted, the best first.

Every pair and belt of the sections asked for is tried; what cannot be built or breaks a limit falls
out, the rest is ranked by its *merits*: each merit is what one candidate falls short of in its own
unit, divided by what the trade thinks bearable (see `MERITS`), and the sum decides. Nothing is drawn
from a list of favourites.
"""

from __future__ import annotations

from math import inf, pi, sqrt
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.choices import Unit
from platekit.drive.limits import (
    LARGEST_RATIO,
    LEAST_TEETH_IN_MESH,
    LEAST_WRAP,
    SERVICE_FACTOR,
    SMALL_PULLEY_ROOM,
    SPEED_TOLERANCE,
)
from platekit.drive.loads import belt_speed_m_s
from platekit.drive.open_belt import centre_distance, wrap_angle
from platekit.drive.rating import WIDTH_EXPONENT, basic_power_w, wrap_correction
from platekit.drive.request import Range
from platekit.drive.toothed import ROUNDING
from platekit.errors import DriveError
from platekit.tables import belts

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]

CLOSED_TOLERANCE: Final = 1e-6
"""How far a belt may be from closed at the centre distance that was found, in mm."""

MERITS: Final[dict[str, tuple[str, float]]] = {
    "speed": ("share by which the wanted speeds are missed or off their middle", 0.02),
    "centres": ("share by which the centre distance is off the wanted one", 0.05),
    "wrap": ("degrees of wrap on the small pulley below half a turn", 30.0),
    "pulley": ("smallest pulley allowed over the small pulley", 1.0),
    "belt speed": ("share by which the belt is slower than 15 m/s", 1.0),
    "size": ("sum of both pulley diameters over the centre distance", 2.0),
    "belts": ("V-belts needed beyond one; of ribs or width needed, the share of the widest usual belt", 1.0),
}
"""What each merit counts, and how much of it is as bad as one whole unit of another.

Common practice, our own weights.
"""

GOOD_BELT_SPEED_M_S: Final = 15.0
"""Belt speed from which a V-belt carries its power with little pull, in m/s. Common practice (15 to 25)."""

NEWTON_STEPS: Final = 5
"""Steps from the usual approximation to the exact centre distance; four reach 1e-9 on touching pulleys."""

GAP: Final = 2.0
"""Least room between the rims of the two pulleys, in mm.

Common practice: a belt must pass between fingers and rims.
"""


class ChoiceRequest(Struct, frozen=True):
    """What the drive should do and where it must fit; lengths in mm.

    `motor_speeds` are the motor shaft's lowest and highest speed. With an inverter the working shaft
    must reach both ends of `wanted`; where the motor has one speed only, any speed within `wanted` will
    do. `centres` is the range of centre distances that fit, `best_centres` the one to aim at.
    `largest_driver` and `largest_driven` are the largest outside diameters that fit. `power_w` is the
    motor's power at `rated_rpm` (0 leaves the belt's rating out). In a `shop` that buys by the inch, pulleys and belts
    that the trade lists in inches are taken alone, where a section has such.
    """

    motor_speeds: Range
    wanted: Range
    centres: Range
    best_centres: float | None = None
    sections: tuple[str, ...] = ()
    largest_driver: float = inf
    largest_driven: float = inf
    power_w: float = 0.0
    rated_rpm: float | None = None
    service_factor: float = SERVICE_FACTOR
    most_belts: int = 3
    speed_tolerance: float = SPEED_TOLERANCE
    shop: Unit = "mm"

    @property
    def middle_ratio(self) -> float:
        """Motor speed over working speed in the middle of what would do, a ratio: by the geometric means of both."""
        return sqrt(self.motor_speeds.low * self.motor_speeds.high / (self.wanted.low * self.wanted.high))

    @property
    def power_rpm(self) -> float:
        """The motor speed (rpm) at which it gives its power: as said, else its highest."""
        return self.rated_rpm or self.motor_speeds.high


class Choice(Struct, frozen=True):
    """One drive that can be bought. Lengths in mm, wrap in radians, speeds of the working shaft in rpm.

    `merits` holds what each merit adds to `score`; the lowest score is the best. One of `belts_needed` (V-belts),
    `ribs_needed` and `width_needed` (toothed belts, the stock width in mm) says what carries the power; all are
    None when no power was given.
    """

    driver: belts.StockPulley
    driven: belts.StockPulley
    belt: belts.BeltSize
    centres: float
    wrap: float
    ratio: float
    speeds: Range
    belt_speed_m_s: float
    belts_needed: int | None
    ribs_needed: int | None
    width_needed: float | None
    merits: dict[str, float]

    @property
    def score(self) -> float:
        """The sum of all merits; lower is better."""
        return sum(self.merits.values())


class RankedDrives(Struct, frozen=True):
    """The best drives first, how many were tried, and how many of them would do."""

    best: tuple[Choice, ...]
    tried: int
    fitting: int


def choose(request: ChoiceRequest, count: int = 10) -> RankedDrives:
    """The best `count` drives of all stocked pulleys and belts.

    Raises `DriveError` when none would do, saying what stands in the way.
    """
    # What no single belt can do. A belt multiplies both ends of the motor's range by one ratio. Both ends of what is
    # wanted may be missed by the tolerance, hence its square. A motor of one speed may hit the range anywhere and is
    # not asked.
    slow, fast = request.motor_speeds.low, request.motor_speeds.high
    if fast > slow and fast / slow < request.wanted.high / request.wanted.low * (1 - request.speed_tolerance) ** 2:
        raise DriveError(
            f"the motor's speeds go {fast / slow:.1f} to 1, {_speeds(request.wanted)} is "
            f"{request.wanted.high / request.wanted.low:.1f} to 1",
            "no belt widens the range",
        )
    ratio = request.middle_ratio
    if not 1 / LARGEST_RATIO <= ratio <= LARGEST_RATIO:
        raise DriveError(
            f"{_speeds(request.wanted)} from a motor of {_speeds(request.motor_speeds)} is a ratio of "
            f"{max(ratio, 1 / ratio):.0f} to 1, beyond any single belt ({LARGEST_RATIO:.0f} to 1)",
            "use a countershaft, a gear motor or a slower motor",
        )
    sections = request.sections or belts.section_names()
    tables = [_candidates(belts.section(name), request) for name in sections]
    fitting = sum(len(table.score) for table in tables)
    tried = sum(table.tried for table in tables)
    if not fitting:
        raise DriveError(
            f"none of {tried} stocked drives gives {_speeds(request.wanted)} with the shafts "
            f"{request.centres.low:.0f} to {request.centres.high:.0f} mm apart",
            "allow other centre distances, larger pulleys or more sections",
        )
    # Only the best few of each section become drives: the others stay columns of numbers, as there are thousands.
    # Scores are compared to nine places, so that equals keep the order of the tables on every processor.
    found = [
        _choice(table, request, int(index))
        for table in tables
        for index in np.argsort(np.round(table.score, 9), kind="stable")[:count]
    ]
    return RankedDrives(tuple(sorted(found, key=lambda choice: round(choice.score, 9))[:count]), tried, fitting)


class _Candidates(Struct, frozen=True):
    """The drives of one section that would do: indices into the stock, and what each merit adds."""

    section: belts.Section
    tried: int
    driver: Indices
    driven: Indices
    size: Indices
    merits: dict[str, Floats]
    score: Floats
    needed: Floats | None
    """How many belts or ribs each takes, or mm of width; None without a power."""


def _candidates(section: belts.Section, request: ChoiceRequest) -> _Candidates:
    """Every pair of a section on every belt, and those that would do."""
    # Pairs stand in rows, belts in columns: one array operation tries them all, where a loop over tens of thousands
    # of drives would take seconds. Pairs are thinned out first, by what does not depend on the belt.
    pulleys = _pulleys(section, request)
    diameters = np.array([pulley.pitch_diameter for pulley in pulleys])
    lengths = np.array([size.pitch_length for size in _sizes(section, request)])
    driver, driven = _pairs(section, request, pulleys, diameters)
    d, D = diameters[driver][:, None], diameters[driven][:, None]
    centres = _centre_distances(lengths[None, :], d, D)
    wraps = pi - 2 * np.arcsin(np.minimum(np.abs(D - d) / 2 / np.maximum(centres, 1e-9), 1.0))
    teeth = np.array([pulley.teeth for pulley in pulleys])
    rims = (d + D) / 2 - section.offset
    # room for the belt between the rims, and shafts where they may be; then what the belt itself needs to hold
    fits: Flags = (centres >= rims + GAP) & (centres >= request.centres.low) & (centres <= request.centres.high)
    if not section.toothed:
        fits &= wraps >= LEAST_WRAP
    else:
        held = np.minimum(teeth[driver], teeth[driven])[:, None] * wraps / (2 * pi)
        fits &= held >= LEAST_TEETH_IN_MESH
    # V-belts lie side by side, as many as are asked for; a ribbed or toothed belt is one, up to the widest usual one
    alone = section.toothed or section.family == "ribbed"
    widths = belts.stock_widths(section.name)
    most = widths[-1] if widths else belts.usual_pull(section.name).most if alone else request.most_belts
    needed = None
    if request.power_w:
        count = _width_needed if section.toothed else _strands_needed
        needed = count(section, request, d, D, wraps)
        fits &= needed <= most
    # From here on only those that would do, one after the other: row and column of each.
    pair, size = np.nonzero(fits)
    merits = _merits(section, request, d[pair, 0], D[pair, 0], centres[fits], wraps[fits])
    counted = None if needed is None else needed[fits]
    if counted is not None:
        merits["belts"] = (counted / most if alone else counted - 1) / MERITS["belts"][1]
    return _Candidates(
        section=section,
        tried=len(diameters) ** 2 * len(lengths),
        driver=driver[pair],
        driven=driven[pair],
        size=size,
        merits=merits,
        score=np.sum(list(merits.values()), axis=0),
        needed=counted,
    )


def _pulleys(section: belts.Section, request: ChoiceRequest) -> tuple[belts.StockPulley, ...]:
    """The pulleys that are tried, smallest first."""
    found = belts.stock_pulleys(section.name)
    own = tuple(one for one in found if one.sold is not None and one.sold.unit == "in")
    return own if request.shop == "in" and own else found


def _sizes(section: belts.Section, request: ChoiceRequest) -> tuple[belts.BeltSize, ...]:
    """The belts that are tried, shortest first; one called by its millimetres is not of the inch trade."""
    found = belts.stock(section.name)
    own = tuple(one for one in found if " mm " not in one.label)
    return own if request.shop == "in" and own else found


def _pairs(
    section: belts.Section,
    request: ChoiceRequest,
    pulleys: tuple[belts.StockPulley, ...],
    diameters: Floats,
) -> tuple[Indices, Indices]:
    """The pairs of pulleys that are large enough, small enough, not too fast, and give the wanted speeds."""
    # Room is a matter of outside diameters, speed ratio of pitch diameters, bursting of the rim's speed: each limit
    # is held against its own.
    least = belts.smallest_pulley(section.name).pitch_diameter * (1 - SMALL_PULLEY_ROOM)
    outside = diameters - section.offset
    rims = np.array([belts.rim_limit(pulley.material).speed_m_s for pulley in pulleys])
    proud = outside / diameters
    limit = np.minimum(rims, belts.belt_speed_limit(section.name).speed_m_s)
    top = belt_speed_m_s(1.0, request.motor_speeds.high) * diameters
    drivers = (diameters >= least) & (outside <= request.largest_driver) & (top * proud <= limit)
    drivens = (diameters >= least) & (outside <= request.largest_driven)
    ratio = diameters[None, :] / diameters[:, None]
    low, high = request.motor_speeds.low / ratio, request.motor_speeds.high / ratio
    under, over = 1 - request.speed_tolerance, 1 + request.speed_tolerance
    if request.motor_speeds.low == request.motor_speeds.high:
        reached = (low >= request.wanted.low * under) & (low <= request.wanted.high * over)
    else:
        reached = (low <= request.wanted.low * over) & (high >= request.wanted.high * under)
    allowed = drivers[:, None] & drivens[None, :] & reached & (top[:, None] * proud[None, :] <= rims[None, :])
    allowed &= (ratio <= LARGEST_RATIO) & (ratio >= 1 / LARGEST_RATIO)
    driver, driven = np.nonzero(allowed)
    return driver, driven


def _centre_distances(lengths: Floats, d: Floats, D: Floats) -> Floats:
    """The exact centre distances; 0 where the belt does not reach round pulleys that do not touch."""
    # `centre_distance` for whole arrays: the same Newton steps, a fixed number of them, from the length of a belt
    # round equal pulleys. It never goes below touching, where the step would divide by a vanishing cosine.
    lean_room = np.abs(D - d) / 2
    centres = np.maximum((lengths - pi / 2 * (d + D)) / 2, (d + D) / 2)
    for _ in range(NEWTON_STEPS):
        lean = np.arcsin(lean_room / centres)
        length = 2 * centres * np.cos(lean) + pi / 2 * (d + D) + 2 * lean_room * lean
        centres = np.maximum(centres - (length - lengths) / (2 * np.cos(lean)), (d + D) / 2)
    reached = np.abs(length - lengths) <= CLOSED_TOLERANCE
    return np.where(reached, centres, 0.0)


def _strands_needed(section: belts.Section, request: ChoiceRequest, d: Floats, D: Floats, wraps: Floats) -> Floats:
    """How many V-belts or ribs carry the design power; without end where no figure of their table reaches."""
    # As `rating.v_belt_rating`, for arrays: basic power by speed and small pulley, times arc and length factor. A
    # pulley or speed beyond what is printed carries nothing here, so such a pair is left out.
    smalls = _small_pulleys(request, d, D)
    basic = np.array([basic_power_w(section.name, small, rpm) or 0.0 for small, rpm in smalls])[:, None]
    factor = np.array([belts.v_length_factor(section.name, size.pitch_length) for size in _sizes(section, request)])
    carried = basic * wrap_correction(np.degrees(wraps)) * factor[None, :]
    design = request.power_w * request.service_factor
    return np.where(carried > 0, np.ceil(design / np.maximum(carried, 1e-9)), inf)


def _width_needed(section: belts.Section, request: ChoiceRequest, d: Floats, D: Floats, wraps: Floats) -> Floats:
    """The stock width that carries the design power, in mm; without end where none does, or no figure reaches."""
    # As `rating.toothed_power_w`, for arrays and with six teeth or more in mesh. The teeth carry in proportion to the
    # width; the cords by its power 1.14, less their own mass. That has no closed form, but a belt that is wide enough
    # stays so when it gets wider: of the widths that are sold the first that holds is the one.
    law, tooth = belts.toothed_rating(section.name), belts.tooth_force(section.name)
    needed = np.full(wraps.shape, inf)
    if law is None:
        return needed
    smalls = _small_pulleys(request, d, D)
    speed = np.array([belt_speed_m_s(small, rpm) for small, rpm in smalls])[:, None]
    pull = request.power_w * request.service_factor / speed
    least = np.zeros(wraps.shape)
    if tooth is not None:
        forces = [tooth.force_n_mm(rpm) or 0.0 for _, rpm in smalls]
        teeth = np.array([round(small * pi / section.pitch) for small, _ in smalls])[:, None]
        held = np.minimum(np.floor(teeth * wraps / (2 * pi) + ROUNDING), tooth.most)
        least = pull / np.maximum(np.array(forces)[:, None] * held, 1e-9)
    for width in reversed(belts.stock_widths(section.name)):
        share = width / law.width
        cords = share**WIDTH_EXPONENT * law.tension - share * law.mass_kg_m * speed**2
        needed = np.where((cords >= pull) & (width >= least), width, needed)
    return needed


def _small_pulleys(request: ChoiceRequest, d: Floats, D: Floats) -> list[tuple[float, float]]:
    """The small pulley of each pair, in mm, and its speed in rpm when the motor gives its power."""
    pairs = zip(d.ravel().tolist(), D.ravel().tolist(), strict=True)
    return [(min(one, other), request.power_rpm * one / min(one, other)) for one, other in pairs]


def _merits(
    section: belts.Section, request: ChoiceRequest, d: Floats, D: Floats, centres: Floats, wraps: Floats
) -> dict[str, Floats]:
    """What each merit adds, as `MERITS` says."""
    best = request.best_centres or (request.centres.low + request.centres.high) / 2
    least = belts.smallest_pulley(section.name).pitch_diameter
    speed = belt_speed_m_s(1.0, request.power_rpm) * d
    short = {
        # The logarithm counts 5 % too fast as much as 5 % too slow.
        "speed": np.abs(np.log(D / d / request.middle_ratio)),
        "centres": np.abs(centres - best) / best,
        "wrap": 180 - np.degrees(wraps),
        "pulley": least / np.minimum(d, D),
        "belt speed": np.maximum(0.0, 1 - speed / GOOD_BELT_SPEED_M_S),
        "size": (d + D) / centres,
    }
    return {name: amount / MERITS[name][1] for name, amount in short.items()}


def _choice(table: _Candidates, request: ChoiceRequest, index: int) -> Choice:
    """One candidate as a drive, its figures by the exact functions instead of the arrays' fixed steps."""
    pulleys = _pulleys(table.section, request)
    driver, driven = pulleys[table.driver[index]], pulleys[table.driven[index]]
    size = _sizes(table.section, request)[table.size[index]]
    centres = centre_distance(size.pitch_length, driver.pitch_diameter, driven.pitch_diameter)
    ratio = driven.pitch_diameter / driver.pitch_diameter
    small, large = sorted((driver.pitch_diameter, driven.pitch_diameter))
    needed = None if table.needed is None else float(table.needed[index])
    family = table.section.family
    return Choice(
        driver=driver,
        driven=driven,
        belt=size,
        centres=centres,
        wrap=wrap_angle(centres, small, large),
        ratio=ratio,
        speeds=Range(request.motor_speeds.low / ratio, request.motor_speeds.high / ratio),
        belt_speed_m_s=belt_speed_m_s(driver.pitch_diameter, request.power_rpm),
        belts_needed=int(needed) if needed is not None and family not in ("ribbed", "toothed") else None,
        ribs_needed=int(needed) if needed is not None and family == "ribbed" else None,
        width_needed=needed if family == "toothed" else None,
        merits={name: float(amount[index]) for name, amount in table.merits.items()},
    )


def _speeds(speeds: Range) -> str:
    return f"{speeds.low:.0f} rpm" if speeds.low == speeds.high else f"{speeds.low:.0f} to {speeds.high:.0f} rpm"
