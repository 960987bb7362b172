"""A measured hole called otherwise: everywhere it is named, and nowhere else."""

from __future__ import annotations

import pytest

from platekit.spec.renaming import with_name

TEXT = """\
mounts:
  case:
    pattern:
      measured:
        holes: {A: 9, "B": {diameter: 9}, x: 12}   # A is the upper one
        readings:
          - [A, B, inside, 40]     # twice
          - [A, x, 12.5, rule]
          - [x, A, over, 30]
          - [A, edge, base, 3]
        clockwise: [A, B, x]
        edges: [base]
        origin: A
accept:
  - {rule: edge, feature: [case.A, motor.A], because: A holds}
"""


def test_only_the_name_changes() -> None:
    changed = with_name(TEXT, "case", "A", "upper 1")
    wanted = TEXT.replace("{A: 9", "{upper 1: 9").replace("[A, ", "[upper 1, ").replace("[x, A,", "[x, upper 1,")
    assert changed == wanted.replace("origin: A", "origin: upper 1").replace("case.A", "case.upper 1")


def test_a_hole_called_as_a_kind_of_reading_is_told_from_the_kind() -> None:
    changed = with_name(TEXT, "case", "x", "E")
    assert "- [A, x, 12.5, rule]" in changed
    assert "- [E, A, over, 30]" in changed
    assert "clockwise: [A, B, E]" in changed


@pytest.mark.parametrize("end", ["\r\n", "\r"])
def test_line_ends_and_the_mark_of_the_file_stay(end: str) -> None:
    text = "\ufeff" + TEXT.replace("\n", end)
    assert with_name(with_name(text, "case", "B", "no"), "case", "no", "B") == text.replace('"B"', "B")
