"""The drive in pictures: speed, torque and power over the setting, and the ways to change speed side by side.

Two pictures stand in one chart. Above, three strips share one scale of settings: what the working shaft does at each
frequency of the inverter, or each share of full voltage. Below, torque stands over the speed of the working shaft: what
other pulleys would give, against what the inverter or less voltage gives. Lines differ in weight and dashes, and each
is named where it runs, so that the chart reads without colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final
from xml.etree.ElementTree import Element

from msgspec import Struct

from platekit.drawing.svg.foot import caution_foot
from platekit.drawing.svg.letters import text_width
from platekit.drawing.svg.parts import COLOURS, FONT, PAPER, fill, node, number, stroke, text, written
from platekit.drive import DriveTarget, Motor, WorkingPoint
from platekit.drive.control import Curve, Way, compare
from platekit.errors import DriveError
from platekit.placed import Layout, PlacedBelt
from platekit.units import INCH, POUND_FORCE, Unit, power_w, show_power, show_torque

CHART_SUFFIX: Final = ".drive.svg"

WIDTH: Final = 860.0
LEFT: Final = 86.0
RIGHT: Final = 30.0
STRIP: Final = 128.0
"""Height of one strip, chart units (ours)."""
BETWEEN: Final = 38.0
LOWER: Final = 300.0
"""Height of the comparison, chart units (ours)."""
HEAD: Final = 66.0
TEXT: Final = 14.0
SMALL: Final = 12.5
TICKS: Final = 5
"""About how many figures a scale has (ours)."""
SLOWEST_SHARE: Final = 0.12
"""The comparison begins at this share of the fastest speed, unless the drive runs slower by itself (ours)."""
BEYOND: Final = 1.5
"""The comparison goes on to wanted speeds that are not reached, up to this multiple of the fastest (ours)."""
COMPARED: Final = 48
"""Speeds at which the ways are compared; enough for a smooth line (ours)."""

WAYS: Final[dict[Way, str]] = {
    "gearing": "other pulleys, motor at its rated speed",
    "inverter": "these pulleys, inverter",
    "voltage": "these pulleys, less voltage",
}
MEANING: Final[dict[Way, tuple[str, str]]] = {
    "inverter": (
        "Other pulleys trade speed for torque: the power stays. An inverter keeps the torque up to the motor's own",
        "frequency, so power falls with the speed; above it torque falls and the power stays for a while.",
    ),
    "voltage": (
        "Other pulleys trade speed for torque: the power stays. Less voltage starves the motor: set to a slow speed",
        "with little load, it holds only this torque before it sags by a fifth.",
    ),
}


class Plot(Struct, frozen=True):
    """A field of the chart, and what its edges stand for."""

    top: float
    height: float
    x0: float
    x1: float
    y1: float

    def x(self, value: float) -> float:
        """Where a value stands across, sheet units."""
        return LEFT + (WIDTH - LEFT - RIGHT) * (value - self.x0) / (self.x1 - self.x0)

    def y(self, value: float) -> float:
        """Where a value stands up and down, sheet units; zero is the lower edge."""
        return self.top + self.height * (1 - value / self.y1)

    @property
    def bottom(self) -> float:
        """The lower edge, sheet units."""
        return self.top + self.height

    def draw_grid(self, root: Element, name: str) -> None:
        """Lines across the field at round figures, these at its left, and its name over it."""
        if name:
            text(root, LEFT, self.top - 9, name, TEXT, bold=True)
        for value in ticks(self.y1):
            y = self.y(value)
            weight = 1.6 if value == 0 else 0.6
            node(root, "line", x1=LEFT, y1=y, x2=WIDTH - RIGHT, y2=y, **stroke("ink" if value == 0 else "soft", weight))
            text(root, LEFT - 9, y + 4.5, number(value, 3), SMALL, anchor="end")

    def draw_figures_below(self, root: Element, values: Sequence[float], last: bool) -> None:
        """Ticks under a field; figures under the last one only, each where it has room."""
        free = -math.inf
        for value in values:
            x = self.x(value)
            node(root, "line", x1=x, y1=self.bottom, x2=x, y2=self.bottom + 5, **stroke("ink", 1.0))
            say = number(value, 2 if self.x1 <= 2 else 1)
            half = text_width(say, SMALL, False) / 2
            # a setting that is none of the round ones belongs to a wanted speed, which is told in words
            if (
                last
                and x - half > free
                and not (value not in (values[0], values[-1]) and abs(value * 20 - round(value * 20)) > 1e-6)
            ):
                text(root, x, self.bottom + 19, say, SMALL, anchor="middle")
                free = x + half + 6

    def draw_upright_band(self, root: Element, low: float, high: float) -> None:
        """What is wanted along x, hatched from top to bottom."""
        node(
            root,
            "rect",
            x=self.x(min(low, self.x1)),
            y=self.top,
            width=max(self.x(min(high, self.x1)) - self.x(min(low, self.x1)), 1.0),
            height=self.height,
            fill="url(#pk-wanted)",
            stroke=COLOURS["soft"],
            stroke_width=0.8,
            fill_opacity=0.5,
            class_="pk-line-soft",
        )
        said = f"wanted {low:g} to {high:g} rpm"
        x = self.x(min(high, self.x1)) - 6
        name_small(root, max(x, LEFT + text_width(said, SMALL, False) + 12), self.top + 16, said)

    def draw_level(self, root: Element, value: float, say: str, curves_to: float = math.inf) -> None:
        """What is wanted along y: a line with its words, below it if there is room.

        The words stand at the left, or where the curves end at x = `curves_to` (sheet units), right of these.
        """
        y = self.y(value)
        node(root, "line", x1=LEFT, y1=y, x2=WIDTH - RIGHT, y2=y, stroke_dasharray="14 4 3 4", **stroke("ink", 1.4))
        below = self.bottom - y > 22
        wide, right = text_width(say, SMALL, False), WIDTH - RIGHT - 6
        end = right if right - wide - 10 > curves_to else LEFT + 10 + wide
        name_small(root, end, y + (17 if below else -6), say)


def working_belt(layout: Layout) -> PlacedBelt | None:
    """The belt on the working shaft, where a motor turns it, so that there is something to show; else None."""
    if not layout.belts:
        return None
    points = layout.belts[-1].result.points
    return layout.belts[-1] if points and points[-1].speed_rpm > 0 else None


def chart_text(layout: Layout) -> str:
    """The chart as SVG text, the same for the same spec; `DriveError` if there is no motor to show."""
    belt = working_belt(layout)
    motor = None if belt is None else belt.request.motor
    if belt is None or motor is None:
        raise DriveError("there is no chart without a motor; give `drive.motor` with power, speed and frequency")
    points, unit = belt.result.points, layout.spec.unit
    root = node(None, "svg", xmlns="http://www.w3.org/2000/svg", class_="pk-chart", font_family=FONT)
    root.set("role", "img")
    node(root, "title").text = "Speed, torque and power at the working shaft"
    ground = node(root, "rect", x=0.0, y=0.0, width=WIDTH, fill=PAPER, class_="pk-ground")
    # What is wanted lies on slanted lines, not on a tint: it has to be seen in a black print too
    pattern = node(node(root, "defs"), "pattern", id="pk-wanted", width=7.0, height=7.0, patternUnits="userSpaceOnUse")
    pattern.set("patternTransform", "rotate(45)")
    node(pattern, "line", x1=0.0, y1=0.0, x2=0.0, y2=7.0, stroke_opacity=0.55, **stroke("soft", 1.2))
    text(root, LEFT, 30, "At the working shaft", 20, bold=True)
    text(root, LEFT, 50, f"{layout.spec.name}, revision {layout.spec.revision}", SMALL, tone="soft")
    if len(points) > 1:
        bottom = draw_strips(root, points, belt.request.wanted, HEAD + 18, unit)
    else:
        # a motor that is only switched on and off: three figures instead of three lines
        (point,) = points
        bottom = HEAD + 52
        torque, power = show_torque(point.torque_nm, unit, ".1f"), show_power(point.power_w, unit)
        figures = f"{point.speed_rpm:.0f} rpm, {torque}, {power}"
        text(root, LEFT, HEAD + 30, figures, 22, bold=True)
        text(root, LEFT, bottom, "one speed: nothing changes it", SMALL, tone="soft")
    bottom = caution_foot(root, draw_ways(root, belt, motor, bottom + 62, unit) + 6, WIDTH)
    ground.set("height", number(bottom))
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    root.set("width", number(WIDTH))
    root.set("height", number(bottom))
    return written(root) + "\n"


# ------------------------------------------------------------------------------------------- strips


def draw_strips(root: Element, points: Sequence[WorkingPoint], wanted: DriveTarget, top: float, unit: Unit) -> float:
    """Speed, torque and power over the setting; gives the y below the last one."""
    settings = [setting_of(point) for point in points]
    torque, per = torque_unit(unit)
    horsepower = power_w("1 HP")
    strips: tuple[tuple[str, list[float], tuple[float, ...]], ...] = (
        ("speed, rpm", [point.speed_rpm for point in points], wanted_speeds(wanted)),
        (
            f"torque, {torque}",
            [point.torque_nm / per for point in points],
            (wanted.torque_nm / per,) if wanted.torque_nm else (),
        ),
        ("power, hp", [point.power_w / horsepower for point in points], ())
        if unit == "in"
        else ("power, kW", [point.power_w / 1000 for point in points], ()),
    )
    # The settings at which the wanted speeds are reached, between two points of the curve; a speed that the drive never
    # reaches has none, and its line is missing
    reached = []
    for speed in dict.fromkeys(wanted_speeds(wanted)):
        for one, other in pairwise(points):
            if one.speed_rpm <= speed <= other.speed_rpm and other.speed_rpm > one.speed_rpm:
                share = (speed - one.speed_rpm) / (other.speed_rpm - one.speed_rpm)
                reached.append(setting_of(one) + share * (setting_of(other) - setting_of(one)))
                break
    for index, (name, values, marks) in enumerate(strips):
        plot = Plot(
            top + index * (STRIP + BETWEEN), STRIP, settings[0], settings[-1], round_above(max((*values, *marks)))
        )
        plot.draw_grid(root, name)
        if len(marks) == 2:
            low, high = marks
            node(
                root,
                "rect",
                x=LEFT,
                y=plot.y(high),
                width=WIDTH - LEFT - RIGHT,
                height=max(plot.y(low) - plot.y(high), 1.0),
                fill="url(#pk-wanted)",
                stroke=COLOURS["soft"],
                stroke_width=0.8,
                class_="pk-line-soft",
            )
            name_small(root, WIDTH - RIGHT - 6, plot.y(low) - 7, f"wanted {low:g} to {high:g}")
        elif marks:
            plot.draw_level(root, marks[0], f"wanted {marks[0]:g}")
        for setting in reached:
            x = plot.x(setting)
            node(root, "line", x1=x, y1=plot.top, x2=x, y2=plot.bottom, stroke_dasharray="2 4", **stroke("soft", 1.2))
        draw_curve(root, [(plot.x(s), plot.y(v)) for s, v in zip(settings, values, strict=True)], "ink", 2.6)
        for s, v in zip(settings, values, strict=True):
            node(root, "circle", cx=plot.x(s), cy=plot.y(v), r=3.0, **fill("ink"))
        plot.draw_figures_below(root, settings, last=index == len(strips) - 1)
    bottom = top + 3 * STRIP + 2 * BETWEEN
    axis = "frequency of the inverter, Hz" if points[0].frequency_hz is not None else "share of full voltage"
    text(root, WIDTH - RIGHT, bottom + 38, axis, SMALL, anchor="end", tone="soft")
    if reached:
        said = " and ".join(f"{setting:.{1 if setting > 2 else 2}f}" for setting in reached)
        hertz = " Hz" if points[0].frequency_hz is not None else ""
        text(root, LEFT, bottom + 38, f"dotted: the wanted speeds, at {said}{hertz}", SMALL, tone="soft")
    return bottom + 38


def torque_unit(unit: Unit) -> tuple[str, float]:
    """The unit of torque beside lengths in `unit`, and how many newton metres it is."""
    return ("lbf ft", POUND_FORCE * INCH * 12 / 1000) if unit == "in" else ("Nm", 1.0)


def setting_of(point: WorkingPoint) -> float:
    """What the speed is set by: frequency in Hz, or the share of full voltage."""
    return point.frequency_hz if point.frequency_hz is not None else point.setting or 0.0


def wanted_speeds(wanted: DriveTarget) -> tuple[float, ...]:
    """The lowest and highest speed that is wanted, rpm; nothing where none is."""
    return () if wanted.speeds is None else (wanted.speeds.low, wanted.speeds.high)


# --------------------------------------------------------------------------------------- comparison


def draw_ways(root: Element, belt: PlacedBelt, motor: Motor, top: float, unit: Unit) -> float:
    """Torque over speed, one line a way of changing speed; gives the y below it."""
    curves = compared(belt, motor)
    own = curves[1].way
    every = [point for curve in curves for point in curve.points]
    fastest = max(point.speed_rpm for point in every)
    plot = Plot(top + 40, LOWER, 0.0, round_above(fastest), round_above(max(point.torque_nm for point in every)))
    text(root, LEFT, top, "Ways to change the speed", 20, bold=True)
    text(root, LEFT, top + 22, f"torque at the working shaft, {torque_unit(unit)[0]}", SMALL, tone="soft")
    plot.draw_grid(root, "")
    speeds = wanted_speeds(belt.request.wanted)
    if len(speeds) == 2:
        plot.draw_upright_band(root, *speeds)
    if belt.request.wanted.torque_nm:
        said = f"wanted {show_torque(belt.request.wanted.torque_nm, unit, 'g')}"
        plot.draw_level(root, belt.request.wanted.torque_nm, said, plot.x(fastest))
    for curve in curves:
        places = [(plot.x(point.speed_rpm), plot.y(point.torque_nm)) for point in curve.points]
        if not places:
            continue
        if curve.way == "gearing":
            draw_curve(root, places, "soft", 6.0, opacity=0.55)
            x, y = places[len(places) // 6]
            name_curve(root, x + 22, y - 8, WAYS[curve.way])
        else:
            draw_curve(root, places, "ink", 2.4, dashes="9 5" if curve.way == "inverter" else "2 5")
            x, y = places[len(places) // 10]
            # beside its own line, and not on that of what is wanted, whose name it would be taken for
            level = plot.y(belt.request.wanted.torque_nm) if belt.request.wanted.torque_nm else plot.bottom
            low = plot.bottom - y < 34 or y < level < y + 32
            name_curve(root, x + (4 if low else 0), y - 10 if low else y + 22, WAYS[curve.way])
    plot.draw_figures_below(root, ticks(plot.x1), last=True)
    text(root, WIDTH - RIGHT, plot.bottom + 38, "speed of the working shaft, rpm", SMALL, anchor="end", tone="soft")
    for index, said in enumerate(MEANING[own]):
        text(root, LEFT, plot.bottom + 64 + index * 18, said, SMALL)
    return plot.bottom + 106


def compared(belt: PlacedBelt, motor: Motor) -> tuple[Curve, ...]:
    """What other pulleys, and inverter or voltage, give at the working shaft from its slowest speed to its fastest."""
    from platekit.drive.working import efficiency

    points, wanted = belt.result.points, belt.request.wanted.speeds
    own = points[-1].speed_rpm
    fastest = max(own, min(wanted.high, BEYOND * own) if wanted else 0.0)
    slowest = min(points[0].speed_rpm, wanted.low if wanted else math.inf)
    if len(points) == 1:
        slowest = SLOWEST_SHARE * fastest
    slowest = max(slowest, SLOWEST_SHARE * fastest)

    def between(top: float) -> tuple[Curve, ...]:
        speeds = [slowest + (top - slowest) * step / (COMPARED - 1) for step in range(COMPARED)]
        return compare(motor, belt.result.ratio, speeds, efficiency(belt.request))

    # Every way is shown over the same speeds, or they could not be compared; where no way reaches the wanted ones, over
    # those of the drive as it is
    try:
        return between(fastest)
    except DriveError:  # the motor cannot follow beyond its own range
        return between(max(own, slowest))


# -------------------------------------------------------------------------------------------- pieces


def name_curve(root: Element, x: float, y: float, say: str) -> None:
    """The name of a line, on a ground of its own so that nothing runs through it."""
    wide = text_width(say, TEXT, True)
    x = min(x, WIDTH - RIGHT - wide - 6)
    node(root, "rect", x=x - 3, y=y - 13, width=wide + 6, height=18.0, fill=PAPER, class_="pk-ground")
    text(root, x, y, say, TEXT, bold=True)


def name_small(root: Element, x: float, y: float, say: str) -> None:
    """Small words that end at x (sheet units), on a ground of their own."""
    wide = text_width(say, SMALL, False)
    node(root, "rect", x=x - wide - 4, y=y - 12, width=wide + 8, height=16.0, fill=PAPER, class_="pk-ground")
    text(root, x, y, say, SMALL, anchor="end")


def draw_curve(
    root: Element,
    places: Sequence[tuple[float, float]],
    tone: str,
    width: float,
    dashes: str = "",
    opacity: float = 1.0,
) -> None:
    """A line through places on the sheet."""
    path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in places)
    look = stroke("soft" if tone == "soft" else "ink", width)
    line = node(root, "path", d=path, stroke_linejoin="round", **look)
    if dashes:
        line.set("stroke-dasharray", dashes)
    if opacity < 1:
        line.set("stroke-opacity", number(opacity))


def ticks(top: float) -> list[float]:
    """Round figures from 0 to `top`, which is one of them."""
    step = round_step(top)
    return [round(step * index, 9) for index in range(round(top / step) + 1)]


def round_above(value: float) -> float:
    """The first round figure at or above `value`, with a little air."""
    step = round_step(max(value, 1e-6))
    return step * math.ceil(max(value, 1e-6) * 1.02 / step)


def round_step(top: float) -> float:
    """The step of a scale up to about `top`: 1, 2 or 5 times a power of ten."""
    rough = top / TICKS
    # the usual row of axes, with a thousandth of slack for a rough step that is one of them but for rounding
    size = 10.0 ** math.floor(math.log10(rough))
    return next(size * nice for nice in (1.0, 2.0, 5.0, 10.0) if size * nice >= rough * 0.999)
