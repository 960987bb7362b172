"""Every example of every docstring runs and gives what it says."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import platekit

NAMES = [module.name for module in pkgutil.walk_packages(platekit.__path__, "platekit.")]
MODULES = [name for name in NAMES if not name.endswith("__main__")]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_run(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
