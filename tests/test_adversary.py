"""The adversary in short: the same few of each kind in every run; `python -m tests.adversary` draws others.

Whatever is typed, saved or drawn, a command ends in exit code 0, 1 or 2 and sentences, within a bound of processor
time, and leaves whole files where they belong and nothing else.
"""

from __future__ import annotations

import random
import time
from collections import Counter
from pathlib import Path

import pytest

from platekit.cli import Exit
from tests.adversary import commands
from tests.adversary.bound import TooLong, at_most
from tests.adversary.kinds import KINDS, with_specs

LONGEST = 30.0
"""Processor time after which a trial is taken for one without end, s; the usual ones take a tenth of a second."""
ENDS: dict[str, tuple[int, set[str]]] = {
    "grammar": (20, {"CLEAR", "STOP", "UNUSABLE"}),
    "machines": (60, {"CLEAR", "UNUSABLE"}),
    "printers": (60, {"CLEAR", "UNUSABLE"}),
    "bars": (60, {"CLEAR", "UNUSABLE"}),
    "coupons": (80, {"CLEAR", "UNUSABLE"}),
    "readings": (40, {"CLEAR", "STOP", "UNUSABLE"}),
    "dxf": (40, {"CLEAR", "UNUSABLE"}),
    "svg": (80, {"CLEAR", "UNUSABLE"}),
    "commands": (25, {"CLEAR", "UNUSABLE"}),
    "pictures": (8, {"CLEAR", "UNUSABLE"}),
    "pictures on the page": (6, {"SEEN", "REFUSED"}),
    "frames": (30, {"CLEAR", "UNUSABLE"}),
}
"""By kind: how many trials, and the ends that they must reach, so that they are not all turned down at once."""


@pytest.mark.parametrize("kind", ENDS)
def test_every_trial_ends_as_it_should(kind: str, tmp_path: Path) -> None:
    count, reached = ENDS[kind]
    ends = Counter[str]()
    for number in range(count):
        text, trial = KINDS[kind](random.Random(f"{kind}/short/{number}"), tmp_path)
        with at_most(LONGEST):
            end, found = trial()
        assert not found, text
        ends[end] += 1
    assert set(ends) >= reached


# --------------------------------------------------------------------------------------------- the adversary itself


def test_a_trial_without_end_is_ended() -> None:
    with pytest.raises(TooLong), at_most(0.05):
        sum(1 for _ in iter(time.process_time, -1.0))


def test_what_a_command_should_not_leave_behind_is_seen() -> None:
    before = {"spec.yaml": b"a"}
    after = {
        "spec.yaml": b"b",
        "stray.txt": b"",
        "out/.12.part": b"",
        "out/a.svg": b"<svg",
        "out/a.json": b'{"x": NaN}',
        "out/a.pdf": b"%PDF-1.4 half",
        "out/whole.svg": b"<svg/>",
        "out/whole.json": b"{}",
    }
    found = commands.disturbed(before, after, ("out/",))
    assert sorted(trouble.split(":")[0] for trouble in found) == [
        *("out/.12.part", "out/a.json", "out/a.pdf", "out/a.svg"),
        *("touched spec.yaml", "touched stray.txt"),
    ]


def test_a_mistake_of_platekit_comes_through(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("platekit.tables.described", broken)
    with pytest.raises(ZeroDivisionError):
        commands.run("tables", "M8")


# --------------------------------------------------------------------------------------------- names of files

LONG = "x" * 300
"""Longer than any file may be called."""


@pytest.mark.parametrize(
    "words",
    [
        ("new", LONG),
        ("check", LONG),
        ("make", "specs/bead-sorter.yaml", "--no-solid", "--out", LONG),
        ("coupon", "--out", LONG),
        ("survey", LONG),
        ("template", "specs/bead-sorter.yaml", "--printer", LONG),
        ("compare", "specs/bead-sorter.yaml", LONG),
    ],
)
def test_a_name_too_long_for_any_disk_is_told(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_specs(tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    ended = commands.run(*words)
    assert not commands.faults(ended)
    assert ended.code == Exit.UNUSABLE
    assert not list(tmp_path.glob("*.*"))
