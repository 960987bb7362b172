"""The spec on the desk: its text on the disk, what that comes to, and the way back.

The file is the one truth. Every act is an edit of it, named with the *state* (a mark of the text) that the page had
seen: where the file holds another text by then, whoever changed it, the edit is refused and the new text shown. So a
page and an editor, or two pages, never write over each other. What cannot be laid out keeps the last good plate.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterable
from itertools import count
from pathlib import Path
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks import LIVE, QUICK, check
from platekit.checks.finding import Remedy, Verdict
from platekit.errors import PlatekitError, Problem, SpecError
from platekit.export.files import rewrite
from platekit.layout import lay_out
from platekit.page.rough import roughly_laid
from platekit.placed import Layout
from platekit.scan.pictures import Picture
from platekit.spec import Spec, loads_at
from platekit.spec.editing import Value, with_value
from platekit.spec.places_to_find import to_be_found
from platekit.spec.reading import text_of_spec
from platekit.spec.source import MAX_BYTES
from platekit.studies.advised import Known, after_edit, by_and_by
from platekit.tables.rows import use_own

MOST_STEPS: Final = 200
"""Most steps that can be undone (ours: a day's work; each holds a text)."""
PATIENCE: Final = 20.0
"""For how long the advice on one state is tried, s (ours: then its user rather says which he wants to know about)."""
A_MOMENT: Final = 1.5
"""How long one question after advice waits for more of it, s (ours)."""
UNDER_WAY: Final = 0.3
"""A drag is taken to go on for so long after each of its moves, s (ours: a hand that rests is longer on its way)."""
SHOWN: Final = count(1)
"""Numbers of pictures: of all jobs, since a page that opens another one still has the last picture of the first."""
Edit = tuple[str, Value]


class Stale(PlatekitError):
    """An edit against a text that the file does not hold any more."""


class Now(Struct, frozen=True):
    """What the file comes to at one state. `layout` and `verdict` are the last good ones where `problems` are told.

    `out_of_reach` are pairs of a mount's holes that no caliper gets at, as its user said.
    `readable` is False where the text is no usable spec; `fresh` says that the layout is of this very text, and
    `advised` that the advice of its findings was tried.
    """

    state: str
    text: str
    readable: bool
    fresh: bool
    advised: bool
    spec: Spec | None
    layout: Layout | None
    verdict: Verdict | None
    problems: tuple[Problem, ...]
    out_of_reach: frozenset[tuple[str, frozenset[str]]] = frozenset()


class Held(Struct, frozen=True, eq=False):
    """A picture that the page was given, and the mark by which the page knows it; kept in memory and nowhere else."""

    mark: str
    picture: Picture


class LeftOff(PlatekitError):
    """A search that its user does not want to wait for any longer."""


class Errand:
    """What takes seconds and is waited for: how far it has come, and that it may be left."""

    def __init__(self) -> None:
        self.said = ""
        self._left = False

    def tell(self, words: str) -> None:
        """How far it has come; raises `LeftOff` where nobody waits for it any more."""
        self.said = words
        if self._left:
            raise LeftOff("the search was left; nothing was changed")

    def leave(self) -> None:
        """It ends when it tells the next time."""
        self._left = True


class Adviser:
    """Tries the advice of a verdict's findings in a thread of its own: a drag goes on meanwhile, an edit ends it."""

    def __init__(self, layout: Layout, verdict: Verdict, between: Callable[[], None]) -> None:
        """Begins at once; `between` is called before each step, and waits for what is more urgent."""
        self.verdict = verdict
        self.given: dict[int, Known] = {}
        self.more = threading.Event()
        self._between = between
        self._left = False
        self._until = time.monotonic() + PATIENCE
        # a daemon: whoever ends the page does not wait for what nobody will read
        threading.Thread(target=self._work, args=(layout, verdict), daemon=True).start()

    def leave(self) -> None:
        """It ends after the trial that is under way."""
        self._left = True

    def _work(self, layout: Layout, verdict: Verdict) -> None:
        use_own(layout.spec.own.rows)
        try:
            for given in by_and_by(layout, verdict, self._in_time, self._between):
                self.given = given
                if self._left:
                    return
        finally:
            self.more.set()

    def _in_time(self) -> bool:
        return not self._left and time.monotonic() < self._until


class Desk:
    """One spec in the hands of a page. Its methods may be called from several threads."""

    def __init__(self, path: Path, out: Path) -> None:
        """A desk for the spec at `path`, whose files go under `out`."""
        self.path = path
        self.out = out
        self._held = threading.RLock()
        self._now: Now | None = None
        self._before: list[str] = []
        self._after: list[str] = []
        self.picture: Held | None = None
        self.errand = Errand()
        self._adviser: Adviser | None = None
        self._beside_changed = False
        self._out_of_reach: frozenset[tuple[str, frozenset[str]]] = frozenset()
        self._tried: tuple[Now, list[Edit], Layout, Verdict] | None = None
        self._shown: tuple[int, Layout | None, Verdict | None, Any] = (0, None, None, None)
        self._moved = -UNDER_WAY

    def now(self) -> Now:
        """What the file comes to; read again when it has changed."""
        with self._held:
            text = text_of_spec(self.path)
            before = self._now
            if before is None or before.text != text or self._beside_changed:
                self._beside_changed = False
                # The picture of the last good text stays on the page while another is half typed.
                layout = None if before is None else before.layout
                verdict = None if before is None else before.verdict
                spec: Spec | None = None
                fresh = False
                problems: tuple[Problem, ...] = ()
                try:
                    placed = spec = loads_at(text, self.path)
                    if to_be_found(spec):
                        from platekit.studies.place import found

                        placed = found(spec, lambda words: None)
                    layout = lay_out(placed)
                    verdict = check(layout)
                    fresh = True
                except SpecError as error:
                    problems = error.problems
                except PlatekitError as error:
                    problems = (Problem(self.path.name, 0, 0, "", str(error), ""),)
                if spec is not None and not fresh and (rough := roughly_laid(spec)) is not None:
                    layout, verdict = rough, Verdict(())
                readable = spec is not None
                before = Now(
                    mark_of(text), text, readable, fresh, False, spec, layout, verdict, problems, self._out_of_reach
                )
            now = self._now = before
            # Each question comes in a thread of its own, which starts without the tables of the shop.
            use_own({} if now.spec is None else now.spec.own.rows)
            return now

    def advised(self) -> tuple[Now, dict[int, Known]]:
        """The same state, and what is known so far of the advice of its findings, by their identity.

        The first question of a state begins to try it, in a thread of its own, for at most `PATIENCE`; each waits a
        moment for more. `Now.advised` says that nothing more comes.
        """
        now = self.now()
        # A verdict that is not of this text is not advised on: its edits might not fit the text any more.
        if not now.fresh or now.layout is None or now.verdict is None:
            return now, {}
        with self._held:
            adviser = self._adviser
            if adviser is None or adviser.verdict is not now.verdict:
                if adviser is not None:
                    adviser.leave()
                adviser = self._adviser = Adviser(now.layout, now.verdict, self._let_drags_go_first)
        done = adviser.more.wait(A_MOMENT)
        return replace(now, advised=done), dict(adviser.given)

    def close(self) -> None:
        """Its job is not looked at any more: what is still being tried for it is left."""
        with self._held:
            if self._adviser is not None:
                self._adviser.leave()

    def work_out_again(self) -> None:
        """A file that the spec may name holds something else: the same text comes to another plate."""
        with self._held:
            self._beside_changed = True

    def give_up(self, mount: str, pair: frozenset[str]) -> Now:
        """No caliper gets at a pair of holes of a mount: no reading of it is asked for as long as the page is open."""
        with self._held:
            self._out_of_reach |= {(mount, pair)}
            now = self.now()
            self._now = replace(now, out_of_reach=self._out_of_reach)
            return self._now

    @property
    def folder(self) -> Path:
        """The folder of the spec's files."""
        return self.out / self.path.stem

    @property
    def steps(self) -> tuple[int, int]:
        """How many steps can be undone, and done again."""
        return (len(self._before), len(self._after))

    def change(self, state: str, edited: Callable[[str], str], *, whatever: bool = False) -> Now:
        """The file holds `edited(text)` afterwards.

        A text that is no usable spec is refused, unless the file was none before or `whatever` is wanted (the user
        saves what he typed). Raises `Stale`, `SpecError`, `OutputError`; the file is then as it was.
        """
        with self._held:
            now = self._same(state)
            text = edited(now.text)
            if text == now.text:
                return now
            # From a spec that can be read no edit leads to one that cannot; a file that was broken before, in an
            # editor, may be mended step by step.
            if not whatever and now.readable:
                loads_at(text, self.path)
            # what is no text would not be read again, and the page could not even take it back
            if "\0" in text or len(text.encode()) > MAX_BYTES:
                raise PlatekitError("that is no text of a spec: it has a zero sign in it, or more than two megabytes")
            rewrite(self.path, now.text, text)
            self._before.append(now.text)
            del self._before[:-MOST_STEPS]
            # what was undone belongs to a text that will not come back
            self._after.clear()
            return self.now()

    def undo(self, state: str) -> Now:
        """One step back; raises `PlatekitError` where there is none, `Stale` as `change` does."""
        with self._held:
            return self._step(state, self._before, self._after, "there is nothing to undo")

    def redo(self, state: str) -> Now:
        """One step forward again; raises as `undo` does."""
        with self._held:
            return self._step(state, self._after, self._before, "there is nothing to do again")

    def trial(self, state: str, edits: Iterable[Edit], *, live: bool = False) -> tuple[Layout, Verdict]:
        """Layout and verdict with some edits that are not written; `live` for a drag under way.

        The advice of its findings is not tried, and guard and strength are left out: they take up to seconds. A drag
        has what changes from one moment to the next, and no more. Raises `Stale`, `SpecError`.
        """
        if not live:
            with self._held:
                layout = self.laid(state, edits)
                return layout, check(layout, QUICK)
        self._moved = time.monotonic()
        asked = list(edits)
        with self._held:
            now = self._same(state)
            # Places and directions are rounded, so the next move of a hand may well come to the same.
            if self._tried is None or self._tried[0] is not now or self._tried[1] != asked:
                layout = self.laid(state, asked)
                self._tried = (now, asked, layout, check(layout, LIVE))
            return self._tried[2:]

    def _let_drags_go_first(self) -> None:
        while (left := self._moved + UNDER_WAY - time.monotonic()) > 0.0:
            time.sleep(left)

    def show(
        self, layout: Layout, verdict: Verdict, drawn: Callable[[Layout, Verdict], Any], seen: object
    ) -> tuple[int, Any, Any]:
        """The number of a picture that goes to the page, the picture, and the one before if that is what it has `seen`.

        It is `drawn` where the one before is not of the very same layout and verdict.
        """
        with self._held:
            number, *of, before = self._shown
            same = of[0] is layout and of[1] is verdict
            picture = before if same else drawn(layout, verdict)
            self._shown = (next(SHOWN), layout, verdict, picture)
            return self._shown[0], picture, before if seen == number else None

    def laid(self, state: str, edits: Iterable[Edit]) -> Layout:
        """The layout with some edits that are not written, unjudged; raises as `trial` does."""
        with self._held:
            now = self._same(state)
            if now.spec is None:
                raise SpecError(now.problems)
            # a place that was found stays while something else is dragged: to search again takes seconds
            spec = now.layout.spec if now.fresh and now.layout is not None else now.spec
            return lay_out(after_edit(spec, [Remedy(field, value) for field, value in edits]))

    def _same(self, state: str) -> Now:
        now = self.now()
        if now.state != state:
            raise Stale(
                f"{self.path.name} was changed meanwhile; the page now shows what it holds, nothing was written"
            )
        return now

    def _step(self, state: str, from_: list[str], to: list[str], none: str) -> Now:
        now = self._same(state)
        if not from_:
            raise PlatekitError(none)
        # A step leaves its pile only once the file holds it: a full disk must not cost the way back.
        rewrite(self.path, now.text, from_[-1])
        to.append(now.text)
        from_.pop()
        return self.now()


def with_edits(text: str, edits: Iterable[Edit]) -> str:
    """The text of a spec with several values set, comments kept; raises as `with_value` does."""
    for field, value in edits:
        text = with_value(text, field, value)
    return text


def problems_of(path: Path, text: str) -> tuple[Problem, ...]:
    """What is wrong with a text as a spec at `path`, laid out too; empty where nothing is. Nothing is written."""
    try:
        lay_out(loads_at(text, path))
    except SpecError as error:
        return error.problems
    except PlatekitError as error:
        return (Problem(path.name, 0, 0, "", str(error), ""),)
    return ()


def mark_of(text: str) -> str:
    """The state that a text is."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]
