"""`platekit make`: its files, told to people and programs."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import get_args

from platekit.choices import Form
from platekit.cli import Exit
from tests.terminal import CLEAR, Terminal


def test_make_lists_its_files_for_people_and_programs(terminal: Terminal, tmp_path: Path) -> None:
    ran = terminal("make", CLEAR, "--no-solid", "--json", "--out", "made")
    told = json.loads(ran.out)
    assert told["verdict"] == "clear"
    assert sorted(Path(file) for file in told["files"]) == sorted(
        file.relative_to(tmp_path) for file in (tmp_path / "made" / "bead-sorter").iterdir()
    )
    assert {"bead-sorter.cut.dxf", "bead-sorter.template.pdf", "bead-sorter.svg", "bead-sorter.report.html"} <= {
        Path(file).name for file in told["files"]
    }
    said = terminal("make", CLEAR, "--no-solid", "--out", "made").out
    assert all(Path(file).name in said for file in told["files"])


def test_every_form_of_the_cut_file_can_be_had(terminal: Terminal, tmp_path: Path) -> None:
    words = list(itertools.chain.from_iterable(("--dxf", form) for form in get_args(Form)))
    ran = terminal("make", CLEAR, "--no-solid", "--dxf-unit", "in", *words)
    assert ran.code == Exit.CLEAR
    assert len(list((tmp_path / "output" / "bead-sorter").glob("*.dxf"))) == len(get_args(Form))
