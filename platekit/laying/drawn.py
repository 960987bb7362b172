"""The closed outline in a drawing of the user's own, as an exact loop."""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path

from platekit.errors import GeometryError, SpecError
from platekit.geometry import Loop, Point, Pose, loop_of
from platekit.spec import Spec
from platekit.spec.drawings import CHORD, DrawingError, Stroke, Unit, Vertex, drawing_bytes, read_strokes
from platekit.spec.space_words import DrawnShape

JOIN = 0.01
"""Ends of two strokes closer than this are one corner, mm: drawings are kept to a few digits (ours)."""


def drawn_outline(spec: Spec, given: DrawnShape, field: str) -> Loop:
    """The outline in the drawing's own frame, mm, y up; where curves were cut into chords, on the outer side of them.

    Raises `SpecError` at the place in the spec for a file that is missing or no drawing, or holds no single outline.
    """
    try:
        path = spec.folder / given.file
        return _outline(path, _stamp(path), given.units, given.layer, given.zero == "middle")
    except DrawingError as error:
        key = "layer" if given.layer is not None and "layer" in error.found else "file"
        raise SpecError((spec.problem(f"{field}.{key}", error.found, error.wanted),)) from error


def _stamp(path: Path) -> tuple[int, int]:
    """What changes when the file does; a drawing is read once for each."""
    try:
        state = path.stat()
    except (OSError, ValueError):
        drawing_bytes(path)
        raise
    return state.st_mtime_ns, state.st_size


@lru_cache(maxsize=64)
def _outline(path: Path, stamp: tuple[int, int], unit: Unit, layer: str | None, middle: bool) -> Loop:
    strokes = read_strokes(path, unit, layer)
    closed = _closed(strokes, path.name)
    try:
        loop = loop_of(closed.vertices)
        loop = loop.grown(CHORD) if closed.chords else loop
    except GeometryError as error:
        raise DrawingError(f"an outline in {path.name} that is none", str(error)) from error
    x, y = loop.box.center
    return loop.moved(Pose(-x, -y)) if middle else loop


def _closed(strokes: tuple[Stroke, ...], name: str) -> Stroke:
    """The one closed stroke that all strokes together form."""
    outlines = [stroke for stroke in strokes if stroke.closed]
    rest = [stroke for stroke in strokes if not stroke.closed]
    while rest:
        outlines.append(_chain(rest, name))
    if len(outlines) > 1:
        wanted = "leave one, or put it on a layer of its own and name that in `layer`"
        raise DrawingError(f"{len(outlines)} outlines in {name}", wanted)
    return outlines[0]


def _chain(rest: list[Stroke], name: str) -> Stroke:
    """One closed outline out of open strokes, which are taken from the list."""
    first = rest.pop(0)
    vertices, chords = list(first.vertices), first.chords
    start = _spot(vertices[0])
    while math.dist(_spot(vertices[-1]), start) > JOIN:
        here = _spot(vertices[-1])
        near = [(k, end) for k, stroke in enumerate(rest) for end in (0, -1) if _meets(stroke.vertices[end], here)]
        if not near:
            gap = min((math.dist(here, _spot(s.vertices[end])) for s in rest for end in (0, -1)), default=None)
            nearest = math.dist(here, start) if gap is None else min(gap, math.dist(here, start))
            where = f"{here[0]:.6g}, {here[1]:.6g} mm, {nearest:.4g} mm from the next end"
            raise DrawingError(f"an outline in {name} that is open at {where}", f"close it; within {JOIN} mm will do")
        if len(near) > 1:
            raise DrawingError(
                f"an outline in {name} that branches at {here[0]:.6g}, {here[1]:.6g} mm", "leave one way round"
            )
        k, end = near[0]
        stroke = rest.pop(k)
        follow = stroke.vertices if end == 0 else _reversed(stroke.vertices)
        vertices[-1] = (*here, follow[0][2])
        vertices.extend(follow[1:])
        chords = chords or stroke.chords
    return Stroke(tuple(vertices[:-1]), closed=True, chords=chords)


def _spot(vertex: Vertex) -> Point:
    return (vertex[0], vertex[1])


def _meets(vertex: Vertex, p: Point) -> bool:
    return math.dist(_spot(vertex), p) <= JOIN


def _reversed(vertices: tuple[Vertex, ...]) -> tuple[Vertex, ...]:
    """The same stroke run the other way; each bulge moves to where its edge starts now."""
    bulges = [-bulge for _, _, bulge in vertices[-2::-1]]
    spots = [(x, y) for x, y, _ in vertices[::-1]]
    return tuple((*spot, bulge) for spot, bulge in zip(spots, [*bulges, 0.0], strict=True))
