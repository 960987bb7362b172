"""What is asked of the room: the plate, what it bears on, what it carries and what pulls at that, out of a layout.

A question is plain values, so that the same plate asked again is answered from memory. What a layout does not say is
no assumption here: `missing` tells which figure is wanted.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.cutting.contours import cut_out
from platekit.errors import StrengthError
from platekit.geometry import Loop, Point, Pose, ends, pose_at
from platekit.geometry.plane import Spatial
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, CarriedMass, Layout, PlacedBelt, PlacedMount, PlacedPulley, PlacedRib, Side
from platekit.tables import belts
from platekit.tables.motor_frames import motor_mass
from platekit.tables.strengths import limit

GRAVITY: Final = 9806.65
"""Standard gravity, mm/s2 (published: ISO 80000-3)."""
YIELDING: Final = 0.2
"""Share of a half space's stiffness that a seat has at least (ours): seats are walls and ribs of castings, and their
faces do not touch everywhere. In trials the first frequency moved by a third between this share and the whole."""
SOFT: Final = 0.02
"""The same share for a frame of sheet or on rubber (ours)."""
STARTING_WITHOUT_END: Final = 5.0
"""A belt that would not slip before this many times the motor's greatest pull is not pulled harder (ours): no motor
starts with more than three times its rated torque, no inverter lets it."""


class Seat(Struct, frozen=True):
    """One screw where a part bears on the plate: its hole, its place, the ring between the two radii, mm."""

    hole: str
    center: Point
    inner: float
    outer: float

    @property
    def ring(self) -> tuple[Point, float, float]:
        """The ring itself (mm), whatever screw it belongs to."""
        return self.center, self.inner, self.outer


class Pull(Struct, frozen=True):
    """What a belt does to the shaft of a part, at one position of it: the pulley's middle `at`, forces in N.

    `towards` is the unit vector to the other pulley, `aside` square to it in the plane of the belt, `axis` along the
    shaft. `rest` pulls towards with a new belt standing; `along` towards and `across` aside under the motor's full
    torque; `turning` (N mm) is the pull times the pulley's radius. `slipping` is how many times that pull makes the
    belt slip. `centres` is the distance of the shafts, mm, and `bears` the share of it that the pulleys may be out of
    line.
    """

    belt: str
    at: Spatial
    towards: Spatial
    aside: Spatial
    axis: Spatial
    rest: float
    along: float
    across: float
    turning: float
    slipping: float
    centres: float
    bears: float


class Stand(Struct, frozen=True):
    """A carried part at one position of its travel (mm, or radians of a swing)."""

    travel: float
    seats: tuple[Seat, ...]
    center: Spatial
    pulls: tuple[Pull, ...]


class Part(Struct, frozen=True):
    """A part that bears on the plate: held to the ground (no `mass`) or carried (mass in kg, `lightest` to `mass`).

    `soft` and `stiff` bound how far its seat gives way: N/mm3 times mm, to be divided by a ring's size; `sideways` is
    the share of it in the plane. `spacer` is the stiffness of the spacers under it, N/mm3; infinite without.
    `size` (mm) is the block that it fills, None where nobody says; `turn` turns that in the plane (rad).
    `imbalance` is the mass that turns in it times its balance grade (kg mm/s), `spin` how fast that turns at most
    (rad/s; nil where no belt tells): it shakes with imbalance times spin.
    """

    name: str
    side: Side
    soft: float
    stiff: float
    sideways: float
    spacer: float
    mass: float
    lightest: float
    size: tuple[float, float, float] | None
    turn: float
    imbalance: float
    spin: float
    positions: tuple[Stand, ...]

    @property
    def masses(self) -> tuple[float, float]:
        """The least and the most of its mass, kg."""
        return self.lightest, self.mass


class Rib(Struct, frozen=True):
    """A flat bar welded on edge from `start` to `end` (plate frame, mm), on the near (1) or far (-1) side."""

    name: str
    start: Point
    end: Point
    height: float
    width: float
    sign: int


class Question(Struct, frozen=True):
    """The plate and all that bears on it; lengths mm, `down` a unit vector."""

    outer: Loop
    holes: tuple[Loop, ...]
    thickness: float
    modulus: float
    poisson: float
    density: float
    down: Spatial
    parts: tuple[Part, ...]
    ribs: tuple[Rib, ...] = ()

    @property
    def held(self) -> tuple[Part, ...]:
        """What the plate is held by."""
        return tuple(part for part in self.parts if not part.mass)

    @property
    def carried(self) -> tuple[Part, ...]:
        """What the plate carries."""
        return tuple(part for part in self.parts if part.mass)

    @property
    def weights(self) -> int:
        """How many ends the masses have: two where one of them is known as a range only."""
        return 2 if any(part.mass - part.lightest > SAME_LENGTH for part in self.parts) else 1

    @property
    def travels(self) -> int:
        """How many ends of travel there are: one where nothing travels."""
        return max(len(part.positions) for part in self.parts)


class Missing(Struct, frozen=True):
    """What keeps a plate from being worked out: of which mount (None: the plate), why, what to give."""

    mount: str | None
    why: str
    advice: str

    @property
    def field(self) -> str:
        """Where in the spec it is mended."""
        return "plate" if self.mount is None else f"mounts.{self.mount}"


def asked_for(layout: Layout) -> bool:
    """Whether a spec says what its plate carries: then strength is looked at."""
    return any(mount.mass is not None and is_part(mount) for mount in layout.mounts.values())


def is_part(mount: PlacedMount) -> bool:
    """Whether a mount is a part that the plate carries or hangs on, and neither a layer nor a lug."""
    return mount.layer is None and mount.lug_of is None


def missing(layout: Layout) -> tuple[Missing, ...]:
    """What must be known (mm, kg, size of screws) before a plate's strength can be worked out."""
    return tuple(_missing(layout))


