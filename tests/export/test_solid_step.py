"""The solid: its volume, its place, its bytes, and what is refused."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.checks import check
from platekit.checks.finding import Finding, Verdict
from platekit.cutting.contours import cut_out, merge
from platekit.errors import OutputError
from platekit.export.exact import simplest, slices, without_specks
from platekit.export.skin import skin
from platekit.export.solid_step import exact_volume, step, step_bytes
from platekit.geometry import Disc, Loop, Shape, Slot, polygon_loop, rectangle
from platekit.layout import lay_out
from platekit.placed import Layout, Opening, Side
from platekit.spec import loads

step_export = import_module("platekit.export.solid_step")  # the package has a function of that name
CLEAR = Verdict(())
PLATE = rectangle(100, 60)


def hole(name: str, shape: Shape, depth: float | None = None, side: Side | None = None) -> Opening:
    return Opening(name, "cutout", shape, shape.centroid, 0.0, f"plate.cutouts.{name}", depth=depth, side=side)


def with_openings(layout: Layout, *openings: Opening, outline: Shape = PLATE) -> Layout:
    """A plate of 100 x 60 mm, as thick as the layout's, with these openings."""
    return replace(layout, outline=outline, openings=openings, bodies=())


def area(layout: Layout) -> float:
    """Volume by the slices, as the area of a plate of the same thickness."""
    return exact_volume(slices(layout)) / layout.thickness


def in_kernel(data: bytes, folder: Path) -> Any:
    import cadquery as cq

    path = folder / "back.step"
    path.write_bytes(data)
    return cq.importers.importStep(str(path)).val()


# --------------------------------------------------------------------------------------------- exact


def test_area_of_a_plate_with_separate_openings_is_the_sum(winder: Layout) -> None:
    layout = with_openings(winder, hole("a", Disc((-20, 0), 5.0)), hole("b", Slot((10, 0), (30, 0), 4.0)))
    assert area(layout) == pytest.approx(6000 - math.pi * 25 - (math.pi * 16 + 20 * 8), rel=1e-12)


def test_an_opening_within_another_counts_once(winder: Layout) -> None:
    layout = with_openings(winder, hole("a", Disc((0, 0), 5.0)), hole("b", Disc((1, 0), 12.0)))
    assert area(layout) == pytest.approx(6000 - math.pi * 144, rel=1e-12)


def test_two_discs_that_overlap_count_their_lens_once(winder: Layout) -> None:
    """Lens of two unit-like discs, radius r, centres d apart: 2 r2 acos(d/2r) - d/2 sqrt(4 r2 - d2) (handbook)."""
    r, d = 10.0, 12.0
    lens = 2 * r * r * math.acos(d / (2 * r)) - d / 2 * math.sqrt(4 * r * r - d * d)
    layout = with_openings(winder, hole("a", Disc((0, 0), r)), hole("b", Disc((d, 0), r)))
    assert area(layout) == pytest.approx(6000 - 2 * math.pi * r * r + lens, rel=1e-12)


def test_an_opening_over_the_edge_takes_what_is_inside(winder: Layout) -> None:
    layout = with_openings(winder, hole("a", Disc((50, 0), 8.0)), hole("far off", Disc((200, 0), 8.0)))
    assert area(layout) == pytest.approx(6000 - math.pi * 64 / 2, rel=1e-9)


def test_recesses_take_their_depth_less_what_is_open_already(winder: Layout) -> None:
    """8 mm plate: a recess of 3 mm round a through hole, another of 2 mm from the other side below it."""
    layout = with_openings(
        winder,
        hole("bore", Disc((0, 0), 6.0)),
        hole("near", Disc((0, 0), 15.0), depth=3.0, side="near"),
        hole("far", Disc((3, 0), 10.0), depth=2.0, side="far"),
    )
    circle = math.pi
    volume = 6000 * 8 - circle * 36 * 8 - circle * (225 - 36) * 3 - circle * (100 - 36) * 2
    assert exact_volume(slices(layout)) == pytest.approx(volume, rel=1e-12)
    assert [(s.low, s.high) for s in slices(layout)] == [(-3.0, 0.0), (-6.0, -3.0), (-8.0, -6.0)]


def test_two_recesses_of_one_side_that_overlap(winder: Layout) -> None:
    shallow = hole("shallow", rectangle(40, 20), depth=2.0, side="near")
    deep = hole("deep", rectangle(20, 40), depth=5.0, side="near")
    layout = with_openings(winder, shallow, deep)
    assert exact_volume(slices(layout)) == pytest.approx(6000 * 8 - 800 * 5 - 400 * 2, rel=1e-12)


