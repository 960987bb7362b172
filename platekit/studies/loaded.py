"""Which number governs whether a plate holds: how much of each limit is used, and what would change that most.

The plate is asked again with one number a tenth larger each time: its thickness, each mass, the height of each mass
over its face, each belt's pull. What changes a share most is what it hangs on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks.stiffer import Judged, shares
from platekit.checks.strength import worked_out
from platekit.errors import PlatekitError
from platekit.placed import Layout

if TYPE_CHECKING:
    from platekit.strength.question import Part, Pull, Question

MORE: Final = 0.1
"""How much larger a number is made to see what hangs on it (ours)."""
TIMES: Final = 1 + MORE
"""The same as a factor."""


class Used(Struct, frozen=True):
    """The share of a limit that is used, by its rule, and the field of the spec that it hangs on most.

    `then` is the share with that field `MORE` larger; no unit.
    """

    rule: Judged
    share: float
    field: str
    then: float


def used(layout: Layout) -> tuple[Used, ...]:
    """How much of each limit is used and what governs it; nothing where strength is not worked out."""
    answer = worked_out(layout)
    if answer is None:
        return ()
    from platekit.strength.answer import answer_to
    from platekit.strength.question import question_of

    now = shares(layout, answer)
    changed: dict[str, Mapping[Judged, float]] = {}
    for field, other in _larger(layout, question_of(layout)):
        try:
            changed[field] = shares(layout, answer_to(other))
        except PlatekitError:
            continue
    found = []
    for rule, share in now.items():
        if not changed or share <= 0:
            continue
        field = max(changed, key=lambda one: (round(abs(changed[one][rule] - share), 9), one))
        found.append(Used(rule, share, field, changed[field][rule]))
    return tuple(found)


def _larger(layout: Layout, question: Question) -> Iterator[tuple[str, Question]]:
    """The question with one number larger, by the field of the spec that it stands in."""
    from platekit.strength.question import thicker

    yield "plate.thickness", thicker(question, question.thickness * TIMES)
    for number, part in enumerate(question.parts):
        if not part.mass:
            continue
        field = layout.mounts[part.name].field
        heavier = replace(
            part, mass=part.mass * TIMES, lightest=part.lightest * TIMES, imbalance=part.imbalance * TIMES
        )
        yield f"{field}.mass.total", _with(question, number, heavier)
        face = layout.thickness / 2 if part.side == "near" else -layout.thickness / 2
        out = [
            replace(stand, center=(*stand.center[:2], face + (stand.center[2] - face) * TIMES))
            for stand in part.positions
        ]
        yield f"{field}.mass.centre", _with(question, number, replace(part, positions=tuple(out)))
        if any(stand.pulls for stand in part.positions):
            pulled = [replace(stand, pulls=tuple(_harder(pull) for pull in stand.pulls)) for stand in part.positions]
            yield "drive", _with(question, number, replace(part, positions=tuple(pulled)))


def _harder(pull: Pull) -> Pull:
    return replace(
        pull,
        rest=pull.rest * TIMES,
        along=pull.along * TIMES,
        across=pull.across * TIMES,
        turning=pull.turning * TIMES,
    )


def _with(question: Question, number: int, part: Part) -> Question:
    parts = list(question.parts)
    parts[number] = part
    return replace(question, parts=tuple(parts))
