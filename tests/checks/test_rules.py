"""Each rule on a plate that has its finding, on one that just has not, and with its advice followed."""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.checks import (
    RULES,
    Finding,
    Verdict,
    believed,
    bores,
    bowed,
    couplings,
    drive,
    drive_fit,
    held,
    idlers,
    loop,
    masses,
    metals,
    motor,
    order,
    room,
    seats,
    shafts,
    soft,
    strength,
    tracking,
    unknown,
    welds,
)
from platekit.spec import with_value
from tests.checks import plates
from tests.checks.plates import changed

BAR = "height: 20, width: 6"
WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"
MACHINE_BOLTS = "bolts: {size: M8, into: part, depth: 16, washer: true}"
MOTOR_BOLTS = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
MACHINE_PATTERN = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
MEASURED_WRONGLY = """pattern:
      measured:
        holes: {A: 9.0, B: 9.0, C: 9.0, D: 9.0}
        readings:
          - [A, B, centres, 84.8]
          - [B, C, centres, 84.9]
          - [C, D, centres, 84.8]
          - [D, A, centres, 89.4]
          - [A, C, centres, 120.0]
          - [B, D, centres, 120.1]
          - [D, A, inside, 75.9]
          - [A, C, inside, 111.1]
        clockwise: [A, B, C]"""

TONGUE = [[-9, -9], [9, -9], [9, 0.5], [0, 0.5], [0, 3], [9, 3], [9, 9], [-9, 9]]
"""A window that leaves a tongue of steel 2.5 mm wide; 3 belong there even where holes are drilled."""
TIP = [[-15, -9], [15, -9], [15, -4], [3, 0], [15, 1], [15, 9], [-15, 9]]
"""A window into which a tip of steel of atan(4/12) and atan(1/12), 23 degrees, stands."""

SHIM = """\
  shim:
    side: near
    pattern: {rectangle: {width: 120, height: 90}}
    at: [170, 0]
    screws: {size: M6, into: part}
    layer: {thickness: 8, outline: {rectangle: {width: 130, height: 110}, at: [170, 0]}}
"""
"""A layer under the motor whose tapped holes, 5 mm wide, are 5 mm from its outside: 7.5 belong there."""

