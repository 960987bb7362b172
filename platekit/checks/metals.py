"""Rules on what the metal of the plate does to tools, threads and the parts beside it: hard, galling, wet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.cutting import HOT_CUTS
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.cutting.operations import Work, operations_of
from platekit.placed import Layout, PlacedMount
from platekit.units import show_stress

HARD: Final = 900.0
"""Yield strength from which twist drills and taps of a small shop wear out at once, N/mm2 (from memory): quenched
plate of some 300 Brinell and more; structural steels end at 700."""
SOUND_STEEL: Final = "S355"
"""What is advised in place of a plate that is too hard: the strongest of the plain ones (ours)."""
CHIPS: Final[frozenset[Work]] = frozenset({"drill", "ream", "bore", "tap", "countersink", "counterbore"})
"""Work that takes chips off with a tool of high speed steel."""
GALVANISED: Final = "galvanised steel"
"""The plate of the tables that has zinc on it."""
IRON: Final = frozenset({"steel", "cast iron"})
"""What the thread of a part is cut in that is nobler than aluminium and less noble than stainless steel."""


def hard_plate(layout: Layout) -> Iterator[Finding]:
    """Holes drilled or tapped in a plate whose yield strength (N/mm2) says that it was quenched."""
    strength = layout.material.yield_strength
    if strength < HARD:
        return
    chips = [one for one in operations_of(layout) if any(step.work in CHIPS for step in one.steps)]
    if not chips:
        return
    unit = layout.spec.unit
    named = ", ".join(one.opening for one in chips[:4]) + (f" and {len(chips) - 4} more" if len(chips) > 4 else "")
    yield Finding(
        rule="hard-plate",
        level="warn",
        message=f"{named}: to be drilled, bored or tapped in a plate that yields at {show_stress(strength, unit)}; "
        f"from {show_stress(HARD, unit)} on usual drills and taps burn or break",
        features=tuple(one.opening for one in chips),
        at=layout.opening(chips[0].opening).center,
        found=strength,
        needed=HARD,
        unit="N/mm2",
        advice=Advice(
            f"take plain steel, such as {SOUND_STEEL}; or have the holes cut to size by waterjet and go through with "
            "nuts; or drill with carbide or cobalt, clamped, slowly and cooled",
            (Remedy("plate.material", SOUND_STEEL),),
        ),
    )


def galling(layout: Layout) -> Iterator[Finding]:
    """Threads cut in stainless steel, in which screws of stainless steel seize."""
    for stack in layout.stacks:
        if stack.into != "plate" or layout.material.family != "stainless steel":
            continue
        mount = layout.mounts[stack.mount]
        yield Finding(
            rule="galling",
            level="note",
            message=f"{mount.name}: {stack.size} threads are cut in {layout.material.name}; screws of stainless steel "
            "gall in it and seize, and are then drilled out",
            features=mount.hole_names,
            at=mount.points[0],
            advice=Advice(
                "smear each screw with a paste against seizing and turn it in slowly by hand, or take screws of "
                "another steel; the torques of dry screws are then too much"
            ),
            field=stack.field,
        )


def galvanic(layout: Layout) -> Iterator[Finding]:
    """A plate that eats away at its joint with another metal, or eats that, where it gets wet."""
    family = layout.material.family
    others = [mount for mount in layout.mounts.values() if mount.layer is None and _unlike(family, mount)]
    if not others:
        return
    names = [mount.name for mount in others]
    metals = sorted({_metal(mount) for mount in others})
    eaten = layout.material.name if family == "aluminium" else " and ".join(metals)
    yield Finding(
        rule="galvanic",
        level="note",
        message=f"the plate of {layout.material.name} lies bare against {' and '.join(metals)} ({', '.join(names)}); "
        f"where that gets wet, {eaten} is eaten away",
        features=("outline", *names),
        advice=Advice(
            "where it gets wet, paint both faces or lay a film between them before they are bolted up, seal the edge "
            "of the joint, and put washers of zinc-plated or stainless steel under the heads"
        ),
    )


def fume(layout: Layout) -> Iterator[Finding]:
    """Galvanised plate under a flame, an arc or a beam: its zinc goes up as fume and is gone from the edges."""
    if layout.material.name != GALVANISED or layout.cutting.process not in HOT_CUTS:
        return
    yield Finding(
        rule="fume",
        level="note",
        message=f"{layout.cutting.process} burns the zinc of {layout.material.name} off: its fume is poison, and the "
        "cut edges are bare and rust",
        features=("outline",),
        advice=Advice(
            "draw the fume off and wear a mask for it, or cut bare steel and have it galvanised or painted after; "
            "paint the edges with zinc"
        ),
    )


def _metal(mount: PlacedMount) -> str:
    return (mount.stack.thread_in if mount.stack is not None else None) or "cast iron"


def _unlike(family: str | None, mount: PlacedMount) -> bool:
    """Whether a part, as far as its thread tells what it is of, is of a metal far from the plate's."""
    stack = mount.stack
    if stack is None or stack.into not in ("part", "stud") or stack.thread_in is None:
        return False
    if family == "aluminium":
        return stack.thread_in in IRON
    if family in ("stainless steel", "brass"):
        return stack.thread_in == "aluminium" or stack.thread_in in IRON
    return False


RULES = (
    Rule(
        "hard-plate",
        "holes drilled or tapped in a plate too hard for drills and taps",
        f"a yield strength of {HARD:g} N/mm2",
        "from memory",
        hard_plate,
        levels=("warn",),
        keys=("plate.material",),
    ),
    Rule(
        "galling",
        "threads in stainless steel that seize on screws of stainless steel",
        "stainless steel on stainless steel",
        "common practice",
        galling,
        levels=("note",),
    ),
    Rule(
        "galvanic",
        "a plate that is eaten away, or eats its part, where two metals meet and get wet",
        "aluminium against iron; stainless steel or brass against aluminium or iron",
        "common practice",
        galvanic,
        levels=("note",),
    ),
    Rule(
        "fume",
        "galvanised plate that is cut hot",
        "zinc on the plate; plasma, laser or oxy-fuel",
        "common practice",
        fume,
        levels=("note",),
        keys=("plate.material", "cutting.process"),
    ),
)
