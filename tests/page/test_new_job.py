"""Questions of a new job: what will not do is refused at once, what was said is kept, and a spec comes of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.checks import check
from platekit.errors import PlatekitError
from platekit.layout import lay_out
from platekit.page.acts import done
from platekit.page.desk import Desk
from platekit.page.new_job import (
    KEPT,
    _block_figures,
    answered,
    begun_job,
    countershaft_asked,
    forgotten,
    kept,
    questions,
    with_countershaft,
)
from platekit.page.start import JobFolder, begun
from platekit.spec import loads
from platekit.spec.editing import with_value
from platekit.units import length
from tests.checks.lying import SOUND


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("title", "  ", "what the job is"),
        ("units", "cubits", "choose one of"),
        ("old", "", ""),
        ("screw", "M99", "M99"),
        ("depth", "deep", "deep"),
        ("depth", "-3", "above zero"),
        ("motor", "IEC 80", "on its feet"),
        ("motor", "a large one", "a large one"),
        ("power", "much", "much"),
        ("current", "3.3/1.9", "3.3/1.9"),
        ("current", "-2", "-2"),
        ("frequency", "5000", "50 or 60"),
        ("speed", "fast", "fast"),
        ("process", "teeth", "choose one of"),
        ("material", "cheese", "cheese"),
        ("thickness", "0", "above zero"),
        ("file", "../other", "plain name"),
        ("file", ".hidden", "plain name"),
    ],
)
def test_an_answer_that_will_not_do_is_refused_and_not_kept(tmp_path: Path, name: str, typed: str, said: str) -> None:
    if said:
        with pytest.raises(PlatekitError, match=said):
            answered(tmp_path, name, typed)
        assert kept(tmp_path) == {}
    else:
        # an empty box takes what is usual
        assert answered(tmp_path, name, typed) == {"old": "measure"}


def test_answers_are_kept_until_the_job_is_begun_or_they_are_forgotten(tmp_path: Path) -> None:
    answered(tmp_path, "title", "Root grater")
    answers = answered(tmp_path, "units", "in")
    assert kept(tmp_path) == answers == {"title": "Root grater", "units": "in"}
    answered(tmp_path, "fixed", "feet")
    answered(tmp_path, "motor", "NEMA 56")
    assert "motor" not in answered(tmp_path, "fixed", "face")
    forgotten(tmp_path)
    assert kept(tmp_path) == {}
    (tmp_path / KEPT).write_bytes(b"[" * 100_000)
    assert kept(tmp_path) == {}
    with pytest.raises(PlatekitError, match="what the job is"):
        begun_job(tmp_path)


@pytest.mark.parametrize(
    "said",
    [
        {"old": "circle"},
        {"old": "rectangle", "fixed": "feet", "screw": "M10", "into": "nut", "depth": "12,5"},
        {"units": "in", "old": "circle", "into": "stud", "fixed": "feet"},
        {"units": "in", "drive": "none", "old": "rectangle"},
        {
            "units": "in",
            "old": "rectangle",
            "fixed": "feet",
            "drive": "two",
            "speed": "1725",
            "slow": "90",
            "fast": "90",
        },
        {
            "old": "circle",
            "circle": "190",
            "fixed": "flange",
            "motor": "SAE A 2-bolt",
            "flange": "14",
            "own_shaft": "19",
            "own_stands": "41,5",
        },
        {"old": "circle", "count": "6", "circle": "150", "process": "laser", "slow": "300", "fast": "300"},
    ],
)
def test_the_spec_of_the_answers_stops_nowhere(tmp_path: Path, said: dict[str, str]) -> None:
    answered(tmp_path, "title", "Root grater")
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    path = begun_job(tmp_path)
    layout = lay_out(loads(path.read_text("utf-8"), path.name))
    assert [one.message for one in check(layout).open("stop")] == []
    assert path.name == "root-grater.yaml"
    # what was said is in it
    machine = layout.spec.model.mounts["machine"]
    assert machine.screws is not None
    assert (machine.screws.into or "part") == said.get("into", "part")
    assert bool(layout.belts) == (said.get("drive") != "none" and said.get("fixed") != "flange")
    with pytest.raises(PlatekitError, match="already"):
        answered(tmp_path, "file", "root-grater")


@pytest.mark.parametrize(("typed", "kept_as"), [("3/4 HP", "0.75 HP"), ("1 1/2 hp", "1.5 HP"), ("0,55", "0.55 kW")])
def test_figures_are_typed_as_they_stand_on_the_motor(tmp_path: Path, typed: str, kept_as: str) -> None:
    for name, said in {
        "title": "Root grater",
        "old": "circle",
        "power": typed,
        "speed": "1390",
        "drive": "belt",
    }.items():
        answered(tmp_path, name, said)
    text = begun_job(tmp_path).read_text("utf-8")
    assert f'power: "{kept_as}", speed: 1390 rpm' in text


def test_pulleys_on_a_shaft_through_the_plate_turn_before_its_near_face(tmp_path: Path) -> None:
    said = {"title": "Root grater", "into": "stud", "depth": "27", "pulley": "before", "slow": "400", "fast": "400"}
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    text = begun_job(tmp_path).read_text("utf-8")
    empty = "holes: {shaft: {kind: shaft, diameter: 25 mm, stands: 80 mm}} "
    assert empty in text
    holes = "holes: {A: 9.9, B: 9.9, shaft: {kind: shaft, diameter: 28, stands: 90}} "
    readings = "[[A, shaft, centres, 60.8], [B, shaft, centres, 63.2], [A, B, centres, 94.3]]"
    sketch = "{A: [60, 10], B: [-20, 60], shaft: [0, 0]}"
    below = f"x_axis: [A, B]\n        readings: {readings}\n"
    measured = text.replace(empty, holes).replace("sigma: 0.1 ", f"{below}        sigma: 0.1 ")
    measured = measured.replace("sketch: {shaft: [0, 0]}", f"sketch: {sketch}")
    layout = lay_out(loads(measured, "grater.yaml"))
    driver, driven = layout.belts[0].driver, layout.belts[0].driven
    assert driver.z == pytest.approx(driven.z)
    # past the studs, which stand 27 mm out of a face that lies 10 mm behind the near one
    assert min(driver.z) >= 27 - 10 + 2


def test_each_question_has_an_answer_that_does(tmp_path: Path) -> None:
    answered(tmp_path, "title", "Root grater")
    for _ in range(40):
        left = [one for one in questions(kept(tmp_path)) if one["name"] not in kept(tmp_path)]
        if not left:
            break
        answered(tmp_path, left[0]["name"], "")
    assert not left
    text = begun_job(tmp_path).read_text("utf-8")
    assert "holes: {} " in text


def test_what_is_measured_of_motor_and_shaft_is_in_the_spec(tmp_path: Path) -> None:
    said = {
        "title": "Flax breaker",
        "fixed": "face",
        "motor": "80 B14",
        "thread": "14,5",
        "current": "1,9",
        "pulley": "before",
        "shaft": "30",
        "stands": "3 1/8",
        "slow": "300",
        "fast": "450",
    }
    for name, typed in said.items():
        assert name in [one["name"] for one in questions(kept(tmp_path))], name
        answered(tmp_path, name, typed)
    text = begun_job(tmp_path).read_text("utf-8")
    assert "depth: 14.5" in text
    assert 'current: "1.9 A"' in text
    # what was said of the shaft is on the face already: asked once is enough
    assert "holes: {shaft: {kind: shaft, diameter: 30, stands: 3 1/8 in}}" in text.replace('"', "")
    assert "origin: shaft" in text
    # a face on which no screw is yet is all that keeps it from being laid out
    with pytest.raises(PlatekitError, match="at least one hole that takes a screw"):
        lay_out(loads(text, "flax.yaml"))


@pytest.mark.parametrize(("seat", "into"), [("line", "plate"), ("beside", "nut")])
def test_a_pump_before_the_old_face_is_screwed_into_the_plate(tmp_path: Path, seat: str, into: str) -> None:
    said = {"title": "Olive press", "old": "circle", "circle": "190", "fixed": "flange", "motor": "SAE A 2-bolt"}
    for name, typed in {**said, "seat": seat, "part_into": ""}.items():
        assert name in [one["name"] for one in questions(kept(tmp_path))], name
        answered(tmp_path, name, typed)
    layout = lay_out(loads(begun_job(tmp_path).read_text("utf-8"), "press.yaml"))
    screws = layout.spec.model.mounts["part"].screws
    assert screws is not None
    assert screws.into == into
    assert [one.message for one in check(layout).open("stop")] == []


def test_each_frame_is_told_from_the_next_and_stands_where_it_belongs(tmp_path: Path) -> None:
    for fixed, name, about, picture in [
        ("face", "IEC 80 B14", "4 on a 100 mm circle, M6 threads, pilot 80 mm", "threads"),
        ("face", "IEC 80 B14", "B14: small face with threads", "threads"),
        ("face", "IEC 80 B5", "B5: wide flange, screws go through it", "through"),
        ("feet", "IEC 80", "4 holes 125 mm x 100 mm", "feet"),
        ("feet", "IEC 90L", "B3: on feet", "feet"),
        ("flange", "SAE A 2-bolt", "pilot 82.55 mm", "flange"),
    ]:
        answers = answered(tmp_path, "fixed", fixed)
        asked = next(one for one in questions(answers) if one["name"] == "motor")
        assert about in asked["figures"][name]
        assert asked["pictures"][name] == picture
    with pytest.raises(PlatekitError, match="fixed by its face"):
        answered(tmp_path, "motor", "NEMA 56C")


def test_an_example_is_copied_once_with_what_it_needs(tmp_path: Path) -> None:
    start = JobFolder(tmp_path, tmp_path / "output")
    offered = begun(start, None, {"act": "start"})[0]["examples"]
    assert {"name": "wool-carder.yaml", "title": "Wool carder, gear motor on feet beside the cast lug"} in offered
    answer, desk = begun(start, None, {"act": "example", "name": "wool-carder.yaml"})
    assert answer == {"open": "wool-carder.yaml"}
    assert desk is not None
    assert desk.now().fresh
    again = begun(start, None, {"act": "start"})[0]["examples"]
    assert "wool-carder.yaml" not in [one["name"] for one in again]
    desk.path.write_text("mine", "utf-8")
    for name in ("wool-carder.yaml", "../wool-carder.yaml", 7, None):
        assert "refused" in begun(start, None, {"act": "example", "name": name})[0]
    assert desk.path.read_text("utf-8") == "mine"


def test_one_belt_for_a_slow_machine_is_warned_of_and_two_are_offered(tmp_path: Path) -> None:
    for name, typed in {"fixed": "feet", "speed": "1410", "drive": "belt", "slow": "60"}.items():
        answers = answered(tmp_path, name, typed)
    fast = next(one for one in questions(answers) if one["name"] == "fast")
    assert "two belts over a countershaft" in fast["about"]
    answers = answered(tmp_path, "drive", "two")
    names = [one["name"] for one in questions(answers)]
    assert "block_bolts" in names
    assert "hardly" not in next(one for one in questions(answers) if one["name"] == "fast")["about"]
    # a motor by its face has no shaft along the plate
    answers = answered(tmp_path, "fixed", "face")
    assert "two" not in next(one for one in questions(answers) if one["name"] == "drive")["words"]


def test_the_shaft_of_a_pump_in_line_goes_through_the_plate(tmp_path: Path) -> None:
    said = {"title": "Log splitter", "old": "circle", "circle": "200", "fixed": "flange", "motor": "SAE B 2-bolt"}
    said |= {
        "own_shaft": "22,2",
        "own_stands": "41",
        "process": "waterjet",
        "material": "mild steel",
        "thickness": "15",
    }
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    path = begun_job(tmp_path)
    layout = lay_out(loads(path.read_text("utf-8"), path.name))
    assert check(layout).open("stop") == ()
    shaft = next(body for body in layout.bodies if body.name == "shaft of the part")
    assert any(o.through and o.shape.box[0] < shaft.shape.box[0] for o in layout.openings if o.role != "screw")
    assert layout.mounts["part"].standoff == 0


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_countershaft_is_put_into_a_job_with_one_belt(tmp_path: Path, units: str) -> None:
    said = {"title": "Hop press", "units": units, "old": "rectangle", "fixed": "feet", "drive": "belt"}
    for name, typed in {**said, "slow": "120", "fast": "120"}.items():
        answered(tmp_path, name, typed)
    desk = Desk(begun_job(tmp_path), tmp_path / "output")
    now = desk.now()
    asked = done(desk, {"act": "look", "state": ""})["countershaft"]
    assert [one["name"] for one in asked][:3] == ["block", "block_bolts", "block_apart"]
    told = done(desk, {"act": "countershaft", "state": now.state, "read": {"block_bolts": "6 3/4", "block_high": "x"}})
    assert "x" in told["refused"]
    assert desk.now().text == now.text
    told = done(desk, {"act": "countershaft", "state": now.state, "read": {"block_high": "2 1/4 in"}})
    assert "refused" not in told, told["refused"]
    layout = desk.now().layout
    assert layout is not None
    assert [(belt.driver.mount, belt.driven.mount) for belt in layout.belts] == [
        ("motor", "countershaft"),
        ("countershaft", "machine"),
    ]
    assert layout.belts[1].result.ratio == pytest.approx((1740 if units == "in" else 1400) / 120, rel=0.05)
    assert layout.mounts["motor"].take_up == layout.mounts["countershaft"].take_up == "slots"
    # one is enough
    assert told["countershaft"] == []
    again = done(desk, {"act": "countershaft", "state": desk.now().state, "read": {}})
    assert "only once" in again["refused"]


@pytest.mark.parametrize("way", [0, 180])
def test_a_countershaft_lies_as_the_shafts_do_that_it_comes_between(way: int) -> None:
    # the machine's shaft points up in the plate frame, and the motor stands to its right or left
    text = SOUND.replace("angle: 0 deg", f"angle: {way} deg")
    new = loads(with_countershaft(lay_out(loads(text, "shaft.yaml")), {}), "shaft.yaml")
    layout = lay_out(new)
    assert "shaft-along" not in {one.rule for one in check(layout).findings}
    (x, y, _), *_ = [pulley.axis.direction for pulley in (layout.belts[0].driven,) if pulley.axis is not None]
    assert (x, y) == pytest.approx((0, 1), abs=1e-9)
    machine, middle, motor = (layout.mounts[name].pose for name in ("bed", "countershaft", "motor"))
    assert (machine.x < middle.x < motor.x) if way == 0 else (machine.x > middle.x > motor.x)


@pytest.mark.parametrize(("units", "bolt", "shaft"), [("mm", "M10", 25.0), ("in", "3/8-16", 25.4)])
def test_bearing_blocks_out_of_the_table_bring_their_figures_and_their_bodies(
    tmp_path: Path, units: str, bolt: str, shaft: float
) -> None:
    """Blocks P 205: bolts 105 mm apart, 36.5 mm high, feet of 15 mm, a shaft of 25 mm or 1 in (`bearing_block.csv`)."""
    said = {"title": "Hop press", "units": units, "old": "rectangle", "fixed": "feet", "drive": "two"}
    for name, typed in {**said, "slow": "120", "fast": "120", "block": "P 205"}.items():
        answers = answered(tmp_path, name, typed)
    usual = {one["name"]: one["usual"] for one in questions(answers)}
    # the same over 25.4
    figures = {"mm": ("105 mm", "36.5 mm", "15 mm"), "in": ("4.134 in", "1.437 in", "0.5906 in")}[units]
    assert (usual["block_bolts"], usual["block_high"], usual["block_foot"]) == figures
    assert length(usual["countershaft"], "mm") == shaft
    with pytest.raises(PlatekitError, match="no table has a bearing block 'P 999'"):
        answered(tmp_path, "block", "P 999")
    layout = lay_out(loads(begun_job(tmp_path).read_text("utf-8"), "job"))
    mount = layout.mounts["countershaft"]
    assert mount.stack is not None
    assert mount.stack.size == bolt
    assert mount.stack.flange == pytest.approx(15, abs=2e-3)  # inches are written to a ten thousandth
    axis = layout.belts[0].driven.axis
    assert axis is not None
    assert axis.point[2] == pytest.approx(36.5, abs=1e-3)
    feet = [one for one in layout.bodies if one.name in ("foot front", "foot back")]
    assert [max(one.shape.box.width, one.shape.box.height) for one in feet] == pytest.approx([140, 140], abs=1e-3)


def test_a_plate_that_is_too_small_for_a_countershaft_grows_or_says_so(tmp_path: Path) -> None:
    said = {"title": "Hop press", "units": "mm", "old": "rectangle", "fixed": "feet", "drive": "belt"}
    for name, typed in {**said, "slow": "120", "fast": "120"}.items():
        answered(tmp_path, name, typed)
    text = begun_job(tmp_path).read_text("utf-8")
    # a rectangle that is just large enough for machine and motor
    x0, y0, x1, y1 = lay_out(loads(text, "job")).outline.box
    size = {"rectangle": {"width": x1 - x0, "height": y1 - y0}, "at": [(x0 + x1) / 2, (y0 + y1) / 2]}
    small = lay_out(loads(with_value(text, "plate.outline", size), "job"))
    assert not small.wrapped
    assert {one["name"]: one for one in countershaft_asked(small)}["plate"]["usual"] == "grow"
    kept = lay_out(loads(with_countershaft(small, {"plate": "keep"}), "job"))
    assert not kept.wrapped
    grown = lay_out(loads(with_countershaft(small, {}), "job"))
    stops = [check(one).open("stop") for one in (kept, grown)]
    assert "edge" in {one.rule for one in stops[0]}
    assert not {"edge", "cut-file"} & {one.rule for one in stops[1]}
    assert len(stops[1]) < len(stops[0])


def test_a_pump_on_a_coupling_is_asked_for_it_and_gets_the_spacers_that_bring_its_gap(tmp_path: Path) -> None:
    said = {"title": "Straw press", "old": "circle", "circle": "190", "fixed": "flange", "motor": "SAE B 2-bolt"}
    said |= {"screw": "M12", "depth": "30", "flange": "16", "own_shaft": "22,2", "own_stands": "41"}
    names = [one["name"] for one in questions({"units": "mm", **said})]
    assert "joined" in names
    assert "coupling_wide" not in names
    said |= {"joined": "coupling", "shaft": "24", "stands": "30", "coupling_wide": "55", "coupling_long": "60"}
    said |= {"gap_least": "2", "gap_most": "4", "process": "laser", "material": "mild steel", "thickness": "20"}
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    path = begun_job(tmp_path)
    layout = lay_out(loads(path.read_text("utf-8"), path.name))
    # 41 and 30 mm of shaft face each other with 3 mm between them, of which the plate is 20
    assert layout.mounts["machine"].standoff == pytest.approx(41 + 30 + 3 - 20)
    (coupling,) = layout.couplings
    assert coupling.apart == pytest.approx(3)
    assert not [one for one in check(layout).open("stop") if one.rule in ("shaft-gap", "in-line", "blocked", "clash")]


def test_a_shaft_that_ends_behind_the_old_face_is_typed_with_a_minus(tmp_path: Path) -> None:
    said = {"title": "Straw press", "units": "mm", "old": "circle", "circle": "190", "fixed": "flange"}
    said |= {"motor": "SAE B 2-bolt", "screw": "M12", "depth": "30", "flange": "16", "own_shaft": "22,2"}
    said |= {"own_stands": "60", "joined": "coupling", "shaft": "24", "stands": "-12", "coupling_wide": "55"}
    said |= {"coupling_long": "60", "gap_least": "2", "gap_most": "4"}
    said |= {"process": "laser", "material": "mild steel", "thickness": "20"}
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    layout = lay_out(loads(begun_job(tmp_path).read_text("utf-8"), "job.yaml"))
    # the pump's 60 mm go through 20 of plate and 12 of pit, and leave 3 mm between the two ends
    assert layout.mounts["machine"].standoff == pytest.approx(60 - 12 + 3 - 20)
    assert [one.apart for one in layout.couplings] == [pytest.approx(3)]
    assert not [one for one in check(layout).open("stop") if one.rule in ("shaft-gap", "in-line", "blocked", "clash")]
    for typed in ("-151", "minus"):
        with pytest.raises(PlatekitError):
            answered(tmp_path, "stands", typed)
    # a pulley sits on a shaft that goes through the plate: there it has to stand out
    assert "stands" not in answered(tmp_path, "fixed", "face")


def test_a_bare_power_in_a_job_in_inches_is_in_horsepower(tmp_path: Path) -> None:
    per = {unit: {one["name"]: one["per"] for one in questions({"units": unit})}["power"] for unit in ("mm", "in")}
    assert per == {"mm": "kW", "in": "HP"}
    said = {
        "title": "Reed crusher",
        "units": "in",
        "old": "rectangle",
        "fixed": "feet",
        "power": "3",
        "shaft_out": "11",
    }
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    spec = loads(begun_job(tmp_path).read_text("utf-8"), "x.yaml")
    assert spec.model.drive is not None
    assert spec.top.data["drive"]["motor"]["power"] == "3 HP"
    assert spec.top.data["mounts"]["machine"]["shaft"]["stretch"] == [0, 11]


def test_the_inverter_of_the_answers_asks_for_no_word_of_the_maker(tmp_path: Path) -> None:
    """300 to 900 rpm off 1430 rpm is 86 Hz at the top, and some to spare goes past 90."""
    said = {"title": "Cork grinder", "old": "circle", "speed": "1430", "slow": "300", "fast": "900"}
    for name, typed in said.items():
        answered(tmp_path, name, typed)
    layout = lay_out(loads(begun_job(tmp_path).read_text("utf-8"), "x.yaml"))
    assert not [one for one in check(layout).findings if one.rule == "speed-limit"]


def test_a_circle_says_where_its_first_hole_lies(tmp_path: Path) -> None:
    answers = {"title": "Beet washer", "units": "mm", "old": "circle", "count": "6", "circle": "150"}
    for name, said in answers.items():
        answered(tmp_path, name, said)
    with pytest.raises(PlatekitError, match="degrees"):
        answered(tmp_path, "begins", "north")
    answered(tmp_path, "begins", "30")
    assert "start: 30 deg" in begun_job(tmp_path).read_text("utf-8")


def test_a_block_of_the_table_is_told_in_the_unit_of_the_caliper() -> None:
    # pillow block P 205: 105 mm between its bolts, 36.5 mm to its shaft
    assert _block_figures("P 205", "in")["block_bolts"] == "4.134 in"
    assert _block_figures("P 205", "mm")["block_high"] == "36.5 mm"
