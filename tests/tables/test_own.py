"""A shop's own tables: the same look-up, the same rules, and mistakes at their line and column."""

from __future__ import annotations

import os
import textwrap
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import platekit
from platekit import tables
from platekit.errors import LookupFailed, PlatekitError, SpecError
from platekit.jobs.tables import MeasuredPart
from platekit.jobs.tables import tables as tables_job
from platekit.tables import belts
from platekit.tables.own import FILES, TableForm, read_folder
from platekit.tables.rows import OWN_KEYS, built_in, use_own

MOUNTS = """\
# our own
name,bolt_circle_mm,holes,start_deg,screw,thread_depth_mm,pilot_mm,pilot_kind,pilot_depth_mm,shaft_mm,shaft_length_mm,body_mm,body_length_mm,source,kind
shed gearmotor,85,4,45,M6,14,70,spigot,3,14,30,110,180,"measured on the part, 2026-05-02",common practice
"""
CUTS = (
    "process,family,cuts,thinnest_mm,usual_mm,most_mm,why,source,kind\nplasma,steel,yes,1,20,40,,our list,published\n"
)
KERF = "process,quantity,per_thickness,per_kerf,plus,least,unit,kind,source\nplasma,kerf,0,0,0,1.4,mm,published,cut\n"
PULLEYS = "section,of,unit,values,material,source,kind\nA,pitch,mm,80 90,steel,our list,published\n"
STEEL = """\
name,family,density_kg_m3,modulus_n_mm2,yield_n_mm2,poisson,source,kind
tread plate,steel,7850,210000,250,0.3,"the merchant's certificate, 2026",published
mild steel,steel,7850,210000,260,0.3,"certificate of the sheets on our rack, 2026",published
"""
STOCK = 'section,of,unit,values,source,kind\nA,pitch,mm,777 888,"on our shelf, 2026",common practice\n'
POWER = """\
section,small_mm,unit,speeds,powers,source,kind
PJ,40,kW,500 1500 3000,0.03 0.08 0.15,"our dealer's sheet, 2025",published
PJ,80,kW,500 1500 3000,0.08 0.21 0.38,"our dealer's sheet, 2025",published
"""
SPEEDS = (
    'process,thickness_mm,speed_mm_min,pierce_s,source,kind\nplasma,10,1111,0.9,"our table, 2026",common practice\n'
)
SPEC = textwrap.dedent(
    """\
    platekit: 1
    title: A shed's gearmotor
    units: mm
    tables: ours
    plate: {material: tread plate, thickness: 10, outline: {rectangle: {width: 200, height: 200, corner: 5}}}
    mounts:
      motor:
        side: near
        looking_at: face
        pattern: {standard: Shed Gearmotor}
        bolts: {into: part, depth: 14, washer: true}
    cutting: {process: laser, kerf: 0.3}
    """
)


@pytest.fixture(autouse=True)
def _ours_afterwards() -> object:
    yield
    use_own({})


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    ours = tmp_path / "ours"
    (ours / "belts").mkdir(parents=True)
    for name, text in {
        "mounts.csv": MOUNTS,
        "material.csv": STEEL,
        "belts/stock.csv": STOCK,
        "belts/power_tables.csv": POWER,
        "process_speeds.csv": SPEEDS,
    }.items():
        (ours / name).write_text(text, "utf-8")
    (tmp_path / "plate.yaml").write_text(SPEC, "utf-8")
    return tmp_path


def test_parts_and_steels_are_looked_up_like_ours(shop: Path) -> None:
    layout = platekit.lay_out(platekit.load(shop / "plate.yaml"))
    assert layout.material.yield_strength == 250
    assert "your table material.csv:2" in layout.material.source.name
    motor = layout.mounts["motor"]
    assert motor.pilot == 70
    assert len([one for one in layout.openings if one.mount == "motor" and one.role == "screw"]) == 4
    assert {"motor.shaft", "motor.body"} <= {body.name for body in layout.bodies}
    assert platekit.check(layout).findings


