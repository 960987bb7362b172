"""The list as a file: what a spreadsheet and a program read."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from platekit.checks import check
from platekit.export.data.parts_list import parts_bytes, parts_figures
from platekit.export.marks import mark_in
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load

SPECS = Path(__file__).parents[3] / "specs"


@pytest.fixture(scope="module")
def mill() -> Layout:
    return lay_out(load(SPECS / "apple-mill.yaml"))


def rows(layout: Layout) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(parts_bytes(layout, check(layout)).decode("utf-8"))))


def test_every_row_says_where_it_is_from(mill: Layout) -> None:
    assert {row["revision"] for row in rows(mill)} == {mill.spec.revision}
    assert mark_in(parts_bytes(mill, check(mill)), ".csv") == mill.spec.revision


def test_totals_are_the_sums_of_the_rows_above(mill: Layout) -> None:
    read = rows(mill)
    for total in (row for row in read if row["row"] == "total"):
        own = [
            row for row in read if row["row"] == "piece" and (row["part"], row["get"]) == (total["part"], total["get"])
        ]
        assert sum(int(row["count"]) for row in own) == int(total["count"])


def test_lengths_are_in_the_unit_that_their_heading_says() -> None:
    layout = lay_out(load(SPECS / "press-pump.yaml"))
    plate = next(row for row in rows(layout) if row["kind"] == "sheet")
    assert plate["thickness_in"] == "0.75"  # the spec's own 3/4 in
    screw = next(row for row in rows(layout) if row["part"] == "bracket" and row["kind"] == "screw")
    assert (screw["length_in"], screw["words"]) == ("2", "screw 1/2-13 × 2 in, hex, grade 5")


def test_a_program_reads_the_same_list(mill: Layout) -> None:
    lines = parts_figures(mill)["lines"]
    assert isinstance(lines, list)
    belt = next(line for line in lines if isinstance(line, dict) and line["kind"] == "belt")
    assert belt["words"] == "belt SPZ862, 862 mm pitch length"
    assert belt["for"] == [{"part": "drive", "count": 1}]
