"""Drawings that no one should have to read: SVG and DXF files that are odd in what they hold, in how, or as bytes."""

from __future__ import annotations

import io
import math
import random
from collections.abc import Callable
from functools import cache
from itertools import pairwise

from tests.adversary.spoil import spoilt

Figure = float | str

ODD_FIGURES: tuple[Figure, ...] = (
    *(0, -0.0, -1, 1e-300, 1e-9, 1e5, 1e9, 1e15, 1e16, 1e30, 1e154, 1e155, 1e308, -1e308),
    *("nan", "inf", "-inf", "1e999", "1e", "", "ten", "1,5", "0x10", "--1", "9" * 400, "٣", "1e-999"),
)
"""What may stand where a coordinate should."""


class Figures:
    """Coordinates of an outline, of which one in so many is an odd one."""

    def __init__(self, rng: random.Random, odd: float) -> None:
        self.rng, self.odd = rng, odd

    def __call__(self, value: float) -> str:
        if self.rng.random() < self.odd:
            return str(self.rng.choice(ODD_FIGURES))
        return f"{value:.9g}"

    def place(self) -> str:
        return self(self.rng.uniform(-60, 60))

    def size(self) -> str:
        return self(self.rng.uniform(0.5, 60))


def figures(rng: random.Random) -> Figures:
    """Some files have no odd figure, some a few, some many."""
    return Figures(rng, rng.choice((0.0, 0.0, 0.02, 0.1, 0.5)))


def ring(rng: random.Random) -> list[tuple[float, float]]:
    """The corners of an outline; now and then one that crosses itself, has no width, or stands still."""
    count = rng.choice((1, 2, 3, 4, 5, 8, 40))
    turns = rng.choice((1, 1, 1, 2, 3))
    size = rng.choice((30.0, 30.0, 30.0, 1e-4, 3e4))
    flat = rng.choice((1.0, 1.0, 1.0, 0.0))
    corners = [
        (size * math.cos(turns * math.tau * k / count), flat * size * math.sin(turns * math.tau * k / count))
        for k in range(count)
    ]
    return corners + corners[: rng.choice((0, 0, 0, 1, 2))]


# --------------------------------------------------------------------------------------------- SVG


def odd_svg(rng: random.Random) -> bytes:
    """An SVG file, or what was one."""
    if rng.random() < 0.15:
        return rng.choice(NO_SVG)(rng)
    data = _svg(rng)
    if rng.random() < 0.3:
        data = spoilt(data, rng)
    return data


def _svg(rng: random.Random) -> bytes:
    figure = figures(rng)
    inside = "".join(_svg_element(rng, figure) for _ in range(rng.choice((1, 1, 1, 2, 5))))
    for _ in range(rng.choice((0, 0, 1, 3, 25))):
        inside = f'<g{_transform(rng, figure)} id="{rng.choice(("cut", "a b", "&amp;", "板"))}">{inside}</g>'
    wrap = rng.choice(("defs", "symbol", "switch")) if rng.random() < 0.1 else ""
    inside = f"<{wrap}>{inside}</{wrap}>" if wrap else inside
    size = rng.choice(("", f' width="{figure.size()}mm" viewBox="0 0 {figure.size()} {figure.size()}"'))
    return f'<svg xmlns="http://www.w3.org/2000/svg"{size}>{inside}</svg>'.encode()


def _transform(rng: random.Random, figure: Figures) -> str:
    name, count = rng.choice(
        [
            *(("matrix", 6), ("translate", 2), ("scale", 1), ("scale", 2), ("rotate", 1), ("rotate", 3), ("skewX", 1)),
            *(("skewY", 1), ("matrix", 5), ("bend", 2), ("scale", 0)),
        ]
    )
    if rng.random() < 0.7:
        return ""
    inside = rng.choice((" ", ",")).join(figure(rng.choice((1, -1, 0.5, 30))) for _ in range(count))
    end = rng.choice(("", " ", "rotate(", "scale(2)")) if rng.random() < 0.2 else ""
    return f' transform="{name}({inside}){end}"'


