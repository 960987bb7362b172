"""A first spec to start from: commented, usable as it stands, every figure there to be replaced by a measured one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.choices import OldPattern, Process
from platekit.errors import PlatekitError, UnitError
from platekit.spec.editing import written
from platekit.tables.shop import shop_figure
from platekit.units import INCH, Unit, length, nearest_fraction, show_fraction

if TYPE_CHECKING:
    from platekit.tables import Screw, StandardMount

ROOM: Final = 25.0
"""Room left between the old pattern and the new part, mm (ours): a spanner and a web of plate."""
FLANGE: Final = {"mm": shop_figure("flange that nobody told, thickness"), "in": 0.5 * INCH}
"""Thickness written for a flange or foot that screws pass through, mm (`shop_figures.csv`); to be measured."""
GUESSED_SPIGOT: Final = shop_figure("spigot where nothing tells, height")
"""How far a pilot is taken to stand out where the standard does not say, mm (`shop_figures.csv`); to be measured."""
SMALL_SCREW: Final = 6.0
"""Screws thinner than this (mm) have less room in their holes than a punch mark may be off (ours)."""
JIG: Final = "0.3 mm"
"""How far off a mark or a hole of the part what is drilled in a jig or through the part lies (ours: its play)."""
WIDE: Final = 1.3
"""A hole opened beyond the usual clearance, in screw diameters (ours: a washer still bears on its rim)."""
PULLEY: Final = (12.0, 32.0)
PITCHES: Final = (80.0, 160.0)
"""Where a first pair of pulleys lies beyond the plate, and their pitch diameters, mm (ours); to be replaced."""
STANDOFFS: Final = (0.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0)
"""Spacers tried in turn, mm (ours): under a pilot, or to bring a stock screw to length."""


class StarterChoices(Struct, frozen=True):
    """What a new spec is to hold; a length is a bare number in `units`, or text with its own unit."""

    title: str = "New motor on an old machine"
    units: Unit = "mm"
    material: str = "mild steel"
    thickness: str | float = "10 mm"
    process: Process = "plasma"
    machine: OldPattern = "circle"
    motor: str = "NEMA 56C"
    take_up: bool = True


def starter(choices: StarterChoices, clear: Callable[[str], bool] = lambda text: True) -> str:
    """The text of a commented spec with the choices in it.

    `clear` tells whether a text passes the checks; drafts are offered to it, the plainest first (other spacers,
    washers and travel as they are needed), and the first that passes is given.

    >>> starter(StarterChoices(title="Mixer, new motor")).splitlines()[1:3]
    ['platekit: 1', 'title: "Mixer, new motor"']

    Raises LookupFailed for a material or motor that is in no table, UnitError for a thickness that is no length,
    PlatekitError when no draft passes.
    """
    for draft in _drafts(choices):
        if clear(draft):
            return draft
    raise PlatekitError(
        f"found no way to start with {choices.motor} on {choices.thickness} of {choices.material} "
        f"cut by {choices.process}; choose another thickness or process"
    )


class FigureWriter(Struct, frozen=True):
    """Writes figures in mm as text in the unit of a spec."""

    unit: Unit

    def start(self, mm: float) -> str:
        """A figure (mm) that is only a start: whole or half mm, or eighths of an inch."""
        return written(round(mm * 2) / 2 if self.unit == "mm" else round(mm / INCH * 8) / 8)

    def exact(self, mm: float) -> str:
        """A figure from a table (mm), in the spec's unit."""
        return written(round(mm, 4) if self.unit == "mm" else round(mm / INCH, 6))

    def up(self, mm: float) -> float:
        """A thickness rounded up to a step of its unit, mm."""
        step = 0.5 if self.unit == "mm" else INCH / 16
        return math.ceil(mm / step - 1e-9) * step

    def at_least(self, mm: float) -> str:
        """A thickness (mm) that must not come out smaller: whole or half mm, or 16ths of an inch as a fraction."""
        size = self.up(mm)
        return written(size) if self.unit == "mm" else show_fraction(nearest_fraction(size, 16))


class _Starter(Struct, frozen=True):
    """One way to meet the choices. Lengths in mm."""

    standoff: float
    washer: bool
    travel: tuple[float, float]
    whole: bool
    """The plate stays whole under the pilot, which the spacers keep out of it."""
    bodies: bool
    """The part brings its nominal bodies; without, they have to be measured."""
    cut: bool = False
    """Its screws are cut to length, as no stock length fits."""
    wide: bool = False
    """Its holes are opened beyond the usual clearance, for a process that places or sizes them poorly."""


