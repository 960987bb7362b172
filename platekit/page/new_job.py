"""A new job by questions: each answer is looked at as it is given, kept beside the specs, and can be taken up later.

The answers lie in a small file of their own in the folder until the spec is written; that file is no spec, and nothing
else reads it.
"""

from __future__ import annotations

import json
import math
import os
import re
from collections.abc import Iterator, Mapping
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any, Final, cast, get_args

from platekit.checks import check
from platekit.checks.drive_edits import SIZES
from platekit.choices import Process
from platekit.drive.limits import ASK_THE_MAKER_ABOVE_HZ
from platekit.errors import OutputError, PlatekitError, SpecError
from platekit.export.files import FORBIDDEN, folder_for, write_new, write_whole
from platekit.jobs.new import SCHEMA_NAME, clear_to_cut, material_for
from platekit.jobs.schema import schema_text
from platekit.layout import lay_out
from platekit.page.boxes import value_of
from platekit.page.desk import with_edits
from platekit.page.offers import drawn_as, figures_of
from platekit.placed import Layout, PlacedBelt
from platekit.spec import loads
from platekit.spec.editing import Value, has_value, with_value, without_value, written
from platekit.spec.starting import StarterChoices, starter, wide_hole
from platekit.tables.belts.sections import section
from platekit.units import Unit, current_a, frequency_hz, length, mm_per, power_w, speed_rpm

KEPT: Final = ".platekit-begun.json"
"""The file of the answers so far. Its name begins with a dot: it is not for the user to edit, nor a job."""
MOST_KEPT: Final = 20_000
"""Longest file of answers that is read, bytes (ours)."""
Answers = dict[str, str]
Question = dict[str, Any]
ENDINGS: Final = (".yaml", ".yml")

OLD: Final = {
    "measure": "measure it: holes anywhere, put on a sketch, then a reading at a time",
    "circle": "a bolt circle whose figures I know, evenly spaced",
    "rectangle": "a rectangle whose figures I know",
}
INTO: Final = {
    "part": "into threads in the machine",
    "nut": "through the machine, with a nut",
    "stud": "nuts on studs that stand out of it",
}
FIXED: Final = {
    "face": "a motor, by its face: the shaft points at the plate",
    "feet": "a motor on its feet: the shaft lies along the plate",
    "flange": "a pump or gearbox, by its flange",
}
SEAT: Final = {
    "line": "in line with the old shaft or bore",
    "beside": "beside the old holes; its place is found on the sheet",
}
HOW_FIXED: Final = {"face": "fixed by its face", "feet": "fixed on its feet", "flange": "no motor but a flange"}
PROCESSES: Final = {word: word for word in get_args(Process)}
SPOTTED: Final = "0.1 mm"
"""How far a hole lies off that is spotted through the part which goes there (from memory)."""
STUD_ROOM: Final = 4.0
"""Room between the ends of studs and a pulley before them, mm (ours: twice what is needed between parts)."""
PULLEY: Final = {
    "behind": "behind the plate, on the machine's side, where it is now",
    "before": "before the plate: its shaft stands out of the old face and goes through the plate",
}
PART_INTO: Final = {
    "plate": "into threads in the plate",
    "nut": "with nuts behind the plate, where nothing is in their way",
}
JOINED: Final = {
    "none": "nothing in line, or that comes later",
    "coupling": "the machine's shaft, end to end, by a coupling",
}
BELT: Final = {
    "belt": "by a belt",
    "two": "by two belts over a countershaft, for a slow machine",
    "none": "directly, or the belt comes later",
}
STEEP: Final = 7.0
"""Above this ratio one belt asks for a driven pulley that hardly any shop has (ours, from memory)."""


def questions(answers: Mapping[str, str]) -> list[Question]:
    """The questions that are to be asked after some answers, in order; each with what it takes and what is usual."""
    unit = answers.get("units", "mm")
    inch = unit == "in"
    asked: list[Question] = [
        _asks("title", "What is the job?", "It is printed on every sheet.", example="Root grater, new motor"),
        _asks("units", "Which unit are your calipers in?", words={"mm": "millimetres", "in": "inches"}, usual="mm"),
        _asks("old", "How do the holes of the old machine lie?", words=OLD, usual="measure", pictures=True),
    ]
    if answers.get("old") == "circle":
        asked += [
            _asks("count", "How many holes are on the circle?", usual="4"),
            _asks("circle", "Diameter of the circle", usual="5 in" if inch else "130 mm"),
            _asks(
                "begins",
                "At which angle lies the first of them?",
                "Seen as you look straight at the machine's face: 0 is to the right, 90 up, 180 to the left.",
                usual="45 deg",
            ),
        ]
    if answers.get("old") == "rectangle":
        asked += [
            _asks("width", "Width between the hole centres", usual="5.5 in" if inch else "140 mm"),
            _asks("height", "Height between the hole centres", usual="4 in" if inch else "100 mm"),
        ]
    asked += [
        _asks("into", "How is the plate screwed to the old machine?", words=INTO, usual="part"),
        _asks("screw", "Which screws go there?", "A size such as M8 or 3/8-16.", usual="5/16-18" if inch else "M8"),
    ]
    match answers.get("into", "part"):
        case "nut":
            thick = "How thick is the machine where the screws go through?"
            asked.append(_asks("depth", thick, usual="1/2 in" if inch else "12 mm"))
        case "stud":
            asked.append(_asks("depth", "How far do the studs stand out?", usual="1-1/2 in" if inch else "40 mm"))
        case _:
            asked.append(_asks("depth", "How deep is the usable thread?", usual="3/4 in" if inch else "20 mm"))
    fixed = answers.get("fixed", "face")
    asked.append(_asks("fixed", "What is the new part, and how is it fixed?", words=FIXED, usual="face", pictures=True))
    asked.append(_frame_asked(fixed, cast(Unit, unit)))
    asked += _of_its_fixing(answers, fixed)
    if fixed != "flange":
        asked += _of_motor_plate(inch)
        # a countershaft lies along the plate, as the shaft of a motor on feet does
        ways = {word: said for word, said in BELT.items() if word != "two" or fixed == "feet"}
        asked.append(_asks("drive", "How does it drive the machine?", words=ways, usual="belt", pictures=True))
    if driven_by_belt(answers):
        asked += [
            _asks("slow", "Lowest speed wanted at the machine's shaft", usual="250"),
            _asks(
                "fast",
                "Highest speed wanted there",
                "The same as the lowest, if one speed will do." + _too_steep(answers),
                usual="900",
            ),
        ]
        if fixed == "face" and answers.get("old", "measure") == "measure":
            where = "Where is the machine's own pulley?"
            asked.append(_asks("pulley", where, words=PULLEY, usual="behind", pictures=True))
            if answers.get("pulley") == "before":
                asked += [
                    _asks("shaft", "How thick is the machine's shaft?", usual="1 in" if inch else "25 mm"),
                    _asks(
                        "stands",
                        "How far does the machine's shaft stand out of the old face?",
                        "To its very end; the pulley has to sit on what is left past the plate.",
                        usual="3 in" if inch else "80 mm",
                    ),
                ]
        if fixed == "feet":
            high = "How high does the machine's shaft lie over its own face?"
            asked.append(
                _asks(
                    "height_of_shaft",
                    high,
                    "Towards the plate and past it; it need only be rough yet.",
                    usual="4 in" if inch else "100 mm",
                )
            )
            if answers.get("old", "measure") != "measure":
                asked.append(
                    _asks(
                        "shaft_out",
                        "How far to the right of the middle of the old holes does the machine's shaft end?",
                        "Its pulley sits there, flush with the end. Empty: just past the holes.",
                    )
                )
        if answers.get("drive") == "two":
            asked += _of_countershaft(inch, answers)
    process = answers.get("process", "plasma")
    asked += [
        _asks(
            "process", "How will the plate be cut?", words={word: word for word in get_args(Process)}, usual="plasma"
        ),
        _asks("material", "Of what?", names=list(_materials()), usual=material_for(process)),
        _asks("thickness", "How thick?", usual="3/8 in" if inch else "10 mm"),
        _asks("file", "Name of the job's file", "Letters and figures.", usual=_file_for(answers)),
    ]
    per = PER | {"power": power_unit(answers)}
    lengths = (*LENGTHS, *MAYBE)
    return [one | {"per": unit if one["name"] in lengths else per.get(one["name"], "")} for one in asked]


