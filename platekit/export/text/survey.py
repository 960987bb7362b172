"""A survey in words and columns for a terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from platekit.analysis.fitting import MountFit, hole_text
from platekit.checks.survey import SOURCE_WORDS, percent
from platekit.export.text.terminal import folded
from platekit.spec import Spec
from platekit.studies.surveyed import Surveyed
from platekit.survey.blunder import Suspect
from platekit.survey.net import SEEN_KINDS, UNSCREWED
from platekit.survey.plan import MeasuringPlan
from platekit.survey.result import Survey, listed
from platekit.units import Unit, mm_per

DIGITS: dict[Unit, int] = {"mm": 2, "in": 4}
"""Decimals of a length: a caliper's (common practice)."""
MARKED = 2.5
"""Normalised residual from which a reading gets a sign (ours: one good reading in eighty)."""
CALLED: Final[dict[Unit, str]] = {"mm": "mm", "in": "inches"}
"""Units in a sentence."""
DOUBT: Final = "; one of them may be wrong, and they do not show which"
"""What is added to the agreement of readings that disagree and give no suspect."""


def survey_text(spec: Spec, found: tuple[Surveyed, ...]) -> str:
    """Every measured pattern: holes, readings, what is doubtful, what would help, what it could be, and the odds."""
    lines = [f"{spec.title}  (revision {spec.revision})"]
    for one in found:
        lines += ["", *pattern_lines(one, spec.unit)]
    return "\n".join(lines)


def pattern_lines(one: Surveyed, unit: Unit) -> Iterator[str]:
    """One measured pattern; lengths and sigmas in the unit given."""
    datums = [feature.kind for feature in one.net.placed if feature.kind in UNSCREWED]
    called = {"bore": "bore", "shaft": "shaft", "dowel": "dowel hole"}
    words = [_many(datums.count(kind), said) for kind, said in called.items() if kind in datums]
    beside = "".join(f" and {said}" for said in words)
    readings = len(one.net.readings)
    # a diameter is a reading too, with a sigma of its own, but who counts readings means the distances
    diameters = len(one.net.all_readings) - readings
    spare = "" if one.survey is None or one.floating else f", {one.survey.dof} more than needed"
    if not one.net.placed:
        yield f"{one.mount}: not measured yet, and no hole of it is named"
        yield from in_paragraph(
            "name its holes first, roughly where they are (holes: {A: 9, B: 9}, sketch: {A: [0, 0], B: [80, 0]}); "
            "`platekit survey SPEC --plan` then lists the readings to take"
        )
        yield ""
        return
    taken = f"{_many(readings, 'reading')} and {_many(diameters, 'diameter')}{spare}"
    if not readings:
        taken = f"not measured yet, but for {_many(diameters, 'diameter')}" if diameters else "not measured yet"
    yield f"{one.mount}: {_many(len(one.net.placed) - len(datums), 'hole')}{beside}; {taken}"
    if one.refused is not None:
        yield from in_paragraph(f"cannot be solved: {one.refused}")
        if one.suspect is not None:
            for sentence in _suspect_words(one, one.suspect, unit):
                yield from in_paragraph(sentence)
        yield ""
        # nothing can be held against the others yet: only the readings, with a sign at those that do not go together
        plain: Rows = [("reading", "value", "")]
        for index, reading in enumerate(one.net.all_readings):
            sign = _sign(one.suspect, index)
            sign = sign or ("<- does not go together" if index in one.refused.readings else "")
            plain.append((f"{'-'.join(reading.features)} {reading.kind}", say(reading.value, unit), sign))
        yield from _columns(plain)
        if one.without is not None:
            mended = (
                "with the suspects mended" if one.suspect is not None and one.suspect.alike else "without the suspect"
            )
            yield from ("", f"  {mended} the holes lie at:", *_columns(_hole_rows(one.without, unit)))
        return
    assert one.survey is not None
    yield f"  origin and x as asked: {one.survey.frame}; lengths in {CALLED[unit]}"
    yield ""
    yield from _columns(_hole_rows(one.survey, unit))
    yield from in_paragraph(HOLE_WORDS)
    yield ""
    rows: Rows = [("reading", "value", "residual", "in sigmas", "checked", "")]
    for checked in one.survey.readings:
        reading, value = checked.reading, say(checked.reading.value, unit)
        name = f"{'-'.join(reading.features)} {reading.kind}"
        if checked.copied:
            rows.append((name, value, "", "", "not", "<- the same figure again: not counted"))
        elif one.floating or checked.normalised is None:
            # where something can still move, a residual says nothing: the loose hole takes up every error
            rows.append((name, value, "", "", "not", ""))
        else:
            large = "<- large" if abs(checked.normalised) >= MARKED else ""
            off, share = say(checked.residual, unit, sign=True), f"{round(100.0 * checked.redundancy)} %"
            sign = _sign(one.suspect, checked.index) or large
            rows.append((name, value, off, f"{checked.normalised:+.1f}", share, sign))
    yield from _columns(rows)
    yield from in_paragraph(READING_WORDS)
    yield ""
    for sentence in sentences(one, unit):
        yield from in_paragraph(sentence)


