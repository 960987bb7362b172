"""What the answer keeps: a plate is meshed and factored once, whatever rests and pulls on it."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

import platekit
from platekit.geometry import Disc, Loop, distance, edge_distance
from platekit.spec import with_data
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
    # of a thickness of its own: the answer to a plate that another test asked is kept longer than its factor
    question = replace(question, thickness=question.thickness + 0.35)
    first = answer.answer_to(question)
    taken: list[int] = []

    def counted(stiffness: object) -> object:
        taken.append(1)
        return factor(stiffness)

    monkeypatch.setattr(joined, "factor", counted)
    second = answer.answer_to(heavier(question, 3.0))
    assert not taken
    assert max(state.sag for state in second.states) > max(state.sag for state in first.states)
    answer.answer_to(replace(question, thickness=question.thickness + 1.25))
    assert taken


def test_a_plate_without_answer_is_asked_once(question: Question, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing = replace(question, parts=question.carried)
    for _ in range(2):
        with pytest.raises(platekit.PlatekitError, match="nothing holds the plate"):
            answer.answer_to(nothing)
        monkeypatch.setattr(answer, "factored_plate", None)


def test_threads_are_given_back() -> None:
    before = [told() for told, _ in _libraries()]
    with on_one_thread():
        assert all(told() == 1 for told, _ in _libraries())
    assert [told() for told, _ in _libraries()] == before


def answered_with(mass: str) -> answer.Answer:
    text = carried.SOUND.replace("total: 6 kg", f"total: {mass}")
    return answer.answer_to(question_of(platekit.lay_out(platekit.loads(text, "plate.yaml"))))


def test_a_range_of_mass_is_carried_as_its_two_ends() -> None:
    both, light, heavy = (answered_with(mass) for mass in ("[6 kg, 9 kg]", "6 kg", "9 kg"))
    assert {state.load for state in both.states} == {"light", "heavy"}
    ends = [state.sag for state in both.states if state.load == "heavy"]
    assert ends == pytest.approx([state.sag for state in heavy.states], rel=1e-9)
    # the light end turns with less than it could: the imbalance is that of the most mass, on the safe side
    still = [state.sag for state in both.states if state.load == "light" and state.case.startswith("start")]
    assert still == pytest.approx([s.sag for s in light.states if s.case.startswith("start")], rel=1e-9)


def test_a_range_of_mass_widens_the_natural_frequencies() -> None:
    def rings(mass: str) -> tuple[float, float]:
        text = carried.SOUND.replace("total: 6 kg", f"total: {mass}")
        found = answer.frequencies(question_of(platekit.lay_out(platekit.loads(text, "plate.yaml"))))
        assert found is not None
        return found[0]

    both, light, heavy = rings("[6 kg, 9 kg]"), rings("6 kg"), rings("9 kg")
    assert both == pytest.approx((heavy[0], light[1]), rel=1e-3)
    assert heavy[1] < light[1]


def test_an_imbalance_pushes_with_its_mass_times_its_grade_times_the_speed(question: Question) -> None:
    (motor,) = question.carried
    # 1740 rpm at 60 Hz, the inverter up to 90 Hz: 2610 rpm; ISO 21940-11 has 6.3 mm/s for machinery in general
    top = 2610 / 60 * 2 * math.pi
    assert motor.imbalance * motor.spin / 1000 == pytest.approx(6 * 6.3e-3 * top, rel=1e-6)
    quiet = replace(question, parts=tuple(replace(part, imbalance=0.0) for part in question.parts))
    shaken, still = answer.answer_to(question), answer.answer_to(quiet)
    for one, other in zip(shaken.states, still.states, strict=True):
        more = [a.shear - b.shear for a, b in zip(one.screws, other.screws, strict=True)]
        assert all(add > 0 for add in more) == one.case.startswith("running")


def test_the_spec_has_words_for_balance_and_what_turns() -> None:
    text = carried.SOUND.replace("total: 6 kg", "total: 6 kg, balance: 2.5, turning: 2 kg")
    (motor,) = question_of(platekit.lay_out(platekit.loads(text, "plate.yaml"))).carried
    assert motor.imbalance == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("mass", "said"),
    [
        ("[9 kg, 6 kg]", "give the least mass first"),
        ("[1 kg, 2 kg, 3 kg]", "a list of 3"),
        ("frame", "of which no table tells what its motors weigh"),
        ("heavy", "mass"),
    ],
)
def test_a_mass_that_cannot_be_used(mass: str, said: str) -> None:
    with pytest.raises(platekit.SpecError, match=said) as caught:
        platekit.lay_out(platekit.loads(carried.SOUND.replace("total: 6 kg", f"total: {mass}"), "plate.yaml"))
    assert "plate.yaml:" in str(caught.value)


def test_a_frame_tells_a_range_of_mass() -> None:
    spec = platekit.load("specs/seed-grader.yaml")
    layout = platekit.lay_out(with_data(spec, [("mounts.motor.mass", {"total": "frame", "centre": [0, 0, 100]})]))
    mass = layout.mounts["motor"].mass
    assert mass is not None
    assert (mass.least, mass.most, mass.by_frame) == (5.4, 7.2, True)


def test_openings_far_from_screws_are_coarse_and_change_little(
    question: Question, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hundred more openings in a plate: with those that matter little followed coarsely, and with all fine."""
    low, high = question.outer.box.y0, question.outer.box.y1
    rings = [seat for part in question.parts for stand in part.positions for seat in stand.seats]
    more: list[Loop] = []
    for x in range(-110, 120, 11):
        for y in range(int(low) + 10, int(high) - 10, 11):
            spot = Disc((float(x), float(y)), 2.5)
            apart = min(distance(spot, hole).distance for hole in question.holes)
            free = all(math.dist(spot.center, seat.center) > seat.outer + 6 for seat in rings)
            inside = question.outer.contains(spot.center) and edge_distance(spot, question.outer).distance > 4
            if free and inside and apart > 4 and len(more) < 100:
                more.append(spot.loop())
    many = replace(question, holes=(*question.holes, *more))
    assert len(many.holes) > answer.MANY
    coarse = answer.answer_to(many)
    monkeypatch.setattr(answer, "MANY", 1000)
    answer._coarse.cache_clear()
    answer.factored_plate.cache_clear()
    answer._answer_or_error.cache_clear()
    fine = answer.answer_to(many)
    assert coarse.triangles < 0.7 * fine.triangles
    assert max(s.sag for s in coarse.states) == pytest.approx(max(s.sag for s in fine.states), rel=0.005)
    assert coarse.worst.stress == pytest.approx(fine.worst.stress, rel=0.05)
