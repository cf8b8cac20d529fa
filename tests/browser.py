"""A headless browser on a file, driven through its debugging pipe with the standard library alone."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from select import select
from typing import Any

#: no sandbox, since tests may run as root in a container; nothing is fetched in the background
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--no-default-browser-check",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
    "--remote-debugging-pipe",
)
PATIENCE = 60.0


def found() -> str | None:
    """The browser's program, or None where there is none."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    return next((path for path in map(shutil.which, names) if path), None)


class Page:
    """One tab: sends commands, keeps every event that came meanwhile."""

    def __init__(self, send: int, receive: int) -> None:
        """Open a tab over the two ends of the browser's pipe."""
        self._send, self._receive = send, receive
        self._buffer, self._last, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Carry out one command and give its result."""
        self._last += 1
        message = {"id": self._last, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._send, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._last:
                assert "error" not in answer, answer["error"]
                return dict(answer["result"])
            self.events.append(answer)

    def _next(self) -> dict[str, Any]:
        end = time.monotonic() + PATIENCE
        while b"\0" not in self._buffer:
            ready, _, _ = select([self._receive], [], [], max(0.0, end - time.monotonic()))
            chunk = os.read(self._receive, 1 << 20) if ready else b""
            if not chunk:
                raise TimeoutError("the browser says nothing more")
            self._buffer += chunk
        message, _, self._buffer = self._buffer.partition(b"\0")
        return dict(json.loads(message))

    def open(self, file: Path, *, width: int) -> None:
        """Show a file at ``width`` pixels, as a phone does, and wait until it is there."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=844, deviceScaleFactor=1, mobile=True)
        self.events.clear()
        self.call("Page.navigate", url=file.resolve().as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())

    def value(self, expression: str) -> Any:
        """The value of a JavaScript expression."""
        return self.call("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def complaints(self) -> list[str]:
        """Every error and warning of the console since the file was opened, policy violations among them."""
        said = []
        for event in self.events:
            details = event.get("params", {})
            if event.get("method") == "Log.entryAdded" and details["entry"]["level"] in ("error", "warning"):
                said.append(details["entry"]["text"])
            if event.get("method") == "Runtime.exceptionThrown":
                said.append(str(details["exceptionDetails"]))
            if event.get("method") == "Runtime.consoleAPICalled" and details["type"] in ("error", "warning", "assert"):
                said.append(str(details["args"]))
        return said

    def requests(self) -> list[str]:
        """Every address asked for since the file was opened; data inside the file does not count."""
        asked = [e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        return [url for url in asked if not url.startswith("data:")]

    def pdf(self) -> bytes:
        """The page as it prints, on the paper that its style sheet asks for."""
        return base64.b64decode(self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)["data"])


@contextmanager
def browser() -> Iterator[Page]:
    """A browser with a fresh profile and one tab, closed at the end."""
    program = found()
    assert program is not None
    from_us, send = os.pipe()
    receive, from_browser = os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        command = [program, *FLAGS, f"--user-data-dir={profile}", "about:blank"]
        joined = ["bash", "-c", f'exec "$@" 3<&{from_us} 4>&{from_browser}', "browser", *command]
        process = subprocess.Popen(joined, pass_fds=(from_us, from_browser), stdin=subprocess.DEVNULL,
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(from_us)
        os.close(from_browser)
        try:
            yield Page(send, receive)
        finally:
            os.close(send)
            os.close(receive)
            process.terminate()
            process.wait(timeout=PATIENCE)
