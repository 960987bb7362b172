"""Any spec ends in exit code 0, 1 or 2 and sentences; and the same plate, written otherwise, has the same findings.

Over 2,000 specs are drawn from the whole language and 2,000 example files are spoilt; the same ones in every run, so
that a failure here is a change of the program. `python -m tests.adversary --seconds 600` draws others for as long as
wanted.
"""

from __future__ import annotations

import math
import random
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, find, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

import platekit
from platekit.checks import Finding, Verdict
from platekit.checks.rule import MOST_STOPS
from platekit.cli import Exit
from platekit.errors import PlatekitError
from platekit.geometry import Disc
from platekit.placed import Layout
from platekit.spec import with_value
from tests import strategies
from tests.adversary.runs import Outcome, accepted, faults, outcome, without, written
from tests.adversary.spoil import spoilt
from tests.strategies import AWKWARD, USUAL, Data, Mm, as_text, plates

SPECS = sorted((Path(platekit.__file__).parent.parent / "specs").glob("*.yaml"))
FIXED = settings(
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example],
)
"""The same specs in every run, however slow the machine; a failure is told as drawn, at once, and not made smaller."""


# --------------------------------------------------------------------------------------------- any spec


SLOW = ("fit-odds",)
"""Rules that draw thousands of plates by lot; half of the specs here are judged without them, to save the time."""


def usable_end(text: str | Path) -> Outcome:
    ended = outcome(text)
    assert not faults(ended)
    return ended


@settings(FIXED, max_examples=40)
@given(plates(USUAL).map(as_text))
def test_a_usual_plate_ends_in_a_verdict_or_a_sentence(text: str) -> None:
    usable_end(text)


@settings(FIXED, max_examples=260)
@given(plates(USUAL, moves=False).map(as_text))
def test_a_plate_without_travel_ends_in_a_verdict_or_a_sentence(text: str) -> None:
    with without(*SLOW):
        usable_end(text)


@settings(FIXED, max_examples=260)
@given(plates(USUAL, moves=True).map(as_text))
def test_a_plate_with_travel_ends_in_a_verdict_or_a_sentence(text: str) -> None:
    with without(*SLOW):
        usable_end(text)


@settings(FIXED, max_examples=320)
@given(plates(AWKWARD).map(as_text))
def test_awkward_figures_end_in_a_verdict_or_a_sentence(text: str) -> None:
    usable_end(text)


@settings(FIXED, max_examples=300)
@given(plates(AWKWARD, moves=True).map(strategies.in_inches).map(as_text))
def test_awkward_figures_in_inches_end_in_a_verdict_or_a_sentence(text: str) -> None:
    usable_end(text)


@settings(FIXED, max_examples=120)
@given(strategies.machines(USUAL).map(as_text))
def test_a_drive_ends_in_a_verdict_or_a_sentence(text: str) -> None:
    with without(*SLOW):
        usable_end(text)


def test_a_drive_along_the_plate_ends_in_a_verdict_or_a_sentence() -> None:
    """Motors on feet, told shafts, rails, hinges, packing, idlers; most of them come as far as a verdict."""
    codes = Counter[Exit]()
    lying = 0

    @settings(FIXED, max_examples=500)
    @given(strategies.countershafts(USUAL).map(as_text))
    def draw(text: str) -> None:
        nonlocal lying
        ended = usable_end(text)
        codes[ended.code] += 1
        lying += ended.layout is not None and ended.layout.belts[0].drawn.lies

    with without(*SLOW):
        draw()
    assert lying > 60, codes  # what is drawn depends on what else is loaded


def laid_out_of(drawn: SearchStrategy[Data], count: int, wanted: Callable[[Layout], bool]) -> int:
    """How many of so many drawn specs are laid out as wanted; all of them end in a verdict or a sentence."""
    laid = 0

    @settings(FIXED, max_examples=count)
    @given(drawn.map(as_text))
    def draw(text: str) -> None:
        nonlocal laid
        ended = usable_end(text)
        laid += ended.layout is not None and wanted(ended.layout)

    with without(*SLOW):
        draw()
    return laid