def power_unit(answers: Mapping[str, str]) -> str:
    """What a bare power is in: horsepower in a job in inches, as on its motors' rating plates."""
    return "HP" if answers.get("units") == "in" else "kW"


MAYBE: Final = ("thread", "flange", "own_shaft", "own_stands", "shaft_out")
"""Lengths that may be left empty: then what is usual stands in the spec, with a remark."""
BLOCKS: Final = ("block_bolts", "block_apart", "block_high", "block_foot", "countershaft")
"""What is measured of a countershaft."""
DEEPEST: Final = 150.0
"""A shaft's end is no deeper behind the face that it belongs to, mm (ours)."""
COUPLING: Final = ("coupling_wide", "coupling_long", "gap_least", "gap_most")
"""What is measured of a coupling, or stands on its data sheet."""
LENGTHS: Final = (
    *BLOCKS,
    "circle",
    "width",
    "height",
    "depth",
    "thickness",
    "height_of_shaft",
    "shaft",
    "stands",
    "thread",
    "flange",
    *COUPLING,
)
PER: Final = {"power": "kW", "speed": "rpm", "frequency": "Hz", "current": "A", "slow": "rpm", "fast": "rpm"}
"""What a bare figure of an answer is in."""


def driven_by_belt(answers: Mapping[str, str]) -> bool:
    """Whether the answers so far make a belt drive."""
    return answers.get("fixed", "face") != "flange" and answers.get("drive", "belt") != "none"


def _too_steep(answers: Mapping[str, str]) -> str:
    """A word of warning where one belt would want a driven pulley as large as a door."""
    if answers.get("drive", "belt") != "belt" or not {"speed", "slow"} <= answers.keys():
        return ""
    ratio = speed_rpm(_with("rpm", answers["speed"])) / speed_rpm(_with("rpm", answers["slow"]))
    if ratio <= STEEP:
        return ""
    instead = "two belts over a countershaft (change it above)" if answers.get("fixed") == "feet" else "a gear motor"
    return f" That is {ratio:.0f} times slower than the motor: one belt hardly does it, {instead} would."


MEASURED: Final = "measured"
"""Blocks that no table has: their figures are asked for."""


def _of_countershaft(inch: bool, answers: Mapping[str, str]) -> list[Question]:
    """What is asked of a countershaft and the two bearing blocks that carry it: a size of the table, or figures.

    A block out of the table brings its figures as what is usual, to be held against the one at hand.
    """
    from platekit.tables.bearing_blocks import bearing_block, bearing_blocks

    unit: Unit = "in" if inch else "mm"
    names = [one.name for one in bearing_blocks() if not inch or one.inch_bores]
    by_table = {one: _block_figures(one, unit) for one in names}
    which = _asks(
        "block",
        "Which bearing blocks carry the countershaft?",
        "Pillow blocks, by the figure cast into them: UCP205 is P 205. What follows takes its figures from the table: "
        "hold them against the block at hand.",
        names=[MEASURED, *names],
        usual=MEASURED,
    ) | {
        "figures": {MEASURED: "its figures are given", **{name: bearing_block(name).about(unit) for name in names}},
        "fills": by_table,
    }
    told = by_table.get(answers.get("block", MEASURED), {})
    return [which, *(one | ({"usual": told[one["name"]]} if one["name"] in told else {}) for one in _of_blocks(inch))]


def _block_figures(name: str, unit: Unit) -> Answers:
    """The answers that a block of the table gives, as they would be typed."""
    from platekit.tables.bearing_blocks import bearing_block, bore_of

    block = bearing_block(name)
    figures = {"block_bolts": block.bolts_apart, "block_high": block.shaft_height, "block_foot": block.foot}
    figures["countershaft"] = bore_of(block, unit)
    # the table is metric; in a job in inches its figures are said so, to less than a hundredth of a millimetre
    typed = {
        answer: f"{figure:g} mm" if unit == "mm" else f"{figure / mm_per('in'):.4g} in"
        for answer, figure in figures.items()
    }
    if unit == "in" and block.inch_bores:
        typed["countershaft"] = f"{block.inch_bores[-1]} in"
    return typed


