"""Advice, followed to the letter: a sound plate gets a slip or two, and each advice of the verdict is carried out.

After each the finding must be gone and no stop may be new or have grown worse. That is judged here anew, on the edited
text of the spec as a user would have it, not by what the program thinks of its own trial.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from typing import Any, Final

from msgspec import Struct

import platekit
from platekit.checks.finding import Finding, Verdict
from platekit.errors import PlatekitError
from platekit.placed import Layout
from platekit.spec import with_value
from platekit.units import mm_per
from tests.adversary.sound_plates import sound_plates

Slip = tuple[tuple[str, Any], ...]
"""Fields of a spec with the values that a slip gives them."""
TRIES: Final = 60
"""Slips that are drawn until one gives a plate that can be laid out and is worse than before."""


class Outcome(Struct, kw_only=True):
    """What became of the advice of one plate: counts, and what went wrong in words."""

    followed: int = 0
    ended: int = 0
    by_hand: int = 0
    wrong: list[str] = []


# ------------------------------------------------------------------------------------------ slips


def slips(layout: Layout, rng: random.Random) -> list[Callable[..., Slip]]:
    """What could go wrong with a plate: with mounts, bodies, drive, screws, process, outline."""
    model, unit = layout.spec.model, mm_per(layout.spec.unit)
    text = layout.spec.top.data

    def mm(low: float, high: float) -> float:
        return round(rng.uniform(low, high) / unit, 2)

    def moved(at: Any) -> list[float]:
        return [round(v / unit + mm(-90, 90), 1) for v in at]

    found: list[Callable[..., Slip]] = []
    for name, mount in model.mounts.items():
        field, words = f"mounts.{name}", text["mounts"][name]
        if isinstance(mount.at, list | tuple) and not mount.original:
            found.append(lambda f=field, a=mount.at: ((f"{f}.at", moved(a)),))
        elif "belt" in (words.get("at") or {}) and isinstance(words["at"], dict):
            start = words["at"]["belt"]["from"]
            for _ in range(2):
                found.append(
                    lambda f=field, s=start: (
                        (f"{f}.at", {"belt": {"from": s, "angle": f"{rng.randrange(-180, 180)} deg"}}),
                    )
                )
        found.append(lambda f=field: ((f"{f}.turn", f"{rng.randrange(0, 360)} deg"),))
        found.append(lambda f=field: ((f"{f}.standoff", rng.choice([0, mm(0.5, 6), mm(5, 40)])),))
        if mount.pilot is not None and isinstance(words.get("pilot"), dict):
            found.append(lambda f=field: ((f"{f}.pilot.opening", rng.choice(["through", "recess", "none"])),))
            found.append(lambda f=field, p=mount.pilot: ((f"{f}.pilot.depth", mm(1, 12)),))
        if mount.screws is not None:
            bolts = f"{field}.screws"
            found += [
                lambda b=bolts: ((f"{b}.length", mm(8, 70)),),
                lambda b=bolts: ((f"{b}.washer", rng.choice([True, False])),),
                lambda b=bolts: ((f"{b}.fit", "loose"),),
                lambda b=bolts: ((f"{b}.made", "cut"),),
                lambda b=bolts: ((f"{b}.head", rng.choice(["socket", "countersunk", "hex"])),),
                lambda b=bolts: ((f"{b}.head", "socket"), (f"{b}.counterbore", True)),
                lambda b=bolts: ((f"{b}.size", rng.choice(["M6", "M8", "M12", "M16", "3/8-16"])),),
            ]
            if mount.screws.depth is not None:
                found.append(lambda b=bolts: ((f"{b}.depth", mm(4, 18)),))
            if mount.pattern.standard is not None:
                found.append(lambda f=field: ((f"{f}.pattern.hole", mm(6, 18)),))
        take_up = mount.take_up
        if take_up is not None and take_up.slots is not None:
            slots = f"{field}.take_up.slots"
            found += [
                lambda s=slots: ((f"{s}.install", mm(0, 30)), (f"{s}.tension", mm(0, 30))),
                lambda s=slots: ((f"{s}.tension", mm(0, 20)),),
                lambda s=slots: (
                    (f"{s}.along", f"{rng.randrange(0, 360)} deg"),
                    (f"{s}.install", mm(0, 40)),
                    (f"{s}.tension", mm(0, 40)),
                ),
            ]
            found.append(lambda f=field, w=words: ((f"{f}.take_up", {"slots": {"along": "0 deg"}}),))
    for name, body in model.bodies.items():
        words = text["bodies"][name]
        if "relief" in words:
            found.append(lambda n=name: ((f"bodies.{n}.relief", False),))
        if isinstance(words.get("span"), list):
            found.append(
                lambda n=name, s=body.span: (
                    ((f"bodies.{n}.span", [round(v / unit + mm(-15, 15), 2) for v in s]),)
                    if False
                    else _longer(n, s, unit, mm)
                )
            )
        shape = words.get("shape")
        if isinstance(shape, dict) and "circle" in shape:
            found.append(lambda n=name, d=body.shape: ((f"bodies.{n}.shape.circle.diameter", mm(10, 240)),))
        if isinstance(shape, dict):
            found.append(lambda n=name: ((f"bodies.{n}.shape.at", [mm(-120, 120), mm(-120, 120)]),))
    box = layout.outline.box

    def spot() -> list[float]:
        return [mm(box.x0, box.x1), mm(box.y0, box.y1)]

    found += [
        lambda: (("bodies.post", {"carried_by": "plate", "side": rng.choice(["near", "far"]),
                                  "shape": {"circle": {"diameter": mm(8, 60)}, "at": spot()},
                                  "span": [0, mm(10, 90)]}),),
        lambda: (("bodies.boss", {"carried_by": next(iter(model.mounts)),
                                  "shape": {"circle": {"diameter": mm(8, 40)}, "at": [mm(-100, 100), mm(-100, 100)]},
                                  "span": [-mm(1, 14), 0]}),),
        lambda: (("plate.cutouts.eye", {"circle": {"diameter": mm(3, 60)}, "at": spot()}),),
        lambda: (("plate.cutouts.window", {"rectangle": {"width": mm(10, 60), "height": mm(10, 60)}, "at": spot()}),),
        lambda: (("plate.thickness", rng.choice([mm(3, 6), mm(12, 30)])),),
        lambda: (("plate.outline", {"rectangle": {"width": mm(0.6 * box.width, box.width),
                                                  "height": mm(0.6 * box.height, box.height)},
                                    "at": [round(v / unit, 2) for v in box.center]}),),
        lambda: (("plate.outline", {"wrap": {"margin": mm(2, 9)}}),),
        lambda: (("cutting.process", rng.choice(["plasma", "oxy-fuel", "waterjet", "laser"])),),
        lambda: (("cutting.kerf", mm(1, 4)),),
        lambda: (("cutting.sheet", [mm(100, 700), mm(100, 700)]),),
        lambda: (("limits.web", mm(8, 30)),),
    ]  # fmt: skip
    drive = model.drive
    if drive is not None:
        for end in ("driver", "driven"):
            words = text["drive"][end]
            key = next((one for one in ("pitch_diameter", "teeth", "outside_diameter") if one in words), None)
            share = rng.choice([0.6, 0.75, 1.3, 1.7])
            if key == "teeth":
                found.append(lambda e=end, w=words, s=share: ((f"drive.{e}.teeth", max(10, round(w["teeth"] * s))),))
            elif key is not None:
                size = getattr(getattr(drive, end), key) / unit
                found.append(lambda e=end, k=key, d=size, s=share: ((f"drive.{e}.{k}", round(d * s, 2)),))
            span = getattr(drive, end).span
            found.append(
                lambda e=end, s=span: (
                    (f"drive.{e}.span", (lambda by: [round(v / unit + by, 2) for v in s])(mm(-16, 16))),
                )
            )
        if drive.inverter is not None:
            found += [
                lambda: (("drive.inverter.to", f"{rng.randrange(55, 130)} Hz"),),
                lambda: (("drive.inverter.from", f"{rng.randrange(4, 45)} Hz"),),
            ]
        if drive.wanted is not None and drive.wanted.from_ is not None:
            found += [
                lambda: (("drive.wanted.to", f"{rng.randrange(700, 2400)} rpm"),),
                lambda: (("drive.wanted.torque", f"{rng.randrange(2, 30)} Nm"),),
                lambda: (("drive.wanted.tool_max_speed", f"{rng.randrange(300, 900)} rpm"),
                         ("drive.wanted.tool_diameter", mm(80, 300))),
            ]  # fmt: skip
        found.append(lambda: (("guard", {"gap": mm(4, 30)}),))
        found.append(lambda: (("drive.motor.power", f"{rng.choice([0.09, 0.37, 2.2, 4.0])} kW"),))
    return found


def _longer(name: str, span: Any, unit: float, mm: Callable[[float, float], float]) -> Slip:
    low, high = (v / unit for v in span)
    return ((f"bodies.{name}.span", [round(low - abs(mm(0, 14)), 2), round(high + abs(mm(0, 14)), 2)]),)


def bad_spec(rng: random.Random) -> tuple[str, str]:
    """A sound plate's name and its text after a slip or two, which has open findings that the sound one has not."""
    name, sound = rng.choice(sorted(sound_plates().items()))
    layout, before = judged(sound)
    subjects = {about(finding) for finding in before.findings}
    for _ in range(TRIES):
        text = sound
        try:
            for slip in rng.sample(slips(layout, rng), rng.choice([1, 1, 2])):
                for field, value in slip():
                    text = with_value(text, field, value)
            _, after = judged(text)
        except PlatekitError:
            continue
        if any(about(finding) not in subjects for finding in open_ones(after)):
            return name, text
    raise AssertionError(f"no slip of {name} shows in {TRIES} tries")


