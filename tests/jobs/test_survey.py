"""`platekit survey`: text, figures, picture, plan and exit codes, and what it says when the readings do not do."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner, Result

import platekit
from platekit.cli import Exit, app
from platekit.export.data.survey import survey_figures
from platekit.export.picture.survey import survey_svg
from platekit.export.text.survey import survey_text
from platekit.jobs.survey import measured
from platekit.studies.surveyed import plans, surveyed

SPECS = Path(__file__).parents[2] / "specs"
PUG_MILL = (SPECS / "pug-mill.yaml").read_text("utf-8")
BLUNDER = PUG_MILL.replace("[C, D, inside, 107.80]", "[C, D, inside, 108.70]")
NO_TRIANGLE = PUG_MILL.replace("[A, C, inside, 145.10]", "[A, C, inside, 154.10]")
FEW = "\n".join(
    line
    for line in PUG_MILL.splitlines()
    if not any(word in line for word in ("[bore, B", "[bore, C", "[bore, D", ", over,", "[A, C, inside"))
)
UNMEASURED = PUG_MILL[: PUG_MILL.index("        readings:")] + PUG_MILL[PUG_MILL.index("        sigma: 0.1") :]


def run(tmp_path: Path, text: str, *options: str) -> Result:
    spec = tmp_path / "mill.yaml"
    spec.write_text(text, "utf-8")
    return CliRunner().invoke(app, ["survey", str(spec), "--out", str(tmp_path / "out"), *options])


def figures(tmp_path: Path, text: str, *options: str) -> Any:
    return json.loads(run(tmp_path, text, "--json", *options).stdout)


# The command ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (PUG_MILL, Exit.CLEAR),
        (BLUNDER, Exit.STOP),
        (FEW, Exit.STOP),
        (UNMEASURED, Exit.STOP),
        (NO_TRIANGLE, Exit.UNUSABLE),
        (PUG_MILL.replace("clockwise:", "# clockwise:"), Exit.STOP),
        ("platekit: 1\n", Exit.UNUSABLE),
    ],
    ids=["good", "blunder", "few", "none", "no triangle", "mirror", "no spec"],
)
def test_the_exit_code_says_whether_the_readings_can_be_used(tmp_path: Path, text: str, code: Exit) -> None:
    assert run(tmp_path, text, "--json").exit_code == code


def test_a_spec_without_a_measured_pattern_ends_in_a_sentence() -> None:
    command = [sys.executable, "-m", "platekit", "survey", str(SPECS / "dough-mixer.yaml")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == Exit.UNUSABLE
    assert "found no measured pattern" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_keys_are_those_promised(tmp_path: Path) -> None:
    told = figures(tmp_path, PUG_MILL)
    hole = told["mounts"]["gear case"]["holes"]["A"]
    assert {"x_mm", "y_mm", "sigma_mm", "ellipse"} <= set(hole)
    assert {"major_mm", "minor_mm", "angle_deg"} == set(hole["ellipse"])
    for place in (told, told["mounts"]["gear case"]):
        assert {"readings", "suspect", "candidates", "next_reading", "fit_odds"} <= set(place)
        assert all({"residual_mm", "normalised"} <= set(reading) for reading in place["readings"])
    assert told["suspect"] is None
    assert told["next_reading"]["worst_sigma_after_mm"] < told["next_reading"]["worst_sigma_before_mm"]
    assert told["fit_odds"]["gear case"]["probability"] > 0.99


def test_the_figures_are_those_of_the_survey(tmp_path: Path) -> None:
    survey = platekit.lay_out(platekit.loads(PUG_MILL, "mill")).mounts["gear case"].survey
    assert survey is not None
    holes = figures(tmp_path, PUG_MILL)["mounts"]["gear case"]["holes"]
    for name, hole in survey.holes.items():
        assert holes[name]["x_mm"] == pytest.approx(hole.x, abs=1e-6)
        assert holes[name]["ellipse"]["angle_deg"] == pytest.approx(math.degrees(hole.ellipse.angle), abs=1e-5)


def test_a_blunder_is_told_with_its_likely_value(tmp_path: Path) -> None:
    suspect = figures(tmp_path, BLUNDER)["suspect"]
    assert suspect["reading"] == {"features": ["C", "D"], "kind": "inside", "value_mm": 108.7}
    assert suspect["likely_mm"] == pytest.approx(107.8)
    assert "two digits swapped" in suspect["why"]
    text = run(tmp_path, BLUNDER).stdout
    assert "suspect: C-D inside 108.70" in text
    assert "<- suspect" in text


def test_a_blunder_that_breaks_a_triangle_still_gets_its_survey(tmp_path: Path) -> None:
    told = figures(tmp_path, NO_TRIANGLE)
    assert told["state"] == "unusable"
    assert told["suspect"]["likely_mm"] == pytest.approx(145.1)
    assert told["problems"][0]["line"] == NO_TRIANGLE[: NO_TRIANGLE.index("154.10")].count("\n") + 1
    text = run(tmp_path, NO_TRIANGLE).stdout
    assert "without the suspect the holes lie at" in text
    assert "- [A, C, inside, 154.10]" in text


def test_too_few_readings_say_what_floats_and_what_to_measure(tmp_path: Path) -> None:
    told = figures(tmp_path, FEW)
    pattern = told["mounts"]["gear case"]
    assert pattern["floating"] == ["C", "D", "bore"]
    assert pattern["holes"]["C"]["sigma_mm"] is None
    assert told["next_reading"]["helps"]
    assert told["fit_odds"] == {"gear case": None}
    text = run(tmp_path, FEW).stdout
    assert "C, D and bore can still move" in text
    assert "next reading:" in text


@pytest.mark.parametrize(
    ("holes", "said"),
    [
        ("{}", "machine: not measured yet, and no hole of it is named"),
        ("{A: 9, B: 9, C: 9}", "machine: 3 holes; not measured yet, but for 3 diameters"),
        ("{A: 9, B: 9, P: {diameter: 8, kind: dowel}}", "machine: 2 holes and 1 dowel hole; not measured yet"),
    ],
)
def test_a_face_that_was_not_measured_yet_is_called_so(holes: str, said: str) -> None:
    text = (
        "platekit: 1\ntitle: Not yet\nunits: mm\nplate: {material: mild steel, thickness: 10}\nmounts:\n  machine:\n"
        f"    side: far\n    looking_at: face\n    pattern: {{measured: {{holes: {holes}}}}}\n"
        "    screws: {size: M8, into: part, depth: 20}\n"
    )
    spec = platekit.loads(text, "p.yaml")
    told = survey_text(spec, surveyed(spec))
    assert said in told
    assert "--plan" in told
    assert "0 readings" not in told
    with pytest.raises(platekit.PlatekitError, match=r"no holes yet|not measured yet"):
        platekit.lay_out(spec)


def test_following_next_reading_again_and_again_places_every_hole() -> None:
    places = {"A": (-61.5, 44.2), "B": (58.8, 47.6), "C": (63.1, -49.9), "D": (-55.7, -52.3), "bore": (0.0, 0.0)}
    sizes = {"A": 11.08, "B": 11.14, "C": 11.08, "D": 11.07, "bore": 71.93}
    text = FEW
    for _ in range(8):
        (one,) = surveyed(platekit.loads(text, "mill"))
        if not one.floating:
            break
        assert one.proposal is not None
        a, b = one.proposal.features
        radii = {"inside": -0.5, "over": 0.5, "centres": 0.0}[one.proposal.kind] * (sizes[a] + sizes[b])
        value = math.dist(places[a], places[b]) + radii
        text = text.replace(
            "        sigma: 0.1", f"          - [{a}, {b}, {one.proposal.kind}, {value:.2f}]\n        sigma: 0.1"
        )
    else:
        pytest.fail("holes still float")


def test_an_unsettled_mirror_image_is_told(tmp_path: Path) -> None:
    text = PUG_MILL.replace("clockwise:", "# clockwise:")
    assert figures(tmp_path, text)["mounts"]["gear case"]["mirror"] == "unsettled"
    assert "name three holes as `clockwise" in run(tmp_path, text).stdout


def test_a_standard_pattern_is_recognised_and_nothing_snaps(tmp_path: Path) -> None:
    """IEC 60072-1, flange with a 115 mm circle of four holes, measured with caliper noise."""
    square = 115.0 / math.sqrt(2.0)
    noise = iter((0.07, -0.05, 0.1, -0.02, 0.06, -0.08))
    pairs = (("A", "B", square), ("B", "C", square), ("C", "D", square), ("D", "A", square))
    lines = [f"          - [{a}, {b}, centres, {d + next(noise):.2f}]" for a, b, d in pairs]
    lines += [f"          - [{a}, {b}, centres, {115.0 + next(noise):.2f}]" for a, b in (("A", "C"), ("B", "D"))]
    text = UNMEASURED.replace(", bore: 71.93}", "}").replace("origin: bore", "origin: centre")
    text = text.replace("        sigma: 0.1", "        readings:\n" + "\n".join(lines) + "\n        sigma: 0.1")
    told = figures(tmp_path, text)
    names = [candidate["name"] for candidate in told["candidates"]]
    assert any("B14" in name for name in names), names
    pattern = told["mounts"]["gear case"]
    assert pattern["bolt_circle_mm"] == pytest.approx(115.0, abs=0.3)
    assert pattern["bolt_circle_mm"] != pytest.approx(115.0, abs=1e-4)


def test_inches_are_told_in_inches(tmp_path: Path) -> None:
    import re

    def inches(found: re.Match[str]) -> str:
        return f"{found[1]}{float(found[2]) / 25.4:.5f}{found[3]}"

    head, tail = PUG_MILL.split("        sigma: 0.1")
    text = re.sub(r"((?:inside|over), )([0-9.]+)(\])", inches, head)
    text = re.sub(r"((?:[ABCD]|bore): )([0-9]+\.[0-9]+)([,}])", inches, text).replace("thickness: 8", "thickness: 8 mm")
    tail = (
        tail.replace("flange: 14", "flange: 14 mm")
        .replace("flange: 10", "flange: 10 mm")
        .replace("[195, 20]", "[7.68, 0.79]")
    )
    text = (text + "        sigma: 0.1 mm" + tail).replace("units: mm", "units: in")
    mine, theirs = (figures(tmp_path, one)["mounts"]["gear case"]["holes"] for one in (text, PUG_MILL))
    for name in theirs:
        assert mine[name]["x_mm"] == pytest.approx(theirs[name]["x_mm"], abs=1e-3)
    assert "lengths in in" in run(tmp_path, text).stdout


def test_a_large_pattern_is_said_to_take_a_while(tmp_path: Path) -> None:
    """A loose ring of 60 holes: what is being done is said before, and the holes that float are told after."""
    count, said = 60, list[str]()
    holes = ", ".join(f"h{k}: 10" for k in range(count))
    readings = "".join(f"          - [h{k}, h{(k + 1) % count}, inside, {40 + k % 7}]\n" for k in range(count))
    path = tmp_path / "ring.yaml"
    path.write_text(
        "platekit: 1\ntitle: Ring\nunits: mm\nplate: {material: mild steel, thickness: 10}\nmounts:\n  bed:\n"
        "    side: far\n    looking_at: face\n    pattern:\n      measured:\n"
        f"        holes: {{{holes}}}\n        readings:\n{readings}"
        "    bolts: {size: M8, into: part, depth: 18}\ncutting: {process: plasma}\n",
        "utf-8",
    )
    told = measured(path, tmp_path, said.append)
    assert said == ["working out where the 60 holes of bed are"]
    assert told.state == "open"
    assert "can then still move" in told.text


def test_the_same_spec_gives_the_same_bytes(tmp_path: Path) -> None:
    spec = platekit.loads(PUG_MILL, "mill")
    makes: tuple[Callable[[], str], ...] = (
        lambda: survey_text(spec, surveyed(spec)),
        lambda: survey_svg(spec, surveyed(spec)),
        lambda: json.dumps(survey_figures(surveyed(spec))),
    )
    for make in makes:
        assert make() == make()


# The plan ------------------------------------------------------------------------------------------------------------


def test_the_plan_of_an_unmeasured_pattern_places_every_hole(tmp_path: Path) -> None:
    done = run(tmp_path, UNMEASURED, "--plan")
    assert done.exit_code == Exit.CLEAR
    assert "base: the longest distance" in done.stdout
    told = figures(tmp_path, UNMEASURED, "--plan")["plan"]["gear case"]
    assert {name for step in told["readings"] for name in step["features"]} == {"A", "B", "C", "D", "bore"}
    assert told["redundancy"] >= 3
    assert told["worst_sigma_mm"] <= 0.15


def test_the_plan_of_a_measured_pattern_says_what_to_expect() -> None:
    steps = plans(platekit.loads(PUG_MILL, "mill"))["gear case"].steps
    expected = {(step.features, step.kind): step.expected for step in steps}
    assert expected[("A", "C"), "over"] == pytest.approx(167.2, abs=0.3)


# The picture ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", [PUG_MILL, BLUNDER, NO_TRIANGLE, FEW, UNMEASURED])
def test_the_picture_is_written_and_names_every_hole(tmp_path: Path, text: str) -> None:
    run(tmp_path, text)
    root = ElementTree.parse(tmp_path / "out" / "mill" / "mill.survey.svg").getroot()
    said = " ".join(root.itertext())
    if text is not UNMEASURED:
        drawn = {element.get("data-hole") for element in root.iter() if element.get("data-hole")}
        assert drawn == {"A", "B", "C", "D", "bore"}
    if text in (BLUNDER, NO_TRIANGLE):
        assert "likely" in said
    if text is FEW:
        assert "?" in said


def test_ellipses_are_drawn_to_the_scale_that_the_picture_names() -> None:
    spec = platekit.loads(PUG_MILL, "mill")
    (one,) = surveyed(spec)
    assert one.survey is not None
    root = ElementTree.fromstring(survey_svg(spec, (one,)))
    svg = "{http://www.w3.org/2000/svg}"
    radii = sorted(float(element.get("rx", "0")) for element in root.iter(f"{svg}ellipse"))
    within = sorted(hole.ellipse.within_95.major for hole in one.survey.holes.values() if hole.ellipse.major > 0.0)
    bars = [element for element in root.iter(f"{svg}rect") if element.get("height") == "6"]
    named = next(text for text in root.itertext() if "times enlarged" in text)
    per_mm = float(bars[-1].get("width", "0")) / float(named.split()[0])
    assert radii == pytest.approx([size * per_mm for size in within], rel=0.02)


def test_hostile_names_stay_text() -> None:
    text = PUG_MILL.replace("title: Pug mill,", 'title: "<script>alert(1)</script>",').replace(
        'title: "<script>alert(1)</script>", flange motor on the old gear case',
        'title: "<script>alert(1)</script> & mill"',
    )
    spec = platekit.loads(text, "mill")
    picture = survey_svg(spec, surveyed(spec))
    assert "<script>" not in picture
    ElementTree.fromstring(picture)


def test_report_and_figures_show_the_survey(tmp_path: Path) -> None:
    layout = platekit.lay_out(platekit.loads(PUG_MILL, "mill"))
    verdict = platekit.check(layout)
    page = platekit.export.report_html(layout, verdict)
    assert "What was measured" in page
    assert "Does it bolt up?" in page
    from platekit.export.data.plate import plate_figures

    told: dict[str, Any] = dict(plate_figures(layout, verdict))
    assert set(told["survey"]) == {"gear case"}
    assert set(told["fit_odds"]) == {"gear case", "motor"}


# Bad input, through the spec -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "line_of", "words"),
    [
        ("[A, C, inside, 145.10]", "[A, C, inside, 245.10]", "245.10", "no triangle"),
        ("[B, C, inside, 86.52]", "[B, E, inside, 86.52]", "[B, E", "there is no hole E"),
        ("[B, C, inside, 86.52]", "[B, B, inside, 86.52]", "[B, B", "twice"),
        ("[B, C, inside, 86.52]", "[B, C, inside, 86.52, 0]", "86.52, 0]", "above zero"),
        ("[B, C, inside, 86.52]", "[B, C, inside, -86.52]", "-86.52", "above zero"),
        ("[B, C, inside, 86.52]", "[B, C, beside, 86.52]", "beside", "did you mean inside"),
        ("sigma: 0.1 ", "sigma: 0 ", "sigma: 0 ", "above zero"),
        ("clockwise: [A, B, C]", "clockwise: [A, B, E]", "clockwise:", "there is no hole E"),
        ("clockwise: [A, B, C]", "clockwise: [A, B, B]", "clockwise:", "twice"),
        ("x_axis: [D, C]", "x_axis: [D, E]", "x_axis:", "there is no hole E"),
        ("origin: bore", "origin: E", "origin:", "there is no hole E"),
        ("D: 11.07, bore", "A: 11.07, bore", "A: 11.07", "second time"),
        ("D: 11.07, bore", "D: 0, bore", "D: 0", "above zero"),
    ],
)
def test_bad_input_is_told_where_it_stands(old: str, new: str, line_of: str, words: str) -> None:
    assert PUG_MILL.count(old) == 1
    text = PUG_MILL.replace(old, new)
    with pytest.raises(platekit.SpecError) as caught:
        platekit.lay_out(platekit.loads(text, "mill.yaml"))
    problems = caught.value.problems
    assert any(words in str(problem) for problem in problems), str(caught.value)
    wanted = text[: text.index(line_of)].count("\n") + 1
    assert wanted in {problem.line for problem in problems}, [problem.line for problem in problems]


def test_holes_in_one_row_say_so() -> None:
    text = UNMEASURED.replace(
        "        sigma: 0.1",
        "        readings:\n          - [A, B, centres, 40]\n          - [B, C, centres, 40]\n"
        "          - [A, C, centres, 80]\n          - [C, D, centres, 40]\n          - [A, D, centres, 120]\n"
        "          - [bore, A, centres, 160]\n          - [bore, D, centres, 40]\n        sigma: 0.1",
    )
    with pytest.raises(platekit.SpecError, match="in one row"):
        platekit.lay_out(platekit.loads(text, "mill.yaml"))


# Readings alone, and inches ------------------------------------------------------------------------------------------


INCHES = """\
platekit: 1
title: Cider press, readings only
units: in
plate: {material: mild steel, thickness: 3/8 in}
mounts:
  frame:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: 0.434, B: 0.434, C: 0.434}
        readings:
          - [A, B, over, 7.978]
          - [A, B, inside, 7.111]
          - [B, C, over, 8.525]
          - [B, C, inside, 7.656]
          - [A, C, inside, 9.125]
          - [A, C, over, 9.993]
        sigma: 0.006
        clockwise: [A, B, C]
