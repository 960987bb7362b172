"""Figures of a shop's practice: each row is asked for by the code, and says what would settle it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import platekit
from platekit.tables.rows import TableError, read
from platekit.tables.shop import shop_figure


def test_each_row_is_used_and_each_use_has_a_row() -> None:
    code = "".join(path.read_text("utf-8") for path in Path(platekit.__file__).parent.rglob("*.py"))
    asked = set(re.findall(r'^(?!\s*>>>).*\bshop_figure\("([^"]+)"\)', code, re.MULTILINE))
    assert asked == {row.text("name") for row in read("shop_figures.csv")}


def test_a_row_has_one_figure() -> None:
    for row in read("shop_figures.csv"):
        assert bool(row.text("figure_mm")) != bool(row.text("factor"))
        assert shop_figure(row.text("name")) > 0


def test_a_wrong_name_is_a_bug() -> None:
    with pytest.raises(TableError, match="no row"):
        shop_figure("left-handed spanner")
