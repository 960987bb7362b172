"""Prints the ratios: what platekit takes to what its libraries take anyway, and how time grows with size.

Times are of the processor, not of the clock, so that other work on the machine disturbs them less.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import platekit
from platekit.checks import LIVE, RULES, check
from platekit.checks import strength as strength_rules
from platekit.checks.finding import Verdict
from platekit.drive.choosing import ChoiceRequest, choose
from platekit.drive.open_belt import centre_distance
from platekit.drive.request import Range
from platekit.export.picture.whole import svg_text
from platekit.export.reports.page import report_html
from platekit.page.scene import dragged, handles
from platekit.spec.figures import figures_of
from platekit.studies.sweep import Over, sweep
from tests.benchmarks import strength, survey
from tests.benchmarks.poses import rates

ROOT = Path(platekit.__file__).parents[1]
DEMO = ROOT / "specs" / "dough-mixer.yaml"
RUNS = 7
COLD_RUNS = 15
PLAIN = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""The surroundings of a command: with what Python has compiled kept, as a user has it."""
LIBRARIES = "import pydantic, shapely, numpy, ruamel.yaml, typer"


@dataclass(frozen=True)
class Ratio:
    """One line of the result: what was measured, against what, and how much it may be, if that is laid down."""

    what: str
    value: float
    bound: float | None
    detail: str

    @property
    def over(self) -> bool:
        return self.bound is not None and self.value > self.bound

    def __str__(self) -> str:
        sign, said = "    ", "no bound is set"
        if self.bound is not None:
            sign, said = "OVER" if self.over else "ok  ", f"at most {self.bound:g}"
        return f"{sign} {self.what:<62} {self.value:9.3f}  ({said})  {self.detail}"


def cold(*programs: tuple[str, ...], runs: int = COLD_RUNS) -> list[float]:
    """Seconds of processor time of a fresh Python with these arguments: medians of several runs, after a first one.

    The programs take turns, so that what else the machine does falls on all of them alike.
    """
    times: list[list[float]] = [[] for _ in programs]
    for _ in range(runs + 1):
        for arguments, taken in zip(programs, times, strict=True):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            done = subprocess.run([sys.executable, *arguments], cwd=ROOT, env=PLAIN, capture_output=True, check=False)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
            assert done.returncode in (0, 1), done.stderr.decode()
    return [statistics.median(taken[1:]) for taken in times]


def warm(work: Callable[..., object], runs: int = RUNS) -> float:
    """Seconds of processor time of a call in this process: the median of several runs after one."""
    times = []
    for _ in range(runs + 1):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times[1:])


def compared(what: str, own: float, base: float, bound: float | None) -> Ratio:
    return Ratio(what, own / base, bound, f"{own * 1e3:.0f} ms to {base * 1e3:.0f} ms")


def cold_commands(folder: Path) -> list[Ratio]:
    make = ("-m", "platekit", "make", str(DEMO), "--out", str(folder))
    base, check, by_hand, flat, full = cold(
        ("-c", LIBRARIES),
        ("-m", "platekit", "check", str(DEMO)),
        (str(Path(__file__).with_name("hand_drawn.py")), str(folder)),
        (*make, "--no-solid"),
        make,
    )
    return [
        compared("check of the demo, cold, to importing the libraries", check, base, 1.5),
        compared("make without the solid, cold, to a hand-written script", flat, by_hand, 2.0),
        compared("make with the solid, cold, to make without it", full, flat, 1.1),
    ]


def again() -> list[Ratio]:
    """Laying out and checking in a warm process, the slowest example: again as it stands, dragged, with one value new.

    In a drag a part is elsewhere each time, and a box of the page changes one figure: what was kept helps only with
    what holds still. Bending the plate anew, a second in itself, has rows of its own.
    """
    still: list[tuple[float, str]] = []
    dragging: list[tuple[float, str]] = []
    typing: list[tuple[float, str]] = []
    # `not-checked` asks, too, how a bent plate could not be judged
    unbent = tuple(rule for rule in RULES if rule not in strength_rules.RULES and rule.name != "not-checked")
    for path in sorted((ROOT / "specs").glob("*.yaml")):
        spec = platekit.load(path)
        still.append((warm(lambda spec=spec: platekit.check(platekit.lay_out(spec)), runs=9), path.stem))
        specs = iter(moved(spec, 10))
        dragging.append((warm(lambda specs=specs: check(platekit.lay_out(next(specs)), LIVE), runs=9), path.stem))
        specs = iter(one_value_new(spec, 10))
        typing.append((warm(lambda specs=specs: check(platekit.lay_out(next(specs)), unbent), runs=9), path.stem))
    return [
        Ratio(f"lay out and check a loaded example {said}, in ms", 1e3 * time, bound, f"the slowest, {name}")
        for said, (time, name), bound in (
            ("again", max(still), 10.0),
            ("while dragging", max(dragging), 10.0),
            ("with one value new", max(typing), None),  # nobody waits for it: it is answered once, after the key
        )
    ]


