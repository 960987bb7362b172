"""The list of what to buy and to cut in words: one line a piece, for the terminal, the bench sheet and the CSV file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit import tables
from platekit.analysis.parts_list import Line, Open, Piece, PieceKind, lines_of, totals_of
from platekit.drawing.sizes import figure, mass_figure
from platekit.placed import Layout
from platekit.tables.shop import shop_figure
from platekit.tables.spacers import general_deviation
from platekit.units import INCH, Unit, nearest_fraction, said_in, show_fraction, show_length

OPEN_WORDS: Final[dict[Open, str]] = {
    "length": "its length is not known: measure what it clamps and what holds its thread",
    "stock length": "no stock length fits",
    "stock size": "not in the stock lists: ask its maker, or take one that is",
    "bore": "its bore is the shaft's diameter, which nothing here tells: measure it",
    "key": "key, and bush if it has one, as its maker lists them for this bore: measure the keyway of the shaft",
    "width": "its width is not given",
    "size": "its size is not known: measure it",
}
"""What to do about what is not known of a piece."""
LENGTH_OF: Final[dict[PieceKind, str]] = {
    "belt": "its length is not worked out: lay a cord round the pulleys where they will be",
    "key": "its length goes by the hub and the shaft's keyway: measure both",
}
"""What to do about a length that is not known, where that is no screw's."""
EQUAL = shop_figure("spacers of one set, equal within")
"""How alike the spacers of one set are, mm (`shop_figures.csv`)."""
SQUARE = shop_figure("spacer, square at its ends within")
"""How square to its length the face of a spacer is, over its width, mm (`shop_figures.csv`)."""
HEADS: Final = ("", "what", "for", "to settle")
"""Headings of the table of lines."""
NOTE: Final = (
    "For one machine, counted from the layout: what is not described in the spec is not in it. Spares, paint and "
    "electrical parts come on top."
)

Rows = list[list[str]]


