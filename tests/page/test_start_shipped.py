"""An installed platekit offers the same examples as a checkout, and stays small."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from platekit.page.start import DRAWN

ROOT = Path(__file__).parents[2]
MOST = 60_000
"""Largest that all examples together may be, bytes."""


def test_a_build_holds_the_specs_and_what_they_are_drawn_by(tmp_path: Path) -> None:
    pytest.importorskip("setuptools")
    # a copy, as a build leaves folders of its own beside the sources; what else is built is not looked at
    shutil.copy(ROOT / "setup.py", tmp_path)
    shutil.copytree(ROOT / "specs", tmp_path / "specs")
    built = tmp_path / "built"
    command = [sys.executable, "setup.py", "-q", "build_py", "--build-lib", str(built)]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    examples = built / "platekit" / "page" / "examples"
    specs = sorted(path.name for path in (ROOT / "specs").glob("*.yaml"))
    assert sorted(path.name for path in examples.glob("*.yaml")) == specs
    needed = {name for path in examples.glob("*.yaml") for name in DRAWN.findall(path.read_text("utf-8"))}
    assert needed
    assert all((examples / name).read_bytes() == (ROOT / "specs" / name).read_bytes() for name in needed)
    assert sum(path.stat().st_size for path in examples.iterdir()) < MOST
