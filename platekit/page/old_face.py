"""The old face as it is measured: a sketch put by hand, the readings taken so far, and the one to take next.

Everything is drawn as looked at, mm, y up. Until the readings place all holes the picture lies as the sketch does: what
is placed already is laid over it by the shift, turn and, if need be, mirroring that suits best, and the sketch is drawn
to the scale that the readings say. Once all holes are placed the picture is that of the readings, in their own frame.
A place that is sketched never gets onto the plate.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import count
from typing import Any, Final, get_args

import numpy as np
from msgspec.structs import replace

from platekit.checks.survey import suspect_of
from platekit.errors import PlatekitError
from platekit.export.data.rounded import tidied
from platekit.export.data.survey import pattern_figures
from platekit.geometry import Point
from platekit.page.asked import Asked, BadRequest
from platekit.page.boxes import value_of
from platekit.page.desk import Desk, Edit, Now, with_edits
from platekit.page.readings import reading_boxes
from platekit.scan.opencv import missing
from platekit.spec.editing import Value, with_list_begun, with_value, without_value
from platekit.spec.measured_words import PAIRS, MeasuredPattern, ReadingKind
from platekit.spec.renaming import with_name
from platekit.studies.surveyed import Surveyed, behind_shafts, plan_of, surveyed
from platekit.survey.blunder import Suspect
from platekit.survey.explain import slips
from platekit.survey.further import Proposal, next_reading, possible_readings
from platekit.survey.net import SEEN_KINDS, BadReading, Net, Reading
from platekit.survey.plan import PlannedReading
from platekit.survey.result import Survey, listed
from platekit.survey.solve import solved_once
from platekit.units import mm_per, show_length

Figures = dict[str, Any]
ROOM: Final = 100.0
"""Half of the width of an empty sketch, mm (ours); it grows with what is put on it."""
HAND: Final = 0.25
"""By what share a distance drawn by hand is usually off (ours: nobody draws an old casting to scale)."""
FAR_OFF: Final = 1.9
"""A reading so many times larger or smaller than the sketch has it, beside the others, is asked about (ours)."""
ENOUGH_TO_COMPARE: Final = 3
"""Readings from which one is held against the sketch (ours): the others say how large it was drawn."""
CLASH: Final = 4.0
"""Sigmas by which two readings of one pair must differ to be asked about (ours: once in some ten thousand pairs)."""
RULE: Final = 64
"""Parts of an inch on the finest rule and dial that say fractions (common practice)."""
NEAR_A_FRACTION: Final = 0.0015
"""Inches by which a fraction may differ from what is told as one (ours: a tenth of a part and rounding)."""
_RADII: Final = {"inside": -1.0, "over": 1.0, "centres": 0.0}
"""By how many of both radii a reading is more than the distance between centres."""
PUT: Final = ("hole", "stud", "bore", "shaft", "dowel", "edge")
"""What is put on a sketch, in the order in which it is offered."""
LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Names of holes in turn; no I and no O, which are read as figures (common practice)."""


# --------------------------------------------------------------------------------------- what is told


def faces(now: Now) -> Figures:
    """What every measured pattern comes to, by the name of its mount, also with no hole on it yet."""
    spec = now.spec
    if spec is None or not any(mount.pattern.measured is not None for mount in spec.model.mounts.values()):
        return {}
    try:
        found = surveyed(spec, now.layout if now.fresh else None)
    except PlatekitError:
        # what keeps the plate from being laid out is told at its own place
        return {}
    return {one.mount: _face(now, one) for one in found}


def _face(now: Now, one: Surveyed) -> Figures:
    assert now.spec is not None
    pattern, net = one.pattern, one.net
    given_up = frozenset(pair for mount, pair in now.out_of_reach if mount == one.mount)
    steps, left, stuck = _steps(one, given_up)
    suspect, scale = _slip(one), 1.0
    items, drawn = _items(one)
    if not drawn:
        scale = _scale(one)
    boxes = reading_boxes(now, one.mount)
    told = tidied(pattern_figures(one))
    if suspect is not None:
        told = told | {"suspect": _as_typed(tidied(suspect), now, one.mount)}
    if len(pattern.holes) < 2:
        # the survey has no question about one hole, but a plate is never held by one
        told = told | {"state": "sketched"}
    return told | {
        "names": [*pattern.holes],
        "edges": [
            {"name": name, "ends": [round(scale * v, 3) for v in pattern.sketch.get(name, ())]}
            for name in pattern.edges
            if not drawn
        ],
        "edge_names": list(pattern.edges),
        "items": items,
        "movable": not drawn,
        "room": round(_room(one, items, scale), 3),
        "sigma": pattern.sigma,
        "origin": pattern.origin,
        "x_axis": None if pattern.x_axis is None else list(pattern.x_axis),
        "level": _levelest(pattern),
        "clockwise": None if net.clockwise is None else list(net.clockwise),
        "clockwise_sketched": pattern.clockwise is None and net.clockwise is not None,
        "next": steps,
        "left": left,
        "stuck": stuck,
        "lying": _lying(now, one.mount),
        "boxes": boxes,
        "kinds": list(PUT),
        "looking_at": now.spec.model.mounts[one.mount].looking_at,
        "no_pictures": missing(),
    }


