"""Strength of screws and the torque that tightens them, with the friction said aloud; thread engagement."""

from __future__ import annotations

import math

from msgspec.structs import replace

from platekit.errors import LookupFailed
from platekit.tables.naming import key, listed, nearest
from platekit.tables.rows import kept, read
from platekit.tables.screws import screw
from platekit.tables.strengths import limit
from platekit.tables.values import Engagement, PropertyClass, Screw, Source, Torque
from platekit.units import INCH, POUND_FORCE

FRICTION = 0.14
"""Thread and head, steel as delivered, dry or lightly oiled (common practice; 0.10 greased to 0.20 rough)."""
PRELOAD_SHARE = 0.75
"""Of the proof load, joints that are opened again (Shigley, bolted joints under static load)."""
USUAL_CLASS = {"metric": "8.8", "inch": "grade 5"}
"""Strength of screws by system when nobody says (common practice: what a shop keeps)."""
FLANKS = 0.875
"""Area of a nut thread's root over pi d L (geometry of the ISO profile: (P / 2 + (d - D2) tan 30) / P)."""
STRIP_SAFETY = 1.5
"""A thread in aluminium bears so many times the preload that it is tightened to, or the torque is lowered (ours: grease
in the thread alone makes the preload a third larger)."""
FLANK_ANGLE = math.radians(30)  # half of the thread angle of ISO and unified threads
_KSI = 1000 * POUND_FORCE / INCH**2  # N/mm2
_CLASSES = "iso_898_1_property_class.csv"
_GRADES = "sae_j429_grade.csv"
_FORMULA = Source(
    "T = F (P / 2 pi + mu d2 / (2 cos 30) + mu (s + hole) / 4), F three quarters of proof strength by stress area, "
    "d2 the pitch diameter, s across flats, hole the normal one (Shigley, power screws and bolt torque)",
    "published",
)


def property_class(name: str, size: str) -> PropertyClass:
    """The strength (N/mm2) of a class for a screw size: `8.8`, `A2-70` with metric sizes, `grade 5` with inch ones.

    Raises LookupFailed for a class that the size's system does not know, or does not list at this diameter.
    """
    return _strength(name, screw(size))


def _strength(name: str, found: Screw) -> PropertyClass:
    # Metric classes are listed in N/mm2, SAE grades in ksi; a class may have several rows by diameter, as thick
    # screws are hardened less deep.
    file, unit, factor = (_CLASSES, "n_mm2", 1.0) if found.system == "metric" else (_GRADES, "ksi", _KSI)
    rows = read(file)
    wanted = _class_key(name)
    named = [row for row in rows if _class_key(row.text("name")) == wanted]
    if not named:
        names = tuple(dict.fromkeys(row.text("name") for row in rows))
        raise LookupFailed(
            f"no {found.system} property class is called {name!r}", nearest(name, names), wanted=f"use {listed(names)}"
        )
    for row in named:
        if (row.length("over") or 0.0) < found.diameter <= row.need("up_to") + 1e-9:
            return PropertyClass(
                name=row.text("name"),
                proof_strength=row.number(f"proof_{unit}") * factor,
                yield_strength=row.number(f"yield_{unit}") * factor,
                tensile_strength=row.number(f"tensile_{unit}") * factor,
                source=row.source,
            )
    raise LookupFailed(f"class {named[0].text('name')} is not listed for {found.size}")


def _class_key(name: str) -> str:
    return (
        key(name)
        .removeprefix("sae")
        .removeprefix("j429")
        .removeprefix("grade")
        .removeprefix("gr")
        .removeprefix("class")
    )