def _drafts(choices: StarterChoices) -> Iterator[str]:
    from platekit import tables
    from platekit.tables.processes import cutting_of

    # Where the process does not cut the material at all no draft would help: that is said before any is made.
    material = tables.material(choices.material)
    row = None if material.family is None else cutting_of(choices.process, material.family)
    if row is not None and row.cuts in ("no", "hardly"):
        raise PlatekitError(
            f"found {choices.material} cut by {choices.process}: {row.why}; choose another process or material"
        )
    standard = tables.mount(choices.motor)
    try:
        thickness = length(choices.thickness, choices.units)
    except UnitError as error:
        raise PlatekitError(f"thickness: found {error.found}; give it with its unit, such as 10 mm or 3/8 in") from None
    if thickness <= 0:
        raise PlatekitError(f"found a plate {choices.thickness} thick; give a thickness above zero")
    for draft in _ways(choices, standard):
        yield _text(choices, standard, thickness, draft)


def _ways(choices: StarterChoices, standard: StandardMount) -> Iterator[_Starter]:
    # Small parts get slots in proportion: 15 mm of travel would be as long as their bolt circle.
    full = (0.0, 0.0)
    if choices.take_up:
        full = (3.0, 4.0) if _reach(standard) < 50 else (10.0, 15.0)
    half = (full[0] / 2, full[1] / 2)
    spigot = _spigot(standard)
    # Keeping the plate whole is a choice only where a spigot would go through it.
    wholes = (False, True) if spigot > 0 else (False,)
    travels = dict.fromkeys((full, half, (0.0, 0.0)))
    for bodies, travel, whole, standoff, washer, wide in product(
        (True, False), travels, wholes, STANDOFFS, (True, False), (False, True)
    ):
        if not whole or standoff > spigot:
            yield _Starter(standoff, washer, travel, whole, bodies, wide=wide)
    if standard.screw is not None and standard.thread_depth is not None:
        for travel, whole, standoff, wide in product(travels, wholes, STANDOFFS, (False, True)):
            if not whole or standoff > spigot:
                yield _Starter(standoff, False, travel, whole, bodies=True, cut=True, wide=wide)


def _spigot(standard: StandardMount) -> float:
    """How far the part's pilot stands out, mm; 0 without one, a guess where the standard does not say."""
    if standard.pilot is None or standard.pilot_kind != "spigot":
        return 0.0
    return standard.pilot_depth or GUESSED_SPIGOT


def _text(choices: StarterChoices, standard: StandardMount, thickness: float, draft: _Starter) -> str:
    unit = choices.units
    put = FigureWriter(unit)
    given = written(choices.thickness)
    machine = _MACHINES[choices.machine][unit]
    if draft.wide:
        # The plate's own hole, wider than the usual one, goes into the old pattern, in whichever way that is written.
        hole = wide_hole(_MACHINE_SCREW[unit], unit)
        if machine.endswith(_LAST_MEASURED):
            machine = f"{machine}\n        hole: {hole}"
        else:
            end = machine.index("}")
            machine = f"{machine[:end]}, hole: {hole}{machine[end:]}"
    opened = f", hole: {wide_hole(_screw_of(standard, unit), unit)}" if draft.wide else ""
    # The motor beside the old pattern: how far that reaches with its screw heads, how far the motor does, its travel,
    # and room between them that grows with the plate, as every pad does. Rounded up to a figure one would write.
    machine_reach = {"circle": 65.0, "rectangle": 51.0, "points": 85.0, "measured": 46.0}[choices.machine] + 15.0
    step = 5.0 if unit == "mm" else INCH / 4
    apart = machine_reach + _reach(standard) + sum(draft.travel) + ROOM + 2 * thickness
    distance = math.ceil(apart / step) * step
    lines = [
        "# yaml-language-server: $schema=./platekit.schema.json",
        "platekit: 1",
        f"title: {written(choices.title)}",
        f"units: {unit}",
        "",
        "plate:",
        f"  material: {written(choices.material)}",
        f"  thickness: {given}",
        "  outline: {wrap: {margin: auto}}     # follows the openings; or rectangle, disc, polygon",
        "  # cutouts:                          # openings simply wanted",
        f"  #   cable: {{circle: {{diameter: {put.start(20)}}}, at: [{put.start(60)}, {put.start(-90)}]}}",
        "",
        "mounts:                               # what the plate bolts to",
        "  machine:                            # the old mount; stays as it was",
        "    side: far                         # the side of the plate it is on",
        "    looking_at: face                  # measured looking straight at its mounting face",
        f"    pattern:{machine if choices.machine == 'measured' else f' {machine}'}",
        "    at: [0, 0]",
        f"    screws: {{size: {_MACHINE_SCREW[unit]}, into: part, depth: {put.start(30)}, washer: true}}"
        "    # depth: usable thread",
        *_machine_shaft(standard, thickness + put.up(draft.standoff), put),
        "",
        "  motor:                              # the new part, from the tables",
        "    side: near",
        f"    pattern: {{standard: {written(standard.designation)}{opened}}}",
        f"    at: {{from: machine, distance: {put.start(distance)}, angle: 90 deg}}",
        *([FEET_TURN] if standard.shaft_height is not None else []),
        *_pilot(standard, draft, put),
        f"    screws: {_screws(standard, draft, thickness, put)}",
    ]
    if not draft.bodies:
        lines.append("    standard_bodies: false            # measure its housing and write it as a body below")
    if sum(draft.travel) > 0:
        install, tension = (put.start(part) for part in draft.travel)
        lines.append(f"    take_up: {{slots: {{along: 90 deg, install: {install}, tension: {tension}}}}}")
    lines += [
        "",
        "# bodies:                             # space that something takes up: shafts, lugs, housings",
        "#   machine shaft:",
        "#     carried_by: machine",
        f"#     shape: {{circle: {{diameter: {put.start(28)}}}}}",
        f"#     span: [{put.start(-40)}, 0]    # from the machine's face, negative towards the plate",
        "#     relief: auto    # an opening in the plate for it, its gap all round",
        "",
        *(_drive(standard, distance, thickness + put.up(draft.standoff), put) if choices.take_up else ()),
        _cutting(choices, standard),
        f"paper: {{size: {'letter' if unit == 'in' else 'a4'}}}",
        "",
    ]
    return "\n".join(lines)


