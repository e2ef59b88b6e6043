"""Debian's Chromium, driven by playwright."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    # Of one module: two drivers of one process cannot run at once, and other tests have their own.
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium on the path: install Debian's package chromium")
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        yield started
        started.close()


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    made = browser.new_context(locale="en-GB", accept_downloads=True)
    yield made
    made.close()