def _missing(layout: Layout) -> Iterator[Missing]:
    if layout.twisted is not None:  # a plate judged without its pull would seem to hold what it may not
        why = f"the pull of the twisted belt of {layout.twisted.name} on it is not worked out"
        yield Missing(None, why, "have plate and belt judged by hand")
    held = layout.originals
    if layout.mounting is None:
        yield Missing(None, "nothing says which way is down", "give plate: mounting: upright, near up or far up")
    for name, mount in layout.mounts.items():
        if not is_part(mount):
            continue
        if name not in held and mount.mass is None:
            yield Missing(
                name,
                f"nothing says what {name} weighs",
                f"give mounts: {name}: mass: {{total: ... kg, centre: [0, 0, ...]}} from its rating plate or data sheet"
                f"{usually(mount)}",
            )
        if name in held and mount.mass is not None:
            yield Missing(name, f"{name} stays as it was and has a mass", "take its mass out, or say what is original")
        if mount.stack is None:
            yield Missing(name, f"nothing says what screws hold {name}", "give its `screws`")


def mechanism(question: Question) -> Missing | None:
    """The motion (turns in the plane, mm) that the screws leave free to the plate or to a part on it; None: all hold.

    A washer has a width and grips, so that a row of screws holds against tipping about its own line, and a slot against
    sliding along it; what the grip is worth is `slip`'s to judge. But round one axis nothing holds: a screw grips its
    part there on hardly any arm, and works loose.
    """
    if not question.held:
        return Missing(
            None, "nothing holds the plate: it can move any way; one mount has to stay as it was", "say which: original"
        )
    # all that holds the plate counts as one part: a screw in each of two mounts is two
    groups = [("the plate", question.held), *((part.name, (part,)) for part in question.carried)]
    for what, parts in groups:
        seats = [seat for part in parts for seat in part.positions[0].seats]
        if not seats:
            return Missing(
                parts[0].name,
                f"no screw holds {what}: it is free to slide, to turn and to lift off",
                "give its pattern at least two holes apart",
            )
        first = seats[0]
        if all(math.dist(seat.center, first.center) <= SAME_LENGTH for seat in seats):
            x, y = first.center
            names = ", ".join(seat.hole for seat in seats)
            which = f"only one screw holds {what} ({names})" if len(seats) == 1 else f"all that holds {what} ({names})"
            which += "" if len(seats) == 1 else " lies at one place"
            return Missing(
                parts[0].name,
                f"{which}: it is free to turn in its plane about ({x:.1f}, {y:.1f}) mm",
                "give it a second screw at another place",
            )
    return None


