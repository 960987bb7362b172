"""The gate before the cutting table: a plate with an open stop gets no file that could be cut."""

from __future__ import annotations

from platekit.checks import check
from platekit.checks.finding import Verdict
from platekit.errors import OutputError
from platekit.placed import Layout


def require_clear(layout: Layout, verdict: Verdict | None, what: str) -> None:
    """Nothing if the plate may be cut; else `OutputError` with the number of open stops and the first.

    `verdict` is that of `check(layout)`, worked out here when it is None; `what` names the file.
    """
    verdict = check(layout) if verdict is None else verdict
    stops = [finding for finding in verdict.findings if finding.stops]
    if stops:
        count = "a stop is open" if len(stops) == 1 else f"{len(stops)} stops are open"
        raise OutputError(f"{what} was not written: {count}, the first is {stops[0].rule}: {stops[0].message}")