def test_merged_keeps_what_stands_alone_as_it_is() -> None:
    alone = [Disc((x, 0), 1.0) for x in range(0, 300, 3)]
    assert [one.shape for one in merge(alone)] == alone
    assert merge([]) == ()
    chain = merge([Disc((x, 0), 1.0) for x in (0, 1.5, 3.0, 9.0)])
    assert [one.members for one in chain] == [(0, 1, 2), (3,)]
    assert cut_out(PLATE, [])[1] == ()


def test_a_loop_that_is_a_circle_is_told_as_one() -> None:
    disc = simplest(rectangle(8, 8, corner=4, center=(1, 2)))
    assert isinstance(disc, Disc)
    assert (*disc.center, disc.radius) == pytest.approx((1, 2, 4))
    assert isinstance(simplest(rectangle(8, 8, corner=3)), Loop)


def test_specks_go_and_nothing_else() -> None:
    square = ((0.0, 0.0, 0.0), (9.0, 0.0, 0.2), (9.0, 9.0, 0.0), (0.0, 9.0, -0.1))
    assert without_specks(square) == square
    for at in range(4):
        x, y, bulge = square[at]
        speck = [*square[: at + 1], (x + 0.0004, y + 0.0004, bulge), *square[at + 1 :]]
        assert [v[2] for v in without_specks(speck)] == [v[2] for v in square]
        assert len(without_specks(speck)) == 4


# --------------------------------------------------------------------------------------------- the solid


def test_volume_is_area_times_thickness(plate: Layout, tmp_path: Path) -> None:
    solid = in_kernel(step_bytes(plate), tmp_path)
    recesses = sum(o.shape.area * (o.depth or 0) for o in plate.openings if not o.through)
    assert solid.Volume() == pytest.approx(plate.net_area * plate.thickness - recesses, rel=1e-9)


def test_it_lies_in_the_plate_frame_near_face_up(winder: Layout, tmp_path: Path) -> None:
    box = in_kernel(step_bytes(winder), tmp_path).BoundingBox(1e-6)
    assert (box.zmin, box.zmax) == pytest.approx((-8, 0), abs=1e-6)
    assert (box.xmin, box.ymin) == pytest.approx((-90, -70), abs=1e-6)
    assert box.xmax == pytest.approx(160, abs=1e-6)


def test_marked_holes_are_real_holes(winder: Layout, tmp_path: Path) -> None:
    """It is the finished part: the tap drill's 5 mm go through, the recess is open to the near side only."""
    import cadquery as cq

    solid = in_kernel(step_bytes(winder), tmp_path)
    x, y = winder.opening("motor.1").center
    for z in (-0.1, -7.9):
        assert not solid.isInside(cq.Vector(x, y, z))
        assert not solid.isInside(cq.Vector(x + 2.49, y, z))
        assert solid.isInside(cq.Vector(x + 2.51, y, z))
    recess = winder.opening("motor.pilot")
    (x, y), depth = recess.center, recess.depth or 0.0
    assert not solid.isInside(cq.Vector(x, y, 0.01 - depth))
    assert solid.isInside(cq.Vector(x, y, -0.01 - depth))


@pytest.mark.parametrize(
    "openings",
    [
        [hole("a", Disc((0, 0), 10.0)), hole("b", Disc((12, 0), 10.0))],
        [hole("a", Disc((50, 0), 8.0))],
        [
            hole("bore", Disc((0, 0), 6.0)),
            hole("near", Disc((0, 0), 15.0), depth=3.0, side="near"),
            hole("far", Disc((5, 0), 10.0), depth=2.0, side="far"),
        ],
        [
            hole("s", rectangle(40, 20), depth=2.0, side="near"),
            hole("d", rectangle(20, 40), depth=5.0, side="near"),
        ],
        [
            hole("s", Disc((0, 0), 12.0), depth=6.0, side="near"),
            hole("d", Disc((9, 0), 12.0), depth=5.0, side="far"),
        ],
        [hole("rim", Disc((-48, 0), 6.0), depth=4.0, side="far")],
    ],
    ids=["overlap", "over the edge", "both sides", "one side", "breaks through", "recess over the edge"],
)
def test_awkward_openings_pass_the_proof(winder: Layout, openings: list[Opening]) -> None:
    assert step_bytes(with_openings(winder, *openings))


