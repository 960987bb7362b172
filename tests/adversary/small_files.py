"""The small files and readings that people type beside the spec, with the slips that they make in them."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import platekit
from platekit.cutting.coupon import coupon_for
from platekit.export.coupon import readings_text
from platekit.tables.processes import process_names, process_traits
from tests.adversary.spoil import spoilt

SPECS = Path(platekit.__file__).parent.parent / "specs"

FIGURES = (
    *("0", "-0", "-1", "1e-9", "0.001", "0.5", "100000", "100001", "1e6", "1e300", "1e-300", ".inf", ".nan", "9" * 50),
    *("1,5", "ten", "10 mm", "3/8 in", "1/0 in", "45 deg", "90 deg", "44.9 deg", "1 mm/min", "1e-9 mm/min", "9 m/min"),
    *("0 s", "1e9 s", "-1 s", "1 h", "true", "null", "~", "''", "[]", "[1]", "[1, 2]", "[1, 2, 3]", "{}", "{a: 1}"),
)
"""What may be typed where a figure belongs."""
_FIGURE = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?: (?:mm/min|m/min|deg|mm|in|s)\b)?")


def other_figures(text: str, rng: random.Random) -> str:
    """One to four figures replaced by others, in their place or by the figure of another place."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        places = [match.span() for match in _FIGURE.finditer(text)]
        if not places:
            return text
        a, b = rng.choice(places)
        c, d = rng.choice(places)
        other = rng.choice((rng.choice(FIGURES), text[c:d], f"{rng.uniform(0, 3):.4g}", f"{rng.uniform(0, 300):.4g}"))
        text = text[:a] + other + text[b:]
    return text


def slipped(text: str, rng: random.Random) -> bytes:
    """The text with slips: wrong figures, damaged bytes, or both."""
    if rng.random() < 0.7:
        text = other_figures(text, rng)
    data = text.encode()
    return spoilt(data, rng) if rng.random() < 0.5 else data


MACHINES = tuple(path.read_text("utf-8") for path in sorted((SPECS / "machines").glob("*.yaml")))


def machine(rng: random.Random) -> bytes:
    """A machine file."""
    return slipped(rng.choice(MACHINES), rng)


PRINTER = """\
printer: 1
units: mm
bars: [270, 185]
measured: {bottom: 271.3, top: 271.2, left: 184.4, right: 184.5, rising: 328.0, falling: 327.6}
"""


def printer(rng: random.Random) -> bytes:
    """A printer's file."""
    return slipped(PRINTER, rng)


def coupon(rng: random.Random) -> bytes:
    """Readings taken on a coupon: the form filled in with what a cut leaves, and then slips in it."""
    process = rng.choice([name for name in process_names() if process_traits(name).table])
    blank = readings_text(coupon_for(process, rng.choice((1.0, 3.0, 6.0, 10.0, 25.0))))
    return slipped_seldom(filled(blank, rng), rng)


def filled(blank: str, rng: random.Random) -> str:
    """A form of readings with a figure wherever one is to be typed, as a cut of some width leaves them."""
    square, *holes, length, width = (float(one) for one in re.findall(r"[\d.]+", blank.partition("drawn:")[2])[:6])
    cut, lean = rng.uniform(0.1, 4.0), rng.choice((0.0, 0.0, 0.1, 0.8))
    text = blank.replace("kerf_set: _", f"kerf_set: {rng.choice((0.0, cut, round(cut, 1))):.2f}")
    for drawn, way in ((square, -1), (square, -1), *((hole, 1) for hole in holes), (length, 1), (width, 1)):
        top = drawn + way * cut * rng.choice((1.0, 1.0, 0.0)) + rng.gauss(0, rng.choice((0.0, 0.05, 0.5)))
        text = text.replace("[_, _]", f"[{max(top, 0.1):.2f}, {max(top - way * lean, 0.1):.2f}]", 1)
    return text.replace("# speed", rng.choice(("# speed", "speed"))).replace("# pierce", rng.choice(("#", "pierce")))


BARS = "bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.0, falling=327.6"


def bars(rng: random.Random) -> str:
    """Measured bars as typed behind `--measured`."""
    text = BARS
    for _ in range(rng.choice((0, 1, 1, 2, 4))):
        text = rng.choice(BAR_SLIPS)(text, rng)
    return text.replace("\0", "")


