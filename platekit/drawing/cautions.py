"""The usual cautions, in one place: every sheet prints them, in full or short.

They are common practice, not a code of law: local codes and licensed people decide.
"""

from __future__ import annotations

from typing import Final

TO_DO: Final[tuple[str, ...]] = (
    "Lock out the machine and prove it dead before you start work on it.",
    "Guards go on before power: a new motor usually makes the old guard useless.",
    "Have wiring and inverter done by a licensed electrician.",
    "Check the direction of rotation with the belt off.",
    "Wear eye and ear protection when cutting and grinding; galvanised plate gives off toxic fume.",
    "Check screws and belt again after the first day of running.",
)
"""What is to be done, one sentence each, in the order of the job: only these get a box to tick. Common practice."""

TO_KNOW: Final[tuple[str, ...]] = (
    "Local codes and licensed people decide; where they differ from this sheet, follow them.",
    "Strength is worked out for the plate alone, only where the spec gives masses, and only to a first order: whether "
    "plate and casting are strong and stiff enough, somebody must judge.",
    "This program checks geometry, screws and belt drive; it does not certify a machine.",
)
"""What is to be known, one sentence each. Common practice."""

CAUTIONS: Final = TO_DO + TO_KNOW
"""All of them, in the order of the job."""

TWO_LINES: Final = (
    "Lock out first. Guards before power. Wiring by a licensed electrician. Try rotation unbelted.",
    "Eyes, ears and fume when cutting. Screws and belt again after a day. Local codes decide.",
)
"""The same for a terminal, in two lines."""

ONE_LINE: Final = (
    "lock out first; guards before power; wiring by a licensed electrician; eye and ear protection; local codes decide"
)
"""The same for a cell of a list."""

AT_THE_TABLE: Final = (
    "Wear eye and ear protection when cutting and grinding. Galvanised or painted sheet gives off toxic fume: extract "
    "it, or cut bare steel. Pieces are hot and sharp. Keep to the rules of the cutting table and of your local codes."
)
"""For whoever cuts a test piece. Common practice."""

SHORT: Final = (
    "Lock out first. Guards on before power. Wiring by a licensed electrician. Check rotation unbelted. Eye and ear "
    "protection; galvanised plate fumes. Re-check screws and belt after a day. Local codes and licensed people "
    "decide; this certifies nothing."
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
