"""Words as a shop says them, where another wording once misled."""

from __future__ import annotations

import re
from pathlib import Path

from platekit.layout import lay_out
from platekit.spec import loads
from platekit.studies.advised import judge
from tests.terminal import Terminal

FLAT = (
    "platekit: 1\ntitle: a\nunits: mm\n"
    "plate: {material: mild steel, thickness: 8, outline: {rectangle: {width: 120, height: 80}}}\n"
    "mounts: {frame: {side: far, looking_at: face, pattern: {points: [[75, 0], [-40, 0], [-40, 20]], hole: 9}}}\n"
)


def test_a_hole_beyond_the_outline_is_told_without_a_minus_sign() -> None:
    said = [f.message for f in judge(lay_out(loads(FLAT, "a"))).findings if f.rule == "edge" and "frame.1" in f.message]
    assert said
    assert "outside the plate" in said[0]
    assert not re.search(r"-\d", said[0])


def test_writing_a_choice_takes_a_ranking(terminal: Terminal) -> None:
    ran = terminal("drive", "specs/dough-mixer.yaml", "--write", "1")
    assert ran.code == 2
    assert "--write without --choose" in ran.err
    assert not Path("output/dough-mixer").exists()


def test_every_summary_of_the_help_is_whole(terminal: Terminal) -> None:
    ran = terminal("--help")
    assert ran.code == 0
    commands = ran.out.partition("Commands:")[2]
    assert "schema" in commands
    assert not [line for line in commands.splitlines() if line.rstrip().endswith(("...", "…"))]
