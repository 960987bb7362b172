"""Rules on whether the plate holds: stress, movement of shafts, screws, threads, edges under repeated load, shaking.

All of them read one answer of the room `strength`, which is worked out only where the spec says what the plate
carries. It is first-order and linear: one thickness, seats that give way between two bounds, joints that stay shut. It
is no certificate; local codes and licensed people decide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.checks.stiffer import METALS_IN_FATIGUE, allowed_stress, cures, endless_range, out_of_line, weld_range
from platekit.errors import LookupFailed, PlatekitError
from platekit.placed import SAME_LENGTH, Layout, PlacedMount
from platekit.tables.strengths import limit, normal_clearance
from platekit.tables.torques import USUAL_CLASS, thread_bears

if TYPE_CHECKING:
    from platekit.strength.answer import Answer, AtScrew
    from platekit.strength.question import Missing
    from platekit.strength.shown import Shown

MUCH_TILT: Final = 3.0
"""A pulley out of line this many times what its belt bears throws it off (ours)."""
SHUT: Final = 0.8
"""Share of its least preload that a pull may take from a joint (ours): a fifth of it stays."""
OLD_THREAD: Final = 0.75
"""Share of its strength that an old thread is counted on for (ours): worn flanks, rust."""
CREEPING: Final = frozenset({"acetal", "HDPE", "polycarbonate", "acrylic", "wood board"})
"""Materials that give way with time or are no plate of one stiffness: their figures here would say nothing."""
LIMITS: Final = "first-order, not a certificate"


# ------------------------------------------------------------------------------------------- the answer


def worked_out(layout: Layout) -> Answer | None:
    """The answer for a layout (N, N/mm2, mm); None where the spec does not say enough, or it cannot be worked out."""
    if gap_in(layout) is not None:
        return None
    from platekit.strength.answer import answer_to
    from platekit.strength.question import question_of

    return answer_to(question_of(layout))


class Holds(Struct, frozen=True):
    """A plate's answer in the worst figures: N/mm2, mm, degrees of a shaft, Hz (softest seats), N off the plate."""

    stress: float
    sag: float
    tilt: float | None
    rings: float | None
    pull: float


def holds_of(layout: Layout) -> Holds | None:
    """The few figures (N/mm2, mm, degrees, Hz, N) for a comparison; None where strength is not worked out."""
    answer = worked_out(layout)
    if answer is None:
        return None
    from platekit.strength.answer import frequencies
    from platekit.strength.question import question_of

    rings = frequencies(question_of(layout))
    tilts = [shaft.tilt for state in answer.states for shaft in state.shafts]
    return Holds(
        stress=answer.worst.stress,
        sag=max(state.sag for state in answer.states),
        tilt=math.degrees(max(tilts)) if tilts else None,
        rings=rings[0][0] if rings else None,
        pull=max(screw.pull for state in answer.states for screw in state.screws),
    )


def shown_of(layout: Layout) -> Shown | None:
    """What a picture of the answer is made of (N/mm2, mm); None where there is no answer."""
    if gap_in(layout) is not None:
        return None
    from platekit.strength.question import question_of
    from platekit.strength.shown import shown

    return shown(question_of(layout))


def gap_in(layout: Layout) -> Missing | None:
    """Why the strength of a plate that carries something is not looked at, and what would let it; None where it is."""
    from platekit.strength.question import Missing, asked_for, is_part, mechanism, missing, question_of, usually

    if not asked_for(layout) and layout.twisted is None:
        others = [name for name, one in layout.mounts.items() if name not in layout.originals and is_part(one)]
        if not others:
            return Missing(None, "nothing is said to be carried by it", "")
        return Missing(
            others[0],
            f"nothing says what {_listed(others)} weigh{'s' if len(others) == 1 else ''}",
            f"give mounts: {others[0]}: mass: {{total: ... kg, centre: [0, 0, ...]}} from its rating plate or data "
            f"sheet{usually(layout.mounts[others[0]])}, and plate: mounting",
        )
    if layout.material.family in CREEPING:
        return Missing(None, f"{layout.material.name} gives way with time", "ask who sells it what it bears for years")
    # the first gap is enough to say: the next check, with that one filled, says the next
    wanted = missing(layout)
    if wanted:
        return wanted[0]
    from platekit.strength.answer import answer_to

    try:
        question = question_of(layout)
        # a motion that is free is mended at its mount; whatever else fails lies in the edges that are meshed
        loose = mechanism(question)
        if loose is not None:
            return loose
        answer_to(question)
    except PlatekitError as error:
        return Missing(None, str(error), "mend what is said of its edges first, then check again")
    return None


