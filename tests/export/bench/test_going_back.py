"""Going back: each label says where its piece belongs, and the steps run backwards to the machine as it was."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from platekit.analysis.assembly import way_back
from platekit.checks import check
from platekit.export.bench.going_back import going_back_bytes, labels_of, photos, steps_back
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from tests.checks.coupled import SOUND
from tests.export.text_boxes import overlaps, texts_of_pdf

SPECS = Path(__file__).parents[3] / "specs"
MILL = (SPECS / "apple-mill.yaml").read_text("utf-8")


@pytest.fixture(scope="module")
def mill() -> Layout:
    return lay_out(load(SPECS / "apple-mill.yaml"))


def test_labels_say_what_is_in_the_bag_and_where_it_belongs(mill: Layout) -> None:
    labels = {label.head: label.words for label in labels_of(mill)}
    assert "4 holes of bracket: A, B, C, D" in labels["Old screws and washers of bracket"]
    assert labels["Old motor"].startswith("Back onto bracket")
    assert {"Old belt", "Old pulley, key, set screws", "Old guard and its screws"} <= labels.keys()


def test_studs_that_stay_give_a_bag_of_nuts() -> None:
    text = MILL.replace("{size: M10, into: nut, flange: 15, washer: true}", "{size: M10, into: stud, stands: 30}")
    heads = [label.head for label in labels_of(lay_out(loads(text, "mill")))]
    assert "Old nuts and washers of bracket" in heads
    assert "Old screws and washers of bracket" not in heads


def test_every_page_and_every_label_carries_name_and_revision(mill: Layout) -> None:
    document = pypdfium2.PdfDocument(going_back_bytes(mill, check(mill)))
    pages = [document[k].get_textpage().get_text_range() for k in range(len(document))]
    mark = mill.spec.revision
    assert all(mark in page for page in pages)
    labels = [page for page in pages if "Labels for bags" in page]
    # one in the head, one on each label
    assert sum(page.count(mark) for page in labels) == len(labels) + len(tuple(labels_of(mill)))
    # labels are cut apart: nothing that is kept stands on their pages
    assert not [page for page in labels if "step by step" in page]


def test_the_way_back_takes_off_in_the_reverse_order_of_assembly(mill: Layout) -> None:
    steps = list(steps_back(mill, way_back(mill)))
    places = [
        next(k for k, step in enumerate(steps) if words in step)
        for words in (
            "Lock out",
            "cover of the guard",
            "take the belt off",
            "Take off the guard:",
            "Support motor",
            "unscrew it from bracket: 4 M10 screws",
            "the old motor onto bracket",
            "old guard on",
        )
    ]
    assert places == sorted(places)
    assert "it is as it was" in " ".join(steps)


def test_holes_that_were_drilled_are_told_as_lasting() -> None:
    text = MILL.replace("    original: true\n", "    original: true\n    new_holes: [A]\n")
    layout = lay_out(loads(text, "mill"))
    assert "were drilled into the old machine and stay: bracket.A" in " ".join(steps_back(layout, way_back(layout)))


def test_photos_name_what_stands_out_of_the_old_part(mill: Layout) -> None:
    told = " ".join(photos(mill))
    assert "bracket.A, bracket.B, bracket.C, bracket.D" in told
    assert "hopper leg" in told


def test_no_words_lie_on_words_and_bytes_repeat(mill: Layout) -> None:
    long = lay_out(loads(MILL.replace("bracket", "bracket of the very old apple mill in the barn behind"), "mill"))
    for layout in (mill, long):
        verdict = check(layout)
        data = going_back_bytes(layout, verdict)
        assert data == going_back_bytes(layout, verdict)
        for number, page in enumerate(texts_of_pdf(data), start=1):
            assert not overlaps(page), f"page {number}"


def test_a_coupled_machine_gets_no_belt_back() -> None:
    layout = lay_out(loads(SOUND, "pump.yaml"))
    told = [*photos(layout), *steps_back(layout, way_back(layout)), *(f"{o.head} {o.words}" for o in labels_of(layout))]
    assert not [line for line in told if "belt" in line.lower() or "pulley" in line.lower()]
    assert any(line.startswith("Old coupling") for line in told)


def test_labels_reach_from_margin_to_margin(mill: Layout) -> None:
    page = next(
        texts
        for texts in texts_of_pdf(going_back_bytes(mill, check(mill)))
        if any("Labels for bags" in one.words for one in texts)
    )
    status = max(one.box.x1 for one in page if one.words.startswith("CLEAR"))
    right = max(one.box.x1 for one in page if "keep: old machine" in one.words)
    # the words stand 3 mm within the label's edge
    assert status - right == pytest.approx(3.0 * 72 / 25.4, abs=1.0)
