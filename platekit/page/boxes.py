"""The spec as a job sheet: a box for every value it holds, what may stand in it, and what could be added.

All that a box says of its value (what it is, which words will do) comes from the schema of the language, so that a key
which the language gains is on the page with it. A box shows what the user typed, in his own unit.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any, Final

from platekit.errors import PlatekitError
from platekit.page.offers import listed
from platekit.spec.editing import Value
from platekit.spec.schema import json_schema
from platekit.spec.source import Node, read, source_of

SECTIONS: Final = (
    ("title", "The job"),
    ("units", "The job"),
    ("mounts", "What the plate bolts to"),
    ("bodies", "What sticks out"),
    ("drive", "Belt and speeds"),
    ("couplings", "Shafts in line"),
    ("guard", "Guard"),
    ("plate", "The plate"),
    ("cutting", "How it is cut"),
    ("limits", "Limits of the checks"),
    ("paper", "Paper and printer"),
    ("accept", "Judged and accepted"),
)
"""Keys at the top of a spec and the part of the sheet that each stands in, in the order of the bench."""
LONGEST_LIST: Final = 60
"""A list of more entries is edited in the spec itself (ours: nobody fills in a thousand boxes)."""
NUMBER: Final = re.compile(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?")
FRACTION: Final = re.compile(r"(?:\d+[ -])?\d+/\d+")
WITH_UNIT: Final = re.compile(r"([-+]?\d+),(\d+)(\s*[a-zA-Z\"]+)")
"""A number with a decimal comma before its unit."""
COMMA: Final = re.compile(r"[-+]?\d*,\d+\s*[A-Za-z\"%°]+")
"""A number with a decimal comma and its unit."""
language: Final = cache(json_schema)
"""The schema of the language, made once: it is asked for every box."""
Schema = dict[str, Any]
Box = dict[str, Any]


def sheet(top: Node, text: str) -> list[dict[str, Any]]:
    """The sections of the job sheet; each has boxes, some of which are groups of further ones."""
    schema = language()
    sections: dict[str, list[Box]] = {}
    more: list[Box] = []
    for key, title in SECTIONS:
        below = (top.fields or {}).get(key)
        about = schema["properties"][key]
        if below is not None:
            sections.setdefault(title, []).append(
                _box(below, text, key, key, about, required=key in schema["required"])
            )
        elif key != "accept":
            more.append(_named_only(key, key, about))
    found = [{"title": title, "boxes": boxes} for title, boxes in sections.items()]
    return [*found, {"title": "Not in this job yet", "boxes": [], "more": more}]


def _box(node: Node, text: str, field: str, key: str, about: Schema, *, required: bool) -> Box:
    """One value: a group by its keys, a list by its entries, all else by what was typed."""
    about = _resolved(about, node)
    base: Box = {
        "field": field,
        "label": key.replace("_", " "),
        "about": about.get("description", ""),
        "out": not required,
        "listed": listed(field),
    }
    if node.fields is not None:
        known = about.get("properties", {})
        # a group either has keys of the language, or names that the user gives (mounts, bodies), each of one kind
        named = next(iter(about.get("patternProperties", {}).values()), None)
        needed = set(about.get("required", ()))
        boxes = [
            _box(below, text, f"{field}.{name}", name, known.get(name, named or {}), required=name in needed)
            for name, below in node.fields.items()
            if "." not in name  # no field can say where that is, so no edit could find it
        ]
        if named is not None:
            return base | {"kind": "group", "boxes": boxes, "named": True}
        more = [_named_only(f"{field}.{name}", name, one) for name, one in known.items() if name not in node.fields]
        return base | {"kind": "group", "boxes": boxes, "more": more}
    if node.items is not None:
        if len(node.items) > LONGEST_LIST:
            return base | {"kind": "long", "count": len(node.items)}
        # A list of fixed places (x and y, from and to) tells each place, any other tells what all its entries are.
        items = about.get("items", {})
        prefix = about.get("prefixItems", [])
        return base | {
            "kind": "row" if all(one.scalar for one in node.items) else "list",
            "fixed": bool(prefix),
            "boxes": [
                _box(
                    one,
                    text,
                    f"{field}.{k}",
                    str(k + 1),
                    prefix[k] if k < len(prefix) else items,
                    required=bool(prefix),
                )
                for k, one in enumerate(node.items)
            ],
        }
    # a word without its quotes; a number as it was typed, 80.0 and not 80
    typed = node.data if isinstance(node.data, str) else text[node.start : node.end].strip()
    words = _words_of(about)
    if about.get("type") == "boolean" or isinstance(node.data, bool):
        return base | {"kind": "yesno", "typed": bool(node.data)}
    if words and _only_words(about):
        return base | {"kind": "choice", "typed": typed, "words": words}
    # words that will do beside any other: they are offered, and anything can be typed
    return base | {"kind": "words", "typed": typed} | ({"words": words} if words else {})


def _named_only(field: str, key: str, about: Schema) -> Box:
    """What could be added, by name; `blank` gives its boxes once it is wanted."""
    return {"field": field, "label": key.replace("_", " "), "about": _resolved(about, None).get("description", "")}


def _offer(field: str, key: str, about: Schema) -> Box:
    """What can be added at a field: its words, and the boxes that must be filled in to add it."""
    about = _resolved(about, None)
    offer: Box = {"field": field, "label": key.replace("_", " "), "about": about.get("description", "")}
    offer["listed"] = listed(field)
    if about.get("type") == "boolean":
        return offer | {"kind": "yesno"}
    words = _words_of(about)
    if words and _only_words(about):
        return offer | {"kind": "choice", "words": words}
    if "oneOf" in about:
        # A place is said in several ways, by two figures or by a belt: each is offered with what it needs itself.
        kinds: list[Box] = []
        for one in about["oneOf"]:
            one = _resolved(one, None)
            said = one.get("description", "")
            if one.get("type") == "array":
                kinds.append({"said": said or "x and y", "kind": "list", "example": "[0, 0]"})
            else:
                kinds.append({"said": said, "kind": "group"} | _needed("", one))
        return offer | {"kind": "one of", "kinds": kinds}
    if about.get("type") == "object":
        return offer | {"kind": "group"} | _needed(field, about)
    if about.get("type") == "array":
        pair = len(about.get("prefixItems", ())) == 2
        return offer | {"kind": "list", "example": "[0, 0]" if pair else "[]"}
    return offer | {"kind": "words", "words": words}


def _needed(field: str, about: Schema) -> Box:
    """The boxes that a new group needs, one level of groups below it too; `choose` where one of several will do."""
    if "patternProperties" in about:
        return {"named": True, "new": _offer(field, "", next(iter(about["patternProperties"].values())))}
    known, required = about.get("properties", {}), list(about.get("required", ()))
    join = f"{field}." if field else ""
    needed = [_offer(f"{join}{key}", key, known[key]) for key in required]
    others = [
        {"key": key, "about": _resolved(known[key], None).get("description", "")}
        for key in known
        if key not in required
    ]
    return {"needed": needed, "others": others}


def blank(field: str, top: Node) -> Box:
    """What must be filled in to add a value at a field; raises PlatekitError where the language has no such key."""
    about: Schema = language()
    node: Node | None = top
    for step in field.split("."):
        about = _resolved(about, node)
        if step in about.get("properties", {}):
            about = about["properties"][step]
        elif about.get("patternProperties"):
            about = next(iter(about["patternProperties"].values()))
        elif "items" in about and step.isdigit():
            about = about["items"]
        else:
            raise PlatekitError(f"{field}: the language has no such key")
        node = None if node is None or node.fields is None else node.fields.get(step)
    return _offer(field, field.rpartition(".")[2], about)


def value_of(typed: str, kind: str) -> Value:
    """A value as the spec holds it, of what was typed in a box of a kind.

    A comma counts as the decimal point; `3/8 in` and words stay as typed; a list or group is read as the spec would.

    >>> value_of(" 12,5 ", "words"), value_of("3/8 in", "words"), value_of("[40, 0]", "list")
    (12.5, '3/8 in', [40, 0])

    Raises PlatekitError for an empty box and for brackets that do not close.
    """
    said = typed.strip()
    if not said:
        raise PlatekitError("found an empty box; type a value, or take the line out")
    if kind == "yesno":
        return said == "true"
    if kind == "reading":
        return reading_of(said)
    if kind in ("list", "group") or said[0] in "[{":
        top, problems = read(source_of(f"value: {said}", "box"))
        if top is None or problems:
            raise PlatekitError(f"found {said}; " + "; ".join(problem.wanted for problem in problems))
        value: Value = top.data["value"]
        return value
    # A choice stays a word even where it reads as a number; 3 and 3.0 stay different, as the file would have them.
    if kind == "words" and NUMBER.fullmatch(said):
        number = float(said.replace(",", "."))
        return int(number) if number.is_integer() and said.lstrip("+-").isdigit() else number
    # a decimal comma before a unit, 9,5 in
    if kind == "words" and COMMA.fullmatch(said):
        return said.replace(",", ".")
    return said


def reading_of(said: str) -> Value:
    """What a caliper or rule said, of what was typed: comma or point; a bare fraction is in inches, as is usual.

    >>> reading_of("81,7"), reading_of("3 7/8"), reading_of("81,7 mm"), reading_of("81.70")
    (81.7, '3 7/8 in', '81.7 mm', 81.7)
    """
    if FRACTION.fullmatch(said):
        return f"{said} in"
    return value_of(WITH_UNIT.sub(r"\1.\2\3", said), "words")


# --------------------------------------------------------------------------------- reading the schema


def _resolved(about: Schema, node: Node | None) -> Schema:
    """The schema with its references followed; of several shapes the one that fits what stands there."""
    while "$ref" in about:
        below = language()["$defs"][about["$ref"].rpartition("/")[2]]
        # what stands beside a reference (its description above all) is nearer to the key than what it refers to
        about = {**below, **{key: value for key, value in about.items() if key != "$ref"}}
    # Which of several shapes is meant shows in what stands there. With nothing there a `oneOf` stays open, as whoever
    # adds it tells its shapes apart; an `anyOf` of groups is one value with a short form, and its first is taken.
    if "oneOf" in about and node is not None:
        kinds = [_resolved(one, None) for one in about["oneOf"]]
        fitting = [one for one in kinds if _fits(one, node)]
        if fitting:
            return {**fitting[0], "description": about.get("description", fitting[0].get("description", ""))}
    choices = about.get("anyOf")
    if isinstance(choices, list):
        kinds = [_resolved(one, None) for one in choices]
        fitting = [
            one for one in kinds if one.get("type") in ("object", "array") and node is not None and _fits(one, node)
        ]
        if fitting:
            return {**fitting[0], "description": about.get("description", "")}
        if node is None and all(one.get("type") in ("object", "array") for one in kinds):
            return {**kinds[0], "description": about.get("description", "")}
    return about


def _fits(about: Schema, node: Node) -> bool:
    if node.items is not None:
        return about.get("type") == "array"
    if node.fields is None:
        return about.get("type") not in ("object", "array")
    known = about.get("properties", {})
    return about.get("type") == "object" and ("patternProperties" in about or all(key in known for key in node.fields))


def _words_of(about: Schema) -> list[str]:
    """The words that will do, where the language names any."""
    found = list(about.get("enum", ()))
    found += [about["const"]] if "const" in about else []
    for one in about.get("anyOf", ()):
        found += _words_of(_resolved(one, None))
    return [str(word) for word in found if isinstance(word, str)]


def _only_words(about: Schema) -> bool:
    """Whether nothing but those words will do."""
    if "anyOf" in about:
        return all(_only_words(_resolved(one, None)) for one in about["anyOf"])
    return "enum" in about or "const" in about
