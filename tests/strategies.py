"""Whole specs for hypothesis: every word of the language, sensible and senseless figures, as YAML text.

A spec is drawn as plain data in millimetres and degrees, whose lengths and angles know that they are such (`Mm`,
`Deg`), so that the same plate can be written in inches, moved, turned or mirrored before it becomes text.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from platekit import tables
from platekit.tables import belts as belt_tables
from platekit.tables.processes import process_names

Data = dict[str, Any]

PROCESSES = process_names()
RULES = ("overlap", "web", "edge", "blocked", "clash", "grip", "small-hole", "sharp-corner", "no such rule")


class Mm(float):
    """A length, mm."""


class Deg(float):
    """An angle, degrees."""


# --------------------------------------------------------------------------------------------- figures


@dataclass(frozen=True)
class Figures:
    """Where figures come from: sizes (above zero), places (either sign) and angles.

    `apart` is what mounts keep from each other, `reach` how far everything else goes from its carrier, mm.
    """

    size: SearchStrategy[float]
    place: SearchStrategy[float]
    angle: SearchStrategy[float]
    small: SearchStrategy[float]
    apart: SearchStrategy[float]
    thickness: SearchStrategy[float]
    sound: bool = False
    """Whether what a plate cannot have, such as a tapped slot or a screw without a head, is left out."""


def _decimals(low: int, high: int, parts: int) -> SearchStrategy[float]:
    """Figures with few decimals, as people write them: whole numbers divided by `parts`."""
    return st.integers(low, high).map(lambda n: n / parts)


USUAL = Figures(
    size=_decimals(4, 160, 2) | _decimals(50, 900, 7),
    place=_decimals(-150, 150, 1) | _decimals(-600, 600, 7),
    angle=st.sampled_from([0.0, 15.0, 30.0, 45.0, 60.0, 90.0, 135.0, 180.0, 270.0]) | _decimals(-3600, 3600, 10),
    small=_decimals(1, 24, 4),
    apart=_decimals(100, 320, 1),
    thickness=st.sampled_from([3.0, 5.0, 6.0, 8.0, 10.0, 12.7, 15.0, 20.0]),
    sound=True,
)
"""Figures of a plate that someone could have."""

AWKWARD_SIZES = (1e-9, 1e-6, 1e-3, 0.1, 1.0, 25.4, 999.999, 1e4, 99_999.0, 1e5)
AWKWARD_PLACES = (0.0, -0.0, 1e-12, 1e-7, -1e-6, 0.001, 50.0, -50.0, 1e4, -99_999.5, 1e5)
AWKWARD = Figures(
    size=st.sampled_from(AWKWARD_SIZES) | USUAL.size,
    place=st.sampled_from(AWKWARD_PLACES) | USUAL.place,
    angle=st.sampled_from([0.0, 1e-9, -1e-6, 90.0, 180.0, 359.999999, 360.0, 720.0, -3600.0, 36_000.0]) | USUAL.angle,
    small=st.sampled_from(AWKWARD_SIZES) | USUAL.small,
    apart=st.sampled_from(AWKWARD_SIZES) | USUAL.apart,
    thickness=st.sampled_from(AWKWARD_SIZES) | USUAL.thickness,
)
"""Figures that a plate can hardly have, yet the language allows: the smallest, the largest, equal and degenerate."""


def lengths(of: SearchStrategy[float]) -> SearchStrategy[Mm]:
    """Lengths with these figures."""
    return of.map(Mm)


def angles(figures: Figures) -> SearchStrategy[Deg]:
    """Angles with these figures."""
    return figures.angle.map(Deg)


def points(figures: Figures) -> SearchStrategy[list[Mm]]:
    """[x, y] pairs."""
    return st.tuples(lengths(figures.place), lengths(figures.place)).map(list)


# --------------------------------------------------------------------------------------------- parts


@cache
def screws() -> tuple[str, ...]:
    """Every screw of the tables."""
    return tables.screw_sizes()


@cache
def standards() -> tuple[str, ...]:
    """Every standard mount of the tables."""
    return tuple(tables.names())


@cache
def materials() -> tuple[str, ...]:
    """Every material of the tables."""
    return tuple(tables.materials())


SMALL_SCREWS = ("M4", "M5", "M6", "M8", "M10", "M12", "1/4-20", "5/16-18", "3/8-16")
"""Screws of which the tables hold every head, nut and washer."""


@st.composite
def star(draw: DrawFn, figures: Figures, plain: bool = False) -> list[list[Mm]]:
    """The corners of a polygon: round a middle at changing distances (never crossing itself), or any points at all."""
    if not plain and draw(st.integers(0, 5)) == 0:
        return draw(st.lists(points(figures), min_size=3, max_size=7))
    count = draw(st.integers(3, 8))
    radii = draw(st.lists(figures.size, min_size=count, max_size=count))
    turn = draw(st.integers(0, 359))
    corners = [(r, math.radians(turn + 360 * k / count)) for k, r in enumerate(radii)]
    return [[Mm(round(r * math.cos(a), 3)), Mm(round(r * math.sin(a), 3))] for r, a in corners]


@st.composite
def shapes(draw: DrawFn, figures: Figures, placed: bool = True) -> Data:
    """A flat shape of any kind; `placed` gives it a place and a turn now and then."""
    kind = draw(st.sampled_from(["circle", "circle", "rectangle", "slot", "polygon"]))
    shape: Data = {kind: draw(_SHAPES[kind](figures))}
    if placed and draw(st.booleans()):
        shape["at"] = draw(points(figures))
    if placed and kind != "circle" and draw(st.booleans()):
        shape["turn"] = draw(angles(figures))
    return shape


def circle_shape(figures: Figures) -> SearchStrategy[Data]:
    """A disc by its diameter."""
    return st.fixed_dictionaries({"diameter": lengths(figures.size)})


def rectangle_shape(figures: Figures) -> SearchStrategy[Data]:
    """A rectangle, with a corner radius now and then, which may be too large."""
    sides = {"width": lengths(figures.size), "height": lengths(figures.size)}
    return st.fixed_dictionaries(sides, optional={"corner": lengths(figures.small)})


def slot_shape(figures: Figures) -> SearchStrategy[Data]:
    """A slot, most of them longer than wide."""
    return st.tuples(lengths(figures.size), lengths(figures.size)).map(
        lambda both: {"length": max(both), "width": min(both)}
    )


@st.composite
def polygon_shape(draw: DrawFn, figures: Figures) -> Data:
    """A polygon with no, one, or each its own corner radius."""
    corners = draw(star(figures))
    rounding = draw(st.integers(0, 2))
    if rounding == 0:
        return {"points": corners}
    if rounding == 1:
        return {"points": corners, "corner": draw(lengths(figures.small))}
    each = draw(st.lists(lengths(st.just(0.0) | figures.small), min_size=len(corners), max_size=len(corners)))
    return {"points": corners, "corner": each}


_SHAPES: dict[str, Callable[[Figures], SearchStrategy[Data]]] = {
    "circle": circle_shape,
    "rectangle": rectangle_shape,
    "slot": slot_shape,
    "polygon": polygon_shape,
}


@st.composite
def patterns(draw: DrawFn, figures: Figures) -> Data:
    """Where a mount's holes are, of every kind; holes with or without a size of their own."""
    kind = draw(st.sampled_from(["circle", "circle", "angles", "rectangle", "points", "standard"]))
    hole = {"hole": draw(lengths(_decimals(8, 60, 4) | figures.small))} if draw(st.integers(0, 2)) == 0 else {}
    if kind == "circle":
        start = {"start": draw(angles(figures))} if draw(st.booleans()) else {}
        return {"circle": {"count": draw(st.integers(1, 6)), "diameter": draw(lengths(figures.size)), **start, **hole}}
    if kind == "angles":
        places = draw(st.lists(angles(figures), min_size=1, max_size=5))
        return {"circle": {"angles": places, "diameter": draw(lengths(figures.size)), **hole}}
    if kind == "rectangle":
        return {"rectangle": {"width": draw(lengths(figures.size)), "height": draw(lengths(figures.size)), **hole}}
    if kind == "points":
        return {"points": draw(st.lists(points(figures), min_size=1, max_size=5)), **hole}
    return {"standard": draw(st.sampled_from(standards())), **hole}


