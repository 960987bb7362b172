"""The rule on what is taken from drawings: the unit nobody names, what was left out, chords that became arcs."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import Point
from platekit.laying.drawn import FIT, drawn_shapes, outline_of
from platekit.placed import Layout


def drawing(layout: Layout) -> Iterator[Finding]:
    """What someone who relies on an outline from a drawing must know of how it was read (mm)."""
    for name, field, given in drawn_shapes(layout.spec):
        outline = outline_of(layout.spec, given, field)
        box, at = outline.loop.box, _place(layout, name)
        size = f"{say(layout, box.width)} x {say(layout, box.height)}"
        # most drawing files carry no unit: a wrong one makes a plate 25 times too large, which its size in words shows
        if outline.silent:
            yield Finding(
                rule="drawing",
                level="note",
                message=f"{name}: {given.file} does not say its unit; read in {given.units}, as the spec says, "
                f"it is {size}",
                features=(name,),
                at=at,
                advice=Advice(
                    f"measure the part; a drawing saved with its unit set to {given.units} says so itself",
                ),
            )
        for remark in outline.remarks:
            yield Finding(
                rule="drawing",
                level="note",
                message=f"{name}: {given.file}: {remark}",
                features=(name,),
                at=at,
                advice=Advice("see that the outline in the picture is the one that is meant, or save it alone"),
            )
        if outline.replaced:
            yield Finding(
                rule="drawing",
                level="note",
                message=f"{name}: {given.file}: {outline.replaced} short chords were taken for the arcs and lines that "
                f"they follow, within {max(outline.away, 1e-6):.2g} mm (at most {FIT:g} mm); "
                f"{len(outline.loop.edges)} edges are left",
                features=(name,),
                at=at,
                found=outline.away,
                needed=FIT,
                advice=Advice("nothing need be done; to have it to the last digit, draw arcs as arcs"),
            )


def _place(layout: Layout, name: str) -> Point | None:
    if name in layout.mounts:
        pose = layout.mounts[name].pose
        return (pose.x, pose.y)
    shapes = [opening.shape for opening in layout.openings if opening.name == name]
    shapes += [body.shape for body in layout.bodies if body.name == name]
    return shapes[0].centroid if shapes else None


RULES = (
    Rule(
        "drawing",
        "an outline from a drawing that is read otherwise than it is meant",
        f"chords are fitted within {FIT:g} mm",
        "ours",
        drawing,
        levels=("note",),
    ),
)
