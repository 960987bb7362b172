"""What is remembered from one layout to the next changes nothing: a plate moved about is the plate laid out afresh."""

from __future__ import annotations

import contextlib
import functools
import gc
import json
from pathlib import Path
from typing import Any

import pytest

import platekit
from platekit.checks import LIVE
from platekit.checks.finding import Remedy
from platekit.errors import SpecError
from platekit.page.scene import dragged, handles, scene
from platekit.spec import Spec, with_data
from platekit.spec.figures import figures_of
from platekit.studies.advised import after_edit

SPECS = Path(__file__).parents[1] / "specs"


def forget() -> None:
    """Empties all that rooms of geometry, laying out and drawing remember; tables are read once, and stay."""
    caches = [one for one in gc.get_objects() if isinstance(one, functools._lru_cache_wrapper)]
    for one in caches:
        if one.__module__.startswith("platekit.") and not one.__module__.startswith("platekit.tables"):
            one.cache_clear()


def made_of(spec: Spec) -> tuple[Any, ...]:
    layout = platekit.lay_out(spec)
    verdict = platekit.check(layout, LIVE)
    shown = [(f.rule, f.message, f.at) for f in verdict.findings]
    # as text: floats that are equal may still be written differently, as 0 and -0 are
    return (repr(layout.bodies), repr(layout.outline), repr(layout.guard), json.dumps(scene(layout, verdict)), shown)


@pytest.mark.parametrize(
    ("name", "handle"),
    [
        ("winnowing-fan", "motor turn"),
        ("apple-mill", "motor"),
        ("dye-vat", "motor turn"),
        ("seed-grader", "motor turn"),
        ("dough-mixer", "cable"),
    ],
)
def test_a_plate_moved_about_is_the_one_laid_out_afresh(name: str, handle: str) -> None:
    spec = platekit.found(platekit.load(SPECS / f"{name}.yaml"))
    layout = platekit.lay_out(spec)
    at = next(one.at for one in handles(layout) if one.name == handle)
    ways = [(7.0, -3.0), (-11.0, 5.0), (7.0, -3.0)]
    moved = [
        after_edit(spec, [Remedy(*edit) for edit in dragged(layout, handle, (at[0] + x, at[1] + y))]) for x, y in ways
    ]
    warm = [made_of(one) for one in moved]
    for one, before in zip(moved[:2], warm[:2], strict=True):
        forget()
        assert made_of(one) == before
    assert warm[2] == warm[0]


@pytest.mark.parametrize("name", ["seed-grader", "bead-sorter"])
def test_all_findings_after_other_edits_are_those_of_a_plate_judged_afresh(name: str) -> None:
    spec = platekit.load(SPECS / f"{name}.yaml")
    edits = [(figure.field, f"{figure.value * 1.03} mm") for figure in figures_of(spec)][::5]
    specs = []
    for edit in [*edits, ("plate.thickness", "7 mm")]:
        with contextlib.suppress(SpecError):
            specs.append(with_data(spec, [edit]))
    warm = [platekit.check(platekit.lay_out(one)) for one in (*specs, spec)]
    assert len(warm) > 4
    for one, before in list(zip(specs, warm, strict=False))[::4]:
        forget()
        assert platekit.check(platekit.lay_out(one)) == before