def _as_typed(suspect: Any, now: Now, mount: str) -> Any:
    """What is told of a slip, in fractions of an inch where readings were typed so, as far as these are as near."""
    assert now.spec is not None
    readings = now.spec.top.data["mounts"][mount]["pattern"]["measured"].get("readings") or []
    if not any(isinstance(one, list) and one and isinstance(one[-1], str) and "/" in one[-1] for one in readings):
        return suspect

    def fraction(found: re.Match[str]) -> str:
        parts = round(float(found[1]) * RULE)
        whole, over = divmod(parts, RULE)
        if not over or abs(parts / RULE - float(found[1])) > NEAR_A_FRACTION:
            return found[0]
        shared = math.gcd(over, RULE)
        return f"{whole or ''} {over // shared}/{RULE // shared} in".lstrip()

    return {
        key: re.sub(r"(\d+\.\d+) in\b", fraction, value) if isinstance(value, str) else value
        for key, value in suspect.items()
    }


def _lying(now: Now, mount: str) -> Figures | None:
    """The machine's shaft where it lies along the plate, in the frame of its face (mm); None where none is told.

    `said` is False while it starts in zero, as a new job has it: its user has still to say where it ends.
    """
    assert now.spec is not None
    shaft = now.spec.model.mounts[mount].shaft
    if shaft is None or shaft.along == "square":
        return None
    at, ends, way = shaft.at, shaft.stretch, (math.cos(shaft.along), math.sin(shaft.along))
    return {
        "ends": [[round(at[k] + end * way[k], 3) + 0.0 for k in (0, 1)] for end in ends],
        "diameter_mm": shaft.diameter,
        "said": not (at == (0.0, 0.0) and ends[0] == 0.0),
    }


def _steps(one: Surveyed, given_up: frozenset[frozenset[str]]) -> tuple[Figures | None, int, str]:
    """The reading to take next with what it is for, how many the plan still has, and why there is no plan."""
    if len(one.net.placed) < 2:
        return None, 0, ""
    taken = {_key(reading) for reading in one.net.all_readings}
    stuck, blocked = "", given_up | behind_shafts(one)
    try:
        # beside a picture, which gives all places at once, what is missing is told by what would help most
        planned = () if one.net.has_picture else plan_of(one, given_up).steps
    except BadReading as error:
        planned, stuck = (), str(error).removeprefix("plan: ") if given_up else ""
    # A hole whose readings are refused has them all the same: nothing is asked for twice.
    open_ = [step for step in planned if (frozenset(step.features), step.kind) not in taken]
    if open_ and one.state != "placed":
        return _asked(open_[0], begun=any(len(names) > 1 for names, _ in taken)), len(open_), ""
    settled = one.survey is not None and not (one.floating or one.survey.flips or one.contradict or open_)
    if settled and one.state != "placed" and one.pattern.x_axis is None:
        # every hole lies where it does beside the others: no reading says which way is right as it is looked at
        return None, 0, ""
    proposal = _within_reach(one, blocked)
    if proposal is not None and proposal.helps:
        # Jaws do not stand on a centre: what has no size yet gets one first, and the pair is asked for by its sides.
        sizes = {name: hole.diameter for name, hole in one.pattern.holes.items()}
        bare = [name for name in proposal.features if name in sizes and sizes[name] is None]
        if bare and proposal.kind == "centres":
            return {"features": bare[:1], "kind": "diameter", "why": f"size of {bare[0]}"}, 0, ""
        why = "makes the holes that are least sure surer" if one.state == "placed" else "places what is open"
        if proposal.checks is not None:
            why = "shows which of the readings is wrong"
        return {"features": list(proposal.features), "kind": proposal.kind, "why": why}, len(open_), ""
    if open_:
        return _asked(open_[0], begun=any(len(names) > 1 for names, _ in taken)), len(open_), ""
    if one.state != "placed" and given_up and not stuck and (open_ends := one.floating):
        stuck = f"the pairs within reach do not place {listed(open_ends)}; find a longer caliper or a steel rule"
    return None, 0, "" if one.state == "placed" else stuck


