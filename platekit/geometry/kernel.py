"""Solids of other makers: the only door to the solid kernel, which comes with the extra `solid`.

A *model* is what a STEP file holds: one solid or several, with curved faces of any kind. What is asked of it: its flat
faces and the circles on them, its skin in triangles, how near it comes to a solid of ours, and a place in an assembly.

The kernel (OCCT, by way of cadquery) takes more than a second to import and over a gigabyte on the disk. So everything
here imports it inside the function that needs it, and a spec without a model never meets it.
"""

from __future__ import annotations

import contextlib
import faulthandler
import hashlib
import math
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from importlib.util import find_spec
from typing import Any, Final

import numpy
from msgspec import Struct
from numpy.typing import NDArray

from platekit.errors import PlatekitError
from platekit.geometry.loop import Loop
from platekit.geometry.point import Point
from platekit.geometry.shapes import Disc, Shape
from platekit.geometry.solids import Lying, Solid, StandingPrism

GET_IT: Final = "pip install 'platekit[solid]'"
"""The command that brings the kernel."""
SKIN: Final = 0.02
"""Farthest that a triangle lies from its curved face, mm (ours); what holds a model has it added."""
CHORD: Final = 0.001
"""Farthest that a chord of a cut lies from the curve, mm (ours); corners lie on it."""
MOST_FACES: Final = 5000
"""Most faces of a model (a stated limit, ours): beyond it every question takes minutes."""
LARGEST: Final = 10_000.0
"""Longest side of a model, mm (ours): no part that a plate carries is longer than ten metres."""
SMALLEST: Final = 1.0
"""A model whose longest side is shorter than this, mm, is in another unit than it says (ours)."""
LONGEST: Final = 120
"""A file over which the kernel sits longer is taken for damaged, seconds (ours)."""
SAME_PLANE: Final = 1e-3
"""Flat faces whose planes lie no farther apart are one, mm (ours): models are kept to a few digits."""
SAME_CIRCLE: Final = 0.05
"""Circles whose middles and radii differ by no more are one, mm (ours)."""
SHARED: Final = 1e-3
"""Common volume from which two solids are said to share space, mm3 (ours): faces that touch share rounding only."""

Spot3 = tuple[float, float, float]
Matrix = tuple[tuple[float, float, float, float], tuple[float, float, float, float], tuple[float, float, float, float]]
"""Rows of a map without scale: the new x is `a x + b y + c z + d` by its first row; d in mm."""


class KernelMissing(PlatekitError):
    """The solid kernel is not installed; the sentence says how to get it."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} needs the solid kernel, which is not installed; get it by {GET_IT}")


class ModelError(PlatekitError):
    """A model that cannot be used; `found` and `wanted` are the halves of its sentence."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"found {found}; {wanted}")
        self.found = found
        self.wanted = wanted


class Circle(Struct, frozen=True):
    """A whole circle on a flat face of a model: its middle in the model's frame, its radius (mm), and what it bounds.

    `kind` is `hole` where it leads into the part, `boss` where the part stands out of the face within it, else `rim`.
    """

    middle: Spot3
    radius: float
    kind: str


class FlatFace(Struct, frozen=True):
    """The flat faces of a model that lie in one plane and look the same way: unit normal out of the part, area (mm2).

    `offset` (mm) is the plane's own along the normal, `middle` that of the box round it, `size` its two sides in plane.
    """

    normal: Spot3
    offset: float
    area: float
    middle: Spot3
    size: tuple[float, float]
    circles: tuple[Circle, ...]

    def axes(self) -> tuple[Spot3, Spot3]:
        """Two unit directions in its plane, the first along the model's own x (or y, where x stands square to it).

        With the normal they are a right-handed frame.
        """
        return _axes(self.normal)


def _upright(told: tuple[str, Spot3], up: Spot3) -> bool:
    """Whether a face stands along a direction: a flat one by its normal, a drawn out one by its axis."""
    kind, way = told
    along = abs(_dot(way, up))
    return along < 1e-7 if kind == "square" else along > 1.0 - 1e-12


