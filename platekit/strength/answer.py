"""The answer to a question: stresses, movements, what each screw takes, and natural frequencies, between two bounds.

The seats that the plate bears on give way by an unknown amount, which moves every figure more than the mesh does; so
all is worked out twice, with the softest and the stiffest seat, and a figure is the worse of the two or a range.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.errors import StrengthError
from platekit.geometry import Loop, Point
from platekit.geometry.plane import Spatial
from platekit.strength.element import IN_PLANE, UNKNOWNS, Plate, Steel
from platekit.strength.joined import Gripped, Joined, Loose, Movements, OnRib, OnRing
from platekit.strength.mesh import Floats, Mesh, Spot, mesh
from platekit.strength.question import GRAVITY, Part, Pull, Question, Rib, Seat, Stand, mechanism
from platekit.strength.ribs import stations, welded
from platekit.strength.rings import Ring, gripped, rigid_mass, wrench
from platekit.strength.stresses import AlongEdges, AtNodes, along_edges, at_hole, at_nodes
from platekit.strength.threads import on_one_thread
from platekit.tables.strengths import PULLED, bent, limit

Ground = Literal["soft", "stiff"]
GROUNDS: Final[tuple[Ground, Ground]] = ("soft", "stiff")

ACROSS_PLATE: Final = 16
"""Triangles at least along the side of a square of the plate's area (ours): sag and frequencies move by 0.2 % to 40."""
LARGEST: Final = 16.0
"""No side of a triangle is wanted shorter than this but for what is small, mm (ours)."""
PER_TURN: Final = 16
"""Pieces round a hole (ours): stresses at its edge lie within 5 % then, with 24 within 1.5 %."""
GROWTH: Final = 0.5
"""How fast triangles may grow away from what is small, mm a mm (ours): beyond washers and edges little happens."""
MANY: Final = 100
"""Openings up to which all are followed finely (ours); beyond, those far from every screw only where they matter."""
NEAR: Final = 3.0
"""Openings nearer to a screw than this many radii of its washer are followed finely (ours)."""
MODES: Final = 3
"""Natural frequencies that are worked out: higher ones shake little (ours)."""


LIKE: Final = 1e-5
"""Stresses that differ by less than this share are the same (ours)."""


class AtScrew(Struct, frozen=True):
    """What one screw takes, N: `pull` along it, off the plate; `shear` across it."""

    hole: str
    mount: str
    at: Point
    pull: float
    shear: float


class ShaftSag(Struct, frozen=True):
    """How a pulley moves from where it was set, mm, `axial` of that along its shaft, which tilts by `tilt` rad.

    `centres` is the distance of the shafts, `bears` the share of it that the pulleys may be out of line.
    """

    belt: str
    mount: str
    moved: Spatial
    axial: float
    tilt: float
    centres: float
    bears: float


class State(Struct, frozen=True):
    """The plate in one case: what pulls, where on its travel, on which ground; stress in N/mm2, lengths in mm.

    `stress` is the highest at the open edges and in the plate beyond the washers, or of what the edge of a hole has
    under its washer, by the mean stress there times the factor of a hole, or at the free edge of a rib; it is at `at`,
    and `where` says in words what is there.
    `sag` is how far the plate
    bends at most. `load` is "light" or "heavy" where a mass is known as a range only, `position` likewise where a part
    travels. All is with what an imbalance adds while it runs.
    """

    case: str
    load: str
    position: str
    ground: Ground
    stress: float
    at: Point
    where: str
    sag: float
    screws: tuple[AtScrew, ...]
    shafts: tuple[ShaftSag, ...]

    @property
    def said(self) -> str:
        """Which case it is, in words."""
        words = (
            self.case if not self.load else f"{self.case}, with the {'least' if self.load == 'light' else 'most'} mass"
        )
        return f"{words}, at the {self.position} end of the travel" if self.position else words


class WeldSwing(Struct, frozen=True):
    """How far the stress along a rib swings in the plate at the end of its weld, N/mm2; the rib's length in mm."""

    rib: str
    length: float
    at: Point
    swing: float


