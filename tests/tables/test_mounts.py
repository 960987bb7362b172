from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import LookupFailed
from platekit.tables import StandardMount, every_mount, families, mount, mounts_on_circle, names

EVERY = names()


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("NEMA 56C", "NEMA 56C"),
        ("nema 56 c", "NEMA 56C"),
        ("Nema-56-C", "NEMA 56C"),
        ("56C", "NEMA 56C"),
        ("NEMA MG 1 56C", "NEMA 56C"),
        ("NEMA 56C face", "NEMA 56C"),
        ("NEMA 145TC", "NEMA 145TC"),
        ("NEMA 182TC/184TC", "NEMA 182TC"),
        ("IEC 90 B14", "IEC 90 B14"),
        ("iec 90 b14 small", "IEC 90 B14"),
        ("IEC 90S B14", "IEC 90 B14"),
        ("IEC 90 B14 large", "IEC 90 B14 large"),
        ("iec90-b5", "IEC 90 B5"),
        ("IEC 90 V1", "IEC 90 B5"),
        ("90L B14A", "IEC 90 B14"),
        ("IEC 132M B14B", "IEC 132 B14 large"),
        ("IEC 71 IM B5", "IEC 71 B5"),
        ("FT115", "FT115"),
        ("ft 115", "FT115"),
        ("IEC 60072-1 FF165", "FF165"),
        ("FF-165", "FF165"),
        ("IEC 90L", "IEC 90L"),
        ("iec 90 l", "IEC 90L"),
        ("IEC 71 foot", "IEC 71"),
        ("145T", "NEMA 145T"),
        ("NEMA 56 foot", "NEMA 56"),
        ("NEMA 17", "NEMA 17"),
        ("stepper 23", "NEMA 23"),
        ("SAE A 2-bolt", "SAE A 2-bolt"),
        ("SAE A 2 bolt", "SAE A 2-bolt"),
        ("82-2", "SAE A 2-bolt"),
        ("ISO 3019-1 82-2", "SAE A 2-bolt"),
        ("SAE J744 101-4", "SAE B 4-bolt"),
        ("ISO 3019-2 100 A2 HW", "ISO 3019-2 100 A2"),
        ("SAE 3 flywheel housing", "SAE 3 housing"),
    ],
)
def test_a_designation_is_found_however_it_is_written(said: str, meant: str) -> None:
    assert mount(said).designation == meant


@pytest.mark.parametrize("name", EVERY)
def test_every_designation_and_every_alias_leads_somewhere(name: str) -> None:
    found = mount(name)
    assert found.designation == name
    for alias in found.aliases:
        assert name in _meanings(alias)


def _meanings(alias: str) -> tuple[str, ...]:
    try:
        return (mount(alias).designation,)
    except LookupFailed as ambiguous:
        return ambiguous.nearest


@given(
    name=st.sampled_from(EVERY),
    lower=st.booleans(),
    blank=st.sampled_from([" ", "", "-", "  ", "_"]),
    padding=st.sampled_from(["", " ", "\t"]),
)
def test_case_blanks_and_dashes_make_no_difference(name: str, lower: bool, blank: str, padding: str) -> None:
    digits_would_meet = any(a.isdigit() and b.isdigit() for a, _, b in zip(name, name[1:], name[2:], strict=False))
    written = name if digits_would_meet and blank == "" else name.replace(" ", blank)
    assert mount(padding + (written.lower() if lower else written.upper()) + padding).designation == name


@pytest.mark.parametrize(
    ("name", "both"),
    [
        ("NEMA 42", ("NEMA 42 foot", "NEMA 42 stepper")),
        ("56", ("NEMA 56", "IEC 56")),
        ("IEC 90", ("IEC 90S", "IEC 90L")),
        ("SAE B", ("SAE B 2-bolt", "SAE B 4-bolt")),
    ],
)
def test_a_designation_of_two_standards_names_both(name: str, both: tuple[str, str]) -> None:
    with pytest.raises(LookupFailed, match="more than one standard mount") as failure:
        mount(name)
    assert failure.value.nearest == both
    assert all(choice in str(failure.value) for choice in both)
    assert [mount(choice).designation for choice in both] == list(both)


@pytest.mark.parametrize(
    ("name", "nearest"),
    [("NEMA 57C", "NEMA 56C"), ("FF170", "FF165"), ("IEC 92 B14", "IEC 90 B14"), ("SAE G 2-bolt", "SAE A 2-bolt")],
)
def test_an_unknown_name_gets_the_three_nearest(name: str, nearest: str) -> None:
    with pytest.raises(LookupFailed, match="the nearest are") as failure:
        mount(name)
    assert failure.value.nearest[0] == nearest
    assert len(failure.value.nearest) == 3
    assert str(failure.value).count("\n") == 0


@pytest.mark.parametrize("name", ["", " ", "???", "NEMA", "IEC B14", "-", "NEMA 56C NEMA 56C"])
def test_nonsense_is_an_error_and_no_crash(name: str) -> None:
    with pytest.raises(LookupFailed):
        mount(name)


@given(st.text(max_size=30))
def test_any_text_is_found_or_refused(text: str) -> None:
    assert _meanings(text)


