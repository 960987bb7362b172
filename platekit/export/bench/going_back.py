"""Going back: labels for what comes off the old machine, photos to take before, and the way back step by step.

What was taken off is kept and named, so that whoever wants the machine as it was, years later, has all of it and knows
where each piece belongs.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from platekit.analysis.assembly import WayBack, way_back
from platekit.checks.finding import Verdict
from platekit.checks.guard import left_turning
from platekit.drawing.pdf.flow import Block, FlowRow, items, titled
from platekit.drawing.pdf.letters import LINE, POINT, fitted, letters, text_width
from platekit.drawing.pdf.pages import closing
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import shortened, wrapped
from platekit.export.bench.lists import list_paper
from platekit.export.bench.words import names_in_a_row
from platekit.export.files import write_whole
from platekit.geometry import Box
from platekit.placed import Layout, PlacedMount

BACK_SUFFIX: Final = ".back.pdf"
WHAT: Final = "going back"
LABEL: Final = 50.0
"""Height of a label, mm (ours: it goes on a bag or a box); two beside each other are as wide as the sheet."""
GUTTER: Final = 4.0
"""Between two labels, mm (ours: room for a cut)."""
HEAD: Final = 11.0
WORDS: Final = 8.5
FOOT: Final = 7.0
"""Sizes of a label's letters, points (ours)."""
LINES: Final = 4
"""Most lines of words on a label (ours)."""
BOX_HIGH: Final = 5.6
"""Height of a box to write in, mm (ours)."""


class Label(Struct, frozen=True):
    """What goes on a bag or box: what is in it, where that belongs, and what is to be written by hand."""

    head: str
    words: str
    write: tuple[str, ...] = ("how many", "date")


def going_back_bytes(layout: Layout, verdict: Verdict) -> bytes:
    """The paper as PDF; the same layout gives the same bytes."""
    return list_paper(layout, verdict, WHAT, lambda width: _kept(layout, width), lambda width: _cut_up(layout, width))


