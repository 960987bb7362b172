"""What a spec accepts: an acceptance covers the finding that was judged, as bad as it was then, and nothing worse.

    accept:
      - {rule: web, feature: cable, found: 4.5, because: the web carries nothing}

A stop is accepted with the figure that it had (`found`); once the figure is worse, the stop is open again and says
by how much. An acceptance of an earlier spec, without its figure, leaves a stop that has one open, and the finding says
what to write. A warning or note keeps nothing from being cut, so there the figure may be left out. What cannot be made
is not accepted at all, and where two things are in each other's way both are named (`Rule.acceptable`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Acceptable
from platekit.errors import UnitError
from platekit.placed import AcceptedFinding, Layout
from platekit.units import length, mm_per, show_length

SHOWN: Final = {"mm": 0.005, "in": 0.0005}
"""Half of the last digit with which a length is printed, in its own unit: a figure copied from a finding covers it."""
WIDE: Final = 0.5
"""An acceptance worse than what is there by this share of what it lacks covers more than was judged (ours)."""
FEWEST_WORDS: Final = 2
"""A reason of fewer words is none (ours)."""
SAME: Final = 1e-4
"""Share by which any other figure may be off and still be the one that was printed (ours)."""


def judge(layout: Layout, finding: Finding, acceptable: Acceptable) -> Finding:
    """The finding with the reason of the acceptance that covers it, or with what keeps one from covering it."""
    why_not = _Shortfall("")
    for acceptance in layout.accepted:
        if not meets(acceptance, finding):
            continue
        why_not = _Shortfall.of(layout, finding, acceptance, acceptable)
        if not why_not.said:
            return replace(finding, accepted=acceptance.because)
    if not why_not.said:
        return finding
    message, words, link = finding.message, why_not.said, ""
    if why_not.worse:
        # It was judged as it was then: that it got worse is news about the plate, and belongs into the sentence.
        message, link = f"{message}; {why_not.said}", "or "
        words = f"judge it again, then write `found: {figure(layout, finding)}` in its acceptance"
    joined = f"{finding.advice.text}; {link}{words}" if finding.advice else words
    return replace(finding, message=message, advice=replace(finding.advice, text=joined))


def meets(acceptance: AcceptedFinding, finding: Finding) -> bool:
    """Whether an acceptance is about a finding, whether or not it covers it."""
    return acceptance.rule == finding.rule and set(acceptance.features) <= set(finding.features)


def idle(layout: Layout, found: list[Finding]) -> Iterator[Finding]:
    """An acceptance that meets no finding is said: it may be misspelt, or not needed any more.

    So is one that says no reason, or a figure (mm, ...) far worse than what is there: it covers what nobody judged.
    """
    # each on its own: two may accept the same finding, and both are then in use
    for acceptance in layout.accepted:
        if not any(meets(acceptance, finding) for finding in found):
            yield Finding(
                rule="accept",
                level="note",
                message=f"the acceptance of {acceptance.rule} at {' and '.join(acceptance.features)} meets no finding",
                features=acceptance.features,
                advice=Advice("check its spelling, or take it out"),
            )
            continue
        if len(acceptance.because.split()) < FEWEST_WORDS:
            yield Finding(
                rule="accept",
                level="note",
                message=f"the acceptance of {acceptance.rule} at {' and '.join(acceptance.features)} says "
                f'"{acceptance.because}": nobody at the bench can tell from that why it was taken for good',
                features=acceptance.features,
                advice=Advice("write what holds instead, or who looked at it (because)"),
            )
        wide = [one for one in found if one.accepted and meets(acceptance, one) and _wider(layout, one, acceptance)]
        if wide:
            yield Finding(
                rule="accept",
                level="warn",
                message=f"the acceptance of {acceptance.rule} at {' and '.join(acceptance.features)} takes "
                f"{_as_given(acceptance)}, and what is there is {figure(layout, wide[0])}: that covers what nobody "
                "judged",
                features=acceptance.features,
                advice=Advice(f"write what was judged: found: {figure(layout, wide[0])}"),
            )


def _as_given(acceptance: AcceptedFinding) -> str:
    """The figure of an acceptance (mm, in, ...) as it was typed."""
    return f"{acceptance.found:g}" if isinstance(acceptance.found, float) else str(acceptance.found)


def _wider(layout: Layout, finding: Finding, acceptance: AcceptedFinding) -> bool:
    """Whether an acceptance takes a figure (mm, ...) worse than the finding's by more than half of its own lack."""
    if finding.found is None or finding.needed is None or acceptance.found is None:
        return False
    given, unit = acceptance.found, layout.spec.unit
    if finding.unit == "mm":
        then = length(given, unit)
    else:
        then = float(given.removesuffix(finding.unit)) if isinstance(given, str) else given
    worse = finding.found - then if finding.found < finding.needed else then - finding.found
    return worse > WIDE * abs(finding.needed - finding.found)


