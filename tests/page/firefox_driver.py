"""Firefox over WebDriver BiDi (W3C), which it speaks itself: no driver of its own is needed."""

from __future__ import annotations

import asyncio
import base64
import json
import re
import subprocess
import time
from pathlib import Path
from typing import Any

from tornado.websocket import websocket_connect

KEYS = {"Enter": "\ue007", "Tab": "\ue004"}
LARGEST_MESSAGE = 2**28
PATIENCE_S = 300


class Firefox:
    """One window of a Firefox with a profile of its own."""

    def __init__(self, program: str, profile: Path) -> None:
        said = profile / "said.txt"
        with said.open("w", encoding="utf-8") as stderr:
            self.process = subprocess.Popen(
                [program, "--headless", "--no-remote", "--remote-debugging-port=0",
                 "--profile", str(profile)],
                stderr=stderr,
            )  # fmt: skip
        end = time.monotonic() + PATIENCE_S
        while not (found := re.search(r"BiDi listening on (ws://\S+)", said.read_text("utf-8"))):
            assert time.monotonic() < end, "Firefox never said where it listens"
            time.sleep(0.1)
        self.loop = asyncio.new_event_loop()
        self.next = 0
        self.requests: list[str] = []
        url = found.group(1) + "/session"

        async def connect() -> Any:
            return await websocket_connect(url, max_message_size=LARGEST_MESSAGE)

        self.socket = self._wait(connect())
        self.send("session.new", capabilities={})
        self.send("session.subscribe", events=["network.beforeRequestSent"])
        self.window = self.send("browsingContext.getTree", maxDepth=0)["contexts"][0]["context"]

    def _wait(self, begun: Any) -> Any:
        return self.loop.run_until_complete(asyncio.wait_for(begun, PATIENCE_S))

    def send(self, method: str, **params: Any) -> Any:
        """One command and its result; what is told meanwhile of requests is kept."""
        self.next += 1
        message = json.dumps({"id": self.next, "method": method, "params": params})

        async def exchange() -> Any:
            await self.socket.write_message(message)
            while True:
                said = json.loads(await self.socket.read_message())
                if said.get("method") == "network.beforeRequestSent":
                    self.requests.append(said["params"]["request"]["url"])
                if said.get("id") == self.next:
                    return said

        said = self._wait(exchange())
        assert said["type"] == "success", said
        return said["result"]

    def open(self, url: str) -> None:
        self.send("browsingContext.navigate", context=self.window, url=url, wait="complete")

    def evaluate(self, script: str) -> Any:
        """The value of an expression, by JSON."""
        said = self.send(
            "script.evaluate", expression=f"JSON.stringify({script})",
            target={"context": self.window}, awaitPromise=True,
        )  # fmt: skip
        assert said["type"] == "success", said
        text = said["result"].get("value")
        return None if text is None else json.loads(text)

    def until(self, true: str) -> None:
        end = time.monotonic() + PATIENCE_S
        while not self.evaluate(f"Boolean({true})"):
            assert time.monotonic() < end, f"{true} never came true"
            time.sleep(0.1)

    def resize(self, width: int, height: int) -> None:
        self.send(
            "browsingContext.setViewport", context=self.window,
            viewport={"width": width, "height": height},
        )  # fmt: skip

    def picture(self, file: Path) -> None:
        """A screenshot of the whole page."""
        said = self.send(
            "browsingContext.captureScreenshot", context=self.window, origin="document"
        )
        file.write_bytes(base64.b64decode(said["data"]))

    def click(self, x: float, y: float) -> None:
        """At a place of the window."""
        at = {"type": "pointerMove", "x": round(x), "y": round(y)}
        press = [{"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        self.send(
            "input.performActions", context=self.window,
            actions=[{"type": "pointer", "id": "mouse", "actions": [at, *press]}],
        )  # fmt: skip

    def press(self, *keys: str) -> None:
        """Keys by their names, or texts letter by letter."""
        letters = [letter for key in keys for letter in KEYS.get(key, key)]
        actions = [
            {"type": way, "value": letter} for letter in letters for way in ("keyDown", "keyUp")
        ]
        self.send(
            "input.performActions", context=self.window,
            actions=[{"type": "key", "id": "keys", "actions": actions}],
        )  # fmt: skip

    def close(self) -> None:
        self.process.terminate()
        self.process.wait(60)
        self.loop.close()
