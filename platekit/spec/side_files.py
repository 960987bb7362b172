"""The small files that go with a spec: a machine, the readings of a test piece, a printer.

Each is YAML, read as the spec is: every problem at its line, in the words of a shop. What they have in common is here:
reading the text, making the model, and saying what pydantic found wrong.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path as FilePath
from typing import Any, Final, TypeVar

from msgspec import Struct
from pydantic import ValidationError
from pydantic_core import ErrorDetails

from platekit.errors import PlatekitError, Problem, SpecError
from platekit.spec.base import WordsModel
from platekit.spec.explain import own_path
from platekit.spec.fields import WRONG
from platekit.spec.source import Complaint, Node, SourceText, located, read, readable, source_of
from platekit.spec.user_file import first_bytes
from platekit.spec.vocabulary import nearest
from platekit.units import shown

M = TypeVar("M", bound=WordsModel)

LARGEST: Final = 200_000
"""Largest of these files, bytes (ours); a usual one is a page long."""


class Kind(Struct, frozen=True):
    """What one of these files is called in a sentence.

    `first` is the key of its first line, `absent` what would do where there is no such file, `models` are all models of
    the file, the outermost first.
    """

    name: str
    first: str
    absent: str
    models: tuple[type[WordsModel], ...]


def text_of(file: FilePath, kind: Kind) -> str:
    """The text of a file; PlatekitError, in one sentence, when it cannot be read."""
    try:
        if file.is_dir():
            raise PlatekitError(f"{file}: found a folder; name the file of {kind.name} in it")
        raw = first_bytes(file, LARGEST + 1)
        text = raw.decode("utf-8-sig")
    except FileNotFoundError:
        raise PlatekitError(f"{file}: found no such file; {kind.absent}") from None
    except UnicodeDecodeError:
        raise PlatekitError(f"{file}: found signs that are not UTF-8; save {kind.name} as UTF-8") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's"
        raise PlatekitError(f"{file}: cannot be read ({reason}); check the file and your rights to it") from None
    if len(raw) > LARGEST:
        raise PlatekitError(f"{file}: found more than {LARGEST // 1000} kB; {kind.name} takes a page")
    return text


def model_of(outermost: type[M], text: str, name: str, kind: Kind) -> tuple[M, SourceText, Node]:
    """The model of a text and where its values stand; SpecError with every problem; `name` is what problems call it."""
    source = source_of(text, name)
    start = f"start it with keys, as `{kind.first}: 1` on the first line"
    if text.strip() and not re.search(rf"^[ \t{{\"']*{kind.first}\b", text, re.MULTILINE):
        # not one of ours, whatever it is: nothing of it is shown
        raise SpecError((Problem(name, 1, 1, "", f"other text instead of {kind.name}, without `{kind.first}`", start),))
    top, problems = read(source, start)
    if top is None or problems:
        raise SpecError(tuple(problems))
    if not isinstance(top.data, dict):
        raise SpecError((source.at(top, (), f"{shown(top.data)} instead of {kind.name}", start),))
    unit = top.data.get("units")
    try:
        model = outermost.model_validate(top.data, context={"unit": unit if unit in ("mm", "in") else "mm"})
    except ValidationError as error:
        complaints = (_complaint(details, top, kind) for details in error.errors(include_url=False))
        found = [located(source, top, one) for one in complaints]
        raise SpecError(tuple(sorted(found, key=lambda problem: (problem.line, problem.column)))) from None
    return model, source, top


def _complaint(details: ErrorDetails, top: Node, kind: Kind) -> Complaint:
    path, given = own_path(details["loc"], top), details["input"]
    context: dict[str, Any] = details.get("ctx", {})
    key = str(path[-1]) if path else ""
    match details["type"]:
        case "missing":
            return Complaint(path, f"no `{key}`", f"add `{key}`", missing=True)
        case "extra_forbidden":
            like: Sequence[str] = nearest(key, tuple(name for model in kind.models for name in model.model_fields))
            return Complaint(
                path,
                f"the unknown key `{readable(key)}`",
                f"write `{like[0]}`" if like else f"take it out; {kind.name} has no such key",
                at_key=True,
            )
        case "literal_error":
            return Complaint(path, shown(given), f"use {context['expected']}")
        case "model_type" | "model_attributes_type" | "dict_type":
            return Complaint(path, shown(given), "give keys below it")
        case "list_type":
            return Complaint(path, shown(given), "give a list of rows, each in braces")
        case "tuple_type":
            return Complaint(path, shown(given), "give a list in brackets")
        case "too_short":
            return Complaint(path, "an empty list", f"give at least {context['min_length']}")
        case "too_long":
            rows = len(given) if isinstance(given, list) else context["actual_length"]
            return Complaint(path, f"{rows} rows", f"use at most {context['max_length']}")
        case "greater_than":
            return Complaint(path, shown(given), f"give a figure above {context['gt']:g}")
        case "greater_than_equal":
            return Complaint(path, shown(given), f"give {context['ge']:g} or more")
        case said if said == WRONG:
            return Complaint(path, str(context["found"]), str(context["wanted"]))
        case _:
            return Complaint(path, shown(given), details["msg"][:1].lower() + details["msg"][1:])
