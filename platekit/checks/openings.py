"""Rules on the openings: to each other, to the outside, to the process."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks.advice import (
    FARTHEST,
    SPIGOT_ROOM,
    move_apart,
    moved_remedy,
    mover,
    pilot_remedy,
    rounded_down,
    rounded_up,
    say,
    shortest_move,
    smaller_holes,
    step_mm,
    words_at,
)
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import MOST_STOPS, Rule
from platekit.cutting import how_made, operations_of
from platekit.cutting.heads import HeadSeat, seats
from platekit.geometry import Disc, Index, Loop, Point, Pose, Shape, box_round, distance, edge_distance, rectangle
from platekit.geometry.narrow import narrowest
from platekit.laying.limits import DRILLED_WEB_IN_THICKNESS, DRILLED_WEB_LEAST, drilled_web, seat_web
from platekit.laying.outline import PAD_IN_DIAMETERS
from platekit.laying.shafts import misplaced_shafts
from platekit.laying.tongues import FEET, TABS
from platekit.placed import SAME_LENGTH, Layout, Opening
from platekit.spec.models import OutlineWords
from platekit.spec.tab_words import FeetWords, TabWords
from platekit.tables.shop import shop_figure
from platekit.units import mm_per

EDGE_IN_DIAMETERS = 1.5
"""Least distance of a screw hole's centre from the outside, in hole diameters (common practice: 1.5 to 2)."""
RECESS_FLOOR_LEAST = shop_figure("steel under a recess, least")
"""Least steel left under a bored recess, mm (`shop_figures.csv`)."""
GROWTH = 1.1
"""Each try to make the plate larger adds this much more than the last (ours)."""


# --------------------------------------------------------------------------------------------- pairs


class _Pair(Struct, frozen=True):
    """Two openings, what lies between them and what should (mm), with the heads' seats that are the nearest of it.

    `a` and `b` have the shape that is meant: a head's mouth where its seat is what comes near.
    """

    a: Opening
    b: Opening
    gap: float
    between: Point
    needed: float
    seats: tuple[HeadSeat, ...] = ()

    @property
    def short(self) -> float:
        """How much is missing, mm; negative where there is more than enough."""
        return self.needed - self.gap

    @property
    def words(self) -> str:
        """Both in words."""
        sunk = {seat.opening for seat in self.seats}
        a, b = (f"the seat of {o.name}'s head" if o.name in sunk else o.name for o in (self.a, self.b))
        return f"{a} and {b}"

    @property
    def where(self) -> str:
        """The face, where only that counts."""
        return f" at the {self.seats[0].side} face" if self.seats else ""


def overlap(layout: Layout) -> Iterator[Finding]:
    """Openings that run into each other (mm), or into the seat of a head at the face that it is at."""
    # A shaft through a screw hole of its own part is one mistake in one place: told once, by the rule that names it.
    misplaced_reliefs = {(one.hole, f"{name}.relief") for one in misplaced_shafts(layout) for name in one.shafts}
    for pair in _close_pairs(layout):
        if pair.gap > SAME_LENGTH:
            continue
        if {(pair.a.name, pair.b.name), (pair.b.name, pair.a.name)} & misplaced_reliefs:
            continue  # `shaft-place` says it
        advice, *others = _room_for_both(layout, pair)
        yield Finding(
            rule="overlap",
            level="stop",
            message=f"{pair.words} run into each other{pair.where}; {say(layout, pair.needed)} of steel belongs "
            "between them",
            features=(pair.a.name, pair.b.name),
            at=pair.between,
            found=max(pair.gap, 0.0) if pair.gap > 0 else pair.gap,
            needed=pair.needed,
            advice=advice,
            others=tuple(others),
        )


def web(layout: Layout) -> Iterator[Finding]:
    """Too little steel (mm) between two openings, or at a face between the seat of a head and what is next to it."""
    for pair in _close_pairs(layout):
        # Openings that touch are `overlap`'s; the two rules share the pairs and never speak of the same one.
        if pair.gap <= SAME_LENGTH or pair.short <= SAME_LENGTH:
            continue
        advice, *others = _room_for_both(layout, pair)
        yield Finding(
            rule="web",
            level="stop",
            message=f"the web between {pair.words} is {say(layout, pair.gap)}{pair.where}; "
            f"{say(layout, pair.needed)} is needed",
            features=(pair.a.name, pair.b.name),
            at=pair.between,
            found=pair.gap,
            needed=pair.needed,
            advice=advice,
            others=tuple(others),
        )


