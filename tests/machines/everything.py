"""Writes all that platekit writes into one folder: `python -m tests.machines.everything FOLDER`.

Every example with all its files, all figures for a program, the reference pages, and what the README shows.
"""

from __future__ import annotations

import contextlib
import json
import locale
import sys
from pathlib import Path

from typer.testing import CliRunner

from platekit.cli import app
from tests import docs, readme

ROOT = Path(readme.__file__).parents[1]
FIGURES = ("check", "survey", "drive")
MADE_FROM_FIGURES = ("spec.md",)
"""Pages that hold figures which were worked out; the others copy tables, or count tests by a run of pytest. The page of
rules lays out some two hundred plates, minutes a time: tests/test_docs.py holds it against the committed one, which was
written on another machine."""


def write(folder: Path) -> None:
    """Write everything."""
    for spec in sorted((ROOT / "specs").glob("*.yaml")):
        out = folder / spec.stem
        out.mkdir(parents=True)
        _ran(out / "make.txt", "make", f"specs/{spec.name}", "--no-solid", "--kerf", "--out", str(out))
        for command in FIGURES:
            # its own folder: what another run left in the usual one would be told as void
            _ran(out / f"{command}.json", command, f"specs/{spec.name}", "--json", "--out", str(out))
            _ran(out / f"{command}.txt", command, f"specs/{spec.name}", "--out", str(out))
    for page in MADE_FROM_FIGURES:
        (folder / page).write_text(docs.page(page), "utf-8")
    (folder / "README.md").write_text(readme.written(readme.README.read_text("utf-8")), "utf-8")
    (folder / "picture.svg").write_text(readme.picture(), "utf-8")


def _ran(told: Path, *arguments: str) -> None:
    """What a command prints; a command that cannot be used on an example (no belt, nothing measured) says so."""
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code in (0, 1, 2), f"{arguments}: {done.output}"
    told.write_text(done.output.replace(str(told.parent), "OUT"), "utf-8")


if __name__ == "__main__":
    # As a program may do that uses platekit: what C's own printf and atof make of figures then follows the locale.
    with contextlib.suppress(locale.Error):
        locale.setlocale(locale.LC_ALL, "")
    with contextlib.chdir(ROOT):
        write(Path(sys.argv[1]))
    print(json.dumps(locale.localeconv()["decimal_point"]))
