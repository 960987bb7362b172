"""Models against our own solids: the kernel measures what closed forms say, and what holds a model holds all of it."""

from __future__ import annotations

import contextlib
import math
import random
from pathlib import Path

import cadquery as cq
import numpy
import pytest

from platekit.geometry import Disc
from platekit.geometry.envelope import Envelope, envelope
from platekit.geometry.kernel import SKIN, Matrix, Model, ModelError, Placed, how_near, read_model
from platekit.geometry.solids import Upright, clearance
from tests.geometry.step_models import step_of
from tests.geometry.test_solids_by_kernel import a_solid, modelled

HERE: Matrix = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, 0.0))
UP = (0.0, 0.0, 1.0)


def held(model: Model) -> Envelope:
    levels = sorted({*model.corners[:, 2].tolist(), model.box[0][2], model.box[1][2]})
    return envelope(model.skin(UP), lambda z: [run[:, :2] for run in model.section(UP, z)], levels, (), SKIN)


@pytest.mark.parametrize("batch", range(2))
def test_a_model_is_as_near_as_our_own_solid_and_what_holds_it_no_farther(batch: int, tmp_path: Path) -> None:
    for scene in range(10):
        rng = random.Random(4000 * batch + scene)
        own, other = a_solid(rng), a_solid(rng)
        model = read_model("own.step", step_of(modelled(own), tmp_path / "own.step"))
        found, expected = how_near(Placed(model, HERE), (other,)), clearance(own, other)
        if abs(expected.distance) > 0.01:
            assert found.shares == (expected.distance < 0.0), (batch, scene)
        if expected.distance > 0.01:
            # Between a cone and an edge the kernel may miss the nearest point, as other tests have found.
            assert found.distance >= expected.distance - 0.01, (batch, scene)
            nearest = min(clearance(piece, other).distance for piece in held(model).pieces)
            assert nearest <= found.distance + 1e-3, (batch, scene)


def test_a_turned_part_comes_back_as_its_own_discs(tmp_path: Path) -> None:
    part = cq.Workplane("XY").circle(30).extrude(12).faces(">Z").workplane().circle(14).extrude(40)
    model = read_model("turned.step", step_of(part, tmp_path / "turned.step"))
    found = held(model)
    assert found.exact
    assert found.pieces == (Upright(Disc((0.0, 0.0), 30.0), 0.0, 12.0), Upright(Disc((0.0, 0.0), 14.0), 12.0, 52.0))
    assert found.outline == Disc((0.0, 0.0), 30.0)
    assert model.volume == pytest.approx(math.pi * (900 * 12 + 196 * 40), rel=1e-9)


def test_a_ball_is_held_by_slices_that_hold_all_of_it_and_not_much_more(tmp_path: Path) -> None:
    model = read_model("ball.step", step_of(cq.Workplane("XY").sphere(9), tmp_path / "ball.step"))
    for piece in held(model).pieces:
        z = min(abs(piece.low), abs(piece.high)) if piece.low * piece.high > 0 else 0.0
        true = math.sqrt(81.0 - z * z)
        box = piece.shape.box
        assert true - 1e-6 <= box.width / 2 <= true + 2 * SKIN


def test_flat_faces_tell_holes_from_bosses(tmp_path: Path) -> None:
    block = cq.Workplane("XY").box(80, 60, 20, centered=(True, True, False)).faces(">Z").workplane()
    block = block.pushPoints([(-30, 20), (30, 20)]).hole(8, 12)
    block = block.union(cq.Workplane("XY").workplane(offset=20).circle(15).extrude(5))
    model = read_model("block.step", step_of(block, tmp_path / "block.step"))
    top = next(face for face in model.faces if face.normal[2] > 0.9 and face.offset == pytest.approx(20))
    assert [(one.kind, round(one.radius, 6)) for one in top.circles] == [("hole", 4.0), ("hole", 4.0), ("boss", 15.0)]
    assert top.size == pytest.approx((80, 60))


def test_several_solids_are_one_model_and_the_unit_of_the_file_counts(tmp_path: Path) -> None:
    two = cq.Compound.makeCompound([cq.Solid.makeBox(10, 10, 10), cq.Solid.makeBox(5, 5, 5, cq.Vector(40, 0, 0))])
    model = read_model("two.step", step_of(two, tmp_path / "two.step"))
    assert len(model.solids) == 2
    assert model.volume == pytest.approx(1125)
    assert numpy.ptp(model.corners[:, 0]) == pytest.approx(45)


STEP_HEAD = b"ISO-10303-21;\nHEADER;\n"


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "an empty file"),
        (b"  \n", "an empty file"),
        (b"solid part\nfacet normal 0 0 1\n", "which is no STEP file"),
        (STEP_HEAD, "cut off"),
        (STEP_HEAD + b"ENDSEC;\nDATA;\n#1=NONSENSE((;\nENDSEC;\nEND-ISO-10303-21;\n", "cannot be read"),
        (
            STEP_HEAD + b"FILE_DESCRIPTION((''),'2;1');FILE_NAME('','',(''),(''),'','','');"
            b"FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n",
            "no solid in part.step",
        ),
    ],
)
def test_what_is_no_model_is_refused_in_one_sentence(data: bytes, found: str) -> None:
    with pytest.raises(ModelError, match=found) as caught:
        read_model("part.step", data)
    assert "\n" not in str(caught.value)


def test_a_damaged_file_is_refused_or_read_and_never_brings_the_program_down(tmp_path: Path) -> None:
    whole = step_of(cq.Workplane("XY").circle(20).extrude(9), tmp_path / "part.step")
    for seed in range(12):
        rng, data = random.Random(seed), bytearray(whole)
        for _ in range(8):
            data[rng.randrange(400, len(data) - 60)] = rng.choice(b"0123456789(),#$.'A")
        with contextlib.suppress(ModelError):
            assert read_model("part.step", bytes(data)).faces is not None


def test_loose_faces_and_impossible_sizes_are_refused(tmp_path: Path) -> None:
    face = cq.Face.makePlane(20, 20)
    with pytest.raises(ModelError, match="no solid in"):
        read_model("sheet.step", step_of(face, tmp_path / "sheet.step"))
    with pytest.raises(ModelError, match="whose unit is millimetre"):
        read_model("tiny.step", step_of(cq.Solid.makeBox(0.4, 0.2, 0.1), tmp_path / "tiny.step"))
    with pytest.raises(ModelError, match="whose unit is millimetre"):
        read_model("huge.step", step_of(cq.Solid.makeBox(12000, 20, 20), tmp_path / "huge.step"))
