"""Service factors by kind of machine, as the source prints them."""

from __future__ import annotations

from typing import Literal, get_args

import pytest

from platekit.choices import DrivenMachine
from platekit.layout import lay_out
from platekit.spec import loads
from platekit.tables import belts
from platekit.tables.rows import read
from tests.checks.drives import SOUND, changed


@pytest.mark.parametrize(
    ("machine", "hours", "start", "factor"),
    [
        ("centrifugal pump", 4, "soft", 1.0),
        ("stirrer", 8, "soft", 1.1),
        ("light conveyor", 24, "soft", 1.2),
        ("line shaft", 8, "soft", 1.2),
        ("sieve", 24, "hard", 1.4),
        ("mill", 8, "soft", 1.3),
        ("bucket elevator", 10, "hard", 1.5),
        ("crusher", 16, "soft", 1.5),
        ("crusher", 24, "hard", 1.8),
        ("crane", 6, "hard", 1.6),
    ],
)
def test_the_printed_factor(machine: str, hours: float, start: Literal["soft", "hard"], factor: float) -> None:
    assert belts.service_factor(machine, hours, start).factor == factor


def test_every_machine_that_a_spec_may_name_has_a_row_and_no_other() -> None:
    assert tuple(row.text("machine") for row in read("belts/driven_machines.csv")) == get_args(DrivenMachine)


def test_a_spec_takes_it_from_its_machine_and_gives_way_to_a_figure() -> None:
    def factor(text: str) -> float:
        (belt,) = lay_out(loads(text)).belts
        return belt.request.service_factor

    wanted = "  wanted: {at: driven"
    assert factor(SOUND) == 1.2
    assert factor(changed((wanted, f"  machine: crusher\n{wanted}"))) == 1.4
    assert factor(changed((wanted, f"  machine: crusher\n  hours: 20\n{wanted}"))) == 1.5
    assert factor(changed((wanted, f"  machine: crusher\n  service_factor: 2\n{wanted}"))) == 2
