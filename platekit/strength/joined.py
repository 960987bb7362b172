"""The loose plate, factored once, and what its rings make of it.

Whatever holds the plate or hangs on it does so through rings, and each ring feels nine figures only. So the plate is
solved as if nothing held it (`Loose`), once for a unit force on each of these figures (`Gripped`); any choice of seats,
of their stiffness and of parts on them is then a small dense system (`Joined`). This is the force method of structural
mechanics, its redundants being the forces in the rings. A loose plate takes only forces in balance: it is pinned at as
many unknowns as it has rigid movements, and since the sum of all forces is in balance, nothing is left at the pins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from msgspec import Struct

from platekit.errors import StrengthError
from platekit.geometry.plane import Spatial
from platekit.strength.element import IN_PLANE, OFF_PLANE, UNKNOWNS, Plate
from platekit.strength.mesh import Floats, Whole
from platekit.strength.ribs import Welded, lift_and_slope, shift
from platekit.strength.rings import BENT, FIGURES, SHIFTED, Grip, Ring
from platekit.strength.solving import factor

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

AT_ONCE: Final = 96
"""Columns that are solved in one go (ours): enough to be fast, few enough to need little memory."""
MOST_KEPT: Final = 15_000_000
"""Figures of movement that are kept for later (ours): 120 MB; beyond it they are worked out again."""
RIGID: Final = 3
"""Movements of the plate as a whole in its plane, and as many out of it."""
WORST: Final = 1e14
"""Condition beyond which something moves freely (ours): sound plates have 1e3 to 1e9."""
MOST_ROUNDS: Final = 25
"""Rounds of the search for frequencies (ours; usual are 3 to 6)."""
SETTLED: Final = 1e-4
"""Frequencies have settled when none moves by this share in a round (ours)."""


class Movements(Struct, frozen=True, eq=False):
    """Of the plate's nodes, stretching (2 n, cases) and bending (3 n, cases); and of its parts (6 each, cases)."""

    stretched: Floats
    bent: Floats
    parts: Floats

    @property
    def nodes(self) -> Floats:
        """All five of each node: (5 n, cases), mm and rad."""
        count, cases = len(self.stretched) // IN_PLANE, self.stretched.shape[1]
        whole = np.empty((count, UNKNOWNS, cases))
        whole[:, :IN_PLANE] = self.stretched.reshape(count, IN_PLANE, cases)
        whole[:, IN_PLANE:] = self.bent.reshape(count, OFF_PLANE, cases)
        return whole.reshape(-1, cases)

    def mixed(self, by: Floats) -> Movements:
        """Sums of the cases (mm, rad): column j of `by` says how much of each."""
        return Movements(self.stretched @ by, self.bent @ by, self.parts @ by)

    def products(self, loads: Movements) -> Floats:
        """The work (N mm) of each case's movements under each of the loads: (cases, cases)."""
        whole = self.stretched.T @ loads.stretched + self.bent.T @ loads.bent + self.parts.T @ loads.parts
        # symmetric by Betti's law; the search for eigenvalues reads one half, so rounding must not tell them apart
        made: Floats = (whole + whole.T) / 2
        return made


class _Half:
    """Stretching or bending of the loose plate."""

    def __init__(self, stiffness: csr_matrix, rigid: Floats, pinned: Sequence[int]) -> None:
        from scipy.sparse import csr_matrix

        self.rigid, _ = np.linalg.qr(rigid)
        # springs at three unknowns hold it as a whole and nothing else: forces in balance do not feel them
        stiff = float(stiffness.diagonal().mean())
        held = csr_matrix((np.full(RIGID, stiff), (pinned, pinned)), stiffness.shape)
        self._factor = factor(stiffness + held)

    def solve(self, forces: Floats) -> Floats:
        """Movements (mm, rad) under forces (N, N mm), columns a case: of forces in balance true but for the whole's."""
        found = np.empty_like(forces)
        for start in range(0, forces.shape[1], AT_ONCE):
            found[:, start : start + AT_ONCE] = self._factor.solve(forces[:, start : start + AT_ONCE])
        return found

    def answers(self, rows: csr_matrix) -> tuple[Floats, Floats | None]:
        """How each row of figures answers a unit force (N, N mm) on each; and how all the half does (mm, rad).

        The latter is None where it would fill the memory.
        """
        count, size = rows.shape
        found = np.empty((count, count))
        moves = np.empty((size, count)) if count * size <= MOST_KEPT else None
        for start in range(0, count, AT_ONCE):
            part = np.s_[:, start : start + AT_ONCE]
            # a force on a figure is spread over the unknowns by the same row that measures the figure (virtual work)
            moved = self.solve(rows[start : start + AT_ONCE].toarray().T)
            found[part] = rows @ moved
            if moves is not None:
                moves[part] = moved
        # symmetric by Maxwell's law of reciprocity, but for rounding
        return (found + found.T) / 2, moves


