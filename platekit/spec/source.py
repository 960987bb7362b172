"""The text of a spec as plain data, each value with the place where it stands.

Vocabulary
    node      one value of the file: its data, its place, and if it is a group or a list, what is in it
    key       the text before a colon, and its place
    path      the keys and positions that lead to a node: ("mounts", "motor", "screws")
    place     line, column (both from 0 here, from 1 in a Problem) and how many characters are meant
    budget    the stated limits that keep a hostile file from filling memory or time

The file is read event by event, which is faster than building the library's own trees, and lets one pass find
several problems: duplicate keys, keys that are not text, tags, merge keys, values left out.
"""

from __future__ import annotations

import math
import re
import threading
from collections.abc import Iterator
from itertools import islice, pairwise
from typing import Any, Final

from msgspec import Struct, field
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from platekit.errors import Problem
from platekit.spec.syntax import syntax_advice
from platekit.units import shown

Path = tuple[str | int, ...]

MAX_BYTES: Final = 2_000_000
"""Largest file, bytes (ours): some 80,000 points; a usual spec has a hundred lines."""
MAX_VALUES: Final = 200_000
"""Most values in a file (ours): 50,000 points with their two figures each, and a quarter more."""
MAX_DEPTH: Final = 32
"""Deepest nesting (ours); the language itself goes down to 8."""
MAX_REPEATED: Final = 10_000
"""Most values that aliases (`*name`) may repeat in all (ours); stops a file that multiplies itself."""
MAX_SHOWN: Final = 40
"""Longest name in a message, characters (ours)."""
MAX_KEY: Final = 1024
"""Longest key, characters (P: YAML 1.2, chapter 7.4.2)."""
MAX_DIGITS: Final = 40
"""Longest number, characters (ours)."""
MAX_PROBLEMS: Final = 100
"""Most problems listed one by one (ours); nobody reads further before correcting these."""

START: Final = "start it with `platekit: 1`, or let `platekit new` write one"
"""What to do about an empty spec."""
_LINE_END: Final = re.compile(r"\r\n|\n|\r")
_UNPRINTABLE: Final = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
_UNPRINTABLE_ASCII: Final = r"[^\t\n\r\x20-\x7e]"
"""The same for text of ASCII signs only: the pattern for all signs takes long to put together."""
_DIRECTIVE: Final = re.compile(r"((?:[ \t]*(?:#[^\r\n]*)?(?:\r\n|\n|\r))*)(%(?:YAML|TAG)\b[^\r\n]*)")
"""What comes first in a file, if it is a line for readers of YAML."""
_HALF: Final = re.compile("[\ud800-\udfff]")
"""Half of a sign: only an escape can write it."""
_NO_SIGN: Final = re.compile(r"\\U(?!000[0-9A-Fa-f]|0010)[0-9A-Fa-f]{8}")
"""An escape beyond the last sign that there is."""
_INTEGER: Final = re.compile(r"[-+]?[0-9]+", re.ASCII)
_DECIMAL: Final = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?", re.ASCII)
_DECIMAL_COMMA: Final = re.compile(r"[0-9]+,[0-9]+$", re.ASCII)
_WORDS: Final[dict[str, object]] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf", "+.Inf", "+.INF"), math.inf),
    **dict.fromkeys(("-.inf", "-.Inf", "-.INF"), -math.inf),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), math.nan),
}


class Key(Struct, frozen=True):
    """The text before a colon and where it stands; `start` and `end` count characters from the top."""

    text: str
    line: int
    column: int
    length: int
    start: int
    end: int


class Node(Struct):
    """One value of the file; `keys` and `fields` belong to a group, `items` to a list.

    `size` is how many values it stands for, those repeated by aliases counted each time. `flow` says that it
    is written in brackets or braces, or is a single value; `spoilt` that a problem was told about it already.
    """

    data: Any
    line: int
    column: int
    length: int
    start: int
    end: int
    flow: bool = True
    keys: dict[str, Key] | None = None
    fields: dict[str, Node] | None = None
    items: list[Node] | None = None
    size: int = 1
    depth: int = 1
    spoilt: bool = False

    @property
    def scalar(self) -> bool:
        """Whether it is one value, neither group nor list."""
        return self.fields is None and self.items is None

    @property
    def brief(self) -> bool:
        """Whether it can be pointed at as a whole: one value, or a list in brackets on one line."""
        return self.scalar or (self.items is not None and self.flow and self.length > 1)

    @property
    def last(self) -> int:
        """Where its text ends, comments behind it left aside; characters from the file's start."""
        if self.flow:
            return self.end
        inner = self.items if self.items is not None else list((self.fields or {}).values())
        return max((node.last for node in inner), default=self.end)