CASES: dict[str, tuple[tuple[str, str], ...]] = {
    "overlap": ((WINDOW, "window: {circle: {diameter: 30}, at: [50, -50]}"),),
    "web": ((WINDOW, "window: {circle: {diameter: 30}, at: [60, -60]}"),),
    "edge": ((WINDOW, "window: {circle: {diameter: 30}, at: [90, -112]}"),),
    "pilot-over-bolts": (("diameter: 80, depth: 3", "diameter: 130, depth: 2"),),
    "recess": (("diameter: 80, depth: 3", "diameter: 80, depth: 5, opening: recess"),),
    "small-hole": (
        (MACHINE_BOLTS, MACHINE_BOLTS.replace("true", "true, made: cut, fit: close")),
        ("process: laser", "process: plasma"),
    ),
    "sharp-corner": ((WINDOW, "window: {rectangle: {width: 30, height: 20}, at: [90, -70]}"),),
    "stock-size": (("kerf: 0.3", "kerf: 0.3, sheet: [300, 300]"),),
    "cut-file": ((WINDOW, "window: {circle: {diameter: 30}, at: [90, -200]}"),),
    "neck": ((WINDOW, f"window: {{polygon: {{points: {TONGUE}}}, at: [90, -70]}}"),),
    "tip": ((WINDOW, f"window: {{polygon: {{points: {TIP}}}, at: [90, -70]}}"),),
    "process": (("thickness: 6", "thickness: 45"),),
    "taper": (
        (MACHINE_BOLTS, MACHINE_BOLTS.replace("true", "true, made: cut, fit: close")),
        ("process: laser", "process: plasma"),
    ),
    "tolerance": (
        (MOTOR_BOLTS, f"{MOTOR_BOLTS}\n    take_up: {{slots: {{along: 0 deg, install: 4, tension: 4}}}}"),
        ("process: laser", "process: plasma"),
    ),
    "counterbore": ((MOTOR_BOLTS, MOTOR_BOLTS.replace("washer: true", "head: socket, counterbore: true")),),
    "pierce-room": (
        (MOTOR_BOLTS, MOTOR_BOLTS.replace("true", "true, made: cut")),
        ("process: laser, kerf: 0.3", "process: plasma, kerf: 3.2"),
    ),
    "kerf": (
        (
            WINDOW,
            "window: {polygon: {points: [[-15, -6], [0, -1.2], [15, -6], [15, 6], [0, 1.2], [-15, 6]]}, at: [90, -70]}",
        ),
        ("process: laser, kerf: 0.3", "process: plasma, kerf: 2.5"),
    ),
    "machine": (
        ("thickness: 6", "thickness: 16"),
        ("process: laser, kerf: 0.3", "machine: specs/machines/yard-plasma.yaml"),
    ),
    "bed": (
        ("rectangle: {width: 420, height: 260, corner: 10}", "rectangle: {width: 1420, height: 260, corner: 10}"),
        ("process: laser, kerf: 0.3", "machine: specs/machines/yard-plasma.yaml"),
    ),
    "remnant": (("kerf: 0.3", "kerf: 0.3, sheet: [900, 300], copies: 5"),),
    "blocked": (
        (
            "bodies:\n",
            "bodies:\n  lug:\n    carried_by: machine\n    shape: {circle: {diameter: 20}, at: [-90, 40]}\n"
            "    span: [-4, 0]\n",
        ),
    ),
    "lighten": (("thickness: 6", "thickness: 6\n  lighten: {web: 12}"),),
    "tab": ((WINDOW, f"{WINDOW}\n  tabs: {{earth: {{at: [60, 220], width: 20}}}}"),),
    "feet": (
        (WINDOW, f"{WINDOW}\n  feet: {{level: -140, width: 60, apart: 200, middle: 60}}"),
        ("width: 100, height: 80", "width: 100, height: 300"),
    ),
    "flange": ((WINDOW, f"{WINDOW}\n  flange: {{edge: bottom, height: 20, towards: near}}"),),
    "rib": ((WINDOW, f"{WINDOW}\n  ribs: {{spine: {{side: far, from: [-100, -70], to: [280, -70], {BAR}}}}}"),),
    "layer": ((MOTOR_BOLTS, f"{MOTOR_BOLTS}\n    on: shim\n{SHIM}"),),
    "spacer": (("at: [170, 0]", "at: [170, 0]\n    standoff: 48.1\n    spacers: {from: tube, outside: 12, bore: 7}"),),
    "clash": (("at: [170, 0]", "at: [98, 0]"),),
    "grip": ((MACHINE_BOLTS, MACHINE_BOLTS.replace("true", "true, length: 12")),),
    "washer": (
        (MACHINE_BOLTS, MACHINE_BOLTS.replace(", washer: true", "")),
        ("start: 45 deg", "start: 45 deg, hole: 14"),
    ),
    "standard": ((MACHINE_PATTERN, "pattern: {standard: IEC 80 B14}"),),
    "mixed-units": (("units: mm", "units: in"),),
    "unusual": (("thickness: 6", "thickness: 0.5 mm"),),
    "fit-odds": (("start: 45 deg", "start: 45 deg, hole: 8.2"),),
    "survey": ((MACHINE_PATTERN, MEASURED_WRONGLY),),
}
NOTES = {"mirror", "clocking"}
ONLY_NOTES = {"no-table", "drawing"}
IN_ORDER = {rule.name for rule in (*order.RULES, *seats.RULES)}
"""Their cases are in test_assembly.py and test_seats.py."""
ON_THE_DRIVE = {rule.name for rule in (*drive.RULES, *drive_fit.RULES)}
"""Their cases are in test_drive.py."""
ON_PARTS = {rule.name for rules in (shafts, couplings, idlers, held, loop, room) for rule in rules.RULES}
"""Their cases are in files of their own; those of idlers in laying/test_idlers.py."""
UNKNOWN = {rule.name for rule in unknown.RULES}
"""Their cases are in test_unknown.py."""
ON_THE_GUARD = {"guard"}
"""Its cases are in tests/laying/test_guard.py."""
SCRIBED = {"scribe"}
"""Its cases are in test_scribe.py."""
ON_THE_JACK = {"jack", "slots-slip"}
"""Their cases are in tests/laying/test_bases.py."""
ON_THE_MOTOR = {rule.name for rule in motor.RULES}
"""Their cases are in test_motor.py."""
ON_STRENGTH = {rule.name for rule in strength.RULES}
"""Their cases are in test_strength.py."""
SUNK = {"head-seat"}
"""Its cases are in test_sunk.py."""
DOUBTED = {
    rule.name for rules in (believed, bores, bowed, masses, metals, soft, tracking, welds) for rule in rules.RULES
}
DOUBTED |= {"strip", "tapped", "water-table", "dowel"}
"""Their cases are in files named for those, in test_necks.py, test_screws.py, test_cutting.py and test_dowels.py."""
WITHOUT_EDIT = {"unusual", "kerf", "machine", "bed", "neck", "tip", "lighten"}