def _within_reach(one: Surveyed, blocked: frozenset[frozenset[str]]) -> Proposal | None:
    """The further reading that helps most of those that nobody said cannot be taken; None where there is none."""
    if one.proposal is None or frozenset(one.proposal.features) not in blocked or one.survey is None:
        return one.proposal
    within = tuple(reading for reading in possible_readings(one.survey) if frozenset(reading.features) not in blocked)
    return next_reading(one.survey, within) if within else None


def _asked(step: PlannedReading, *, begun: bool) -> Figures:
    """A reading of the plan; its base is one only until any distance is there, as the plan is made anew each time."""
    why = "checks" if begun and step.why.startswith("base") else step.why
    return {"features": list(step.features), "kind": step.kind, "why": why}


def _key(reading: Reading) -> tuple[frozenset[str], ReadingKind]:
    return frozenset(reading.features), reading.kind


# ------------------------------------------------------------------------------- sketch and places as one picture


def _placed(survey: Survey | None) -> dict[str, Point]:
    """The holes that the readings place so far, mm, in the survey's frame; one alone is placed nowhere."""
    found = (
        {} if survey is None else {name: (hole.x, hole.y) for name, hole in survey.holes.items() if not hole.floating}
    )
    return {} if len(found) < 2 or not all(map(math.isfinite, sum(found.values(), ()))) else found


def _scale(one: Surveyed) -> float:
    """How many mm the readings make of one mm of the sketch; 1 while they say nothing."""
    placed, sketch = _placed(one.survey), one.pattern.sketch
    both = [name for name in placed if name in sketch]
    if len(both) < 2:
        return 1.0
    real = np.array([placed[name] for name in both])
    drawn = np.array([sketch[name][:2] for name in both])
    spread = [float(np.sqrt(((some - some.mean(axis=0)) ** 2).sum())) for some in (real, drawn)]
    return spread[0] / spread[1] if min(spread) > 1e-6 else 1.0


def _onto_sketch(one: Surveyed) -> dict[str, Point]:
    """What is placed, laid over the sketch (mm) by the rigid motion, mirrored or not, that suits it best."""
    placed, sketch, scale = _placed(one.survey), one.pattern.sketch, _scale(one)
    both = [name for name in placed if name in sketch]
    if len(both) < 2:
        return {}
    real = np.array([placed[name] for name in both])
    drawn = scale * np.array([sketch[name][:2] for name in both])
    # Kabsch: the rotation out of the singular vectors of the cross-covariance. Left as it comes it may be a mirroring,
    # which is wanted: readings alone do not say which way round the holes go, the sketch does.
    left, _, right = np.linalg.svd((real - real.mean(axis=0)).T @ (drawn - drawn.mean(axis=0)))
    turn = left @ right
    if len(both) == 2 and np.linalg.det(turn) < 0.0:
        turn = left @ np.diag([1.0, -1.0]) @ right
    moved = (np.array(list(placed.values())) - real.mean(axis=0)) @ turn + drawn.mean(axis=0)
    return {name: (float(x), float(y)) for name, (x, y) in zip(placed, moved.tolist(), strict=True)}


def _levelest(pattern: MeasuredPattern) -> list[str] | None:
    """The pair that lies levelest, the left one first, off a picture or else the sketch; None where nothing tells.

    Of pairs at least half as far apart as the widest, as near ones say a direction badly (ours). A picture may lie
    any way round, as the part did under its frame: the sketch says how it is looked at.
    """
    seen: dict[str, dict[str, float]] = {}
    for reading in pattern.readings:
        if reading.kind in SEEN_KINDS:
            seen.setdefault(reading.features[0], {})[reading.kind] = reading.value
    drawn = {name: (at[0], at[1]) for name, at in pattern.sketch.items() if name in pattern.holes and len(at) == 2}
    places = _as_sketched({name: (at["across"], at["up"]) for name, at in seen.items() if len(at) == 2}, drawn)
    if len(places) < 2:
        places = drawn
    pairs = [(one, other) for one in places for other in places if places[one][0] < places[other][0]]
    if not pairs:
        return None
    wide = max(places[other][0] - places[one][0] for one, other in pairs)
    far = [pair for pair in pairs if places[pair[1]][0] - places[pair[0]][0] >= wide / 2]

    def lean(pair: tuple[str, str]) -> float:
        (x, y), (to_x, to_y) = places[pair[0]], places[pair[1]]
        return round(abs(math.atan2(to_y - y, to_x - x)), 6)

    left, right = min(far, key=lean)
    return [left, right]


