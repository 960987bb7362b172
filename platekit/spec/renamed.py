"""Keys of the spec that got the trade's name: what they were called before, and where.

A spec with an older key means what it always meant. Only what is *read* from the file changes its key, here and
nowhere else: the text stays as it was typed, problems call a key what the file calls it, and an edit goes into the
group that is there. All else in the program knows the better name alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from msgspec import Struct

from platekit.spec.source import Complaint, Node, Path


class Renamed(Struct, frozen=True):
    """A key below `above` (`*` is any name): what it was called, and what it is called."""

    above: tuple[str, ...]
    older: str
    better: str


RENAMED: Final = (
    Renamed(("mounts", "*"), "bolts", "screws"),
    Renamed(("plate", "outline"), "disc", "circle"),
    Renamed(("drive", "motor"), "light", "no_load"),
)
"""Every key that has an older name. The older one is read for ever: specs are kept as long as the machines."""


def renew(top: Node) -> list[Complaint]:
    """Gives every older key of a file its better name, in place; a complaint for each that stands there twice."""
    found = []
    for one in RENAMED:
        for path, node in _groups(top, one.above, ()):
            assert node.fields is not None
            assert node.keys is not None
            if one.older not in node.fields:
                continue
            if one.better in node.fields:
                wanted = f"keep `{one.better}`; they are two names of one thing"
                found.append(Complaint((*path, one.older), f"`{one.older}` beside `{one.better}`", wanted, at_key=True))
                continue
            # In place and in order: the groups above hold the same data, and problems come in the order of the file.
            for holder in (node.fields, node.keys, node.data):
                _rename(holder, one)
    return found


def newer_path(path: Path) -> Path:
    """A path by the better names, whoever wrote it: an acceptance, a program, a user of `sweep`.

    >>> newer_path(("mounts", "motor", "bolts", "fit"))
    ('mounts', 'motor', 'screws', 'fit')
    """
    steps = list(path)
    for one in RENAMED:
        at = len(one.above)
        if (
            len(steps) > at
            and steps[at] == one.older
            and all(step in ("*", own) for step, own in zip(one.above, path[:at], strict=True))
        ):
            steps[at] = one.better
    return tuple(steps)


def by_older_names(meaning: Any) -> Any:
    """Plain data of a model under the older keys.

    The revision mark is made of these: a better name for a key leaves the meaning as it was, and the mark with it.
    """
    for one in RENAMED:
        groups = [meaning]
        for step in one.above:
            held = [group for group in groups if isinstance(group, dict)]
            groups = [
                below for group in held for below in (group.values() if step == "*" else [group.get(step)]) if below
            ]
        for group in groups:
            if isinstance(group, dict) and one.better in group:
                _rename(group, Renamed(one.above, one.better, one.older))
    return meaning


def _groups(node: Node, above: tuple[str, ...], path: Path) -> Iterator[tuple[Path, Node]]:
    """The groups of a file at the places `above`, each with its own path."""
    if node.fields is None:
        return
    if not above:
        yield path, node
        return
    for name in list(node.fields) if above[0] == "*" else [above[0]]:
        below = node.fields.get(name)
        if below is not None:
            yield from _groups(below, above[1:], (*path, name))


def _rename(holder: dict[str, Any], one: Renamed) -> None:
    kept = {(one.better if key == one.older else key): value for key, value in holder.items()}
    holder.clear()
    holder.update(kept)


GAINED: Final[dict[str, object]] = {
    "couplings": {},
    "current": None,
    "dowels": None,
    "guarded": None,
    "second_guard": None,
    "heads_on": None,
    "largest_bore": None,
    "layer": None,
    "on": None,
    "sketch": {},
    "spacers": None,
    "stands": None,
    "stock": None,
    "turns": None,
    "tabs": {},
    "feet": None,
    "waist": None,
    "lighten": None,
    "lug": None,
}
"""Keys that the language gained after marks were printed, and what they are where nobody says them. A new key
is one line here: sheets that hang in a shop are of the same plate as before."""


GAINED_THERE: Final[dict[tuple[str, ...], object]] = {("plate", "flange"): None}
"""The same of keys that older specs had elsewhere, as the flange of a screw: with where they are new."""


def without_gained(meaning: Any, path: tuple[str, ...] = ()) -> Any:
    """The meaning of a spec (mm, rad) without the keys that it would not have had before the language gained them."""
    match meaning:
        case dict():
            said = {key: value for key, value in meaning.items() if key not in GAINED or value != GAINED[key]}
            return {
                key: without_gained(value, (*path, key))
                for key, value in said.items()
                if (*path, key) not in GAINED_THERE or value != GAINED_THERE[*path, key]
            }
        case list():
            return [without_gained(value) for value in meaning]
    return meaning
