"""All figures of a plate for a program, as JSON: keys are stable and carry their unit (`x_mm`, `start_deg`).

Everything is in the plate frame, millimetres and degrees, whatever the spec was written in. Keys are sorted and numbers
rounded to `DECIMALS` places, so that the same spec gives the same bytes. A key may be added in a later version; none
changes its meaning while `figures` stays the same.
"""

from __future__ import annotations

import json
import math
import os
from typing import Final

from platekit.analysis.fitting import fits
from platekit.checks import check
from platekit.checks.finding import Verdict
from platekit.checks.openings import EDGE_IN_DIAMETERS
from platekit.cutting import plan
from platekit.cutting.heads import HeadSeat, seats
from platekit.cutting.operations import Operations, operations_of
from platekit.cutting.scribe import scribing_of
from platekit.drawing.cautions import CAUTIONS, NOT_FOR_CUTTING
from platekit.export.data.cut_plan import plan_figures
from platekit.export.data.hole_list import point_told, slot_ends, what_it_is
from platekit.export.data.parts_list import parts_figures
from platekit.export.data.rounded import Figures, tidied
from platekit.export.data.survey import fit_figures
from platekit.export.files import write_whole
from platekit.export.picture.copies import copies_figures
from platekit.geometry import CurvedSlot, Disc, Shape, Slot, Straight, Swing
from platekit.laying.flange import press_force
from platekit.laying.layers import layer_parts
from platekit.placed import Layout, Opening, PlacedBelt, PlacedCoupling, PlacedMount, PlacedPulley, Value

VERSION: Final = 1
"""Version of the meaning of the keys, given as `figures`."""


def figures(layout: Layout, path: str | os.PathLike[str], verdict: Verdict | None = None) -> None:
    """Writes the figures, whole or not at all; see `figures_bytes`."""
    write_whole(path, figures_bytes(layout, verdict))


def figures_bytes(layout: Layout, verdict: Verdict | None = None) -> bytes:
    """The figures as JSON in UTF-8; the same layout gives the same bytes.

    `verdict` is that of `check(layout)`, worked out here when it is None.
    """
    verdict = check(layout) if verdict is None else verdict
    # NaN is no JSON: what is no number has become null before, and `allow_nan=False` would tell of one that slipped
    # through
    text = json.dumps(
        tidied(plate_figures(layout, verdict)), indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False
    )
    return f"{text}\n".encode()


def _flange(layout: Layout) -> Figures | None:
    """What a bent flange is set and measured by; None without one."""
    bent = layout.flange
    if bent is None:
        return None
    line = bent.bend_line
    return {
        "edge": bent.edge,
        "towards": bent.side,
        "angle_deg": 90.0,
        "height_mm": bent.height,
        "length_mm": bent.length,
        "inside_radius_mm": bent.radius,
        "k_factor": bent.k,
        "allowance_mm": bent.allowance,
        "bend_line_mm": (line.a, line.b),
        "back_stop_mm": bent.leg + bent.allowance / 2,
        "die_opening_mm": bent.die,
        "press_n": press_force(bent, layout.material.family or ""),
    }


