"""Which reading is wrong, and what it should have been; or that several explanations suit, and what would settle it.

The words used here:

    blunder     a reading that is wrong by more than chance: typed wrongly, misread, taken at another hole
    left out    each reading in turn is left out and the rest adjusted again
    slip        a usual way of getting a reading wrong that would explain the value; see `explain`
    habit       all readings of a kind wrong in the same way; see `alike`
    story       one explanation: a reading left out, with the slip that explains it best, or a habit undone
    score       chi-square of the rest plus the cost of the slip: minus twice the logarithm of how probable a story is,
                up to what all have in common
    rivals      readings of other stories that suit about as well: the net cannot tell them apart

The score is that of Bayes' rule with flat priors for the places: what the rest of the readings is worth without the
blamed one is its chi-square, and a reading that may have had any value is worth as much less as that range is wider
than what the others allow. The shares of the slips are rough, so only a clear difference of scores counts.

The alarm is Baarda's data snooping. His choice, the largest normalised residual, is only a proposal here: where
residuals hang together it points at a neighbour of the wrong reading, and where a hole has settled on a wrong side it
points anywhere. So every reading that may be the one is left out in turn, which asks the question itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from itertools import combinations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.adjust import MANY_UNKNOWNS, settle, without
from platekit.survey.alike import all_of, exchanges, habits
from platekit.survey.arrange import Arrangement, arrangements
from platekit.survey.chance import chi_square_tail, two_sided
from platekit.survey.explain import Slip, cost_of_any, slips
from platekit.survey.model import Array, model_of
from platekit.survey.net import PAIR_KINDS, SEEN_KINDS, BadReading, Net, Reading, ReadingKind
from platekit.survey.order import ranking
from platekit.survey.result import Checked, Survey

FALSE_ALARM = 0.01
"""Probability that a net without any blunder gets a suspect. Ours; for ten readings it is one in a thousand each, the
level usual in surveying (Baarda, A testing procedure for use in geodetic networks, 1968)."""

HARDLY_CHECKED = 0.002
"""Redundancy number below which a reading is never suspected: nothing speaks about it. Ours."""

WORTH_TRYING, WORTH_TRYING_GROSS = 0.5, 0.02
"""Share of the largest drop in chi-square (its normalised residual squared) that a reading must promise before it is
left out on trial. Ours: the promise is exact but for curvature, which is slight on the scale of a blunder
but not on that of a gross one."""

MOST_LARGE, MOST_AFRESH_LARGE = 6, 2
"""In a net of many unknowns, the most readings that are left out on trial, those that promise most, and for how many of
them the start is made anew: each takes a survey of its own (ours)."""

GROSS = 15.0
"""Normalised residual from which the whole start is made anew, as the holes may have settled on a wrong side. Ours."""

RIVAL, RIVAL_BLIND = 6.0, 10.0
"""Score by which two stories must differ before one of them is believed: odds of twenty to one, and more where nothing
is to spare without the blamed reading: then every reading can be blamed, and only the shares of slips, which are rough,
tell them apart. Ours, tried on nets with known blunders."""

FEW_SPARE = 3
"""Readings to spare, without the blamed one, up to which a habit may pass for a single blunder (ours)."""

SETTLES = 6.0
"""Sigmas by which a further reading must differ between two stories to settle which is true. Ours."""


ALIKE_SIZES, LIKE_ITS_FELLOWS = 0.25, 6.0
"""mm within which a hole is as wide as others of its pattern, and what it costs to blame its diameter all the same: a
slip lands on the size that two of its fellows have once in twenty times. Ours."""

MOST_STORIES = 3
"""Explanations that are told in full (ours): who has measured once more, as advised, has fewer."""


class Settling(Struct, frozen=True):
    """A reading that shows which story is true: what it would be, mm, by each of `Suspect.stories`."""

    features: tuple[str, ...]
    kind: ReadingKind
    values: tuple[float, ...]


class Suspect(Struct, frozen=True):
    """The reading that is most likely wrong.

    `index` is its place in `Net.all_readings`; `likely` the value, mm, that it probably should have had and `sigma` its
    standard deviation as the others predict it; `why` one sentence. `probability` is that of the rest's chi-square.
    `alike` are the places of all readings that are wrong in the same way, where it is not one alone, and `mended` what
    they should be. `rivals` are those that could as well be the wrong one. `stories` says every explanation that suits
    about as well, the likeliest first; with more than one, `settles` is the reading that shows which is true.
    """

    index: int
    reading: Reading
    likely: float
    predicted: float
    sigma: float
    why: str
    slips: tuple[Slip, ...]
    probability: float
    rivals: tuple[int, ...]
    alike: tuple[int, ...] = ()
    mended: tuple[Reading, ...] = ()
    stories: tuple[str, ...] = ()
    settles: Settling | None = None

    @property
    def sure(self) -> bool:
        """Whether no other explanation suits about as well."""
        return len(self.stories) < 2

    def told(self) -> tuple[str, ...]:
        """The first explanations, numbered, and how many more there are."""
        numbered = tuple(f"({k}) {story}" for k, story in enumerate(self.stories[:MOST_STORIES], 1))
        more = len(self.stories) - MOST_STORIES
        return (*numbered, f"and {more} more") if more > 0 else numbered

    def told_values(self, say: Callable[[float], str]) -> str:
        """What the settling reading would be by each of the explanations told, as `say` puts a length (mm)."""
        by_value: dict[str, list[str]] = {}
        for k, value in enumerate(() if self.settles is None else self.settles.values[:MOST_STORIES], 1):
            by_value.setdefault(say(value), []).append(f"({k})")
        return "; ".join(f"{value} if {' or '.join(which)} is true" for value, which in by_value.items())

    @property
    def doubted(self) -> tuple[int, ...]:
        """The places of all readings that may be wrong."""
        return tuple(sorted({self.index, *self.rivals, *self.alike}))

    def __str__(self) -> str:
        return "; or ".join(self.stories)


class _Story(Struct, frozen=True, eq=False):
    """One explanation: the readings that it blames, what the rest comes to, and how well it suits.

    `spent` is how many readings it does without.
    """

    indices: tuple[int, ...]
    found: Arrangement
    score: float
    said: str
    why: str
    predicted: float
    sigma: float
    slips: tuple[Slip, ...] = ()
    mended: tuple[Reading, ...] = ()
    spent: int = 1

    @property
    def index(self) -> int:
        """The place of the first reading that it blames."""
        return self.indices[0]

    @property
    def possible(self) -> bool:
        """Whether the reading can be what the others say: a length is above zero."""
        rows = self.found.model
        return self.predicted > 0.0 or self.index in rows.axis_rows or self.index in rows.seen_rows


class _Repaired(Struct, frozen=True, eq=False):
    """The rest adjusted without one reading."""

    index: int
    found: Arrangement
    sigma: float

    @property
    def chi_square(self) -> float:
        """What the rest comes to, a sum of squares in sigmas."""
        return self.found.chi_square


def suspect(survey: Survey) -> Suspect | None:
    """The reading (mm) that is most likely wrong; None when all agree as well as chance allows, or no story mends it.

    A reading that no other checks is never named. Data snooping: the alarm is the largest normalised residual or the
    chi-square of the whole; the choice is by leaving out each candidate and adjusting the rest again.
    """
    largest = max((abs(r.normalised) for r in survey.readings if r.normalised is not None), default=0.0)
    alarm = two_sided(FALSE_ALARM / max(len(survey.readings), 1))
    # Two alarms: one reading far out, or all a little too far. Either alone would miss the other's kind.
    if largest <= alarm and survey.probability > FALSE_ALARM:
        return None
    known = [r for r in survey.readings if r.normalised is not None and r.redundancy > HARDLY_CHECKED]
    gross = largest > GROSS
    share = WORTH_TRYING_GROSS if gross else WORTH_TRYING
    # without a reading chi-square drops by its normalised residual squared, in a linear model exactly
    least = share * max((_promise(r) for r in known), default=0.0) - RIVAL
    worth = [r for r in known if _promise(r) >= least]
    # Each trial is an adjustment of its own, so in a large net only the most promising are tried.
    large = len(survey.adjusted.unknowns) > MANY_UNKNOWNS
    if large:
        worth = [worth[k] for k in sorted(ranking([-_promise(r) for r in worth])[:MOST_LARGE])]
    trials: list[_Repaired] = []
    for r in worth:
        # the rest adjusted from where all were; sigma is that of the reading against what the others predict
        model = without(survey.adjusted.model, (r.index,))
        sigma = float(survey.adjusted.model.sigma[r.index]) / math.sqrt(float(survey.adjusted.redundancy[r.index]))
        trials.append(_Repaired(r.index, Arrangement(model, *settle(model, survey.adjusted.unknowns)), sigma))
    # Those after which the rest is no worse than chance: where exactly one is, it needs no second look.
    fitting = [trial for trial in trials if trial.chi_square <= _allowed(survey.dof - 1)]
    if gross and len(fitting) != 1:
        # a gross blunder can put holes on a wrong side: from starts of their own, every way that suits
        afresh = set(ranking([trial.chi_square for trial in trials])[: MOST_AFRESH_LARGE if large else len(trials)])
        tried: list[_Repaired] = []
        for k, trial in enumerate(trials):
            try:
                ways = arrangements(survey.net, (trial.index,)) if k in afresh else []
            except BadReading:
                ways = []
            if ways and ways[0].chi_square <= trial.chi_square + 1.0:
                tried += [_Repaired(trial.index, one, trial.sigma) for one in ways]
            else:
                tried.append(trial)
        trials = tried
    seen = _seen_stories(survey, gross)
    if gross and survey.net.has_picture:
        seen += _exchanged_stories(survey)
    found = _suspect_of(survey.net, trials, survey.dof - 1, seen) if trials or seen else None
    return found if found is not None and found.probability > FALSE_ALARM else None


def _promise(reading: Checked) -> float:
    """By how much chi-square should drop without this reading."""
    return (reading.normalised or 0.0) ** 2


def suspect_among(net: Net, indices: tuple[int, ...]) -> Suspect | None:
    """The one of these readings without which all others agree; None when there is none.

    For nets that cannot be solved as they stand, because a triangle is none. `indices` are places in
    `Net.all_readings`; lengths are mm.
    """
    model = model_of(net)
    spare = model.counted - model.unknowns + 3  # readings more than unknowns; shift and turn of the whole need none
    trials: list[_Repaired] = []
    for index in indices if spare >= 1 else ():
        try:
            found = arrangements(net, (index,))
        except BadReading:
            continue
        for one in found:
            sigma = _spread(one, index, net.sigma_of(net.all_readings[index]))
            if math.isfinite(sigma) and one.chi_square <= _allowed(spare - 1):
                trials.append(_Repaired(index, one, sigma))
    return _suspect_of(net, trials, spare - 1)


def _allowed(dof: int) -> float:
    """A chi-square that good readings hardly exceed: mean plus four standard deviations (sqrt(2 dof))."""
    return max(dof, 0) + 4.0 * math.sqrt(2.0 * max(dof, 0)) + 1e-6


def _spread(found: Arrangement, index: int, sigma: float) -> float:
    """Sigma of the difference between a reading left out and what the others predict; endless when they cannot."""
    # the reading's row as a sum of the rows of the others: the shares are what it takes of each of their errors, and
    # where no sum makes the row, the others leave the reading open
    row = found.model.jacobian(found.unknowns)[index]
    slope = found.model.whitened(found.model.jacobian(found.unknowns))
    shares = np.linalg.lstsq(slope.T, row, rcond=1e-9)[0]
    if np.abs(slope.T @ shares - row).max(initial=0.0) > 1e-6 * np.abs(row).max(initial=1e-12):
        return math.inf
    return math.hypot(float(np.linalg.norm(shares)), sigma)


# Stories ------------------------------------------------------------------------------------------------------------


def _single_story(net: Net, trial: _Repaired) -> _Story:
    """The story of one wrong reading, with the slip that explains it best."""
    reading, found = net.all_readings[trial.index], trial.found
    predicted = float(found.model.predict(found.unknowns)[trial.index])
    places, radii = _geometry(found)
    kinds: dict[str, float] = {}  # what a reading of another kind between the same two holes would be
    others: dict[str, float] = {}  # what the same kind of reading would be if one end were at another hole
    alike = 0
    if reading.kind == "diameter":
        own = reading.features[0]
        others = {name: 2.0 * radius for name, radius in radii.items() if name != own}
        same = [one for one in net.features if one.name != own and one.kind == "hole" and one.diameter is not None]
        alike = sum(abs((one.diameter or 0.0) - reading.value) <= ALIKE_SIZES for one in same)
    elif reading.kind in PAIR_KINDS:
        a, b = reading.features
        if a in radii and b in radii:
            of_kind = {kind: _value(kind, a, b, places, radii) for kind in ("inside", "over", "centres")}
            kinds = {kind: value for kind, value in of_kind.items() if kind != reading.kind}
            # What a shop measures when it forgets one radius, or adds it twice.
            near = of_kind["centres"]
            kinds |= {"one radius": near - radii[b], "one radius more": near + radii[b]}
        others = {
            f"{kept}-{other}": _value(reading.kind, kept, other, places, radii)
            for kept in reading.features
            for other in places
            if other not in reading.features and (reading.kind == "centres" or {kept, other} <= set(radii))
        }
    # what comes off a picture was typed by nobody
    typed = reading.kind not in SEEN_KINDS
    explained = slips(reading, predicted, trial.sigma, kinds=kinds, others=others, unit=net.unit) if typed else ()
    off = reading.value - predicted
    # A slip that explains the value is believed only where it is likelier than any blunder at all.
    cost = cost_of_any(off, trial.sigma)
    if explained and explained[0].cost <= cost:
        cost, why = explained[0].cost, explained[0].why
    else:
        again = "look at its edge in the picture" if reading.kind in SEEN_KINDS else "measure it again"
        explained, why = (), f"off by {'-' if off < 0.0 else '+'}{net.say(abs(off))}; {again}"
    spread = f"{net.say(predicted)} +-{net.say(2.0 * trial.sigma)}"
    said = f"{net.told(reading)} is wrong: the others say {spread}: {why}"
    cost += LIKE_ITS_FELLOWS if alike >= 2 else 0.0
    return _Story((trial.index,), found, found.chi_square + cost, said, why, predicted, trial.sigma, explained)


def _seen_stories(survey: Survey, gross: bool) -> list[_Story]:
    """Each hole in a picture left out with both its readings: who sees the wrong edge is wrong both ways at once."""
    net, found = survey.net, []
    for name in survey.names:
        both = [r for r in survey.readings if r.reading.kind in SEEN_KINDS and r.reading.features == (name,)]
        if len(both) != 2 or any(r.normalised is None or r.redundancy <= HARDLY_CHECKED for r in both):
            continue
        indices = (both[0].index, both[1].index)
        model = without(survey.adjusted.model, indices)
        rest = Arrangement(model, *settle(model, survey.adjusted.unknowns))
        if gross:
            with suppress(BadReading):
                rest = min(arrangements(net, indices)[0], rest, key=lambda one: round(one.chi_square, 6))
        there = rest.model.predict(rest.unknowns)[list(indices)].tolist()
        off = [r.reading.value - value for r, value in zip(both, there, strict=True)]
        sigmas = [_spread(rest, index, r.sigma) for index, r in zip(indices, both, strict=True)]
        if not all(map(math.isfinite, sigmas)):
            continue
        away = net.say(math.hypot(*off))
        why = f"off by {away}; look at its edge in the picture, or measure it by caliper"
        found.append(
            _Story(
                indices=indices,
                found=rest,
                score=rest.chi_square + sum(map(cost_of_any, off, sigmas)),
                said=f"{name} is wrong in the picture: the others have it {away} away: look at its edge there, or "
                "measure it by caliper",
                why=why,
                predicted=there[0],
                sigma=sigmas[0],
                mended=tuple(replace(r.reading, value=value) for r, value in zip(both, there, strict=True)),
                spent=2,
            )
        )
    return found


def _exchanged_stories(survey: Survey) -> list[_Story]:
    """Each two holes of a picture under each other's name: who clicks the wrong one is wrong in four readings."""
    found = []
    for one in exchanges(survey.net):
        if one.found.chi_square <= _allowed(survey.dof):
            reading = survey.net.all_readings[one.indices[0]]
            found.append(
                _Story(
                    indices=one.indices,
                    found=one.found,
                    score=one.found.chi_square + one.cost,
                    said=f"{' and '.join(one.names)} have each other's place in the picture: look which is which",
                    why="two holes of the picture have each other's name",
                    predicted=float(one.found.model.predict(one.found.unknowns)[one.indices[0]]),
                    sigma=survey.net.sigma_of(reading),
                    mended=tuple(one.net.all_readings[index] for index in one.indices),
                    spent=0,
                )
            )
    return found


