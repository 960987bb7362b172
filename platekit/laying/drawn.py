"""The closed outline in a drawing of the user's own, as an exact loop."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from platekit.errors import GeometryError, SpecError
from platekit.geometry import Loop, Point, Pose, loop_of
from platekit.spec import Spec
from platekit.spec.drawing_reader import read_drawing
from platekit.spec.drawings import DrawingError, Stroke, Unit, Vertex
from platekit.spec.space_words import DrawnShape

JOIN = 0.01
"""Ends of two strokes closer than this are one corner, mm: drawings are kept to a few digits (ours)."""
FIT = 0.005
"""Farthest that an outline of arcs and lines lies from the chords that it stands for, mm (ours): a tenth of what the
finest of tables holds, and what a polygon may be off anywhere else here."""


class DrawnOutline(Struct, frozen=True):
    """An outline out of a drawing: the loop in the drawing's own frame, and what must be known of how it was read.

    `replaced` chords became arcs and lines, nowhere more than `away` mm off; `silent` when the file names no unit.
    """

    loop: Loop
    remarks: tuple[str, ...]
    silent: bool
    replaced: int
    away: float


def drawn_outline(spec: Spec, given: DrawnShape, field: str) -> Loop:
    """The outline in the drawing's own frame, mm, y up.

    Raises `SpecError` at the place in the spec for a file that is missing or no drawing, or holds no single outline.
    """
    return outline_of(spec, given, field).loop


def outline_of(spec: Spec, given: DrawnShape, field: str) -> DrawnOutline:
    """As `drawn_outline`, with what must be known of it, mm."""
    try:
        data = _Bytes(spec.drawing(given.file))
        return _outline((spec.folder / given.file).name, data, given.units, given.layer, given.zero == "middle")
    except DrawingError as error:
        raise SpecError((spec.problem(f"{field}.{error.key}", error.found, error.wanted),)) from error


def drawn_shapes(spec: Spec) -> Iterator[tuple[str, str, DrawnShape]]:
    """Each outline from a drawing: the feature it makes, where it stands in the spec, and its words."""
    model = spec.model
    for name, cutout in model.plate.cutouts.items():
        if cutout.drawn is not None:
            yield name, f"plate.cutouts.{name}.drawn", cutout.drawn
    for name, body in model.bodies.items():
        if body.shape is not None and body.shape.drawn is not None:
            yield name, f"bodies.{name}.shape.drawn", body.shape.drawn
    for name, mount in model.mounts.items():
        if mount.pad is not None and mount.pad.drawn is not None:
            yield name, f"mounts.{name}.pad.drawn", mount.pad.drawn


class _Bytes:
    """What is in a file, told from others by what is in it."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        # A file of megabytes is compared by its digest: the outline is kept for as long as the file stays what it was.
        self._mark = hashlib.sha256(data).digest()

    def __hash__(self) -> int:
        return hash(self._mark)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Bytes) and self._mark == other._mark


@lru_cache(maxsize=64)
def _outline(name: str, data: _Bytes, unit: Unit, layer: str | None, middle: bool) -> DrawnOutline:
    drawing = read_drawing(name, data.data, unit, layer)
    # All strokes together must form one closed outline: those that are closed already, and chains of the open ones.
    outlines = [stroke for stroke in drawing.strokes if stroke.closed]
    ends = _Ends([stroke.vertices for stroke in drawing.strokes if not stroke.closed])
    while ends.free:
        # A chain starts anywhere and takes the next stroke that begins or ends where it is, until it is back. Where
        # two could follow, a program that drew it knows better than we do: it is asked, not guessed.
        vertices = list(ends.take(next(iter(ends.free))))
        start = _spot(vertices[0])
        while math.dist(_spot(vertices[-1]), start) > JOIN:
            here = _spot(vertices[-1])
            # Where several strokes begin in one place the way is not clear, and a guess might cut the wrong part out.
            near = list(ends.near(here))
            if not near:
                others = (math.dist(here, _spot(ends.strokes[k][end])) for k in ends.free for end in (0, -1))
                nearest = min(others, default=math.inf)
                where = (
                    f"{here[0]:.6g}, {here[1]:.6g} mm, {min(nearest, math.dist(here, start)):.4g} mm from the next end"
                )
                raise DrawingError(
                    f"an outline in {name} that is open at {where}", f"close it; within {JOIN} mm will do"
                )
            if len(near) > 1:
                raise DrawingError(
                    f"an outline in {name} that branches at {here[0]:.6g}, {here[1]:.6g} mm", "leave one way round"
                )
            k, end = near[0]
            stroke = ends.take(k)
            follow = stroke
            if end != 0:
                # run the other way: each bulge moves to where its edge starts now, and bends to the other side
                bulges = [*(-bulge for _, _, bulge in stroke[-2::-1]), 0.0]
                follow = tuple((x, y, bulge) for (x, y, _), bulge in zip(stroke[::-1], bulges, strict=True))
            vertices[-1] = (*here, follow[0][2])
            vertices.extend(follow[1:])
        outlines.append(Stroke(tuple(vertices[:-1]), closed=True))
    if len(outlines) > 1:
        wanted = "leave one, or put it on a layer of its own and name that in `layer`"
        raise DrawingError(f"{len(outlines)} outlines in {name}", wanted)
    closed = outlines[0]
    try:
        loop = loop_of(closed.vertices)
    except GeometryError as error:
        raise DrawingError(f"an outline in {name} that is none", str(error)) from error
    from platekit.geometry.fitting import fit_edges  # only here: it takes numpy, which most plates do without

    # A drawing program writes curves as many short chords: arcs in their place cut smoothly and are a tenth of the
    # file.
    fit = fit_edges(loop.vertices, FIT)
    if fit.replaced:
        try:
            loop = loop_of(fit.vertices)
        except GeometryError:  # two sides so near each other that arcs in place of chords would touch
            fit = fit_edges(loop.vertices, 0.0)
    x, y = loop.box.center
    loop = loop.moved(Pose(-x, -y)) if middle else loop
    return DrawnOutline(loop, drawing.remarks, drawing.unit_silent, fit.replaced, fit.away)


class _Ends:
    """The ends of open strokes by place, so that the next one is found without asking all."""

    def __init__(self, strokes: list[tuple[Vertex, ...]]) -> None:
        self.strokes = strokes
        self.free = dict.fromkeys(range(len(strokes)))
        self._cells: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for k, stroke in enumerate(strokes):
            for end in (0, -1):
                self._cells.setdefault(_cell(stroke[end]), []).append((k, end))

    def near(self, p: Point) -> Iterator[tuple[int, int]]:
        """Free strokes, and which of their ends, that begin or end here, in the order of the drawing."""
        # Ends within a join of each other may fall into neighbouring cells, so all nine round it are looked through.
        i, j = _cell(p)
        around = [(i + di, j + dj) for di in (-1, 0, 1) for dj in (-1, 0, 1)]
        found = [item for cell in around for item in self._cells.get(cell, ())]
        for k, end in sorted(found, key=lambda item: (item[0], -item[1])):
            if k in self.free and math.dist(_spot(self.strokes[k][end]), p) <= JOIN:
                yield k, end

    def take(self, k: int) -> tuple[Vertex, ...]:
        """A stroke that is free no longer."""
        del self.free[k]
        return self.strokes[k]


def _cell(p: Point | Vertex) -> tuple[int, int]:
    return (math.floor(p[0] / JOIN), math.floor(p[1] / JOIN))


def _spot(vertex: Vertex) -> Point:
    return (vertex[0], vertex[1])
