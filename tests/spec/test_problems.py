# ruff: noqa: E501 - a sentence stands in one piece, so that it can be searched for
"""What is wrong with a spec: every problem at once, in file order, in words that a shop understands."""

from __future__ import annotations

import pytest

from platekit.errors import Problem, SpecError
from platekit.spec import loads

HEAD = "platekit: 1\ntitle: Test\nunits: mm\n"
PLATE = "plate: {material: mild steel, thickness: 10}\n"
MOUNTS = "mounts: {machine: {side: far, pattern: {points: [[0, 0]], hole: 9}}}\n"


def problems(text: str, name: str = "lift.yaml") -> tuple[Problem, ...]:
    with pytest.raises(SpecError) as caught:
        loads(text, name)
    return caught.value.problems


def sentences(text: str) -> list[str]:
    """Each problem as field, found and wanted."""
    return [f"{one.field}: found {one.found}; {one.wanted}" for one in problems(text)]


def plate(words: str) -> str:
    return f"{HEAD}plate: {{material: mild steel, thickness: 10, {words}}}\n{MOUNTS}"


def mount(words: str) -> str:
    sized = "screws:" in words or "hole:" in words or words == "pattern: {points: [[1, 1]]}"
    bolts = "" if sized else ", screws: {size: M8, into: nut}"
    return f"{HEAD}{PLATE}mounts: {{motor: {{side: near, {words}{bolts}}}}}\n"


def test_the_whole_screen_of_a_spec_with_many_slips() -> None:
    text = """\
platekit: 1
title: Grain lift
unit: mm
plate:
  material: mild stel
  thickness: "10"
  cutouts:
    cable: {circle: {radius: 11}, at: [60]}
mounts:
  machine:
    side: left
    pattern: {circle: {count: 4, diameter: 130, hole: 10,5}}
  motor:
    side: near
    pattern: {standard: NEMA 56Q}
    at: {from: machin, distance: -5, angle: 75 deg}
    screws: {into: part, washer: yes, fit: nromal}
"""
    screen = "\n".join(one.pointed() for one in problems(text))
    assert screen == (
        """\
lift.yaml:3:1  unit: found the unknown key `unit`; write `units`
    unit: mm
    ^^^^
lift.yaml:5:13  plate.material: found "mild stel", which is in no table; NEAREST
      material: mild stel
                ^^^^^^^^^
lift.yaml:6:14  plate.thickness: found "10", a number as text; write 10 without quotes, or with its unit: 10 mm
      thickness: "10"
                 ^^^^
lift.yaml:8:22  plate.cutouts.cable.circle.radius: found the unknown key `radius`; write `diameter`, twice the radius
        cable: {circle: {radius: 11}, at: [60]}
                         ^^^^^^
lift.yaml:8:39  plate.cutouts.cable.at: found a list of 1; give two lengths in brackets, as [10, 25] or [10.5, 25]
        cable: {circle: {radius: 11}, at: [60]}
                                          ^^^^
lift.yaml:11:11  mounts.machine.side: found "left"; use near or far
        side: left
              ^^^^
lift.yaml:12:58  mounts.machine.pattern.circle.5: found 10,5, with a decimal comma; write 10.5
        pattern: {circle: {count: 4, diameter: 130, hole: 10,5}}
                                                             ^
lift.yaml:15:25  mounts.motor.pattern.standard: found "NEMA 56Q", which is in no table; NEAREST
        pattern: {standard: NEMA 56Q}
                            ^^^^^^^^
lift.yaml:16:16  mounts.motor.at.from: found "machin", which is no mount (nothing of that name is under `mounts`); use "machine"
        at: {from: machin, distance: -5, angle: 75 deg}
                   ^^^^^^
lift.yaml:16:34  mounts.motor.at.distance: found -5; give a length above zero
        at: {from: machin, distance: -5, angle: 75 deg}
                                     ^^
lift.yaml:17:34  mounts.motor.screws.washer: found "yes", which YAML 1.2 reads as text; write true or false, without quotes
        screws: {into: part, washer: yes, fit: nromal}
                                     ^^^
lift.yaml:17:44  mounts.motor.screws.fit: found "nromal"; use close, normal or loose
        screws: {into: part, washer: yes, fit: nromal}
                                               ^^^^^^"""
    ).replace("NEAREST", _nearest(screen, "mild stel"), 1).replace("NEAREST", _nearest(screen, "NEMA 56Q"), 1)