def usually(mount: PlacedMount) -> str:
    """What a standard motor weighs, as an addition to the advice to give its mass; nothing for other parts."""
    found = None if mount.standard is None else motor_mass(mount.standard)
    if found is None:
        return ""
    told = f"{found.least:g} kg" if found.least == found.most else f"{found.least:g} to {found.most:g} kg"
    return (
        f" (such motors of aluminium weigh {told}, those of cast iron more: {found.source.kind}; `total: frame` takes "
        "that range)"
    )


def question_of(layout: Layout) -> Question:
    """The question that a layout asks (mm, N/mm2, kg); only where nothing is `missing`.

    Of a plate in pieces the largest counts. Raises StrengthError where nothing is left.
    """
    # Every rule on what a plate bears begins with its question: told again for the very layouts that were asked last.
    for asked, told in tuple(_ASKED):
        if asked is layout:
            return told
    question = _question_of(layout)
    _ASKED.append((layout, question))
    return question


_ASKED: Final[deque[tuple[Layout, Question]]] = deque(maxlen=4)
"""Questions by their layouts, the last ones: a plate and the one that is tried beside it, of two users (ours)."""


def _question_of(layout: Layout) -> Question:
    held = layout.originals
    openings = [opening.shape for opening in layout.openings if opening.through]
    pieces, inside = cut_out(layout.plane, openings)
    # what falls out of a plate in pieces is scrap: its largest piece is the one that is mounted
    if not pieces:
        raise StrengthError("nothing is left of the plate")
    piece = max(pieces, key=lambda one: one.area)
    loops = tuple(one.shape.loop() for one in inside if piece.contains(one.shape.loop().edges[0].a))
    material = layout.material
    return Question(
        outer=piece.loop(),
        holes=loops,
        thickness=layout.thickness,
        modulus=material.modulus,
        poisson=0.3 if material.poisson is None else material.poisson,
        # Layers that only lie on the plate bend by themselves: as nothing tells how much of their stiffness is shared,
        # none is counted (the safe side), and what they weigh is spread over the plate; so is what a flange weighs.
        density=material.density * (layout.mass + _layers_mass(layout)) / (layout.mass - _flange_mass(layout)),
        down=_down(layout),
        parts=tuple(_part(layout, mount, mount.name in held) for mount in layout.mounts.values() if is_part(mount)),
        ribs=tuple(rib_of(rib) for rib in layout.ribs),
    )


def _flange_mass(layout: Layout) -> float:
    """What the blank weighs beyond where a flange begins, kg."""
    if layout.flange is None:
        return 0.0
    area = layout.outline.area - layout.plane.area
    return area * layout.thickness * layout.material.density * 1e-9


def _layers_mass(layout: Layout) -> float:
    """What all layers weigh, kg."""
    return sum(
        mount.mass.most for mount in layout.mounts.values() if mount.layer is not None and mount.mass is not None
    )


def rib_of(rib: PlacedRib) -> Rib:
    """A bar as the question has it."""
    return Rib(rib.name, rib.start, rib.end, rib.height, rib.width, 1 if rib.side == "near" else -1)


def thicker(question: Question, thickness: float) -> Question:
    """The same question of a plate of another thickness (mm): its faces, and all on them, are farther apart."""
    more = (thickness - question.thickness) / 2

    def moved(part: Part, position: Stand) -> Stand:
        off = more if part.side == "near" else -more
        x, y, z = position.center
        pulls = tuple(replace(pull, at=(pull.at[0], pull.at[1], pull.at[2] + off)) for pull in position.pulls)
        return replace(position, center=(x, y, z + off), pulls=pulls)

    parts = tuple(
        replace(part, positions=tuple(moved(part, position) for position in part.positions)) for part in question.parts
    )
    return replace(question, thickness=thickness, parts=parts)


