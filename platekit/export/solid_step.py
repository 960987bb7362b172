"""The solid: a STEP file (ISO 10303-21, AP214) of the finished plate, proved to close and to hold the right volume.

It is the part as it lies on the bench when all is done: holes that the table only marks are real holes of their
finished size, recesses are bored to their depth, heads are let in: a countersink is a cone down to the hole's wall, a
counterbore has its floor. Threads are not modelled, a tapped hole has its drill's diameter. Bars that are welded to it
are solids of their own that touch it. It lies in the plate frame in millimetres, near face at z = 0, far face at z =
-thickness.

All that a plate consists of are planes, cylinders and cones, bounded by lines and circles, and the standard has an
entity for each of them (ISO 10303-42). So the text is written from the skin of the plate, by no kernel for solids.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import SHORT
from platekit.errors import OutputError
from platekit.export.exact import Slice, slices
from platekit.export.files import write_whole
from platekit.export.release import require_clear
from platekit.export.skin import Face, Rim, Side, Skin, Spot, Upstroke, skin
from platekit.geometry import Arc, Point
from platekit.laying.spans import z_range
from platekit.laying.welded import welded_bars
from platekit.placed import SAME_LENGTH, Layout, PlacedFlange

VOLUME: Final = 1e-6
"""How far the solid's volume may be from exact area times thickness, as a share of it (ours)."""

TIME_STAMP: Final = "2000-01-01T00:00:00"
"""The header wants a time; a fixed one, so that the same plate gives the same bytes (ours)."""

MM_DECIMALS: Final = 9
"""Decimals of a length in mm: finer than any reader's tolerance, coarser than what processors differ in (ours)."""

RATIO_DECIMALS: Final = 12
"""Decimals of a direction's shares and of an angle in radians: over a metre they are worth 1e-9 mm (ours)."""

ACCURACY: Final = "1.E-07"
"""Distance in mm within which a reader may take corners and edges for joined; lengths are written finer (ours)."""


def step(layout: Layout, path: str | os.PathLike[str], verdict: Verdict | None = None) -> None:
    """Writes the solid as a STEP file, whole or not at all.

    `verdict` is that of `check(layout)`, if it is at hand. Raises `OutputError` when a stop is open, when the solid
    does not have the volume it should, or when the file cannot be written; then nothing is written.
    """
    require_clear(layout, verdict, "the solid")
    write_whole(path, step_bytes(layout))


def step_bytes(layout: Layout, bars: bool = True) -> bytes:
    """The bytes of the STEP file, lengths in mm; the same layout gives the same bytes.

    With `bars` those that are welded to the plate are solids of their own beside it, without their welds.
    Raises `OutputError` when the openings cut the plate into pieces, when a countersink runs into something else (see
    `skin`), or when the skin does not pass its proof: it closes, and the volume within it, worked out from its faces,
    is the one worked out from the plate's area (see `exact_volume`) to `VOLUME`.
    """
    closed = _proved(slices(layout))
    root = None if layout.flange is None else bent_from(closed, layout.flange)
    name, title = quoted(layout.spec.name), quoted(layout.title)
    solids: list[tuple[str, Skin, Root | None]] = [(name, closed, root)]
    for bar in welded_bars(layout) if bars else ():
        low, high = z_range(bar.side, (0.0, bar.height), layout.thickness)
        solids.append((quoted(bar.name), _proved((Slice(low, high, bar.foot, ()),)), None))
    revision = quoted(f"revision {layout.spec.revision}")
    return (
        "ISO-10303-21;\nHEADER;\n"
        f"FILE_DESCRIPTION(({title},{revision},{quoted(SHORT)}),'2;1');\n"
        f"FILE_NAME({name},'{TIME_STAMP}',(''),(''),'platekit','platekit','');\n"
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n"
        f"{_Text().of(solids, name, title, revision)}\nENDSEC;\nEND-ISO-10303-21;\n"
    ).encode("ascii")