def _axes(n: Spot3) -> tuple[Spot3, Spot3]:
    start = (1.0, 0.0, 0.0) if abs(n[0]) < 0.9 else (0.0, 1.0, 0.0)
    along = sum(s * c for s, c in zip(start, n, strict=True))
    flat = [s - along * c for s, c in zip(start, n, strict=True)]
    length = math.sqrt(sum(c * c for c in flat))
    u = (flat[0] / length, flat[1] / length, flat[2] / length)
    return u, (n[1] * u[2] - n[2] * u[1], n[2] * u[0] - n[0] * u[2], n[0] * u[1] - n[1] * u[0])


def has_kernel() -> bool:
    """Whether the kernel is installed; nothing is imported."""
    try:
        return find_spec("cadquery") is not None and find_spec("OCP") is not None
    except (ImportError, ValueError):  # a module that was put out of the way
        return False


def need_kernel(what: str) -> None:
    """Raises `KernelMissing` where the kernel is not installed; `what` needs it."""
    if not has_kernel():
        raise KernelMissing(what)


@lru_cache(maxsize=1)
def _quiet() -> None:
    """Keeps the kernel from printing: what it finds wrong becomes a sentence of ours."""
    from OCP.Message import Message

    Message.DefaultMessenger_s().ChangePrinters().Clear()


