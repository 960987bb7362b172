"""`platekit schema`: the JSON Schema of the spec."""

from __future__ import annotations

import json

from platekit.jobs.told import Told
from platekit.spec import json_schema


def schema() -> Told:
    """The schema, as figures and as text."""
    return Told("done", schema_text, json_schema)


def schema_text() -> str:
    """The schema as it is written into a file, without the last end of line."""
    # in the order of the models, which is that of the docs; signs as they are, for editors show the descriptions
    return json.dumps(json_schema(), indent=2, ensure_ascii=False)