def _as_sketched(places: Mapping[str, Point], drawn: Mapping[str, Point]) -> dict[str, Point]:
    """Places off a picture (mm) by the quarter turn, mirrored or not, that suits the sketch best.

    Only a quarter turn: the part was laid square under its frame by eye, truer than a hand draws.
    """
    both = [name for name in places if name in drawn]
    if len(both) < 2:
        return dict(places)
    of = {name: complex(*places[name]) for name in places}
    middle = sum(of[name] for name in both) / len(both)
    aim = {name: complex(*drawn[name]) for name in both}
    centre = sum(aim.values()) / len(both)

    def suits(way: tuple[bool, int]) -> float:
        return sum(((aim[name] - centre).conjugate() * _turned(of[name] - middle, way)).real for name in both)

    ways = [(mirrored, quarters) for mirrored in (False, True) for quarters in range(4)]
    # the picture as it lies, where another way suits the sketch no better
    best = max(ways, key=lambda way: round(suits(way), 6))
    return {name: (turned.real, turned.imag) for name, at in of.items() for turned in [_turned(at, best)]}


def _turned(at: complex, way: tuple[bool, int]) -> complex:
    mirrored, quarters = way
    return (complex(-at.real, at.imag) if mirrored else at) * 1j**quarters


def _items(one: Surveyed) -> tuple[list[Figures], bool]:
    """Every hole with the place it is drawn at, and whether that is the readings' own picture."""
    pattern, survey = one.pattern, one.survey
    placed = _placed(survey)
    whole = survey is not None and len(placed) == len(pattern.holes) and bool(placed)
    over, scale = ({}, 1.0) if whole else (_onto_sketch(one), _scale(one))
    items = []
    for name in pattern.holes:
        hole = None if survey is None else survey.holes.get(name)
        rough = pattern.sketch.get(name)
        at: Point | None
        if whole:
            at = placed[name]
        elif name in over:
            at = over[name]
        elif rough is not None:
            at = (scale * rough[0], scale * rough[1])
        else:
            # a hole of a spec that was written by hand has no sketch: the survey's guess is as good as any
            at = None if hole is None or not math.isfinite(hole.x) or over else (hole.x, hole.y)
        given = pattern.holes[name].diameter
        sure = whole and hole is not None
        items.append(
            {
                "name": name,
                "kind": pattern.kind_of(name),
                "at": None if at is None else [round(at[0], 3), round(at[1], 3)],
                "diameter_mm": given,
                "stands_mm": pattern.holes[name].stands,
                "placed": whole or name in over,
                "sigma_mm": round(hole.sigma, 4) if sure and hole is not None else None,
                "ellipse": [
                    round(hole.ellipse.major, 4),
                    round(hole.ellipse.minor, 4),
                    round(math.degrees(hole.ellipse.angle), 2),
                ]
                if sure and hole is not None and math.isfinite(hole.sigma)
                else None,
            }
        )
    return items, whole


def _room(one: Surveyed, items: list[Figures], scale: float) -> float:
    """Half of the height that the picture shows, mm, its middle in 0, 0; it is a quarter wider than high.

    What is drawn by hand alone keeps the paper as it lies: nothing may slide away from under the pointer of whoever
    clicks the next hole. Once readings give the scale, the picture follows the face.
    """
    spots = [v for item in items if item["at"] is not None for v in item["at"]]
    spots += [scale * v for name in one.pattern.edges for v in one.pattern.sketch.get(name, ())]
    by_hand = len(_placed(one.survey)) < 2
    if by_hand and all(abs(v) <= (1.25 - 0.25 * (k % 2)) * ROOM for k, v in enumerate(spots)):
        return ROOM
    return float(max([0.4 * ROOM, *(1.35 * abs(v) for v in spots)]))


# -------------------------------------------------------------------------------------- slips, as soon as they show


