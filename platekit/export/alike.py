"""Findings that say the same of several features, brought together so that they are read once."""

from __future__ import annotations

import re
from collections.abc import Iterable

from platekit.checks.finding import Finding


def grouped(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that say the same of several features, brought together; each group in the order of the findings."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        figures = tuple(None if f is None else round(f, 3) for f in (finding.found, finding.needed))
        families = tuple(re.sub(r"\d+", "#", feature) for feature in finding.features)
        key = (finding.rule, finding.level, finding.accepted, families, figures)
        groups.setdefault(key, []).append(finding)
    return list(groups.values())


def own(finding: Finding, first: Finding) -> list[str]:
    """The features that this finding does not share with the first of its group."""
    return [feature for feature in finding.features if feature not in first.features] or list(finding.features)
