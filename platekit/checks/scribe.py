"""Rules on what is scribed: the words that the spec asks for and the plate does not get."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.placed import Layout

if TYPE_CHECKING:
    from platekit.cutting.scribe import LeftOut, Scribed

MOST_LISTED = 8
"""Most words that are listed for one reason (ours): nobody writes more by hand from a sentence."""


def left_out(layout: Layout) -> Iterator[Finding]:
    """Words that are not scribed, with the reasons, in one finding."""
    if not layout.cutting.scribe:
        return
    from platekit.cutting.scribe import scribed

    found = scribed(layout)
    if not found.left_out:
        return
    missing, wanted = len(found.left_out), len(found.words) + len(found.left_out)
    first = next((one.feature for one in found.left_out if one.feature is not None), None)
    yield Finding(
        rule="scribe",
        level="note",
        message=f"{missing} of {wanted} words {'is' if missing == 1 else 'are'} not scribed: "
        f"{'; '.join(_reasons(found))}",
        features=tuple(dict.fromkeys(one.feature or one.what for one in found.left_out)),
        at=None if first is None else layout.opening(first).center,
        found=float(missing),
        needed=0.0,
        unit="words",
        advice=Advice("; ".join(_advice(layout, found))),
    )


def _reasons(found: Scribed) -> Iterator[str]:
    of = {why: [one for one in found.left_out if one.why == why] for why in ("room", "signs", "many", "table")}
    if of["room"]:
        yield f"no room for {_listed(of['room'])}"
    if of["signs"]:
        signs = "".join(dict.fromkeys("".join(one.signs for one in of["signs"])))
        yield f"no strokes for {signs or 'nothing but accents'} in {_listed(of['signs'])}"
    if of["many"]:
        yield f"too many names: {_listed(of['many'])}"
    if of["table"]:
        yield f"a drill press follows no drawing, and so does not scribe {_listed(of['table'])}"


def _advice(layout: Layout, found: Scribed) -> Iterator[str]:
    whys = {one.why for one in found.left_out}
    if "room" in whys:
        yield f"give letters lower than {say(layout, found.height)} (cutting: scribe_height), or write them by hand"
    if "signs" in whys:
        yield "write them in Latin letters and figures"
    if "many" in whys:
        yield "take them from the hole list"
    if "table" in whys:
        yield "name the process of a table (cutting: process), or take the words out (cutting: scribe)"


def _listed(words: Sequence[LeftOut]) -> str:
    texts = [one.text for one in words]
    if len(texts) > MOST_LISTED:
        return f"{', '.join(texts[:MOST_LISTED])} and {len(texts) - MOST_LISTED} more"
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"


RULES = (
    Rule(
        "scribe",
        "a word to be scribed that finds no room on the steel, or has signs without strokes",
        "2 mm of steel to every edge and mark",
        "ours",
        left_out,
        levels=("note",),
    ),
)
