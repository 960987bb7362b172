"""What make is measured against: a script that only draws a plate like the demo's with ezdxf and reportlab.

Written by hand for one plate: fixed numbers, no checks, one page.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import ezdxf
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

HOLES = [(46.0, 46.0), (-46.0, 46.0), (-46.0, -46.0), (46.0, -46.0)]
SLOTS = [(59.5 + x, 222.0 + y) for x, y in ((19.0, 72.0), (-72.0, 19.0), (-19.0, -72.0), (72.0, -19.0))]
DIRECTION = (math.cos(math.radians(75)), math.sin(math.radians(75)))
TRAVEL = (-12.0, 18.0)
DISCS = [(0.0, 0.0, 55.5), (60.0, -95.0, 11.0), (-20.0, 88.0, 15.0)]
CORNERS = [
    (-70.0, -121.0),
    (70.0, -121.0),
    (157.0, 200.0),
    (157.0, 300.0),
    (60.0, 332.0),
    (-10.0, 332.0),
    (-70.0, 70.0),
]


def ends(x: float, y: float) -> list[tuple[float, float]]:
    return [(x + t * DIRECTION[0], y + t * DIRECTION[1]) for t in TRAVEL]


def draw_dxf(path: Path) -> None:
    document = ezdxf.new("R2000", units=4)
    for layer in ("CUT-INSIDE", "CUT-OUTSIDE", "MARK"):
        document.layers.add(layer)
    space = document.modelspace()
    for x, y in HOLES:
        space.add_line((x - 2, y), (x + 2, y), {"layer": "MARK"})
        space.add_line((x, y - 2), (x, y + 2), {"layer": "MARK"})
    for x, y, radius in DISCS:
        space.add_circle((x, y), radius, {"layer": "CUT-INSIDE"})
    for x, y in SLOTS:
        (ax, ay), (bx, by) = ends(x, y)
        nx, ny = -5.2 * DIRECTION[1], 5.2 * DIRECTION[0]
        points = [(ax - nx, ay - ny, 0), (bx - nx, by - ny, 1), (bx + nx, by + ny, 0), (ax + nx, ay + ny, 1)]
        space.add_lwpolyline(points, "xyb", close=True, dxfattribs={"layer": "CUT-INSIDE"})
    space.add_lwpolyline(CORNERS, close=True, dxfattribs={"layer": "CUT-OUTSIDE"})
    document.saveas(path)


def draw_pdf(path: Path) -> None:
    canvas = Canvas(str(path), pagesize=(260 * mm, 480 * mm))
    canvas.translate(90 * mm, 135 * mm)
    canvas.setLineWidth(0.4)
    for x, y, radius in DISCS:
        canvas.circle(x * mm, y * mm, radius * mm)
    for x, y in HOLES + SLOTS:
        canvas.circle(x * mm, y * mm, 5 * mm)
        canvas.line((x - 8) * mm, y * mm, (x + 8) * mm, y * mm)
        canvas.line(x * mm, (y - 8) * mm, x * mm, (y + 8) * mm)
        canvas.drawString((x + 8) * mm, (y + 2) * mm, f"{x:.1f}, {y:.1f}")
    outline = canvas.beginPath()
    outline.moveTo(CORNERS[0][0] * mm, CORNERS[0][1] * mm)
    for x, y in CORNERS[1:]:
        outline.lineTo(x * mm, y * mm)
    outline.close()
    canvas.drawPath(outline)
    canvas.showPage()
    canvas.save()


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    draw_dxf(folder / "plate.dxf")
    draw_pdf(folder / "plate.pdf")
