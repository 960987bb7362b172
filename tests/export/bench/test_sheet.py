"""The bench sheet: what it says, that nothing on it lies over something else, that it is the same every time."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from msgspec.structs import replace

from platekit import found
from platekit.checks import Finding, Verdict, check
from platekit.checks.finding import Advice
from platekit.cutting import operations_of
from platekit.drawing.pdf.drafting import WIDE
from platekit.drawing.pdf.names import Name, write_words
from platekit.drawing.pdf.pen import Pen
from platekit.errors import OutputError, SpecError
from platekit.export.bench import drawing
from platekit.export.bench.card import sections
from platekit.export.bench.sheet import paper_of, sheet, sheet_bytes
from platekit.export.bench.words import (
    check_pair,
    hole_rows,
    outline_rows,
    screw_rows,
    slot_rows,
    torque_words,
    zero_of,
)
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

SPECS = Path(__file__).parents[3] / "specs"
CLEAR = Verdict(())
STOP = Verdict((Finding(rule="web", level="stop", message="too thin", features=("a", "b"), advice=Advice("move a")),))

WINCH = """\
platekit: 1
title: {title}
units: {units}
plate:
  material: mild steel
  thickness: 12 mm
  outline: {outline}
  cutouts:
    drain: {{circle: {{diameter: 16 mm}}, at: [120 mm, -55 mm]}}
mounts:
  drum:
    side: far
    looking_at: face
    pattern: {{points: [[-60 mm, -50 mm], [60 mm, -45 mm], [55 mm, 50 mm]], hole: 13 mm}}
    bolts: {{size: M12, into: part, depth: 30 mm, washer: true, length: 35 mm}}
    pilot: {{diameter: 40 mm, depth: 4 mm, opening: recess}}
  motor:
    side: near
    looking_at: face
    pattern: {{points: [[-20 mm, -20 mm], [20 mm, -20 mm]]}}
    at: [105 mm, 20 mm]
    standoff: 5 mm
    bolts: {{size: M8, into: part, depth: 20 mm}}
    take_up: {{slots: {{along: 90 deg, install: 4 mm, tension: 8 mm}}}}
  brake:
    side: near
    looking_at: face
    pattern: {{points: [[-20 mm, 0 mm], [20 mm, 5 mm]]}}
    at: [-60 mm, 40 mm]
    bolts: {{size: M6, into: plate, flange: 6 mm}}
