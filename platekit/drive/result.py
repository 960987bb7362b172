"""What a drive gives: places, forces, speeds and torque at the working shaft."""

from __future__ import annotations

from math import degrees, sqrt

from msgspec import Struct

from platekit.drive.loads import ShaftPull, Tensions
from platekit.drive.rating import Rating
from platekit.drive.take_up import SlotTravel, Travel
from platekit.tables.belts import BeltSize

Figure = float | int | str | None | list[dict[str, float | None]]


class WorkingPoint(Struct, frozen=True):
    """The working shaft at one setting: frequency in Hz or share of full voltage; speed, torque and power there.

    `motor_rpm` and `belt_speed_m_s` belong to the same setting.
    """

    frequency_hz: float | None
    setting: float | None
    speed_rpm: float
    torque_nm: float
    power_w: float
    motor_rpm: float
    motor_torque_nm: float
    belt_speed_m_s: float


class Reach(Struct, frozen=True):
    """What the working shaft can do against what is wanted, speeds in rpm.

    `ratio_needed` is motor speed over working speed that would reach both ends, None when no ratio
    does: then the setting's range, `range_given` (highest over lowest), is smaller than `range_needed`.
    `one_belt` says whether one belt can have that ratio. `torque_share` is the least torque over the
    wanted one, within the wanted speeds.
    """

    lowest_rpm: float
    highest_rpm: float
    wanted_low_rpm: float
    wanted_high_rpm: float
    reached: bool
    ratio_needed: float | None
    one_belt: bool
    range_given: float
    range_needed: float
    torque_share: float | None


class Forces(Struct, frozen=True):
    """Forces in the drive, in N, at the setting where the belt pulls hardest.

    `static_tension` is for the whole belt (all strands) standing still and run in, so that it carries the
    design power without slip; `running` are both sides under the motor's full torque. `slip_margin` is
    the pull at which it slips over the motor's greatest. `overhung_limit` is what the smallest pulley
    for such a motor shaft stands for, None for a countershaft or a motor beyond the table; the maker's
    figure goes first. `sag` (mm) and `sag_force` check the tension of *one* belt; `sag_force_new` is
    for a new one. `mass_kg_m` is None when the width or the ribs are not known: the centrifugal tension
    is then left out, and there is no span frequency.
    """

    pull: float
    static_tension: float
    running: Tensions
    slip_margin: float
    driver_at_rest: ShaftPull
    driver_running: ShaftPull
    driver_new: ShaftPull
    overhung: float
    overhung_limit: float | None
    sag: float
    sag_force: float
    sag_force_new: float
    span_frequency_hz: float | None
    mass_kg_m: float | None
    design_power_w: float
    rating: Rating

    @property
    def span_frequency_new_hz(self) -> float | None:
        """What the span of a new belt swings at when plucked, Hz: with the root of its tension, as of any string."""
        if self.span_frequency_hz is None:
            return None
        return self.span_frequency_hz * sqrt(self.sag_force_new / self.sag_force)


class Rims(Struct, frozen=True):
    """Fastest speeds, at the highest setting, against what may be: belt and rims in m/s, motor and tool in rpm.

    A limit that nobody stated is None.
    """

    belt_m_s: float
    belt_limit_m_s: float | None
    driver_m_s: float
    driver_limit_m_s: float
    driven_m_s: float
    driven_limit_m_s: float
    motor_rpm: float | None
    motor_limit_rpm: float | None
    tool_rpm: float | None
    tool_limit_rpm: float | None
    tool_m_s: float | None


class DriveResult(Struct, frozen=True):
    """One drive worked out. Lengths in mm, wraps in radians.

    `belt` is None when the belt's length follows from where the shafts are placed; `stock` are the
    bought belts closest to `belt_length`. `ratio` is motor speed over working speed. `travel` is along
    the line of centres, `slot` along the slot.
    """

    centre_distance: float
    usual_centre_distance: float
    placed_centres: float | None
    belt_length: float
    belt: BeltSize | None
    stock: tuple[BeltSize, ...]
    driver_pitch: float
    driven_pitch: float
    driver_teeth: int
    driven_teeth: int
    ratio: float
    wrap_driver: float
    wrap_driven: float
    teeth_in_mesh: int
    span: float
    belt_speed_m_s: float | None
    smallest_pitch: float | None
    travel: Travel | None
    slot: SlotTravel | None
    points: tuple[WorkingPoint, ...]
    reach: Reach | None
    forces: Forces | None
    rims: Rims | None
    notes: tuple[str, ...]

    @property
    def small_pitch(self) -> float:
        """The pitch diameter of the smaller pulley, in mm."""
        return min(self.driver_pitch, self.driven_pitch)

    @property
    def small_wrap(self) -> float:
        """The smaller of the two wraps, in radians."""
        return min(self.wrap_driver, self.wrap_driven)

    @property
    def install(self) -> float | None:
        """Travel along the slot to put the belt on, in mm."""
        return self.slot.install if self.slot else None

    @property
    def tension(self) -> float | None:
        """Travel along the slot to tension the belt and take up its stretch, in mm."""
        return self.slot.tension if self.slot else None

    def figures(self) -> dict[str, Figure]:
        """The figures under keys that carry their unit, for other programs."""
        return {
            "centre_distance_mm": self.centre_distance,
            "belt_length_mm": self.belt_length,
            "wrap_driver_deg": degrees(self.wrap_driver),
            "wrap_driven_deg": degrees(self.wrap_driven),
            "belt_speed_m_s": self.belt_speed_m_s,
            "span_mm": self.span,
            "install_mm": self.install,
            "tension_mm": self.tension,
            "ratio": self.ratio,
            **(
                {}
                if self.forces is None
                else {
                    "pull_n": self.forces.pull,
                    "set_tension_n": self.forces.static_tension,
                    "tight_n": self.forces.running.tight,
                    "slack_n": self.forces.running.slack,
                    "slip_margin": self.forces.slip_margin,
                    "shaft_pull_rest_n": self.forces.driver_at_rest.size,
                    "shaft_pull_running_n": self.forces.driver_running.size,
                    "overhung_load_n": self.forces.overhung,
                    "overhung_limit_n": self.forces.overhung_limit,
                    "sag_mm": self.forces.sag,
                    "sag_force_n": self.forces.sag_force,
                    "sag_force_new_n": self.forces.sag_force_new,
                    "span_frequency_hz": self.forces.span_frequency_hz,
                    "rating_kw": None if self.forces.rating.power_w is None else self.forces.rating.power_w / 1000,
                    "rating": self.forces.rating.text,
                    "rating_unknown_make_kw": self.forces.rating.cautious_kw,
                }
            ),
            "points": [
                {
                    "frequency_hz": point.frequency_hz,
                    "setting": point.setting,
                    "speed_rpm": point.speed_rpm,
                    "torque_nm": point.torque_nm,
                    "power_kw": point.power_w / 1000,
                }
                for point in self.points
            ],
        }
