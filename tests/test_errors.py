"""The tree of errors as its module draws it."""

from __future__ import annotations

import importlib
import pkgutil
import re

import pytest

import platekit
from platekit import errors
from platekit.errors import PlatekitError


def every_error(base: type[PlatekitError]) -> dict[str, str]:
    """Each error below a base, with the name of the one that it is a kind of."""
    found = {}
    for kind in base.__subclasses__():
        if kind.__module__.startswith("platekit."):
            found[kind.__name__] = base.__name__
            found.update(every_error(kind))
    return found


def test_the_tree_shows_every_error_below_the_one_that_it_is_a_kind_of() -> None:
    for module in pkgutil.walk_packages(platekit.__path__, "platekit."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    drawn: dict[str, str] = {}
    above = {0: "PlatekitError"}
    for stem, name in re.findall(r"^    ([ |]*)\+-- (\w+)", errors.__doc__ or "", flags=re.MULTILINE):
        depth = len(stem) // 4 + 1
        drawn[name] = above[depth - 1]
        above[depth] = name
    assert drawn == every_error(PlatekitError)


@pytest.mark.parametrize("kind", [errors.DriveError, errors.GeometryError, errors.LookupFailed])
def test_an_error_is_one_sentence_of_what_is_and_what_would_do(kind: type[errors.DriveError]) -> None:
    error = kind("no belt goes round; it is too short", wanted="take a longer one")
    assert str(error) == "no belt goes round; it is too short; take a longer one"
    assert (error.why, error.wanted) == ("no belt goes round; it is too short", "take a longer one")
    assert str(kind("no belt goes round")) == "no belt goes round"
