from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import LookupFailed
from platekit.tables import (
    drill,
    drills,
    engagement,
    fit_limits,
    gauge,
    gauge_source,
    iso286,
    material,
    materials,
    nearest_drill,
    property_class,
    torque,
)
from platekit.tables.drills import SYSTEMS


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("13/32", "13/32"),
        ('13/32"', "13/32"),
        ("1 1/32 in", "1-1/32"),
        ("#7", "#7"),
        ("no. 7", "#7"),
        ("f", "F"),
        ("6.8", "6.8 mm"),
        ("6.8 mm", "6.8 mm"),
        ("7.0", "7 mm"),
        ("26/64", "13/32"),
    ],
)
def test_a_drill_is_found_however_it_is_written(said: str, name: str) -> None:
    assert drill(said).name == name


@pytest.mark.parametrize("said", ["6.83", "#90", "13/33", "AA", "", "-", "1/0"])
def test_no_stock_drill(said: str) -> None:
    with pytest.raises(LookupFailed, match="the nearest are"):
        drill(said)


@given(st.floats(1.0, 45.0))
def test_the_nearest_drill_is_on_the_side_asked_for_and_none_is_nearer(size: float) -> None:
    above, below = nearest_drill(size), nearest_drill(size, at_or_above=False)
    assert below.diameter - 1e-6 <= size <= above.diameter + 1e-6
    for system in SYSTEMS:
        assert not [d for d in drills(system) if below.diameter + 1e-6 < d.diameter < above.diameter - 1e-6]


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_drill_is_its_own_nearest(system: str) -> None:
    for one in drills(system):
        assert nearest_drill(one.diameter, systems=(one.system,)) == one
        assert nearest_drill(one.diameter, at_or_above=False, systems=(one.system,)) == one
        assert drill(one.name if one.system != "fraction" else f"{one.name} in") == one


@pytest.mark.parametrize(("size", "above"), [(200.0, True), (0.01, False)])
def test_beyond_the_stock(size: float, above: bool) -> None:
    with pytest.raises(LookupFailed, match="no stock drill at or"):
        nearest_drill(size, at_or_above=above)


@given(st.sampled_from(["h", "g", "f", "e", "d"]), st.integers(5, 11), st.floats(0.5, 1000.0))
def test_a_hole_of_a_letter_mirrors_the_shaft_of_that_letter(letter: str, grade: int, size: float) -> None:
    lower, upper = iso286(f"{letter}{grade}", size)
    assert iso286(f"{letter.upper()}{grade}", size) == pytest.approx((-upper, -lower), abs=1e-9)


@given(st.sampled_from(["h", "js", "k", "m", "H", "JS"]), st.integers(5, 13), st.floats(0.5, 500.0))
def test_a_coarser_grade_is_never_narrower(letter: str, grade: int, size: float) -> None:
    widths = [upper - lower for lower, upper in (iso286(f"{letter}{g}", size) for g in (grade, grade + 1))]
    assert widths[0] < widths[1]


@pytest.mark.parametrize(
    ("zone", "size", "message"),
    [
        ("h", 10, "for an ISO 286 zone"),
        ("q7", 10, "no ISO 286 zone q7"),
        ("Q7", 10, "no ISO 286 zone Q7"),
        ("h4", 10, "no ISO 286 grade 4"),
        ("h6", 0, "above 0 to 1000 mm"),
        ("h6", 1001, "above 0 to 1000 mm"),
        ("j6", 600, "no ISO 286 zone j6 at 600 mm"),
        ("j9", 20, "no ISO 286 zone j9"),
        ("N9", 20, "use grade 8 or finer"),
        ("", 10, "for an ISO 286 zone"),
    ],
)
def test_a_fit_that_is_not_there(zone: str, size: float, message: str) -> None:
    with pytest.raises(LookupFailed, match=message):
        iso286(zone, size)


