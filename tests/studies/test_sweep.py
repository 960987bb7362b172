"""A family of plates: every combination, the same whatever works it out, and each as if it stood alone."""

from __future__ import annotations

import csv
import io
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

import platekit
from platekit.checks import check
from platekit.errors import PlatekitError
from platekit.export.picture.sweep import sweep_svg
from platekit.export.text.sweep import sweep_csv, sweep_text
from platekit.jobs.sweep import sweep as job
from platekit.spec import with_value
from platekit.studies.sweep import Over, _unheard, over_of, sweep

PLATE = """\
platekit: 1
title: A family
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 200, height: 120}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {points: [[-60, 0], [60, 0]], hole: 9}
    bolts: {size: M8, into: part, depth: 18, head: hex, washer: true}
cutting: {process: laser}
"""
THICK = Over("plate.thickness", (6, 8, 10))
WIDE = Over("plate.outline.rectangle.width", (120, 200))


def spec() -> platekit.Spec:
    return platekit.loads(PLATE, "family.yaml")


def test_every_combination_is_what_the_spec_with_these_values_comes_to() -> None:
    swept = sweep(spec(), [THICK, WIDE], workers=1)
    assert [variant.values for variant in swept.variants] == [
        (6, 120),
        (6, 200),
        (8, 120),
        (8, 200),
        (10, 120),
        (10, 200),
    ]
    for variant in swept.variants:
        text = PLATE
        for one, value in zip(swept.over, variant.values, strict=True):
            text = with_value(text, one.field, value)
        alone = platekit.lay_out(platekit.loads(text, "family.yaml"))
        assert variant.state == check(alone).word
        assert variant.mass == pytest.approx(alone.mass)
        assert variant.revision == alone.spec.revision
    # 120 mm of plate do not hold holes that are 120 mm apart
    assert {variant.values[1] for variant in swept.variants if variant.state == "clear"} == {200}


def test_the_lightest_without_a_warning_comes_first() -> None:
    best = sweep(spec(), [THICK, WIDE], workers=1).best
    assert [variant.values[0] for variant in best] == [6, 8, 10]
    # steel of 7850 kg/m3: 200 x 120 x 6 mm less two holes of 9
    by_hand = 7850e-9 * 6 * (200 * 120 - 2 * 3.141592653589793 * 4.5**2)
    assert best[0].mass == pytest.approx(by_hand, rel=5e-3)


def test_processes_and_threads_give_the_same_as_this_process() -> None:
    alone = sweep(spec(), [Over("plate.thickness", tuple(range(5, 14))), WIDE], workers=1)
    together = sweep(spec(), alone.over, workers=2)
    with ThreadPoolExecutor(2) as threads:
        elsewhere = sweep(spec(), alone.over, executor=threads)
    assert alone.variants == together.variants == elsewhere.variants
    assert alone.wanted == 18


class Interrupted(Executor):
    """An executor at which somebody presses Ctrl-C after the first batch."""

    def __init__(self) -> None:
        self.calls = 0

    def submit(self, work: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.calls += 1
        if self.calls == 1:
            future.set_result(work(*arguments, **named))
        else:
            threading.Timer(0.05, self.press, [future]).start()
        return future

    @staticmethod
    def press(future: Future[Any]) -> None:
        if future.set_running_or_notify_cancel():
            future.set_exception(KeyboardInterrupt())


def test_an_interrupt_leaves_what_is_done() -> None:
    swept = sweep(spec(), [Over("plate.thickness", tuple(range(5, 25)))], executor=Interrupted())
    assert not swept.whole
    assert [variant.number for variant in swept.variants] == list(range(1, 9))
    assert "stopped after 8 of 20" in sweep_text(swept)


def test_what_cannot_be_used_is_a_row_with_its_reason() -> None:
    swept = sweep(spec(), [Over("plate.thickness", (8, "thick"))], workers=1)
    assert [variant.state for variant in swept.variants] == ["clear", "unusable"]
    assert "thick" in swept.variants[1].why
    with pytest.raises(PlatekitError, match="none of the 2 variants can be used"):
        sweep(spec(), [Over("plate.thicknes", (8, 9))], workers=1)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("plate.thickness", "write a field and its values"),
        ("=6", "write a field and its values"),
        ("plate.thickness=", "write a field and its values"),
        ("plate.thickness=[6,", "write the values as in a spec"),
        ("plate.thickness=6,,8", "comma"),
    ],
)
def test_a_slip_in_what_is_swept_is_told(text: str, said: str) -> None:
    with pytest.raises(PlatekitError, match=said):
        over_of(text)


def test_values_are_those_of_a_spec() -> None:
    assert over_of("a.b=6, 1/4 in, {belt: {from: machine, angle: 60 deg}}").values == (
        6,
        "1/4 in",
        {"belt": {"from": "machine", "angle": "60 deg"}},
    )


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ((), "nothing to sweep over"),
        ((THICK, THICK), "two --over"),
        ((Over("a", (1,) * 300), Over("b", (1,) * 300)), "90000"),
    ],
)
def test_a_sweep_over_nothing_twice_or_too_much_is_refused(over: tuple[Over, ...], said: str) -> None:
    with pytest.raises(PlatekitError, match=said):
        sweep(spec(), over, workers=1)


def test_list_and_picture_tell_every_variant(tmp_path: Path) -> None:
    path = tmp_path / "family.yaml"
    path.write_text(PLATE)
    told = job(path, tmp_path / "out", ["plate.thickness=6,8,10", "plate.outline.rectangle.width=120,200"], 1)
    assert [file.name for file in told.written] == ["family.sweep.csv", "family.sweep.svg"]
    rows = list(csv.DictReader(io.StringIO(told.written[0].read_bytes().decode())))
    assert [row["plate.thickness"] for row in rows] == ["6", "6", "8", "8", "10", "10"]
    assert [row["verdict"] for row in rows].count("clear") == 3
    assert told.figures["best"] == [2, 4, 6]
    assert "3 clear to cut, 3 with a stop" in told.text
    assert told.written[1].read_text().count("<circle") == 3


def test_the_same_sweep_gives_the_same_bytes() -> None:
    one, two = (sweep(spec(), [THICK, WIDE], workers=1) for _ in range(2))
    assert sweep_csv(one) == sweep_csv(two)
    assert sweep_svg(one) == sweep_svg(two)


@pytest.mark.filterwarnings("ignore")  # of the engine's own, which change from version to version
def test_an_engine_that_spreads_work_over_machines_takes_a_sweep() -> None:
    distributed = pytest.importorskip("distributed")
    settings = {"n_workers": 1, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with distributed.LocalCluster(**settings) as cluster, distributed.Client(cluster) as client:
        swept = sweep(spec(), [THICK, WIDE], executor=client.get_executor())
    assert swept.variants == sweep(spec(), [THICK, WIDE], workers=1).variants


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="Windows starts processes otherwise")
def test_a_worker_is_deaf_to_ctrl_c_from_its_first_moment() -> None:
    """Else one that still imports when it is pressed would print its own trace."""
    asked = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))"
    with _unheard():
        told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "True"
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])