def bends_otherwise(before: Layout, after: Layout) -> bool:
    """Whether a changed plate has another strength, which has to be worked out anew: that takes long."""
    from platekit.strength.question import asked_for, missing, question_of

    if not asked_for(after) or missing(after):
        return False
    # two questions that are equal have one answer, which is kept: then nothing has to be worked out
    try:
        return missing(before) != () or question_of(before) != question_of(after)
    except PlatekitError:
        return False  # one of them cannot be asked, which takes no time


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


# ------------------------------------------------------------------------------------------- stress, edges


def strength(layout: Layout) -> Iterator[Finding]:
    """Stress (N/mm2) in the plate above what its material bears."""
    answer = worked_out(layout)
    if answer is None:
        return
    worst, bears = answer.worst, layout.material.yield_strength
    allowed = allowed_stress(layout)
    if worst.stress <= allowed:
        return
    x, y = worst.at
    first, *others = cures(layout, answer, "strength")
    yield Finding(
        rule="strength",
        level="stop" if worst.stress > bears else "warn",
        message=f"the plate is stressed to {worst.stress:.0f} N/mm2 {worst.where} ({say(layout, x)}, {say(layout, y)}) "
        f"({worst.said}); {allowed:.0f} N/mm2 is allowed in {layout.material.name}, which yields at {bears:.0f} "
        f"({LIMITS})",
        features=("plate",),
        at=worst.at,
        found=worst.stress,
        needed=allowed,
        unit="N/mm2",
        advice=first,
        others=tuple(others),
    )


def fatigue(layout: Layout) -> Iterator[Finding]:
    """An edge whose stress (N/mm2) swings by more with every start than a cut edge bears without end."""
    answer = worked_out(layout)
    if answer is None or layout.material.family not in METALS_IN_FATIGUE:
        return
    yield from _welds(layout, answer)
    allowed = endless_range()
    if answer.swing <= allowed:
        return
    x, y = answer.swing_at
    first, *others = cures(layout, answer, "fatigue")
    yield Finding(
        rule="fatigue",
        level="warn",
        message=f"the stress at the edge near ({say(layout, x)}, {say(layout, y)}) swings by {answer.swing:.0f} N/mm2 "
        f"between belt standing and starting; a cut edge bears {allowed:.0f} without end ({LIMITS})",
        features=("plate",),
        at=answer.swing_at,
        found=answer.swing,
        needed=allowed,
        unit="N/mm2",
        advice=first,
        others=tuple(others),
    )


def _welds(layout: Layout, answer: Answer) -> Iterator[Finding]:
    """Ends of ribs where the stress (N/mm2) in the plate swings by more than the weld bears without end."""
    for weld in answer.welds:
        allowed = weld_range(weld.length)
        if weld.swing <= allowed:
            continue
        x, y = weld.at
        yield Finding(
            rule="fatigue",
            level="warn",
            message=f"{weld.rib}: the stress along it at the end of its weld near ({say(layout, x)}, {say(layout, y)}) "
            f"swings by {weld.swing:.0f} N/mm2; the end of such a weld bears {allowed:.0f} without end ({LIMITS})",
            features=(weld.rib, "plate"),
            at=weld.at,
            found=weld.swing,
            needed=allowed,
            unit="N/mm2",
            advice=Advice("let it run on to where the plate is stressed less, or make the plate thicker instead"),
        )


# ------------------------------------------------------------------------------------------- movement