class Answer(Struct, frozen=True):
    """All states of a plate; `swing` is how far the stress at an open edge swings from standing to starting, N/mm2."""

    states: tuple[State, ...]
    swing: float
    swing_at: Point
    triangles: int
    welds: tuple[WeldSwing, ...] = ()

    @property
    def worst(self) -> State:
        """The state with the highest stress (N/mm2)."""
        return max(self.states, key=lambda state: state.stress)

    def at_screw(self, hole: str) -> tuple[AtScrew, ...]:
        """What one screw takes (N), in every state."""
        return tuple(one for state in self.states for one in state.screws if one.hole == hole)


class Case(Struct, frozen=True):
    """What the belts do: how much of the pull at rest, of the running pull, of its turning; whether all turns fast."""

    name: str
    rest: float
    along: float
    across: float
    turns: bool = False


STANDING = Case("belt standing, new", 1.0, 0.0, 0.0)
CASES: Final = (
    STANDING,
    Case("running", 0.0, 1.0, 1.0, turns=True),
    Case("running the other way", 0.0, 1.0, -1.0, turns=True),
    Case("starting", 0.0, 1.0, math.inf),
    Case("starting the other way", 0.0, 1.0, -math.inf),
)
"""Which way a motor turns is not in the spec, so both are looked at; an infinite pull is until the belt slips."""
HANGING = Case("weight only", 0.0, 0.0, 0.0)


@lru_cache(maxsize=4)  # some 50 MB each, with what the elements work out of it
def _meshed(
    outer: Loop, holes: tuple[Loop, ...], spots: tuple[Spot, ...], largest: float, coarse: frozenset[int]
) -> Mesh:
    return mesh(outer, holes, largest, PER_TURN, spots=spots, growth=GROWTH, coarse=coarse)


def answer_to(question: Question) -> Answer:
    """The answer to a question (mm, N, N/mm2); raises StrengthError where the plate cannot be worked out."""
    found = _answer_or_error(question)
    if isinstance(found, StrengthError):
        raise found
    return found


@lru_cache(maxsize=24)
@on_one_thread()
def _answer_or_error(question: Question) -> Answer | StrengthError:
    """The answer, or why there is none: every rule asks for it, and finding that out may take as long."""
    try:
        return _answer_of(factored_plate(question))
    except StrengthError as error:
        return error


def _answer_of(plate: Worked) -> Answer:
    """Every state of a plate, and how far the stress swings."""
    question = plate.question
    states: list[State] = []
    swing, swing_at = 0.0, (0.0, 0.0)
    welds: dict[tuple[str, Point], WeldSwing] = {}
    for ground in GROUNDS:
        for number in range(question.travels):
            standing = plate.standing(ground, number)
            columns = range(len(standing.columns))
            states += [standing.state(column) for column in columns]
            for column in columns:
                found, at = standing.swing(column)
                if found > swing:
                    swing, swing_at = found, at
                for rib, end, most in standing.weld_swing(column):
                    if (rib.name, end) not in welds or most > welds[rib.name, end].swing:
                        welds[rib.name, end] = WeldSwing(rib.name, math.dist(rib.start, rib.end), end, most)
    return Answer(tuple(states), swing, swing_at, len(plate.plate.mesh.triangles), tuple(welds.values()))


@lru_cache(maxsize=24)
@on_one_thread()
def frequencies(question: Question) -> tuple[tuple[float, float], ...] | None:
    """The lowest natural frequencies, Hz, each from the least to the most of all seats, masses and ends of travel.

    None where they are not known: where a part's size is not, or the search for them does not settle.
    """
    if any(part.size is None for part in question.carried):
        return None
    try:
        found = [standing.modes(end)[0] for standing, end in _all_modes(question)]
    except StrengthError:
        return None
    # a softer seat lowers a frequency and an end of travel moves it either way: the range over all is what is known
    return tuple((float(min(each)), float(max(each))) for each in zip(*found, strict=True))


