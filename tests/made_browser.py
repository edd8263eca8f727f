"""A headless Chromium that tests steer through its own protocol, over a pair of pipes; nothing but the standard library."""

import json
import os
import shutil
import subprocess
from contextlib import contextmanager

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_OPTIONS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--remote-debugging-pipe",
)  # fmt: skip


class Browser:
    """One page of a running Chromium: commands go to it, what it says of itself comes back."""

    def __init__(self, send, receive):
        self._send, self._receive, self._number, self._rest = send, receive, 0, b""
        self.events = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = None
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for part in ("Page", "Runtime", "Network", "Log", "Accessibility"):
            self.call(f"{part}.enable")

    _session = None

    def call(self, method, **parameters):
        """Return what a command of the protocol answers."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._send, json.dumps(message).encode() + b"\0")
        while True:
            found = self._message()
            if found.get("id") == self._number:
                assert "error" not in found, found
                return found["result"]
            self.events.append(found)

    def _message(self):
        while b"\0" not in self._rest:
            more = os.read(self._receive, 1 << 16)
            assert more, "the browser has gone"
            self._rest += more
        text, _, self._rest = self._rest.partition(b"\0")
        return json.loads(text)

    def open(self, path):
        """Open a page and wait until it stands."""
        self.events = [event for event in self.events if event.get("method") != "Page.loadEventFired"]
        self.call("Page.navigate", url=path.as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._message())

    def ask(self, script):
        """Return what a script in the page comes to."""
        found = self.call("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def said(self):
        """Return what was logged to the console, or thrown, so far."""
        told = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        return [event for event in self.events if event.get("method") in told]

    def requested(self):
        """Return the addresses that were asked for."""
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]


@contextmanager
def browser(folder):
    """Run a Chromium, its profile in a folder, and end it."""
    to_browser, send = os.pipe()
    receive, from_browser = os.pipe()
    # the browser reads from 3 and writes to 4
    command = 'exec 3<&"$0" 4>&"$1"; shift; exec "$@"'
    process = subprocess.Popen(
        ["bash", "-c", command, str(to_browser), str(from_browser), CHROMIUM, *_OPTIONS,
         f"--user-data-dir={folder / 'profile'}"],
        pass_fds=(to_browser, from_browser), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(to_browser)
    os.close(from_browser)
    try:
        yield Browser(send, receive)
    finally:
        process.terminate()
        process.wait(20)
        os.close(send)
        os.close(receive)
