"""The usual cautions, in one place: every sheet prints them, in full or short.

They are common practice, not a code of law: local codes and licensed people decide.
"""

from __future__ import annotations

from typing import Final

CAUTIONS: Final[tuple[str, ...]] = (
    "Lock out the machine and prove it dead before you start work on it.",
    "Guards go on before power: a new motor usually makes the old guard useless.",
    "Wiring and inverter are work for a licensed electrician.",
    "Check the direction of rotation with the belt off.",
    "Wear eye and ear protection when cutting and grinding; galvanised plate gives off toxic fume.",
    "Check screws and belt again after the first day of running.",
    "Local codes and licensed people decide; where they differ from this sheet, follow them.",
    "Strength is worked out for the plate alone, only where the spec gives masses, and only to a first order: whether "
    "plate and casting are strong and stiff enough, somebody must judge.",
    "This program checks geometry, screws and belt drive; it does not certify a machine.",
)
"""One sentence each, in the order of the job. Common practice."""

SHORT: Final = (
    "Lock out first. Guards on before power. Wiring by a licensed electrician. Check rotation unbelted. Eye and ear "
    "protection; galvanised plate fumes. Re-check screws and belt after a day. Local codes and licensed people "
    "decide; nothing here certifies a machine."
)
"""The same for paper with little room."""

NOT_FOR_CUTTING: Final = "NOT FOR CUTTING"
"""What every sheet is stamped with while a stop is open."""

CLEAR_TO_CUT: Final = "CLEAR TO CUT"
"""What the picture and the report say when no stop is open."""
STRENGTH_LIMITS = (
    "Linear, one thickness, joints that stay shut, no casting and no welds; the seats give way between two bounds. "
    "First-order, not a certificate: local codes and licensed people decide."
)
"""Said beside every figure of whether a plate holds."""
