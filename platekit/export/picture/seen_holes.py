"""The overlay of `platekit read`: the flat picture in mm, what was seen, what was fitted, how far off."""

from __future__ import annotations

import base64
from typing import Final
from xml.sax.saxutils import escape

from platekit.scan.holes import Flat, Hole, Refused
from platekit.scan.located import Frame
from platekit.scan.opencv import opencv
from platekit.scan.outlines import Outline
from platekit.units import show_length

SEEN_SUFFIX: Final = ".seen.svg"
GRID: Final = 10
"""Of the lines to read a place by, mm (ours)."""
MAGNIFIED: Final = 50.0
"""How much longer misfits of the crossings are drawn than they are (ours)."""
TEXT: Final = 3.2
"""Height of letters, mm (ours)."""


def seen_svg(
    flat: Flat,
    frame: Frame,
    holes: tuple[Hole, ...],
    refused: tuple[Refused, ...],
    title: str,
    outline: Outline | None = None,
) -> str:
    """The window of the frame in mm: x right, y up, (0, 0) the lower left end of the bars; grid lines every 10 mm."""
    coded = base64.b64encode(flat_jpeg(flat)).decode()
    box = frame.sheet.bars
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{box.width + 12:g}mm" height="{box.height + 22:g}mm" '
        f'viewBox="-8 -8 {box.width + 12:g} {box.height + 22:g}" font-family="sans-serif" font-size="{TEXT}">',
        f"<title>{escape(title)}</title>",
        f'<rect x="-8" y="-8" width="{box.width + 12:g}" height="{box.height + 22:g}" fill="white"/>',
        f'<image x="{flat.box.x0:.3f}" y="{box.y1 - flat.box.y1:.3f}" width="{flat.box.width:.3f}" '
        f'height="{flat.box.height:.3f}" preserveAspectRatio="none" '
        f'href="data:image/jpeg;base64,{coded}"/>',
    ]

    def at(x: float, y: float) -> tuple[str, str]:
        return f"{x:.3f}", f"{box.y1 - y:.3f}"

    for gx in range(0, int(box.x1) + 1, GRID):
        lines.append(_line(*at(gx, 0), *at(gx, box.y1), "#39c", 0.25 if gx % 50 == 0 else 0.08))
        if gx % 50 == 0:
            lines.append(_text(*at(gx, -4), str(gx), "#06a"))
    for gy in range(0, int(box.y1) + 1, GRID):
        lines.append(_line(*at(0, gy), *at(box.x1, gy), "#39c", 0.25 if gy % 50 == 0 else 0.08))
        if gy % 50 == 0:
            lines.append(_text(*at(-7.5, gy - 1), str(gy), "#06a"))
    for (mx, my), (dx, dy) in zip(frame.at.tolist(), frame.misfits.tolist(), strict=True):
        lines.append(_line(*at(mx, my), *at(mx + MAGNIFIED * dx, my - MAGNIFIED * dy), "#c60", 0.5))
    if outline is not None:
        # what was seen lies over what was fitted: half as wide, so that both show
        for colour, width, places in (("#0a0", 0.4, outline.corners), ("#e0f", 0.15, outline.edge[::4])):
            points = " ".join(",".join(at(x, y)) for x, y in places.tolist())
            lines.append(f'<polygon points="{points}" fill="none" stroke="{colour}" stroke-width="{width:g}"/>')
        for x, y in outline.corners.tolist():
            px, py = at(x, y)
            lines.append(f'<circle cx="{px}" cy="{py}" r="0.5" fill="#0a0"/>')
        x, y = outline.at
        lines.append(
            _text(*at(x, y), f"outline  +-{outline.sigma:.2f}, {100 * outline.agreeing:.0f} %", "#060", "middle")
        )
    for hole in holes:
        circle = hole.circle
        cx, cy = at(circle.x, circle.y)
        lines.append(
            f'<circle cx="{cx}" cy="{cy}" r="{circle.radius:.3f}" fill="none" stroke="#0a0" stroke-width="0.2"/>'
        )
        for ex, ey in circle.edges[::3].tolist():
            px, py = at(ex, ey)
            lines.append(f'<circle cx="{px}" cy="{py}" r="0.18" fill="#e0f"/>')
        lines.append(_line(*at(circle.x - 2, circle.y), *at(circle.x + 2, circle.y), "#0a0", 0.2))
        lines.append(_line(*at(circle.x, circle.y - 2), *at(circle.x, circle.y + 2), "#0a0", 0.2))
        said = f"{hole.name}  {show_length(circle.diameter, 'mm')}  +-{circle.sigma:.2f}, {100 * circle.agreeing:.0f} %"
        # words of a hole far right go to its left, where there is paper
        side = -1 if circle.x > 0.6 * box.x1 else 1
        beside = at(circle.x + side * (circle.radius + 1.5), circle.y + 1)
        lines.append(_text(*beside, said, "#060", "end" if side < 0 else "start"))
    for one in refused:
        ox, oy = one.at
        for a, b in ((1, 1), (1, -1)):
            lines.append(_line(*at(ox - 3 * a, oy - 3 * b), *at(ox + 3 * a, oy + 3 * b), "#c00", 0.4))
        lines.append(_text(*at(ox + 4, oy + 1), f"{one.name}: {one.why}", "#c00"))
    foot = (
        f"mm of the frame; green: fitted, magenta: edges seen; orange: how far crossings are off, {MAGNIFIED:g} times "
        f"(rms {frame.rms:.3f} mm)"
    )
    lines += [_text("0", f"{box.y1 + 9:g}", foot, "#333"), "</svg>", ""]
    return "\n".join(lines)


def flat_jpeg(flat: Flat) -> bytes:
    """The flat picture as a JPEG file."""
    cv2 = opencv()
    coded: bytes = cv2.imencode(".jpg", flat.grey, [cv2.IMWRITE_JPEG_QUALITY, 85])[1].tobytes()
    return coded


def _line(x1: str, y1: str, x2: str, y2: str, colour: str, width: float) -> str:
    return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" stroke="{colour}" stroke-width="{width:g}"/>'


def _text(x: str, y: str, words: str, colour: str, anchor: str = "start") -> str:
    halo = 'paint-order="stroke" stroke="white" stroke-width="0.6"'
    return f'<text x="{x}" y="{y}" fill="{colour}" text-anchor="{anchor}" {halo}>{escape(words)}</text>'