def one_value_new(spec: platekit.Spec, count: int) -> list[platekit.Spec]:
    """A spec with another of its figures a little larger each time, spread over all that can be laid out so."""
    found: list[platekit.Spec] = []
    for figure in figures_of(spec):
        with suppress(platekit.PlatekitError):
            one = platekit.spec.with_data(spec, [(figure.field, f"{figure.value * 1.004} mm")])
            platekit.lay_out(one)
            found.append(one)
    return [found[k * len(found) // count] for k in range(count)]


def moved(spec: platekit.Spec, count: int) -> list[platekit.Spec]:
    """A spec with the last of its parts that can be dragged at so many places, each of which can be laid out."""
    layout = platekit.lay_out(spec)
    for handle in reversed([one for one in handles(layout) if one.kind in ("place", "turn")]):
        x, y = handle.at
        edits = [dragged(layout, handle.name, (x + 0.9 * k, y - 0.7 * k)) for k in range(1, count + 1)]
        specs = [platekit.spec.with_data(spec, edit) for edit in edits]
        with suppress(platekit.PlatekitError):
            for one in specs:
                platekit.lay_out(one)
            return specs
    raise AssertionError(f"nothing of {spec.name} can be dragged")


def many_holes(count: int) -> platekit.Spec:
    """A spec with a grid of `count` holes, 25 mm apart."""
    wide = 200
    points = ", ".join(f"[{25 * (i % wide)}, {25 * (i // wide)}]" for i in range(count))
    text = (
        "platekit: 1\ntitle: Screen\nunits: mm\nplate: {material: mild steel, thickness: 5}\n"
        f"mounts:\n  grid: {{side: far, looking_at: face, pattern: {{points: [{points}], hole: 9}}}}\n"
        "cutting: {process: laser}\n"
    )
    return platekit.loads(text, "screen.yaml")


def crowded(holes: int, bodies: int) -> platekit.Spec:
    """A grid of holes and rows of bodies between them: posts, cones, lying cylinders, one in eight with relief."""
    wide = 200
    points = ", ".join(f"[{25 * (i % wide)}, {25 * (i // wide)}]" for i in range(holes))
    kinds = (
        "shape: {circle: {diameter: 9}, at: [X, Y]}, span: [0, 40]",
        "steps: [{diameter: [9, 5], span: [0, 30]}], at: [X, Y]",
        "lying: {diameter: 8, length: 30, height: 12, axis: 30 deg}, at: [X, Y]",
    )
    eight = (*kinds, kinds[0], *kinds, "shape: {circle: {diameter: 4}, at: [X, Y]}, span: [-8, 20], relief: auto")
    rows = "".join(
        f"  b{i}: {{carried_by: plate, side: near, {eight[i % 8]}}}\n".replace(
            "X", f"{50 * (i % (wide // 2)) + 12.5}"
        ).replace("Y", f"{50 * (i // (wide // 2)) + 12.5}")
        for i in range(bodies)
    )
    text = (
        "platekit: 1\ntitle: Crowd\nunits: mm\nplate: {material: mild steel, thickness: 5}\n"
        f"mounts:\n  grid: {{side: far, looking_at: face, pattern: {{points: [{points}], hole: 9}}}}\n"
        f"bodies:\n{rows}cutting: {{process: laser}}\n"
    )
    return platekit.loads(text, "crowd.yaml")


def growth_with_bodies() -> Ratio:
    """Clashes, blocked bodies and reliefs must not cost more than n log n."""
    times = [
        warm(lambda spec=spec: platekit.check(platekit.lay_out(spec)), runs=3)
        for spec in (crowded(10_000, 1_000), crowded(20_000, 2_000))
    ]
    detail = f"{times[1] * 1e3:.0f} ms to {times[0] * 1e3:.0f} ms"
    return Ratio("20,000 openings with 2,000 bodies, to half of both", times[1] / times[0], 2.2, detail)


def growth() -> list[Ratio]:
    ratios = []
    for what, work in (
        ("lay out and check", lambda spec: platekit.check(platekit.lay_out(spec))),
        ("write the cut file", lambda spec: platekit.export.dxf_bytes(platekit.lay_out(spec))),
        ("draw the picture", lambda spec: svg_text(platekit.lay_out(spec), Verdict(()))),
        ("write the report", lambda spec: report_html(platekit.lay_out(spec), Verdict(()))),
    ):
        small, large = many_holes(10_000), many_holes(20_000)
        times = [warm(lambda spec=spec, work=work: work(spec), runs=3) for spec in (small, large)]
        detail = f"{times[1] * 1e3:.0f} ms to {times[0] * 1e3:.0f} ms"
        ratios.append(Ratio(f"{what}: 20,000 holes to 10,000", times[1] / times[0], 2.2, detail))
    return ratios


def places() -> Ratio:
    """The search for a place has to be many times as fast as asking shapely; said the other way round, at most 1/50."""
    own, by_shapely = rates()
    return Ratio(
        "a pose judged in the search, to shapely once a pose",
        by_shapely / own,
        0.02,
        f"{own:,.0f} poses a second to {by_shapely:,.0f}",
    )


def surveys() -> list[Ratio]:
    """A survey against a general solver that already knows the places; odds against their random numbers alone."""
    solved, general = warm(survey.survey_of_24_holes), warm(survey.general_solver_on_24_holes)
    odds, numbers = warm(survey.hundred_thousand_draws, runs=3), warm(survey.hundred_thousand_random_plates, runs=3)
    missed = 1 - survey.thousand_blunders()
    return [
        compared("survey of 24 holes by 150 readings, to a general solver", solved, general, 1.0),
        compared("odds of 6 screws by 100,000 draws, to their random numbers", odds, numbers, 3.0),
        Ratio("share of 1,000 blunders of 10 sigma put on a wrong reading", missed, 0.05, "nets as planned"),
    ]


def drives() -> Ratio:
    """Every stocked pair of pulleys with every belt, against one open belt worked out for each of them."""
    request = ChoiceRequest(Range(390, 2610), Range(120, 700), Range(200, 400), 260, power_w=750, rated_rpm=1740)
    tried = choose(request).tried
    each = warm(lambda: [centre_distance(1000.0, 71.0, 250.0) for _ in range(1000)]) / 1000
    own = warm(lambda: choose(request)) / tried
    return Ratio(
        "a drive tried by --choose, to its centre distance alone, once a drive",
        own / each,
        0.1,
        f"{tried:,} drives in {own * tried * 1e3:.0f} ms",
    )


def holding() -> list[Ratio]:
    """What a plate that carries something takes, in seconds, and how that grows with its openings."""
    answers, modes, detail = strength.examples(ROOT / "specs")
    few, many = strength.growth(ROOT / "specs", 500)
    return [
        Ratio("answer of the slowest example that carries something, in s", answers, 1.0, detail),
        Ratio("natural frequencies of the slowest, in s more", modes, 1.0, detail),
        Ratio("answer with 1,000 openings to that with 500", many / few, 2.6, f"{few:.1f} s to {many:.1f} s"),
    ]


def families() -> Ratio:
    """A thousand variants of the demo on one core, to the same on two."""
    spec = platekit.load(DEMO)
    over = [
        Over("plate.thickness", tuple(range(6, 16))),
        Over("mounts.motor.turn", tuple(f"{turn} deg" for turn in range(0, 100, 10))),
        Over("bodies.oil cup.gap", tuple(range(1, 11))),
    ]
    lasted = []
    for many in (1, 2):
        # by the clock on the wall: processor time is the same however many cores share it
        start = time.perf_counter()
        sweep(spec, over, workers=many)
        lasted.append(time.perf_counter() - start)
    one, two = lasted
    return Ratio("a thousand variants: two cores to one", two / one, 1 / 1.7, f"{one:.1f} s to {two:.1f} s")


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        ratios = [
            *cold_commands(Path(folder)),
            *again(),
            *growth(),
            growth_with_bodies(),
            places(),
            families(),
            drives(),
            *surveys(),
            *holding(),
        ]
    for ratio in ratios:
        print(ratio)
    return int(any(ratio.over for ratio in ratios))


if __name__ == "__main__":
    sys.exit(main())