def going_back(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """Writes the paper to `path`, whole or not at all; see `going_back_bytes`."""
    write_whole(path, going_back_bytes(layout, verdict))


def _kept(layout: Layout, width: float) -> Iterator[Block]:
    """What is kept as a page: photos first, as they are taken before anything is loosened, then the way back."""
    yield items("Photos to take before anything is loosened", tuple(photos(layout)), width, "□")
    yield items("The way back, step by step", tuple(steps_back(layout, way_back(layout))), width, "1")
    yield closing(width)


def _cut_up(layout: Layout, width: float) -> Iterator[Block]:
    """The labels, on pages that hold nothing else: they are cut apart."""
    note = (
        "Cut along the lines and put each on its bag or box. Strike out what this machine does not have; keep all "
        "of it together, dry and oiled."
    )
    labels = tuple(labels_of(layout))
    foot = f"{layout.spec.name}, revision {layout.spec.revision}"
    each = (width - GUTTER) / 2
    rows = tuple(_label_row(labels[k : k + 2], each, layout.title, foot) for k in range(0, len(labels), 2))
    yield titled("Labels for bags and boxes", width, rows, note)


# ------------------------------------------------------------------------------------------------ words


def originals_of(layout: Layout) -> tuple[PlacedMount, ...]:
    """The mounts that stay as they were."""
    return tuple(layout.mounts[name] for name in layout.originals)


def photos(layout: Layout) -> Iterator[str]:
    """What to photograph before the old motor comes off; each with a rule or tape in the picture."""
    yield "The whole machine from all four sides and from above, before anything is loosened."
    yield (
        "The old motor's rating plate, and its terminal box open: wires, bridges, colours (locked out, by the "
        "electrician)."
    )
    for mount in originals_of(layout):
        holes = names_in_a_row(mount.hole_names)
        yield f"Each screw of {mount.name} in its place ({holes}) with what lies under its head; then the bare face."
    yield "Shims and spacers under the old motor, each in its place, and how far the motor sat from two fixed edges."
    if not layout.belts and layout.couplings:
        yield "The old coupling: how far each hub is from its shaft's end, the gap between the ends, keys and insert."
        yield "The old guard on, how it is fixed, and how far it is from the coupling."
    else:
        yield (
            "The old belt on its pulleys; a straightedge over both rims; how far each is from its shaft's end; the key."
        )
        yield "The old guard on, how it is fixed, and how far it is from the belt."
    given = [body.name for body in layout.bodies if body.kind == "given" and body.carrier in layout.originals]
    if given:
        yield f"What stands out of the old part near the plate: {names_in_a_row(tuple(dict.fromkeys(given)))}."
    yield "Everything that was taken off, laid out in the order in which it came off, with its labels."


def labels_of(layout: Layout) -> Iterator[Label]:
    """The labels, for what comes off the old machine."""
    onto = " and ".join(mount.name for mount in originals_of(layout))
    for mount in originals_of(layout):
        holes, count = names_in_a_row(mount.labels), len(mount.points)
        where = f"{count} holes of {mount.name}: {holes}"
        if mount.stack is not None and mount.stack.into == "stud":
            words = f"Back onto the {count} studs of {mount.name}, which stay: {holes}. The new nuts are not for them."
            yield Label(f"Old nuts and washers of {mount.name}", words)
        else:
            words = f"Back into the {where}; each into its own. The new screws have other lengths."
            yield Label(f"Old screws and washers of {mount.name}", words, ("how many", "thread, length", "date"))
        words = f"Each under its own hole of {mount.name} ({holes}): write on it which, and how thick it is."
        yield Label(f"Old shims, spacers, dowels at {mount.name}", words)
    yield Label("Old motor", f"Back onto {onto}. Shaft oiled and wrapped, key tied to it.", ("kW, rpm", "kg", "date"))
    if not layout.belts and layout.couplings:
        yield Label("Old coupling, keys, insert", "Each hub onto its own shaft, as far from its end as on the photo.")
        yield Label("Old guard and its screws", f"Back over the old coupling at {onto}, before power.")
        yield Label("Old switch, cable, terminal bridges", "Back in by a licensed electrician, as on the photo.")
        return
    left = tuple(dict.fromkeys(body.name for body in left_turning(layout)))
    stays = f" {names_in_a_row(left)} stays on its shaft." if left else ""
    words = f"Back onto the old motor's shaft, as far from its end as on the photo.{stays}"
    yield Label("Old pulley, key, set screws", words, ("from shaft's end", "date"))
    yield Label(
        "Old belt", "Hung up, not folded. Stretched: buy a new one of its size for going back.", ("size", "date")
    )
    yield Label("Old guard and its screws", f"Back over the old belt at {onto}, before power.")
    yield Label("Old switch, cable, terminal bridges", "Back in by a licensed electrician, as on the photo.")


def steps_back(layout: Layout, back: WayBack) -> Iterator[str]:
    """What is done to have the machine as it was: first off what was put on, last first; then on what was kept."""
    yield "Lock out the supply and prove it dead. A licensed electrician disconnects the new motor."
    if not back.off:
        yield "No order of assembly works, so there is none of taking off: take off what is outermost first."
    for step in back.off:
        screws = ""
        if step.screws:
            stack = layout.mounts[step.item].stack if step.item in layout.mounts else None
            what = "nuts" if stack is not None and stack.into == "stud" else "screws"
            tools = f", by {' or '.join(step.tools)}" if step.tools else ""
            screws = f": {len(step.screws)} {step.size or ''} {what}{tools}".replace("  ", " ")
        if step.item in back.mounts:
            yield f"Hold the plate, then unscrew it from {step.item}{screws}; the plate comes off."
        elif step.kind == "belt":
            yield f"Slacken what tightens {step.item.removesuffix('.belt')}, and take the belt off without levering it."
        elif step.kind == "mount":
            yield f"Support {step.item}, then take it off the plate{screws}."
        else:
            item = f"the pulley {step.item}" if step.kind == "pulley" else step.item
            if step.kind == "guard":
                guard, _, what = step.item.partition(".")
                half = f"the {guard}'s half, {what.removeprefix('half ')}"
                item = {"": f"the {guard}", "cover": f"the cover of the {guard}"}.get(what, half)
            yield f"Take off {item}{screws}."
    if back.off and not any(step.item in back.mounts for step in back.off):
        yield "Take off the plate."
    names = " and ".join(back.mounts)
    yield f"Clean the face of {names}; no burr and no chip under it. Turn each old screw in by hand first."
    yield (
        f"Old shims, spacers and dowels back to their places, the old motor onto {names}, each old screw or nut into "
        "its own place."
    )
    yield (
        "Tighten crosswise, as far as the old machine's papers or the size and class on the screw heads allow: "
        "which torque the old threads bear, this sheet cannot know."
    )
    coupled = not layout.belts and bool(layout.couplings)
    if coupled:
        yield "Old hubs and keys as far from their shafts' ends as on the photo; in line by straightedge or indicator."
    else:
        yield "Old pulley and key as far from the shaft's end as on the photo; both rims in line; belt on and tight."
        changed = [belt.driven.name for belt in layout.belts if belt.driven.mount in layout.originals]
        if changed:
            new = names_in_a_row(tuple(changed))
            yield f"Where {new} took the place of an old one: that one back onto its shaft too."
    yield "The old guard on with all its screws. The electrician connects the old switch in place of what fed the new."
    off, then, again = ("coupling apart", "coupling", "alignment") if coupled else ("belt off", "belt", "belt")
    yield f"Rotation tried with the {off}, as when it was changed; then {then}, guard, power."
    yield f"Screws and {again} again after the first hour and after the first day."
    if back.whole:
        yield "No hole of the old machine was changed: it is as it was."
    else:
        yield f"These holes were drilled into the old machine and stay: {names_in_a_row(back.lasting)}. Plug them."
    yield "Keep plate, new motor and this paper together: the same way leads forth again."


# ----------------------------------------------------------------------------------------------- labels


def _label_row(two: Sequence[Label], width: float, title: str, foot: str) -> FlowRow:
    """One or two labels beside each other, each so many mm wide."""

    def draw(pen: Pen, left: float, top: float) -> None:
        for index, label in enumerate(two):
            at = (left + index * (width + GUTTER), top - GUTTER / 2)
            _draw_label(pen, label, (title, foot), Box(at[0], at[1] - LABEL, at[0] + width, at[1]))

    return FlowRow(LABEL + GUTTER, draw)


def _draw_label(pen: Pen, label: Label, told: tuple[str, str], box: Box) -> None:
    """A label in its box (mm): title of the job, what it is, where it belongs, boxes to write in, name and revision."""
    (title, foot), left, top, width, height = told, box.x0, box.y1, box.width, box.height
    pen.box(Box(left, top - height, left + width, top), 0.15, (2.0, 1.2))
    inner, room = left + 3.0, width - 6.0
    said, size = fitted(title, room, FOOT)
    pen.text((inner, top - 5.0), said, size)
    pen.text((inner, top - 10.6), shortened(label.head, room, letters(HEAD, "bold")), HEAD, "bold")
    step = WORDS * LINE / POINT
    lines = wrapped(label.words, room, letters(WORDS))
    for index, line in enumerate(lines[:LINES]):
        last = index == LINES - 1 and len(lines) > LINES
        said = shortened(" ".join(lines[index:]), room, letters(WORDS)) if last else line
        pen.text((inner, top - 15.6 - index * step), said, WORDS)
    # boxes to write in side by side, as wide as their captions leave room
    each = (room - 2.0 * (len(label.write) - 1)) / len(label.write)
    low = top - height + 7.5
    for index, caption in enumerate(label.write):
        x = inner + index * (each + 2.0)
        pen.text((x, low + BOX_HIGH + 1.0), shortened(caption, each, letters(FOOT)), FOOT)
        pen.box(Box(x, low, x + each, low + BOX_HIGH))
    pen.text((inner, top - height + 2.8), shortened(foot, room - 28.0, letters(FOOT, "bold")), FOOT, "bold")
    note = "keep: old machine"
    pen.text((left + width - 3.0 - text_width(note, FOOT, "italic"), top - height + 2.8), note, FOOT, "italic")