@lru_cache(maxsize=24)
@on_one_thread()
def shaken(question: Question) -> tuple[float, ...] | None:
    """How far the imbalance swings a carried part at each natural frequency, mm to either side: the most of all states.

    As of one mass on a spring with the damping of bolted steelwork: the force times the mode's own flexibility there
    over twice the damping (S. S. Rao, Mechanical Vibrations, rotating unbalance). None as `frequencies`.
    """
    rings = frequencies(question)
    if rings is None:
        return None
    damping = limit("damping").figure
    most = [0.0] * len(rings)
    for standing, end in _all_modes(question):
        found, shapes = standing.modes(end)
        for index, part in enumerate(question.carried):
            pulls = standing.places[part.name].pulls
            if not pulls:
                continue
            moves = shapes.parts[6 * index : 6 * index + 3]
            axis = np.array(pulls[0].axis)
            across = moves - axis[:, None] * (axis @ moves)
            # shapes are scaled to a unit of twice the energy, so that the square of a movement is its flexibility
            flexible = (across**2).sum(0)
            forces = part.imbalance / 1000 * 2 * math.pi * found
            for mode, far in enumerate(forces * flexible / 2 / damping):
                most[mode] = max(most[mode], float(far))
    return tuple(most)


def _all_modes(question: Question) -> list[tuple[Standing, int]]:
    """Every state in which the plate may swing, and the end of the masses in it."""
    plate = factored_plate(question)
    places = [plate.standing(ground, number) for ground in GROUNDS for number in range(question.travels)]
    return [(standing, end) for standing in places for end in range(question.weights)]


@on_one_thread()
def with_one_more(question: Question, state: State, seats: Sequence[Seat]) -> list[State]:
    """The state with one more screw into what holds the plate, for each of these seats in turn.

    The plate has no hole there yet: what is told is how the screw helps, not the stress round it.
    """
    plate = _with_spare(question, tuple(seats))
    number = 1 if state.position == "tight" else 0
    return [Standing(plate, state.ground, number, seat, (state.case, state.load)).state(0) for seat in seats]


@lru_cache(maxsize=1)
def _with_spare(question: Question, seats: tuple[Seat, ...]) -> Worked:
    return Worked(question, seats, _coarse(question))


@lru_cache(maxsize=2)  # a plate and the one that is tried beside it: up to 200 MB each
def factored_plate(question: Question) -> Worked:
    """The plate of a question, ready for all that may be asked of it; the last few are kept."""
    return Worked(question, coarse=_coarse(question))


@lru_cache(maxsize=24)
def _coarse(question: Question) -> frozenset[int]:
    """The openings whose edges need no fine triangles: far from every screw, and not where the stress is highest.

    Where that is, a plate with all of them coarse tells well enough.
    """
    if len(question.holes) <= MANY:
        return frozenset()
    rings = [seat.ring for part in question.parts for stand in part.positions for seat in stand.seats]
    centers, outer = np.array([ring[0] for ring in rings]), np.array([ring[2] for ring in rings])

    def is_far(hole: Loop) -> bool:
        box = hole.box
        off = np.maximum(np.abs(centers - box.center) - [box.width / 2, box.height / 2], 0.0)
        return bool((np.hypot(*off.T) > NEAR * outer).all())

    far = frozenset(number for number, hole in enumerate(question.holes) if is_far(hole))
    answer = _answer_of(Worked(question, coarse=far))

    def is_met(hole: Loop) -> bool:
        box = hole.box
        return any(
            abs(at[0] - box.center[0]) <= box.width / 2 + 1.0 and abs(at[1] - box.center[1]) <= box.height / 2 + 1.0
            for at in (answer.worst.at, answer.swing_at)
        )

    return frozenset(number for number in far if not is_met(question.holes[number]))


class _Bearing(Struct, frozen=True):
    """A plate with the rings that may bear on it, without what rests or pulls there: what is meshed and factored."""

    outer: Loop
    holes: tuple[Loop, ...]
    thickness: float
    steel: Steel
    rings: tuple[Ring, ...]
    coarse: frozenset[int]


