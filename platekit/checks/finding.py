"""A finding: one sentence about the plate, with both numbers, the place, and advice that can be carried out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry import Point
from platekit.placed import Position
from platekit.units import Unit, said_in

Level = Literal["stop", "warn", "note"]
LEVELS: tuple[Level, ...] = ("stop", "warn", "note")
FieldValue = float | str | list["FieldValue"] | dict[str, "FieldValue"]


BLANK: Literal["?"] = "?"
"""Stands in the edits of `Finding.asks` where only a person at the machine can say the figure."""
BLANK_OUT: Literal["-?"] = "-?"
"""The same for a length that is measured out of a part's face towards the plate, which a span counts as negative."""


class Remedy(Struct, frozen=True):
    """An edit of the spec that does what the advice says: `field` (dotted) gets `value`."""

    field: str
    value: FieldValue


class Advice(Struct, frozen=True):
    """What would do, in words, and the edits of the spec that do all of it together; empty where nothing is known.

    `tried` says that the edited spec was laid out and judged: the finding was gone, and nothing worse had come.
    """

    text: str = ""
    remedies: tuple[Remedy, ...] = ()
    tried: bool = False

    def __bool__(self) -> bool:
        return bool(self.text)


NO_ADVICE = Advice()
"""Nothing is known that would do."""


class Finding(Struct, frozen=True, kw_only=True):
    """What a rule has to say.

    `found` and `needed` are in `unit`; `at` is a point on the plate (plate frame, mm), `positions` where the mounts
    with travel stand then. `advice` is the rule's first idea of what would do, `others` are its next ones, for when the
    first turns out to be none. `accepted` is the user's reason when the spec accepts this finding;
    `acceptable` is False for one that no acceptance covers, whatever its rule says: the plate cannot be made so.
    `asks` are edits that would do once somebody fills in what is `BLANK` in them: figures that nobody gave.
    `field` is where the spec speaks of it (dotted) and `line` its line in the file, 0 where that is not known; a rule
    that leaves the field out gets that of the first feature.
    """

    rule: str
    level: Level
    message: str
    features: tuple[str, ...]
    at: Point | None = None
    found: float | None = None
    needed: float | None = None
    unit: str = "mm"
    advice: Advice = NO_ADVICE
    others: tuple[Advice, ...] = ()
    asks: tuple[Remedy, ...] = ()
    accepted: str | None = None
    positions: tuple[Position, ...] = ()
    acceptable: bool = True
    field: str = ""
    line: int = 0

    @property
    def remedies(self) -> tuple[Remedy, ...]:
        """The edits of the spec that do what the advice says."""
        return self.advice.remedies

    @property
    def stops(self) -> bool:
        """Whether this finding keeps the plate from being cut."""
        return self.level == "stop" and self.accepted is None


class Verdict(Struct, frozen=True):
    """All findings of a plate, worst first."""

    findings: tuple[Finding, ...]

    @property
    def clear(self) -> bool:
        """Whether the plate may be cut: no stop is open."""
        return not any(finding.stops for finding in self.findings)

    @property
    def word(self) -> Literal["clear", "stop"]:
        """The verdict in one word."""
        return "clear" if self.clear else "stop"

    def open(self, level: Level) -> tuple[Finding, ...]:
        """The findings of one level that are not accepted."""
        return tuple(f for f in self.findings if f.level == level and f.accepted is None)

    @property
    def accepted(self) -> tuple[Finding, ...]:
        """The findings that the spec accepts, with their reasons."""
        return tuple(f for f in self.findings if f.accepted is not None)


FIRST = ("mixed-units", "standard", "unusual", "motor-speed")
"""Rules that are told before others of their level: what is wrong with the figures makes findings of all kinds."""


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings sorted by level, then those that explain others, by rule and features: the same plate, the same."""

    def order(finding: Finding) -> tuple[int, int, str, tuple[str, ...], str]:
        first = FIRST.index(finding.rule) if finding.rule in FIRST else len(FIRST)
        return LEVELS.index(finding.level), first, finding.rule, finding.features, finding.message

    return tuple(sorted(findings, key=order))


def in_unit(finding: Finding, unit: Unit) -> Finding:
    """The finding with whatever its sentences say in the unit of the spec; its figures for a program stay metric."""
    # Most rules write lengths in the unit themselves. Forces, speeds and powers come from rooms that know none: here is
    # the one place that all sentences go through.
    if unit == "mm":
        return finding

    def said(advice: Advice) -> Advice:
        return replace(advice, text=said_in(advice.text, unit))

    return replace(
        finding,
        message=said_in(finding.message, unit),
        advice=said(finding.advice),
        others=tuple(said(other) for other in finding.others),
    )