def _close_pairs(layout: Layout) -> Iterator[_Pair]:
    """Pairs of through openings within the web limit, each as that which is most too near: holes or heads' seats.

    Ends early when so many are too close that at least one of the two rules has more stops than are told.
    """
    through = [opening for opening in layout.openings if opening.through]
    sunk = seats(layout)
    too_close = 0
    # A head that is let in widens its hole at one face, so its mouth decides which openings are near.
    boxes = [(sunk[o.name].mouth if o.name in sunk else o.shape).box for o in through]
    for i, j in Index(boxes).pairs_within(layout.limits.web.value):
        a, b = through[i], through[j]
        # A pilot that swallows its own mount's screw holes has a rule of its own, with better advice.
        pilot, hole = (a, b) if a.role == "pilot" else (b, a)
        if (
            pilot.role == "pilot"
            and hole.role == "screw"
            and pilot.mount is not None
            and pilot.mount == hole.mount
            and distance(pilot.shape, hole.shape).distance <= SAME_LENGTH
        ):
            continue
        pair = _pair(a, b, web_needed(layout, a, b))
        # The pair again, with the mouth of a head's seat for a hole. In one face two seats count against each other, in
        # opposite faces only each against the hole of the other. Of all these the worst is told: mending it mends the
        # rest.
        in_a, in_b, steel = sunk.get(a.name), sunk.get(b.name), seat_web(layout.limits, layout.thickness)
        ways = [pair]
        if in_a is not None:
            wide_a = replace(a, shape=in_a.mouth)
            ways.append(_pair(wide_a, b, steel, in_a))
        if in_b is not None:
            wide_b = replace(b, shape=in_b.mouth)
            ways.append(_pair(a, wide_b, steel, in_b))
            if in_a is not None and in_a.side == in_b.side:
                ways.append(_pair(wide_a, wide_b, steel, in_a, in_b))
        pair = max(ways, key=lambda one: round(one.short, 9))
        yield pair
        too_close += pair.short > SAME_LENGTH
        # Each pair goes to one of two rules, which both tell at most so many: beyond that, looking on is wasted.
        if too_close > 2 * MOST_STOPS:
            return


def _pair(a: Opening, b: Opening, needed: float, *sunk: HeadSeat) -> _Pair:
    gap = distance(a.shape, b.shape)
    between = ((gap.a[0] + gap.b[0]) / 2, (gap.a[1] + gap.b[1]) / 2)
    return _Pair(a, b, gap.distance, between, needed, sunk)


def web_needed(layout: Layout, a: Opening, b: Opening) -> float:
    """Steel that belongs between two openings, mm: less where one of them is drilled."""
    if layout.limits.web.source == "spec" or (_is_cut(layout, a) and _is_cut(layout, b)):
        return layout.limits.web.value
    # A cut edge is hard and drawn by heat on both sides of the web; a drill leaves it as it was.
    return drilled_web(layout.limits, layout.thickness)


def _is_cut(layout: Layout, opening: Opening) -> bool:
    return how_made(layout, opening).cut is not None