def sag(layout: Layout) -> Iterator[Finding]:
    """A shaft that tilts (degrees), or a pulley that moves along it (mm), by more than its belt bears."""
    answer = worked_out(layout)
    if answer is None:
        return
    # the worst state counts: softest seats tilt most as a rule, but which end of the travel does is not known before
    shafts = [shaft for state in answer.states for shaft in state.shafts]
    for belt in dict.fromkeys(shaft.belt for shaft in shafts):
        worst = max((shaft for shaft in shafts if shaft.belt == belt), key=out_of_line)
        over = out_of_line(worst)
        if over <= 1.0:
            continue
        first, *others = cures(layout, answer, "sag")
        yield Finding(
            rule="sag",
            level="stop" if over > MUCH_TILT else "warn",
            message=f"{worst.mount}: its shaft tilts by {math.degrees(worst.tilt):.2f} deg and its pulley moves "
            f"{say(layout, abs(worst.axial))} out of line under weight and belt; {belt} bears "
            f"{math.degrees(worst.bears):.2f} deg and {say(layout, worst.bears * worst.centres)} ({LIMITS})",
            features=(worst.mount, belt, "plate"),
            at=next(mount.points[0] for mount in layout.mounts.values() if mount.name == worst.mount),
            found=math.degrees(over * worst.bears),
            needed=math.degrees(worst.bears),
            unit="deg",
            advice=first,
            others=tuple(others),
        )


# ------------------------------------------------------------------------------------------- screws


def preload(size: str) -> float | None:
    """The least preload in N of a screw tightened to its torque; None for a size that no table has."""
    try:
        return tables.torque(size, USUAL_CLASS[tables.screw(size).system]).preload / limit("tightening factor").figure
    except LookupFailed:
        return None


def slip(layout: Layout) -> Iterator[Finding]:
    """Parts whose screws do not hold the plate by friction (N)."""
    answer = worked_out(layout)
    if answer is None:
        return
    relieved, safety = limit("relieved by a pull").figure, limit("slip safety").figure
    for mount in layout.mounts.values():
        least = preload(mount.stack.size) if mount.stack is not None else None
        # nothing is carried by what only lies on the plate
        if least is None or mount.layer is not None or mount.lug_of is not None:
            continue
        # k_s of its holes: long slots where it travels, oversized where they are wider than a normal hole
        if mount.travel is not None:
            shape = limit("long slot").figure
        else:
            assert mount.stack is not None
            diameter = tables.screw(mount.stack.size).diameter
            normal = diameter + normal_clearance(diameter)
            sizes = [opening.size for opening in layout.openings if opening.name in mount.hole_names]
            wide = bool(sizes) and max(sizes) > normal + SAME_LENGTH
            shape = limit("oversized hole").figure if wide else 1.0
        share = limit("slip factor").figure * shape
        worst, most = 0.0, None
        # one screw that slips is a warning, since its neighbours take over; the part slips when all together do
        whole = 0.0
        for state in answer.states:
            screws = [one for one in state.screws if one.mount == mount.name]
            # a pull off the plate takes part of the pressure that friction lives on; below nil nothing is left of it
            held = [share * max(least - relieved * max(one.pull, 0.0), 1e-9) for one in screws]
            whole = max(whole, sum(one.shear for one in screws) / sum(held))
            for one, bears in zip(screws, held, strict=True):
                if one.shear / bears > worst:
                    worst, most = one.shear / bears, one
        if most is None or worst * safety <= 1.0:
            continue
        bears = most.shear / worst / safety
        yield Finding(
            rule="slip",
            level="stop" if whole > 1.0 else "warn",
            message=f"{most.hole}: weight and belt push it sideways by {most.shear:.0f} N; by friction it holds "
            f"{bears:.0f} N ({LIMITS})",
            features=(most.hole, mount.name),
            at=most.at,
            found=most.shear,
            needed=bears,
            unit="N",
            advice=Advice("use larger screws or more of them, or fit two dowel pins once the belt is set"),
        )


def _most_pulled(answer: Answer, mount: PlacedMount) -> AtScrew | None:
    screws = [one for state in answer.states for one in state.screws if one.mount == mount.name]
    return max(screws, key=lambda one: one.pull) if screws else None


