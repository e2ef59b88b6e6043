"""The sheet in a browser and on paper: nothing is cut, however long the names and the list."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from page_driver import DATA, PASTES, TABS

NATIVE = os.environ.get("MAMELON_CLI", "")
pytestmark = pytest.mark.skipif(not NATIVE, reason="needs MAMELON_CLI, the native command")
INCREMENTS = 20
LONG = " of a maker that was generous with words, for the neck of molars and premolars"
# Texts that stand wider or higher than the box that holds them.
CUT = """[...document.querySelectorAll('td, th, p, h1, h2, li, span, b, figcaption')]
  .filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
  .map((e) => e.textContent.slice(0, 60))"""


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan of twenty increments of a paste with a long name, by sets that count as measured."""
    folder = tmp_path_factory.mktemp("sheet")
    pastes = json.loads(PASTES.read_text("utf-8"))
    pastes["invented"] = False
    for paste in pastes["pastes"]:
        paste["name"] += LONG
        paste["maximum_mm"] = INCREMENTS
        paste["increment_limit_mm"] = min(1.0, paste["increment_limit_mm"])
    tabs = json.loads(TABS.read_text("utf-8"))
    tabs["invented"] = False
    for name, document in (("pastes", pastes), ("tabs", tabs)):
        (folder / f"{name}.json").write_text(json.dumps(document), encoding="utf-8")
    out = folder / "sheet.html"
    done = subprocess.run(
        [NATIVE, "plan", "74,2,18,0.6,0.3,0.5", "--tabs", folder / "tabs.json",
         "--pastes", folder / "pastes.json", "--floor", DATA / "floors/sound_dentine.csv",
         "--depth", str(INCREMENTS), "--layers", "1", "--lamp", "1000", "--contact-wall",
         "--sheet", out],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    return out


@pytest.mark.parametrize("width", [360, 820, 1280, 1920])
def test_nothing_is_cut_on_a_screen(context: Any, sheet: Path, width: int) -> None:
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(sheet.as_uri())
    assert page.locator("table.steps tbody tr").count() >= INCREMENTS
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(CUT) == []


def test_nothing_is_cut_on_paper(context: Any, sheet: Path, tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on the path: install Debian's package poppler-utils")
    page = context.new_page()
    page.goto(sheet.as_uri())
    page.emulate_media(media="print")
    assert page.evaluate(CUT) == []
    printed = tmp_path / "sheet.pdf"
    page.pdf(path=printed, prefer_css_page_size=True)
    text = subprocess.run(
        ["pdftotext", printed, "-"], capture_output=True, text=True, check=True
    ).stdout
    words = " ".join(text.split())
    chair, evidence = words.split("Evidence", 1)
    # The chair's card has every step with its name to the last word, and the lot to be filled in.
    assert chair.count("premolars") >= INCREMENTS
    assert "Lot of" in chair and "Operator" in chair
    assert "Cautions" in evidence