cutting: {{process: laser}}
paper: {{size: {size}{zero}}}
"""


HOUSE = "{polygon: {points: [[-10 cm, -8 cm], [15 cm, -8 cm], [15 cm, 7 cm], [0, 9 cm], [-10 cm, 9 cm]], corner: 12mm}}"
TITLE = "Yard winch, new motor"


def text_of(size: str = "a4", units: str = "mm", zero: str = "", title: str = TITLE, outline: str = HOUSE) -> str:
    zero = f", zero: {zero}" if zero else ""
    return WINCH.format(size=size, units=units, zero=zero, title=title, outline=outline)


def winch(*given: str, **more: str) -> Layout:
    return lay_out(loads(text_of(*given, **more), "winch"))


def pages(layout: Layout, verdict: Verdict = CLEAR) -> list[str]:
    pdf = pdfium.PdfDocument(sheet_bytes(layout, verdict))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdf]


# --------------------------------------------------------------------------------------- what it says


def test_every_page_says_of_what_it_is_and_whether_it_may_be_cut() -> None:
    layout = winch()
    for number, words in enumerate(pages(layout), start=1):
        for said in ("Yard winch, new motor", layout.spec.revision, "winch", "CLEAR TO CUT", "Lock out first."):
            assert said in words
        assert f"{number} of {len(pages(layout))}" in words
    for words in pages(layout, STOP):
        assert "NOT FOR CUTTING: 1 stop" in words
        assert words.count("NOT FOR CUTTING") >= 2
        assert "CLEAR TO CUT" not in words


def test_the_title_block_says_what_the_plate_is() -> None:
    first = pages(winch())[1]
    for said in ("mild steel, 12 mm", "250 × 170 mm", "laser", "near side", "kg", "1 : 2", "UP"):
        assert said in first
    assert "lb" not in first
    assert " lb" in pages(winch(units="in"))[1]


def test_the_drawing_shows_over_all_sizes_thickness_and_running_dimensions() -> None:
    first = f" {pages(winch())[1]} "
    for figure in (
        "250",
        "170",
        "12",
        "0",
        "-60",
        "60",
        "55",
        "-45",
        "120",
        "85",
        "125",
        "-80",
        "40",
        "45",
        "-4",
        "8",
        "4.5 deep",
        "5 spacer",
    ):
        assert f" {figure} " in first, figure
    for said in ("drum.1 3 × Ø13, cut", "2 × M6, drill Ø5", "2 × slot 9 × 21 over all, cut", "5 × R12", "near", "far"):
        assert said in first


def test_the_hole_table_counts_from_the_zero_of_the_first_mount_or_from_where_the_spec_says() -> None:
    usual = winch()
    assert {row[0]: row[2:4] for row in table(usual)}["drum.2"] == ["60", "-45"]
    assert "from the zero of drum" in pages(usual)[2]
    corner = winch(zero="lower left")
    assert {row[0]: row[2:4] for row in table(corner)}["drum.2"] == ["160", "35"]
    assert "the plate's lower left, as in the cut file" in pages(corner)[2]
    at = winch(zero="[10 mm, -5 mm]")
    assert {row[0]: row[2:4] for row in table(at)}["drum.2"] == ["50", "-40"]
    by_motor = winch(zero="motor")
    assert {row[0]: row[2:4] for row in table(by_motor)}["drum.2"] == ["-45", "-65"]
    by_drain = winch(zero="drain")
    assert {row[0]: row[2:4] for row in table(by_drain)}["drain"] == ["0", "0"]
    with pytest.raises(SpecError, match=r'paper.zero: found "moter", which is neither mount nor cutout'):
        sheet_bytes(winch(zero="moter"), CLEAR)


def table(layout: Layout) -> list[list[str]]:
    return hole_rows(layout, operations_of(layout), zero_of(layout))


def test_the_hole_table_holds_every_opening_with_size_work_and_screw() -> None:
    layout = winch()
    rows = {row[0]: row for row in table(layout)}
    assert list(rows) == [opening.name for opening in layout.openings]
    assert rows["drum.1"][4:] == ["Ø13", "cut", "M12 × 35 hex"]
    assert rows["brake.2"][4] == "M6, drill Ø5"
    assert rows["brake.2"][5] == "mark, drill 5 mm, tap M6"
    assert rows["drum.pilot"][5].startswith("mark, bore ")
    assert "from the far side" in rows["drum.pilot"][5]


def test_slots_are_given_by_the_centres_of_their_ends() -> None:
    """motor.1 stands at x = 85 or 125 (its face is mirrored), y = 0; it goes 4 down and 8 up."""
    rows = {row[0]: row[1:] for row in slot_rows(winch(), zero_of(winch()))}
    assert rows["motor.1"] == ["125", "-4", "125", "8", "9"]
    assert rows["motor.2"] == ["85", "-4", "85", "8", "9"]


def test_the_outside_is_given_going_round() -> None:
    layout = winch()
    rows = outline_rows(layout, zero_of(layout))
    assert [row[0] for row in rows].count("arc") == 5
    assert [row[0] for row in rows].count("line") == 5
    assert all(row[5] == "R12" for row in rows if row[0] == "arc")
    lower_right = next(row for row in rows if row[3:5] == ["138", "-68"])
    assert lower_right[1:3] == ["138", "-80"]
    disc = winch(outline="{disc: {diameter: 400 mm}}")
    assert outline_rows(disc, zero_of(disc)) == [["circle", "", "", "0", "0", "R200"]]


def test_screws_come_with_their_chain_thread_and_torque() -> None:
    """M12 in a 12 mm plate: washer 2.5 (ISO 7089), so 14.5 is gripped and 20.5 of 35 are left for the thread."""
    rows = {row[0]: row for row in screw_rows(winch())}
    drum = rows["drum"]
    assert drum[1] == "3 × M12 × 35 hex"
    assert drum[2] == "3 washers"
    assert drum[3] == "plate 12 + washer 2.5 = 14.5 mm"
    assert drum[4] == "20.5 mm in the part"
    assert re.fullmatch(r"8\d(\.\d)? Nm, 8.8, friction 0.14", drum[5])
    motor = rows["motor"]
    assert "2 spacers 5 mm" in motor[2]
    assert motor[3] == "plate 12 + spacer 5 = 17 mm"
    assert rows["brake"][3] == "flange 6 = 6 mm"
    assert "lbf ft" in {row[0]: row for row in screw_rows(winch(units="in"))}["drum"][5]


def test_a_screw_that_does_not_hold_gets_no_torque() -> None:
    layout = lay_out(loads(text_of().replace("length: 35 mm", "length: 20 mm"), "winch"))
    stack = layout.mounts["drum"].stack
    assert stack is not None
    assert torque_words(stack, "mm") == "not before the thread holds deep enough"


@pytest.mark.parametrize(
    ("inside", "deep", "said"),
    [
        ("aluminium", 30, "strips at"),
        ("steel", 30, None),
        ("cast iron", 30, None),
    ],
)
def test_a_torque_into_aluminium_says_what_the_thread_bears(inside: str, deep: float, said: str | None) -> None:
    stack = lay_out(loads(text_of(), "winch")).mounts["drum"].stack
    assert stack is not None
    told = torque_words(replace(stack, held_in=inside, thread_in=inside, engagement=deep), "mm")
    assert told.startswith("8")  # M12 of 8.8: 83 Nm
    assert (said in told) if said else ("strips" not in told)
    # one diameter of it: 0.875 pi 12 x 12 x 102 = 40.4 kN, two thirds of which are less than the 36.7 kN of the screw
    short = torque_words(replace(stack, held_in="aluminium", thread_in=None, needed=12.0, engagement=12.0), "mm")
    assert short.startswith("6")
    assert "lowered from 8" in short
    assert "may be aluminium" in short


def test_inch_screws_are_called_by_their_fractions() -> None:
    layout = lay_out(load(SPECS / "press-pump.yaml"))
    said = " ".join(row[1] for row in screw_rows(layout))
    assert re.search(r"1/2-13 × \d+(-\d/\d)? in hex|1/2-13 × \d+-\d/\d in hex", said)


def test_findings_are_told_by_what_became_of_them() -> None:
    verdict = Verdict(
        (
            Finding(
                rule="web",
                level="stop",
                message="the web is 3 mm; 12 mm is needed",
                features=("a", "b"),
                advice=Advice("move a"),
            ),
            Finding(
                rule="edge", level="stop", message="h1: 9 mm to the outside", features=("h1",), accepted="welded there"
            ),
            *(Finding(rule="clocking", level="note", message="fits four ways", features=(f"m.{i}",)) for i in range(3)),
        )
    )
    words = " ".join(pages(winch(), verdict))
    assert "NOT FOR CUTTING: what stops it stop, web: the web is 3 mm; 12 mm is needed. What to do: move a" in words
    assert "Found, and accepted in the spec" in words
    assert "edge: h1: 9 mm to the outside. Accepted by whoever wrote the spec, because: welded there" in words
    assert "clocking: fits four ways (the same at m.1; m.2)" in words


def test_cautions_stand_there_in_full() -> None:
    words = " ".join(pages(winch()))
    for said in (
        "Guards go on before power",
        "licensed electrician",
        "with the belt off",
        "does not certify a machine",
    ):
        assert said in words


def test_one_dimension_to_check_a_cut_plate_by_is_named() -> None:
    pair = check_pair(winch())
    assert pair is not None
    assert {pair[0], pair[1]} == {"drain", "brake.1"} or pair[2] == pytest.approx(
        max(math.dist(a.center, b.center) for a in rounds(winch()) for b in rounds(winch()))
    )
    assert f"CHECK: {pair[0]} to {pair[1]}, centre to centre {pair[2]:.2f}".rstrip("0").rstrip(".") in pages(winch())[1]


def rounds(layout: Layout) -> list[Any]:
    slots = ("motor.1", "motor.2")
    return [o for o in layout.openings if o.role in ("screw", "cutout") and o.name not in slots]


def test_the_drive_is_told_when_there_is_one() -> None:
    words = " ".join(pages(lay_out(load(SPECS / "dough-mixer.yaml"))))
    for said in (
        "Belt drive",
        "centre distance",
        "deflection force",
        "static tension",
        "rpm",
        "efficiency",
        "under limits and sources",
    ):
        assert said in words


def test_order_of_assembly_and_the_way_back_are_told() -> None:
    words = " ".join(pages(winch()))
    assert "Order of assembly put on from screws tool note 1 " in words
    assert {"drum", "motor", "brake"} <= set(
        words.split("Order of assembly")[1].split("Way back to the old machine")[0].split()
    )
    assert "Keep and label the old screws and parts of drum" in words
    assert "No hole of the old machine is changed" in words


def test_the_guard_and_the_cutting_are_told_when_there_are_any() -> None:
    words = " ".join(pages(lay_out(load(SPECS / "seed-grader.yaml"))))
    for said in ("Guard, cut as parts of its own", "back plate", "Cutting", "pierces", "cut length"):
        assert said in words
    assert "Guard, cut as" not in " ".join(pages(winch()))


# ----------------------------------------------------------------------------------------- the paper


@pytest.mark.parametrize(
    ("size", "units", "name"),
    [
        ("a4", "mm", "a4"),
        ("a3", "mm", "a4"),
        ("letter", "mm", "letter"),
        ("tabloid", "in", "letter"),
        ("single", "mm", "a4"),
        ("single", "in", "letter"),
        ("{width: 400 mm, height: 600 mm}", "mm", "a4"),
    ],
)
def test_the_paper_goes_with_the_spec(size: str, units: str, name: str) -> None:
    layout = winch(size, units)
    assert paper_of(layout).name == name
    portrait = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[name]
    for page in pdfium.PdfDocument(sheet_bytes(layout, CLEAR)):
        assert sorted(side * 25.4 / 72 for side in page.get_size()) == pytest.approx(sorted(portrait), abs=0.01)


def zoo() -> dict[str, Layout]:
    """Plates that crowd a sheet in different ways."""

    def bare(width: int, height: int, pattern: str, more: str = "") -> Layout:
        return lay_out(
            loads(
                f"platekit: 1\ntitle: Zoo\nunits: mm\nplate: {{material: mild steel, thickness: 8, outline: "
                f"{{rectangle: {{width: {width}, height: {height}, corner: 4}}}}}}\nmounts:\n"
                f"  a mount with a name that is long: {{side: near, looking_at: back, pattern: {pattern}{more}}}\n",
                "zoo",
            )
        )

    grid = ", ".join(f"[{13 * i - 84}, {13 * j - 60 + i % 3}]" for i in range(14) for j in range(10))
    return {
        "tiny": bare(26, 18, "{points: [[-8, -4], [8, -4], [0, 5]], hole: 3}"),
        "long": bare(2900, 300, "{points: [[-1300, 0], [-1290, 12], [1300, 5], [0, -90]], hole: 14}"),
        "tall": bare(120, 1900, "{points: [[-30, -900], [31, -880], [10, 880], [-12, 901]], hole: 14}"),
        "grid": bare(240, 180, f"{{points: [{grid}], hole: 6}}"),
        "ring": bare(200, 200, "{circle: {count: 24, diameter: 150, hole: 8}}"),
        "two": bare(90, 60, "{points: [[-12, 0], [12, 0]]}", ", bolts: {size: M6, into: plate, flange: 5}"),
    }


@pytest.mark.parametrize("spec", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
def test_no_words_of_the_examples_lie_over_others(spec: Path) -> None:
    layout = lay_out(found(load(spec)))
    assert overlaps(sheet_bytes(layout, check(layout))) == []


@pytest.mark.parametrize("name", ["tiny", "long", "tall", "grid", "ring", "two"])
def test_no_words_of_crowded_plates_lie_over_others(name: str) -> None:
    assert overlaps(sheet_bytes(zoo()[name], CLEAR)) == []


def overlaps(data: bytes) -> list[tuple[str, str]]:
    """Pairs of words on a page whose boxes share more than a hairline; the stamp is no word."""
    found = []
    for page in pdfium.PdfDocument(data):
        boxes = word_boxes(page)
        for index, (one, a) in enumerate(boxes):
            for other, b in boxes[index + 1 :]:
                wide = min(a[2], b[2]) - max(a[0], b[0])
                high = min(a[3], b[3]) - max(a[1], b[1])
                if wide > 0.7 and high > 0.7:
                    found.append((one, other))
    return found


def word_boxes(page: pdfium.PdfPage) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Each text object of a page with its box, points."""

    text = page.get_textpage()
    boxes = []
    for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        if raw.FPDFTextObj_GetTextRenderMode(thing.raw) == raw.FPDF_TEXTRENDERMODE_FILL:
            left, low, right, high = thing.get_bounds()
            boxes.append((text.get_text_bounded(left, low, right, high), (left, low, right, high)))
    assert len(boxes) > 5  # a view from the side has few
    return boxes


