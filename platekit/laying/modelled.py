"""A maker's model as a body: which of its faces lies on the carrier, where on it, and the pieces that hold it.

The mounting face is found by what the mount knows of it: its hole pattern, which must lie on a flat face of the model
as it is, turned but not mirrored, and its pilot. Where that leaves a choice of faces or of turns that do not look
alike, nothing is guessed: the sentence lists them, and the spec says which (`face`, `turn`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import permutations
from typing import Final

import numpy
from msgspec import Struct

from platekit import tables
from platekit.errors import GeometryError, SpecError
from platekit.geometry import Point, Shape, Upright
from platekit.geometry.envelope import envelope
from platekit.geometry.kernel import SKIN, FlatFace, KernelMissing, Matrix, Model, ModelError, Placed, carried, combined
from platekit.geometry.kernel import read_model as read_model
from platekit.geometry.shapes import Disc
from platekit.laying.holes import pattern_of
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.drawings import DrawingError
from platekit.units import INCH, Unit, show_length

FITS: Final = 0.3
"""Farthest that a hole of the model lies from the mount's, mm (ours): inch figures get rounded twice."""
SAME_TURN: Final = math.radians(1.0)
"""Turns that differ by less are one (ours): holes that are right to `FITS` settle no finer."""
PILOT_FITS: Final = 0.5
"""A pilot of the model this near to the mount's diameter is that pilot, mm (ours)."""
TOLD: Final = 6
"""Faces or turns that a sentence lists (ours)."""


class ModelSpace(Struct, frozen=True):
    """A model in its carrier's own frame: outline along the normal, span, pieces that hold it (mm), and itself."""

    shape: Shape
    span: tuple[float, float]
    pieces: tuple[Upright, ...]
    placed: Placed


class _Wanted(Struct, frozen=True):
    """What decides how a model lies: the carrier's holes and pilot in its own frame (mm), and the words of the spec."""

    carrier: str
    unit: Unit
    points: tuple[Point, ...]
    pilot: float | None
    enters: float
    drawn_from_back: bool
    face: int | None
    at: Point | None
    turn: float | None
    cuts: tuple[float, ...]


class _Lie(Struct, frozen=True):
    """One way for a model to lie: its face by number, and the map into the carrier's own frame (mm)."""

    face: int
    place: Matrix
    turn: float


def model_space(spec: Spec, body: words.BodyWords, field: str) -> ModelSpace:
    """The space of a body that is a maker's model, in its carrier's own frame, mm.

    `field` is where the body stands in the spec. Raises `SpecError` for a file that is no model, or one whose place
    cannot be told.
    """
    shape = body.shape
    assert shape is not None
    assert shape.model is not None
    try:
        model = read_model((spec.folder / shape.model).name, spec.model_bytes(shape.model))
        return _space(model, _wanted(spec, body, shape))
    except (DrawingError, ModelError) as error:
        raise SpecError((spec.problem(f"{field}.shape.model", error.found, error.wanted),)) from error
    except GeometryError as error:
        wanted = error.wanted or "save it again as a solid"
        raise SpecError((spec.problem(f"{field}.shape.model", error.why, wanted),)) from error
    except KernelMissing as error:
        found = f"a model, and no solid kernel to read {shape.model} with"
        wanted = str(error).partition("; ")[2] + ", or give the body as `circle`, `steps` or `lying`"
        raise SpecError((spec.problem(f"{field}.shape.model", found, wanted),)) from error


def _wanted(spec: Spec, body: words.BodyWords, shape: words.BodyShape) -> _Wanted:
    given = shape.model_fields_set
    at = shape.at if "at" in given or body.carried_by == "plate" else None
    turn = shape.turn if "turn" in given else None
    thickness = spec.model.plate.thickness
    if body.carried_by == "plate":
        back = body.side == "near"
        cuts = (0.0, -thickness)
        return _Wanted("plate", spec.unit, (), None, 0.0, back, shape.face, at, turn, cuts)
    mount = spec.model.mounts[body.carried_by]
    standard = None if mount.pattern.standard is None else tables.mount(mount.pattern.standard)
    points = pattern_of(spec, body.carried_by, mount.pattern, standard).points
    pilot = mount.pilot.diameter if mount.pilot is not None else standard.pilot if standard is not None else None
    depth = 0.0
    if mount.pilot is not None and ("depth" in mount.pilot.model_fields_set or standard is None):
        depth = mount.pilot.depth
    elif standard is not None and standard.pilot_kind == "spigot":
        depth = standard.pilot_depth or 0.0
    return _Wanted(
        carrier=body.carried_by,
        unit=spec.unit,
        points=points,
        pilot=pilot,
        enters=depth,
        drawn_from_back=mount.looking_at == "back",
        face=shape.face,
        at=at,
        turn=turn,
        cuts=(0.0, -mount.standoff, -mount.standoff - thickness),
    )