def _of_blocks(inch: bool) -> list[Question]:
    """What is measured of a countershaft and its bearing blocks."""
    return [
        _asks(
            "block_bolts",
            "How far apart are the two bolts of a bearing block?",
            "Of the two blocks that carry the countershaft, across it, from middle to middle.",
            usual="7 in" if inch else "180 mm",
        ),
        _asks("block_apart", "How far apart are the two blocks?", "Along it.", usual="7 in" if inch else "180 mm"),
        _asks(
            "block_high",
            "How high does the countershaft lie over the feet of its blocks?",
            usual="2 in" if inch else "50 mm",
        ),
        _asks("block_foot", "How thick is the foot of a block?", usual="5/8 in" if inch else "16 mm"),
        _asks("countershaft", "How thick is the countershaft?", usual="1 in" if inch else "25 mm"),
    ]


def _frame_asked(fixed: str, unit: Unit) -> Question:
    """Which standard the new part is of, with what tells one from the next."""
    inch = unit == "in"
    usual = {
        ("face", True): "NEMA 56C",
        ("feet", True): "NEMA 56",
        ("face", False): "IEC 80 B5",
        ("feet", False): "IEC 80",
    }
    asks, about = "Which size of frame is it?", "It stands on the motor's rating plate; type a part of it and choose."
    if fixed == "face":
        about += (
            " Behind an IEC frame's figure stands how it is fixed: B5 (or V1) is a wide flange that screws go through, "
            "B14 (or V18) a small face with threads in it. NEMA faces (C) have threads."
        )
    if fixed == "feet":
        about += " On an IEC motor B3 says that it stands on feet; the frame alone, such as 80 or 90L, is enough."
    if fixed == "flange":
        asks, about = "Which flange has it?", "Type a part of its name, or what you measure: 82 for a pilot of 82 mm."
    names = sorted(_frames(fixed), key=lambda name: (name.startswith("NEMA") != inch, name.startswith(("FF", "FT"))))
    return _asks("motor", asks, about, names=names, usual=usual.get((fixed, inch), "SAE A 2-bolt")) | {
        "figures": {name: figures_of(name, unit) for name in names},
        "pictures": {name: "flange" if fixed == "flange" else drawn_as(name) for name in names},
    }


def _of_motor_plate(inch: bool) -> list[Question]:
    """What stands on the motor's rating plate."""
    return [
        _asks("power", "Power on the motor's rating plate", "kW or HP.", usual="1 HP" if inch else "0.75 kW"),
        _asks(
            "speed", "Speed on the motor's rating plate", "1/min (rpm), under load.", usual="1740" if inch else "1400"
        ),
        _asks("frequency", "Frequency on the motor's rating plate", "50 or 60 Hz.", usual="60" if inch else "50"),
        _asks(
            "current",
            "Current on the motor's rating plate",
            "A, at the voltage that it will run on: of two the smaller is for the higher voltage. May be left empty.",
        ),
    ]


def _of_its_fixing(answers: Mapping[str, str], fixed: str) -> list[Question]:
    """What no standard tells of how the new part is fixed: its threads or the thickness of its flange; its place."""
    from platekit import tables

    asked: list[Question] = []
    if (name := answers.get("motor")) is not None:
        part = tables.mount(name)
        if part.screw is None:
            thick = "How thick are its feet?" if fixed == "feet" else "How thick is its flange?"
            asked.append(_asks("flange", thick, "Where the screws go through. May be left empty."))
        elif part.thread_depth is None:
            deep = "How deep are the threads in its face?"
            asked.append(_asks("thread", deep, "A wire or a drill shank tells. May be left empty."))
    if fixed == "flange":
        asked += [
            _asks("own_shaft", "How thick is its shaft?", "No standard tells. Empty: it has none."),
            _asks(
                "own_stands", "How far does its shaft stand out of its flange?", "To its very end. Empty: it does not."
            ),
            _asks("seat", "Where does it go?", words=SEAT, usual="line"),
        ]
        if (name := answers.get("motor")) is not None and tables.mount(name).screw is None:
            # behind a plate that lies on the old face there is no room for a nut
            usual = "plate" if answers.get("seat", "line") == "line" else "nut"
            asked.append(_asks("part_into", "How is it screwed to the plate?", words=PART_INTO, usual=usual))
        if answers.get("own_shaft") and answers.get("own_stands") and answers.get("seat", "line") == "line":
            asked.append(_asks("joined", "What does its shaft join?", words=JOINED, usual="none"))
            if answers.get("joined") == "coupling":
                asked += _of_coupling(answers.get("units") == "in")
    return asked


def _of_coupling(inch: bool) -> list[Question]:
    """What is measured of the machine's shaft and of the coupling on it."""
    return [
        _asks("shaft", "How thick is the machine's shaft?", usual="1 in" if inch else "25 mm"),
        _asks(
            "stands",
            "How far does the machine's shaft stand out of the old face?",
            "To its very end. If it ends behind the face, in a bore or a pit, how far behind, with a minus: "
            + ("-1/2 in." if inch else "-12 mm."),
            usual="1 in" if inch else "30 mm",
        ),
        _asks(
            "coupling_wide",
            "How wide is the coupling, over all that turns?",
            "This and the next from the coupling at hand or its data sheet.",
            usual="2-1/4 in" if inch else "55 mm",
        ),
        _asks("coupling_long", "How long is it, over both hubs?", usual="2-5/8 in" if inch else "66 mm"),
        _asks(
            "gap_least",
            "How near may the two shaft ends come inside it?",
            "Spacers between machine and plate are worked out from it.",
            usual="1/16 in" if inch else "2 mm",
        ),
        _asks("gap_most", "And how far apart may they be?", usual="1/8 in" if inch else "4 mm"),
    ]


def _coupled(text: str, answers: Mapping[str, str]) -> str:
    """The text with the two shafts in line, the coupling on them, and the spacers that bring its gap."""
    unit = cast(Unit, answers["units"])

    def mm(name: str) -> float:
        return length(_reading(answers[name]), unit)

    if mm("gap_most") < mm("gap_least"):
        raise PlatekitError(f"found {answers['gap_most']} as the most, less than the least, {answers['gap_least']}")
    for mount, thick, out in (("machine", "shaft", "stands"), ("motor", "own_shaft", "own_stands")):
        # one that ends behind its face is held from there inward, as far as the coupling is long
        inside = mm(out) <= 0
        shaft: Value = {
            "along": "square",
            "stretch": [_plain(mm(out) - mm("coupling_long"), unit) if inside else 0, _reading(answers[out])],
            "diameter": _reading(answers[thick]),
        }
        text = with_value(text, f"mounts.{mount}.shaft", shaft)
    apart = mm("stands") + mm("own_stands") + (mm("gap_least") + mm("gap_most")) / 2 - mm("thickness")
    if apart > 0:
        text = with_value(text, "mounts.machine.standoff", _plain(apart, unit))
    coupling: Value = {
        "from": {"on": "machine"},
        "to": {"on": "motor"},
        "diameter": _reading(answers["coupling_wide"]),
        "length": _reading(answers["coupling_long"]),
        "gap": [_reading(answers["gap_least"]), _reading(answers["gap_most"])],
    }
    return with_value(text, "couplings", {"shaft coupling": coupling})


