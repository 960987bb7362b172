"""Finding places: the filter against the full check, known answers, the same answer twice, comments kept."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from typer.testing import CliRunner

from platekit.checks import check
from platekit.cli import app
from platekit.errors import SpecError
from platekit.export.picture.places import choices_svg
from platekit.geometry import distance
from platekit.jobs.place import search_figures, search_text
from platekit.layout import lay_out
from platekit.spec import Spec, loads
from platekit.spec.places_to_find import places_found, to_be_found
from platekit.studies.place import found, place, written_text
from platekit.studies.place_filter import filter_of
from platekit.studies.place_merits import Merits, Weights, yardstick
from platekit.studies.place_one import MOST_CHECKED, Search
from platekit.studies.place_space import SearchPose, SearchSpace, poses_of, space_of, spec_at

POST = """\
platekit: 1
title: Disc beside a post
units: mm
plate: {material: mild steel, thickness: 6}
mounts:
  frame:
    side: far
    pattern: {points: [[0, -200]], hole: 11}
    looking_at: face
    bolts: {size: M10, into: part, depth: 20}
  dial:
    side: near
    pattern: {points: [[0, 0]], hole: 9}
    at: {find: {box: [[-60, -200], [60, -100]]}}
    bolts: {size: M8, into: part, depth: 20}
bodies:
  post: {carried_by: frame, shape: {circle: {diameter: 50}, at: [0, 0]}, span: [-40, 0], relief: auto, gap: 3}
  wheel: {carried_by: dial, shape: {circle: {diameter: 70}}, span: [1, 30], gap: 2}