def test_a_row_of_theirs_takes_the_place_of_ours_and_leaves_again(shop: Path) -> None:
    assert tables.material("mild steel").yield_strength == 235
    use_own(read_folder(shop / "ours").rows)
    assert tables.material("mild steel").yield_strength == 260
    assert 777 in [round(size.pitch_length) for size in belts.stock("A")]
    rated = belts.power_table("PJ")
    assert rated is not None
    assert rated.power_w(60, 1500) == pytest.approx(145)
    use_own({})
    assert tables.material("mild steel").yield_strength == 235
    assert belts.power_table("PJ") != rated
    with pytest.raises(LookupFailed):
        tables.mount("shed gearmotor")


def test_the_order_of_a_tables_rows_changes_nothing(shop: Path) -> None:
    head, *rows = POWER.splitlines(keepends=True)
    (shop / "ours/belts/power_tables.csv").write_text(head + "".join(reversed(rows)), "utf-8")
    use_own(read_folder(shop / "ours").rows)
    rated = belts.power_table("PJ")
    use_own({})
    assert rated is not None
    assert (rated.smalls, rated.power_w(60, 1500)) == ((40, 80), pytest.approx(145))


def test_two_shops_are_worked_for_in_two_threads_at_once(tmp_path: Path) -> None:
    """Each thread finds its own steel under the same name, whatever the other one has just looked up."""
    yields = {"north": 250, "south": 310}
    for name, strength in yields.items():
        folder = tmp_path / name / "ours"
        folder.mkdir(parents=True)
        (folder / "mounts.csv").write_text(MOUNTS.replace(",70,", f",{strength / 5:g},"), "utf-8")
        (folder / "material.csv").write_text(STEEL.replace(",250,", f",{strength},"), "utf-8")
        (tmp_path / name / "plate.yaml").write_text(SPEC, "utf-8")
    meet = threading.Barrier(2, timeout=60)

    def work(name: str) -> list[tuple[float, float, str]]:
        told = []
        for _ in range(4):
            meet.wait()
            layout = platekit.lay_out(platekit.load(tmp_path / name / "plate.yaml"))
            meet.wait()  # both have taken up their tables: what is looked up now must be one's own
            platekit.check(layout)
            steel, motor = tables.material("tread plate"), tables.mount("shed gearmotor")
            told.append((steel.yield_strength or 0.0, motor.pilot or 0.0, layout.material.source.name))
        return told

    with ThreadPoolExecutor(2) as pool:
        answers = dict(zip(yields, pool.map(work, yields), strict=True))
    for name, strength in yields.items():
        assert {one[:2] for one in answers[name]} == {(strength, strength / 5)}
        assert all("your table material.csv:2" in one[2] for one in answers[name])
    with pytest.raises(LookupFailed):
        tables.material("tread plate")  # neither is left behind in the thread that waited


def test_a_new_thread_begins_with_our_tables_only(shop: Path) -> None:
    use_own(read_folder(shop / "ours").rows)
    assert tables.material("mild steel").yield_strength == 260
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(lambda: tables.material("mild steel").yield_strength).result() == 235


def test_a_spec_without_tables_knows_none_after_one_with_them(shop: Path) -> None:
    with_theirs = platekit.load(shop / "plate.yaml")
    plain = SPEC.replace("tables: ours\n", "")
    with pytest.raises(SpecError, match="tread plate"):
        platekit.loads(plain)
    assert platekit.lay_out(with_theirs).material.name == "tread plate"  # taken up again


def test_the_mark_depends_on_the_rows_that_are_used_and_on_no_other(shop: Path) -> None:
    before = platekit.load(shop / "plate.yaml").revision
    (shop / "ours" / "belts" / "stock.csv").write_text(STOCK.replace("888", "999"), "utf-8")
    assert platekit.load(shop / "plate.yaml").revision == before
    (shop / "ours" / "mounts.csv").write_text(MOUNTS.replace("gearmotor,85", "gearmotor,86"), "utf-8")
    moved = platekit.load(shop / "plate.yaml").revision
    assert moved != before
    (shop / "ours" / "material.csv").write_text(STEEL.replace("7850,210000,250", "7850,210000,255"), "utf-8")
    assert platekit.load(shop / "plate.yaml").revision not in (before, moved)
    (shop / "ours").rename(shop / "elsewhere")
    (shop / "plate.yaml").write_text(SPEC.replace("ours", "elsewhere"), "utf-8")
    assert platekit.load(shop / "plate.yaml").revision != before  # same rows as just before, under another folder


