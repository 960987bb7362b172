"""Ways to spoil a good spec, as typing, saving and copying spoil it."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

_NUMBER = re.compile(rb"(?<![\w.#])-?\d+(?:\.\d+)?")
_TOKEN = re.compile(rb"[\w.]+|[\[\]{}:,#\"'-]")
FIGURES = (
    *(b".nan", b"nan", b"-.inf", b"1e308", b"-1e308", b"1e-308", b"-0", b"0", b"-1", b"1_000", b"0x10", b"010"),
    *(b"9" * 41, b"99999999999", b"1e5", b"0.1e-6", b"ten", b'"10"', b"10 mm", b"1/0 in", b"3/8 in", b"1-1/16 in"),
    *(b"1,5", b"10 furlongs", b"true", b"null", b"~", b"[]", b"{}", b"[1, 2]", b"*a", b"!!float 1", b"2026-01-01"),
)
"""What may stand where a number stood."""


SIGNS = (b"&a ", b"*a", b"<<: ", b"%", b"---\n", b"...\n", b"\x00", b"\xff", b"\xc2\xa0", b"\xe2\x80\xae")
"""Signs that YAML, Unicode or a table takes for something else."""


def spoilt(good: bytes, rng: random.Random) -> bytes:
    """The file with one to three things done to it."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        good = rng.choice(WAYS)(good, rng)
    return good


def flip_a_byte(text: bytes, rng: random.Random) -> bytes:
    """One bit of one byte turned over."""
    if not text:
        return text
    at = rng.randrange(len(text))
    return text[:at] + bytes([text[at] ^ (1 << rng.randrange(8))]) + text[at + 1 :]


def swap_tokens(text: bytes, rng: random.Random) -> bytes:
    """Two words or signs in each other's place."""
    places = [match.span() for match in _TOKEN.finditer(text)]
    if len(places) < 2:
        return text
    (a, b), (c, d) = sorted(rng.sample(places, 2))
    return text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]


def other_figure(text: bytes, rng: random.Random) -> bytes:
    """A number replaced by one that no plate has, or by no number."""
    places = [match.span() for match in _NUMBER.finditer(text)]
    if not places:
        return text
    a, b = rng.choice(places)
    return text[:a] + rng.choice(FIGURES) + text[b:]


def scaled_figure(text: bytes, rng: random.Random) -> bytes:
    """A number in the wrong unit, or with its sign or a digit wrong."""
    places = [match.span() for match in _NUMBER.finditer(text)]
    if not places:
        return text
    a, b = rng.choice(places)
    value = float(text[a:b]) * rng.choice((-1, 25.4, 1 / 25.4, 10, 0.1, 1000, 0.001, 1.0000001))
    return text[:a] + f"{value:.9g}".encode() + text[b:]


def cut_lines(text: bytes, rng: random.Random) -> bytes:
    """Some lines in a row gone."""
    lines = text.splitlines(keepends=True)
    start = rng.randrange(len(lines) + 1)
    return b"".join(lines[:start] + lines[start + rng.randint(1, 6) :])


def cut_short(text: bytes, rng: random.Random) -> bytes:
    """The file ends in the middle."""
    return text[: rng.randrange(len(text) + 1)]


def double_lines(text: bytes, rng: random.Random) -> bytes:
    """A block pasted twice, behind itself or elsewhere."""
    lines = text.splitlines(keepends=True)
    start = rng.randrange(len(lines) + 1)
    block = lines[start : start + rng.randint(1, 8)]
    at = rng.choice((start, rng.randrange(len(lines) + 1)))
    return b"".join(lines[:at] + block + lines[at:])


def shift_lines(text: bytes, rng: random.Random) -> bytes:
    """Lines indented by too much, too little, or by a tab."""
    lines = text.splitlines(keepends=True)
    if not lines:
        return text
    start = rng.randrange(len(lines))
    for index in range(start, min(start + rng.randint(1, 3), len(lines))):
        lines[index] = rng.choice((b" " + lines[index], b"\t" + lines[index], lines[index].lstrip(b" ")))
    return b"".join(lines)


def strange_signs(text: bytes, rng: random.Random) -> bytes:
    """One of the strange signs put in."""
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(SIGNS) + text[at:]


WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    flip_a_byte,
    swap_tokens,
    other_figure,
    other_figure,
    scaled_figure,
    scaled_figure,
    cut_lines,
    cut_short,
    double_lines,
    shift_lines,
    strange_signs,
)
"""Every way; figures twice, since those files get furthest."""
