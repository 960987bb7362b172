"""What a rule is: a plain word, what it guards against, its default and source, and the function that looks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Literal

from msgspec import Struct

from platekit.checks.finding import Finding, Level
from platekit.placed import Layout

MOST_STOPS = 200
"""Most stops of one rule that are told one by one (ours): nobody reads further before correcting these."""


Acceptable = Literal["one", "both", "never"]
"""What an acceptance of a rule's finding must name: one of its features, two of them, or whether none will do."""


class Rule(Struct, frozen=True):
    """One rule. `find` gives its findings on a layout and changes nothing.

    `default` says the number it goes by when the spec gives none, `source` where that comes from. `levels` are those
    that its findings can have, `keys` those of the spec that set the number; without any, the number stands.
    `acceptable` says how a user may take responsibility for a finding: what cannot be made is "never" accepted, and
    where two things are in each other's way "both" are named. The page docs/rules.md is made of these.
    """

    name: str
    guards: str
    default: str
    source: str
    find: Callable[[Layout], Iterable[Finding]]
    levels: tuple[Level, ...]
    keys: tuple[str, ...] = ()
    acceptable: Acceptable = "one"
