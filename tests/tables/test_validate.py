from __future__ import annotations

from pathlib import Path

import pytest

from platekit.tables import counts_by_file, counts_by_kind, validate, validate_all
from platekit.tables.rows import data_files, parse, read
from platekit.tables.validate import FILE_CHECKS


def test_no_table_gives_cause_for_complaint() -> None:
    assert validate_all() == []


@pytest.mark.parametrize("file", data_files())
def test_every_file_has_rules_of_its_own_and_a_head(file: str) -> None:
    assert file in FILE_CHECKS
    assert read(file)


def test_no_rules_without_a_file() -> None:
    assert set(FILE_CHECKS) == set(data_files())


# each sort of slip is seen: a row of a real table, one figure changed
SLIPS = [
    ("iso_273_clearance.csv", "M8,8.4,9.0,10.0", "M8,8.4,90,10.0"),
    ("iso_273_clearance.csv", "M8,8.4,9.0,10.0", "M10,8.4,9.0,10.0"),
    ("iso_273_clearance.csv", "M8,8.4,9.0,10.0", "M9,8.4,9.0,10.0"),
    ("asme_b18_2_8_clearance.csv", "3/8,25/64,13/32,27/64", "3/8,25/64,27/64,13/32"),
    ("asme_b1_1_thread.csv", "3/8-16,UNC,3/8,3/8,16,5/16,0.0775", "3/8-16,UNC,3/8,3/8,16,5/16,0.775"),
    ("iso_261_thread.csv", "M8,coarse,8,1.25,6.8,36.6", "M8,coarse,8,1.25,6.8,38.6"),
    ("iec_60072_1_flange.csv", "FF165,165,130", "FF165,165,165"),
    ("iec_60072_1_flange.csv", "FF165,165,130", "FF165,156,130"),
    ("iec_60072_1_flange.csv", "FT115,115,95,j6,140,3,4,,,M8", "FT115,115,95,j6,140,3,4,9,9,"),
    ("iec_60072_1_foot.csv", "90S,90,140", "90S,80,140"),
    ("nema_mg1_foot.csv", "145T,3.50,5.50", "145T,3.75,5.50"),
    ("iec_frame_flange.csv", "FF165,FT115,FT130", "FF165,FT116,FT130"),
    ("iec_frame_flange.csv", "FF165,FT115,FT130", "FF165,FT130,FT115"),
    ("iso_3019_1_pump.csv", "A,82-2,3.250", "A,82-2,3.350"),
    ("iso_286_grades.csv", "18,30,9,13,21", "18,30,9,31,21"),
    ("iso_286_deviations.csv", "18,30,", "18,31,"),
    ("iso_898_1_property_class.csv", "8.8,0,16,580,640,800", "8.8,0,16,680,640,800"),
    ("sheet_gauge.csv", "steel,16,0.0598", "steel,16,0.5980"),
    ("material.csv", ",7850,210000,235,", ",785,210000,235000,"),
    ("drill_letter.csv", "F,0.257", "F,0.277"),
    ("stock_lengths.csv", "6;8;10;12", "6;10;8;12"),
    ("belts/stock.csv", "A,inside,in,26 31", "A,inside,in,31 26"),
    ("belts/masses.csv", "SPA,", "SQA,"),
    ("belts/tolerances.csv", "ribbed,750,", "ribbed,570,"),
    ("belts/motor_pulleys.csv", "5,3.0", "5,2.0"),
    ("process_speeds.csv", "plasma,6,1050", "plasma,6,10500"),
    ("motor_power.csv", "0.75,", "7.5,"),
    ("drill_fraction.csv", "1/64,1-3/4,1/64", "1-3/4,1/64,1/64"),
]


@pytest.mark.parametrize(("file", "right", "wrong"), SLIPS)
def test_a_slip_is_seen(file: str, right: str, wrong: str) -> None:
    from importlib.resources import files

    text = files("platekit.tables.data").joinpath(file).read_text(encoding="utf-8")
    assert right in text
    rows = parse(file, text.replace(right, wrong, 1))
    assert [complaint for check in FILE_CHECKS[file] for complaint in check(rows)]


def test_a_point_that_slipped_is_seen() -> None:
    (row,) = parse("t.csv", "size_in,source,kind\n5875,handbook,published\n")
    (complaint,) = validate._row_complaints(row)
    assert "size_in is 5875, outside" in complaint


def test_blanks_and_doubts_about_nothing_are_seen() -> None:
    (row,) = parse("t.csv", "size_in,name,source,kind,doubted\n,a ,handbook,published,size_in\n")
    assert len(list(validate._row_complaints(row))) == 2


def test_rows_and_figures_are_counted_by_kind() -> None:
    counts = counts_by_kind()
    per_file = counts_by_file()
    assert sum(counts.rows.values()) == sum(len(read(file)) for file in data_files())
    assert sum(sum(file.rows.values()) for file in per_file.values()) == sum(counts.rows.values())
    assert sum(sum(file.figures.values()) for file in per_file.values()) == sum(counts.figures.values())
    assert counts.rows["published"] > 2 * counts.rows["from memory"]
    assert counts.figures["from memory"] >= counts.rows["from memory"]


def test_at_most_one_figure_in_twenty_is_from_memory() -> None:
    figures = counts_by_kind().figures
    assert figures["from memory"] <= 0.05 * sum(figures.values())


def test_what_is_from_memory_says_what_would_settle_it() -> None:
    for file in data_files():
        for row in read(file):
            if row.source.kind == "from memory" or row.source.doubted:
                assert "settle" in row.source.name, f"{file}:{row.line}"


def test_a_figure_whose_column_names_no_unit_is_seen() -> None:
    (row,) = parse("t.csv", "size_in,reach,source,kind\n5,12,handbook,published\n")
    (complaint,) = validate._row_complaints(row)
    assert "reach holds the figure 12 and names no unit" in complaint


def test_every_figure_of_a_list_is_looked_at_and_counted() -> None:
    (row,) = parse("t.csv", "values,unit,source,kind\n26 31 3x,in,handbook,published\n")
    assert len(list(validate._row_complaints(row))) == 1
    (row,) = parse("t.csv", "values,unit,source,kind\n26 31 33,furlong,handbook,published\n")
    (complaint,) = validate._row_complaints(row)
    assert "the unit of values is 'furlong'" in complaint


def test_all_tables_stand_in_one_folder() -> None:
    import platekit.tables
    from platekit.tables.rows import DATA

    everywhere = Path(platekit.tables.__file__).parent.rglob("*.csv")
    assert sorted(path.relative_to(DATA).as_posix() for path in everywhere) == list(data_files())
