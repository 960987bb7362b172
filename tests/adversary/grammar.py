"""Specs made from the language's own schema, key by key, with values as people write them and with extreme ones.

Nothing here knows an example: what keys there are, what each takes and what it must have comes from `json_schema`, so
a new key is tried from the day it is there. Names refer to each other mostly, figures are mostly of a plate's size.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from functools import cache
from typing import Any, Final

from platekit.spec.schema import json_schema

NAMES: Final = ("machine", "motor", "shelf", "gear box")
"""What mounts are called here; other things have names of their own."""
ONE_OF: Final = {
    "pattern": ("standard", "circle", "rectangle", "points", "measured"),
    "shape": ("circle", "rectangle", "slot", "polygon", "drawn", "model"),
    "cutouts": ("circle", "rectangle", "slot", "polygon", "drawn"),
    "pad": ("circle", "rectangle", "slot", "polygon"),
    "outline": ("wrap", "waist", "rectangle", "circle", "polygon"),
    "bodies": ("shape", "lying", "steps", "standard"),
    "take_up": ("slots", "swing", "rails", "hinge"),
    "find": ("box", "belt"),
    "belt": ("size", "section"),
}
"""Groups that take exactly one of some keys: the schema cannot say so."""
FEW: Final = ("drawn", "model", "measured")
"""Kinds that need a file, or a survey: seldom."""
RANGES: Final = {
    "thickness": (2, 30), "width": (20, 300), "height": (10, 250), "diameter": (6, 250), "hole": (4, 20),
    "corner": (0, 15), "margin": (0, 20), "depth": (1, 30), "flange": (4, 25), "length": (10, 250), "stands": (8, 60),
    "standoff": (0, 30), "pitch_diameter": (30, 400), "outside_diameter": (30, 400), "flange_diameter": (40, 420),
    "pitch_length": (500, 2500), "inside_length": (500, 2500), "outside_length": (500, 2500), "near": (120, 600),
    "gap": (0, 30), "kerf": (0.1, 3), "clearance": (0, 2), "distance": (60, 500), "web": (2, 20), "edge": (4, 30),
    "sigma": (0.02, 0.5), "bore": (5, 14), "outside": (10, 30), "block": (8, 25), "radius": (5, 60), "offset": (0, 1),
    "scribe_height": (2.5, 10), "smallest_hole": (2, 12), "inside_radius": (0.2, 4), "ear": (15, 40), "travel": (5, 90),
    "tool_diameter": (50, 900), "narrowest": (10, 60), "hours": (1, 24), "service_factor": (0.8, 2.5),
    "balance": (1, 40), "constant_power_to": (1.1, 3), "k_factor": (0.2, 0.5), "position": (0, 1), "drilling": (0, 1),
    "efficiency": (0.5, 1), "fit_warn": (0.9, 1), "fit_stop": (0.5, 1), "from": (5, 60), "to": (40, 120),
}  # fmt: skip
"""What figures of a plate usually are, mm or without unit, by key; others are a place within the plate."""
WRITTEN: Final = {
    "density": ("7850 kg/m3", "2700 kg/m3"), "modulus": ("210000 MPa", "70 GPa"), "yield_strength": ("235 MPa",),
    "power": ("0.75 kW", "1 HP", "2.2 kW", "60 W"), "speed": ("1420 rpm", "2850 rpm", "1725 rpm", "9000 rpm"),
    "frequency": ("50 Hz", "60 Hz"), "current": ("1.8 A", "3.4 A"), "max_speed": ("3000 rpm", "6000 rpm"),
    "shaft_load": ("640 N", "140 lbf"), "torque": ("12 Nm", "0.4 Nm", "8 lbf ft"), "total": ("14 kg", "31 lb"),
    "turning": ("4 kg",), "tool_max_speed": ("3000 rpm",),
}  # fmt: skip
"""Values that are text with a unit, by key."""
EXTREME: Final[tuple[Any, ...]] = (
    0, -0.0, -1, 1e-9, 1e-3, 1e5, 99999, 1e9, 1e300, -1e300, 5e-324, "0 in", "1/64 in", "99 ft", "1e-6 mm", "-3/8 in",
    "179.999999 deg", "720 deg", "1e9 deg", "1e-12 rad", "0.000001 kW", "1e9 kW", "1e12 rpm", "0 Hz", "1e-9 kg",
    "½ in", "1 000", "1,5 mm", "१२ mm", "0x1F", "1_0", True, None, "", " ", "auto", "none", "belt", [], {}, [0, 0],
)  # fmt: skip
"""What may stand anywhere, and mostly should not."""
ODD_NAMES: Final = (
    "",
    " ",
    "Ñandú",
    "plate",
    "a b",
    "=1+1",
    "<b>",
    "日本",
    "x" * 80,
    "x" * 81,
    "motor ",
    "no",
    "1",
    "-",
)


@cache
def schema() -> dict[str, Any]:
    """The rules of a spec."""
    return json_schema()


@cache
def designations() -> dict[str, tuple[str, ...]]:
    """Names of the tables, by the key that takes them."""
    from tests.strategies import materials, screws, standards

    belts = ("A38", "B60", "SPZ", "SPA-1000", "5M-600", "8M-1200", "XL", "PJ", "5VX-630", "A", "5M")
    return {
        "standard": standards(),
        "size": (*screws()[:30], *belts[:4]),
        "screw": screws()[:30],
        "section": ("A", "SPZ", "B", "5M", "8M", "L", "PJ", "XPA"),
        "material": (*materials(), "cast iron", "aluminium", "steel"),
        "stock": tuple(f"{row}" for row in ("pin 144", "jaw 38", "grid 1030", "pin 100")),
        "rule": ("edge", "web", "guard", "clash", "fit-odds", "no such rule"),
        "feature": ("motor.1", "machine.2", "motor", "drive", "outline", "cable"),
        "machine": ("shed", "../x", "yard-plasma"),
        "zero": ("lower left", "motor", "nothing"),
    }


class Maker:
    """Draws one spec: `wild` is the share of values that are extreme, `rich` how readily a key is given."""

    def __init__(self, rng: random.Random, wild: float, rich: float) -> None:
        self.rng, self.wild, self.rich = rng, wild, rich
        self.mounts = list(NAMES[: rng.choice((1, 2, 2, 2, 3, 4))])

    def spec(self) -> dict[str, Any]:
        """The whole."""
        made: dict[str, Any] = self.group(schema(), "", 0)
        made |= {"platekit": 1, "title": "Drawn", "units": self.rng.choice(("mm", "mm", "mm", "in"))}
        return made

    def value(self, rule: dict[str, Any], key: str, depth: int) -> Any:
        """A value that the rule takes, or now and then one that it may not."""
        if self.rng.random() < self.wild:
            return self.rng.choice(EXTREME)
        if "$ref" in rule:
            return self.value(schema()["$defs"][rule["$ref"].rsplit("/", 1)[-1]], key, depth)
        for many in ("anyOf", "oneOf"):
            if many in rule:
                return self.value(self.rng.choice(rule[many]), key, depth)
        if "const" in rule:
            return rule["const"]
        if "enum" in rule:
            return self.rng.choice(rule["enum"])
        kinds: dict[str, Callable[[dict[str, Any], str, int], Any]] = {
            "object": self.group, "array": self.row, "number": self.figure, "integer": self.count, "string": self.text,
        }  # fmt: skip
        if rule.get("type") == "boolean":
            return self.rng.random() < 0.5
        return kinds[rule.get("type", "string")](rule, key, depth)

    def group(self, rule: dict[str, Any], key: str, depth: int) -> dict[str, Any]:
        """Keys and values: those that are needed, one of those that exclude each other, some of the others."""
        rng, made = self.rng, dict[str, Any]()
        named = rule.get("patternProperties") or {}
        if named:
            below = next(iter(named.values()))
            for name in self.names(key):
                made[name] = self.value(below, key, depth + 1)
            return made
        known = {name: one for name, one in rule.get("properties", {}).items() if not one.get("deprecated")}
        chosen = {name for name in known if name in rule.get("required", ())}
        alternatives = [name for name in ONE_OF.get(key, ()) if name in known]
        if alternatives and key != "belt":
            likely = [name for name in alternatives if name not in FEW] or alternatives
            chosen.add(rng.choice(likely if rng.random() < 0.9 else alternatives))
            if "shape" in chosen or "span" in known:
                chosen.add("span")
        elif alternatives:
            chosen.add(rng.choice(alternatives))
        share = self.rich / (1 + depth / 2)
        chosen |= {name for name in known if name not in alternatives and rng.random() < share}
        chosen &= known.keys()
        if "looking_at" in known and rng.random() < 0.9:
            chosen.add("looking_at")
        order = sorted(chosen)
        rng.shuffle(order)
        for name in order:
            made[name] = self.value(known[name], name, depth + 1)
        return made

    def names(self, key: str) -> list[str]:
        """What the user calls the things in a group."""
        if key == "mounts":
            return self.mounts
        own = [f"{key or 'thing'} {k}" for k in range(1, 5)]
        count = self.rng.choice((1, 1, 2, 3)) if key != "holes" else self.rng.choice((3, 4, 5))
        names = ["A", "B", "C", "D", "bore"][:count] if key in ("holes", "sketch") else own[:count]
        if self.rng.random() < self.wild:
            names.append(self.rng.choice(ODD_NAMES))
        return names

    def row(self, rule: dict[str, Any], key: str, depth: int) -> Any:
        """Several values."""
        rng = self.rng
        if key == "readings":
            return [self.reading() for _ in range(rng.choice((3, 5, 8, 10)))]
        fixed = rule.get("prefixItems")
        if fixed:
            made = [self.value(one, key, depth + 1) for one in fixed]
            if key in ("span", "stretch") and all(isinstance(one, (int, float)) for one in made):
                made.sort()
            return made
        low = rule.get("minItems", 0)
        count = max(low, min(rule.get("maxItems", 5), rng.choice((1, 2, 3, 4, 5, 8))))
        return [self.value(rule.get("items", {"type": "number"}), key, depth + 1) for _ in range(count)]

    def reading(self) -> list[Any]:
        """One reading between two of the usual holes."""
        kind = self.rng.choice(("inside", "over", "centres", "inside", "x", "edge", "what"))
        read = [*self.rng.sample(("A", "B", "C", "D", "bore"), 2), kind, round(self.rng.uniform(20, 160), 2)]
        return read if kind not in ("x", "y") else [read[0], kind, read[3]]

    def figure(self, rule: dict[str, Any], key: str, depth: int) -> float:
        """A number within what the key usually is, or at the rule's own bounds."""
        rng = self.rng
        low, high = RANGES.get(key, (-150, 150))
        bounds = [rule[name] for name in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum") if name in rule]
        if bounds and rng.random() < self.wild:
            return float(rng.choice(bounds))
        least = rule.get("minimum", rule.get("exclusiveMinimum"))
        if least is not None and low < least:
            low = least
        return round(rng.uniform(low, max(low, high)), rng.choice((0, 0, 1, 3)))

    def count(self, rule: dict[str, Any], key: str, depth: int) -> int:
        """A whole number, mostly a small one."""
        least, most = rule.get("minimum", 0), rule.get("maximum", 2000)
        if self.rng.random() < self.wild:
            return int(self.rng.choice((least, most, least - 1, most + 1)))
        return self.rng.randint(max(least, 1), max(least, min(most, 40 if key == "teeth" else 6)))

    def text(self, rule: dict[str, Any], key: str, depth: int) -> Any:
        """A name, a designation, or a figure with its unit."""
        rng = self.rng
        if key in WRITTEN:
            return rng.choice(WRITTEN[key])
        if key in designations():
            return rng.choice(designations()[key])
        if key in ("from", "to") and "Hz" in str(rule.get("examples")):
            return rng.choice(("10 Hz", "15 Hz", "60 Hz", "90 Hz"))
        if key in ("from", "to") and "rpm" in str(rule.get("examples")):
            return rng.choice(("100 rpm", "700 rpm"))
        if rule.get("examples"):
            example = rng.choice(rule["examples"])
            if rng.random() < 0.5 and "in" in str(example):
                return f"{rng.randint(1, 12)}-{rng.choice((1, 3, 5))}/{rng.choice((8, 16))} in"
            return example
        if "deg" in rule.get("pattern", ""):
            return f"{rng.uniform(0, 360):.1f} deg"
        if "inch" in rule.get("pattern", ""):
            return f"{abs(self.figure({}, key, depth)):.1f} mm"
        if key in ("carried_by", "on", "from", "belt", "heads_on"):
            return rng.choice((*self.mounts, *self.mounts, "plate"))
        if key in ("clockwise", "x_axis", "origin", "edges"):
            return rng.choice("ABCD")
        return rng.choice((*self.mounts, "bodies 1", "text", "motor.shaft", "drive.driver"))


def drawn(rng: random.Random) -> dict[str, Any]:
    """One spec as plain data."""
    wild = rng.choice((0.0, 0.0, 0.0, 0.003, 0.02, 0.1))
    made = Maker(rng, wild, rng.choice((0.05, 0.1, 0.2, 0.4))).spec()
    if rng.random() < 0.8:
        settle(made, rng)
    return made


def as_text(made: Any, rng: random.Random) -> str:
    """The spec as text: JSON, which is YAML too."""
    return json.dumps(made, ensure_ascii=rng.random() < 0.5, indent=rng.choice((None, 1)))


def settle(made: dict[str, Any], rng: random.Random) -> None:
    """Give patterns their holes and parts places apart, so that more of what is drawn is laid out."""
    mounts = made.get("mounts")
    for k, mount in enumerate(mounts.values() if isinstance(mounts, dict) else ()):
        if not isinstance(mount, dict):
            continue
        if rng.random() < 0.9:
            mount["at"] = [170 * k, rng.choice((0, 40, -35))]
        pattern = mount.get("pattern")
        if isinstance(pattern, dict) and "standard" not in pattern:
            pattern["hole"] = rng.choice((7, 9, 11))
        if isinstance(pattern, dict) and isinstance(pattern.get("circle"), dict):
            pattern["circle"].pop("angles", None)
            pattern["circle"] |= {"count": rng.choice((3, 4, 5, 6)), "diameter": rng.choice((60, 90, 130))}
    plate = made.get("plate")
    if isinstance(plate, dict) and rng.random() < 0.8:
        plate["material"] = "S235"


def without(made: dict[str, Any], field: str) -> bool:
    """Take out the key that a problem is told of, or what it stands in; False where nothing is left to take."""
    steps = [step for step in field.replace("[", ".").replace("]", "").split(".") if step]
    while steps:
        here: Any = made
        try:
            for step in steps[:-1]:
                here = here[int(step)] if isinstance(here, list) else here[step]
            if isinstance(here, dict) and steps[-1] in here:
                del here[steps[-1]]
                return len(steps) > 1 or steps[-1] not in ("plate", "mounts")
        except (KeyError, ValueError, IndexError, TypeError):
            pass
        steps.pop()
    return False
