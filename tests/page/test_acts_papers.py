"""Single papers from the page: which are written, which are told, and never one that there is none of."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from platekit.page.acts import done
from platekit.page.desk import Desk

SPECS = Path(__file__).parents[2] / "specs"


@pytest.mark.parametrize(("which", "count"), [("parts", 0), ("commissioning", 1), ("going back", 1)])
def test_a_paper_by_itself(tmp_path: Path, which: str, count: int) -> None:
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    desk = Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")
    told = done(desk, {"act": "paper", "which": which})
    assert "NOT FOR CUTTING" in told["told"] or which == "parts"
    assert [one["name"] for one in told["files"]] == told["written"]
    assert len(told["written"]) == count


def test_another_one_is_refused(tmp_path: Path) -> None:
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    desk = Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")
    assert done(desk, {"act": "paper", "which": "../x"}) == {"refused": "found a paper that there is none of"}
    assert not desk.out.exists()


BARS = "bottom=185.7, top=185.7, left=271.1, right=271.1, rising=328.6, falling=328.6"


def test_a_printer_that_is_corrected_for_stays_so(tmp_path: Path) -> None:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    desk = Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")
    now = desk.now()
    told = done(desk, {"act": "print", "state": now.state, "measured": BARS, "printer": "office"})
    assert "too long" in told["told"]
    assert "plain paper" not in told["told"]
    assert "printer: office" in desk.now().text
    assert told["steps"] == (1, 0)
    # a paper of a state that the page has not seen is not made over it
    stale = done(desk, {"act": "print", "state": now.state, "measured": "", "printer": "office"})
    assert "changed meanwhile" in stale["refused"]
    again = done(desk, {"act": "print", "state": desk.now().state, "measured": "", "printer": ""})
    assert "too long" in again["told"]
    # a steel rule in inches says fractions; on a sheet in mm they are its inches all the same
    inches = "bottom=7 5/16, top=185,7"
    told = done(desk, {"act": "print", "state": desk.now().state, "measured": inches, "printer": "office"})
    assert "a fraction without a unit" not in told["refused"]


def test_no_place_is_told_with_what_is_in_the_way(tmp_path: Path) -> None:
    spec = tmp_path / "mixer.yaml"
    shutil.copy(SPECS / "dough-mixer.yaml", spec)
    text = spec.read_text("utf-8")
    # a plate so thin that it is a sheet, whatever the place
    spec.write_text(text.replace("thickness: 10", "thickness: 1", 1), "utf-8")
    assert "thickness: 1\n" in spec.read_text("utf-8") or "thickness: 1 " in spec.read_text("utf-8")
    told = done(Desk(spec, tmp_path / "output"), {"act": "places", "mount": "motor"})
    assert told.get("refused")


def test_each_belt_has_a_list_and_a_rim_as_wide_as_its_belts(tmp_path: Path) -> None:
    text = (SPECS / "winnowing-fan.yaml").read_text("utf-8")
    wanted = text.replace("wanted: {at: driven, torque", "wanted: {at: driven, from: 410 rpm, to: 410 rpm, torque")
    (tmp_path / "fan.yaml").write_text(wanted, "utf-8")
    desk = Desk(tmp_path / "fan.yaml", tmp_path / "output")
    now = desk.now()
    assert now.layout is not None
    fields = [belt.field for belt in now.layout.belts]
    assert len(fields) == 2
    for field in fields:
        told = done(desk, {"act": "drives", "state": now.state, "belt": field, "section": "A"})
        assert told["choices"], told
        assert all(one[0].startswith(f"{field}.") for one in told["edits"][0])
    # both together turn the working shaft as fast as is wanted
    ratios = [belt.result.ratio for belt in now.layout.belts]
    assert told["choices"][0]["speed_low_rpm"] == pytest.approx(410, rel=0.1)
    assert ratios[1] > ratios[0]
    narrow = [[f"{fields[1]}.belt", {"section": "A", "pitch_length": 1600, "count": 3}]]
    told = done(desk, {"act": "take drive", "state": now.state, "edits": narrow})
    assert "refused" not in told, told
    assert not [one for one in told["findings"] if one["rule"] == "rim-width"]


# A square of the size that is drawn, cut on the line with a kerf of 1.6 mm; its holes another 0.3 mm small; and 0.4 mm
# narrower at the other face: by hand, kerf 1.6, hole error -0.3, taper atan(0.2 / 10) = 1.15 degrees.
KERF, HOLE, NARROWER = 1.6, -0.3, 0.4


def coupon_read(desk: Desk) -> dict[str, object]:
    asked = done(desk, {"act": "look", "state": ""})["coupon"]
    read = {}
    for one in asked["sizes"]:
        drawn = float(one["drawn"].removesuffix(" mm"))
        near = drawn - KERF if one["name"].startswith("square") else drawn + KERF + HOLE
        read[one["name"]] = [f"{near:.2f}".replace(".", ","), f"{near - NARROWER:.2f}"]
    return {"table": "yard", "kerf_set": "0", "read": read}


def test_a_test_piece_gives_the_job_the_figures_of_its_own_table(tmp_path: Path) -> None:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    desk = Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")
    told = done(desk, {"act": "test piece"})
    assert [name.rpartition("mm.")[2] for name in told["written"]] == ["cut.dxf", "form.pdf"]
    assert all((desk.folder / name).is_file() for name in told["written"])
    said = coupon_read(desk)
    before = desk.now()
    told = done(desk, {"act": "test piece read", "state": before.state, **said})
    assert "kerf of yard is 1.6 mm" in told["told"], told
    assert "0.3 mm too small" in told["told"]
    assert "machine: yard" in desk.now().text
    assert (tmp_path / "machines" / "yard.yaml").is_file()
    assert told["steps"] == (1, 0)
    assert desk.now().fresh


@pytest.mark.parametrize(
    "wrong", [{"table": "../yard"}, {"table": ""}, {"kerf_set": "much"}, {"read": {}}, {"read": 3}]
)
def test_a_test_piece_that_is_read_wrongly_is_refused(tmp_path: Path, wrong: dict[str, object]) -> None:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    desk = Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")
    state, text = desk.now().state, desk.now().text
    told = done(desk, {"act": "test piece read", "state": state, **coupon_read(desk), **wrong})
    assert told["refused"]
    assert desk.now().text == text
    assert not (tmp_path / "machines" / "yard.yaml").exists()


def test_a_printer_that_was_never_measured_does_not_get_into_the_spec(tmp_path: Path) -> None:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    desk = Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")
    before = desk.path.read_bytes()
    for name in ("never measured", "../x"):
        told = done(desk, {"act": "print", "state": desk.now().state, "measured": "", "printer": name})
        assert told["refused"]
        assert desk.path.read_bytes() == before
