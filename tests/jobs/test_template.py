"""The template printed again: from readings typed in, from a stored printer, from both sides, by the command."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from platekit.checks import Verdict, check
from platekit.cli import Exit, app, main
from platekit.drawing.pdf.printer import Distortion, NominalBars, printer_of_spec, stored_printer
from platekit.errors import PaperError, PlatekitError, SpecError
from platekit.export.paper.template import nominal_bars, template_bytes
from platekit.jobs.template import PrintWanted, print_template
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from platekit.spec.models import MeasuredWords
from platekit.spec.printers import load_printer, measured_of_text, printer_path, printer_text

SPECS = Path(__file__).parents[2] / "specs"
SIX = "bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.2, falling=327.8"
TYPED = "{bottom: 271.3, top: 271.2, left: 184.4, right: 184.5, rising: 328.2, falling: 327.8}"
PLATE = """\
platekit: 1
title: Cheese press, new jack
units: {units}
plate: {{material: mild steel, thickness: 8 mm, outline: {{rectangle: {{width: 220 mm, height: 90 mm}}}}}}
mounts:
  jack:
    side: near
    looking_at: face
    pattern: {{points: [[-90 mm, -30 mm], [90 mm, -30 mm], [60 mm, 30 mm]]}}
    bolts: {{size: M8, into: part, depth: 20 mm}}
