"""What pydantic finds wrong with a spec, in the words of a shop, each problem at its place in the file."""

from __future__ import annotations

from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from platekit.spec.fields import WRONG
from platekit.spec.source import Complaint, Node, Path, child, readable, spot_of
from platekit.spec.vocabulary import (
    advice_for_key,
    choices_at,
    keys_at,
    listed,
    meaning_at,
    meant_by,
    nearest,
)
from platekit.units import shown

LONGEST_LIST: Final = 8
"""Most words that a message lists (ours); more are not read."""


def complaints_of(error: ValidationError, top: Node, most: int) -> list[Complaint]:
    """Each thing that pydantic found wrong, in the order of the file, at most so many."""
    placed = [(own_path(details["loc"], top), details) for details in error.errors(include_url=False)]

    def position(item: tuple[Path, ErrorDetails]) -> tuple[int, int]:
        spot = spot_of(top, item[0])
        return spot.line, spot.column

    # A key misspelt is found twice: unknown as it stands, and missing as it should be. Only the first is told.
    first = sorted(placed, key=position)[:most]
    misspelt = {(*path[:-1], meant_by(path)) for path, details in first if details["type"] == "extra_forbidden"}
    return [
        _complaint(path, details) for path, details in first if details["type"] != "missing" or path not in misspelt
    ]


def _complaint(path: Path, details: ErrorDetails) -> Complaint:
    match details["type"]:
        case "missing":
            return Complaint(path, f"no `{path[-1]}`", _add(path), missing=True)
        case "extra_forbidden":
            return Complaint(path, f"the unknown key `{readable(str(path[-1]))}`", advice_for_key(path), at_key=True)
    return Complaint(path, *_said(details, path), at_key=details["loc"][-1:] == ("[key]",))


def _said(details: ErrorDetails, path: Path) -> tuple[str, str]:
    """What was found and what would do, for one pydantic error."""
    given = details["input"]
    context: dict[str, Any] = details.get("ctx", {})
    match details["type"]:
        case kind if kind == WRONG:
            return str(context["found"]), str(context["wanted"])
        case "literal_error":
            return shown(given), _choose(given, path)
        case "model_type" | "model_attributes_type" | "dict_type" | "union_tag_invalid":
            return shown(given), _keys(path)
        case "list_type" | "tuple_type":
            return shown(given), "give a list in brackets, as [1, 2, 3]"
        case "greater_than_equal":
            return shown(given), f"use at least {context['ge']}"
        case "less_than_equal":
            return shown(given), f"use at most {context['le']}"
        case "too_short":
            return _counted(given, context["actual_length"]), f"give at least {context['min_length']}"
        case "too_long":
            count = len(given) if isinstance(given, dict | list) else int(context["max_length"]) + 1
            return _counted(given, count), f"use at most {context['max_length']}"
        case _:
            return shown(given), details["msg"][:1].lower() + details["msg"][1:]


def _counted(given: object, count: int) -> str:
    kind = "group" if isinstance(given, dict) else "list"
    return f"a {kind} of {count}" if count else f"an empty {kind}"


def _choose(given: object, path: Path) -> str:
    words = choices_at(path)
    if path == ("platekit",):
        return f"this version reads spec language {listed(words)}"
    like = nearest(given, words) if isinstance(given, str) else ()
    advice = f"use {listed(words)}"
    return f"{advice}; {like[0]} is the nearest" if like and len(words) > 3 else advice


def _keys(path: Path) -> str:
    names = tuple(f"`{key}`" for key in keys_at(path))
    if not names:
        return "give a group of names, each on a line of its own with what belongs to it below"
    some = names[:LONGEST_LIST]
    return f"give keys below it, such as {', '.join(some)}"


def _add(path: Path) -> str:
    meaning = meaning_at(path).split(". ")[0].rstrip(".")
    if meaning.lower() == path[-1]:
        meaning = ""
    choices = choices_at(path)
    hint = f" ({meaning[:1].lower() + meaning[1:]})" if meaning else ""
    if choices and len(choices) <= LONGEST_LIST:
        return f"add `{path[-1]}`: {listed(choices)}{hint}"
    return f"add `{path[-1]}`{hint}"


def own_path(loc: tuple[int | str, ...], top: Node) -> Path:
    """The path in the user's file for a pydantic location, without the tags that pydantic puts in."""
    # Tags stand in angle brackets (`<keys>`); a name of the user's own in angle brackets is in the file, a tag is not.
    path: list[str | int] = []
    node: Node | None = top
    for step in loc:
        if step == "[key]" or (
            isinstance(step, str)
            and step[:1] == "<"
            and not (node is not None and node.fields is not None and step in node.fields)
        ):
            continue
        path.append(step)
        node = child(node, step) if node is not None else None
    return tuple(path)