@st.composite
def bolts(draw: DrawFn, figures: Figures, standard: bool) -> Data:
    """Screws of every kind; those that pass a part have its flange."""
    into = draw(st.sampled_from(["part", "part", "plate", "nut"]))
    given: Data = {"into": into}
    if not standard or draw(st.integers(0, 3)) == 0:
        given["size"] = draw(st.sampled_from(SMALL_SCREWS if figures.sound else (*SMALL_SCREWS, *screws())))
    if into == "part":
        given["depth"] = draw(lengths(_decimals(8, 60, 1) | figures.small))
        if draw(st.booleans()):
            given["thread_in"] = draw(st.sampled_from(["steel", "cast iron", "aluminium"]))
    elif figures.sound or draw(st.integers(0, 7)) != 0:
        given["flange"] = draw(lengths(_decimals(2, 25, 1) | figures.small))
    given["head"] = draw(st.sampled_from(["hex", "hex", "socket", "countersunk"]))
    if given["head"] == "socket" and into != "plate":
        given["counterbore"] = draw(st.booleans())
    given["washer"] = draw(st.booleans())
    given["fit"] = draw(st.sampled_from(["close", "normal", "loose"]))
    if draw(st.integers(0, 3)) == 0:
        given["length"] = draw(lengths(_decimals(10, 80, 1) | figures.size))
    if draw(st.integers(0, 3)) == 0:
        given["made"] = draw(st.sampled_from(["auto", "cut", "drill"]))
    return given


@st.composite
def take_ups(draw: DrawFn, figures: Figures) -> Data:
    """Straight and swinging travel, some of it none at all, some of it more than a turn."""
    if draw(st.booleans()):
        reach = lengths(_decimals(0, 40, 1) | figures.small)
        return {"slots": {"along": draw(angles(figures)), "install": draw(reach), "tension": draw(reach)}}
    turn = _decimals(0, 40, 1) | st.sampled_from([0.0, 1e-6, 90.0, 179.0, 180.0, 200.0, 359.5, 360.0, 400.0])
    swing: Data = {
        "about": draw(points(figures)),
        "tightens": draw(st.sampled_from(["clockwise", "counter-clockwise"])),
        "install": Deg(draw(turn)),
        "tension": Deg(draw(turn)),
    }
    if draw(st.booleans()):
        swing["pivot_hole"] = draw(lengths(figures.small))
    return {"swing": swing}


@st.composite
def mounts(draw: DrawFn, figures: Figures, before: list[str]) -> Data:
    """A mount on either side, at the zero, at a point, or measured from one of those before it."""
    pattern = draw(patterns(figures))
    standard = "standard" in pattern
    mount: Data = {"side": draw(st.sampled_from(["near", "far"]))}
    if not standard:
        mount["looking_at"] = draw(st.sampled_from(["face", "face", "back"]))
    mount["pattern"] = pattern
    if not _has_hole(pattern) or draw(st.integers(0, 2)) != 0:
        mount["bolts"] = draw(bolts(figures, standard))
        if figures.sound and standard and tables.mount(pattern["standard"]).screw is None:
            mount["bolts"].setdefault("size", draw(st.sampled_from(SMALL_SCREWS)))
    place = draw(st.integers(0, 3))
    if before and place != 0:
        mount["at"] = {
            "from": draw(st.sampled_from(before)),
            "distance": draw(lengths(figures.apart)),
            "angle": draw(angles(figures)),
        }
    elif place > 1:
        mount["at"] = draw(points(figures))
    if draw(st.booleans()):
        mount["turn"] = draw(angles(figures))
    if draw(st.integers(0, 2)) == 0:
        mount["pilot"] = draw(pilots(figures))
    if draw(st.integers(0, 3)) == 0:
        mount["standoff"] = draw(lengths(_decimals(0, 20, 1) | figures.small))
    if draw(st.integers(0, 2)) == 0:
        mount["take_up"] = draw(take_ups(figures))
    if figures.sound and mount.get("bolts", {}).get("into") == "plate":
        mount.pop("take_up", None)
        mount["pattern"] = _without_hole(pattern)
    if standard and draw(st.integers(0, 3)) == 0:
        mount["standard_bodies"] = False
    return mount


def _has_hole(pattern: Data) -> bool:
    return "hole" in pattern or any(isinstance(inner, dict) and "hole" in inner for inner in pattern.values())


def _without_hole(pattern: Data) -> Data:
    return {
        key: _without_hole(value) if isinstance(value, dict) else value
        for key, value in pattern.items()
        if key != "hole"
    }


@st.composite
def pilots(draw: DrawFn, figures: Figures) -> Data:
    """A pilot with every kind of opening."""
    pilot: Data = {"diameter": draw(lengths(figures.size))}
    if draw(st.booleans()):
        pilot["depth"] = draw(lengths(_decimals(0, 12, 2) | figures.small))
    if draw(st.booleans()):
        pilot["opening"] = draw(st.sampled_from(["through", "recess", "none"]))
    if draw(st.integers(0, 3)) == 0:
        pilot["clearance"] = draw(st.just("auto") | lengths(_decimals(0, 8, 10)))
    return pilot


@st.composite
def bodies(draw: DrawFn, figures: Figures, carriers: list[str], others: list[str]) -> Data:
    """A body on any carrier, in the plate, through it, or clear of it."""
    carrier = draw(st.sampled_from([*carriers, "plate"]))
    body: Data = {"carried_by": carrier, "shape": draw(shapes(figures))}
    if carrier == "plate":
        body["side"] = draw(st.sampled_from(["near", "far"]))
    low = draw(_decimals(-60, 20, 1) | figures.place)
    body["span"] = [Mm(low), Mm(low + draw(_decimals(1, 90, 1) | figures.size))]
    if draw(st.booleans()):
        body["gap"] = draw(lengths(_decimals(0, 12, 2) | figures.small))
    if draw(st.booleans()):
        body["relief"] = draw(st.sampled_from(["auto", "auto", "none"]))
    if others and draw(st.integers(0, 3)) == 0:
        body["touches"] = [draw(st.sampled_from(others))]
    return body


@st.composite
def outlines(draw: DrawFn, figures: Figures) -> Data:
    """An outside of every kind."""
    kind = draw(st.sampled_from(["wrap", "waist", "rectangle", "disc", "polygon"]))
    if kind == "waist":
        own = st.just("auto") | lengths(_decimals(1, 400, 1) | figures.small)
        return {"waist": draw(st.fixed_dictionaries({}, optional={"margin": own, "radius": own, "narrowest": own}))}
    if kind == "wrap":
        return {"wrap": {"margin": draw(st.just("auto") | lengths(_decimals(0, 60, 1) | figures.small))}}
    wide = lengths(_decimals(200, 900, 1) | figures.size)
    outline: Data
    if kind == "rectangle":
        outline = {kind: {"width": draw(wide), "height": draw(wide)}}
        if draw(st.booleans()):
            outline[kind]["corner"] = draw(lengths(figures.small))
    elif kind == "disc":
        outline = {kind: {"diameter": draw(wide)}}
    else:
        corners = [[Mm(3 * x), Mm(3 * y)] for x, y in draw(star(figures))]
        outline = {kind: {"points": corners}}
        if draw(st.booleans()):
            outline[kind]["corner"] = draw(lengths(figures.small))
    if draw(st.booleans()):
        outline["at"] = draw(points(figures))
    if draw(st.booleans()):
        outline["turn"] = draw(angles(figures))
    return outline


def tabs(figures: Figures) -> SearchStrategy[Data]:
    """Tongues on the outline, most of them out of the plate."""
    far = st.sampled_from([-1, 1]).flatmap(lambda sign: _decimals(120, 400, 1).map(lambda n: Mm(sign * n)))
    at = st.tuples(far, lengths(figures.place)).map(list) | st.tuples(lengths(figures.place), far).map(list)
    own = {
        "hole": lengths(figures.small),
        "towards": angles(figures),
        "radius": st.just("auto") | lengths(figures.small),
    }
    width = lengths(_decimals(20, 90, 1) | figures.size)
    drawn: SearchStrategy[Data] = st.fixed_dictionaries({"at": at, "width": width}, optional=own)
    return drawn.filter(lambda tab: tab.get("hole", 0.0) < tab["width"])


