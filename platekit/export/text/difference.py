"""What two states of a plate differ in, in words for a terminal and figures for a program."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from platekit.analysis.compare import MOVED, Comparison, MountMove, OpeningPair, PartChange
from platekit.checks.strength import holds_of
from platekit.drawing.bending import flange_words
from platekit.drawing.cautions import CAUTIONS
from platekit.drawing.sizes import figure, opening_size
from platekit.export.data.rounded import Figures, tidied
from platekit.export.outdated import Outdated
from platekit.geometry import Point, Slot
from platekit.laying.welded import welded_bars
from platekit.placed import Layout
from platekit.units import INCH, Unit, show_length, show_stress

SMALLEST_SAID: Final[dict[Unit, float]] = {"mm": 0.005, "in": 0.0005 * INCH}
"""A move along one direction smaller than this is not put into words, mm (ours: half of the last figure shown)."""

TURN_SAID: Final = math.radians(0.005)
"""A turn smaller than this is not put into words (ours: half of the last figure shown)."""


def way_words(move: Point, unit: Unit) -> str:
    """A move in words, looking at the near side.

    >>> way_words((2.5, -0.2), "mm"), way_words((0.0, 3.0), "mm")
    ('2.5 mm to the right and 0.2 mm down', '3 mm up')
    """
    words = []
    for size, plus, minus in ((move[0], "to the right", "to the left"), (move[1], "up", "down")):
        if abs(size) >= SMALLEST_SAID[unit]:
            words.append(f"{show_length(abs(size), unit)} {plus if size > 0 else minus}")
    return " and ".join(words) or f"less than {show_length(2 * SMALLEST_SAID[unit], unit)}"


def pair_words(comparison: Comparison, pair: OpeningPair) -> str:
    """What became of one opening: `moved 2.5 mm (2.5 mm to the right), now Ø25 (was Ø22)`."""
    unit = comparison.new.spec.unit
    if pair.old is None:
        assert pair.new is not None
        return f"new: {opening_size(comparison.new, pair.new)}"
    was = opening_size(comparison.old, pair.old)
    if pair.new is None:
        return f"gone; it was {was}"
    said = []
    if pair.moved:
        said.append(f"moved {show_length(pair.distance, unit)}: {way_words(pair.move, unit)}")
    now = opening_size(comparison.new, pair.new)
    if now != was:
        said.append(f"now {now}, was {was}")
    elif pair.reshaped:
        said.append(f"{_reshaped(pair)}, still {now}")
    if pair.remade:
        said.append(f"now {pair.remade[1]}, was {pair.remade[0]}")
    if pair.renamed:
        said.append(f"was called {pair.old.name}")
    return "; ".join(said)


def _reshaped(pair: OpeningPair) -> str:
    """How the shape of an opening differs though its size in words does not."""
    old, new = (None if opening is None else opening.shape for opening in (pair.old, pair.new))
    if not isinstance(old, Slot) or not isinstance(new, Slot):
        return "turned or reshaped"
    # a slot turned by half a turn is the same slot
    turn = math.remainder(_lies(new) - _lies(old), math.pi)
    if abs(turn) < TURN_SAID:
        return "changed by less than is shown"
    return f"turned {abs(math.degrees(turn)):.3g} degrees {'counter-clockwise' if turn > 0 else 'clockwise'}"


def _lies(slot: Slot) -> float:
    return math.atan2(slot.b[1] - slot.a[1], slot.b[0] - slot.a[0])


def mount_words(move: MountMove, unit: Unit) -> str:
    """What became of a mount as a whole."""
    said = []
    if math.hypot(*move.move) >= SMALLEST_SAID[unit]:
        said.append(f"moved {show_length(math.hypot(*move.move), unit)}: {way_words(move.move, unit)}")
    if abs(move.turn) >= TURN_SAID:
        way = "counter-clockwise" if move.turn > 0 else "clockwise"
        said.append(f"turned {abs(math.degrees(move.turn)):.4g} degrees {way}")
    if move.sides[0] != move.sides[1]:
        said.append(f"now on the {move.sides[1]} side, was on the {move.sides[0]} side")
    return "; ".join(said) or "moved by less than can be measured"


def outline_words(comparison: Comparison) -> str:
    """How the outside changed; empty if it did not."""
    change, unit = comparison.outline, comparison.new.spec.unit
    if change is None:
        return ""
    sides = (("left", change.left), ("right", change.right), ("bottom", change.bottom), ("top", change.top))
    said = [
        f"{side} edge {show_length(abs(by), unit)} {'out' if by > 0 else 'in'}"
        for side, by in sides
        if abs(by) >= SMALLEST_SAID[unit]
    ]
    return ", ".join(said) or "another outline within the same width and height"


def strength_words(comparison: Comparison) -> list[str]:
    """How the plate holds now and held before, a line; none where neither was worked out."""
    was, now = holds_of(comparison.old), holds_of(comparison.new)
    if was is None or now is None:
        if was is now:
            return []
        return [
            "whether it holds is worked out now, and was not" if was is None else "whether it holds is not known now"
        ]
    unit = comparison.new.spec.unit
    said = [
        f"stress {show_stress(now.stress, unit)} at most, was {show_stress(was.stress, unit)}",
        f"it bends {show_length(now.sag, unit)}, was {show_length(was.sag, unit)}",
    ]
    if now.tilt is not None and was.tilt is not None:
        said.append(f"a shaft tilts by {now.tilt:.2f} deg, was {was.tilt:.2f}")
    if now.rings is not None and was.rings is not None:
        said.append(f"it rings from {now.rings:.1f} Hz on, was {was.rings:.1f}")
    return [f"strength: {'; '.join(said)}"]


def _strength_figures(layout: Layout) -> Figures | None:
    holds = holds_of(layout)
    if holds is None:
        return None
    return tidied(
        {
            "stress_n_mm2": holds.stress,
            "sag_mm": holds.sag,
            "tilt_deg": holds.tilt,
            "first_frequency_hz": holds.rings,
            "pull_n": holds.pull,
        },
        4,
    )


def difference_text(comparison: Comparison, outdated: Sequence[Outdated], written: Sequence[str]) -> str:
    """All that differs, farthest moves first, and what is void; one line each."""
    old, new = comparison.old.spec, comparison.new.spec
    unit = new.unit
    lines = [f"{old.name} (revision {old.revision}) to {new.name} (revision {new.revision})", ""]
    if comparison.thickness:
        was, now = (show_length(value, unit) for value in comparison.thickness)
        lines.append(f"the plate is {now} thick, was {was}")
    if comparison.material:
        lines.append(f"the plate is {comparison.material[1]}, was {comparison.material[0]}")
    if comparison.flange:
        was, now = (flange_words(one, unit) for one in comparison.flange)
        lines.append(f"flange: {now}; was {was}")
    if comparison.outline:
        lines.append(f"outline: {outline_words(comparison)}")
    lines += [f"mount {move.name}: {mount_words(move, unit)}" for move in comparison.mounts]
    lines += [f"mount {name}: new" for name in comparison.mounts_added]
    lines += [f"mount {name}: gone" for name in comparison.mounts_removed]
    lines += [f"{one.part}: {part_words(one, unit)}" for one in comparison.parts]
    lines += [f"{name}: elsewhere on the plate" for name in comparison.bars if _stayed(comparison, name)]
    lines += strength_words(comparison)
    changes = comparison.changes
    width = max((len(pair.name) for pair in changes), default=0)
    lines += [f"{pair.name:<{width}}  {pair_words(comparison, pair)}" for pair in changes]
    same = sum(pair.kind == "same" for pair in comparison.pairs)
    lines += [f"{same} of {len(comparison.pairs)} openings as they were"]
    if not any(pair.moved for pair in comparison.pairs):
        lines.append(f"no hole moved by {show_length(MOVED, unit, 3 if unit == 'in' else 2)} or more")
    lines.append("")
    lines += [verdict_words(comparison), *map(outdated_words, outdated), *(f"wrote {path}" for path in written)]
    if not written and comparison.same_plate:
        lines.append("both are the same plate, so no overlay was written")
    return "\n".join(lines)


def part_words(change: PartChange, unit: Unit) -> str:
    """What differs of a part that is cut beside the plate; lengths (mm) in the unit of the spec.

    Everything in one line, for lists of changes.
    """
    if change.old is None:
        return "new"
    if change.new is None:
        return "gone"
    said = []
    if change.thickness:
        was, now = (show_length(one, unit) for one in change.thickness)
        said.append(f"now {now} thick, was {was}")
    if change.material:
        said.append(f"now {change.material[1]}, was {change.material[0]}")
    if change.outside:
        sizes = [change.old.outline.box, change.new.outline.box]
        was, now = (f"{figure(one.width, unit)} x {show_length(one.height, unit)}" for one in sizes)
        said.append("another outline" if was == now else f"now {now}, was {was}")
    if change.openings:
        said.append(f"{change.openings} opening{'s' if change.openings > 1 else ''} moved or changed")
    return "; ".join(said)


def _stayed(comparison: Comparison, name: str) -> bool:
    """Whether a bar is there before and after."""
    return all(any(bar.name == name for bar in welded_bars(one)) for one in (comparison.old, comparison.new))


def verdict_words(comparison: Comparison) -> str:
    """Whether paper and cut files of the old state may still be used."""
    # the mark is worked out from what the spec means, so equal marks mean the same plate whatever the texts are
    if comparison.old.spec.revision == comparison.new.spec.revision:
        return "the two specs mean the same; every sheet and file of the one is good for the other"
    mark = comparison.old.spec.revision
    if comparison.same_steel and comparison.parts:
        names = ", ".join(one.part for one in comparison.parts)
        return (
            f"the plate is the same; cut beside it anew: {names}, whose files of another mark are void, and so are "
            f"lists and bench sheets of revision {mark}"
        )
    if comparison.same_steel:
        return f"the steel is the same; only the mark changed, and sheets and files of revision {mark} still fit"
    if comparison.same_paper:
        return f"places and outside are the same; templates of revision {mark} still fit, its cut files are void"
    return f"every template and cut file of revision {mark} is void; take old prints off the bench"


KINDS: Final = {
    ".pdf": "paper",
    ".svg": "picture",
    ".html": "report",
    ".csv": "hole list",
    ".json": "figures",
    ".step": "solid",
}
"""What a file of that ending is called, as long as nothing is cut from it."""


def outdated_words(file: Outdated) -> str:
    """One file of another revision, and whether it may still be used."""
    kind = "cut file" if file.cuts else KINDS.get(file.path.suffix, "file")
    return f"{'void' if file.void else 'fits'}  {file.path} ({kind}, revision {file.mark})"


def difference_figures(comparison: Comparison, outdated: Sequence[Outdated], written: Sequence[str]) -> Figures:
    """The same for a program; lengths mm, x to the right and y up, looking at the near side."""
    old, new, change = comparison.old, comparison.new, comparison.outline
    return {
        "cautions": list(CAUTIONS),
        "old": {"spec": old.spec.name, "revision": old.spec.revision},
        "new": {"spec": new.spec.name, "revision": new.spec.revision},
        "same_steel": comparison.same_steel,
        "thickness_mm": comparison.thickness,
        "material": comparison.material,
        "flange": None if comparison.flange is None else [flange_words(one, "mm") for one in comparison.flange],
        "strength_was": _strength_figures(old),
        "strength_is": _strength_figures(new),
        "outline": None
        if change is None
        else {
            "left_out_mm": _tidy(change.left),
            "right_out_mm": _tidy(change.right),
            "bottom_out_mm": _tidy(change.bottom),
            "top_out_mm": _tidy(change.top),
            "area_mm2": _tidy(change.area),
        },
        "mounts": [
            {
                "name": move.name,
                "dx_mm": _tidy(move.move[0]),
                "dy_mm": _tidy(move.move[1]),
                "distance_mm": _tidy(math.hypot(*move.move)),
                "turned_deg": _tidy(math.degrees(move.turn)),
                "side_was": move.sides[0],
                "side_is": move.sides[1],
            }
            for move in comparison.mounts
        ],
        "mounts_added": list(comparison.mounts_added),
        "mounts_removed": list(comparison.mounts_removed),
        "parts": [{"part": one.part, "words": part_words(one, new.spec.unit)} for one in comparison.parts],
        "bars": list(comparison.bars),
        "openings": [_pair(comparison, pair) for pair in comparison.changes],
        "openings_as_they_were": sum(pair.kind == "same" for pair in comparison.pairs),
        "files": [
            {"path": str(file.path), "revision": file.mark, "cuts": file.cuts, "void": file.void} for file in outdated
        ],
        "written": list(written),
    }


def _pair(comparison: Comparison, pair: OpeningPair) -> Figures:
    both = pair.old is not None and pair.new is not None
    return {
        "name": pair.name,
        "name_was": None if pair.old is None else pair.old.name,
        "change": pair.kind,
        "dx_mm": _tidy(pair.move[0]) if both else None,
        "dy_mm": _tidy(pair.move[1]) if both else None,
        "distance_mm": _tidy(pair.distance) if both else None,
        "was_at_mm": None if pair.old is None else [_tidy(value) for value in pair.old.center],
        "is_at_mm": None if pair.new is None else [_tidy(value) for value in pair.new.center],
        "size_was": None if pair.old is None else opening_size(comparison.old, pair.old),
        "size_is": None if pair.new is None else opening_size(comparison.new, pair.new),
        "size_was_mm": None if pair.old is None else _tidy(pair.old.size),
        "size_is_mm": None if pair.new is None else _tidy(pair.new.size),
        "reshaped": pair.reshaped,
        "made_was": pair.remade[0] if pair.remade else None,
        "made_is": pair.remade[1] if pair.remade else None,
        "words": pair_words(comparison, pair),
    }


def _tidy(value: float) -> float:
    return round(value, 6) + 0.0