def _slip(one: Surveyed) -> Figures | None:
    """The reading that does not go with the others so far, or with the sketch; None where the survey tells its own.

    While holes are open the survey looks at no slips: what is placed already is looked at by itself.
    """
    if one.suspect is not None:
        # Two readings of one pair say more plainly what may be wrong than several stories do.
        return None if one.suspect.sure else _read_twice(one)
    if one.survey is not None and not one.floating:
        return None
    if (clash := _read_twice(one)) is not None:
        return clash
    placed = set(_placed(one.survey))
    kept = tuple(k for k, reading in enumerate(one.net.readings) if set(reading.features) <= placed)
    part = replace(
        one.net,
        features=tuple(feature for feature in one.net.features if feature.name in placed),
        readings=tuple(one.net.readings[k] for k in kept),
        clockwise=None,
        origin=None,
        x_axis=None,
        on_circle=None,
        rectangle=None,
        going_round=False,
        evenly=False,
    )
    if one.survey is not None and len(kept) > 1:
        try:
            found = solved_once(part, floating_ok=True)
            suspect = None if found.floating else suspect_of(found)
        except BadReading as error:
            suspect = getattr(error, "suspect", None)
        if suspect is not None:
            return _told(one.net, suspect, part)
    return _beside_sketch(one)


def _read_twice(one: Surveyed) -> Figures | None:
    """Of two readings of the same pair that give different distances the one that a known slip explains better.

    Where none does, or both alike, it is the later one, which was just typed; the other is its rival.
    """
    net = one.net
    sizes = {feature.name: feature.diameter for feature in net.placed}
    first: dict[frozenset[str], int] = {}

    def distance(reading: Reading) -> float:
        return reading.value - _RADII[reading.kind] * sum(sizes[name] or 0.0 for name in reading.features) / 2

    for index, reading in enumerate(net.readings):
        if reading.kind not in PAIRS or any(sizes.get(name) is None for name in reading.features):
            continue
        before = first.setdefault(frozenset(reading.features), index)
        # Each distance hangs on its own reading and on two diameters: sigma times the root of four for the two.
        sigma = 2.0 * net.sigma_of(reading)
        if abs(distance(reading) - distance(net.readings[before])) <= CLASH * sigma:
            continue
        stories = []
        for wrong, right in ((index, before), (before, index)):
            typed, other = net.readings[wrong], net.readings[right]
            wants = distance(other) + typed.value - distance(typed)
            found = slips(typed, wants, sigma, kinds={}, others={}, unit=net.unit)
            stories.append((found[0].cost if found else math.inf, wrong, other, wants, found))
        _, wrong, other, wants, found = min(stories, key=lambda story: round(story[0], 6))
        said = f"{net.told(other)} of the same pair wants {show_length(round(wants, 2), net.unit)}"
        why = f"{found[0].why} {said}" if found else said
        return _unsure(net.readings[wrong], wrong, found[0].likely if found else None, why) | {
            "rivals": [{"features": list(other.features), "kind": other.kind, "value_mm": other.value}]
        }
    return None


def _unsure(reading: Reading, index: int, likely: float | None, why: str) -> Figures:
    return {
        "reading": {"features": list(reading.features), "kind": reading.kind, "value_mm": reading.value},
        "index": index,
        "likely_mm": likely,
        "why": why,
        "sure": False,
        "stories": [],
        "rivals": [],
        "alike": [],
        "mended": [],
        "settles": None,
    }


def _told(net: Net, suspect: Suspect, part: Net) -> Figures:
    reading = suspect.reading
    index = next((k for k, one in enumerate(net.all_readings) if one == reading), -1)
    return {
        "reading": {"features": list(reading.features), "kind": reading.kind, "value_mm": reading.value},
        "index": index,
        "likely_mm": suspect.likely,
        "why": suspect.why,
        "sure": suspect.sure,
        "stories": list(suspect.stories),
        "rivals": [
            {"features": list(other.features), "kind": other.kind, "value_mm": other.value}
            for other in (part.all_readings[k] for k in suspect.rivals)
        ],
        "alike": [],
        "mended": [],
        "settles": None,
    }