def feet(figures: Figures) -> SearchStrategy[Data]:
    """Two feet or one standing edge, most of them below the plate."""
    own = {
        "apart": lengths(_decimals(100, 400, 1)),
        "middle": lengths(figures.place),
        "radius": st.just("auto") | lengths(figures.small),
    }
    needed = {
        "level": lengths(_decimals(-700, -150, 1) | figures.place),
        "width": lengths(_decimals(20, 90, 1) | figures.size),
    }
    holes = st.fixed_dictionaries({"hole": lengths(figures.small)}, optional={"hole_height": lengths(figures.small)})
    return st.tuples(st.fixed_dictionaries(needed, optional=own), st.just({}) | holes).map(lambda two: two[0] | two[1])


def flanges(figures: Figures) -> SearchStrategy[Data]:
    """A bent edge, most of them high enough for their die."""
    needed = {
        "edge": st.sampled_from(["bottom", "top", "left", "right"]),
        "height": lengths(_decimals(20, 120, 1) | figures.size),
        "towards": st.sampled_from(["near", "far"]),
    }
    return st.fixed_dictionaries(needed, optional={"radius": st.just("auto") | lengths(figures.small)})


def limits(figures: Figures) -> SearchStrategy[Data]:
    """Limits of one's own."""
    small = lengths(figures.small)
    return st.fixed_dictionaries(
        {}, optional=dict.fromkeys(("smallest_hole", "web", "edge", "inside_radius", "gap"), small)
    )


# --------------------------------------------------------------------------------------------- wholes

NAMES = ("machine", "motor", "jack plate")
BODY_NAMES = ("lug", "housing", "oil cup")
CUTOUT_NAMES = ("cable", "window")
TAB_NAMES = ("earth", "eye")
SELDOM = st.sampled_from([False, False, False, False, False, True])
"""Once in a while: of whole numbers hypothesis draws the ends far more often than the rest."""


@st.composite
def plates(draw: DrawFn, figures: Figures = USUAL, moves: bool | None = None, edged: bool = True) -> Data:
    """A whole spec as data. `moves` False leaves travel out, True gives every mount some.

    `edged` lets it have tabs, feet and a bent edge now and then; those often do not suit the rest that is drawn.
    """
    plate: Data = {
        "material": draw(st.sampled_from(["mild steel", "6082-T6"]) | st.sampled_from(materials())),
        "thickness": draw(lengths(figures.thickness)),
    }
    if draw(st.integers(0, 4)) != 0:
        plate["outline"] = draw(outlines(figures))
    cutouts = {name: draw(shapes(figures)) for name in CUTOUT_NAMES[: draw(st.integers(0, 2))]}
    if cutouts:
        plate["cutouts"] = cutouts
    if edged and draw(SELDOM):
        plate["tabs"] = {name: draw(tabs(figures)) for name in TAB_NAMES[: draw(st.integers(1, 2))]}
    if edged and draw(SELDOM):
        plate["feet"] = draw(feet(figures))
    if edged and draw(SELDOM):
        plate["flange"] = draw(flanges(figures))
    placed: Data = {}
    for name in NAMES[: draw(st.sampled_from([1, 1, 1, 2, 2, 3]))]:
        placed[name] = draw(mounts(figures, list(placed)))
        if moves is False:
            placed[name].pop("take_up", None)
        elif moves and placed[name].get("bolts", {}).get("into") != "plate":
            placed[name]["take_up"] = draw(take_ups(figures))
    spec: Data = {"platekit": 1, "title": "A plate", "units": "mm", "plate": plate, "mounts": placed}
    named: Data = {}
    for name in BODY_NAMES[: draw(st.sampled_from([0, 0, 1, 2, 3]))]:
        named[name] = draw(bodies(figures, list(placed), list(named)))
    if named:
        spec["bodies"] = named
    cutting: Data = {"process": draw(st.sampled_from(PROCESSES))}
    if draw(st.booleans()):
        cutting["kerf"] = draw(lengths(_decimals(1, 20, 10)))
    if draw(st.integers(0, 3)) == 0:
        cutting["sheet"] = [Mm(draw(_decimals(100, 3000, 1))), Mm(draw(_decimals(100, 1500, 1)))]
    spec["cutting"] = cutting
    if draw(st.integers(0, 3)) == 0:
        spec["limits"] = draw(limits(figures))
    if draw(st.booleans()):
        spec["paper"] = draw(papers())
    if draw(st.integers(0, 5)) == 0:
        spec["accept"] = draw(st.lists(acceptances(list(placed), list(named)), max_size=2))
    return spec


@st.composite
def machines(draw: DrawFn, figures: Figures = USUAL) -> Data:
    """A plate with what goes beyond holes and bodies: a drive with its belt, a guard, measured holes, bodies of every
    kind, copies on a sheet, pads, a measured print.
    """
    spec = draw(plates(figures))
    placed = spec["mounts"]
    for name in NAMES[: draw(st.sampled_from([2, 2, 3]))]:
        placed.setdefault(name, draw(mounts(figures, list(placed))))
    if draw(st.integers(0, 1)):
        placed["machine"]["pattern"] = {"measured": draw(measured_patterns(figures))}
        placed["machine"].setdefault("looking_at", "face")
        placed["machine"].setdefault("bolts", {"size": "M8", "into": "nut", "flange": Mm(10.0)})
        placed["machine"]["bolts"].setdefault("size", "M8")
    if draw(st.integers(0, 3)):
        spec["drive"] = draw(drives(figures, list(placed)))
        _driven(draw, figures, placed["motor"])
        if draw(st.booleans()):
            _laid_down(draw, figures, placed, spec["drive"])
        if draw(st.booleans()):
            spec["guard"] = draw(guards(figures))
    spec.setdefault("bodies", {}).update(draw(st.fixed_dictionaries({}, optional=_odd_bodies(figures, list(placed)))))
    if draw(SELDOM):
        spec["couplings"] = draw(coupled(figures))["couplings"]
    for mount in placed.values():
        if draw(st.integers(0, 4)) == 0:
            mount["pad"] = draw(shapes(figures))
        if draw(st.integers(0, 4)) == 0:
            mount["original"] = draw(st.booleans())
    if draw(st.integers(0, 3)) == 0:
        spec["cutting"]["copies"] = draw(st.integers(1, 6))
        spec["cutting"].setdefault("sheet", [Mm(1500.0), Mm(1000.0)])
    if draw(st.integers(0, 3)) == 0:
        spec.setdefault("paper", {"size": "a4"})["measured"] = draw(bars())
    return spec


def _driven(draw: DrawFn, figures: Figures, motor: Data) -> None:
    """Now and then the belt decides where the motor goes and how far it travels."""
    if draw(st.booleans()):
        motor["at"] = {"belt": {"from": "machine", "angle": draw(angles(figures))}}
    reach = st.just("auto") | lengths(_decimals(0, 40, 1))
    turn = st.just("auto") | _decimals(0, 30, 1).map(Deg)
    kind = draw(st.integers(0, 3))
    if kind == 1:
        along = draw(st.just("belt") | angles(figures))
        motor["take_up"] = {"slots": {"along": along, "install": draw(reach), "tension": draw(reach)}}
    elif kind == 2:
        motor["take_up"] = {
            "swing": {
                "about": draw(points(figures)),
                "tightens": draw(st.sampled_from(["clockwise", "counter-clockwise"])),
                "install": draw(turn),
                "tension": draw(turn),
            }
        }