def _down(layout: Layout) -> Spatial:
    if layout.mounting == "upright":
        return (-math.cos(layout.up), -math.sin(layout.up), 0.0)
    return (0.0, 0.0, -1.0 if layout.mounting == "near up" else 1.0)


# ------------------------------------------------------------------------------------------ parts


def _part(layout: Layout, mount: PlacedMount, held: bool) -> Part:
    soft, stiff, sideways = _seat_stiffness(mount.support)
    carried = None if held else mount.mass
    mass = 0.0 if carried is None else carried.most
    low, high = ends(mount.travel)
    travels = (0.0,) if held or high - low <= SAME_LENGTH else (low, high)
    return Part(
        name=mount.name,
        side=mount.side,
        soft=soft,
        stiff=stiff,
        sideways=sideways,
        # a spacer in pressure is a column: E / length for a unit of its area
        spacer=_spacer_modulus(mount) / mount.spacing if mount.spacing > SAME_LENGTH else math.inf,
        mass=mass,
        lightest=0.0 if carried is None else carried.least,
        size=_size(layout, mount) if mass else None,
        turn=mount.pose.turn,
        imbalance=0.0 if carried is None else (carried.turning or mass) * balance_of(carried),
        spin=_spin(layout, mount),
        positions=tuple(_position(layout, mount, travel) for travel in travels),
    )


def _spacer_modulus(mount: PlacedMount) -> float:
    """N/mm2: of what its spacers are cut from; steel where nobody says."""
    spacer = None if mount.stack is None else mount.stack.spacer
    return (tables.material("mild steel") if spacer is None else spacer.material).modulus


def balance_of(mass: CarriedMass) -> float:
    """The balance grade that counts for a part, mm/s: as given, else what the standard has for motors and machinery."""
    return limit("balance grade").figure if mass.balance is None else mass.balance


def _spin(layout: Layout, mount: PlacedMount) -> float:
    """How fast the fastest pulley of a mount turns at most, rad/s; nil where no speed is known."""
    found = [0.0]
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            if pulley.mount == mount.name:
                radius = pulley.pitch_diameter / 2
                found += [1000 * point.belt_speed_m_s / radius for point in belt.result.points]
    return max(found)


def _seat_stiffness(support: str | None) -> tuple[float, float, float]:
    """Bounds of p r / w of a disc that bears on a part, N/mm2, and the share of it in the plane.

    A rigid disc of radius r pressed by p on a half space sinks by w = pi p r (1 - nu^2) / 2 E; in the plane the same
    space gives way by a share 2 (1 - nu) / (2 - nu) as stiffly (K. L. Johnson, Contact Mechanics, 3.4 and 7.2).
    """

    def space(name: str) -> tuple[float, float]:
        row = tables.material(name)
        nu = row.poisson or 0.3
        return 2 * row.modulus / math.pi / (1 - nu**2), 2 * (1 - nu) / (2 - nu)

    # nobody said what it is: between the softest and the stiffest of the usual, steel and aluminium
    if support in (None, "soft"):
        stiff, sideways = space("mild steel" if support is None else "cast iron")
        soft = space("6061-T6")[0]
        return (YIELDING * soft, stiff, sideways) if support is None else (SOFT * stiff, YIELDING * stiff, sideways)
    stiff, sideways = space({"steel": "mild steel", "cast iron": "cast iron", "aluminium": "6061-T6"}[str(support)])
    return YIELDING * stiff, stiff, sideways


def _size(layout: Layout, mount: PlacedMount) -> tuple[float, float, float] | None:
    """The block that a part about fills, in its own frame: as given, else the extent of its bodies."""
    if mount.mass is not None and mount.mass.size is not None:
        return mount.mass.size
    bodies = [b for b in layout.bodies if b.carrier == mount.name and b.kind in ("given", "standard")]
    if not bodies:
        return None
    back = mount.pose.inverse()
    boxes = [body.shape.moved(back).box for body in bodies]
    return (
        max(box.x1 for box in boxes) - min(box.x0 for box in boxes),
        max(box.y1 for box in boxes) - min(box.y0 for box in boxes),
        max(body.z[1] for body in bodies) - min(body.z[0] for body in bodies),
    )