def _proved(slices: Sequence[Slice]) -> Skin:
    """The skin of what the slices make up, if it passes its proof; else `OutputError`."""
    wanted, closed = exact_volume(slices), skin(slices)
    if closed.pieces != 1:
        raise OutputError(
            f"the solid was not written: the openings cut the plate into {closed.pieces} pieces; move them, or make "
            "the plate larger"
        )
    if not closed.closes:
        raise _unproved("its faces do not close")
    if not abs(closed.volume - wanted) <= VOLUME * wanted:
        raise _unproved(f"its volume is {closed.volume:.4f} mm3, not {wanted:.4f}")
    return closed


class Root(Struct, frozen=True):
    """The wall of a plate's skin that its flange grows out of.

    `corners` are those of the skin by (end of the bend, corner of the flange's section), `sides` its edges along the
    bend by that corner, `uprights` those across it, at the start of the bend and at its end: as the wall goes along.
    """

    flange: PlacedFlange
    face: Face
    corners: dict[tuple[int, int], int]
    sides: dict[int, Side]
    uprights: tuple[Side, Side]


def bent_from(closed: Skin, flange: PlacedFlange) -> Root:
    """Where the flange grows out of the skin of what is flat. Raises `OutputError` where an opening is in its way."""
    # the corner of the section that is below, and the one above: outside of the bend is below where it goes up
    low, high = (0, 5) if flange.side == "near" else (5, 0)
    for face in closed.faces:
        ends = None if face.low is None else (face.low.a, face.low.b)
        if ends is None or len(face.bounds) != 1 or len(face.bounds[0]) != 4:
            continue
        if math.dist(ends[0], flange.start) > SAME_LENGTH or math.dist(ends[1], flange.end) > SAME_LENGTH:
            continue
        # seen from outside: along the foot, up, back along the top, down
        foot, up, top, down = face.bounds[0]
        corners = {
            (0, low): down.of.start, (0, high): down.of.end, (1, low): up.of.start, (1, high): up.of.end,
        }  # fmt: skip
        # a face in its place goes along foot and top as it did; `forward` is from the start of the bend to its end
        return Root(flange, face, corners, {low: foot, high: top.turned}, (down, up))
    raise OutputError(
        "the solid was not written: an opening cuts into where the flange begins; move it, or leave the flange out"
    )


def exact_volume(plate: Iterable[Slice]) -> float:
    """Volume of the plate in mm3 by closed forms: the exact area of each slice along its height."""
    return math.fsum(one.volume for one in plate)


# ---------------------------------------------------------------------------------------- the file


