"""The rule on scribed words: what is left out is said in one note, with what would do."""

from __future__ import annotations

import platekit
from platekit.checks import Finding

PLATE = """\
platekit: 1
title: {title}
units: {units}
plate:
  material: mild steel
  thickness: 6 mm
  outline: {{rectangle: {{width: 200 mm, height: 100 mm}}}}
mounts:
  jig:
    side: far
    looking_at: face
    pattern: {{points: [[-60 mm, -20 mm], [50 mm, -25 mm], [45 mm, 20 mm]], hole: 9 mm}}
    bolts: {{size: M8, into: part, depth: 40 mm}}
cutting: {{process: {process}, scribe: [names, face, title], scribe_height: {height}}}
"""


def said(title: str = "Jig", units: str = "mm", process: str = "laser", height: str = "6 mm") -> list[Finding]:
    text = PLATE.format(title=title, units=units, process=process, height=height)
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "jig")))
    return [finding for finding in verdict.findings if finding.rule == "scribe"]


def test_nothing_is_said_when_all_words_have_room() -> None:
    assert said() == []


def test_words_without_room_are_one_note_with_all_of_them() -> None:
    """At 30 mm THIS FACE OUT is some 260 mm long, more than the plate; at 50 mm it leaves no room for a name."""
    (finding,) = said(height="30 mm")
    assert finding.level == "note"
    assert " of 5 words are not scribed: no room for THIS FACE OUT" in finding.message
    assert finding.features[0] == "face"
    assert finding.found == len(finding.features)
    assert finding.needed == 0
    assert "letters lower than 30 mm" in finding.advice.text
    (finding,) = said(height="50 mm")
    assert finding.message == "4 of 5 words are not scribed: no room for THIS FACE OUT, JIG.1, JIG.2 and JIG.3"
    assert finding.features == ("face", "jig.1", "jig.2", "jig.3")
    assert finding.at == (-60.0, -20.0)


def test_advice_that_is_followed_ends_the_finding() -> None:
    assert said(height="30 mm")
    assert said(height="5 mm") == []


def test_a_height_is_told_in_the_unit_of_the_spec() -> None:
    (finding,) = said(height="30 mm", units="in")
    assert "letters lower than 1.181 in" in finding.advice.text


def test_signs_without_strokes_are_named() -> None:
    (finding,) = said(title="Насос")
    assert finding.message == "1 of 5 words is not scribed: no strokes for НАСО in Насос"
    assert finding.advice.text == "write them in Latin letters and figures"
    assert said(title="Ölpumpe für Jürgen") == []


def test_a_drill_press_is_told_of() -> None:
    (finding,) = said(process="drill")
    assert finding.message.startswith("5 of 5 words are not scribed: a drill press follows no drawing")


def test_a_long_list_is_cut() -> None:
    points = ", ".join(f"[{10 * x}, {10 * y}]" for x in range(-9, 10) for y in (-2, -1, 0, 1, 2))
    text = PLATE.format(title="Jig", units="mm", process="laser", height="6 mm")
    text = text.replace("[-60 mm, -20 mm], [50 mm, -25 mm], [45 mm, 20 mm]", points).replace("hole: 9 mm", "hole: 5 mm")
    text = text.replace("    bolts: {size: M8, into: part, depth: 40 mm}\n", "")
    layout = platekit.lay_out(platekit.loads(text, "jig"))
    (finding,) = [one for one in platekit.check(layout).findings if one.rule == "scribe"]
    assert " more" in finding.message
    assert len(finding.message) < 300