@st.composite
def countershafts(draw: DrawFn, figures: Figures = USUAL) -> Data:
    """Belts over shafts along the plate, most of them sound: a motor on feet, perhaps a countershaft, a machine."""
    by_belt = st.sampled_from([0.0, 180.0]).map(lambda angle: {"belt": {"from": "machine", "angle": Deg(angle)}})
    machine: Data = {"side": "far", "at": [Mm(-250.0), Mm(0.0)], "looking_at": "face"}
    machine["pattern"] = {"rectangle": {"width": Mm(120.0), "height": Mm(160.0)}}
    machine["bolts"] = {"size": "M10", "into": "part", "depth": Mm(25.0)}
    motor: Data = {"side": draw(st.sampled_from(["near", "near", "near", "far"])), "at": draw(by_belt)}
    if draw(SELDOM):
        motor["at"] = [Mm(draw(_decimals(100, 400, 1))), Mm(draw(_decimals(-150, 150, 1)))]
    placed: Data = {"machine": machine, "motor": motor}
    drive: Data = {"driver": {"on": "motor"}, "driven": {"on": "machine"}, "belt": draw(belts(False))}
    if "choose" in drive["belt"]:
        drive["belt"]["near"] = Mm(draw(_decimals(250, 700, 1)))
    for end in ("driver", "driven"):
        drive[end]["pitch_diameter"] = Mm(draw(_decimals(90, 220, 1)))
        drive[end]["span"] = draw(seats(draw(st.sampled_from([10.0, 25.0]))))
        if isinstance(motor["at"], dict) and "in_line" in drive[end]["span"] and not draw(SELDOM):
            drive[end]["span"] = [Mm(20.0), Mm(40.0)]  # else nothing tells where along the shafts the motor goes
    if draw(SELDOM):
        drive["idlers"] = [draw(idlers(figures, "motor", "machine"))]
    _laid_down(draw, figures, placed, drive)
    motor.setdefault("pattern", {"rectangle": {"width": Mm(140.0), "height": Mm(100.0)}})
    motor.setdefault("bolts", {"size": "M8", "into": "nut", "flange": Mm(10.0)})
    if "standard" not in motor["pattern"]:
        motor["looking_at"] = draw(st.sampled_from(["face", "back"]))
    if draw(st.booleans()):
        drive["motor"] = dict(PLATE)
    outline = {"rectangle": {"width": Mm(900.0), "height": Mm(draw(_decimals(150, 600, 1)))}}
    plate: Data = {"material": "mild steel", "thickness": Mm(12.0), "outline": outline}
    spec: Data = {"platekit": 1, "title": "A countershaft", "units": "mm", "plate": plate, "mounts": placed}
    names = ("lug", "floor")[: draw(st.integers(0, 2))]
    spec["bodies"] = {name: draw(bodies(figures, list(placed), [])) for name in names}
    if draw(SELDOM):
        spec["guard"] = draw(guards(figures))
    return {**spec, "drive": drive, "cutting": {"process": "laser"}}


FEET = {"IEC 90S": "M8", "IEC 71": "M6", "IEC 112M": "M10", "NEMA 182T": "3/8-16", "NEMA 56": "5/16-18"}
"""Motors on feet, and screws for them."""


def _laid_down(draw: DrawFn, figures: Figures, placed: Data, drive: Data) -> None:
    """Shafts along the plate: a motor on feet beside a shaft that is told, most often parallel to it; and packing."""
    motor, machine = placed["motor"], placed["machine"]
    if not draw(SELDOM):
        motor["pattern"] = {"standard": draw(st.sampled_from(tuple(FEET)))}
        motor.pop("looking_at", None)
        motor["bolts"] = {"size": "M8", "into": "nut", "flange": Mm(10.0)}
    else:
        motor["shaft"] = draw(told_shafts(figures))
    if figures.sound:
        machine["pattern"] = {"rectangle": {"width": Mm(120.0), "height": Mm(draw(_decimals(60, 400, 1)))}}
        machine["looking_at"] = "face"
        machine["bolts"] = {"size": "M10", "into": "part", "depth": Mm(25.0)}
        for mount in (motor, machine):
            mount.pop("pilot", None)
    if not draw(SELDOM):
        machine["shaft"] = draw(told_shafts(figures))
    else:
        machine["shafts"] = {name: draw(told_shafts(figures)) for name in ("in", "out")}
    if not draw(SELDOM):
        # parallel, so that the belt is laid out square to both: each shaft is told in its own part's frame
        motor["turn"] = machine["turn"] = Deg(0.0)
        for shaft in (motor.get("shaft"), machine.get("shaft"), *machine.get("shafts", {}).values()):
            if shaft is not None and shaft["along"] != "square":
                shaft["along"] = Deg(90.0)
    at = motor.get("at")
    if isinstance(at, dict) and "belt" in at and not draw(SELDOM):
        at["belt"]["angle"] = Deg(draw(st.sampled_from([0.0, 180.0])))
    for end in ("driver", "driven"):
        if figures.sound or draw(st.integers(0, 2)):
            drive[end].pop("at", None)
    if "shafts" in machine and not draw(SELDOM):
        drive["driven"]["shaft"] = draw(st.sampled_from(["in", "out"]))
    for idler in drive.get("idlers", ()):
        if draw(st.booleans()):
            idler["height"] = Mm(draw(_decimals(-100, 200, 1)))
    if draw(SELDOM):
        packed = draw(st.sampled_from([motor, machine]))
        packed["packing"] = "belt"
        packed.pop("standoff", None)
    motor.pop("take_up", None)
    motor.update(draw(_bases(figures)))
    if "hinge" in motor.get("take_up", {}) and "standard" in motor.get("pattern", {}) and not draw(SELDOM):
        # what is bolted down is the base; the shaft swings on it
        motor["pattern"], motor["looking_at"] = {"rectangle": {"width": Mm(260.0), "height": Mm(120.0)}}, "face"
        motor["shaft"] = {"height": Mm(200.0), "along": Deg(90.0), "stretch": [Mm(0.0), Mm(60.0)], "diameter": Mm(24.0)}


@st.composite
def _bases(draw: DrawFn, figures: Figures) -> Data:
    """What a motor on feet travels on: nothing, slots, rails, with a jacking screw, a hinge."""
    reach = st.just("auto") | lengths(_decimals(0, 40, 1))
    along = draw(angles(figures)) if draw(SELDOM) else "belt"
    straight = {"along": along, "install": draw(reach), "tension": draw(reach)}
    turn = st.just("auto") | _decimals(0, 30, 1).map(Deg)
    hinge = {"at": draw(points(figures)), "height": Mm(draw(_decimals(0, 120, 1)))}
    jack = {"size": "M10", "at": draw(points(figures)), "height": Mm(20.0), "block": Mm(12.0)}
    lug = draw(st.sampled_from([None, None, "bolted", "bent"]))
    if lug is not None:
        jack |= {"height": Mm(draw(_decimals(30, 80, 1))), "lug": {lug: draw(lugs(lug == "bent"))}}
    kinds: list[Data] = [
        {},
        {"slots": straight},
        {"rails": {**straight, "travel": Mm(90.0)}},
        {"slots": {**straight, "jack": jack}},
        {"hinge": {**hinge, "install": draw(turn), "tension": draw(turn)}},
    ]
    kind = draw(st.sampled_from(kinds))
    return {"take_up": kind} if kind else {}


@st.composite
def lugs(draw: DrawFn, bent: bool) -> Data:
    """A lug of a jacking screw that two screws hold; now and then too short, too narrow, bent too sharply."""
    into = draw(st.sampled_from(["nut", "plate"]))
    screws = {"size": draw(st.sampled_from(["M6", "M8", "M10"])), "into": into, "washer": draw(st.booleans())}
    lug: Data = {"screws": screws}
    for key in ("foot", "upright", "width", *(("bend_radius",) if bent else ())):
        if draw(SELDOM):
            lug[key] = draw(st.just("auto") | lengths(_decimals(2, 120, 1)))
    return lug