class Loose:
    """A plate that nothing holds, ready for any load."""

    def __init__(self, plate: Plate) -> None:
        self.plate = plate
        nodes = plate.mesh.nodes
        middle, size = nodes.mean(0), float(np.ptp(nodes, axis=0).max())
        x, y = ((nodes - middle) / size).T
        # three nodes far from each other and off one line: pins there are as stiff as the plate lets them be
        first = int(np.argmin(nodes.sum(1)))
        second = int(np.argmax(((nodes - nodes[first]) ** 2).sum(1)))
        along = nodes[second] - nodes[first]
        off = (nodes - nodes[first]) @ np.array([-along[1], along[0]])
        third = int(np.argmax(np.abs(off)))
        # the movements that strain nothing: shifts by x and y and the turn in the plane; a lift and two tilts off it
        plane = np.zeros((len(nodes), IN_PLANE, RIGID))
        plane[:, 0, 0] = plane[:, 1, 1] = 1.0
        plane[:, 0, 2], plane[:, 1, 2] = -y, x
        # the third pin stops the turn about the first node: it acts across the line to the second
        across = 1 if abs(along[0]) > abs(along[1]) else 0
        pins = [IN_PLANE * first, IN_PLANE * first + 1, IN_PLANE * second + across]
        self.stretching = _Half(plate.plane_stiffness, plane.reshape(-1, RIGID), pins)
        bent = np.zeros((len(nodes), OFF_PLANE, RIGID))
        bent[:, 0, 0], bent[:, 0, 1], bent[:, 0, 2] = 1.0, x, y
        bent[:, 1, 1] = bent[:, 2, 2] = -1 / size  # a plate that tilts as a whole is not sheared
        pins = [OFF_PLANE * one for one in (first, second, third)]
        self.bending = _Half(plate.bent_stiffness, bent.reshape(-1, RIGID), pins)


class Gripped:
    """A loose plate with all the rings that may ever bear on it."""

    def __init__(self, loose: Loose, grips: Sequence[Grip]) -> None:
        from scipy.sparse import vstack

        self.loose = loose
        self.grips = tuple(grips)
        self.shifts: csr_matrix = vstack([grip.shifts for grip in grips], "csr")
        self.bends: csr_matrix = vstack([grip.bends for grip in grips], "csr")
        self._by_shift, self._shift_moves = loose.stretching.answers(self.shifts)
        self._by_bend, self._bend_moves = loose.bending.answers(self.bends)

    def answer(self, which: Sequence[int], shifting: Floats, bending: Floats) -> tuple[Floats, Floats]:
        """Movements (mm, rad) of the loose plate under forces (N, N mm; 3 and 9 a ring) on these rings' own figures."""
        shift_rows, bend_rows = _rows(which, SHIFTED), _rows(which, FIGURES)
        # sums of kept answers where they are kept; else the plate is asked anew, with all forces at once
        if self._shift_moves is not None and self._bend_moves is not None:
            return self._shift_moves[:, shift_rows] @ shifting, self._bend_moves[:, bend_rows] @ bending
        loose = self.loose
        return (
            loose.stretching.solve(self.shifts[shift_rows].T @ shifting),
            loose.bending.solve(self.bends[bend_rows].T @ bending),
        )

    def faces(self, which: Sequence[int], heights: Sequence[float]) -> tuple[csr_matrix, csr_matrix, Floats]:
        """What these rings feel at their height (nine a ring) by the figures of the two halves, and their give.

        The give is how each figure (rows) moves under a unit force on each (columns), of the loose plate.
        """
        from scipy.sparse import block_diag, coo_array, csr_matrix

        shift_rows, bend_rows = _rows(which, SHIFTED), _rows(which, FIGURES)
        # a face at height z shifts by what the middle plane does there and by z times the turns of the normal
        lift = np.zeros((FIGURES, SHIFTED))
        lift[BENT:] = np.eye(SHIFTED)
        # of sparse arrays, as what comes of plain ones is a matrix in one release of scipy and an array in another
        by_shift: Any = csr_matrix(block_diag([coo_array(lift)] * len(which)))
        turned = [coo_array(np.diag([1.0] * BENT + [z] * SHIFTED)) for z in heights]
        by_bend: Any = csr_matrix(block_diag(turned))
        give = by_shift @ self._by_shift[np.ix_(shift_rows, shift_rows)] @ by_shift.T
        give += by_bend @ self._by_bend[np.ix_(bend_rows, bend_rows)] @ by_bend.T
        return by_shift, by_bend, give