@pytest.mark.parametrize("name", ["long", "tall", "grid", "ring"])
def test_nothing_is_drawn_beyond_the_margins(name: str) -> None:
    for page in pdfium.PdfDocument(sheet_bytes(zoo()[name], STOP)):
        width, height = page.get_size()
        ink = 255 - page.render(scale=2, grayscale=True).to_numpy().squeeze()
        rim = int(9.5 / 25.4 * 72 * 2)
        assert ink[:rim].max() == ink[-rim:].max() == ink[:, :rim].max() == ink[:, -rim:].max() == 0
        assert min(width, height) > 500


# ------------------------------------------------------------------------------------------ the file


@pytest.mark.parametrize("title", ["'Dźwig: двигатель, κινητήρας'", "Winch " + "very " * 35 + "long"])
def test_titles_in_other_scripts_and_far_too_long_ones_are_printed(title: str) -> None:
    for words in pages(winch(title=title), STOP):
        assert "Dźwig: двигатель" in words or "Winch very" in words


def test_thousands_of_holes_are_told_by_the_first_and_the_hole_list() -> None:
    points = ", ".join(f"[{20 * i}, {20 * j}]" for i in range(60) for j in range(50))
    text = f"""\
platekit: 1
title: Sieve
units: mm
plate: {{material: mild steel, thickness: 3}}
mounts:
  m: {{side: far, looking_at: face, pattern: {{points: [{points}], hole: 8}}}}
"""
    words = pages(lay_out(loads(text, "sieve")))
    assert "The first 400 of 3000; the hole list has them all." in " ".join(words)
    assert "3000 × Ø8" in words[1]
    assert len(words) < 15


