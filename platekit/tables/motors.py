"""What motors are sold as, and how far they fall behind their field."""

from __future__ import annotations

from platekit.tables.rows import read


def standard_powers_kw() -> tuple[float, ...]:
    """The powers in kW in which induction motors are sold, rising."""
    return tuple(row.number("power_kw") for row in read("motor_power.csv"))


def usual_slip(power_w: float) -> float:
    """The most slip at rated load, as a share, that is usual for a motor of this power in W."""
    rows = read("motor_slip.csv")
    return next(row.number("slip") for row in rows if not row.text("up_to_w") or power_w <= row.number("up_to_w"))
