"""The page on the tables: what there is, how many rows, which source of which kind; and how to look things up."""

from __future__ import annotations

import csv
from collections import Counter
from itertools import takewhile
from pathlib import Path

import platekit.tables
from platekit.tables import counts_by_file, counts_by_kind, describe, found_text, overview, search
from platekit.tables.own import MOUNT_COLUMNS
from platekit.tables.rows import OWN_KEYS
from platekit.tables.values import KINDS

FOLDER = Path(platekit.tables.__file__).parent / "data"
PARTS = {
    "Standard mounts, screws, drills, fits, materials, guards, processes": "*.csv",
    "Belts and pulleys": "belts/*.csv",
}

INTRO = """\
# Tables

Every figure stands in a data file as printed, in the printed unit, and is converted on reading. Every row names its
kind: *published* (a standard or handbook), *common practice* (no single source), *from memory* (nobody could look it up
here). A row of a better kind may name columns that are from memory all the same; they are listed as *doubted*.
"""
LOOKED_UP = """\
## How to look up

`platekit tables` says what there is:
"""
OWN = """\
## Your own tables

A spec may name a folder of tables that your shop keeps: `tables: our-tables`, a path from the spec. A table in it is a
CSV file that is called as one of ours and has our columns (those that are blank in ours may be left out); lines that
begin with `#` are for people. Every row names its `source` and its `kind`, as ours do. A row whose key is that of one
of ours takes its place; others are more of the same. What is wrong with a row is told with file, line and column, and
nothing is made until it is mended. The revision mark of a plate depends on the rows that it uses, and on no others.
`platekit tables --own our-tables` lists them with their file, and looks names up in them.

| file | a row takes the place of ours with the same |
| --- | --- |
"""
OWN_MOUNTS_TOLD = """\
| `mounts.csv` | nothing: your motors and machines have names of their own |

`mounts.csv` has these columns, of which a row fills those that it has figures for:

| column | what it holds |
| --- | --- |
"""
CALLS: dict[str, str] = {
    "platekit tables M8": describe("M8"),
    'platekit tables "110 j6"': describe("110 j6"),
    "platekit tables --bolt-circle 130 --holes 4": found_text(search(bolt_circle=130.0, holes=4)),
}
"""Commands, and what they say."""


def block(text: str) -> str:
    """Text as the terminal shows it."""
    return f"```\n{text.strip(chr(10))}\n```\n"


def _file(path: Path) -> tuple[list[str], list[dict[str, str]]]:
    """The lines of a file's head, and its rows."""
    lines = path.read_text("utf-8").splitlines()
    head = list(takewhile(lambda line: line.startswith("#"), lines))
    return [line.removeprefix("#").strip() for line in head], list(csv.DictReader(filter(None, lines[len(head) :])))


def _table(path: Path) -> list[str]:
    head, rows = _file(path)
    counted = Counter((KINDS.index(row["kind"]), row["source"]) for row in rows)
    lines = [f"### {path.relative_to(FOLDER).as_posix()}", "", *(f"{line}  " for line in head[:-1]), head[-1], ""]
    lines += ["| rows | kind | source |", "| ---: | --- | --- |"]
    lines += [
        f"| {count} | {KINDS[kind]} | {cell(source) or '-'} |" for (kind, source), count in sorted(counted.items())
    ]
    doubted = Counter(column for row in rows for column in (row.get("doubted") or "").split())
    if doubted:
        said = ", ".join(f"{column} in {count} of {len(rows)}" for column, count in sorted(doubted.items()))
        lines += ["", f"Doubted: {said}."]
    return [*lines, ""]


def cell(text: str) -> str:
    """Text for a cell of a Markdown table."""
    return " ".join(text.split()).replace("|", "\\|")


def tables_page() -> str:
    """Every table with its rows by source."""
    counts = counts_by_kind()
    lines = [INTRO, LOOKED_UP, block(overview())]
    for call, said in CALLS.items():
        lines += [f"`{call}`:", "", block(said)]
    lines += ["`--json` prints the same for a program, with the unit in every key.", ""]
    lines += [
        OWN + "".join(f"| `{name}` | {', '.join(key) or 'nothing: it is added'} |\n" for name, key in OWN_KEYS.items())
    ]
    lines[-1] += OWN_MOUNTS_TOLD + "".join(f"| `{column}` | {cell(said)} |\n" for column, said in MOUNT_COLUMNS.items())
    told = ", ".join(f"{counts.rows[kind]} rows and {counts.figures[kind]} figures {kind}" for kind in KINDS)
    share = 100 * counts.figures["from memory"] / sum(counts.figures.values())
    lines += [f"All together: {told}; {share:.1f} % of the figures are from memory.", ""]
    lines += ["| table: figures by kind | " + " | ".join(KINDS) + " |", "| --- |" + " ---: |" * len(KINDS)]
    for file, found in counts_by_file().items():
        lines.append(f"| {file} | " + " | ".join(str(found.figures[kind] or "") for kind in KINDS) + " |")
    lines.append("")
    for title, pattern in PARTS.items():
        lines += [f"## {title}", ""]
        for path in sorted(FOLDER.glob(pattern)):
            lines += _table(path)
    return "\n".join(lines).rstrip("\n") + "\n"
