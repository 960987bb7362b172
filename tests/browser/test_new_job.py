"""A new job by questions, in a real browser: refused at once, kept, taken up again, and a spec at the end."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import test_live as live


@pytest.fixture
def bench(debug_port: int, tmp_path: Path) -> Iterator[Any]:
    with live.served(debug_port, tmp_path, 800) as bench:
        bench.tab.open(bench.page.address)
        bench.until("document.querySelector('.asked')")
        yield bench


def question(bench: Any) -> str:
    return str(bench.tab.ask("document.querySelector('.asked')?.dataset.question ?? ''"))


def answer(bench: Any, typed: str | None = None, choice: str | None = None) -> None:
    name = question(bench)
    if choice is not None:
        bench.tab.click(f"#answer-{choice}")
    if typed is not None:
        bench.type("#answer", typed)
    bench.tab.ask("document.querySelector('.asked').requestSubmit()")
    bench.until(f"(document.querySelector('.asked')?.dataset.question ?? '') !== {json.dumps(name)}")


def test_a_job_is_begun_left_and_taken_up_and_ends_as_an_empty_face(bench: Any) -> None:
    answer(bench, "Root grater, new motor")
    answer(bench)
    answer(bench, choice="measure")
    answer(bench, choice="nut")
    bench.type("#answer", "M 99")
    bench.tab.ask("document.querySelector('.asked').requestSubmit()")
    bench.until("document.getElementById('told').textContent.includes('M 99')")
    assert question(bench) == "screw"
    answer(bench, "M8")
    assert bench.tab.ask("document.documentElement.scrollWidth") <= 800
    bench.tab.do("Page.reload")
    bench.until("document.querySelector('.asked')?.dataset.question === 'depth'")
    answer(bench, "12,5")
    answer(bench, choice="feet")
    bench.type("#answer", "IEC 90L")
    taken = (
        "[...document.querySelectorAll('.names button')].find(one => one.querySelector('b').textContent === 'IEC 90L')"
    )
    assert bench.tab.ask(f"!!({taken})")
    bench.tab.ask(f"{taken}.click()")
    bench.until("document.querySelector('.asked')?.dataset.question === 'flange'")
    answer(bench)
    answer(bench, "1,5")
    bench.tab.ask("document.getElementById('start-job').click()")
    bench.until("document.querySelector('.sketching')")
    # nothing can be drawn of an empty face: words stand there, no empty frames
    assert bench.tab.ask("document.querySelector('.none-yet').offsetHeight > 0")
    assert bench.tab.ask("document.querySelector('#front').offsetHeight") == 0
    text = bench.spec.read_text("utf-8")
    assert bench.spec.name == "root-grater-new.yaml"
    assert "holes: {} " in text
    assert "screws: {size: M8, into: nut, flange: 12.5, washer: true}" in text
    assert "pattern: {standard: IEC 90L" in text
    assert 'power: "1.5 kW"' in text
    assert not [path.name for path in bench.folder.iterdir() if path.name.startswith(".")]


def test_an_example_is_opened_as_a_copy_in_the_folder(bench: Any) -> None:
    assert "Lock out" in bench.tab.ask("document.getElementById('cautions').textContent")
    bench.tab.ask("document.querySelector('[data-example=\"wool-carder.yaml\"]').click()")
    bench.until("document.querySelector('#front .steel')")
    assert sorted(path.name for path in bench.folder.iterdir() if path.is_file()) == ["lug.svg", "wool-carder.yaml"]
    assert bench.spec.read_bytes() == (live.SPECS / "wool-carder.yaml").read_bytes()
