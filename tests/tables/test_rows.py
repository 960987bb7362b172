from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.tables import rows
from platekit.tables.rows import TableError, parse, plain_number

HEAD = "# a table; unit of authority: inch\nname,size_in,kind,source,doubted\n"


def test_a_length_is_converted_on_reading() -> None:
    (row,) = parse("t.csv", HEAD + "a,1-1/2,published,handbook,\n")
    assert row.length("size") == pytest.approx(38.1)
    assert row.cells["size_in"] == "1-1/2"


def test_a_row_without_a_source_cannot_be_loaded() -> None:
    with pytest.raises(TableError, match=r"t\.csv:4: no source"):
        parse("t.csv", HEAD + "a,1,published,handbook,\nb,2,published,,\n")


@pytest.mark.parametrize("kind", ["", "certain", "given", "Published"])
def test_a_row_without_a_known_kind_cannot_be_loaded(kind: str) -> None:
    with pytest.raises(TableError, match=r"t\.csv:3: kind is"):
        parse("t.csv", HEAD + f"a,1,{kind},handbook,\n")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no line of column names"),
        ("# only a head\n", "no line of column names"),
        ("name,kind\na,published\n", "no column 'source'"),
        ("name,source\na,b\n", "no column 'kind'"),
        (HEAD + "a,1,published,handbook\n", "4 cells for 5 columns"),
    ],
)
def test_a_broken_file_is_refused(text: str, message: str) -> None:
    with pytest.raises(TableError, match=message):
        parse("t.csv", text)


def test_a_cell_that_should_be_a_number() -> None:
    (row,) = parse("t.csv", HEAD + "a,wide,published,handbook,\n")
    with pytest.raises(TableError, match="no number"):
        row.length("size")
    with pytest.raises(TableError, match="no column"):
        row.length("width")
    with pytest.raises(TableError, match="no column"):
        row.text("colour")


def test_a_blank_length_is_none_and_can_be_demanded() -> None:
    (row,) = parse("t.csv", HEAD + "a,,published,handbook,\n")
    assert row.length("size") is None
    with pytest.raises(TableError, match="blank"):
        row.need("size")


def test_a_count_is_whole() -> None:
    (row,) = parse("t.csv", "n,source,kind\n4.5,a,published\n")
    with pytest.raises(TableError, match="no whole number"):
        row.count("n")


def test_rows_may_begin_with_a_number_sign_after_the_column_names() -> None:
    first, second = parse("t.csv", HEAD + "#4,0.112,published,handbook,\n\n#6,0.138,published,handbook,\n")
    assert (first.text("name"), second.text("name"), second.line) == ("#4", "#6", 5)


def test_doubted_columns_belong_to_the_source() -> None:
    (row,) = parse("t.csv", HEAD + "a,1,published,handbook,size_in\n")
    assert row.source.doubted == ("size_in",)
    assert str(row.source) == "handbook (published; from memory: size)"


@given(whole=st.integers(0, 40), above=st.integers(1, 63), below=st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_are_read_as_printed(whole: int, above: int, below: int) -> None:
    text = f"{whole}-{above}/{below}" if whole else f"{above}/{below}"
    assert plain_number(text) == whole + above / below


@pytest.mark.parametrize(("text", "value"), [("0.406", 0.406), ("13/32", 0.40625), ("-0.003", -0.003), ("12", 12.0)])
def test_plain_numbers(text: str, value: float) -> None:
    assert plain_number(text) == value


def test_only_the_files_asked_for_are_read() -> None:
    code = (
        "from platekit.tables import mount, rows\n"
        "seen = []\n"
        "real = rows.parse\n"
        "rows.parse = lambda file, text: (seen.append(file), real(file, text))[1]\n"
        "mount('NEMA 56C')\n"
        "print(sorted(seen))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['nema_mg1_c_face.csv', 'nominal_bodies.csv']"


def test_looking_up_loads_no_heavy_library() -> None:
    code = (
        "import sys\n"
        "from platekit.tables import mount, screw\n"
        "mount('FF165'), screw('M8')\n"
        "heavy = ('numpy', 'pandas', 'pydantic', 'shapely', 'platekit.tables.validate')\n"
        "print([name for name in heavy if name in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_file_is_read_once() -> None:
    assert rows.read("material.csv") is rows.read("material.csv")