def _svg_element(rng: random.Random, figure: Figures) -> str:
    turn = _transform(rng, figure)
    match rng.choice(
        ("path", "path", "path", "curves", "circle", "ellipse", "rect", "polygon", "polyline", "line", "many")
    ):
        case "path":
            corners = [f"{figure(x)} {figure(y)}" for x, y in ring(rng)]
            return f'<path{turn} d="M{" L".join(corners)}{rng.choice(("Z", "z", "", "ZZ", "M"))}"/>'
        case "curves":
            steps = "".join(_svg_step(rng, figure) for _ in range(rng.randint(1, 6)))
            return f'<path{turn} d="M{figure.place()},{figure.place()}{steps}{rng.choice(("Z", "", "L", "Q1"))}"/>'
        case "circle":
            return f'<circle{turn} cx="{figure.place()}" cy="{figure.place()}" r="{figure.size()}{_unit(rng)}"/>'
        case "ellipse":
            return f'<ellipse{turn} cx="{figure.place()}" rx="{figure.size()}" ry="{figure.size()}{_unit(rng)}"/>'
        case "rect":
            corner = f' rx="{figure.size()}" ry="{figure.size()}"' if rng.random() < 0.5 else ""
            return f'<rect{turn} x="{figure.place()}" width="{figure.size()}" height="{figure.size()}"{corner}/>'
        case "line":
            return f'<line{turn} x1="{figure.place()}" y2="{figure.place()}"/>'
        case "many":
            return (
                f'<path{turn} d="M0 0 {" ".join(f"L{k % 97} {k % 89}" for k in range(rng.choice((2000, 20_000))))}Z"/>'
            )
        case name:
            corners = [f"{figure(x)},{figure(y)}" for x, y in ring(rng)]
            return f'<{name}{turn} points="{" ".join(corners)}{rng.choice(("", " 7"))}"/>'


def _unit(rng: random.Random) -> str:
    return rng.choice(("", "", "", "px", "mm", "%", "e5"))


def _svg_step(rng: random.Random, figure: Figures) -> str:
    name, count = rng.choice((("L", 2), ("H", 1), ("V", 1), ("C", 6), ("S", 4), ("Q", 4), ("T", 2), ("A", 7), ("A", 7)))
    values = [figure.place() for _ in range(count)]
    if name == "A":
        values[0], values[1] = figure.size(), figure.size()
        values[3], values[4] = rng.choice("01"), rng.choice("01")
    name = rng.choice((name, name.lower()))
    return f"{name}{rng.choice((' ', ',')).join(values)}" + rng.choice(("", "", "", "", " 5"))


def bomb_svg(encoding: str) -> bytes:
    """An XML file that would fill the memory if its entities were put in."""
    names = "abcdefghij"
    entities = "".join(f'<!ENTITY {name} "{f"&{before};" * 10}">' for before, name in pairwise(names))
    text = f'<!DOCTYPE svg [<!ENTITY a "MMMMMMMMMM">{entities}]><svg><path d="&j;"/></svg>'
    return (f'<?xml version="1.0" encoding="{encoding}"?>' + text).encode(encoding)


NO_SVG: tuple[Callable[[random.Random], bytes], ...] = (
    lambda rng: b"",
    lambda rng: b" \n\t",
    lambda rng: rng.randbytes(rng.choice((1, 40, 4000))),
    lambda rng: bomb_svg(rng.choice(("utf-8", "utf-16", "utf-16-le"))),
    lambda rng: b"<svg>" + b"<g>" * 20_000 + b"</g>" * rng.choice((0, 20_000)) + b"</svg>",
    lambda rng: b"<svg " + b" ".join(b"a%d='1'" % k for k in range(20_000)) + b"/>",
    lambda rng: _svg(rng).decode().encode(rng.choice(("utf-16", "utf-32", "utf-8-sig"))),
    lambda rng: b'<?xml version="1.0" encoding="' + rng.choice((b"latin-9", b"ebcdic", b"utf-7")) + b'"?>' + _svg(rng),
    lambda rng: b'<!DOCTYPE svg SYSTEM "file:///etc/hostname"><svg/>',
    lambda rng: _svg(rng) + _svg(rng),
    lambda rng: b"\x1f\x8b\x08\x00" + rng.randbytes(200),
    lambda rng: b'<svg><path d="M0 0L10 0L10 10Z" style="&#0;"/></svg>',
)
"""Files that end in .svg and are none, or are more than they seem."""


# --------------------------------------------------------------------------------------------- DXF


def odd_dxf(rng: random.Random) -> bytes:
    """A DXF file, or what was one."""
    chance = rng.random()
    if chance < 0.12:
        return rng.choice(NO_DXF)(rng)
    if chance < 0.3:
        return spoilt(rng.choice(whole_dxfs()), rng)
    data = _dxf(rng)
    if rng.random() < 0.3:
        data = spoilt(data, rng)
    return data


def tags(*pairs: tuple[int, object]) -> str:
    """Group codes and values, each on its line."""
    return "".join(f"{code:3d}\n{value}\n" for code, value in pairs)


def marks(name: str) -> tuple[tuple[int, str], ...]:
    """The marks that newer versions have in an entity."""
    return (100, "AcDbEntity"), (100, f"AcDb{name}")