FEET_TURN: Final = "    turn: -90 deg                     # its shaft points to the right, square to the slots"
"""A part on feet beside the machine, so turned that a belt between them pulls along its slots."""


def _machine_shaft(standard: StandardMount, through: float, put: FigureWriter) -> Iterator[str]:
    """The machine's shaft as a remark, as high as that of a motor on feet, so long that pulleys pass the plate."""
    if standard.shaft_height is not None and standard.shaft_end_mm is not None:
        end = max(standard.shaft_end_mm[1], SHAFT)
        height = put.start(-through - standard.shaft_height)
        yield "    # shaft:                          # for a belt: as it lies in the machine's own frame"
        size = f"stretch: [0, {put.start(end)}], diameter: {put.start(28)}"
        yield f"    #   {{at: [0, 0], height: {height}, along: 0 deg, {size}}}"
        yield "    #                                 # height: above its face, negative towards and past the plate"


SHAFT: Final = 190.0
"""Least length of the machine's shaft in a remark, mm (ours): its end is beside the plate."""


def _drive(standard: StandardMount, centres: float, through: float, put: FigureWriter) -> Iterator[str]:
    """The drive as a remark, where a belt can run so."""
    small, large = (put.start(size) for size in PITCHES)
    if standard.shaft_height is not None:
        # Over shafts along the plate: both pulleys flush with the ends of their shafts, beside the plate.
        seat = f"span: {{width: {put.start(PULLEY[1] - PULLEY[0])}, from_end: 0}}"
        yield "# drive:                              # the belt: platekit drive SPEC --choose ranks what is in stock"
        yield "#   motor: {power: 0.75 kW, speed: 1400 rpm, frequency: 50 Hz}    # from the motor's rating plate"
        yield "#   inverter: {from: 20 Hz, to: 75 Hz}"
        yield f"#   belt: {{section: SPZ, choose: true, near: {put.start(centres)}}}"
        yield f"#   driver: {{on: motor, pitch_diameter: {small}, {seat}}}    # flush with its end"
        yield f"#   driven: {{on: machine, pitch_diameter: {large}, {seat}}}"
        yield "#   wanted: {at: driven, from: 250 rpm, to: 900 rpm}"
        yield "#   # the belt runs over the machine's shaft, which has to be told: mounts: machine: shaft, above"
        yield "#   # it then places the motor:  at: {belt: {from: machine, angle: 90 deg}}"
        yield "#   # and gives the slots their length:  take_up: {slots: {along: belt, install: auto, tension: auto}}"
        yield ""
    else:
        # As a remark only: a begun drive with figures out of the air would be checked. Both pulleys sit on the
        # machine's side, as the motor's shaft goes through the plate.
        near, far = PULLEY
        driver = f"[{put.start(-through - far)}, {put.start(-through - near)}]"
        yield "# drive:                              # the belt: platekit drive SPEC --choose ranks what is in stock"
        # a shop in inches has motors for the mains of 60 Hz, marked in horsepower
        if put.unit == "in":
            yield "#   motor: {power: 1 HP, speed: 1740 rpm, frequency: 60 Hz}    # from the motor's rating plate"
            yield "#   inverter: {from: 20 Hz, to: 90 Hz}"
        else:
            yield "#   motor: {power: 0.75 kW, speed: 1400 rpm, frequency: 50 Hz}    # from the motor's rating plate"
            yield "#   inverter: {from: 20 Hz, to: 75 Hz}"
        yield f"#   belt: {{section: SPZ, choose: true, near: {put.start(centres)}}}"
        yield f"#   driver: {{on: motor, pitch_diameter: {small}, span: {driver}}}    # span: as of a body"
        driven = f"[{put.start(near)}, {put.start(far)}]"
        yield f"#   driven: {{on: machine, pitch_diameter: {large}, span: {driven}}}"
        yield f"#   wanted: {{at: driven, from: {300 if put.unit == 'in' else 250} rpm, to: 900 rpm}}"
        yield "#   # the belt then places the motor:  at: {belt: {from: machine, angle: 90 deg}}"
        yield "#   # and gives the slots their length:  take_up: {slots: {along: belt, install: auto, tension: auto}}"
        yield ""


