"""How examples are drawn in every test, loaded before any test module is read; and a terminal for the commands."""

from __future__ import annotations

import gc
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers

from tests.terminal import ROOT, Terminal

# As the commands do: on small matrices threads only wait for each other, and the tests run side by side already. What
# several threads compute is held against it by tests/machines and .ci/run, which set this themselves.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile(
    "platekit",
    # No test has a clock: a busy machine is no fault of the plate. What is slow shows in tests/benchmarks.
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    # The same examples in every run, drawn from the test's own text: a red test then tells of the change at hand and is
    # red on every machine, not by luck on one of them. New ground is broken by `python -m tests.adversary`.
    derandomize=True,
    # A failure prints what repeats it, with no database at hand.
    print_blob=True,
    database=None,
)
settings.load_profile("platekit")

# hypothesis also draws from the constants in our modules that are loaded by then, and which these are hangs on what a
# worker was given to run before: the same test drew other plates in another run. No setting turns that off, so its list
# is made to stay empty; where a release of hypothesis has none of that name, nothing is lost but the sameness.
if hasattr(providers, "_get_local_constants"):
    providers._get_local_constants = lambda: providers._local_constants


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Lets a worker that is done take tests from another's queue: some take a minute, most a hundredth of a second."""
    # only where tests run side by side, and nobody named another way
    if getattr(config.option, "numprocesses", None) and config.option.dist == "no":
        config.option.dist = "worksteal"


@pytest.fixture
def terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Terminal]:
    shutil.copytree(ROOT / "specs", tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    seldom = gc.get_threshold()
    yield Terminal(monkeypatch, capsys)
    gc.set_threshold(*seldom)