@st.composite
def layered(draw: DrawFn, figures: Figures = USUAL) -> Data:
    """Plates with a layer of their own: a ring or a second plate, pins, what stands on it or has its heads on it."""
    spec = draw(plates(figures, moves=False))
    placed, side = spec["mounts"], draw(st.sampled_from(["near", "far"]))
    spec["plate"]["thickness"] = Mm(draw(_decimals(5, 20, 1)))
    layer: Data = {"thickness": Mm(draw(_decimals(3, 20, 1)))}
    wide = draw(_decimals(60, 260, 1))
    if draw(st.booleans()):
        at = draw(st.sampled_from([[[-0.6, 0.0], [0.6, 0.0]], [[0.0, 0.6]], [[-0.6, 0.0], [0.6, 0.1]]]))
        pins: Data = {
            "size": Mm(draw(st.sampled_from([5.0, 6.0, 8.0, 7.0]))),
            "at": [[Mm(wide * c) for c in p] for p in at],
        }
        if draw(SELDOM):
            pins["length"] = Mm(draw(_decimals(8, 50, 1)))
        layer["dowels"] = pins
    if draw(SELDOM):
        layer["material"] = draw(st.sampled_from(["6082-T6", "HDPE"]))
    if draw(SELDOM):
        layer["outline"] = draw(outlines(figures))
    if draw(SELDOM):
        layer["cutouts"] = {"window": draw(shapes(figures))}
    ring: Data = {"side": side, "layer": layer}
    ring["pattern"] = {"circle": {"count": draw(st.integers(2, 8)), "diameter": Mm(wide)}}
    ring["screws"] = {
        "size": draw(st.sampled_from(["M5", "M6", "M8"])),
        "into": draw(st.sampled_from(["part", "plate", "nut"])),
    }
    if draw(st.booleans()):
        ring["at"] = draw(points(figures))
    placed["ring"] = ring
    part: Data = {
        "side": side,
        "on": "ring",
        "pattern": {"circle": {"count": 4, "diameter": Mm(draw(_decimals(40, 200, 1)))}},
    }
    part["looking_at"] = "face"
    part["screws"] = draw(bolts(figures, False))
    if part["screws"].get("into") != "plate" and draw(SELDOM):
        part["side"], part["heads_on"] = {"near": "far", "far": "near"}[side], part.pop("on")
    elif draw(st.booleans()):
        part["pilot"] = {"diameter": Mm(draw(_decimals(20, 180, 1))), "depth": Mm(draw(_decimals(1, 12, 1)))}
        part["pilot"]["opening"] = draw(st.sampled_from(["layer", "layer", "through", "none"]))
    if draw(st.booleans()):
        part["standoff"] = Mm(draw(_decimals(1, 60, 1)))
        if draw(st.booleans()):
            part["spacers"] = draw(
                st.sampled_from(
                    [
                        {"from": "tube"},
                        {"from": "bar"},
                        {"from": "plate"},
                        {"from": "tube", "outside": Mm(20.0), "bore": Mm(10.0)},
                    ]
                )
            )
    if "at" in ring and draw(st.booleans()):
        part["at"] = ring["at"]
    placed["part"] = part
    return spec


def told_shafts(figures: Figures) -> SearchStrategy[Data]:
    """A shaft as a line in its part's own frame: along the plate, below it or inside it, or square to it."""
    ends = [[Mm(0.0), Mm(60.0)], [Mm(-150.0), Mm(200.0)], *([] if figures.sound else [[Mm(10.0), Mm(10.0)]])]
    stretch = st.sampled_from(ends)
    lies = st.fixed_dictionaries(
        {
            "height": st.sampled_from([90.0, -160.0, -200.0, -60.0, 40.0, -3.0]).map(Mm),
            "along": angles(figures),
            "stretch": stretch,
            "diameter": lengths(_decimals(8, 45, 1)),
        },
        optional={"at": points(figures)},
    )
    stands = st.fixed_dictionaries(
        {"along": st.just("square"), "stretch": stretch, "diameter": lengths(_decimals(8, 45, 1))},
        optional={"at": points(figures)},
    )
    return st.one_of(lies, lies, lies, stands)


def seats(low: float, stock: bool = True) -> SearchStrategy[Any]:
    """Where along its shaft a pulley sits: a span, or what can be measured; its rim from the tables where `stock`."""
    width: SearchStrategy[Any] = st.sampled_from([20.0, 36.0]).map(Mm)
    width = st.just("auto") | width if stock else width
    end = _decimals(-5, 40, 1).map(Mm)
    told = st.one_of(
        st.fixed_dictionaries({"width": width, "from_face": end}),
        st.fixed_dictionaries({"width": width, "from_end": end}),
        st.fixed_dictionaries({"width": width, "in_line": st.just(True)}),
    )
    plain: SearchStrategy[Any] = st.just([Mm(low), Mm(low + 20.0)])
    return st.one_of(plain, plain, told)


@st.composite
def measured_patterns(draw: DrawFn, figures: Figures) -> Data:
    """Holes with readings between them: most made from true places, with errors; some too few, some blundered."""
    count = draw(st.integers(3 if figures.sound else 2, 5))
    names = [*"ABCDE"[:count], *(["bore"] if draw(st.booleans()) else [])]
    true = {name: (draw(figures.place), draw(figures.place)) for name in names}
    wide = {name: draw(_decimals(60, 140, 10)) for name in names}
    readings: list[list[Any]] = []
    for k, one in enumerate(names):
        for other in names[k + 1 :]:
            if draw(st.integers(0, 5)) == 0:
                continue
            away = math.dist(true[one], true[other]) + draw(st.sampled_from([0.0, 0.05, -0.1, 0.15, 5.0]))
            kind = draw(st.sampled_from(["centres", "inside", "over"]))
            size = {"centres": 0.0, "inside": -1.0, "over": 1.0}[kind] * (wide[one] + wide[other]) / 2
            readings.append([one, other, kind, Mm(round(away + size, 3))])
    if figures.sound:
        readings = [[*reading[:3], Mm(max(reading[3], 1.0))] for reading in readings]
    pattern: Data = {"holes": {name: Mm(wide[name]) for name in names}, "readings": readings}
    optional: dict[str, SearchStrategy[Any]] = {
        "sigma": lengths(_decimals(1, 30, 100)),
        "clockwise": st.permutations(names).map(lambda order: list(order)[:3]) if len(names) > 2 else st.nothing(),
        "origin": st.sampled_from([*names, "centre"]),
        "x_axis": st.permutations(names).map(lambda order: list(order)[:2]),
        "on_circle": st.just(True),
        "evenly": st.just(True),
        "rectangle": st.just(True),
        "hole": lengths(_decimals(10, 30, 2)),
    }
    for key, values in optional.items():
        wanted = figures.sound and key == "clockwise"
        if not values.is_empty and (wanted or draw(st.integers(0, 4)) == 0):
            pattern[key] = draw(values)
    return pattern


SPEEDS = ("1740 rpm", "1430 rpm", "2850 rpm", "29 rev/s", "9000 rpm", "1 rpm")
BELTS = ("A38", "B50", "SPZ 1000", "5M-500", "A", "no such belt")


@st.composite
def drives(draw: DrawFn, figures: Figures, placed: list[str]) -> Data:
    """A belt drive between two mounts, or over a third; motors, inverters, idlers, what is wanted."""
    drive: Data = {**draw(stages(figures, "motor", "machine"))}
    if draw(st.integers(0, 4)):
        drive["motor"] = draw(drive_motors())
        if drive["motor"].get("kind", "induction") == "induction" and draw(st.booleans()):
            drive["inverter"] = {"from": draw(st.sampled_from(["5 Hz", "15 Hz"])), "to": "90 Hz"}
    if draw(st.booleans()):
        drive["wanted"] = draw(
            st.fixed_dictionaries(
                {"from": st.just("120 rpm"), "to": st.sampled_from(["120 rpm", "700 rpm", "5000 rpm"])},
                optional={"torque": st.sampled_from(["0.1 Nm", "12 Nm", "900 Nm"])},
            )
        )
    if "jack plate" in placed and draw(st.booleans()):
        drive["second"] = draw(stages(figures, "machine", "jack plate"))
    return drive


@st.composite
def stages(draw: DrawFn, figures: Figures, driver: str, driven: str) -> Data:
    """One belt over two pulleys; sound figures give a belt that there is, on pulleys that it may run on."""
    toothed = draw(st.booleans()) if figures.sound else None
    stage: Data = {
        "belt": draw(belts(toothed)),
        "driver": {"on": driver, **draw(pulleys(figures, toothed))},
        "driven": {"on": driven, **draw(pulleys(figures, toothed))},
    }
    if draw(st.integers(0, 3)) == 0:
        stage["idlers"] = draw(st.lists(idlers(figures, driver, driven), min_size=1, max_size=2))
    return stage