def test_shafts_in_line_end_in_a_verdict_or_a_sentence() -> None:
    """A coupling between a motor and a machine; most of them come as far as a verdict, with both shafts one line."""
    drawn = strategies.coupled(USUAL)
    assert laid_out_of(drawn, 120, lambda layout: any(one.possible for one in layout.couplings)) > 60


def test_a_guarded_belt_ends_in_a_verdict_or_a_sentence() -> None:
    """Guards of every make round a belt that there is; most of them come as far as a verdict."""
    assert laid_out_of(strategies.guarded(USUAL), 60, lambda layout: layout.guard is not None) > 30


def test_layers_and_spacers_end_in_a_verdict_or_a_sentence() -> None:
    """A ring or a second plate with what stands on it; most of them come as far as a verdict."""
    wanted = lambda layout: any(mount.layer is not None for mount in layout.mounts.values())  # noqa: E731
    assert laid_out_of(strategies.layered(USUAL), 120, wanted) > 60


def test_lugs_of_every_make_end_in_a_verdict_or_a_sentence() -> None:
    """Motors on feet that a jacking screw pushes, its lug welded, bolted or bent."""
    made = Counter[str]()

    def wanted(layout: Layout) -> bool:
        made.update(mount.jack.made for mount in layout.mounts.values() if mount.jack is not None)
        return True

    laid_out_of(strategies.countershafts(USUAL), 150, wanted)
    assert set(made) == {"welded", "bolted", "bent"}


@settings(FIXED, max_examples=500)
@given(strategies.odd_texts())
def test_slips_of_the_pen_end_in_a_verdict_or_a_sentence(text: str) -> None:
    usable_end(text)


@pytest.mark.parametrize("lot", range(8))
def test_spoilt_files_end_in_a_verdict_or_a_sentence(lot: int, tmp_path: Path) -> None:
    file = tmp_path / "spoilt.yaml"
    codes = Counter[Exit]()
    for number in range(250):
        rng = random.Random(f"{lot}/{number}")
        file.write_bytes(spoilt(rng.choice(SPECS).read_bytes(), rng))
        codes[usable_end(file).code] += 1
    assert set(codes) == {Exit.CLEAR, Exit.STOP, Exit.UNUSABLE}


@settings(FIXED, max_examples=20)
@given(plates(USUAL).map(as_text))
def test_whatever_is_judged_can_be_drawn(text: str) -> None:
    ended = outcome(text)
    if ended.layout is not None and ended.verdict is not None:
        told = written(ended.layout, accepted(ended.verdict, HARMLESS))
        assert not {name: said for name, said in told.items() if said}


HARMLESS = frozenset({"grip", "small-hole", "washer", "clash", "blocked", "stock-size", "tolerance"})
"""Rules whose stops do not change what a cut file holds; taken as accepted, so that more plates get one."""


@settings(FIXED, max_examples=8)
@given(plates(AWKWARD).map(as_text))
def test_awkward_plates_are_drawn_or_refused_in_a_sentence(text: str) -> None:
    ended = outcome(text)
    if ended.layout is not None and ended.verdict is not None:
        written(ended.layout, ended.verdict)


def tamed(spec: Data) -> Data:
    """A drawn spec with metric screws as long as they need be, its outline round what it carries, no cutouts."""
    plate = {key: value for key, value in spec["plate"].items() if key not in ("outline", "cutouts")}
    own = {"size": "M6", "head": "hex", "counterbore": False, "length": "auto", "depth": Mm(20.0), "flange": Mm(10.0)}
    placed = {}
    for name, mount in spec["mounts"].items():
        screws = mount.get("bolts", {})
        placed[name] = mount | {"bolts": screws | {key: own[key] for key in own if key in screws}}
    return spec | {"plate": plate, "mounts": placed}