class Model:
    """What a STEP file holds, told from others by the file's bytes; lengths in mm, whatever unit the file is in."""

    def __init__(self, name: str, mark: bytes, shape: Any, unit: str) -> None:
        self.name = name
        self.unit = unit
        self._mark = mark
        self._shape = shape

    def __hash__(self) -> int:
        return hash(self._mark)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Model) and self._mark == other._mark

    def __repr__(self) -> str:
        return f"Model({self.name!r})"

    @cached_property
    def solids(self) -> tuple[Any, ...]:
        """The kernel's own solids."""
        from OCP.TopAbs import TopAbs_SOLID

        return tuple(_parts(self._shape, TopAbs_SOLID))

    @cached_property
    def volume(self) -> float:
        """Volume of its solids together, mm3; what two of them share counts twice."""
        return math.fsum(abs(_volume(one)) for one in self.solids)

    @cached_property
    def box(self) -> tuple[Spot3, Spot3]:
        """Its least and greatest coordinates in its own frame, mm."""
        return _box(self._shape)

    @cached_property
    def faces(self) -> tuple[FlatFace, ...]:
        """Its flat faces, the largest first; equals by their normal and place."""
        found: dict[tuple[float, ...], list[Any]] = {}
        for face, normal, offset in self._planes():
            key = (*(round(c, 5) + 0.0 for c in normal), round(offset / SAME_PLANE / 10))
            found.setdefault(key, []).append((face, normal, offset))
        faces = [self._flat(group) for group in found.values()]
        return tuple(sorted(faces, key=lambda one: (-round(one.area, 2), *(round(c, 4) for c in one.middle))))

    def _planes(self) -> Iterator[tuple[Any, Spot3, float]]:
        from OCP.BRepAdaptor import BRepAdaptor_Surface
        from OCP.GeomAbs import GeomAbs_Plane
        from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED

        for solid in self.solids:
            for face in _parts(solid, TopAbs_FACE):
                surface = BRepAdaptor_Surface(face)
                if surface.GetType() != GeomAbs_Plane:
                    continue
                plane = surface.Plane()
                axis, spot = plane.Axis().Direction(), plane.Location()
                sign = -1.0 if face.Orientation() == TopAbs_REVERSED else 1.0
                if not plane.Direct():
                    sign = -sign
                n = (sign * axis.X(), sign * axis.Y(), sign * axis.Z())
                yield face, n, n[0] * spot.X() + n[1] * spot.Y() + n[2] * spot.Z()

    def _flat(self, group: list[tuple[Any, Spot3, float]]) -> FlatFace:
        from OCP.BRepGProp import BRepGProp
        from OCP.GProp import GProp_GProps

        _, normal, offset = group[0]
        area, corners = 0.0, []
        u, v = _axes(normal)
        turns: dict[tuple[Spot3, float], float] = {}
        for face, _, _ in group:
            gauge = GProp_GProps()
            BRepGProp.SurfaceProperties_s(face, gauge)
            area += gauge.Mass()
            for spot in _edge_points(face):
                corners.append((_dot(spot, u), _dot(spot, v)))
            for middle, radius, turn in _arcs(face):
                for (other, size), _ in turns.items():
                    if math.dist(middle, other) <= SAME_CIRCLE and abs(radius - size) <= SAME_CIRCLE:
                        turns[other, size] += turn
                        break
                else:
                    turns[middle, radius] = turn
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        middle = (
            x * u[0] + y * v[0] + offset * normal[0],
            x * u[1] + y * v[1] + offset * normal[1],
            x * u[2] + y * v[2] + offset * normal[2],
        )
        circles = [
            Circle(spot, size, self._kind(spot, size, normal, u))
            for (spot, size), turn in turns.items()
            if turn >= math.tau - 0.01
        ]
        circles.sort(key=lambda one: (round(one.radius, 3), *(round(c, 3) for c in one.middle)))
        return FlatFace(normal, offset, area, middle, (max(xs) - min(xs), max(ys) - min(ys)), tuple(circles))

    def _kind(self, middle: Spot3, radius: float, n: Spot3, u: Spot3) -> str:
        # Just within the circle: below the face there is nothing in a hole, above it there is steel in a boss. The
        # middle itself would not do: a shaft may stand in it.
        aside, off = radius - min(0.05, radius / 10), min(0.05, radius / 10)
        spot = tuple(m + aside * a for m, a in zip(middle, u, strict=True))
        if not self._holds(tuple(s - off * c for s, c in zip(spot, n, strict=True))):
            return "hole"
        return "boss" if self._holds(tuple(s + off * c for s, c in zip(spot, n, strict=True))) else "rim"

    def _holds(self, spot: tuple[float, ...]) -> bool:
        from OCP.BRepClass3d import BRepClass3d_SolidClassifier
        from OCP.gp import gp_Pnt
        from OCP.TopAbs import TopAbs_IN

        for solid, (low, high) in zip(self.solids, self._boxes, strict=True):
            if all(a <= c <= b for a, c, b in zip(low, spot, high, strict=True)):
                asked = BRepClass3d_SolidClassifier(solid)
                asked.Perform(gp_Pnt(*spot), 1e-6)
                if asked.State() == TopAbs_IN:
                    return True
        return False

    @cached_property
    def _boxes(self) -> tuple[tuple[Spot3, Spot3], ...]:
        return tuple(_box(solid) for solid in self.solids)

    def skin(self, up: Spot3) -> NDArray[numpy.float64]:
        """Its skin in triangles (n, 3, 3), mm in its own frame, without the faces that stand along the direction `up`.

        None lies farther than `SKIN` from the face that it stands for; corners lie on it.
        """
        meshes = self._meshes
        kept = [spots for spots, along in meshes if not (along is not None and _upright(along, up))]
        return numpy.concatenate(kept) if kept else numpy.zeros((0, 3, 3))

    @cached_property
    def _meshes(self) -> tuple[tuple[NDArray[numpy.float64], tuple[str, Spot3] | None], ...]:
        """The triangles of each face, with the direction by which it is told whether it stands upright."""
        from OCP.BRep import BRep_Tool
        from OCP.BRepAdaptor import BRepAdaptor_Surface
        from OCP.BRepMesh import BRepMesh_IncrementalMesh
        from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane, GeomAbs_SurfaceOfExtrusion
        from OCP.TopAbs import TopAbs_FACE
        from OCP.TopLoc import TopLoc_Location

        BRepMesh_IncrementalMesh(self._shape, SKIN, False, 0.5, False)  # one thread: the same triangles everywhere
        found = []
        for solid in self.solids:
            for face in _parts(solid, TopAbs_FACE):
                place = TopLoc_Location()
                mesh = BRep_Tool.Triangulation_s(face, place)
                if mesh is None:
                    raise ModelError(f"a face in {self.name} that cannot be drawn", "save the model again as a solid")
                move = place.Transformation()
                nodes = [mesh.Node(k + 1).Transformed(move) for k in range(mesh.NbNodes())]
                spots = numpy.round(numpy.array([(p.X(), p.Y(), p.Z()) for p in nodes]), 9)
                index = [mesh.Triangle(k + 1).Get() for k in range(mesh.NbTriangles())]
                surface = BRepAdaptor_Surface(face)
                told: tuple[str, Spot3] | None = None
                if surface.GetType() == GeomAbs_Plane:
                    told = ("square", _xyz(surface.Plane().Axis().Direction()))
                elif surface.GetType() == GeomAbs_Cylinder:
                    told = ("along", _xyz(surface.Cylinder().Axis().Direction()))
                elif surface.GetType() == GeomAbs_SurfaceOfExtrusion:
                    told = ("along", _xyz(surface.Direction()))
                found.append((spots[numpy.array(index) - 1], told))
        return tuple(found)

    def section(self, up: Spot3, offset: float) -> tuple[NDArray[numpy.float64], ...]:
        """The lines in which the plane at `offset` (mm) along the unit direction `up` cuts it: runs of points (n, 3).

        Chords lie no farther than `CHORD` from the curve; in its own frame.
        """
        from OCP.BRepAdaptor import BRepAdaptor_Curve
        from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
        from OCP.GCPnts import GCPnts_QuasiUniformDeflection
        from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line
        from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
        from OCP.TopAbs import TopAbs_EDGE

        plane = gp_Pln(gp_Pnt(*(offset * c for c in up)), gp_Dir(*up))
        runs = []
        for edge in _parts(BRepAlgoAPI_Section(self._shape, plane).Shape(), TopAbs_EDGE):
            curve = BRepAdaptor_Curve(edge)
            first, last = curve.FirstParameter(), curve.LastParameter()
            if curve.GetType() == GeomAbs_Line:
                places = [first, last]
            elif curve.GetType() == GeomAbs_Circle:
                half = math.acos(max(1.0 - CHORD / curve.Circle().Radius(), 0.9))
                count = max(math.ceil((last - first) / (2 * half)), 4)
                places = [first + (last - first) * k / count for k in range(count + 1)]
            else:
                even = GCPnts_QuasiUniformDeflection(curve, CHORD)
                places = [even.Parameter(k + 1) for k in range(even.NbPoints())]
            runs.append(numpy.array([_xyz(curve.Value(place)) for place in places]))
        return tuple(runs)

    @cached_property
    def corners(self) -> NDArray[numpy.float64]:
        """Where its edges end, and its flat faces' places (n, 3), mm: the levels at which its outline changes."""
        from OCP.BRep import BRep_Tool
        from OCP.TopAbs import TopAbs_VERTEX
        from OCP.TopoDS import TopoDS

        spots = [BRep_Tool.Pnt_s(TopoDS.Vertex_s(one)) for one in _parts(self._shape, TopAbs_VERTEX)]
        return numpy.array(sorted({(round(p.X(), 6), round(p.Y(), 6), round(p.Z(), 6)) for p in spots}))

    @cached_property
    def marks(self) -> tuple[tuple[float, float, Spot3], ...]:
        """Each of its faces by kind, area and middle (mm): what shows whether it looks the same when turned."""
        from OCP.BRepAdaptor import BRepAdaptor_Surface
        from OCP.BRepGProp import BRepGProp
        from OCP.GProp import GProp_GProps
        from OCP.TopAbs import TopAbs_FACE

        found = []
        for solid in self.solids:
            for face in _parts(solid, TopAbs_FACE):
                gauge = GProp_GProps()
                BRepGProp.SurfaceProperties_s(face, gauge)
                c = gauge.CentreOfMass()
                found.append((float(int(BRepAdaptor_Surface(face).GetType())), gauge.Mass(), (c.X(), c.Y(), c.Z())))
        return tuple(found)

    def same_when(self, turned: Matrix) -> bool:
        """Whether it looks the same after a turn about an axis of its own frame, by the middles of its faces."""

        def told(marks: Sequence[tuple[float, float, Spot3]]) -> Counter[tuple[float, ...]]:
            return Counter((kind, round(area, 1), *(round(c, 2) + 0.0 for c in spot)) for kind, area, spot in marks)

        return told(self.marks) == told([(kind, area, carried(turned, spot)) for kind, area, spot in self.marks])

    def at(self, place: Matrix) -> Any:
        """The kernel's shape at another place; `place` must not mirror."""
        from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
        from OCP.gp import gp_Trsf

        move = gp_Trsf()
        move.SetValues(*place[0], *place[1], *place[2])
        return BRepBuilderAPI_Transform(self._shape, move, True).Shape()


