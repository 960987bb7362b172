"""Two mounts placed at once: a known best pair is found, the text is that pair, words where there is none."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from typer.testing import CliRunner

from platekit.cli import app
from platekit.errors import SpecError
from platekit.export.picture.places import choices_svg, where_words
from platekit.jobs.place import search_figures
from platekit.layout import lay_out
from platekit.spec import loads
from platekit.spec.places_to_find import to_be_found
from platekit.studies.place import found, place, written_text

PAIR = """\
platekit: 1
title: Dial and pump beside a post
units: mm
plate: {material: mild steel, thickness: 8, outline: {wrap: {margin: auto}}}
mounts:
  frame:
    side: far
    looking_at: face
    pattern: {points: [[-60, -60], [60, -60], [60, 60], [-60, 60]], hole: 11}
    bolts: {size: M10, into: part, depth: 20}
  dial:
    side: near
    looking_at: face
    pattern: {points: [[-15, 0], [15, 0]], hole: 9}
    at: {find: {box: DIAL}}   # anywhere
    bolts: {size: M8, into: part, depth: 20}
  pump:
    side: near
    looking_at: face
    pattern: {points: [[-30, -30], [30, -30], [30, 30], [-30, 30]], hole: 9}
    at: {find: {box: PUMP}}   # this one too
    bolts: {size: M8, into: part, depth: 20}
bodies:
  wheel: {carried_by: dial, shape: {circle: {diameter: 70}}, span: [1, 30], gap: 2}
  pump body: {carried_by: pump, shape: {rectangle: {width: 90, height: 80}}, span: [1, 90], gap: 2}
cutting: {process: laser}
"""


def pair(dial: str = "[[-20, -4], [-10, 4]]", pump: str = "[[50, -4], [64, 4]]") -> str:
    return PAIR.replace("DIAL", dial).replace("PUMP", pump)


def test_the_best_pair_is_as_near_to_each_other_as_the_gap_lets_them() -> None:
    """A wheel of 35 and a body 45 wide keep 2 mm: 82 mm from middle to middle along x, and neither is in reach of less.

    By reach each is as near to the frame's zero as can be. Where the box of the dial ends at -10, the pump cannot come
    nearer than 72; where it may go to -20, 62: the farther one of the two counts, which is the pump.
    """
    search = place(loads(pair(), "pair"), "dial", by="reach")
    assert search.names == ("dial", "pump")
    best = search.places[0]
    at = {space.name: [n / 10 for n in spot.numbers[:2]] for space, spot in search.spots(best)}
    assert at["dial"][0] == pytest.approx(-20, abs=0.11)
    assert at["pump"][0] == pytest.approx(62, abs=0.11)
    assert best.merits.reach == pytest.approx(62, abs=0.15)
    assert at["pump"][0] - at["dial"][0] >= 82 - 1e-9
    assert all(one.verdict.clear for one in search.places)


def test_a_pair_written_down_is_that_plate_and_keeps_comments() -> None:
    spec = loads(pair("[[-16, 0], [-14, 0]]", "[[66, 0], [70, 0]]"), "pair")
    search = place(spec, "pump")
    text = written_text(search, 1)
    assert "# anywhere" in text
    assert "# this one too" in text
    again = loads(text, "pair")
    assert to_be_found(again) == ()
    assert again.revision == search.places[0].layout.spec.revision
    assert [m.pose for m in lay_out(again).mounts.values()] == [m.pose for m in search.places[0].layout.mounts.values()]
    assert found(spec).model == search.places[0].layout.spec.model
    second = place(spec, "dial")
    assert choices_svg(second) == choices_svg(search)
    assert where_words(search, search.places[0]).count("side") == 2


def test_a_belt_between_two_mounts_that_are_both_to_be_found() -> None:
    text = (Path(__file__).parents[2] / "specs" / "dough-mixer.yaml").read_text("utf-8")
    line = next(line for line in text.splitlines() if "at: {belt: {from: machine" in line)
    text = text.replace(line, "    at: {find: {belt: {from: machine, angles: [72 deg, 78 deg]}}}")
    text = text.replace("    at: [0, 0]\n", "    at: {find: {box: [[-2, -2], [2, 2]]}}\n")
    sought = loads(text, "mixer")
    assert to_be_found(sought) == ("machine", "motor")
    search = place(sought, "motor", by="area", count=2)
    # the motor's place is told from the machine's, so that one comes first
    assert search.names == ("machine", "motor")
    length = lay_out(loads((Path(__file__).parents[2] / "specs" / "dough-mixer.yaml").read_text("utf-8"), "m")).belts[0]
    apart = math.dist(length.driver.center, length.driven.center)
    for one in search.places:
        belt = one.layout.belts[0]
        assert math.dist(belt.driver.center, belt.driven.center) == pytest.approx(apart, abs=1e-6)
    assert loads(written_text(search, 1), "mixer").revision == search.places[0].layout.spec.revision


def test_a_space_with_no_room_for_the_first_wherever_the_second_is() -> None:
    post = "bodies:\n  post: {carried_by: frame, shape: {circle: {diameter: 90}}, span: [-40, 20]}\n"
    text = pair("[[-4, -4], [4, 4]]").replace("bodies:\n", post)
    with pytest.raises(SpecError, match=r"no place is free, wherever pump is; in the way: .*post"):
        found(loads(text, "pair.yaml"))


def test_where_no_pair_is_free_it_is_said_what_is_in_the_way() -> None:
    tight = pair("[[-4, -4], [4, 4]]", "[[-4, -4], [4, 4]]")
    with pytest.raises(SpecError, match=r"no pair of places .* for dial and pump.*pump body against wheel") as error:
        found(loads(tight, "pair.yaml"))
    assert error.value.problems[0].line == tight[: tight.index("find:")].count("\n") + 1


def test_a_stop_that_no_pair_mends_is_told_as_the_reason_and_not_the_other_part() -> None:
    # the pump's own two holes are 9 mm wide and 8 mm apart: they run into each other wherever pump and dial go
    text = pair("[[-16, 0], [-14, 0]]", "[[66, 0], [70, 0]]").replace(
        "[[-30, -30], [30, -30],", "[[-30, -30], [-22, -30],"
    )
    with pytest.raises(SpecError, match=r"no place of dial and pump helps: pump\.1 and pump\.2 run into") as error:
        found(loads(text, "pair.yaml"))
    assert "in the way of the other" not in str(error.value)


def test_three_at_once_are_refused() -> None:
    third = "    bolts: {size: M10, into: part, depth: 20}\n  dial:"
    text = pair().replace(third, "    at: {find: {box: [[0, 0], [1, 1]]}}\n" + third)
    with pytest.raises(SpecError, match="a third place to be found"):
        place(loads(text, "pair"), "dial")


def test_the_command_places_both(tmp_path: Path) -> None:
    path = tmp_path / "pair.yaml"
    path.write_text(pair("[[-16, 0], [-14, 0]]", "[[66, 0], [70, 0]]"), "utf-8")
    done = CliRunner().invoke(app, ["place", str(path), "--write", "1", "--out", str(tmp_path / "out"), "--json"])
    assert done.exit_code == 0, done.output
    told = json.loads(done.output)
    assert told["mounts"] == ["dial", "pump"]
    assert set(told["places"][0]["each"]) == {"dial", "pump"}
    assert to_be_found(loads(path.read_text("utf-8"), "pair")) == ()
    figures = search_figures(place(loads(pair("[[-16, 0], [-14, 0]]", "[[66, 0], [70, 0]]"), "pair"), "dial"))
    assert figures["places"] == told["places"]
