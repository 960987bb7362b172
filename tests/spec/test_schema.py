"""The JSON Schema, held against the examples with an independent validator, and against what reading accepts."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from platekit.errors import SpecError
from platekit.spec import json_schema, loads

SPECS = sorted(Path(__file__, "../../../specs").resolve().glob("*.yaml"))
SMALL: dict[str, Any] = {
    "platekit": 1,
    "title": "Test",
    "units": "mm",
    "plate": {"material": "mild steel", "thickness": "3/8 in"},
    "mounts": {"m": {"side": "far", "pattern": {"points": [[0, "1-1/8 in"]], "hole": 9}}},
}


def errors(data: object) -> list[str]:
    return [error.json_path for error in Draft202012Validator(json_schema()).iter_errors(data)]


def changed(path: str, value: object) -> dict[str, Any]:
    """The small spec with one value changed; the path is dotted."""
    data = copy.deepcopy(SMALL)
    *above, last = path.split(".")
    inner: Any = data
    for step in above:
        inner = inner.setdefault(step, {})
    inner[last] = value
    return data


def objects(schema: object) -> Iterator[dict[str, Any]]:
    """Every part of a schema that describes a group of keys."""
    if isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict):
            yield schema
        for inner in schema.values():
            yield from objects(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from objects(inner)


def test_it_is_valid_by_the_rules_of_its_own_dialect() -> None:
    Draft202012Validator.check_schema(json_schema())
    assert json_schema()["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    # a name that an editor has kept must mean version 1 in every release; it names no host that could be asked
    assert json_schema()["$id"] == "urn:uuid:4d866b48-37f0-483f-bbdb-b92eb64d3953"


@pytest.mark.parametrize("file", SPECS, ids=lambda file: file.stem)
def test_the_examples_fit_it(file: Path) -> None:
    assert errors(YAML(typ="safe", pure=True).load(file.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("file", SPECS, ids=lambda file: file.stem)
def test_the_examples_name_it_for_the_editor(file: Path) -> None:
    first = file.read_text(encoding="utf-8").splitlines()[0]
    assert first == "# yaml-language-server: $schema=./platekit.schema.json"


def test_every_group_is_closed_and_every_key_explained() -> None:
    groups = list(objects(json_schema()))
    assert len(groups) > 20
    for group in groups:
        assert group.get("additionalProperties") is False, group
        for key, entry in group["properties"].items():
            assert entry.get("description") or "$ref" in entry, key


def test_it_knows_no_null() -> None:
    assert "'null'" not in str(json_schema())


def test_it_is_the_callers_own() -> None:
    json_schema().clear()
    assert json_schema()


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("units", "inch"),
        ("platekit", 2),
        ("titel", "x"),
        ("plate.thickness", 0),
        ("plate.thickness", "10"),
        ("plate.thickness", True),
        ("plate.thickness", None),
        ("plate.colour", "red"),
        ("plate.outline", {"wrap": {"margin": -1}}),
        ("plate.cutouts", {"a.b": {"circle": {"diameter": 9}}}),
        ("cutting.process", "chisel"),
        ("mounts", {}),
        ("mounts.m.side", "left"),
        ("mounts.m.pattern.points", [[1, 2, 3]]),
        ("mounts.m.pattern.points", []),
        ("mounts.m.screws", {"size": "M8"}),
        ("mounts.m.screws", {"size": "M8", "into": "nut", "washer": "yes"}),
    ],
)
def test_what_it_refuses_reading_refuses_too(path: str, value: object) -> None:
    data = changed(path, value)
    assert errors(data)
    with pytest.raises(SpecError):
        loads(_text(data))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("plate.thickness", 9.5),
        ("plate.thickness", '3/8"'),
        ("plate.thickness", "1' 2-1/2\""),
        ("plate.thickness", "½ in"),
        ("plate.material", {"density": "7850 kg/m3", "modulus": "210 GPa", "yield_strength": "235 MPa"}),
        ("plate.outline", {"wrap": {"margin": "auto"}}),
        ("plate.outline", {"wrap": {"margin": "8 mm"}}),
        ("plate.outline", {"polygon": {"points": [[0, 0], [9, 0], [0, 9]], "corner": [1, 2, 0]}}),
        ("plate.outline", {"polygon": {"points": [[0, 0], [9, 0], [0, 9]], "corner": "1 mm"}}),
        ("plate.cutouts", {"oil drain": {"slot": {"length": 9, "width": 4}, "turn": "45°"}}),
        ("mounts.m.at", [1, "-2 in"]),
        ("mounts.m.turn", -30),
        ("mounts.m.take_up", {"slots": {"along": "75 deg", "install": 3, "tension": 4}}),
        ("paper.size", {"width": 500, "height": 400}),
        ("paper.size", "letter"),
        ("cutting.sheet", [500, "24 in"]),
    ],
)
def test_what_it_accepts_reading_accepts_too(path: str, value: object) -> None:
    data = changed(path, value)
    assert errors(data) == []
    loads(_text(data))


def _text(data: dict[str, Any]) -> str:
    import json

    return json.dumps(data, ensure_ascii=False)