def plate_figures(layout: Layout, verdict: Verdict) -> Figures:
    """All figures of a plate, with its verdict."""
    sunk = seats(layout)
    box, material = layout.outline.box, layout.material
    cut = [operations.cut for operations in operations_of(layout) if operations.cut is not None]
    lengths = [shape.perimeter for shape in (*cut, layout.outline)]
    words = scribing_of(layout)
    return {
        "figures": VERSION,
        "spec": layout.spec.name,
        "title": layout.title,
        "revision": layout.spec.revision,
        "units": layout.spec.unit,
        "stamp": None if verdict.clear else NOT_FOR_CUTTING,
        **verdict_figures(verdict),
        "plate": {
            "thickness_mm": layout.thickness,
            "width_mm": box.width,
            "height_mm": box.height,
            "lower_left_mm": (box.x0, box.y0),
            "outline": _shape(layout.outline),
            "outline_area_mm2": layout.outline.area,
            "net_area_mm2": layout.net_area,
            "mass_kg": layout.mass,
            "material": {
                "name": material.name,
                "density_kg_m3": material.density,
                "modulus_n_mm2": material.modulus,
                "yield_strength_n_mm2": material.yield_strength,
                "source": str(material.source),
            },
        },
        "flange": _flange(layout),
        "layers": {
            part: {
                "thickness_mm": flat.thickness,
                "material": flat.material.name,
                "revision": flat.spec.revision,
                "size_mm": (flat.outline.box.width, flat.outline.box.height),
                "mass_kg": flat.mass,
                "openings": [
                    {"name": one.name, "role": one.role, "center_mm": one.center, "size_mm": one.size}
                    for one in flat.openings
                ],
            }
            for part, flat in layer_parts(layout).items()
        },
        "limits": {
            "smallest_hole": _value(layout.limits.smallest_hole),
            "web": _value(layout.limits.web),
            "edge": {"hole_diameters": EDGE_IN_DIAMETERS, "source": "common practice"}
            if layout.limits.edge is None
            else _value(layout.limits.edge),
            "inside_radius": _value(layout.limits.inside_radius),
            "gap": _value(layout.limits.gap),
            "kerf": _value(layout.limits.kerf),
            "pilot_clearance": _value(layout.limits.pilot_clearance),
        },
        "cutting": {
            "process": layout.cutting.process,
            "kerf_mm": layout.limits.kerf.value,
            "loops": len(lengths),
            "length_mm": math.fsum(lengths),
            "marks": len({point for operations in operations_of(layout) for point in operations.marks}),
            "sheet_mm": layout.cutting.sheet,
            "plan": plan_figures(plan(layout)),
            "copies": copies_figures(layout),
        },
        "scribed": {
            "height_mm": words.height,
            "face": words.side,
            "length_mm": words.length,
            "words": [
                {
                    "text": word.text,
                    "kind": word.what,
                    "opening": word.feature,
                    "at_mm": word.at,
                    "turn_deg": math.degrees(word.turn),
                    "box_mm": tuple(word.box),
                    "strokes": len(word.strokes),
                }
                for word in words.words
            ],
            "left_out": [
                {"text": one.text, "kind": one.what, "opening": one.feature, "why": one.why, "signs": one.signs}
                for one in words.left_out
            ],
        },
        "mounts": {
            name: (
                {
                    "side": mount.side,
                    "x_mm": mount.pose.x,
                    "y_mm": mount.pose.y,
                    "turn_deg": math.degrees(mount.pose.turn),
                    "mirrored": mount.pose.mirrored,
                    "standoff_mm": mount.standoff,
                    "on_layer": mount.on,
                    "heads_on_layer": mount.heads_on,
                    "spacers": _spacers(mount),
                    "holes_mm": mount.points,
                    "holes_in_own_frame_mm": mount.own_points,
                    "hole_diameter_mm": mount.hole,
                    "pilot_diameter_mm": mount.pilot,
                    "pilot_depth_mm": mount.pilot_depth,
                    "standard": None if mount.standard is None else mount.standard.designation,
                    "standard_source": None if mount.standard is None else str(mount.standard.source),
                    "travel": _travel(mount.travel),
                    "screws": None
                    if mount.stack is None
                    else {
                        "size": mount.stack.size,
                        "count": mount.stack.count,
                        "head": mount.stack.head,
                        "head_side": mount.stack.head_side,
                        "head_height_mm": mount.stack.head_height,
                        "into": mount.stack.into,
                        "washers": mount.stack.washers,
                        "washer_diameter_mm": mount.stack.washer_outer,
                        "grip_mm": mount.stack.grip,
                        "length_mm": mount.stack.length,
                        "length_given": mount.stack.given,
                        "stock_lengths_mm": mount.stack.stock_lengths,
                        "engagement_mm": mount.stack.engagement,
                        "engagement_needed_mm": mount.stack.needed,
                        "engagement_needed_source": mount.stack.needed_source,
                        "thread_available_mm": mount.stack.available,
                    },
                }
            )
            for name, mount in layout.mounts.items()
        },
        "fit_odds": {fit.mount: fit_figures(fit) for fit in fits(layout)},
        "survey": _survey(layout),
        "openings": [
            _opening(layout, opening, operations, sunk.get(opening.name))
            for opening, operations in zip(layout.openings, operations_of(layout), strict=True)
        ],
        "bodies": [
            {
                "name": body.name,
                "kind": body.kind,
                "carried_by": body.carrier,
                "side": body.side,
                "z_mm": body.z,
                "gap_mm": body.gap,
                "relief": body.relief,
                "screw": body.screw,
                "shape": _shape(body.shape),
                "swept": None if body.travel is None else _shape(body.swept),
            }
            for body in layout.bodies
        ],
        "belts": [belt_figures(belt) for belt in layout.belts],
        "parts_list": parts_figures(layout),
        "couplings": [coupling_figures(one) for one in layout.couplings],
    }