def _room_for_both(layout: Layout, pair: _Pair) -> tuple[Advice, ...]:
    """What would do for two openings too near each other, in the order of what a shop would try."""
    a, b, needed = pair.a, pair.b, pair.needed
    # Two pilots about the same middle belong on one axis, and moving one would part them.
    if (a.role, b.role) == ("pilot", "pilot") and a.mount and b.mount and math.dist(a.center, b.center) <= SAME_LENGTH:
        small, large = sorted((a, b), key=lambda opening: round(opening.size, 9))
        mount = layout.mounts[small.mount or ""]
        said = (
            f"let {large.name} serve both, as they share their middle: {mount.name} then has pilot: opening: none; is "
            "the smaller one to locate too, have one of them bored as a recess (opening: recess)"
        )
        return (Advice(said, (pilot_remedy(mount, "none"),)),)
    moved = move_apart(layout, [(a, b)], needed)
    others = [_shrink(layout, a, b, needed) or _shrink(layout, b, a, needed)]
    others += [head_on_the_plate(layout, seat) for seat in pair.seats]
    holes = [o.mount for o in (a, b) if o.role == "screw" and o.mount is not None]
    for name in dict.fromkeys(holes):
        mount = layout.mounts[name]
        # Two holes of one mount shrink together, each giving half; beside anything else one hole gives all of it.
        others += smaller_holes(layout, mount, mount.hole - pair.short * (1 if holes.count(name) == 2 else 2))
    # Round screw holes marked and drilled instead of cut: a drill leaves a thinner web whole.
    others += [
        Advice(
            f"have the holes of {one.mount} marked and drilled (screws: made: drill)",
            (Remedy(f"mounts.{one.mount}.screws.made", "drill"),),
        )
        for one in (a, b)
        if one.role == "screw" and isinstance(one.shape, Disc) and one.mount is not None and _is_cut(layout, one)
    ]
    found = [idea for idea in others if idea]
    if moved and found:
        moved = replace(moved, text=f"{moved.text}, or {found[0].text}")
    if a.mount == b.mount and a.mount is not None:
        other_place = Advice(
            f"{a.name} and {b.name} belong to one part, so no place of it helps: {_instead(layout, a.mount)}"
        )
    else:
        other_place = Advice(f"give {a.name} or {b.name} another place, or take a smaller screw or fit")
    ideas = (moved, *found, other_place)
    return tuple(idea for idea in ideas if idea)


def _instead(layout: Layout, name: str) -> str:
    """What a shop would try where openings of one part leave too little steel, and nothing that was tried helps."""
    mount = layout.mounts[name]
    if mount.take_up != "slots":
        return "take a smaller screw, or a narrower slot"
    return (
        "its slots are as long as the belt asks for. A smaller driven pulley and a shorter belt ask for less, a part "
        "with a larger face has its holes farther apart, a thinner plate wants less steel between them; else hold it "
        f"by rails, or on a plate that swings (mounts: {name}: take_up)"
    )


def head_on_the_plate(layout: Layout, seat: HeadSeat) -> Advice:
    """Advice to let the heads of a mount stand on the plate instead of in it."""
    mount = layout.opening(seat.opening).mount
    field = f"mounts.{mount}.screws"
    if seat.tapers:
        return Advice(f"let the heads of {mount} stand on the plate (head: hex)", (Remedy(f"{field}.head", "hex"),))
    return Advice(
        f"let the heads of {mount} stand on the plate (counterbore: false)", (Remedy(f"{field}.counterbore", False),)
    )


def _shrink(layout: Layout, small: Opening, other: Opening, needed: float) -> Advice | None:
    """Advice to make a round cutout smaller, if that alone gives the room."""
    if small.role != "cutout" or not isinstance(small.shape, Disc):
        return None
    # The room round the middle, as if the cutout were a point: from there its radius may grow until the web is left.
    room = distance(Disc(small.center, 1e-6), other.shape).distance - needed
    diameter = rounded_down(layout, 2 * room)
    if 2 * room < max(small.size / 2, layout.limits.smallest_hole.value) - SAME_LENGTH:
        return None
    remedy = Remedy(f"{small.field}.circle.diameter", diameter)
    return Advice(f"shrink {small.name} to {diameter:g} {layout.spec.unit}", (remedy,))


# --------------------------------------------------------------------------------------------- outside