class Placed(Struct, frozen=True):
    """A model and where it is: the map from its own frame to the plate frame (or to its carrier's own frame), mm."""

    model: Model
    place: Matrix

    def then(self, outer: Matrix) -> Placed:
        """The same, carried on by another map (mm)."""
        return Placed(self.model, combined(self.place, outer))


def combined(inner: Matrix, outer: Matrix) -> Matrix:
    """First `inner`, `outer` on top of it (both in mm)."""
    a, b = numpy.array([*inner, (0, 0, 0, 1)], float), numpy.array([*outer, (0, 0, 0, 1)], float)
    (p, q, r, _) = (b @ a).tolist()
    return (tuple(p), tuple(q), tuple(r))


def carried(place: Matrix, spot: Spot3) -> Spot3:
    """Where a point (mm) comes to lie."""
    x, y, z = spot
    p, q, r = (row[0] * x + row[1] * y + row[2] * z + row[3] for row in place)
    return (p, q, r)


# ------------------------------------------------------------------------------------------------ reading


@lru_cache(maxsize=16)
def _read(name: str, data: bytes) -> Model:
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TColStd import TColStd_SequenceOfAsciiString
    from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID

    _quiet()
    again = "save or download it again, as STEP (AP203, AP214 or AP242)"
    reader = STEPControl_Reader()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    # The kernel reads files only: it is given one of its own, whose bytes are those that the mark was made of.
    handle, path = tempfile.mkstemp(suffix=".step")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        if reader.ReadFile(path) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise ModelError(f"a STEP file that cannot be read ({name})", again)
    finally:
        os.unlink(path)
    lengths, angles, others = (TColStd_SequenceOfAsciiString() for _ in range(3))
    try:
        reader.FileUnits(lengths, angles, others)
        reader.TransferRoots()
        shape = reader.OneShape()
    except Exception as error:  # whatever the kernel throws at a damaged file: it has no one base for it
        raise ModelError(f"a STEP file that cannot be read ({name})", again) from error
    units = sorted({lengths.Value(k + 1).ToCString().lower() for k in range(lengths.Length())})
    if shape is None or shape.IsNull():
        raise ModelError(f"no solid in {name}", "save the part itself as a solid, not a drawing of it")
    solids = [one for one in _parts(shape, TopAbs_SOLID) if abs(_volume(one)) > SHARED]
    count = sum(1 for _ in _parts(shape, TopAbs_FACE))
    if not solids:
        what = f"{count} loose faces" if count else "no face"
        raise ModelError(f"no solid in {name} ({what})", "save the part as a solid, its faces sewn together")
    if count > MOST_FACES:
        wanted = f"at most {MOST_FACES} will do; save it without threads, windings and screws"
        raise ModelError(f"{count} faces in {name}", wanted)
    whole = Model(name, hashlib.sha256(data).digest(), _together(solids), " and ".join(units) or "no unit")
    low, high = whole.box
    longest = max(b - a for a, b in zip(low, high, strict=True))
    said = f"a model of {longest:.4g} mm in {name}, whose unit is {whole.unit}"
    if not longest <= LARGEST:
        raise ModelError(said, f"at most {LARGEST / 1000:g} m will do; save it in the unit that it was drawn in")
    if longest < SMALLEST:
        raise ModelError(said, "save it in the unit that it was drawn in")
    return whole