@lru_cache(maxsize=32)
def _space(model: Model, wanted: _Wanted) -> ModelSpace:
    lie = _lie(model, wanted)
    place = lie.place
    if wanted.pilot is not None and all(math.hypot(*p) < wanted.pilot / 2 for p in wanted.points) and wanted.points:
        # The screws go into the pilot's own face, which lies as deep in the plate as the pilot goes.
        down: Matrix = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, -wanted.enters))
        place = combined(place, down)
    rows = numpy.array(place)
    up = (place[2][0], place[2][1], place[2][2])
    skin = model.skin(up) @ rows[:, :3].T + rows[:, 3]
    heights = model.corners @ rows[2, :3] + rows[2, 3]
    levels = sorted({round(float(z), 6) + 0.0 for z in heights})
    if len(skin):  # what bulges beyond the last corner, as a dome: its triangles lie a little within it
        low, high = float(skin[:, :, 2].min()), float(skin[:, :, 2].max())
        levels = [*([low - SKIN] if low < levels[0] - 1e-3 else []), *levels]
        levels = [*levels, *([high + SKIN] if high > levels[-1] + 1e-3 else [])]

    def section(z: float) -> list[numpy.typing.NDArray[numpy.float64]]:
        return [(run @ rows[:, :3].T + rows[:, 3])[:, :2] for run in model.section(up, z - float(rows[2, 3]))]

    held = envelope(skin, section, levels, wanted.cuts, SKIN)
    # What goes into the pilot's opening is the mount's own spigot, which has its own play there.
    pieces = tuple(piece for piece in held.pieces if not _is_pilot(piece, wanted))
    span = (min(piece.low for piece in pieces), max(piece.high for piece in pieces))
    return ModelSpace(held.outline, span, pieces, Placed(model, place))


def _is_pilot(piece: Upright, wanted: _Wanted) -> bool:
    if wanted.pilot is None or not wanted.enters or not isinstance(piece.shape, Disc):
        return False
    within = piece.low >= -wanted.enters - 0.05 and piece.high <= 1e-6
    fits = 2 * piece.shape.radius <= wanted.pilot + 0.1
    return within and fits and math.hypot(*piece.shape.center) <= FITS


# ------------------------------------------------------------------------------------------------ which way it lies


def _lie(model: Model, wanted: _Wanted) -> _Lie:
    """The one way in which a model can lie; raises `ModelError` with what there is to choose from."""
    faces = model.faces
    if not faces:
        raise ModelError(f"no flat face in {model.name}", "a model is mounted by one; save the part with its flange")
    if wanted.face is not None and wanted.face > len(faces):
        raise ModelError(f"face {wanted.face} of {model.name}, which has {len(faces)}", _faces_told(model, wanted))
    if wanted.at is not None:
        if wanted.face is None:
            found = f"{model.name} on the plate without its `face`"
            raise ModelError(found, f"add the one that lies on it, {_faces_told(model, wanted)}")
        face = faces[wanted.face - 1]
        u, v = _seen(face, wanted)
        middle, turn = (_dot(face.middle, u), _dot(face.middle, v)), wanted.turn or 0.0
        x, y = wanted.at
        # where the frame's zero lies on the face: the middle, less what `at` and the turn make of it
        t = (
            middle[0] - (math.cos(turn) * x + math.sin(turn) * y),
            middle[1] - (-math.sin(turn) * x + math.cos(turn) * y),
        )
        return _Lie(wanted.face, _place(face, wanted, -turn, t), turn)
    among = [wanted.face] if wanted.face is not None else range(1, len(faces) + 1)
    lies = [lie for number in among for lie in _lies(faces[number - 1], number, wanted)]
    if not lies:
        raise _none_fits(model, wanted)
    with_pilot = [lie for lie in lies if _has_pilot(faces[lie.face - 1], lie, wanted)]
    lies = with_pilot or lies
    numbers = sorted({lie.face for lie in lies})
    if len(numbers) > 1:
        found = f"{model.name}, which has the {len(wanted.points)} holes of {wanted.carrier} on {len(numbers)} faces"
        raise ModelError(found, f"add the one that lies on the plate, {_faces_told(model, wanted, numbers)}")
    if wanted.turn is not None:
        asked = wanted.turn
        kept = [lie for lie in lies if abs(math.remainder(lie.turn - asked, math.tau)) <= SAME_TURN]
        if not kept:
            found = f"a turn of {math.degrees(asked):.6g} deg, at which the holes of {model.name} do not fit"
            raise ModelError(found, f"write {_turns_told(model, lies)}")
        lies = kept
    first, *others = sorted(lies, key=lambda lie: (round(lie.turn % math.tau, 6), lie.place))
    if others and not all(model.same_when(_between(first, lie)) for lie in others):
        found = f"{model.name}, whose holes fit {wanted.carrier} at {len(lies)} turns"
        raise ModelError(found, f"write {_turns_told(model, lies)}")
    return first


