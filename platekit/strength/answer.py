"""The answer to a question: stresses, movements, what each screw takes, and natural frequencies, between two bounds.

The seats that the plate bears on give way by an unknown amount, which moves every figure more than the mesh does; so
all is worked out twice, with the softest and the stiffest seat, and a figure is the worse of the two or a range.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from msgspec import Struct

from platekit.errors import StrengthError
from platekit.geometry import Loop, Point
from platekit.geometry.plane import Spatial
from platekit.strength.element import Plate, Steel
from platekit.strength.mesh import Floats, Mesh, Spot, mesh
from platekit.strength.question import GRAVITY, Part, Position, Pull, Question, Seat
from platekit.strength.rings import Bearing, Ring, bearing, rigid_mass, wrench
from platekit.strength.solving import Factored
from platekit.strength.stresses import along_edges, at_nodes

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Ground = Literal["soft", "stiff"]
GROUNDS: Final[tuple[Ground, Ground]] = ("soft", "stiff")

ACROSS_PLATE: Final = 24
"""Triangles at least along the side of a square of the plate's area (ours)."""
LARGEST: Final = 16.0
"""No side of a triangle is wanted shorter than this but for what is small, mm (ours)."""
PER_TURN: Final = 16
"""Pieces round a hole (ours): stresses at its edge lie within 5 % then, with 24 within 1.5 %."""
COARSE: Final = (2.5, 8)
"""For frequencies: sides so many times as long, pieces round a hole (ours; moves them by less than 0.5 %)."""
MODES: Final = 3
"""Natural frequencies that are worked out: higher ones shake little (ours)."""


class AtScrew(Struct, frozen=True):
    """What one screw takes, N: `pull` along it, off the plate; `shear` across it."""

    hole: str
    mount: str
    at: Point
    pull: float
    shear: float


