"""`platekit open` as a process: it tells its address, answers, and ends by Ctrl-C without a trace."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from platekit.errors import OutputError, PlatekitError
from platekit.page.opening import open_page
from tests.terminal import Terminal

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent as a signal")
def test_the_page_is_served_until_somebody_ends_it(tmp_path: Path) -> None:
    command = [sys.executable, "-u", "-m", "platekit", "open", str(ROOT / "specs" / "press-pump.yaml")]
    command += ["--no-browser", "--out", str(tmp_path)]
    # A run of the tests that was put in the background ignores Ctrl-C, and so would what it starts.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        started = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    finally:
        signal.signal(signal.SIGINT, before)
    with started as served:
        try:
            assert served.stdout is not None
            address = urlsplit(served.stdout.readline().split()[-1])
            assert address.hostname == "127.0.0.1"
            link = http.client.HTTPConnection("127.0.0.1", address.port or 0, timeout=60)
            own = {"Origin": f"http://{address.netloc}", "X-Platekit-Token": address.fragment}
            link.request("POST", "/do", json.dumps({"act": "look"}), {"Content-Type": "application/json", **own})
            told = json.loads(link.getresponse().read())
            assert told["name"] == "press-pump.yaml"
            link.close()
        finally:
            served.send_signal(signal.SIGINT)
            try:
                _, error = served.communicate(timeout=60)
            except subprocess.TimeoutExpired:
                served.kill()
                raise
    assert served.returncode == 130
    assert "Traceback" not in error
    assert os.listdir(tmp_path) == []


def test_a_spec_that_is_not_there_is_told(tmp_path: Path, terminal: Terminal) -> None:
    ran = terminal("open", str(tmp_path / "none.yaml"), "--no-browser")
    assert ran.code == 2
    assert "found no such file" in ran.err
    with pytest.raises(PlatekitError, match="leave it out"):
        open_page(tmp_path / "none.yaml", tmp_path, 0, False, print)


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OutputError, match="leave --port out"):
            open_page(tmp_path, tmp_path, taken.getsockname()[1], False, print)
