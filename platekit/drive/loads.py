"""Forces in a belt drive: pull, tight and slack side, slip, shaft pull, and how to check the tension by hand.

Words and symbols used here: the *pull* is what turns the pulley, the difference of *tight* and *slack*
side (F1 - F2). The belt's own mass adds the *centrifugal* tension Fc all round. The *static* tension F0 is
what the belt has standing still; running, the tight side gains half the pull and the slack side loses
it (F1 + F2 = 2 F0). A V-belt wedges: its friction f over a *wrap* phi holds the ratio (F1 - Fc) / (F2 -
Fc) up to exp(f phi) (Shigley, Mechanical Engineering Design, section 17-3). Forces in N, lengths in mm,
speeds in m/s, angles in radians.
"""

from __future__ import annotations

from math import cos, exp, hypot, inf, pi, sin, sqrt

from msgspec import Struct

from platekit.drive.limits import SAG_PER_SPAN
from platekit.errors import DriveError

MM = 1e-3
"""One millimetre in metres."""


class Tensions(Struct, frozen=True):
    """Tight and slack side of a running belt and the centrifugal tension contained in both, in N."""

    tight: float
    slack: float
    centrifugal: float

    @property
    def pull(self) -> float:
        """What turns the pulley, in N."""
        return self.tight - self.slack

    @property
    def set(self) -> float:
        """The tension of the belt standing still, in N: the mean of both sides."""
        return (self.tight + self.slack) / 2

    @property
    def initial(self) -> float:
        """The static tension without the centrifugal part, in N (Shigley's Fi, equation 17-23)."""
        return self.set - self.centrifugal


class ShaftPull(Struct, frozen=True):
    """The force on a shaft, in N.

    `along` the middle of the wrap, towards the other pulley, and `across` it: positive towards the
    tight side on the small pulley of an open belt, and as the reaction of that on the large one.
    """

    along: float
    across: float

    @property
    def size(self) -> float:
        """The whole force, in N."""
        return hypot(self.along, self.across)


def torque_nm(power_w: float, speed_rpm: float) -> float:
    """The torque in N m that carries this power in W at this speed: 9550 kW / rpm, by definition of power.

    Raises `DriveError` for a shaft that stands.

    >>> round(torque_nm(22_000, 1465), 1)
    143.4
    """
    # a stalled motor's power is nil whatever its torque: the division has no answer
    if speed_rpm <= 0:
        raise DriveError(f"a shaft at {speed_rpm:g} rpm carries no power", "give a speed above zero")
    return power_w / (speed_rpm * pi / 30)


def power_w(torque: float, speed_rpm: float) -> float:
    """The power in W of a torque in N m at this speed in rpm; undoes `torque_nm`."""
    return torque * speed_rpm * pi / 30


def belt_speed_m_s(pitch_diameter: float, speed_rpm: float) -> float:
    """How fast the belt runs, in m/s, on a pulley of this pitch diameter in mm."""
    return pi * pitch_diameter * MM * speed_rpm / 60


def speed_for_belt_speed_rpm(pitch_diameter: float, belt_speed: float) -> float:
    """The shaft speed at which the belt or rim reaches this speed in m/s; undoes `belt_speed_m_s`."""
    return belt_speed * 60 / (pi * pitch_diameter * MM)


def effective_pull(torque: float, pitch_diameter: float) -> float:
    """The pull in N that turns a pulley of this pitch diameter in mm with this torque in N m."""
    # by the radius: the pull acts at the pitch line
    return torque / (pitch_diameter * MM / 2)


def centrifugal_tension(mass_kg_m: float, belt_speed: float) -> float:
    """The tension in N that the belt's own mass (kg/m) makes at this speed (m/s): m v^2 (Shigley, section 17-2)."""
    # Whatever the pulley's size: a tighter curve flings harder, but over a shorter piece.
    return mass_kg_m * belt_speed**2


def tension_ratio(friction: float, wrap: float) -> float:
    """The largest ratio of tight to slack side, both without the centrifugal part: exp(f phi), `wrap` in radians.

    The belt equation (Euler, Eytelwein): each small piece of arc adds tension in proportion to what presses it on.
    """
    return exp(friction * wrap)