# ------------------------------------------------------------------------------------------ following


def judged(text: str) -> tuple[Layout, Verdict]:
    """The layout of a spec and what is found on it."""
    layout = platekit.lay_out(platekit.found(platekit.loads(text, "plate.yaml")))
    return layout, platekit.check(layout)


def open_ones(verdict: Verdict) -> Iterator[Finding]:
    """Stops and warnings that are not accepted."""
    return (one for one in verdict.findings if one.accepted is None and one.level != "note")


def about(finding: Finding) -> tuple[str, frozenset[str], str]:
    """What a finding is about, figures left aside."""
    return (finding.rule, frozenset(finding.features), re.sub(r"-?\d[\d./]*", "#", finding.message))


def shortfalls(verdict: Verdict) -> dict[tuple[str, frozenset[str], str], float]:
    """By how much each open stop misses what it needs."""
    return {
        about(one): 0.0 if one.found is None or one.needed is None else abs(one.needed - one.found)
        for one in verdict.open("stop")
    }


def follow(text: str) -> Outcome:
    """Every advice of a spec's verdict carried out, one at a time, and what came of it."""
    layout, plain = judged(text)
    told, result, before = platekit.advised(layout, plain), Outcome(), shortfalls(plain)
    for finding in open_ones(told):
        if not finding.remedies:
            result.by_hand += 1
            continue
        result.followed += 1
        said = f"{finding.rule}: {finding.message} > {finding.advice.text}"
        try:
            after_text = text
            for remedy in finding.remedies:
                after_text = with_value(after_text, remedy.field, remedy.value)
            _, after = judged(after_text)
        except PlatekitError as error:
            result.wrong.append(f"{said}: {error}")
            continue
        if about(finding) in {about(one) for one in open_ones(after)}:
            result.wrong.append(f"{said}: it is still there")
            continue
        later = shortfalls(after)
        worse = [one for one, short in later.items() if one not in before or short > 1.01 * before[one] + 1e-6]
        if worse:
            result.wrong.append(f"{said}: then {worse[0][0]}: {worse[0][2]}")
            continue
        result.ended += 1
    return result
