"""`platekit tables`: by name, by what was measured, and what there is."""

from __future__ import annotations

import json
import re

import pytest

from platekit.cli import Exit
from tests.terminal import Terminal


def test_tables_tell_people_and_programs_the_same(terminal: Terminal) -> None:
    """NEMA 56C: bolt circle 5.875 in, as in NEMA MG 1."""
    text, figures = terminal("tables", "NEMA 56C"), json.loads(terminal("tables", "NEMA 56C", "--json").out)
    assert "5.875" in text.out or "149.2" in text.out
    assert figures["bolt_circle_mm"] == pytest.approx(149.225)
    assert "source" in json.dumps(figures)


def test_tables_find_what_was_measured(terminal: Terminal) -> None:
    found = json.loads(terminal("tables", "--bolt-circle", "149", "--holes", "4", "--json").out)
    assert "NEMA 56C" in json.dumps(found)
    assert "NEMA 56C" in terminal("tables", "--bolt-circle", "5.875 in", "--holes", "4").out


def test_an_unknown_name_gets_its_nearest(terminal: Terminal) -> None:
    ran = terminal("tables", "NEMA 56D")
    assert ran.code == Exit.UNUSABLE
    assert "NEMA 56C" in ran.err
    assert len(re.findall(r"NEMA \w+", ran.err.replace("NEMA 56D", "", 1))) >= 3


def test_tables_without_a_name_give_an_overview(terminal: Terminal) -> None:
    ran = terminal("tables")
    assert ran.code == Exit.CLEAR
    assert "NEMA" in ran.out
    assert "screw" in ran.out.lower()


def test_what_there_is_can_be_had_by_a_program_and_every_name_is_known(terminal: Terminal) -> None:
    held = json.loads(terminal("tables", "--json").out)
    assert "NEMA 56C" in [name for names in held["mounts"].values() for name in names]
    for names in held["screws"].values():
        assert terminal("tables", names[0], "--json").code == Exit.CLEAR