cutting: {process: laser}
"""

TIGHT = """\
platekit: 1
title: Sieve shaker
units: mm
plate: {material: mild steel, thickness: 8, outline: {OUTLINE}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {points: [[-46, -46], [46, -46], [50, 46], [-46, 40]], hole: 11}
    bolts: {size: M10, into: part, depth: 20, washer: true}
  motor:
    side: near
    looking_at: face
    pattern: {points: [[-40, -30], [45, -28], [38, 33]], hole: 9}
    at: {find: {box: [[-140, -60], [140, 170]], turn: any, side: either}}   # anywhere that is free
    bolts: {size: M8, into: part, depth: 20, washer: true}
    TAKE_UP
bodies:
  gear case:
    carried_by: motor
    shape: {polygon: {points: [[-60, -45], [70, -45], [70, 20], [20, 60], [-60, 60]], corner: 6}}
    span: [12, 90]
  casting: {carried_by: machine, shape: {circle: {diameter: 150}}, span: [0, 150]}
  oil cup:
    carried_by: machine
    shape: {rectangle: {width: 30, height: 22}, at: [-30, 95], turn: 20 deg}
    span: [-60, 10]
    relief: auto
cutting: {process: laser}
"""
OUTLINES = ("wrap: {margin: auto}", "rectangle: {width: 420, height: 420, corner: 30}, at: [0, 60]")
TAKE_UPS = ("", "take_up: {slots: {along: 40 deg, install: 6, tension: 9}}")
COVERED = frozenset({"clash", "web", "overlap", "edge"})


def tight(outline: str = OUTLINES[0], take_up: str = "", head: str = "washer: true") -> Spec:
    text = TIGHT.replace("{OUTLINE}", f"{{{outline}}}").replace("TAKE_UP", take_up)
    return loads(text.replace("washer: true", head), "shaker")


HEADS = ("washer: true", "head: countersunk, made: drill")


@pytest.mark.parametrize("outline", OUTLINES)
@pytest.mark.parametrize("take_up", TAKE_UPS)
@pytest.mark.parametrize("head", HEADS)
def test_the_filter_never_passes_what_the_full_check_stops(outline: str, take_up: str, head: str) -> None:
    """For every reason that it covers; and what it stops, the full check stops too, but for a chord error."""
    spec = tight(outline, take_up, head)
    space = space_of(spec, "motor")
    rng = np.random.default_rng(7)
    for side in space.sides:
        layout = lay_out(spec_at(space, SearchPose(side, (1000, 1200, 0))))
        questions = filter_of(space, layout)
        rows = rng.integers((-1400, -600, 0), (1400, 1700, 3600), size=(30, 3))
        at, can = poses_of(space, side, rows)
        passed = questions.passed(at)
        assert can.all()
        assert 2 < passed.sum() < 28
        for row, good in zip(rows, passed, strict=True):
            plate = lay_out(spec_at(space, SearchPose(side, (int(row[0]), int(row[1]), int(row[2])))))
            asked = {frozenset(q.features) for q in questions.questions}
            stops = [f for f in check(plate).findings if f.stops and f.rule in COVERED]
            covered = [f for f in stops if any(pair <= set(f.features) for pair in asked)]
            assert bool(covered) != bool(good), (row, [f.message for f in covered])


def test_what_the_filter_leaves_over_is_the_exact_distance() -> None:
    spec = tight()
    space = space_of(spec, "motor")
    questions = filter_of(space, lay_out(spec_at(space, SearchPose("near", (1000, 1200, 0)))))
    holes = [q for q in questions.questions if q.rule == "web"]
    rows = np.array([[700, 300, 123], [-900, 1500, 2000], [100, 900, 77]])
    at, _ = poses_of(space, "near", rows)
    for question in holes:
        spare = question.spare(at, math.inf)
        for row, value in zip(rows, spare, strict=True):
            plate = lay_out(spec_at(space, SearchPose("near", (int(row[0]), int(row[1]), int(row[2])))))
            a, b = (plate.opening(name).shape for name in question.features)
            assert value + question.needed == pytest.approx(distance(a, b).distance, abs=1e-9)


def test_the_nearest_place_of_a_disc_beside_a_post_is_the_closed_form() -> None:
    """A wheel of radius 35 keeps 3 mm from a post of radius 25: 63 mm from middle to middle, and no nearer."""
    text = POST.replace("[0, -200]], hole", "[-15, 0], [15, 0]], hole").replace(
        "at: [0, 0]}, span", "at: [0, 120]}, span"
    )
    text = text.replace("box: [[-60, -200], [60, -100]]", "box: [[-40, 130], [40, 230]]")
    search = place(loads(text, "dial"), "dial", by="reach")
    best = search.places[0]
    x, y = (number / 10 for number in best.spot.numbers[:2])
    apart = math.hypot(x, y - 120)
    # least distance from the frame's zero within the box, outside the circle of 63 mm about (0, 120)
    corner = math.sqrt(63**2 - 40**2)
    assert apart >= 63
    assert math.hypot(x, y) == pytest.approx(math.hypot(40, 120 + corner), abs=0.15)


@pytest.fixture(scope="module")
def search() -> Search:
    return place(tight(), "motor")


@pytest.fixture(scope="module")
def near_there(search: Search) -> str:
    """The text of a spec that looks for the motor only near the first place, at its turn."""
    text = written_text(search, 1)
    x, y = search.places[0].spot.numbers[:2]
    here = f"[{x / 10:g}, {y / 10:g}]"
    assert text.count(f"at: {here}") == 1
    box = [[x / 10 - 3, y / 10 - 3], [x / 10 + 3, y / 10 + 3]]
    return text.replace(f"at: {here}", f"at: {{find: {{box: {box}}}}}")


def test_the_same_spec_gives_the_same_places(near_there: str) -> None:
    first, second = (place(loads(near_there, "shaker"), "motor") for _ in range(2))
    assert [p.spot for p in first.places] == [p.spot for p in second.places]
    assert choices_svg(first) == choices_svg(second)
    assert first.places


def test_no_place_has_a_stop_and_the_first_costs_least(search: Search) -> None:
    assert all(p.verdict.clear for p in search.places)
    costs = [p.merits.cost(Weights()) for p in search.places]
    assert costs == sorted(costs)
    assert search.passed < search.tried
    assert search.tried >= 20_000


def test_places_are_told_in_tenths_inside_the_box(search: Search) -> None:
    for p in search.places:
        pose = p.layout.mounts["motor"].pose
        assert -140 <= pose.x <= 140
        assert -60 <= pose.y <= 170
        assert pose.x * 10 == pytest.approx(round(pose.x * 10), abs=1e-9)


def test_merits_of_many_poses_are_those_of_the_layout(search: Search) -> None:
    for p in search.places:
        space: SearchSpace = search.space
        stick = yardstick(space, p.layout, filter_of(space, p.layout))
        at, _ = poses_of(space, p.spot.side, np.array([p.spot.numbers]))
        measured: Merits = stick.measured(at)[0]
        assert measured.area == pytest.approx(p.layout.outline.area, rel=0.01)
        assert measured.reach == pytest.approx(
            math.hypot(p.layout.mounts["motor"].pose.x, p.layout.mounts["motor"].pose.y)
        )


def test_a_place_written_back_keeps_the_comments_and_is_that_place(search: Search) -> None:
    text = written_text(search, 2)
    assert "# anywhere that is free" in text
    again = loads(text, "shaker")
    assert to_be_found(again) == ()
    assert again.revision == search.places[1].layout.spec.revision
    assert lay_out(again).mounts["motor"].pose == search.places[1].layout.mounts["motor"].pose


def test_find_in_a_spec_takes_the_first_place(search: Search) -> None:
    spec = found(tight())
    assert spec.model == search.places[0].layout.spec.model
    assert places_found(spec) == ("motor",)
    assert found(spec) is spec


def test_laying_out_without_finding_is_a_located_error() -> None:
    with pytest.raises(SpecError, match=r"mounts\.motor\.at\.find: found a place still to be found"):
        lay_out(tight())


def test_where_others_clash_no_place_helps_and_that_is_said() -> None:
    # two housings on mounts that stay, 40 mm apart with radii of 30: wherever the dial goes, they meet
    left = "left: {carried_by: frame, shape: {circle: {diameter: 60}, at: [0, -200]}, span: [5, 40]}"
    right = "right: {carried_by: crank, shape: {circle: {diameter: 60}}, span: [5, 40]}"
    text = POST.replace(
        "  dial:\n",
        "  crank:\n    side: far\n    pattern: {points: [[0, 0]], hole: 11}\n    at: [40, -200]\n"
        "    bolts: {size: M10, into: part, depth: 20}\n  dial:\n",
    ).replace("bodies:\n", f"bodies:\n  {left}\n  {right}\n")
    with pytest.raises(SpecError, match=r"no place of dial helps: .*left and right run into"):
        found(loads(text, "post.yaml"))


def test_nothing_found_says_what_is_in_the_way() -> None:
    text = TIGHT.replace("{OUTLINE}", "{wrap: {margin: auto}}").replace("    TAKE_UP\n", "")
    full = text.replace(
        "box: [[-140, -60], [140, 170]], turn: any, side: either", "box: [[-10, -10], [10, 10]], side: far"
    )
    with pytest.raises(
        SpecError, match=r"no place without a stop on a grid of 0.1 mm, \d+ positions.*gear case against casting"
    ) as error:
        found(loads(full, "shaker"))
    assert error.value.problems[0].line == full[: full.index("find:")].count("\n") + 1


def test_a_given_place_is_not_looked_for() -> None:
    text = TIGHT.replace("{OUTLINE}", "{wrap: {margin: auto}}").replace("    TAKE_UP\n", "")
    given = text.replace("{find: {box: [[-140, -60], [140, 170]], turn: any, side: either}}", "[0, 150]")
    with pytest.raises(SpecError, match=r"at: {find: {box: \[\[-100, 50\], \[100, 250\]\], turn: any}}"):
        place(loads(given, "shaker"), "motor")


def test_by_the_belt_every_place_is_at_its_distance() -> None:
    spec_path = Path(__file__).parents[2] / "specs" / "dough-mixer.yaml"
    text = spec_path.read_text("utf-8")
    line = next(line for line in text.splitlines() if "at: {belt: {from: machine" in line)
    sought = text.replace(line, "    at: {find: {belt: {from: machine, angles: [60 deg, 100 deg]}}}")
    spec = loads(sought, "mixer")
    search = place(spec, "motor", count=2)
    own = lay_out(loads(text, "mixer")).belts[0]
    wanted = math.dist(own.driver.center, own.driven.center)
    for p in search.places:
        belt = p.layout.belts[0]
        assert math.dist(belt.driver.center, belt.driven.center) == pytest.approx(wanted, abs=1e-6)
        assert 60 <= p.spot.numbers[0] / 10 <= 100
    assert "angle: " in written_text(search, 1)


def test_a_box_in_which_some_places_cannot_be_laid_out_at_all() -> None:
    """Shafts so near that their pulleys meet, or so far that no slot reaches the belt's length: passed over."""
    text = (Path(__file__).parents[2] / "specs" / "dough-mixer.yaml").read_text("utf-8")
    line = next(line for line in text.splitlines() if "at: {belt: {from: machine" in line)
    sought = text.replace(line, "    at: {find: {box: [[-20, 300], [40, 480]]}}")
    search = place(loads(sought, "mixer"), "motor", by="belt", count=1)
    assert search.places[0].merits.belt == pytest.approx(0.0, abs=0.1)


def test_text_and_figures(search: Search) -> None:
    said = search_text(search)
    assert f"{search.tried} positions tried" in said
    figures = json.loads(json.dumps(search_figures(search)))
    assert [p["side"] for p in figures["places"]] == [p.spot.side for p in search.places]


def test_fewer_places_than_asked_for_are_explained(search: Search) -> None:
    assert len(search.places) >= search.asked or search.why_fewer
    some = replace(search, places=search.places[:1], asked=4, free=3, passed=9, checked=9)
    assert "there are 2 others that nothing stops, but so near to one shown" in some.why_fewer
    assert search_text(some).count("fewer than the 4 asked for") == 1
    many = replace(some, passed=5000, checked=MOST_CHECKED)
    assert f"{5000 - MOST_CHECKED} of the positions" in many.why_fewer
    # as many as asked for, or none at all, need no such word: the second has an error of its own
    assert not replace(some, asked=1).why_fewer
    assert not replace(some, places=()).why_fewer


def test_the_commands(near_there: str, tmp_path: Path) -> None:
    path = tmp_path / "shaker.yaml"
    path.write_text(near_there, "utf-8")
    run = CliRunner().invoke
    done = run(app, ["check", str(path)])
    assert "motor found at [" in done.output
    assert done.exit_code == 0, done.output
    told = json.loads(run(app, ["check", str(path), "--json"]).output)
    assert told["found"][0]["mount"] == "motor"
    done = run(app, ["place", str(path), "--write", "1", "--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "out" / "shaker" / "shaker.places.svg").is_file()
    assert "# anywhere that is free" in path.read_text("utf-8")
    again = json.loads(run(app, ["check", str(path), "--json"]).output)
    assert "found" not in again
    assert again["verdict"] == told["verdict"] == "clear"
    done = run(app, ["place", str(path), "--mount", "motro", "--json"])
    assert done.exit_code != 0