@kept(256)
def torque(size: str, property_class: str, friction: float = FRICTION) -> Torque:
    """Tightening torque in N m and preload in N of a screw, for equal friction in thread and under head.

    The preload is 75 percent of proof strength times stress area. T = F (P / 2 pi + mu d2 / (2 cos 30) + mu
    Dm / 2), with d2 the pitch diameter and Dm the mean of the head's bearing face and the normal clearance
    hole (Shigley). Raises LookupFailed for an unknown size or class, and for a friction that no dry or oiled
    screw has.

    >>> round(torque("M10", "8.8").torque)
    48
    """
    if not 0.04 <= friction <= 0.4:
        raise LookupFailed(
            f"found {friction:g} for a coefficient of friction", wanted="use 0.08 (greased) to 0.20 (rough and dry)"
        )
    found = screw(size)
    strength = _strength(property_class, found)
    preload = PRELOAD_SHARE * strength.proof_strength * found.stress_area
    # Torque for one newton of preload, in mm: the wedge of the thread, friction on its flanks (their lean divides the
    # arm by cos 30), friction under the head. The bearing face is taken from across flats in to the clearance hole.
    # Pitch diameter of a 60 degree thread: three eighths of the triangle's height on either side, 1.299 / 2 pitches.
    d2 = found.diameter - 1.299 / 2 * found.pitch
    bearing = found.hex_across_flats or found.socket_head_diameter
    if bearing is None:
        raise LookupFailed(f"no head is listed for {found.size}, so its torque can't be worked out")
    mean = (bearing + found.clearance["normal"]) / 2
    lever = found.pitch / (2 * math.pi) + friction * d2 / (2 * math.cos(FLANK_ANGLE)) + friction * mean / 2
    value = preload * lever / 1000.0
    said = (
        f"{value:.3g} Nm for {found.size} {strength.name}, friction {friction:g} in the thread and under the head, "
        f"preload {preload / 1000:.3g} kN ({100 * PRELOAD_SHARE:.0f} % of the proof load)"
    )
    return Torque(found.size, strength.name, friction, value, preload, said, _FORMULA)


def thread_bears(size: str, inside: str, engagement: float) -> float:
    """The force in N that strips so much thread (mm) of a screw out of steel, cast iron or aluminium.

    The root of the nut's thread in shear, pi d L times its share, at 0.6 of the tensile strength (Machinery's Handbook,
    and FED-STD-H28/2B, have the area with the limits of the thread's class; `strength_limits.csv` the strengths).
    """
    area = FLANKS * math.pi * screw(size).diameter * engagement
    return area * limit("thread shear").figure * limit(f"{inside} thread").figure


def torque_in_aluminium(size: str, property_class: str, engagement: float) -> tuple[Torque, float]:
    """The torque for a screw in so much thread (mm) of aluminium, and how many times its preload the thread bears.

    No standard prints torques for threads in aluminium, as they hang on alloy and depth; so that of the screw itself is
    lowered where the thread does not bear `STRIP_SAFETY` times its preload. Raises LookupFailed as `torque`.

    >>> round(torque_in_aluminium("M8", "8.8", 16)[0].torque), round(torque_in_aluminium("M8", "8.8", 8)[0].torque)
    (25, 19)
    """
    full = torque(size, property_class)
    bears = thread_bears(size, "aluminium", engagement)
    share = min(1.0, bears / STRIP_SAFETY / full.preload)
    held = replace(full, torque=full.torque * share, preload=full.preload * share)
    return held, bears / held.preload


@kept(256)
def engagement(into: str) -> Engagement:
    """How deep a screw should reach into a thread, by what the thread is cut in.

    `into` is steel, cast iron, aluminium or plastic, or a family of materials; raises LookupFailed for another word.

    >>> engagement("aluminium").diameters
    2.0
    """
    rows = read("thread_engagement.csv")
    for row in rows:
        if key(into) in map(key, (row.text("material"), *row.words("families"))):
            return Engagement(row.text("material"), row.number("diameters"), row.source)
    names = tuple(row.text("material") for row in rows)
    raise LookupFailed(
        f"no thread engagement is listed for {into!r}", nearest(into, names), wanted=f"say {listed(names)}"
    )