def test_the_same_spec_gives_the_same_bytes_in_any_process(tmp_path: Path) -> None:
    spec = tmp_path / "winch.yaml"
    spec.write_text(text_of(), encoding="utf-8")
    program = (
        "import sys; from pathlib import Path; from platekit.spec import load; from platekit.layout import lay_out\n"
        "from platekit.checks import check; from platekit.export.bench.sheet import sheet_bytes\n"
        "layout = lay_out(load(Path(sys.argv[1]))); sys.stdout.buffer.write(sheet_bytes(layout, check(layout)))"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", program, str(spec)],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
            check=True,
            capture_output=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    ]
    assert runs[0] == runs[1]
    assert runs[0].startswith(b"%PDF")


def test_the_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "winch.sheet.pdf"
    sheet(winch(), CLEAR, path)
    assert path.read_bytes() == sheet_bytes(winch(), CLEAR)
    with pytest.raises(OutputError, match="was not written"):
        sheet(winch(), CLEAR, tmp_path / "nowhere" / "winch.pdf")


# ---------------------------------------------------------------------------------------------- the card


def test_the_card_is_one_page_of_large_letters_with_what_is_done_by_hand() -> None:
    """The winch's screws with their torques, its drilled holes, the distance to check by; at least 11 points."""
    layout = winch()
    page = pdfium.PdfDocument(sheet_bytes(layout, CLEAR))[0]
    words = " ".join(page.get_textpage().get_text_range().split())
    assert "Holes" in words
    for row in screw_rows(layout):
        assert row[1] in words
        assert row[5].split(",")[0] in words
    pair = check_pair(layout)
    assert pair is not None
    assert f"Check: {pair[0]} to {pair[1]}" in words
    text = page.get_textpage()
    sizes = [
        raw.FPDFText_GetFontSize(text.raw, index)
        for index in range(text.count_chars())
        if raw.FPDFText_GetUnicode(text.raw, index) > 32
    ]
    assert min(sizes) >= 10.99
    assert sum(size >= 13.99 for size in sizes) > 0.7 * len(sizes)


