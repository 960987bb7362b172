"""What the page is told: the whole sheet at one state, and what a trial comes to, as plain data."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import CAUTIONS, CLEAR_TO_CUT, NOT_FOR_CUTTING
from platekit.drawing.like_findings import count_words, grouped, led, same_at
from platekit.errors import Problem
from platekit.export.data.rounded import tidied
from platekit.page.boxes import asked_for, sheet
from platekit.page.desk import Desk, Edit, Now
from platekit.page.holes import holes
from platekit.page.new_job import countershaft_asked
from platekit.page.numbers import numbers
from platekit.page.old_face import faces
from platekit.page.own_table import coupon_asked
from platekit.page.scene import scene
from platekit.placed import Layout
from platekit.spec.source import Node
from platekit.studies.advised import Known, Trial

Answer = dict[str, Any]
MOST_IDEAS: Final = 4
"""Most ideas of one finding that are offered to be tried (ours)."""
MOST_TOLD: Final = 3
"""Most stops that one trial names (ours)."""
MEASURED: Final = re.compile(r"mounts\.[^.]+\.pattern\.measured(\.(holes(\.[^.]+)?|clockwise|readings\.\d+))?$")
"""Where the problems of a survey are told (`laying/measured.py`)."""


def answer_of(desk: Desk, now: Now) -> Answer:
    """The whole sheet, and what belongs to the desk and not to a state: steps, the files that are there, its name."""
    files: list[Answer] = []
    try:
        with os.scandir(desk.folder) as entries:
            # no links: what the page offers for opening lies in this folder and nowhere else
            files = [
                {"name": one.name, "size": one.stat().st_size}
                for one in sorted(entries, key=lambda one: one.name)
                if one.is_file(follow_symlinks=False) and not one.name.startswith(".")
            ]
    except OSError:
        # nothing was made yet, or the folder was taken away meanwhile: either way there is nothing to offer
        files = []
    return {**whole(now), "steps": desk.steps, "files": files, "name": desk.path.name}


def whole(now: Now) -> Answer:
    """The sheet at one state. What a text that cannot be read has not is left out, so that the page keeps the last."""
    surveys = {} if now.spec is None else faces(now)
    # Nothing is called clear that could not be laid out as it stands: a verdict may be that of the last good text.
    if not now.fresh or now.verdict is None:
        why = problem_in_words(now.problems[0]) if now.problems else ""
        verdict = {"word": "unusable", "say": "CANNOT BE LAID OUT", "why": why}
        # A face that is just being measured is no fault of anybody.
        if now.readable and now.problems and all(map(of_measuring, now.problems)):
            say = "NOT ALL MEASURED YET"
            verdict = {"word": "unusable", "say": say, "why": "the old face below says which reading to take next"}
    elif any(face["state"] == "sketched" for face in surveys.values()):
        # a plate on the one hole that was clicked so far has faults that are nobody's either
        verdict = {"word": "stop", "say": "NOT ALL MEASURED YET", "why": "the old face below says what to do next"}
    elif stops := now.verdict.open("stop"):
        say = f"{NOT_FOR_CUTTING}: {count_words(stops, 'stop')}"
        verdict = {"word": "stop", "say": say, "why": stops[0].message}
    else:
        warnings = now.verdict.open("warn")
        why = f"{count_words(warnings, 'warning')} to read" if warnings else "nothing stands against it"
        verdict = {"word": "clear", "say": CLEAR_TO_CUT, "why": why}
    top = None if now.spec is None else now.spec.top
    answer: Answer = {
        "state": now.state,
        "text": now.text,
        "readable": now.readable,
        "fresh": now.fresh,
        "problems": problems_told(now.problems),
        "verdict": verdict,
        "findings": [] if now.verdict is None else findings_told(now.verdict, top),
        "cautions": list(CAUTIONS),
    }
    if now.spec is not None:
        answer["sheet"] = sheet(now.spec.top, now.text)
        answer["title"], answer["unit"] = now.spec.title, now.spec.unit
        answer["revision"] = now.spec.revision
        answer["surveys"] = surveys
    if now.layout is not None and now.verdict is not None:
        answer["scene"] = scene(now.layout, now.verdict)
        answer["sliders"] = sliders(now.layout)
        answer["belt_section"], answer["belt_sections"] = section_of(now.layout)
        answer["belts"] = [
            {"field": belt.field, "between": f"from {belt.driver.mount} to {belt.driven.mount}"}
            for belt in now.layout.belts
        ]
        if now.fresh and now.spec is not None:
            answer["countershaft"] = countershaft_asked(now.layout)
            answer["coupon"] = coupon_asked(now.layout)
            answer["numbers"] = numbers(now.layout, now.spec.top, now.text)
            answer["holes"] = holes(now.layout, now.spec.top, now.text)
    return answer


def findings_told(verdict: Verdict, top: Node | None = None, given: Mapping[int, Known] | None = None) -> list[Answer]:
    """The findings, those that say the same of several places as one, as every paper has them.

    With the spec's own `top` each tells the figures that it asks for as boxes to be filled in. `given` is the advice
    that was tried, by the finding's identity; the rule's own ideas come with a finding for which none is known to do.
    """
    number = {id(finding): k for k, finding in enumerate(verdict.findings)}
    told = []
    for alike in grouped(verdict.findings):
        finding = alike[0]
        known = (given or {}).get(id(finding))
        advice = finding.advice if known is None else known.advice
        ideas = [one for one in (finding.advice, *finding.others) if one.remedies]
        if known is not None:
            # of what was tried in vain the rule's own first, then as many that it did not think of
            more = [one for one in known.in_vain if one not in ideas]
            half = MOST_IDEAS // 2
            ideas = [] if advice.tried else [*ideas[:half], *more[:half], *ideas[half:]]
        told.append(
            tidied(
                {
                    "rule": finding.rule,
                    "level": finding.level,
                    "message": finding.message,
                    "led": led(finding),
                    "advice": advice.text,
                    "tried": advice.tried,
                    # looked at, and nothing that was tried did
                    "vain": known is not None and not advice.tried,
                    "hand": next(
                        (one.text for one in (finding.advice, *finding.others) if one and not one.remedies), ""
                    ),
                    "edits": [[remedy.field, remedy.value] for remedy in advice.remedies] if advice.tried else [],
                    "ideas": [
                        {"text": one.text, "edits": [[remedy.field, remedy.value] for remedy in one.remedies]}
                        for one in ideas[:MOST_IDEAS]
                    ],
                    "accepted": finding.accepted,
                    # a note stops nothing, and what names no place could be accepted nowhere
                    "field": finding.field,
                    "acceptable": finding.acceptable and finding.level != "note" and bool(finding.features),
                }
            )
            | {
                "asks": [[one.field, one.value] for one in finding.asks],
                "boxes": [] if top is None else asked_for(finding.asks, top),
                "same": same_at(alike),
                "marks": [number[id(one)] for one in alike],
                "places": [list(one.features) for one in alike],
            }
        )
    return told


def problems_told(problems: Iterable[Problem]) -> list[Answer]:
    """What is wrong with a text, each with its place."""
    return [
        {
            "line": one.line,
            "column": one.column,
            "field": one.field,
            "said": problem_in_words(one),
            "measuring": of_measuring(one),
        }
        for one in problems
    ]


def of_measuring(problem: Problem) -> bool:
    """Whether a problem is that of a face which is not all measured yet, or of its readings."""
    return MEASURED.match(problem.field) is not None


def problem_in_words(problem: Problem) -> str:
    """A problem in one line, without the file's name: the page shows one file."""
    where = f"line {problem.line}: " if problem.line else ""
    field = f"{problem.field}: " if problem.field else ""
    # What came from no reader of ours (a table, a disk) has its whole sentence in `found` and wants nothing.
    found = f"found {problem.found}; {problem.wanted}" if problem.wanted else problem.found
    return f"{where}{field}{found}"


