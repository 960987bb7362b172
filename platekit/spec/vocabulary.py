"""What the spec language allows where: keys, choices, and the nearest word to a wrong one."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from functools import cache
from itertools import takewhile
from typing import Any, Final

from platekit.spec.schema import Schema, alternatives, language_schema
from platekit.spec.source import Path, dotted_path

NEAR: Final = 0.7
"""Likeness (0 to 1) from which a word is taken for a slip of the other (ours, tried on common slips)."""
OTHER_WORDS: Final = {
    "radius": ("diameter", "twice the radius"),
    "dia": ("diameter", ""),
    "pcd": ("diameter", "that of the bolt circle"),
    "bcd": ("diameter", "that of the bolt circle"),
    "bolt_circle": ("diameter", "that of the bolt circle"),
    "rotation": ("turn", ""),
    "rotate": ("turn", ""),
    "angle": ("turn", ""),
    "position": ("at", ""),
    "center": ("at", ""),
    "centre": ("at", ""),
    "register": ("pilot", ""),
    "spigot": ("pilot", ""),
    "bolt": ("screws", ""),
    "fasteners": ("screws", ""),
    "disk": ("circle", ""),
    "holes": ("points", "the [x, y] of each"),
    "spacing": ("width", "centre to centre"),
    "depth": ("height", ""),
    "clearance": ("gap", ""),
}
"""What people call a key of ours (common practice), with what to mind; used only where ours is allowed."""


def keys_at(path: Path) -> dict[str, Schema]:
    """The keys that a spec may have below a path, each with its schema; none for names of one's own.

    >>> list(keys_at(("cutting",)))[:3]
    ['process', 'kerf', 'position']
    """
    found: dict[str, Schema] = {}
    for schema in _schemas_at(path):
        # A value may be written in several ways (a word, a group): the keys of all of them may stand there.
        found.update(schema.get("properties", {}))
    return found


def choices_at(path: Path) -> tuple[str, ...]:
    """The fixed words that may stand at a path, in the order of the language.

    >>> choices_at(("mounts", "motor", "side"))
    ('near', 'far')
    """
    words: list[str] = []
    for schema in _schemas_at(path):
        words += [str(word) for word in schema.get("enum", [])]
        if "const" in schema:
            words.append(str(schema["const"]))
    return tuple(words)


def meaning_at(path: Path) -> str:
    """What the key at a path means, as an editor shows it; empty if it has no meaning of its own.

    >>> meaning_at(("plate", "thickness"))
    'Thickness of the plate.'
    """
    if not path:
        return ""
    entry = keys_at(path[:-1]).get(str(path[-1]), {})
    said = (one["description"] for one in alternatives(language_schema(), entry) if "description" in one)
    return str(next(said, ""))


def homes(key: str) -> tuple[Path, ...]:
    """The paths under which a key may stand; `*` is a name of the user's own or a position in a list.

    >>> homes("kerf")
    (('cutting',),)
    """
    return _all_homes().get(key, ())


def nearest(word: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """The words most like a given one, best first; empty if none is like it.

    >>> nearest("nromal", ("close", "normal", "loose"))
    ('normal',)
    """
    # Of words equally alike the one that begins alike is meant: slips come late in a word. Cut at 80, as the likeness
    # of long texts takes the product of their lengths.
    known = {other.lower(): other for other in words}
    given = word.lower()[:80]
    like = difflib.get_close_matches(given, list(known), n=4, cutoff=NEAR)
    like.sort(
        key=lambda other: sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(given, other, strict=False))),
        reverse=True,
    )
    return tuple(known[other] for other in like)


def meant_by(path: Path) -> str | None:
    """The key of ours that a wrong key most likely stands for, at its own place; None if there is none.

    >>> meant_by(("plate", "thicknes")), meant_by(("plate", "cutouts", "cable", "circle", "radius"))
    ('thickness', 'diameter')
    """
    *above, last = path
    allowed, key = tuple(keys_at(tuple(above))), str(last)
    other = OTHER_WORDS.get(key.lower(), ("", ""))[0]
    if other in allowed:
        return other
    return next(iter(nearest(key, allowed)), None)


def advice_for_key(path: Path) -> str:
    """What to do about a key that is not in the language: path and key, the key last.

    The nearest allowed key; or else where the key belongs; or else all that is allowed.

    >>> advice_for_key(("mounts", "motor", "screws", "sise"))
    'write `size`'
    >>> advice_for_key(("mounts", "motor", "kerf"))
    'it belongs under `cutting`'
    """
    *above, last = path
    parent, key = tuple(above), str(last)
    allowed = tuple(keys_at(parent))
    # A key of the language in the wrong place is told its own place before any word like it is thought of; of several
    # places the one nearest to where it stands. What people call a key of this very place is meant here, though the
    # language has the word elsewhere.
    places = homes(key)
    if places and OTHER_WORDS.get(key.lower(), ("", ""))[0] not in allowed:
        # Of several homes the one that shares the longest way with where the key stands is meant most likely.
        here = min(places, key=lambda home: (-_shared(home, parent), len(home)))
        where = dotted_path(tuple(str(own) if step == "*" else str(step) for step, own in _beside(here, parent)))
        return f"it belongs under `{where}`" if where else "it belongs at the outermost level, without indentation"
    ours = meant_by(path)
    if ours is not None:
        other, note = OTHER_WORDS.get(key.lower(), ("", ""))
        return f"write `{ours}`, {note}" if note and other == ours else f"write `{ours}`"
    return "use " + listed(allowed) if allowed else "take it out"


def listed(words: tuple[str, ...], last: str = "or") -> str:
    """Words in a row, as a sentence has them.

    >>> listed(("close", "normal", "loose"))
    'close, normal or loose'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def _shared(home: Path, path: Path) -> int:
    count = 0
    for step, own in zip(home, path, strict=False):
        if step not in ("*", own):
            break
        count += 1
    return count