def _asks(
    name: str,
    asks: str,
    about: str = "",
    *,
    usual: str = "",
    words: Mapping[str, str] | None = None,
    names: list[str] | None = None,
    pictures: bool = False,
    example: str = "",
) -> Question:
    found: Question = {"name": name, "asks": asks, "about": about, "usual": usual, "example": example}
    if words is not None:
        found |= {"words": dict(words), "pictures": pictures}
    if names is not None:
        found["names"] = names
    return found


@cache
def _frames(fixed: str) -> tuple[str, ...]:
    """The standards of the tables that are fixed so: motors by face or feet, all else by its flange."""
    from platekit import tables
    from platekit.tables.mounts import names

    def kind(name: str) -> str:
        part = tables.mount(name)
        if part.shaft_height is not None:
            return "feet"
        # motors have a shaft of the standard's; pumps and housings leave it to their makers
        return "face" if part.shaft is not None or part.family.startswith("NEMA") else "flange"

    return tuple(name for name in names() if kind(name) == fixed)


@cache
def _materials() -> tuple[str, ...]:
    from platekit import tables

    return tuple(tables.materials())


def _file_for(answers: Mapping[str, str]) -> str:
    words = re.findall(r"[a-z0-9]+", answers.get("title", "").lower())
    return "-".join(words[:3]) or "job"


# ------------------------------------------------------------------------------------------- answers


def kept(folder: Path) -> Answers:
    """The answers of a job that was begun and left; none where there is no such file, or it is not of this page."""
    try:
        raw = (folder / KEPT).read_bytes()
        found = json.loads(raw) if len(raw) <= MOST_KEPT else None
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {k: v for k, v in found.items() if isinstance(k, str) and isinstance(v, str)}


def answered(folder: Path, name: Any, typed: Any) -> Answers:
    """The answers with one more, which is looked at and kept; raises `PlatekitError` for one that will not do."""
    answers = kept(folder)
    if not isinstance(name, str) or not isinstance(typed, str):
        raise PlatekitError("found no answer")
    question = next((one for one in questions(answers) if one["name"] == name), None)
    if question is None:
        raise PlatekitError("that is not asked any more")
    said = typed.strip() or question["usual"]
    _look_at(question, said, answers, folder)
    before, answers = answers, answers | {name: said}
    # What no longer fits an answer that changed is asked again, instead of being carried along.
    if name == "fixed" and before.get(name) not in (None, said):
        for one in ("motor", "drive", "joined", "stands"):
            answers.pop(one, None)
    if name in ("fixed", "motor") and before.get(name) not in (None, said):
        answers = {key: value for key, value in answers.items() if key not in MAYBE}
    if name == "units" and before.get(name) not in (None, said):
        answers = {k: v for k, v in answers.items() if k in ("title", "units", "old", "into", "fixed", "drive")}
    if name == "into" and before.get(name) not in (None, said):
        answers.pop("depth", None)
    _keep(folder, answers)
    return answers


def forgotten(folder: Path) -> None:
    """Nothing is kept any more."""
    try:
        (folder / KEPT).unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(f"{KEPT} cannot be taken away ({error.strerror})") from None


def _keep(folder: Path, answers: Answers) -> None:
    write_whole(folder / KEPT, json.dumps(answers, ensure_ascii=False).encode())


def _look_at(question: Question, said: str, answers: Mapping[str, str], folder: Path) -> None:
    """Raises `PlatekitError` for an answer that will not do."""
    name = question["name"]
    unit = cast(Unit, answers.get("units", "mm"))
    if "words" in question:
        if said not in question["words"]:
            raise PlatekitError(f"found {said}; choose one of {', '.join(question['words'])}")
        return
    match name:
        case "title":
            if not said or len(said) > 200 or not said.isprintable():
                raise PlatekitError("found no name; say in a few words what the job is, such as Root grater, new motor")
        case "count":
            if not said.isascii() or not said.isdigit() or not 2 <= int(said) <= 60:
                raise PlatekitError(f"found {said}; say how many holes, from 2 on")
        case "block":
            if said != MEASURED:
                from platekit.tables.bearing_blocks import bearing_block

                bearing_block(said)
        case "stands" if answers.get("fixed") == "flange" and answers.get("joined") == "coupling":
            deep = -length(_reading(said), unit)
            if deep > DEEPEST:
                raise PlatekitError(
                    f"found {said}; a shaft that ends so far behind its face takes a longer coupling half"
                )
        case _ if name in LENGTHS and name not in MAYBE:
            if length(_reading(said), unit) <= 0:
                raise PlatekitError(f"found {said}; give a length above zero")
        case "screw":
            from platekit import tables

            tables.screw(said)
        case "motor":
            from platekit import tables

            name = tables.mount(said).designation
            fixed = answers.get("fixed", "face")
            if name not in _frames(fixed):
                how = next(word for word in FIXED if name in _frames(word))
                raise PlatekitError(f"{said} is {HOW_FIXED[how]}; choose another, or say above how it is fixed")
        case "material":
            _able(answers.get("process", "plasma"), said)
        case _ if name in MAYBE:
            if said and length(_reading(said), unit) <= 0:
                raise PlatekitError(f"found {said}; give a length above zero, or leave it empty")
        case "current":
            if said and current_a(_with("A", said)) <= 0:
                raise PlatekitError(f"found {said}; give the amperes, such as 1.8, or leave it empty")
        case "power":
            power_w(_with(power_unit(answers), said))
        case "frequency":
            if not 10 <= frequency_hz(_with("Hz", said)) <= 500:
                raise PlatekitError(f"found {said}; the mains have 50 or 60 Hz")
        case "speed" | "slow" | "fast":
            if speed_rpm(_with("rpm", said)) <= 0:
                raise PlatekitError(f"found {said}; give a speed above zero")
            if (
                name == "fast"
                and "slow" in answers
                and speed_rpm(_with("rpm", said)) < speed_rpm(_with("rpm", answers["slow"]))
            ):
                raise PlatekitError(f"found {said}, less than the lowest, {answers['slow']}")
        case "begins":
            _degrees(said)
        case "file":
            _path(folder, said)