def test_the_drawn_specs_reach_every_end() -> None:
    """So that the tests above are about plates, and not about texts that are turned down at once."""
    codes = {edged: Counter[Exit]() for edged in (False, True)}
    rules = Counter[str]()

    def draw(edged: bool) -> None:
        @settings(FIXED, max_examples=150)
        @given(plates(USUAL, edged=edged).map(as_text))
        def drawn(text: str) -> None:
            ended = usable_end(text)
            codes[edged][ended.code] += 1
            rules.update({finding.rule for finding in ended.verdict.findings} if ended.verdict else ())

        drawn()

    with without(*SLOW):
        draw(False)
        draw(True)
        # one in a hundred or so of all, more of those that are metric all through and as large as they need be
        assert find(
            plates(USUAL, edged=False).map(tamed).map(as_text),
            lambda text: usable_end(text).code is Exit.CLEAR,
            settings=settings(FIXED, max_examples=1000),
            random=random.Random(1),
        )
    assert codes[False][Exit.UNUSABLE] < 30
    assert codes[True][Exit.UNUSABLE] < 60  # tabs, feet and bent edges often do not suit the rest that is drawn
    assert {"overlap", "web", "edge", "clash", "grip", "small-hole", "sharp-corner", "pilot-over-bolts"} <= set(rules)


# --------------------------------------------------------------------------------------------- too much

PILED = """\
platekit: 1
title: Holes piled on each other
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {circle: {count: COUNT, diameter: 20}}
    bolts: {size: M8, into: part, depth: 20, washer: true}
"""


@pytest.mark.parametrize("count", [210, 900])
def test_holes_piled_on_each_other_are_told_up_to_a_limit(count: int) -> None:
    verdict = usable_end(PILED.replace("COUNT", str(count))).verdict
    assert verdict is not None
    assert not verdict.clear
    stops = Counter(finding.rule for finding in verdict.findings if finding.stops)
    assert stops["overlap"] == stops["clash"] == MOST_STOPS + 1
    last = [finding for finding in verdict.findings if not finding.features]
    assert {finding.rule for finding in last} >= {"overlap", "clash"}
    assert all(str(MOST_STOPS) in finding.message for finding in last)


def test_a_rule_with_too_many_stops_cannot_be_accepted_away() -> None:
    text = PILED.replace("COUNT", "60") + "accept:\n"
    both = (f"[machine.{one}, machine.{two}]" for two in range(2, 61) for one in range(1, two))
    text += "".join(f"  - {{rule: overlap, feature: {pair}, found: -99, because: gauged}}\n" for pair in both)
    verdict = usable_end(text).verdict
    assert verdict is not None
    assert [finding.features for finding in verdict.findings if finding.rule == "overlap" and finding.stops] == [()]


# --------------------------------------------------------------------------------------------- the same plate

SLIGHT = 1e-5
"""Two figures (mm) that differ by less are the same: inches and turned frames round differently."""
BORDERLINE = 5e-6
"""A finding this near to its limit (mm) may come and go with rounding."""


def by_meaning(verdict: Verdict, but_for: Iterable[str]) -> dict[tuple[object, ...], list[Finding]]:
    """The findings by what they are about."""
    found: dict[tuple[object, ...], list[Finding]] = defaultdict(list)
    for finding in verdict.findings:
        if finding.rule not in but_for:
            found[(finding.rule, finding.level, frozenset(finding.features))].append(finding)
    return found


def differences(one: Verdict, other: Verdict, but_for: Iterable[str] = ()) -> list[str]:
    """What the one verdict says and the other does not."""
    first, second = by_meaning(one, but_for), by_meaning(other, but_for)
    told = []
    for key in first.keys() | second.keys():
        a, b = first.get(key, []), second.get(key, [])
        if len(a) != len(b) and not all(_is_borderline(finding) for finding in (*a, *b)):
            told.append(f"{key}: {[f.message for f in a]} / {[f.message for f in b]}")
        told += [f"{x.message} / {y.message}" for x, y in zip(a, b, strict=False) if not _alike(x, y)]
    return told


def _is_borderline(finding: Finding) -> bool:
    return finding.found is not None and finding.needed is not None and abs(finding.found - finding.needed) < BORDERLINE


SPECK = 0.05
"""An edge shorter than this is rounding of the outline and no shape, mm."""


def shortest_edge(layout: Layout) -> float:
    """The length of the outline's shortest edge, mm."""
    outline = layout.outline
    return math.inf if isinstance(outline, Disc) else min(edge.length for edge in outline.loop().edges)


