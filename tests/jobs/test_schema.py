"""`platekit schema`: the same as beside the examples."""

from __future__ import annotations

from tests.terminal import ROOT, Terminal


def test_the_schema_beside_the_examples_is_the_one_that_is_printed(terminal: Terminal) -> None:
    printed = terminal("schema").out
    assert printed == (ROOT / "specs" / "platekit.schema.json").read_text("utf-8"), (
        "write it anew: platekit schema > specs/platekit.schema.json"
    )
