"""A family of plates: one spec with some of its numbers changed, in every combination, each laid out and judged.

Every variant is worked out for itself and knows nothing of the others, so they may be worked out anywhere and in any
order: on all cores of this machine, or by whatever else speaks the interface of `concurrent.futures`. What comes back
is in the order of the combinations, the last number changing fastest.
"""

from __future__ import annotations

import math
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from functools import lru_cache
from itertools import islice, product
from typing import Final, Literal

from msgspec import Struct

from platekit.analysis.fitting import fits
from platekit.checks import check
from platekit.checks.strength import holds_of
from platekit.cutting import plan
from platekit.errors import PlatekitError, SpecError
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec, loads, loads_at, with_data
from platekit.spec.editing import Value
from platekit.spec.places_to_find import to_be_found
from platekit.spec.source import read, source_of

MOST_VARIANTS: Final = 20_000
"""Most variants of one sweep (ours): a quarter of an hour on one core for an ordinary plate."""
BATCH: Final = 8
"""Variants that are handed over at a time (ours): the way to another process and back costs a thousandth of a second
and is paid once a batch; larger batches leave a core idle at the end."""
AHEAD: Final = 4
"""Batches that wait for each worker (ours): enough that none is idle, few enough that an interrupt ends soon."""

State = Literal["clear", "stop", "unusable"]
Values = tuple[Value, ...]


class Over(Struct, frozen=True):
    """A field of the spec and the values that it takes in turn, as they would stand in the spec."""

    field: str
    values: Values


class Belt(Struct, frozen=True):
    """What the belts come to: slowest and fastest speed of the working shaft, rpm, and how far it is away, mm.

    The speeds are None where the spec says no motor speed.
    """

    slowest_rpm: float | None
    fastest_rpm: float | None
    centre_distance: float


class Variant(Struct, frozen=True):
    """One plate of the family.

    `mass` in kg, `area` mm2, `cutting_s` s, `cost` in the currency of the machine's file; `odds` is the least
    probability of all mounts that every screw goes in, `rings` the lowest natural frequency (Hz, softest seats). None
    where that is not known. `rules` are the rules of its open stops, or of its warnings where nothing stops it;
    `why` is the worst of them in words.
    """

    number: int
    values: Values
    state: State
    stops: int
    warnings: int
    rules: tuple[str, ...]
    why: str
    revision: str
    mass: float | None = None
    area: float | None = None
    cutting_s: float | None = None
    cost: float | None = None
    currency: str = ""
    odds: float | None = None
    rings: float | None = None
    belt: Belt | None = None


class Swept(Struct, frozen=True):
    """All variants that were worked out, in their order; `wanted` says how many there are in all."""

    spec: Spec
    over: tuple[Over, ...]
    variants: tuple[Variant, ...]
    wanted: int

    @property
    def whole(self) -> bool:
        """Whether every variant was worked out; not so after an interrupt."""
        return len(self.variants) == self.wanted

    @property
    def best(self) -> tuple[Variant, ...]:
        """The variants that may be cut: fewest warnings first, then the lightest, then in their order."""
        clear = (variant for variant in self.variants if variant.state == "clear")
        return tuple(sorted(clear, key=lambda v: (v.warnings, round(v.mass or math.inf, 6), v.number)))


# ------------------------------------------------------------------------------------------ what is swept


def over_of(text: str) -> Over:
    """What `plate.thickness=6,8,10` says; values are written as in the spec, so they may be groups in brackets.

    Raises `PlatekitError`.

    >>> over_of("mounts.motor.turn=0, 45 deg").values
    (0, '45 deg')
    """
    field, equals, listed = (part.strip() for part in text.partition("="))
    if not equals or not field or not listed:
        raise PlatekitError(f"found --over {text!r}; write a field and its values, such as plate.thickness=6,8,10")
    top, problems = read(source_of(f"[{listed}]", "--over"))
    if top is None or problems or not isinstance(top.data, list) or not top.data:
        raise PlatekitError(f"found --over {text!r}; write the values as in a spec, with commas between them")
    if any(value is None for value in top.data):
        raise PlatekitError(f"found an empty value in --over {text!r}; leave out the comma too much")
    return Over(field, tuple(top.data))


def count_of(over: Sequence[Over]) -> int:
    """How many combinations there are; raises `PlatekitError` for none, a field named twice, or too many."""
    if not over:
        raise PlatekitError("found nothing to sweep over; give --over, such as --over plate.thickness=6,8,10")
    fields = [one.field for one in over]
    twice = next((field for field in fields if fields.count(field) > 1), None)
    if twice is not None:
        raise PlatekitError(f"found {twice} in two --over; give all its values in one")
    count = math.prod(len(one.values) for one in over)
    if count > MOST_VARIANTS:
        raise PlatekitError(f"found {count} combinations, more than {MOST_VARIANTS}; give fewer values")
    return count


# ------------------------------------------------------------------------------------------ one variant


def batch_of(
    text: str, path: str | None, fields: tuple[str, ...], batch: tuple[tuple[int, Values], ...]
) -> list[Variant]:
    """Some variants of the spec whose text is given, worked out here; a function of its arguments only.

    It is what other processes and machines are sent, which have no spec in memory. `path` is that of the spec, so
    that its drawings and its machine are found beside it.
    """
    spec = _read(text, path)
    return [_judged(spec, fields, number, values) for number, values in batch]