def _position(layout: Layout, mount: PlacedMount, travel: float) -> Stand:
    moved = pose_at(mount.travel, travel)
    x, y, height = (0.0, 0.0, 0.0) if mount.mass is None else mount.mass.centre
    z = z_range(mount.side, (height, height), layout.thickness, mount.standoff)[0]
    return Stand(
        travel=travel,
        seats=tuple(_seats(layout, mount, moved)),
        # heights count from the middle plane here, as those of the elements do; in a layout the near face is at nil
        center=(*moved.point(mount.pose.point((x, y))), z + layout.thickness / 2),
        pulls=tuple(_pulls(layout, mount, moved)),
    )


def _seats(layout: Layout, mount: PlacedMount, moved: Pose) -> Iterator[Seat]:
    stack = mount.stack
    assert stack is not None
    screw = tables.screw(stack.size)
    # the ring under a screw reaches from the hole's edge to the widest of washer and head; a head that nobody
    # dimensioned is 1.5 diameters, and a ring is never thinner than a tenth of one
    head = screw.hex_across_flats if stack.head == "hex" else screw.socket_head_diameter
    bears = max(stack.washer_outer, head or 0.0, 1.5 * screw.diameter) / 2
    holes = {opening.name: opening.size for opening in layout.openings}
    for name, point in zip(mount.hole_names, mount.points, strict=True):
        inner = holes.get(name, mount.hole) / 2
        yield Seat(name, moved.point(point), inner, max(bears, inner + 0.1 * screw.diameter))


def _pulls(layout: Layout, mount: PlacedMount, moved: Pose) -> Iterator[Pull]:
    for belt in layout.belts:
        for mine, other, sign in ((belt.driver, belt.driven, 1.0), (belt.driven, belt.driver, -1.0)):
            if mine.mount == mount.name and belt.result.forces is not None and not belt.idlers:
                yield _pull(belt, mine, other, moved, sign, layout.thickness)


def _pull(
    belt: PlacedBelt, mine: PlacedPulley, other: PlacedPulley, moved: Pose, sign: float, thickness: float
) -> Pull:
    """What a belt does to one of its shafts; the other one feels the same the other way."""
    forces, plane = belt.result.forces, belt.drawn
    assert forces is not None
    # the part travels and its pulley with it, the other pulley stays: the pull follows
    x, y, z = plane.spot(mine.center, mine.plane)
    x, y = moved.point((x, y))
    (across, up), _ = plane.flat((x, y, z))
    away = (other.center[0] - across, other.center[1] - up)
    far = math.hypot(*away) or 1.0
    towards = plane.spot((away[0] / far, away[1] / far), 0.0)
    request = belt.request.belt
    family = belts.section(request.section).family if request is not None else "classical V"
    return Pull(
        belt=belt.name,
        at=(x, y, z + thickness / 2),
        towards=towards,
        aside=plane.spot((-away[1] / far, away[0] / far), 0.0),
        axis=plane.n,
        rest=forces.driver_new.along,
        along=forces.driver_running.along,
        across=sign * forces.driver_running.across,
        turning=forces.running.pull * mine.pitch_diameter / 2,
        slipping=min(max(forces.slip_margin, 1.0), STARTING_WITHOUT_END),
        centres=far,
        bears=belts.family_figures(family).misalignment,
    )


def without_forces(layout: Layout, names: Sequence[str]) -> tuple[PlacedBelt, ...]:
    """Belts on carried parts whose pull is not known: no motor is given, or idlers turn its direction."""
    return tuple(
        belt
        for belt in layout.belts
        if {belt.driver.mount, belt.driven.mount} & set(names) and (belt.result.forces is None or belt.idlers)
    )
