"""A straight edge of the plate bent up on a press brake: the blank that is cut for it, its bend line, what it becomes.

The plate that was laid out stays flat: the bend begins at its edge. Beyond that the blank goes on by what the bend
takes up (`bends.bend_length`) and by the straight leg. Where the plate's edge goes on beside an end of the bend it is
notched there, so that the sheet tears nowhere.

Vocabulary
    die opening     width of the V that the sheet is pressed into, mm; it settles radius, shortest leg and force
    bend line       where the punch comes down: the middle of the bend, marked on the near face
    leg             what is straight of the flange beyond the bend, mm
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from platekit import tables
from platekit.errors import GeometryError, SpecError
from platekit.geometry import EPS, Line, Loop, Point, Shape, StandingPrism, Vertex, clean_loop, intersection, loop_of
from platekit.geometry.point import turn_between
from platekit.laying.bends import k_factor
from platekit.placed import SAME_LENGTH, Body, PlacedFlange, PlateLimits
from platekit.spec import Spec
from platekit.tables.shop import shop_figure
from platekit.units import POUND_FORCE, Unit, show_length

FIELD: Final = "plate.flange"
"""Where in the spec it stands."""
NAME: Final = "plate.flange"
"""What it is called where it is in the way."""
DIES: Final = (
    (2.5, shop_figure("die opening to 2.5 mm, in thicknesses")),
    (8.0, shop_figure("die opening to 8 mm, in thicknesses")),
    (10.0, shop_figure("die opening to 10 mm, in thicknesses")),
    (math.inf, shop_figure("die opening of thicker sheet, in thicknesses")),
)
"""Die openings in thicknesses, each up to a thickness in mm (`shop_figures.csv`)."""
STOCK_DIES: Final = (4, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 320, 400, 500)
"""Die openings that such charts list, mm (preferred numbers R 10 of ISO 3, rounded; the last three by that series)."""
RADIUS_IN_DIES: Final = shop_figure("inside radius of an air bend, in die openings")
LEG_IN_DIES: Final = shop_figure("shortest flange outside, in die openings")
FORCE: Final = shop_figure("press force of an air bend, factor")
HOLE_IN_THICKNESSES: Final = shop_figure("hole beside a bend, in thicknesses")
TIGHTEST_STEEL: Final = (
    (3.0, shop_figure("tightest bend of steel to 3 mm, in thicknesses")),
    (10.0, shop_figure("tightest bend of steel to 10 mm, in thicknesses")),
    (math.inf, shop_figure("tightest bend of thicker steel, in thicknesses")),
)
TIGHTEST_STAINLESS: Final = shop_figure("tightest bend of stainless steel, in thicknesses")
TIGHTEST_SOFT: Final = shop_figure("tightest bend of soft aluminium and brass, in thicknesses")
TIGHTEST_HARD: Final = shop_figure("tightest bend of hard aluminium, in thicknesses")
"""Inside radii below which the outer fibre cracks, in thicknesses (`shop_figures.csv`)."""
HARD: Final = 200.0
"""Yield strength from which aluminium counts as hard, N/mm2 (ours: 6082-T6 has 250, 5754 some 80 to 130)."""
SHORT_TON: Final = 2000 * POUND_FORCE
"""The ton that presses are rated in where lengths are in inches: 2,000 pounds-force, N."""
TENSILE: Final = {"steel": 450.0, "stainless steel": 700.0, "aluminium": 300.0}
"""Tensile strengths that charts of press forces are made for, N/mm2 (those of tool makers)."""
ABOUT: Final = math.cos(math.radians(45))
"""An edge looks down, up or aside if it does so within 45 degrees (ours)."""
SQUARE: Final = math.radians(45)
"""Where the outline turns by this much or more at the end of the edge, nothing beside the bend is in its way (ours)."""
PAST_BEND: Final = 1.0
"""How far a notch goes past where the bend begins, in thicknesses (common practice: half to one)."""
OVERLAPS: Final = 1e-3
"""Area that two parts of a blank may share by rounding, mm2 (ours)."""
SHORTEST: Final = 3.0
"""A flange less wide than so many thicknesses is a tab that is bent (ours)."""


def die_opening(thickness: float, radius: float = 0.0) -> float:
    """The V that sheet so thick is bent in, the one in stock nearest to what charts advise, or to a larger radius; mm.

    >>> die_opening(6.0), die_opening(6.0, 16.0)
    (50.0, 100.0)
    """
    usual = next(factor for most, factor in DIES if thickness <= most) * thickness
    wanted = max(usual, radius / RADIUS_IN_DIES)
    # of two as near the wider one: it bends with less force
    return float(min(STOCK_DIES, key=lambda die: (round(abs(math.log(die / wanted)), 9), -die)))


def usual_radius(material: tables.Material, thickness: float) -> float:
    """The inside radius that the first die in stock gives which does not crack the material, mm."""
    least, usual = tightest(material, thickness) or 0.0, die_opening(thickness)
    radii = [RADIUS_IN_DIES * die for die in STOCK_DIES if die >= usual]
    return next((radius for radius in radii if radius >= least - SAME_LENGTH), max(least, *radii, 0.0))


def tightest(material: tables.Material, thickness: float) -> float | None:
    """The smallest inside radius that a material takes cold, mm; None for one that is not bent on a brake."""
    match material.family:
        case "steel":
            factor = next(factor for most, factor in TIGHTEST_STEEL if thickness <= most)
        case "stainless steel":
            factor = TIGHTEST_STAINLESS
        case "aluminium":
            factor = TIGHTEST_HARD if material.yield_strength >= HARD else TIGHTEST_SOFT
        case "brass":
            factor = TIGHTEST_SOFT
        case _:
            return None
    return factor * thickness


def press_force(flange: PlacedFlange, family: str) -> float | None:
    """About what a press brake needs for the bend, N; None for a material that no chart is at hand for.

    1.5 Rm t2 L / V: what charts of tool makers come to, within a tenth.
    """
    strength = TENSILE.get(family)
    if strength is None:
        return None
    return FORCE * strength * flange.thickness**2 * flange.length / flange.die


def press_words(newtons: float, unit: Unit) -> str:
    """A press force (N) as presses are rated: in kN, or in short tons where lengths are in inches.

    >>> press_words(188_568, "mm"), press_words(188_568, "in")
    ('190 kN', '21 tons')
    """
    return f"{float(f'{newtons / 1000:.2g}'):g} kN" if unit == "mm" else f"{newtons / SHORT_TON:.2g} tons"


def shortest_height(flange: PlacedFlange) -> float:
    """How far a flange has to stand off the face to lie on both edges of its die, mm."""
    return LEG_IN_DIES * flange.die - flange.thickness


def with_flange(
    spec: Spec, outline: Shape, limits: PlateLimits, material: tables.Material
) -> tuple[Shape, PlacedFlange | None]:
    """The outline of the blank, and the flange that the spec asks for (plate frame, mm).

    Raises `SpecError` where no straight edge looks that way, or the flange is all bend.
    """
    words = spec.model.plate.flange
    if words is None:
        return outline, None
    thickness = spec.model.plate.thickness
    radius = usual_radius(material, thickness) if words.radius == "auto" else words.radius
    if words.height <= radius + SAME_LENGTH:
        found = (
            f"{show_length(words.height, spec.unit)}, all of it bend of {show_length(radius, spec.unit)} inside radius"
        )
        least = show_length(LEG_IN_DIES * die_opening(thickness, radius) - thickness, spec.unit)
        raise SpecError((spec.problem(f"{FIELD}.height", found, f"{least} or more lies on the die"),))
    if spec.model.plate.feet is not None and words.edge == "bottom":
        wanted = "bend another edge, or leave `feet` out and let the plate stand on the flange"
        raise SpecError((spec.problem(f"{FIELD}.edge", "a flange at the edge that has feet", wanted),))
    # no narrower than the process can cut round its bottom, as beside the tabs of a guard
    notch = max(thickness, 2 * limits.inside_radius.value, 2 * limits.kerf.value)
    edges = outline.loop().edges
    index = _edge_towards(outline, spec.model.plate.up, words.edge)
    narrowest = 2 * notch + SHORTEST * thickness
    if index is None or edges[index].length < narrowest:
        found = "no straight edge" if index is None else f"one of {show_length(edges[index].length, spec.unit)}"
        wanted = f"a straight edge of {show_length(narrowest, spec.unit)} or more can be bent: a rectangle has one"
        raise SpecError((spec.problem(f"{FIELD}.edge", f"{found} at the {words.edge}", f"{wanted}, or name another"),))
    edge = edges[index]
    ux, uy = edge.direction(0.0)
    ways = (edges[index - 1].direction(1.0), edges[(index + 1) % len(edges)].direction(0.0))
    turns = (turn_between(ways[0], (ux, uy)), turn_between((ux, uy), ways[1]))
    notches = tuple(0.0 if turn >= SQUARE else notch for turn in turns)
    start, end = edge.at(notches[0] / edge.length), edge.at(1 - notches[1] / edge.length)
    deep = max(PAST_BEND * thickness, notch / 2)

    def notched(at: Point, other: Point) -> list[Vertex]:
        """A notch from one place of the edge to another, its bottom round, as it is met going round."""
        straight = deep - notch / 2
        inner = [(x - straight * uy, y + straight * ux) for x, y in (at, other)]
        return [(*at, 0.0), (*inner[0], -1.0), (*inner[1], 0.0), (*other, 0.0)]

    def sound(vertices: Iterable[Vertex]) -> Loop:
        """The loop, if no notch runs out of the plate on its other side."""
        try:
            return loop_of(vertices)
        except GeometryError as error:
            found, wanted = f"a plate that its notches cut up: {error.why}", "name a side where the plate is deeper"
            raise SpecError((spec.problem(f"{FIELD}.edge", found, wanted),)) from error

    loop = outline.loop().vertices
    before = notched(edge.a, start) if notches[0] else [(*edge.a, 0.0)]
    # the vertex at the edge's other end belongs to the edge that follows
    after = notched(end, edge.b)[:-1] if notches[1] else []
    beyond = [loop[(index + 1 + k) % len(loop)] for k in range(len(loop) - 1)]
    flange = PlacedFlange(
        edge=words.edge,
        side=words.towards,
        start=start,
        end=end,
        height=words.height,
        radius=radius,
        thickness=thickness,
        k=k_factor(radius, thickness),
        die=die_opening(thickness, radius),
        flat=sound((*before, *after, *beyond)),
    )
    out = [(x + flange.blank * uy, y - flange.blank * ux, 0.0) for x, y in (start, end)]
    strip = clean_loop(((*start, 0.0), *out, (*end, 0.0)))
    if math.fsum(part.area for part in intersection(flange.flat, strip)) > OVERLAPS:
        found = f"a blank that goes on by {show_length(flange.blank, spec.unit)} there and runs into the plate itself"
        raise SpecError((spec.problem(f"{FIELD}.edge", found, "name another edge, or make it less high"),))
    return sound((*before, *out, *after, *beyond)), flange


def _edge_towards(outline: Shape, up: float, side: str) -> int | None:
    """The number of the longest straight edge that looks about that way; of equals the outermost, then the first."""
    turn = {"top": 0.0, "left": math.pi / 2, "bottom": math.pi, "right": -math.pi / 2}[side]
    wx, wy = math.cos(up + turn), math.sin(up + turn)
    found: list[tuple[float, float, int]] = []
    for number, edge in enumerate(outline.loop().edges):
        (ux, uy), (x, y) = edge.direction(0.0), edge.at(0.5)
        if isinstance(edge, Line) and uy * wx - ux * wy > ABOUT - EPS:
            found.append((-round(edge.length, 6), -round(x * wx + y * wy, 6), number))
    return min(found)[2] if found else None


def flange_bodies(flange: PlacedFlange | None, limits: PlateLimits) -> Iterator[Body]:
    """The flange as it is bent (plate frame, mm): in the way of all that comes near."""
    if flange is None:
        return
    (ox, oy), (sx, sy), (ex, ey) = flange.out, flange.start, flange.end
    off = sx * ox + sy * oy
    ends = sorted(x * oy - y * ox for x, y in ((sx, sy), (ex, ey)))
    corners = dict(zip(("o0", "o1", "o2", "i2", "i1", "i0"), flange.profile_from_outside, strict=True))
    spots = {name: (off + o, z) for name, (o, z) in corners.items()}
    bulge = math.tan(math.pi / 8) * (1 if flange.side == "near" else -1)
    # the hollow side of the bend is told as its chord: what is nearer is in the bend all but the same
    bend = [(*spots["i0"], 0.0), (*spots["o0"], bulge), (*spots["o1"], 0.0), (*spots["i1"], 0.0)]
    leg = [(*spots[name], 0.0) for name in ("i1", "o1", "o2", "i2")]
    pieces = []
    for ring in (bend, leg):
        if flange.side == "far":  # the other way round: each bulge then belongs to the vertex before
            ring = [(x, y, -ring[k - 1][2]) for k, (x, y, _) in reversed(list(enumerate(ring)))]
        pieces.append(StandingPrism(Loop(tuple(ring)), (ox, oy), ends[0], ends[1]))
    far = flange.radius + flange.thickness
    covered = clean_loop(
        (x, y, 0.0)
        for x, y in (
            (sx, sy),
            (sx + far * ox, sy + far * oy),
            (ex + far * ox, ey + far * oy),
            (ex, ey),
        )
    )
    yield Body(
        name=NAME,
        kind="given",
        carrier="plate",
        side=flange.side,
        shape=covered,
        swept=covered,
        z=(min(piece.low for piece in pieces), max(piece.high for piece in pieces)),
        gap=limits.gap.value,
        relief=False,
        field=FIELD,
        pieces=tuple(pieces),
    )