@lru_cache(maxsize=2)
def _factored(bearing: _Bearing) -> Gripped:
    """The plate meshed, factored, and the answer of every ring on it; kept for as long as only loads change."""
    if len(bearing.holes) > MANY:  # such a factor fills memory: no two of them at once
        _factored.cache_clear()
        factored_plate.cache_clear()
    largest = max(LARGEST, math.sqrt(bearing.outer.area) / ACROSS_PLATE)
    # triangles are fine under every washer at every end of travel, so one mesh serves all states; sorted, since the
    # order of points decides which mesh comes out where several are as good
    spots = tuple(
        Spot(ring.center, ring.outer, max((ring.outer - ring.inner) * 0.8, 1.0))
        for ring in sorted(bearing.rings, key=lambda ring: (ring.center, ring.outer))
    )
    made = _meshed(bearing.outer, bearing.holes, spots, largest, bearing.coarse)
    plate = Plate(made, bearing.thickness, bearing.steel)
    return Gripped(Loose(plate), [gripped(plate, ring) for ring in bearing.rings])


def _at(part: Part, number: int) -> Stand:
    return part.positions[min(number, len(part.positions) - 1)]


def _ring(part: Part, seat: Seat, thickness: float, ground: Ground) -> Ring:
    """The springs between a part and the face that bears on it; spacers give way behind them."""
    space = (part.soft if ground == "soft" else part.stiff) / seat.outer
    face = thickness / 2 if part.side == "near" else -thickness / 2
    along, across = (1 / (1 / (space * share) + 1 / part.spacer) for share in (1.0, part.sideways))
    return Ring(seat.center, seat.inner, seat.outer, face, along, across)


class Worked:
    """A question with its plate meshed and factored, and every ring's answer: all states come from it cheaply."""

    def __init__(self, question: Question, spare: Sequence[Seat] = (), coarse: frozenset[int] = frozenset()) -> None:
        # statics first: what turns about one screw no mesh makes hold
        loose = mechanism(question)
        if loose is not None:
            raise StrengthError(f"{loose.why}; {loose.advice}")
        self.question = question
        seats = dict.fromkeys(seat.ring for part in question.parts for stand in part.positions for seat in stand.seats)
        seats |= dict.fromkeys(ring for rib in question.ribs for ring in stations(rib))
        self._grips = {ring: number for number, ring in enumerate((*seats, *(seat.ring for seat in spare)))}
        # what a ring feels hangs neither on its height nor on its springs: those of a load or a ground come later
        bearing = _Bearing(
            outer=question.outer,
            holes=question.holes,
            thickness=question.thickness,
            # kg/m3 to t/mm3: with N and mm the mass has to be in tonnes
            steel=Steel(question.modulus, question.poisson, question.density * 1e-12),
            rings=tuple(Ring(*ring, z=0.0, along=1.0, across=1.0) for ring in seats),
            coarse=coarse,
        )
        self.gripped = _factored(bearing)
        self.plate = self.gripped.loose.plate
        if spare:
            more = [gripped(self.plate, Ring(*seat.ring, z=0.0, along=1.0, across=1.0)) for seat in spare]
            self.gripped = Gripped(self.gripped.loose, [*self.gripped.grips, *more])
        self.ribs = tuple(self._on_plate(rib) for rib in question.ribs)
        self._standing: dict[tuple[Ground, int], Standing] = {}

    def _on_plate(self, rib: Rib) -> OnRib:
        question, where = self.question, stations(rib)
        numbers = tuple(self._grips[ring] for ring in where)
        grips = [self.gripped.grips[number] for number in numbers]
        bar = welded(rib, question.thickness, question.modulus, question.poisson, grips)
        mass = math.dist(rib.start, rib.end) * rib.height * rib.width * question.density * 1e-12
        return OnRib(numbers, bar, mass / len(numbers))

    def standing(self, ground: Ground, number: int) -> Standing:
        """The plate on one ground, its parts at the end `number` of their travel."""
        if (ground, number) not in self._standing:
            self._standing[ground, number] = Standing(self, ground, number)
        return self._standing[ground, number]

    def fields(self, state: State) -> tuple[Floats, Floats]:
        """At every node in a state: equivalent stress at the worse face, N/mm2, and movement out of the plane, mm."""
        standing = self.standing(state.ground, 1 if state.position == "tight" else 0)
        column = [(column.case.name, column.load) for column in standing.columns].index((state.case, state.load))
        return standing.at_nodes(column)

    def grip(self, seat: Seat) -> int:
        """The number of a seat's ring."""
        return self._grips[seat.ring]