cutting: {{process: laser}}
paper: {{{paper}}}
"""


def press(paper: str = "size: a4", units: str = "mm") -> Layout:
    return lay_out(loads(PLATE.format(units=units, paper=paper), "press"))


def words(data: bytes) -> list[str]:
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)]


def test_a_printer_is_stored_beside_the_spec_and_read_back_the_same(tmp_path: Path) -> None:
    spec = tmp_path / "press.yaml"
    spec.write_text(PLATE.format(units="mm", paper="size: a4"), encoding="utf-8")
    layout = lay_out(load(spec))
    wanted = PrintWanted(measured=SIX, printer="bench")
    printed = print_template(layout, check(layout), tmp_path / "out", wanted)
    assert printed.written == (tmp_path / "out/press/press.template.pdf", tmp_path / "printers/bench.yaml")
    again = stored_printer(tmp_path / "printers/bench.yaml", "mm")
    assert printed.printer is not None
    assert again.name == printed.printer.name == "bench"
    assert again.portrait.across == pytest.approx(printed.printer.portrait.across, abs=1e-9)
    assert again.portrait.lean == pytest.approx(printed.printer.portrait.lean, abs=1e-9)
    spec.write_text(PLATE.format(units="mm", paper="size: a4, printer: bench"), encoding="utf-8")
    named = lay_out(load(spec))
    assert template_bytes(named, check(named)) == printed.written[0].read_bytes()
    assert all("only on the printer bench" in page for page in words(template_bytes(named, check(named)))[:-1])


def test_readings_in_the_spec_are_checked_in_their_place() -> None:
    printer = printer_of_spec(press(f"size: a4, measured: {TYPED}"))
    assert printer is not None
    assert printer.distortion(297, 210).across == pytest.approx(271.2 / 270.0, abs=1e-3)
    wrong = TYPED.replace("top: 271.2", "top: 300")
    with pytest.raises(SpecError, match=r"press:12:\d+  paper.measured.top: found 300 mm, and the other five make it"):
        printer_of_spec(press(f"size: a4, measured: {wrong}"))


def test_inches_are_read_and_spoken() -> None:
    """Letter bars in eighths of an inch: 10-1/8 by 7-5/8 in landscape; typed as fractions and as decimals."""
    layout = press("size: letter", "in")
    nominal = nominal_bars(layout, Verdict(()))
    assert (nominal.across / 25.4 * 8, nominal.along / 25.4 * 8) == pytest.approx(
        (round(nominal.across / 25.4 * 8), round(nominal.along / 25.4 * 8))
    )
    across, along = nominal.across / 25.4, nominal.along / 25.4
    rising = Distortion(1.005, 1.0, 0.0).length("rising", nominal) / 25.4
    typed = f"bottom={across * 1.005}, top={across * 1.005}, left={along}, right={along * 25.4} mm, "
    typed += f"rising={rising}, falling={rising} in"
    measured = measured_of_text(typed, "in")
    assert measured.bottom == pytest.approx(nominal.across * 1.005)
    assert measured.right == pytest.approx(nominal.along)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "found no bottom, no top, no left, no right, no rising, no falling; give all six"),
        ("bottom=1, top=2", "found no left, no right, no rising, no falling"),
        (SIX + ", top=3", "top: found it twice"),
        (SIX.replace("rising", "raising"), 'found "raising"; write rising'),
        (SIX.replace("bottom", "span"), 'found "span"; use bottom, top, left, right, rising, falling'),
        (SIX.replace("271.3", "ten"), 'bottom: found "ten"'),
        (SIX.replace("271.3", "-271.3"), "give a length above zero"),
        (SIX.replace("271.3", "nan"), "bottom: found "),
        (SIX.replace("271.3", "1e300"), "bottom: found "),
        ("271.3 271.2", "write each as name=length"),
    ],
)
def test_readings_that_cannot_be_read_are_told_in_a_sentence(typed: str, said: str) -> None:
    with pytest.raises(PaperError) as caught:
        measured_of_text(typed, "mm")
    assert said in str(caught.value)


@given(st.text(max_size=80))
def test_no_text_breaks_the_reading(text: str) -> None:
    with pytest.raises(PaperError) as caught:
        measured_of_text(text, "mm")
    assert "\n" not in str(caught.value)


@given(st.lists(st.floats(1.0, 5000.0), min_size=6, max_size=6), st.sampled_from(["mm", "in"]))
def test_a_written_printer_reads_back(tmp_path_factory: Any, lengths: list[float], unit: Any) -> None:
    names = ("bottom", "top", "left", "right", "rising", "falling")
    measured = MeasuredWords.model_validate(dict(zip(names, lengths, strict=True)))
    path = tmp_path_factory.mktemp("printers") / "one.yaml"
    path.write_text(printer_text(measured, (270.0, 185.0), unit), encoding="utf-8")
    read = load_printer(path).file
    for name in names:
        assert getattr(read.measured, name) == pytest.approx(getattr(measured, name), abs=3e-4)
    assert read.bars == pytest.approx((270.0, 185.0), abs=3e-4)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("printer: 1\nunits: mm\nbars: [270, 185]\n", "no `measured`"),
        ("just words\n", "instead of a printer"),
        ("printer: 2\nunits: mm\nbars: [270, 185]\nmeasured: {}\n", "printer: found 2; use 1"),
        ("printer: 1\nunits: mm\nbars: [270]\nmeasured: {}\n", "a list of 1"),
        ("printer: 1\nunits: furlong\nbars: [270, 185]\nmeasured: {}\n", 'found "furlong"; use'),
        ("printer: 1\nunits: mm\nbars: [270, 185]\nmeasured: {buttom: 3}\n", "write `bottom`"),
        ("printer: 1\nunits: mm\nbars: [270, 185]\nmeasured: 7\n", "give keys below it"),
        ("printer: 1\nunits: mm\nbars: [270, 185\n", ""),
        (f"printer: 1\nunits: mm\nbars: [27, 18]\nmeasured: {TYPED}\n", "readings 10"),
        ("# " + "x" * 300_000 + "\n", "more than 200 kB"),
        ("", "an empty file; start it with keys, as `printer: 1` on the first line"),
    ],
)
def test_a_bad_printer_file_is_told_with_its_name(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PlatekitError) as caught:
        stored_printer(path, "mm")
    assert said in str(caught.value)
    assert "odd.yaml" in str(caught.value)


def test_a_printer_that_is_not_there_is_told(tmp_path: Path) -> None:
    spec = tmp_path / "press.yaml"
    spec.write_text(PLATE.format(units="mm", paper="size: a4, printer: attic"), encoding="utf-8")
    layout = lay_out(load(spec))
    assert printer_path("attic", spec) == tmp_path / "printers" / "attic.yaml"
    with pytest.raises(PlatekitError, match=r"attic.yaml: found no such file; check the name"):
        template_bytes(layout, check(layout))
    assert template_bytes(layout, check(layout), corrected=False).startswith(b"%PDF")


def test_a_spec_names_one_printer_only_and_a_single_sheet_says_its_bars() -> None:
    with pytest.raises(SpecError, match="both `printer` and `measured`"):
        press(f"size: a4, printer: bench, measured: {TYPED}")
    with pytest.raises(SpecError, match="add `bars`, what the bars on it say"):
        press(f"size: single, measured: {TYPED}")
    bars = TYPED.replace("}", ", bars: [270, 185]}")
    assert printer_of_spec(press(f"size: single, measured: {bars}")) is not None


def test_both_sides_are_printed_each_with_its_own_words() -> None:
    layout = press()
    data = template_bytes(layout, Verdict(()), both_sides=True)
    near, far, checking = words(data)
    assert "NEAR SIDE facing you" in near
    assert "FAR SIDE facing you" in far
    assert "left and right are exchanged" in far
    assert "sheet 1 of 1" in near
    assert "sheet 1 of 1" in far
    assert "checking page" in checking
    turned = words(template_bytes(layout, Verdict(()), "far", both_sides=True))
    assert ["FAR SIDE" in turned[0], "NEAR SIDE" in turned[1]] == [True, True]


def test_correcting_moves_nothing_on_the_paper() -> None:
    """The words for a corrected sheet are others, but the drawing stands where it stood."""
    layout = press()
    corrected = press(f"size: a4, measured: {TYPED}")
    assert nominal_bars(layout, Verdict(())) == nominal_bars(corrected, Verdict(())) == NominalBars(270.0, 185.0)
    assert layout.spec.revision == corrected.spec.revision


def test_the_command_prints_tells_and_stores(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copy(SPECS / "bead-sorter.yaml", tmp_path)
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke
    plain = run(app, ["template", "bead-sorter.yaml"])
    assert plain.exit_code == Exit.CLEAR
    assert "bead-sorter.template.pdf" in plain.stdout
    six = "bottom=256.2, top=256.3, left=189.2, right=189.2, rising=318.4, falling=318.5"
    stored = run(app, ["template", "bead-sorter.yaml", "--measured", six, "--printer", "shed"])
    assert stored.exit_code == Exit.CLEAR
    assert "Across an upright sheet it prints 0.4" in stored.stdout
    assert (tmp_path / "printers/shed.yaml").exists()
    again = run(app, ["template", "bead-sorter.yaml", "--printer", "shed", "--both-sides", "--json"])
    told = json.loads(again.stdout)
    assert told["verdict"] == "clear"
    assert told["printer"]["name"] == "shed"
    assert told["printer"]["portrait_scale_along"] == pytest.approx(256.25 / 255, abs=5e-4)
    assert len(pdfium.PdfDocument(tmp_path / "output/bead-sorter/bead-sorter.template.pdf")) == 4


def test_a_stopped_plate_is_printed_with_its_stamp_and_exit_code(tmp_path: Path) -> None:
    spec = str(SPECS / "wrong-on-purpose.yaml")
    done = CliRunner().invoke(app, ["template", spec, "--out", str(tmp_path)])
    assert done.exit_code == Exit.STOP
    assert "NOT FOR CUTTING" in done.stdout


@pytest.mark.parametrize("name", ["a/b", "..", "", "c:d"])
def test_a_printer_gets_no_name_that_leads_elsewhere(name: str, capsys: Any, monkeypatch: Any, tmp_path: Path) -> None:
    spec = str(SPECS / "bead-sorter.yaml")
    arguments = ["platekit", "template", spec, "--printer", name, "--out", str(tmp_path)]
    monkeypatch.setattr("sys.argv", arguments)
    with pytest.raises(SystemExit) as caught:
        main()
    assert caught.value.code == Exit.UNUSABLE
    assert "the printer's name: found" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("paper", "line"),
    [("", "    paper: {printer: bench}"), ("paper: {size: a4}\n", "    printer: bench")],
)
def test_a_stored_printer_says_the_line_that_makes_it_last(tmp_path: Path, paper: str, line: str) -> None:
    spec = tmp_path / "press.yaml"
    spec.write_text(PLATE.format(units="mm", paper="").replace("paper: {}\n", paper), encoding="utf-8")
    layout = lay_out(load(spec))
    said = print_template(layout, check(layout), tmp_path / "out", PrintWanted(measured=SIX, printer="bench")).text(
        check(layout)
    )
    assert line in said.splitlines()
    text = spec.read_text(encoding="utf-8")
    spec.write_text(
        text.replace("{size: a4}", "{size: a4, printer: bench}") if paper else text + line.strip() + "\n",
        encoding="utf-8",
    )
    named = lay_out(load(spec))
    later = print_template(named, check(named), tmp_path / "out", PrintWanted())
    assert later.printer is not None
    assert later.printer.name == "bench"
    assert "unless you" not in later.text(check(named))
