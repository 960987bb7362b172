"""The picture and the 1:1 page of two states, and which files of the old one are void."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from typer.testing import CliRunner

from platekit.analysis.compare import Comparison, compare
from platekit.checks import Verdict
from platekit.cli import app
from platekit.export.marks import mark_of
from platekit.export.outdated import outdated_files
from platekit.export.picture.overlay import LONGEST, magnification, overlay_pdf, overlay_svg
from platekit.export.publishing import FilesWanted, publish
from platekit.export.text.difference import difference_figures, difference_text, way_words
from platekit.jobs.compare import write_overlay
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

ALL_FORMS = FilesWanted(forms=("r2000", "r12", "plain"), solid=True)
SPECS = Path(__file__).parents[3] / "specs"
CLEAR = Verdict(())


def changed(layout: Layout, *swaps: tuple[str, str]) -> Layout:
    text = layout.spec.text
    for old, new in swaps:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return lay_out(loads(text, layout.spec.name))


SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def moved(winder: Layout) -> Comparison:
    new = changed(winder, ("at: [105, -10]", "at: [105.4, -10]"), ("diameter: 22", "diameter: 26"))
    return compare(winder, new)


def test_moves_in_words_have_a_side_and_no_compass() -> None:
    assert way_words((-1.25, 0.0), "mm") == "1.25 mm to the left"
    assert way_words((25.4, -12.7), "in") == "1 in to the right and 0.5 in down"
    assert way_words((0.001, 0.0), "mm") == "less than 0.01 mm"


def test_text_and_figures_tell_both(moved: Comparison) -> None:
    said = difference_text(moved, (), ())
    assert "mount motor: moved 0.4 mm: 0.4 mm to the right" in said
    assert re.search(r"cable +now Ø26, was Ø22", said)
    figures = json.loads(json.dumps(difference_figures(moved, (), ())))
    motor = next(opening for opening in figures["openings"] if opening["name"] == "motor.1")
    assert (motor["dx_mm"], motor["dy_mm"]) == (0.4, 0.0)
    assert figures["old"]["revision"] != figures["new"]["revision"]


def test_small_moves_are_drawn_longer_and_the_factor_is_said_once(moved: Comparison) -> None:
    picture = overlay_svg(moved)
    ElementTree.fromstring(picture)
    factors = re.findall(r"all ×(\d+): (\d+) times as long as the move", picture)
    assert len(factors) == 1
    assert factors[0][0] == factors[0][1]
    assert int(factors[0][0]) >= 10
    assert picture.count("×") == 1
    assert picture == overlay_svg(moved)


def test_of_two_arrows_the_longer_is_the_larger_move(winder: Layout) -> None:
    """The cable goes 2 mm, the motor 0.4 mm: arrows five times as long."""
    new = changed(winder, ("at: [105, -10]", "at: [105.4, -10]"), ("at: [-62, -42]", "at: [-60, -42]"))
    comparison = compare(winder, new)
    lengths = {round(pair.distance, 6) for pair in comparison.pairs if pair.moved}
    assert lengths == {0.4, 2.0}
    root = ElementTree.fromstring(overlay_svg(comparison))
    tails = [(float(e.get("cx", 0)), float(e.get("cy", 0))) for e in root.iter(f"{SVG}circle") if e.get("r") == "2.6"]
    tips = [tuple(map(float, e.get("points", "").split()[0].split(","))) for e in root.iter(f"{SVG}polygon")]
    drawn = [math.dist(tail, tip) for tail, tip in zip(tails, tips, strict=True)][:-1]  # the last is the legend's
    assert max(drawn) / min(drawn) == pytest.approx(5.0, rel=0.03)


@pytest.mark.parametrize("lengths", [[0.001], [0.3, 7.0], [26.0], [300.0, 0.2]])
def test_the_factor_is_the_largest_round_one_that_keeps_the_longest_on_the_sheet(lengths: list[float]) -> None:
    factor = magnification(lengths, LONGEST)
    assert factor == 1 or str(factor).strip("0") in {"1", "2", "5"}
    assert factor == 1 or factor * max(lengths) <= LONGEST
    assert factor == 1_000_000 or 2.5 * factor * max(lengths) > LONGEST


def test_the_page_is_true_to_size(winder: Layout) -> None:
    import pypdfium2

    layout = lay_out(loads(winder.spec.text + "paper: {size: single}\n", "winder"))
    page = pypdfium2.PdfDocument(overlay_pdf(compare(layout, layout)))[0]
    dpi = 300
    grey = np.asarray(page.render(scale=dpi / 72, grayscale=True).to_numpy())
    per_mm = dpi / 25.4
    inner = grey[int(16 * per_mm) : -int(42 * per_mm), int(16 * per_mm) : -int(16 * per_mm)]
    columns = np.flatnonzero((inner < 128).any(axis=0))
    assert (columns[-1] - columns[0]) / per_mm == pytest.approx(layout.outline.box.width + 0.5, abs=0.2)


def test_every_file_carries_the_mark(winder: Layout, tmp_path: Path) -> None:
    published = publish(winder, CLEAR, tmp_path, ALL_FORMS)
    marks = {path.name: mark_of(path) for path in published.written}
    assert set(marks.values()) == {winder.spec.revision}, marks
    assert len(marks) >= 9


def test_what_stands_beside_the_plate_carries_a_mark_too_and_is_not_void_while_current(tmp_path: Path) -> None:
    """Guard, belt drive, survey: each as new as the spec."""
    for name in ("dough-mixer", "pug-mill"):
        layout = lay_out(load(SPECS / f"{name}.yaml"))
        published = publish(layout, CLEAR, tmp_path, FilesWanted(solid=False))
        assert None not in {mark_of(path) for path in published.written}
        assert outdated_files(compare(layout, layout), tmp_path) == ()
        other = changed(layout, ("thickness: ", "thickness: 1"))
        void = {file.path for file in outdated_files(compare(layout, other), tmp_path) if file.void}
        assert any(path.suffix == ".dxf" for path in void)


def test_old_files_are_void_new_ones_are_not(moved: Comparison, tmp_path: Path) -> None:
    publish(moved.old, CLEAR, tmp_path, FilesWanted(solid=False))
    found = outdated_files(moved, tmp_path)
    assert {file.path.suffix for file in found} >= {".dxf", ".pdf", ".svg", ".html", ".csv", ".json"}
    assert all(file.void for file in found)
    publish(moved.new, CLEAR, tmp_path, FilesWanted(solid=False))
    assert outdated_files(moved, tmp_path) == ()


def test_thickness_leaves_the_paper_good_and_voids_the_cut_file(winder: Layout, tmp_path: Path) -> None:
    comparison = compare(winder, changed(winder, ("thickness: 8", "thickness: 8.5")))
    publish(winder, CLEAR, tmp_path, FilesWanted(solid=False))
    void = {file.path.name.removeprefix("winder."): file.void for file in outdated_files(comparison, tmp_path)}
    assert void["template.pdf"] is False
    assert void["cut.dxf"] is True


def test_the_command_says_it_all_and_writes_both_files(winder: Layout, tmp_path: Path) -> None:
    old, new = tmp_path / "winder.yaml", tmp_path / "later.yaml"
    old.write_text(winder.spec.text, "utf-8")
    new.write_text(winder.spec.text.replace("at: [105, -10]", "at: [104, -9]"), "utf-8")
    out = tmp_path / "out"
    done = CliRunner().invoke(app, ["compare", str(old), str(new), "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert "moved 1.41 mm: 1 mm to the left and 1 mm up" in done.output
    assert (out / "later" / "later.compare.svg").is_file()
    assert (out / "later" / "later.compare.pdf").read_bytes().startswith(b"%PDF")
    done = CliRunner().invoke(app, ["compare", str(old), str(new), "--out", str(out), "--json"])
    assert json.loads(done.output)["mounts"][0]["dx_mm"] == -1.0


def test_less_than_a_hundredth_is_no_move_and_gets_no_overlay(winder: Layout, tmp_path: Path) -> None:
    still, moved = (
        compare(winder, changed(winder, ("at: [105, -10]", f"at: [105, {y}]"))) for y in ("-10.004", "-10.02")
    )
    assert write_overlay(still, tmp_path) == ()
    assert "no hole moved by 0.01 mm or more" in difference_text(still, (), ())
    assert "no overlay was written" in difference_text(still, (), ())
    assert not still.changes
    assert moved.changes
    assert all(pair.distance == pytest.approx(0.02, abs=1e-6) for pair in moved.changes)
    assert len(write_overlay(moved, tmp_path)) == 2


def test_a_ring_that_differs_is_told_drawn_and_void(tmp_path: Path) -> None:
    old = lay_out(load(SPECS / "bean-drum.yaml"))
    thick = compare(old, changed(old, ("      thickness: 8\n", "      thickness: 10\n")))
    assert [(one.part, one.thickness) for one in thick.parts] == [("layer-ring", (8.0, 10.0))]
    assert thick.same_steel
    assert not thick.same_plate
    said = difference_text(thick, (), ())
    assert "layer-ring: now 10 mm thick, was 8 mm" in said
    assert "the plate is the same; cut beside it anew: layer-ring" in said
    wide = compare(old, changed(old, ("diameter: 252", "diameter: 262")))
    (ring,) = wide.parts
    assert ring.outside
    assert ring.openings == 6
    svg = overlay_svg(wide)
    assert "layer-ring" in svg
    # the ring is drawn as it is, and dashed as it was: its outline and all its openings
    assert svg.count("stroke-dasharray") > overlay_svg(thick).count("stroke-dasharray") + 6
    assert compare(old, old).same_plate


def test_a_lug_that_moved_is_elsewhere() -> None:
    from tests.laying.test_bases import jacked, laid

    jack = "{size: M10, at: [98, -44], height: 30, block: 10}"
    one, other = laid(jacked(jack)), laid(jacked(jack.replace("-44", "-30")))
    moved = compare(one, other)
    assert moved.bars == ("motor.jack lug",)
    assert not moved.same_paper
    assert "motor.jack lug: elsewhere on the plate" in difference_text(moved, (), ())