class _Text:
    """The entities of the data section, numbered as they come; each method gives back a reference like `#12`."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.up = self._direction(0, 0, 1)
        self.down = self._direction(0, 0, -1)
        self.east = self._direction(1, 0, 0)
        self.upwards = self._new(f"VECTOR('',{self.up},1.)")

    def of(self, solids: Iterable[tuple[str, Skin, Root | None]], name: str, title: str, revision: str) -> str:
        """The whole section: each skin as one solid, the units, and the product that they are the shape of."""
        made = ",".join([self._solid(*one) for one in solids])
        mm = self._new("( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )")
        radian = self._new("( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) )")
        steradian = self._new("( NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT() )")
        within = self._new(
            f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({ACCURACY}),{mm},'distance_accuracy_value','')"
        )
        context = self._new(
            f"( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({within})) "
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({mm},{radian},{steradian})) REPRESENTATION_CONTEXT('','') )"
        )
        frame = self._frame((0.0, 0.0), 0.0, self.up, self.east)
        shape = self._new(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({frame},{made}),{context})")
        design = self._new("APPLICATION_CONTEXT('core data for automotive mechanical design processes')")
        self._new(f"APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{design})")
        trade = self._new(f"PRODUCT_CONTEXT('',{design},'mechanical')")
        product = self._new(f"PRODUCT({name},{title},{revision},({trade}))")
        formation = self._new(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
        stage = self._new(f"PRODUCT_DEFINITION_CONTEXT('part definition',{design},'design')")
        definition = self._new(f"PRODUCT_DEFINITION('design','',{formation},{stage})")
        defined = self._new(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
        self._new(f"SHAPE_DEFINITION_REPRESENTATION({defined},{shape})")
        return "\n".join(f"#{number}={line};" for number, line in enumerate(self.lines, start=1))

    def _solid(self, name: str, closed: Skin, root: Root | None = None) -> str:
        points = [self._point(corner[:2], corner[2]) for corner in closed.corners]
        corners = [self._new(f"VERTEX_POINT('',{point})") for point in points]
        edges: dict[int, str] = {}
        faces = []
        for face in closed.faces:
            if root is not None and face is root.face:
                continue  # there the steel goes on into the bend
            bounds = []
            for number, bound in enumerate(face.bounds):
                sides = ",".join(self._side(side, edges, corners, closed) for side in bound)
                loop = self._new(f"EDGE_LOOP('',({sides}))")
                bounds.append(self._new(f"FACE_{'BOUND' if number else 'OUTER_BOUND'}('',{loop},.T.)"))
            surface, same = self._surface(face)
            faces.append(self._new(f"ADVANCED_FACE('',({','.join(bounds)}),{surface},{same})"))
        if root is not None:
            faces += self._bent(root, edges, corners)
        shell = self._new(f"CLOSED_SHELL('',({','.join(faces)}))")
        return self._new(f"MANIFOLD_SOLID_BREP({name},{shell})")

    def _bent(self, root: Root, edges: dict[int, str], corners: list[str]) -> list[str]:
        """The faces of a bend and its leg, which begin at the edges of the wall that they grow out of."""
        flange, profile = root.flange, root.flange.profile_from_outside
        (ox, oy), t, r = flange.out, flange.thickness, flange.radius
        across = (-oy, ox, 0.0)  # along the bend, from its start to its end
        middle = r if flange.side == "near" else -t - r
        # going round the section with the steel on the left, as one sees it from beyond its start; far it is mirrored
        order = list(range(6)) if flange.side == "near" else [5, 4, 3, 2, 1, 0]

        def spot(end: int, o: float, z: float) -> Spot:
            x, y = (flange.start, flange.end)[end]
            return (x + o * ox, y + o * oy, z)

        def spatial(o: float, z: float) -> str:
            return self._direction(o * ox, o * oy, z)

        out, back = spatial(1.0, 0.0), self._direction(*(0.0 - share for share in across))
        forth = self._direction(*across)
        along = self._new(f"VECTOR('',{forth},1.)")
        vertices: dict[tuple[int, int], str] = {}
        points: dict[tuple[int, int], str] = {}
        for end in (0, 1):
            for k, (o, z) in enumerate(profile):
                x, y, height = spot(end, o, z)
                points[end, k] = self._point((x, y), height)
                known = root.corners.get((end, k))
                vertices[end, k] = (
                    corners[known] if known is not None else self._new(f"VERTEX_POINT('',{points[end, k]})")
                )
        # every edge once: those of both sections, and those along the bend
        rims: dict[tuple[int, int, int], str] = {}
        for end in (0, 1):
            for a, b in pairwise([*order, order[0]]):
                if {a, b} == {0, 5}:
                    continue  # the upright edge of the wall, which is there
                if {a, b} in ({0, 1}, {4, 5}):
                    x, y, height = spot(end, 0.0, middle)
                    frame = self._new(f"AXIS2_PLACEMENT_3D('',{self._point((x, y), height)},{back},{out})")
                    radius = r + t if {a, b} == {0, 1} else r
                    curve = self._new(f"CIRCLE('',{frame},{_real(radius)})")
                    # outside of the bend the way round is that of the circle, inside it is against it
                    same = ".T." if {a, b} == {0, 1} else ".F."
                else:
                    (oa, za), (ob, zb) = profile[a], profile[b]
                    long = math.hypot(ob - oa, zb - za)
                    slope = self._new(f"VECTOR('',{spatial((ob - oa) / long, (zb - za) / long)},1.)")
                    curve, same = self._new(f"LINE('',{points[end, a]},{slope})"), ".T."
                rims[end, a, b] = self._new(f"EDGE_CURVE('',{vertices[end, a]},{vertices[end, b]},{curve},{same})")
        lengthwise: dict[int, str] = {}
        for k in (1, 2, 3, 4):
            line = self._new(f"LINE('',{points[0, k]},{along})")
            lengthwise[k] = self._new(f"EDGE_CURVE('',{vertices[0, k]},{vertices[1, k]},{line},.T.)")

        def oriented(edge: str, forward: bool) -> str:
            return self._new(f"ORIENTED_EDGE('',*,*,{edge},{'.T.' if forward else '.F.'})")

        def lying(k: int, forward: bool) -> str:
            """The edge along the bend at a corner of the section; both at its root are the wall's own."""
            side = root.sides.get(k)
            if side is None:
                return oriented(lengthwise[k], forward)
            return oriented(edges[side.of.number], side.forward == forward)

        def face(bound: Sequence[str], surface: str, same: str = ".T.") -> str:
            loop = self._new(f"EDGE_LOOP('',({','.join(bound)}))")
            outer = self._new(f"FACE_OUTER_BOUND('',{loop},.T.)")
            return self._new(f"ADVANCED_FACE('',({outer}),{surface},{same})")

        def plane(at: str, normal: str, reference: str) -> str:
            frame = self._new(f"AXIS2_PLACEMENT_3D('',{at},{normal},{reference})")
            return self._new(f"PLANE('',{frame})")

        made = []
        ways = [pair for pair in pairwise([*order, order[0]]) if set(pair) != {0, 5}]
        # the two ends: their sections, and the wall's upright edge
        for end, normal in ((0, back), (1, forth)):
            bound = [oriented(rims[end, a, b], end == 0) for a, b in (ways if end == 0 else reversed(ways))]
            up = root.uprights[end]
            # at the start of the bend the wall goes down this edge, at its end up: so do the faces in its place
            bound.append(oriented(edges[up.of.number], up.forward))
            made.append(face(bound, plane(points[end, 0], normal, out)))
        for a, b in ways:
            bound = [oriented(rims[0, a, b], False), lying(a, True), oriented(rims[1, a, b], True), lying(b, False)]
            if {a, b} in ({0, 1}, {4, 5}):
                x, y, height = spot(0, 0.0, middle)
                frame = self._new(f"AXIS2_PLACEMENT_3D('',{self._point((x, y), height)},{forth},{out})")
                outside = {a, b} == {0, 1}
                surface = self._new(f"CYLINDRICAL_SURFACE('',{frame},{_real(r + t if outside else r)})")
                made.append(face(bound, surface, ".T." if outside else ".F."))
            else:
                (oa, za), (ob, zb) = profile[a], profile[b]
                long = math.hypot(ob - oa, zb - za)
                made.append(face(bound, plane(points[0, a], spatial((zb - za) / long, (oa - ob) / long), forth)))
        return made

    def _new(self, entity: str) -> str:
        self.lines.append(entity)
        return f"#{len(self.lines)}"

    def _point(self, p: Point, z: float) -> str:
        return self._new(f"CARTESIAN_POINT('',({_real(p[0])},{_real(p[1])},{_real(z)}))")

    def _direction(self, x: float, y: float, z: float) -> str:
        return self._new(f"DIRECTION('',({','.join(_real(share, RATIO_DECIMALS) for share in (x, y, z))}))")

    def _frame(self, origin: Point, z: float, axis: str, reference: str) -> str:
        return self._new(f"AXIS2_PLACEMENT_3D('',{self._point(origin, z)},{axis},{reference})")

    def _side(self, side: Side, edges: dict[int, str], corners: list[str], closed: Skin) -> str:
        """An edge as a face goes along it; the edge itself is written the first time."""
        of = side.of
        if of.number not in edges:
            if isinstance(of, Rim):
                curve, same = self._curve(of)
            else:
                curve, same = self._upright(of, closed), ".T."
            start, end = corners[of.start], corners[of.end]
            edges[of.number] = self._new(f"EDGE_CURVE('',{start},{end},{curve},{same})")
        return self._new(f"ORIENTED_EDGE('',*,*,{edges[of.number]},{'.T.' if side.forward else '.F.'})")

    def _curve(self, rim: Rim) -> tuple[str, str]:
        """The line or circle that an edge lies on, and whether the edge runs the way it does: circles run left."""
        edge = rim.edge
        if isinstance(edge, Arc):
            circle = f"CIRCLE('',{self._frame(edge.center, rim.z, self.up, self.east)},{_real(edge.radius)})"
            return self._new(circle), ".T." if edge.sweep > 0.0 else ".F."
        along = self._new(f"VECTOR('',{self._direction(*edge.direction(0.0), 0.0)},1.)")
        return self._new(f"LINE('',{self._point(edge.a, rim.z)},{along})"), ".T."

    def _upright(self, stroke: Upstroke, closed: Skin) -> str:
        """The line that an edge between two ends of a wall lies on."""
        (x, y, low), (u, v, high) = closed.corners[stroke.start], closed.corners[stroke.end]
        along = self.upwards
        if (x, y) != (u, v):  # up the side of a countersink
            length = math.dist((x, y, low), (u, v, high))
            slope = self._direction((u - x) / length, (v - y) / length, (high - low) / length)
            along = self._new(f"VECTOR('',{slope},1.)")
        return self._new(f"LINE('',{self._point((x, y), low)},{along})")

    def _surface(self, face: Face) -> tuple[str, str]:
        """The surface that a face lies on, and whether the face looks the way the surface does.

        A plane looks along its axis, a cylinder or cone away from it. The steel is on the left of a wall's edges.
        """
        low, high = face.low, face.high
        if low is None or high is None:
            axis = self.up if face.up else self.down
            return self._new(f"PLANE('',{self._frame((0.0, 0.0), face.z, axis, self.east)})"), ".T."
        rise = face.top - face.z
        if isinstance(low, Arc) and isinstance(high, Arc):
            same = ".T." if low.sweep > 0.0 else ".F."  # convex steel has the axis on its own side
            if low == high:
                axis = self._frame(low.center, face.z, self.up, self.east)
                return self._new(f"CYLINDRICAL_SURFACE('',{axis},{_real(low.radius)})"), same
            # a cone of the standard grows wider along its axis: so it starts at the narrow end
            widens = high.radius > low.radius
            narrow, z = (low, face.z) if widens else (high, face.top)
            axis = self._frame(narrow.center, z, self.up if widens else self.down, self.east)
            half_angle = _real(math.atan(abs(high.radius - low.radius) / rise), RATIO_DECIMALS)
            return self._new(f"CONICAL_SURFACE('',{axis},{_real(narrow.radius)},{half_angle})"), same
        # outwards: along the edge, crossed with the way up the wall
        (dx, dy), (ux, uy) = low.direction(0.0), (high.a[0] - low.a[0], high.a[1] - low.a[1])
        outwards = (dy * rise, -dx * rise, dx * uy - dy * ux)
        length = math.hypot(*outwards)
        normal = self._direction(*(share / length for share in outwards))
        frame = self._frame(low.a, face.z, normal, self._direction(dx, dy, 0.0))
        return self._new(f"PLANE('',{frame})"), ".T."


