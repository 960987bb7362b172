"""How examples are drawn in every test: one profile of hypothesis, loaded before any test module is read."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

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
