"""One tab of a browser: open a page, press keys, move the pointer, ask what is there."""

from __future__ import annotations

import json
import urllib.request
from types import TracebackType
from typing import Any

from websocket import WebSocket, create_connection

ANSWERED = 20.0
"""Longest wait for an answer, s."""
KEYS = {"Tab": 9, "Enter": 13, "Escape": 27, " ": 32, "ArrowRight": 39, "ArrowLeft": 37, "End": 35, "Home": 36}
KEYS |= {"ArrowUp": 38, "ArrowDown": 40}
TYPED = {"Enter": "\r", " ": " "}


class Tab:
    """A tab; `errors` holds whatever a page complained about on its console, or threw, since the tab was opened."""

    def __init__(self, port: int) -> None:
        made = urllib.request.Request(f"http://127.0.0.1:{port}/json/new", method="PUT")
        with urllib.request.urlopen(made, timeout=ANSWERED) as answer:
            target = json.loads(answer.read())
        self._socket: WebSocket = create_connection(target["webSocketDebuggerUrl"], timeout=ANSWERED)
        self._count = 0
        self._events: list[dict[str, Any]] = []
        self.errors: list[str] = []
        for domain in ("Page", "Runtime", "Log", "Network", "DOM"):
            self.do(f"{domain}.enable")

    def __enter__(self) -> Tab:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.do("Page.close")
        self._socket.close()

    @property
    def asked_for(self) -> list[str]:
        """Every address that was asked for so far."""
        return [e["params"]["request"]["url"] for e in self._events if e["method"] == "Network.requestWillBeSent"]

    def do(self, method: str, **params: Any) -> dict[str, Any]:
        """The answer to one command of the debugging protocol."""
        self._count += 1
        self._socket.send(json.dumps({"id": self._count, "method": method, "params": params}))
        while True:
            message: dict[str, Any] = json.loads(self._socket.recv())
            if message.get("id") == self._count:
                assert "error" not in message, f"{method}: {message['error']}"
                answer: dict[str, Any] = message["result"]
                return answer
            self._note(message)

    def _note(self, event: dict[str, Any]) -> None:
        self._events.append(event)
        told = event.get("params", {})
        if event["method"] == "Runtime.exceptionThrown":
            self.errors.append(str(told["exceptionDetails"]))
        if event["method"] == "Log.entryAdded" and told["entry"]["level"] in {"error", "warning"}:
            self.errors.append(told["entry"]["text"])
        if event["method"] == "Runtime.consoleAPICalled" and told["type"] in {"error", "warning", "assert"}:
            self.errors.append(str(told["args"]))

    def open(self, address: str) -> None:
        """Opens a page and waits until it has loaded."""
        before = len(self._events)
        self.do("Page.navigate", url=address)
        while not any(event["method"] == "Page.loadEventFired" for event in self._events[before:]):
            self._note(json.loads(self._socket.recv()))

    def ask(self, script: str) -> Any:
        """What an expression comes to in the page."""
        answer = self.do("Runtime.evaluate", expression=script, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def size(self, width: int, height: int, dark: bool = False) -> None:
        """The size of the window, and which of light and dark its user prefers."""
        self.do("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        theme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.do("Emulation.setEmulatedMedia", features=theme)

    def press(self, key: str, times: int = 1) -> None:
        """Presses a key."""
        for _ in range(times):
            common = {"key": key, "code": "Space" if key == " " else key, "windowsVirtualKeyCode": KEYS[key]}
            typed = {"text": TYPED[key]} if key in TYPED else {}
            self.do("Input.dispatchKeyEvent", type="keyDown" if typed else "rawKeyDown", **common, **typed)
            self.do("Input.dispatchKeyEvent", type="keyUp", **common)

    def middle(self, selector: str) -> tuple[float, float]:
        """The middle of an element in the window, scrolled into view first."""
        script = f"""(() => {{
          const one = document.querySelector({json.dumps(selector)});
          one.scrollIntoView({{ block: "center", behavior: "instant" }});
          const box = one.getBoundingClientRect();
          return [box.left + box.width / 2, box.top + box.height / 2];
        }})()"""
        x, y = self.ask(script)
        return float(x), float(y)

    def point_at(self, selector: str) -> None:
        """Moves the pointer to the middle of an element."""
        x, y = self.middle(selector)
        self.do("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)

    def click(self, selector: str) -> None:
        """Clicks on the middle of an element."""
        x, y = self.middle(selector)
        for kind in ("mousePressed", "mouseReleased"):
            self.do("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)
