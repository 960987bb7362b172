"""What the answer keeps: a plate is meshed and factored once, whatever rests and pulls on it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

import platekit
from platekit.strength import answer, joined
from platekit.strength.question import Question, question_of
from platekit.strength.solving import factor
from platekit.strength.threads import _libraries, on_one_thread
from tests.checks import carried


@pytest.fixture(scope="module")
def question() -> Question:
    return question_of(platekit.lay_out(platekit.loads(carried.SOUND, "plate.yaml")))


def heavier(question: Question, times: float) -> Question:
    parts = tuple(replace(part, mass=part.mass * times) for part in question.parts)
    return replace(question, parts=parts)


def test_another_load_needs_no_other_factor(question: Question, monkeypatch: pytest.MonkeyPatch) -> None:
    first = answer.answered(question)
    taken: list[int] = []

    def counted(stiffness: object) -> object:
        taken.append(1)
        return factor(stiffness)

    monkeypatch.setattr(joined, "factor", counted)
    second = answer.answered(heavier(question, 3.0))
    assert not taken
    assert max(state.sag for state in second.states) > max(state.sag for state in first.states)
    answer.answered(replace(question, thickness=question.thickness + 1.25))
    assert taken


def test_a_plate_without_answer_is_asked_once(question: Question, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing = replace(question, parts=question.carried)
    for _ in range(2):
        with pytest.raises(platekit.PlatekitError, match="nothing holds the plate"):
            answer.answered(nothing)
        monkeypatch.setattr(answer, "worked", None)


def test_threads_are_given_back() -> None:
    before = [told() for told, _ in _libraries()]
    with on_one_thread():
        assert all(told() == 1 for told, _ in _libraries())
    assert [told() for told, _ in _libraries()] == before