def _alike(a: Finding, b: Finding) -> bool:
    return all(
        (x is None) == (y is None) and (x is None or y is None or abs(x - y) <= SLIGHT * max(1.0, abs(x)))
        for x, y in ((a.found, b.found), (a.needed, b.needed))
    )


def assert_same_plate(spec: Data, same: Data, but_for: Iterable[str] = ()) -> None:
    with without(*SLOW):
        one, other = outcome(as_text(spec)), outcome(as_text(same))
    assert (one.verdict is None) == (other.verdict is None), (one.said, other.said)
    if one.verdict is None or other.verdict is None:
        return
    assert one.layout is not None
    assert other.layout is not None
    if min(shortest_edge(one.layout), shortest_edge(other.layout)) < SPECK:
        # where a hull leaves an edge of a few micrometres, rounding says which way its corner points
        but_for = (*but_for, "tip", "sharp-corner")
    assert one.verdict.clear == other.verdict.clear
    if not one.verdict.clear:
        # the proof of the file has a tolerance of its own (0.01 mm): in a plate that is stopped anyway, rounding may
        # say whether two lines lie within it
        but_for = (*but_for, "cut-file")
    assert not differences(one.verdict, other.verdict, but_for)
    assert one.layout.outline.area == pytest.approx(other.layout.outline.area, rel=1e-6)
    for opening, twin in zip(one.layout.openings, other.layout.openings, strict=True):
        assert opening.name == twin.name
        assert opening.size == pytest.approx(twin.size, abs=SLIGHT)
        assert opening.shape.area == pytest.approx(twin.shape.area, rel=1e-6)


@settings(FIXED, max_examples=50)
@given(plates())
def test_inches_and_millimetres_give_the_same_plate(spec: Data) -> None:
    """All but those that ask in which unit a figure was typed."""
    assert_same_plate(spec, strategies.in_inches(spec), ("mixed-units", "unusual", "standard"))


@settings(FIXED, max_examples=40)
@given(plates(), st.integers(-300, 300), st.integers(-300, 300))
def test_a_plate_that_is_moved_has_the_same_findings(spec: Data, x: int, y: int) -> None:
    assert_same_plate(spec, strategies.moved(spec, 0.0, x, y))


@settings(FIXED, max_examples=50)
@given(plates(), st.integers(-180, 180), st.integers(-300, 300), st.integers(-300, 300))
def test_a_plate_that_is_turned_has_the_same_findings(spec: Data, turn: int, x: int, y: int) -> None:
    """All but those on its upright size: whether it fits the sheet as it lies, and looks plausible."""
    assert_same_plate(spec, strategies.moved(spec, turn, x, y), ("stock-size", "mixed-units"))


@settings(FIXED, max_examples=50)
@given(plates())
def test_a_plate_turned_over_has_the_same_findings(spec: Data) -> None:
    """All but the sheet that it takes: the torch goes round outside in the same sense, so its way in lies elsewhere."""
    assert_same_plate(spec, strategies.mirrored(spec), ("stock-size",))


# --------------------------------------------------------------------------------------------- advice


def about(finding: Finding) -> tuple[object, ...]:
    """What a finding is about, figures left aside: a grip can be too short and too deep at once."""
    return (finding.rule, frozenset(finding.features), re.sub(r"-?\d[\d./]*", "#", finding.message))


def followed(text: str, finding: Finding) -> Verdict:
    """The verdict after the advice of a finding was followed."""
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    return platekit.check(platekit.lay_out(platekit.loads(text, "followed.yaml")))


@settings(FIXED, max_examples=40)
@given(plates().map(as_text))
def test_advice_that_is_followed_ends_its_finding(text: str) -> None:
    with without(*SLOW):
        advised(text)


def advised(text: str) -> None:
    found = outcome(text)
    if found.layout is None or found.verdict is None:
        return
    verdict = platekit.advised(found.layout, found.verdict)
    for finding in [f for f in verdict.findings if f.advice.tried][:6]:
        try:
            after = followed(text, finding)
        except PlatekitError as error:
            pytest.fail(f"{finding.message}: {finding.advice.text}: {error}")
        assert about(finding) not in map(about, after.findings), f"{finding.message}: {finding.advice.text}"