class RightSide(Struct, frozen=True):
    """One right side: a case with the light (0) or the heavy end (1) of the masses; only one where they are known."""

    case: Case
    end: int
    load: str


class Standing:
    """The plate with every part at one position on one ground, answered for every case."""

    def __init__(
        self, worked: Worked, ground: Ground, number: int, more: Seat | None = None, only: tuple[str, str] | None = None
    ) -> None:
        question = worked.question
        self.question, self.plate, self.ground = question, worked.plate, ground
        # not the whole of `worked`, which keeps its standings: in a ring of references hundreds of MB would wait for
        # the collector
        self._gripped, self._ribs = worked.gripped, worked.ribs
        self.places = {part.name: _at(part, number) for part in question.parts}
        self.position = "" if question.travels == 1 else ("loose", "tight")[number]
        carried = [part.name for part in question.carried]
        self.seats = [(part, seat) for part in question.parts for seat in self.places[part.name].seats]
        if more is not None:
            self.seats.append((question.held[0], more))
        self._numbers = [worked.grip(seat) for _, seat in self.seats]
        rings = [
            OnRing(
                worked.grip(seat),
                _ring(part, seat, question.thickness, ground),
                carried.index(part.name) if part.mass else None,
            )
            for part, seat in self.seats
        ]
        # each part turns about its centre of mass, where its weight has no moment
        self.joined = Joined(worked.gripped, rings, [self.places[name].center for name in carried], worked.ribs)
        pulled = any(self.places[name].pulls for name in carried)
        loads = ("light", "heavy") if question.weights == 2 else ("",)
        self.columns = [
            RightSide(case, end, load) for end, load in enumerate(loads) for case in (CASES if pulled else (HANGING,))
        ]
        if only is not None:
            self.columns = [column for column in self.columns if (column.case.name, column.load) == only]
        self.shakes = any(part.imbalance * part.spin > 0 and self.places[part.name].pulls for part in question.carried)
        self._modes: dict[int, tuple[Floats, Movements]] = {}
        moved, self._forces = self.joined.moved(*self._loads())
        self._bars = [
            (rib, on_plate.bar.edge @ self.joined.stations(on_plate, moved))
            for rib, on_plate in zip(question.ribs, worked.ribs, strict=True)
        ]
        self._parts, self._nodes = moved.parts, moved.nodes

    @cached_property
    def _inside(self) -> AtNodes:
        return at_nodes(self.plate, self._nodes)

    @cached_property
    def edges(self) -> AlongEdges:
        """The stress along every edge (N/mm2), a column for each case, then those of the imbalance."""
        return along_edges(self.plate, self._nodes)

    @cached_property
    def _free(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Which places along the edges, and which nodes within the plate, no washer covers."""
        mesh = self.plate.mesh
        nodes = self._beyond_washers(mesh.nodes)
        nodes[np.unique(np.vstack(mesh.edges))] = False  # told better by the edges themselves
        return self._beyond_washers(self.edges.where), nodes

    def _loads(self) -> tuple[Floats, Floats, Floats]:
        """The plate's own weight, and what weighs and pulls at its parts: a column for each case.

        Where something turns there are two more: its imbalance along the belt and aside, a quarter of a turn apart.
        """
        question, count = self.question, len(self.columns)
        whole = count + (2 if self.shakes else 0)
        weight = np.zeros(UNKNOWNS)
        weight[:3] = np.array(question.down) * question.density * 1e-12 * GRAVITY * question.thickness
        own = self.plate.spread(weight).reshape(-1, UNKNOWNS)
        plane, off = (np.repeat(half.reshape(-1, 1), whole, 1) for half in (own[:, :IN_PLANE], own[:, IN_PLANE:]))
        for lump, flat, lift in self.joined.lumps():
            plane += lump * GRAVITY * (flat.T @ np.array(question.down[:2]))[:, None]
            off += lump * GRAVITY * question.down[2] * lift.toarray().T
        plane[:, count:] = off[:, count:] = 0.0
        on_parts = np.zeros((6 * len(question.carried), whole))
        for index, part in enumerate(question.carried):
            here = self.places[part.name]
            rows = np.s_[6 * index : 6 * index + 6]
            hanging = wrench([one * GRAVITY / 1000 for one in question.down], here.center, here.center)
            for number, column in enumerate(self.columns):
                pulls = [_wrench(pull, column.case, here.center) for pull in here.pulls]
                mass = part.masses[column.end] if column.load else part.mass
                on_parts[rows, number] = mass * hanging + sum(pulls, np.zeros(6))
            if self.shakes and here.pulls:
                force = part.imbalance / 1000 * part.spin
                for number, way in enumerate((here.pulls[0].towards, here.pulls[0].aside)):
                    on_parts[rows, count + number] = wrench(force * np.array(way), here.center, here.center)
        return plane, off, on_parts

    def _shaking(self, column: int | None, values: Floats) -> Floats:
        """What the imbalance adds at most to figures that go with the loads (last axis the columns), without sign.

        It turns: of two figures a quarter of a turn apart the most that comes in a turn is the root of their squares.
        """
        if not self.shakes or (column is not None and not self.columns[column].case.turns):
            return np.zeros(values.shape[:-1])
        most: Floats = np.sqrt(values[..., -2] ** 2 + values[..., -1] ** 2)
        return most

    def state(self, column: int) -> State:
        """What one case does."""
        edges, inside = self.edges.worst, self._inside.worst
        stress, at = self._highest(
            edges[:, column] + self._shaking(column, edges), inside[:, column] + self._shaking(column, inside)
        )
        under = "near"
        middle, bending = self._under_washers
        for number, (_, seat) in enumerate(self.seats):
            found = self._at_hole(number, middle[number], bending[number], column)
            if seat.inner > 0 and found > stress * (1 + LIKE):
                stress, at, under = found, seat.center, f"under the washer of {seat.hole} at"
        for rib, edge in self._bars:
            each = np.abs(edge[:, column]) + self._shaking(column, edge)
            if float(each.max()) > stress * (1 + LIKE):
                share = (int(np.argmax(each)) + 1) / (len(each) + 1)
                (ax, ay), (bx, by) = rib.start, rib.end
                at = (ax + share * (bx - ax), ay + share * (by - ay))
                stress, under = float(each.max()), f"at the free edge of {rib.name} near"
        sags = self._nodes[2::UNKNOWNS]
        return State(
            case=self.columns[column].case.name,
            load=self.columns[column].load,
            position=self.position,
            ground=self.ground,
            stress=stress,
            at=at,
            where=under,
            sag=float((np.abs(sags[:, column]) + self._shaking(column, sags)).max()),
            screws=tuple(self._screws(column)),
            shafts=tuple(self._shafts(column)),
        )

    def at_nodes(self, column: int) -> tuple[Floats, Floats]:
        """Equivalent stress at the worse face, N/mm2, and how far each node moves out of the plane, mm."""
        inside, sags = self._inside.worst, self._nodes[2::UNKNOWNS]
        return (
            inside[:, column] + self._shaking(column, inside),
            np.abs(sags[:, column]) + self._shaking(column, sags),
        )

    def swing(self, column: int) -> tuple[float, Point]:
        """How far the stress at the open edges swings (N/mm2) on the way to this column, and where most (mm).

        At a start from the belt standing still; while it turns from one side of its imbalance to the other.
        """
        edges, here = self.edges, self.columns[column]
        if here.case.turns:
            shaking = self._shaking(column, edges.middle) + self._shaking(column, edges.bending)
            return self._under_or(self._highest(2 * shaking, None), column, None)
        before = next(number for number, one in enumerate(self.columns) if one.load == here.load)
        # the two swings may peak on opposite faces: their sum is the most that either face can see
        worst = np.abs(edges.middle[:, column] - edges.middle[:, before])
        worst += np.abs(edges.bending[:, column] - edges.bending[:, before])
        return self._under_or(self._highest(worst, None), column, before)

    def _under_or(self, open_edge: tuple[float, Point], column: int, before: int | None) -> tuple[float, Point]:
        """The swing at an open edge, or where that is more at the edge of a hole under its washer."""
        most, at = open_edge
        for number, (_, seat) in enumerate(self.seats):
            middle, bending = (field[number] for field in self._under_washers)
            factor = bent(2 * seat.inner / self.question.thickness)
            if before is None:
                found = 2 * float(self._shaking(column, at_hole(middle, bending, PULLED, factor)))
            else:
                apart = [field[:, column : column + 1] - field[:, before : before + 1] for field in (middle, bending)]
                found = float(at_hole(apart[0], apart[1], PULLED, factor)[0])
            if seat.inner > 0 and found > most * (1 + LIKE):
                most, at = found, seat.center
        return most, at

    @cached_property
    def _under_washers(self) -> tuple[Floats, Floats]:
        """The mean stress under each washer, in the middle plane and what bending adds: (seats, 3, columns), N/mm2.

        What the springs of a seat make of the plate under it is no truth at a point: its mean is.
        """
        means = [self._gripped.grips[number].mean for number in self._numbers]
        count = len(self.plate.mesh.nodes)
        middle, bending = (
            np.stack([(mean @ field.reshape(count, -1)).reshape(3, -1) for mean in means])
            for field in (self._inside.middle, self._inside.bending)
        )
        return middle, bending

    def _at_hole(self, number: int, middle: Floats, bending: Floats, column: int) -> float:
        """The stress at the edge of a hole under its washer in one column, N/mm2."""
        _, seat = self.seats[number]
        factor = bent(2 * seat.inner / self.question.thickness)
        each = at_hole(middle, bending, PULLED, factor)
        return float(each[column] + self._shaking(column, each))

    def weld_swing(self, column: int) -> Iterator[tuple[Rib, Point, float]]:
        """How far the stress along each bar swings in the face of the plate at its two ends (N/mm2), to this column.

        It is the mean over the bar's last station, without what the end itself adds: that is in the weld's class.
        """
        here = self.columns[column]
        before = next(number for number, one in enumerate(self.columns) if one.load == here.load)
        count, grips = len(self.plate.mesh.nodes), self._gripped.grips
        for rib, on_plate in zip(self.question.ribs, self._ribs, strict=True):
            (ax, ay), (bx, by) = rib.start, rib.end
            length = math.dist(rib.start, rib.end)
            x, y = (bx - ax) / length, (by - ay) / length
            along = np.array([x * x, y * y, 2 * x * y])
            for number in (on_plate.grips[0], on_plate.grips[-1]):
                face = self._inside.middle + rib.sign * self._inside.bending
                mean = (grips[number].mean @ face.reshape(count, -1)).reshape(3, -1)
                stress = along @ mean
                shaking = 2 * float(self._shaking(column, stress))
                swing = shaking if here.case.turns else abs(float(stress[column] - stress[before]))
                yield rib, grips[number].center, swing

    def _highest(self, at_edges: Floats, inside: Floats | None) -> tuple[float, Point]:
        """The highest stress at the edges and at the nodes beyond the washers: below these a peak is an artefact."""
        on_edges, on_nodes = self._free
        where, stress = self.edges.where[on_edges], at_edges[on_edges]
        if inside is not None:
            where = np.vstack([where, self.plate.mesh.nodes[on_nodes]])
            stress = np.concatenate([stress, inside[on_nodes]])
        if not len(stress):
            return 0.0, self.seats[0][1].center
        highest = float(stress.max())
        # a symmetric plate has several such places: the lowest and leftmost of them, whatever the last digits say
        alike = np.round(where[stress >= highest * (1 - LIKE)], 3)
        x, y = min(map(tuple, alike.tolist()), key=lambda at: (at[1], at[0]))
        return highest, (x, y)

    def _beyond_washers(self, where: Floats) -> NDArray[np.bool_]:
        free = np.ones(len(where), dtype=bool)
        for _, seat in self.seats:
            free &= np.hypot(where[:, 0] - seat.center[0], where[:, 1] - seat.center[1]) >= seat.outer
        return free

    def _screws(self, column: int) -> Iterator[AtScrew]:
        for number, (part, seat) in enumerate(self.seats):
            forces = self.joined.on_ring(number, self._forces, self.places[part.name].center)
            shaking = self._shaking(column, forces)
            # forces are on the plate: a part on the near face that is pulled off draws the plate up the normal after
            # it, one on the far face down
            off = 1.0 if part.side == "near" else -1.0
            pull = off * float(forces[2, column]) + float(shaking[2])
            shear = math.hypot(*(float(one) for one in forces[:2, column]))
            shear += math.hypot(float(shaking[0]), float(shaking[1]))
            yield AtScrew(seat.hole, part.name, seat.center, pull, shear)

    def _shafts(self, column: int) -> Iterator[ShaftSag]:
        for index, part in enumerate(self.question.carried):
            here = self.places[part.name]
            six = self._parts[6 * index : 6 * index + 6, column]
            for pull in here.pulls:
                # a rigid part: the pulley moves as its centre of mass does, and by the turn over the arm between them
                arm, axis = np.array(pull.at) - np.array(here.center), np.array(pull.axis)
                shifted = six[:3] + np.cross(six[3:], arm)
                # a turn about the shaft itself tilts nothing
                tilt = six[3:] - (six[3:] @ axis) * axis
                yield ShaftSag(
                    belt=pull.belt,
                    mount=part.name,
                    moved=(float(shifted[0]), float(shifted[1]), float(shifted[2])),
                    axial=float(shifted @ axis),
                    tilt=float(np.linalg.norm(tilt)),
                    centres=pull.centres,
                    bears=pull.bears,
                )

    def modes(self, end: int) -> tuple[Floats, Movements]:
        """The lowest natural frequencies, Hz, and their shapes; only where the size of every part is known."""
        if end not in self._modes:
            question = self.question
            weighs = [part.masses[end] if question.weights == 2 else part.mass for part in question.carried]
            masses = [
                _mass(part, mass, self.places[part.name].center)
                for part, mass in zip(question.carried, weighs, strict=True)
            ]
            self._modes[end] = self.joined.modes(masses, MODES)
        return self._modes[end]


def _wrench(pull: Pull, case: Case, about: Spatial) -> Floats:
    across = case.across
    if math.isinf(across):
        across = math.copysign(pull.slipping, across)
    # the strands' difference acts aside and turns the shaft; a start ends where the belt slips
    along = case.rest * pull.rest + case.along * pull.along
    force = along * np.array(pull.towards) + across * pull.across * np.array(pull.aside)
    six = wrench(force, pull.at, about)
    six[3:] += across * pull.turning * np.array(pull.axis)
    return six


def _mass(part: Part, weighs: float, center: Spatial) -> Floats:
    """The mass of a part (kg) as the block that it fills, t."""
    assert part.size is not None
    # a block of even density, turned as the part stands
    a, b, c = part.size
    mass = weighs / 1000
    own = mass / 12 * np.diag([b * b + c * c, a * a + c * c, a * a + b * b])
    cos, sin = math.cos(part.turn), math.sin(part.turn)
    turn = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    return rigid_mass(mass, turn @ own @ turn.T, center, center)
