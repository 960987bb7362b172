"""Changing one value in the text of a spec; all else, comments and layout included, stays as it was typed."""

from __future__ import annotations

import json
import re
from typing import Any, Final

from platekit.errors import PlatekitError, SpecError
from platekit.spec.renamed import newer_path, renew
from platekit.spec.source import MAX_DIGITS, Node, Path, child, path_of, read, source_of

Value = bool | int | float | str | list[Any] | dict[str, Any]

_PLAIN: Final = re.compile(r"[A-Za-z][A-Za-z0-9_./-]*(?: [A-Za-z0-9_./-]+)*|[0-9][0-9./-]* ?[a-z]+")
_SPECIAL: Final = frozenset({"true", "false", "null", "yes", "no", "on", "off", "y", "n"})


def with_value(text: str, field_path: str, value: Value) -> str:
    r"""The text of a spec with one value set, or added where it is not yet there.

    `field_path` is dotted (`plate.cutouts.cable.circle.diameter`); figures are positions in lists, and the
    position after the last adds to the list. Groups on the way are made as needed. A bare number is in the
    spec's own unit.

    >>> with_value("plate: {thickness: 10}  # as bought", "plate.thickness", 12.5)
    'plate: {thickness: 12.5}  # as bought'
    >>> with_value("plate:\n  thickness: 10\n", "plate.outline.wrap.margin", "auto")
    'plate:\n  thickness: 10\n  outline: {wrap: {margin: auto}}\n'

    Raises SpecError when the text is no usable YAML, PlatekitError when the value has no place of its own.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text.removeprefix(mark)
    top = _read(body)
    path = newer_path(path_of(field_path, top))
    if not path:
        raise PlatekitError("found no field to change; name one, such as plate.thickness")
    holder, depth = _deepest(top, path)
    rest = path[depth:]
    if not rest:
        # A value in brackets, or a single one, is replaced where it stands. A group over several lines is replaced
        # from its colon on, as what takes its place may be one word.
        parent, _ = _deepest(top, path[:-1])
        start, end = holder.start, holder.last
        if not holder.flow and parent.keys is not None:
            start = body.index(":", parent.keys[str(path[-1])].end) + 1
            changed = f"{body[:start]} {written(value)}{body[end:]}"
        else:
            end = start + len(body[start:end].rstrip("\r\n"))
            changed = f"{body[:start]}{written(value)}{body[end:]}"
    elif holder.keys is None and holder.items is None:
        where = ".".join(str(step) for step in path[:depth])
        raise PlatekitError(f"{where}: found a single value; give keys below it before adding {rest[0]}")
    else:
        changed = _added(body, holder, rest[0], _nested(rest[1:], value))
    # Read again, whatever was done: a value that an alias shares is changed in two places at once, and only the data
    # that come out tell.
    result, problems = read(source_of(changed, "spec"))
    if result is not None:
        renew(result)
    if result is None or problems or result.data != data_with(top.data, path, value):
        raise PlatekitError(f"{field_path}: found a value shared by an alias (*name); write it out, then change it")
    return mark + changed


def with_list_begun(text: str, field: str, first: Value) -> str:
    """The text with a list that has one row so far: on a line of its own, where its group is written so.

    Rows that follow (`with_value` at the next place) get lines of their own then. Raises as `with_value` does.
    """
    changed, key = with_value(text, field, [first]), field.rpartition(".")[2]
    line = re.search(rf"^([ ]+){re.escape(key)}: {re.escape(written([first]))}$", changed, re.MULTILINE)
    if line is None:
        return changed
    end = "\r\n" if "\r\n" in text else "\n"
    return f"{changed[: line.start()]}{line[1]}{key}:{end}{line[1]}  - {written(first)}{changed[line.end() :]}"


def with_rows(text: str, field: str, at: int, rows: list[Value]) -> str:
    """The text with rows put behind the `at` that a list has; it has one at least. Raises as `with_value` does.

    Rows on lines of their own are written at once and looked at once: reading a long spec takes a tenth of a second.
    """
    if not rows:
        return text
    changed = with_value(text, f"{field}.{at}", rows[0])
    line = re.compile(rf"^([ ]*- ){re.escape(written(rows[0]))}[ ]*$", re.MULTILINE)
    lines = list(line.finditer(changed))
    if len(lines) == 1:
        end = "\r\n" if "\r\n" in text else "\n"
        more = "".join(f"{end}{lines[0][1]}{written(row)}" for row in rows[1:])
        whole = changed[: lines[0].end()] + more + changed[lines[0].end() :]
        mark = "\ufeff" if whole.startswith("\ufeff") else ""
        before, after = (_read(one.removeprefix(mark)) for one in (changed, whole))
        data = before.data
        for k, row in enumerate(rows[1:], at + 1):
            data = data_with(data, newer_path(path_of(f"{field}.{k}", before)), row)
        if after.data == data:
            return whole
    for k, row in enumerate(rows[1:], at + 1):
        changed = with_value(changed, f"{field}.{k}", row)
    return changed


def without_value(text: str, field_path: str) -> str:
    r"""The text of a spec with one value and its key taken out; a group that it leaves empty goes with it.

    >>> without_value("plate: {thickness: 10, up: 90 deg}  # as bought", "plate.up")
    'plate: {thickness: 10}  # as bought'
    >>> without_value("readings:\n  - [A, B, 12]  # twice\n  - [B, C, 13]\n", "readings.0")
    'readings:\n  - [B, C, 13]\n'

    Raises SpecError when the text is no usable YAML, PlatekitError when nothing stands there.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text.removeprefix(mark)
    top = _read(body)
    path = newer_path(path_of(field_path, top))
    node, depth = _deepest(top, path)
    if not path or depth < len(path):
        raise PlatekitError(f"{field_path}: found nothing there to take out")
    parent, _ = _deepest(top, path[:-1])
    if len(path) > 1 and len(parent.items if parent.items is not None else parent.fields or {}) == 1:
        return mark + without_value(body, field_path.rpartition(".")[0])
    # What must come out of reading the changed text again: the check that the edit did that and no more.
    wanted = _data_without(top.data, path)
    # The text without an entry: in braces or brackets with one comma beside it, else with all of its lines.
    step = path[-1]
    start = parent.keys[str(step)].start if parent.keys is not None else node.start
    if parent.flow:
        end = node.end if node.flow else node.last
        end = start + len(body[start:end].rstrip("\r\n"))
        after = re.compile(r"\s*,[ \t]*").match(body, end)
        if after is not None:
            changed = body[:start] + body[after.end() :]
        else:
            before = re.compile(r",\s*\Z").search(body[:start])
            changed = body[: before.start() if before is not None else start] + body[end:]
    else:
        # All lines of the entry with its remarks, but none of its neighbours'.
        first = max(body.rfind("\n", 0, start), body.rfind("\r", 0, start)) + 1
        last = _line_end(body, node.last)
        line_break = re.compile(r"\r\n|\r|\n").match(body, last)
        changed = body[:first] + body[line_break.end() if line_break is not None else last :]
    result, problems = read(source_of(changed, "spec"))
    if result is not None:
        renew(result)
    if result is None or problems or result.data != wanted:
        # Written in a way that no cut of lines or commas fits, such as a group that begins behind a dash: the group
        # round it is written anew, which costs the comments inside it and nothing else.
        if len(path) == 1:
            raise PlatekitError(f"{field_path}: cannot be taken out by itself here; take it out of the file by hand")
        return mark + with_value(body, field_path.rpartition(".")[0], _data_without(top.data, path, path[:-1]))
    return mark + changed


