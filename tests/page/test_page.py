"""The whole job in the page, by mouse and by keyboard, and what it must never do."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from page_driver import CORE, DATA, PAGE, PASTES, PHOTO, TABS, Opened, needs_page, seconds

pytestmark = needs_page


@pytest.fixture
def opened(context: Any) -> Opened:
    return Opened(context.new_page())


TRUTH = json.loads((DATA / "photos/front_teeth.truth.json").read_text(encoding="utf-8"))
TOOTH = next(t for t in TRUTH["teeth"] if "central" in t["name"])
STEPS = ["First day", "Tooth", "Shade", "Cavity", "Chair", "Try-in", "Record", "Bench"]


def planned(opened: Opened) -> None:
    """The demo case to a plan."""
    opened.photo_and_card()
    opened.point_at(*TOOTH["point_px"])
    opened.step("Shade")
    opened.give("Load a tab set", TABS)
    opened.step("Cavity")
    opened.give("Load your pastes", PASTES)
    opened.press("by its colour")
    field = opened.page.get_by_label("L* a* b*, and standard deviations if known")
    field.fill("48 7,5 22")
    field.press("Enter")
    opened.settle()
    opened.press("Plan the layers")


def test_whole_job_by_mouse(opened: Opened, tmp_path: Path) -> None:
    page = opened.page
    opened.photo_and_card()
    assert "tooth20_frame: found, good" in opened.text()
    opened.point_at(*TOOTH["point_px"])
    assert all(zone in opened.text() for zone in ("cervical", "middle", "incisal"))
    planned_on = opened
    opened.step("Shade")
    planned_on.give("Load a tab set", TABS)
    assert "Nearest tab" in opened.text()
    assert "invented" in opened.text().lower()

    opened.step("Cavity")
    opened.give("Load your pastes", PASTES)
    opened.press("by its colour")
    page.get_by_label("L* a* b*, and standard deviations if known").fill("48 7.5 22")
    page.keyboard.press("Enter")
    opened.settle()
    opened.press("Plan the layers")
    assert page.locator("svg.section").is_visible()
    assert "Expected difference" in opened.text()

    opened.step("Chair")
    assert page.locator("ol.steps li").count() >= 1
    page.locator("ol.steps input").first.check()
    page.get_by_role("button", name="Start 1").click()
    assert page.get_by_role("button", name="Stop 1").is_visible()
    assert page.locator(".invented").is_visible()

    opened.step("Record")
    page.get_by_label("Name for this case").fill("Case 7")
    page.keyboard.press("Enter")
    with page.expect_download() as saved:
        opened.press("Save the case")
    assert saved.value.suggested_filename == "Case 7.zip"
    opened.press("Make the sheet")
    sheet = page.frame_locator("iframe.sheet").locator("body").inner_text()
    # Invented tabs and pastes never come out as a plan.
    assert "INVENTED" in sheet and "Plan from the floor" not in sheet
    assert opened.errors == []


def test_whole_job_by_keyboard_alone(opened: Opened) -> None:
    page = opened.page
    opened.page.mouse.move(0, 0)

    def tab_to(name: str, role: str = "button") -> None:
        """Goes on by the tab key until the control of that name has the focus."""
        for _ in range(80):
            page.keyboard.press("Tab")
            at = page.evaluate(
                "(() => { const e = document.activeElement; return [e.getAttribute('aria-label') ||"
                " (e.labels && e.labels[0] && e.labels[0].textContent) || e.textContent,"
                " e.tagName]; })()"
            )
            if at[0].strip() == name or (role == "canvas" and at[1] == "CANVAS"):
                return
        raise AssertionError(f"no control {name} is reached by the tab key")

    tab_to("Try the invented example")
    page.keyboard.press("Enter")
    page.wait_for_selector("canvas")
    opened.settle()
    opened.until("app.found.length > 0")
    tab_to("", "canvas")
    width, height = page.evaluate(
        "[app.photos.get(app.doc.value.photo).width, app.photos.get(app.doc.value.photo).height]"
    )
    scale = page.evaluate("app.photos.get(app.doc.value.photo).scale")
    x, y = TOOTH["point_px"]
    for key, steps in (
        ("ArrowRight" if x > width / 2 else "ArrowLeft", abs(x - width / 2) * scale / 8),
        ("ArrowDown" if y > height / 2 else "ArrowUp", abs(y - height / 2) * scale / 8),
    ):
        for _ in range(round(steps)):
            page.keyboard.press(key)
    page.keyboard.press("Enter")
    opened.settle()
    assert "middle" in opened.text()
    before = page.evaluate("JSON.stringify(app.doc.value.teeth)")
    tab_to("Drag the rim")
    page.keyboard.press("Enter")
    tab_to("", "canvas")
    page.keyboard.press(".")
    page.keyboard.press("Shift+ArrowRight")
    opened.settle()
    assert page.evaluate("JSON.stringify(app.doc.value.teeth)") != before
    tab_to("Cavity")
    page.keyboard.press("Enter")
    tab_to("by its colour")
    page.keyboard.press("Enter")
    tab_to("L* a* b*, and standard deviations if known")
    page.keyboard.type("48 7.5 22")
    page.keyboard.press("Tab")
    opened.settle()
    tab_to("Plan the layers")
    page.keyboard.press("Enter")
    opened.settle()
    assert page.locator("svg.section").is_visible()
    tab_to("Chair")
    page.keyboard.press("Enter")
    assert page.locator("ol.steps li").count() >= 1
    assert opened.errors == []


def test_the_rim_can_be_dragged_and_zones_follow(opened: Opened) -> None:
    page = opened.page
    opened.photo_and_card()
    opened.point_at(*TOOTH["point_px"])
    before = page.evaluate("app.answer.teeth[0].outline")
    opened.press("Drag the rim")
    rim_x, rim_y = before[0]
    middle_x, middle_y = TOOTH["point_px"]
    start = opened.at(rim_x, rim_y)
    end = opened.at(rim_x + (middle_x - rim_x) * 0.35, rim_y + (middle_y - rim_y) * 0.35)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=4)
    page.mouse.up()
    opened.settle()
    assert "rim" in page.evaluate("app.doc.value.teeth[0]")
    assert page.evaluate("app.answer.teeth[0].readings.length") == 3


def test_layers_move_and_alternatives_are_good(opened: Opened) -> None:
    page = opened.page
    planned(opened)
    before = page.evaluate("app.answer.plans[app.answer.recommended].layers")
    assert (
        seconds(lambda: page.evaluate("app.core.call('predict', { layers: app.planned().layers })"))
        < 0.15
    )
    opened.press("0.3 mm more on top")
    assert "Moved by hand" in opened.text()
    assert page.evaluate("app.prediction.layers.at(-1).thickness_mm") == pytest.approx(
        before[-1]["thickness_mm"] + 0.3
    )
    opened.press("Undo")
    assert "Moved by hand" not in opened.text()
    # Every plan under the heading is as good as the recommended one.
    best = page.evaluate("app.answer.plans[app.answer.recommended].de00_expected")
    for plan in page.evaluate("app.answer.plans.filter((p) => p.equally_good)"):
        assert plan["de00_expected"] <= best + 0.08 + 1e-12
    # A new search, the photo being known.
    depth = page.get_by_label("Depth, mm")
    depth.fill("2,5")
    depth.press("Enter")
    opened.settle()
    opened.press("Plan the layers") if not page.evaluate("Boolean(app.planned())") else None
    assert page.evaluate("app.doc.value.depth") == 2.5


def test_case_comes_back_from_its_file(opened: Opened, context: Any, tmp_path: Path) -> None:
    planned(opened)
    colours = opened.page.evaluate("JSON.stringify(app.answer)")
    opened.step("Record")
    with opened.page.expect_download() as saved:
        opened.press("Save the case")
    file = tmp_path / "case.zip"
    saved.value.save_as(file)

    again = Opened(context.new_page())
    again.step("Record")
    again.give("Open a case", file)
    again.until("Boolean(app.answer && app.answer.plans)")
    again.settle()
    assert again.page.evaluate("JSON.stringify(app.answer)") == colours
    assert again.page.locator("#alert").inner_text() == ""


def test_the_try_in_stands_beside_tooth_and_prediction(
    opened: Opened, context: Any, tmp_path: Path
) -> None:
    page = opened.page
    planned(opened)
    opened.step("Chair")
    lot = page.get_by_label(re.compile("^Lot of ")).first
    for field, text in ((page.get_by_label("Operator"), "ann"), (lot, "7B")):
        field.fill(text)
        field.press("Enter")
        opened.settle()
    opened.step("Try-in")
    opened.press("Add a try-in")
    assert page.evaluate("app.doc.value.tryIns[0].layers") == page.evaluate(
        "app.planned().layers.map(({ paste, thickness_mm }) => ({ paste, thickness_mm }))"
    )
    opened.press("by a reading")
    field = page.get_by_label("L* a* b*, and standard deviations if known")
    field.fill("70 2 18 0.3 0.2 0.2")
    field.press("Enter")
    opened.settle()
    assert re.search("It lies ΔE00 .* from the target", opened.text())
    assert "tooth before" in opened.text() and "prediction" in opened.text()
    page.get_by_label("The paste is cured").uncheck()
    opened.settle()
    assert "too early to judge" in opened.text()
    opened.press("by a photo")
    opened.give("Choose a photo", PHOTO)
    x, y = TOOTH["point_px"]
    place = page.get_by_label("Place in the photo, pixels: from the left, from the top")
    place.fill(f"{x} {y}")
    place.press("Enter")
    opened.settle()
    # The same tooth in the same photo, read as a restoration: no difference but the surface's.
    assert page.evaluate("app.compared.outline.length") > 10
    assert page.evaluate("app.compared.target.low") <= 0.5
    compared = page.evaluate("JSON.stringify(app.compared)")

    opened.step("Record")
    with page.expect_download() as saved:
        opened.press("Save the case")
    file = tmp_path / "case.zip"
    saved.value.save_as(file)
    again = Opened(context.new_page())
    again.step("Record")
    again.give("Open a case", file)
    again.until("Boolean(app.answer && app.answer.plans)")
    again.settle()
    again.step("Try-in")
    again.until("Boolean(app.compared)")
    assert again.page.evaluate("JSON.stringify(app.compared)") == compared
    assert again.page.evaluate("app.doc.value.operator") == "ann"
    assert again.page.evaluate("app.doc.value.lots[0].lot") == "7B"
    assert again.page.locator("#alert").inner_text() == ""
    assert opened.errors == [] and again.errors == []


def test_undo_brings_back_each_step(opened: Opened) -> None:
    opened.photo_and_card()
    opened.point_at(*TOOTH["point_px"])
    opened.press("Undo")
    assert opened.page.evaluate("app.doc.value.teeth.length") == 0
    opened.press("Redo")
    assert "middle" in opened.text()


def test_nothing_is_sent_and_nothing_can_be(opened: Opened) -> None:
    planned(opened)
    tried = opened.page.evaluate(
        """async () => {
          const blocked = {};
          addEventListener("securitypolicyviolation",
                           (e) => { blocked[e.effectiveDirective] = true; });
          for (const send of [
            () => fetch("https://example.invalid/a"),
            () => navigator.sendBeacon("https://example.invalid/b", "x"),
            () => new WebSocket("wss://example.invalid/c"),
            () => { new Image().src = "https://example.invalid/d.png"; },
            () => {
              const frame = document.createElement("iframe");
              frame.src = "https://example.invalid/e";
              document.body.append(frame);
            },
          ]) { try { await send(); } catch { /* refused at once */ } }
          await new Promise((resolve) => setTimeout(resolve, 500));
          return blocked;
        }"""
    )
    assert set(tried) >= {"connect-src", "img-src", "frame-src"}
    own = [url for url in opened.requests if "example.invalid" not in url]
    assert [url for url in own if not re.match(r"(file|blob|data|about):", url)] == []
    assert [url for url in own if url.startswith("file:")] == [PAGE.as_uri()]


def test_refusals_are_the_library_s_sentences(opened: Opened, tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps({"format": "mamelon-tab-set", "version": "1.0", "name": "x"}))
    opened.step("Shade")
    opened.give("Load a tab set", bad)
    assert "bad.json" in opened.page.locator("#alert").inner_text()
    torn = tmp_path / "torn.jpg"
    torn.write_bytes(PHOTO.read_bytes()[:5000])
    opened.step("Tooth")
    opened.give("Choose a photo", torn)
    assert len(opened.page.locator("#alert").inner_text()) > 20
    # It goes on after that.
    opened.photo_and_card()
    assert "found, good" in opened.text()


def test_storage_only_with_consent(opened: Opened, context: Any) -> None:
    page = opened.page
    opened.photo_and_card()
    assert page.evaluate("localStorage.length") == 0
    opened.step("Record")
    page.get_by_label("Keep this case, without its photos, in this browser").check()
    kept = page.evaluate("localStorage.getItem('mamelon case')")
    assert kept and len(kept) < 100_000
    again = Opened(context.new_page())
    assert again.page.evaluate("app.doc.value.card.name") == "tooth20_frame"
    assert "here again" in again.page.locator("#alert").inner_text()
    again.step("Record")
    again.press("Erase what is kept")
    assert again.page.evaluate("localStorage.length") == 0


def test_forbidden_storage_ends_in_a_sentence(context: Any) -> None:
    context.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    opened = Opened(context.new_page())
    opened.step("Record")
    opened.page.get_by_label("Keep this case, without its photos, in this browser").check()
    assert "Save the case as a file" in opened.page.locator("#alert").inner_text()


def test_numbers_are_written_as_the_reader_s_country_does(browser: Any) -> None:
    context = browser.new_context(locale="de-DE")
    opened = Opened(context.new_page())
    opened.step("Cavity")
    for text in ("2,5", "2.5"):
        field = opened.page.get_by_label("Depth, mm")
        field.fill(text)
        field.press("Enter")
        opened.settle()
        assert opened.page.evaluate("app.doc.value.depth") == 2.5
        assert opened.page.get_by_label("Depth, mm").input_value() == "2,5"
    context.close()


def test_a_photo_of_160_megapixels_opens_or_ends_in_a_sentence(
    opened: Opened, tmp_path: Path
) -> None:
    image = pytest.importorskip("PIL.Image")
    huge = tmp_path / "huge.jpg"
    image.new("RGB", (14_500, 11_000), (120, 110, 100)).save(huge, quality=20)
    opened.give("Choose a photo", huge)
    shown = opened.page.locator("canvas").count() == 1
    assert shown or len(opened.page.locator("#alert").inner_text()) > 20
    assert opened.errors == []


def test_the_page_asks_before_it_closes(opened: Opened) -> None:
    asked: list[str] = []
    opened.page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    opened.photo_and_card()
    opened.page.reload()
    assert asked == ["beforeunload"]


def test_the_bench_makes_sets_and_shows_what_is_wrong(opened: Opened, tmp_path: Path) -> None:
    page = opened.page
    rows = [
        f"{tab},{L + d},{1 + d / 2},{18 - d}"
        for tab, L in (("reed", 75), ("oat", 70))
        for d in (0, 0.2, -0.1)
    ]
    good = tmp_path / "readings.csv"
    good.write_text("label,L,a,b\n" + "\n".join(rows) + "\n")
    bad = tmp_path / "wrong.csv"
    bad.write_text("label,L,a,b\nreed,75,1,x8\n")
    opened.step("Bench")
    opened.give("Choose a file", bad)
    assert page.locator("td.wrong").count() >= 1
    opened.give("Choose a file", good)
    assert "3 / 3" in opened.text()
    opened.press("Use it now")
    opened.press("Audit tabs")
    assert page.locator("iframe.sheet").count() == 1


def test_a_paste_comes_from_drawdowns(opened: Opened) -> None:
    opened.step("Bench")
    opened.page.get_by_label("Name").nth(1).fill("fawn")
    with opened.page.expect_file_chooser() as chooser:
        opened.page.get_by_role("button", name="Choose a file").nth(1).click()
    chooser.value.set_files(DATA / "pastes/drawdowns_fawn.csv")
    opened.settle()
    assert "Save fawn.json" in opened.text()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_cut_off_and_axe_finds_nothing(opened: Opened, scheme: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = opened.page
    page.emulate_media(color_scheme=scheme)
    planned(opened)
    for width in (360, 820, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        for step in STEPS:
            opened.step(step)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (
                step,
                width,
            )
            if width in (360, 1280):
                found = axe.run(page).response["violations"]
                assert [(rule["id"], len(rule["nodes"])) for rule in found] == [], step


def test_page_is_small_enough() -> None:
    assert PAGE.stat().st_size <= 4 * 2**20


def test_assembling_gives_the_same_bytes(tmp_path: Path) -> None:
    out = tmp_path / "again.html"
    subprocess.run(
        ["python3", DATA.parent / "src/page/assemble.py", CORE / "mamelon_core.js",
         CORE / "mamelon_core.wasm", DATA, out],
        check=True,
    )  # fmt: skip
    assert out.read_bytes() == PAGE.read_bytes()