def _seen(face: FlatFace, wanted: _Wanted) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The two directions of a face as the carrier's frame is looked at: from the face, or through the part."""
    u, v = face.axes()
    return (u, (-v[0], -v[1], -v[2])) if wanted.drawn_from_back else (u, v)


def _place(face: FlatFace, wanted: _Wanted, angle: float, t: Point) -> Matrix:
    """The map into the carrier's frame, whose zero lies at `t` on the face, turned by `angle` there (mm, rad)."""
    u, v = _seen(face, wanted)
    c, s = math.cos(angle), math.sin(angle)
    x = tuple(c * a + s * b for a, b in zip(u, v, strict=True))
    y = tuple(-s * a + c * b for a, b in zip(u, v, strict=True))
    # heights count from the face into the part, against the face's own normal
    n = face.normal
    return (
        (x[0], x[1], x[2], -(c * t[0] + s * t[1])),
        (y[0], y[1], y[2], -(-s * t[0] + c * t[1])),
        (-n[0], -n[1], -n[2], face.offset),
    )


def _lies(face: FlatFace, number: int, wanted: _Wanted, mirrored: bool = False, scale: float = 1.0) -> Iterator[_Lie]:
    u, v = _seen(face, wanted)
    sign = -1.0 if mirrored else 1.0
    sizes: dict[float, list[Point]] = {}
    for circle in face.circles:
        if circle.kind == "hole":
            spot = (_dot(circle.middle, u), sign * _dot(circle.middle, v))
            sizes.setdefault(round(circle.radius, 1), []).append(spot)
    points = [(x * scale, y * scale) for x, y in wanted.points]
    for _, holes in sorted(sizes.items()):
        for angle, t in _motions(points, holes):
            yield _Lie(number, _place(face, wanted, angle, t), -angle)


def _motions(points: Sequence[Point], holes: Sequence[Point]) -> list[tuple[float, Point]]:
    """The turns and moves that bring all points onto holes, within `FITS`; each once."""
    if len(points) < 2 or len(points) > len(holes):
        return []
    # The two points that lie farthest apart settle a motion; the others only have to agree.
    a = points[0]
    b = max(points[1:], key=lambda p: round(math.dist(a, p), 6))
    long = math.dist(a, b)
    found: list[tuple[float, Point]] = []
    for p, q in permutations(holes, 2):
        if abs(math.dist(p, q) - long) > 2 * FITS:
            continue
        angle, t = _best((a, b), (p, q))
        angle, t = _best(points, [_nearest(holes, one) for one in _moved(points, angle, t)])
        off = [min(math.dist(one, hole) for hole in holes) for one in _moved(points, angle, t)]
        on = {_nearest(holes, one) for one in _moved(points, angle, t)}
        if max(off) <= FITS and len(on) == len(points):
            same = (abs(math.remainder(angle - k, math.tau)) <= SAME_TURN and math.dist(t, m) <= FITS for k, m in found)
            if not any(same):
                found.append((angle, t))
    return found


def _moved(points: Sequence[Point], angle: float, t: Point) -> list[Point]:
    """Points turned about zero, then moved by `t`."""
    c, s = math.cos(angle), math.sin(angle)
    return [(c * x - s * y + t[0], s * x + c * y + t[1]) for x, y in points]


def _nearest(holes: Sequence[Point], spot: Point) -> Point:
    return min(holes, key=lambda hole: math.dist(hole, spot))


def _best(points: Sequence[Point], holes: Sequence[Point]) -> tuple[float, Point]:
    """The turn and move that bring points onto holes, one each, by least squares (P: Procrustes in the plane)."""
    count = len(points)
    px, py = sum(p[0] for p in points) / count, sum(p[1] for p in points) / count
    hx, hy = sum(h[0] for h in holes) / count, sum(h[1] for h in holes) / count
    dot = sum((p[0] - px) * (h[0] - hx) + (p[1] - py) * (h[1] - hy) for p, h in zip(points, holes, strict=True))
    cross = sum((p[0] - px) * (h[1] - hy) - (p[1] - py) * (h[0] - hx) for p, h in zip(points, holes, strict=True))
    # on a grid, so that a square pattern lies square on every processor
    angle = round(math.atan2(cross, dot), 9)
    c, s = math.cos(angle), math.sin(angle)
    return angle, (round(hx - (c * px - s * py), 6) + 0.0, round(hy - (s * px + c * py), 6) + 0.0)


