"""The checks: every rule looks at the layout and says what it found; none changes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from msgspec.structs import replace

from platekit.checks import (
    believed,
    bodies,
    bores,
    bowed,
    couplings,
    cut_file,
    cutting,
    dowels,
    drawings,
    drive,
    drive_fit,
    flange,
    guard,
    held,
    idlers,
    jacks,
    layers,
    lighten,
    loop,
    machine,
    masses,
    metals,
    motor,
    necks,
    openings,
    order,
    orientation,
    plausible,
    ribs,
    room,
    screws,
    scribe,
    seats,
    shafts,
    soft,
    spacers,
    standard,
    strength,
    sunk,
    survey,
    tabs,
    tracking,
    unknown,
    welds,
)
from platekit.checks.acceptance import idle, judge
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy, Verdict, in_unit, worst_first
from platekit.checks.in_the_file import in_the_file
from platekit.checks.rule import MOST_STOPS, Rule
from platekit.placed import Layout
from platekit.tables.rows import use_own

__all__ = [
    "LATE", "LIVE", "QUICK", "RULES", "STAGES", "FieldValue", "Finding", "Level", "Remedy", "Rule", "Verdict", "check",
]  # fmt: skip

RULES: tuple[Rule, ...] = (
    *openings.RULES,
    *drawings.RULES,
    *cutting.RULES,
    *cut_file.RULES,
    *machine.RULES,
    *necks.RULES,
    *bowed.RULES,
    *scribe.RULES,
    *sunk.RULES,
    *bodies.RULES,
    *ribs.RULES,
    *tabs.RULES,
    *welds.RULES,
    *flange.RULES,
    *soft.RULES,
    *metals.RULES,
    *spacers.RULES,
    *layers.RULES,
    *dowels.RULES,
    *screws.RULES,
    *held.RULES,
    *order.RULES,
    *seats.RULES,
    *orientation.RULES,
    *guard.RULES,
    *standard.RULES,
    *plausible.RULES,
    *masses.RULES,
    *motor.RULES,
    *believed.RULES,
    *shafts.RULES,
    *bores.RULES,
    *couplings.RULES,
    *idlers.RULES,
    *jacks.RULES,
    *loop.RULES,
    *room.RULES,
    *drive_fit.RULES,
    *drive.RULES,
    *tracking.RULES,
    *strength.RULES,
    *lighten.RULES,
    *survey.RULES,
    *unknown.RULES,
)
"""Every rule; a new one is one more function and one line in its file's RULES."""
LATE: tuple[Rule, ...] = (*guard.RULES, *strength.RULES, *lighten.RULES, *unknown.RULES)
"""The rules that take long: they lay out every part of a guard flat, or bend the plate."""
QUICK: tuple[Rule, ...] = tuple(rule for rule in RULES if rule not in LATE)
"""All others: most edits that are of no use fall by them already."""
STAGES: tuple[tuple[Rule, ...], ...] = (
    openings.RULES,
    tuple(rule for rule in QUICK if rule not in (*openings.RULES, *order.RULES)),
    order.RULES,
    LATE,
)
"""Every rule once, what takes longest last: whoever only wants a plate without new stops may end after a stage."""
LIVE: tuple[Rule, ...] = (
    *(rule for rule in openings.RULES if rule.name != "stock-size"),  # for which the cut round the plate is worked out
    *necks.RULES,
    *(
        replace(rule, find=partial(bodies.clash, live=True)) if rule.find is bodies.clash else rule
        for rule in bodies.RULES
    ),
    *screws.RULES,
    *shafts.RULES,
    *idlers.RULES,
    *loop.RULES,
    *room.RULES,
    *drive_fit.RULES,
    *drive.RULES,
)
"""Those that a hand that drags can break from one moment to the next: what lies too near, what clashes, the belt. How
a plate goes together, how it is cut and what its words say do not change by a millimetre, and are judged on release. So
is what would end a clash, and where it is deepest, which nobody reads before."""


def check(layout: Layout, rules: Sequence[Rule] | None = None) -> Verdict:
    """The findings of every rule on the layout, worst first, with the spec's acceptances entered.

    Fewer `rules` (such as `LIVE`) are for a look at a plate that is being moved about; what a plate is cut by is the
    verdict of all.
    """
    use_own(layout.spec.own.rows)
    found = [(rule, finding) for rule in (RULES if rules is None else rules) for finding in _found(rule, layout)]
    accepted = [judge(layout, finding, rule.acceptable) for rule, finding in found]
    every = [*accepted, *idle(layout, accepted)]
    return Verdict(worst_first([in_unit(in_the_file(layout, finding), layout.spec.unit) for finding in every]))


def _found(rule: Rule, layout: Layout) -> Iterator[Finding]:
    """The findings of one rule; when it has too many stops, that is the last one, and it cannot be accepted."""
    stops = 0
    for finding in rule.find(layout):
        if finding.level == "stop":
            stops += 1
        if stops > MOST_STOPS:
            message = f"there are more than {MOST_STOPS} stops of {rule.name}; the others are not listed"
            yield Finding(
                rule=rule.name,
                level="stop",
                message=message,
                features=(),
                advice=Advice("correct those listed first, then check again"),
            )
            return
        yield finding
