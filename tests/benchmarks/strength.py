"""How long a plate takes that carries something: its answer, its natural frequencies, and how both grow."""

from __future__ import annotations

import math
import time
from pathlib import Path

from msgspec.structs import replace

import platekit
from platekit.geometry import Disc, Loop, rectangle
from platekit.strength import answer
from platekit.strength.question import Question, question_of

PITCH, WIDE = 16.0, 8.0
"""Of the openings of the plates that grow, mm."""


def _forgotten() -> None:
    for kept in (answer._answer_or_error, answer.frequencies, answer.factored_plate, answer._coarse, answer._factored):
        kept.cache_clear()
    answer._meshed.cache_clear()


def seconds(question: Question) -> tuple[float, float]:
    """Processor time of the answer to a question, and of the frequencies after it; the least of three."""
    found = []
    for _ in range(3):
        _forgotten()
        start = time.process_time()
        answer.answer_to(question)
        middle = time.process_time()
        answer.frequencies(question)
        found.append((middle - start, time.process_time() - middle))
    return min(one for one, _ in found), min(one for _, one in found)


def examples(specs: Path) -> tuple[float, float, str]:
    """The longest answer and frequencies of the examples that carry something, s, and how many these are."""
    times = []
    for path in sorted(specs.glob("*.yaml")):
        layout = platekit.lay_out(platekit.load(path))
        if any(mount.mass is not None for mount in layout.mounts.values()):
            times.append(seconds(question_of(layout)))
    return max(one for one, _ in times), max(one for _, one in times), f"{len(times)} examples"


def growth(specs: Path, count: int) -> tuple[float, float]:
    """Processor time of an answer with so many openings, and with twice as many."""
    layout = platekit.lay_out(platekit.load(specs / "wool-carder.yaml"))
    times = []
    for number in (count, 2 * count):
        start = time.process_time()
        _forgotten()
        answer.answer_to(perforated(question_of(layout), number))
        times.append(time.process_time() - start)
    return times[0], times[1]


def perforated(question: Question, count: int) -> Question:
    """The same parts on a plate that is wide enough for so many openings beside it."""
    box = question.outer.box
    columns = math.ceil(math.sqrt(count))
    side = (columns + 2) * PITCH
    x, y = box.x1 + side / 2, (box.y0 + box.y1) / 2
    holes: list[Loop] = []
    for number in range(count):
        row, column = divmod(number, columns)
        at = (x + (column - columns / 2) * PITCH, y + (row - columns / 2) * PITCH)
        holes.append(Disc(at, WIDE / 2).loop())
    wide, high = box.width + side + 2 * PITCH, max(box.height, side) + 2 * PITCH
    outer = rectangle(wide, high, center=(box.x0 + wide / 2 - PITCH, y))
    return replace(question, outer=outer, holes=(*question.holes, *holes))
