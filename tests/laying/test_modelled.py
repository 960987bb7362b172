"""A maker's model as a body: laid by its holes, judged as the same body in words, refused where its place is open."""

from __future__ import annotations

import itertools
import math
import sys
from pathlib import Path

import numpy
import pytest

import platekit
from platekit.errors import SpecError
from platekit.geometry.kernel import carried
from platekit.placed import Body, Layout
from tests.geometry.step_models import motor, step_of
from tests.terminal import Terminal

LOPSIDED = [(60.0, 10.0), (-20.0, 62.0), (-55.0, -30.0)]
"""Holes that only one turn, and no mirror, brings onto themselves."""
SQUARE = [(s * 51.6188, t * 51.6188) for s, t in ((1, 1), (-1, 1), (-1, -1), (1, -1))]

SPEC = """platekit: 1
title: Model try
units: mm
plate: {{material: mild steel, thickness: 10}}
mounts:
  machine:
    side: far
    pattern: {{circle: {{count: 4, diameter: 60, start: 45 deg}}, hole: 9}}
    at: [0, -180]
  motor:
    side: {side}
    looking_at: {looking_at}
    pattern: {{points: {points}, hole: 9}}
    pilot: {{diameter: 110, depth: 3.5}}
    at: [5, 7]
    turn: 20 deg
    {more}
bodies:
  motor body:
    carried_by: motor
    {body}
  post: {{carried_by: plate, side: {side}, shape: {{circle: {{diameter: 20}}, at: [{x}, {y}]}}, span: [60, 100]}}
"""


@pytest.fixture(scope="module")
def models(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("models")
    step_of(motor(LOPSIDED), folder / "lopsided.step")
    step_of(motor(LOPSIDED, box=False), folder / "round.step")
    step_of(motor([(-x, y) for x, y in LOPSIDED]), folder / "mirrored.step")
    step_of(motor(SQUARE), folder / "square.step")
    step_of(motor(SQUARE, box=False), folder / "alike.step")
    step_of(motor(LOPSIDED, scale=1 / 25.4), folder / "inches.step")
    return folder


def spec_of(models: Path, body: str, **given: object) -> platekit.Spec:
    words = {"side": "near", "looking_at": "face", "points": LOPSIDED, "more": "", "x": 150, "y": 0, **given}
    points = [list(point) for point in words.pop("points")]  # type: ignore[attr-defined]
    path = models / "plate.yaml"
    path.write_text(SPEC.format(body=body, points=points, **words), "utf-8")
    return platekit.load(path)


def body_of(layout: Layout) -> Body:
    return next(body for body in layout.bodies if body.name == "motor body")


@pytest.mark.parametrize(("side", "looking_at"), list(itertools.product(("near", "far"), ("face", "back"))))
def test_a_model_lies_with_its_holes_on_the_mounts_and_is_never_mirrored(
    models: Path, side: str, looking_at: str
) -> None:
    # Seen through the part the same holes lie the other way round.
    points = LOPSIDED if looking_at == "face" else [(-x, y) for x, y in LOPSIDED]
    layout = platekit.lay_out(
        spec_of(models, "shape: {model: lopsided.step}", side=side, looking_at=looking_at, points=points)
    )
    body = body_of(layout)
    assert body.solid_model is not None
    assert numpy.linalg.det(numpy.array(body.solid_model.place)[:, :3]) == pytest.approx(1.0)
    face = 0.0 if side == "near" else -10.0
    for (x, y), hole in zip(LOPSIDED, layout.mounts["motor"].points, strict=True):
        assert carried(body.solid_model.place, (x, y, 0.0)) == pytest.approx((*hole, face), abs=1e-4)
    # the frame stands on the part's own side, the shaft goes through the plate
    assert body.z == pytest.approx((-40.0, 210.0) if side == "near" else (-220.0, 30.0), abs=1e-4)
    # the terminal box, which points along the model's x
    tip = carried(body.solid_model.place, (115.0, 0.0, -90.0))
    assert body.shape.contains((0.99 * tip[0] + 0.05, 0.99 * tip[1] + 0.07))


STEPS = """steps:
      - {diameter: 28, span: [-40, 0]}
      - {diameter: 165, span: [0, 10]}
      - {diameter: 140, span: [10, 210]}"""


@pytest.mark.parametrize(
    ("x", "more"),
    [
        (84.0, ""),
        (86.5, ""),
        (88.0, ""),
        (70.0, ""),
        (100.0, "take_up: {slots: {along: 0 deg, install: 4, tension: 11}}"),
        (97.0, "take_up: {slots: {along: 20 deg, install: 4, tension: 11}}"),
        (96.0, "take_up: {swing: {about: [5, -120], install: 3 deg, tension: 5 deg, tightens: clockwise}}"),
    ],
)
def test_a_model_is_judged_as_the_same_body_in_steps(models: Path, x: float, more: str) -> None:
    verdicts = []
    for words in ("shape: {model: round.step}", STEPS):
        layout = platekit.lay_out(spec_of(models, words, x=x, more=more))
        # Flange and frame are clear of a post that stands beside the frame, however wide the slices are.
        found = [one for one in platekit.check(layout).findings if one.rule in ("clash", "blocked")]
        verdicts.append([(one.rule, one.level, one.features, round(one.found or 0.0, 3)) for one in found])
    assert verdicts[0] == verdicts[1]


def test_turns_that_look_alike_need_no_word_and_others_are_asked_for(models: Path) -> None:
    platekit.lay_out(spec_of(models, "shape: {model: alike.step}", points=SQUARE))
    with pytest.raises(SpecError, match=r"at 4 turns; write one of `turn: 0 deg` .*`turn: 270 deg`") as caught:
        platekit.lay_out(spec_of(models, "shape: {model: square.step}", points=SQUARE))
    (problem,) = caught.value.problems
    assert problem.field == "bodies.motor body.shape.model"
    layout = platekit.lay_out(spec_of(models, "shape: {model: square.step, turn: 90 deg}", points=SQUARE))
    placed = body_of(layout).solid_model
    assert placed is not None
    # At a turn of 90 deg the box points along the mount's own y: mirrored and turned by 20 deg, that is 110 deg.
    x, y, _ = carried(placed.place, (115.0, 0.0, -90.0))
    assert math.degrees(math.atan2(y - 7, x - 5)) == pytest.approx(110.0, abs=1e-3)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("shape: {model: mirrored.step}", "only in a mirror"),
        ("shape: {model: inches.step}", "25.4 times smaller"),
        ("shape: {model: square.step}", "without the 3 holes of motor"),
        ("shape: {model: lopsided.step, face: 99}", "face 99 of lopsided.step"),
        ("shape: {model: lopsided.step, turn: 45 deg}", "at which the holes of lopsided.step do not fit"),
        ("shape: {model: nowhere.step}", "no file"),
        ("shape: {model: plate.yaml}", "which is no STEP file"),
    ],
)
def test_what_cannot_be_placed_is_said_in_one_line_at_its_field(models: Path, words: str, found: str) -> None:
    with pytest.raises(SpecError, match=found) as caught:
        platekit.lay_out(spec_of(models, words))
    (problem,) = caught.value.problems
    assert problem.field == "bodies.motor body.shape.model"
    assert problem.line
    assert "\n" not in str(problem)


