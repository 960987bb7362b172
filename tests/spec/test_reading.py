"""A good spec: what is read, in which unit, and where a later problem is pointed at."""

from __future__ import annotations

import math
import os
import sys
import threading
from pathlib import Path

import pytest
from msgspec.structs import replace

from platekit.errors import PlatekitError, SpecError
from platekit.layout import lay_out
from platekit.spec import load, loads, source
from platekit.spec.models import Polar

SHED = """\
platekit: 1
title: Grain lift, gear motor on the old bracket
units: mm
plate:
  material: mild steel
  thickness: 3/8 in              # bought by the inch
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {circle: {count: 3, diameter: 90, start: 90 deg}}
    screws: {size: M8, into: part, depth: 16}
  motor:
    side: near
    looking_at: back
    pattern:
      points: [[0, 0], [40, 0], [40, 1-1/8 in]]
      hole: 7
    at: {from: bracket, distance: 120, angle: 30 deg}
bodies:
  lug: {carried_by: bracket, shape: {rectangle: {width: 10, height: 20}, at: [0, 60]}, span: [-4, 0]}
accept:
  - {rule: web, feature: motor.1, because: a gusset is behind it}
"""


def test_lengths_are_mm_and_angles_radians() -> None:
    model = loads(SHED).model
    assert model.plate.thickness == pytest.approx(9.525)
    motor = model.mounts["motor"]
    assert motor.pattern.points == [(0.0, 0.0), (40.0, 0.0), (40.0, pytest.approx(28.575))]
    assert isinstance(motor.at, Polar)
    assert motor.at.angle == pytest.approx(math.pi / 6)
    assert model.bodies["lug"].span == (-4.0, 0.0)


def test_what_is_left_out_has_its_default() -> None:
    model = loads(SHED).model
    assert model.plate.outline.wrap is not None
    assert model.plate.outline.wrap.margin == "auto"
    assert model.cutting.process == "plasma"
    assert model.paper.seen_from == "near"
    assert model.mounts["bracket"].at == (0.0, 0.0)


def test_bare_numbers_are_in_the_unit_of_the_spec() -> None:
    text = SHED.replace("units: mm", "units: in").replace("distance: 120", "distance: 5")
    at = loads(text).model.mounts["motor"].at
    assert isinstance(at, Polar)
    assert at.distance == pytest.approx(127.0)


def test_the_same_plate_in_inches_and_in_mm_reads_the_same() -> None:
    plate = "platekit: 1\ntitle: A\nunits: {}\nplate: {{material: mild steel, thickness: {}}}\n"
    bolts = "screws: {{size: M8, into: nut}}"
    text = plate + "mounts: {{m: {{side: far, pattern: {{circle: {{count: 4, diameter: {}}}}}, " + bolts + "}}}}"
    one = loads(text.format("mm", 9.525, 149.225)).model
    other = loads(text.format("in", 0.375, 5.875)).model
    assert one.model_dump(exclude={"units"}) == other.model_dump(exclude={"units"})


def test_a_spec_says_what_it_was_read_from(tmp_path: Path) -> None:
    file = tmp_path / "grain-lift.yaml"
    file.write_text(SHED, encoding="utf-8")
    spec = load(file)
    assert (spec.name, spec.path, spec.text, spec.unit) == ("grain-lift", file, SHED, "mm")
    assert spec == load(str(file))


def test_the_mark_changes_with_the_meaning_only() -> None:
    mark = loads(SHED).revision
    assert len(mark) == 8
    assert int(mark, 16) >= 0
    same = [
        SHED.replace("      # bought by the inch", "") + "\n# and a word more\n",
        SHED.replace("3/8 in ", "9.525"),
        SHED.replace("3/8 in ", "0.375 in"),
        SHED.replace("30 deg}", "30}"),
        SHED.replace("    looking_at: back\n", "    looking_at: back\n    standoff: 0\n"),
        SHED.replace("at: [0, 60]", "at: [-0.0, 60.0]"),
    ]
    assert {loads(text).revision for text in same} == {mark}
    other = [
        SHED.replace("3/8 in ", "9.526 "),
        SHED.replace("title: Grain", "title: Corn"),
        SHED.replace("looking_at: back", "looking_at: face"),
        SHED.replace("motor.1", "motor.2"),
    ]
    assert mark not in {loads(text).revision for text in other}


def test_the_order_of_the_names_is_kept() -> None:
    assert list(loads(SHED).model.mounts) == ["bracket", "motor"]


@pytest.mark.parametrize(
    ("field", "line", "pointed"),
    [
        ("mounts.motor.looking_at", 15, "back"),
        ("mounts.motor.at.distance", 19, "120"),
        ("mounts.motor.pattern.points.2.1", 17, "1-1/8 in"),
        ("mounts.motor.screws.size", 13, "motor"),
        ("mounts.bracket.pattern", 11, "pattern"),
        ("plate.outline", 4, "plate"),
        ("limits.web", 1, "platekit"),
        ("accept.0.feature", 23, "motor.1"),
        ("accept.0", 23, "{rule: web, feature: motor.1, because: a gusset is behind it}"),
        ("", 1, "platekit"),
    ],
)
def test_a_later_problem_is_pointed_at_in_the_text(field: str, line: int, pointed: str) -> None:
    problem = loads(SHED, "lift.yaml").problem(field, "this", "do that")
    assert (problem.file, problem.line, problem.field) == ("lift.yaml", line, field)
    start = problem.column - 1
    assert problem.source_line == SHED.splitlines()[line - 1]
    assert problem.source_line[start : start + problem.length] == pointed