def _real(value: float, decimals: int = MM_DECIMALS) -> str:
    """A number as ISO 10303-21 writes it: with a point, and no sign before a zero.

    >>> _real(12), _real(-1e-12), _real(1e-7), _real(0.25)
    ('12.', '0.', '1.E-07', '0.25')
    """
    text = repr(round(float(value), decimals) + 0.0)
    number, _, exponent = text.partition("e")
    number = number.removesuffix("0") if number.endswith(".0") else number
    number = number if "." in number else f"{number}."
    return f"{number}E{exponent}" if exponent else number


def quoted(text: str) -> str:
    r"""The text as a string of ISO 10303-21: quotes and backslashes doubled, other signs as `\X2\00E9\X0\`.

    >>> quoted("it's")
    "'it''s'"
    """
    said = ""
    for sign in text:
        if sign in "'\\":
            said += sign * 2
        elif " " <= sign <= "~":
            said += sign
        elif ord(sign) < 0x10000:
            said += f"\\X2\\{ord(sign):04X}\\X0\\"
        else:  # beyond four digits the standard wants eight
            said += f"\\X4\\{ord(sign):08X}\\X0\\"
    return f"'{said}'"


def _unproved(fault: str) -> OutputError:
    return OutputError(f"the solid did not pass its proof and was not written: {fault}; please report this")