def _has_pilot(face: FlatFace, lie: _Lie, wanted: _Wanted) -> bool:
    if wanted.pilot is None:
        return False
    for circle in face.circles:
        x, y, _ = carried(lie.place, circle.middle)
        if abs(2 * circle.radius - wanted.pilot) <= PILOT_FITS and math.hypot(x, y) <= FITS:
            return True
    return False


def _between(first: _Lie, other: _Lie) -> Matrix:
    """The turn of the model, in its own frame, that makes the other way of lying out of the first."""
    a, b = (numpy.array([*lie.place, (0.0, 0.0, 0.0, 1.0)]) for lie in (first, other))
    p, q, r, _ = (numpy.linalg.inv(a) @ b).tolist()
    return (tuple(p), tuple(q), tuple(r))


# ------------------------------------------------------------------------------------------------ what cannot be placed


def _none_fits(model: Model, wanted: _Wanted) -> ModelError:
    """Why no face of a model takes the mount's holes: another unit, the mirror, or other holes."""
    carrier, count = wanted.carrier, len(wanted.points)
    if count < 2:
        found = f"{model.name}, whose place {count or 'no'} hole of {carrier} does not settle"
        return ModelError(found, f"add `at` and the face that lies on the plate, {_faces_told(model, wanted)}")
    numbered = list(enumerate(model.faces, start=1))
    for scale, said in ((INCH, "inches for mm"), (1.0 / INCH, "mm for inches")):
        if any(list(_lies(face, number, wanted, scale=1.0 / scale)) for number, face in numbered):
            found = f"{model.name}, which says {model.unit} and fits {carrier} {INCH:g} times "
            found += "larger" if scale < 1.0 else "smaller"
            return ModelError(found, f"someone took {said}: save it again in the unit that it was drawn in")
    if any(list(_lies(face, number, wanted, mirrored=True)) for number, face in numbered):
        found = f"{model.name}, whose holes fit {carrier} only in a mirror"
        return ModelError(found, f"{carrier} has the wrong `looking_at` or its holes the wrong way round; look again")
    what = f"face {wanted.face} of {model.name} without" if wanted.face is not None else f"{model.name} without"
    by_hand = f"hold them against each other, or place it with `at` and its face, {_faces_told(model, wanted)}"
    return ModelError(f"{what} the {count} holes of {carrier} on a flat face", by_hand)


def _faces_told(model: Model, wanted: _Wanted, numbers: Sequence[int] | None = None) -> str:
    told = []
    chosen = list(numbers or range(1, len(model.faces) + 1))
    for number in chosen[:TOLD]:
        face = model.faces[number - 1]
        (w, h), way = face.size, _way(face.normal)
        size = f"{show_length(w, wanted.unit)} x {show_length(h, wanted.unit)}"
        holes: dict[str, int] = {}
        for circle in face.circles:
            if circle.kind != "rim":
                name = f"{circle.kind} of {show_length(2 * circle.radius, wanted.unit)}"
                holes[name] = holes.get(name, 0) + 1
        with_ = ", ".join(f"{count} x {name}" for name, count in list(holes.items())[:3])
        told.append(f"`face: {number}` ({size}, to {way}{', ' + with_ if with_ else ''})")
    more = f" and {len(chosen) - TOLD} smaller" if len(chosen) > TOLD else ""
    return "one of " + "; ".join(told) + more


def _way(n: Sequence[float]) -> str:
    for axis, share in zip("xyz", n, strict=True):
        if abs(share) > 0.9999:
            return f"{'+' if share > 0 else '-'}{axis} of the model"
    return "{:.2f}, {:.2f}, {:.2f} of the model".format(*(c + 0.0 for c in n))


def _turns_told(model: Model, lies: Sequence[_Lie]) -> str:
    """The turns at which it fits, each with where its farthest corner from the pattern's zero then lies."""
    told = []
    for lie in sorted(lies, key=lambda one: round(one.turn % math.tau, 4) % round(math.tau, 4))[:TOLD]:
        spots = model.corners @ numpy.array(lie.place)[:, :3].T + numpy.array(lie.place)[:, 3]
        x, y, _ = max(spots.tolist(), key=lambda p: (round(math.hypot(p[0], p[1]), 3), round(p[0], 3), round(p[1], 3)))
        turn = round(math.degrees(lie.turn) % 360.0, 2) % 360.0
        told.append(f"`turn: {turn:g} deg` (its farthest corner at {math.degrees(math.atan2(y, x)):.0f} deg)")
    return "one of " + ", ".join(told)


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
