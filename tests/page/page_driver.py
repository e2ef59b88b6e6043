"""The page in Debian's Chromium, opened as a file and without any network."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"
PAGE = Path(os.environ.get("MAMELON_PAGE", ROOT / "build/page/mamelon.html"))
CORE = PAGE.parent / "core/src/page"

PHOTO = DATA / "photos/front_teeth.jpg"
CARD = DATA / "cards/tooth20_frame.json"
TABS = DATA / "tabs/orchard16.json"
PASTES = DATA / "pastes/orchard10.json"

needs_page = pytest.mark.skipif(
    not PAGE.exists(), reason="the page is not built: run examples/build_page.sh"
)


class Opened:
    """The page with what it asked of the network and what it complained of."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.requests: list[str] = []
        self.errors: list[str] = []
        page.set_default_timeout(60_000)
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.goto(PAGE.as_uri())
        self.settle()

    def until(self, true: str) -> None:
        """Waits for an expression (playwright's own wait needs eval, which the page forbids)."""
        end = time.monotonic() + 120
        while not self.page.evaluate(true):
            assert time.monotonic() < end, f"{true} never came true"
            self.page.wait_for_timeout(50)

    def settle(self) -> None:
        """Waits until the core has nothing left to do."""
        self.page.wait_for_timeout(120)
        self.until(
            "!app.solving && !/Working|Starting/.test("
            "document.getElementById('status').textContent)"
        )

    def text(self) -> str:
        return str(self.page.locator("main").inner_text())

    def step(self, name: str) -> None:
        self.page.locator("#steps button", has_text=name).click()

    def press(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).first.click()
        self.settle()

    def give(self, press: str, *files: Path) -> None:
        """Answers the file dialog that a button opens."""
        with self.page.expect_file_chooser() as chooser:
            self.page.get_by_role("button", name=press, exact=True).first.click()
        chooser.value.set_files([str(file) for file in files])
        self.settle()

    def photo_and_card(self) -> None:
        self.give("Choose a photo", PHOTO)
        self.give("Load the card's file", CARD)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a pixel of the photo stands in the window."""
        area = self.page.locator("canvas").bounding_box()
        width, height = self.page.evaluate(
            "(({ width, height }) => [width, height])(app.photos.get(app.doc.value.photo))"
        )
        return area["x"] + x * area["width"] / width, area["y"] + y * area["height"] / height

    def point_at(self, x: float, y: float) -> None:
        self.page.mouse.click(*self.at(x, y))
        self.settle()


def seconds(work: Any) -> float:
    start = time.monotonic()
    work()
    return time.monotonic() - start