class Complaint(Struct, frozen=True):
    """Something wrong at a path. `at_key`: the key is meant; `missing`: that the key is not there."""

    path: Path
    found: str
    wanted: str
    at_key: bool = False
    missing: bool = False


def child(node: Node, step: str | int) -> Node | None:
    """The node one step below, or None."""
    if node.fields is not None:
        return node.fields.get(str(step))
    if node.items is not None and isinstance(step, int) and 0 <= step < len(node.items):
        return node.items[step]
    return None


class SourceText(Struct, frozen=True):
    """A file's name, its text, and the text as lines; makes the problems that point into it."""

    name: str
    text: str
    lines: tuple[str, ...]

    def at(self, place: Key | Node | None, path: Path, found: str, wanted: str) -> Problem:
        """The problem at a key or node; None: about the file as a whole."""
        if place is None:
            return Problem(self.name, 0, 0, dotted_path(path), found, wanted)
        return self.spot(place.line, place.column, place.length, path, found, wanted)

    def spot(self, line: int, column: int, length: int, path: Path, found: str, wanted: str) -> Problem:
        """The problem at a line and column, both from 0."""
        text = self.lines[line] if line < len(self.lines) else ""
        plain = text if text.isprintable() else "".join(sign if sign.isprintable() else " " for sign in text)
        kept = max(1, min(length, len(text) - column))
        return Problem(self.name, line + 1, column + 1, dotted_path(path), found, wanted, plain, kept)

    def index(self, index: int, found: str, wanted: str) -> Problem:
        """The problem at a character, counted from the file's start."""
        before = _LINE_END.split(self.text[:index])
        return self.spot(len(before) - 1, len(before[-1]), 1, (), found, wanted)


def source_of(text: str, name: str) -> SourceText:
    """The source of a text."""
    return SourceText(name, text, tuple(_LINE_END.split(text)))


def located(source: SourceText, top: Node, complaint: Complaint) -> Problem:
    """The problem of a complaint, with its place in the file."""
    spot = spot_of(top, complaint.path, at_key=complaint.at_key)
    # The path by the keys that the file has, where it has an older name of one.
    typed: list[str | int] = []
    node: Node | None = top
    for step in complaint.path:
        key = node.keys.get(str(step)) if node is not None and node.keys is not None else None
        typed.append(step if key is None else key.text)
        node = child(node, step) if node is not None else None
    return source.at(spot, tuple(typed), complaint.found, complaint.wanted)


def spot_of(top: Node, path: Path, *, at_key: bool = False) -> Key | Node:
    """Where to point for a path: at its key, or if that is not in the file, at the nearest key above it.

    A single value or a list on one line is pointed at itself, a group or longer list at its key, and what the
    file lacks as a whole at the file's first key.
    """
    # As far down as the file goes: what is missing is pointed at by the key that should hold it.
    node = top
    spot: Key | Node = next(iter(top.keys.values()), top) if top.keys else top
    for step in path:
        below = child(node, step)
        if below is None:
            break
        key = node.keys.get(str(step)) if node.keys is not None else None
        spot = below if key is None or (below.brief and not at_key) else key
        node = below
    return spot


def node_at(top: Node, path: Path) -> Node | None:
    """The node at a path, or None."""
    node: Node | None = top
    for step in path:
        node = child(node, step) if node is not None else None
    return node


def path_of(field_path: str, top: Node) -> Path:
    """A dotted field as a path; figures are positions where the file has a list."""
    path: list[str | int] = []
    node: Node | None = top
    for step in field_path.split(".") if field_path else []:
        listed = step.isdecimal() and node is not None and node.items is not None
        path.append(int(step) if listed else step)
        node = child(node, path[-1]) if node is not None else None
    return tuple(path)