def edge(layout: Layout) -> Iterator[Finding]:
    """Openings and heads' seats too close (mm) to the outside of the plate, or beyond it."""
    sunk = seats(layout)
    for opening in layout.openings:
        gap = edge_distance(opening.shape, layout.outline)
        found, needed, measured = edge_figures(layout, opening, gap.distance)
        seat = sunk.get(opening.name)
        if seat is not None:
            # The mouth is as much nearer to the outside as it is wider than the hole on one side.
            at_face = gap.distance - (seat.diameter - opening.size) / 2
            if seat_web(layout.limits, layout.thickness) - at_face > max(needed - found, SAME_LENGTH):
                found, needed = at_face, seat_web(layout.limits, layout.thickness)
                measured = f"the seat of its head at the {seat.side} face"
        if found >= needed - SAME_LENGTH:
            continue
        # `found` may be counted from the hole's centre: the edge must come in by the same, wherever it is counted from.
        wanted = gap.distance + needed - found
        missing = needed - found
        own = _wider_tongue(layout, opening, wanted)
        if own:
            advice, *others = own
        elif layout.wrapped:
            wider = rounded_up(layout, wanted)
            said = f"make the {layout.rope_field.rpartition('.')[2]}'s margin {wider:g} {layout.spec.unit}"
            advice, *others = (Advice(said, (Remedy(f"{layout.rope_field}.margin", wider),)),)
        else:
            wrapped = Advice(
                "let the outline wrap the openings (outline: {wrap: {margin: auto}}), or move it "
                f"{say(layout, missing)} outward there",
                (Remedy("plate.outline", {"wrap": {"margin": "auto"}}),),
            )
            inward = None
            movable = mover(layout, opening) if opening.role == "cutout" else None
            if movable is not None:
                # a cutout's own place is free; what a mount brings goes wherever that goes

                def clearance(move: Point, shape: Shape = opening.shape) -> float:
                    return edge_distance(shape.moved(Pose(*move)), layout.outline).distance

                move = shortest_move(clearance, wanted + step_mm(layout))
                if move is not None:
                    sentence, remedy = moved_remedy(layout, movable, move)
                    inward = Advice(sentence, (remedy,))
            ideas = (inward, _larger_plate(layout, opening, wanted, missing), wrapped)
            advice, *others = tuple(idea for idea in ideas if idea)
        lies = f"{measured} is {say(layout, found)} from the outline"
        if found < 0:
            lies = f"{measured} lies {say(layout, -found)} outside the plate"
        yield Finding(
            rule="edge",
            level="stop",
            message=f"{opening.name}: {lies}; {say(layout, needed)} is needed",
            features=(opening.name, "outline"),
            at=gap.b,
            found=found,
            needed=needed,
            advice=advice,
            others=tuple(others),
        )


def _wider_tongue(layout: Layout, opening: Opening, wanted: float) -> tuple[Advice, ...]:
    """What would do for a hole in a tab or a foot that needs more steel round it (`wanted`, mm)."""
    tab, foot = opening.field.startswith(f"{TABS}."), opening.field == FEET
    if not (tab or foot):
        return ()
    wide = rounded_up(layout, opening.size + 2 * wanted)
    if tab:
        words: TabWords = words_at(layout, opening.field)
        if wide * mm_per(layout.spec.unit) <= words.width:
            return (Advice("move the tab farther out: its hole lies too near to another edge"),)
        said = f"make the tab {wide:g} {layout.spec.unit} wide (width: {wide:g})"
        return (Advice(said, (Remedy(f"{opening.field}.width", wide),)),)
    feet: FeetWords = words_at(layout, FEET)
    high = PAD_IN_DIAMETERS * opening.size if feet.hole_height == "auto" else feet.hole_height
    higher = rounded_up(layout, max(high, wanted + opening.size / 2))
    edits = []
    if wide * mm_per(layout.spec.unit) > feet.width:
        edits.append(Remedy(f"{FEET}.width", wide))
    if higher * mm_per(layout.spec.unit) > high + SAME_LENGTH:
        edits.append(Remedy(f"{FEET}.hole_height", higher))
    if not edits:
        return (Advice("make the feet longer (a lower level): their holes lie too near to another edge"),)
    said = ", ".join(f"{edit.field.rpartition('.')[2]}: {edit.value}" for edit in edits)
    return (Advice(f"leave steel round the holes in the feet ({said})", tuple(edits)),)


def edge_figures(layout: Layout, opening: Opening, gap: float) -> tuple[float, float, str]:
    """Found, needed (mm) and what is measured, of an opening whose edge is `gap` from the outside."""
    if opening.role in ("screw", "pivot", "fixing", "dowel"):
        limit = layout.limits.edge
        needed = EDGE_IN_DIAMETERS * opening.size if limit is None else limit.value
        return gap + opening.size / 2, needed, "hole centre"
    if layout.limits.web.source == "spec" or _is_cut(layout, opening):
        return gap, layout.limits.web.value, "its edge"
    return gap, drilled_web(layout.limits, layout.thickness), "its edge"