def test_round_and_hollow_outsides_pass_the_proof(winder: Layout) -> None:
    keyhole = Loop(((0, 0, -0.4), (20, 0, 0), (20, 30, 0.9), (14, 44, 0.9), (6, 44, 0.9), (0, 30, 0)))
    sliver = polygon_loop([(0, 0), (50, -0.00005), (50.0002, -0.00005), (100, 0), (100, 40), (0, 40)])
    for outline in (Disc((0, 0), 40.0), rectangle(80, 80, corner=40), keyhole, sliver):
        assert step_bytes(with_openings(winder, outline=outline))


def test_a_plate_that_falls_apart_is_refused(winder: Layout) -> None:
    gash = hole("gash", rectangle(10, 80))
    with pytest.raises(OutputError, match="cut the plate into 2 pieces"):
        step_bytes(with_openings(winder, gash))
    with pytest.raises(OutputError, match="leave nothing"):
        step_bytes(with_openings(winder, hole("all", rectangle(120, 80))))


def test_a_wrong_volume_is_refused(winder: Layout, monkeypatch: pytest.MonkeyPatch) -> None:
    """A skin that lacks one small hole is off by far more than the proof lets pass."""
    less = replace(winder, openings=tuple(o for o in winder.openings if o.name != "motor.2"))
    monkeypatch.setattr(step_export, "skin", lambda _: skin(slices(less)))
    with pytest.raises(OutputError, match=r"its volume is .* mm3, not"):
        step_bytes(winder)


def test_a_skin_that_does_not_close_is_refused(winder: Layout, monkeypatch: pytest.MonkeyPatch) -> None:
    """A face that is lost, or one that looks the wrong way, leaves an edge that is gone along once or twice alike."""
    whole = skin(slices(winder))
    *others, wall = whole.faces
    turned = replace(wall, bounds=tuple(tuple(side.turned for side in bound) for bound in wall.bounds))
    for faces in (tuple(others), (*others, turned)):
        monkeypatch.setattr(step_export, "skin", lambda _, faces=faces: replace(whole, faces=faces))
        with pytest.raises(OutputError, match="its faces do not close"):
            step_bytes(winder)


@st.composite
def drawn_plates(draw: st.DrawFn) -> list[Opening]:
    """Openings and recesses of all kinds on a coarse grid, so that edges often touch, cross or run along each other."""
    place = st.integers(-20, 20)
    openings = []
    for number in range(draw(st.integers(1, 6))):
        x, y = 2.0 * draw(place), 1.0 * draw(place)
        size = 2.0 * draw(st.integers(1, 6))
        shapes: list[Shape] = [
            Disc((x, y), size),
            rectangle(2 * size, size, center=(x, y)),
            rectangle(size, 2 * size, corner=size / 4, center=(x, y)),
            Slot((x, y), (x + size, y), size / 2),
        ]
        shape = draw(st.sampled_from(shapes))
        sides: list[Side | None] = [None, "near", "far"]
        side = draw(st.sampled_from(sides))
        openings.append(
            hole(f"h{number}", shape, depth=draw(st.sampled_from([2.0, 3.0, 5.0])) if side else None, side=side)
        )
    return openings


def written(layout: Layout) -> bytes | None:
    """The solid of a plate, None where it falls apart or hangs together in a point, which is refused in words."""
    try:
        return step_bytes(layout)
    except OutputError as refused:
        said = str(refused)
    assert re.search("cut the plate into|leave nothing|only just touches", said), said
    return None


@given(drawn_plates())
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_recesses_and_openings_at_random_close_and_have_their_volume(winder: Layout, openings: list[Opening]) -> None:
    written(with_openings(winder, *openings))


@given(drawn_plates())
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_kernel_for_solids_reads_what_was_drawn_at_random(winder: Layout, openings: list[Opening]) -> None:
    layout = with_openings(winder, *openings)
    data = written(layout)
    if data is not None:
        with TemporaryDirectory() as folder:
            solid = in_kernel(data, Path(folder))
        assert solid.ShapeType() == "Solid"
        assert solid.isValid()
        assert solid.Volume() == pytest.approx(exact_volume(slices(layout)), rel=1e-9)


# --------------------------------------------------------------------------------------------- the file


