"""`platekit strength`: whether the plate holds what it carries, how far it bends, what its screws take."""

from __future__ import annotations

from pathlib import Path

from platekit.checks.strength import gap_in
from platekit.errors import SpecError
from platekit.jobs.plates import laid_out
from platekit.jobs.told import Told, Working, silent
from platekit.studies.advised import judge


def strength(path: Path, working: Working = silent) -> Told:
    """What the plate of the spec at `path` answers to what it carries.

    Raises `SpecError`, also for a spec that does not say enough, with what to give.
    """
    layout = laid_out(path, working)
    working("working out how the plate bends")
    # asked for by name, so a gap is the user's error here; in `check` it is only something that was not checked
    gap = gap_in(layout)
    if gap is not None:
        where = gap.field if gap.advice else "mounts"
        raise SpecError((layout.spec.problem(where, gap.why, gap.advice or "name what else is bolted to it"),))
    # only once it is known that there is something to work out: this brings the solver along
    from platekit.export.text.strength import StrengthAnswers, strength_figures, strength_text, strength_verdict
    from platekit.strength.answer import answer_to, frequencies, shaken
    from platekit.strength.question import question_of

    question = question_of(layout)
    worked = StrengthAnswers(question, answer_to(question), frequencies(question), shaken(question))
    verdict = judge(layout)
    return Told(
        strength_verdict(verdict).word,
        lambda: strength_text(layout, verdict, worked),
        lambda: strength_figures(layout, verdict, worked),
    )