def plan_text(spec: Spec, plans: Mapping[str, MeasuringPlan]) -> str:
    """The readings to take, in order, for every measured pattern."""
    lines = [f"{spec.title}: what to measure, in this order"]
    unit = spec.unit
    for mount, plan in plans.items():
        lines += ["", f"{mount}:"]
        if not plan.steps:
            lines.append("  nothing: with a single hole, whose size is known, there is no distance to measure")
            continue
        rows: Rows = [("", "reading", "about", "why")]
        for number, step in enumerate(plan.steps, 1):
            about = "" if step.expected is None else say(step.expected, unit)
            rows.append((f"{number}.", f"{'-'.join(step.features)} {step.kind}", about, step.why))
        lines += [*_columns(rows), ""]
        if plan.clockwise is not None:
            # distances are the same in the mirror: only an order looked at tells the two apart
            order = ", ".join(plan.clockwise)
            lines += in_paragraph(
                f"note which way round the holes go, looking at the part: `clockwise: [{order}]` if {order} follow "
                "each other clockwise, else in the other order"
            )
        lines += in_paragraph(
            f"with all of these the worst hole's sigma is about {_fine(plan.worst_sigma, unit)} {unit}, and "
            f"{plan.redundancy} readings check the others"
        )
    return "\n".join(lines)


def say(mm: float, unit: Unit, sign: bool = False) -> str:
    """A length in mm as a bare figure of the unit with a caliper's decimals; a question mark when it is not known."""
    if not math.isfinite(mm):
        return "?"
    rounded = round(mm / mm_per(unit), DIGITS[unit]) + 0.0
    return f"{rounded:{'+' if sign else ''}.{DIGITS[unit]}f}"


HOLE_WORDS: Final = (
    "sigma: one standard deviation in the least sure direction; 95 % within: the true place is no farther off than the "
    "first figure in that direction, the second across it, 19 times out of 20; angles count from x"
)
"""What the columns of the holes mean."""
READING_WORDS: Final = (
    "residual: the reading less what all of them together say; checked: how much of a slip in it the others would "
    "show, from 0 % (none: measure something beside it) to 100 %"
)
"""What the columns of the readings mean."""