def test_where_the_folder_lies_is_not_in_the_mark(shop: Path) -> None:
    before = platekit.load(shop / "plate.yaml").revision
    (shop / "ours").rename(shop / "elsewhere")
    (shop / "plate.yaml").write_text(SPEC.replace("tables: ours", "tables: elsewhere"), "utf-8")
    assert platekit.load(shop / "plate.yaml").revision == before


@pytest.mark.parametrize(
    ("name", "text", "place", "said"),
    [
        ("material.csv", STEEL.replace("7850,210000,250", "7.85,210000,250"), ":2:3", "400 to 9000"),
        ("material.csv", STEEL.replace("7850,210000,250", "heavy,210000,250"), ":2:3", "no number"),
        (
            "material.csv",
            STEEL.replace(",published", ",printed", 1),
            ":2:8",
            "published, common practice or from memory",
        ),
        ("material.csv", STEEL.replace('"the merchant\'s certificate, 2026"', "", 1), ":2:7", "who says so"),
        ("material.csv", STEEL.replace("yield_n_mm2", "yield"), ":1:5", "yield_n_mm2"),
        ("material.csv", STEEL.replace(",source", ""), ":1:8", "no column 'source'"),
        ("material.csv", STEEL.replace("tread plate,steel", "tread plate"), ":2:1", "7 cells for 8 columns"),
        ("material.csv", STEEL + STEEL.splitlines()[1] + "\n", ":1:1", "2 times"),
        ("steel.csv", STEEL, ":1:1", "call it"),
        ("mounts.csv", MOUNTS.replace("85,4", "85,"), ":3:3", "how many holes"),
        ("mounts.csv", MOUNTS.replace("M6", "M6.7"), ":3:5", "M6"),
        ("mounts.csv", MOUNTS.replace("85,4", "85;90,4"), ":3:2", "2 figures in one cell"),
        ("mounts.csv", MOUNTS.replace("85,4", "-5,4"), ":3:2", "above zero"),
        ("mounts.csv", MOUNTS.replace("85,4", "0,4"), ":3:2", "above zero"),
        ("mounts.csv", MOUNTS.replace(",", ";"), ":2:1", "semicolons between the cells"),
        ("material.csv", STEEL.replace(",250,", ",25000,"), ":2:5", "outside 10 to 1500"),
        ("mounts.csv", MOUNTS.replace("spigot", "boss"), ":3:8", "spigot or recess"),
        ("mounts.csv", MOUNTS.replace("shed gearmotor", "IEC 90 B5"), ":3:1", "a name of its own"),
        ("mounts.csv", MOUNTS.replace("M6", ""), ":3:1", "neither holes nor threads"),
        ("belts/stock.csv", STOCK.replace("A,pitch", "Q,pitch"), ":2:1", "no belt section"),
        ("belts/stock.csv", STOCK.replace("mm,777", "cm,777"), ":2:3", "write"),
        ("belts/power_tables.csv", POWER.replace("0.08 0.21 0.38", "0.08 0.21"), ":3:4", "not as many"),
        ("belts/power_tables.csv", POWER.replace("0.08 0.21 0.38", "0.08 0.05 0.38"), ":3:5", "less than on a smaller"),
        ("belts/power_tables.csv", POWER.replace("kW,500 1500", "kW,1500 500", 1), ":2:4", "do not rise"),
        ("belts/power_tables.csv", POWER.replace("kW,500 1500", "kg,500 1500", 1), ":2:3", "write hp or kW"),
        ("belts/stock.csv", STOCK.replace("A,pitch", "A,ptch"), ":2:2", "write pitch"),
        ("material.csv", STEEL.replace("tread plate,steel", "tread plate,stele"), ":2:2", "write steel"),
        ("process_materials.csv", CUTS.replace("yes", "maybe"), ":2:3", "write yes, poorly"),
        ("process_materials.csv", CUTS.replace("steel", "stell"), ":2:2", "write steel"),
        ("processes.csv", KERF.replace("plasma", "plazma"), ":2:1", "write plasma"),
        ("processes.csv", KERF.replace(",kerf", ",kurf"), ":2:2", "write kerf"),
        ("belts/pulleys.csv", PULLEYS.replace("steel", "cheese"), ":2:5", "cast iron"),
    ],
)
def test_a_bad_row_is_told_at_its_place(shop: Path, name: str, text: str, place: str, said: str) -> None:
    (shop / "ours" / name).write_text(text, "utf-8")
    with pytest.raises(SpecError) as failed:
        platekit.load(shop / "plate.yaml")
    told = [str(problem) for problem in failed.value.problems]
    assert any(f"{name}{place}" in one and said in one for one in told), told
    assert all("\n" not in one for one in told)