def read_model(name: str, data: bytes) -> Model:
    """The solids of a STEP file (ISO 10303-21), in mm; `name` is what sentences call it.

    Raises `ModelError` for what is no STEP, is cut off, holds no solid or one of no possible size, and `KernelMissing`.
    """
    if not data.strip():
        raise ModelError(f"an empty file ({name})", "save or download it again, as STEP (AP203, AP214 or AP242)")
    if b"ISO-10303-21" not in data[:2000]:
        raise ModelError(f"{name}, which is no STEP file", "save the model as STEP (AP203, AP214 or AP242)")
    if b"END-ISO-10303-21" not in data[-2000:]:
        raise ModelError(f"a STEP file that is cut off ({name}: its end is missing)", "save or download it again")
    need_kernel(f"a model ({name})")
    _try_apart(name, data)
    return _read(name, data)


@lru_cache(maxsize=64)
def _try_apart(name: str, data: bytes) -> None:
    """Reads a file in a process of its own first; raises `ModelError` where that dies or never ends.

    A damaged file can bring the kernel down, which no exception tells: it would take the whole command with it.
    """
    from OCP.STEPControl import STEPControl_Reader as STEPControl_Reader

    if hasattr(os, "fork") and threading.active_count() == 1:
        # the kernel is loaded already: a copy of this process costs next to nothing
        child = os.fork()
        if child == 0:
            try:
                faulthandler.disable()  # its end is expected, and is told by us
                signal.signal(signal.SIGALRM, signal.SIG_DFL)
                signal.alarm(LONGEST)
                _looked_through(name, data)
            finally:
                os._exit(0)
        _, status = os.waitpid(child, 0)
        survived = not os.WIFSIGNALED(status)
    else:
        code = "import sys; from platekit.geometry.kernel import _looked_through as f; f('', sys.stdin.buffer.read())"
        try:
            done = subprocess.run([sys.executable, "-c", code], input=data, capture_output=True, timeout=LONGEST)
            survived = done.returncode in (0, 1)  # 1: refused, which is said below in its own words
        except subprocess.TimeoutExpired:
            survived = False
    if not survived:
        wanted = "save or download it again, as STEP (AP203, AP214 or AP242)"
        raise ModelError(f"a STEP file that is damaged ({name})", wanted)


