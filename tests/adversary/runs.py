"""What every run must end in: exit code 0, 1 or 2 and sentences for people, never an exception."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

import platekit
from platekit import checks, export
from platekit.checks import Finding, Verdict
from platekit.cli import Exit
from platekit.errors import PlatekitError, Problem, SpecError
from platekit.export.bench.commissioning import commissioning_bytes
from platekit.export.bench.going_back import going_back_bytes
from platekit.export.data.parts_list import parts_bytes
from platekit.export.dxf_files.copies import copies_dxf_bytes
from platekit.export.picture.copies import wanted_copies
from platekit.export.text.verdict import verdict_text
from platekit.placed import Layout

NEVER_SAID = ("Traceback", " object at 0x", "None", "NaN", "nan mm", "inf mm", "Error(", "<class")
"""What no sentence for people may hold."""


@dataclass(frozen=True)
class Outcome:
    """How a run ended. `said` are the sentences, `layout` and `verdict` are there unless the spec was unusable."""

    code: Exit
    said: tuple[str, ...]
    layout: Layout | None = None
    verdict: Verdict | None = None


def outcome(spec: str | Path) -> Outcome:
    """The end of `platekit check` on a text, or on a file; whatever is not a `PlatekitError` comes through."""
    try:
        read = platekit.load(spec) if isinstance(spec, Path) else platekit.loads(spec, "plate.yaml")
        layout = platekit.lay_out(read)
        verdict = platekit.check(layout)
    except PlatekitError as error:
        return Outcome(Exit.UNUSABLE, tuple(str(error).splitlines()))
    code = Exit.CLEAR if verdict.clear else Exit.STOP
    return Outcome(code, tuple(finding.message for finding in verdict.findings), layout, verdict)


def problems(spec: str) -> tuple[Problem, ...]:
    """Why a text is no spec that can be laid out, each with its place in it."""
    try:
        platekit.lay_out(platekit.loads(spec, "plate.yaml"))
    except SpecError as error:
        return error.problems
    except PlatekitError:
        pass
    return ()


@contextmanager
def without(*rules: str) -> Iterator[None]:
    """While this lasts, some rules do not look: those that take long and have tests of their own."""
    every = checks.RULES
    checks.RULES = tuple(rule for rule in every if rule.name not in rules)
    try:
        yield
    finally:
        checks.RULES = every


def faults(ended: Outcome) -> list[str]:
    """What is wrong with an outcome, beyond that it is one: nothing said, or said in a way that no one understands."""
    found = [f"not a sentence: {said!r}" for said in ended.said if not _is_a_sentence(said)]
    if ended.code == Exit.UNUSABLE and not ended.said:
        found.append("nothing said")
    if ended.verdict is not None:
        found += [f"no figure: {finding}" for finding in ended.verdict.findings if not _has_figures(finding)]
        # a word that came out empty; the line of the file under an error is another matter
        found += [f"a gap in: {said!r}" for said in ended.said if "  " in said]
    return found


def _is_a_sentence(said: str) -> bool:
    own = re.sub(r'"[^"]*"', "", said)  # in quotes stands what the user typed
    return bool(said.strip()) and said.isprintable() and not any(word in own for word in NEVER_SAID)


def _has_figures(finding: Finding) -> bool:
    figures = [finding.found, finding.needed, *(finding.at or ())]
    return all(figure is None or math.isfinite(figure) for figure in figures)


def exports(layout: Layout, verdict: Verdict) -> Iterator[tuple[str, Callable[[], object]]]:
    """Everything that is written about a plate but the solid, by name; the cut files of a clear one only."""
    yield "picture", lambda: export.svg_text(layout, verdict)
    yield "paper", lambda: export.template_bytes(layout, verdict, None)
    yield "holes", lambda: export.holes_bytes(layout, verdict)
    yield "commissioning", lambda: commissioning_bytes(layout, verdict)
    yield "going back", lambda: going_back_bytes(layout, verdict)
    yield "parts", lambda: parts_bytes(layout, verdict)
    yield "figures", lambda: export.figures_bytes(layout, verdict)
    yield "report", lambda: export.report_html(layout, verdict)
    yield "screen", lambda: verdict_text(layout, verdict)
    if verdict.clear:
        yield "r2000", lambda: export.dxf_bytes(layout, "r2000", "mm", False)
        yield "r12", lambda: export.dxf_bytes(layout, "r12", "in", False)
        yield "plain", lambda: export.dxf_bytes(layout, "plain", "mm", True)
        copies = wanted_copies(layout)
        if copies is not None:
            yield "copies", lambda: copies_dxf_bytes(layout, copies, "plain", "in", True)


def written(layout: Layout, verdict: Verdict) -> dict[str, str]:
    """Each export's name and the sentence of its error, empty for one that worked; exceptions come through."""
    told = {}
    for name, make in exports(layout, verdict):
        try:
            make()
            told[name] = ""
        except PlatekitError as error:
            told[name] = str(error)
    return told


def accepted(verdict: Verdict, harmless: frozenset[str]) -> Verdict:
    """The verdict with the stops of harmless rules accepted, so that more plates come out clear."""
    return Verdict(
        tuple(
            replace(finding, accepted="tried out") if finding.rule in harmless else finding
            for finding in verdict.findings
        )
    )
