"""A test piece that tells what the user's own machine leaves: its drawing, and what the readings on it mean.

A square with three holes and a slot is cut from the same sheet, with the kerf that the controller allows for written
down (0 when it runs along the drawn line). Everything is measured at the face that was cut from, and at the other face.

    kerf          the square is smaller than drawn by what the kerf takes beyond what was allowed for
    hole error    what is left of the holes' and the slot's deviation once that kerf is known, on the average
    scatter       how far the worst of them is from that average
    taper         half of what an opening is narrower at the far face, over the thickness, as an angle
"""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.errors import SurveyError
from platekit.geometry import Disc, Loop, Slot, rectangle
from platekit.spec.coupon import CouponReadings
from platekit.tables.processes import process_rules, process_traits
from platekit.tables.shop import shop_figure

HOLE_STEPS = (1.0, 1.5, 2.0)
"""The holes, in smallest holes of the process (ours)."""
SLOT_LENGTH = 3.0
"""Length of the slot, in its widths (ours)."""
LEAST_HOLE = 6.0
"""No hole is smaller, mm: caliper jaws go in (common practice: inside jaws read small below some 10 mm)."""
ROUNDED_TO = 0.5
SQUARE_TO = 10.0
"""Holes and slot are rounded up to the first, the square to the second, mm (ours)."""
SLIP = 5.0
"""A size this far from the drawn one, the kerf set not counted, is a slip of the pen or of the unit, mm (ours)."""
WIDEST_KERF = shop_figure("kerf, widest")
"""No kerf is wider, mm (`shop_figures.csv`)."""
OUT_OF_SQUARE = 0.5
"""The two ways across the square may differ by so much, mm (ours): more is a slip, or axes that are not calibrated."""
LEAST_SCATTER = 0.05
"""A caliper cannot tell less, mm (common practice)."""


class Coupon(Struct, frozen=True):
    """The test piece as drawn: its lower left is 0,0; mm."""

    process: str
    thickness: float
    square: Loop
    holes: tuple[Disc, Disc, Disc]
    slot: Slot

    @property
    def side(self) -> float:
        """Side of the square, mm."""
        return self.square.box.width


class CouponResult(Struct, frozen=True):
    """What a coupon says of a machine at its thickness; lengths mm, the taper in radians."""

    thickness: float
    kerf: float
    taper: float
    hole_error: float
    scatter: float


def coupon_for(process: str, thickness: float) -> Coupon:
    """The test piece for a process and a plate thickness (mm).

    Raises LookupFailed for a process that no table knows, SurveyError for one that follows no drawing.
    """
    rules = process_rules(process)
    if not process_traits(process).table:
        raise SurveyError(
            f"a {process} press follows no drawing, so there is no test piece for it; name another process"
        )
    kerf = rules["kerf"].value(thickness, 0.0)
    # no smaller than a caliper's jaws go in, whatever the process holds
    smallest = max(rules["smallest_hole"].value(thickness, kerf), LEAST_HOLE)
    web = _up(rules["web"].value(thickness, kerf), ROUNDED_TO)
    a, b, c = (_up(step * smallest, ROUNDED_TO) for step in HOLE_STEPS)
    length, width = SLOT_LENGTH * a, a
    # webs of the process on all sides: what is cut must not warp what it is measured against
    side = _up(max(a + b + c, length) + 4 * web, SQUARE_TO)
    middle = side - web - c / 2
    # four gaps alike: two at the sides, two between the holes
    gap = (side - a - b - c) / 4
    xs = (gap + a / 2, 2 * gap + a + b / 2, 3 * gap + a + b + c / 2)
    y = (middle - c / 2) / 2
    x0, x1 = side / 2 - (length - width) / 2, side / 2 + (length - width) / 2
    return Coupon(
        process=process,
        thickness=thickness,
        square=rectangle(side, side, center=(side / 2, side / 2)),
        holes=(Disc((xs[0], middle), a / 2), Disc((xs[1], middle), b / 2), Disc((xs[2], middle), c / 2)),
        slot=Slot((x0, y), (x1, y), width / 2),
    )


def _up(value: float, step: float) -> float:
    return math.ceil(value / step - 1e-9) * step


def judge(readings: CouponReadings) -> CouponResult:
    """What the readings (mm) say.

    Raises SurveyError for readings that contradict each other or that no cut can leave.
    """
    for size in (*readings.outside, *readings.inside):
        for found, where in ((size.top, "at the face cut from"), (size.bottom, "at the other face")):
            if abs(found - size.drawn) > SLIP + readings.kerf_set:
                raise SurveyError(
                    f"{size.what} is {found:g} mm {where}, drawn {size.drawn:g} mm; a slip of the pen or of the unit"
                )
    # the square is smaller than drawn by one kerf in all, half on each side
    along = [readings.kerf_set + size.drawn - size.top for size in readings.outside]
    if abs(along[0] - along[1]) > OUT_OF_SQUARE:
        raise SurveyError(
            f"the square is {readings.outside[0].top:g} mm along x and {readings.outside[1].top:g} mm along y; one of "
            "them is a slip, or the machine's axes are not true: measure again"
        )
    kerf = math.fsum(along) / 2
    if not 0.0 < kerf <= WIDEST_KERF:
        raise SurveyError(
            f"the square would mean a kerf of {kerf:.2f} mm; check kerf_set, {readings.kerf_set:g} mm, and the readings"
        )
    # an opening is larger by the kerf: what is left of its deviation is the machine's own
    errors = [size.top - size.drawn + readings.kerf_set - kerf for size in readings.inside]
    mean = math.fsum(errors) / len(errors)
    scatter = max(max(abs(error - mean) for error in errors), LEAST_SCATTER)
    # both sides of an opening lean, so that half of what it is narrower goes to each
    lean = math.fsum(size.top - size.bottom for size in readings.inside) / len(readings.inside)
    taper = math.atan2(max(lean, 0.0), 2 * readings.thickness)
    return CouponResult(readings.thickness, kerf, taper, mean, scatter)
