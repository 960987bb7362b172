"""Any drive that the spec language can say is either refused in a sentence or judged to the end."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.errors import SpecError
from platekit.export.picture.drive_chart import chart_text, working_belt
from platekit.tables import belts
from tests.checks import drives

DRIVE = drives.SOUND[drives.SOUND.index("drive:") : drives.SOUND.index("cutting:")]


def number(low: float, high: float) -> st.SearchStrategy[str]:
    return st.floats(math.log(low), math.log(high)).map(lambda power: f"{math.exp(power):.4g}")


@st.composite
def some_drives(draw: st.DrawFn) -> str:
    section = draw(st.sampled_from(belts.section_names()))
    toothed = belts.section(section).toothed
    pitch = belts.section(section).pitch

    def pulley() -> str:
        if toothed:
            return f"teeth: {draw(st.integers(5, 120))}"
        kind = draw(st.sampled_from(["pitch", "effective", "outside"]))
        return f"{kind}_diameter: {draw(number(15, 700))}"

    length = f"{draw(st.integers(20, 400)) * pitch:.4f} mm" if toothed else draw(number(300, 4000))
    motor, setting = draw(
        st.sampled_from(
            [
                ("power: {0} kW, speed: {1} rpm, frequency: {2} Hz", "inverter: {{from: {3} Hz, to: 1e3 Hz}}"),
                ("power: {0} kW, speed: {1} rpm, frequency: {2} Hz", ""),
                (
                    "kind: dc, loaded: {{speed: {1} rpm, torque: {0} Nm}}, light: {{speed: 5e4 rpm, torque: 1e-3 Nm}}",
                    "voltage: {{from: 0.1, to: 0.9}}",
                ),
                (
                    "kind: universal, loaded: {{speed: {1} rpm, torque: {0} Nm}}, "
                    "light: {{speed: 5e4 rpm, torque: 1e-3 Nm}}",
                    "",
                ),
            ]
        )
    )
    figures = (
        draw(number(0.01, 60)),
        draw(st.one_of(st.sampled_from(["1740", "1430", "2850", "940"]), number(100, 30000))),
        draw(st.sampled_from(["50", "60", "400"])),
        draw(number(1, 900)),
    )
    words = [
        f"motor: {{{motor.format(*figures)}}}",
        setting.format(*figures),
        f"belt: {{section: {section}, pitch_length: {length}, count: {draw(st.integers(1, 4))}}}",
        f"driver: {{on: motor, {pulley()}, span: [-50, -30]}}",
        f"driven: {{on: machine, at: [0, 60], {pulley()}, span: [22, {draw(st.integers(30, 60))}]}}",
        f"wanted: {{from: 50 rpm, to: {draw(number(50, 5000))} rpm, torque: {draw(number(0.1, 500))} Nm}}",
    ]
    told = "".join(f"  {word}\n" for word in words if word)
    return str(drives.SOUND).replace(DRIVE, f"drive:\n{told}")


@given(some_drives())
@settings(max_examples=30)
def test_any_drive_is_refused_in_a_sentence_or_judged_to_the_end(text: str) -> None:
    layout, refused = None, None
    try:
        layout = platekit.lay_out(platekit.loads(text, "drive.yaml"))
    except SpecError as error:
        refused = error
    if layout is None:
        assert refused is not None
        assert all(problem.line > 0 for problem in refused.problems)
        return
    verdict = platekit.check(layout)
    for finding in verdict.findings:
        for value in (finding.found, finding.needed):
            assert value is None or math.isfinite(value)
    if working_belt(layout) is not None:
        assert "nan" not in chart_text(layout)