@st.composite
def idlers(draw: DrawFn, figures: Figures, driver: str, driven: str) -> Data:
    """An idler on either mount or on the plate, at a place of its own or where the wrap that is wanted puts it."""
    wrap = st.fixed_dictionaries(
        {
            "pulley": st.sampled_from(["driver", "driven"]),
            "angle": st.sampled_from([120.0, 185.0, 200.0, 230.0]).map(Deg),
            "free": lengths(_decimals(20, 200, 1)),
            "run": st.sampled_from(["left", "right", "upper", "lower"]),
        }
    )
    idler = draw(
        st.fixed_dictionaries(
            {
                "on": st.sampled_from([driver, driven, "plate", "plate"]),
                "at": st.one_of(points(figures), points(figures), st.fixed_dictionaries({"wrap": wrap})),
                "diameter": lengths(_decimals(20, 120, 1)),
                "inside": st.booleans(),
                "span": seats(-50.0, stock=not figures.sound),
            },
            optional={"screw": st.just("M10"), "take_up": take_ups(figures)},
        )
    )
    if figures.sound and idler["on"] != "plate":
        idler.pop("screw", None)
        idler.pop("take_up", None)
    return idler


@st.composite
def belts(draw: DrawFn, toothed: bool | None) -> Any:
    """A belt by trade size, by section and length, or to be chosen; of any kind at all if `toothed` is None."""
    if toothed is None:
        if draw(st.integers(0, 2)) == 0:
            return draw(st.sampled_from(BELTS))
        section = {"section": draw(st.sampled_from([*belt_tables.section_names(), "no such section"]))}
        kind = draw(st.sampled_from(["pitch_length", "inside_length", "effective_length", "outside_length"]))
        return {**section, kind: Mm(draw(_decimals(300, 2500, 1))), "count": draw(st.integers(1, 3))}
    section = {"section": draw(st.sampled_from(["5M", "8M"] if toothed else ["A", "B", "SPZ", "SPA"]))}
    if draw(st.integers(0, 3)) == 0:
        return {**section, "choose": True}
    return {**section, "pitch_length": Mm(40.0 * draw(st.integers(20, 60)))}


@st.composite
def pulleys(draw: DrawFn, figures: Figures, toothed: bool | None) -> Data:
    """A pulley, somewhere along its shaft."""
    kinds = ("pitch_diameter", "outside_diameter", "effective_diameter", "teeth")
    kind = draw(st.sampled_from(kinds)) if toothed is None else "teeth" if toothed else "pitch_diameter"
    size: Any = draw(st.integers(14, 72)) if kind == "teeth" else Mm(draw(_decimals(63, 280, 1)))
    low = draw(st.sampled_from([-50.0, -42.0, 14.0, 20.0]))
    pulley: Data = {kind: size, "span": draw(seats(low, stock=not toothed))}
    if draw(st.integers(0, 2)) == 0:
        pulley["at"] = draw(points(figures))
    if draw(st.integers(0, 4)) == 0:
        pulley["hub"] = {"diameter": Mm(draw(_decimals(20, 60, 1))), "span": [Mm(low - 10.0), Mm(low + 25.0)]}
    if draw(st.integers(0, 4)) == 0:
        pulley["flange_diameter"] = Mm(draw(_decimals(60, 330, 1)))
    return pulley


PLATE = {"power": "1.1 kW", "speed": "1420 rpm", "frequency": "50 Hz"}
"""What stands on the plate of a motor that there is."""


def drive_motors() -> SearchStrategy[Data]:
    """A motor by its plate, or by two points of its curve."""
    point = {"speed": st.sampled_from(SPEEDS), "torque": st.sampled_from(["0.4 Nm", "1 Nm", "0.001 Nm"])}
    plate = {
        "power": st.sampled_from(["0.75 kW", "1 HP", "90 kW", "10 W"]),
        "speed": st.sampled_from(SPEEDS),
        "frequency": st.sampled_from(["50 Hz", "60 Hz"]),
    }
    return st.fixed_dictionaries(plate, optional={"max_speed": st.sampled_from(SPEEDS)}) | st.fixed_dictionaries(
        {
            "kind": st.sampled_from(["universal", "dc"]),
            "loaded": st.fixed_dictionaries(point),
            "light": st.fixed_dictionaries(point),
        }
    )


def guards(figures: Figures) -> SearchStrategy[Data]:
    """A guard of every make, with openings of every shape."""
    openings = st.fixed_dictionaries(
        {"shape": st.sampled_from(["slot", "square", "round"]), "width": lengths(_decimals(2, 60, 1))}
    )
    fixings = st.fixed_dictionaries({"count": st.integers(2, 12)}) | st.fixed_dictionaries(
        {"at": st.lists(points(figures), min_size=2, max_size=6)}
    )
    cover = st.fixed_dictionaries(
        {},
        optional={
            "screws": st.sampled_from(["captive", "ordinary"]),
            "count": st.integers(2, 12),
            "hole": lengths(_decimals(6, 24, 2)),
        },
    )
    split = st.sampled_from([["driver"], ["driven"], ["driver", "driven"], []])
    return st.fixed_dictionaries(
        {},
        optional={
            "gap": lengths(_decimals(1, 60, 1) | figures.small),
            "thickness": lengths(_decimals(2, 8, 2)),
            "band": st.just("auto") | lengths(_decimals(10, 120, 1)),
            "back_from_plate": lengths(_decimals(0, 40, 1)),
            "openings": openings,
            "on": st.sampled_from(["plate", "machine"]),
            "back": st.sampled_from(["sheet", "none"]),
            "fixings": fixings,
            "band_made": st.sampled_from(["bent", "rolled", "segments"]),
            "band_pieces": st.integers(1, 6),
            "bend_radius": st.just("auto") | lengths(_decimals(1, 12, 1)),
            "k_factor": _decimals(20, 50, 100),
            "split": split,
            "cover": cover,
        },
    )


@st.composite
def guarded(draw: DrawFn, figures: Figures = USUAL) -> Data:
    """A motor on its face beside a shaft, a belt between them over room enough, and a guard of any make."""
    side = draw(st.sampled_from(["far", "near"]))
    machine: Data = {"side": side, "looking_at": "face"}
    machine["pattern"] = {"circle": {"count": 4, "diameter": Mm(130.0)}}
    machine["bolts"] = {"size": "M8", "into": "part", "depth": Mm(22.0), "thread_in": "cast iron"}
    motor: Data = {"side": side, "pattern": {"standard": draw(st.sampled_from(["IEC 90 B14", "IEC 112 B14"]))}}
    motor["bolts"] = {"into": "part", "depth": Mm(18.0), "thread_in": "aluminium"}
    pilot = tables.mount(motor["pattern"]["standard"]).pilot
    motor["pilot"] = {"diameter": Mm(pilot or 0.0), "depth": Mm(3.0), "opening": "none"}
    motor["standoff"] = Mm(4.0)
    motor["at"] = {"belt": {"from": "machine", "angle": draw(angles(figures))}}
    if draw(st.booleans()):
        motor["take_up"] = {"slots": {"along": "belt", "install": "auto", "tension": "auto"}}
    # through the plate of 10 mm and this far before it, in one plane; the smaller motor's shaft is 50 mm long
    low = draw(_decimals(12, 20, 1))
    drive: Data = {"belt": {"section": "SPZ", "choose": True, "near": Mm(draw(_decimals(260, 460, 1)))}}
    drive["driven"] = {"on": "machine", "pitch_diameter": Mm(draw(_decimals(80, 200, 1)))}
    drive["driven"]["span"] = [Mm(-26.0 - low), Mm(-10.0 - low)]
    drive["driver"] = {"on": "motor", "pitch_diameter": Mm(draw(_decimals(71, 125, 1)))}
    drive["driver"]["span"] = [Mm(-30.0 - low), Mm(-14.0 - low)]
    plate: Data = {"material": "mild steel", "thickness": Mm(10.0)}
    spec: Data = {"platekit": 1, "title": "A guarded belt", "units": "mm", "plate": plate}
    spec["mounts"] = {"machine": machine, "motor": motor}
    spec["bodies"] = {name: draw(bodies(figures, ["machine", "motor"], [])) for name in ["lug"][: draw(SELDOM)]}
    shaft: Data = {"carried_by": "machine", "shape": {"circle": {"diameter": Mm(28.0)}}, "relief": "auto"}
    spec["bodies"]["machine shaft"] = {**shaft, "span": [Mm(-28.0 - low), Mm(0.0)]}
    guard = {**draw(guards(figures)), "band_made": draw(st.sampled_from(["segments", "rolled", "bent"]))}
    if draw(st.booleans()):
        guard["split"] = draw(st.sampled_from([["driven"], ["driver"], ["driver", "driven"]]))
    # most of them reach past the pulleys: a band or an offset of any size seldom does
    for key in ("band", "back_from_plate"):
        if not draw(SELDOM):
            guard.pop(key, None)
    if "at" in guard.get("fixings", {}) and not draw(SELDOM):
        guard["fixings"] = {"count": draw(st.integers(2, 8))}
    if guard.get("back") == "none":
        guard.pop("split", None)
    guard.setdefault("gap", Mm(20.0))
    return {**spec, "drive": drive, "guard": guard, "cutting": {"process": "laser"}}


