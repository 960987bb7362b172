"""`platekit check`: verdict, findings for a program, and every slip of a spec at once."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from platekit.cli import Exit
from tests.terminal import CLEAR, STOPPED, Terminal


def test_check_tells_a_person_the_verdict_last(terminal: Terminal) -> None:
    ran = terminal("check", STOPPED)
    assert ran.out.rstrip().splitlines()[-1].startswith("NOT FOR CUTTING: ")
    assert not ran.err
    assert terminal("check", CLEAR).out.rstrip().splitlines()[-1].startswith("CLEAR TO CUT: 0 stops")


FINDING_KEYS = {"rule", "level", "message", "features", "found", "needed", "unit", "at_mm"}


@pytest.mark.parametrize(("spec", "verdict"), [(CLEAR, "clear"), (STOPPED, "stop")])
def test_check_tells_a_program_its_findings(spec: str, verdict: str, terminal: Terminal) -> None:
    ran = terminal("check", spec, "--json")
    told = json.loads(ran.out)
    assert told["verdict"] == verdict
    assert ran.code == (Exit.CLEAR if verdict == "clear" else Exit.STOP)
    assert any(finding["level"] == "stop" for finding in told["findings"]) == (verdict == "stop")
    for finding in told["findings"]:
        assert finding.keys() >= FINDING_KEYS
        assert finding["level"] in ("stop", "warn", "note")
        assert isinstance(finding["features"], list)
        assert finding["at_mm"] is None or len(finding["at_mm"]) == 2


def test_json_of_an_unusable_spec_names_every_problem(terminal: Terminal, tmp_path: Path) -> None:
    spec = tmp_path / "slips.yaml"
    spec.write_text(SLIPS, "utf-8")
    ran = terminal("check", spec, "--json")
    told = json.loads(ran.out)
    assert ran.code == Exit.UNUSABLE
    assert told["verdict"] == "unusable"
    fields = [problem["field"] for problem in told["problems"]]
    assert fields == ["units", "plate.thickness", "plate.colour", "mounts.machine.side", "mounts.machine.bolts.fit"]
    assert [problem["line"] for problem in told["problems"]] == [3, 4, 4, 6, 8]


SLIPS = """\
platekit: 1
title: Five slips in one file
units: cm
plate: {material: mild steel, thickness: -4, colour: grey}
mounts:
  machine: {side: left,
    looking_at: face, pattern: {circle: {count: 4, diameter: 130}},
    bolts: {size: M8, into: part, fit: nromal}}
"""


def test_all_slips_of_a_file_are_shown_at_once_with_the_line_they_stand_in(terminal: Terminal, tmp_path: Path) -> None:
    spec = tmp_path / "slips.yaml"
    spec.write_text(SLIPS, "utf-8")
    ran = terminal("check", spec)
    assert ran.code == Exit.UNUSABLE
    assert not ran.out
    for line, word in ((3, '"cm"'), (4, "-4"), (4, "`colour`"), (6, '"left"'), (8, '"nromal"')):
        assert re.search(rf"slips\.yaml:{line}:\d+  \S+: found .*{re.escape(word)}", ran.err), (line, word)
    assert ran.err.count("^") >= 5


@pytest.mark.parametrize(
    ("paper", "said"),
    [
        ("{size: {width: 100, height: 62}}", "paper.size: found a sheet of 62 × 100 mm"),
        ("{size: {width: 148, height: 210}}", None),
        ("{printer: nowhere}", "nowhere"),
        # bars of 185 x 270 mm at 96 %, diagonals too: a print that was fitted to the page
        (
            "{measured: {bottom: 177.6, top: 177.6, left: 259.2, right: 259.2, rising: 314.2, falling: 314.2}}",
            "fit to page",
        ),
        ("{measured: {bottom: 185.2, top: 185.2, left: 270.1, right: 270.1, rising: 327.5, falling: 327.5}}", None),
    ],
)
def test_paper_that_the_template_is_refused_on_is_told_by_the_check(
    paper: str, said: str | None, terminal: Terminal, tmp_path: Path
) -> None:
    spec = tmp_path / "small.yaml"
    text = (Path(__file__).parents[2] / CLEAR).read_text("utf-8")
    assert text.count("paper: {size: letter}") == 1
    spec.write_text(text.replace("paper: {size: letter}", f"paper: {paper}"), "utf-8")
    checked, printed = terminal("check", str(spec)), terminal("template", str(spec))
    if said is None:
        assert (checked.code, printed.code) == (Exit.CLEAR, Exit.CLEAR)
        return
    assert said in checked.err
    assert "CLEAR TO CUT" not in checked.out
    assert (checked.code, checked.err) == (printed.code, printed.err)
    assert checked.code == Exit.UNUSABLE