def _larger_plate(layout: Layout, opening: Opening, wanted: float, missing: float) -> Advice | None:
    """Advice to make a rectangle or circle larger, by the least of some steps that is enough."""
    given: OutlineWords = words_at(layout, "plate.outline")
    pose = Pose(given.at[0], given.at[1], given.turn)
    # from the missing steel on both sides upward: which side is short is not asked, so each try is measured again
    extra = 2 * missing
    while extra < FARTHEST:
        if given.rectangle is not None:
            old = given.rectangle
            sides: tuple[float, ...] = (old.width + extra, old.height + extra)
            larger: Shape = rectangle(sides[0], sides[1], old.corner).moved(pose)
        elif given.circle is not None:
            sides = (given.circle.diameter + extra,)
            larger = Disc(given.at, sides[0] / 2)
        else:
            return None
        if edge_distance(opening.shape, larger).distance >= wanted:
            new = [rounded_up(layout, side) for side in sides]
            if len(new) == 1:
                return Advice(
                    f"make the plate {new[0]:g} {layout.spec.unit} in diameter",
                    (Remedy("plate.outline.circle.diameter", new[0]),),
                )
            return Advice(
                f"make the plate {new[0]:g} x {new[1]:g} {layout.spec.unit}",
                (
                    Remedy("plate.outline.rectangle.width", new[0]),
                    Remedy("plate.outline.rectangle.height", new[1]),
                ),
            )
        extra *= GROWTH
    return None


# --------------------------------------------------------------------------------------------- pilots


def pilot_over_bolts(layout: Layout) -> Iterator[Finding]:
    """A through opening (mm) for a pilot that cuts its own screw holes away."""
    holes: dict[str | None, list[Opening]] = {}
    for opening in layout.openings:
        if opening.role == "screw":
            holes.setdefault(opening.mount, []).append(opening)
    for pilot in layout.openings:
        if pilot.role != "pilot" or not pilot.through:
            continue
        gaps = [(distance(pilot.shape, hole.shape).distance, hole) for hole in holes.get(pilot.mount, [])]
        lost = [(gap, hole) for gap, hole in gaps if gap <= SAME_LENGTH]
        if not lost:
            continue
        gap, hole = min(lost, key=lambda pair: round(pair[0], 9))
        # What would do for a pilot whose opening swallows the screw holes: recess, spacers, no pilot at all.
        mount = layout.mounts[pilot.mount or ""]
        assert mount.pilot is not None
        deep = mount.pilot_depth
        ideas = []
        if 0 < deep < layout.thickness - RECESS_FLOOR_LEAST - SPIGOT_ROOM and mount.travel is None:
            ideas.append(
                Advice(
                    "have a recess bored for the pilot (pilot: opening: recess); what stands in its middle, such as "
                    "the shaft, gets an opening of its own",
                    (pilot_remedy(mount, "recess"),),
                )
            )
        standoff = rounded_up(layout, max(mount.spacing, deep + SPIGOT_ROOM - mount.lift))
        out = Advice(
            "leave the pilot out of the plate (pilot: opening: none): the plate then rests on its face, and dowels or "
            "the belt's pull must locate the part",
            (pilot_remedy(mount, "none"),),
        )
        lifted = Advice(
            "leave the pilot out of the plate (pilot: opening: none) and set the part on spacers "
            f"(standoff: {standoff:g}); then dowels or the belt's pull must locate it",
            (pilot_remedy(mount, "none"), Remedy(f"{mount.field}.standoff", standoff)),
        )
        on_it = all(math.dist(point, (mount.pose.x, mount.pose.y)) < mount.pilot / 2 for point in mount.points)
        advice, *others = (*ideas, out, lifted) if on_it else (*ideas, lifted)
        yield Finding(
            rule="pilot-over-bolts",
            level="stop",
            message=f"{pilot.name}: an opening of {say(layout, pilot.size)} cuts away {len(lost)} of its screw holes",
            features=(pilot.name, *(hole.name for _, hole in lost)),
            at=hole.center,
            found=gap,
            needed=web_needed(layout, pilot, hole),
            advice=advice,
            others=tuple(others),
        )


def recess(layout: Layout) -> Iterator[Finding]:
    """A bored recess that leaves too little of the plate (mm) under it."""
    for opening in layout.openings:
        if opening.depth is None:
            continue
        floor = layout.thickness - opening.depth
        if floor >= RECESS_FLOOR_LEAST:
            continue
        thicker = rounded_up(layout, opening.depth + RECESS_FLOOR_LEAST)
        yield Finding(
            rule="recess",
            level="stop",
            message=f"{opening.name}: a recess {say(layout, opening.depth)} deep leaves {say(layout, max(floor, 0.0))} "
            f"of the plate; {say(layout, RECESS_FLOOR_LEAST)} is needed",
            features=(opening.name,),
            at=opening.center,
            found=floor,
            needed=RECESS_FLOOR_LEAST,
            advice=Advice(f"take a plate {thicker:g} {layout.spec.unit} thick", (Remedy("plate.thickness", thicker),)),
            acceptable=floor > 0.0,
        )