def _looked_through(name: str, data: bytes) -> None:
    """All that is asked of a file itself, for the sake of whether the kernel survives it."""
    with contextlib.suppress(Exception):
        model = _read(name, data)
        _ = (model.faces, model.corners, model.marks)
        model.skin((0.0, 0.0, 1.0))


# ------------------------------------------------------------------------------------------------ how near


class Near(Struct, frozen=True):
    """How near a model comes to something: mm, 0 where they touch or share space; the points between which.

    `shares` is whether they share space.
    """

    distance: float
    shares: bool
    here: Spot3
    there: Spot3


def how_near(placed: Placed, others: Sequence[Solid], to: Placed | None = None) -> Near:
    """How near a model in the plate frame comes to solids of ours, or to another model `to`; mm, exact.

    Common volume decides between touching and running into each other.
    """
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    own = _at(placed)
    best: Near | None = None
    for other in [_of_solid(one) for one in others] + ([] if to is None else [_at(to)]):
        asked = BRepExtrema_DistShapeShape(own, other)
        if not asked.IsDone() or not asked.NbSolution():
            found = Near(0.0, True, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))  # no answer is no clearance: the safe side
        else:
            a, b = asked.PointOnShape1(1), asked.PointOnShape2(1)
            apart = round(asked.Value(), 6)
            shares = apart <= 0.0 and _common(own, other) > SHARED
            found = Near(apart, shares, (a.X(), a.Y(), a.Z()), (b.X(), b.Y(), b.Z()))
        if best is None or (not found.shares, found.distance) < (not best.shares, best.distance):
            best = found
    assert best is not None
    return best


@lru_cache(maxsize=64)
def _at(placed: Placed) -> Any:
    return placed.model.at(placed.place)


def _common(a: Any, b: Any) -> float:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    return abs(_volume(BRepAlgoAPI_Common(a, b).Shape()))


