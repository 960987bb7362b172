"""Reading a spec: file, text, data, model; with everything that is wrong told at once."""

from __future__ import annotations

import hashlib
import json
import os
import threading
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Final, Literal

import msgspec
from msgspec import Struct
from msgspec.structs import replace
from pydantic import ValidationError

from platekit.errors import PlatekitError, Problem, SpecError
from platekit.spec.base import ReadBefore
from platekit.spec.drawings import MAX_MODEL_BYTES, DrawingError, drawing_bytes
from platekit.spec.editing import Value, data_with
from platekit.spec.models import ShapeWords, SpecModel
from platekit.spec.references import complaints
from platekit.spec.renamed import by_older_names, newer_path, renew, without_gained
from platekit.spec.source import (
    MAX_BYTES,
    MAX_PROBLEMS,
    Complaint,
    Node,
    SourceText,
    located,
    node_at,
    path_of,
    read,
    source_of,
)
from platekit.spec.user_file import first_bytes
from platekit.tables.own import NO_TABLES, OwnTables, read_folder
from platekit.tables.rows import use_own
from platekit.units import shown

if TYPE_CHECKING:
    from platekit.spec.machine import Machine

MARK_DIGITS: Final = 9
"""Decimals that count for the revision mark (ours): a nanometre is beyond any reading of a length."""


_MARKED: Final[dict[int, tuple[tuple[object, ...], str]]] = {}
"""The revision marks that were made last, by the identity of the model, with what each was made of."""
_FORGETTING: Final = threading.Lock()
MARKS_KEPT: Final = 8
"""So many marks are kept (ours): a command works on one spec, `compare` on two."""


class Spec(Struct, frozen=True):
    """A spec that has been read and found usable.

    `model` holds what it says, in mm and radians. `name` is the file name without ending, `path` the
    file if there is one, `text` the user's own text.
    """

    model: SpecModel
    name: str
    path: FilePath | None
    text: str
    source: SourceText
    top: Node
    machine: Machine | None = None
    files: dict[str, bytes] = msgspec.field(default_factory=dict)
    """What is in the drawings, by name, as it was when each was first asked for; see `drawing`."""
    own: OwnTables = NO_TABLES
    """The shop's own tables; taken up when the spec is read, laid out and judged."""
    lifts: dict[str, float] = msgspec.field(default_factory=dict)
    """By mount: how much of its standoff in the model is a layer under it, mm; there only while a plate is laid
    out, see `laying/layers.py`."""
    as_said: dict[str, dict[str, Any]] = msgspec.field(default_factory=dict)
    """By mount: standoff (mm) and screws as the user says them, where the model has them with layers reckoned in."""
    before: ReadBefore = msgspec.field(default_factory=ReadBefore)
    """What of its file was read once."""

    def __repr__(self) -> str:
        return f"Spec(name={self.name!r}, path={self.path!r}, model={self.model!r})"

    @property
    def title(self) -> str:
        """What the plate is for."""
        return self.model.title

    @property
    def unit(self) -> Literal["mm", "in"]:
        """The unit of its bare numbers."""
        return self.model.units

    @property
    def revision(self) -> str:
        """The mark printed on everything: 8 characters that change when the meaning does, and only then.

        The paper and the printer do not count: the same plate printed again, corrected, is still the same plate. Nor
        does how scribed words would look where there are none.
        """
        # Every sheet prints it. What it is made of never changes; files are kept as they were first read.
        made_of = (self.model, self.machine, self.files, self.own)
        kept = _MARKED.get(id(self.model))
        if kept is not None and all(one is other for one, other in zip(kept[0], made_of, strict=True)):
            return kept[1]
        mark = self._mark()
        with _FORGETTING:
            _MARKED[id(self.model)] = (made_of, mark)
            while len(_MARKED) > MARKS_KEPT:
                del _MARKED[next(iter(_MARKED))]
        return mark

    def _mark(self) -> str:
        # From the model, not from the text: comments, order, units and other spellings of a figure leave it alone.
        meaning = self.model.model_dump(mode="json", by_alias=True, exclude={"paper", "side_files", "tables"})
        if not self.model.cutting.scribe:
            del meaning["cutting"]["scribe"], meaning["cutting"]["scribe_height"]
        if self.model.cutting.mark == "cross":
            del meaning["cutting"]["mark"]  # what it always was
        if self.machine is not None:
            meaning["machine"] = self.machine.figures()
        drive = meaning.get("drive") or {}
        if drive and (drive["machine"] is None or drive["service_factor"] is not None):
            del drive["machine"], drive["hours"]  # they say nothing then
        used = self.own.used(_words(meaning), _words([drive.get("belt"), (drive.get("second") or {}).get("belt")]))
        if used:
            meaning["tables"] = used
        drawings = self.drawings()
        if drawings:
            meaning["drawings"] = {name: hashlib.sha256(data).hexdigest() for name, data in drawings.items()}
        models = self.models()
        for name, body in self.model.bodies.items():
            shape = meaning["bodies"][name].get("shape")
            if shape is not None and body.shape is not None and body.shape.model is None:
                del shape["model"], shape["face"]  # what shapes always were
        if models:
            meaning["models"] = {name: hashlib.sha256(data).hexdigest() for name, data in models.items()}
        for mount in meaning["mounts"].values():
            _hole_in_its_kind(mount["pattern"])
        plain = json.dumps(_rounded(by_older_names(without_gained(meaning))), sort_keys=True)
        return hashlib.sha256(plain.encode()).hexdigest()[:8]

    @property
    def folder(self) -> FilePath:
        """The folder from which the paths in the spec count."""
        return FilePath() if self.path is None else self.path.parent

    def drawings(self) -> dict[str, bytes]:
        """What is in the drawings that the spec names, by name; one that cannot be read is left out."""
        shapes: list[ShapeWords | None] = [body.shape for body in self.model.bodies.values()]
        shapes += [mount.pad for mount in self.model.mounts.values()]
        shapes += self.model.plate.cutouts.values()
        found: dict[str, bytes] = {}
        for name in sorted({shape.drawn.file for shape in shapes if shape is not None and shape.drawn is not None}):
            with suppress(DrawingError):
                found[name] = self.drawing(name)
        return found

    def models(self) -> dict[str, bytes]:
        """What is in the makers' models that the spec names, by name; one that cannot be read is left out."""
        shapes = [body.shape for body in self.model.bodies.values()]
        found: dict[str, bytes] = {}
        for name in sorted({shape.model for shape in shapes if shape is not None and shape.model is not None}):
            with suppress(DrawingError):
                found[name] = self.model_bytes(name)
        return found

    def model_bytes(self, name: str) -> bytes:
        """What is in a maker's model, as it was when first asked for; raises `DrawingError` as `drawing` does."""
        if name not in self.files:
            self.files[name] = drawing_bytes(self.folder / name, MAX_MODEL_BYTES, "model")
        return self.files[name]

    def drawing(self, name: str) -> bytes:
        """What is in a drawing, as it was when first asked for.

        Each is read once: what is cut and the mark on it are of the same bytes, whoever saves the file meanwhile.

        Raises `DrawingError` for one that cannot be read.
        """
        if name not in self.files:
            self.files[name] = drawing_bytes(self.folder / name)
        return self.files[name]

    def problem(self, field_path: str, found: str, wanted: str) -> Problem:
        """A problem at a field such as `mounts.motor.looking_at`, with its place in the user's text.

        A field that is not in the file is pointed at by the nearest key above it that is.
        """
        return located(self.source, self.top, Complaint(newer_path(path_of(field_path, self.top)), found, wanted))


