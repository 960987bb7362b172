"""The spec language: reading a spec with every place kept, its JSON Schema, starting and editing one."""

from __future__ import annotations

from platekit.spec.editing import with_value
from platekit.spec.reading import Spec, load, loads, loads_at, with_data
from platekit.spec.schema import json_schema
from platekit.spec.starter import StarterChoices, starter

__all__ = ["Spec", "StarterChoices", "json_schema", "load", "loads", "loads_at", "starter", "with_data", "with_value"]