def test_by_hand_the_middle_of_the_face_lies_where_it_is_put(models: Path) -> None:
    spec = spec_of(models, "shape: {model: lopsided.step}")
    (own,) = [one for one in range(1, 13) if _is_flange(models, one)]
    layout = platekit.lay_out(spec_of(models, f"shape: {{model: lopsided.step, face: {own}, at: [3, 4], turn: 0 deg}}"))
    placed, pose = body_of(layout).solid_model, layout.mounts["motor"].pose
    assert placed is not None
    assert carried(placed.place, (0.0, 0.0, 0.0))[:2] == pytest.approx(pose.point((3.0, 4.0)), abs=1e-6)
    assert spec.revision != layout.spec.revision


def _is_flange(models: Path, number: int) -> bool:
    from platekit.geometry.kernel import read_model

    faces = read_model("lopsided.step", (models / "lopsided.step").read_bytes()).faces
    return number <= len(faces) and sum(one.kind == "hole" for one in faces[number - 1].circles) == len(LOPSIDED)


def test_the_mark_changes_with_the_bytes_of_the_model_and_nothing_else(models: Path, tmp_path: Path) -> None:
    for name in ("lopsided.step", "round.step"):
        (tmp_path / name).write_bytes((models / name).read_bytes())
    first = spec_of(tmp_path, "shape: {model: lopsided.step}")
    assert spec_of(tmp_path, "shape: {model: lopsided.step}").revision == first.revision
    (tmp_path / "lopsided.step").write_bytes((models / "round.step").read_bytes())
    assert spec_of(tmp_path, "shape: {model: lopsided.step}").revision != first.revision


def test_without_the_kernel_one_sentence_says_how_to_get_it(
    models: Path, monkeypatch: pytest.MonkeyPatch, terminal: Terminal
) -> None:
    spec_of(models, "shape: {model: lopsided.step}")
    monkeypatch.setitem(sys.modules, "cadquery", None)  # as if it were not installed
    done = terminal("check", str(models / "plate.yaml"))
    assert done.code == 2
    assert "pip install 'platekit[solid]'" in done.err
    assert "Traceback" not in done.err
