"""`python -m tests.adversary [--seconds N] [--count N] [--kind K]... [--seed S] [--all]`: whatever may break platekit.

Every kind is tried in turn, a lot at a time, until the time is up, each kind has had its count, or it is interrupted.
Trouble is printed when it comes, and at the end each kind of it once, with the smallest text that shows it, and how the
runs ended; the exit code is 1 if there was any: an exception, a run without end, words that no one understands, half a
file, a file where none belongs. With `--all` every drawn plate is written in every format too. The same seed draws the
same, so what is found can be found again. Kinds: drawn (specs drawn from the whole language), specs (spoilt example
files), machines, printers, bars, coupons, readings, dxf, svg (inputs with slips), commands (every command on them),
advice (slips of sound plates, each advice carried out).
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.strategies import SearchStrategy

from tests import strategies
from tests.adversary.bound import TooLong, at_most
from tests.adversary.kinds import KINDS
from tests.adversary.runs import faults, outcome, written
from tests.strategies import AWKWARD, USUAL, as_text, countershafts, coupled, guarded, in_inches, machines, plates

LOT = 100
"""Trials of one kind before the next kind has its turn, and the seed goes on by one."""
SLOW = 10.0
"""A trial that takes longer than this is told of, seconds of processor time."""
LONGEST = 60.0
"""A trial that takes longer than this is ended, seconds of processor time."""


@dataclass
class Log:
    """What was run and what went wrong: by kind, the shortest text that shows it."""

    ends: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    wrong: dict[str, tuple[str, str]] = field(default_factory=dict)
    slowest: dict[str, float] = field(default_factory=dict)

    def note(self, trouble: str, text: str, trace: str = "") -> None:
        """Keep what went wrong, if it is new or shown by a shorter text; new trouble is told at once."""
        if trouble not in self.wrong:
            print(f"!!! {trouble}\n{text}\n{trace}", flush=True)
        if trouble not in self.wrong or len(text) < len(self.wrong[trouble][0]):
            self.wrong[trouble] = (text, trace)

    def tried(self, kind: str, text: str, trial: Callable[[], tuple[str, list[str]]]) -> None:
        """One trial, whatever it ends in."""
        began = time.process_time()
        end = "EXCEPTION"
        try:
            with at_most(LONGEST):
                end, found = trial()
            for fault in found:
                self.note(f"{kind}: {fault[:100]}", text)
        except TooLong as error:
            self.note(f"{kind}: without end in {_place(error)}", text, traceback.format_exc())
        except Exception as error:  # an exception of any kind is what is looked for
            self.note(f"{kind}: {type(error).__name__} in {_place(error)}", text, traceback.format_exc())
        took = time.process_time() - began
        self.ends[kind][end] += 1
        self.slowest[kind] = max(self.slowest.get(kind, 0.0), took)
        if took > SLOW:
            self.note(f"{kind}: took {took:.0f} s", text)


def _place(error: BaseException) -> str:
    """Where in platekit it came from, and where it was raised."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if "platekit" in Path(frame.filename).parts] or frames
    return " < ".join(f"{Path(frame.filename).name}:{frame.lineno}" for frame in (frames[-1], ours[-1]))


class TimeUp(Exception):
    """The time given is over."""


def draw_lot(number: int, kind: SearchStrategy[str], log: Log, draw: bool, size: int, until: float) -> None:
    """A lot of drawn specs, from reading to verdict, and on to every format if wanted."""

    def trial(text: str) -> tuple[str, list[str]]:
        ended = outcome(text)
        found = [f"said badly: {fault[:80]}" for fault in faults(ended)]
        if draw and ended.layout is not None and ended.verdict is not None:
            told = written(ended.layout, ended.verdict)
            found += [f"{name}: {said[:80]}" for name, said in told.items() if "please report this" in said]
        return ended.code.name, found

    @seed(number)
    @settings(
        max_examples=size,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(kind)
    def run(text: str) -> None:
        if time.monotonic() > until:
            raise TimeUp
        log.tried("drawn", text, lambda: trial(text))

    with suppress(TimeUp):
        run()


DRAWN: tuple[Callable[[], SearchStrategy[str]], ...] = (
    lambda: plates(USUAL).map(as_text),
    lambda: machines(USUAL).map(as_text),
    lambda: countershafts(USUAL).map(as_text),
    lambda: coupled(USUAL).map(as_text),
    lambda: guarded(USUAL).map(as_text),
    lambda: coupled(AWKWARD).map(in_inches).map(as_text),
    lambda: countershafts(AWKWARD).map(in_inches).map(as_text),
    lambda: plates(AWKWARD).map(as_text),
    lambda: machines(AWKWARD).map(in_inches).map(as_text),
    lambda: plates(USUAL, moves=True).map(in_inches).map(as_text),
    strategies.odd_texts,
)


def try_lot(kind: str, number: int, log: Log, folder: Path, size: int, until: float) -> None:
    """A lot of trials of one kind."""
    for index in range(size):
        if time.monotonic() > until:
            return
        rng = random.Random(f"{kind}/{number}/{index}")
        text, trial = KINDS[kind](rng, folder)
        log.tried(kind, text, trial)


def main() -> int:
    """Runs until the time is up or the count is reached; 1 if anything went wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.adversary", description=__doc__)
    parser.add_argument("--seconds", type=float, help="how long in all; 60 if neither this nor --count is given")
    parser.add_argument("--count", type=int, help="how many trials of each kind")
    parser.add_argument("--kind", action="append", choices=["drawn", *KINDS], help="all if left out")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--all", action="store_true")
    given_words = parser.parse_args()
    seconds = given_words.seconds or (60.0 if given_words.count is None else float("inf"))
    left = dict.fromkeys(given_words.kind or ["drawn", *KINDS], given_words.count or sys.maxsize)
    until = time.monotonic() + seconds
    log = Log()
    number = given_words.seed * 1_000_000
    with TemporaryDirectory() as folder, suppress(KeyboardInterrupt):
        while left and time.monotonic() < until:
            for kind in list(left):
                size = min(LOT, left[kind])
                if kind == "drawn":
                    draw_lot(number, DRAWN[number % len(DRAWN)](), log, given_words.all, size, until)
                else:
                    try_lot(kind, number, log, Path(folder), size, until)
                left[kind] -= size
                if not left[kind]:
                    del left[kind]
            number += 1
    for trouble, (text, trace) in log.wrong.items():
        print(f"--- {trouble}\n{text}\n{trace}")
    for kind, ends in log.ends.items():
        print(f"{kind}: {ends.total()} {dict(ends)}, the slowest in {log.slowest[kind]:.1f} s of processor time")
    print(f"{sum(ends.total() for ends in log.ends.values())} trials, {len(log.wrong)} kinds of trouble")
    return 1 if log.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
