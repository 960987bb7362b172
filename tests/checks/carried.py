"""Plates that carry a motor of some mass: a sound one, and what to change in it to bring out each finding."""

from __future__ import annotations

from tests.checks import drives

AT = "at: {belt: {from: machine, angle: 90 deg}}"
MACHINE_BOLTS = "bolts: {size: M8, into: part, depth: 16, washer: true}"


def carrying(mass: str, height: float, thickness: float, *more: tuple[str, str]) -> str:
    """The sound drive on an upright plate, its motor with a mass, the centre of that so far out of its face."""
    weighs = f"mass: {{total: {mass}, centre: [0, 0, {height}], size: [150, 150, 220]}}"
    swaps = (("thickness: 8", f"thickness: {thickness}\n  mounting: upright"), (AT, f"{AT}\n    {weighs}"), *more)
    return drives.changed(*swaps)


def screws(words: str) -> tuple[str, str]:
    """Other screws into the machine."""
    return (MACHINE_BOLTS, f"bolts: {{{words}, into: part, washer: true}}")


SOUND = carrying("6 kg", 110, 8)
LIGHTENED = SOUND.replace("plate:\n", "plate:\n  lighten: {web: 24}\n", 1)
"""The sound one with openings that make it lighter."""
CASES: dict[str, tuple[str, dict[str, str]]] = {
    "far too thin": (carrying("40 kg", 150, 3), {"strength": "stop", "sag": "stop"}),
    "thin": (carrying("20 kg", 150, 3), {"strength": "warn", "sag": "stop"}),
    "a strong motor": (carrying("25 kg", 150, 3, ("0.25 kW", "3 kW")), {"fatigue": "warn", "sag": "warn"}),
    "far too heavy": (
        carrying("600 kg", 300, 20, screws("size: M8, depth: 16, length: 25")),
        {"slip": "stop", "gap": "stop", "thread": "stop"},
    ),
    "heavy": (carrying("300 kg", 300, 20), {"gap": "warn"}),
    "small screws": (carrying("13 kg", 150, 8, screws("size: M3, depth: 6")), {"slip": "warn"}),
    "short screws": (carrying("6 kg", 110, 8, screws("size: M8, depth: 16, length: 14")), {"thread": "warn"}),
}
"""Plates by name, and the findings that each must have, with their levels."""