def _cutting(choices: StarterChoices, standard: StandardMount) -> str:
    """How it is cut; a punch mark is too far off for small screws: their holes are drilled in a jig."""
    from platekit import tables

    if tables.screw(_screw_of(standard, choices.units)).diameter >= SMALL_SCREW:
        return f"cutting: {{process: {choices.process}}}"
    why = "drilled in a jig or through the part; at a punch mark it is 1 mm"
    return f"cutting: {{process: {choices.process}, drilling: {JIG}}}    # {why}"


def _pilot(standard: StandardMount, draft: _Starter, put: FigureWriter) -> list[str]:
    lines = []
    if draft.whole:
        diameter, depth = put.exact(standard.pilot or 0.0), put.exact(_spigot(standard))
        note = "" if standard.pilot_depth else "    # depth: measure it"
        lines.append(f"    pilot: {{diameter: {diameter}, depth: {depth}, opening: none}}{note}")
    if draft.standoff > 0:
        why = "spacers keep the pilot out of the plate" if draft.whole else "spacers bring the screws to length"
        lines.append(f"    standoff: {put.at_least(draft.standoff)}    # {why}")
    return lines


def _screws(standard: StandardMount, draft: _Starter, thickness: float, put: FigureWriter) -> str:
    washer = "true" if draft.washer else "false"
    if draft.cut:
        # Cut to length, the screw ends flush with the bottom of the part's thread: it can be no longer.
        reach = thickness + put.up(draft.standoff) + (standard.thread_depth or 0.0)
        return f"{{into: part, length: {written(round(reach, 4))} mm}}    # cut to this length: no stock screw fits"
    if standard.screw is not None:
        return f"{{into: part, washer: {washer}}}"
    size = _screw_of(standard, put.unit)
    # The screws pass through feet or flange, as thick as the standard has them, or a guess.
    # What begins at the mating face and is called feet or flange is what the screws go through.
    thick = [body.span[1] for body in standard.bodies if body.span[0] == 0 and body.name in ("feet", "flange")]
    flange = put.at_least(max([FLANGE[put.unit], *thick]))
    return f"{{size: {written(size)}, into: nut, flange: {flange}, washer: {washer}}}    # flange: measure it"


FINE = 0.1
"""By how much a part's hole may be narrower than a screw's fine clearance hole, mm (ours: M10 goes through 0.41 in)."""


def _screw_of(standard: StandardMount, unit: Unit) -> str:
    """A standard part's own screw, else the largest usual one whose fine clearance hole its own is as wide as.

    One for M8 where it has neither. M14 just passes a hole of 14.3 mm, and M12 or 1/2 in is what goes there.
    """
    from platekit import tables

    if standard.screw:
        return standard.screw
    hole, system = standard.hole, "inch" if unit == "in" else "metric"
    usual: list[Screw] = []
    for screw in map(tables.screw, tables.screw_sizes()):
        # all that a nut and bolt need must be listed, and the thread be the usual coarse one
        parts = (screw.hex_across_corners, screw.hex_head_height, screw.nut_across_corners, screw.washer_outer)
        if screw.series in ("coarse", "UNC") and None not in parts and screw.stock_lengths:
            usual.append(screw)
    own = [screw for screw in usual if screw.system == system]

    def passes(screw: Screw) -> bool:
        return hole is None or screw.clearance.get("close", screw.diameter) <= hole + FINE

    fitting = [screw for screw in own if passes(screw)] or [
        screw for screw in own if hole is None or screw.diameter < hole
    ]
    # through small metric feet no inch screw goes: then one of the other system
    fitting = fitting or [screw for screw in usual if hole is None or screw.diameter < hole]
    best = max(fitting or own[:1], key=lambda screw: screw.diameter if hole is not None else -abs(screw.diameter - 8))
    return best.size


