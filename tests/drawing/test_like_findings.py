"""Findings brought together: only those that say the same, never two that only stand at the same place."""

from __future__ import annotations

from platekit.checks import Finding
from platekit.drawing.like_findings import grouped, led, same_at


def narrow(name: str, message: str = "{}: its width is 9 mm; plasma cuts holes well from 15 mm up") -> Finding:
    return Finding(
        rule="small-hole", level="warn", message=message.format(name), features=(name,), at=None, found=9.0, needed=15.0
    )


def gap(message: str) -> Finding:
    return Finding(rule="not-checked", level="note", message=message, features=("drive", "drive.belt 1"))


def test_the_same_at_several_holes_is_told_once() -> None:
    (alike,) = grouped([narrow("motor.1"), narrow("motor.2"), narrow("motor.10")])
    assert same_at(alike) == " (the same at motor.2; motor.10)"


def test_sentences_that_say_something_else_stand_each_for_itself() -> None:
    belt = gap("drive: not checked: whether the belt carries 1.32 kW, because no table at hand rates it")
    torque = gap("drive: not checked: whether the torque at the working shaft is enough, because no torque is wanted")
    assert grouped([belt, torque]) == [[belt], [torque]]


def test_a_rule_that_names_itself_in_its_sentence_is_named_once() -> None:
    air = gap("motor: not checked: whether its fan gets air, because no body says where it ends")
    assert led(air) == "not-checked: motor: whether its fan gets air, because no body says where it ends"
    assert led(narrow("motor.1")).startswith("small-hole: motor.1: its width is 9 mm")


def test_figures_inside_a_sentence_do_not_part_what_is_alike() -> None:
    said = "{}: may turn out 7.3 mm; 8 mm must pass"
    assert len(grouped([narrow("motor.1", said), narrow("motor.2", said.replace("7.3", "7"))])) == 1