# --------------------------------------------------------------------------------------------- process


def small_hole(layout: Layout) -> Iterator[Finding]:
    """Openings (mm) that the process cannot hold: stopped when they are to be cut, told when they are drilled."""
    smallest, process = layout.limits.smallest_hole.value, layout.cutting.process
    holds = f"{process} cuts holes well from {say(layout, smallest)} up in this plate"
    drilled: dict[str, list[Opening]] = {}
    for opening, operations in zip(layout.openings, operations_of(layout), strict=True):
        if opening.through and opening.size == 0 and operations.cut is not None:
            # a window of any shape has no one size: it is held at its narrowest, as a slot would be
            narrow = narrowest(opening.shape, smallest)
            if narrow is not None and narrow.width < smallest - SAME_LENGTH:
                yield Finding(
                    rule="small-hole",
                    level="warn",
                    message=f"{opening.name}: at its narrowest it is {say(layout, narrow.width)} wide; {holds}",
                    features=(opening.name,),
                    at=narrow.at,
                    found=narrow.width,
                    needed=smallest,
                    advice=Advice(
                        "make it wider there, cut it slowly on scrap first and gauge it, or drill its ends and mill "
                        "between them"
                    ),
                )
            continue
        if not opening.through or opening.size >= smallest - SAME_LENGTH:
            continue
        if operations.cut is None:
            # that a dowel's hole is reamed needs no word: no table cuts one
            if operations.drill is not None and opening.thread is None and opening.role != "dowel":
                drilled.setdefault(opening.mount or opening.name, []).append(opening)
            continue
        # A round hole can be drilled instead, so it is stopped; a slot cannot, and comes out somehow: a warning.
        round_one = isinstance(opening.shape, Disc)
        if round_one:
            edits = (Remedy(f"mounts.{opening.mount}.screws.made", "drill"),) if opening.mount else ()
            advice = Advice("have it marked and drilled (screws: made: drill)", edits)
        else:
            advice = Advice("cut it slowly on scrap first and gauge it, or drill its ends and mill between them")
        yield Finding(
            rule="small-hole",
            level="stop" if round_one else "warn",
            message=f"{opening.name}: its {'diameter' if round_one else 'width'} is {say(layout, opening.size)}; "
            f"{holds}",
            features=(opening.name,),
            at=opening.center,
            found=opening.size,
            needed=smallest,
            advice=advice,
        )
    for name, openings in drilled.items():
        size = openings[0].size
        yield Finding(
            rule="small-hole",
            level="note",
            message=f"{name}: {len(openings)} holes of {say(layout, size)} are marked and drilled, not cut; {holds}"
            if len(openings) > 1
            else f"{openings[0].name}: {say(layout, size)} is marked and drilled, not cut; {holds}",
            features=tuple(opening.name for opening in openings),
            at=openings[0].center,
            found=size,
            needed=smallest,
        )


def sharp_corner(layout: Layout) -> Iterator[Finding]:
    """Inside corners (radius, mm) that the process cannot follow, in openings and in the outline."""
    limit = layout.limits.inside_radius.value
    places = [("outline", "plate.outline", layout.outline, False)]
    places += [(o.name, o.field, o.shape, True) for o in layout.openings if o.through]
    for name, field, shape, opening in places:
        # What is sharp in the steel: a corner that bulges out of an opening, or one that the outline draws inwards.
        inside_corners: list[tuple[Point, float]] = []
        if isinstance(shape, Loop):
            inside_corners = shape.outside_corners() if opening else shape.inside_corners()
        sharp = [corner for corner in inside_corners if corner[1] < limit - SAME_LENGTH]
        if not sharp:
            continue
        at, radius = min(sharp, key=lambda corner: round(corner[1], 9))
        # the kinds of outline that have a key for rounding; a drawn one is mended in its drawing
        kind = None
        if name == "outline":
            kind = "plate.outline.polygon" if words_at(layout, "plate.outline.polygon") is not None else None
        else:
            cutout = words_at(layout, f"plate.cutouts.{name}")
            if cutout is not None and cutout.choice in ("rectangle", "polygon"):
                kind = f"{field}.{cutout.choice}"
        rounder = rounded_up(layout, limit)
        advice = Advice(f"round it: corner: {rounder:g}", (Remedy(f"{kind}.corner", rounder),) if kind else ())
        yield Finding(
            rule="sharp-corner",
            level="warn",
            message=f"{name}: {len(sharp)} inside corner{'s' if len(sharp) > 1 else ''} with a radius of "
            f"{say(layout, radius)}; the cut leaves {say(layout, limit)}, and a sharp one starts cracks",
            features=(name,),
            at=at,
            found=radius,
            needed=limit,
            advice=advice,
        )