class _Shortfall(Struct, frozen=True):
    """Why an acceptance does not cover a finding; nothing is `said` if it does. `worse`: the figure got worse since."""

    said: str
    worse: bool = False

    @classmethod
    def of(cls, layout: Layout, finding: Finding, acceptance: AcceptedFinding, acceptable: Acceptable) -> _Shortfall:
        """Why an acceptance does not cover a finding that it meets; figures in the finding's unit (mm, ...)."""
        # whether it may be accepted at all, then whether it is said as it has to be, then how bad it is now
        if acceptable == "never" or not finding.acceptable:
            return cls("this cannot be accepted: such a plate cannot be made, or not be used; take its acceptance out")
        if acceptable == "both" and len(acceptance.features) < min(2, len(finding.features)):
            names = ", ".join(finding.features[:2])
            return cls(f"to accept it, name both: write `feature: [{names}]` in its acceptance")
        if acceptance.found is None:
            # without a figure only what keeps nothing from being cut is covered, and what has none to give
            if finding.level != "stop" or finding.found is None:
                return cls("")
            return cls(
                f"to accept it as it is, write `found: {figure(layout, finding)}` in its acceptance: what was judged"
            )
        if finding.found is None:
            return cls("this finding has no figure; take `found` out of its acceptance")
        unit, by_length, given = layout.spec.unit, finding.unit == "mm", acceptance.found
        try:
            if by_length:
                then = length(given, unit)
            else:
                then = float(given.removesuffix(finding.unit)) if isinstance(given, str) else given
        except (UnitError, ValueError):
            return cls(f"`found` in its acceptance is in another unit; write `found: {figure(layout, finding)}`")
        # half of the last digit that was printed: a figure copied from the finding covers it
        slack = SHOWN[unit] * mm_per(unit) if by_length else SAME * abs(finding.found)
        # By how much a figure is worse than it was; farther from what is needed, or, without that, merely different.
        if finding.needed is None or finding.found == finding.needed:
            worse = abs(finding.found - then)
        else:
            worse = then - finding.found if finding.found < finding.needed else finding.found - then
        if worse <= slack + 1e-9:
            return cls("")
        words = [show_length(value, unit) if by_length else _with_unit(value, finding.unit) for value in (then, worse)]
        # below zero a figure says how far one thing is inside another: the sentence says that already, in words
        if min(then, finding.found) < 0:
            return cls(f"that is {words[1]} worse than what was accepted", worse=True)
        return cls(f"accepted at {words[0]}, now {figure(layout, finding)}, {words[1]} worse", worse=True)


def figure(layout: Layout, finding: Finding) -> str:
    """What to write as `found`: the figure of a finding, a length (mm inside) with the unit of the spec."""
    assert finding.found is not None
    if finding.unit == "mm":
        return show_length(finding.found, layout.spec.unit)
    return _with_unit(finding.found, "")


def _with_unit(value: float, unit: str) -> str:
    return f"{value:.6g} {unit}".rstrip()