def _degrees(said: str) -> float:
    """An angle as typed, deg; the unit may stand there or not."""
    found = re.fullmatch(r"(?i)([-+]?\d+(?:[.,]\d+)?) *(?:deg(?:rees)?|\N{DEGREE SIGN})?", said.strip())
    if found is None or abs(angle := float(found[1].replace(",", "."))) > 360:
        raise PlatekitError(f"found {said}; give an angle in degrees, such as 30")
    return angle


def _able(process: str, name: str) -> None:
    """Whether a process cuts a material at all."""
    from platekit import tables
    from platekit.tables.processes import cutting_of

    found = tables.material(name)
    row = None if found.family is None else cutting_of(process, found.family)
    if row is not None and row.cuts in ("no", "hardly"):
        raise PlatekitError(f"found {name} cut by {process}: {row.why}; choose another process or material")


def _path(folder: Path, said: str) -> Path:
    if not said.strip() or said.startswith(".") or set(said) & FORBIDDEN or "\0" in said:
        raise PlatekitError(f"found {said!r} for the file's name; give a plain name, such as grater")
    path = folder / (said if said.endswith(ENDINGS) else f"{said}.yaml")
    if os.path.lexists(path):
        raise PlatekitError(f"there is a {path.name} in this folder already; give it another name")
    return path


def _reading(said: str) -> Value:
    return value_of(said, "reading")


def _with(unit: str, said: str) -> str:
    """A figure from the motor's rating plate with its unit, comma or point; the unit may stand there or not."""
    plain = re.sub(r"(?i)\bhp\b", "HP", re.sub(r"(?i)\bkw\b", "kW", said.replace(",", ".").strip()))
    # motors in inches say 3/4 HP and 1-1/2 HP
    part = re.fullmatch(r"(?:(\d+)[ -])?(\d+)/([1-9]\d*) ?([a-zA-Z]*)", plain)
    if part is not None:
        plain = f"{int(part[1] or 0) + int(part[2]) / int(part[3]):g} {part[4] or 'HP'}"
    return f"{plain} {unit}" if re.fullmatch(r"[0-9.]+", plain) else plain


# ---------------------------------------------------------------------------------------- the first spec


def begun_job(folder: Path) -> Path:
    """The spec of the answers, written; what was not answered takes the usual. Raises `PlatekitError`."""
    answers = kept(folder)
    if "title" not in answers:
        raise PlatekitError("say first what the job is")
    for question in questions(answers):
        answers.setdefault(question["name"], question["usual"])
    # All once more, since one may have changed what another allows.
    for question in questions(answers):
        answers.setdefault(question["name"], question["usual"])
        _look_at(question, answers[question["name"]], answers, folder)
    path = _path(folder, answers["file"])
    text = spec_text(answers)
    folder_for(path.parent)
    schema = path.with_name(SCHEMA_NAME)
    # editors find it by the first line of the spec; one that is there may be shared by other specs, and stays. The spec
    # comes last: where a page is killed in between, its answers begin the job again
    if not os.path.lexists(schema):
        write_whole(schema, f"{schema_text()}\n".encode())
    write_new(path, text.encode())
    forgotten(folder)
    return path


def spec_text(answers: Mapping[str, str]) -> str:
    """The commented spec of a whole set of answers."""
    old = answers["old"]
    choices = StarterChoices(
        title=answers["title"],
        units=cast(Unit, answers["units"]),
        material=answers["material"],
        thickness=cast(Any, _reading(answers["thickness"])),
        process=cast(Process, answers["process"]),
        machine="rectangle" if old == "rectangle" else "circle",
        motor=answers["motor"],
        take_up=driven_by_belt(answers),
    )
    text = starter(choices, clear_to_cut)
    machine = "mounts.machine"
    # Where the starter found the process too rough for the usual hole it wrote a wider one, for a screw of its own.
    wide = re.search(r"(?m)^    pattern: .*hole: ", text.partition("  motor:")[0]) is not None
    hole = wide_hole(answers["screw"], choices.units)
    kind = "rectangle" if old == "rectangle" else "circle"
    if wide:
        text = with_value(text, f"{machine}.pattern.{kind}.hole", hole)
    if old == "circle":
        text = with_value(text, f"{machine}.pattern.circle.count", int(answers["count"]))
        text = with_value(text, f"{machine}.pattern.circle.diameter", _reading(answers["circle"]))
        if "begins" in answers:
            text = with_value(text, f"{machine}.pattern.circle.start", f"{_degrees(answers['begins']):g} deg")
    elif old == "rectangle":
        for side in ("width", "height"):
            text = with_value(text, f"{machine}.pattern.rectangle.{side}", _reading(answers[side]))
    size, depth = answers["screw"], _reading(answers["depth"])
    screws: dict[str, Any]
    match answers["into"]:
        case "nut":
            screws = {"size": size, "into": "nut", "flange": depth, "washer": True}
        case "stud":
            screws = {"size": size, "into": "stud", "stands": depth, "washer": True}
        case _:
            screws = {"size": size, "into": "part", "depth": depth, "washer": True}
    # with the remark behind it, which says what a depth is
    text = re.sub(r"(?m)^(    at: \[0, 0\]\n    screws: ).*$", lambda m: f"{m[1]}{written(screws)}", text, count=1)
    text = _with_own_figures(text, answers)
    if driven_by_belt(answers):
        # What is still to be measured has a circle in its place for this.
        text = min(_ways(_with_belt(text, answers), answers), key=_stops)
    wider = with_value(text, f"{machine}.pattern.{kind}.hole", hole)
    if not wide and _stops(wider) < _stops(text):
        text, wide = wider, True
    if old == "measure":
        face = EMPTY_FACE[choices.units] + (f"\n        hole: {hole}" if wide else "")
        text = re.sub(r"(?m)^    pattern: \{circle: .*$", face, text, count=1)
        if answers.get("pulley") == "before" and driven_by_belt(answers):
            text = with_edits(text, _shaft_on_face(answers))
    if answers["fixed"] == "flange":
        text = re.sub(r"(?m)^  motor: (.*)$", r"  part: \1", text, count=1).replace(
            "carried_by: motor", "carried_by: part"
        )
        text = text.replace("to: {on: motor}", "to: {on: part}")
    loads(text, "new.yaml")
    return text


