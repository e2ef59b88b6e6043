"""The sheets in a real browser: they fit every width, and axe-core finds nothing to mend."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import DATA, Command, plan_words

PHONE, LAPTOP = (390, 844), (1280, 800)
KINDS = ("plan", "shade", "later", "readings", "audit", "fit")
PAPERS = {"A4": (595, 842), "Letter": (612, 792)}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Debian's Chromium, driven by playwright."""
    program = shutil.which("chromium")
    if program is None:
        pytest.skip("no chromium on the path: install Debian's package chromium")
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=program, args=["--no-sandbox", "--disable-gpu"]
        )
        yield started
        started.close()


@pytest.fixture(scope="module")
def sheets(
    mamelon: Command, demo: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    """One sheet of every kind."""
    folder = tmp_path_factory.mktemp("sheets")
    found = {name: folder / f"{name}.html" for name in KINDS}
    table = folder / "readings.csv"
    table.write_text(
        "label,L,a,b\nupper left central,70,1,18\nupper right central,60,-1,20\n", encoding="utf-8"
    )
    tabs = ("--tabs", demo["tabs"])
    kept = folder / "kept.json"
    for words in (
        ["card", demo["photo"], "--card", demo["card"], "--keep-fit", kept],
        # By the kept fit, whose intervals are wide: the longest numbers.
        ["shade", demo["photo"], "--fit", kept, *tabs, "--sheet", found["later"]],
        [*plan_words(demo, lamp="1000", label="Demo case"), "--sheet", found["plan"]],
        ["shade", demo["photo"], "--card", demo["card"], *tabs, "--sheet", found["shade"]],
        ["shade", table, *tabs, "--label", "W" * 10_000, "--sheet", found["readings"]],
        ["tabs", "audit", demo["tabs"], "--earlier", demo["tabs"], "--keep", "8", "--sheet",
         found["audit"]],
        ["paste", "fit", DATA / "pastes/drawdowns_fawn.csv", "--name", "fawn", "--role", "body",
         "--sheet", found["fit"]],
    ):  # fmt: skip
        result = mamelon(*words)
        assert result.returncode in (0, 1), result.stderr
    return found


def pages_of(pdf: bytes) -> int:
    """Pages of a PDF: the count of its page tree (ISO 32000-1, 7.7.3.2)."""
    counts = re.findall(rb"/Type /Pages\s[^>]*?/Count (\d+)", pdf)
    assert counts
    return max(map(int, counts))


@pytest.mark.parametrize("kind", KINDS)
def test_no_sheet_is_wider_than_any_window(
    browser: Any, sheets: dict[str, Path], kind: str
) -> None:
    page = browser.new_page()
    page.goto(sheets[kind].as_uri())
    for width in range(360, 1300, 20):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.parametrize("kind", KINDS)
def test_no_sheet_is_wider_than_the_window_or_lets_text_run_over_text(
    browser: Any, sheets: dict[str, Path], kind: str
) -> None:
    for width, height in (PHONE, LAPTOP):
        page = browser.new_page(viewport={"width": width, "height": height})
        page.goto(sheets[kind].as_uri())
        root = "document.documentElement"
        assert page.evaluate(f"{root}.scrollWidth - {root}.clientWidth") <= 0
        # Cells, headings and paragraphs that share an edge may touch; none may lie on another.
        overlaps = page.evaluate(
            """() => {
              const blocks = [...document.querySelectorAll('h1,h2,h3,p,td,th,li,figcaption,svg')];
              const box = e => e.getBoundingClientRect();
              const found = [];
              for (const a of blocks) for (const b of blocks) {
                if (a === b || a.contains(b) || b.contains(a)) continue;
                const p = box(a), q = box(b);
                const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
                const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
                if (x > 2 && y > 2) found.push(a.textContent.slice(0, 40) + ' | ' +
                                               b.textContent.slice(0, 40));
              }
              return found;
            }"""
        )
        assert overlaps == []
        # No drawing's text runs out of its drawing.
        cut = page.evaluate(
            """() => [...document.querySelectorAll('svg text')].filter(text => {
              const p = text.getBoundingClientRect();
              const q = text.ownerSVGElement.getBoundingClientRect();
              return p.left < q.left - 1 || p.right > q.right + 1;
            }).map(text => text.textContent)"""
        )
        assert cut == []
        page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", ["plan", "readings", "audit", "fit"])
def test_axe_finds_nothing_to_mend(
    browser: Any, sheets: dict[str, Path], kind: str, scheme: str
) -> None:
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed"
    )
    page = browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]}, color_scheme=scheme)
    page.goto(sheets[kind].as_uri())
    response = axe.Axe().run(page).response
    assert [(rule["id"], len(rule["nodes"])) for rule in response["violations"]] == []
    # The rules ran: a page that they could not look at would break none.
    passed = {rule["id"] for rule in response["passes"]}
    assert {"color-contrast", "image-alt", "html-has-lang", "document-title"} - passed <= {
        "image-alt"
    }
    page.close()


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("kind", "pages"), [("plan", 2), ("shade", 1)])
def test_a_shade_prints_on_one_page_and_a_plan_on_the_chairs_and_one_of_evidence(
    browser: Any, sheets: dict[str, Path], kind: str, pages: int, paper: str
) -> None:
    page = browser.new_page()
    page.goto(sheets[kind].as_uri())
    assert pages_of(page.pdf(format=paper, print_background=True)) == pages
    page.close()
