"""Prints the ratios: what platekit takes to what its libraries take anyway, and how time grows with size."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import platekit
from platekit.checks.finding import Verdict
from platekit.export.picture import svg_text
from platekit.export.report_page import report_html
from tests.benchmarks.poses import rates

ROOT = Path(platekit.__file__).parents[1]
DEMO = ROOT / "specs" / "dough-mixer.yaml"
RUNS = 7
LIBRARIES = "import pydantic, shapely, numpy, ruamel.yaml, typer"


@dataclass(frozen=True)
class Ratio:
    """One line of the result: what was measured, against what, and how much it may be."""

    what: str
    value: float
    bound: float
    detail: str

    def __str__(self) -> str:
        sign = "ok  " if self.value <= self.bound else "OVER"
        return f"{sign} {self.what:<58} {self.value:8.2f}  (at most {self.bound:g})  {self.detail}"


def cold(*arguments: str, runs: int = RUNS) -> float:
    """Seconds of a fresh Python with these arguments: the median of several runs after one to warm the disk."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        done = subprocess.run([sys.executable, *arguments], cwd=ROOT, capture_output=True, check=False)
        times.append(time.perf_counter() - start)
        assert done.returncode in (0, 1), done.stderr.decode()
    return statistics.median(times[1:])


def warm(work: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of a call in this process: the median of several runs after one."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def compared(what: str, own: float, base: float, bound: float) -> Ratio:
    return Ratio(what, own / base, bound, f"{own * 1e3:.0f} ms to {base * 1e3:.0f} ms")


def cold_commands(folder: Path) -> list[Ratio]:
    base = cold("-c", LIBRARIES)
    check = cold("-m", "platekit", "check", str(DEMO))
    by_hand = cold(str(Path(__file__).with_name("hand_drawn.py")), str(folder))
    flat = cold("-m", "platekit", "make", str(DEMO), "--no-solid", "--out", str(folder))
    bare = cold("-c", "import cadquery", runs=3)
    full = cold("-m", "platekit", "make", str(DEMO), "--out", str(folder), runs=3)
    return [
        compared("check of the demo, cold, to importing the libraries", check, base, 1.5),
        compared("make without the solid, cold, to a hand-written script", flat, by_hand, 2.0),
        compared("make with the solid, cold, to import cadquery plus that", full, bare + flat, 1.25),
    ]


def again() -> Ratio:
    spec = platekit.load(DEMO)
    value = warm(lambda: platekit.check(platekit.lay_out(spec)), runs=30)
    return Ratio("lay out and check the loaded demo again, in ms", value * 1e3, 10.0, "warm process")


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
    """A spec with a grid of holes and rows of bodies between them: posts, cones, lying cylinders, some with relief."""
    wide = 200
    points = ", ".join(f"[{25 * (i % wide)}, {25 * (i // wide)}]" for i in range(holes))
    kinds = (
        "shape: {circle: {diameter: 9}, at: [X, Y]}, span: [0, 40]",
        "steps: [{diameter: [9, 5], span: [0, 30]}], at: [X, Y]",
        "lying: {diameter: 8, length: 30, height: 12, axis: 30 deg}, at: [X, Y]",
        "shape: {circle: {diameter: 4}, at: [X, Y]}, span: [-8, 20], relief: auto",
    )
    rows = "".join(
        f"  b{i}: {{carried_by: plate, side: near, {kinds[i % 4]}}}\n".replace(
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


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        ratios = [*cold_commands(Path(folder)), again(), *growth(), growth_with_bodies(), places()]
    for ratio in ratios:
        print(ratio)
    return int(any(ratio.value > ratio.bound for ratio in ratios))


if __name__ == "__main__":
    sys.exit(main())