def _of_solid(solid: Solid) -> Any:
    """A solid of ours as the kernel's; a flaring one that is no cone by the prism that holds it, the safe side."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec

    if isinstance(solid, Lying):
        if solid.travel is not None:
            return _prism(solid.silhouette, solid.low, solid.high)
        (ax, ay), (bx, by) = solid.a, solid.b
        axis = gp_Ax2(gp_Pnt(ax, ay, solid.height), gp_Dir(bx - ax, by - ay, 0.0))
        return BRepPrimAPI_MakeCylinder(axis, solid.radius, math.dist(solid.a, solid.b)).Shape()
    if isinstance(solid, StandingPrism):
        (ux, uy), (nx, ny) = solid.u, solid.n
        start, along = solid.start, solid.stop - solid.start

        def stood(p: Point) -> Spot3:
            return (p[0] * ux + start * nx, p[0] * uy + start * ny, p[1])

        return BRepPrimAPI_MakePrism(_flat_face(solid.shape, stood), gp_Vec(nx * along, ny * along, 0.0)).Shape()
    if isinstance(solid.shape, Disc) and not solid.straight:
        (x, y), r = solid.shape.center, solid.shape.radius
        foot = gp_Ax2(gp_Pnt(x, y, solid.low), gp_Dir(0.0, 0.0, 1.0))
        radii = (r + solid.flare_low, r + solid.flare_high)
        return BRepPrimAPI_MakeCone(foot, *radii, solid.high - solid.low).Shape()
    return _prism(solid.silhouette, solid.low, solid.high)


def _prism(shape: Shape, low: float, high: float) -> Any:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec

    if isinstance(shape, Disc):
        foot = gp_Ax2(gp_Pnt(*shape.center, low), gp_Dir(0.0, 0.0, 1.0))
        return BRepPrimAPI_MakeCylinder(foot, shape.radius, high - low).Shape()
    flat = _flat_face(shape.loop(), lambda p: (p[0], p[1], low))
    return BRepPrimAPI_MakePrism(flat, gp_Vec(0.0, 0.0, high - low)).Shape()


def _flat_face(loop: Loop, at: Any) -> Any:
    """A face within a loop, each point of which is put where `at` says."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Pnt

    wire = BRepBuilderAPI_MakeWire()
    for edge in loop.edges:
        a, b = gp_Pnt(*at(edge.at(0.0))), gp_Pnt(*at(edge.at(1.0)))
        if edge.bulge:
            curve = GC_MakeArcOfCircle(a, gp_Pnt(*at(edge.at(0.5))), b).Value()
            wire.Add(BRepBuilderAPI_MakeEdge(curve).Edge())
        else:
            wire.Add(BRepBuilderAPI_MakeEdge(a, b).Edge())
    return BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()


# ------------------------------------------------------------------------------------------------ the kernel's values


def _xyz(value: Any) -> Spot3:
    """A point or a direction of the kernel's."""
    return (value.X(), value.Y(), value.Z())


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _parts(shape: Any, kind: Any) -> Iterator[Any]:
    """The parts of a kind, in the order of the file."""
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_SOLID, TopAbs_VERTEX
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    cast = {
        TopAbs_FACE: TopoDS.Face_s,
        TopAbs_EDGE: TopoDS.Edge_s,
        TopAbs_SOLID: TopoDS.Solid_s,
        TopAbs_VERTEX: TopoDS.Vertex_s,
    }[kind]
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield cast(explorer.Current())
        explorer.Next()


def _together(shapes: Sequence[Any]) -> Any:
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    whole, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(whole)
    for one in shapes:
        # a solid that was saved inside out has its volume below nil, and would hold all the world but itself
        builder.Add(whole, one.Reversed() if _volume(one) < 0.0 else one)
    return whole


def _volume(shape: Any) -> float:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    gauge = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, gauge)
    return float(gauge.Mass())


def _box(shape: Any) -> tuple[Spot3, Spot3]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return (low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z())


def _edge_points(face: Any) -> Iterator[Spot3]:
    """Points of the edges of a face, close enough together to tell how far it reaches."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.TopAbs import TopAbs_EDGE

    for edge in _parts(face, TopAbs_EDGE):
        curve = BRepAdaptor_Curve(edge)
        first, last = curve.FirstParameter(), curve.LastParameter()
        for k in range(25):  # every 15 degrees of a circle, which holds the four farthest points of one that is whole
            p = curve.Value(first + (last - first) * k / 24)
            yield (p.X(), p.Y(), p.Z())


def _arcs(face: Any) -> Iterator[tuple[Spot3, float, float]]:
    """The round edges of a face: middle, radius (mm), angle turned through (rad)."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_Circle
    from OCP.TopAbs import TopAbs_EDGE

    for edge in _parts(face, TopAbs_EDGE):
        curve = BRepAdaptor_Curve(edge)
        if curve.GetType() == GeomAbs_Circle:
            circle = curve.Circle()
            c = circle.Location()
            yield (c.X(), c.Y(), c.Z()), circle.Radius(), abs(curve.LastParameter() - curve.FirstParameter())