def verdict_figures(verdict: Verdict) -> Figures:
    """Verdict and findings, as `platekit check --json` prints them."""
    return tidied(
        {
            "verdict": verdict.word,
            "cautions": list(CAUTIONS),
            "findings": [
                {
                    "rule": finding.rule,
                    "level": finding.level,
                    "message": finding.message,
                    "features": list(finding.features),
                    "found": finding.found,
                    "needed": finding.needed,
                    "unit": finding.unit,
                    "at_mm": finding.at,
                    "field": finding.field or None,
                    "line": finding.line or None,  # of the spec's file; none where it is about no one line
                    "advice": finding.advice.text,
                    "positions": [{"mount": one.mount, f"at_{one.unit}": one.at} for one in finding.positions],
                    "tried": finding.advice.tried,
                    "remedies": [{"field": remedy.field, "value": remedy.value} for remedy in finding.remedies],
                    "accepted": finding.accepted,
                }
                for finding in verdict.findings
            ],
        }
    )


# ------------------------------------------------------------------------------------ plate, cutting


def _spacers(mount: PlacedMount) -> Figures | None:
    spacer = None if mount.stack is None else mount.stack.spacer
    if spacer is None:
        return None
    return {
        "cut_from": spacer.made,
        "outside_mm": spacer.outside,
        "bore_mm": spacer.bore,
        "length_mm": spacer.length,
        "plus_minus_mm": spacer.plus_minus,
        "count": spacer.count,
        "material": spacer.material.name,
        "pressure_n_mm2": spacer.pressure if math.isfinite(spacer.pressure) else None,
    }


def _value(value: Value) -> Figures:
    return {"value_mm": value.value, "source": value.source}


# --------------------------------------------------------------------------- mounts, openings, bodies


def _travel(travel: Straight | Swing | None) -> Figures | None:
    if isinstance(travel, Straight):
        return {
            "kind": "straight",
            "along_deg": math.degrees(math.atan2(travel.direction[1], travel.direction[0])),
            "install_mm": travel.install,
            "tension_mm": travel.tension,
        }
    if isinstance(travel, Swing):
        return {
            "kind": "swing",
            "about_mm": travel.about,
            "tightens": "counter-clockwise" if travel.sense > 0 else "clockwise",
            "install_deg": math.degrees(travel.install),
            "tension_deg": math.degrees(travel.tension),
        }
    return None


def _opening(layout: Layout, opening: Opening, operations: Operations, seat: HeadSeat | None) -> Figures:
    x, y = opening.center
    box = layout.outline.box
    ends = slot_ends(opening)
    # What a head that is let in takes out: its mouth at the face, and how deep until its floor or the hole's
    # wall
    return {
        "name": opening.name,
        "role": opening.role,
        "what": what_it_is(opening),
        "mount": opening.mount,
        "for_body": opening.for_body,
        "merged": list(opening.merged),
        "x_mm": x,
        "y_mm": y,
        "x_y_of": point_told(opening),
        "from_left_mm": x - box.x0,
        "from_bottom_mm": y - box.y0,
        "size_mm": opening.size or None,
        "slot_ends_mm": ends,
        "area_mm2": opening.shape.area,
        "shape": _shape(opening.shape),
        "through": opening.through,
        "depth_mm": opening.depth,
        "opens_to": opening.side,
        "thread": opening.thread,
        "made": operations.how,
        "made_because": operations.reason,
        "drill_mm": operations.drill,
        "marked_at_mm": operations.marks,
        "cut": None if operations.cut is None else _shape(operations.cut),
        "work": [
            {
                "do": step.work,
                "diameter_mm": step.diameter,
                "depth_mm": step.depth,
                "side": step.side,
                "thread": step.thread,
                "angle_deg": step.angle_deg,
            }
            for step in operations.steps
        ],
        "head_seat": None
        if seat is None
        else {
            "side": seat.side,
            "kind": "cone" if seat.tapers else "bore",
            "diameter_mm": seat.diameter,
            "depth_mm": seat.depth,
            "angle_deg": seat.step.angle_deg,
            "mouth": _shape(seat.mouth),
        },
    }


