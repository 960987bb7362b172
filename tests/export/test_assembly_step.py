"""The assembly: every part by name and revision, the plate's own volume, the same bytes, released as cut files are."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import cadquery as cq
import pytest

import platekit
from platekit import export
from platekit.errors import OutputError
from platekit.placed import Layout
from tests.terminal import CLEAR, ROOT, STOPPED, Terminal


@pytest.fixture(scope="module")
def layout() -> Layout:
    return platekit.lay_out(platekit.load(ROOT / CLEAR))


def volumes_in(file: Path) -> list[float]:
    found = cq.importers.importStep(str(file)).solids().vals()
    return [one.Volume() for one in found if isinstance(one, cq.Shape)]


def test_every_part_is_in_it_by_name_and_the_bytes_are_the_same(layout: Layout, tmp_path: Path) -> None:
    data = export.assembly_bytes(layout)
    assert export.assembly_bytes(layout) == data
    text = data.decode("ascii")
    names = set(re.findall(r"PRODUCT\('([^']*)'", text))
    mark = layout.spec.revision
    wanted = {f"plate, revision {mark}", *(f"{body.name}, revision {mark}" for body in layout.bodies)}
    assert wanted <= names
    assert f"'revision {mark}'" in text
    assert "COLOUR_RGB" in text
    assert re.search(r"FILE_NAME\([^;]*'2000-01-01T00:00:00'", text)
    file = tmp_path / "whole.step"
    file.write_bytes(data)
    volumes = volumes_in(file)
    assert len(volumes) >= 1 + len(layout.bodies)
    plate = tmp_path / "plate.step"
    export.step(layout, plate)
    (own,) = volumes_in(plate)
    assert min(abs(one - own) for one in volumes) <= 1e-6 * own


def test_no_assembly_while_a_stop_is_open(tmp_path: Path) -> None:
    stopped = platekit.lay_out(platekit.load(ROOT / STOPPED))
    with pytest.raises(OutputError, match="the assembly was not written: "):
        export.assembly(stopped, tmp_path / "whole.step")
    assert not list(tmp_path.iterdir())


def test_without_the_kernel_one_sentence_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, terminal: Terminal
) -> None:
    monkeypatch.setitem(sys.modules, "cadquery", None)  # as if it were not installed
    done = terminal("make", CLEAR, "--assembly", "--out", tmp_path / "out")
    assert done.code == 2
    assert "pip install 'platekit[solid]'" in done.err
    assert len(done.err.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_it_is_written_where_it_is_asked_for(tmp_path: Path, terminal: Terminal) -> None:
    done = terminal("make", CLEAR, "--assembly", "--out", tmp_path / "out")
    assert done.code == 0
    assert (tmp_path / "out" / "bead-sorter" / "bead-sorter.assembly.step").is_file()