def _nearest(screen: str, word: str) -> str:
    """The tables' own advice in a screen, which names at least the likeliest meaning."""
    line = next(line for line in screen.splitlines() if f'found "{word}"' in line)
    advice = line.split("; ", 1)[1]
    assert {"mild stel": "mild steel", "NEMA 56Q": "NEMA 56C"}[word] in advice
    return advice


def test_problems_come_in_the_order_of_the_file() -> None:
    text = (
        HEAD + "bodies: {b: {carried_by: x, span: [0, 1], shape: 3}}\nplate: {material: q, thickness: 0}\nmounts: 3\n"
    )
    found = problems(text)
    assert [one.line for one in found] == sorted(one.line for one in found)
    assert {one.field for one in found} >= {"bodies.b.carried_by", "bodies.b.shape", "plate.thickness", "mounts"}


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        # keys
        (plate("thicknes: 10"), "plate.thicknes: found the unknown key `thicknes`; write `thickness`"),
        (plate("kerf: 2"), "plate.kerf: found the unknown key `kerf`; it belongs under `cutting`"),
        (
            plate("colour: red"),
            "plate.colour: found the unknown key `colour`; use material, thickness, outline, cutouts, tabs, feet, flange, ribs, lighten, up or mounting",
        ),
        (
            mount("pattern: {points: [[0, 0]]}, screws: {size: M8, into: nut}, size: M8"),
            "mounts.motor.size: found the unknown key `size`; it belongs under `mounts.motor.screws`",
        ),
        (HEAD + MOUNTS, "plate: found no `plate`; add `plate` (the plate itself)"),
        (
            HEAD + "plate: {material: mild steel}\n" + MOUNTS,
            "plate.thickness: found no `thickness`; add `thickness` (thickness of the plate)",
        ),
        (
            HEAD.replace("units: mm\n", "") + PLATE + MOUNTS,
            "units: found no `units`; add `units`: mm or in (unit of every bare number: mm or in)",
        ),
        (
            mount("pattern: {}"),
            "mounts.motor.pattern: found none of its kinds; give exactly one of standard, circle, rectangle, points, measured",
        ),
        (
            plate("outline: {circle: {diameter: 9}, wrap: {}}"),
            "plate.outline: found `wrap` and `circle`; give exactly one of wrap, waist, rectangle, circle, polygon",
        ),
        (
            plate("outline: {wrap: {}, turn: 5}"),
            "plate.outline: found a place for a wrapped outline; leave out `at` and `turn`; it follows the openings",
        ),
        (
            mount("pattern: {circle: {diameter: 90}}"),
            "mounts.motor.pattern.circle: found neither `count` nor `angles`; give `count` for even spacing or `angles` for uneven, one of the two",
        ),
        (
            mount("pattern: {circle: {diameter: 90, angles: [0, 5], start: 3}}"),
            "mounts.motor.pattern.circle: found `start` beside `angles`; leave out `start`; `angles` says where every hole is",
        ),
        (
            mount("pattern: {rectangle: {width: 9, height: 9, hole: 4}, hole: 3}"),
            "mounts.motor.pattern: found `hole` twice, beside `rectangle` and inside it; keep the one beside it",
        ),
        # kinds of value
        (HEAD.replace("units: mm", "units: inch") + PLATE + MOUNTS, 'units: found "inch"; use mm or in'),
        (
            HEAD.replace("platekit: 1", "platekit: 2") + PLATE + MOUNTS,
            "platekit: found 2; this version reads spec language 1",
        ),
        (
            HEAD.replace("platekit: 1", "platekit: true") + PLATE + MOUNTS,
            "platekit: found true; write `platekit: 1`, the version of the spec language",
        ),
        (
            HEAD.replace("title: Test", "title: 12") + PLATE + MOUNTS,
            'title: found 12, which is not text; put it in quotes: "12"',
        ),
        (HEAD.replace("title: Test", 'title: " "') + PLATE + MOUNTS, "title: found empty text; give it some words"),
        (
            HEAD.replace("title: Test", f"title: {'x' * 201}") + PLATE + MOUNTS,
            "title: found text of 201 characters; use at most 200",
        ),
        (
            plate("outline: 5"),
            "plate.outline: found 5; give keys below it, such as `wrap`, `waist`, `rectangle`, `circle`, `polygon`, "
            "`at`, `turn`",
        ),
        (
            HEAD + PLATE + "mounts: [1]\n",
            "mounts: found a list; give a group of names, each on a line of its own with what belongs to it below",
        ),
        (HEAD + PLATE + "mounts: {}\n", "mounts: found an empty group; give at least 1"),
        (
            mount("pattern: {circle: {diameter: 90, count: 4.0}}"),
            "mounts.motor.pattern.circle.count: found 4.0; give a whole number, as 4, without quotes",
        ),
        (
            mount('pattern: {circle: {diameter: 90, count: "4"}}'),
            'mounts.motor.pattern.circle.count: found "4"; give a whole number, as 4, without quotes',
        ),
        (
            mount("pattern: {circle: {diameter: 90, count: true}}"),
            "mounts.motor.pattern.circle.count: found true; give a whole number, as 4, without quotes",
        ),
        (
            mount("pattern: {circle: {diameter: 90, count: 0}}"),
            "mounts.motor.pattern.circle.count: found 0; use at least 1",
        ),
        (
            mount("pattern: {circle: {diameter: 90, count: 1000000}}"),
            "mounts.motor.pattern.circle.count: found 1000000; use at most 2000",
        ),
        (mount("pattern: {points: []}"), "mounts.motor.pattern.points: found an empty list; give at least 1"),
        (mount("pattern: {points: 3}"), "mounts.motor.pattern.points: found 3; give a list in brackets, as [1, 2, 3]"),
        (
            mount("pattern: {points: [[1, 2], [3]]}"),
            "mounts.motor.pattern.points.1: found a list of 1; give two lengths in brackets, as [10, 25] or [10.5, 25]",
        ),
        (
            mount("pattern: {points: [[1, x]]}"),
            'mounts.motor.pattern.points.0.1: found "x"; give a length, such as 10, 10 mm or 3/8 in',
        ),
        (
            mount("turn: 45 grad, pattern: {points: [[1, 1]]}"),
            'mounts.motor.turn: found "45 grad" with an unknown unit; use deg or rad, as 45 deg',
        ),
        (
            plate("outline: {wrap: {margin: auto matic}}"),
            'plate.outline.wrap.margin: found "auto matic"; use auto, or give a length',
        ),
        (plate("outline: {wrap: {margin: -1}}"), "plate.outline.wrap.margin: found -1; give zero or a length above it"),
        (
            plate("cutouts: {a: {slot: {length: 5, width: 9}}}"),
            "plate.cutouts.a.slot: found a slot shorter than it is wide; give the length over all, ends included",
        ),
        (
            plate("cutouts: {a: {polygon: {points: [[0,0],[9,0],[0,9]], corner: [1, 2]}}}"),
            "plate.cutouts.a.polygon: found 2 corner radii for 3 corners; give one radius for each corner",
        ),
        (
            plate("cutouts: {a: {polygon: {points: [[0,0],[9,0],[0,9]], corner: -1}}}"),
            "plate.cutouts.a.polygon.corner: found -1; give zero or a length above it",
        ),
        (
            plate("cutouts: {a: {polygon: {points: [[0,0],[9,0]]}}}"),
            "plate.cutouts.a.polygon.points: found a list of 2; give at least 3",
        ),
        (
            HEAD + PLATE + MOUNTS + "cutting: {process: lasr}\n",
            'cutting.process: found "lasr"; use plasma, laser, waterjet, oxy-fuel, router or drill; laser is the nearest',
        ),
        (
            HEAD + PLATE + MOUNTS + "paper: {size: A4}\n",
            'paper.size: found "A4"; use a4, letter, a3, tabloid or single; a4 is the nearest',
        ),
        (
            HEAD + PLATE + MOUNTS + "paper: {size: {width: 3}}\n",
            "paper.size.height: found no `height`; add `height` (height of the sheet)",
        ),
        (
            HEAD
            + "plate: {thickness: 9, material: {density: 7850, modulus: 210 GPa, yield_strength: 235 MPa}}\n"
            + MOUNTS,
            "plate.material.density: found 7850; give it with its unit (kg/m3, g/cm3 or lb/in3), as 7850 kg/m3",
        ),
        # names
        (
            plate("cutouts: {a.b: {circle: {diameter: 9}}}"),
            'plate.cutouts.a.b: found "a.b" with a dot in it; a name holds letters, digits, blanks and signs, but none of . / : [ ] and no backslash',
        ),
        (
            plate('cutouts: {"a/b": {circle: {diameter: 9}}}'),
            'plate.cutouts.a/b: found "a/b" with a slash in it; a name holds letters, digits, blanks and signs, but none of . / : [ ] and no backslash',
        ),
        (
            plate("cutouts: {2: {circle: {diameter: 9}}}"),
            'plate.cutouts.2: found 2, which is no text, as a key; if it is a name, write "2" in quotes',
        ),
        (
            plate("cutouts: {machine: {circle: {diameter: 9}}}"),
            'plate.cutouts.machine: found "machine", which is a mount or body too; give the cutout a name of its own',
        ),
        # references
        (
            mount("pattern: {points: [[1, 1]], hole: 3}, at: {from: motor, distance: 5, angle: 5}"),
            "mounts.motor.at.from: found the mount itself; measure from another mount, or give [x, y]",
        ),
        (
            mount("pattern: {points: [[1, 1]]}"),
            "mounts.motor: found holes without a size; add `screws` with a size, or `hole` in the pattern",
        ),
        (
            mount("pattern: {points: [[1, 1]]}, screws: {into: nut}"),
            "mounts.motor.screws: found screws without a size; add `size`, as M8 or 3/8-16",
        ),
        (
            HEAD + PLATE + MOUNTS.replace("machine", "plate"),
            "mounts.plate: found a mount called `plate`; give it another name; that one is the plate itself",
        ),
        (
            HEAD
            + PLATE
            + MOUNTS
            + "bodies: {cup: {carried_by: machin, span: [0, 1], shape: {circle: {diameter: 3}}}}\n",
            'bodies.cup.carried_by: found "machin", which is no mount (nothing of that name is under `mounts`); use "machine"',
        ),
        (
            HEAD
            + PLATE
            + MOUNTS
            + "bodies: {cup: {carried_by: plate, span: [0, 1], shape: {circle: {diameter: 3}}}}\n",
            "bodies.cup: found a body on the plate without its `side`; add `side: near` or `side: far`",
        ),
        (
            HEAD
            + PLATE
            + MOUNTS
            + "bodies: {cup: {carried_by: machine, side: far, span: [0, 1], shape: {circle: {diameter: 3}}}}\n",
            "bodies.cup: found a `side` for a body that a mount carries; leave it out; the body is on its mount's side",
        ),
        (
            HEAD
            + PLATE
            + MOUNTS
            + "bodies: {cup: {carried_by: machine, span: [1, 1], shape: {circle: {diameter: 3}}}}\n",
            "bodies.cup: found a span whose first figure is not the smaller; write [from, to] with `from` below `to`",
        ),
        (
            HEAD
            + PLATE
            + MOUNTS
            + "bodies: {cup: {carried_by: machine, span: [0, 1], shape: {circle: {diameter: 3}}, touches: [cap]}}\n",
            'bodies.cup.touches.0: found "cap", which is no body; there is none to name; take it out',
        ),
        (
            mount("pattern: {points: [[1, 1]], hole: 1e-308}"),
            "mounts.motor.pattern.hole: found 1e-308; give a length that can be measured",
        ),
        # a belt that is not described, a guard that cannot be
        (
            HEAD + PLATE + MOUNTS + "guard: {fixings: {hole: 30}}\n",
            "guard.fixings: found a hole of 30 mm in an ear of 22 mm; make the ear wider",
        ),
        (
            HEAD
            + PLATE
            + "mounts:\n"
            + "  machine: {side: far, looking_at: face, pattern: {points: [[1, 1]], hole: 3}}\n"
            + "  motor: {side: near, looking_at: face, pattern: {points: [[1, 1]], hole: 3},\n"
            + "    at: {belt: {from: machine, angle: 5}}}\n",
            "mounts.motor.at.belt: found a place by the belt; describe the belt under `drive`, or give the figure",
        ),
        (
            mount("pattern: {points: [[1, 1]], hole: 3}, take_up: {slots: {along: belt}}"),
            'mounts.motor.take_up.slots.along: found "belt"; describe the belt under `drive`, or give the figure',
        ),
        (
            mount("pattern: {points: [[1, 1]], hole: 3}, take_up: {slots: {along: 5, install: auto}}"),
            'mounts.motor.take_up.slots.install: found "auto"; describe the belt under `drive`, or give the figure',
        ),
    ],
)
def test_one_slip_is_told_in_one_sentence(text: str, sentence: str) -> None:
    assert sentences(text) == [sentence]