def belt_figures(belt: PlacedBelt) -> Figures:
    """One belt over its pulleys, and what was worked out about it; `points` are those of its driven shaft."""
    return {
        "name": belt.name,
        "section": None if belt.request.belt is None else belt.request.belt.section,
        "count": None if belt.request.belt is None else belt.request.belt.count,
        "adjusted_by": belt.adjusted,
        "line_deg": math.degrees(belt.line),
        "driver": _pulley(belt.driver),
        "driven": _pulley(belt.driven),
        "idlers": [_pulley(idler) for idler in belt.idlers],
        **belt.result.figures(),
    }


def coupling_figures(one: PlacedCoupling) -> Figures:
    """The figures of one coupling for a program: lengths in mm, angles in degrees, torque in Nm."""
    return {
        "name": one.name,
        "from": one.driving.mount,
        "to": one.driven.mount,
        "x_mm": one.middle[0],
        "y_mm": one.middle[1],
        "z_mm": one.middle[2],
        "diameter_mm": one.diameter,
        "length_mm": one.length,
        "gap_mm": one.apart,
        "gap_wanted_mm": list(one.gap),
        "offset_mm": math.hypot(*one.beside),
        "angle_deg": math.degrees(one.askew),
        "ratio": 1.0,
        "torque_nm": one.torque_nm,
        "rated_torque_nm": one.rated_nm,
        "speed_rpm": one.speed_rpm,
        "max_speed_rpm": one.max_rpm,
        "guarded": one.guarded,
        "stock": None if one.stock is None else one.stock[0],
    }


def _pulley(pulley: PlacedPulley) -> Figures:
    z = pulley.z
    if pulley.drawn.lies:  # its axis lies along the plate: as high as its largest diameter reaches
        height, radius = pulley.center[1], pulley.largest_diameter / 2
        z = (height - radius, height + radius)
    return {
        "name": pulley.name,
        "mount": pulley.mount,
        "x_mm": pulley.at[0],
        "y_mm": pulley.at[1],
        "z_mm": z,
        "pitch_diameter_mm": pulley.pitch_diameter,
        "largest_diameter_mm": pulley.largest_diameter,
        "runs_inside": pulley.inside,
    }


def _shape(shape: Shape) -> Figures:
    """A shape by what pins it down; the bulge of a loop's vertex is tan(sweep / 4) of the edge that starts there."""
    if isinstance(shape, Disc):
        return {"kind": "disc", "center_mm": shape.center, "diameter_mm": shape.diameter}
    if isinstance(shape, Slot):
        return {"kind": "slot", "from_mm": shape.a, "to_mm": shape.b, "width_mm": shape.width}
    if isinstance(shape, CurvedSlot):
        return {
            "kind": "curved slot",
            "center_mm": shape.center,
            "mid_radius_mm": shape.mid_radius,
            "start_deg": math.degrees(shape.start),
            "sweep_deg": math.degrees(shape.sweep),
            "width_mm": shape.width,
        }
    return {
        "kind": "loop",
        "vertices_mm": [(x, y) for x, y, _ in shape.vertices],
        "bulges": [bulge for _, _, bulge in shape.vertices],
    }


def _survey(layout: Layout) -> Figures:
    if not layout.measured:
        return {}
    from platekit.export.data.survey import pattern_figures
    from platekit.studies.surveyed import measured_of

    return {one.mount: pattern_figures(one) for one in measured_of(layout)}
