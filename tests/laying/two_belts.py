"""Two belts over a countershaft: beside each other on one side, square to the plate and along it."""

from __future__ import annotations

from pathlib import Path

import platekit
from tests.laying.test_guard import SPEC

BOTH = "guard: {belt: both, gap: 25, thickness: 2}\n"
BESIDE = (
    SPEC.replace("cutouts: {", "cutouts: {roll bore: {circle: {diameter: 26}, at: [-300, 0]}, ")
    .replace(
        "bodies:\n",
        "  roll:\n    side: far\n    pattern: {circle: {count: 4, diameter: 60, hole: 12}}\n    at: [-300, 0]\n"
        "bodies:\n"
        "  roll shaft: {carried_by: roll, shape: {circle: {diameter: 25}}, span: [-72, 0], gap: 0.4}\n",
    )
    .replace(
        "fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-42",
        "fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-72",
    )
    .replace(
        "guard: {gap: 25, thickness: 2}\n",
        "  second:\n"
        "    belt: {section: A, pitch_length: 914.159265358979}\n"
        "    driver: {on: fan, pitch_diameter: 100, span: [-70, -50]}\n"
        "    driven: {on: roll, pitch_diameter: 100, span: [-70, -50]}\n" + BOTH,
    )
)
"""Three shafts through the plate, the middle one with a pulley of either belt, in two planes; one guard over both."""
FAN = (Path(platekit.__file__).parents[1] / "specs" / "winnowing-fan.yaml").read_text("utf-8")
"""The example with its belts at both ends of the countershaft, each under a guard of its own."""
OWN = FAN[FAN.index("second_guard:") : FAN.index("\ncutting:")]
SHUTTER = FAN[FAN.index("  countershaft shutter 2:") : FAN.index("  motor shutter:")]


def changed(text: str, *changes: tuple[str, str]) -> str:
    """A text with some of it replaced, each found."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def lying(*changes: tuple[str, str]) -> str:
    """The example's three shafts, all pointing past the plate's upper edge, and both belts there; one guard."""
    return changed(
        FAN,
        (OWN, ""),
        (SHUTTER, ""),
        ("along: 270 deg", "along: 90 deg"),
        ("stretch: [60, 260]", "stretch: [60, 228]"),
        ("stretch: [-190, 180]", "stretch: [-130, 228]"),
        ("span: [-166, -130]", "span: [190, 226]"),
        ("from_end: 94", "from_end: 2"),
        ("guard: {belt: drive, gap: 12", "guard: {belt: both, gap: 12"),
        *changes,
    )
