"""Looking finer where the first grid of a search found nothing: cells that may hold a place are halved again and again.

Vocabulary
    cell     spots from `low` to `high` in each of their three numbers; its middle stands for it
    motion   how far, at most, any point of the part moves between the middle of a cell and the rest of it, mm
    depth    how far one of two outlines that share space would have to be moved to be free of the other, mm

Moving every point of a part by no more than its depth in another leaves the two in each other. So a cell whose motion
is less than what its middle is short of by any question holds no place at all, and is left out; so nothing is missed
down to the finest spots, unless there are more cells than are looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct

from platekit.geometry.poses import Core, Flags, Numbers, convex_pieces, depths, poses
from platekit.placed import SAME_LENGTH, Side
from platekit.studies.place_filter import Filter, RequiredClearance
from platekit.studies.place_space import TENTHS, SearchSpace, Spots, poses_of, shafts_of

MOST_CELLS: Final = 12_000
"""Cells that are halved at a time (ours: some seconds for a whole search)."""
AT_ONCE: Final = 8192
"""Cells judged at once (ours: their numbers stay in the processor's own memory)."""
IDLERS: Final = 1.25
"""A shaft on a belt with idlers moves faster than round a circle, by no more than so many times (ours)."""


class Level(Struct, frozen=True):
    """One step of looking finer: the spots that pass the filter, how many were tried, and how fine they lie.

    `mm` is the step of the places, on an arc in degrees; `degrees` that of the turns. It is `whole` unless cells were
    left out because there were too many.
    """

    spots: Spots
    tried: int
    mm: float
    degrees: float
    whole: bool


class _Asked(Struct, frozen=True):
    """A question with the convex pieces of its two outlines, and how far its moving part reaches from its pivot."""

    question: RequiredClearance
    moving: tuple[Core, ...]
    fixed: tuple[Core, ...]
    arm: float


def finer(space: SearchSpace, side: Side, questions: Filter) -> Iterator[Level]:
    """Ever finer levels (mm, degrees) of one side, from the grid of the space down to single spots."""
    # The moving part turns about its zero, or, by the belt, about its shaft: its arm is the farthest of it from there.
    pivot = np.asarray(space.pulley if space.by_belt and space.pulley is not None else (0.0, 0.0))
    asked = []
    for question in questions.questions:
        own = float(np.hypot(*(question.moving.a - pivot).T).max())
        # inside an outline there is no depth to bound by: such a question rules out by its distance alone
        pieces = ((), ()) if question.inside else (convex_pieces(question.moving), convex_pieces(question.fixed))
        asked.append(_Asked(question, *pieces, own))
    arm = max((one.arm for one in asked), default=100.0)
    low, high, middle = _first_cells(space)
    whole = True
    while True:
        # Branch and bound: a cell in whose middle a question is short by more than any pose of the cell can move the
        # part holds no place, and is left out for good. So nothing is missed, however narrow it is.
        open_, short = _may_hold(space, side, asked, low, high, middle)
        low, high, short = low[open_], high[open_], short[open_]
        wide = high - low
        if not len(low) or not wide.any():
            return
        if len(low) > MOST_CELLS:
            whole = False
            # Too many cells are left: those that are least short are kept, and what is told then is no longer the whole
            # space.
            best = np.sort(np.argsort(-np.round(short, 9), kind="stable")[:MOST_CELLS])
            low, high = low[best], high[best]
        # Each cell halved in those of its numbers that move the part farthest: halving one that hardly moves it would
        # double the cells and tell little.
        moved = _moves(space, (high - low).max(axis=0), arm)
        for k in range(3):
            if moved[k] < 0.5 * max(moved):
                continue
            splits = high[:, k] > low[:, k]
            half = (low[:, k] + high[:, k]) // 2
            upper_low, lower_high = low[splits].copy(), high.copy()
            upper_low[:, k] = half[splits] + 1
            lower_high[splits, k] = half[splits]
            low, high = np.concatenate([low, upper_low]), np.concatenate([lower_high, high[splits]])
        middle = (low + high) // 2
        spots = space.kept(middle)
        at, can = poses_of(space, side, spots)
        good = np.flatnonzero(can)
        good = good[questions.passed(at.only(good))]
        step = (high - low).max(axis=0) + 1
        fine = float(max(step[0], step[1])) / TENTHS
        yield Level(np.unique(spots[good], axis=0), len(spots), fine, float(step[2]) / TENTHS, whole)


def _first_cells(space: SearchSpace) -> tuple[Spots, Spots, Spots]:
    """The cells round the spots of the first grid: lowest and highest numbers, and the spots."""
    lows, highs, mids = [], [], []
    for one, step in zip((space.first, space.second, space.turns), space.step(), strict=True):
        at = np.array(one.steps(step), dtype=np.int64)
        last = at[0] + one.high - one.low if one.goes_round else one.high
        # cells meet half-way between neighbouring spots, so that together they are the whole space
        after = np.append((at[:-1] + at[1:]) // 2, (at[-1] + last) // 2 if one.goes_round else last)
        before = np.append(one.low, after[:-1] + 1)
        if one.goes_round:  # the stretch between the last and the first spot belongs half to each
            before[0] = after[-1] + 1 - (one.high - one.low)
        lows.append(before)
        highs.append(after)
        mids.append(at)
    low, high, mid = (
        np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3) for axes in (lows, highs, mids)
    )
    return low, high, mid


def _moves(space: SearchSpace, half: Numbers | Spots, arm: float) -> list[Numbers]:
    """How far half a cell moves the part in each of its three numbers, mm; `half` in tenths."""
    turned = np.radians(half[..., 2] / TENTHS) * arm
    if not space.by_belt:
        return [half[..., 0] / TENTHS, half[..., 1] / TENTHS, turned]
    # A turned belt carries the mount along a circle round the other shaft; idlers make that at most so much wider.
    assert space.run is not None
    spots = np.stack(
        [np.array(space.first.steps(300)), *np.zeros((2, len(space.first.steps(300))), dtype=np.int64)], -1
    )
    at, _ = poses_of(space, space.sides[0], spots)
    away = float(np.hypot(*(shafts_of(space, at) - np.asarray(space.other)).T).max())
    away = away * IDLERS if space.run.words.idlers else away
    return [np.radians(half[..., 0] / TENTHS) * away, np.zeros_like(turned), turned]


def _may_hold(
    space: SearchSpace, side: Side, asked: list[_Asked], low: Spots, high: Spots, middle: Spots
) -> tuple[Flags, Numbers]:
    """Which cells may hold a place, and by how much the middle of each is short (mm, the worst question's)."""
    half = np.maximum(high - middle, middle - low)
    open_ = np.ones(len(low), dtype=bool)
    short = np.zeros(len(low))
    for start in range(0, len(low), AT_ONCE):
        rows = np.arange(start, min(start + AT_ONCE, len(low)))
        at, _ = poses_of(space, side, space.kept(middle[rows]))
        # Where the travel itself depends on the place, poses between are not like the middle's: only what is without
        # travel may rule a cell out.
        take = space.mount.take_up
        if take is None or take.straight is None:
            travels_alike = True
        else:
            travels_alike = take.straight.along != "belt" and "auto" not in (
                take.straight.install,
                take.straight.tension,
            )
        if not travels_alike:
            at = poses(at.zero, np.arctan2(at.sin, at.cos), at.mirrored)
        for one in asked:
            moved = _moves(space, half[rows], one.arm)
            # shifts in x and y are square to each other; the turn adds at most its arc
            motion = np.hypot(moved[0], moved[1]) + moved[2]
            # A distance below zero says nothing of how far a pose is from being clear. There it is the depth by
            # which the outlines overlap that bounds how small a motion could free them.
            left = np.array(one.question.spare(at, near=-float(motion.max()) - 2 * SAME_LENGTH))
            crossing = np.flatnonzero(left < 0)
            if len(crossing) and one.moving and one.fixed:
                deep = depths(one.moving, at.only(crossing), one.fixed)
                left[crossing] = np.where(
                    deep > 0, np.minimum(left[crossing], -deep - one.question.needed), left[crossing]
                )
            short[rows] = np.minimum(short[rows], left)
            # No point of the part moves farther than `motion` within the cell, so no distance changes by more.
            good = left + motion >= -SAME_LENGTH
            open_[rows[~good]] = False
            rows, at = rows[good], at.only(good)
            if not len(rows):
                break
    return open_, short
