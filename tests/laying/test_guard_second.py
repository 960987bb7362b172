"""A guard for each of two belts: parts, papers, order, what they keep off, what is advised and refused."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.analysis.assembly import assembly
from platekit.analysis.parts_list import pieces_of
from platekit.checks.guard import guard as rule
from platekit.drawing.from_side import side_views
from platekit.errors import PlatekitError, SpecError
from platekit.export.bench.commissioning import before_power, screw_rows
from platekit.export.publishing import every_cut_suffix, publish
from platekit.geometry import covers, edge_distance
from platekit.laying.flat_parts import flat_parts
from platekit.laying.guard_plane import in_plane
from platekit.spec import with_value
from tests import strategies
from tests.laying.two_belts import BESIDE, BOTH, FAN, OWN, SHUTTER, changed

SIDES = changed(
    BESIDE,
    ("{on: fan, pitch_diameter: 100, span: [-70, -50]}", "{on: fan, pitch_diameter: 100, span: [20, 40]}"),
    ("{on: roll, pitch_diameter: 100, span: [-70, -50]}", "{on: roll, pitch_diameter: 100, span: [20, 40]}"),
    (
        "fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-72, 0]",
        "fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-42, 42]",
    ),
    (
        "roll shaft: {carried_by: roll, shape: {circle: {diameter: 25}}, span: [-72, 0]",
        "roll shaft: {carried_by: roll, shape: {circle: {diameter: 25}}, span: [-1, 42]",
    ),
    (BOTH, "guard: {gap: 25, thickness: 2}\nsecond_guard: {gap: 18, thickness: 1.5}\n"),
)
"""A belt on either side of the plate, from the same middle shaft, each under its own guard."""


def laid(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "two.yaml"))


def told(text: str) -> list[platekit.Finding]:
    return list(rule(laid(text)))


@pytest.mark.parametrize("text", [FAN, SIDES], ids=["along", "square"])
def test_each_belt_is_under_its_own_guard_and_none_is_left_bare(text: str) -> None:
    layout = laid(text)
    assert [(one.name, one.field, one.belts) for one in layout.guards] == [
        ("guard", "guard", ("drive",)),
        ("second guard", "second_guard", ("second",)),
    ]
    for guard in layout.guards:
        for body in layout.bodies:
            if body.belt in guard.belts:
                shape, (low, high) = in_plane(guard.drawn, body)
                assert covers(guard.outline, shape)
                assert edge_distance(shape, guard.outline).distance >= guard.gap - 1e-6
                assert guard.z[0] <= low
                assert high <= guard.z[1]
    assert not [one for one in rule(layout) if "no guard" in one.message]
    assert not [line for line in before_power(layout) if "made by local rules" in line]


def test_the_example_with_a_guard_at_either_end_of_its_countershaft_is_clear_to_cut() -> None:
    layout = laid(FAN)
    one, other = layout.guards
    assert one.outward == -other.outward
    assert one.z[1] < other.z[0] or other.z[1] < one.z[0]
    verdict = platekit.check(layout)
    assert verdict.clear
    assert not verdict.open("warn")


@settings(max_examples=12)
@given(st.integers(8, 40), st.integers(8, 40), st.sampled_from(["bent", "rolled", "segments"]), st.integers(0, 359))
def test_two_guards_on_both_sides_of_a_plate_keep_their_own_gaps(gap: int, other: int, made: str, angle: int) -> None:
    x, y = 300 * math.cos(math.radians(angle)), 300 * math.sin(math.radians(angle))
    text = changed(
        SIDES,
        ("guard: {gap: 25", f"guard: {{gap: {gap}, band_made: {made}"),
        ("second_guard: {gap: 18", f"second_guard: {{gap: {other}, band_made: {made}"),
        ("at: [-300, 0]", f"at: [{x:.4f}, {y:.4f}]"),
    )
    try:
        layout = laid(text)
    except SpecError:
        return
    for guard, kept in zip(layout.guards, (gap, other), strict=True):
        for body in layout.bodies:
            if body.belt in guard.belts:
                assert edge_distance(body.swept, guard.outline).distance >= kept - 1e-6
    near = [
        body for body in layout.bodies if body.kind == "guard" and body.name.startswith("guard.") and not body.of_screw
    ]
    far = [body for body in layout.bodies if body.name.startswith("second guard.") and not body.of_screw]
    assert min(body.z[0] for body in near) >= 0 > -8 >= max(body.z[1] for body in far)


PLAIN = changed(SIDES, ("\nguard: {gap: 25, thickness: 2}\nsecond_guard: {gap: 18, thickness: 1.5}\n", "\n"))
one_guard = strategies.guards(strategies.USUAL)


@settings(max_examples=20)
@given(st.sampled_from([PLAIN, changed(BESIDE, (BOTH, ""))]), one_guard, one_guard, st.booleans())
def test_two_guards_of_any_words_are_refused_in_words_or_judged(
    text: str, one: strategies.Data, two: strategies.Data, swapped: bool
) -> None:
    one = {**one, "belt": "second"} if swapped else one
    two = {**two, "belt": "drive"} if swapped else two
    try:
        layout = laid(text + strategies.as_text({"guard": one, "second_guard": two}))
    except PlatekitError:  # in words, which nothing else may come instead of
        return
    assert [guard.belts for guard in layout.guards] == (
        [("second",), ("drive",)] if swapped else [("drive",), ("second",)]
    )
    assert not [one for one in rule(layout) if "no guard is described" in one.message]
    own = {f"{guard.name}." for guard in layout.guards}
    assert {body.name[: body.name.index(".") + 1] for body in layout.bodies if body.kind == "guard"} == own


def test_each_has_parts_holes_files_and_lines_of_its_own() -> None:
    layout = laid(SIDES)
    assert {name for name in flat_parts(layout) if "guard" in name} == {
        f"{guard}-{part}" for guard in ("guard", "second-guard") for part in ("back", "band", "cover")
    }
    assert {flat_parts(layout)[name].thickness for name in ("guard-band", "second-guard-band")} == {2.0, 1.5}
    holes = [opening for opening in layout.openings if opening.role == "fixing"]
    assert {opening.name for opening in holes} == {
        f"{guard}.ear {k}" for guard in ("guard", "second guard") for k in (1, 2, 3, 4)
    }
    assert {opening.field for opening in holes} == {"guard.fixings", "second_guard.fixings"}
    assert {piece.part for piece in pieces_of(layout) if "guard" in piece.part} == {"guard", "second guard"}
    assert [row[0] for row in screw_rows(layout)][-4:] == [
        "guard",
        "guard's cover",
        "second guard",
        "second guard's cover",
    ]
    assert {".second-guard-cover.cut.dxf", ".guard-cover.cut.dxf"} <= set(every_cut_suffix())
    seen = {part.name for view in side_views(layout) for part in view.parts}
    assert {"guard.cover", "second guard.cover", "guard.band", "second guard.band"} <= seen


def test_what_goes_on_when() -> None:
    order = [step.item for step in assembly(laid(SIDES)).steps]
    on = {item: order.index(item) for item in order}
    for guard, belt in (("guard", "drive.belt"), ("second guard", "second.belt")):
        assert on[guard] < on[belt] < on[f"{guard}.cover"]


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_ears_of_guards_back_to_back_keep_clear_of_each_other(count: int) -> None:
    words = f"fixings: {{count: {count}}}, "
    text = changed(SIDES, ("{gap: 25", f"{{{words}gap: 25"), ("{gap: 18", f"{{{words}gap: 18"))
    layout = laid(text)
    assert [len(guard.ears) for guard in layout.guards] == [count, count]
    assert not platekit.check(layout).open("stop")


def test_the_files_of_both_are_written(tmp_path: Path) -> None:
    layout = laid(SIDES)
    made = publish(layout, platekit.check(layout), tmp_path)
    names = {path.name for path in made.written}
    for guard in ("guard", "second-guard"):
        for part in ("back", "band", "cover"):
            assert {f"two.{guard}-{part}.cut.dxf", f"two.{guard}-{part}.template.pdf"} <= names


@pytest.mark.parametrize(
    "text",
    [changed(SIDES, ("second_guard: {gap: 18, thickness: 1.5}\n", "")), changed(FAN, (OWN, ""))],
    ids=["square", "along"],
)
def test_a_second_belt_that_no_one_guard_covers_is_advised_its_own(text: str) -> None:
    (bare,) = [one for one in told(text) if "no guard is described" in one.message]
    ((remedy,), *_) = [idea.remedies for idea in (bare.advice, *bare.others) if idea.remedies]
    assert remedy.field == "second_guard"
    mended = with_value(text, remedy.field, remedy.value)
    assert not [one for one in told(mended) if "no guard is described" in one.message]
    stops = [one for one in told(mended) if one.level == "stop"]
    if "shutter" in text:  # the slot for its travelling shaft, closed by a sheet under a name of its own
        assert "bodies.countershaft shutter 2" not in text
    for one in stops:
        assert one.message.startswith("second guard: ")


def test_the_slot_round_a_shaft_that_travels_is_closed_by_one_more_sheet() -> None:
    text = changed(FAN, (SHUTTER, ""))
    (slot,) = [one for one in told(text) if one.level == "stop"]
    assert slot.message.startswith("second guard: its back plate is open round shaft")
    (remedy,) = slot.advice.remedies
    assert remedy.field == "bodies.countershaft shutter 2"
    assert not [one for one in told(with_value(text, remedy.field, remedy.value)) if one.level == "stop"]


BELOW = changed(SIDES, ("second_guard: {gap: 18", "second_guard: {gap: 18, OPEN"))


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ("openings: {shape: slot, width: 12}", "second_guard.band"),
        ("fixings: {count: 26}", "second_guard.fixings.count"),
        ("material: acrylic", "second_guard.material"),
        ("fixings: {hole: 2}", "second_guard.fixings.hole"),
        ("back: none, back_from_plate: 11", "second_guard.back_from_plate"),
    ],
)
def test_what_is_wrong_with_the_second_one_is_mended_there(words: str, field: str) -> None:
    text = changed(BELOW, ("OPEN", words))
    found = [one for one in told(text) if one.message.startswith("second guard: ")]
    assert found
    assert not [one for one in told(text) if one.message.startswith("guard: ")]
    assert field in {remedy.field for one in found for remedy in one.advice.remedies}
    for remedy in found[0].advice.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert found[0].message not in {one.message for one in told(text)}


def test_guards_that_run_into_each_other_are_stopped() -> None:
    text = changed(BESIDE, (BOTH, "guard: {gap: 25}\nsecond_guard: {gap: 25}\n"))
    met = [one for one in platekit.check(laid(text)).findings if one.rule == "clash" and one.level == "stop"]
    pairs = {frozenset(name.split(".")[0] for name in one.features) for one in met}
    assert frozenset({"guard", "second guard"}) in pairs
    assert any("second.belt" in one.message and "guard.band" in one.message for one in met)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "second_guard: {gap: 18",
            "second_guard: {belt: drive, gap: 18",
            "second_guard.*'drive', which `guard` covers",
        ),
        ("guard: {gap: 25", "guard: {belt: second, gap: 25", "second_guard.*'second', which `guard` covers"),
        ("gap: 18", "gap: 18, split: [driven], back: none", "second_guard.split"),
        ("gap: 18", "gap: 18, band: 3", "second_guard.band"),
    ],
)
def test_what_is_no_second_guard_is_refused_at_its_own_words(old: str, new: str, said: str) -> None:
    with pytest.raises(SpecError, match=said):
        laid(SIDES.replace(old, new, 1) if not old.startswith("guard") else changed(SIDES, ("\n" + old, "\n" + new)))
