"""What two states of one plate differ in: hole by hole, mount by mount, outline, thickness. Plate frame, mm.

Vocabulary
    pair     an opening of the old plate and the one that it became; one of the two is missing where it is new or gone
    move     from the old middle to the new one: (x, y), right and up positive, looking at the near side
    marked   a file whose text carries a revision mark; it is void when the plate that it shows is no longer wanted

Pairs are made in this order: the same name at the same place; where a mount's zero stayed, the same place under another
name; the same name; then the nearest that is left of the same mount and role.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from msgspec import Struct

from platekit.cutting import operations_of
from platekit.geometry import Point, Pose, Shape, between
from platekit.laying.flat_parts import flat_parts
from platekit.laying.welded import welded_bars
from platekit.placed import SAME_LENGTH, Layout, Opening, PlacedFlange

MOVED = 0.01
"""A middle that lies nearer to where it was than this has not moved, mm: the last figure that is shown, and far less
than anyone cuts or marks (ours)."""


class OpeningPair(Struct, frozen=True):
    """An opening before and after.

    `reshaped` says that size, form, direction or depth differ, `remade` how it is made, before and after, where that
    differs.
    """

    old: Opening | None
    new: Opening | None
    reshaped: bool = False
    remade: tuple[str, str] | None = None

    @property
    def name(self) -> str:
        """The name that it has now, or had."""
        opening = self.new or self.old
        assert opening is not None
        return opening.name

    @property
    def move(self) -> Point:
        """From the old middle to the new one, mm; (0, 0) for what is new or gone."""
        if self.old is None or self.new is None:
            return (0.0, 0.0)
        return (self.new.center[0] - self.old.center[0], self.new.center[1] - self.old.center[1])

    @property
    def distance(self) -> float:
        """How far its middle moved, mm."""
        return math.hypot(*self.move)

    @property
    def moved(self) -> bool:
        """Whether its middle moved, as far as counts in a shop: by `MOVED` (mm) or more."""
        return self.distance >= MOVED - SAME_LENGTH

    @property
    def renamed(self) -> bool:
        """Whether it has another name now."""
        return self.old is not None and self.new is not None and self.old.name != self.new.name

    @property
    def kind(self) -> str:
        """`added`, `removed`, `changed` or `same`; another name alone is no change to the steel."""
        if self.old is None:
            return "added"
        if self.new is None:
            return "removed"
        return "changed" if self.moved or self.reshaped or self.remade else "same"


class MountMove(Struct, frozen=True):
    """A mount before and after: how its zero moved (mm), how it turned (rad, counter-clockwise), and its sides."""

    name: str
    move: Point
    turn: float
    sides: tuple[str, str]


class PartChange(Struct, frozen=True):
    """A part that is cut beside the plate, before and after; one of the two is None where it is new or gone.

    `thickness` (mm) and `material` are (old, new) where they differ, `outside` says that its outline does, `openings`
    how many of its openings moved, differ, came or went.
    """

    part: str
    old: Layout | None
    new: Layout | None
    thickness: tuple[float, float] | None = None
    material: tuple[str, str] | None = None
    outside: bool = False
    openings: int = 0


class OutlineChange(Struct, frozen=True):
    """How the four extremes of the outline moved, each outward positive, mm; and how much area came to it, mm2."""

    left: float
    right: float
    bottom: float
    top: float
    area: float


class Comparison(Struct, frozen=True):
    """All that differs between two layouts; `thickness`, `material`, `flange` are (old, new) where they differ."""

    old: Layout
    new: Layout
    pairs: tuple[OpeningPair, ...]
    mounts: tuple[MountMove, ...]
    mounts_added: tuple[str, ...]
    mounts_removed: tuple[str, ...]
    outline: OutlineChange | None
    thickness: tuple[float, float] | None
    material: tuple[str, str] | None
    flange: tuple[PlacedFlange | None, PlacedFlange | None] | None = None
    parts: tuple[PartChange, ...] = ()
    """The parts cut beside the plate that differ."""
    bars: tuple[str, ...] = ()
    """The bars and lugs that are elsewhere on the plate, or new, or gone."""

    @property
    def changes(self) -> tuple[OpeningPair, ...]:
        """The pairs that differ, the farthest moved (mm) first, then what is new, then what is gone."""
        rank = {"changed": 0, "added": 1, "removed": 2}
        changed = [pair for pair in self.pairs if pair.kind != "same"]
        return tuple(sorted(changed, key=lambda pair: (rank[pair.kind], -round(pair.distance, 6), pair.name)))

    @property
    def same_plate(self) -> bool:
        """Whether nothing differs that can be seen on the plate; holes may be called otherwise."""
        moved = self.mounts or self.mounts_added or self.mounts_removed
        return self.same_steel and not (moved or self.parts)

    @property
    def same_steel(self) -> bool:
        """Whether a plate cut from the old files is the plate that is wanted now."""
        # where bars go is marked in its cut file and on its paper
        return not (self.changes or self.outline or self.thickness or self.material or self.flange or self.bars)

    @property
    def same_paper(self) -> bool:
        """Whether a sheet printed of the old plate still shows where every hole and the outside go."""
        return not (self.changes or self.outline or self.flange or self.bars)


def compare(old: Layout, new: Layout) -> Comparison:
    """What differs (mm, rad) between an old state of a plate and a new one; the same layout twice in nothing."""
    before, after = old.mounts, new.mounts
    thickness = (old.thickness, new.thickness)
    material = (old.material.name, new.material.name)
    outline = None
    if not _same_shape(old.outline, new.outline, near=MOVED):
        a, b = old.outline.box, new.outline.box
        outline = OutlineChange(a.x0 - b.x0, b.x1 - a.x1, a.y0 - b.y0, b.y1 - a.y1, new.outline.area - old.outline.area)
    # Every opening of both plates is in exactly one pair: in the order of the new plate, then what is gone.
    stayed: set[str | None] = {None}  # what belongs to no mount is on the plate itself, which stays
    for name, mount in before.items():
        zero = (mount.pose.x, mount.pose.y)
        if name in after and between(zero, (after[name].pose.x, after[name].pose.y)) <= SAME_LENGTH:
            stayed.add(name)
    made, made_new = (
        {
            _key(opening): operations.how
            for opening, operations in zip(layout.openings, operations_of(layout), strict=True)
        }
        for layout in (old, new)
    )
    left, right = dict.fromkeys(range(len(old.openings))), dict.fromkeys(range(len(new.openings)))
    found: dict[int, int] = {}

    def take(key: Callable[[Opening], object]) -> None:
        """Pairs what is left by a key; where several share it, in their order."""
        waiting: dict[object, list[int]] = {}
        for i in left:
            waiting.setdefault(key(old.openings[i]), []).append(i)
        for j in list(right):
            same = waiting.get(key(new.openings[j]))
            if same:
                found[j] = same.pop(0)
                del right[j], left[found[j]]

    # From the surest sign that it is the same opening to the weakest. The place comes before the name where a mount
    # stayed: a hole put in at the front of a list renumbers all that follow, and nothing of the steel has changed.
    take(lambda o: (_key(o), _place(o)))
    take(lambda o: (o.mount, o.role, o.size, _place(o)) if o.mount in stayed else (id(o),))
    take(_key)
    for j, i in _nearest(old, new, list(left), list(right)):
        found[j] = i
        del right[j], left[i]
    pairs = []
    for j, opening in enumerate(new.openings):
        if j not in found:
            pairs.append(OpeningPair(None, opening))
            continue
        was = old.openings[found[j]]
        how = (made[_key(was)], made_new[_key(opening)])
        move = (opening.center[0] - was.center[0], opening.center[1] - was.center[1])
        same = _same_shape(was.shape, opening.shape, move)
        same = same and (was.depth, was.side, was.thread) == (opening.depth, opening.side, opening.thread)
        pairs.append(OpeningPair(was, opening, not same, how if how[0] != how[1] else None))
    moves = []
    for name in before:
        if name in after:
            one, other = before[name], after[name]
            move = (other.pose.x - one.pose.x, other.pose.y - one.pose.y)
            # Turned by 359 degrees is turned back by one: the remainder is within half a turn either way.
            turn = math.remainder(other.pose.turn - one.pose.turn, math.tau)
            if math.hypot(*move) >= MOVED - SAME_LENGTH or abs(turn) > 1e-9 or one.side != other.side:
                moves.append(MountMove(other.name, move, turn, (one.side, other.side)))
    return Comparison(
        old=old,
        new=new,
        pairs=(*pairs, *(OpeningPair(old.openings[i], None) for i in left)),
        mounts=tuple(moves),
        mounts_added=tuple(name for name in after if name not in before),
        mounts_removed=tuple(name for name in before if name not in after),
        outline=outline,
        thickness=thickness if abs(thickness[0] - thickness[1]) > SAME_LENGTH else None,
        material=material if material[0] != material[1] else None,
        flange=(old.flange, new.flange) if _bent(old.flange) != _bent(new.flange) else None,
        parts=tuple(_parts(old, new)),
        bars=tuple(_bars(old, new)),
    )


def _bent(flange: PlacedFlange | None) -> tuple[object, ...] | None:
    """How a flange is bent: the same flat blank can be bent the other way, or round another radius (mm)."""
    if flange is None:
        return None
    sizes = (round(size / SAME_LENGTH) for size in (flange.height, flange.radius, flange.length))
    return (flange.edge, flange.side, *sizes)


def _parts(old: Layout, new: Layout) -> Iterator[PartChange]:
    """The parts cut beside the plate that differ, by the names of their files."""
    before, after = flat_parts(old), flat_parts(new)
    for part in (*after, *(one for one in before if one not in after)):
        was, now = before.get(part), after.get(part)
        if was is None or now is None:
            yield PartChange(part, was, now)
            continue
        left = list(was.openings)
        for opening in now.openings:
            alike = (one for one in left if between(one.center, opening.center) < MOVED and _alike(one, opening))
            same = next(alike, None)
            if same is not None:
                left.remove(same)
        met = len(was.openings) - len(left)
        change = PartChange(
            part,
            was,
            now,
            thickness=(was.thickness, now.thickness) if abs(was.thickness - now.thickness) > SAME_LENGTH else None,
            material=(was.material.name, now.material.name) if was.material.name != now.material.name else None,
            outside=not _same_shape(was.outline, now.outline, near=MOVED),
            openings=max(len(was.openings), len(now.openings)) - met,
        )
        if change.thickness or change.material or change.outside or change.openings:
            yield change


def _alike(one: Opening, other: Opening) -> bool:
    move = (other.center[0] - one.center[0], other.center[1] - one.center[1])
    same = _same_shape(one.shape, other.shape, move, near=MOVED)
    return same and (one.depth, one.side, one.thread) == (other.depth, other.side, other.thread)


def _bars(old: Layout, new: Layout) -> Iterator[str]:
    """Bars and welded lugs that are not where they were (mm), by their names."""
    before, after = ({bar.name: bar for bar in welded_bars(one)} for one in (old, new))
    for name in (*after, *(one for one in before if one not in after)):
        was, now = before.get(name), after.get(name)
        if (
            was is None
            or now is None
            or was.side != now.side
            or max(between(was.start, now.start), between(was.end, now.end), abs(was.width - now.width)) >= MOVED
        ):
            yield name


# --------------------------------------------------------------------------------------------- pairs


def _key(opening: Opening) -> tuple[str, str, str | None]:
    return (opening.name, opening.role, opening.mount)


def _place(opening: Opening) -> tuple[int, int]:
    return (round(opening.center[0] / SAME_LENGTH), round(opening.center[1] / SAME_LENGTH))


def _nearest(old: Layout, new: Layout, left: list[int], right: list[int]) -> Iterator[tuple[int, int]]:
    """(new, old) of the same mount and role, nearest first, each opening once."""
    groups: dict[tuple[str, str | None], tuple[list[int], list[int]]] = {}
    for i in left:
        groups.setdefault((old.openings[i].role, old.openings[i].mount), ([], []))[0].append(i)
    for j in right:
        groups.setdefault((new.openings[j].role, new.openings[j].mount), ([], []))[1].append(j)
    for olds, news in groups.values():
        # by distance, then by number: of two that are as near the earlier in the spec is paired first
        ways = sorted((between(old.openings[i].center, new.openings[j].center), j, i) for i in olds for j in news)
        used_old: set[int] = set()
        used_new: set[int] = set()
        for _, j, i in ways:
            if i not in used_old and j not in used_new:
                used_old.add(i)
                used_new.add(j)
                yield j, i


def _same_shape(old: Shape, new: Shape, move: Point = (0.0, 0.0), near: float = 10 * SAME_LENGTH) -> bool:
    """Whether two shapes have the same outline once the old one is moved; where their loops start does not matter.

    Corners nearer to each other than `near` (mm) are the same.
    """
    # two loops with as many corners and as much area, before any corner is compared: most that differ differ there
    one, other = old.moved(Pose(*move)).loop(), new.loop()
    if len(one.vertices) != len(other.vertices) or abs(one.area - other.area) > near * max(
        100.0, sum(edge.length for edge in one.edges)
    ):
        return False
    first = other.vertices[0]
    # The same loop may be written from any of its corners: each corner that lies where the other begins is tried.
    starts = [i for i, vertex in enumerate(one.vertices) if between(vertex[:2], first[:2]) <= near]
    return any(
        all(
            between(a[:2], b[:2]) <= near and abs(a[2] - b[2]) <= max(1e-6, near / 100)  # bulges, which have no unit
            for a, b in zip((*one.vertices[start:], *one.vertices[:start]), other.vertices, strict=True)
        )
        for start in starts
    )