def _with_own_figures(text: str, answers: Mapping[str, str]) -> str:
    """The text with what was measured of the new part and of the machine's shaft."""
    if answers.get("thread"):
        text = with_value(text, "mounts.motor.screws.depth", _reading(answers["thread"]))
    if answers.get("flange"):
        text = with_value(text, "mounts.motor.screws.flange", _reading(answers["flange"]))
    if answers.get("seat") == "line":
        text = with_value(text, "mounts.motor.at", [0, 0])
        # Its shaft goes through the plate: the pilot locates in an opening of its own, where that leaves the screws.
        if "  standoff:" in text and re.search(r"(?m)^    pilot: .*opening: none", text):
            opened = re.sub(
                r"(?m)^    standoff: .*\n", "", text.replace("opening: none", "opening: through", 1), count=1
            )
            text = min((opened, text), key=_stops)
    if answers.get("part_into") == "plate":
        text = (
            without_value(text, "mounts.motor.pattern.hole") if has_value(text, "mounts.motor.pattern.hole") else text
        )
        text = with_value(text, "mounts.motor.screws.into", "plate")
        # A punch mark is too far off for threads: they are spotted through the part's own holes.
        text = with_value(text, "cutting.drilling", SPOTTED)
        said = f"{SPOTTED}}}    # spotted through the part's own holes; at a punch mark it is 1 mm"
        text = re.sub(rf"(?m)(drilling: ){SPOTTED}}}.*$", lambda found: f"{found[1]}{said}", text)
    if answers.get("joined") == "coupling":
        text = _coupled(text, answers)
    elif answers.get("own_shaft") and answers.get("own_stands"):
        shaft: Value = {
            "carried_by": "motor",
            "shape": {"circle": {"diameter": _reading(answers["own_shaft"])}},
            "span": [_reading(_out(answers["own_stands"]).strip("'\"")), 0],
            "relief": "auto",
        }
        text = with_value(text, "bodies", {"shaft of the part": shaft})
    return text


def _shaft_on_face(answers: Mapping[str, str]) -> list[tuple[str, Value]]:
    """What was said of a shaft that stands out of the old face: it is put on already, in the middle, as zero."""
    shaft: Value = {
        "kind": "shaft",
        "diameter": _reading(answers["shaft"]),
        "stands": _reading(answers["stands"]),
    }
    face = "mounts.machine.pattern.measured"
    return [(f"{face}.holes", {"shaft": shaft}), (f"{face}.sketch", {"shaft": [0, 0]}), (f"{face}.origin", "shaft")]


def _out(typed: str) -> str:
    """A length as a span counts it that goes out of a face, towards the plate."""
    value = _reading(typed)
    return written(f"-{value}" if isinstance(value, str) else -cast(float, value))


def _ways(text: str, answers: Mapping[str, str]) -> Iterator[str]:
    """The text, and the same with the motor turned or with shorter slots, which may run into each other."""
    if answers["drive"] == "two":
        driven = loads(text, "new.yaml").top.data["drive"]["driven"]["pitch_diameter"]
        for first, second in product((1.2, 1.6), (1.2, 1.6, 2.2)):
            way = with_value(text, "drive.belt.near", round(first * driven))
            yield with_value(way, "drive.second.belt.near", round(second * driven))
        return
    short = {"install": 0.4, "tension": 0.5} if answers["units"] == "in" else {"install": 10, "tension": 15}
    for slots in ({"install": "auto", "tension": "auto"}, short):
        for turn in (None, "45 deg", "30 deg"):
            way = with_value(text, "mounts.motor.take_up", {"slots": {"along": "belt", **slots}})
            # feet are turned already, so that their shaft is in line with the machine's
            if turn is not None and answers["fixed"] == "feet":
                continue
            yield way if turn is None else with_value(way, "mounts.motor.turn", turn)


def _stops(text: str) -> int:
    """How many stops a text has; of as many the first is taken."""
    try:
        return len(check(lay_out(loads(text, "new.yaml"))).open("stop"))
    except SpecError:
        return MANY


EMPTY_FACE: Final[dict[str, str]] = {
    unit: "    pattern:\n      measured:\n"
    "        holes: {}                     # put on by clicking, then a reading at a time\n"
    f"        sigma: {sigma}                    # two readings in three are nearer to the truth than this"
    for unit, sigma in (("mm", "0.1"), ("in", "0.004"))
}
"""An old face with nothing on it yet."""
MANY: Final = 1_000
"""More stops than a plate has: what cannot be laid out at all comes last."""