def dotted_path(path: Path) -> str:
    """A path as a person writes it.

    >>> dotted_path(("mounts", "motor", "pattern", "points", 0))
    'mounts.motor.pattern.points.0'
    """
    return ".".join(readable(str(step)) for step in path)


def readable(text: str) -> str:
    """A key or name as it can stand in a message: short, and without signs that cannot be seen.

    >>> readable("screws"), readable("a" * 50)
    ('screws', 'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa...')
    """
    seen = "".join(sign if sign.isprintable() else "?" for sign in text)
    return seen if len(seen) <= MAX_SHOWN else f"{seen[: MAX_SHOWN - 3]}..."


def read(source: SourceText, start: str = START) -> tuple[Node | None, list[Problem]]:
    """The top node of a file, and every problem of its writing; `start` is what would do where it is empty.

    The node is None when the text cannot be read as a whole; the problems then say why. It may be there along
    with problems, so that what is wrong in its contents can be told in the same breath.
    """
    hindrance = _unreadable(source)
    if hindrance:
        return None, hindrance
    builder = _Builder(source)
    try:
        for event in _events(source.text):
            builder.take(event)
    except MarkedYAMLError as error:
        # What the library could not parse, in words of a shop, where it gave up or else where what it was in began.
        mark = error.problem_mark or error.context_mark
        opened = error.context_mark.line + 1 if error.context_mark else 0
        line, column = (mark.line, mark.column) if mark else (0, 0)
        found, wanted = syntax_advice(str(error.problem or ""), str(error.context or ""), opened)
        if column > MAX_KEY and "mapping values" in str(error.problem):
            found, wanted = f"a key of more than {MAX_KEY} characters", "give it a shorter name"
        builder.problems.append(source.spot(line, column, 1, (), found, wanted))
        return None, builder.problems
    except _Unread as broken:
        # The library failed on what follows the last event: an escape that names no sign, as far as is known.
        escape = _NO_SIGN.search(source.text, broken.read_to)
        if escape is not None:
            builder.problems.append(
                source.index(escape.start(), f"{escape[0]}, which names no sign", "write the sign itself")
            )
        else:
            begin = broken.read_to + len(source.text[broken.read_to :]) - len(source.text[broken.read_to :].lstrip())
            builder.problems.append(source.index(min(begin, max(len(source.text) - 1, 0)), *syntax_advice("", "", 0)))
        return None, builder.problems
    except _GivenUp as stop:
        builder.problems.append(stop.problem)
        return None, builder.problems
    if builder.top is None or (builder.top.scalar and builder.top.data is None):
        builder.problems.append(source.at(None, (), "an empty file", start))
        return None, builder.problems
    return builder.top, builder.problems


def _unreadable(source: SourceText) -> list[Problem]:
    if len(source.text) > MAX_BYTES:
        found = f"a text of {len(source.text) / 1e6:.1f} MB"
        return [source.at(None, (), found, f"a spec is at most {MAX_BYTES / 1e6:.0f} MB")]
    directive = _DIRECTIVE.match(source.text)
    if directive and directive[2].split() != ["%YAML", "1.2"]:
        line = readable(directive[2].rstrip())
        found, which = (f"YAML {line[6:]}", "the %YAML line") if line.startswith("%YAML ") else (f"{line}", "the line")
        return [source.index(directive.start(2), found, f"take out {which}; a spec is YAML 1.2")]
    strange = re.search(_UNPRINTABLE_ASCII if source.text.isascii() else _UNPRINTABLE, source.text)
    if strange:
        found = f"a control character (U+{ord(strange[0]):04X})"
        return [source.index(strange.start(), found, "take it out; a spec is plain text")]
    # The library speaks of a tab in a way that nobody understands; all of them are told at once, as one editor made
    # them.
    tabs = (
        (number, indent.index("\t"))
        for number, text in enumerate(source.lines)
        if "\t" in (indent := text[: len(text) - len(text.lstrip(" \t"))]) and text[len(indent) :][:1] not in ("", "#")
    )
    return [
        source.spot(line, column, 1, (), "a tab in the indentation", "indent with blanks; YAML takes no tabs")
        for line, column in islice(tabs, MAX_PROBLEMS)
    ]


