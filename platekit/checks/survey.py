"""Rules on what was measured: readings that disagree or are not checked, loose holes, and whether it all bolts up."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from platekit.analysis.fitting import FIT_STOP, FIT_WARN, MountFit, fits, hole_text, in_doubt, way_out
from platekit.checks.advice import say, words_at
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.cutting import how_made
from platekit.placed import Layout, PlacedMount
from platekit.spec.measured_words import MAX_SIGMA
from platekit.units import mm_per

if TYPE_CHECKING:
    from platekit.survey.blunder import Suspect
    from platekit.survey.further import Proposal
    from platekit.survey.net import Reading
    from platekit.survey.result import Survey

UNLIKELY = 0.01
"""Probability of readings that disagree as much, or agree as well, by chance, below which it is told. Ours: the usual
one in a hundred."""
FEW = 3
"""Redundancy from which readings that agree too well say something (ours)."""
HELPS = 0.8
"""A further reading is proposed unasked when it brings the worst hole's uncertainty below this share (ours)."""

SOURCE_WORDS = {
    "measuring": "measuring",
    "cutting position": "the places of the plate's holes",
    "cutting size": "the sizes of the plate's holes",
    "printing": "the paper",
}


# --------------------------------------------------------------------------------------- the readings


def survey(layout: Layout) -> Iterator[Finding]:
    """What the readings (mm, rad) of a measured pattern say about themselves."""
    measured = [mount for mount in layout.mounts.values() if mount.survey is not None]
    odds = {fit.mount: fit for fit in fits(layout)} if measured else {}
    for mount in measured:
        assert mount.survey is not None
        fit = odds.get(mount.name)
        from platekit.survey.result import listed

        for flip in mount.survey.flips:
            first, second = flip.telling
            arrangements = len(mount.survey.flips) + 1
            yield _finding(
                layout,
                mount,
                "stop",
                f"{mount.name}: the readings leave open on which side {listed(flip.moved)} "
                f"{'lies' if len(flip.moved) == 1 else 'lie'}; {arrangements} arrangements suit them alike",
                flip.moved,
                float(arrangements),
                1.0,
                "arrangements",
                f"measure {first}-{second}: between centres it is {say(layout, flip.here)} as drawn, "
                f"{say(layout, flip.there)} the other way round",
            )
        yield from _disagreeing(layout, mount, mount.survey)
        # A figure typed twice is no second measurement: it would make the survey look surer than it is.
        from platekit.survey.model import copies

        again = {k: others for k, others in copies(mount.survey.net.all_readings).items() if len(others) + 1 >= AGAIN}
        if again:
            most = max(again, key=lambda k: (len(again[k]), -k))
            times = len(again[most]) + 1
            rest = (
                f", and {len(again) - 1} other {'figure' if len(again) == 2 else 'figures'} so too"
                if len(again) > 1
                else ""
            )
            names = tuple(name for name in mount.survey.readings[most].reading.features if name in mount.survey.holes)
            yield _finding(
                layout,
                mount,
                "note",
                f"{mount.name}: the reading {_as_typed(layout, mount.survey.readings[most].reading)} stands here "
                f"{times} times with the very same figure{rest}; each counts once, as a figure typed again tells "
                "nothing new",
                names,
                float(times),
                1.0,
                "times",
                "take the copies out; where it was measured anew, write down what the jaws said each time",
            )
        yield from _unchecked(layout, mount, mount.survey)
        loose = [] if fit is None else list(_loose(layout, mount, mount.survey, fit))
        yield from loose
        for caution in mount.survey.cautions:
            names = tuple(name for name in mount.survey.holes if name in caution.holes)
            yield _finding(layout, mount, "note", f"{mount.name}: {caution}", names or mount.survey.names[:1])
        # Where a hole is known too loosely that finding already says what to measure.
        if not loose:
            proposal = next_one(mount.survey)
            if (
                proposal is None
                or proposal.checks is not None
                or proposal.worst_after > HELPS * proposal.worst_before
                or mount.survey.dof == 0
            ):
                continue
            yield _finding(
                layout,
                mount,
                "note",
                f"{mount.name}: one more reading would make the worst hole's sigma "
                f"{say(layout, proposal.worst_after)} instead "
                f"of {say(layout, proposal.worst_before)}",
                tuple(name for name in proposal.features if name in mount.survey.holes),
                proposal.worst_before,
                proposal.worst_after,
                advice=_further_words(layout, proposal),
            )