def judged(text: str) -> Verdict:
    return platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))


def of_rule(text: str, rule: str) -> list[Finding]:
    """What the rule has against the plate; notes are not against it."""
    return [f for f in judged(text).findings if f.rule == rule and f.level != "note"]


def test_the_sound_plate_is_clear_and_says_only_how_it_can_be_turned() -> None:
    verdict = judged(plates.SOUND)
    assert verdict.clear
    assert {finding.rule for finding in verdict.findings} == NOTES | {"not-checked"}  # nothing says what it carries


def test_every_rule_has_a_case() -> None:
    elsewhere = (
        NOTES | ONLY_NOTES | ON_THE_DRIVE | IN_ORDER | ON_THE_GUARD | ON_PARTS | UNKNOWN | SCRIBED | SUNK | ON_THE_MOTOR
    ) | (ON_STRENGTH | ON_THE_JACK | DOUBTED)
    missing = {rule.name for rule in RULES} - set(CASES) - elsewhere
    assert not missing, f"give {missing} a plate in CASES, or name the file of their cases above"
    # whole files are named above: a rule that is new in one of them has to be looked for in some test by its name
    tests = Path(__file__).parents[1]
    told = "".join(path.read_text("utf-8") for path in tests.rglob("test_*.py") if path != Path(__file__))
    unnamed = [rule.name for rule in RULES if rule.name not in CASES and f'"{rule.name}"' not in told]
    assert not unnamed, f"no test names {unnamed}"


@pytest.mark.parametrize("rule", CASES)
def test_a_rule_finds_its_mistake(rule: str) -> None:
    findings = of_rule(changed(*CASES[rule]), rule)
    assert findings
    for finding in findings:
        assert finding.features
        assert finding.found is not None
        assert finding.needed is not None
        assert finding.advice.text


@pytest.mark.parametrize("rule", [rule for rule in CASES if rule not in WITHOUT_EDIT])
def test_advice_that_is_followed_ends_the_finding(rule: str) -> None:
    text = changed(*CASES[rule])
    followed = 0
    for _ in range(12):
        open_findings = [f for f in of_rule(text, rule) if f.remedies]
        if not open_findings:
            break
        finding = open_findings[0]
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        followed += 1
        again = [f for f in of_rule(text, rule) if f.features == finding.features]
        assert not again, f"{finding.message} / {finding.advice.text} / {again[0].message}"
    assert followed, f"no finding of {rule} has a remedy; where no edit of the spec would do, it is one of WITHOUT_EDIT"
    assert not of_rule(text, rule)


@pytest.mark.parametrize(
    ("rule", "stays", "goes"),
    [
        # laser, 6 mm: web 6 mm. The hole machine.4 is 9 mm wide, 60 mm from the middle at -45 degrees.
        ("web", "[53.42, -71.42]", "[53.44, -71.44]"),
        # the plate ends at y = -130; the window's edge must stay 6 mm inside
        ("edge", "[90, -109.01]", "[90, -108.99]"),
    ],
)
def test_a_limit_is_where_it_is_said_to_be(rule: str, stays: str, goes: str) -> None:
    def window(at: str) -> str:
        size = 30 if rule == "edge" else 15
        return changed((WINDOW, f"window: {{circle: {{diameter: {size}}}, at: {at}}}"))

    if rule == "web":
        # centres on one line from the middle: web = distance - 4.5 - 7.5
        stays, goes = (f"[{42.4264 + d:.4f}, {-42.4264 - d:.4f}]" for d in (17.99 / 2**0.5, 18.01 / 2**0.5))
    assert of_rule(window(stays), rule)
    assert not of_rule(window(goes), rule)


