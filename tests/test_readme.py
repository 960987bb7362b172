"""The README is true: its blocks and picture come from the program, and CI runs the line that it gives."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

_SPEC = importlib.util.spec_from_file_location("readme", Path(__file__).with_name("readme.py"))
assert _SPEC is not None
assert _SPEC.loader is not None
readme = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(readme)


def test_what_the_readme_shows_is_what_the_program_says() -> None:
    assert not list(readme.stale()), "run python -m tests.readme"


def test_ci_runs_the_test_line_of_the_readme() -> None:
    line = next(
        line
        for line in readme.README.read_text("utf-8").splitlines()
        if line.startswith("python3") and "pytest" in line
    )
    assert line in (readme.ROOT / ".ci" / "run").read_text("utf-8")


def test_every_file_that_the_readme_points_to_is_there() -> None:
    text = readme.README.read_text("utf-8")
    for name in re.findall(r"\]\(([^)#:]+)\)|`(specs/[\w-]+\.yaml)`", text):
        path = readme.ROOT / (name[0] or name[1])
        assert path.exists(), path