def has_value(text: str, field_path: str) -> bool:
    """Whether the text of a spec says something at a field; raises as `with_value` does for one that is no spec."""
    top = _read(text.removeprefix("\ufeff"))
    path = newer_path(path_of(field_path, top))
    return _deepest(top, path)[1] == len(path)


def _data_without(data: Any, path: Path, of: Path = ()) -> Any:
    """Plain data without the value at the path; `of` gives the part of it that stands there."""
    for step in of:
        data = data[int(step)] if isinstance(data, list) else data[str(step)]
    path = path[len(of) :]
    step, rest = path[0], path[1:]
    if isinstance(data, list):
        at = int(step)
        return [*data[:at], *([_data_without(data[at], rest)] if rest else []), *data[at + 1 :]]
    if rest:
        return {**data, str(step): _data_without(data[str(step)], rest)}
    return {key: value for key, value in data.items() if key != str(step)}


def _read(text: str) -> Node:
    top, problems = read(source_of(text, "spec"))
    if top is None or problems:
        raise SpecError(tuple(problems))
    renew(top)
    return top


def _deepest(top: Node, path: Path) -> tuple[Node, int]:
    """The last node on the way that is there, and how many steps lead to it."""
    node = top
    for depth, step in enumerate(path):
        below = child(node, step)
        if below is None:
            return node, depth
        node = below
    return node, len(path)