def _suspect_of(net: Net, trials: list[_Repaired], dof: int, seen: list[_Story] | None = None) -> Suspect | None:
    """The best story, with those that suit about as well; `dof` is what is to spare without one reading.

    `seen` are stories of holes that a picture has in a wrong place.
    """
    stories = [story for story in (_single_story(net, trial) for trial in trials) if story.possible]
    stories += seen or []
    fitting = any(story.found.chi_square <= _allowed(dof + 1 - story.spent) for story in stories)
    if not fitting or dof <= FEW_SPARE:
        # no single reading does, or too little is to spare to tell: a habit may be behind it
        for habit in habits(net):
            if habit.found.chi_square > _allowed(dof + 1):
                continue
            reading = net.all_readings[habit.indices[0]]
            stories.append(
                _Story(
                    indices=habit.indices,
                    found=habit.found,
                    score=habit.found.chi_square + habit.cost,
                    said=f"{all_of(net, habit.indices)} {habit.why}",
                    why=habit.why,
                    predicted=float(habit.found.model.predict(habit.found.unknowns)[habit.indices[0]]),
                    sigma=net.sigma_of(reading),
                    mended=tuple(habit.net.all_readings[index] for index in habit.indices),
                    spent=0,
                )
            )
    if not stories:
        return None
    stories = [stories[k] for k in ranking([story.score for story in stories])]
    # With nothing to spare the misfits of all stories are zero: only how usual each slip is speaks, and that softly.
    reach = RIVAL if dof > 0 else RIVAL_BLIND
    near: list[_Story] = []
    for story in stories:
        if story.score - stories[0].score < reach and story.indices not in [one.indices for one in near]:
            near.append(story)
    rivals = near if dof > 0 or len(near) == 1 else stories  # with nothing to spare every reading can be blamed
    best = near[0]
    reading = net.all_readings[best.index]
    single = len(best.indices) == 1
    return Suspect(
        index=best.index,
        reading=reading,
        likely=best.slips[0].likely if best.slips else best.predicted,
        predicted=best.predicted,
        sigma=best.sigma,
        why=best.why,
        slips=best.slips,
        probability=chi_square_tail(best.found.chi_square, dof + 1 - best.spent),
        rivals=tuple(sorted({story.index for story in rivals if len(story.indices) == 1} - {best.index})),
        alike=() if single else best.indices,
        mended=best.mended,
        stories=tuple(story.said for story in near),
        settles=_settling(net, near) if len(near) > 1 else None,
    )