@lru_cache(maxsize=1)
def _read(text: str, path: str | None) -> Spec:
    # read once a process: every variant of a sweep is of the same text
    return loads(text) if path is None else loads_at(text, path)


def _judged(spec: Spec, fields: tuple[str, ...], number: int, values: Values) -> Variant:
    try:
        changed = with_data(spec, zip(fields, values, strict=True))
        if to_be_found(changed):
            from platekit.studies.place import found

            changed = found(changed)
        layout = lay_out(changed)
        verdict = check(layout)
    except PlatekitError as error:
        return Variant(number, values, "unusable", 0, 0, (), _first_sentence(error), "")
    stops, warns = verdict.open("stop"), verdict.open("warn")
    told = stops or warns
    rules = tuple(dict.fromkeys(finding.rule for finding in told))
    cut, odds = plan(layout), [fit.probability for fit in fits(layout)]
    holds = holds_of(layout)
    cost = None if cut is None else cut.cost
    return Variant(
        number,
        values,
        verdict.word,
        len(stops),
        len(warns),
        rules,
        told[0].message if told else "",
        changed.revision,
        layout.mass,
        layout.net_area,
        None if cut is None else cut.total_s,
        None if cost is None else cost.sum,
        "" if cost is None else cost.currency,
        min(odds) if odds else None,
        None if holds is None else holds.rings,
        _belt(layout),
    )


def _belt(layout: Layout) -> Belt | None:
    if not layout.belts:
        return None
    # the last belt turns the working shaft
    last = layout.belts[-1]
    speeds = [point.speed_rpm for point in last.result.points]
    return Belt(min(speeds, default=None), max(speeds, default=None), last.result.centre_distance)


def _first_sentence(error: PlatekitError) -> str:
    if isinstance(error, SpecError) and error.problems:
        problem = error.problems[0]
        return f"{problem.field}: found {problem.found}; {problem.wanted}" if problem.field else problem.found
    return str(error)


# ------------------------------------------------------------------------------------------ all of them


def sweep(
    spec: Spec,
    over: Sequence[Over],
    *,
    workers: int | None = None,
    executor: Executor | None = None,
    working: Callable[[str], None] = lambda words: None,
) -> Swept:
    """Every combination of `over`, each laid out and judged; the same whatever works it out.

    `workers` processes of this machine share the work (all its cores if None; 1: this process alone). An `executor`
    of the user's, of any engine that has `submit` of `concurrent.futures`, takes it instead, also over several
    machines: each needs platekit, and the spec's drawings, machine file and tables at the same path. After Ctrl-C
    what is done is given, see `Swept.whole`.

    Raises `PlatekitError` for a sweep over nothing or too much, `SpecError` where no variant at all can be used.
    """
    wanted = count_of(over)
    fields = tuple(one.field for one in over)
    combinations = enumerate(product(*(one.values for one in over)), start=1)
    batches = iter(lambda: tuple(islice(combinations, BATCH)), ())
    path = None if spec.path is None else str(spec.path.absolute())
    many = min(workers or os.cpu_count() or 1, math.ceil(wanted / BATCH))
    done: list[Variant] = []

    def tell() -> None:
        working(f"{len(done)} of {wanted} variants")

    try:
        if executor is not None:
            for some in _shared(executor, AHEAD * (os.cpu_count() or 1), spec.text, path, fields, batches):
                done += some
                tell()
        elif many == 1:
            for batch in batches:
                for one in batch:
                    done += batch_of(spec.text, path, fields, (one,))
                tell()
        else:
            # Spawned on every system alike: a fork would copy whatever threads of the page hold at that moment.
            pool = ProcessPoolExecutor(many, multiprocessing.get_context("spawn"), initializer=_deaf_to_interrupts)
            try:
                for some in _shared(pool, AHEAD * many, spec.text, path, fields, batches):
                    done += some
                    tell()
            finally:
                pool.shutdown(wait=True, cancel_futures=True)
    except KeyboardInterrupt:
        # What is done is worth having, an hour's sweep above all; the rest is left, and that is said.
        pass
    done.sort(key=lambda variant: variant.number)
    swept = Swept(spec, tuple(over), tuple(done), wanted)
    if done and swept.whole and all(variant.state == "unusable" for variant in done):
        raise PlatekitError(f"none of the {wanted} variants can be used; the first: {done[0].why}")
    return swept


def _shared(
    executor: Executor,
    most: int,
    text: str,
    path: str | None,
    fields: tuple[str, ...],
    batches: Iterator[tuple[tuple[int, Values], ...]],
) -> Iterator[list[Variant]]:
    """What the workers give, as it comes; at most so many batches are under way."""
    under_way: set[Future[list[Variant]]] = set()
    try:
        while True:
            for batch in islice(batches, most - len(under_way)):
                # a worker that this starts is deaf from its first moment on, while it still imports
                with _unheard():
                    under_way.add(executor.submit(batch_of, text, path, fields, batch))
            if not under_way:
                return
            ready, under_way = wait(under_way, return_when=FIRST_COMPLETED)
            for future in ready:
                yield future.result()
    finally:
        for future in under_way:
            future.cancel()


@contextmanager
def _unheard() -> Iterator[None]:
    """Ctrl-C waits meanwhile: this process hears of it afterwards, those that it starts never do."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _deaf_to_interrupts() -> None:
    """In a worker: Ctrl-C at a terminal reaches all its processes, and it is the first that decides what to do."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
