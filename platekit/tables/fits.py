"""ISO 286 limits: from a tolerance zone and a size to the two deviations.

A **zone** is a letter and a grade, `h6` for a shaft or spigot, `H7` for a bore. The letter fixes the
deviation nearest to the nominal size, the grade how wide the zone is. Shafts d to p and js, holes D to P and
JS, grades 5 to 14, sizes up to 1000 mm.
"""

from __future__ import annotations

import re

from platekit.errors import LookupFailed
from platekit.tables.rows import MICROMETRE, Row, read
from platekit.tables.values import LimitDeviations

_GRADES = "iso_286_grades.csv"
_DEVIATIONS = "iso_286_deviations.csv"
# ISO 286-1 fixes for each letter the deviation nearest to the nominal size; the other one is the width of the grade
# away from it. Shafts a to h lie below the nominal size and are fixed above, k to zc lie over it and are fixed below;
# holes mirror shafts of the same letter, so the tables hold shafts only, with a few exceptions that this file adds.
_BELOW = ("d", "e", "f", "g", "h")  # shafts whose upper deviation is tabulated
_ABOVE = ("m", "n", "p")  # shafts whose lower deviation holds for every grade
_K_GRADES = range(4, 8)  # ISO 286-1: outside of these the deviation of k is zero
_FINE_HOLES = {"K": 8, "M": 8, "N": 8, "P": 7}  # up to this grade ISO 286-1 adds the difference of two grades
_WORDS = "use a zone such as h6, j6, k6, H7 or H8"


def iso286(zone: str, size: float) -> tuple[float, float]:
    """The lower and upper deviation in mm of an ISO 286 zone at a nominal size in mm.

    Raises LookupFailed for a zone or size that the tables do not hold. Source: ISO 286-1:2010.

    >>> iso286("j6", 110)
    (-0.009, 0.013)
    """
    found = re.fullmatch(r"([A-Za-z]{1,2})(\d{1,2})", zone.strip())
    if not found:
        raise LookupFailed(f"found {zone!r} for an ISO 286 zone", wanted=_WORDS)
    letters, grade = found[1], int(found[2])
    # Deviations are printed in whole micrometres: 0.1 um is left for js, half of an odd grade.
    lower, upper = _shaft(letters, grade, size) if letters.islower() else _bore(letters, grade, size)
    return round(lower, 4), round(upper, 4)


def fit_limits(zone: str, size: float) -> LimitDeviations:
    """The limits of an ISO 286 zone at a size in mm, named after the zone."""
    return LimitDeviations(*iso286(zone, size), zone)


def zones() -> tuple[str, ...]:
    """The letters that the tables hold, shafts first."""
    return (
        "d",
        "e",
        "f",
        "g",
        "h",
        "js",
        "j",
        "k",
        "m",
        "n",
        "p",
        "D",
        "E",
        "F",
        "G",
        "H",
        "JS",
        "J",
        "K",
        "M",
        "N",
        "P",
    )


def _row(file: str, size: float) -> Row:
    for row in read(file):
        if row.need("over") < size <= row.need("up_to"):
            return row
    last = read(file)[-1].need("up_to")
    raise LookupFailed(f"no ISO 286 limits for {size:g} mm", wanted=f"the tables go from above 0 to {last:g} mm")


def _grade(grade: int, size: float) -> float:
    row = _row(_GRADES, size)
    if f"IT{grade}_um" not in row.cells:
        raise LookupFailed(f"no ISO 286 grade {grade}", wanted="the tables hold 5 to 14")
    return row.need(f"IT{grade}")


def _deviation(letter: str, zone: str, size: float) -> float:
    row = _row(_DEVIATIONS, size)
    value = row.length(letter) if f"{letter}_um" in row.cells else None
    if value is None:
        raise LookupFailed(f"no ISO 286 zone {zone} at {size:g} mm", wanted=_WORDS)
    return value


def _shaft(letters: str, grade: int, size: float) -> tuple[float, float]:
    """Lower and upper deviation of a shaft in mm; raises LookupFailed for a zone that the tables do not hold."""
    width = _grade(grade, size)
    zone = f"{letters}{grade}"
    # js lies even about the size; all others have one end in the table and the other a grade away.
    if letters == "js":
        return -width / 2, width / 2
    # a to h lie below the size: the table has the end nearest to it.
    if letters in _BELOW:
        upper = _deviation(letters, zone, size)
        return upper - width, upper
    if letters == "k" and grade not in _K_GRADES:
        return 0.0, width
    if letters == "j":
        # The tables print one figure for j5 and j6.
        lower = _deviation("j6" if grade == 5 else zone, zone, size)
    elif letters in (*_ABOVE, "k"):
        lower = _deviation(letters, zone, size)
    else:
        raise LookupFailed(f"no ISO 286 zone {zone}", wanted=_WORDS)
    return lower, lower + width


def _bore(letters: str, grade: int, size: float) -> tuple[float, float]:
    """Lower and upper deviation of a hole in mm; raises LookupFailed for a zone that the tables do not hold."""
    width = _grade(grade, size)
    zone = f"{letters}{grade}"
    if letters == "JS":
        return -width / 2, width / 2
    if letters.lower() in _BELOW:
        # Holes A to H are the shafts a to h mirrored about the size, whatever the grade.
        lower = -_deviation(letters.lower(), zone, size)
        return lower, lower + width
    if letters == "J":
        upper = _deviation(zone, zone, size)
    elif letters in _FINE_HOLES:
        # Holes K to P are tight: mirrored from the shaft, but pushed up by the step from the next finer grade, so that
        # a hole with a shaft one grade finer fits as the mirrored pair would (ISO 286-1, rule of the added difference).
        # M6 from 250 to 315 mm is the one exception that the standard prints.
        base = -_deviation(letters.lower(), f"{letters}{grade}", size)
        smallest, largest = 3.0, 500.0  # mm: the rule of the added difference holds between them
        if not smallest < size <= largest:
            upper = base
        elif grade > _FINE_HOLES[letters]:
            if letters in ("K", "N"):
                raise LookupFailed(
                    f"no ISO 286 zone {letters}{grade} above {smallest:g} mm", wanted="use grade 8 or finer"
                )
            upper = base
        else:
            step = _grade(grade, size) - _grade(grade - 1, size) if grade > 5 else 0.0
            special = 2 * MICROMETRE if letters == "M" and grade == 6 and 250 < size <= 315 else 0.0
            upper = base + step + special
    else:
        raise LookupFailed(f"no ISO 286 zone {zone}", wanted=_WORDS)
    return upper - width, upper