def test_the_card_of_a_drive_tells_tension_and_speaks_the_unit_of_the_spec() -> None:
    layout = lay_out(load(SPECS / "seed-grader.yaml"))
    told = dict(sections(layout, operations_of(layout)))
    forces = layout.belts[0].result.forces
    assert forces is not None
    (tension,) = (lines for head, lines in told.items() if head.startswith("Tension"))
    assert f"{forces.sag_force:.1f} N" in tension[0][0]
    assert f"{forces.span_frequency_hz:.0f} Hz" in tension[1][0]
    # of a new belt 1.4 times the tension, so 1.18 times the note
    assert f"a new belt {forces.span_frequency_hz * 1.4**0.5:.0f} Hz" in tension[1][0]
    assert [boxed for _, boxed in tension] == [True, False, True, True]


def test_the_card_tells_what_is_warned_of_before_it_is_cut_and_what_a_bored_pilot_must_take() -> None:
    """The demo's slots are narrower than plasma holds: the card says so before it calls them as the table cuts them."""
    layout = lay_out(load(SPECS / "dough-mixer.yaml"))
    told = list(sections(layout, operations_of(layout), check(layout)))
    assert [head for head, _ in told][:2] == ["Before it is cut", "Holes"]
    assert any("motor.1 to motor.4 (tolerance): drill its ends" in line for line, _ in told[0][1])
    assert any("Ø110.2" in line and "the 110 mm spigot must go in" in line for line, _ in told[1][1])