def _with_belt(text: str, answers: Mapping[str, str]) -> str:
    """The starter's remarks on a belt, made lines of the spec with the motor's own figures."""
    head, mark, rest = text.partition("# drive:")
    if not mark:
        return text
    block, cutting, tail = rest.partition("cutting:")
    lines = (mark + block).splitlines()
    block = "\n".join(line if line.startswith("#   #") else line.removeprefix("# ") for line in lines)
    block = "\n".join(line for line in block.splitlines() if not line.startswith("#   #"))
    text = f"{head}{block}\n\n{cutting}{tail}"
    if answers["fixed"] == "feet":
        text = re.sub(r"(?m)^    # shaft:.*\n    #   (\{.*\})\n    # .*\n", r"    shaft: \1\n", text, count=1)
        unit = cast(Unit, answers["units"])
        high = length(_reading(answers["height_of_shaft"]), unit)
        text = with_value(text, "mounts.machine.shaft.height", -_plain(high, unit))
        if answers.get("shaft_out"):
            text = with_value(text, "mounts.machine.shaft.stretch", [0, _reading(answers["shaft_out"])])
    slow, fast = _with("rpm", answers["slow"]), _with("rpm", answers["fast"])
    rated, mains = speed_rpm(_with("rpm", answers["speed"])), frequency_hz(_with("Hz", answers["frequency"]))
    text = with_value(text, "drive.motor.power", _with(power_unit(answers), answers["power"]))
    text = with_value(text, "drive.motor.speed", _with("rpm", answers["speed"]))
    text = with_value(text, "drive.motor.frequency", _with("Hz", answers["frequency"]))
    if answers.get("current"):
        text = with_value(text, "drive.motor.current", _with("A", answers["current"]))
    text = with_value(text, "drive.wanted", {"at": "driven", "from": slow, "to": fast})
    # Pulleys that give the middle of the wanted speeds near the mains' own frequency; the list of drives has better.
    inch = answers["units"] == "in"
    ratio = rated / math.sqrt(speed_rpm(slow) * speed_rpm(fast))
    small, step = (3.15, 0.5) if inch else (80.0, 10.0)
    # Past a steep ratio no stock belt may be long enough; that the speed is missed then is told.
    large = max(round(small * min(max(ratio, 1 / ratio), STEEP) / step) * step, small)
    driver, driven = (small, large) if ratio >= 1 else (large, small)
    if speed_rpm(slow) == speed_rpm(fast):
        text = re.sub(r"(?m)^  inverter: .*\n", "", text, count=1)
    else:
        turns = mains / rated * driven / driver
        low_hz, high_hz = speed_rpm(slow) * turns, speed_rpm(fast) * turns
        # a little to spare at both ends, but not past what a motor may do without its maker's word
        most = math.ceil(1.05 * high_hz)
        most = min(most, int(ASK_THE_MAKER_ABOVE_HZ)) if high_hz <= ASK_THE_MAKER_ABOVE_HZ else most
        span = {"from": math.floor(0.95 * low_hz), "to": most}
        text = with_value(text, "drive.inverter", {key: f"{hz} Hz" for key, hz in span.items()})
    text = with_value(text, "drive.driver.pitch_diameter", driver)
    text = with_value(text, "drive.driven.pitch_diameter", driven)
    data = loads(text, "new.yaml").top.data
    if answers["fixed"] == "face" and answers.get("pulley") == "before":
        # Both on the far side, with both shafts through the plate: the pulleys turn before its near face. A span counts
        # from the face of its own part, which for the motor stands off by its spacers.
        off = data["mounts"]["motor"].get("standoff", 0)
        unit = cast(Unit, answers["units"])
        apart = length(off, unit)
        seat = [length(end, unit) for end in data["drive"]["driver"]["span"]]
        if answers["into"] == "stud":
            # past what the studs stand out of their nuts
            past = max(length(_reading(answers["depth"]), unit) + STUD_ROOM + seat[1] + apart, 0.0)
            seat = [end - past for end in seat]
        text = with_value(text, "drive.driver.span", [_plain(end, unit) for end in seat])
        ends: Value = [_plain(end + apart, unit) for end in seat]
        text = with_value(text, "mounts.motor.side", "far")
        text = with_value(text, "drive.driven.span", ends)
    near = data["drive"]["belt"]["near"]
    whole = 1.0 if inch else 10.0
    if answers["drive"] == "two":
        return _with_countershaft(text, answers, driver, ratio)
    text = with_value(text, "drive.belt.near", max(float(near), round(0.8 * (driver + driven) / whole) * whole))
    return with_value(text, "mounts.motor.at", {"belt": {"from": "machine", "angle": "90 deg"}})


PLATE: Final = {
    "grow": "let its outline follow what is on it",
    "keep": "keep its size: what does not fit is told, to be moved",
}
HOUSING: Final = 25.0
"""From the bolts of a bearing block to the end of its housing, along the shaft, mm (ours: enough for usual ones)."""
SHORTEST_HOUSING: Final = 15.0
"""The least of that which is counted with, mm (ours: for a grease nipple and a collar)."""
BESIDE: Final = 12.0
"""Room beside a pulley on a countershaft, mm (ours: for a hand with a key)."""


def countershaft_asked(layout: Layout) -> list[Question]:
    """What is asked before a countershaft comes between motor and machine; nothing where none can."""
    if len(layout.belts) != 1 or "countershaft" in layout.mounts:
        return []
    belt = layout.belts[0]
    made = belt.request.belt
    round_ones = made is not None and section(made.section).family not in ("toothed", "ribbed")
    # a countershaft on blocks lies along the plate, as the two other shafts have to
    if not belt.drawn.lies or not round_ones:
        return []
    asked = _of_countershaft(layout.spec.unit == "in", {})
    if not layout.wrapped:
        # a plate of a size of its own was made for two parts
        asked.append(_asks("plate", "If the plate is too small for it?", words=PLATE, usual="grow"))
    return asked


def with_countershaft(layout: Layout, typed: Mapping[str, str]) -> str:
    """The text of a job with a countershaft and a second belt; `typed` are the answers. Raises `PlatekitError`."""
    asked = countershaft_asked(layout)
    if not asked:
        raise PlatekitError("a countershaft goes between two shafts along the plate that a V-belt joins, and only once")
    unit = layout.spec.unit
    answers = {one["name"]: typed.get(one["name"], "").strip() or one["usual"] for one in asked}
    for one in asked:
        _look_at(one, answers[one["name"]], {"units": unit}, Path())
    belt, request = layout.belts[0], layout.belts[0].request
    speeds, motor = request.wanted.speeds, request.motor
    ratio = belt.result.ratio
    if speeds is not None and motor is not None:
        ratio = motor.speed_rpm / math.sqrt(speeds.low * speeds.high)
    driver = _plain(belt.driver.pitch_diameter, unit)
    text, near = layout.spec.text, _plain(belt.result.centre_distance, unit)
    assert request.belt is not None
    text = with_value(text, "drive.belt", {"section": str(request.belt.section), "choose": True, "near": near})
    text = with_value(text, "drive.driver", _of_pitch(layout, "driver", driver))
    answers |= {"units": unit, "drive": "two"}
    ends, ways = (belt.driver.mount, belt.driven.mount), _directions(belt)
    found = [min(_ways(_with_countershaft(text, answers, driver, ratio, ends, *ways), answers), key=_stops)]
    if _stops(found[0]):
        # As it is the plate is in the way of its belts, or too small for it: they run past its edge, on a longer shaft;
        # or, where it may, the outline follows what is on it. What does no better stays.
        past = _past_the_plate(found[0])
        bases = [(text, past)] if past else []
        if answers.get("plate") == "grow":
            bases.append((with_value(text, "plate.outline", {"wrap": {"margin": "auto"}}), 0.0))
        for base, far in bases:
            way = _with_countershaft(base, answers, driver, ratio, ends, *ways, far)
            found.append(min(_ways(way, answers), key=_stops))
    return min(found, key=_stops)


