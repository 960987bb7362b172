"""Number boxes beside every drag: the values that a handle changes, as the spec has them typed."""

from __future__ import annotations

from typing import Any, Final

from platekit.page.scene import dragged, handles
from platekit.placed import Layout
from platekit.spec.source import Node, node_at, path_of

PAIRS: Final = {"span": ("from", "to")}
"""What the two figures of a pair are called; all other pairs are places."""


def numbers(layout: Layout, top: Node, text: str) -> dict[str, list[dict[str, str]]]:
    """By the name of a handle, a box for each value that dragging it changes; lengths as typed, in the spec's unit.

    Each is {label, field, typed, kind}, kind being that of `value_of`. What the spec does not say yet shows what holds.
    """
    found: dict[str, list[dict[str, str]]] = {}
    for handle in handles(layout):
        rows = found[handle.name] = []
        # dragged to where it is, it tells which fields it would write
        for field, value in dragged(layout, handle.name, handle.at):
            node, key = node_at(top, path_of(field, top)), field.rpartition(".")[2]
            if not isinstance(value, list):
                above = field.split(".")[-2]
                label = PAIRS.get(above, ("x", "y"))[int(key)] if key.isdigit() else key.replace("_", " ")
                rows.append(_row(label, field, typed(node, text) if node is not None else str(value), "words"))
            elif node is not None and node.items is not None:
                for k, (label, below) in enumerate(zip(PAIRS.get(key, ("x", "y")), node.items, strict=False)):
                    rows.append(_row(label, f"{field}.{k}", typed(below, text), "words"))
            else:
                # not said yet, or said in another way: both figures come at once
                rows.append(_row(f"{key} [x, y]", field, str(value), "list"))
    return found


def typed(node: Node, text: str) -> str:
    """A value as the user typed it: a word without its quotes; a number as it stands, 80.0 and not 80."""
    data: Any = node.data
    return data if isinstance(data, str) else text[node.start : node.end].strip()


def _row(label: str, field: str, words: str, kind: str) -> dict[str, str]:
    return {"label": label, "field": field, "typed": words, "kind": kind}
