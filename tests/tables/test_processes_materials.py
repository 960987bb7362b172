"""The table of what each process cuts: complete, in order, its words where they are needed."""

from __future__ import annotations

from typing import get_args

import pytest

from platekit.spec.models import MaterialFamily
from platekit.tables import material, materials
from platekit.tables.processes import cutting_of, material_families, process_names
from platekit.tables.values import KINDS


def test_every_material_has_a_family_that_the_table_and_the_spec_language_know() -> None:
    assert {material(name).family for name in materials()} == set(material_families())
    assert set(get_args(MaterialFamily)) == set(material_families())


@pytest.mark.parametrize("process", process_names())
@pytest.mark.parametrize("family", material_families())
def test_every_process_says_of_every_family_whether_it_cuts_it(process: str, family: str) -> None:
    row = cutting_of(process, family)
    assert row is not None
    assert row.cuts in ("yes", "poorly", "hardly", "no")
    assert bool(row.why) == (row.cuts != "yes"), "a reason where it does not cut well, and only there"
    assert row.source.kind in KINDS
    limits = [limit for limit in (row.thinnest, row.usual, row.most) if limit is not None]
    assert limits == sorted(limits)
    assert (row.usual is None) == (row.cuts in ("no", "hardly"))


def test_what_nobody_listed_is_not_known() -> None:
    assert cutting_of("plasma", "marble") is None