@pytest.mark.parametrize(
    ("spoilt", "said"),
    [
        ("", "no line of column names"),
        ("# only a head\n", "no line of column names"),
        ('name,source\n"open,x\n', "no table of commas"),
        ("\0\n", "unknown column"),
    ],
)
def test_what_is_no_table_is_one_sentence(shop: Path, spoilt: str, said: str) -> None:
    (shop / "ours" / "material.csv").write_text(spoilt, "utf-8")
    with pytest.raises(PlatekitError) as failed:
        platekit.load(shop / "plate.yaml")
    assert said in str(failed.value)


def test_a_folder_that_is_not_there_is_told_at_its_line(shop: Path) -> None:
    (shop / "plate.yaml").write_text(SPEC.replace("tables: ours", "tables: theirs"), "utf-8")
    with pytest.raises(SpecError) as failed:
        platekit.load(shop / "plate.yaml")
    assert [(one.line, one.field) for one in failed.value.problems] == [(4, "tables")]
    (shop / "plate.yaml").write_text(SPEC.replace("tables: ours", "tables: .."), "utf-8")
    with pytest.raises(SpecError, match="side_files"):
        platekit.load(shop / "plate.yaml")


def test_the_command_lists_them_with_their_file(shop: Path) -> None:
    def told(name: str | None) -> str:
        return tables_job(name, MeasuredPart(), shop / "ours").text

    listed = told(None)
    assert "Your own tables" in listed
    assert "mounts.csv" in listed
    assert "shed gearmotor" in listed
    assert "your table mounts.csv:3" in " ".join(told("Shed Gearmotor").split())
    assert "Your own tables" not in tables_job(None, MeasuredPart()).text


def test_every_table_that_may_be_theirs_is_one_of_ours() -> None:
    for name, key in OWN_KEYS.items():
        assert set(key) <= set(built_in(name)[0].cells)


def test_many_mistakes_are_told_in_so_many_lines_as_can_be_read(shop: Path) -> None:
    rows = [f"steel {n},steel,heavy,210000,250,0.3,certificate,published" for n in range(100)]
    (shop / "ours" / "material.csv").write_text("\n".join([STEEL.splitlines()[0], *rows]), "utf-8")
    (shop / "ours" / "deep" / "down").mkdir(parents=True)
    (shop / "ours" / "deep" / "down" / "notes.csv").write_text("a,b\n", "utf-8")
    with pytest.raises(SpecError) as failed:
        platekit.load(shop / "plate.yaml")
    assert len(failed.value.problems) == 31
    assert "100 problems" in str(failed.value.problems[-1])


@pytest.mark.parametrize("name", FILES)
def test_a_table_of_column_names_alone_is_no_mistake_of_ours(name: str, tmp_path: Path) -> None:
    (tmp_path / "belts").mkdir()
    (tmp_path / name).write_text(",".join(TableForm(name).columns) + "\n", "utf-8")
    read_folder(tmp_path)


@pytest.mark.parametrize("holes", ["9" * 400, "inf", "nan", "-inf"])
def test_a_figure_without_end_is_told_at_its_cell(holes: str, tmp_path: Path) -> None:
    head, row = "name,holes,bolt_circle_mm,hole_mm,source,kind", f"our gearbox,{holes},130,9,measured,published"
    (tmp_path / "mounts.csv").write_text(f"{head}\n{row}\n", "utf-8")
    with pytest.raises(SpecError) as error:
        read_folder(tmp_path)
    assert [(one.line, one.field) for one in error.value.problems][:1] == [(2, "holes")]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such pipes here")
def test_a_pipe_among_the_tables_is_told_and_not_waited_for(shop: Path) -> None:
    os.mkfifo(shop / "ours" / "drill_metric.csv")
    with pytest.raises(SpecError, match="no plain file"):
        platekit.load(shop / "plate.yaml")


def test_a_folder_of_a_name_that_no_disk_holds_is_not_there() -> None:
    with pytest.raises(PlatekitError, match="no such folder"):
        read_folder(Path("9" * 5000))