def test_a_slip_of_a_key_is_not_told_as_a_missing_key_too() -> None:
    text = HEAD + "plate: {material: mild steel, thicknes: 10}\n" + MOUNTS
    assert sentences(text) == ["plate.thicknes: found the unknown key `thicknes`; write `thickness`"]


def test_mounts_measured_in_a_circle_are_told_once() -> None:
    text = HEAD + PLATE + "mounts:\n"
    for name, other in (("a", "b"), ("b", "c"), ("c", "a"), ("d", "a")):
        text += f"  {name}: {{side: far, pattern: {{points: [[0, 0]], hole: 9}}, at: {{from: {other}, distance: 9, angle: 0}}}}\n"
    assert sentences(text) == [
        "mounts.a.at.from: found places in a circle (a from b from c from a); give one of them as [x, y]"
    ]


def test_a_chain_of_mounts_has_a_limit() -> None:
    text = HEAD + PLATE + "mounts:\n  m0: {side: far, pattern: {points: [[0, 0]], hole: 9}}\n"
    for index in range(1, 300):
        at = f"{{from: m{index - 1}, distance: 9, angle: 0}}"
        text += f"  m{index}: {{side: far, pattern: {{points: [[0, 0]], hole: 9}}, at: {at}}}\n"
    assert sentences(text) == [
        "mounts.m100.at.from: found a mount measured over 100 others; measure it from a nearer one, or give [x, y]"
    ]