def _hole_in_its_kind(pattern: dict[str, Any]) -> None:
    """Puts the hole of a pattern inside its kind, where it once stood: for the mark, both places mean the same."""
    for kind in ("circle", "rectangle", "measured"):
        if pattern.get(kind) is not None and pattern["hole"] is not None:
            pattern[kind]["hole"], pattern["hole"] = pattern["hole"], None


def _words(data: Any) -> Iterator[str]:
    """Every word that the data of a spec holds as a value."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for value in data.values():
            yield from _words(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _words(value)


def load(path: str | os.PathLike[str]) -> Spec:
    """The spec in a file.

    Raises SpecError, with every problem and its place, when the file is no usable spec; PlatekitError, in one
    sentence, when it cannot be read at all.
    """
    file = FilePath(path)
    return _spec(text_of_spec(file), str(file), file)


def text_of_spec(file: FilePath) -> str:
    """The text of a spec's file, its byte order mark left out; raises SpecError and PlatekitError as `load` does."""
    try:
        if file.is_dir():
            raise PlatekitError(f"{file}: found a folder; name the spec in it, a file that ends in .yaml")
        # One byte more than is allowed, so that a file without end (a device, a pipe) is refused after a few megabytes.
        raw = first_bytes(file, MAX_BYTES + 1)
    except FileNotFoundError:
        raise PlatekitError(f"{file}: found no such file; check the name, or let `platekit new` write one") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's"
        raise PlatekitError(f"{file}: cannot be read ({reason}); check the file and your rights to it") from None
    if len(raw) > MAX_BYTES:
        raise PlatekitError(
            f"{file}: found a file of more than {MAX_BYTES / 1e6:.0f} MB, the most that a spec may have"
        )
    name = str(file)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise SpecError((Problem(name, 1, 1, "", "text in UTF-16", "save it as UTF-8"),))
    if b"\0" in raw:
        raise SpecError((Problem(name, 1, 1, "", "a file that is no text", "name the spec, a text file"),))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"a sign that is not UTF-8 (byte {raw[error.start]:#04x})"
        raise SpecError((Problem(name, line, 1, "", found, "save it as UTF-8"),)) from None


