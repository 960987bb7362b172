"""What a plate answers to what it carries, in words and as figures."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.checks.stiffer import allowed_stress
from platekit.checks.strength import RULES, preload
from platekit.drawing.cautions import STRENGTH_LIMITS
from platekit.export.data.plate import verdict_figures
from platekit.export.data.rounded import Figures, tidied
from platekit.export.text.drive import in_columns
from platekit.export.text.terminal import folded
from platekit.export.text.verdict import finding_lines
from platekit.placed import Layout
from platekit.strength.question import balance_of
from platekit.tables.strengths import limit
from platekit.units import Unit, show_force, show_length, show_mass, show_stress

if TYPE_CHECKING:
    from platekit.strength.answer import Answer, ShaftSag
    from platekit.strength.question import Part, Question

WORKED_OUT = (
    "Worked out by finite elements of a plate that bends and shears (triangles of the MITC family: Bathe, Brezzi, "
    "Cho), round each screw a ring of springs, once soft and once stiff; what the springs hold against each other "
    "along the plate stands in `sideways` too. Tightened, at least: three quarters of the proof load over the "
    "tightening factor of 2 (VDI 2230). Each limit with its source: the report, under limits and sources."
)
"""How the figures come about, for whoever follows them by hand."""
NAMES = frozenset(rule.name for rule in RULES)


class StrengthAnswers(Struct, frozen=True):
    """What was asked, the answer, and the natural frequencies as (softest, stiffest seats) in Hz, where known.

    `swings` is how far the imbalance swings what is carried at each of them, mm to either side.
    """

    question: Question
    answer: Answer
    frequencies: tuple[tuple[float, float], ...] | None
    swings: tuple[float, ...] | None


def weight(part: Part, unit: Unit = "mm") -> str:
    """What a part weighs, as one figure or from the least to the most."""
    if part.lightest == part.mass:
        return show_mass(part.mass, unit)
    return f"{show_mass(part.lightest, unit).partition(' ')[0]} to {show_mass(part.mass, unit)}"


def imbalance_words(layout: Layout, part: Part) -> str:
    """With how much a part shakes the plate at its highest speed, and whose figures that is worked out of."""
    mass = layout.mounts[part.name].mass
    assert mass is not None
    unit = layout.spec.unit
    grade = f"G {balance_of(mass):g}" + ("" if mass.balance is not None else " (ISO 21940-11 for machinery in general)")
    turns = (
        show_mass(mass.turning, unit)
        if mass.turning is not None
        else f"all its {show_mass(part.mass, unit)}, as nothing says how much"
    )
    return (
        f"balanced to {grade}, {turns} turning, shakes with "
        f"{show_force(part.imbalance / 1000 * part.spin, unit, '.1f')} at {part.spin * 30 / math.pi:.0f} rpm"
    )


def strength_verdict(verdict: Verdict) -> Verdict:
    """The findings that are about strength."""
    # `not-checked` is one rule for all that could not be looked at; which of it is about strength, its sentence says
    asked = ("plate holds", "plate shakes", "to the plate")
    return Verdict(
        tuple(
            finding
            for finding in verdict.findings
            if finding.rule in NAMES
            or (finding.rule == "not-checked" and any(words in finding.message for words in asked))
        )
    )


def strength_text(layout: Layout, verdict: Verdict, worked: StrengthAnswers) -> str:
    """All of it for a terminal."""

    def said(length: float) -> str:
        return show_length(length, layout.spec.unit)

    unit = layout.spec.unit
    answer, worst = worked.answer, worked.answer.worst
    sags = [state.sag for state in answer.states]
    over = limit("yield over allowed")
    may_be, yields = (show_stress(one, unit, ".0f") for one in (allowed_stress(layout), layout.material.yield_strength))
    carried = ", ".join(f"{part.name} ({weight(part, layout.spec.unit)})" for part in worked.question.carried)
    lines = [
        f"{layout.title}  (revision {layout.spec.revision})",
        "",
        f"{said(layout.thickness)} of {layout.material.name}, held by "
        f"{', '.join(part.name for part in worked.question.held)}, carries {carried}",
        f"  stress       {show_stress(worst.stress, unit, '.1f')} at most, {worst.where} "
        f"({said(worst.at[0])}, {said(worst.at[1])}), {worst.said}",
        f"  may be       {may_be}: yield of {yields} over {over.figure:g} ({over.source.name}; {over.source.kind})",
        f"  at starting  swings by {show_stress(answer.swing, unit, '.1f')} at an open edge",
        f"  bends        {said(min(sags))} to {said(max(sags))}, by case and by how far the seats give way",
    ]
    for rib in layout.ribs:
        length = said(math.dist(rib.start, rib.end))
        lines.append(
            f"  {rib.name:<11}  a flat bar {said(rib.height)} x {said(rib.width)}, {length} long, welded on edge to "
            f"the {rib.side} side along both its faces"
        )
    if layout.flange is not None:
        lines.append(f"  flange       its weight counts; its stiffness along the {layout.flange.edge} edge is left out")
    by_belt: dict[str, list[ShaftSag]] = {}
    for state in answer.states:
        for shaft in state.shafts:
            by_belt.setdefault(shaft.belt, []).append(shaft)
    for belt, shafts in by_belt.items():
        tilts = [math.degrees(shaft.tilt) for shaft in shafts]
        lines.append(
            f"  {belt:<11}  the shaft tilts by {min(tilts):.2f} to {max(tilts):.2f} deg, its pulley moves "
            f"{said(max(abs(shaft.axial) for shaft in shafts))} along it at most"
        )
    if worked.frequencies is not None:
        told = ", ".join(f"{low:.1f} to {high:.1f}" for low, high in worked.frequencies)
        lines.append(f"  rings at     {told} Hz")
    for part in worked.question.carried:
        if part.imbalance * part.spin > 0:
            lines.append(f"  {part.name:<11}  {imbalance_words(layout, part)}")
    if worked.swings is not None and max(worked.swings) > 0:
        told = ", ".join(said(far) for far in worked.swings)
        lines.append(f"  would swing  {told} either way there, if it ran at these speeds")
    pounds = "lbf" if unit == "in" else "N"
    rows = [("screw", f"pulled off, {pounds}", f"sideways, {pounds}", f"tightened, at least, {pounds}")]
    mounts = {one.hole: layout.mounts[one.mount] for one in answer.states[0].screws if one.mount in layout.mounts}
    for hole, pull, shear in _screws(answer):
        stack = mounts[hole].stack if hole in mounts else None
        least = None if stack is None else preload(stack.size)
        off, aside = (show_force(force, unit).partition(" ")[0] for force in (pull, shear))
        rows.append((hole, off, aside, "not known" if least is None else show_force(least, unit).partition(" ")[0]))
    lines += ["", *(f"  {line}" for line in in_columns(rows)), ""]
    lines += [*folded(WORKED_OUT), ""]
    for finding in strength_verdict(verdict).findings:
        lines += [*finding_lines([finding]), ""]
    return "\n".join([*lines, *folded(STRENGTH_LIMITS)])


def _screws(answer: Answer) -> list[tuple[str, float, float]]:
    """Each screw with the most that pulls it off and pushes it sideways, N."""
    holes = dict.fromkeys(one.hole for one in answer.states[0].screws)
    return [
        (hole, max(one.pull for one in answer.at_screw(hole)), max(one.shear for one in answer.at_screw(hole)))
        for hole in holes
    ]


def strength_figures(layout: Layout, verdict: Verdict, worked: StrengthAnswers) -> Figures:
    """The same for a program, keys with their unit."""
    answer = worked.answer
    return tidied(
        {
            "thickness_mm": layout.thickness,
            "material": layout.material.name,
            "carried": [
                {
                    "mount": part.name,
                    "least_kg": part.lightest,
                    "mass_kg": part.mass,
                    "shakes_n": part.imbalance / 1000 * part.spin,
                    "at_rpm": part.spin * 30 / math.pi,
                }
                for part in worked.question.carried
            ],
            "stress_n_mm2": answer.worst.stress,
            "stress_at_mm": list(answer.worst.at),
            "stress_is": answer.worst.where,
            "yield_n_mm2": layout.material.yield_strength,
            "swing_n_mm2": answer.swing,
            "frequencies_hz": None if worked.frequencies is None else [list(pair) for pair in worked.frequencies],
            "swings_mm": None if worked.swings is None else list(worked.swings),
            "screws": [{"hole": hole, "pull_n": pull, "shear_n": shear} for hole, pull, shear in _screws(answer)],
            "states": [
                {
                    "case": state.case,
                    "mass": state.load or None,
                    "position": state.position,
                    "seats": state.ground,
                    "stress_n_mm2": state.stress,
                    "sag_mm": state.sag,
                    "shafts": [
                        {
                            "belt": shaft.belt,
                            "mount": shaft.mount,
                            "moved_mm": list(shaft.moved),
                            "tilt_deg": math.degrees(shaft.tilt),
                        }
                        for shaft in state.shafts
                    ],
                }
                for state in answer.states
            ],
            "limits": STRENGTH_LIMITS,
            **verdict_figures(strength_verdict(verdict)),
        },
        6,
    )