_READ: Final[dict[str, tuple[Event, ...]]] = {}
"""The events of the texts that were read last, the newest at the end."""
_FORGETTING: Final = threading.Lock()
"""Of two texts that are read at once, as the page does, one is remembered and the oldest forgotten after the other."""
READ_LAST: Final = 8
"""So many texts are remembered: an edit reads what it changes and what comes out, and then that is loaded (ours)."""
LONGEST_KEPT: Final = 100_000
"""Longer texts are not remembered, characters (ours): their events take some hundred times the room."""


def _events(text: str) -> Iterator[Event]:
    with _FORGETTING:
        remembered = _READ.pop(text, None)
        if remembered is not None:
            _READ[text] = remembered
    if remembered is not None:
        yield from remembered
        return
    read_to, seen = 0, list[Event]()
    try:
        # The reader written in Python: it is there and the same everywhere, whether or not one in C was built.
        for event in YAML(typ="safe", pure=True).parse(text):
            read_to = event.end_mark.index
            seen.append(event)
            yield event
    except MarkedYAMLError:
        raise
    except YAMLError as error:
        raise MarkedYAMLError(problem=str(error)) from error
    except (ValueError, OverflowError, AssertionError, LookupError, AttributeError, TypeError) as error:
        raise _Unread(read_to) from error  # the library's own mistakes: an escape that names no sign, and the like
    # Only what was read to its end is remembered: a text that was given up halfway is refused anew.
    if len(text) <= LONGEST_KEPT:
        with _FORGETTING:
            _READ[text] = tuple(seen)
            while len(_READ) > READ_LAST:
                del _READ[next(iter(_READ))]


class _Unread(Exception):
    """A text on which the library fails; `read_to` is the place up to which it could be read."""

    def __init__(self, read_to: int) -> None:
        super().__init__(read_to)
        self.read_to = read_to


class _GivenUp(Exception):
    def __init__(self, problem: Problem) -> None:
        super().__init__(problem)
        self.problem = problem


class _OpenNode(Struct):
    """A group or list that is not closed yet; `key` is the one whose value comes next."""

    node: Node
    anchor: str | None
    step: str | int
    key: Key | None = None
    wants_key: bool = True
    keep: bool = True