def gap(layout: Layout) -> Iterator[Finding]:
    """Joints that a pull (N) opens."""
    answer = worked_out(layout)
    if answer is None:
        return
    for mount in layout.mounts.values():
        least = preload(mount.stack.size) if mount.stack is not None else None
        most = _most_pulled(answer, mount)
        if least is None or most is None or most.pull <= SHUT * least:
            continue
        yield Finding(
            rule="gap",
            level="stop" if most.pull > least else "warn",
            message=f"{most.hole}: weight and belt pull it off by {most.pull:.0f} N; tightened, it is sure of "
            f"{least:.0f} N, of which {SHUT * least:.0f} N may be taken ({LIMITS})",
            features=(most.hole, mount.name),
            at=most.at,
            found=most.pull,
            needed=SHUT * least,
            unit="N",
            advice=Advice("use larger screws or more of them, set farther apart"),
        )


def thread(layout: Layout) -> Iterator[Finding]:
    """Threads in a part or the plate that a tightened screw with its pull (N) would strip."""
    answer = worked_out(layout)
    if answer is None:
        return
    for mount in layout.mounts.values():
        stack, most = mount.stack, _most_pulled(answer, mount)
        if stack is None or most is None or stack.into in ("nut", "stud") or stack.length is None:
            continue
        least = preload(stack.size)
        if least is None:
            continue
        # what the thread is cut in: the plate; else as the spec says; else old machines are cast iron, and motors of
        # the tables aluminium, the weaker of the two that they come in
        if stack.into == "plate":
            inside = "aluminium" if layout.material.family == "aluminium" else "steel"
        elif stack.thread_in is not None:
            inside = stack.thread_in
        else:
            inside = "cast iron" if mount.standard is None else "aluminium"
        # the force (N) that strips it: its root's area in shear; a part that is no standard motor is an old one
        bears = thread_bears(stack.size, inside, stack.engagement)
        if mount.standard is None and stack.into == "part":
            bears *= OLD_THREAD
        # tightened to the table's torque, the most that the scatter of a hand lets it be
        pulled = least * limit("tightening factor").figure + max(most.pull, 0.0)
        if pulled <= bears:
            continue
        yield Finding(
            rule="thread",
            level="stop" if max(most.pull, 0.0) > bears else "warn",
            message=f"{most.hole}: tightened to its torque and pulled by weight and belt the screw draws "
            f"{pulled / 1000:.1f} kN; {say(layout, stack.engagement)} of {stack.size} thread in {inside} bears "
            f"{bears / 1000:.1f} kN ({LIMITS})",
            features=(most.hole, mount.name),
            at=most.at,
            found=pulled / 1000,
            needed=bears / 1000,
            unit="kN",
            advice=Advice("tighten it less by the same share, go deeper into the thread, or go through with a nut"),
        )


# ------------------------------------------------------------------------------------------- shaking


def resonance(layout: Layout) -> Iterator[Finding]:
    """Natural frequencies of the plate with its motor that motor or belt meet within their speeds."""
    if worked_out(layout) is None:
        return
    from platekit.strength.answer import frequencies, shaken
    from platekit.strength.question import question_of

    question = question_of(layout)
    found, swings, apart = frequencies(question), shaken(question), limit("clear of resonance").figure
    for belt in layout.belts:
        speeds = [(point.motor_rpm, point.belt_speed_m_s) for point in belt.result.points]
        if found is None or swings is None or not speeds or belt.request.before != 1:
            continue
        length = belt.result.belt_length / 1000
        shakes = [  # by rpm of the motor: its turns, twice these, a belt's seam, twice that
            *((1 / 60 * times, "the motor") for times in (1, 2)),
            *((speeds[0][1] / speeds[0][0] / length * times, "the belt") for times in (1, 2)),
        ]
        slowest, fastest = min(rpm for rpm, _ in speeds), max(rpm for rpm, _ in speeds)
        bands = []
        for (soft, stiff), far in zip(found, swings, strict=True):
            for each, by in shakes:
                low, high = soft * (1 - apart) / each, stiff * (1 + apart) / each
                if low < fastest and high > slowest and each > 0:
                    bands.append(_Band(max(low, slowest), min(high, fastest), by, soft, stiff, far))
        if not bands:
            continue
        yield _shaken(layout, belt.driver.mount, bands, (slowest, fastest))


class _Band(Struct, frozen=True, order=True):
    """Speeds of the motor (rpm) at which something shakes one natural frequency (Hz, softest and stiffest seats).

    `far` is how far an imbalance swings the motor there, mm to either side.
    """

    low: float
    high: float
    by: str
    soft: float
    stiff: float
    far: float