def stock_size(layout: Layout) -> Iterator[Finding]:
    """A plate (mm) that the sheet does not hold, with the kerf round it and the pierce and lead beside it."""
    sheet = layout.cutting.sheet
    if sheet is None:
        return
    from platekit.cutting.paths import outside_path

    box = layout.outline.box
    path, kerf = outside_path(layout), layout.limits.kerf.value
    taken = box if path is None else box_round([box.grown(kerf), path.box.grown(kerf / 2)])
    # it may be turned on the sheet: long side goes with long side
    plate, stock = sorted((taken.width, taken.height)), sorted(sheet)
    over = max(plate[0] - stock[0], plate[1] - stock[1])
    if over <= SAME_LENGTH:
        return
    short = plate[0] - stock[0] > plate[1] - stock[1]
    found, needed = (plate[0], stock[0]) if short else (plate[1], stock[1])
    size = [rounded_up(layout, taken.width), rounded_up(layout, taken.height)]
    around = f"; with its kerf and the way in it takes {say(layout, taken.width)} x {say(layout, taken.height)}"
    yield Finding(
        rule="stock-size",
        level="stop",
        message=f"{layout.subject} is {say(layout, box.width)} x {say(layout, box.height)}"
        f"{around if path is not None else ''}; the sheet is "
        f"{say(layout, sheet[0])} x {say(layout, sheet[1])}",
        features=("outline",),
        at=box.center,
        found=found,
        needed=needed,
        advice=Advice(
            f"take a sheet of at least {size[0]:g} x {size[1]:g} {layout.spec.unit}, or a smaller outline",
            (Remedy("cutting.sheet", [size[0], size[1]]),),
        ),
    )


RULES = (
    Rule(
        "overlap",
        "two openings that run into each other",
        "no contact",
        "geometry",
        overlap,
        levels=("stop",),
        acceptable="both",
    ),
    Rule(
        "web",
        "too little steel between two openings",
        f"the process's web; {DRILLED_WEB_IN_THICKNESS:g} of the thickness, at least {DRILLED_WEB_LEAST:g} mm, "
        "where one of them is drilled",
        "process table, each row with its kind; drilled: from memory",
        web,
        levels=("stop",),
        keys=("limits.web", "cutting.process", "cutting.machine"),
    ),
    Rule(
        "edge",
        "an opening too close to the outside",
        f"{EDGE_IN_DIAMETERS:g} hole diameters from a screw hole's centre; the web for other openings",
        "common practice",
        edge,
        levels=("stop",),
        keys=("limits.edge", "limits.web"),
    ),
    Rule(
        "pilot-over-bolts",
        "a through opening for a pilot that swallows the screw holes",
        "no contact",
        "geometry",
        pilot_over_bolts,
        levels=("stop",),
        acceptable="both",
    ),
    Rule(
        "recess",
        "a recess that nearly goes through",
        f"{RECESS_FLOOR_LEAST:g} mm left",
        "from memory",
        recess,
        levels=("stop",),
    ),
    Rule(
        "small-hole",
        "an opening smaller than the process can hold",
        "the process's smallest hole",
        "process table, each row with its kind",
        small_hole,
        levels=("stop", "warn", "note"),
        keys=("limits.smallest_hole", "cutting.process", "cutting.machine"),
    ),
    Rule(
        "sharp-corner",
        "an inside corner sharper than the cut can follow",
        "half the kerf, at least the process's radius",
        "process table, each row with its kind",
        sharp_corner,
        levels=("warn",),
        keys=("limits.inside_radius", "cutting.kerf"),
    ),
    Rule(
        "stock-size",
        "a plate larger than the sheet, its kerf and its way in counted",
        "the spec's sheet",
        "no number of its own: the spec says it",
        stock_size,
        levels=("stop",),
        keys=("cutting.sheet",),
        acceptable="never",
    ),
)
