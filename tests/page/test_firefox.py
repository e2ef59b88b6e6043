"""The whole job in Debian's Firefox, by clicks and keys, and that nothing is sent."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from page_driver import PAGE, needs_page

if TYPE_CHECKING:
    from firefox_driver import Firefox

pytestmark = needs_page
QUIET = (
    "typeof app !== 'undefined' && !app.solving &&"
    " document.getElementById('foot').textContent !== '' &&"
    " !/Working|Starting/.test(document.getElementById('status').textContent)"
)


@pytest.fixture
def firefox(tmp_path: Path) -> Iterator[Firefox]:
    program = shutil.which("firefox-esr") or shutil.which("firefox")
    if program is None:
        pytest.skip("no Firefox on the path: install Debian's package firefox-esr")
    pytest.importorskip("tornado", reason="tornado is not installed")
    from firefox_driver import Firefox

    profile = tmp_path / "profile"
    profile.mkdir()
    started = Firefox(program, profile)
    yield started
    started.close()


def click(firefox: Firefox, element: str, across: float = 0.5, down: float = 0.5) -> None:
    """Clicks an element at a share of its width and height."""
    x, y = firefox.evaluate(
        f"(({{ left, top, width, height }}) => [left + {across} * width, top + {down} * height])"
        f"((() => {{ const e = {element}; e.scrollIntoView({{ block: 'center' }});"
        " return e.getBoundingClientRect(); })())"
    )
    firefox.click(x, y)
    firefox.until(QUIET)


def press(firefox: Firefox, text: str) -> None:
    click(
        firefox, f"[...document.querySelectorAll('button')].find((b) => b.textContent === '{text}')"
    )


def test_whole_job_in_firefox(firefox: Firefox) -> None:
    firefox.resize(1280, 900)
    firefox.open(PAGE.as_uri())
    firefox.until(QUIET)
    press(firefox, "Try the invented example")
    firefox.until(f"app.found.length > 1 && {QUIET}")
    # A tooth that the page found, clicked in the photo.
    across, down = firefox.evaluate(
        "(({ width, height }) => [app.found[0].point[0] / width, app.found[0].point[1] / height])"
        "(app.photos.get(app.doc.value.photo))"
    )
    click(firefox, "document.querySelector('canvas')", across, down)
    firefox.until(f"app.answer && {QUIET}")
    assert [r["zone"] for r in firefox.evaluate("app.answer.teeth[0].readings")] == [
        *("cervical", "middle", "incisal")
    ]
    press(firefox, "Shade")
    assert "Nearest tab" in firefox.evaluate("document.body.innerText")
    press(firefox, "Cavity")
    press(firefox, "by its colour")
    click(firefox, "document.querySelector('input[type=text]')")
    firefox.press("48 7,5 22", "Enter")
    firefox.until(QUIET)
    press(firefox, "Plan the layers")
    firefox.until(f"app.planned() && {QUIET}")
    assert "Expected difference" in firefox.evaluate("document.body.innerText")
    press(firefox, "Chair")
    assert firefox.evaluate("document.querySelectorAll('ol.steps li').length") >= 1
    press(firefox, "Record")
    press(firefox, "Make the sheet")
    firefox.until("document.querySelector('iframe.sheet')")
    for width in (360, 820, 1280, 1920):
        firefox.resize(width, 900)
        for step in ("Tooth", "Shade", "Cavity", "Chair", "Try-in", "Record", "Bench"):
            press(firefox, step)
            assert firefox.evaluate("document.documentElement.scrollWidth <= innerWidth"), (
                step,
                width,
            )
    assert firefox.evaluate("document.getElementById('alert').textContent") == ""
    assert [url for url in firefox.requests if not re.match(r"(file|blob|data|about):", url)] == []