def _past_the_plate(text: str) -> float:
    """How far out on its countershaft a pulley is beside the plate and not over it, mm; 0 where that is not known."""
    try:
        layout = lay_out(loads(text, "new.yaml"))
    except SpecError:
        return 0.0
    axis = layout.belts[0].driven.axis
    if axis is None or "countershaft" not in layout.mounts:
        return 0.0
    pose, box = layout.mounts["countershaft"].pose, layout.plane.box
    dx, dy = axis.direction[:2]
    return BESIDE + max((x - pose.x) * dx + (y - pose.y) * dy for x in (box[0], box[2]) for y in (box[1], box[3]))


def _of_pitch(layout: Layout, end: str, pitch: float) -> dict[str, Value]:
    """A pulley as the spec has it, told by its pitch diameter (in the spec's unit)."""
    raw = layout.spec.top.data["drive"][end]
    return {key: value for key, value in raw.items() if key not in SIZES} | {"pitch_diameter": pitch}


def _directions(belt: PlacedBelt) -> tuple[float, float]:
    """Where the driven shaft points and which way the driver lies from it, square to that; plate frame, degrees."""
    x, y = (1.0, 0.0) if belt.driven.axis is None else belt.driven.axis.direction[:2]
    (ax, ay), (bx, by) = belt.driven.at, belt.driver.at
    side = 1 if (bx - ax) * -y + (by - ay) * x >= 0 else -1
    along = round(math.degrees(math.atan2(y, x)), 4) + 0.0
    return along, round(180 - (180 - along - side * 90) % 360, 4) + 0.0


def _with_countershaft(
    text: str,
    answers: Mapping[str, str],
    driver: float,
    ratio: float,
    ends: tuple[str, str] = ("motor", "machine"),
    along: float = 0.0,
    way: float = 90.0,
    past: float = 0.0,
) -> str:
    """Two belts in the place of one: a shaft on two blocks between motor and machine, both pulleys beside the plate.

    `along` is where the machine's shaft points, `way` where the belts run from it, both in the plate frame, degrees;
    no pulley sits nearer to the middle of the countershaft than `past`, mm.
    """
    from platekit.tables.bearing_blocks import bearing_block

    motor, machine = ends
    unit = cast(Unit, answers["units"])
    inch = unit == "in"
    bolts, apart, high, foot, thick = (length(_reading(answers[name]), unit) for name in BLOCKS)
    step = 0.5 if inch else 10.0
    driven = max(round(driver * math.sqrt(max(ratio, 1 / ratio)) / step) * step, driver)
    rim = length(0.75 if inch else 20, unit)
    block = None if answers.get("block", MEASURED) == MEASURED else bearing_block(answers["block"])
    housing = apart / 2 + (HOUSING if block is None else max(block.reach, SHORTEST_HOUSING))
    usual = "3/8-16" if inch else "M10"
    near = max(housing + BESIDE, past)
    inner = (near, near + rim)
    outer = (inner[1] + BESIDE, inner[1] + BESIDE + rim)
    x, y = apart / 2, bolts / 2

    def put(*mm: float) -> list[Value]:
        return [_plain(one, unit) for one in mm]

    shaft: Value = {
        "height": _plain(high, unit),
        "along": "180 deg",
        "stretch": put(-housing, outer[1]),
        "diameter": _plain(thick, unit),
    }
    text = with_value(
        text,
        "mounts.countershaft",
        {
            "side": "near",
            "looking_at": "face",
            "pattern": {"points": [put(-x, -y), put(x, -y), put(x, y), put(-x, y)]},
            "at": {"belt": {"from": machine, "angle": f"{way:g} deg"}},
            **({"turn": f"{along:g} deg"} if along else {}),
            "screws": {
                "size": usual if block is None else block.inch_screw if inch else block.screw,
                "into": "nut",
                "flange": _plain(foot, unit),
                "washer": True,
            },
            "shaft": shaft,
            "take_up": {"slots": {"along": "belt", "install": "auto", "tension": "auto"}},
        },
    )
    if block is not None:
        # what the table says of their size: feet and housings, ring and all, to be held clear
        wide, high = 2 * max(block.reach, block.width / 2), 2 * (block.high - block.shaft_height)
        for which, middle in (("front", -x), ("back", x)):
            for part, size, span in (
                ("foot", (block.width, block.length), (0.0, block.foot)),
                ("bearing", (wide, high), (block.foot, block.high)),
            ):
                sides = dict(zip(("width", "height"), put(*size), strict=True))
                shape: Value = {"rectangle": sides, "at": put(middle, 0.0)}
                body: Value = {"carried_by": "countershaft", "shape": shape, "span": put(*span)}
                text = with_value(text, f"bodies.{part} {which}", body)
    text = with_value(text, "drive.driven", {"on": "countershaft", "pitch_diameter": driven, "span": put(*inner)})
    # what the first belt's round figure leaves over; it need not be in stock yet, as the list of drives has better
    last = round(driver * max(ratio, 1 / ratio) / (driven / driver), 2 if inch else 0)
    seat: Value = {"width": _plain(rim, unit), "from_end": 0}
    second: Value = {
        "belt": {"section": "SPZ", "choose": True, "near": driven},
        "driver": {"on": "countershaft", "pitch_diameter": driver, "span": put(*outer)},
        "driven": {"on": machine, "pitch_diameter": last, "span": seat},
    }
    text = with_value(text, "drive.second", second)
    text = with_value(text, f"mounts.{motor}.at", {"belt": {"from": "countershaft", "angle": f"{way:g} deg"}})
    # where the countershaft goes to tighten its own belt the motor has to follow
    slots: Value = {"slots": {"along": "belt", "install": "auto", "tension": "auto"}}
    return with_value(text, f"mounts.{motor}.take_up", slots)


def _plain(mm: float, unit: Unit) -> float:
    return round(mm / mm_per(unit), 4)


def refused_words(error: PlatekitError) -> str:
    """Why an answer will not do, in one line."""
    if isinstance(error, SpecError):
        return "; ".join(f"{one.found}; {one.wanted}" for one in error.problems[:3])
    return str(error)
