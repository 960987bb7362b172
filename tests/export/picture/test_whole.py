"""The picture: exact, told apart without colour, escaped, and the same every time."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest

from platekit.checks.finding import Advice, Finding, Verdict
from platekit.export.picture.whole import svg, svg_text
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

SVG = "{http://www.w3.org/2000/svg}"

DRYER = """
platekit: 1
title: Herb dryer, new fan motor over the old boss
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 260, height: 200, corner: 12}}
  cutouts:
    cable gland: {circle: {diameter: 20}, at: [-100, 60]}
mounts:
  dryer:
    side: far
    looking_at: face
    pattern: {points: [[-90, -70], [95, -60], [80, 70]], hole: 9}
    bolts: {size: M8, into: part, depth: 30, washer: true}
  motor:
    side: near
    pattern: {rectangle: {width: 80, height: 60}}
    pilot: {diameter: 40, depth: 3, opening: recess}
    at: [20, -10]
    bolts: {size: M6, into: nut, flange: 8}
    take_up: {slots: {along: 90 deg, install: 10, tension: 15}}
bodies:
  motor body: {carried_by: motor, shape: {rectangle: {width: 60, height: 50}}, span: [8, 90]}
  boss: {carried_by: dryer, shape: {circle: {diameter: 30}, at: [-60, -10]}, span: [0, 12]}