def loads(text: str, name: str = "spec") -> Spec:
    """The spec in a text; `name` is what the problems call it.

    >>> loads('''
    ... platekit: 1
    ... title: Blank
    ... units: mm
    ... plate: {material: mild steel, thickness: 10}
    ... mounts: {machine: {side: far, pattern: {points: [[0, 0]], hole: 9}}}
    ... ''').model.plate.thickness
    10.0
    """
    return _spec(text, name, None)


def loads_at(text: str, path: str | os.PathLike[str]) -> Spec:
    """The spec that a text would be in the file at `path`: its drawings and its machine are looked for from there.

    Nothing is read of the file itself. Raises SpecError.
    """
    return _spec(text, str(path), FilePath(path))


def with_text(spec: Spec, text: str) -> Spec:
    """The spec with another text; its machine and drawings are found where they were."""
    return _spec(text, spec.source.name, spec.path, spec.files)


def with_data(spec: Spec, edits: Iterable[tuple[str, Value]]) -> Spec:
    """A spec in which some fields have other values; its text stays, so that nothing need be read again.

    The edits are those of `with_value`. Raises SpecError, with places in the text that stayed, when that is no spec.
    """
    data = spec.top.data
    for field, value in edits:
        data = data_with(data, newer_path(path_of(field, spec.top)), value)
    # The text stays as it was: problems of the changed data point to where the user would mend them.
    before = spec.before if data.get("units") == spec.top.data.get("units") else None
    model, problems = _modelled(spec.source, replace(spec.top, data=data), before)
    if model is None or problems:
        raise SpecError(_in_order(problems, spec.source))
    # nothing is reckoned into a model that comes from the data
    changed = replace(spec, model=model, machine=None, lifts={}, as_said={})
    return changed if model.cutting.machine is None else _on_machine(changed, model.cutting.machine)


def _spec(text: str, name: str, file: FilePath | None, files: dict[str, bytes] | None = None) -> Spec:
    source = source_of(text.removeprefix("\ufeff"), name)
    top, problems = read(source)
    if top is None:
        raise SpecError(tuple(problems))
    if not isinstance(top.data, dict):
        wanted = "start it with keys, as `platekit: 1` on the first line"
        raise SpecError((source.at(top, (), f"{shown(top.data)} instead of a spec", wanted),))
    problems += [located(source, top, twice) for twice in renew(top)]
    # Before the model, which asks the tables for every name in the spec.
    own = _own_tables(top, source, FilePath() if file is None else file.parent)
    use_own(own.rows)  # names of theirs are looked up from here on
    before = ReadBefore(reading=True)
    model, more = _modelled(source, top, before)
    before.reading = False
    problems += more
    if model is None or problems:
        raise SpecError(_in_order(problems, source))
    kept = {} if files is None else files
    spec = Spec(model, (file or FilePath(name)).stem, file, text, source, top, files=kept, own=own, before=before)
    away = [spec.problem(*one) for one in _away(spec)]
    if away:
        raise SpecError(_in_order(away, source))
    # Read now, so that what is cut and the mark on it are of the bytes that lay there when the spec was read.
    spec.drawings()
    spec.models()
    return spec if model.cutting.machine is None else _on_machine(spec, model.cutting.machine)


def _own_tables(top: Node, source: SourceText, home: FilePath) -> OwnTables:
    """The shop's own tables that the data of a spec name, read whole; none where it names none."""
    name = top.data.get("tables")
    if not isinstance(name, str):  # what is no text is told when the model is made
        return NO_TABLES
    found = ""
    try:
        if top.data.get("side_files") != "anywhere":
            # Links are followed first: one that leads out of the folder is outside, whatever its name says.
            base = os.path.realpath(home)
            if os.path.commonpath([base, os.path.realpath(os.path.join(base, name))]) != base:
                found = f"a folder outside that of the spec ({shown(name)})"
                wanted = "put it beside the spec, or write `side_files: anywhere` if it is meant to lie there"
        if not found and not (home / name).is_dir():
            found, wanted = shown(name), "name a folder, from the spec, with your tables in it"
    except (OSError, ValueError):
        found, wanted = shown(name), "name a folder, from the spec, with your tables in it"
    if found:
        raise SpecError((located(source, top, Complaint(("tables",), found, wanted)),))
    return read_folder(home / name)


