"""A plate on washers with a rigid part on it, against the same as a solid, by an independent finite-element program.

Source: scikit-fem 12.0.2 (T. Gustafsson and G. D. McBain, Journal of Open Source Software 5, 2020), a general library:
    triquadratic hexahedra, curved at the holes; input and figures as recorded in tests/published/solid_plate.
Compared: 300 x 180 x 12 mm with openings of 60 and 40 mm, held by three M10 in a row on springs, soft and stiff, with
    100 kg at 120 mm over it on four more, pulled down and aside: movement at three corners, the highest stress at an
    edge and where it is, the stress beside the larger opening, pull and shear of seven screws.
Within: 1 % (movement), 1 % below to 6 % above (highest stress), 8 % of the highest (stress at places), 5 % of the most
    that a screw takes (screws). Two meshes of the solid differ by 0.04 % in movement and 2.5 % at edges.
"""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from platekit.geometry import Disc, Loop, Point, disc_loop, polygon_loop
from platekit.strength.answer import Ground, State, answer_to, factored_plate
from platekit.strength.question import Part, Question, Seat, Stand

RECORDED: dict[str, Any] = json.loads((Path(__file__).parent / "solid_plate" / "solid_plate.json").read_text())
SOLID = RECORDED["meshes"]["fine"]
GROUND = {"G1": (25.0, 25.0), "G2": (25.0, 90.0), "G3": (25.0, 155.0)}
PART = {"P1": (165.0, 25.0), "P2": (275.0, 25.0), "P3": (165.0, 155.0), "P4": (275.0, 155.0)}
CORNERS = {"corner A": (300.0, 0.0), "corner B": (300.0, 180.0), "corner C": (0.0, 0.0)}
LARGE, SMALL = Disc((95.0, 90.0), 30.0), Disc((220.0, 90.0), 20.0)
SCREW, WASHER = 5.5, 11.0
GROUNDS: tuple[Ground, ...] = ("soft", "stiff")


@cache
def asked() -> Question:
    """The plate of the recorded input."""

    def part(name: str, screws: dict[str, Point], mass: float, center: tuple[float, float, float]) -> Part:
        seats = tuple(Seat(hole, at, SCREW, WASHER) for hole, at in screws.items())
        return Part(
            name=name,
            side="near" if mass else "far",
            soft=12e3,
            stiff=60e3,
            sideways=0.7,
            spacer=math.inf,
            mass=mass,
            lightest=mass,
            size=None,
            turn=0.0,
            imbalance=0.0,
            spin=0.0,
            positions=(Stand(0.0, seats, center, ()),),
        )

    screws: list[Loop] = [disc_loop(Disc(at, SCREW)) for at in (*GROUND.values(), *PART.values())]
    return Question(
        outer=polygon_loop([(0.0, 0.0), (300.0, 0.0), (300.0, 180.0), (0.0, 180.0)]),
        holes=(*screws, disc_loop(LARGE), disc_loop(SMALL)),
        thickness=12.0,
        modulus=210e3,
        poisson=0.3,
        density=7850.0,
        down=(0.0, -0.6, -0.8),
        parts=(part("ground", GROUND, 0.0, (0.0, 0.0, 0.0)), part("part", PART, 100.0, (230.0, 100.0, 126.0))),
    )


def state(ground: Ground) -> State:
    (one,) = [one for one in answer_to(asked()).states if one.ground == ground]
    return one


@pytest.mark.parametrize("ground", GROUNDS)
def test_the_corners_move_as_those_of_the_solid(ground: Ground) -> None:
    """Both models feel the same springs: what is left apart is the plate, and a washer felt by nine figures."""
    solid, plate = SOLID[ground], factored_plate(asked())
    nodes = plate.plate.mesh.nodes
    _, moved = plate.fields(state(ground))
    for name, corner in CORNERS.items():
        here = int(np.argmin(np.hypot(*(nodes - corner).T)))
        # the corner beside the screws moves by a tenth and less of the others: held to what these are held to
        wanted = abs(solid["movement"][name])
        assert moved[here] == pytest.approx(wanted, abs=0.01 * max(wanted, 0.1 * solid["sag"])), name
    assert state(ground).sag == pytest.approx(solid["sag"], rel=0.01)


@pytest.mark.parametrize("ground", GROUNDS)
def test_the_highest_stress_is_where_the_solid_has_it(ground: Ground) -> None:
    """At the larger opening, on the face that the part stands on: told a little too high, never too low.

    The plate has 16 pieces round a hole, which is good for 5 %: with 64 of them it comes within 2.5 % of the solid,
    which is what the solid's own meshes differ by.
    """
    wanted, found = SOLID[ground]["edges"]["opening of 60, near face"], state(ground)
    assert 0.99 * wanted["stress"] < found.stress < 1.06 * wanted["stress"]
    # the peak is flat: it may lie a sixteenth of a turn off
    assert math.dist(found.at, wanted["at"]) < LARGE.radius * math.tau / 16


@pytest.mark.parametrize("ground", GROUNDS)
def test_round_the_larger_opening_the_stress_is_that_of_the_solid(ground: Ground) -> None:
    """At four stated places on both faces: of the highest stress a share, as two of them bear next to nothing.

    6 % is what 16 pieces round a hole are off at the most there; with 64 it is 2 %.
    """
    edges = factored_plate(asked()).standing(ground, 0).edges
    for face, sign in (("near", 1.0), ("far", -1.0)):
        solid = SOLID[ground]["edges"][f"opening of 60, {face} face"]
        for word, (x, y) in {"+x": (1, 0), "+y": (0, 1), "-x": (-1, 0), "-y": (0, -1)}.items():
            place = (LARGE.center[0] + x * LARGE.radius, LARGE.center[1] + y * LARGE.radius)
            here = int(np.argmin(np.hypot(*(edges.where - place).T)))
            found = float(edges.middle[here, 0] + sign * edges.bending[here, 0])
            assert found == pytest.approx(solid[word], abs=0.08 * abs(solid["stress"])), (face, word)


@pytest.mark.parametrize("ground", GROUNDS)
def test_the_screws_take_what_they_take_in_the_solid(ground: Ground) -> None:
    """A washer that is felt by nine figures shares a load a little otherwise: by up to 4.2 % of the most."""
    solid = SOLID[ground]["screws"]
    most = max(max(abs(one["pull"]), one["shear"]) for one in solid.values())
    for screw in state(ground).screws:
        assert screw.pull == pytest.approx(solid[screw.hole]["pull"], abs=0.05 * most), screw.hole
        assert screw.shear == pytest.approx(solid[screw.hole]["shear"], abs=0.05 * most), screw.hole


def test_the_two_meshes_of_the_solid_agree() -> None:
    """What is recorded has settled: movement to 0.1 %, stress at edges to 2.5 %, screws to 0.5 % of the most."""
    coarse, fine = (RECORDED["meshes"][name] for name in ("coarse", "fine"))
    assert fine["unknowns"] > 1.5 * coarse["unknowns"]
    for ground in GROUNDS:
        one, other = coarse[ground], fine[ground]
        assert one["sag"] == pytest.approx(other["sag"], rel=0.001)
        for name, edge in other["edges"].items():
            assert one["edges"][name]["stress"] == pytest.approx(edge["stress"], rel=0.025), name
        most = max(screw["shear"] for screw in other["screws"].values())
        for hole, screw in other["screws"].items():
            assert one["screws"][hole] == pytest.approx(screw, abs=0.005 * most), hole
