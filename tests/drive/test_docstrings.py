from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import platekit.drive
import platekit.tables.belts

MODULES = [
    module.name
    for package in (platekit.drive, platekit.tables.belts)
    for module in pkgutil.iter_modules(package.__path__, package.__name__ + ".")
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_run(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