def test_a_touched_body_may_be_one_that_a_standard_part_brings() -> None:
    shape = "shape: {circle: {diameter: 3}}, span: [0, 1]"
    text = HEAD + PLATE + MOUNTS + f"bodies: {{cup: {{carried_by: machine, {shape}, touches: [machine.shaft]}}}}\n"
    assert loads(text).model.bodies["cup"].touches == ["machine.shaft"]


def test_more_problems_than_one_reads_are_counted_as_many() -> None:
    text = HEAD + PLATE + MOUNTS + "".join(f"key{index}: 1\n" for index in range(500))
    found = problems(text)
    assert len(found) == 101
    assert found[-1].found == "more than 100 problems"


def test_a_problem_in_a_very_long_line_shows_the_place_only() -> None:
    points = ", ".join(["[1, 2]"] * 400)
    text = mount(f"pattern: {{points: [{points}, [3, x], {points}], hole: 3}}")
    screen = problems(text)[0].pointed().splitlines()
    assert len(screen[1]) <= 104
    assert screen[1][screen[2].index("^")] == "x"


def test_the_error_itself_is_all_its_sentences() -> None:
    with pytest.raises(SpecError, match="units: found no `units`") as caught:
        loads("platekit: 1\ntitle: T\n" + MOUNTS, "lift.yaml")
    assert len(str(caught.value).splitlines()) == len(caught.value.problems) == 2


