"""How many poses a second the search for a place judges, to calling shapely once a pose."""

from __future__ import annotations

import statistics
import time

import shapely
from shapely import affinity

import platekit
from platekit.studies.place_filter import filter_of
from platekit.studies.place_space import SearchPose, poses_of, space_of, spec_at

RUNS = 5
SPEC = """\
platekit: 1
title: Sieve shaker
units: mm
plate: {material: mild steel, thickness: 8}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {points: [[-46, -46], [46, -46], [50, 46], [-46, 40]], hole: 11}
    bolts: {size: M10, into: part, depth: 20, washer: true}
  motor:
    side: near
    looking_at: face
    pattern: {points: [[-40, -30], [45, -28], [38, 33]], hole: 9}
    at: {find: {box: [[-140, -60], [140, 170]], turn: any}}
    bolts: {size: M8, into: part, depth: 20, washer: true}
bodies:
  gear case: {carried_by: motor, shape: {circle: {diameter: 110}}, span: [0, 90]}
  oil cup: {carried_by: machine, shape: {circle: {diameter: 30}, at: [-30, 95]}, span: [-60, 10], relief: auto}
cutting: {process: laser}
"""


def rates() -> tuple[float, float]:
    """Poses a second: of the filter with all its questions, and of shapely asked once a pose whether things are clear.

    Shapely gets the easier job: one prepared figure of all that stays, one of all that moves, both as polygons with the
    chord error that platekit uses, turned and moved for each pose, and a single question with one gap for all.
    """
    spec = platekit.loads(SPEC, "shaker")
    space = space_of(spec, "motor")
    layout = platekit.lay_out(spec_at(space, SearchPose("near", (1000, 1200, 0))))
    questions = filter_of(space, layout)
    spots = space.grid()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        at, _can = poses_of(space, "near", spots)
        passed = questions.sorted_by(at).passed(at)
        times.append(time.perf_counter() - start)
        assert 0 < passed.sum() < len(spots)
    own = len(spots) / statistics.median(times)

    pose = layout.mounts["motor"].pose
    things = [(o.mount, o.shape) for o in layout.openings] + [(b.carrier, b.shape) for b in layout.bodies]
    moving = shapely.union_all([s.moved(pose.inverse()).polygon() for carrier, s in things if carrier == "motor"])
    fixed = shapely.union_all([s.polygon() for carrier, s in things if carrier != "motor"])
    shapely.prepare(fixed)
    some = spots[:: max(len(spots) // 2000, 1)]
    times = []
    for _ in range(RUNS):
        clear = 0
        start = time.perf_counter()
        for x, y, turn in some:
            there = affinity.translate(affinity.rotate(moving, turn / 10, origin=(0, 0)), x / 10, y / 10)
            clear += not shapely.dwithin(fixed, there, 2.0)
        times.append(time.perf_counter() - start)
        assert 0 < clear < len(some)
    return own, len(some) / statistics.median(times)