def test_a_changed_model_goes_into_the_same_spec() -> None:
    spec = loads(SHED)
    plate = spec.model.plate.model_copy(update={"thickness": 12.0})
    changed = replace(spec, model=spec.model.model_copy(update={"plate": plate}))
    assert changed.model.plate.thickness == 12.0
    assert changed.revision != spec.revision


def test_anchors_in_small_are_welcome() -> None:
    text = SHED.replace("screws: {size", "bolts: &screws {size").replace("      hole: 7\n", "")
    text = text.replace("    at: {from: bracket", "    bolts: *screws\n    at: {from: bracket")
    assert loads(text).model.mounts["motor"].screws == loads(text).model.mounts["bracket"].screws


def test_windows_line_ends_and_a_byte_order_mark_make_no_difference(tmp_path: Path) -> None:
    file = tmp_path / "grain-lift.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + SHED.replace("\n", "\r\n").encode())
    assert load(file).model == loads(SHED).model
    assert load(file).problem("units", "a", "b").line == 3


def test_json_is_yaml_too() -> None:
    text = (
        '{"platekit": 1, "title": "J", "units": "mm", "plate": {"material": "mild steel", "thickness": 8},'
        ' "mounts": {"a": {"side": "far", "pattern": {"points": [[1, 2]], "hole": "1/4 in"}}}}'
    )
    assert loads(text).model.mounts["a"].pattern.hole == pytest.approx(6.35)


@pytest.mark.parametrize("name", ["none.yaml", "", "folder"])
def test_a_file_that_cannot_be_read_is_one_sentence(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(PlatekitError) as caught:
        load(tmp_path / name)
    assert "\n" not in str(caught.value)
    assert str(tmp_path) in str(caught.value)
    assert not isinstance(caught.value, SpecError)


def test_a_name_that_no_file_can_have_is_one_sentence() -> None:
    with pytest.raises(PlatekitError, match="cannot be read"):
        load("a\0b.yaml")


def test_a_file_without_rights_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "locked.yaml"
    file.write_text(SHED, encoding="utf-8")

    def refuse(path: Path, flags: int) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(PlatekitError, match=r"locked.yaml: cannot be read \(Permission denied\)"):
        load(file)


def test_many_points_are_read_and_kept() -> None:
    points = "".join(f"      - [{index % 200 * 12.5}, {index // 200 * 12.5}]\n" for index in range(5_000))
    text = SHED.split("  motor:")[0] + "  grid:\n    side: far\n    pattern:\n     hole: 5\n     points:\n" + points
    read = loads(text).model.mounts["grid"].pattern.points
    assert read is not None
    assert len(read) == 5_000
    assert read[4_999] == (199 * 12.5, 24 * 12.5)


@pytest.mark.parametrize(
    "kind", ["circle: {count: 4, diameter: 90", "rectangle: {width: 60, height: 40", "points: [[0, 0], [30, 0]]"]
)
def test_a_hole_stands_beside_any_kind_of_pattern(kind: str) -> None:
    """Its older place, inside the kind, means the same: one layout, one revision mark, one line for an edit."""
    text = (
        "platekit: 1\ntitle: a\nunits: mm\nplate: {material: mild steel, thickness: 8}\n"
        "mounts: {frame: {side: far, looking_at: face, pattern: {PATTERN}}}\n"
    )
    close = "}" if "{" in kind else ""
    beside = loads(text.replace("PATTERN", f"{kind}{close}, hole: 9"), "a")
    pattern = beside.model.mounts["frame"].pattern
    assert pattern.hole_said == (9.0, "hole")
    if close:
        inside = loads(text.replace("PATTERN", f"{kind}, hole: 9}}"), "a")
        assert inside.model.mounts["frame"].pattern.hole_said == (9.0, f"{pattern.choice}.hole")
        assert inside.revision == beside.revision
        assert {opening.size for opening in lay_out(inside).openings} == {9.0}
    assert {opening.size for opening in lay_out(beside).openings} == {9.0}


def test_a_text_that_is_read_again_says_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """The events of the last texts are remembered: what comes out of them, its problems too, is as at first."""
    monkeypatch.setattr(source, "_READ", {})
    broken = SHED.replace("thickness: 3/8 in", "thickness: 3/8 in, thickness: 4")
    for text in (SHED, broken, SHED.replace("units: mm", "units: &u mm\nalso: *u")):
        first, again = (source.read(source.source_of(text, name)) for name in ("one.yaml", "two.yaml"))
        assert (first[0] and first[0].data) == (again[0] and again[0].data)
        assert [one.file for one in again[1]] == ["two.yaml"] * len(first[1])
        assert [(one.line, one.found) for one in again[1]] == [(one.line, one.found) for one in first[1]]


def test_only_the_last_texts_are_remembered_and_no_long_one(monkeypatch: pytest.MonkeyPatch) -> None:
    kept: dict[str, object] = {}
    monkeypatch.setattr(source, "_READ", kept)
    for count in range(3 * source.READ_LAST):
        source.read(source.source_of(f"{SHED}# {count}\n", "shed.yaml"))
    source.read(source.source_of(SHED + "#" * source.LONGEST_KEPT, "shed.yaml"))
    assert len(kept) == source.READ_LAST
    assert all(len(text) <= source.LONGEST_KEPT for text in kept)


def test_texts_are_read_in_several_threads_at_once() -> None:
    """As the page does: one thread answers while another tries advice, and each remembers what it read last."""
    wrong: list[str] = []

    def read_many(name: int) -> None:
        try:
            for k in range(800):
                source.read(source.source_of(f"a: {name}.{k}", "a"))
        except Exception as error:
            wrong.append(repr(error))

    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        threads = [threading.Thread(target=read_many, args=(k,)) for k in range(4)]
        for one in threads:
            one.start()
        for one in threads:
            one.join()
    finally:
        sys.setswitchinterval(before)
    assert wrong == []