def reading(words: str, sigma: str = "0.1", unit: str = "mm") -> str:
    """A measured pattern of which one reading is given in words."""
    return (
        f"platekit: 1\ntitle: Test\nunits: {unit}\nplate: {{material: mild steel, thickness: 10 mm}}\nmounts:\n"
        "  m: {side: far, looking_at: face, pattern: {measured: {holes: {A: 9, B: 9, C: 9}, clockwise: [A, C, B],\n"
        f"    readings: [[A, B, centres, 100], [B, C, centres, 80], {words}], sigma: {sigma}}}}},\n"
        "    screws: {size: M8, into: nut}}\n"
    )


@pytest.mark.parametrize(
    ("words", "figure"),
    [
        ("[A, C, inside, 79,37]", "79.37"),
        ("[A, C, inside, 79,05]", "79.05"),
        ("[A,C,inside,79,05]", "79.05"),
        ("[A, C, inside, 79, 05]", "79.05"),
        ("[A,C,inside,79,37]", "79.37"),
        ("[A,C,inside,79,3]", "79.3"),
        ("[A, C, inside, 79, 3]", "79.3"),
        ("[A, C, inside, 79,37, rule]", "79.37"),
        ("[A,C,inside,79,37,0.1]", "79.37"),
        ("[A, y, 35,2]", "35.2"),
        ("[A,x,35,2]", "35.2"),
    ],
)
def test_a_decimal_comma_in_a_reading_is_not_taken_for_its_sigma(words: str, figure: str) -> None:
    """YAML reads 79,37 in a list as two values: a reading of 79 with a sigma of 37."""
    (sentence,) = sentences(reading(words))
    assert "decimal comma" in sentence
    assert f"write {figure};" in sentence