def _beside_sketch(one: Surveyed) -> Figures | None:
    """A reading that is far off what the sketch has, beside all others: a point or a digit out of place."""
    net, sketch = one.net, one.pattern.sketch
    sizes = {feature.name: feature.diameter or 0.0 for feature in net.placed}
    ratios: dict[int, float] = {}
    drawn: dict[int, float] = {}
    for index, reading in enumerate(net.readings):
        if reading.kind not in PAIRS or not all(name in sketch for name in reading.features):
            continue
        radii = sum(sizes.get(name, 0.0) for name in reading.features) / 2
        more = -_RADII[reading.kind] * radii
        a, b = (sketch[name][:2] for name in reading.features)
        if math.dist(a, b) > 1.0 and reading.value + more > 0.0:
            drawn[index] = math.dist(a, b)
            ratios[index] = (reading.value + more) / drawn[index]
    if len(ratios) < ENOUGH_TO_COMPARE:
        return None
    usual = sorted(ratios.values())[len(ratios) // 2]
    index = max(ratios, key=lambda k: (round(abs(math.log(ratios[k] / usual)), 6), -k))
    if abs(math.log(ratios[index] / usual)) < math.log(FAR_OFF):
        return None
    reading = net.readings[index]
    radii = sum(sizes.get(name, 0.0) for name in reading.features) / 2
    about = usual * drawn[index] + _RADII[reading.kind] * radii
    found = slips(reading, about, max(HAND * about, 1.0), kinds={}, others={}, unit=net.unit)
    why = f"the sketch, drawn to the other readings, has about {show_length(round(about), net.unit)}"
    said = f"{found[0].why} {why}" if found else why
    return _unsure(reading, index, found[0].likely if found else None, said)


# ------------------------------------------------------------------------------------------------- the acts


def put(asked: Asked, now: Now) -> list[Edit]:
    """A hole, stud, bore, shaft or edge roughly where it was clicked; an edge by its two ends."""
    _, pattern, field = _pattern(asked, now)
    kind = asked.text("kind")
    if kind not in PUT:
        raise BadRequest(f"found {kind} to put on a face")
    at = _rough(asked, now, 4 if kind == "edge" else 2)
    taken = {*pattern.holes, *pattern.edges}
    said = asked.said.get("name")
    name = said.strip() if isinstance(said, str) and said.strip() else _free(kind, taken)
    check_name(name, taken)
    spot: Edit = (f"{field}.sketch.{name}", at)
    if kind == "edge":
        listed: Value = [*pattern.edges, name]
        return [(f"{field}.edges", listed), spot]
    # What is called bore is one; all others say what they are.
    known = kind == "hole" or name.lower() == kind == "bore"
    edits: list[Edit] = [(f"{field}.holes.{name}", {} if known else {"kind": kind}), spot]
    if kind in ("bore", "shaft") and (pattern.origin is None or (kind == "shaft" and _turns_in_zero(asked, now))):
        edits.append((f"{field}.origin", name))
    return edits


def _turns_in_zero(asked: Asked, now: Now) -> bool:
    """Whether the machine's pulley sits in the zero of a face, which is then no shaft yet.

    The first shaft that is put on is taken for the pulley's; a zero that is one already stays.
    """
    mount, pattern, _ = _pattern(asked, now)
    assert now.spec is not None
    drive = now.spec.model.drive
    ends = [] if drive is None else [drive.driver, drive.driven]
    here = any(end.on == mount and "at" not in end.model_fields_set for end in ends)
    return here and pattern.origin in pattern.holes and pattern.kind_of(str(pattern.origin)) != "shaft"


def move(asked: Asked, now: Now) -> list[Edit]:
    """Something of the sketch at another place."""
    _, pattern, field = _pattern(asked, now)
    name = _named(asked.text("name"), pattern)
    at = _rough(asked, now, 4 if name in pattern.edges else 2)
    return [(f"{field}.sketch.{name}", at)]


def frame(asked: Asked, now: Now) -> list[Edit]:
    """Where zero is, which way x points, or three holes that follow each other clockwise: as they were clicked."""
    _, pattern, field = _pattern(asked, now)
    what, names = asked.text("what"), asked.said.get("names")
    wanted = {"origin": 1, "x_axis": 2, "clockwise": 3}.get(what)
    if wanted is None or not isinstance(names, list) or len(names) != wanted:
        raise BadRequest("found no such choice")
    chosen = [_named(name, pattern) for name in names]
    if len(set(chosen)) < len(chosen):
        raise PlatekitError(f"{chosen[0]} was clicked twice; click {wanted} different ones")
    if any(name in pattern.edges for name in chosen):
        raise PlatekitError("an edge is no hole; click holes, studs, the bore or the shaft")
    return [(f"{field}.{what}", chosen[0] if wanted == 1 else list(chosen))]


def rename(text: str, asked: Asked, now: Now) -> str:
    """The text with a hole or edge called otherwise, wherever it is named."""
    mount, pattern, _ = _pattern(asked, now)
    old, new = _named(asked.text("name"), pattern), asked.text("to").strip()
    if old == new:
        return text
    check_name(new, {*pattern.holes, *pattern.edges})
    # A bore that is one by its name stays one, whatever it is called then.
    kind = pattern.kind_of(old) if old in pattern.holes else "edge"
    text = with_name(text, mount, old, new)
    named = "kind" in pattern.holes[old].model_fields_set if old in pattern.holes else True
    if not named and kind != "hole" and new.lower() != kind:
        field, size = f"mounts.{mount}.pattern.measured.holes.{new}", _typed_size(now, mount, old)
        text = with_value(text, field, {"kind": kind} if size is None else {"diameter": size, "kind": kind})
    return text


def remove(text: str, asked: Asked, now: Now) -> str:
    """The text without a hole or edge, its readings, and whatever else of the face names it."""
    _, pattern, field = _pattern(asked, now)
    name = _named(asked.text("name"), pattern)
    # from the last on, so that what is still to go keeps its place in the list
    for k in reversed([k for k, one in enumerate(pattern.readings) if name in one.features]):
        text = without_value(text, f"{field}.readings.{k}")
    for word in ("clockwise", "x_axis", "origin", "on_circle", "rectangle"):
        said = getattr(pattern, word)
        if said == name or (isinstance(said, tuple | list) and name in said):
            text = without_value(text, f"{field}.{word}")
    if name in pattern.sketch:
        text = without_value(text, f"{field}.sketch.{name}")
    if name in pattern.edges:
        return without_value(text, f"{field}.edges.{pattern.edges.index(name)}")
    if len(pattern.holes) == 1:
        # the face stays one that is measured, with nothing on it
        return with_value(text, f"{field}.holes", {})
    return without_value(text, f"{field}.holes.{name}")


def read(text: str, asked: Asked, now: Now) -> str:
    """One more reading: of two holes, of a hole and an edge, of a hole from the corner, or a diameter."""
    _, pattern, field = _pattern(asked, now)
    first, how, number = asked.text("from"), asked.text("how"), value_of(asked.text("typed"), "reading")
    if how not in get_args(ReadingKind):
        raise BadRequest(f"found a reading of the kind {how}")
    if how == "diameter":
        name = _named(first, pattern)
        hole = pattern.holes.get(name)
        if hole is None:
            raise PlatekitError(f"{name} is an edge, which has no diameter")
        return with_diameter(text, field, pattern, name, number)
    features = [first] if how in ("x", "y") else [first, asked.text("to")]
    for name in features:
        _named(name, pattern)
    if len(set(features)) < len(features):
        raise PlatekitError(f"a reading goes from one hole to another; found {first} twice")
    if how == "edge" and features[0] in pattern.edges:
        features.reverse()
    if (how == "edge") != any(name in pattern.edges for name in features):
        raise PlatekitError(
            "an edge is measured by `edge`, from the edge to the nearest side of a hole; between holes use inside, "
            "over or centres"
        )
    reading: Value = [*features, how, number]
    at = len(pattern.readings)
    if at:
        return with_value(text, f"{field}.readings.{at}", reading)
    return with_list_begun(text, f"{field}.readings", reading)


def with_diameter(text: str, field: str, pattern: MeasuredPattern, name: str, number: Value) -> str:
    """The text with the diameter of a hole of a pattern, whose place is `field`."""
    # beside a kind or sigma the diameter has a key of its own
    inner = ".diameter" if pattern.holes[name].model_fields_set - {"diameter"} else ""
    return with_value(text, f"{field}.holes.{name}{inner}", number)


def acted(desk: Desk, asked: Asked) -> Now:
    """One act on an old face, named by `what to do`, is one edit of the file; raises as `Desk.change` does."""
    now = desk.now()
    todo = asked.text("do")
    if todo in EDITS:
        edits = EDITS[todo](asked, now)
        return desk.change(asked.state, lambda text: with_edits(text, edits))
    if todo in TEXTS:
        return desk.change(asked.state, lambda text: TEXTS[todo](text, asked, now))
    if todo == "cannot":
        mount, pattern, _ = _pattern(asked, now)
        pair = frozenset(_named(asked.text(end), pattern) for end in ("from", "to"))
        if len(pair) < 2:
            raise BadRequest("found no pair that cannot be reached")
        return desk.give_up(mount, pair)
    if todo == "lies":
        return desk.change(asked.state, lambda text: with_edits(text, lies(asked, now)))
    raise BadRequest("found nothing to do on a face")


def lies(asked: Asked, now: Now) -> list[Edit]:
    """Where the end of the machine's shaft lies over the face, from its zero, as typed: `x` and `y`."""
    mount, pattern, _ = _pattern(asked, now)
    assert now.spec is not None
    shaft = now.spec.model.mounts[mount].shaft
    if shaft is None or shaft.along == "square":
        raise PlatekitError(f"the shaft of {mount} does not lie along the plate")
    if pattern.origin is None:
        raise PlatekitError("choose zero first: the shaft is told from it")
    at: Value = [_signed(asked.text(key)) for key in ("x", "y")]
    low, high = (end / mm_per(now.spec.unit) for end in shaft.stretch)
    field = f"mounts.{mount}.shaft"
    # it is told by its end from then on, so that a longer or shorter one keeps its pulley where it was measured
    return [(f"{field}.at", at), (f"{field}.stretch", [round(low - high, 4), 0])]


def _signed(typed: str) -> Value:
    """A reading as typed that may be left or below of zero."""
    said = typed.strip().replace("\N{MINUS SIGN}", "-")
    if not said.startswith("-"):
        return value_of(said, "reading")
    value = value_of(said[1:], "reading")
    return f"-{value}" if isinstance(value, str) else -float(value) if isinstance(value, int | float) else value


EDITS: Final = {"put": put, "move": move, "frame": frame}
TEXTS: Final = {"read": read, "rename": rename, "remove": remove}


def _pattern(asked: Asked, now: Now) -> tuple[str, MeasuredPattern, str]:
    """The mount that is meant, its measured pattern, and where that stands."""
    mount: str = asked.text("mount")
    if now.spec is None or mount not in now.spec.model.mounts:
        raise PlatekitError(f"there is no mount called {mount}")
    pattern = now.spec.model.mounts[mount].pattern.measured
    if pattern is None:
        raise PlatekitError(f"the pattern of {mount} is not measured")
    return mount, pattern, f"mounts.{mount}.pattern.measured"


def _named(name: Any, pattern: MeasuredPattern) -> str:
    if not isinstance(name, str) or (name not in pattern.holes and name not in pattern.edges):
        raise PlatekitError(f"there is no {name} on this face any more")
    return str(name)


def check_name(name: str, taken: set[str]) -> None:
    """Raises `PlatekitError` for a name that no hole can have, or that is taken."""
    if not name or set(name) & set("./\\:[]"):
        raise PlatekitError(f"found {name or 'nothing'} for a name; letters, figures and blanks will do, such as E")
    if name.lower() in {one.lower() for one in taken}:
        raise PlatekitError(f"there is a {name} already; give it another name")


def _free(kind: str, taken: set[str]) -> str:
    """The next free name: letters for what takes a screw, `bore`, `bore 2` for what does not."""
    known = {one.lower() for one in taken}
    if kind in ("hole", "stud"):
        names: list[str] = [*LETTERS, *(f"{letter}{k}" for k in range(2, 6) for letter in LETTERS)]
        return next(name for name in names if name.lower() not in known)
    return next(name for k in count(1) if (name := kind if k == 1 else f"{kind} {k}") not in known)


def _rough(asked: Asked, now: Now, figures: int) -> Value:
    """Where it was clicked, as the sketch has it, in the spec's unit."""
    assert now.spec is not None
    at = asked.said.get("at")
    if (
        not isinstance(at, list)
        or len(at) != figures
        or not all(isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e5 for v in at)
    ):
        raise BadRequest("found no place")
    one = next((s for s in _each(now) if s.mount == asked.said.get("mount")), None)
    scale = 1.0 if one is None else _scale(one)
    # a whole mm or a sixteenth of an inch: nothing is rougher than a hand's drawing
    step = 1.0 if now.spec.unit == "mm" else 1 / 16
    return [round(round(v / scale / mm_per(now.spec.unit) / step) * step, 4) + 0.0 for v in at]


def _each(now: Now) -> tuple[Surveyed, ...]:
    assert now.spec is not None
    try:
        return surveyed(now.spec, now.layout if now.fresh else None)
    except PlatekitError:
        return ()


def _typed_size(now: Now, mount: str, name: str) -> Value | None:
    """A diameter as it was typed."""
    assert now.spec is not None
    size = now.spec.top.data["mounts"][mount]["pattern"]["measured"]["holes"][name]
    found: Value | None = size.get("diameter") if isinstance(size, Mapping) else size
    return found