@pytest.mark.parametrize("name", EVERY)
def test_turning_by_the_symmetry_order_gives_the_pattern_back_and_no_smaller_turn_does(name: str) -> None:
    found = mount(name)

    def fits(angle: float) -> bool:
        cos, sin = math.cos(angle), math.sin(angle)
        turned = [(x * cos - y * sin, x * sin + y * cos) for x, y in found.points]
        return all(min(math.dist(a, b) for b in found.points) < 1e-6 for a in turned)

    assert fits(2 * math.pi / found.turn_order)
    assert not any(fits(2 * math.pi / n) for n in range(found.turn_order + 1, 33))


@pytest.mark.parametrize("name", EVERY)
def test_holes_are_counted_counter_clockwise_from_the_one_nearest_to_plus_x(name: str) -> None:
    angles = [math.atan2(y, x) % math.tau for x, y in mount(name).points]
    assert angles == sorted(angles)
    # among equally near ones the first is above the x axis
    assert min(angles) == angles[0]


@pytest.mark.parametrize("name", EVERY)
def test_points_agree_with_the_sizes_given(name: str) -> None:
    found = mount(name)
    across = max(x for x, _ in found.points) - min(x for x, _ in found.points)
    along = max(y for _, y in found.points) - min(y for _, y in found.points)
    if found.bolt_circle is not None:
        assert all(2 * math.hypot(*point) == pytest.approx(found.bolt_circle, abs=1e-6) for point in found.points)
    if found.width is not None:
        assert across == pytest.approx(found.width, abs=1e-6)
        assert along == pytest.approx(found.height, abs=1e-6)


def _body(found: StandardMount, name: str) -> tuple[float, float]:
    (span,) = [body.span for body in found.bodies if body.name == name]
    return span


def test_circles_told_by_the_tables_are_those_of_the_mounts() -> None:
    # the slow way, each mount built and asked, against the one that opens the tables only
    for circle in sorted({one.bolt_circle for one in every_mount() if one.bolt_circle is not None}):
        found = [one.designation for one in mounts_on_circle(circle, 0.25)]
        near = [one for one in every_mount() if one.bolt_circle and abs(one.bolt_circle - circle) <= 0.25]
        assert found == [one.designation for one in near]


def test_the_shaft_goes_through_the_plate_and_the_frame_away_from_it() -> None:
    found = mount("NEMA 56C")
    assert _body(found, "shaft") == pytest.approx((-2.06 * 25.4, 0.0))
    assert _body(found, "face")[0] == 0.0
    assert _body(found, "frame")[0] == _body(found, "face")[1]


def test_with_the_screws_inside_the_pilot_their_own_face_mates() -> None:
    found = mount("NEMA 182TC")
    assert found.screws_inside_pilot
    assert _body(found, "raised face") == pytest.approx((0.0, 6.35))
    assert _body(found, "face")[0] == pytest.approx(6.35)


def test_a_foot_mounted_shaft_lies_above_the_foot_plane_at_its_height() -> None:
    found = mount("IEC 90S")
    (shaft,) = [body for body in found.bodies if body.name == "shaft"]
    assert sum(shaft.span) / 2 == found.shaft_height == 90
    assert shaft.shape == ("rectangle", 24.0, 50.0)
    assert found.shaft_end_mm is not None
    assert shaft.at[1] + 25.0 == found.shaft_end_mm[1]
    assert {body.name for body in found.bodies} == {"shaft", "feet", "frame"}


def test_a_flange_by_its_own_name_has_no_shaft_and_says_who_carries_it() -> None:
    found = mount("FT115")
    assert found.shaft is None
    assert found.bodies == ()
    assert any("IEC 90 B14" in note and "IEC 71 B14 large" in note for note in found.notes)


def test_nominal_bodies_say_that_they_are_common_practice() -> None:
    (frame,) = [body for body in mount("IEC 90 B5").bodies if body.name == "frame"]
    assert frame.source.kind == "common practice"


def test_old_and_new_frames_of_one_number_differ_in_the_shaft() -> None:
    assert mount("NEMA 182").points == mount("NEMA 182T").points
    assert mount("NEMA 182").shaft != mount("NEMA 182T").shaft


def test_a_mount_is_looked_up_once() -> None:
    assert mount("NEMA 56C") is mount("56c")


def test_families_reach_from_the_first_to_the_last_frame_that_they_name() -> None:
    for family in families():
        short = [name.split()[1] if " " in name else name for name in family.entries()]
        for first, last in re.findall(r"(\w*\d\w*) to (\w*\d\w*)", family.about):
            kind = "FF" if first.startswith("FF") else "FT" if first.startswith("FT") else ""
            numbers = [re.sub(r"\D", "", name) for name in short if name.startswith(kind)]
            assert (numbers[0], numbers[-1]) == (re.sub(r"\D", "", first), re.sub(r"\D", "", last)), family.about


def test_families_hold_what_they_promise() -> None:
    for family in families():
        assert bool(family.entries()) == bool(family.files)  # the shop's own have no file of ours
        for designation in family.entries():
            assert mount(designation).family.startswith(family.name.rsplit(" ", 1)[0])
