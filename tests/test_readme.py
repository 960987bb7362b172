"""The README is true: its blocks and picture come from the program, and CI runs the line that it gives."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import platekit
from platekit.export.publishing import FilesWanted, publish
from tests import readme


def test_what_the_readme_shows_is_what_the_program_says() -> None:
    assert not list(readme.stale()), "run python -m tests.readme"


def test_ci_runs_the_test_line_of_the_readme() -> None:
    """It takes the line out of the README by a mark; the first line with that mark is the one that a reader types."""
    marked = re.findall(r"^.*\.venv/bin/python -m pytest.*$", readme.README.read_text("utf-8"), flags=re.MULTILINE)
    assert marked[0].startswith("python3 -m venv .venv && ")
    script = (readme.ROOT / ".ci" / "run").read_text("utf-8")
    assert 'line=$(grep -m 1 -F ".venv/bin/python -m pytest" README.md)' in script
    assert 'tests bash -c "$line"' in script


@pytest.mark.parametrize("name", ["seed-grader", "pug-mill"])  # a belt with its guard, a survey
def test_every_file_that_make_writes_is_told(name: str, tmp_path: Path) -> None:
    layout = platekit.lay_out(platekit.load(readme.ROOT / "specs" / f"{name}.yaml"))
    made = publish(layout, platekit.check(layout), tmp_path, FilesWanted(solid=False, kerf=True))
    text = readme.README.read_text("utf-8")
    told = {path.name: f"`NAME{path.name.removeprefix(name)}`" for path in made.written}
    # strips of a band are numbered, as many as the sheet needs
    told = {file: re.sub(r"guard-band-\d+", "guard-band", said) for file, said in told.items()}
    assert [file for file, said in told.items() if said not in text] == []


def test_every_file_that_the_readme_points_to_is_there() -> None:
    text = readme.README.read_text("utf-8")
    for name in re.findall(r"\]\(([^)#:]+)\)|`(specs/[\w-]+\.yaml)`", text):
        path = readme.ROOT / (name[0] or name[1])
        assert path.exists(), path