def test_the_card_tightens_a_belt_after_the_one_that_moves_its_shaft() -> None:
    """The fan's countershaft is moved to tighten `second`; the motor's belt runs over it, so that one comes after."""
    layout = lay_out(load(SPECS / "winnowing-fan.yaml"))
    heads = [head for head, _ in sections(layout, operations_of(layout)) if head.startswith("Tension")]
    assert heads == ["Tension of second", "Tension of drive, after that of second"]


def test_a_part_that_is_moved_for_no_belt_is_hand_tight_until_it_is_set() -> None:
    """The carder's motor is moved for the play of its pinion: its spec has no belt, so no paper tells of one."""
    layout = lay_out(load(SPECS / "wool-carder.yaml"))
    (put_on,) = (lines for head, lines in sections(layout, operations_of(layout)) if head.startswith("Put on"))
    assert put_on[0][0] == "plate on frame, motor (hand-tight until it is set)."


def test_the_card_tells_what_goes_under_the_screws_and_where_pulleys_sit() -> None:
    """Without its spacers a motor's screws bottom; without the figure no pulley can be set before the belt is on."""
    layout = lay_out(load(SPECS / "seed-grader.yaml"))
    told = dict(sections(layout, operations_of(layout)))
    assert any(line.startswith("motor: ") and line.endswith("4 spacers 4 mm") for line, _ in told["Screws"])
    assert ("guard: 4 × M6, its cover 4 × M6, snug: they hold sheet", True) in told["Screws"]
    plasma = lay_out(loads((SPECS / "seed-grader.yaml").read_text("utf-8").replace("laser", "plasma"), "grader.yaml"))
    ears = [line for line, _ in dict(sections(plasma, operations_of(plasma)))["Holes"] if "guard.ear" in line]
    assert [line for line in ears if not line.startswith("Check")] == ["guard.ear 1 to guard.ear 4: 4 × Ø6.6, drill"]
    # the driven pulley's span is [2, 20] off the frame's face, on the far side; the driver is in line
    (driver,) = (line for line, _ in told["Set on the shafts"] if line.startswith("drive.driver"))
    assert driver == "drive.driver: its middle 11 mm off the plate's far face"