def _beside(home: Path, path: Path) -> Iterator[tuple[str | int, str | int]]:
    """Each step of a home with the user's own name for it, as far as the two paths agree."""
    same = _shared(home, path)
    for index, step in enumerate(home):
        yield step, path[index] if index < same else "NAME"


def _schemas_at(path: Path) -> list[Schema]:
    root = language_schema()
    here = alternatives(root, root)
    for step in path:
        below = [schema for one in here for schema in _below(one, step)]
        here = [alternative for schema in below for alternative in alternatives(root, schema)]
    return here


def _below(schema: Schema, step: str | int) -> Iterator[Schema]:
    named = schema.get("properties", {})
    if isinstance(step, str) and step in named:
        yield named[step]
    elif isinstance(step, str) and isinstance(schema.get("additionalProperties"), dict):
        yield schema["additionalProperties"]
    elif isinstance(step, str):
        yield from schema.get("patternProperties", {}).values()
    elif isinstance(schema.get("items"), dict):
        yield schema["items"]
    elif step < len(schema.get("prefixItems", [])):
        yield schema["prefixItems"][step]


@cache
def _all_homes() -> dict[str, tuple[Path, ...]]:
    collected: dict[str, list[Path]] = {}
    _collect(language_schema(), (), collected)
    return {key: tuple(paths) for key, paths in collected.items()}


def _collect(schema: Schema, path: Path, into: dict[str, list[Path]]) -> None:
    for one in alternatives(language_schema(), schema):
        for key, below in one.get("properties", {}).items():
            if path not in into.setdefault(key, []):
                into[key].append(path)
            _collect(below, (*path, key), into)
        others: list[Any] = list(one.get("patternProperties", {}).values())
        for below in (one.get("additionalProperties"), one.get("items"), *others):
            if isinstance(below, dict):
                _collect(below, (*path, "*"), into)
