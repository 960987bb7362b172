"""Everything that leaves the program carries the cautions: pictures, papers, files, lists, terminal, JSON."""

from __future__ import annotations

import json
import re
from pathlib import Path

import ezdxf
import pypdfium2 as pdfium
import pytest

from platekit.drawing.cautions import AT_THE_TABLE, CAUTIONS, ONE_LINE, SHORT, TO_DO, TWO_LINES
from tests.terminal import Terminal

KEY = ("lock", "guard", "electrician", "local codes")
"""What any form of the cautions has to say, however short."""
COPIES = "sheet: [1500, 1500], copies: 2, margin: 8}"


def words_of(path: Path) -> str:
    """Whatever a file says in words, in small letters, one space between two words."""
    data = path.read_bytes()
    if path.suffix == ".pdf":
        pages = [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(data)]
        text = " ".join(pages)
    elif path.suffix == ".dxf":
        text = ezdxf.readfile(path).ezdxf_metadata()["CAUTIONS"]
    else:
        text = re.sub(r"<[^>]*>|'\s*,\s*'", " ", data.decode())
    return " ".join(text.split()).lower()


@pytest.fixture
def folder(terminal: Terminal, tmp_path: Path) -> Path:
    """All files that commands write of one plate, its copies, its other state, and a coupon."""
    spec = Path("specs/dough-mixer.yaml").read_text()
    plate, moved = Path("mixer.yaml"), Path("moved/mixer.yaml")
    assert "sheet: [1000, 500]}" in spec
    plate.write_text(spec.replace("sheet: [1000, 500]}", COPIES))
    moved.parent.mkdir()
    moved.write_text(plate.read_text().replace("thickness: 10", "thickness: 12", 1).replace("[0, 0]", "[0, 1]", 1))
    terminal("make", plate, "--kerf", "--dxf", "r2000", "--dxf", "r12", "--dxf", "plain")
    terminal("drive", plate)
    terminal("place", plate, "--mount", "motor", "--count", "1")
    terminal("compare", plate, moved)
    terminal("coupon", "--out", "output/mixer")
    return Path("output/mixer")


def test_every_file_carries_them(folder: Path) -> None:
    files = sorted(path for path in folder.iterdir() if path.suffix not in (".yaml",))
    endings = {path.name.partition(".")[2] for path in files}
    assert endings >= {
        *("svg", "drive.svg", "places.svg", "copies.svg", "compare.svg", "compare.pdf", "template.pdf", "sheet.pdf"),
        *("cut.dxf", "cut.r12.mm.dxf", "cut.plain.mm.dxf", "kerf.dxf", "step", "holes.csv", "json", "report.html"),
        *("copies.cut.dxf", "copies.kerf.dxf", "form.pdf"),
    }
    for path in files:
        if path.name.endswith(".form.pdf"):
            said = words_of(path)
            assert AT_THE_TABLE.lower() in said
            assert all(word in said for word in ("eye", "ear", "fume", "machine", "date", "by"))
        elif path.name.endswith("svg") and path.name.count(".") > 1:
            assert all(caution.lower() in words_of(path) for caution in CAUTIONS), path.name
        else:
            assert not [word for word in KEY if word not in words_of(path)], path.name
        if path.suffix == ".svg":
            assert re.search(r">[^<]*revision [0-9a-f]{8}", path.read_text()), path.name


@pytest.mark.parametrize(
    "words",
    [
        ("check", "specs/dough-mixer.yaml"),
        ("check", "specs/wrong-on-purpose.yaml"),
        ("make", "specs/dough-mixer.yaml", "--no-solid"),
        ("drive", "specs/dough-mixer.yaml"),
        ("drive", "specs/dough-mixer.yaml", "--choose", "--section", "A"),
        ("template", "specs/dough-mixer.yaml"),
        ("coupon",),
    ],
)
def test_the_terminal_says_them_in_two_lines(terminal: Terminal, words: tuple[str, ...]) -> None:
    lines = terminal(*words).out.splitlines()
    first = lines.index(TWO_LINES[0])
    assert lines[first + 1] == TWO_LINES[1]
    assert len(TWO_LINES) == 2
    assert max(map(len, TWO_LINES)) <= 100


@pytest.mark.parametrize(
    "words",
    [
        ("check", "specs/dough-mixer.yaml"),
        ("make", "specs/dough-mixer.yaml", "--no-solid"),
        ("drive", "specs/dough-mixer.yaml"),
        ("drive", "specs/dough-mixer.yaml", "--choose", "--section", "A"),
        ("template", "specs/dough-mixer.yaml"),
        ("place", "specs/dough-mixer.yaml", "--mount", "motor", "--count", "1"),
        ("compare", "specs/dough-mixer.yaml", "specs/apple-mill.yaml"),
        ("survey", "specs/pug-mill.yaml"),
        ("strength", "specs/wool-carder.yaml"),
    ],
)
def test_json_has_them_as_a_key(terminal: Terminal, words: tuple[str, ...]) -> None:
    assert json.loads(terminal(*words, "--json").out)["cautions"] == list(CAUTIONS)


def test_short_forms_say_the_same() -> None:
    for form in (SHORT, " ".join(TWO_LINES), ONE_LINE):
        assert not [word for word in KEY if word not in form.lower()]
    # the sheet has a box to tick for what is to be done, and for nothing else
    assert all(re.match(r"(Lock|Guards go|Have|Check|Wear) ", caution) for caution in TO_DO)