"""


@pytest.mark.parametrize("more", ["", "    bolts: {into: part}\n"])
def test_a_survey_needs_no_screws(tmp_path: Path, more: str) -> None:
    found = figures(tmp_path, INCHES + more)
    assert found["state"] == "placed"
    assert found["mounts"]["frame"]["holes"]["A"]["diameter_mm"] == pytest.approx(0.434 * 25.4, abs=0.2)
    said = run(tmp_path, INCHES + more).stdout
    assert "fit odds: not yet" in said
    with pytest.raises(platekit.SpecError, match="size"):
        platekit.lay_out(platekit.loads(INCHES + more, "press"))


def test_an_inch_spec_is_told_in_inches_everywhere(tmp_path: Path) -> None:
    wrong = INCHES.replace("[B, C, over, 8.525]", "[B, C, over, 8.255]")
    sized = wrong + "    bolts: {size: 7/16-14, into: part, depth: 1.25}\n"
    text = " ".join(run(tmp_path, sized).stdout.split()).split("nearest round sizes")[0]
    picture = (tmp_path / "out" / "mill" / "mill.survey.svg").read_text("utf-8").split("nearest round sizes")[0]
    findings = platekit.check(platekit.lay_out(platekit.loads(sized, "press"))).findings
    survey = [f"{one.message} {one.advice}" for one in findings if one.rule == "survey"]
    assert survey
    for said in (text, picture, *survey):
        assert " mm" not in said.replace("under 10 mm", "")
    assert "8.255 in would be 8.525 in: two digits swapped?" in text
    assert any("8.255 in would be 8.525 in" in one for one in survey)


def test_a_habit_is_told_with_the_edit_that_ends_it(tmp_path: Path) -> None:
    lines = [line.replace(", over,", ", centres,") for line in PUG_MILL.splitlines()]
    text = "\n".join(lines) + "\n"
    said = " ".join(run(tmp_path, text).stdout.split())
    assert "readings typed as centres look like over-all sizes" in said
