"""The old face from nothing to placed holes: each act one edit, slips told as they are typed."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from platekit.page.acts import done
from platekit.page.desk import Desk

EMPTY = """\
# kept
platekit: 1
title: Root grater
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  gear case:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {}          # as the caliper says
        sigma: 0.1
    screws: {size: M10, into: nut, flange: 14}
"""
TRUE = {"A": (-60.0, 45.0), "B": (60.0, 40.0), "C": (55.0, -42.0), "D": (-58.0, -40.0), "bore": (0.0, 0.0)}
SIZES = {"A": 11.1, "B": 11.1, "C": 11.1, "D": 11.1, "bore": 71.9}
"""An old face of four holes round a bore, mm, as it would be drawn up."""
RADII = {"inside": -0.5, "over": 0.5, "centres": 0.0}

Act = Callable[..., dict[str, Any]]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "grater.yaml").write_text(EMPTY, "utf-8")
    return Desk(tmp_path / "grater.yaml", tmp_path / "output")


@pytest.fixture
def act(desk: Desk) -> Act:
    def acted(todo: str, /, **about: Any) -> dict[str, Any]:
        return done(desk, {"act": "face", "state": desk.now().state, "mount": "gear case", "do": todo, **about})

    return acted


def sketched(act: Act) -> dict[str, Any]:
    for name, (x, y) in TRUE.items():
        # drawn by hand, half as large and crooked
        answer = act("put", kind="bore" if name == "bore" else "hole", at=[0.5 * x + 3, 0.5 * y - 2])
    return answer


def value(step: dict[str, Any]) -> float:
    names = step["features"]
    if step["kind"] == "diameter":
        return SIZES[names[0]]
    apart = math.dist(TRUE[names[0]], TRUE[names[1]])
    return apart + RADII[step["kind"]] * sum(SIZES[name] for name in names)


def face(answer: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = answer["surveys"]["gear case"]
    return found


def test_each_thing_put_on_the_face_is_one_edit_and_one_step(desk: Desk, act: Act) -> None:
    answer = done(desk, {"act": "look", "state": ""})
    assert face(answer)["items"] == []
    assert answer["verdict"]["say"] == "NOT ALL MEASURED YET"
    answer = sketched(act)
    assert answer["steps"][0] == 5
    text = desk.now().text
    assert "holes: {A: {}, B: {}, C: {}, D: {}, bore: {}}          # as the caliper says" in text
    assert "origin: bore" in text
    # the sketch says which way round, as its distances cannot
    assert face(answer)["clockwise"] in (["A", "B", "D"], ["A", "B", "C"], ["B", "C", "D"], ["A", "C", "D"])
    for _ in range(5):
        done(desk, {"act": "undo", "state": desk.now().state})
    assert desk.now().text == EMPTY


def test_the_page_asks_until_all_holes_are_placed_where_they_are(act: Act, desk: Desk) -> None:
    answer = sketched(act)
    for _ in range(40):
        told = face(answer)
        if told["state"] == "placed" and not told["left"]:
            break
        step = told["next"]
        typed = f"{value(step):.2f}".replace(".", ",")
        answer = act("read", **{"from": step["features"][0], "to": step["features"][-1]}, how=step["kind"], typed=typed)
    told = face(answer)
    assert answer["fresh"]
    assert told["suspect"] is None
    # the face lies as it does: no mirror image, zero in the bore; it may be turned
    at = {item["name"]: item["at"] for item in told["items"]}
    assert at["bore"] == [0, 0]
    turned = math.atan2(at["A"][1], at["A"][0]) - math.atan2(TRUE["A"][1], TRUE["A"][0])
    for name, (x, y) in TRUE.items():
        there = (x * math.cos(turned) - y * math.sin(turned), x * math.sin(turned) + y * math.cos(turned))
        assert math.dist(there, at[name]) < 0.05
    assert all(item["ellipse"] for item in told["items"])
    assert told["fit_odds"]["probability"] > 0.9
    lines = desk.now().text.splitlines()
    assert "        readings:" in lines
    assert sum(line.startswith("          - [") for line in lines) == len(told["readings"]) - 5


def test_places_come_in_over_the_sketch_and_at_its_own_scale(act: Act) -> None:
    answer = sketched(act)
    assert not any(item["placed"] for item in face(answer)["items"])
    for name in TRUE:
        act("read", **{"from": name, "to": name}, how="diameter", typed=str(SIZES[name]))
    for pair in (("A", "C"), ("A", "B"), ("B", "C")):
        step = {"features": pair, "kind": "over"}
        answer = act("read", **{"from": pair[0], "to": pair[1]}, how="over", typed=str(value(step)))
    items = {item["name"]: item for item in face(answer)["items"]}
    assert {name for name, item in items.items() if item["placed"]} == {"A", "B", "C"}
    assert math.dist(items["A"]["at"], items["C"]["at"]) == pytest.approx(math.dist(TRUE["A"], TRUE["C"]), abs=0.1)
    # the bore was drawn half as far from A as it is: the picture has it at the readings' scale
    assert math.dist(items["A"]["at"], items["bore"]["at"]) == pytest.approx(math.hypot(60, 45), rel=0.1)


def test_a_slip_is_told_at_once_with_what_it_could_have_been(act: Act) -> None:
    sketched(act)
    for name in ("A", "B"):
        act("read", **{"from": name, "to": name}, how="diameter", typed=str(SIZES[name]))
    act("read", **{"from": "A", "to": "B"}, how="inside", typed="109,00")
    slip = face(act("read", **{"from": "A", "to": "B"}, how="over", typed="113,20"))["suspect"]
    assert slip["index"] == 1
    assert slip["likely_mm"] == pytest.approx(131.2)
    assert "swapped" in slip["why"]


def test_a_point_out_of_place_stands_out_against_the_sketch(act: Act) -> None:
    sketched(act)
    for pair, typed in ((("A", "B"), "120,1"), (("B", "C"), "82,2"), (("C", "D"), "113,0")):
        answer = act("read", **{"from": pair[0], "to": pair[1]}, how="centres", typed=typed)
    assert face(answer)["suspect"] is None
    slip = face(act("read", **{"from": "A", "to": "D"}, how="centres", typed="850"))["suspect"]
    assert slip["index"] == 3
    assert slip["likely_mm"] == pytest.approx(85.0)


def test_a_hole_is_named_otherwise_wherever_it_is_named(act: Act, desk: Desk) -> None:
    sketched(act)
    act("read", **{"from": "A", "to": "B"}, how="over", typed="131,2")
    act("frame", what="x_axis", names=["D", "A"])
    act("frame", what="clockwise", names=["A", "B", "C"])
    act("rename", name="A", to="top left")
    act("rename", name="bore", to="seat")
    text = desk.now().text
    assert "{top left: {}, B: {}" in text
    assert "seat: {kind: bore}" in text
    assert "- [top left, B, over, 131.2]" in text
    assert "x_axis: [D, top left]" in text
    assert "clockwise: [top left, B, C]" in text
    assert "origin: seat" in text
    assert "there is a B already" in act("rename", name="C", to="B")["refused"]


def test_what_is_taken_off_takes_its_readings_with_it(act: Act, desk: Desk) -> None:
    sketched(act)
    act("read", **{"from": "A", "to": "B"}, how="over", typed="131,2")
    act("read", **{"from": "B", "to": "C"}, how="over", typed="93,3")
    act("frame", what="x_axis", names=["D", "A"])
    act("remove", name="A")
    text = desk.now().text
    assert "- [B, C, over, 93.3]" in text
    assert "131.2" not in text
    assert "x_axis" not in text
    assert "A:" not in text
    for name in ("B", "C", "D", "bore"):
        answer = act("remove", name=name)
    assert face(answer)["items"] == []
    assert "# as the caliper says" in desk.now().text


def test_an_edge_is_put_by_its_ends_and_measured_from(act: Act, desk: Desk) -> None:
    sketched(act)
    answer = act("put", kind="edge", at=[-40, -40, 40, -40])
    assert face(answer)["edge_names"] == ["edge"]
    act("read", **{"from": "edge", "to": "A"}, how="edge", typed="30")
    assert "[A, edge, edge, 30]" in desk.now().text
    assert "between holes use" in act("read", **{"from": "A", "to": "edge"}, how="over", typed="30")["refused"]
    act("remove", name="edge")
    assert "edge" not in desk.now().text


@pytest.mark.parametrize(
    ("typed", "written"),
    [("81,7", "81.7"), ("3 7/8", '"3 7/8 in"'), ("3-7/8", "3-7/8 in"), ("81,70 mm", "81.70 mm"), (" 82 ", "82")],
)
def test_a_number_is_taken_as_it_stands_on_paper(act: Act, desk: Desk, typed: str, written: str) -> None:
    sketched(act)
    act("read", **{"from": "A", "to": "B"}, how="over", typed=typed)
    assert f"- [A, B, over, {written}]" in desk.now().text


@pytest.mark.parametrize("typed", ["", "wide", "-4", "12..5"])
def test_what_is_no_reading_is_refused_and_nothing_is_written(act: Act, desk: Desk, typed: str) -> None:
    sketched(act)
    before = desk.now().text
    assert act("read", **{"from": "A", "to": "B"}, how="over", typed=typed)["refused"]
    assert desk.now().text == before


def test_a_shaft_is_put_and_takes_no_screw(act: Act, desk: Desk) -> None:
    act("put", kind="shaft", at=[0, 0])
    act("put", kind="stud", at=[60, 0])
    spec = desk.now().spec
    assert spec is not None
    pattern = spec.model.mounts["gear case"].pattern.measured
    assert pattern is not None
    assert (pattern.kind_of("shaft"), pattern.screw_holes) == ("shaft", ("A",))
    assert pattern.holes["A"].kind == "stud"


def test_a_dowel_hole_is_one_and_gets_a_pin(act: Act, desk: Desk) -> None:
    sketched(act)
    answer = act("put", kind="dowel", at=[0, 30])
    assert "dowel: {kind: dowel}" in desk.now().text
    answer = act("put", kind="dowel", at=[0, -30])
    assert "dowel 2: {kind: dowel}" in desk.now().text
    assert [one["kind"] for one in face(answer)["items"] if "dowel" in one["name"]] == ["dowel", "dowel"]


def test_what_lies_elsewhere_is_moved_and_the_rest_is_left(act: Act, desk: Desk) -> None:
    sketched(act)
    before = desk.now().text.splitlines()
    act("move", name="B", at=[31.4, 20.2])
    after = desk.now().text.splitlines()
    changed = [line for line in after if line not in before]
    assert len(changed) == 1
    assert "B: [31, 20]" in changed[0]


def test_a_pair_that_cannot_be_reached_is_asked_for_no_more(act: Act, desk: Desk) -> None:
    answer = sketched(act)
    for name in TRUE:
        answer = act("read", **{"from": name, "to": name, "how": "diameter", "typed": str(SIZES[name])})
    first = face(answer)["next"]["features"]
    text = desk.now().text
    answer = act("cannot", **{"from": first[0], "to": first[1]})
    assert desk.now().text == text
    asked: list[frozenset[str]] = []
    for _ in range(40):
        step = face(answer)["next"]
        if step is None or face(answer)["state"] == "placed":
            break
        asked.append(frozenset(step["features"]))
        names = step["features"]
        answer = act("read", **{"from": names[0], "to": names[-1], "how": step["kind"], "typed": f"{value(step):.2f}"})
    assert face(answer)["state"] == "placed"
    assert frozenset(first) not in asked


def test_where_nothing_else_reaches_the_page_says_so(act: Act) -> None:
    act("put", kind="hole", at=[0, 0])
    answer = act("put", kind="hole", at=[50, 0])
    for name in "AB":
        answer = act("read", **{"from": name, "to": name, "how": "diameter", "typed": "11"})
    answer = act("cannot", **{"from": "A", "to": "B"})
    assert face(answer)["next"] is None
    assert "A" in face(answer)["stuck"]


def test_no_jaws_are_sent_through_a_shaft(act: Act) -> None:
    for name, at in {"A": [-60, 45], "B": [60, 45], "C": [60, -45], "D": [-60, -45]}.items():
        act("put", kind="hole", at=at)
        act("read", **{"from": name, "to": name, "how": "diameter", "typed": "11.1"})
    act("put", kind="shaft", at=[0, 0])
    answer = act("read", **{"from": "shaft", "to": "shaft", "how": "diameter", "typed": "25"})
    asked = []
    true = {"A": (-60, 45), "B": (62, 44), "C": (60, -48), "D": (-61, -46), "shaft": (0, 0)}
    for _ in range(40):
        step = face(answer)["next"]
        if step is None or face(answer)["state"] == "placed":
            break
        a, b = step["features"]
        asked.append({a, b})
        radii = sum(12.5 if name == "shaft" else 5.55 for name in (a, b))
        typed = math.dist(true[a], true[b]) + 2 * RADII[step["kind"]] * radii
        answer = act("read", **{"from": a, "to": b, "how": step["kind"], "typed": f"{typed:.2f}"})
    assert face(answer)["state"] == "placed"
    # the diagonals run through it
    assert {"A", "C"} not in asked
    assert {"B", "D"} not in asked


def test_the_end_of_a_shaft_over_the_face_is_told_from_zero(act: Act, desk: Desk, tmp_path: Path) -> None:
    lying = "    shaft: {at: [0, 0], height: -150, along: 0 deg, stretch: [0, 190], diameter: 28}\n"
    desk.path.write_text(EMPTY + lying, "utf-8")
    assert face(done(desk, {"act": "look", "state": ""}))["lying"]["said"] is False
    assert "zero" in act("lies", x="1", y="2")["refused"]
    sketched(act)
    answer = act("lies", x="121,5", y="-3 1/8")
    told = face(answer)["lying"]
    assert told["said"] is True
    assert told["ends"][1] == pytest.approx([121.5, -79.375])
    assert told["ends"][1][0] - told["ends"][0][0] == pytest.approx(190)
    assert "shaft: {at: [121.5, -3 1/8 in], height: -150" in desk.now().text.replace('"', "")


def test_a_shaft_whose_end_nobody_told_is_found_and_filled_in(act: Act, desk: Desk) -> None:
    lying = "    shaft: {at: [0, 0], height: -150, along: 0 deg, stretch: [0, 190], diameter: 28}\n"
    desk.path.write_text(EMPTY + lying, "utf-8")
    first = act("put", kind="hole", at=[-30, 20])
    # one hole holds no plate, and that is no fault of its own yet
    assert first["verdict"]["say"] == "NOT ALL MEASURED YET"
    assert first["verdict"]["word"] == "stop"
    act("remove", name="A")
    answer, said = sketched(act), []
    for _ in range(40):
        step = face(answer)["next"]
        if face(answer)["state"] == "placed" or step is None:
            break
        said.append(step["why"])
        names = step["features"]
        answer = act("read", **{"from": names[0], "to": names[-1], "how": step["kind"], "typed": f"{value(step):.2f}"})
    # only the first distance of all is the base of the others
    assert sum(why.startswith("base") for why in said) == 1

    def untold(answer: dict[str, Any]) -> list[dict[str, Any]]:
        return [one for one in answer["findings"] if "nobody said where it ends" in one["message"]]

    (finding,) = untold(answer)
    assert finding["level"] == "warn"
    assert [box["field"] for box in finding["boxes"]] == [f"mounts.gear case.shaft.at.{k}" for k in (0, 1)]
    typed = {box["field"]: [words, "words"] for box, words in zip(finding["boxes"], ("121,5", "-80"), strict=True)}
    filled = done(desk, {"act": "fill in", "state": answer["state"], "edits": finding["asks"], "boxes": typed})
    assert not untold(filled)
    assert "shaft: {at: [121.5, -80], height: -150, along: 0 deg, stretch: [-190, 0]" in desk.now().text


def test_a_slip_is_told_in_fractions_where_these_are_typed(act: Act, desk: Desk) -> None:
    desk.path.write_text(EMPTY.replace("units: mm", "units: in").replace("thickness: 10", "thickness: 0.375"), "utf-8")
    for x, y in ((-100, 80), (100, -80)):
        act("put", kind="hole", at=[x, y])
    for name in "AB":
        act("read", **{"from": name, "to": name, "how": "diameter", "typed": "17/32"})
    act("read", **{"from": "A", "to": "B", "how": "inside", "typed": "11 33/64"})
    answer = act("read", **{"from": "A", "to": "B", "how": "over", "typed": "8 31/64"})
    said = face(answer)["suspect"]["why"]
    # 11 33/64 between the near sides is 12 37/64 over the far sides of two holes of 17/32
    for words in ("11 33/64 in", "12 37/64 in"):
        assert words in said


def test_the_levelest_pair_is_offered_for_x(act: Act) -> None:
    answer = sketched(act)
    # A to B drops 5 mm in 120; the bore lies 40 mm off D in 58; D to C drops 2 in 113
    assert answer["surveys"]["gear case"]["level"] == ["D", "C"]


def seen_turned(name: str) -> list[float]:
    """Where a picture has a hole whose part lay a quarter turn under its frame."""
    x, y = TRUE[name]
    return [100.0 - y, 150.0 + x]


def pictured(desk: Desk, act: Act, among: tuple[str, ...] = tuple(TRUE)) -> dict[str, Any]:
    """The face with the places off such a picture in its spec, and all diameters, but for the shaft's."""
    rows = [
        f"        - [{name}, {kind}, {value:.2f}, 0.1 mm]\n"
        for name in among
        for kind, value in zip(("across", "up"), seen_turned(name), strict=True)
    ]
    text = desk.now().text
    for name in TRUE:
        text = text.replace(f"{name}: {{}}", f"{name}: {SIZES[name]}")
    readings = "        sigma: 0.1\n        readings:\n" + "".join(rows)
    desk.path.write_text(text.replace("        sigma: 0.1\n", readings), "utf-8")
    return done(desk, {"act": "look", "state": ""})


