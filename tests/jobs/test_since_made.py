"""What moved since the files were made: hole by hole from the figures beside them, and nothing touched."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from platekit.errors import PlatekitError
from platekit.export.data.plate import figures
from platekit.jobs.since_made import since_made
from platekit.layout import lay_out
from platekit.page.desk import with_edits
from platekit.spec import load
from platekit.spec.editing import Value

SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def job(tmp_path: Path) -> tuple[Path, Path]:
    spec = tmp_path / "dough-mixer.yaml"
    shutil.copy(SPECS / spec.name, spec)
    made = tmp_path / "output" / spec.stem
    made.mkdir(parents=True)
    figures(lay_out(load(spec)), made / "dough-mixer.json")
    return spec, tmp_path / "output"


def change(spec: Path, field: str, value: Value) -> None:
    spec.write_text(with_edits(spec.read_text("utf-8"), [(field, value)]), "utf-8")


def test_nothing_moved_is_said(job: tuple[Path, Path]) -> None:
    told = since_made(*job)
    assert told.figures["changed"] == []
    assert told.figures["outdated"] == []
    assert "no hole moved" in told.text


def test_a_moved_opening_a_thicker_plate_and_void_files_are_told(job: tuple[Path, Path]) -> None:
    spec, out = job
    change(spec, "plate.cutouts.cable.at", [63, -91])
    change(spec, "plate.thickness", 12)
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    told = since_made(spec, out)
    # 3 to the right and 4 up are 5 along the way
    assert "plate: its thickness is 12 mm, was 10 mm" in told.figures["changed"]
    assert [one for one in told.figures["changed"] if one.startswith("cable")] == [
        "cable: moved 5 mm: 3 mm to the right and 4 mm up"
    ]
    assert [one.partition(" ")[0] for one in told.figures["outdated"]] == ["dough-mixer.json"]
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before


def test_new_gone_and_wider_ones(job: tuple[Path, Path]) -> None:
    spec, out = job
    change(spec, "mounts.machine.pattern.circle.count", 3)
    change(spec, "plate.cutouts.cable.circle.diameter", 25)
    change(spec, "plate.cutouts.more", {"circle": {"diameter": 8}, "at": [-60, -95]})
    changed = since_made(spec, out).figures["changed"]
    assert "cable: now 25 mm wide, was 22 mm" in changed
    assert "more: new" in changed
    assert "machine.4: gone" in changed


@pytest.mark.parametrize("text", [None, "", "[]", "{}", '{"spec": "dough-mixer", "revision": "0"}', "[" * 100_000])
def test_without_usable_figures_it_says_so(job: tuple[Path, Path], text: str | None) -> None:
    spec, out = job
    file = out / "dough-mixer" / "dough-mixer.json"
    if text is None:
        file.unlink()
    else:
        file.write_text(text, "utf-8")
    with pytest.raises(PlatekitError, match=r"dough-mixer\.json"):
        since_made(spec, out)
