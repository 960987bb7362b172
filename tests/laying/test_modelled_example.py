"""The example with a maker's model: sound as it stands; what runs into belt and guard is measured on the model."""

from __future__ import annotations

import math
import runpy
import shutil
from pathlib import Path

import cadquery as cq
import pytest

import platekit
from platekit.geometry import Line, Upright
from platekit.geometry.kernel import carried, read_model
from platekit.placed import Layout
from tests.geometry.step_models import step_of

FOLDER = Path(platekit.__file__).parents[1] / "specs" / "models"
SPEC = FOLDER / "oat-roller.yaml"
FACE = -6.0
"""Of the plate's far side, mm: belt and guard are on that side."""


def layout_with(tmp_path: Path, pin: cq.Workplane | None = None, at: tuple[float, float] = (0.0, 0.0)) -> Layout:
    """The example, with one more part that stands on the far face by its first, largest face."""
    text = SPEC.read_text("utf-8")
    if pin is not None:
        step_of(pin, tmp_path / "pin.step")
        words = f"  pin: {{carried_by: plate, side: far, shape: {{model: pin.step, face: 1, at: {list(at)}}}}}\n"
        text = text.replace("\ndrive:\n", f"{words}\ndrive:\n", 1)
    shutil.copy(FOLDER / "oat-roller-motor.step", tmp_path)
    (tmp_path / "oat-roller.yaml").write_text(text, "utf-8")
    return platekit.lay_out(platekit.load(tmp_path / "oat-roller.yaml"))


def clashes(layout: Layout) -> dict[str, float | None]:
    found = [one for one in platekit.check(layout).findings if one.rule == "clash"]
    return {" ".join(set(one.features) - {"pin"}): one.found for one in found}


def test_the_example_is_clear_and_its_motor_lies_by_its_holes() -> None:
    layout = platekit.lay_out(platekit.load(SPEC))
    assert platekit.check(layout).clear
    (body,) = [one for one in layout.bodies if one.name == "motor body"]
    assert body.solid_model is not None
    # The script's first hole is at 42.5 mm along the model's x; IEC 71 B14 has a hole at 45 degrees.
    x, y, z = carried(body.solid_model.place, (42.5, 0.0, 0.0))
    assert min((x - u) ** 2 + (y - v) ** 2 for u, v in layout.mounts["motor"].points) < 1e-6
    assert z == pytest.approx(4.0)  # on its spacers, over the near face


def test_the_model_is_what_its_script_makes_and_names_nobody(tmp_path: Path) -> None:
    shipped = FOLDER / "oat-roller-motor.step"
    runpy.run_path(str(FOLDER / "motor_model.py"))["write"](tmp_path / shipped.name)
    volumes = [volume(path) for path in (shipped, tmp_path / shipped.name)]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-9)
    faces = [read_model(path.name, path.read_bytes()).faces for path in (shipped, tmp_path / shipped.name)]
    assert len(faces[0]) == len(faces[1])
    assert len(shipped.read_bytes()) < 60_000
    assert "FILE_NAME('oat-roller-motor.step','2000-01-01T00:00:00',(''),(''),'','','');" in shipped.read_text("ascii")


def volume(path: Path) -> float:
    shape = cq.importers.importStep(str(path)).val()
    assert isinstance(shape, cq.Shape)
    return float(shape.Volume())


def cone(height: float) -> cq.Workplane:
    """A pin that narrows from 16 mm to 2 mm: the slices that hold it are wider than it is."""
    return cq.Workplane("XY").circle(8).workplane(offset=height).circle(1).loft()


def test_a_model_inside_the_guard_is_told_by_its_tip(tmp_path: Path) -> None:
    (cover,) = [one for one in layout_with(tmp_path).bodies if one.name == "guard.cover"]
    room = FACE - max(solid.high for solid in cover.solids)
    # between the runs of the belt, where nothing else is in its way
    at = (70.0, -88.0)
    assert clashes(layout_with(tmp_path, cone(room - 1.25), at)) == {"guard.cover": pytest.approx(1.25, abs=1e-4)}
    assert clashes(layout_with(tmp_path, cone(room - 2.5), at)) == {}


def test_a_model_beside_the_belt_is_measured_on_the_cone_itself(tmp_path: Path) -> None:
    (run,) = [one for one in layout_with(tmp_path).bodies if one.name == "drive.belt 2"]
    (belt,) = run.swept_solids
    assert isinstance(belt, Upright)
    # What it covers while the motor is moved to tighten it; the longest straight edge below is the one looked at.
    edges = [edge for edge in belt.shape.loop().edges if isinstance(edge, Line) and edge.a[0] < edge.b[0]]
    edge = max(edges, key=lambda one: one.length)
    (ax, ay), (bx, by) = edge.a, edge.b
    # By hand: the cone's axis 9 mm below that edge, half-way along it. Where the run begins the
    # cone's radius is 8 mm less 7 mm in 30, and the shortest way from there to its flank is square to the flank.
    at = ((ax + bx) / 2 + 9.0 * (by - ay) / edge.length, (ay + by) / 2 - 9.0 * (bx - ax) / edge.length)
    wide = 8.0 - 7.0 * (FACE - belt.high) / 30.0
    by_hand = (9.0 - wide) * math.cos(math.atan2(7.0, 30.0))
    assert clashes(layout_with(tmp_path, cone(30.0), at)) == {"drive.belt 2": pytest.approx(by_hand, abs=2e-3)}
