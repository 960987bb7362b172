"""Advice that was tried: each edit is made, the plate laid out and judged again, before anyone is told to make it.

`check` says what is wrong and what its rules think would do. This is one step more, for whoever shows the findings: of
the ideas of each finding the first is kept after which that finding is gone and no stop has come or grown worse; then
moves that no rule thinks of are tried. Where nothing does, the advice says so, and has no edit. The work is bounded by
a count, not by the clock, so that the same plate has the same advice everywhere. The page, which asks in the
background, bounds it by the clock (`by_and_by`): it tries the first idea of every finding before any second one, and
tells what it has so far; `trial_of` is for the one that its user wants to know about.
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
from platekit.errors import PlatekitError, SpecError
from platekit.geometry import Loop, Upright
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec, with_data
from platekit.spec.editing import with_value
from platekit.spec.places_to_find import to_be_found
from platekit.studies.stock_drives import mends, stock_drives

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
NOT_TRIED: Final = "not tried out, as there is too much wrong to try all of it; this may help: "

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
    wanting = [f for f in open_findings if f.advice.remedies or f.others or _has_more(layout, f)]
    if not wanting:
        return verdict
    given = _Adviser(_TrialBench(layout, verdict, between)).answers(wanting)
    return Verdict(tuple(replace(f, advice=given.get(id(f), f.advice), others=()) for f in verdict.findings))


class Known(Struct, frozen=True):
    """The advice of one finding once it was looked at: one that was tried and does, or else those tried `in_vain`."""

    advice: Advice
    in_vain: tuple[Advice, ...] = ()


def by_and_by(
    layout: Layout, verdict: Verdict, left: Callable[[], bool], between: Callable[[], None]
) -> Iterator[dict[int, Known]]:
    """What is known of the advice of a verdict's findings, by their identity, after each that was looked at.

    The first idea of each comes before the second ones, stops before warnings, for as long as `left` says that there
    is time. What was not come to is not among them. `between` is called before each step of a trial, as for `advised`.
    """
    wanting = [f for f in verdict.findings if f.accepted is None and f.level != "note"]
    wanting = [f for f in wanting if f.advice.remedies or f.others or _has_more(layout, f)]
    yield from _Adviser(_TrialBench(layout, verdict, between, left)).by_and_by(wanting)


class Trial(Struct, frozen=True):
    """What an edit comes to: whether a finding is gone, and the stops that are new or worse, the worst first.

    `problem` says why the plate cannot be laid out with it; then nothing else is known.
    """

    gone: bool
    worse: tuple[Finding, ...] = ()
    problem: str = ""

    @property
    def good(self) -> bool:
        """Whether the finding is gone at no cost."""
        return self.gone and not self.worse and not self.problem


def trial_of(layout: Layout, verdict: Verdict, finding: Finding, remedies: tuple[Remedy, ...]) -> Trial:
    """An edit of the spec tried against one finding, whatever it costs (up to seconds): all rules judge the plate."""
    try:
        after = check(lay_out(after_edit(layout.spec, remedies)))
    except SpecError as error:
        return Trial(gone=False, problem="; ".join(f"{one.field}: {one.found}; {one.wanted}" for one in error.problems))
    except PlatekitError as error:
        return Trial(gone=False, problem=str(error))
    before, missing = frozenset(subject(f) for f in verdict.findings), _missing(verdict)
    # a note that is asked about goes or stays like any other finding
    now = [f for f in after.findings if f.accepted is None and (f.level != "note" or finding.level == "note")]
    worse = [f for f in now if f.stops and _is_worse(subject(f), _missing_of(f), missing)]
    about = subject(finding)
    still = any(subject(f) == about or (subject(f)[:2] == about[:2] and subject(f) not in before) for f in now)
    return Trial(gone=not still, worse=tuple(worse))


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

    def __init__(
        self,
        layout: Layout,
        verdict: Verdict,
        between: Callable[[], None],
        left: Callable[[], bool] | None = None,
    ) -> None:
        self.layout = layout
        self._between = between
        self._in_time = left
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
            if self._left < self._effort if self._in_time is None else not self._in_time():
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
                if any(_is_worse(about, short, self._missing) for about, short in _missing(after).items()):
                    return _Outcome(frozenset(), harmless=False)
                left |= {subject(f) for f in after.findings if f.accepted is None and f.level != "note"}
        except PlatekitError:
            return _Outcome(frozenset(), harmless=False)
        return _Outcome(frozenset(left), harmless=True)


def _missing(verdict: Verdict) -> dict[Subject, float]:
    """How much is missing of what each open stop needs, in its own unit; 0 where it names no figures."""
    found: dict[Subject, float] = {}
    for stop in verdict.open("stop"):
        found[subject(stop)] = max(_missing_of(stop), found.get(subject(stop), 0.0))
    return found


def _missing_of(stop: Finding) -> float:
    return 0.0 if stop.found is None or stop.needed is None else abs(stop.needed - stop.found)


def _is_worse(about: Subject, short: float, before: dict[Subject, float]) -> bool:
    """Whether a stop that is open after an edit is new, or lacks more than it did `before`."""
    return about not in before or short > WORSE * before[about] + 1e-9


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
        self._in_vain: dict[int, tuple[Advice, ...]] = {}
        self._all: dict[int, Finding] = {}

    def answers(self, findings: list[Finding]) -> dict[int, Advice]:
        """The advice of each finding by its identity."""
        self._all = {id(finding): finding for finding in findings}
        for finding in findings:
            self._given[id(finding)] = self._answer(finding)
        self._agree()
        return self._given

    def _agree(self) -> None:
        """One edit for all findings whose edits contradict each other, where there is one.

        Whoever makes the first edit and then the second would undo it.
        """
        for key, advice in list(self._given.items()):
            rivals = [other for other, its in self._given.items() if its.tried and _clash(its, advice)]
            if not advice.tried or not rivals:
                continue
            group = [self._all[one] for one in (key, *rivals)]
            ideas = chain((self._given[one] for one in (key, *rivals)), *map(self._moves, group))
            both = next((idea for idea in ideas if all(self._bench.ends(idea, one) for one in group)), None)
            if both is not None:
                self._given |= {id(one): replace(both, tried=True) for one in group}

    def by_and_by(self, findings: list[Finding]) -> Iterator[dict[int, Known]]:
        """What is known after each look at a finding: first at the first idea of each, then at all others."""
        self._all = {id(finding): finding for finding in findings}
        waiting = []
        for finding in findings:
            first = next((idea for idea in (finding.advice, *finding.others) if idea.remedies), None)
            given = self._taken_for(finding)
            if given is None and first is not None and self._bench.ends(first, finding):
                given = replace(first, tried=True)
            if given is None:
                waiting.append(finding)
            else:
                self._given[id(finding)] = given
            yield self._known()
        for finding in waiting:
            answer = self._answer(finding)
            if answer.tried or id(finding) in self._in_vain:
                self._given[id(finding)] = answer
            yield self._known()
        self._agree()
        yield self._known()

    def _known(self) -> dict[int, Known]:
        return {one: Known(advice, self._in_vain.get(one, ())) for one, advice in self._given.items()}

    def _taken_for(self, finding: Finding) -> Advice | None:
        """An advice given to another finding that ends this one, too, where both would change one field otherwise."""
        own = [idea for idea in (finding.advice, *finding.others) if idea.remedies]
        taken = [advice for advice in self._given.values() if advice.tried]
        same = [advice for advice in taken if any(_clash(advice, idea) for idea in own)]
        return next((advice for advice in same if self._bench.ends(advice, finding)), None)

    def _answer(self, finding: Finding) -> Advice:
        own = [idea for idea in (finding.advice, *finding.others) if idea.remedies]
        taken = [advice for advice in self._given.values() if advice.tried]
        # An advice already given that changes the same field otherwise comes first: if it ends this finding too, one
        # edit serves both, and the user is not told two things that exclude each other.
        given = self._taken_for(finding)
        if given is not None:
            return given
        once = {repr(advice.remedies): advice for advice in taken}
        looked: list[Advice] = []
        self._in_vain.pop(id(finding), None)
        for idea in chain(own, self._moves(finding), once.values()):
            # No work is left. The first idea is still the rule's own, and better than nothing; that it was not tried is
            # said.
            if self._bench.outcome(idea.remedies) is None:
                if not own:
                    return finding.advice
                return replace(own[0], text=NOT_TRIED + own[0].text)
            if self._bench.ends(idea, finding):
                return replace(idea, tried=True)
            if repr(idea.remedies) not in once:  # what is for another finding is no way out of this one
                looked.append(idea)
        self._in_vain[id(finding)] = tuple(looked)
        # No edit that was tried did. Advice that takes a hand stands as it is, as it cannot be tried; an edit that was
        # tried in vain is only told as what may help together with more.
        by_hand = next((idea for idea in (finding.advice, *finding.others) if idea and not idea.remedies), None)
        if by_hand is not None:
            return by_hand
        return Advice(NONE_FOUND + finding.advice.text)

    def _moves(self, finding: Finding) -> Iterator[Advice]:
        layout = self._bench.layout
        if finding.stops and finding.rule in MOVABLE:
            from platekit.studies.moves import moves_of  # only here: few findings ask for a move

            yield from moves_of(layout, finding)
        yield from stock_drives(layout, finding)


def _has_more(layout: Layout, finding: Finding) -> bool:
    """Whether there are ways out that no rule thinks of: another place, or another stock drive."""
    return (finding.stops and finding.rule in MOVABLE) or mends(layout, finding) is not None


def _clash(one: Advice, other: Advice) -> bool:
    """Whether two edits give one field two values."""
    values = {remedy.field: remedy.value for remedy in one.remedies}
    return any(values.get(remedy.field, remedy.value) != remedy.value for remedy in other.remedies)