def dxf_of(entities: str, blocks: str = "", header: str = "") -> bytes:
    """A DXF file with these entities and blocks, and nothing that is not needed."""
    sections = (("HEADER", header), ("BLOCKS", blocks), ("ENTITIES", entities))
    text = "".join(
        tags((0, "SECTION"), (2, name)) + inside + tags((0, "ENDSEC")) for name, inside in sections if inside
    )
    return (text + tags((0, "EOF"))).encode()


def block(name: str, entities: str) -> str:
    """A block with these entities."""
    return tags((0, "BLOCK"), (8, "0"), (2, name), (70, 0), (10, 0), (20, 0), (30, 0)) + entities + tags((0, "ENDBLK"))


def insert(name: str, *more: tuple[int, object]) -> str:
    """A block put in its place."""
    return tags((0, "INSERT"), (8, "0"), (2, name), (10, 0), (20, 0), *more)


def square(layer: str = "0", size: float = 20.0) -> str:
    """A closed outline."""
    ends = ((0, 0), (size, 0), (size, size), (0, size))
    return "".join(
        tags((0, "LINE"), (8, layer), (10, a), (20, b), (11, c), (21, d))
        for (a, b), (c, d) in zip(ends, ends[1:] + ends[:1], strict=True)
    )


def block_bomb(width: int, depth: int, inside: str) -> bytes:
    """Blocks that hold each other many times over: a small file, a drawing without end."""
    blocks = "".join(block(f"B{k}", insert(f"B{k + 1}") * width) for k in range(depth)) + block(f"B{depth}", inside)
    return dxf_of(insert("B0"), blocks)


def _dxf(rng: random.Random) -> bytes:
    figure = figures(rng)
    entities = "".join(_dxf_entity(rng, figure) for _ in range(rng.choice((1, 1, 1, 2, 6))))
    header = ""
    if rng.random() < 0.9:
        version = rng.choice(("AC1009", "AC1015", "AC1015", "AC1015", "AC1032", "AC1032", "AC9999", ""))
        header = tags((9, "$ACADVER"), (1, version), (9, "$INSUNITS"), (70, rng.choice((0, 1, 4, 99))))
    if rng.random() < 0.3:
        lean = [(code, figure(value)) for code, value in ((41, 1.0), (42, rng.choice((1.0, -1.0, 2.0))), (50, 30.0))]
        rows = [(70, "3"), (71, "3"), (44, "5"), (45, "5")]
        lean += rng.choice(([], [], rows, [(210, "0"), (220, "0"), (230, "-1")]))
        inner = rng.choice((entities, entities + insert("A"), insert("B"), insert("none")))
        return dxf_of(insert("A", *lean), block("A", inner) + block("B", entities), header)
    return dxf_of(entities, "", header)


def _dxf_entity(rng: random.Random, figure: Figures) -> str:
    layer = (8, rng.choice(("0", "0", "CUT", "CUT", "cut", "", "板", "a\\b")))
    up = rng.choice(((), (), (), ((210, figure(0)), (220, figure(0)), (230, rng.choice((1, -1, 0))))))
    match rng.choice(
        ("lines", "lines", "arc", "circle", "light", "heavy", "spline", "spline", "ellipse", "many", "other")
    ):
        case "lines":
            corners = ring(rng)
            return "".join(
                tags((0, "LINE"), layer, (10, figure(a)), (20, figure(b)), (11, figure(c)), (21, figure(d)), *up)
                for (a, b), (c, d) in zip(corners, corners[1:] + corners[:1], strict=True)
            )
        case "arc":
            ends = ((50, figure(rng.choice((0, 30, 360)))), (51, figure(rng.choice((0, 90, 360, -1)))))
            return tags(
                (0, "ARC"),
                *marks("Circle"),
                layer,
                (10, figure.place()),
                (20, figure(0)),
                (40, figure.size()),
                *ends,
                *up,
            )
        case "circle":
            return tags(
                (0, "CIRCLE"), *marks("Circle"), layer, (10, figure.place()), (20, figure(0)), (40, figure.size()), *up
            )
        case "light":
            corners = ring(rng)
            points = [
                pair
                for x, y in corners
                for pair in ((10, figure(x)), (20, figure(y)), (42, figure(rng.choice((0, 0, 0.4, -1)))))
            ]
            count = rng.choice((len(corners), len(corners), 0, 10**9))
            return tags(
                (0, "LWPOLYLINE"), *marks("Polyline"), layer, (90, count), (70, rng.choice((0, 1, 1, 1))), *up, *points
            )
        case "heavy":
            vertices = "".join(
                tags((0, "VERTEX"), layer, (10, figure(x)), (20, figure(y)), (70, rng.choice((0, 0, 0, 16, 32, 64))))
                for x, y in ring(rng)
            )
            end = rng.choice((tags((0, "SEQEND")), ""))
            return tags((0, "POLYLINE"), layer, (66, 1), (70, rng.choice((0, 1, 1, 8, 16)))) + vertices + end
        case "spline":
            return _spline(rng, figure, layer)
        case "ellipse":
            axis = ((11, figure.size()), (21, figure(0)), (40, figure(rng.choice((1, 0.5, 0.0, 2)))))
            ends = ((41, figure(0)), (42, figure(rng.choice((math.tau, 1.0, 0.0)))))
            return tags(
                (0, "ELLIPSE"), *marks("Ellipse"), layer, (10, figure.place()), (20, figure(0)), *axis, *ends, *up
            )
        case "many":
            count = rng.choice((300, 3000))
            return "".join(
                tags((0, "LINE"), layer, (10, k % 7), (20, k % 11), (11, k % 5), (21, k % 13)) for k in range(count)
            )
        case _:
            kind = rng.choice(
                ("TEXT", "HATCH", "3DFACE", "IMAGE", "POINT", "DIMENSION", "ACAD_PROXY_ENTITY", "", "lines")
            )
            return tags((0, kind), layer, (10, figure.place()), (20, figure(0)), (40, figure.size()), (1, "x"))


