"""Every command that a message, a paper or a page of the docs names exists, and works as it is written there."""

from __future__ import annotations

import ast
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer.main

from platekit.cli import app

ROOT = Path(__file__).parents[1]
COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]  # a group, as it has commands
NAMED = re.compile(r"(`?)\bplatekit ([a-z]+)\b([^`\n]*)")
PROSE = {"again", "answered", "asks", "at", "believes", "can", "checks", "computes", "could", "does", "draws", "finds"}
PROSE |= {"found", "goes", "has", "holds", "is", "itself", "knows", "made", "makes", "needs", "prints", "put", "reads"}
PROSE |= {"refuses", "says", "searches", "shows", "spec", "takes", "tells", "was", "works", "would", "writes"}
"""Words after the program's name that make a sentence of it: none is a command."""


def told_in_code(path: Path) -> Iterator[str]:
    """The texts of a module that someone may read on a screen or a paper: all but its docstrings."""
    tree = ast.parse(path.read_text("utf-8"))
    docs = {id(one.value) for one in ast.walk(tree) if isinstance(one, ast.Expr)}
    parts = {id(part) for one in ast.walk(tree) if isinstance(one, ast.JoinedStr) for part in one.values}
    for one in ast.walk(tree):
        if id(one) in docs or id(one) in parts:
            continue
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value
        elif isinstance(one, ast.JoinedStr):
            # what is put in is a path or a name
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "X" for part in one.values)


def told_in_text(path: Path) -> Iterator[str]:
    """The lines of a page or a file of the page; of a block of code only what is typed."""
    fenced = False
    for line in path.read_text("utf-8").splitlines():
        fenced ^= line.lstrip().startswith("```")
        if fenced and line.startswith("platekit "):
            yield f"`{line}`"
        elif not fenced or path.suffix != ".md":
            yield line.replace("\\`", "`")  # within a template of JavaScript


def sources() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "platekit").rglob("*.py")):
        yield from ((str(path.relative_to(ROOT)), text) for text in told_in_code(path))
    pages = [ROOT / "README.md", *(ROOT / "docs").glob("*.md"), *(ROOT / "specs").rglob("*.yaml")]
    pages += [one for one in (ROOT / "platekit").rglob("*") if one.suffix in (".js", ".html")]
    for path in sorted(pages):
        yield from ((str(path.relative_to(ROOT)), text) for text in told_in_text(path))


def fault(name: str, words: list[str]) -> str | None:
    """What the command line's own parser has against the words; None if it takes them."""
    try:
        with COMMANDS[name].make_context(name, list(words)):
            return None
    except Exception as error:  # the parser's own errors, of whichever library typer has it from
        said = getattr(error, "format_message", None)
        if said is None:
            raise
        return str(said())


def faults(text: str) -> Iterator[str]:
    """What is wrong with the commands that a text names."""
    for found in NAMED.finditer(text):
        quoted, name, rest = found.groups()
        line = f"platekit {name}{rest}".strip()
        if name not in COMMANDS:
            if quoted or name not in PROSE:
                yield f"{line}: there is no command {name}"
            continue
        if quoted:
            lexer = shlex.shlex(rest.partition(" > ")[0].partition(" | ")[0], posix=True)
            lexer.whitespace_split, lexer.escape = True, ""  # a path of Windows stays one
            words = list(lexer)
            # the name alone speaks of the command
            wrong = fault(name, words) if words else None
        else:
            # a sentence goes on behind it: up to its last option, with a value or without
            lexer = shlex.shlex(re.split(r"[;)]| then:|, or:| #", rest)[0], posix=True)
            lexer.whitespace_split, lexer.escape, lexer.quotes = True, "", '"'
            plain = list(lexer)
            options = [at for at, word in enumerate(plain) if word.startswith("--")]
            if not options:
                continue
            tried = [fault(name, plain[: options[-1] + more]) for more in (1, 2)]
            wrong = None if None in tried else tried[-1]
        if wrong is not None:
            yield f"{line}: {wrong}"


def test_every_command_that_is_told_works_as_written() -> None:
    told = list(sources())
    assert sum(len(NAMED.findall(text)) for _, text in told) > 60
    assert [f"{where}: {what}" for where, text in told for what in faults(text)] == []


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("give them to `platekit template --measured`", True),
        ("give them to `platekit template SPEC --measured BARS`", False),
        ("`platekit template` prints it", False),
        ("`platekit templates` prints it", True),
        ("run platekit tempalte SPEC", True),
        ("platekit has no use for it", False),
        ("platekit survey mill.yaml --plan lists what to take", False),
        ("platekit survey mill.yaml --plans lists what to take", True),
        ("`platekit drive SPEC --count none`", True),
        ("`platekit coupon --process plasma --thickness '10 mm'`", False),
    ],
)
def test_a_slip_in_a_told_command_is_seen(text: str, wrong: bool) -> None:
    assert bool(list(faults(text))) is wrong