cutting: {process: laser}
"""

CLEAR = Verdict(())
STOPPED = Verdict(
    (
        Finding(
            rule="web",
            level="stop",
            message="dryer.1 comes within 2 mm of dryer.2; 6 mm is needed",
            features=("dryer.1", "dryer.2"),
            at=(-90, -70),
        ),
        Finding(
            rule="small-hole",
            level="warn",
            message="cable gland is narrow",
            features=("cable gland",),
            at=(-100, 60),
            advice=Advice("drill it"),
        ),
        Finding(
            rule="mirror", level="note", message="the mirror image would fit as well", features=("motor",), at=(20, -10)
        ),
        Finding(
            rule="edge",
            level="stop",
            message="boss is near the edge",
            features=("boss",),
            at=(-60, -10),
            accepted="it is welded there",
        ),
    )
)


@pytest.fixture(scope="module")
def dryer() -> Layout:
    return lay_out(loads(DRYER, "herb-dryer"))


def tree(layout: Layout, verdict: Verdict = CLEAR) -> Element:
    return ElementTree.fromstring(svg_text(layout, verdict))


def words(root: Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def named(root: Element, identifier: str) -> Element:
    (found,) = [element for element in root.iter() if element.get("id") == identifier]
    return found


# ------------------------------------------------------------------------------- reading paths back


class Step(NamedTuple):
    """One piece of a path: radius 0 for a line; `turn` 1 when an arc runs counter-clockwise with y up."""

    a: tuple[float, float]
    b: tuple[float, float]
    radius: float
    large: bool
    turn: int


def steps(path: str) -> list[Step]:
    """The pieces of a closed path of M, L, A and Z; anything else fails."""
    read: list[Step] = []
    start = here = (math.nan, math.nan)
    for command, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", path):
        values = [float(value) for value in rest.replace(",", " ").split()]
        if command == "M":
            start = here = (values[0], values[1])
        elif command == "L":
            read.append(Step(here, (values[0], values[1]), 0, False, 0))
            here = (values[0], values[1])
        elif command == "A":
            radius, same, _, large, turn, x, y = values
            assert radius == same
            read.append(Step(here, (x, y), radius, large == 1, 1 if turn == 1 else -1))
            here = (x, y)
        else:
            assert command == "Z", command
            if math.dist(here, start) > 2e-6:
                read.append(Step(here, start, 0, False, 0))
    return read


def enclosed(path: str) -> float:
    """Area inside a path, from the shoelace sum and the circle segments over its chords."""
    area = 0.0
    for step in steps(path):
        (ax, ay), (bx, by) = step.a, step.b
        area += (ax * by - bx * ay) / 2
        if step.radius:
            half = min(math.dist(step.a, step.b) / 2 / step.radius, 1.0)
            angle = 2 * math.asin(half)
            angle = 2 * math.pi - angle if step.large else angle
            area += step.turn * step.radius**2 / 2 * (angle - math.sin(angle))
    return area


def test_round_holes_are_true_arcs_of_the_right_size(dryer: Layout) -> None:
    path = named(tree(dryer), "pk-opening-dryer.1").get("d") or ""
    assert {step.radius for step in steps(path)} == {4.5}
    assert enclosed(path) == pytest.approx(math.pi * 4.5**2, abs=1e-4)


def test_a_hole_stands_where_the_spec_puts_it(dryer: Layout) -> None:
    # dryer is on the far side and measured looking at its face: that view is the plate's near view, not mirrored
    path = named(tree(dryer), "pk-opening-dryer.2").get("d") or ""
    xs = [step.a[0] for step in steps(path)]
    ys = [step.a[1] for step in steps(path)]
    assert (max(xs) + min(xs)) / 2 == pytest.approx(95)
    assert sum(ys) / len(ys) == pytest.approx(-60)


def test_a_slot_covers_its_travel(dryer: Layout) -> None:
    # a clearance hole of 6.6 mm for M6 (ISO 273, medium) that travels 25 mm
    path = named(tree(dryer), "pk-opening-motor.1").get("d") or ""
    assert enclosed(path) == pytest.approx(math.pi * 3.3**2 + 25 * 6.6, abs=1e-4)


def test_the_outline_is_exact(dryer: Layout) -> None:
    path = named(tree(dryer), "pk-outline").get("d") or ""
    assert enclosed(path) == pytest.approx(260 * 200 - (4 - math.pi) * 12**2, abs=1e-3)


def test_every_path_in_the_plate_frame_is_made_of_lines_and_arcs(dryer: Layout) -> None:
    steel = named(tree(dryer, STOPPED), "pk-steel")
    shapes = [e for e in steel.iter(f"{SVG}path") if e.get("data-feature") and "Z" in (e.get("d") or "")]
    assert len(shapes) >= len(dryer.openings) + 1
    for element in shapes:
        assert steps(element.get("d") or "")


def test_up_on_the_plate_is_up_in_the_picture(dryer: Layout) -> None:
    transform = named(tree(dryer), "pk-steel").get("transform") or ""
    a, b, c, d, _, _ = (float(value) for value in transform.removeprefix("matrix(").removesuffix(")").split())
    assert a > 0
    assert d == -a
    assert b == c == 0


# ----------------------------------------------------------------------------------- what can be seen


def test_sides_are_told_apart_without_colour(dryer: Layout) -> None:
    root = tree(dryer)
    near, far = named(root, "pk-body-motor_20_body"), named(root, "pk-body-boss")

    def line(group: Element) -> Element:
        return next(e for e in group.iter(f"{SVG}path") if "pk-line " in (e.get("class") or ""))

    def rim(group: Element) -> str:
        return next(e.get("stroke") or "" for e in group.iter(f"{SVG}path") if e.get("class") == "pk-rim")

    assert line(near).get("stroke-dasharray") is None
    assert line(far).get("stroke-dasharray") is not None
    assert rim(near) != rim(far)
    hatches = {key: named(root, f"pk-hatch-{key}") for key in ("near", "far")}
    assert [child.tag for child in hatches["near"]] != [child.tag for child in hatches["far"]]


def test_both_ends_of_the_travel_are_ghosted(dryer: Layout) -> None:
    root = tree(dryer)
    body = named(root, "pk-body-motor_20_body")
    outline = next(e for e in body.iter(f"{SVG}path") if "pk-line " in (e.get("class") or "")).get("d") or ""
    middle = sum(step.a[1] for step in steps(outline)) / 4
    for end, moved in (("install", -10), ("tension", 15)):
        (ghost,) = [e for e in root.iter(f"{SVG}g") if e.get("class") == f"pk-ghost pk-ghost-{end}"]
        first = next(ghost.iter(f"{SVG}path")).get("d") or ""
        assert sum(step.a[1] for step in steps(first)) / 4 == pytest.approx(middle + moved)
    said = words(root)
    assert "10 mm from nominal" in said
    assert "15 mm from nominal" in said


def test_dimensions_that_matter_are_there(dryer: Layout) -> None:
    said = words(tree(dryer))
    assert "260" in said
    assert "200" in said
    assert "motor holes 80 × 60" in said
    assert f"{math.hypot(20, 10):.2f} at -26.57°" in said
    assert any(line.startswith("6 mm mild steel") and "dimensions in mm" in line for line in said)


def test_a_bolt_circle_is_named_by_its_diameter() -> None:
    text = DRYER.replace(
        "{points: [[-90, -70], [95, -60], [80, 70]], hole: 9}", "{circle: {count: 3, diameter: 150, hole: 9}}"
    )
    root = tree(lay_out(loads(text, "x")))
    assert "dryer bolt circle Ø150" in words(root)
    lines = [e.get("d") or "" for e in named(root, "pk-layer-dimensions").iter(f"{SVG}path")]
    assert any({step.radius for step in steps(line)} == {75.0} for line in lines)


def test_inch_plates_are_dimensioned_in_inches() -> None:
    text = DRYER.replace("width: 260, height: 200, corner: 12", "width: 10.5 in, height: 8 in, corner: 12")
    text = text.replace("units: mm", "units: in").replace("thickness: 6", "thickness: 6 mm")
    text = re.sub(r"(?<=[\[ ])(-?\d+)(?=[,\]}])", r"\1 mm", text).replace("count: 3 mm", "count: 3")
    said = words(tree(lay_out(loads(text, "x"))))
    assert "10.5" in said
    assert "8" in said
    assert any("dimensions in inches" in line for line in said)


def test_every_opening_is_named_with_its_size(dryer: Layout) -> None:
    said = words(tree(dryer))
    for name in ("dryer.1", "motor.4", "motor.pilot", "cable gland"):
        assert name in said
    assert "3 × Ø9" in said  # what holes of one mount have in common is told once
    assert "Ø20" in said
    assert said.count("4 × slot 6.6 × 31.6 over all") == 1


def test_findings_get_a_drawing_of_their_own_where_both_would_crowd(dryer: Layout) -> None:
    """Many holes of many sizes, and a finding at each: the names on one drawing, the marks on the other."""
    points = ", ".join(f"[{x}, {y}]" for x in range(-90, 91, 30) for y in (-75, 75))
    crowd = lay_out(loads(DRYER.replace("[[-90, -70], [95, -60], [80, 70]], hole: 9", f"[{points}], hole: 9"), "crowd"))
    marks = tuple(
        Finding(rule="web", level="note", message=f"number {k}", features=(f"dryer.{k}",)) for k in range(1, 9)
    )
    root = tree(crowd, Verdict(marks))
    assert "Where the findings are" in words(root)
    assert "Where the findings are" not in words(tree(crowd))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    used = re.findall(r"url\(#([^)]+)\)", ElementTree.tostring(root, encoding="unicode"))
    assert set(used) <= set(ids)
    assert words(root).count("dryer.1") == 1
    assert {"pk-finding-1", "pk-outline", "pk-outline-2"} <= set(ids)


def test_centre_lines_are_broken_where_words_are_scribed() -> None:
    text = DRYER.replace("cutting: {process: laser}", "cutting: {process: laser, scribe: [names]}")
    layout = lay_out(loads(text, "x"))
    root = tree(layout)
    assert named(root, "pk-layer-dimensions").get("clip-path") == "url(#pk-off-words)"
    (window,) = list(named(root, "pk-off-words"))
    assert window.get("clip-rule") == "evenodd"
    assert (window.get("d") or "").count("M") > 1


def test_the_picture_says_which_side_which_way_and_which_revision(dryer: Layout) -> None:
    said = words(tree(dryer))
    assert "UP" in said
    assert "near side facing you" in said
    assert f"revision {dryer.spec.revision}" in said
    assert "herb-dryer" in said


def test_the_scale_bar_is_as_long_as_it_says(dryer: Layout) -> None:
    root = tree(dryer)
    scale = float((named(root, "pk-steel").get("transform") or "").removeprefix("matrix(").split()[0])
    bars = [e for e in named(root, "pk-legend").iter(f"{SVG}rect") if "pk-bar" in (e.get("class") or "")]
    (said,) = [line for line in words(root) if line.endswith("on the plate")]
    assert sum(float(bar.get("width") or 0) for bar in bars) / scale == pytest.approx(float(said.split()[0]), abs=0.02)


def test_a_crowd_of_holes_is_named_by_first_and_last() -> None:
    points = ", ".join(f"[{x}, {y}]" for x in range(-100, 101, 20) for y in range(-80, 81, 10))
    text = DRYER.replace("[[-90, -70], [95, -60], [80, 70]], hole: 9", f"[{points}], hole: 5")
    layout = lay_out(loads(text, "x"))
    said = words(tree(layout))
    assert "dryer.1" in said
    assert f"dryer.{11 * 17}" in said
    assert "dryer.50" not in said
    assert len([e for e in tree(layout).iter() if (e.get("id") or "").startswith("pk-opening-")]) == len(
        layout.openings
    )


# ------------------------------------------------------------------------------------------- verdict


def test_a_stopped_plate_is_stamped(dryer: Layout) -> None:
    root = tree(dryer, STOPPED)
    said = words(root)
    assert said.count("NOT FOR CUTTING") >= 3
    assert "CLEAR TO CUT" not in said
    assert root.get("data-verdict") == "stop"
    assert "1 stop open" in said


def test_a_clear_plate_says_so_and_is_not_stamped(dryer: Layout) -> None:
    root = tree(dryer)
    said = words(root)
    assert "CLEAR TO CUT" in said
    assert "NOT FOR CUTTING" not in said
    assert root.get("data-verdict") == "clear"


def test_an_accepted_stop_does_not_stamp(dryer: Layout) -> None:
    root = tree(dryer, Verdict(STOPPED.findings[3:]))
    assert "CLEAR TO CUT" in words(root)
    assert any("it is welded there" in line for line in words(root))


def test_each_kind_of_finding_has_a_shape_of_its_own(dryer: Layout) -> None:
    root = tree(dryer, STOPPED)

    def corners(count: int) -> int:
        mark = named(root, f"pk-finding-{count}")
        shape = next(e for e in mark.iter() if e.get("class") == "pk-mark-shape")
        return len((shape.get("points") or "").split())

    assert [corners(count) for count in (1, 2, 3)] == [8, 3, 0]
    accepted = next(e for e in named(root, "pk-finding-4").iter() if e.get("class") == "pk-mark-shape")
    assert accepted.get("stroke-dasharray") is not None
    assert accepted.get("fill") == "#ffffff"


def test_a_finding_is_ringed_at_its_place(dryer: Layout) -> None:
    root = tree(dryer, STOPPED)
    scale, _, _, _, x, y = (
        float(value)
        for value in (named(root, "pk-steel").get("transform") or "").removeprefix("matrix(").removesuffix(")").split()
    )
    ring = next(e for e in named(root, "pk-finding-2").iter(f"{SVG}circle") if "pk-target" in (e.get("class") or ""))
    assert float(ring.get("cx") or 0) == pytest.approx(x - 100 * scale, abs=0.02)
    assert float(ring.get("cy") or 0) == pytest.approx(y - 60 * scale, abs=0.02)


def test_a_finding_without_a_place_is_marked_at_its_feature(dryer: Layout) -> None:
    placed, unplaced = (
        named(
            tree(dryer, Verdict((Finding(rule="web", level="warn", message="x", features=("cable gland",), at=at),))),
            "pk-finding-1",
        )
        for at in ((-100.0, 60.0), None)
    )
    rings = [next(e for e in mark.iter(f"{SVG}circle")) for mark in (placed, unplaced)]
    assert rings[0].get("cx") == rings[1].get("cx")
    assert rings[0].get("cy") == rings[1].get("cy")


def test_every_finding_is_put_into_words_with_its_advice(dryer: Layout) -> None:
    said = " ".join(words(tree(dryer, STOPPED)))
    for finding in STOPPED.findings:
        assert finding.message in said
    assert "What to do: drill it" in said


def test_like_findings_are_told_once_and_marked_at_each_place(dryer: Layout) -> None:
    alike = tuple(
        Finding(
            rule="small-hole",
            level="warn",
            message=f"dryer.{k}: small",
            features=(f"dryer.{k}",),
            at=(10.0 * k, 0),
            found=9,
            needed=15,
        )
        for k in (1, 2, 3)
    )
    root = tree(dryer, Verdict(alike))
    assert [line for line in words(root) if "the same at" in line] == ["dryer.1: small (the same at dryer.2; dryer.3)"]
    ids = [e.get("id") for e in root.iter() if (e.get("id") or "").startswith("pk-finding-")]
    assert ids == ["pk-finding-1", "pk-finding-1-2", "pk-finding-1-3"]


def test_a_flood_of_findings_is_cut_short_and_says_so(dryer: Layout) -> None:
    many = Verdict(
        tuple(
            Finding(rule="web", level="stop", message=f"number {k}", features=("dryer.1",), at=(0, 0), found=k)
            for k in range(200)
        )
    )
    said = words(tree(dryer, many))
    assert any(re.fullmatch(r"and \d+ more findings: see the report", line) for line in said)
    assert "200 stops open" in said


# --------------------------------------------------------------------------------- labels, the file


def boxes(root: Element) -> list[tuple[float, float, float, float]]:
    grounds = [e for e in root.iter(f"{SVG}rect") if e.get("class") == "pk-ground"]
    return [
        (x, y, x + float(e.get("width") or 0), y + float(e.get("height") or 0))
        for e in grounds
        for x, y in [(float(e.get("x") or 0), float(e.get("y") or 0))]
    ]


@pytest.mark.parametrize("verdict", [CLEAR, STOPPED])
def test_labels_do_not_overlap(dryer: Layout, verdict: Verdict) -> None:
    frames = boxes(tree(dryer, verdict))
    assert len(frames) > 12
    for index, (left, top, right, bottom) in enumerate(frames):
        for x0, y0, x1, y1 in frames[:index]:
            assert right <= x0 or x1 <= left or bottom <= y0 or y1 <= top


def test_what_the_user_typed_is_escaped() -> None:
    text = DRYER.replace(
        "title: Herb dryer, new fan motor over the old boss", 'title: "<script>alert(1)</script> & \\"more\\""'
    )
    text = text.replace("cable gland", "'<b>&gland'")
    layout = lay_out(loads(text, "x"))
    root = tree(
        layout, Verdict((Finding(rule="web", level="stop", message="<i>&amp;", features=("<b>&gland",), at=(0, 0)),))
    )
    assert not [e for e in root.iter() if e.tag.removeprefix(SVG) in {"script", "b", "i"}]
    assert "<b>&gland" in words(root)


def test_an_endless_name_is_cut_short_in_the_picture_but_kept_in_the_data() -> None:
    name = "cable gland of the third drawer from the left under the bench by the window"
    root = tree(lay_out(loads(DRYER.replace("cable gland", name), "x")))
    assert any(line.startswith("cable gland of") and line.endswith("…") for line in words(root))
    assert name in {e.get("data-feature") for e in root.iter()}


def test_ids_are_unique_and_features_are_tied(dryer: Layout) -> None:
    root = tree(dryer, STOPPED)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    tied = {e.get("data-feature") for e in root.iter() if e.get("data-feature")}
    assert {opening.name for opening in dryer.openings} <= tied
    assert {body.name for body in dryer.bodies if body.kind != "tip"} <= tied


def test_names_that_differ_only_in_their_signs_get_different_ids() -> None:
    text = DRYER.replace(
        "    cable gland:", "    cable-gland: {circle: {diameter: 12}, at: [-100, 0]}\n    cable gland:"
    )
    ids = [e.get("id") for e in tree(lay_out(loads(text, "x"))).iter() if e.get("id")]
    assert len(ids) == len(set(ids))


def test_the_same_spec_gives_the_same_bytes(dryer: Layout, tmp_path: Path) -> None:
    again = lay_out(loads(DRYER, "herb-dryer"))
    path = tmp_path / "herb-dryer.svg"
    svg(again, STOPPED, path)
    assert path.read_bytes() == svg_text(dryer, STOPPED).encode()


def test_nothing_is_fetched_from_elsewhere(dryer: Layout) -> None:
    text = svg_text(dryer, STOPPED)
    assert "href" not in text
    assert set(re.findall(r"https?://[^\"]*", text)) == {"http://www.w3.org/2000/svg"}


def test_what_moves_inside_another_outline_is_not_ghosted_twice() -> None:
    text = (Path(__file__).parents[3] / "specs" / "apple-mill.yaml").read_text("utf-8")
    layout = lay_out(loads(text, "mill.yaml"))
    root = tree(layout)
    # the motor's body of 160 mm covers its flange, spigot and shaft and its pulley; its four screws are drawn
    for end in ("install", "tension"):
        (ghost,) = [e for e in root.iter(f"{SVG}g") if e.get("class") == f"pk-ghost pk-ghost-{end}"]
        assert len(list(ghost.iter(f"{SVG}path"))) == 1 + 4
