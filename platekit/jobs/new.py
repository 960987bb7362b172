"""`platekit new`: a spec to start from, from options or from questions, tried out before it is written."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Final, cast, get_args

from msgspec import Struct
from msgspec.structs import fields

from platekit.checks import check
from platekit.choices import OldPattern, Process
from platekit.errors import OutputError, PlatekitError, SpecError
from platekit.export.files import folder_for, write_together
from platekit.jobs.schema import schema_text
from platekit.jobs.told import Told, wrote_lines
from platekit.layout import lay_out
from platekit.spec import loads
from platekit.spec.starting import StarterChoices, starter
from platekit.tables import material
from platekit.tables.processes import cutting_of
from platekit.units import Unit

SCHEMA_NAME = "platekit.schema.json"
Ask = Callable[..., str]


class Answers(Struct, frozen=True):
    """What the user has said so far; None for what is still to be asked, or left at its default."""

    title: str | None
    units: str | None
    material: str | None
    thickness: str | None
    process: str | None
    machine: str | None
    motor: str | None
    take_up: bool

    @property
    def none_given(self) -> bool:
        """Whether no option was given at all."""
        return all(getattr(self, field.name) is None for field in fields(self) if field.name != "take_up")


QUESTIONS = {
    "title": "What is the plate for",
    "units": "Unit of bare numbers (mm, in)",
    "process": f"How will it be cut ({', '.join(get_args(Process))})",
    "material": "Material",
    "thickness": "Thickness of the plate",
    "machine": f"How do the old holes lie ({', '.join(get_args(OldPattern))})",
    "motor": "The new motor",
}


OFFERED: Final = {"units": Unit, "process": Process, "machine": OldPattern}
"""Where only some words will do."""
MATERIALS: Final = ("mild steel", "6082-T6")
"""What a plate is of when nothing is said: the first of these that its process cuts (ours)."""

THICKNESS_IN_INCHES: Final = "3/8 in"
"""The plate that a shop in inches begins with: what it has on the rack (ours)."""


def new(path: Path, answers: Answers, ask: Ask | None = None) -> Told:
    """Writes the spec, and beside it the schema that its first line names.

    `ask` puts a question with a default and gives the answer; None asks nothing. Raises `OutputError` if the spec
    exists already.
    """
    if os.path.lexists(path):
        raise OutputError(f"{path} exists already; choose another name")
    choices = chosen(answers, ask)
    # a spec to start from must not begin with findings: the starter tries its own figures until the checks pass
    text = starter(choices, clear_to_cut)
    folder_for(path.parent)
    written: tuple[Path, ...] = (path,)
    # editors find it by the first line of the spec; one that is there may be shared by other specs, and stays. It comes
    # first: a run that ends in between can then be run again, which a spec that is there would hinder
    schema = path.with_name(SCHEMA_NAME)
    first = []
    if not os.path.lexists(schema):
        first = [(schema, f"{schema_text()}\n".encode())]
        written += (schema,)
    write_together([*first, (path, text.encode())], new=(path,))
    if choices.machine == "measured":
        then = f"next: platekit survey {path} --plan lists the readings to take; put them in, then run it without"
    else:
        then = f"next: put your figures in, then run platekit check {path}"
    return Told(
        "done",
        lambda: "\n".join([*wrote_lines(written), then]),
        lambda: {"files": [str(file) for file in written]},
        written,
    )


def chosen(answers: Answers, ask: Ask | None) -> StarterChoices:
    """The answers with defaults, or with what the user says when asked."""
    usual = StarterChoices()
    said: dict[str, str] = {}
    for name, question in QUESTIONS.items():
        # in the order of the questions: the material hangs on the process, the thickness on the unit
        given = getattr(answers, name)
        default = material_for(said["process"]) if name == "material" else str(getattr(usual, name))
        if name == "thickness" and said["units"] == "in":
            default = THICKNESS_IN_INCHES
        said[name] = given or (ask(question, default=default) if ask is not None else default)
        words = get_args(OFFERED.get(name))
        # answers of the terminal and of the page are free text
        if words and said[name] not in words:
            raise PlatekitError(f"found {said[name]} for {name}; say one of {', '.join(words)}")
    return StarterChoices(
        title=said["title"],
        units=cast(Unit, said["units"]),
        material=said["material"],
        thickness=said["thickness"],
        process=cast(Process, said["process"]),
        machine=cast(OldPattern, said["machine"]),
        motor=said["motor"],
        take_up=answers.take_up,
    )


def material_for(process: str) -> str:
    """What a plate is of when nothing is said.

    >>> material_for("plasma"), material_for("router")
    ('mild steel', '6082-T6')
    """
    # a process may be unable to cut steel (a router): nobody is begun with a plate that cannot be made
    for name in MATERIALS:
        family = material(name).family
        row = None if family is None else cutting_of(process, family)
        if row is None or row.cuts in ("yes", "poorly"):
            return name
    return MATERIALS[0]


def clear_to_cut(text: str) -> bool:
    """Whether a draft of a spec passes the checks."""
    try:
        return check(lay_out(loads(text, "starter.yaml"))).clear
    except SpecError:
        return False
