"""The spec language: reading a spec with every place kept, its JSON Schema, starting and editing one.

What starts a spec or describes the language is imported when it is first asked for: reading one needs neither.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from platekit.spec.editing import with_value
from platekit.spec.reading import Spec, load, loads, loads_at, with_data

if TYPE_CHECKING:
    from platekit.spec.schema import json_schema
    from platekit.spec.starting import StarterChoices, starter

__all__ = ["Spec", "StarterChoices", "json_schema", "load", "loads", "loads_at", "starter", "with_data", "with_value"]

_HOMES = {"json_schema": "schema", "StarterChoices": "starting", "starter": "starting"}


def __getattr__(name: str) -> Any:
    """A public function that is seldom asked for, from its file."""
    if name not in _HOMES:
        raise AttributeError(f"module 'platekit.spec' has no attribute {name!r}")
    return getattr(import_module(f"platekit.spec.{_HOMES[name]}"), name)