def section_of(layout: Layout) -> tuple[str | None, list[str]]:
    """The section of the last belt, which drives the working shaft, and all that stock belts are of."""
    from platekit.tables.belts.lengths import stock
    from platekit.tables.belts.sections import section_names

    if not layout.belts:
        return None, []
    belt = layout.belts[-1].request.belt
    return None if belt is None else str(belt.section), [name for name in section_names() if stock(name)]


def sliders(layout: Layout) -> dict[str, list[float]]:
    """Fields that a slider suits, each with [from, to, step] in the spec's unit, in or mm (ours)."""
    inch = layout.spec.unit == "in"
    found = {"plate.thickness": [0.125, 1.0, 0.0625] if inch else [3.0, 25.0, 1.0]}
    for name, mount in layout.mounts.items():
        if mount.take_up == "slots":
            for end in ("install", "tension"):
                found[f"mounts.{name}.take_up.slots.{end}"] = [0.0, 2.0, 0.0625] if inch else [0.0, 60.0, 0.5]
        if mount.layer is None and mount.lug_of is None:
            found[f"mounts.{name}.standoff"] = [0.0, 2.0, 0.0625] if inch else [0.0, 50.0, 1.0]
    return found


def trial_answer(desk: Desk, state: str, edits: list[Edit], seen: object = None) -> Answer:
    """The picture and the worst finding with some edits, of which nothing is written.

    A page that has `seen` the last picture is only told what changed in it: most of a plate stands still.
    """
    layout, verdict = desk.trial(state, edits, live=True)
    worst = next((f for f in verdict.findings if f.accepted is None), None)
    number, shown, before = desk.show(layout, verdict, scene, seen)
    return {
        "number": number,
        **({"scene": shown} if before is None else {"changed": changed(before, shown)}),
        "verdict": trial_word(layout, verdict, live=True),
        "worst": None if worst is None else worst.message,
        "edits": [[field, value] for field, value in edits],
    }