def _settling(net: Net, stories: list[_Story]) -> Settling | None:
    """The reading between two holes that tells most of the other stories from the first; None if none does.

    Of those that tell as many, the one that tells most of all of them apart, then the one that tells them farthest.
    """
    places, radii = zip(*(_geometry(story.found) for story in stories), strict=True)
    involved = dict.fromkeys(
        name for story in stories for index in story.indices for name in net.all_readings[index].features
    )
    names = [name for name in involved if name in places[0]]
    sized = [name for name in names if all(name in own for own in radii)]
    # Two values are compared, each as uncertain as one reading.
    sigma = math.sqrt(2.0) * net.sigma_of(Reading((), "centres", 0.0))
    best: tuple[tuple[int, int, float], Settling] | None = None
    for a, b in combinations(names, 2):
        # a shop reads inside more easily than from centre to centre, which takes both diameters
        kind: ReadingKind = "inside" if a in sized and b in sized else "centres"
        values = [_value(kind, a, b, own, size) for own, size in zip(places, radii, strict=True)]
        first = [gap for value in values[1:] if (gap := abs(value - values[0]) / sigma) >= SETTLES]
        if min(values) <= 0.0 or not first:
            continue
        told = sum(abs(one - other) / sigma >= SETTLES for one, other in combinations(values, 2))
        merit = len(first), told, round(min(first), 6)
        if best is None or merit > best[0]:
            best = merit, Settling((a, b), kind, tuple(values))
    return None if best is None else best[1]


# What other readings would have been --------------------------------------------------------------------------------


def _geometry(found: Arrangement) -> tuple[dict[str, Array], dict[str, float]]:
    """Place and radius (mm) of each hole, by name; radii only of those with a known size."""
    model, u = found.model, found.unknowns
    places = dict(zip(model.names, model.points(u), strict=True))
    radii = dict(zip(model.sized, (model.sizes(u) / 2.0).tolist(), strict=True))
    return places, radii


def _value(kind: str, a: str, b: str, places: dict[str, Array], radii: dict[str, float]) -> float:
    """What a reading of a kind between two holes would be, mm."""
    distance = float(np.hypot(*(places[a] - places[b])))
    own = radii.get(a, 0.0) + radii.get(b, 0.0)
    return distance + {"inside": -own, "over": own, "centres": 0.0}[kind]