@st.composite
def coupled(draw: DrawFn, figures: Figures = USUAL) -> Data:
    """Shafts in line that a coupling joins, most of them sound: a motor on feet or on its face before a machine,
    perhaps a belt from that machine on.
    """
    gap = draw(_decimals(20, 60, 10))
    coupling: Data = {
        "from": {"on": "motor"},
        "to": {"on": "machine"},
        "diameter": Mm(draw(_decimals(50, 120, 1))),
        "length": Mm(draw(_decimals(40, 90, 1))),
        "gap": [Mm(max(gap - 1.0, 0.0)), Mm(gap + 1.0)],
    }
    for key, value in {
        "offset": lengths(_decimals(1, 10, 10)),
        "angle": angles(figures) if draw(SELDOM) else st.just(Deg(0.5)),
        "torque": st.sampled_from(["12 Nm", "45 Nm", "0.5 Nm"]),
        "max_speed": st.sampled_from(SPEEDS),
        "service_factor": st.sampled_from([1.0, 1.5, 2.25]),
        "motor": drive_motors() if draw(SELDOM) else st.just(dict(PLATE)),
    }.items():
        if draw(st.booleans()):
            coupling[key] = draw(value)
    if draw(SELDOM):
        coupling["stock"] = draw(st.sampled_from(["pin 116", "pin 144"]))
        coupling.pop(draw(st.sampled_from(["diameter", "length", "gap"])))
    if draw(SELDOM):
        coupling["guarded"] = "a hood of sheet"
    if "light" in coupling.get("motor", {}):
        coupling["motor"]["no_load"] = coupling["motor"].pop("light")  # couplings are newer than that word
    if "motor" in coupling and coupling["motor"].get("kind", "induction") == "induction" and draw(st.booleans()):
        coupling["inverter"] = {"from": "15 Hz", "to": draw(st.sampled_from(["50 Hz", "90 Hz"]))}
    motor: Data = {"side": "near", "bolts": {"size": "M8", "into": "nut", "flange": Mm(10.0)}}
    machine: Data = {"side": "near", "looking_at": "face", "bolts": {"size": "M10", "into": "nut", "flange": Mm(12.0)}}
    aside = draw(_decimals(-20, 20, 10)) if draw(SELDOM) else 0.0
    turn = draw(angles(figures)) if draw(SELDOM) else 0.0
    if draw(st.integers(0, 3)):
        standard = tables.mount(draw(st.sampled_from(tuple(FEET))))
        assert standard.shaft_end_mm is not None
        motor["pattern"] = {"standard": standard.designation}
        motor["bolts"]["size"] = FEET[standard.designation]
        motor["turn"] = Deg(90.0 + turn)
        machine["pattern"] = {"rectangle": {"width": Mm(120.0), "height": Mm(100.0)}}
        machine["at"] = [Mm(-150.0), Mm(0.0)]
        height = standard.shaft_height or 0.0
        shaft: Data = {"at": [Mm(-70.0), Mm(0.0)], "height": Mm(height + aside), "along": Deg(180.0)}
        # its own end is 35 mm before the plate's zero; the motor's shaft looks at it
        motor["at"] = [Mm(-35.0 + gap + standard.shaft_end_mm[1]), Mm(aside)]
        outline: Data = {"rectangle": {"width": Mm(900.0), "height": Mm(400.0)}, "at": [Mm(100.0), Mm(0.0)]}
    else:
        # square to the plate: the motor's face on one side, the machine's on the other, one axis through both
        standard = tables.mount("IEC 90 B14")
        motor["pattern"] = {"standard": standard.designation}
        motor["at"] = [Mm(aside), Mm(0.0)]
        motor["side"] = "far"
        motor["bolts"] = {"into": "part", "depth": Mm(18.0), "thread_in": "aluminium"}
        machine["pattern"] = {"circle": {"count": 4, "diameter": Mm(260.0)}}
        machine["standoff"] = Mm(round((standard.shaft_length or 0.0) - 12.0 + gap + 60.0, 3))
        shaft = {"along": "square", "at": [Mm(0.0), Mm(0.0)]}
        outline = {"rectangle": {"width": Mm(400.0), "height": Mm(400.0)}}
    machine["shaft"] = {**shaft, "stretch": [Mm(-200.0), Mm(45.0)], "diameter": Mm(24.0)}
    if shaft["along"] == "square":
        machine["shaft"]["stretch"] = [Mm(-40.0), Mm(60.0)]
    if draw(SELDOM):
        coupling["to"]["end"] = "back"
    if draw(SELDOM):
        reach = lengths(_decimals(0, 12, 1))
        straight = {"along": draw(angles(figures)), "install": draw(reach), "tension": draw(reach)}
        motor["take_up"] = {draw(st.sampled_from(["slots", "rails"])): straight}
    plate: Data = {"material": "mild steel", "thickness": Mm(12.0), "outline": outline}
    spec: Data = {"platekit": 1, "title": "Shafts in line", "units": "mm", "plate": plate}
    spec["mounts"] = {"machine": machine, "motor": motor}
    spec["bodies"] = {name: draw(bodies(figures, list(spec["mounts"]), [])) for name in ["lug"][: draw(SELDOM)]}
    spec["couplings"] = {"coupling": coupling}
    return {**spec, "cutting": {"process": "laser"}}


def _odd_bodies(figures: Figures, carriers: list[str]) -> dict[str, SearchStrategy[Data]]:
    """Bodies that are no plain prism."""
    common: dict[str, SearchStrategy[Any]] = {
        "carried_by": st.sampled_from(carriers),
        "at": points(figures),
        "relief": st.sampled_from(["auto", "none"]),
    }
    lying = st.fixed_dictionaries(
        {"diameter": lengths(figures.size), "length": lengths(figures.size), "height": lengths(figures.place)},
        optional={"axis": angles(figures)},
    )
    span = st.tuples(_decimals(-60, 20, 1), _decimals(1, 90, 1)).map(lambda both: [Mm(both[0]), Mm(sum(both))])
    cone = st.tuples(lengths(figures.size), lengths(figures.size)).map(list)
    step = st.fixed_dictionaries({"diameter": lengths(figures.size) | cone, "span": span})
    return {
        "frame": st.fixed_dictionaries({**common, "lying": lying}),
        "turned": st.fixed_dictionaries({**common, "steps": st.lists(step, min_size=1, max_size=3)}),
        "other motor": st.fixed_dictionaries({**common, "standard": st.sampled_from(standards())}),
    }


def bars() -> SearchStrategy[Data]:
    """A printed sheet as measured: about right, or not at all."""
    about = lengths(_decimals(1800, 2800, 10))
    names = ("bottom", "top", "left", "right", "rising", "falling")
    return st.fixed_dictionaries(dict.fromkeys(names, about))


def papers() -> SearchStrategy[Data]:
    """Paper of every size, one's own too."""
    own = st.fixed_dictionaries({"width": lengths(_decimals(150, 900, 1)), "height": lengths(_decimals(150, 900, 1))})
    size = st.sampled_from(["a4", "letter", "a3", "tabloid", "single"]) | own
    return st.fixed_dictionaries({"size": size}, optional={"seen_from": st.sampled_from(["near", "far"])})


def acceptances(mount_names: list[str], body_names: list[str]) -> SearchStrategy[Data]:
    """A finding accepted that may be there or not."""
    features = [*(f"{name}.1" for name in mount_names), *mount_names, *body_names, *CUTOUT_NAMES, "outline"]
    return st.fixed_dictionaries(
        {
            "rule": st.sampled_from(RULES),
            "feature": st.sampled_from(features),
            "because": st.sampled_from(["welded to the frame there", "gauge says so"]),
        },
        optional={"found": st.sampled_from([0, -1.5, 4.5, "4.5 mm", "1/8 in", "12 %"])},
    )