def changed(before: Any, after: Any) -> Any:
    """What takes plain data to other such data: [value] in place of what was, or {key: change} below it.

    >>> changed({"a": [{"d": 1}, {"d": 2}], "b": 3}, {"a": [{"d": 1}, {"d": 5}], "b": 3})
    {'a': {1: {'d': [5]}}}
    """
    pairs: Iterable[tuple[Any, Any, Any]]
    if isinstance(before, dict) and isinstance(after, dict) and before.keys() == after.keys():
        pairs = ((key, before[key], after[key]) for key in after)
    elif (
        isinstance(before, list)
        and isinstance(after, list)
        and len(before) == len(after)
        and any(isinstance(one, dict | list) for one in after)  # a list of figures is as short as what differs in it
    ):
        pairs = zip(range(len(after)), before, after, strict=True)
    else:
        return [after]
    return {key: changed(old, new) for key, old, new in pairs if old is not new and old != new}


def trial_words(found: Trial) -> str:
    """What one trial of an advice came to, in a sentence."""
    if found.problem:
        return f"Tried: the plate cannot be laid out so: {found.problem}"
    ended = "this finding is gone" if found.gone else "this finding is still there"
    if not found.worse:
        return f"Tried: {ended}" + (", and no stop has come or grown worse." if found.gone else ".")
    named = "; ".join(f"{one.rule}: {one.message}" for one in found.worse[:MOST_TOLD])
    rest = len(found.worse) - MOST_TOLD
    more = f"; and {rest} more" if rest > 0 else ""
    link = "but" if found.gone else "and"
    what = "a stop comes or grows worse" if len(found.worse) == 1 else f"{len(found.worse)} stops come or grow worse"
    return f"Tried: {ended}, {link} {what}: {named}{more}"


def trial_word(layout: Layout, verdict: Verdict, *, live: bool = False) -> Answer:
    """The verdict of a trial; it never says clear of a plate of which something is still to be judged."""
    stops = verdict.open("stop")
    if stops:
        return {"word": "stop", "say": f"{NOT_FOR_CUTTING}: {count_words(stops, 'stop')}", "why": ""}
    if live:
        return {"word": "open", "say": "NO STOP SO FAR", "why": "all else is judged when you let go"}
    if layout.guards or any(mount.mass is not None for mount in layout.mounts.values()):
        return {"word": "open", "say": "NO STOP SO FAR", "why": "strength and guard are judged when you let go"}
    return {"word": "clear", "say": CLEAR_TO_CUT, "why": ""}
