"""What a survey says: where each hole is and how surely, how each reading agrees, and what stays open.

The words used here:

    survey      places, diameters and their covariance in the net's frame; residuals; what the readings leave open
    ellipse     where a hole is, at one sigma; times 2.448 it holds the true place 95 times out of 100
    residual    reading minus what the adjusted holes would give; normalised: in its own standard deviations
    redundancy number   share of a reading's own error that shows in its residual: 0 nobody checks it, 1 all others do
    flip        another arrangement that suits the readings as well: one or more holes on the other side of a line
    mirror      how the mirror image is settled: "clockwise", "corner", "picture", "same" (all holes in one
                row) or "open"
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

import numpy as np
from msgspec import Struct

from platekit.survey.adjust import Adjusted
from platekit.survey.model import Array
from platekit.survey.net import FeatureKind, Net, Reading
from platekit.units import Unit, show_length

Mirror = Literal["clockwise", "corner", "picture", "same", "open"]

WITHIN_95 = math.sqrt(-2.0 * math.log(0.05))
"""Factor from the one-sigma ellipse to the one that holds the place with 95 % (chi-square, two degrees of freedom)."""


ROUND = 1e-9
"""Half axes squared that differ by no more than this share make a circle: rounding (ours)."""
UPRIGHT = round(math.pi / 2.0, 9)


class Ellipse(Struct, frozen=True):
    """Half axes at one sigma, mm, and the turn of the longer one from x, counter-clockwise, from -pi/2 to pi/2."""

    major: float
    minor: float
    angle: float

    def scaled(self, factor: float) -> Ellipse:
        """The ellipse (mm) that many sigmas out."""
        return Ellipse(self.major * factor, self.minor * factor, self.angle)

    @property
    def within_95(self) -> Ellipse:
        """The ellipse (mm) that holds the true place 95 times out of 100: `WITHIN_95` times that of one sigma."""
        return self.scaled(WITHIN_95)


class LocatedFeature(Struct, frozen=True):
    """One feature where the survey puts it: frame of the survey, mm. A floating hole has an endless ellipse.

    `sigma` is the largest standard deviation in any direction. `nonlinear` marks a hole so loosely held that its
    ellipse is only a rough picture.
    """

    name: str
    kind: FeatureKind
    x: float
    y: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    ellipse: Ellipse
    diameter: float | None
    diameter_sigma: float | None
    floating: bool
    nonlinear: bool

    @property
    def sigma(self) -> float:
        """Standard deviation in the worst direction, mm."""
        return self.ellipse.major


class Checked(Struct, frozen=True):
    """One reading held against the rest. `index` is its place in `Net.all_readings`.

    `normalised` is None when no other reading checks this one; `smallest_blunder`, mm, is then endless. `copied` says
    that the same figure stands for the same already: it does not count again.
    """

    index: int
    reading: Reading
    sigma: float
    adjusted: float
    residual: float
    redundancy: float
    normalised: float | None
    smallest_blunder: float
    copied: bool = False


class Flip(Struct, frozen=True, eq=False):
    """Another arrangement: its places, how well it suits, and the distance that tells the two apart best.

    `telling` names two holes; between centres they are `here` mm apart in the survey and `there` mm in the flip.
    """

    points: Mapping[str, tuple[float, float]]
    chi_square: float
    moved: tuple[str, ...]
    telling: tuple[str, str]
    here: float
    there: float
    unit: Unit = "mm"

    def __str__(self) -> str:
        here, there = (show_length(length, self.unit) for length in (self.here, self.there))
        return (
            f"{listed(self.moved)} could as well be on the other side; measure "
            f"{'-'.join(self.telling)}: {here} between centres as drawn, {there} if flipped"
        )


class Caution(Struct, frozen=True):
    """What is to be borne in mind of some holes, whatever the readings say of each other."""

    holes: tuple[str, ...]
    text: str

    def __str__(self) -> str:
        return f"{listed(self.holes)}: {self.text}"


class Survey(Struct, frozen=True, eq=False):
    """All that the readings say; mm.

    `covariance` (2n, 2n) holds x and y of every hole in the order of `names`, in the survey's frame; `free_covariance`
    the same with shift and turn of the whole taken out;
    both are good for the holes that do not float. `dof` is the redundancy: readings less unknowns.
    """

    net: Net
    names: tuple[str, ...]
    holes: Mapping[str, LocatedFeature]
    covariance: Array
    free_covariance: Array
    readings: tuple[Checked, ...]
    chi_square: float
    dof: int
    probability: float
    mirror: Mirror
    flips: tuple[Flip, ...]
    floating: tuple[str, ...]
    loose_diameters: tuple[str, ...]
    frame: str
    cautions: tuple[Caution, ...]
    adjusted: Adjusted

    @property
    def points(self) -> Array:
        """Places of all holes (n, 2), mm, in the order of `names`."""
        return np.array([(hole.x, hole.y) for hole in self.holes.values()])

    def block(self, names: tuple[str, ...], *, free: bool = False) -> Array:
        """Covariance of some holes (2k, 2k), squares of mm, in the order named; `free` of the frame, where asked."""
        rows = [2 * self.names.index(name) + axis for name in names for axis in (0, 1)]
        return (self.free_covariance if free else self.covariance)[np.ix_(rows, rows)]

    def distance(self, first: str, second: str) -> tuple[float, float]:
        """Distance between two centres and its sigma, mm.

        Exact in any frame, as neither depends on it.
        """
        a, b = self.holes[first], self.holes[second]
        length = math.hypot(b.x - a.x, b.y - a.y)
        ux, uy = ((b.x - a.x) / length, (b.y - a.y) / length) if length else (1.0, 0.0)
        # the derivative of a distance by the four coordinates is the unit vector along it, and its opposite
        along = np.array([-ux, -uy, ux, uy])
        variance = float(along @ self.block((first, second)) @ along)
        return length, math.sqrt(variance) if variance > 0.0 else 0.0

    @property
    def scale(self) -> float:
        """Ratio of the residuals to what the given sigmas let one expect; 1 when nothing is redundant."""
        return math.sqrt(self.chi_square / self.dof) if self.dof else 1.0


def ellipse_of(covariance: Array) -> Ellipse:
    """The one-sigma ellipse (mm) of a 2 x 2 covariance; a circle counts as turned by 0 rad, an upright one by pi/2.

    Its half axes are the roots of the eigenvalues, as Mohr's circle has them: the mean, plus or minus half of the
    difference turned to where the covariance vanishes. Rounded, for near a circle the angle is noise.
    """
    (xx, xy), (_, yy) = covariance.tolist()
    mean, half = (xx + yy) / 2.0, math.hypot((xx - yy) / 2.0, xy)
    angle = round(0.5 * math.atan2(2.0 * xy, xx - yy), 9) + 0.0 if half > ROUND * mean else 0.0
    if angle <= -UPRIGHT:
        angle = UPRIGHT
    return Ellipse(math.sqrt(max(mean + half, 0.0)), math.sqrt(max(mean - half, 0.0)), angle)


def loose_diameters(adjusted: Adjusted) -> tuple[str, ...]:
    """Names of the features whose diameter (mm) no reading determines."""
    model, loose = adjusted.model, adjusted.loose
    if not loose.shape[1] or not model.sized:
        return ()
    # a diameter that has any part in a motion that nothing holds can be anything
    at = len(adjusted.unknowns) - 2 * len(model.edges) - len(model.sized)
    lengths = np.sqrt((loose**2).sum(axis=0))
    share = np.abs(loose[at : at + len(model.sized)] / lengths).max(axis=1)
    return tuple(name for name, part in zip(model.sized, share, strict=True) if part > 1e-6)


def listed(names: tuple[str, ...]) -> str:
    """Names as a sentence wants them: "A, B and C"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