class Shaft(Struct, frozen=True):
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

    `stress` is the highest at the open edges and in the plate beyond the washers, at `at`; `sag` how far the plate
    bends at most.
    """

    case: str
    position: str
    ground: Ground
    stress: float
    at: Point
    sag: float
    screws: tuple[AtScrew, ...]
    shafts: tuple[Shaft, ...]


class Answer(Struct, frozen=True):
    """All states of a plate; `swing` is how far the stress at an open edge swings from standing to starting, N/mm2."""

    states: tuple[State, ...]
    swing: float
    swing_at: Point
    triangles: int

    @property
    def worst(self) -> State:
        """The state with the highest stress."""
        return max(self.states, key=lambda state: state.stress)

    def at_screw(self, hole: str) -> tuple[AtScrew, ...]:
        """What one screw takes, in every state."""
        return tuple(one for state in self.states for one in state.screws if one.hole == hole)


class Case(Struct, frozen=True):
    """What the belts do: how much of the pull at rest, of the running pull, of its turning."""

    name: str
    rest: float
    along: float
    across: float


STANDING = Case("belt standing, new", 1.0, 0.0, 0.0)
CASES: Final = (
    STANDING,
    Case("running", 0.0, 1.0, 1.0),
    Case("running the other way", 0.0, 1.0, -1.0),
    Case("starting", 0.0, 1.0, math.inf),
    Case("starting the other way", 0.0, 1.0, -math.inf),
)
"""Which way a motor turns is not in the spec, so both are looked at; an infinite pull is until the belt slips."""
HANGING = Case("weight only", 0.0, 0.0, 0.0)


@lru_cache(maxsize=24)
def _meshed(outer: Loop, holes: tuple[Loop, ...], spots: tuple[Spot, ...], largest: float, per_turn: int) -> Mesh:
    return mesh(outer, holes, largest, per_turn, spots=spots)


@lru_cache(maxsize=24)
def answered(question: Question) -> Answer:
    """The answer to a question; raises StrengthError where the plate cannot be worked out."""
    if not question.held:
        raise StrengthError("nothing holds the plate; one mount has to stay as it was")
    plate = _plate(question, fine=True)
    states: list[State] = []
    swing, swing_at = 0.0, (0.0, 0.0)
    for ground in GROUNDS:
        for number in range(max(len(part.positions) for part in question.carried)):
            standing = _Standing(question, plate, ground, number)
            cases, moved = standing.moved()
            states += [standing.state(case, moved[:, column]) for column, case in enumerate(cases)]
            for column in range(3, len(cases)):
                found, at = standing.highest(moved[:, column] - moved[:, 0], edges_only=True)
                if found > swing:
                    swing, swing_at = found, at
    return Answer(tuple(states), swing, swing_at, len(plate.mesh.triangles))


@lru_cache(maxsize=24)
def frequencies(question: Question) -> tuple[tuple[float, float], ...] | None:
    """The lowest natural frequencies, Hz, each as (soft, stiff); None where they are not known.

    That is where a part's size is not, or the search for them does not settle.
    """
    if any(part.size is None for part in question.carried):
        return None
    plate = _plate(question, fine=False)
    last = max(len(part.positions) for part in question.carried) - 1
    try:
        soft, stiff = (_Standing(question, plate, ground, last).frequencies() for ground in GROUNDS)
    except StrengthError:
        return None
    return tuple(zip(soft, stiff, strict=True))


def _plate(question: Question, fine: bool) -> Plate:
    area = question.outer.area
    largest = max(LARGEST, math.sqrt(area) / ACROSS_PLATE)
    longer, per_turn = (1.0, PER_TURN) if fine else COARSE
    seats = {seat for part in question.parts for position in part.positions for seat in position.seats}
    spots = tuple(
        Spot(seat.center, seat.outer, max((seat.outer - seat.inner) * 0.8, 1.0) * longer)
        for seat in sorted(seats, key=lambda seat: (seat.hole, seat.center))
    )
    made = _meshed(question.outer, question.holes, spots, largest * longer, per_turn)
    steel = Steel(question.modulus, question.poisson, question.density * 1e-12)
    return Plate(made, question.thickness, steel)


def _at(part: Part, number: int) -> Position:
    return part.positions[min(number, len(part.positions) - 1)]


def _ring(part: Part, seat: Seat, thickness: float, ground: Ground) -> Ring:
    """The springs between a part and the face that bears on it; spacers give way behind them."""
    space = (part.soft if ground == "soft" else part.stiff) / seat.outer
    face = thickness / 2 if part.side == "near" else -thickness / 2
    along, across = (1 / (1 / (space * share) + 1 / part.spacer) for share in (1.0, part.sideways))
    return Ring(seat.center, seat.inner, seat.outer, face, along, across)


class _Standing:
    """The plate with every part at one position on one ground, ready for any load."""

    def __init__(self, question: Question, plate: Plate, ground: Ground, number: int) -> None:
        from scipy.sparse import bmat, csr_matrix

        self.question, self.plate, self.ground = question, plate, ground
        self.places = {part.name: _at(part, number) for part in question.parts}
        self.position = self._said(number)
        self.bearings: dict[str, list[tuple[Seat, Bearing]]] = {}
        stiffness = plate.stiffness
        between, own = [], []
        for part in question.parts:
            here = self.places[part.name]
            rings = [(seat, _ring(part, seat, question.thickness, ground)) for seat in here.seats]
            self.bearings[part.name] = [(seat, bearing(plate, ring, here.center)) for seat, ring in rings]
            for _, one in self.bearings[part.name]:
                stiffness = stiffness + one.plate
            if part.mass:
                between.append(sum((one.between for _, one in self.bearings[part.name]), csr_matrix((plate.size, 6))))
                own.append(csr_matrix(sum(one.part for _, one in self.bearings[part.name])))
        rows: list[list[csr_matrix | None]] = [[stiffness, *between]]
        for index, one in enumerate(own):
            rows.append([between[index].T, *(one if index == other else None for other in range(len(own)))])
        self.factored = Factored(bmat(rows, "csc").tocsr())

    def _said(self, number: int) -> str:
        travels = [part for part in self.question.carried if len(part.positions) > 1]
        return "" if not travels else ("loosest", "tightest")[number]

    def six(self, part: Part) -> slice:
        """The unknowns of a carried part."""
        start = self.plate.size + 6 * [one.name for one in self.question.carried].index(part.name)
        return slice(start, start + 6)

    def moved(self) -> tuple[tuple[Case, ...], Floats]:
        """Every case that the belts make, or the weight alone where no belt pulls; the movements, a column each."""
        question = self.question
        pulled = any(self.places[part.name].pulls for part in question.carried)
        cases = CASES if pulled else (HANGING,)
        loads = np.zeros((self.factored.size, len(cases)))
        weight = np.zeros(5)
        weight[:3] = np.array(question.down) * question.density * 1e-12 * GRAVITY * question.thickness
        loads[: self.plate.size] = self.plate.spread(weight)[:, None]
        for part in question.carried:
            here = self.places[part.name]
            own = wrench([one * part.mass * GRAVITY / 1000 for one in question.down], here.center, here.center)
            for column, case in enumerate(cases):
                pulls = [_wrench(pull, case, here.center) for pull in here.pulls]
                loads[self.six(part), column] = own + sum(pulls, np.zeros(6))
        return cases, self.factored.solve(loads)

    def state(self, case: Case, moved: Floats) -> State:
        """What one case does."""
        stress, at = self.highest(moved)
        return State(
            case=case.name,
            position=self.position,
            ground=self.ground,
            stress=stress,
            at=at,
            sag=float(np.abs(moved[2 : self.plate.size : 5]).max()),
            screws=tuple(self._screws(moved)),
            shafts=tuple(self._shafts(moved)),
        )

    def highest(self, moved: Floats, edges_only: bool = False) -> tuple[float, Point]:
        """The highest stress at the edges and at the nodes beyond the washers: below these a peak is an artefact."""
        edges = along_edges(self.plate, moved)
        where = [edge.where for edge in edges]
        stress = [edge.worst for edge in edges]
        if not edges_only:
            inner = at_nodes(self.plate, moved).worst
            inner[np.unique(np.vstack(self.plate.mesh.edges))] = 0.0  # told better by the edges themselves
            where.append(self.plate.mesh.nodes)
            stress.append(inner)
        return self._beyond_washers(np.vstack(where), np.concatenate(stress))

    def _beyond_washers(self, where: Floats, stress: Floats) -> tuple[float, Point]:
        for here in self.places.values():
            for seat in here.seats:
                far = np.hypot(where[:, 0] - seat.center[0], where[:, 1] - seat.center[1])
                stress[far < seat.outer] = 0.0
        top = int(np.argmax(stress))
        return float(stress[top]), (float(where[top, 0]), float(where[top, 1]))

    def _screws(self, moved: Floats) -> Iterator[AtScrew]:
        for part in self.question.parts:
            off = 1.0 if part.side == "near" else -1.0
            for seat, one in self.bearings[part.name]:
                force = one.between.T @ moved[: self.plate.size]
                if part.mass:
                    force = force + one.part @ moved[self.six(part)]
                shear = math.hypot(float(force[0]), float(force[1]))
                yield AtScrew(seat.hole, part.name, seat.center, off * float(force[2]), shear)

    def _shafts(self, moved: Floats) -> Iterator[Shaft]:
        for part in self.question.carried:
            here = self.places[part.name]
            six = moved[self.six(part)]
            for pull in here.pulls:
                arm, axis = np.array(pull.at) - np.array(here.center), np.array(pull.axis)
                shifted = six[:3] + np.cross(six[3:], arm)
                tilt = six[3:] - (six[3:] @ axis) * axis
                yield Shaft(
                    belt=pull.belt,
                    mount=part.name,
                    moved=(float(shifted[0]), float(shifted[1]), float(shifted[2])),
                    axial=float(shifted @ axis),
                    tilt=float(np.linalg.norm(tilt)),
                    centres=pull.centres,
                    bears=pull.bears,
                )

    def frequencies(self) -> tuple[float, ...]:
        """The lowest natural frequencies, Hz."""
        from scipy.sparse import block_diag, csr_matrix

        blocks = [csr_matrix(_mass(part, self.places[part.name].center)) for part in self.question.carried]
        found, _ = self.factored.modes(block_diag([self.plate.mass, *blocks], "csr"), MODES)
        return tuple(float(one) for one in found)


def _wrench(pull: Pull, case: Case, about: Spatial) -> Floats:
    across = case.across
    if math.isinf(across):
        across = math.copysign(pull.slipping, across)
    along = case.rest * pull.rest + case.along * pull.along
    force = along * np.array(pull.towards) + across * pull.across * np.array(pull.aside)
    six = wrench(force, pull.at, about)
    six[3:] += across * pull.turning * np.array(pull.axis)
    return six


def _mass(part: Part, center: Spatial) -> Floats:
    """The mass of a part as the block that it fills, t."""
    assert part.size is not None
    a, b, c = part.size
    mass = part.mass / 1000
    own = mass / 12 * np.diag([b * b + c * c, a * a + c * c, a * a + b * b])
    cos, sin = math.cos(part.turn), math.sin(part.turn)
    turn = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    return rigid_mass(mass, turn @ own @ turn.T, center, center)
