"""The commands in this process: what they say, how they end, and what they leave behind on the disk."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Iterable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn
from unittest.mock import patch
from xml.etree import ElementTree

from platekit import cli

NEVER_PRINTED = ("Traceback", " object at 0x", "Error(", "<class", "nan mm", "inf mm")
"""What no command may print; a user's own line may hold nearly anything else."""


@dataclass(frozen=True)
class Ended:
    """How a command ended, what it printed, and what it said on the side."""

    words: tuple[str, ...]
    code: int
    out: str
    err: str


def run(*words: str | Path) -> Ended:
    """A command from its words to its end; whatever would be told as platekit's own mistake comes through."""
    line = tuple(map(str, words))
    out, err = io.StringIO(), io.StringIO()
    with (
        patch.object(sys, "argv", ["platekit", *line]),
        patch.object(cli, "own_mistake", _come_through),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        try:
            cli.main()
            code = 0
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else 1
    return Ended(line, code, out.getvalue(), err.getvalue())


def _come_through(error: Exception) -> NoReturn:
    raise error


def faults(ended: Ended) -> list[str]:
    """What is wrong with how a command ended."""
    found = []
    if ended.code not in (0, 1, 2):
        found.append(f"exit code {ended.code}")
    if ended.code == cli.Exit.UNUSABLE and not (ended.err.strip() or ended.out.strip()):
        found.append("nothing said")
    found += [f"printed {word!r}" for word in NEVER_PRINTED if word in ended.out or word in ended.err]
    return found


def contents(folder: Path) -> dict[str, bytes]:
    """Every file under a folder with its bytes, hidden ones too."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def disturbed(before: dict[str, bytes], after: dict[str, bytes], allowed: Iterable[str]) -> list[str]:
    """What a command changed or left behind outside what it may write, and files that are not whole."""
    begins = tuple(allowed)
    names = [name for name in before.keys() | after.keys() if before.get(name) != after.get(name)]
    found = [f"touched {name}" for name in names if not name.startswith(begins)]
    return found + [f"{name}: {trouble}" for name in names if name in after and (trouble := _half(name, after[name]))]


def _half(name: str, data: bytes) -> str:
    """Why a file is not whole or not sound, empty if it is."""
    kind = name.rpartition(".")[2]
    try:
        match kind:
            case "part":
                return "left behind"
            case "pdf":
                return "" if data.startswith(b"%PDF") and data.rstrip().endswith(b"%%EOF") else "half a file"
            case "svg":
                ElementTree.fromstring(data)
            case "html":
                return "" if data.decode().rstrip().endswith("</html>") else "half a file"
            case "json":
                json.loads(data, parse_constant=_no_constant)
            case "csv":
                list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
            case "dxf":
                return "" if data.rstrip().endswith(b"EOF") else "half a file"
    except (ValueError, ElementTree.ParseError, csv.Error) as error:
        return str(error)
    return ""


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")