def _spline(rng: random.Random, figure: Figures, layer: tuple[int, object]) -> str:
    degree = rng.choice((3, 3, 3, 2, 1, 0, -1, 12, 10**6))
    corners = ring(rng)
    count = len(corners) + max(min(degree, 20), 0) + 1 + rng.choice((0, 0, 0, 1, -1, -3))
    knots = [(40, figure(rng.choice((k, k, k, 0.0)) if rng.random() < 0.1 else float(k))) for k in range(max(count, 0))]
    told = ((72, rng.choice((len(knots), 0, 10**9))), (73, rng.choice((len(corners), 0, 10**9))), (74, 0))
    weights = [(41, figure(rng.choice((1, 0, -1)))) for _ in corners] if rng.random() < 0.2 else []
    points = [pair for x, y in corners for pair in ((10, figure(x)), (20, figure(y)), (30, 0))]
    fits = [pair for x, y in corners for pair in ((11, figure(x)), (21, figure(y)), (31, 0))]
    chosen = rng.choice((points, points, points, fits, []))
    return tags(
        (0, "SPLINE"),
        *marks("Spline"),
        layer,
        (70, rng.choice((8, 1, 3, 0, 255))),
        (71, degree),
        *told,
        *knots,
        *weights,
        *chosen,
    )


@cache
def whole_dxfs() -> tuple[bytes, ...]:
    """Sound files of several versions, text and binary, as a drawing program saves them."""
    import ezdxf

    made = []
    for version in ("R12", "R2000", "R2018"):
        document = ezdxf.new(version)
        space = document.modelspace()
        if version == "R12":
            space.add_circle((3, 4), 20)
        else:
            space.add_lwpolyline([(0, 0, 0.2), (40, 0, 0), (40, 30, -0.3), (0, 30, 0)], format="xyb", close=True)
        inner = document.blocks.new("INNER")
        inner.add_arc((0, 0), 5, 10, 80)
        space.add_blockref("INNER", (500, 0)) if version == "R2018" else None
        stream = io.StringIO()
        document.write(stream)
        made.append(stream.getvalue().encode("utf-8", "surrogateescape"))
        binary = io.BytesIO()
        document.write(binary, fmt="bin")
        made.append(binary.getvalue())
    return tuple(made)


NO_DXF: tuple[Callable[[random.Random], bytes], ...] = (
    lambda rng: b"",
    lambda rng: b"\n\n\n",
    lambda rng: rng.randbytes(rng.choice((1, 40, 4000))),
    lambda rng: whole_dxfs()[1][:22] + rng.randbytes(rng.choice((0, 10, 2000))),
    lambda rng: block_bomb(10, 12, rng.choice((square(), "", tags((0, "POINT"), (8, "0"), (10, 0), (20, 0))))),
    lambda rng: block_bomb(1, rng.choice((3, 30, 300)), square()),
    lambda rng: dxf_of(insert("A"), block("A", insert("A") * rng.choice((1, 3)) + square())),
    lambda rng: dxf_of(insert("A", (70, 32_000), (71, 32_000), (44, 1), (45, 1)), block("A", square())),
    lambda rng: dxf_of(square()).decode().encode(rng.choice(("utf-16", "utf-32", "utf-8-sig"))),
    lambda rng: dxf_of(square()).replace(b"  8\n0", b"  8\n\xe9\xff"),
    lambda rng: dxf_of(square()).replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\n"))),
    lambda rng: dxf_of(tags((0, "LINE"), (8, "x" * 200_000), (10, 0), (20, 0), (11, 1), (21, 1))),
    lambda rng: tags((0, "SECTION"), (2, "ENTITIES")).encode() * 2000,
)
"""Files that end in .dxf and are none, or are more than they seem."""
