"""What every job gives: the same words and figures as its command prints, and files that are there."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from platekit.cli import ENDS
from platekit.jobs.check import check
from platekit.jobs.compare import compare
from platekit.jobs.drive import drive
from platekit.jobs.frame import frame
from platekit.jobs.papers import commissioning, going_back
from platekit.jobs.parts import parts
from platekit.jobs.schema import schema
from platekit.jobs.survey import measured, planned
from platekit.jobs.tables import MeasuredPart, tables
from platekit.jobs.template import PrintWanted, template
from platekit.jobs.told import Told
from tests.terminal import CLEAR, STOPPED, Terminal

OUT = Path("output")
MIXER, MILL = Path("specs/dough-mixer.yaml"), Path("specs/pug-mill.yaml")
JOBS: dict[str, Callable[[], Told]] = {
    f"check {CLEAR}": lambda: check(Path(CLEAR), OUT),
    f"check {STOPPED}": lambda: check(Path(STOPPED), OUT),
    f"template {CLEAR}": lambda: template(Path(CLEAR), OUT, PrintWanted()),
    f"drive {MIXER}": lambda: drive(MIXER, OUT),
    f"compare {MIXER} {MILL}": lambda: compare(MIXER, MILL, OUT),
    f"commissioning {MIXER}": lambda: commissioning(MIXER, OUT),
    f"back {MIXER}": lambda: going_back(MIXER, OUT),
    f"parts {MIXER}": lambda: parts(MIXER, OUT),
    f"survey {MILL}": lambda: measured(MILL, OUT),
    f"survey {MILL} --plan": lambda: planned(MILL),
    "frame --size letter --looking-at back": lambda: frame("letter", "back", None, OUT),
    "tables M8": lambda: tables("M8", MeasuredPart()),
    "tables --bolt-circle 6.5_in": lambda: tables(None, MeasuredPart(bolt_circle="6.5 in")),
    "tables": lambda: tables(None, MeasuredPart()),
    "schema": schema,
}


@pytest.mark.parametrize("line", JOBS)
def test_a_job_tells_what_its_command_prints(line: str, terminal: Terminal) -> None:
    words = [word.replace("_", " ") for word in line.split()]
    told = JOBS[line]()
    ran = terminal(*words)
    assert (ran.out, ran.code) == (f"{told.text}\n", ENDS[told.state])
    if words[0] != "schema":
        assert json.loads(terminal(*words, "--json").out) == json.loads(json.dumps(told.figures))
    assert all(path.is_file() for path in told.written)
    assert all(str(path) in told.text for path in told.written)