def said_length(mm: float, unit: Unit, sign: bool = False) -> str:
    """The same with its unit, for sentences."""
    return f"{say(mm, unit, sign)} {unit}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def sentences(one: Surveyed, unit: Unit) -> Iterator[str]:
    """What a survey comes to, one sentence each; for the terminal and the report alike."""
    survey = one.survey
    if survey is None:
        yield str(one.refused)
        if one.without is not None:
            yield "drawn with the suspects mended" if one.suspect and one.suspect.alike else "drawn without the suspect"
        return
    if not one.net.readings:
        yield "nothing is measured yet: `platekit survey SPEC --plan` lists the readings to take"
    elif survey.floating:
        yield f"too few readings: {listed(survey.floating)} can still move"
    if survey.loose_diameters:
        yield f"the diameter of {listed(survey.loose_diameters)} is needed and not known"
    for flip in survey.flips:
        yield (
            f"two ways to lie: {listed(flip.moved)} could be on the other side; measure {'-'.join(flip.telling)}, "
            f"{said_length(flip.here, unit)} between centres as listed, {said_length(flip.there, unit)} the other way"
        )
    if one.mirror_open:
        yield "mirror image: distances cannot tell; name three holes as `clockwise: [A, C, B]`"
    if not one.floating:
        if one.suspect is not None:
            yield from _suspect_words(one, one.suspect, unit)
        elif not survey.dof:
            yield "agreement: no reading checks another, so a slip would not show"
        else:
            chance = percent(survey.probability)
            # the doubt is said only where a further reading is proposed that settles which of them is wrong
            doubt = DOUBT if one.proposal is not None and one.proposal.checks is not None else ""
            yield (
                f"agreement: the readings are off {survey.scale:.2f} times what sigma lets one expect; good readings "
                f"disagree as much in {chance} of cases{doubt}"
            )
    if one.proposal is not None and one.proposal.helps:
        proposal = one.proposal
        words = f"next reading: {'-'.join(proposal.features)} {proposal.kind}"
        about = f"about {said_length(proposal.expected, unit)}"
        if one.floating:
            rest = f"; {listed(proposal.floating)} can then still move" if proposal.floating else ""
            yield words + (rest or "; then every hole is placed")
        elif proposal.checks is not None:
            doubted = f"{'-'.join(proposal.checks.features)} {proposal.checks.kind}"
            again = "taken once more, it" if proposal.kind == proposal.checks.kind else "it"
            yield f"{words}, {about}: {again} shows whether {doubted} is wrong"
        else:
            yield (
                f"{words}, {about}: the worst hole's sigma falls from {_fine(proposal.worst_before, unit)} to "
                f"{_fine(proposal.worst_after, unit)} {unit}"
            )
    yield from (f"caution: {caution}" for caution in survey.cautions)
    if not one.floating:
        if one.circle is not None:
            even = ", evenly spaced" if one.circle.even else ""
            yield f"bolt circle: {say(one.circle.diameter, unit)} +-{said_length(2.0 * one.circle.sigma, unit)}{even}"
        if one.rectangle is not None:
            yield f"rectangle: {say(one.rectangle.width, unit)} by {said_length(one.rectangle.height, unit)}"
        round_ = [nominal for nominal in one.nominals if nominal.metric.agrees or nominal.inch.agrees]
        told = sorted(round_, key=lambda n: round(min(n.metric.chance, n.inch.chance), 9))[:6]
        if told:
            said = []
            for nominal in told:
                name = nominal.kind if nominal.kind == "bolt circle" else "-".join(nominal.names)
                near = sorted((nominal.metric, nominal.inch), key=lambda size: round(size.chance, 9))
                sizes = " or ".join(size.text for size in near if size.agrees)
                said.append(f"{name} {said_length(nominal.measured, unit)} ({sizes})")
            yield "nearest round sizes: " + "; ".join(said)
        for match in one.candidates:
            worst = max(match.off)
            mirrored = ", mirrored" if match.mirrored else ""
            yield f"could be {match.name} ({percent(match.share)}{mirrored}): worst hole {said_length(worst, unit)} off"
        if not one.candidates:
            yield "standard patterns: none in the tables fits"
    if one.fit is None:
        yield f"fit odds: not yet; {one.unlaid}"
        return
    yield fit_words(one.fit, unit)
    if one.way is not None:
        what = "the pilot's opening" if one.way.pilot else "the screw holes"
        now, then = percent(one.fit.probability), percent(one.way.probability)
        yield f"{what} at {hole_text(one.way.size, unit)}: {now} becomes {then}"