def test_same_plate_same_bytes_again_and_in_another_process(tmp_path: Path, winder: Layout) -> None:
    spec = tmp_path / "winder.yaml"
    spec.write_text(winder.spec.text, encoding="utf-8")
    script = (
        "import sys; from platekit.spec import loads; from platekit.layout import lay_out;"
        "from platekit.export.solid_step import step_bytes; from pathlib import Path;"
        "layout = lay_out(loads(Path(sys.argv[1]).read_text(encoding='utf-8'), 'winder'));"
        "step_bytes(layout); Path(sys.argv[2]).write_bytes(step_bytes(layout))"
    )
    root = Path(str(step_export.__file__)).parents[2]
    out = tmp_path / "out.step"
    subprocess.run(
        [sys.executable, "-c", script, str(spec), str(out)],
        cwd=root,
        env={**os.environ, "PYTHONHASHSEED": "3"},
        check=True,
        timeout=120,
    )
    assert step_bytes(winder) == step_bytes(winder) == out.read_bytes()


def test_the_head_tells_title_name_revision_and_no_date_of_today(winder: Layout) -> None:
    model = winder.spec.model.model_copy(update={"title": "Bob's Mühle 磨 𝛼 \\ end"})
    odd = replace(winder, spec=replace(winder.spec, model=model))
    text = step_bytes(odd).decode("ascii")
    head = text[: text.index("ENDSEC")]
    assert f"'revision {odd.spec.revision}'" in head
    assert r"'Bob''s M\X2\00FC\X0\hle \X2\78E8\X0\ \X4\0001D6FC\X0\ \\ end'" in head
    assert "'winder','2000-01-01T00:00:00'" in head
    assert "PRODUCT('winder','Bob''s M\\X2\\00FC\\X0\\hle" in text
    assert text.count(f"'revision {odd.spec.revision}'") == 2


def test_no_kernel_for_solids_is_asked(tmp_path: Path, winder: Layout) -> None:
    spec = tmp_path / "winder.yaml"
    spec.write_text(winder.spec.text, encoding="utf-8")
    script = (
        "import sys; from platekit.spec import load; from platekit.layout import lay_out;"
        "from platekit.export.solid_step import step_bytes; step_bytes(lay_out(load(sys.argv[1])));"
        "print('cadquery' in sys.modules, 'OCP' in sys.modules)"
    )
    root = Path(str(step_export.__file__)).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", script, str(spec)], cwd=root, check=True, capture_output=True, text=True, timeout=60
    )
    assert done.stdout.split() == ["False", "False"]


def test_an_open_stop_leaves_no_file(tmp_path: Path, winder: Layout) -> None:
    stop = Finding(
        rule="web", level="stop", message="the web between a and b is 2 mm; 5 mm is needed", features=("a", "b")
    )
    with pytest.raises(OutputError, match="the solid was not written: a stop is open"):
        step(winder, tmp_path / "plate.step", Verdict((stop,)))
    assert list(tmp_path.iterdir()) == []
    step(winder, tmp_path / "plate.step", CLEAR)
    assert (tmp_path / "plate.step").read_bytes() == step_bytes(winder)


# ---------------------------------------------------------------------------------- heads let in

HEADS = """\
platekit: 1
title: Cider press, cross head
units: mm
plate: {{material: mild steel, thickness: {thickness}, outline: {{rectangle: {{width: 300, height: 200}}}}}}
mounts:
  arm:
    side: {side}
    looking_at: back
    pattern: {{points: [[{x}, {y}]], hole: {hole}}}
    bolts: {{size: M8, into: part, depth: 30, {head}}}
    {take_up}
cutting: {{process: waterjet}}
"""
COUNTERSUNK, LET_IN = "head: countersunk", "head: socket, counterbore: true"
HEAD_M8, SOCKET_M8, DEEP_M8, ROUND_IT = 17.92, 13.0, 8.0, 1.0
"""ISO 10642: 17.92 mm over the sharp corner, 90 degrees; ISO 4762: 13 mm and 8 mm; the counterbore is 1 mm larger."""


def with_head(head: str, thickness: float = 12, hole: float = 9, take_up: str = "", side: str = "far") -> Layout:
    at = {"side": side, "x": 40, "y": -30}
    return lay_out(loads(HEADS.format(head=head, thickness=thickness, hole=hole, take_up=take_up, **at), "press"))


def cone_round_a_hole(mouth: float, hole: float, most: float = math.inf) -> float:
    """Volume of a 90 degree frustum from `mouth` down to `hole`, or `most` deep, less the hole in it."""
    wide, narrow = mouth / 2, hole / 2
    deep = min(wide - narrow, most)
    end = wide - deep
    return math.pi * deep * ((wide * wide + wide * end + end * end) / 3 - narrow * narrow)


