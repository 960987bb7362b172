"""`python -m tests.adversary --seconds N [--seed S] [--all]`: new specs and newly spoilt files until the time is up.

Prints what went wrong, each kind once with the smallest text that shows it, and how the runs ended; exits 1 if
anything went wrong. With `--all` every plate is drawn in every format too. Whatever the seed, the same seed draws the
same specs, so what is found can be found again.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.strategies import SearchStrategy

import platekit
from tests import strategies
from tests.adversary.runs import faults, outcome, written
from tests.adversary.spoil import spoilt
from tests.strategies import AWKWARD, USUAL, as_text, in_inches, machines, plates

SPECS = sorted((Path(platekit.__file__).parent.parent / "specs").glob("*.yaml"))
LOT = 100
"""Specs drawn before the clock is looked at again and the seed goes on by one."""
SLOW = 10.0
"""A spec that takes longer than this is told of, seconds of processor time."""


@dataclass
class Log:
    """What was run and what went wrong: by kind, the shortest text that shows it."""

    ends: Counter[str] = field(default_factory=Counter)
    wrong: dict[str, tuple[str, str]] = field(default_factory=dict)

    def note(self, kind: str, text: str, trace: str = "") -> None:
        """Keep what went wrong, if it is new or shown by a shorter text."""
        if kind not in self.wrong or len(text) < len(self.wrong[kind][0]):
            self.wrong[kind] = (text, trace)


def tried(log: Log, text: str, spec: str | Path, draw: bool) -> None:
    """One spec from reading to verdict, and on to every format if wanted."""
    began = time.process_time()
    try:
        ended = outcome(spec)
        log.ends[ended.code.name] += 1
        for fault in faults(ended):
            log.note(f"said badly: {fault[:60]}", text)
        if draw and ended.layout is not None and ended.verdict is not None:
            for name, said in written(ended.layout, ended.verdict).items():
                if said and "please report this" in said:
                    log.note(f"{name}: {said[:80]}", text)
    except Exception as error:  # an exception of any kind is what is looked for
        place = traceback.extract_tb(error.__traceback__)[-1]
        log.ends["EXCEPTION"] += 1
        log.note(f"{type(error).__name__} in {Path(place.filename).name}:{place.lineno}", text, traceback.format_exc())
    if time.process_time() - began > SLOW:
        log.note(f"took {time.process_time() - began:.0f} s", text)


def draw_lot(number: int, kind: SearchStrategy[str], log: Log, draw: bool, until: float) -> None:
    """A lot of specs of one kind."""

    @seed(number)
    @settings(
        max_examples=LOT,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(kind)
    def run(text: str) -> None:
        if time.monotonic() > until:
            raise TimeUp
        tried(log, text, text, draw)

    with suppress(TimeUp):
        run()


class TimeUp(Exception):
    """The time given is over."""


def spoil_lot(number: int, log: Log, folder: Path, until: float) -> None:
    """A lot of spoilt example files."""
    file = folder / "spoilt.yaml"
    for index in range(LOT):
        if time.monotonic() > until:
            return
        rng = random.Random(f"{number}/{index}")
        raw = spoilt(rng.choice(SPECS).read_bytes(), rng)
        file.write_bytes(raw)
        tried(log, raw.decode("utf-8", "backslashreplace"), file, draw=False)


KINDS: tuple[Callable[[], SearchStrategy[str]], ...] = (
    lambda: plates(USUAL).map(as_text),
    lambda: machines(USUAL).map(as_text),
    lambda: plates(AWKWARD).map(as_text),
    lambda: machines(AWKWARD).map(in_inches).map(as_text),
    lambda: plates(USUAL, moves=True).map(in_inches).map(as_text),
    strategies.odd_texts,
)


def main() -> int:
    """Runs until the time is up; 1 if anything went wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.adversary", description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--all", action="store_true")
    given_words = parser.parse_args()
    until = time.monotonic() + given_words.seconds
    log = Log()
    number = given_words.seed * 1_000_000
    with TemporaryDirectory() as folder:
        while time.monotonic() < until:
            spoil_lot(number, log, Path(folder), until)
            for kind in KINDS:
                draw_lot(number, kind(), log, given_words.all, until)
            number += 1
    for kind, (text, trace) in log.wrong.items():
        print(f"--- {kind}\n{text}\n{trace}")
    print(f"{sum(log.ends.values())} specs: {dict(log.ends)}; {len(log.wrong)} kinds of trouble")
    return 1 if log.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