def test_limits_are_named_after_their_zone() -> None:
    assert fit_limits("j6", 24).text == "j6"


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("mild steel", "mild steel"),
        ("Mild Steel", "mild steel"),
        ("1.0038", "S235"),
        ("St 37", "S235"),
        ("1.4301", "304"),
        ("stainless", "304"),
        ("aluminum", "6061-T6"),
        ("6082", "6082-T6"),
        ("grey cast iron", "cast iron"),
        ("POM", "acetal"),
        ("plywood", "birch plywood"),
    ],
)
def test_a_material_is_found_by_the_names_a_shop_uses(said: str, name: str) -> None:
    assert material(said).name == name


def test_an_unknown_material_gets_the_nearest() -> None:
    with pytest.raises(LookupFailed, match="no material is called 'alumminum'") as failure:
        material("alumminum")
    assert failure.value.nearest[0] == "aluminum"


@pytest.mark.parametrize("name", materials())
def test_materials_are_plausible(name: str) -> None:
    found = material(name)
    assert 400 < found.density < 9000
    assert found.modulus > 50 * found.yield_strength / 2.5
    assert found.poisson is not None
    assert 0.1 < found.poisson < 0.5
    assert found.source.name


def test_the_same_gauge_differs_from_metal_to_metal() -> None:
    assert gauge(11, "galvanised") > gauge(11, "steel")
    assert gauge(11, "steel") > gauge(11, "aluminium")
    assert gauge(11, "galvanized") == gauge(11, "galvanised")
    assert gauge_source(11, "steel").kind == "published"


@pytest.mark.parametrize(
    ("number", "metal", "message"),
    [
        (11, "copper", "say steel, galvanised, stainless or aluminium"),
        (2, "steel", "goes from 3 to"),
        (99, "aluminium", "goes"),
    ],
)
def test_a_gauge_that_is_not_there(number: int, metal: str, message: str) -> None:
    with pytest.raises(LookupFailed, match=message):
        gauge(number, metal)


@given(st.sampled_from(["M6", "M8", "M10", "M16", "3/8-16"]), st.floats(0.08, 0.2))
def test_more_friction_takes_more_torque_for_the_same_preload(size: str, friction: float) -> None:
    name = "8.8" if size.startswith("M") else "grade 5"
    one, other = torque(size, name, friction), torque(size, name, friction + 0.02)
    assert one.preload == other.preload
    assert one.torque < other.torque
    assert f"friction {one.friction:g}" in one.said


@pytest.mark.parametrize(
    ("size", "name", "message"),
    [
        ("M10", "grade 5", "no metric property class"),
        ("3/8", "8.8", "no inch property class"),
        ("M24", "9.8", "not listed for M24"),
        ("M42", "8.8", "not listed for M42"),
    ],
)
def test_a_class_that_a_size_is_not_made_in(size: str, name: str, message: str) -> None:
    with pytest.raises(LookupFailed, match=message):
        property_class(name, size)


@pytest.mark.parametrize(
    ("said", "name"), [("8.8", "8.8"), ("class 8.8", "8.8"), ("A2-70", "A2-70"), ("a2 70", "A2-70")]
)
def test_a_class_is_found_however_it_is_written(said: str, name: str) -> None:
    assert property_class(said, "M10").name == name


@pytest.mark.parametrize("said", ["grade 5", "5", "SAE grade 5", "Gr. 5", "SAE J429 grade 5"])
def test_a_grade_is_found_however_it_is_written(said: str) -> None:
    assert property_class(said, "3/8-16").name == "grade 5"


def test_impossible_friction() -> None:
    with pytest.raises(LookupFailed, match="coefficient of friction"):
        torque("M10", "8.8", friction=1.2)


@pytest.mark.parametrize(
    ("into", "diameters"),
    [("steel", 1.0), ("stainless steel", 1.0), ("cast iron", 1.5), ("aluminium", 2.0), ("acetal", 2.5)],
)
def test_thread_engagement(into: str, diameters: float) -> None:
    # common practice: 1 d in steel, 1.5 d in iron, 2 d in aluminium
    assert engagement(into).diameters == diameters


def test_thread_engagement_in_something_else() -> None:
    with pytest.raises(LookupFailed, match="say steel, cast iron, aluminium or plastic"):
        engagement("cheese")