def test_a_limit_of_the_spec_goes_before_the_process() -> None:
    assert not of_rule(plates.SOUND, "web")
    assert of_rule(plates.SOUND + "limits: {web: 40}\n", "web")
    drilled = judged(plates.SOUND + "limits: {smallest_hole: 10}\n")
    assert "small-hole" in {finding.rule for finding in drilled.findings}


def test_an_acceptance_covers_its_own_finding_and_no_other() -> None:
    text = changed(*CASES["web"])
    accept = "accept:\n  - {rule: web, feature: window, found: FOUND, because: the pad is welded there}\n"
    (stop,) = of_rule(text, "web")
    accept = accept.replace("FOUND", f"{stop.found:.3f}")
    assert not judged(text).clear
    verdict = judged(text + accept)
    assert verdict.clear
    assert [finding.accepted for finding in verdict.accepted] == ["the pad is welded there"]
    other = judged(text + accept.replace("rule: web", "rule: edge"))
    assert not other.clear
    assert any(finding.rule == "accept" for finding in other.findings)


def test_a_body_with_travel_is_judged_over_all_of_it() -> None:
    post = (
        "bodies:\n",
        "bodies:\n  post:\n    carried_by: plate\n    side: near\n    shape: {circle: {diameter: 10}, at: [236, 0]}\n"
        "    span: [0, 60]\n",
    )
    still = changed(post)
    assert not of_rule(still, "clash")
    # the motor body ends at x = 220, the post begins at 231: 11 mm, of which 2 must stay
    for tension, found in ((8.9, False), (9.1, True)):
        slots = f"{MOTOR_BOLTS}\n    take_up: {{slots: {{along: 0 deg, install: 0, tension: {tension}}}}}"
        assert bool(of_rule(changed(post, (MOTOR_BOLTS, slots)), "clash")) is found


def test_a_boss_that_ends_inside_the_plate_is_blocked_and_one_beside_it_is_not() -> None:
    boss = (
        "bodies:\n  boss:\n    carried_by: machine\n    shape: {circle: {diameter: 20}, at: [AT]}\n    span: [-3, 0]\n"
    )
    assert of_rule(changed(("bodies:\n", boss.replace("AT", "-100, 0"))), "blocked")
    assert not of_rule(changed(("bodies:\n", boss.replace("AT", "-170, 0"))), "blocked")
    relieved = boss.replace("span: [-3, 0]", "span: [-3, 0]\n    relief: auto")
    text = changed(("bodies:\n", relieved.replace("AT", "-100, 0")))
    assert not of_rule(text, "blocked")
    opening = platekit.lay_out(platekit.loads(text, "p")).opening("boss.relief")
    assert opening.size == pytest.approx(24.0)


def test_findings_come_worst_first_and_always_in_the_same_order() -> None:
    text = (Path(__file__).parents[2] / "specs" / "wrong-on-purpose.yaml").read_text("utf-8")
    first, second = judged(text), judged(text)
    assert first == second
    levels = [finding.level for finding in first.findings]
    assert levels == sorted(levels, key=["stop", "warn", "note"].index)


def test_the_plate_that_is_wrong_on_purpose_shows_at_least_eight_different_stops() -> None:
    text = (Path(__file__).parents[2] / "specs" / "wrong-on-purpose.yaml").read_text("utf-8")
    assert len({finding.rule for finding in judged(text).open("stop")}) >= 8


def test_washers_that_are_advised_are_counted_in_the_length_of_the_screw() -> None:
    # M8 through 6 mm with 12 mm wanted in the thread: 18.5 mm are enough until a washer of 1.6 mm is clamped as well
    bare = "bolts: {size: M8, into: part, depth: 16, length: 18.5}"
    text = changed((MACHINE_BOLTS, bare), ("start: 45 deg", "start: 45 deg, hole: 14"))
    (finding,) = of_rule(text, "washer")
    assert {one.field: one.value for one in finding.remedies} == {
        "mounts.machine.screws.washer": True,
        "mounts.machine.screws.length": "20 mm",
    }
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert of_rule(text, "grip") == []


def test_what_is_clamped_tells_its_washers() -> None:
    (finding,) = of_rule(changed((MACHINE_BOLTS, MACHINE_BOLTS.replace("depth: 16", "depth: 12.2"))), "grip")
    assert "7.6 mm, 1.6 mm of it a washer, is clamped" in finding.message