# ------------------------------------------------------------------------------------------------ assemblies


class Part(Struct, frozen=True):
    """A part of an assembly in the plate frame: its name, its colour (red, green, blue from 0 to 1), what it is.

    It is a model, or else the `solids` together (mm).
    """

    name: str
    colour: tuple[float, float, float]
    solids: tuple[Solid, ...] = ()
    model: Placed | None = None


def assembly_step(name: str, parts: Sequence[Part]) -> bytes:
    """A STEP file (ISO 10303-21, AP214, mm) of parts with names and colours; the kernel's own header is left to mend.

    Names are put into ASCII. Raises `KernelMissing`, and `ModelError` where the kernel writes nothing.
    """
    need_kernel("an assembly")
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_Label
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    _quiet()

    def called(label: TDF_Label, words: str) -> None:
        plain = words.encode("ascii", "replace").decode()
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(plain))

    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    whole = shapes.NewShape()
    called(whole, name)
    counts = []
    for part in parts:
        shape = _at(part.model) if part.model is not None else _together([_of_solid(one) for one in part.solids])
        label = shapes.AddShape(shape, False)
        called(label, part.name)
        counts.append(sum(1 for _ in _parts(shape, TopAbs_SOLID)))
        called(shapes.AddComponent(whole, label, TopLoc_Location()), part.name)
    shapes.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer.SetColorMode(False)
    writer.SetNameMode(True)
    writer.Transfer(document, STEPControl_AsIs)
    handle, path = tempfile.mkstemp(suffix=".step")
    os.close(handle)
    try:
        if writer.Write(path) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise ModelError("an assembly that the solid kernel does not write", "leave `--assembly` out")
        with open(path, "rb") as file:
            return _coloured(file.read(), [part.colour for part in parts], counts)
    finally:
        os.unlink(path)


def _coloured(data: bytes, colours: Sequence[tuple[float, float, float]], counts: Sequence[int]) -> bytes:
    """The file with a colour on the solids of each part, of which there are so many, in the order of the file.

    The kernel would write colours itself, in an order that hangs on where things lie in memory, another in every run.
    """
    # Its lines are folded at a width: each entity gets its own line, so that a longer number moves no fold.
    text = data.replace(b"\r\n", b"\n").replace(b"\n  ", b"").decode("ascii")
    solids = re.findall(r"^#(\d+) = (?:MANIFOLD_SOLID_BREP|BREP_WITH_VOIDS)\(", text, re.MULTILINE)
    context = re.search(r"^#(\d+) = \( ?GEOMETRIC_REPRESENTATION_CONTEXT\(3\)", text, re.MULTILINE)
    if len(solids) != sum(counts) or context is None:
        raise ModelError("an assembly that the solid kernel writes incompletely", "leave `--assembly` out")
    number = max(int(one) for one in re.findall(r"^#(\d+) =", text, re.MULTILINE))
    left, lines, styled = iter(solids), [], []
    for (red, green, blue), count in zip(colours, counts, strict=True):
        first = number + 1
        lines += [
            f"#{first} = COLOUR_RGB('',{red:.4f},{green:.4f},{blue:.4f});",
            f"#{first + 1} = FILL_AREA_STYLE_COLOUR('',#{first});",
            f"#{first + 2} = FILL_AREA_STYLE('',(#{first + 1}));",
            f"#{first + 3} = SURFACE_STYLE_FILL_AREA(#{first + 2});",
            f"#{first + 4} = SURFACE_SIDE_STYLE('',(#{first + 3}));",
            f"#{first + 5} = SURFACE_STYLE_USAGE(.BOTH.,#{first + 4});",
            f"#{first + 6} = PRESENTATION_STYLE_ASSIGNMENT((#{first + 5}));",
        ]
        number = first + 6
        for _ in range(count):
            number += 1
            styled.append(f"#{number}")
            lines.append(f"#{number} = STYLED_ITEM('color',(#{first + 6}),#{next(left)});")
    whole = f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({','.join(styled)}),#{context[1]});"
    lines.append(f"#{number + 1} = {whole}")
    head, end, tail = text.rpartition("ENDSEC;")
    return (head + "\n".join(lines) + "\n" + end + tail).encode("ascii")