def piece_words(piece: Piece, unit: Unit) -> str:
    """A piece as it is asked for over the counter or cut, without how many; lengths in the unit."""

    def size(mm: float | None) -> str:
        return "?" if mm is None else show_length(mm, unit)

    match piece.kind:
        case "screw":
            return f"screw {piece.size}{_long(piece, unit)}, {said_in(piece.what, unit)}".replace("  ", " ")
        case "nut":
            return f"nut {piece.size}{', ' if piece.what else ''}{piece.what}"
        case "washer" if piece.what:
            return f"{piece.what} washer for {piece.size or 'its'} screws"
        case "key":
            section = f"{figure(piece.width or 0, unit)} × {size(piece.height)}"
            long = "" if piece.length is None else f", {size(piece.length)} long"
            return f"key {section}{long}, {piece.what} (a new motor brings its own)"
        case "coupling":
            name = f"{piece.size}, " if piece.size else ""
            return f"coupling {name}{size(piece.height)} across, {size(piece.length)} long; {said_in(piece.what, unit)}"
        case "washer":
            return f"washer {piece.size}, {size(piece.width)} outside, {size(piece.thickness)} thick"
        case "spacer" if piece.what:
            made, _, material = piece.what.partition(", ")
            hole = f", hole {size(piece.bore)}"
            if made == "tube":
                wall = ((piece.width or 0.0) - (piece.bore or 0.0)) / 2
                hole = f" × {figure(wall, unit)} (bore {size(piece.bore)})"
            return (
                f"spacer {size(piece.length)} ± {figure(general_deviation(piece.length or 0.0), unit)} long, {made} "
                f"{figure(piece.width or 0.0, unit)}{hole}, {material}, for {piece.size}: one set equal within "
                f"{size(EQUAL)}, ends square within {size(SQUARE)}; {size(piece.height)} of {made} with saw cuts"
            )
        case "spacer":
            packed = " + ".join(figure(one, unit) for one in piece.pieces)
            of = f" (each {packed})" if packed else ""
            wide = "" if piece.width is None else f"{size(piece.width)} across or more, "
            return f"spacer {size(piece.length)} long{of} of plate, {wide}hole {size(piece.bore)}, for {piece.size}"
        case "spring pin":
            long = "" if piece.length is None else f" × {size(piece.length)}"
            return f"spring pin {figure(piece.width or 0.0, unit)}{long}, slotted, ISO 8752"
        case "dowel":
            long = "" if piece.length is None else f" × {size(piece.length)}"
            return f"dowel pin {figure(piece.width or 0.0, unit)}{long}, hardened, m6"
        case "rivet":
            return f"blind rivet {size(piece.height)}"
        case "sheet" | "layer" | "guard sheet":
            blank = f"{figure(piece.length or 0, unit)} × {figure(piece.width or 0, unit)} × {size(piece.thickness)}"
            named = "plate" if piece.kind == "sheet" else piece.size.replace("-", " ", 1)
            named = f"layer {piece.size}" if piece.kind == "layer" else named
            bent = f", {piece.size} on a brake" if piece.kind == "sheet" and piece.size else ""
            return f"{named}: blank {blank} {piece.what}{bent}"
        case "flat bar":
            section = f"{figure(piece.width or 0, unit)} × {size(piece.thickness)}"
            return f"flat bar {section}, {size(piece.length)} long, {said_in(piece.what, unit)}"
        case "angle":
            legs = f"{figure(piece.width or 0, unit)} × {figure(piece.height or 0, unit)} × {size(piece.thickness)}"
            return f"angle {legs}, {size(piece.length)} long, {said_in(piece.what, unit)}"
        case "lug":
            blank = f"{figure(piece.length or 0, unit)} × {figure(piece.width or 0, unit)} × {size(piece.thickness)}"
            return f"bent lug: blank {blank} {said_in(piece.what, unit)}"
        case "belt":
            wide = "" if piece.width is None else f", {size(piece.width)} wide"
            if piece.length is None:
                return f"belt {piece.size or piece.what}".rstrip()
            # a belt that no list has is named by its section and its length, which is told anyway
            name = (piece.size or piece.what).removesuffix(f" {show_length(piece.length, 'mm')} pitch")
            return f"belt {name}, {size(piece.length)} pitch length{wide}"
        case "idler":
            on = "" if piece.bore is None else f", bore {size(piece.bore)}"
            return f"{piece.size}, {size(piece.height)} across, rim {size(piece.width)}{on}, {piece.what}"
        case "pulley":
            sold = piece.size or ("" if piece.height is None else f"{size(piece.height)} pitch")
            said = [f"{piece.teeth} teeth"] if piece.teeth else [sold] if sold else []
            if piece.grooves and not piece.teeth:
                said.append(f"{piece.grooves} groove{'s' if piece.grooves > 1 else ''}")
            said += [f"rim {size(piece.width)}"] if piece.width is not None else []
            said += [f"bore {size(piece.bore)}"] if piece.bore is not None else []
            if piece.keyway is not None:
                said.append(f"keyway {figure(piece.keyway[0], unit)} × {size(piece.keyway[1])} deep in its hub")
            return f"pulley {', '.join(said)}{': ' if said else ''}{piece.what}"


def _long(piece: Piece, unit: Unit) -> str:
    """How long a screw is, as it is sold: inch screws by fractions whatever unit the spec has, metric ones by mm."""
    if piece.length is None:
        return ""
    sold = _sold(piece, piece.length, unit)
    return f" × {sold.removesuffix(' mm')}" if piece.size else f" × {sold}"


def _sold(piece: Piece, length: float, unit: Unit) -> str:
    """A length (mm) of a screw in the unit that it is sold by."""
    if piece.size and tables.screw(piece.size).system == "inch":
        return show_fraction(nearest_fraction(length))
    return show_length(length, "mm" if piece.size else unit)