def test_the_card_of_a_job_in_inches_names_the_drill_as_it_is_stamped() -> None:
    text = (
        "platekit: 1\ntitle: Rack\nunits: in\nplate: {material: mild steel, thickness: 1/2 in}\n"
        "mounts: {part: {side: far, looking_at: face, pattern: {rectangle: {width: 8, height: 5, hole: 21/32 in}}, "
        "screws: {size: 1/2-13, into: nut, flange: 0.5, made: drill}}}\ncutting: {process: oxy-fuel}\n"
    )
    layout = lay_out(loads(text, "rack"))
    holes = dict(sections(layout, operations_of(layout)))["Holes"]
    assert "(drill 21/32 in)" in holes[0][0]


def test_a_card_that_is_full_says_where_the_rest_is() -> None:
    mounts = "".join(
        f"  part {k}: {{side: far, looking_at: face, pattern: {{points: [[{30 * k}, 0], [{30 * k}, 40]]}}, "
        "screws: {size: M6, into: part, depth: 20}}\n"
        for k in range(40)
    )
    text = (
        "platekit: 1\ntitle: Rack\nunits: mm\nplate: {material: mild steel, thickness: 8}\n"
        f"mounts:\n{mounts}cutting: {{process: laser}}\n"
    )
    words = pages(lay_out(loads(text, "rack")))[0]
    assert "More on the sheets behind." in words
    assert "Local codes decide." in words


@pytest.mark.parametrize("name", ["apple-mill", "bead-sorter", "wool-carder"])
def test_every_callout_of_the_drawing_has_a_leader(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    layout = lay_out(load(SPECS / f"{name}.yaml"))
    shown: list[Name] = []

    def written(pen: Pen, one: Name, size: float) -> None:
        shown.append(one)
        write_words(pen, one, size)

    monkeypatch.setattr(drawing, "write_words", written)
    sheet_bytes(layout, CLEAR)
    said = {callout.line for callout in drawing.callouts(layout, operations_of(layout))}
    callouts = [one for one in shown if any(line in said for line, _ in one.lines)]
    assert callouts
    short = [one.lines for one in callouts if one.leader is None or math.dist(*one.leader) < 1.0]
    assert not short


def test_no_leader_points_where_nothing_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a rectangle of holes no centre line is drawn, only of a bolt circle."""
    layout = lay_out(load(SPECS / "seed-grader.yaml"))
    shown: list[Name] = []
    monkeypatch.setattr(drawing, "write_words", lambda pen, one, size: shown.append(one))
    sheet_bytes(layout, CLEAR)
    sizes = {line: one.leader for one in shown for line, face in one.lines if face == "italic"}
    assert sizes["frame: holes 120 × 60"] is None


def test_edges_are_drawn_over_the_white_under_names(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    shape, box = Pen.shape, Pen.box

    def watched_shape(pen: Pen, *given: Any, **more: Any) -> None:
        done.append("edge" if WIDE in given else "other")
        shape(pen, *given, **more)

    def watched_box(pen: Pen, *given: Any, **more: Any) -> None:
        done.append("white" if more.get("fill") == 1.0 else "other")
        box(pen, *given, **more)

    monkeypatch.setattr(Pen, "shape", watched_shape)
    monkeypatch.setattr(Pen, "box", watched_box)
    sheet_bytes(lay_out(load(SPECS / "dough-mixer.yaml")), CLEAR)
    edges = [k for k, what in enumerate(done) if what == "edge"]
    assert len(edges) > 5
    assert "white" not in done[edges[0] : edges[-1]]
    assert "white" in done[: edges[0]]