def _shaken(layout: Layout, mount: str, bands: list[_Band], speeds: tuple[float, float]) -> Finding:
    """One finding for all that shakes: the motor's speeds at which it does, near ones together."""
    merged: list[list[float]] = []
    for band in sorted(bands):
        if merged and band.low <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], band.high)
        else:
            merged.append([band.low, band.high])
    first = min(bands, key=lambda band: band.soft)
    soft, stiff = first.soft, first.stiff
    rings = f"{soft:.1f} Hz" if stiff - soft < 0.05 else f"{soft:.1f} to {stiff:.1f} Hz"
    told = ", ".join(f"{low:.0f} to {high:.0f}" for low, high in merged)
    one_speed = speeds[1] - speeds[0] < 1.0
    by_hand = (
        "run it up once with the guard on and feel for it; stiffen the plate if it shakes"
        if one_speed
        else f"have the inverter skip {told} rpm, or run it up once with the guard on and see which of them shake"
    )
    return Finding(
        rule="resonance",
        level="warn",
        message=f"the plate with {mount} rings at {rings}, by how far its seats give way; {first.by} shakes it there "
        + (f"at its {speeds[1]:.0f} rpm" if one_speed else f"(motor at {told} rpm)")
        + (f", by up to {say(layout, first.far)} either way from its imbalance" if first.far > 0 else "")
        + f" ({LIMITS})",
        features=(mount, "plate"),
        at=(layout.mounts[mount].pose.x, layout.mounts[mount].pose.y),
        found=soft,
        needed=None,
        unit="Hz",
        advice=Advice(by_hand),
    )


RULES = (
    Rule(
        "strength",
        "a plate that is stressed beyond what its material bears",
        "yield strength over 1.67, at the open edges and beyond the washers; under a washer the mean stress times the "
        "factor of a hole",
        "AISC 360-16 (ASD), from memory; linear, first-order: local codes and licensed people decide",
        strength,
        levels=("stop", "warn"),
        keys=("plate.material", "plate.thickness", "mounts.NAME.mass"),
    ),
    Rule(
        "fatigue",
        "an edge that cracks after many starts",
        "0.737 of category 125 over 1.35, for an edge cut by machine, between belt standing and starting",
        "EN 1993-1-9, from memory, which is below category B of AISC 360 table A-3.1, published",
        fatigue,
        levels=("warn",),
        keys=("plate.thickness", "mounts.NAME.mass"),
    ),
    Rule(
        "sag",
        "a shaft that tilts under weight and belt until the belt runs out of line",
        "what belts of the family bear out of line; a stop at three times that",
        "trade tables, common practice",
        sag,
        levels=("stop", "warn"),
        keys=("plate.thickness", "mounts.NAME.mass"),
    ),
    Rule(
        "slip",
        "screws that do not hold the plate by friction",
        "0.2 times the least preload, 0.63 of that in slots, over 1.25; a stop where a whole part would slip",
        "EN 1993-1-8 (slip factor, k_s) and VDI 2230, published; safety from memory",
        slip,
        levels=("stop", "warn"),
        keys=("mounts.NAME.screws", "mounts.NAME.mass"),
    ),
    Rule(
        "gap",
        "a joint that a pull opens",
        "four fifths of the least preload; a stop beyond all of it",
        "VDI 2230 (scatter of preload), published; the share is ours",
        gap,
        levels=("stop", "warn"),
        keys=("mounts.NAME.screws", "mounts.NAME.mass"),
    ),
    Rule(
        "thread",
        "a thread that strips, an old one above all",
        "0.6 of the tensile strength on the thread's root, three quarters of that in an old part",
        "EN 1561, published; EN 10025-2 and aluminium from memory; shares common practice and ours",
        thread,
        levels=("stop", "warn"),
        keys=("mounts.NAME.screws", "mounts.NAME.mass"),
    ),
    Rule(
        "resonance",
        "a plate that rings at a speed of its motor or belt",
        "natural frequencies 20 % clear of the motor's turns, the belt's passing, and twice each",
        "common practice",
        resonance,
        levels=("warn",),
        keys=("plate.thickness", "mounts.NAME.mass", "drive.inverter"),
    ),
)
