"""What the page can ask for, by name: plain data in, plain data out.

Each act that changes the spec names the state it was made against. All of them give the whole sheet back, so that a
page which missed something is right again after any act.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Final, get_args

from platekit.checks.acceptance import figure
from platekit.checks.finding import Finding, Verdict
from platekit.drawing.cautions import CAUTIONS, CLEAR_TO_CUT, NOT_FOR_CUTTING
from platekit.drawing.like_findings import count_words, grouped, same_at
from platekit.errors import PlatekitError, Problem, SpecError
from platekit.export.data.rounded import tidied
from platekit.page.boxes import blank, sheet, value_of
from platekit.page.desk import Desk, Edit, Now, Stale, problems_of, with_edits
from platekit.page.scene import dragged, scene
from platekit.placed import Layout
from platekit.spec.editing import Value, without_value
from platekit.spec.source import node_at, path_of
from platekit.survey.net import ReadingKind

Answer = dict[str, Any]
MOST_PLACES: Final = 6
"""Most places that are shown at once (ours)."""


class BadRequest(PlatekitError):
    """Something that no page of ours would ask."""


def done(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """What one request comes to: the act's own answer, or why it was refused, in one line for a shop person."""
    name = asked.get("act")
    act = ACTS.get(name) if isinstance(name, str) else None
    if act is None:
        raise BadRequest("found an act that there is none of")
    try:
        return act(desk, asked)
    except Stale as stale:
        return {**_whole(desk.now()), "refused": str(stale), "steps": desk.steps}
    except SpecError as error:
        return {"refused": "; ".join(_said(one) for one in error.problems[:3]), "problems": _problems(error.problems)}
    except PlatekitError as error:
        return {"refused": str(error)}


# ------------------------------------------------------------------------------------------- looking


