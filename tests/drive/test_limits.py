from __future__ import annotations

import ast
import inspect

import pytest

from platekit.drive import limits
from platekit.tables import belts


def test_every_limit_says_where_it_comes_from() -> None:
    tree = ast.parse(inspect.getsource(limits))
    words = ("Published", "Common practice", "From memory", "Definition")
    for node, after in zip(tree.body, tree.body[1:], strict=False):
        if isinstance(node, ast.AnnAssign):
            assert isinstance(after, ast.Expr)
            assert isinstance(after.value, ast.Constant)
            assert any(word in str(after.value.value) for word in words), ast.unparse(node)


def test_limits_by_family_serve_every_family() -> None:
    families = {belts.section(name).family for name in belts.section_names()}
    for family in families:
        figures = belts.family_figures(family)
        assert 0.9 < figures.efficiency < 1 < figures.overhung


def test_alignment_in_the_trade_s_own_words() -> None:
    # one tenth of an inch in a foot for V-belts, one sixteenth for ribs and teeth
    assert belts.family_figures("classical V").misalignment * 12 == pytest.approx(0.1)
    assert belts.family_figures("toothed").misalignment * 12 == pytest.approx(1 / 16)
