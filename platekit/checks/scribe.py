"""Rules on what is scribed: the words that the spec asks for and the plate does not get."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.placed import Layout

if TYPE_CHECKING:
    from platekit.cutting.scribe import LeftOut

MOST_LISTED = 8
"""Most words that are listed for one reason (ours): nobody writes more by hand from a sentence."""


def not_scribed(layout: Layout) -> Iterator[Finding]:
    """Words (letters so many mm high) that are not scribed, with the reasons, in one finding."""
    if not layout.cutting.scribe:
        return
    from platekit.cutting.scribe import scribing_of

    found = scribing_of(layout)
    if not found.left_out:
        return
    # each reason with its words, and what would do for it; in the order in which a shop could do something
    of = {why: [one for one in found.left_out if one.why == why] for why in ("room", "signs", "many", "table")}
    reasons, advice = [], []
    if of["room"]:
        reasons.append(f"no room for {_listed(of['room'])}")
        lower = f"give letters lower than {say(layout, found.height)} (cutting: scribe_height)"
        advice.append(f"{lower}, or write them by hand")
    if of["signs"]:
        signs = "".join(dict.fromkeys("".join(one.signs for one in of["signs"])))
        reasons.append(f"no strokes for {signs or 'nothing but accents'} in {_listed(of['signs'])}")
        advice.append("write them in Latin letters and figures")
    if of["many"]:
        reasons.append(f"too many names: {_listed(of['many'])}")
        advice.append("take them from the hole list")
    if of["table"]:
        reasons.append(f"a drill press follows no drawing, and so does not scribe {_listed(of['table'])}")
        advice.append("name the process of a table (cutting: process), or take the words out (cutting: scribe)")
    missing, wanted = len(found.left_out), sum(one.what != "weld" for one in found.words) + len(found.left_out)
    first = next((one.feature for one in found.left_out if one.feature is not None), None)
    yield Finding(
        rule="scribe",
        level="note",
        message=f"{missing} of {wanted} words {'is' if missing == 1 else 'are'} not scribed: {'; '.join(reasons)}",
        features=tuple(dict.fromkeys(one.feature or one.what for one in found.left_out)),
        at=None if first is None else layout.opening(first).center,
        found=float(missing),
        needed=0.0,
        unit="words",
        advice=Advice("; ".join(advice)),
    )


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
        not_scribed,
        levels=("note",),
    ),
)