def look(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Everything; or only that nothing has changed, where the page says which state it has."""
    now = desk.now()
    if asked.get("state") == now.state and not asked.get("all"):
        return {"same": True}
    return _answer(desk, now)


def advise(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """The findings with advice that was tried: takes up to seconds, so the page asks for it by itself."""
    now = desk.advised()
    verdict = now.verdict
    return {"state": now.state, "findings": [] if verdict is None else _findings(verdict)}


def _answer(desk: Desk, now: Now) -> Answer:
    return {**_whole(now), "steps": desk.steps, "files": _files(desk), "name": desk.path.name}


def _whole(now: Now) -> Answer:
    """The sheet at one state."""
    answer: Answer = {
        "state": now.state,
        "text": now.text,
        "readable": now.readable,
        "fresh": now.fresh,
        "problems": _problems(now.problems),
        "verdict": _word(now),
        "findings": [] if now.verdict is None else _findings(now.verdict),
        "cautions": list(CAUTIONS),
    }
    if now.spec is not None:
        answer["sheet"] = sheet(now.spec.top, now.text)
        answer["title"], answer["unit"] = now.spec.title, now.spec.unit
        answer["revision"] = now.spec.revision
        answer["surveys"] = _surveys(now)
    if now.layout is not None and now.verdict is not None:
        answer["scene"] = scene(now.layout, now.verdict)
        answer["sliders"] = _sliders(now.layout)
    return answer


def _word(now: Now) -> Answer:
    """The verdict as the page says it: nothing is clear that could not be laid out as it stands."""
    if not now.fresh or now.verdict is None:
        return {"word": "unusable", "say": "CANNOT BE LAID OUT", "why": _said(now.problems[0]) if now.problems else ""}
    stops, warnings = now.verdict.open("stop"), now.verdict.open("warn")
    if stops:
        return {"word": "stop", "say": f"{NOT_FOR_CUTTING}: {count_words(stops, 'stop')}", "why": stops[0].message}
    why = f"{count_words(warnings, 'warning')} to read" if warnings else "nothing stands against it"
    return {"word": "clear", "say": CLEAR_TO_CUT, "why": why}


def _findings(verdict: Verdict) -> list[Answer]:
    """The findings, those that say the same of several places as one, as every paper has them."""
    number = {id(finding): k for k, finding in enumerate(verdict.findings)}
    return [
        {
            **_finding(alike[0]),
            "same": same_at(alike),
            "marks": [number[id(one)] for one in alike],
            "places": [list(one.features) for one in alike],
        }
        for alike in grouped(verdict.findings)
    ]


def _finding(finding: Finding) -> Answer:
    return tidied(
        {
            "rule": finding.rule,
            "level": finding.level,
            "message": finding.message,
            "advice": finding.advice.text,
            "tried": finding.advice.tried,
            "edits": [[remedy.field, remedy.value] for remedy in finding.advice.remedies],
            "accepted": finding.accepted,
            "acceptable": finding.acceptable and finding.level != "note" and bool(finding.features),
        }
    )


def _problems(problems: Iterable[Problem]) -> list[Answer]:
    return [{"line": one.line, "column": one.column, "field": one.field, "said": _said(one)} for one in problems]


def _said(problem: Problem) -> str:
    where = f"line {problem.line}: " if problem.line else ""
    field = f"{problem.field}: " if problem.field else ""
    found = f"found {problem.found}" if problem.wanted else problem.found
    return f"{where}{field}{found}{'; ' if problem.wanted else ''}{problem.wanted}"


def _surveys(now: Now) -> dict[str, Any]:
    """What every measured pattern comes to, also where it cannot be laid out yet."""
    from platekit.export.data.survey import pattern_figures, plan_figures
    from platekit.studies.surveyed import plans, surveyed

    assert now.spec is not None
    if not any(mount.pattern.measured is not None for mount in now.spec.model.mounts.values()):
        return {}
    try:
        found = surveyed(now.spec, now.layout if now.fresh else None)
        plan: Any = plan_figures(plans(now.spec))["plan"]
    except PlatekitError:
        return {}
    told: dict[str, Any] = {}
    for one in found:
        told[one.mount] = tidied(pattern_figures(one)) | {
            "names": list(one.pattern.holes),
            "sigma": one.pattern.sigma,
            "plan": plan.get(one.mount),
            "boxes": _reading_boxes(now, one.mount),
        }
    return told


def _reading_boxes(now: Now, mount: str) -> dict[str, list[str]]:
    """Where the number of each reading stands and what is typed there: [field, typed], by the reading's own key.

    The key of a reading is its names and kind, `A B inside`; that of a diameter `A diameter`. The same pair taken twice
    the same way has its boxes in order.
    """
    assert now.spec is not None
    field = f"mounts.{mount}.pattern.measured"
    measured: Any = now.spec.top.data["mounts"][mount]["pattern"]["measured"]
    found: dict[str, list[str]] = {}
    for k, reading in enumerate(measured.get("readings", ())):
        place = next((n for n, part in enumerate(reading) if n >= 2 and not _is_word_of_kind(part)), None)
        if place is not None:
            found.setdefault(" ".join(map(str, reading[:place])), []).extend(
                [f"{field}.readings.{k}.{place}", _as_typed(now, f"{field}.readings.{k}.{place}")]
            )
    for name, size in measured["holes"].items():
        where = f"{field}.holes.{name}" + (".diameter" if isinstance(size, dict) else "")
        if not isinstance(size, dict) or "diameter" in size:
            found[f"{name} diameter"] = [where, _as_typed(now, where)]
    return found


def _is_word_of_kind(part: Any) -> bool:
    return isinstance(part, str) and part in get_args(ReadingKind)


def _as_typed(now: Now, field: str) -> str:
    assert now.spec is not None
    node = node_at(now.spec.top, path_of(field, now.spec.top))
    if node is None:
        return ""
    return node.data if isinstance(node.data, str) else now.text[node.start : node.end].strip()


# ------------------------------------------------------------------------------------------- editing


def edit(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Boxes filled in: [[field, what was typed, kind of box], ...]."""
    edits = _typed(asked.get("edits"))
    return _answer(desk, desk.change(_state(asked), lambda text: with_edits(text, edits)))


def set_values(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """The edits of an advice, as they were told: [[field, value], ...]."""
    edits = _values(asked.get("edits"))
    return _answer(desk, desk.change(_state(asked), lambda text: with_edits(text, edits)))


def preview(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """What some edits would change: the lines of the spec before and after, and what is found then."""
    now = desk.now()
    edits = _values(asked.get("edits"))
    changed = with_edits(now.text, edits)
    lines = difflib.unified_diff(now.text.splitlines(), changed.splitlines(), lineterm="", n=0)
    layout, verdict = desk.trial(_state(asked), edits)
    return {
        "lines": [line for line in lines if line[:3] not in ("---", "+++") and line[:2] != "@@"],
        "scene": scene(layout, verdict),
        "verdict": _trial_word(layout, verdict),
    }


def take_out(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """A value and its key go; a group that this leaves empty goes with them."""
    field = _text(asked, "field")
    return _answer(desk, desk.change(_state(asked), lambda text: without_value(text, field)))


def blank_form(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """The boxes to fill in before something new can be added."""
    now = desk.now()
    if now.spec is None:
        raise SpecError(now.problems)
    return {"offer": blank(_text(asked, "field"), now.spec.top)}


def add(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Something new: boxes by their path below a field, {'a.b': [typed, kind]}, put in as one group."""
    field, boxes = _text(asked, "field"), asked.get("boxes")
    if not isinstance(boxes, Mapping):
        raise BadRequest("found no boxes")
    value: Any = {}
    for path, typed in boxes.items():
        one = _typed([[path or "value", *typed]])[0][1]
        if not path:
            value = one
            continue
        below = value
        *steps, last = str(path).split(".")
        for step in steps:
            below = below.setdefault(step, {})
        below[last] = one
    return _answer(desk, desk.change(_state(asked), lambda text: with_edits(text, [(field, value)])))


def save(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """The whole text as typed in the spec's own box."""
    typed = _text(asked, "text")
    # A browser's box knows one kind of line end; a file that has the other keeps it.
    if "\r\n" in desk.now().text:
        typed = typed.replace("\r\n", "\n").replace("\n", "\r\n")
    return _answer(desk, desk.change(_state(asked), lambda _: typed, whatever=True))


def proofread(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """What is wrong with a text that is being typed; nothing is written."""
    return {"problems": _problems(problems_of(desk.path, _text(asked, "text")))}


def undo(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """One step of the page back."""
    return _answer(desk, desk.undo(_state(asked)))


def redo(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """One step forward again."""
    return _answer(desk, desk.redo(_state(asked)))


def accept(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """A finding judged and accepted at its places, with the reason; the figure that was judged goes with it."""
    rule, reason, places = _text(asked, "rule"), _text(asked, "reason").strip(), asked.get("places")
    now = desk.now()
    fitting = [
        one
        for one in (now.verdict.findings if now.verdict is not None else ())
        if one.rule == rule and isinstance(places, list) and list(one.features) in places and one.accepted is None
    ]
    if not fitting or now.layout is None or now.spec is None:
        raise PlatekitError("that finding is not there any more")
    if not reason:
        raise PlatekitError("found no reason; say in a few words why it may be so")
    entries = []
    for one in fitting:
        entry: dict[str, Any] = {
            "rule": rule,
            "feature": list(one.features) if len(one.features) > 1 else one.features[0],
        }
        if one.found is not None:
            entry["found"] = value_of(figure(now.layout, one), "words")
        entries.append({**entry, "because": reason})
    count = len(now.spec.model.accept)

    def accepted(text: str) -> str:
        edits: list[Edit] = [(f"accept.{count + k}", entry) for k, entry in enumerate(entries)]
        return with_edits(text, edits if count else [("accept", entries)])

    return _answer(desk, desk.change(_state(asked), accepted))


def add_reading(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """One more reading at the end of a measured pattern: two names, how it was taken, the number."""
    now = desk.now()
    mount = _text(asked, "mount")
    first, how, number = _text(asked, "from"), _text(asked, "how"), value_of(_text(asked, "typed"), "words")
    reading: Value = [first, how, number] if how in ("x", "y") else [first, _text(asked, "to"), how, number]
    if now.spec is None or mount not in now.spec.model.mounts:
        raise PlatekitError(f"there is no mount called {mount}")
    measured = now.spec.model.mounts[mount].pattern.measured
    if measured is None:
        raise PlatekitError(f"the pattern of {mount} is not measured")
    field, count = f"mounts.{mount}.pattern.measured.readings", len(measured.readings)
    edit: Edit = (f"{field}.{count}", reading) if count else (field, [reading])
    return _answer(desk, desk.change(_state(asked), lambda text: with_edits(text, [edit])))


# ----------------------------------------------------------------------------------------- dragging


def drag(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """A handle at a point of its picture: tried while it is dragged, written when it is let go."""
    now = desk.now()
    to = asked.get("to")
    if now.layout is None or not isinstance(to, list) or len(to) != 2 or not all(_is_number(one) for one in to):
        raise BadRequest("found no point to drag to")
    try:
        edits = dragged(now.layout, _text(asked, "handle"), (float(to[0]), float(to[1])), bool(asked.get("fine")))
    except KeyError:
        raise PlatekitError("that handle is not there any more") from None
    if asked.get("write"):
        return _answer(desk, desk.change(_state(asked), lambda text: with_edits(text, edits)))
    return _trial(desk, _state(asked), edits)


def try_values(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """A slider that is being pulled: what its value comes to, nothing written."""
    return _trial(desk, _state(asked), _typed(asked.get("edits")))


def _trial(desk: Desk, state: str, edits: list[Edit]) -> Answer:
    layout, verdict = desk.trial(state, edits)
    worst = next((f for f in verdict.findings if f.accepted is None), None)
    return {
        "scene": scene(layout, verdict),
        "verdict": _trial_word(layout, verdict),
        "worst": None if worst is None else worst.message,
        "edits": [[field, value] for field, value in edits],
    }


def _trial_word(layout: Layout, verdict: Verdict) -> Answer:
    """The verdict of a trial; it never says clear of a plate whose strength or guard is still to be judged."""
    stops = verdict.open("stop")
    if stops:
        return {"word": "stop", "say": f"{NOT_FOR_CUTTING}: {count_words(stops, 'stop')}", "why": ""}
    if layout.guard is not None or any(mount.mass is not None for mount in layout.mounts.values()):
        return {"word": "open", "say": "NO STOP SO FAR", "why": "strength and guard are judged when you let go"}
    return {"word": "clear", "say": CLEAR_TO_CUT, "why": ""}


def _sliders(layout: Layout) -> dict[str, list[float]]:
    """Fields that a slider suits, each with [from, to, step] in the spec's unit (ours)."""
    inch = layout.spec.unit == "in"
    found = {"plate.thickness": [0.125, 1.0, 0.0625] if inch else [3.0, 25.0, 1.0]}
    for name, mount in layout.mounts.items():
        if mount.take_up == "slots":
            for end in ("install", "tension"):
                found[f"mounts.{name}.take_up.slots.{end}"] = [0.0, 2.0, 0.0625] if inch else [0.0, 60.0, 0.5]
        found[f"mounts.{name}.standoff"] = [0.0, 2.0, 0.0625] if inch else [0.0, 50.0, 1.0]
        found[mount.hole_field] = [0.125, 1.0, 0.015625] if inch else [3.0, 25.0, 0.1]
    return found


# ----------------------------------------------------------------------- places, drives, tables, files


def places(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Places of a mount that nothing stops, each as a small scene to pick."""
    from platekit.export.picture.places import merit_words, where_words
    from platekit.jobs.place import find_places
    from platekit.studies.place import written_text

    now = desk.now()
    search = find_places(desk.path, _text(asked, "mount"), "balance", MOST_PLACES)
    return {
        "state": now.state,
        "places": [
            {
                "number": k,
                "where": where_words(search, place),
                "merits": merit_words(search, place),
                "scene": scene(place.layout, place.verdict)["front"],
                "text": written_text(search, k),
            }
            for k, place in enumerate(search.places, 1)
        ],
    }


def drives(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Stock belts and pulleys ranked for the wanted speeds, each with the text of the spec that it would make."""
    from platekit.jobs.drive_choices import ChoiceWanted, choices_figures, choices_for, with_choice

    now = desk.now()
    if now.layout is None or not now.layout.belts:
        raise PlatekitError("there is no belt drive in this job yet; add `drive` to the sheet first")
    choices = choices_for(now.layout, ChoiceWanted())
    texts = [with_choice(now.layout, one) for one in choices.best]
    return {"state": now.state, **choices_figures(choices), "texts": texts}


def look_up(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Designations that contain what was typed, and the table of the first that is meant exactly."""
    from platekit import tables
    from platekit.errors import LookupFailed

    typed = _text(asked, "typed").strip()
    found = [name for name in tables.names() if typed.lower() in name.lower()][:40]
    try:
        return {"names": found, "text": tables.described(tables.look_up(typed))}
    except LookupFailed as error:
        return {"names": found or list(error.nearest), "text": "" if found else str(error)}


def write_files(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """Every file of the plate, as `platekit make` writes them; the cut files only while no stop is open."""
    from platekit.export.publishing import FilesWanted
    from platekit.jobs.make import make

    told = make(desk.path, desk.out, FilesWanted(solid=bool(asked.get("solid")), kerf=bool(asked.get("kerf"))))
    return {**_answer(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def write_paper(desk: Desk, asked: Mapping[str, Any]) -> Answer:
    """The 1:1 paper by itself; with the bars of a print as measured, corrected for that printer."""
    from platekit.jobs.template import PrintWanted, template

    measured = str(asked.get("measured") or "").strip()
    printer = str(asked.get("printer") or "").strip()
    wanted = PrintWanted(measured=measured or None, printer=printer or None)
    told = template(desk.path, desk.out, wanted)
    return {**_answer(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def folder_of(desk: Desk) -> Path:
    """The folder of the spec's files."""
    return desk.out / desk.path.stem


def _files(desk: Desk) -> list[Answer]:
    """The files of this spec that are there, by name."""
    try:
        with os.scandir(folder_of(desk)) as entries:
            return [
                {"name": one.name, "size": one.stat().st_size}
                for one in sorted(entries, key=lambda one: one.name)
                if one.is_file(follow_symlinks=False) and not one.name.startswith(".")
            ]
    except OSError:
        return []


# ------------------------------------------------------------------------------------- what was asked


def _state(asked: Mapping[str, Any]) -> str:
    return _text(asked, "state")


def _text(asked: Mapping[str, Any], key: str) -> str:
    said = asked.get(key)
    if not isinstance(said, str):
        raise BadRequest(f"found no {key}")
    return said


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e6


def _typed(edits: Any) -> list[Edit]:
    if not isinstance(edits, list) or not all(
        isinstance(one, list) and len(one) == 3 and all(isinstance(part, str) for part in one) for one in edits
    ):
        raise BadRequest("found no edits")
    return [(field, value_of(typed, kind)) for field, typed, kind in edits]


def _values(edits: Any) -> list[Edit]:
    if not isinstance(edits, list) or not all(
        isinstance(one, list) and len(one) == 2 and isinstance(one[0], str) for one in edits
    ):
        raise BadRequest("found no edits")
    return [(field, value) for field, value in edits]


Act = Callable[[Desk, Mapping[str, Any]], Answer]
ACTS: Final[dict[str, Act]] = {
    "look": look,
    "advise": advise,
    "edit": edit,
    "set": set_values,
    "preview": preview,
    "take out": take_out,
    "blank": blank_form,
    "add": add,
    "save": save,
    "proofread": proofread,
    "undo": undo,
    "redo": redo,
    "accept": accept,
    "reading": add_reading,
    "drag": drag,
    "try": try_values,
    "places": places,
    "drives": drives,
    "look up": look_up,
    "make": write_files,
    "print": write_paper,
}
"""Every act by its name."""
