"""Calling a measured hole or edge otherwise, wherever a spec names it; all else stays as it was typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from platekit.errors import PlatekitError, SpecError
from platekit.spec.editing import written
from platekit.spec.measured_words import ReadingKind
from platekit.spec.source import Node, Path, node_at, read, source_of

LISTS = ("clockwise", "x_axis", "on_circle", "rectangle", "edges")
"""Keys of a measured pattern that list names."""


def with_name(text: str, mount: str, old: str, new: str) -> str:
    r"""The text of a spec with a hole or edge of a mount's measured pattern called `new`.

    >>> with_name("mounts: {m: {pattern: {measured: {holes: {A: 9}, origin: A}}}}", "m", "A", "E")
    'mounts: {m: {pattern: {measured: {holes: {E: 9}, origin: E}}}}'

    Raises SpecError when the text is no usable YAML, PlatekitError where an alias shares what would change.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text.removeprefix(mark)
    top, problems = read(source_of(body, "spec"))
    if top is None or problems:
        raise SpecError(tuple(problems))
    # the last place first, so that those before it stay where they are
    for start, end, name in sorted(set(_places(body, top, mount, old, new)), reverse=True):
        body = body[:start] + written(name) + body[end:]
    after, problems = read(source_of(body, "spec"))
    if after is None or problems or any(True for _ in _places(body, after, mount, old, new)):
        raise PlatekitError(f"{old}: cannot be called otherwise here; change it in the spec itself")
    return mark + body


def _places(body: str, top: Node, mount: str, old: str, new: str) -> Iterator[tuple[int, int, str]]:
    """Where the name stands: from, to, and what is to stand there."""
    field: Path = ("mounts", mount, "pattern", "measured")

    def named(node: Node | None, found: str, put: str) -> Iterator[tuple[int, int, str]]:
        if node is not None and node.scalar and isinstance(node.data, str) and node.data == found:
            yield node.start, node.start + len(body[node.start : node.end].rstrip()), put

    for group in ("holes", "sketch"):
        holder = node_at(top, (*field, group))
        if holder is not None and holder.keys is not None and old in holder.keys:
            key = holder.keys[old]
            yield key.start, key.end, new
    readings = node_at(top, (*field, "readings"))
    for reading in () if readings is None else readings.items or ():
        # The third place tells whether one name or two stand before the kind, as the reader of readings has it.
        parts = reading.items or []
        pair = len(parts) > 2 and parts[2].data in get_args(ReadingKind)
        for part in parts[: 2 if pair else 1]:
            yield from named(part, old, new)
    for word in LISTS:
        listed = node_at(top, (*field, word))
        for one in () if listed is None else listed.items or ():
            yield from named(one, old, new)
    yield from named(node_at(top, (*field, "origin")), old, new)
    # What was accepted names the hole of its mount.
    accepted = node_at(top, ("accept",))
    for entry in () if accepted is None else accepted.items or ():
        feature = node_at(entry, ("feature",))
        for one in (feature, *(() if feature is None else feature.items or ())):
            yield from named(one, f"{mount}.{old}", f"{mount}.{new}")