def proved(layout: Layout, folder: Path) -> float:
    """The volume of the file's solid by the kernel, which is held to be the exact one too."""
    volume = float(in_kernel(step_bytes(layout), folder).Volume())
    assert volume == pytest.approx(exact_volume(slices(layout)), rel=1e-9)
    return volume


@pytest.mark.parametrize("hole", [8.4, 9.0, 12.0])
@pytest.mark.parametrize("side", ["near", "far"])
def test_a_countersink_is_a_cone_down_to_the_wall_of_the_hole(hole: float, side: str, tmp_path: Path) -> None:
    volume = proved(with_head(COUNTERSUNK, hole=hole, side=side), tmp_path)
    cone = cone_round_a_hole(HEAD_M8, hole)
    assert volume == pytest.approx((60000 - math.pi / 4 * hole**2) * 12 - cone, rel=1e-9)


def test_a_countersink_in_a_thin_plate_leaves_by_the_other_face(tmp_path: Path) -> None:
    volume = proved(with_head(COUNTERSUNK, thickness=3), tmp_path)
    cone = cone_round_a_hole(HEAD_M8, 9, most=3)
    assert volume == pytest.approx((60000 - math.pi / 4 * 81) * 3 - cone, rel=1e-9)


def test_a_hole_wider_than_the_head_has_no_cone(tmp_path: Path) -> None:
    volume = proved(with_head(COUNTERSUNK, hole=18), tmp_path)
    assert volume == pytest.approx((60000 - math.pi * 81) * 12, rel=1e-9)


def test_a_counterbore_has_its_floor_under_the_head(tmp_path: Path) -> None:
    volume = proved(with_head(LET_IN), tmp_path)
    ring = math.pi / 4 * ((SOCKET_M8 + ROUND_IT) ** 2 - 81)
    assert volume == pytest.approx((60000 - math.pi / 4 * 81) * 12 - ring * DEEP_M8, rel=1e-9)


def test_a_cone_over_straight_travel_is_a_cone_and_a_groove(tmp_path: Path) -> None:
    slots = "take_up: {slots: {along: 20 deg, install: 5, tension: 7}}"
    volume = proved(with_head(COUNTERSUNK, take_up=slots), tmp_path)
    deep = (HEAD_M8 - 9) / 2
    groove = 12 * deep * deep  # a triangle on each side of the slot, 12 mm long
    through = math.pi / 4 * 81 + 12 * 9
    assert volume == pytest.approx((60000 - through) * 12 - cone_round_a_hole(HEAD_M8, 9) - groove, rel=1e-9)


@pytest.mark.parametrize("head", [COUNTERSUNK, LET_IN])
@pytest.mark.parametrize("about", [(40, 50), (-171.1, -65.9), (64.3, 26.2), (-25.7, -98.9), (102.6, 79.1)])
def test_a_head_that_swings_takes_a_bent_groove(head: str, about: tuple[float, float], tmp_path: Path) -> None:
    """Pappus: a section swept round an axis has its area times the way of its centre; the two sides even out."""
    x, y = about
    swing = f"take_up: {{swing: {{about: [{x}, {y}], tightens: clockwise, install: 8 deg, tension: 6 deg}}}}"
    layout = with_head(head, take_up=swing)
    mount = layout.mounts["arm"]
    (point,) = mount.points
    long = math.radians(14) * math.dist(point, about)
    through = math.pi / 4 * 81 + long * 9
    deep = (HEAD_M8 - 9) / 2
    if head == COUNTERSUNK:
        taken = cone_round_a_hole(HEAD_M8, 9) + long * deep * deep
    else:
        wide = SOCKET_M8 + ROUND_IT
        taken = (math.pi / 4 * (wide**2 - 81) + long * (wide - 9)) * DEEP_M8
    assert proved(layout, tmp_path) == pytest.approx((60000 - through) * 12 - taken, rel=1e-9)


def test_two_cones_that_run_into_each_other_are_refused() -> None:
    """The edge between them is a branch of a hyperbola; the rules stop such a plate before it comes here."""
    text = HEADS.format(head=COUNTERSUNK, thickness=12, hole=9, take_up="", side="far", x=40, y=-30)
    layout = lay_out(loads(text.replace("[[40, -30]]", "[[40, -30], [54, -30]]"), "press"))
    assert any(finding.level == "stop" for finding in check(layout).findings)
    with pytest.raises(OutputError, match=r"the countersink at .* runs into another opening"):
        step_bytes(layout)
