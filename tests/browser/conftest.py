"""A real browser for the report and the live page, spoken to over its own debugging protocol.

These tests are collected only where a Chromium (or a browser built on it) and the package websocket-client are there:
a machine without them cannot say anything about the page, and a skipped test would look like a passed one. `pytest
tests/browser` on such a machine says that no tests ran.
"""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
BROWSER = next((found for name in BROWSERS if (found := shutil.which(name))), None)
STARTED = 60.0
"""Longest wait for the browser to listen, s."""

collect_ignore: list[str] = []
if BROWSER is None or importlib.util.find_spec("websocket") is None:
    collect_ignore += [
        "test_page.py",
        "test_live.py",
        "test_old_face.py",
        "test_new_job.py",
        "test_seen.py",
        "test_steady.py",
    ]


@pytest.fixture(scope="package")
def debug_port() -> Iterator[int]:
    """The port of a browser without a window; it ends with the tests."""
    with browser() as port:
        yield port


@contextmanager
def browser() -> Iterator[int]:
    """A browser without a window, with a profile of its own: the port on which it is spoken to."""
    assert BROWSER is not None
    # The browser may still be writing its profile when it is told to end.
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        # No sandbox: test machines often run as root, where the browser refuses one; it only ever sees our own pages.
        options = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"]
        options += ["--remote-debugging-port=0", "--remote-allow-origins=*", f"--user-data-dir={folder}"]
        running = subprocess.Popen([BROWSER, *options], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            yield _port(Path(folder) / "DevToolsActivePort")
        finally:
            running.terminate()
            running.wait(timeout=20)


def _port(told: Path) -> int:
    end = time.monotonic() + STARTED
    while time.monotonic() < end:
        if told.exists() and (lines := told.read_text().split()):
            return int(lines[0])
        time.sleep(0.05)
    raise AssertionError(f"the browser did not listen within {STARTED:g} s")
