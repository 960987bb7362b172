"""The spec as a job sheet: a box for every value it holds, what may stand in it, and what could be added.

All that a box says of its value (what it is, which words will do) comes from the schema of the language, so that a key
which the language gains is on the page with it. A box shows what the user typed, in his own unit.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, Final

from platekit.checks.finding import BLANK, BLANK_OUT, Remedy
from platekit.errors import PlatekitError
from platekit.page.offers import listed
from platekit.spec.base import OneOf
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
    ("second_guard", "Second guard"),
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
A_MOUNT: Final = re.compile(r"(?:\.carried_by|\.at\.(?:belt\.)?from|(?:driver|driven|from|to)\.on)$")
"""Fields that name a mount; `carried_by` may name the plate as well."""
PLACES: Final[dict[str, tuple[str, ...]]] = {
    "span": ("from", "to"),
    "stretch": ("from", "to"),
    "sheet": ("long", "wide"),
    "gap": ("least", "most"),
    "centre": ("x", "y", "height"),
    "size": ("along x", "along y", "height"),
}
"""What the places of a list of fixed length are called, by its key; x and y if it is not named here."""
WITH_KIND: Final = {"shape": ("span",)}
"""Keys of a body that must be given beside one of its kinds."""
Schema = dict[str, Any]
Box = dict[str, Any]
Edit = tuple[str, Value]


def sheet(top: Node, text: str) -> list[dict[str, Any]]:
    """The sections of the job sheet; each has boxes, some of which are groups of further ones."""
    schema = language()
    sections: dict[str, list[Box]] = {}
    more: list[Box] = []
    mounts = mounts_of(top)
    for key, title in SECTIONS:
        below = (top.fields or {}).get(key)
        about = schema["properties"][key]
        if below is not None:
            sections.setdefault(title, []).append(
                _box(below, text, key, key, about, mounts, required=key in schema["required"])
            )
        elif key != "accept":
            more.append(_named_only(key, key, about))
    found = [{"title": title, "boxes": boxes} for title, boxes in sections.items()]
    return [*found, {"title": "Not in this job yet", "boxes": [], "more": more}]


def _box(
    node: Node, text: str, field: str, key: str, about: Schema, mounts: tuple[str, ...] = (), *, required: bool
) -> Box:
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
            _box(below, text, f"{field}.{name}", name, known.get(name, named or {}), mounts, required=name in needed)
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
                    mounts,
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
    if typed in mounts and (named_mounts := _mounts_for(field, mounts)):
        return base | {"kind": "choice", "typed": typed, "words": named_mounts}
    # words that will do beside any other: they are offered, and anything can be typed
    return base | {"kind": "words", "typed": typed} | ({"words": words} if words else {})


def mounts_of(top: Node) -> tuple[str, ...]:
    """The names of the mounts of a spec, and `plate`, which carries bodies too."""
    mounts = (top.fields or {}).get("mounts")
    return (*((mounts.fields or {}) if mounts is not None else ()), "plate")


def _mounts_for(field: str, mounts: tuple[str, ...]) -> list[str]:
    """The mounts that a field may name; none where it names something else."""
    if A_MOUNT.search(field) is None:
        return []
    return [name for name in mounts if name != "plate" or field.endswith("carried_by")]


def _named_only(field: str, key: str, about: Schema) -> Box:
    """What could be added, by name; `blank` gives its boxes once it is wanted."""
    return {"field": field, "label": key.replace("_", " "), "about": _resolved(about, None).get("description", "")}


def _offer(field: str, key: str, about: Schema, mounts: tuple[str, ...] = ()) -> Box:
    """What can be added at a field: its words, and the boxes that must be filled in to add it."""
    about = _resolved(about, None)
    offer: Box = {"field": field, "label": key.replace("_", " "), "about": about.get("description", "")}
    offer["listed"] = listed(field)
    if about.get("type") == "boolean":
        return offer | {"kind": "yesno"}
    words = _words_of(about)
    if words and _only_words(about):
        return offer | {"kind": "choice", "words": words}
    if named := _mounts_for(field, mounts):
        return offer | {"kind": "choice", "words": named}
    if "oneOf" in about:
        # A place is said in several ways, by two figures or by a belt: each is offered with what it needs itself.
        kinds: list[Box] = []
        for one in about["oneOf"]:
            one = _resolved(one, None)
            said = one.get("description", "")
            if one.get("type") == "array":
                places = _places(key, one)
                kinds.append({"said": said or " and ".join(places), "kind": "list", "places": places})
            elif one.get("type") != "object":
                # a word of the language, such as `square`, or a figure in its place
                only = _words_of(one) if _only_words(one) else []
                kind = {"kind": "choice", "words": only} if only else {"kind": "words", "words": _words_of(one)}
                kinds.append({"said": said or " or ".join(only)} | kind)
            else:
                kinds.append({"said": said, "kind": "group"} | _needed("", one, mounts))
        return offer | {"kind": "one of", "kinds": kinds}
    if about.get("type") == "object":
        return offer | {"kind": "group"} | _needed(field, about, mounts)
    if about.get("type") == "array":
        return offer | {"kind": "list", "places": _places(key, about), "example": "[]"}
    return offer | {"kind": "words", "words": words}


def _places(key: str, about: Schema) -> list[str]:
    """What the places of a list of fixed length are called; none for any other list."""
    count = len(about.get("prefixItems", ()))
    return list(PLACES.get(key, ("x", "y")))[:count] if count in (2, len(PLACES.get(key, ()))) else []


def _needed(field: str, about: Schema, mounts: tuple[str, ...]) -> Box:
    """The boxes that a new group needs, one level of groups below it too.

    `kinds` are the keys of which exactly one is to be given, `others` those that may be.
    """
    if "patternProperties" in about:
        return {"named": True, "new": _offer(field, "", next(iter(about["patternProperties"].values())), mounts)}
    known, required = about.get("properties", {}), list(about.get("required", ()))
    join = f"{field}." if field else ""
    kinds = ONE_OF.get(about.get("$named", ""), ())

    def told(key: str) -> Box:
        return {"key": key, "about": _resolved(known[key], None).get("description", "")}

    return {
        "needed": [_offer(f"{join}{key}", key, known[key], mounts) for key in required],
        "kinds": [told(key) | {"with": list(WITH_KIND.get(key, ()))} for key in kinds],
        "others": [told(key) for key in known if key not in required and key not in kinds],
    }


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
        elif "prefixItems" in about and step.isdigit() and int(step) < len(about["prefixItems"]):
            about = about["prefixItems"][int(step)]
        elif "items" in about and step.isdigit():
            about = about["items"]
        else:
            raise PlatekitError(f"{field}: the language has no such key")
        node = None if node is None or node.fields is None else node.fields.get(step)
    return _offer(field, field.rpartition(".")[2], about, mounts_of(top))


def asked_for(edits: Sequence[Remedy], top: Node) -> list[Box]:
    """The boxes of what a finding asks for: one for each figure that only a person can say."""
    found: list[Box] = []

    def walk(field: str, value: Any) -> None:
        if isinstance(value, dict):
            for key, below in value.items():
                walk(f"{field}.{key}", below)
        elif isinstance(value, list):
            for k, below in enumerate(value):
                walk(f"{field}.{k}", below)
        elif value in (BLANK, BLANK_OUT):
            offer = blank(field, top)
            if field.rpartition(".")[2].isdigit():
                # a place in a list has no words of its own: those of the list, and which of its places it is
                above, _, place = field.rpartition(".")
                whole = blank(above, top)
                offer |= {"label": f"{whole['label']}, {whole['places'][int(place)]}", "about": whole["about"]}
            if value == BLANK_OUT:
                offer |= {"label": "stands out", "about": "How far, measured from the part's mounting face to its end."}
            found.append(offer | {"field": field})

    for edit in edits:
        walk(edit.field, edit.value)
    return found


def filled_in(edits: Sequence[Edit], typed: Mapping[str, Value]) -> list[Edit]:
    """The edits that a finding asks for, with what was typed, by field; raises PlatekitError where that is missing."""

    def put(field: str, value: Any) -> Any:
        if isinstance(value, dict):
            return {key: put(f"{field}.{key}", below) for key, below in value.items()}
        if isinstance(value, list):
            return [put(f"{field}.{k}", below) for k, below in enumerate(value)]
        if value not in (BLANK, BLANK_OUT):
            return value
        if field not in typed:
            raise PlatekitError(f"{field}: found an empty box; type a value")
        said = typed[field]
        if value == BLANK:
            return said
        return f"-{said}" if isinstance(said, str) else -said if isinstance(said, int | float) else said

    return [(field, put(field, value)) for field, value in edits]


def value_of(typed: str, kind: str) -> Value:
    """A value as the spec holds it, of what was typed in a box of a kind.

    A comma counts as the decimal point; `3/8 in` and words stay as typed, a bare fraction is of an inch; a list or
    group is read as the spec would.

    >>> value_of(" 12,5 ", "words"), value_of("3 1/4", "words"), value_of("[40, 0]", "list")
    (12.5, '3 1/4 in', [40, 0])

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
    # a rule's fraction is of an inch, whatever the unit of the job: nothing else in a spec is written so
    if kind == "words" and FRACTION.fullmatch(said):
        return f"{said} in"
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
        name = about["$ref"].rpartition("/")[2]
        below = {**language()["$defs"][name], "$named": name}
        # what stands beside a reference (its description above all) is nearer to the key than what it refers to
        about = {**below, **{key: value for key, value in about.items() if key != "$ref"}}
    # Which of several shapes is meant shows in what stands there. With nothing there a `oneOf` stays open, as whoever
    # adds it tells its shapes apart; an `anyOf` of groups is one value with a short form, and its first is taken.
    if "oneOf" in about and node is not None:
        kinds = [_resolved(one, None) for one in about["oneOf"]]
        fitting = [one for one in kinds if _fits(one, node)]
        if len(fitting) > 1 and node.scalar:
            # a word or a figure: the words are offered, and any figure can be typed
            return {"anyOf": fitting, "description": about.get("description", "")}
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


def _of_several() -> dict[str, tuple[str, ...]]:
    """The keys of which exactly one is to be given, by the name that the schema has for their group."""
    found: dict[str, tuple[str, ...]] = {}
    waiting = list(OneOf.__subclasses__())
    while waiting:
        kind = waiting.pop()
        found[kind.__name__] = kind.options()
        waiting += kind.__subclasses__()
    return found


ONE_OF: Final = _of_several()


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
