"""Exact line-and-arc shapes: what they measure, how near they come, what they cover when they move.

The words, each defined where it lives:

    point, box, gap      pairs of millimetres; an upright rectangle; a distance and its two points     (point)
    pose                 from an own frame to the plate frame: mirror, turn, move                      (pose)
    edge, sweep, bulge   a line or an arc; the angle it turns through; tan(sweep / 4)                  (edges)
    loop, inside corner  a closed outline, counter-clockwise; where it turns right                      (loop)
    disc, slot, spine    round shapes, and the point, stretch or arc they are measured from            (shapes)
    distance, depth      between regions; from a point to an outline, negative outside        (measure, loop)
    hull, envelope       the smallest convex outline; what reaches farthest in each direction           (hull)
    upright, lying       prisms and cones; cylinders across; how near they come in all three     (solids)
    standing prism       a flat shape on edge, held along the plate: a belt over shafts that lie (solids)
    plane                of a belt, square to its shafts, and back to the plate frame                  (plane)
    travel, position     straight or swinging; 0 at nominal, positive towards tension                  (sweep)
    ring, tag            points of one kind at one radius; what tells kinds apart                   (symmetry)

Lengths are mm, angles are radians counter-clockwise from x. Every shape is frozen. Shapely is met
only in `polygons`, and only when a polygon is asked for.
"""

from __future__ import annotations

from platekit.geometry.combine import covered_by_union, difference, intersection, notch, union_loops
from platekit.geometry.edges import Arc, Edge, Line, arc, edge_gap, edge_intersections, edge_of
from platekit.geometry.hull import hull
from platekit.geometry.index import Index
from platekit.geometry.loop import Loop, Vertex, clean_loop, loop_of, polygon_loop, rectangle
from platekit.geometry.measure import begin_between, covers, crosses, distance, edge_distance, within_reach
from platekit.geometry.patterns import circle_points, even_angles, rectangle_points
from platekit.geometry.plane import ACROSS, Plane, Spatial, lying
from platekit.geometry.point import (
    CHORD_ERROR,
    EPS,
    Box,
    Gap,
    Point,
    between,
    box_of,
    box_round,
    middle,
    polar,
    turned,
)
from platekit.geometry.pose import Pose
from platekit.geometry.shapes import CurvedSlot, Disc, Shape, Slot, curved_slot, disc_loop, slot
from platekit.geometry.solids import (
    Clearance,
    Lying,
    Solid,
    StandingPrism,
    Upright,
    across_the_corner,
    clearance,
    coaxial,
    common_point,
    extent,
    height_gap,
    level_box,
    nearer_than,
    nearest_position,
    prism_distance,
    run_together,
)
from platekit.geometry.sweep import Straight, Swing, Travel, ends, pose_at, sweep
from platekit.geometry.symmetry import mirror_fits, mirrored_matches, turn_order

__all__ = [
    "ACROSS",
    "CHORD_ERROR",
    "EPS",
    "Arc",
    "Box",
    "Clearance",
    "CurvedSlot",
    "Disc",
    "Edge",
    "Gap",
    "Index",
    "Line",
    "Loop",
    "Lying",
    "Plane",
    "Point",
    "Pose",
    "Shape",
    "Slot",
    "Solid",
    "Spatial",
    "StandingPrism",
    "Straight",
    "Swing",
    "Travel",
    "Upright",
    "Vertex",
    "across_the_corner",
    "arc",
    "begin_between",
    "between",
    "box_of",
    "box_round",
    "circle_points",
    "clean_loop",
    "clearance",
    "coaxial",
    "common_point",
    "covered_by_union",
    "covers",
    "crosses",
    "curved_slot",
    "difference",
    "disc_loop",
    "distance",
    "edge_distance",
    "edge_gap",
    "edge_intersections",
    "edge_of",
    "ends",
    "even_angles",
    "extent",
    "height_gap",
    "hull",
    "intersection",
    "level_box",
    "loop_of",
    "lying",
    "middle",
    "mirror_fits",
    "mirrored_matches",
    "nearer_than",
    "nearest_position",
    "notch",
    "polar",
    "polygon_loop",
    "pose_at",
    "prism_distance",
    "rectangle",
    "rectangle_points",
    "run_together",
    "slot",
    "sweep",
    "turn_order",
    "turned",
    "union_loops",
    "within_reach",
]
