"""The user's own machine: read, interpolated, and wrong in every way that a shop can think of."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.checks import check
from platekit.cutting import capability_of
from platekit.errors import PlatekitError, SpecError
from platekit.layout import lay_out
from platekit.spec import Spec, load, loads
from platekit.spec.machine import QUANTITIES, load_machine, machine_of

MACHINE = """\
platekit_machine: 1
name: Shed plasma
process: plasma
units: mm
cuts:
  - {thickness: 4, kerf: 1.2, speed: 3 m/min, taper: 1 deg}
  - {thickness: 8, kerf: 1.6, speed: 1800 mm/min}
  - {thickness: 12, kerf: 1.8, hole_error: -0.4}
"""
SPEC = """\
platekit: 1
title: Winch bracket
units: mm
plate: {material: mild steel, thickness: 8, outline: {rectangle: {width: 200, height: 120}}}
mounts:
  winch: {side: far, looking_at: face, pattern: {points: [[-60, 0], [60, 10]], hole: 22}}
cutting: {machine: shed}
"""


def spec_in(folder: Path, spec: str = SPEC, machine: str = MACHINE, place: str = "shed.yaml") -> Path:
    (folder / place).parent.mkdir(exist_ok=True)
    (folder / place).write_text(machine, "utf-8")
    (folder / "winch.yaml").write_text(spec, "utf-8")
    return folder / "winch.yaml"


def test_rows_are_given_between_or_held() -> None:
    machine = machine_of(MACHINE)
    given, between, held = (machine.at("kerf", thickness) for thickness in (8, 10, 20))
    assert given is not None
    assert between is not None
    assert held is not None
    assert (given.value, given.origin) == (1.6, "given")
    assert (round(between.value, 9), between.origin) == (1.7, "between")
    assert (held.value, held.origin, held.nearest) == (1.8, "held", 12)
    assert machine.at("web", 8) is None
    assert machine.gaps == ("scatter", "smallest_hole", "web", "pierce_room", "lead", "overrun", "pierce")


def test_units_are_turned_into_ours() -> None:
    machine = machine_of(MACHINE)
    speed, taper = machine.at("speed", 4), machine.at("taper", 4)
    assert speed is not None
    assert taper is not None
    assert (speed.value, round(taper.value, 9)) == (3000.0, round(math.radians(1), 9))
    head = "platekit_machine: 1\nname: Inches\nprocess: plasma\nunits: in\n"
    kerf = machine_of(f"{head}cuts: [{{thickness: 0.25, kerf: 0.06}}]").at("kerf", 6.35)
    assert kerf is not None
    assert kerf.value == pytest.approx(1.524)


@given(st.floats(1, 30))
def test_a_figure_lies_between_its_neighbours(thickness: float) -> None:
    reading = machine_of(MACHINE).at("kerf", thickness)
    assert reading is not None
    assert 1.2 <= reading.value <= 1.8


@pytest.mark.parametrize("place", ["shed.yaml", "machines/shed.yaml"])
def test_a_spec_finds_its_machine_beside_it(tmp_path: Path, place: str) -> None:
    spec: Spec = load(spec_in(tmp_path, place=place))
    assert spec.machine is not None
    assert spec.machine.name == "Shed plasma"
    assert spec.model.cutting.process == "plasma"


def test_the_machine_goes_before_the_process_and_the_spec_before_the_machine(tmp_path: Path) -> None:
    layout = lay_out(load(spec_in(tmp_path)))
    assert (layout.limits.kerf.value, layout.limits.kerf.source) == (1.6, "shed.yaml")
    assert layout.limits.web.source.startswith("plasma (one and a half plate thicknesses, ")
    assert layout.limits.web.source.endswith("), common practice")
    capability = capability_of(layout)
    assert capability.hole_error.value == -0.4
    assert capability.hole_error.source == "shed.yaml, its row for 12 mm"
    own = lay_out(load(spec_in(tmp_path, SPEC.replace("machine: shed", "machine: shed, kerf: 2"))))
    assert (own.limits.kerf.value, own.limits.kerf.source) == (2.0, "spec")


def test_a_changed_machine_changes_the_revision(tmp_path: Path) -> None:
    first = load(spec_in(tmp_path)).revision
    second = load(spec_in(tmp_path, machine=MACHINE.replace("kerf: 1.6", "kerf: 1.7"))).revision
    assert first != second


def test_the_process_comes_from_the_machine(tmp_path: Path) -> None:
    layout = lay_out(load(spec_in(tmp_path, machine=MACHINE.replace("process: plasma", "process: laser"))))
    assert layout.cutting.process == "laser"


def test_a_process_against_the_machine_is_told(tmp_path: Path) -> None:
    path = spec_in(tmp_path, SPEC.replace("machine: shed", "machine: shed, process: laser"))
    with pytest.raises(SpecError, match=r"cutting\.process: found laser; Shed plasma cuts by plasma"):
        load(path)


def test_a_machine_that_is_not_there_is_told() -> None:
    with pytest.raises(SpecError, match=r'cutting\.machine: found "shed"; name a file beside the spec'):
        loads(SPEC, "winch")


def test_a_machine_whose_bed_is_not_given_is_not_checked_for_its_reach(tmp_path: Path) -> None:
    found = [f for f in check(lay_out(load(spec_in(tmp_path, SPEC)))).findings if f.rule == "not-checked"]
    reach = "not checked: whether Shed plasma reaches all of the plate, because shed.yaml gives no bed"
    assert [f.message for f in found if "outline" in f.features] == [reach]


def test_gaps_and_rows_out_of_reach_are_found(tmp_path: Path) -> None:
    thick = spec_in(tmp_path, SPEC.replace("thickness: 8", "thickness: 16"))
    found = [f for f in check(lay_out(load(thick))).findings if f.rule == "machine"]
    assert [f.message for f in found if f.level == "note"] == [
        "shed.yaml gives no scatter, smallest hole, web, time to pierce; the usual values of plasma stand in",
    ]
    assert "the nearest row of shed.yaml that gives speed is for 8 mm; the plate is 16 mm thick" in {
        f.message for f in found
    }


WRONG = [
    ("platekit_machine: 1", "platekit_machine: 2", r"machine:1:19  platekit_machine: found 2; use 1"),
    ("name: Shed plasma\n", "", r"found no `name`; add `name`"),
    ("process: plasma", "process: plazma", r'machine:3:10  process: found "plazma"; use'),
    ("kerf: 1.2", "kerff: 1.2", r"machine:6:20  cuts\.0\.kerff: found the unknown key `kerff`; write `kerf`"),
    ("kerf: 1.2", "kerf: 0", r"cuts\.0\.kerf: found 0; give a length above zero"),
    ("speed: 3 m/min", "speed: 3000", r"cuts\.0\.speed: found 3000; give it with its unit"),
    ("taper: 1 deg", "taper: 60 deg", r"cuts\.0\.taper: found 60 degrees; a cut edge leans a few degrees"),
    ("thickness: 8", "thickness: 4", r"cuts\.1\.thickness: found 4 mm a second time"),
    ("units: mm\n", "units: mm\nbed: 1200\n", r"bed: found 1200; give two lengths in brackets"),
    ("units: mm\n", "units: mm\nslow_holes: {under: 30, share: 60}\n", r"slow_holes\.share: found 60; give a share"),
    (
        "units: mm\n",
        "units: mm\nprices: {currency: EUR, hour: much}\n",
        r"prices\.hour: found \"much\"; give a bare number",
    ),
    ("units: mm\n", "units: mm\nconsumables: {pierces: 0}\n", r"consumables\.pierces: found 0"),
    (MACHINE[MACHINE.index("cuts:") :], "cuts: []\n", r"cuts: found an empty list; give at least 1"),
    (MACHINE[MACHINE.index("cuts:") :], "cuts: 4\n", r"cuts: found 4; give a list of rows"),
]


@pytest.mark.parametrize(("old", "new", "said"), WRONG)
def test_what_is_wrong_is_said_with_its_place(old: str, new: str, said: str) -> None:
    assert MACHINE.count(old) == 1
    with pytest.raises(SpecError, match=said):
        machine_of(MACHINE.replace(old, new))


def test_a_file_that_is_no_machine_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PlatekitError, match="found no such file"):
        load_machine(tmp_path / "none.yaml")
    (tmp_path / "list.yaml").write_text("[1, 2]\n", "utf-8")
    with pytest.raises(SpecError, match="instead of a machine file"):
        load_machine(tmp_path / "list.yaml")
    (tmp_path / "binary.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(PlatekitError, match="not UTF-8"):
        load_machine(tmp_path / "binary.yaml")


@pytest.mark.parametrize("path", sorted(Path("specs/machines").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_example_machines_are_usable(path: Path) -> None:
    machine = load_machine(path)
    assert machine.bed is not None
    assert set(machine.gaps) < set(QUANTITIES)


@pytest.mark.parametrize(
    ("row", "field", "found"),
    [
        ("kerf: 100", "kerf", "100 mm"),
        ("kerf: 0.06", "kerf", "0.06 mm"),
        ("kerf: 1.4 in", "kerf", "35.56 mm"),
        ("web: 1000", "web", "1000 mm"),
        ("hole_error: 40", "hole_error", "40 mm"),
        ("scatter: 12", "scatter", "12 mm"),
        ("speed: 0.02 mm/min", "speed", "0.02 mm/min"),
        ("pierce: 3000 s", "pierce", "3000 s"),
        ("lead: 2000", "lead", "2000 mm"),
    ],
)
def test_a_figure_that_no_machine_leaves_is_refused_at_its_place(row: str, field: str, found: str) -> None:
    head = "platekit_machine: 1\nname: Slip\nprocess: plasma\nunits: mm\n"
    with pytest.raises(SpecError) as told:
        machine_of(f"{head}cuts: [{{thickness: 6, {row}}}]")
    (problem,) = told.value.problems
    assert (problem.line, problem.field) == (5, f"cuts.0.{field}")
    assert found in str(problem)
    assert "check the unit" in str(problem)


def test_too_many_rows_and_a_figure_of_nothing_are_told_in_our_words() -> None:
    head = "platekit_machine: 1\nname: Long\nprocess: plasma\nunits: mm\n"
    rows = ", ".join(f"{{thickness: {1 + k / 10:g}}}" for k in range(201))
    with pytest.raises(SpecError, match="found 201 rows; use at most 200"):
        machine_of(f"{head}cuts: [{rows}]")
    with pytest.raises(SpecError, match="found 0; give a figure above 0"):
        machine_of(f"{head}cuts: [{{thickness: 6}}]\nconsumables: {{hours: 0}}")