def _finding(
    layout: Layout,
    mount: PlacedMount,
    level: Level,
    message: str,
    names: tuple[str, ...],
    found: float | None = None,
    needed: float | None = None,
    unit: str = "mm",
    advice: str = "",
    remedies: tuple[Remedy, ...] = (),
) -> Finding:
    """A finding of this rule at some holes of a mount, the first of which is its place."""
    hole = None if mount.survey is None or not names else mount.survey.holes.get(names[0])
    return Finding(
        rule="survey",
        level=level,
        message=message,
        features=tuple(f"{mount.name}.{name}" for name in names),
        at=None if hole is None else mount.pose.point((hole.x, hole.y)),
        found=found,
        needed=needed,
        unit=unit,
        advice=Advice(advice, remedies),
    )


def _disagreeing(layout: Layout, mount: PlacedMount, found: Survey) -> Iterator[Finding]:
    # Blunders are looked for first: one wrong reading makes all the others disagree too.
    wrong = suspect_of(found)
    if wrong is not None:
        yield _blunder(layout, mount, found, wrong)
    elif found.dof and found.probability < UNLIKELY:
        # The largest residual in its own sigmas: a long reading may be off by more and still be the better one.
        worst = max(found.readings, key=lambda reading: round(abs(reading.normalised or 0.0), 6))
        # Widened by as much as the readings disagree, rounded up to a figure that a caliper's user would write.
        sigmas = sorted(reading.sigma for reading in found.readings)
        usual = sigmas[len(sigmas) // 2]
        sigma = usual * found.scale
        step = 0.01 if layout.spec.unit == "mm" else 0.0005
        wider = round(math.ceil(sigma / mm_per(layout.spec.unit) / step) * step, 4)
        words = f"{wider:g} {layout.spec.unit}"
        # A sigma as large as that is no caliper's: then the readings are wrong, and widening it would only hide it.
        sane = sigma <= MAX_SIGMA
        yield _finding(
            layout,
            mount,
            "stop" if found.scale >= HOPELESS else "warn",
            f"{mount.name}: the readings disagree {found.scale:.1f} times more than their sigma of "
            f"{say(layout, usual)} lets one expect, and no single one explains it; the worst is "
            f"{_as_typed(layout, worst.reading)}, {say(layout, abs(worst.residual))} off",
            worst.reading.features,
            found.scale,
            1.0,
            "sigmas",
            f"measure {_by_name(worst.reading)} again" + (f", or give sigma: {words}" if sane else ""),
            (Remedy(f"mounts.{mount.name}.pattern.measured.sigma", words),) if sane else (),
        )
    elif (asked := next_one(found)) is not None and asked.checks is not None:
        yield _finding(
            layout,
            mount,
            "note",
            f"{mount.name}: the readings disagree more than most good ones (so much in {percent(found.probability)} of "
            f"cases) and do not show which is wrong; it may be {_as_typed(layout, asked.checks)}",
            asked.checks.features,
            found.scale,
            1.0,
            "sigmas",
            _further_words(layout, asked),
        )
    elif found.dof >= FEW and found.probability > 1.0 - UNLIKELY:
        yield _finding(
            layout,
            mount,
            "note",
            f"{mount.name}: the readings agree {1.0 / max(found.scale, 1e-3):.1f} times better than their sigma lets "
            "one expect",
            found.names[:1],
            found.scale,
            1.0,
            "sigmas",
            "check that no reading was worked out from others; else sigma can be smaller",
        )


def _blunder(layout: Layout, mount: PlacedMount, found: Survey, wrong: Suspect) -> Finding:
    if not wrong.sure:
        # Several explanations suit about as well: one must not be picked for the user, who can settle it by measuring.
        # all holes in doubt are named, in the order in which they were read
        names = tuple(dict.fromkeys(name for index in wrong.doubted for name in _features(mount, index)))
        settles = wrong.settles
        advice = f"measure {_by_name(wrong.reading)} again, then the others that are named"
        if settles is not None:
            values = wrong.told_values(lambda length: say(layout, length))
            advice = f"measure {'-'.join(settles.features)}, {settles.kind}: {values}"
        return _finding(
            layout,
            mount,
            "stop",
            f"{mount.name}: readings contradict each other, and {len(wrong.stories)} explanations suit about as well: "
            + "; ".join(wrong.told()),
            names,
            float(len(wrong.stories)),
            1.0,
            "explanations",
            advice,
        )
    if wrong.alike and wrong.reading.kind in ("across", "up"):
        names = tuple(dict.fromkeys(name for index in wrong.alike for name in _features(mount, index)))
        if len(names) > 1:
            return _finding(
                layout,
                mount,
                "stop",
                f"{mount.name}: {wrong}; then all readings go together",
                names,
                max(abs(found.readings[index].residual) for index in wrong.alike),
                2.0 * wrong.sigma,
                advice=f"look at {' and '.join(names)} in the picture of `platekit read`; if it is so, exchange their "
                "places",
                remedies=tuple(reading_edit(layout, mount, found, index, one) for index, one in _mended(wrong)),
            )
        # A hole whose edge was seen in the wrong place is wrong both ways; nothing is put in its place but a reading.
        (name,) = wrong.reading.features
        away = math.hypot(*(found.readings[index].reading.value - one.value for index, one in _mended(wrong)))
        return _finding(
            layout,
            mount,
            "stop",
            f"{mount.name}: {wrong}",
            (name,),
            away,
            2.0 * wrong.sigma,
            advice=f"look at {name} in the picture of `platekit read`; if its edge is not where it was seen, take its "
            "readings across and up out, and measure it by caliper",
        )
    if wrong.alike:
        # One habit, such as reading over the jaws, spoils all readings of a kind alike: they are mended together.
        worst = max(abs(found.readings[index].residual) for index in wrong.alike)
        names = tuple(dict.fromkeys(name for index in wrong.alike for name in _features(mount, index)))
        return _finding(
            layout,
            mount,
            "stop",
            f"{mount.name}: {wrong}: so they all go together, while as typed they are up to {say(layout, worst)} off",
            names,
            worst,
            2.0 * wrong.sigma,
            advice=f"measure {_by_name(wrong.reading)} again; if it is so, correct all {len(wrong.alike)}",
            remedies=tuple(
                reading_edit(layout, mount, found, index, reading)
                for index, reading in zip(wrong.alike, wrong.mended, strict=True)
            ),
        )
    from msgspec.structs import replace

    from platekit.survey.model import copies

    reading = wrong.reading
    # Only a slip of the fingers or the eye says what was meant; then its copies go along, which were typed with it.
    typed = any(slip.typed for slip in wrong.slips)
    right = replace(reading, value=wrong.likely)
    places = (wrong.index, *copies(found.net.all_readings).get(wrong.index, ()))
    corrected = tuple(reading_edit(layout, mount, found, index, right) for index in places) if typed else ()
    likely = f"; {say(layout, wrong.likely)} is likely" if typed else ""
    return _finding(
        layout,
        mount,
        "stop",
        f"{mount.name}: the reading {_as_typed(layout, reading)} does not go with the others, which say "
        f"{say(layout, wrong.predicted)} (give or take {say(layout, 2.0 * wrong.sigma)}): {wrong.why}",
        reading.features,
        reading.value,
        wrong.predicted,
        advice=f"measure {_by_name(reading)} again{likely}; if in doubt, take the reading out",
        remedies=corrected,
    )


def _mended(wrong: Suspect) -> Iterator[tuple[int, Reading]]:
    return zip(wrong.alike, wrong.mended, strict=True)


def _features(mount: PlacedMount, index: int) -> tuple[str, ...]:
    assert mount.survey is not None
    return tuple(name for name in mount.survey.readings[index].reading.features if name in mount.survey.holes)


def reading_edit(layout: Layout, mount: PlacedMount, found: Survey, index: int, reading: Reading) -> Remedy:
    """The edit that puts a reading in the place of the one that stands at an index of `Net.all_readings`."""
    value = round(reading.value / mm_per(layout.spec.unit), 6)
    field = reading_field(layout, mount.name, found, index)
    if index >= len(found.net.readings):
        return Remedy(field, value)
    # as it would be typed: holes, kind, figure, then what it was measured with, if that was said
    parts: list[FieldValue] = [*reading.features, reading.kind, value]
    if reading.tool is not None:
        parts.append(reading.tool)
    elif reading.sigma is not None:
        parts.append(f"{reading.sigma:.6g} mm")
    return Remedy(field, parts)


def reading_field(layout: Layout, mount: str, found: Survey, index: int) -> str:
    """Where a reading stands in the spec; `index` is its place in `Net.all_readings`."""
    field = f"mounts.{mount}.pattern.measured"
    if index < len(found.net.readings):
        return f"{field}.readings.{index}"
    name = found.net.all_readings[index].features[0]
    more = words_at(layout, f"{field}.holes.{name}").model_fields_set - {"diameter"}
    return f"{field}.holes.{name}.diameter" if more else f"{field}.holes.{name}"


HOPELESS = 3.0
"""Times their sigma from which readings that disagree, with no single one to blame, stop the plate (ours)."""


AGAIN = 3
"""Times that the very same figure stands for the same from which it is told (ours): twice is often chance."""


def _unchecked(layout: Layout, mount: PlacedMount, found: Survey) -> Iterator[Finding]:
    # a hole's diameter stands alone by its nature, and a copy of a reading checks nothing
    asked = [reading for reading in found.readings if reading.reading.kind != "diameter" and not reading.copied]
    alone = [reading for reading in asked if reading.normalised is None]
    if not alone:
        return
    names = tuple(dict.fromkeys(name for reading in alone for name in reading.reading.features))
    said = f"{len(alone)} of {len(asked)} readings" if len(alone) < len(asked) else "no reading"
    verb = "are checked by no other" if len(alone) < len(asked) else "checks another"
    yield _finding(
        layout,
        mount,
        "note" if len(alone) < len(asked) else "warn",
        f"{mount.name}: {said} {verb}, so a slip there would not show"
        + (
            f" ({', '.join(_as_typed(layout, reading.reading) for reading in alone[:4])})"
            if len(alone) < len(asked)
            else ""
        ),
        tuple(name for name in names if name in found.holes),
        float(len(asked) - len(alone)),
        float(len(asked)),
        "readings checked",
        _further_words(layout, next_one(found)) or "measure once more",
    )


def _loose(layout: Layout, mount: PlacedMount, found: Survey, fit: MountFit) -> Iterator[Finding]:
    from platekit.survey.result import WITHIN_95, ellipse_of

    # the longer half-axis: a hole is as loose as it is the way it is known worst
    off = {name: WITHIN_95 * ellipse_of(found.block((name,), free=True)).major for name in mount.labels}
    worst = max(off, key=lambda name: round(off[name], 9))
    if off[worst] <= fit.slack:
        return
    yield _finding(
        layout,
        mount,
        "warn",
        f"{mount.name}: {worst} is known only to within {say(layout, off[worst])} (19 times out of 20); a hole of "
        f"{say(layout, mount.hole)} leaves {say(layout, fit.slack)}",
        (worst,),
        off[worst],
        fit.slack,
        advice=_further_words(layout, next_one(found)) or "measure with a better tool",
    )


def _further_words(layout: Layout, proposal: Proposal | None) -> str:
    if proposal is None or not proposal.helps:
        return ""
    return f"measure {'-'.join(proposal.features)}, {proposal.kind}: about {say(layout, proposal.expected)}"


def _as_typed(layout: Layout, reading: Reading) -> str:
    return f"{'-'.join(reading.features)} {reading.kind} {say(layout, reading.value)}"


def _by_name(reading: Reading) -> str:
    return f"{'-'.join(reading.features)}, {reading.kind},"


@lru_cache(maxsize=16)
def suspect_of(found: Survey) -> Suspect | None:
    """The reading of a survey (mm) that is most likely wrong, worked out once."""
    from platekit.survey.blunder import suspect

    return suspect(found)


@lru_cache(maxsize=16)
def next_one(found: Survey) -> Proposal | None:
    """The further reading (mm) that helps a survey most, worked out once: first of all, one that shows who is wrong."""
    from platekit.survey.further import checking_reading, doubtful, next_reading

    unsettled = doubtful(found) and not found.floating and not found.loose_diameters and suspect_of(found) is None
    return (checking_reading(found) if unsettled else None) or next_reading(found)


# --------------------------------------------------------------------------------------- the odds


def fit_odds(layout: Layout) -> Iterator[Finding]:
    """Mounts whose screws may not all go in, all errors (mm) of measuring, cutting and marking taken together."""
    for fit in in_doubt(layout):
        if fit.probability >= fit.warn:
            continue
        mount = layout.mounts[fit.mount]
        source, share = fit.largest
        part = "the part's own tolerance" if mount.survey is None else "measuring"
        words = part if source == "measuring" else SOURCE_WORDS[source]
        openings = [opening for opening in layout.openings if opening.name in mount.hole_names]
        way = way_out(layout, mount)
        if way is not None:
            becomes = f"{percent(fit.probability)} becomes {percent(way.probability)}"
            if way.pilot:
                clearance = way.size - (mount.pilot or 0.0)
                said = f"give the pilot of {mount.name} {say(layout, clearance)} of clearance: {becomes}"
                edit = Remedy(f"{mount.field}.pilot.clearance", f"{clearance:.6g} mm")
            else:
                count = {1: "the", 2: "both"}.get(fit.holes, f"the {fit.holes}")
                holes = "hole" if fit.holes == 1 else "holes"
                size = hole_text(way.size, layout.spec.unit)
                said = f"open {count} {mount.name} {holes} from {say(layout, mount.hole)} to {size}: {becomes}"
                edit = Remedy(mount.hole_field, size)
            advice = Advice(said, (edit,))
        # No hole as wide as may be is wide enough: what makes the largest error has to become less.
        elif source == "measuring" and mount.survey is not None:
            proposal = next_one(mount.survey)
            advice = Advice("measure with a better tool" if proposal is None else f"measure {proposal} too")
        elif source == "measuring":
            advice = Advice("measure the part and give its pattern as measured")
        elif source == "printing":
            advice = Advice("have the marks made by a table, or drill through the part")
        elif all(made.as_cut or made.small for made in (how_made(layout, one) for one in openings)):
            advice = Advice(_nearer(layout, "cutting: position", layout.cutting.position, "your table is better"))
        # What is drilled at a mark lies off it by far more than a table does: its accuracy is not the cure then.
        else:
            advice = Advice(_nearer(layout, "cutting: drilling", layout.cutting.drilling, "you drill nearer to a mark"))
        yield Finding(
            rule="fit-odds",
            level="stop" if fit.probability < fit.stop else "warn",
            message=f"{mount.name}: all {fit.holes} screws go in with a probability of {percent(fit.probability)}; "
            f"{percent(fit.warn)} is wanted; {round(100.0 * share)} % of the error comes from {words}, against "
            f"{say(layout, fit.slack)} of slack",
            features=mount.hole_names,
            at=mount.points[0],
            found=fit.probability,
            needed=fit.warn,
            unit="",
            advice=advice,
        )


def _nearer(layout: Layout, key: str, given: float | None, how: str) -> str:
    """How to say that holes come nearer to their places than is taken so far: `given` (mm), or else what is usual."""
    if given is None:
        return f"give {key}, if {how} than is taken for granted; else drill through the part"
    return f"give a smaller {key}, if {how} than the {say(layout, given)} given; else drill through the part"


def percent(probability: float) -> str:
    """A probability as a shop reads it, never rounded up to certainty.

    >>> percent(0.713), percent(0.994), percent(0.99996)
    ('71 %', '99.4 %', 'more than 99.9 %')
    """
    if probability > 0.999:
        return "more than 99.9 %"
    if probability < 0.001:
        return "less than 0.1 %"
    text = f"{100.0 * probability:.1f}" if probability >= 0.95 or probability < 0.05 else f"{100.0 * probability:.0f}"
    return f"{text.removesuffix('.0')} %"


RULES = (
    Rule(
        "survey",
        "readings that disagree, are not checked, or leave a hole open",
        "one chance in a hundred; the hole's slack, 19 times out of 20",
        "Baarda, A testing procedure for use in geodetic networks (1968): published",
        survey,
        levels=("stop", "warn", "note"),
        keys=("mounts.NAME.pattern.measured.sigma",),
    ),
    Rule(
        "fit-odds",
        "a plate that does not bolt up",
        f"a warning below {percent(FIT_WARN)}, a stop below {percent(FIT_STOP)}",
        "ours; scatter of holes by the tables",
        fit_odds,
        levels=("stop", "warn"),
        keys=("limits.fit_warn", "limits.fit_stop", "cutting.position", "cutting.drilling"),
    ),
)