def _suspect_words(one: Surveyed, suspect: Suspect, unit: Unit) -> Iterator[str]:
    if not suspect.sure:
        yield f"readings contradict each other; {len(suspect.stories)} explanations suit about as well:"
        yield from suspect.told()
        if suspect.settles is not None:
            values = suspect.told_values(lambda length: said_length(length, unit))
            yield f"to settle it measure {'-'.join(suspect.settles.features)} {suspect.settles.kind}: {values}"
        return
    if suspect.alike:
        again = "" if suspect.reading.kind in SEEN_KINDS else "; measure one of them again"
        yield f"suspect: {suspect}{again}"
        return
    yield (
        f"suspect: {'-'.join(suspect.reading.features)} {suspect.reading.kind} "
        f"{said_length(suspect.reading.value, unit)}; "
        f"the others say {say(suspect.predicted, unit)} +-{said_length(2.0 * suspect.sigma, unit)}. {suspect.why}"
        + (" Measure it again" if suspect.slips else "")
    )


def _fine(mm: float, unit: Unit) -> str:
    return f"{mm / mm_per(unit):.{DIGITS[unit] + 1}f}"


def fit_words(fit: MountFit, unit: Unit) -> str:
    """The odds of a mount in one sentence."""
    shares = ", ".join(
        f"{SOURCE_WORDS[source]} {round(100.0 * share)} %" for source, share in fit.shares if share >= 0.005
    )
    # a bound that needed no draws says at least; beyond 99.9 % nobody asks by how much
    least = "at least " if not fit.drawn and fit.probability <= 0.999 else ""
    return (
        f"fit odds: every screw goes in with {least}{percent(fit.probability)}; holes of "
        f"{said_length(fit.hole, unit)} leave "
        f"{said_length(fit.slack, unit)} of slack; of the error, {shares}"
    )


# ---------------------------------------------------------------------------------------------- tables

Rows = list[tuple[str, ...]]


def _hole_rows(survey: Survey, unit: Unit) -> Rows:
    rows: Rows = [("hole", "x", "y", "sigma", "95 % within", "diameter")]
    for hole in survey.holes.values():
        size = "" if hole.diameter is None else say(hole.diameter, unit)
        if hole.floating:  # too few readings hold it: a place would be a guess
            rows.append((hole.name, "floats", "", "", "", size))
            continue
        ellipse = hole.ellipse.within_95
        within = f"{say(ellipse.major, unit)} x {say(ellipse.minor, unit)} at {math.degrees(ellipse.angle):.0f} deg"
        rows.append((hole.name, say(hole.x, unit), say(hole.y, unit), say(hole.sigma, unit), within, size))
    return rows


def _sign(suspect: Suspect | None, index: int) -> str:
    """What stands behind a reading that may be wrong."""
    if suspect is None or index not in suspect.doubted:
        return ""
    return "<- suspect" if suspect.sure else "<- it, or another so marked"


def _columns(rows: Rows) -> Iterator[str]:
    """Rows as lines, the first of them a head, each column as wide as its widest cell."""
    columns = range(len(rows[0]))
    widths = [max(len(row[column]) for row in rows) for column in columns]
    # a column is one of figures if each of its cells begins like one; those are set to the right, so that points stand
    # below each other
    filled = [[row[column] for row in rows[1:] if row[column]] for column in columns]
    right = [
        rows[0][column] != ""
        and all(cell[0] in "+-0123456789?" or cell in ("floats", "not") for cell in filled[column])
        for column, cells in enumerate(filled)
    ]
    for row in rows:
        set_out = [
            row[column].rjust(widths[column]) if column and right[column] else row[column].ljust(widths[column])
            for column in columns
        ]
        yield ("  " + "  ".join(set_out)).rstrip()


def in_paragraph(sentence: str) -> list[str]:
    """A sentence folded to the terminal, set in under what it belongs to."""
    return folded(sentence, "  ", "    ")