def test_which_way_is_level_is_told_by_the_sketch_where_the_picture_lies_on_its_side(desk: Desk, act: Act) -> None:
    sketched(act)
    answer = pictured(desk, act)
    assert face(answer)["level"] == ["D", "C"]


def test_beside_a_picture_another_pair_is_asked_for_where_one_cannot_be_reached(desk: Desk, act: Act) -> None:
    sketched(act)
    pictured(desk, act)
    answer = act("put", kind="shaft", at=[170, 30])
    # a size comes before any distance: jaws do not stand on a centre
    asked: list[tuple[frozenset[str], str]] = []
    place = {**TRUE, "shaft": (340.0, 60.0)}
    sizes = {**SIZES, "shaft": 32.0}
    refused = False
    for _ in range(12):
        told = face(answer)
        if told["state"] == "placed":
            break
        step = told["next"]
        assert step is not None, told
        names = step["features"]
        asked.append((frozenset(names), step["kind"]))
        if not refused and "shaft" in names and len(names) == 2:
            refused = True
            answer = act("cannot", **{"from": names[0], "to": names[1]})
            continue
        apart = math.dist(place[names[0]], place[names[-1]])
        typed = apart + RADII.get(step["kind"], 0.0) * sum(sizes[name] for name in names)
        typed = sizes[names[0]] if step["kind"] == "diameter" else typed
        answer = act("read", **{"from": names[0], "to": names[-1], "how": step["kind"], "typed": f"{typed:.2f}"})
        if face(answer)["state"] != "placed" and not face(answer)["next"] and not face(answer)["floating"]:
            answer = act("frame", what="x_axis", names=["A", "B"])
    assert refused
    assert face(answer)["state"] == "placed"
    assert (frozenset({"shaft"}), "diameter") in asked
    assert "centres" not in {kind for _, kind in asked}


def test_the_shaft_that_the_machines_pulley_is_on_becomes_zero(desk: Desk, act: Act) -> None:
    drive = (
        "drive:\n  belt: {section: SPZ, choose: true, near: 260}\n"
        "  driver: {on: motor, pitch_diameter: 80, span: [-48, -28]}\n"
        "  driven: {on: gear case, pitch_diameter: 250, span: [12, 32]}\n"
    )
    motor = (
        "  motor: {side: near, pattern: {standard: IEC 90 B14}, at: {belt: {from: gear case, angle: 90 deg}}, "
        "screws: {into: part}}\n"
    )
    desk.path.write_text(EMPTY + motor + drive, "utf-8")
    done(desk, {"act": "look", "state": ""})
    act("put", kind="bore", at=[0, 0])
    answer = act("put", kind="hole", at=[50, 40])
    assert face(answer)["origin"] == "bore"
    answer = act("put", kind="shaft", at=[170, 30])
    assert face(answer)["origin"] == "shaft"
    # one that was chosen, or is a shaft already, stays
    answer = act("put", kind="shaft", at=[-100, 30])
    assert face(answer)["origin"] == "shaft"
