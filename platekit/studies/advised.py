"""Advice that was tried: each edit is made, the plate laid out and judged again, before anyone is told to make it.

`check` says what is wrong and what its rules think would do. This is one step more, for whoever shows the findings: of
the ideas of each finding the first is kept after which that finding is gone and no stop has come or grown worse; then
moves that no rule thinks of are tried. Where nothing does, the advice says so, and has no edit. The work is bounded by
a count, not by the clock, so that the same plate has the same advice everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks import STAGES, check
from platekit.checks.finding import Advice, Finding, Remedy, Verdict
from platekit.checks.strength import bends_otherwise
from platekit.errors import PlatekitError
from platekit.geometry import Loop, Upright
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec, with_data
from platekit.spec.editing import with_value
from platekit.spec.places_to_find import to_be_found
from platekit.studies.moves import moves_of

MOST_WORK: Final = 4000
"""Work that all trials of a plate may take together, in parts of the plate judged (ours: a few seconds)."""
WORK_OF_ONE: Final = 20
"""Work of any one trial, however few parts the plate has (ours)."""
WORK_OF_A_SWEPT_SOLID: Final = 800
"""Work of a body that is no prism and travels: how near it comes is searched for, not worked out (ours)."""
WORK_OF_STRENGTH: Final = 1900
"""Work of judging a plate that bends otherwise than before, where the spec says what it carries (ours: seconds)."""
EDGES_OF_A_PART: Final = 50
"""So many edges of outlines count as one more part (ours: those of an ordinary plate count for nothing)."""
CROWD: Final = 200
"""Parts above this number count the more, the more there are: many of them lie in each other's way (ours)."""
WORSE: Final = 1.001
"""A stop has grown worse when more than this share of what was missing is missing now (ours: not by rounding)."""
MOVABLE: Final = frozenset({"blocked", "clash", "edge", "head-seat", "order", "overlap", "reach", "web"})
"""Rules on things that are in each other's way: moving one of them may be a way out that the rule did not think of."""
NONE_FOUND: Final = "no edit tried here ends it; this may help: "
NOT_TRIED: Final = "not tried, as there is too much at once; this may help: "

Subject = tuple[str, frozenset[str], str]
"""What a finding is about: its rule, its features, its sentence without the figures."""


def judge(layout: Layout, between: Callable[[], None] = lambda: None) -> Verdict:
    """What `check` finds on a layout, with advice that was tried; see `advised`."""
    return advised(layout, check(layout), between)


def advised(layout: Layout, verdict: Verdict, between: Callable[[], None] = lambda: None) -> Verdict:
    """The verdict on a layout with advice that was tried, see above; the findings are the same ones, in their order.

    `between` is called before each step of a trial: what is more urgent may be waited for there.
    """
    open_findings = [f for f in verdict.findings if f.accepted is None and f.level != "note"]
    wanting = [f for f in open_findings if f.advice.remedies or f.others or (f.stops and f.rule in MOVABLE)]
    if not wanting:
        return verdict
    given = _Adviser(_TrialBench(layout, verdict, between)).answers(wanting)
    return Verdict(tuple(replace(f, advice=given.get(id(f), f.advice), others=()) for f in verdict.findings))


def subject(finding: Finding) -> Subject:
    """What a finding is about, figures left aside."""
    return (finding.rule, frozenset(finding.features), re.sub(r"-?\d[\d./]*", "#", finding.message))


def effort(layout: Layout) -> int:
    """The work of one trial of a plate, a ratio: in parts of the plate judged."""
    swept = sum(
        body.travel is not None and any(not isinstance(one, Upright) for one in body.solids) for body in layout.bodies
    )
    # What takes time: each body and opening, long outlines, pairs in a crowd, and solids that are no prisms.
    parts = len(layout.bodies) + len(layout.openings)
    shapes = (layout.outline, *(o.shape for o in layout.openings), *(body.shape for body in layout.bodies))
    parts += sum(len(shape.vertices) for shape in shapes if isinstance(shape, Loop)) // EDGES_OF_A_PART
    crowd = max(parts - CROWD, 0) ** 2 // CROWD
    return WORK_OF_ONE + parts + crowd + WORK_OF_A_SWEPT_SOLID * swept


# ------------------------------------------------------------------------------------------ one trial


class _Outcome(Struct, frozen=True):
    """What is open after an edit: the subjects of stops and warnings, and whether no stop is new or worse."""

    open: frozenset[Subject]
    harmless: bool

    def ends(self, finding: Finding, before: frozenset[Subject]) -> bool:
        """Whether a finding is gone, and not replaced by another of its rule about the same things."""
        about = subject(finding)
        return self.harmless and not any(
            one == about or (one[:2] == about[:2] and one not in before) for one in self.open
        )