def to_settle(piece: Piece, unit: Unit) -> str:
    """What is not known of a piece, and which depth of thread would let a stock length in; empty if all is known."""
    own = LENGTH_OF.get(piece.kind)
    said = [own if one == "length" and own is not None else OPEN_WORDS[one] for one in piece.open]
    usual = None
    if "key" in piece.open and piece.bore is not None:
        # a shaft of a round fraction in a job in inches takes an inch key: a metric one in inches is sold nowhere
        sixteenths = 16 * piece.bore / INCH
        inch = unit == "in" and abs(sixteenths - round(sixteenths)) < 0.02
        usual = tables.usual_inch_key(piece.bore) if inch else tables.usual_key(piece.bore)
    if usual is not None:
        size = f"{figure(usual.width, unit)} × {show_length(usual.height, unit)}"
        if unit == "in" and usual.width == usual.height:
            size = f"{show_fraction(nearest_fraction(usual.width))} square"
        said.append(f"usual for this shaft is a key {size} ({usual.source.name.partition(';')[0]})")
    fit = piece.stock
    if fit is not None and fit.deeper is not None and fit.depth is not None:
        near = " and ".join(_sold(piece, one, unit) for one in (fit.shorter, fit.longer) if one is not None)
        said.append(
            f"sold are {near}; {_sold(piece, fit.deeper, unit)} fits where the thread is "
            f"{show_length(fit.depth, unit)} deep"
        )
    return "; ".join(said)


def stock_words(piece: Piece, unit: Unit) -> str:
    """The stock lengths next to that of a screw, for whoever has to take another; empty for anything else."""
    fit = piece.stock
    if fit is None or piece.length is None:
        return ""
    both = (("shorter", fit.shorter), ("longer", fit.longer))
    ends = [f"{word} {_sold(piece, one, unit)}" for word, one in both if one]
    return f"stock lengths next to it: {', '.join(ends)}" if ends else ""


def for_words(line: Line) -> str:
    """Which parts of the job a line is for, with how many for each where there are several."""
    if len(line.by_part) == 1:
        return line.by_part[0][0]
    return ", ".join(f"{part} {count}" for part, count in line.by_part)


def line_rows(layout: Layout, get: str) -> Rows:
    """The lines of what is to `buy` or to `cut`: how many, what, for which part, what to settle; with masses."""
    unit, rows = layout.spec.unit, []
    for line in lines_of(layout):
        if line.piece.get != get:
            continue
        what = piece_words(line.piece, unit)
        mass = "" if line.mass is None else f", {mass_figure(line.mass, unit)} finished"
        note = to_settle(line.piece, unit) or stock_words(line.piece, unit)
        rows.append([str(line.count), what + mass, for_words(line), note])
    return rows


def total_rows(layout: Layout) -> Rows:
    """What each part of the job comes to, and all of them: pieces to buy, to cut, mass of what is cut, what is open."""
    unit, totals = layout.spec.unit, totals_of(layout)
    rows = [
        [one.part, str(one.bought), str(one.cut), mass_figure(one.mass, unit) if one.mass else "", str(one.open)]
        for one in totals
    ]
    everything = [sum(one.bought for one in totals), sum(one.cut for one in totals)]
    mass = mass_figure(sum(one.mass for one in totals), unit)
    return [*rows, ["all", *map(str, everything), mass, str(sum(one.open for one in totals))]]


def list_lines(layout: Layout) -> Iterator[str]:
    """The whole list for a terminal, line by line."""
    for get, heading in (("buy", "to buy"), ("cut", "to cut")):
        rows = line_rows(layout, get)
        if not rows:
            continue
        yield heading
        for count, what, part, note in rows:
            yield f"{count:>5}  {what}; for {part}"
            if note:
                yield f"         {note}"
    yield "in all"
    for part, bought, cut, mass, still in total_rows(layout):
        said = [f"{bought} to buy", f"{cut} to cut", *([mass] if mass else [])]
        said += [f"{still} with something to settle"] if still != "0" else []
        yield f"  {part}: {', '.join(said)}"
    yield NOTE
