"""The checks: every rule looks at the layout and says what it found; none changes it."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from platekit.checks import (
    bodies,
    cutting,
    drive,
    drive_fit,
    guard,
    machine,
    openings,
    order,
    orientation,
    plausible,
    screws,
    scribe,
    seats,
    standard,
    sunk,
    survey,
    unknown,
)
from platekit.checks.finding import FieldValue, Finding, Level, Remedy, Verdict, worst_first
from platekit.checks.rule import MOST_STOPS, Rule
from platekit.placed import Layout

__all__ = ["RULES", "FieldValue", "Finding", "Level", "Remedy", "Rule", "Verdict", "check"]

RULES: tuple[Rule, ...] = (
    *openings.RULES,
    *cutting.RULES,
    *machine.RULES,
    *scribe.RULES,
    *sunk.RULES,
    *bodies.RULES,
    *screws.RULES,
    *order.RULES,
    *seats.RULES,
    *orientation.RULES,
    *guard.RULES,
    *standard.RULES,
    *plausible.RULES,
    *drive_fit.RULES,
    *drive.RULES,
    *survey.RULES,
    *unknown.RULES,
)
"""Every rule; a new one is one more function and one line in its file's RULES."""


def check(layout: Layout) -> Verdict:
    """The findings of every rule on the layout, worst first, with the spec's acceptances entered."""
    found = [finding for rule in RULES for finding in _found(rule, layout)]
    accepted = [_judged(layout, finding) for finding in found]
    return Verdict(worst_first([*accepted, *_idle_acceptances(layout, found)]))


def _found(rule: Rule, layout: Layout) -> Iterator[Finding]:
    """The findings of one rule; when it has too many stops, that is the last one, and it cannot be accepted."""
    stops = 0
    for finding in rule.find(layout):
        if finding.level == "stop":
            stops += 1
        if stops > MOST_STOPS:
            message = f"there are more than {MOST_STOPS} stops of {rule.name}; the others are not listed"
            yield Finding(rule.name, "stop", message, (), advice="correct those listed first, then check again")
            return
        yield finding


def _judged(layout: Layout, finding: Finding) -> Finding:
    for acceptance in layout.model.accept:
        if finding.acceptable and acceptance.rule == finding.rule and acceptance.feature in finding.features:
            return replace(finding, accepted=acceptance.because)
    return finding


def _idle_acceptances(layout: Layout, found: list[Finding]) -> list[Finding]:
    """An acceptance that meets no finding is said: it may be misspelt, or not needed any more."""
    idle = []
    for acceptance in layout.model.accept:
        met = any(f.rule == acceptance.rule and acceptance.feature in f.features for f in found)
        if not met:
            idle.append(
                Finding(
                    "accept",
                    "note",
                    f"the acceptance of {acceptance.rule} at {acceptance.feature} meets no finding",
                    (acceptance.feature,),
                    advice="check its spelling, or take it out",
                )
            )
    return idle
