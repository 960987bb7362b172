"""Findings that say the same of several features, brought together so that they are read once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from platekit.checks.finding import Finding

SAYS_ITS_RULE = {"not-checked": "not checked: "}
"""Rules whose sentences say their own name, and how: it is left out behind the name."""
MOST_NAMED = 12
"""Most other places that a sentence names (ours: more would not be read)."""


def grouped(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that say the same of several features, brought together; each group in the order of the findings."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        # the same to a thousandth: mirrored holes differ in the last bits of a sum
        figures = tuple(None if f is None else round(f, 3) for f in (finding.found, finding.needed))
        families = tuple(_family(feature) for feature in finding.features)
        key = (finding.rule, finding.level, finding.accepted, families, figures, _family(finding.message))
        groups.setdefault(key, []).append(finding)
    return list(groups.values())


def count_words(findings: Sequence[Finding], what: str) -> str:
    """How many findings there are, like ones counted once, and at how many places: one form wherever they are counted.

    `16 stops at 19 places`, `1 warning`
    """
    told = len(grouped(findings))
    places = "" if told == len(findings) else f" at {len(findings)} places"
    return f"{told} {what}{'' if told == 1 else 's'}{places}"


def _family(text: str) -> str:
    """A name or sentence but for its figures."""
    return re.sub(r"\d+(?:\.\d+)?", "#", text)


def led(finding: Finding) -> str:
    """Rule and sentence of a finding, as they stand behind each other: what the rule's name says is not said again.

    `not-checked: motor: whether its fan gets air, because no body says where it ends`
    """
    return f"{finding.rule}: {finding.message.replace(SAYS_ITS_RULE.get(finding.rule, chr(0)), '', 1)}"


def own(finding: Finding, first: Finding) -> list[str]:
    """The features that this finding does not share with the first of its group."""
    return [feature for feature in finding.features if feature not in first.features] or list(finding.features)


def same_at(alike: Sequence[Finding]) -> str:
    """Where else the same is found, as an addition to the first one's sentence; empty for a single finding."""
    others = [", ".join(own(other, alike[0])) for other in alike[1:]]
    if len(others) > MOST_NAMED:
        others = [*others[: MOST_NAMED - 1], f"{len(others) - MOST_NAMED + 1} more"]
    return f" (the same at {'; '.join(others)})" if others else ""


def features_of(alike: Iterable[Finding]) -> tuple[str, ...]:
    """All features of like findings, each once, in their order."""
    return tuple(dict.fromkeys(feature for finding in alike for feature in finding.features))
