"""Where each reading of a measured pattern stands in the spec, and what was typed there."""

from __future__ import annotations

from typing import Any, get_args

from platekit.page.desk import Now
from platekit.spec.source import node_at, path_of
from platekit.survey.net import ReadingKind


def reading_boxes(now: Now, mount: str) -> dict[str, list[str]]:
    """Where the number of each reading stands and what is typed there: [field, typed], by the reading's own key.

    The key of a reading is its names and kind, `A B inside`; that of a diameter `A diameter`. The same pair taken twice
    the same way has its boxes in order.
    """
    assert now.spec is not None
    top, text = now.spec.top, now.text
    field = f"mounts.{mount}.pattern.measured"
    measured: Any = top.data["mounts"][mount]["pattern"]["measured"]

    def typed_at(where: str) -> str:
        node = node_at(top, path_of(where, top))
        if node is None:
            return ""
        # a word without its quotes; a number as it was typed, 80.0 and not 80
        return node.data if isinstance(node.data, str) else text[node.start : node.end].strip()

    found: dict[str, list[str]] = {}
    for k, reading in enumerate(measured.get("readings", ())):
        # One hole or two are named before the kind, and a hole may be called as a kind is; after the second place
        # whatever is no word of a kind is the number.
        kinds = get_args(ReadingKind)
        place = next(
            (n for n, part in enumerate(reading) if n >= 2 and not (isinstance(part, str) and part in kinds)), None
        )
        if place is not None:
            where = f"{field}.readings.{k}.{place}"
            found.setdefault(" ".join(map(str, reading[:place])), []).extend([where, typed_at(where)])
    for name, size in measured["holes"].items():
        where = f"{field}.holes.{name}" + (".diameter" if isinstance(size, dict) else "")
        if not isinstance(size, dict) or "diameter" in size:
            found[f"{name} diameter"] = [where, typed_at(where)]
    return found