def least_tensions(pull: float, friction: float, wrap: float, centrifugal: float = 0.0) -> Tensions:
    """Tight and slack side of the slackest belt that still carries this pull, in N.

    `friction` is the effective one, `wrap` that of the pulley which slips first. Source: Shigley,
    section 17-3.
    """
    # Just before slip the tight side is `ratio` times the slack one, and pull is their difference: two equations.
    ratio = tension_ratio(friction, wrap)
    if ratio <= 1:
        raise DriveError("a belt without friction or wrap carries nothing")
    slack = pull / (ratio - 1)
    return Tensions(slack + pull + centrifugal, slack + centrifugal, centrifugal)


def running_tensions(static_tension: float, pull: float, centrifugal: float = 0.0) -> Tensions:
    """Tight and slack side of a belt that was set to this tension standing still, in N.

    `pull` and the centrifugal tension in N. The mean of both sides stays the static tension (Shigley, section 17-2).
    """
    # The belt's length hardly changes under load, so what stretches the tight side more lets the slack one go as much.
    return Tensions(static_tension + pull / 2, static_tension - pull / 2, centrifugal)


def greatest_pull(static_tension: float, friction: float, wrap: float, centrifugal: float = 0.0) -> float:
    """The pull in N at which a belt set to this tension slips.

    0 when the centrifugal tension lifts it off.
    """
    ratio = tension_ratio(friction, wrap)
    return max(0.0, 2 * (static_tension - centrifugal) * (ratio - 1) / (ratio + 1))


def slip_margin(static_tension: float, pull: float, friction: float, wrap: float, centrifugal: float = 0.0) -> float:
    """How many times the pull the belt holds before it slips; infinite when nothing pulls."""
    return greatest_pull(static_tension, friction, wrap, centrifugal) / pull if pull > 0 else inf


def shaft_pull(tensions: Tensions, wrap: float) -> ShaftPull:
    """The force on a shaft whose pulley has this wrap, in N.

    `along` is the middle of the wrap, in an open belt the line of centres. The centrifugal part bends
    the belt round the pulley by itself and does not reach the shaft.
    """
    # Each side pulls (pi - wrap) / 2 away from the middle of the wrap: the sum of both acts along it by sin(wrap / 2),
    # their difference across it by cos(wrap / 2), which is nothing at half a turn.
    both = tensions.tight + tensions.slack - 2 * tensions.centrifugal
    return ShaftPull(both * sin(wrap / 2), tensions.pull * cos(wrap / 2))


def shaft_pull_at_rest(static_tension: float, wrap: float) -> ShaftPull:
    """The force on a shaft with the belt standing still, in N; `wrap` in radians."""
    return shaft_pull(Tensions(static_tension, static_tension, 0.0), wrap)


def static_tension_for(pull: float, friction: float, wrap: float, centrifugal: float = 0.0) -> float:
    """The tension to set standing still, in N, so that the belt just carries this pull.

    Undoes `greatest_pull`.
    """
    return least_tensions(pull, friction, wrap, centrifugal).set


def overhung_load(power: float, speed_rpm: float, pitch_diameter: float, factor: float) -> float:
    """The usual estimate of the belt's force on a shaft end, in N: 19.1e6 kW K / (rpm x pitch diameter in mm).

    `power` in W; the factor K stands for belt tension beyond the torque's own force. Common practice.
    """
    return factor * effective_pull(torque_nm(power, speed_rpm), pitch_diameter)


def sag(span: float) -> float:
    """The deflection at mid span at which the tension is checked, in mm: 1/64 of the span in mm (RMA practice)."""
    return span * SAG_PER_SPAN


def sag_force(static_tension: float, span: float, deflection: float) -> float:
    """The force in N at mid span that makes this deflection in mm on one belt set to this tension.

    Equilibrium of a taut string, F = 4 F0 y / span; with y = span / 64 it is F0 / 16, the RMA formula
    without its allowance for the belt's own stiffness.
    """
    return 4 * static_tension * deflection / span


def span_frequency_hz(static_tension: float, mass_kg_m: float, span: float) -> float:
    """The note that a plucked span gives, in Hz: sqrt(F0 / m) / (2 span). Physics of a taut string (Mersenne's law).

    Tension in N, mass of the same strands in kg/m, span in mm. Raises `DriveError` where mass or span is missing.
    """
    # All strands together or one alone: tension and mass both count once a strand, so the note is the same.
    if mass_kg_m <= 0 or span <= 0:
        raise DriveError("the note of a span needs the belt's mass and a span above zero")
    return sqrt(static_tension / mass_kg_m) / (2 * span * MM)


def surface_speed_m_s(diameter: float, speed_rpm: float) -> float:
    """How fast the skin of a tool or drum of this diameter in mm runs, in m/s."""
    return belt_speed_m_s(diameter, speed_rpm)