def _away(spec: Spec) -> Iterator[tuple[str, str, str]]:
    """The drawings and the machine that a spec names outside its own folder, unless it says that they may lie there."""
    model = spec.model
    if model.side_files == "anywhere":
        return
    shapes: dict[str, ShapeWords | None] = {f"bodies.{name}.shape": body.shape for name, body in model.bodies.items()}
    shapes |= {f"mounts.{name}.pad": mount.pad for name, mount in model.mounts.items()}
    shapes |= {f"plate.cutouts.{name}": shape for name, shape in model.plate.cutouts.items()}
    named = {f"{field}.drawn.file": one.drawn.file for field, one in shapes.items() if one and one.drawn}
    solids = {f"bodies.{name}.shape.model": body.shape for name, body in model.bodies.items()}
    named |= {field: one.model for field, one in solids.items() if one and one.model}
    if model.cutting.machine is not None:
        named["cutting.machine"] = model.cutting.machine
    home = os.path.realpath(spec.folder)
    for field, name in named.items():
        with suppress(OSError, ValueError):  # no such name can be: it is told where the file is read
            real = os.path.realpath(os.path.join(home, name))
            if os.path.commonpath([home, real]) != home:
                wanted = "copy it beside the spec, or write `side_files: anywhere` if it is meant to lie there"
                yield field, f"a file outside the folder of the spec ({shown(name)})", wanted


def _on_machine(spec: Spec, name: str) -> Spec:
    """The spec with its machine read in, cut by that machine's process if it names none of its own."""
    from platekit.spec.machine import load_machine

    # Where the machine's file is: beside the spec, or in the folder `machines` there; `.yaml` may be left out.
    folder = FilePath() if spec.path is None else spec.path.parent
    places = [folder / name, folder / f"{name}.yaml", folder / "machines" / name, folder / "machines" / f"{name}.yaml"]
    try:
        found = next((place for place in places if place.is_file()), None)
    except (OSError, ValueError):
        found = None
    if found is None:
        wanted = f"name a file beside the spec, or one in its folder `machines`; {places[-1].name} is in neither"
        raise SpecError((spec.problem("cutting.machine", shown(name), wanted),))
    machine = load_machine(found)
    cutting = spec.model.cutting
    if "process" in cutting.model_fields_set and cutting.process != machine.process:
        wanted = f"{machine.name} cuts by {machine.process}; leave the process out, or name another machine"
        raise SpecError((spec.problem("cutting.process", cutting.process, wanted),))
    cutting = cutting.model_copy(update={"process": machine.process})
    return replace(spec, model=spec.model.model_copy(update={"cutting": cutting}), machine=machine)


def _modelled(source: SourceText, top: Node, before: ReadBefore | None) -> tuple[SpecModel | None, list[Problem]]:
    """The model of the data, and all that is wrong with the data; what was read `before` is not read again."""
    # References first, then the models: both look at the same data and neither stops at the other's mistakes. What was
    # told when the file was read is not told again in the models' words.
    data: dict[str, Any] = top.data
    wrong = list(islice(complaints(data), MAX_PROBLEMS + 1))
    # Lengths are read while the model is made, so the unit has to be known before; a wrong one is told by the model.
    unit = data.get("units")
    model = None
    try:
        model = SpecModel.model_validate(
            data, context={"unit": unit if unit in ("mm", "in") else "mm", "before": before}
        )
    except ValidationError as error:
        from platekit.spec.explain import complaints_of  # only here: a sound spec needs none of its words

        wrong += complaints_of(error, top, MAX_PROBLEMS + 1)
    nodes = ((one, node_at(top, one.path)) for one in wrong)
    return model, [located(source, top, one) for one, node in nodes if node is None or not node.spoilt]


def _in_order(problems: list[Problem], source: SourceText) -> tuple[Problem, ...]:
    """The problems in the order of the file, one for each field and place, and not more than can be read."""
    # A reference and the model may both complain of one value: the first to do so knows more of it.
    first: dict[tuple[str, int, int], Problem] = {}
    for problem in problems:
        first.setdefault((problem.field, problem.line, problem.column), problem)
    ordered = sorted(first.values(), key=lambda problem: (problem.line == 0, problem.line, problem.column))
    if len(ordered) > MAX_PROBLEMS:
        found = f"more than {MAX_PROBLEMS} problems"
        ordered[MAX_PROBLEMS:] = [source.at(None, (), found, "correct these first, then check again")]
    return tuple(ordered)


def _rounded(value: Any) -> Any:
    match value:
        case float():
            return round(value, MARK_DIGITS) + 0.0
        case dict():
            return {key: _rounded(item) for key, item in value.items()}
        case list():
            return [_rounded(item) for item in value]
        case _:
            return value
