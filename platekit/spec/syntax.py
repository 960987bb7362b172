"""What the YAML reader says about text it cannot read, in the words of a shop."""

from __future__ import annotations

from typing import Final

_SAYINGS: Final = (
    (
        "mapping values are not allowed",
        "a colon where no key can stand",
        "line it up with its neighbours, and put text that has a colon in it in quotes",
    ),
    (
        "could not find expected ':'",
        "a line without a colon",
        "write `key: value`, with a blank after the colon",
    ),
    (
        "expected ',' or ']'",
        "a list that is not closed",
        "check the list opened with [ in line {opened}: commas between the values, and a ] at its end",
    ),
    (
        "expected ',' or '}'",
        "a group that is not closed",
        "check the group opened with { in line {opened}: commas between the keys, and a } at its end",
    ),
    (
        "expected <block end>",
        "a line that does not line up",
        "indent it as much as its neighbours in the group that starts in line {opened}",
    ),
    (
        "expected the node content",
        "a bracket, comma or sign where a value belongs",
        "write the value, or put text with such signs in quotes",
    ),
    (
        "cannot start any token",
        "a sign that cannot begin a value",
        "put the text in quotes",
    ),
    (
        "found unknown escape character",
        "a backslash that means nothing",
        "use single quotes, or double the backslash",
    ),
    (
        "escape sequence",
        "a backslash that means nothing",
        "use single quotes, or double the backslash",
    ),
    (
        "while scanning a quoted scalar",
        "a quote that is never closed",
        "close the quote opened in line {opened}",
    ),
    (
        "sequence entries are not allowed",
        "a list item where none can stand",
        "start the list on a line of its own, indented below its key",
    ),
    (
        "mapping keys are not allowed",
        "a question mark where no key can stand",
        "put the text in quotes",
    ),
    (
        "undefined tag handle",
        "a tag (a word that starts with !)",
        "take it out; a spec has only plain values",
    ),
    (
        "while scanning a directive",
        "a line that starts with %",
        "take it out, or put the text in quotes",
    ),
    (
        "incompatible YAML document",
        "another version of YAML",
        "take out the %YAML line; a spec is YAML 1.2",
    ),
    (
        "YAML directive",
        "two %YAML lines",
        "take them out; a spec is YAML 1.2",
    ),
    (
        "document start",
        "text behind the end of the spec",
        "take it out, or line it up with the rest",
    ),
    (
        "document end marker",
        "text behind the end of the spec",
        "take it out; nothing follows the three dots",
    ),
    (
        "block scalar",
        "a text that starts with | or > and is not well formed",
        "write the text on one line, in quotes",
    ),
    (
        "while scanning an alias",
        "a star that begins a value",
        "put the text in quotes",
    ),
    (
        "while scanning an anchor",
        "an ampersand that begins a value",
        "put the text in quotes",
    ),
    (
        "tag",
        "an exclamation mark that begins a value",
        "put the text in quotes",
    ),
)


def syntax_advice(problem: str, context: str, opened: int) -> tuple[str, str]:
    """What was found and what would do, for what the YAML reader reports.

    `opened` is the line (from 1) in which the thing it was reading began.

    >>> syntax_advice("found unexpected end of stream", "while scanning a quoted scalar", 3)
    ('a quote that is never closed', 'close the quote opened in line 3')
    """
    for sign, found, wanted in _SAYINGS:
        if sign in problem or sign in context:
            return found, wanted.replace("{opened}", str(opened))
    return "text that is not YAML", "check quotes, brackets, colons and indentation here"
