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
        complaint_of(path, details) for path, details in first if details["type"] != "missing" or path not in misspelt
    ]


def complaint_of(path: Path, details: ErrorDetails) -> Complaint:
    """What was found and what would do, for one pydantic error, in words of a shop."""
    given = details["input"]
    context: dict[str, Any] = details.get("ctx", {})
    kind = details["type"]
    if kind == "missing":
        # what the key is for is told in its own words, as far as the first sentence goes
        meaning = meaning_at(path).split(". ")[0].rstrip(".")
        meaning = "" if meaning.lower() == path[-1] else meaning
        hint = f" ({meaning[:1].lower() + meaning[1:]})" if meaning else ""
        choices = choices_at(path)
        words = f": {listed(choices)}" if choices and len(choices) <= LONGEST_LIST else ""
        return Complaint(path, f"no `{path[-1]}`", f"add `{path[-1]}`{words}{hint}", missing=True)
    if kind == "extra_forbidden":
        return Complaint(path, f"the unknown key `{readable(str(path[-1]))}`", advice_for_key(path), at_key=True)
    found, wanted = shown(given), ""
    match kind:
        case _ if kind == WRONG:  # our own readers say both by themselves
            found, wanted = str(context["found"]), str(context["wanted"])
        case "literal_error":
            choices = choices_at(path)
            like = nearest(given, choices) if isinstance(given, str) else ()
            wanted = f"use {listed(choices)}"
            if path == ("platekit",):
                wanted = f"this version reads spec language {listed(choices)}"
            elif like and len(choices) > 3:
                wanted = f"{wanted}; {like[0]} is the nearest"
        case "model_type" | "model_attributes_type" | "dict_type" | "union_tag_invalid":
            names = tuple(f"`{key}`" for key in keys_at(path))
            wanted = f"give keys below it, such as {', '.join(names[:LONGEST_LIST])}"
            if not names:
                wanted = "give a group of names, each on a line of its own with what belongs to it below"
        case "list_type" | "tuple_type":
            wanted = "give a list in brackets, as [1, 2, 3]"
        case "greater_than_equal":
            wanted = f"use at least {context['ge']}"
        case "less_than_equal":
            wanted = f"use at most {context['le']}"
        case "too_short":
            found, wanted = _counted(given, context["actual_length"]), f"give at least {context['min_length']}"
        case "too_long":
            # pydantic stops counting at the first too many, so what it says is no count of what is there
            count = len(given) if isinstance(given, dict | list) else int(context["max_length"]) + 1
            found, wanted = _counted(given, count), f"use at most {context['max_length']}"
        case _:
            wanted = details["msg"][:1].lower() + details["msg"][1:]
    return Complaint(path, found, wanted, at_key=details["loc"][-1:] == ("[key]",))


def _counted(given: object, count: int) -> str:
    kind = "group" if isinstance(given, dict) else "list"
    return f"a {kind} of {count}" if count else f"an empty {kind}"


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