def test_a_decimal_comma_in_a_list_of_angles_is_not_taken_for_two_of_them() -> None:
    (sentence,) = sentences(mount("pattern: {circle: {diameter: 90, angles: [0, 45,5, 90], hole: 9}}"))
    assert "found 45,5, with a decimal comma; write 45.5" in sentence


@pytest.mark.parametrize(
    "words", ["[A, C, inside, 79, 0.1]", "[A,C,inside,79,0.1]", "[A,C,inside,79.0,1.0]", "[A,C,inside,79]"]
)
def test_a_reading_with_a_sigma_is_read(words: str) -> None:
    loads(reading(words), "lift.yaml")


@pytest.mark.parametrize(
    ("text", "most"),
    [
        (reading("[A, C, inside, 79.3, 37.0]"), "5 mm"),
        (reading("[A, C, inside, 79.3]", "6"), "5 mm"),
        (reading("[A, C, inside, 3.1]", "0.3", "in"), "0.197 in"),
    ],
)
def test_a_sigma_beyond_reason_is_refused(text: str, most: str) -> None:
    (sentence,) = sentences(text)
    assert f"a sigma is at most {most}" in sentence


@pytest.mark.parametrize("on", ["[]", "{}", "[[1]]", "{a: b}", "1.5"])
def test_a_pulley_on_what_is_no_name_is_told_at_its_line(on: str) -> None:
    drive = f"drive: {{belt: A38, driver: {{on: {on}, pitch_diameter: 71, span: [0, 20]}}, driven: {{on: machine, pitch_diameter: 71, span: [0, 20]}}}}\n"
    assert "drive.driver.on" in [one.field for one in problems(HEAD + PLATE + MOUNTS + drive)]