BAR_SLIPS: tuple[Callable[[str, random.Random], str], ...] = (
    lambda text, rng: other_figures(text, rng),
    lambda text, rng: other_figures(text, rng),
    lambda text, rng: text.replace(rng.choice(("top", "left", "=", ",")), rng.choice(("", "top", ":", "x"))),
    lambda text, rng: re.sub(r"\d+\.\d", lambda m: f"{float(m[0]) * rng.choice((1, 1 / 25.4, 0.97, 1.4)):.5g}", text),
    lambda text, rng: text.replace(".", ","),
    lambda text, rng: spoilt(text.encode(), rng).decode("utf-8", "replace"),
)

KINDS = ("inside", "over", "centres", "between", "")


def readings(rng: random.Random) -> bytes:
    """A spec whose machine was measured: readings of true holes with slips, doubled, left out, or contradicting."""
    count = rng.choice((1, 2, 3, 4, 6))
    names = rng.choice((list("ABCDEF"), ["1", "2", "3", "4", "5", "6"], ["a b", "é", "板", "A", "B", "C"]))[:count]
    grid = rng.choice((1.0, 10.0, 100.0))
    places = [(grid * x, grid * y) for x in range(-3, 4) for y in range(-3, 4)]
    spots = {name: rng.choice(places) for name in names}
    if rng.random() < 0.8:
        spots = dict(zip(names, rng.sample(places, len(names)), strict=True))
    sizes = {name: rng.choice((1.0, 8.0, 10.2, 110.0)) for name in names}
    rows = [_row(rng, names, spots, sizes) for _ in range(rng.choice((0, 1, 3, 6, 12, 40)))]
    more = [
        rng.choice(("", f"sigma: {rng.choice(('0.1', '0', '1e-9', '50', '1 in'))}")),
        rng.choice(("", f"clockwise: {_some(rng, names, 3)}")),
        rng.choice(("", f"origin: '{rng.choice([*names, *names, 'centre', 'Z'])}'")),
        rng.choice(("", f"x_axis: {_some(rng, names, 2)}")),
    ]
    holes = ", ".join(f"'{name}': {size}" for name, size in sizes.items())
    lines = "".join(f"\n        {line}" for line in more if line)
    return slipped_seldom(
        f"platekit: 1\ntitle: Readings\nunits: {rng.choice(('mm', 'mm', 'in'))}\n"
        "plate: {material: mild steel, thickness: 8}\n"
        "mounts:\n  case:\n    side: far\n    looking_at: face\n    pattern:\n      measured:\n"
        f"        holes: {{{holes}}}\n        readings: [{', '.join(rows)}]{lines}\n"
        f"    bolts: {{size: {rng.choice(('M8', 'M10', '3/8-16'))}, into: part, depth: 18, washer: true}}\n",
        rng,
    )


def _some(rng: random.Random, names: list[str], count: int) -> list[str]:
    """Names out of these, mostly different ones."""
    return rng.sample(names, count) if rng.random() < 0.9 and len(names) >= count else rng.choices(names, k=count)


def slipped_seldom(text: str, rng: random.Random) -> bytes:
    """Two in three as they are."""
    return slipped(text, rng) if rng.random() < 0.33 else text.encode()


def _row(rng: random.Random, names: list[str], spots: dict[str, tuple[float, float]], sizes: dict[str, float]) -> str:
    a, b = (rng.choices if rng.random() < 0.02 or len(names) < 2 else rng.sample)(names, k=2)
    kind = rng.choice(KINDS[:3] if rng.random() < 0.995 else KINDS)
    far = ((spots[a][0] - spots[b][0]) ** 2 + (spots[a][1] - spots[b][1]) ** 2) ** 0.5
    value = far + {"inside": -1, "over": 1}.get(kind, 0) * (sizes[a] + sizes[b]) / 2
    value += rng.gauss(0, 5.0 if rng.random() < 0.05 else 0.1)
    own = rng.choice(("", "", "", ", 0.05")) if rng.random() < 0.99 else ", 0"
    return f"['{a}', '{b}', {kind}, {value:.2f}{own}]"