class _TrialBench:
    """Makes edits and judges the plate after them, each edit once, as long as there is work left."""

    def __init__(self, layout: Layout, verdict: Verdict, between: Callable[[], None]) -> None:
        self.layout = layout
        self._between = between
        self.before = frozenset(subject(f) for f in verdict.findings if f.accepted is None and f.level != "note")
        self._missing = _missing(verdict)
        self._left = MOST_WORK
        self._effort = effort(layout)
        self._tried: dict[str, _Outcome] = {}
        self._made: dict[str, bool] = {}

    def outcome(self, remedies: tuple[Remedy, ...]) -> _Outcome | None:
        """What is open after an edit; None when there is no work left for it."""
        key = repr(remedies)
        if key not in self._tried:
            # The bound is on work, not on time: the same plate gets the same advice on a slow machine.
            if self._left < self._effort:
                return None
            self._left -= self._effort
            self._tried[key] = self._judged(remedies)
        return self._tried[key]

    def ends(self, advice: Advice, finding: Finding) -> bool:
        """Whether an advice that was or can be tried rids us of a finding."""
        after = self.outcome(advice.remedies)
        if after is None or not after.ends(finding, self.before):
            return False
        # An edit is tried on the model but given for the user's text, which does not take every one: not where its
        # value is shared by an alias. It must be possible in both.
        key = repr(advice.remedies)
        if key not in self._made:
            try:
                text = self.layout.spec.text
                for remedy in advice.remedies:
                    text = with_value(text, remedy.field, remedy.value)
                self._made[key] = True
            except PlatekitError:
                self._made[key] = False
        return self._made[key]

    def _judged(self, remedies: tuple[Remedy, ...]) -> _Outcome:
        try:
            self._between()
            changed = lay_out(after_edit(self.layout.spec, remedies))
            # Strength takes seconds a plate where all else takes hundredths: such an edit costs far more of the work
            # that is left.
            if bends_otherwise(self.layout, changed):
                self._left -= WORK_OF_STRENGTH
            left: set[Subject] = set()
            # The quick rules first: what they refuse need not be put together, bent, nor its guard laid out flat.
            for rules in STAGES:
                self._between()
                after = check(changed, rules)
                # An edit that ends one finding and brings another stop, or makes one worse, is no advice.
                if any(
                    about not in self._missing or short > WORSE * self._missing[about] + 1e-9
                    for about, short in _missing(after).items()
                ):
                    return _Outcome(frozenset(), harmless=False)
                left |= {subject(f) for f in after.findings if f.accepted is None and f.level != "note"}
        except PlatekitError:
            return _Outcome(frozenset(), harmless=False)
        return _Outcome(frozenset(left), harmless=True)


def _missing(verdict: Verdict) -> dict[Subject, float]:
    """How much is missing of what each open stop needs, in its own unit; 0 where it names no figures."""
    found: dict[Subject, float] = {}
    for stop in verdict.open("stop"):
        short = 0.0 if stop.found is None or stop.needed is None else abs(stop.needed - stop.found)
        found[subject(stop)] = max(short, found.get(subject(stop), 0.0))
    return found


def after_edit(spec: Spec, remedies: Iterable[Remedy]) -> Spec:
    """A spec after an edit; a place that was found for it stays. Raises as `load` does."""
    again = with_data(spec, ((remedy.field, remedy.value) for remedy in remedies))
    waiting = to_be_found(again)
    if not waiting:
        return again
    mounts = dict(again.model.mounts)
    for name in waiting:
        was = spec.model.mounts[name]
        mounts[name] = mounts[name].model_copy(update={"at": was.at, "side": was.side, "turn": was.turn})
    return replace(again, model=again.model.model_copy(update={"mounts": mounts}))


# ------------------------------------------------------------------------------------------ the choice


class _Adviser:
    """Chooses among ideas; findings whose edits would change the same field in two ways get one edit for all."""

    def __init__(self, bench: _TrialBench) -> None:
        self._bench = bench
        self._given: dict[int, Advice] = {}
        self._all: dict[int, Finding] = {}

    def answers(self, findings: list[Finding]) -> dict[int, Advice]:
        """The advice of each finding by its identity."""
        self._all = {id(finding): finding for finding in findings}
        for finding in findings:
            self._given[id(finding)] = self._answer(finding)
        # One edit for all findings whose edits contradict each other, where there is one: whoever makes the first edit
        # and then the second would undo it.
        for key, advice in list(self._given.items()):
            rivals = [other for other, its in self._given.items() if its.tried and _clash(its, advice)]
            if not advice.tried or not rivals:
                continue
            group = [self._all[one] for one in (key, *rivals)]
            ideas = chain((self._given[one] for one in (key, *rivals)), *map(self._moves, group))
            both = next((idea for idea in ideas if all(self._bench.ends(idea, one) for one in group)), None)
            if both is not None:
                self._given |= {id(one): replace(both, tried=True) for one in group}
        return self._given

    def _answer(self, finding: Finding) -> Advice:
        own = [idea for idea in (finding.advice, *finding.others) if idea.remedies]
        taken = [advice for advice in self._given.values() if advice.tried]
        # An advice already given that changes the same field otherwise comes first: if it ends this finding too, one
        # edit serves both, and the user is not told two things that exclude each other.
        same = [advice for advice in taken if any(_clash(advice, idea) for idea in own)]
        for advice in same:
            if self._bench.ends(advice, finding):
                return advice
        once = {repr(advice.remedies): advice for advice in taken}
        for idea in chain(own, self._moves(finding), once.values()):
            # No work is left. The first idea is still the rule's own, and better than nothing; that it was not tried is
            # said.
            if self._bench.outcome(idea.remedies) is None:
                if not own:
                    return finding.advice
                return replace(own[0], text=NOT_TRIED + own[0].text)
            if self._bench.ends(idea, finding):
                return replace(idea, tried=True)
        # No edit that was tried did. Advice that takes a hand stands as it is, as it cannot be tried; an edit that was
        # tried in vain is only told as what may help together with more.
        by_hand = next((idea for idea in (finding.advice, *finding.others) if idea and not idea.remedies), None)
        if by_hand is not None:
            return by_hand
        return Advice(NONE_FOUND + finding.advice.text)

    def _moves(self, finding: Finding) -> Iterator[Advice]:
        if finding.stops and finding.rule in MOVABLE:
            yield from moves_of(self._bench.layout, finding)


def _clash(one: Advice, other: Advice) -> bool:
    """Whether two edits give one field two values."""
    values = {remedy.field: remedy.value for remedy in one.remedies}
    return any(values.get(remedy.field, remedy.value) != remedy.value for remedy in other.remedies)
