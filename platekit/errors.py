"""The errors of platekit, all under one base.

    PlatekitError                 anything that a user can cause
    +-- UnitError                 a length, angle, speed ... that cannot be read
    +-- LookupFailed              a designation, size or material that no table knows
    +-- SpecError                 the spec cannot be used; carries every Problem found
    +-- GeometryError             a shape that does not exist (zero radius, loop that crosses itself)
    +-- SurveyError               readings that cannot be solved
    |   +-- BadReading            one of them, which is named (survey/net.py)
    |       +-- WrongReading      one that cannot be true beside the others (survey/solve.py)
    |       +-- Floating          readings that leave a hole where they please (survey/solve.py)
    +-- DrawingError              an outline drawn in a DXF or SVG file that cannot be read (spec/drawings.py)
    +-- DriveError                a belt drive that does not exist
    +-- StrengthError             a plate whose strength cannot be worked out
    +-- PaperError                measured bars of a print that no correction follows from
    +-- ModelError                a maker's STEP model that cannot be used (geometry/kernel.py)
    +-- KernelMissing             what needs the solid kernel, which is not installed (geometry/kernel.py)
    +-- ScanMissing               what needs opencv, which is not installed (scan/opencv.py)
    +-- PictureError              a picture that cannot be used (scan/opencv.py)
    +-- BadRequest                something that no page of ours would ask (page/acts.py)
    +-- Stale                     an edit of the page against a text that the file no longer holds (page/desk.py)
    +-- LeftOff                   a search for places that its user left (page/desk.py)
    +-- OutputError               a file could not be written or did not pass its proof
        +-- SheetError            a plate that does not go on the paper; becomes a SpecError where the spec is known

A *finding* is about the plate (see `platekit.checks`), an *error* about what was given, a bug is anything else.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

SHOWN: Final = 100
"""Most characters of a user's line that a message shows (ours): a file can be one long line."""
SHOWN_BEFORE: Final = 40
"""How many of them stand before the place that is meant, when the line is longer than that (ours)."""


def printable(text: str) -> str:
    r"""The text with every character that does not print shown by its code.

    >>> printable("a" + chr(10))
    'a\\n'
    """
    return text if text.isprintable() else "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)


class PlatekitError(Exception):
    """Base of every error that a user can cause; `str()` of it is one sentence for a shop person.

    `also` are sentences on what was done all the same, such as outdated files that were taken away.

    File names may hold anything, also what moves a terminal's cursor; so what does not print is shown by its code.
    """

    also: tuple[str, ...] = ()

    def __str__(self) -> str:
        return "\n".join(map(printable, super().__str__().split("\n")))


class UnitError(PlatekitError):
    """A quantity that cannot be read; `found` is what was given, `wanted` what would do."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"found {found}; {wanted}")
        self.found = found
        self.wanted = wanted


class LookupFailed(PlatekitError):
    """A name that a table does not hold.

    `why` says what is not there, `wanted` what would do ("" where that says itself), `nearest` the names closest to it.
    """

    def __init__(self, why: str, nearest: tuple[str, ...] = (), wanted: str = "") -> None:
        super().__init__(f"{why}; {wanted}" if wanted else why)
        self.why = why
        self.wanted = wanted
        self.nearest = nearest


class GeometryError(PlatekitError):
    """A shape that does not exist: `why`, and what would do (`wanted`, "" where that says itself)."""

    def __init__(self, why: str, wanted: str = "") -> None:
        super().__init__(f"{why}; {wanted}" if wanted else why)
        self.why = why
        self.wanted = wanted


class SurveyError(PlatekitError):
    """Readings that cannot be solved."""


class DriveError(PlatekitError):
    """A belt drive that does not exist: `why`, and what would do (`wanted`, "" where that says itself)."""

    def __init__(self, why: str, wanted: str = "") -> None:
        super().__init__(f"{why}; {wanted}" if wanted else why)
        self.why = why
        self.wanted = wanted


class StrengthError(PlatekitError):
    """A plate whose strength cannot be worked out: one that nothing holds, or of which no mesh can be made."""


class PaperError(PlatekitError):
    """Measured bars of a print from which no correction follows.

    `bar` is the reading meant, "" when it is all of them; `found` and `wanted` are the halves of the sentence.
    """

    def __init__(self, bar: str, found: str, wanted: str) -> None:
        super().__init__(f"{bar or 'the measured bars'}: found {found}; {wanted}")
        self.bar = bar
        self.found = found
        self.wanted = wanted


class OutputError(PlatekitError):
    """A file could not be written whole, or what was written did not pass its proof."""


class SheetError(OutputError):
    """A plate that does not go on the paper asked for; `found` and `wanted` are the halves of the sentence."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"paper.size: {found}; {wanted}")
        self.found = found
        self.wanted = wanted


class Problem(Struct, frozen=True):
    """One thing wrong in a spec: where it stands, what was found and what would do.

    `line` and `column` count from 1; 0 when the place is not known. `field` is dotted (`mounts.motor.screws.fit`).
    `source_line` is the user's own line, `length` how many characters of it are meant.
    """

    file: str
    line: int
    column: int
    field: str
    found: str
    wanted: str
    source_line: str = ""
    length: int = 1

    def __str__(self) -> str:
        file = printable(self.file)
        place = f"{file}:{self.line}:{self.column}" if self.line else file
        where = f"  {self.field}:" if self.field else " "
        return f"{place}{where} found {self.found}; {self.wanted}"

    def pointed(self) -> str:
        """The sentence, and below it the user's own line with the place marked."""
        if not self.source_line:
            return str(self)
        before = max(self.column - 1, 0)
        cut = before - SHOWN_BEFORE if len(self.source_line) > SHOWN and before > SHOWN_BEFORE else 0
        text = self.source_line[cut : cut + SHOWN]
        mark = " " * (before - cut) + "^" * max(min(self.length, len(text) - (before - cut)), 1)
        return f"{self}\n    {text}\n    {mark}"


class SpecError(PlatekitError):
    """The spec cannot be used; `problems` holds all that was found, in the order of the file."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