class _Builder(Struct):
    """Takes events, gives the top node; collects the problems it meets on the way."""

    source: SourceText
    problems: list[Problem] = field(default_factory=list)
    top: Node | None = None
    stack: list[_OpenNode] = field(default_factory=list)
    anchors: dict[str, Node | None] = field(default_factory=dict)
    values: int = 0
    repeated: int = 0
    documents: int = 0

    def take(self, event: Event) -> None:
        match event:
            case ScalarEvent():
                tagged = self._tag(event)
                node = self._scalar(event)
                node.spoilt = node.spoilt or tagged
                if event.anchor is not None:
                    self.anchors[event.anchor] = node
                self._put(node)
            case MappingStartEvent():
                self._begin(event, Node({}, *_place(event), event.flow_style, keys={}, fields={}))
            case SequenceStartEvent():
                self._begin(event, Node([], *_place(event), event.flow_style, items=[]))
            case MappingEndEvent() | SequenceEndEvent():
                frame = self.stack.pop()
                node = frame.node
                node.end = event.end_mark.index
                # A list in brackets on one line can be pointed at as a whole; all else is pointed at where it begins.
                one_line = node.flow and event.end_mark.line == node.line
                node.length = event.end_mark.column - node.column if one_line else 1
                if frame.anchor is not None:
                    self.anchors[frame.anchor] = node
                if node.items is not None and node.flow:
                    self._look_for_decimal_comma(node, node.items)
                self._put(node)
            case AliasEvent():
                self._alias(event)
            case DocumentStartEvent():
                # A second document would be passed over in silence by a reader that takes the first.
                self.documents += 1
                mark = event.start_mark
                if self.documents > 1:
                    wanted = "keep one spec in a file; take out the other"
                    raise _GivenUp(self.source.spot(mark.line, mark.column, 3, (), "a second document", wanted))
                if event.version and tuple(event.version) != (1, 2):
                    version = f"YAML {'.'.join(str(part) for part in event.version)}"
                    raise _GivenUp(
                        self.source.spot(0, 0, 99, (), version, "take out the %YAML line; a spec is YAML 1.2")
                    )

    def path(self) -> Path:
        """The path to the value that comes next."""
        return tuple(frame.step for frame in self.stack if frame.step != "")

    def _problem(self, place: Key | Node, path: Path, found: str, wanted: str) -> None:
        self.problems.append(self.source.at(place, path, found, wanted))
        if len(self.problems) >= MAX_PROBLEMS:
            raise _GivenUp(
                self.source.at(None, (), f"{MAX_PROBLEMS} problems", "correct these first, then check again")
            )

    def _give_up(self, place: Key | Node, found: str, wanted: str) -> None:
        raise _GivenUp(self.source.at(place, self.path(), found, wanted))

    def _tag(self, event: Any) -> bool:
        """Whether a value carries a tag, which is told as a problem."""
        if event.ctag is None:
            return False
        node = Node(None, *_place(event))
        tag = self.source.text[node.start : node.start + 40].split()[0]
        self._problem(node, self.path(), f"the tag {shown(tag)}", "take it out; a spec has only plain values")
        return True

    def _begin(self, event: MappingStartEvent | SequenceStartEvent, node: Node) -> None:
        if len(self.stack) >= MAX_DEPTH:
            self._give_up(node, f"more than {MAX_DEPTH} levels", "a spec goes no deeper; check the brackets")
        node.spoilt = self._tag(event)
        self._count(node)
        # Known from here on as begun: an alias inside of it would repeat itself for ever.
        if event.anchor is not None:
            self.anchors[event.anchor] = None
        self.stack.append(_OpenNode(node, event.anchor, step="" if node.items is None else 0))

    def _look_for_decimal_comma(self, node: Node, items: list[Node]) -> None:
        """Tells two whole numbers in a list that look like one figure.

        They do where no blank stands between them, unlike between most others of the list, or where the second begins
        with a zero (79,05), which no whole number does.
        """
        # [79,5] is a list of two to YAML. The user's own habit of blanks behind commas in the same list tells them
        # apart.
        text = self.source.text
        joints = [text[one.end : other.start] for one, other in pairwise(items)]
        close = joints.count(",")
        for k, joint in enumerate(joints):
            digits = text[items[k].start : items[k].end], text[items[k + 1].start : items[k + 1].end]
            if joint.strip() != "," or _INTEGER.fullmatch(digits[0]) is None or not digits[1].isdecimal():
                continue
            if (joint == "," and 2 * close <= len(joints)) or (digits[1][0] == "0" and len(digits[1]) > 1):
                wanted = f"write {'.'.join(digits)}; for two values put a blank behind the comma"
                self._problem(items[k], (*self.path(), k), f"{','.join(digits)}, with a decimal comma", wanted)
                node.spoilt = True
                return

    def _scalar(self, event: ScalarEvent) -> Node:
        node = Node(event.value, *_place(event))
        self._count(node)
        half = _HALF.search(event.value)
        if half is not None:
            found = f"an escape that is half a sign (\\u{ord(half[0]):04X})"
            self._problem(node, self.path(), found, "write the sign itself")
            node.data, node.spoilt = "?", True
        # Only what stands there without quotes may be a number or true: in quotes it is text, as YAML has it.
        if event.style is None and event.ctag is None:
            # YAML 1.2's core schema and nothing of 1.1: `yes`, `on`, 0777 and 1:30 are text or plain numbers here.
            text = event.value
            whole = _INTEGER.fullmatch(text)
            if text in _WORDS:
                node.data = _WORDS[text]
            elif whole is None and _DECIMAL.fullmatch(text) is None:
                node.data = text
            elif len(text) > MAX_DIGITS:
                found = f"a number of {len(text)} characters"
                self._problem(node, self.path(), found, f"write it with at most {MAX_DIGITS}")
                node.data, node.spoilt = 0, True
            else:
                node.data = int(text) if whole else float(text)
        return node

    def _count(self, node: Node) -> None:
        # Counted as they come, so that a file too large is refused before it fills the memory.
        self.values += 1
        if self.values > MAX_VALUES:
            self._give_up(node, f"more than {MAX_VALUES} values", "split the work into several plates")

    def _alias(self, event: AliasEvent) -> None:
        name = event.anchor
        here = Node(None, *_place(event), spoilt=True)
        if name not in self.anchors:
            self._problem(
                here,
                self.path(),
                f"*{readable(name)}",
                f"there is no &{readable(name)} above it; write the value itself",
            )
            self._put(here)
            return
        node = self.anchors[name]
        if node is None:  # begun and not ended yet
            self._problem(here, self.path(), f"*{readable(name)} inside itself", "write the value itself")
            self._put(here)
            return
        # An alias costs nothing to write and all its values to read, and aliases of aliases multiply: what they stand
        # for is counted, not what they are.
        self.repeated += node.size
        if self.repeated > MAX_REPEATED:
            self._give_up(here, f"aliases that repeat more than {MAX_REPEATED} values", "write the values out")
        if len(self.stack) + node.depth > MAX_DEPTH:
            self._give_up(here, f"more than {MAX_DEPTH} levels", "write the values out")
        self._put(node)

    def _put(self, node: Node) -> None:
        if not self.stack:
            self.top = node
            return
        # In a group keys and values come in turns; in a list every value is the next one.
        frame = self.stack[-1]
        if frame.node.items is None and frame.wants_key:
            self._take_key(frame, node)
            return
        if frame.node.items is not None:
            assert isinstance(frame.step, int)
            if node.data is None and not node.spoilt:
                self._problem(node, self.path(), "an empty place in a list", "give a value, or take it out")
                node.spoilt = True
            frame.node.items.append(node)
            frame.node.data.append(node.data)
            frame.step += 1
        else:
            assert frame.node.keys is not None
            assert frame.node.fields is not None
            assert frame.key is not None
            key, frame.wants_key = frame.key, True
            # What stands below a key that was found wanting is read all the same, for its own problems, and then
            # dropped.
            if frame.keep:
                frame.node.keys[key.text] = key
                frame.node.fields[key.text] = node
                if node.data is not None:
                    frame.node.data[key.text] = node.data
                else:
                    if not node.spoilt:
                        self._problem(key, self.path(), "nothing", "give it a value, or take it out")
                    node.spoilt = frame.node.spoilt = True
            frame.step, frame.key = "", None
        # Kept while reading, so that an alias knows at once how many values it repeats, and how deep they go.
        frame.node.size += node.size
        frame.node.depth = max(frame.node.depth, node.depth + 1)

    def _take_key(self, frame: _OpenNode, node: Node) -> None:
        assert frame.node.keys is not None
        text = self.source.text[node.start : node.end] if not isinstance(node.data, str) else node.data
        key = Key(text, node.line, node.column, node.length, node.start, node.end)
        frame.key, frame.step, frame.wants_key, frame.keep = key, text, False, True
        if node.spoilt:
            frame.keep = False
        elif not node.scalar:
            frame.step, frame.keep = "", False
            self._problem(key, self.path(), "a list or group as a key", "a key is one word or name")
        elif node.data is None and not text:
            frame.keep = False
            self._problem(key, self.path(), "a colon without a key", "write the key in front of it")
        elif not isinstance(node.data, str):
            frame.keep = False
            # {x: 79,5} is read as x: 79 and a key 5 without a value: the text in front of the key has the rest of the
            # number.
            before = self.source.text[max(frame.node.start, key.start - MAX_DIGITS) : key.end]
            comma = _DECIMAL_COMMA.search(before) if frame.node.flow else None
            if comma:
                found, wanted = f"{comma[0]}, with a decimal comma", f"write {comma[0].replace(',', '.')}"
            else:
                found, wanted = (
                    f"{text}, which is no text, as a key",
                    f'if it is a name, write "{text}" in quotes',
                )
            self._problem(key, self.path(), found, wanted)
        elif text == "<<":
            frame.keep = False
            self._problem(key, self.path(), "a merge key", "YAML 1.2 has none; write the values out")
        elif text in frame.node.keys:
            frame.keep = False
            first = frame.node.keys[text].line + 1
            self._problem(key, self.path(), f"{shown(text)} a second time", f"it stands in line {first} too; keep one")


def _place(event: Any) -> tuple[int, int, int, int, int]:
    """Line, column, length, start and end of an event."""
    start, end = event.start_mark, event.end_mark
    length = end.column - start.column if end.line == start.line else 1
    return start.line, start.column, max(length, 1), start.index, end.index