def _added(text: str, holder: Node, step: str | int, value: Value) -> str:
    # Behind the last thing that is there, in the way that the group is written: after a comma in brackets, else on a
    # line of its own at the group's own indentation, below comments that stand behind its last value.
    inner = holder.items if holder.items is not None else list((holder.fields or {}).values())
    if holder.items is not None and step != len(holder.items):
        raise PlatekitError(f"found a list of {len(holder.items)}; the next position in it is {len(holder.items)}")
    entry = written(value) if holder.items is not None else f"{written(str(step))}: {written(value)}"
    if not inner:
        return f"{text[: holder.start + 1]}{entry}{text[holder.end - 1 :]}"
    last = holder.last if not holder.flow else max(node.last for node in inner)
    if holder.flow:
        return f"{text[:last]}, {entry}{text[last:]}"
    # Behind a remark at the end of that line, which belongs to what stands there.
    end = _line_end(text, last)
    dash = "- " if holder.items is not None else ""
    # As the file has its line breaks, so that a comparison of two states shows the one line that changed.
    newline = "\r\n" if "\r\n" in text else "\n"
    return f"{text[:end]}{newline}{' ' * holder.column}{dash}{entry}{text[end:]}"


def _line_end(text: str, index: int) -> int:
    """Where the line of a character ends, its line break left out."""
    index -= len(text[:index]) - len(text[:index].rstrip("\r\n"))
    found = re.compile(r"\r|\n|\Z").search(text, index)
    return found.start() if found else len(text)


def _nested(rest: Path, value: Value) -> Value:
    for step in reversed(rest):
        value = [value] if step == "0" else {str(step): value}
    return value


def data_with(data: Any, path: Path, value: Value) -> Any:
    """A copy of plain data with the value at the path."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(data, list) and isinstance(step, int):
        below = data_with(data[step], rest, value) if step < len(data) else _nested(rest, value)
        return [*data[:step], below, *data[step + 1 :]]
    if not isinstance(data, dict):
        return _nested(path, value)
    below = data_with(data[str(step)], rest, value) if str(step) in data else _nested(rest, value)
    return {**data, str(step): below}


def written(value: Value) -> str:
    """A value as it is written inside a line of a spec.

    >>> written({"at": [10.0, -2.5], "size": "3/8-16", "note": "no: 1", "washer": True})
    '{at: [10, -2.5], size: "3/8-16", note: "no: 1", washer: true}'
    """
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case float():
            # As short as it reads back the same: 12.5 and not 12.500000000000002, unless that is what it is.
            short = f"{value:.10f}".rstrip("0").rstrip(".")
            return short if float(short) == value and len(short) <= MAX_DIGITS else repr(value)
        case str():
            plain = _PLAIN.fullmatch(value) is not None and value.lower() not in _SPECIAL
            if plain:
                return value
            # in double quotes, signs that cannot be seen as their numbers
            quoted = json.dumps(value, ensure_ascii=False)
            return "".join(sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in quoted)
        case list():
            return f"[{', '.join(written(item) for item in value)}]"
        case dict():
            # the language has a key that other readers of YAML would take for yes or no: on
            keys = ((key if key == "on" else written(str(key)), item) for key, item in value.items())
            return "{" + ", ".join(f"{key}: {written(item)}" for key, item in keys) + "}"