def _rows(which: Sequence[int], each: int) -> Whole:
    """The rows of these rings' figures, so many a ring."""
    rows: Whole = (each * np.asarray(which, dtype=np.int64)[:, None] + np.arange(each)).ravel()
    return rows


class OnRing(Struct, frozen=True):
    """A ring in use: which grip it is, and the number of the part that bears on it (None: the ground)."""

    grip: int
    ring: Ring
    part: int | None


class OnRib(Struct, frozen=True, eq=False):
    """A bar welded to the plate: the grips of its stations, how it takes part, and the mass of each station, t."""

    grips: tuple[int, ...]
    bar: Welded
    lump: float


class Joined:
    """The plate with what holds it and what hangs on it: rings in use, and the place that each part turns about."""

    def __init__(
        self, gripped: Gripped, rings: Sequence[OnRing], abouts: Sequence[Spatial], ribs: Sequence[OnRib] = ()
    ) -> None:
        from scipy.sparse import block_diag, csr_matrix, eye_array

        self.gripped, self.rings, self.parts, self.ribs = gripped, tuple(rings), len(abouts), tuple(ribs)
        loose = gripped.loose
        self._which = [*(one.grip for one in rings), *(grip for rib in ribs for grip in rib.grips)]
        heights = [*(one.ring.z for one in rings), *(rib.bar.z for rib in ribs for _ in rib.grips)]
        self._by_shift, self._by_bend, give = gripped.faces(self._which, heights)
        if ribs:
            # a ring's springs work on each of its figures, a bar's on its strains, which mix those of all its stations
            mix = csr_matrix(block_diag([eye_array(FIGURES * len(rings)), *(rib.bar.mix for rib in ribs)]))
            self._by_shift, self._by_bend, give = mix @ self._by_shift, mix @ self._by_bend, mix @ give @ mix.T
        self._shifts = self._by_shift @ gripped.shifts[_rows(self._which, SHIFTED)]
        self._bends = self._by_bend @ gripped.bends[_rows(self._which, FIGURES)]
        self._rigid = np.hstack([self._shifts @ loose.stretching.rigid, self._bends @ loose.bending.rigid])
        springs = np.concatenate([*(one.ring.springs for one in rings), *(rib.bar.springs for rib in ribs)])
        count = len(springs)
        self.of_parts = np.zeros((count, 6 * self.parts))
        for number, one in enumerate(rings):
            if one.part is not None:
                rows, six = np.s_[FIGURES * number : FIGURES * (number + 1)], np.s_[6 * one.part : 6 * one.part + 6]
                self.of_parts[rows, six] = gripped.grips[one.grip].of_part(one.ring.z, abouts[one.part])
        # The unknowns: the force in each spring (count), the movements of the plate as a whole and of each part. Rows:
        # a spring's give, that of the plate under it and the springs' own, makes up what plate and part move apart
        # there; and the forces on the plate as a whole, and on each part, are in balance.
        loosely = 2 * RIGID + 6 * self.parts
        whole = np.zeros((count + loosely, count + loosely))
        whole[:count, :count] = give + np.diag(1 / springs)
        # Steel gives way under a force, never against it: where it seems to, its figures were lost on the way.
        if count and float(np.diag(whole)[:count].min()) <= 0.0:
            raise StrengthError("the plate is so large beside its holes that the figures are lost in rounding")
        whole[:count, count:] = np.hstack([self._rigid, -self.of_parts])
        whole[count:, :count] = whole[:count, count:].T
        # forces and movements differ by many powers of ten: scaled, so that the system is as well posed as the plate is
        self._scale = np.concatenate([1 / np.sqrt(np.diag(whole)[:count]), np.ones(loosely)])
        whole *= self._scale[:, None] * self._scale
        side = np.maximum(np.abs(whole[:count, count:]).max(0), 1e-300)
        self._scale[count:] = 1 / side
        whole[:, count:] /= side
        whole[count:, :] /= side[:, None]
        self._whole, self._count = whole, count
        # the condition, in the norm of column sums, of the scaled system: free movement shows as a huge one
        try:
            self._inverse = np.linalg.inv(whole)
        except np.linalg.LinAlgError:
            self._inverse = np.full_like(whole, np.inf)
        if not np.abs(whole).sum(0).max() * np.abs(self._inverse).sum(0).max() < WORST:
            raise StrengthError("the plate is held nowhere: it can move as a whole")

    def moved(self, stretching: Floats, bending: Floats, on_parts: Floats) -> tuple[Movements, Floats]:
        """Movements (mm, rad) under forces (N, N mm) on the plate's two halves and its parts, and the rings' forces.

        The rings' forces (9 a ring, cases) are those on the plate, by the nine figures.
        """
        # the force method: the loose plate under the loads; the ring forces that close what then gapes between plate
        # and parts, with the movements as a whole that balance asks for; and the loose plate under these forces
        loose = self.gripped.loose
        free = loose.stretching.solve(stretching), loose.bending.solve(bending)
        felt = self._shifts @ free[0] + self._bends @ free[1]
        whole = np.vstack([loose.stretching.rigid.T @ stretching, loose.bending.rigid.T @ bending])
        right = np.vstack([-felt, -whole, -on_parts]) * self._scale[:, None]
        found = (self._inverse @ right) * self._scale[:, None]
        forces, rigid, parts = np.split(found, [self._count, self._count + 2 * RIGID])
        more = self.gripped.answer(self._which, self._by_shift.T @ forces, self._by_bend.T @ forces)
        stretched = free[0] + more[0] + loose.stretching.rigid @ rigid[:RIGID]
        bent = free[1] + more[1] + loose.bending.rigid @ rigid[RIGID:]
        return Movements(stretched, bent, parts), forces

    def stations(self, rib: OnRib, moved: Movements) -> Floats:
        """How the stations of a bar move, three figures each (mm, rad), in every case."""
        grips = self.gripped
        by_shift, by_bend, _ = grips.faces(rib.grips, [rib.bar.z] * len(rib.grips))
        felt = by_shift @ (grips.shifts[_rows(rib.grips, SHIFTED)] @ moved.stretched)
        felt += by_bend @ (grips.bends[_rows(rib.grips, FIGURES)] @ moved.bent)
        found: Floats = rib.bar.places @ felt
        return found

    def lumps(self) -> Iterator[tuple[float, csr_matrix, csr_matrix]]:
        """The mass of every station of the bars, t; how it shifts along x and y, and lifts, by the plate's unknowns."""
        from scipy.sparse import csr_matrix

        for rib in self.ribs:
            for number in rib.grips:
                grip, center = self.gripped.grips[number], self.gripped.grips[number].center
                flat = csr_matrix(shift(grip, center)[:, BENT:]) @ grip.shifts
                lift, _ = lift_and_slope(grip, center, np.array([1.0, 0.0]))
                yield rib.lump, flat, csr_matrix(lift[None, :]) @ grip.bends

    def on_ring(self, number: int, forces: Floats, about: Spatial) -> Floats:
        """What one ring does to the plate, as force (N) and moments (N mm) about a place (mm): (6, cases)."""
        one = self.rings[number]
        felt = self.gripped.grips[one.grip].of_part(one.ring.z, about)
        given: Floats = felt.T @ forces[FIGURES * number : FIGURES * (number + 1)]
        return given

    def modes(self, masses: Sequence[Floats], count: int) -> tuple[Floats, Movements]:
        """The lowest natural frequencies in Hz and their shapes; `masses` (6, 6) of the parts, t and t mm2.

        A block of shapes is answered again and again by the plate to the inertia of the last, and the best
        combinations are taken each time (subspace iteration: K.-J. Bathe, Finite Element Procedures, 11.6). It starts
        from what the parts and the plate do when they are shaken as a whole, which is near the truth already.
        """
        plate = self.gripped.loose.plate
        nodes = plate.mesh.nodes
        # the first shapes: each part pushed each of its six ways, and the plate in five smooth ripples of its own
        pushes = np.eye(6 * self.parts)
        middle, size = nodes.mean(0), float(np.ptp(nodes, axis=0).max())
        x, y = ((nodes - middle) / size).T
        ripples = np.stack([np.ones_like(x), x, y, x * x - y * y, x * y], -1)
        spare = ripples.shape[1]
        shapes = Movements(
            np.zeros((IN_PLANE * len(nodes), 6 * self.parts + spare)),
            np.zeros((len(nodes), OFF_PLANE, 6 * self.parts + spare)).reshape(OFF_PLANE * len(nodes), -1),
            np.hstack([pushes, np.zeros((6 * self.parts, spare))]),
        )
        shapes.bent.reshape(len(nodes), OFF_PLANE, -1)[:, 0, 6 * self.parts :] = ripples
        before = np.zeros(count)
        for _ in range(MOST_ROUNDS):
            loads = self._inertia(shapes, masses)
            answer, _ = self.moved(loads.stretched, loads.bent, loads.parts)
            # of answers a, their elastic energy a K a is a times the loads, since K a is what the loads are
            stiff = answer.products(loads)
            heavy = answer.products(self._inertia(answer, masses))
            squares, mixed = _lowest(stiff, heavy)
            shapes = answer.mixed(mixed)
            found = np.sqrt(np.maximum(squares[:count], 0.0)) / 2 / np.pi
            if len(found) == count and (np.abs(found - before) <= SETTLED * found).all():
                return found, shapes.mixed(np.eye(mixed.shape[1])[:, :count])
            before = found
        raise StrengthError("the natural frequencies of the plate could not be worked out")

    def _inertia(self, shapes: Movements, masses: Sequence[Floats]) -> Movements:
        """The mass times shapes."""
        plate = self.gripped.loose.plate
        count, cases = len(plate.mesh.nodes), shapes.parts.shape[1]
        # parts keep nothing of the plate's unknowns: their mass is a block of six of its own
        halves = []
        for whole, each in ((shapes.stretched, plate.inertia[:IN_PLANE]), (shapes.bent, plate.inertia[IN_PLANE:])):
            flat = plate.overlaps @ whole.reshape(count, -1)
            halves.append((flat.reshape(count, len(each), cases) * each[:, None]).reshape(-1, cases))
        for lump, flat, lift in self.lumps():
            halves[0] = halves[0] + lump * (flat.T @ (flat @ shapes.stretched))
            halves[1] = halves[1] + lump * (lift.T @ (lift @ shapes.bent))
        parts = [one @ shapes.parts[6 * number : 6 * number + 6] for number, one in enumerate(masses)]
        return Movements(halves[0], halves[1], np.vstack([*parts, np.zeros((0, cases))]))


def _lowest(stiff: Floats, heavy: Floats) -> tuple[Floats, Floats]:
    """The squares of the angular frequencies, rising, and how the shapes mix; shapes that repeat others are dropped."""
    from scipy.linalg import eigh

    # Rayleigh and Ritz in the space of the shapes, asked for one over the squares: the matrix that has to be regular is
    # then the stiff one, which dropping shapes that repeat others sees to
    # (mm and rad side by side make shapes of very unlike size: each is scaled to one first)
    size = np.sqrt(np.diag(stiff))
    stiff, heavy = stiff / size / size[:, None], heavy / size / size[:, None]
    values, basis = np.linalg.eigh(stiff)
    kept = values > 1e-10 * values[-1]
    basis = basis[:, kept] / np.sqrt(values[kept])
    inverse, mixed = eigh(basis.T @ heavy @ basis)
    squares = 1 / np.maximum(inverse[::-1], 1e-300)
    return squares, (basis @ mixed[:, ::-1]) / size[:, None]