def wide_hole(size: str, unit: Unit) -> str:
    """A hole that leaves a screw much room, as text with its unit: half millimetres, or the next 64th of an inch."""
    from platekit import tables

    wide = math.ceil(WIDE * tables.screw(size).diameter * 2) / 2
    if unit == "in":
        return show_fraction(Fraction(math.ceil(wide / INCH * 64), 64))
    return f"{written(wide)} mm"


_LAST_MEASURED: Final = "# x points from one to the other"
_MEASURED: Final = (
    """
      measured:                       # put in what the caliper says, line by line: platekit survey lists what to take
        holes: {{A: {hole}, B: {hole}, C: {hole}, D: {hole}, bore: {bore}}}
        readings:
          - [A, B, over, {wide_over}]        # across the farthest edges; inside: between the nearest
          - [B, C, over, {high_over}]
          - [C, D, over, {wide_over}]
          - [D, A, over, {high_over}]
          - [A, C, over, {diagonal}]
          - [B, D, over, {diagonal}]
          - [bore, A, inside, {gap}]
          - [bore, B, inside, {gap}]
          - [bore, C, inside, {gap}]
          - [bore, D, inside, {gap}]
        sigma: {sigma}                    # two readings in three are nearer to the truth than this
        clockwise: [A, B, C]          # three that follow each other clockwise
        origin: bore
        x_axis: [D, C]                """
    + _LAST_MEASURED
)
_MEASURED_SIZES: Final[dict[Unit, tuple[float, float, float, float, float]]] = {
    "mm": (120.0, 90.0, 6.8, 60.0, 0.1),
    "in": (4.5, 3.5, 0.257, 2.25, 0.004),
}
"""Width, height, hole (the bore of the thread), bore, sigma; all in the unit, and ours."""


def _measured(unit: Unit) -> str:
    """Four holes in a rectangle round a bore, with the readings that such ones would give."""
    width, height, hole, bore, sigma = _MEASURED_SIZES[unit]
    digits = 2 if unit == "mm" else 3
    diagonal = math.hypot(width, height)
    sizes = {
        "wide_over": width + hole,
        "high_over": height + hole,
        "diagonal": diagonal + hole,
        "gap": (diagonal - hole - bore) / 2,
    }
    said = {name: f"{size:.{digits}f}" for name, size in sizes.items()}
    return _MEASURED.format(hole=f"{hole:g}", bore=f"{bore:g}", sigma=f"{sigma:g}", **said)


_MACHINES: Final[dict[OldPattern, dict[Unit, str]]] = {
    "circle": {
        "mm": "{circle: {count: 4, diameter: 130, start: 45 deg}}",
        "in": "{circle: {count: 4, diameter: 5, start: 45 deg}}",
    },
    "rectangle": {
        "mm": "{rectangle: {width: 140, height: 100}}",
        "in": "{rectangle: {width: 5.5, height: 4}}",
    },
    "points": {
        "mm": "{points: [[0, 0], [130, 0], [40, 85]]}    # [x, y] of every hole",
        "in": "{points: [[0, 0], [5, 0], [1.5, 3.25]]}    # [x, y] of every hole",
    },
    "measured": {"mm": _measured("mm"), "in": _measured("in")},
}
_MACHINE_SCREW: Final[dict[Unit, str]] = {"mm": "M8", "in": "5/16-18"}


def _reach(standard: StandardMount) -> float:
    """How far the part reaches from its own zero, mm."""
    # Holes with the edge round them, and whatever the part brings: its own farthest point decides how near it may go.
    far = [math.hypot(*point) + (standard.hole or 10.0) for point in standard.points]
    for body in standard.bodies:
        size = body.shape[1] / 2 if body.shape[0] == "circle" else math.hypot(*body.shape[1:]) / 2
        far.append(math.hypot(*body.at) + size)
    return max(far)
