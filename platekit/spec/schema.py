"""The spec language as JSON Schema: for editors, and for the program's own words about keys."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any, Final

from platekit.spec.models import SpecModel
from platekit.spec.renamed import RENAMED

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
"""The published dialect of JSON Schema that is used."""

NAME: Final = "urn:uuid:4d866b48-37f0-483f-bbdb-b92eb64d3953"
"""The name of the schema of version 1, for ever: no address, as it is fetched from nowhere (a URN, RFC 9562)."""

Schema = dict[str, Any]


def json_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of a spec, as plain data that is the caller's own.

    Editors use it for completion and hover help. It knows keys, kinds, choices and bounds; whether a name
    refers to something, and what the tables hold, only reading a spec can tell. Keys that got a better name are in
    it under both, the older one as deprecated.

    >>> sorted(json_schema()["required"])
    ['mounts', 'plate', 'platekit', 'title', 'units']
    """
    schema = copy.deepcopy(language_schema())
    for one in RENAMED:
        here = [schema]
        for step in one.above:
            groups = [group for place in here for group in alternatives(schema, place)]
            if step == "*":
                here = [below for group in groups for below in _of_any_name(group)]
            else:
                here = [group["properties"][step] for group in groups if step in group.get("properties", {})]
        for group in [group for place in here for group in alternatives(schema, place)]:
            if one.better in group.get("properties", {}):
                older = {**group["properties"][one.better], "description": f"Older name of `{one.better}`."}
                group["properties"][one.older] = {**older, "deprecated": True}
    return schema


def alternatives(root: Schema, schema: Schema) -> list[Schema]:
    """The schema itself, with references followed and choices laid side by side."""
    found: list[Schema] = []
    waiting = [schema]
    while waiting:
        one = waiting.pop()
        if "$ref" in one:
            waiting.append(root["$defs"][one["$ref"].rsplit("/", 1)[-1]])
        waiting += reversed([*one.get("anyOf", []), *one.get("oneOf", [])])
        found.append(one)
    return found


def _of_any_name(schema: Schema) -> list[Schema]:
    """What a group of the user's own names holds."""
    held = [schema.get("additionalProperties"), *schema.get("patternProperties", {}).values()]
    return [below for below in held if isinstance(below, dict)]


@cache
def language_schema() -> Schema:
    """The schema by the better names alone, for the program's own words about keys; not to be changed."""
    from pydantic.json_schema import GenerateJsonSchema

    class Plain(GenerateJsonSchema):
        """Names no field twice: the key itself is title enough."""

        def field_title_should_be_set(self, schema: object) -> bool:
            return False

    tidy: Schema = _tidy(SpecModel.model_json_schema(by_alias=True, schema_generator=Plain))
    return {"$schema": DIALECT, "$id": NAME, "title": "A platekit spec, version 1", **tidy}


def _tidy(value: Any) -> Any:
    """The schema without what a spec cannot hold (a key without a value is an error, so no null)."""
    if isinstance(value, list):
        return [_tidy(item) for item in value]
    if not isinstance(value, dict):
        return value
    kept = {key: _tidy(item) for key, item in value.items() if not (key == "default" and item is None)}
    choices = kept.get("anyOf")
    if isinstance(choices, list):
        real = [choice for choice in choices if choice != {"type": "null"}]
        if len(real) == 1 and isinstance(real[0], dict):
            del kept["anyOf"]
            return {**real[0], **kept}
        kept["anyOf"] = real
    if "patternProperties" in kept:
        kept.setdefault("additionalProperties", False)
    if "title" in kept and kept.get("type") == "object" and isinstance(kept["title"], str):
        del kept["title"]
    return kept