@st.composite
def odd_texts(draw: DrawFn) -> str:
    """The text of a spec with awkward figures, written in any unit, with a word or key of it swapped now and then."""
    spec = draw(plates(AWKWARD))
    unit = draw(st.sampled_from(["mm", "in"]))
    text = as_text(in_inches(spec) if unit == "in" else spec)
    if draw(st.integers(0, 3)) == 0:
        lines = text.splitlines()
        index = draw(st.integers(0, len(lines) - 1))
        lines[index] = draw(st.sampled_from(["", lines[index] * 2, f"  {lines[index]}", "  surplus: 1", lines[0]]))
        text = "\n".join(lines)
    for word, other in draw(st.lists(st.sampled_from(SWAPS), max_size=2)):
        text = text.replace(word, other, 1)
    return text


SWAPS = (
    ("machine", "motor"),
    ("near", "nearer"),
    ("diameter", "radius"),
    ("looking_at: face", "looking_at: back"),
    ("into: part", "into: nut"),
    ("into: nut", "into: plate"),
    ("true", "yes"),
    ("0.5", '"1/2 in"'),
    ("1.0", "1 mm"),
    (".0", ".0 in"),
    ("1", ".nan"),
    ("5", "1e308"),
    ("2", "-2"),
    ("3", "3,3"),
)
"""Slips of the pen: what stands in the text, and what stands there instead."""


# --------------------------------------------------------------------------------------------- as text


def as_text(spec: Data) -> str:
    """The spec as YAML: the outer levels on lines of their own, the inner ones in braces."""
    lines: list[str] = []
    for key, value in spec.items():
        _block(lines, key, value, 0)
    return "\n".join(lines) + "\n"


def _block(lines: list[str], key: str, value: Any, depth: int) -> None:
    indent = "  " * depth
    if isinstance(value, dict) and value and depth < 2:
        lines.append(f"{indent}{key}:")
        for inner, below in value.items():
            _block(lines, inner, below, depth + 1)
    else:
        lines.append(f"{indent}{key}: {flow(value)}")


def flow(value: Any) -> str:
    """A value on one line."""
    match value:
        case dict():
            return "{" + ", ".join(f"{key}: {flow(below)}" for key, below in value.items()) + "}"
        case list():
            return "[" + ", ".join(flow(below) for below in value) + "]"
        case bool():
            return "true" if value else "false"
        case float():
            return repr(float(value))
        case int():
            return str(value)
        case str() if value.replace(" ", "").replace("-", "").isalnum() and value[0].isalpha():
            return value
        case _:
            return json.dumps(value)


# --------------------------------------------------------------------------------------------- the same plate


def mapped(value: Any, change: Callable[[Any], Any]) -> Any:
    """The data with every figure and word changed."""
    if isinstance(value, dict):
        return {key: mapped(below, change) for key, below in value.items()}
    if isinstance(value, list):
        return [mapped(below, change) for below in value]
    return change(value)


def in_inches(spec: Data) -> Data:
    """The same plate with every length in inches."""
    changed: Data = mapped(spec, lambda value: Mm(value / 25.4) if isinstance(value, Mm) else value)
    return {**changed, "units": "in"}


def moved(spec: Data, turn_deg: float, x: float, y: float) -> Data:
    """The same plate turned about the plate's zero, then moved by (x, y)."""
    angle = math.radians(turn_deg)

    def place(p: list[Mm]) -> list[Mm]:
        return [
            Mm(p[0] * math.cos(angle) - p[1] * math.sin(angle) + x),
            Mm(p[0] * math.sin(angle) + p[1] * math.cos(angle) + y),
        ]

    def turn(a: float) -> Deg:
        return Deg(a + turn_deg)

    return _elsewhere(spec, place, turn, turn, lambda shape: shape)


def mirrored(spec: Data) -> Data:
    """The same plate turned over: sides swapped, and seen in a mirror that swaps left and right."""
    swap = {"near": "far", "far": "near", "clockwise": "counter-clockwise", "counter-clockwise": "clockwise"}

    def place(p: list[Mm]) -> list[Mm]:
        return [Mm(-p[0]), p[1]]

    def flip(shape: Data) -> Data:
        polygon = shape.get("polygon")
        if polygon is None:
            return shape
        return {**shape, "polygon": {**polygon, "points": [place(p) for p in polygon["points"]]}}

    turned_over = _elsewhere(spec, place, lambda a: Deg(-a), lambda a: Deg(180 - a), flip)
    if "flange" in turned_over["plate"]:
        turned_over["plate"]["flange"]["towards"] = swap[turned_over["plate"]["flange"]["towards"]]
    for group in ("mounts", "bodies"):
        for thing in turned_over.get(group, {}).values():
            if "side" in thing:
                thing["side"] = swap[thing["side"]]
            swing = thing.get("take_up", {}).get("swing")
            if swing:
                swing["tightens"] = swap[swing["tightens"]]
    return turned_over


def _elsewhere(
    spec: Data,
    place: Callable[[list[Mm]], list[Mm]],
    turn: Callable[[float], Deg],
    direction: Callable[[float], Deg],
    shape: Callable[[Data], Data],
) -> Data:
    """A copy with all that stands in the plate frame changed: places, turns, directions, shapes."""
    new: Data = json_copy(spec)
    zero = [Mm(0.0), Mm(0.0)]
    for mount in new["mounts"].values():
        mount["turn"] = turn(mount.get("turn", 0.0))
        at = mount.get("at", zero)
        mount["at"] = {**at, "angle": direction(at["angle"])} if isinstance(at, dict) else place(at)
        slots, swing = (mount.get("take_up", {}).get(kind) for kind in ("slots", "swing"))
        if slots:
            slots["along"] = direction(slots["along"])
        if swing:
            swing["about"] = place(swing["about"])
    plate_frame = [(group, name) for group, name in _on_the_plate(new)]
    for group, name in plate_frame:
        given = shape(group[name])
        group[name] = {**given, "at": place(given.get("at", zero)), "turn": turn(given.get("turn", 0.0))}
    outline = new["plate"].get("outline", {"wrap": {}})
    if not {"wrap", "waist"} & outline.keys():
        given = shape(outline)
        new["plate"]["outline"] = {**given, "at": place(given.get("at", zero)), "turn": turn(given.get("turn", 0.0))}
    for tab in new["plate"].get("tabs", {}).values():
        tab["at"] = place(tab["at"])
        if "towards" in tab:
            tab["towards"] = direction(tab["towards"])
    stood = new["plate"].get("feet")
    if stood:
        # told by the plate's zero and by which way is up: both are moved with all the rest
        up = math.radians(direction(90.0))
        x, y = place(zero)
        across = place([Mm(1.0), Mm(0.0)])
        right = (math.sin(up), -math.cos(up))
        hand = (across[0] - x) * right[0] + (across[1] - y) * right[1]
        stood["level"] = Mm(stood["level"] + x * math.cos(up) + y * math.sin(up))
        stood["middle"] = Mm(math.copysign(1.0, hand) * stood.get("middle", 0.0) + x * right[0] + y * right[1])
        new["plate"]["up"] = direction(90.0)
    bent = new["plate"].get("flange")
    if bent:
        # its edge is told as the plate stands: turned with it, and left is right in a mirror
        new["plate"]["up"] = direction(90.0)
        (x, y), (u, v) = place(zero), place([Mm(1.0), Mm(0.0)])
        up = math.radians(direction(90.0))
        if (u - x) * math.sin(up) - (v - y) * math.cos(up) < 0:
            bent["edge"] = {"left": "right", "right": "left"}.get(bent["edge"], bent["edge"])
    return new


def _on_the_plate(spec: Data) -> list[tuple[Data, str]]:
    """Every shape that is written in the plate frame, as the group that holds it and its key there."""
    cutouts = spec["plate"].get("cutouts", {})
    carried = [body for body in spec.get("bodies", {}).values() if body["carried_by"] == "plate"]
    return [*((cutouts, name) for name in cutouts), *((body, "shape") for body in carried)]


def json_copy(value: Any) -> Any:
    """A copy of plain data that shares nothing."""
    return mapped(value, lambda leaf: leaf)
