"""`card`: how a card fits, how exact it can be, and a card to print."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from conftest import DATA, ROOT, Command
from jsonschema import Draft202012Validator

SCHEMA = json.loads((DATA / "schemas/card.schema.json").read_text(encoding="utf-8"))
PHOTOS = ROOT / "tests/data/photos"


def test_a_design_is_stored_with_the_card_and_used(mamelon: Command, tmp_path: Path) -> None:
    card = tmp_path / "card.json"
    shutil.copy(DATA / "cards/compact12_frame.json", card)
    result = mamelon("card", "--design", card, "--json")
    assert result.returncode == 0, result.stderr
    design = json.loads(result.stdout)["design"]
    classes = ["daylight", "cool LED", "warm LED", "tungsten", "lines", "all"]
    assert [e["light"] for e in design["errors"] if "kind" not in e] == classes
    kinds = [e["kind"] for e in design["errors"] if "kind" in e]
    assert list(dict.fromkeys(kinds)) == ["restoration", "tab", "prepared_floor"]
    document = json.loads(card.read_text(encoding="utf-8"))
    Draft202012Validator(SCHEMA).validate(document)
    # Numbers are reported with twelve significant digits, and stored in full.
    factor = document["design"]["variance_factor"]
    assert factor == pytest.approx(design["variance_factor"], rel=1e-11)
    for stored, told in zip(document["design"]["errors"], design["errors"], strict=True):
        assert stored["light"] == told["light"]
        for key in ("de00_median", "de00_p95"):
            assert stored[key] == pytest.approx(told[key], rel=1e-11)
    before = json.loads((DATA / "cards/compact12_frame.json").read_text(encoding="utf-8"))
    assert {k: v for k, v in document.items() if k not in ("design", "version")} == {
        k: v for k, v in before.items() if k not in ("design", "version")
    }


def test_a_card_to_print(mamelon: Command, tmp_path: Path) -> None:
    result = mamelon("card", "--layout", tmp_path / "mine.svg", "--patches", "12")
    assert result.returncode == 0, result.stderr
    svg = (tmp_path / "mine.svg").read_text(encoding="utf-8")
    assert svg.startswith("<svg") and "10 mm" in svg
    skeleton = json.loads((tmp_path / "mine.json").read_text(encoding="utf-8"))
    assert len(skeleton["patches"]) == 12
    # Not measured, not usable: the photo is not even looked at.
    refused = mamelon("card", PHOTOS / "good_small.jpg", "--card", tmp_path / "mine.json")
    assert refused.returncode == 3
    assert "colour" in refused.stderr


@pytest.mark.parametrize(
    "words", [(), ("photo.jpg", "--design", "card.json"), ("--layout", "card.png")]
)
def test_one_thing_at_a_time(mamelon: Command, words: tuple[str, ...]) -> None:
    assert mamelon("card", *words).returncode == 2


PHOTO = DATA / "photos/front_teeth_linear.tif"
TRUTH = json.loads((DATA / "photos/front_teeth_linear.truth.json").read_text(encoding="utf-8"))


def shade(mamelon: Command, *words: object) -> dict[str, Any]:
    """Run `shade` on the demo photo and read its document."""
    result = mamelon("shade", PHOTO, "--json", *words)
    assert result.returncode in (0, 1), result.stderr
    return dict(json.loads(result.stdout))


def tooth_words(count: int) -> list[str]:
    return [f"--tooth={t['point_px'][0]},{t['point_px'][1]}" for t in TRUTH["teeth"][:count]]


def test_several_teeth_and_a_grid(mamelon: Command) -> None:
    known = ["--card", DATA / "cards/tooth20_frame.json", "--tabs", DATA / "tabs/orchard16.json"]
    several = shade(mamelon, *known, *tooth_words(2), "--label", "case")["readings"]
    assert [r["label"] for r in several] == ["case 1"] * 3 + ["case 2"] * 3
    for reading, zone in zip(several, TRUTH["teeth"][0]["zones"], strict=False):
        assert reading["lab"] == pytest.approx(zone["lab"], abs=0.8)
    cells = shade(mamelon, *known, *tooth_words(1), "--grid", "2x2")["readings"]
    assert [r["zone"] for r in cells] == ["r1c1", "r1c2", "r2c1", "r2c2"]


def test_tabs_stand_in_for_a_card(mamelon: Command, tmp_path: Path) -> None:
    card = json.loads((DATA / "cards/tooth20.json").read_text(encoding="utf-8"))
    patches = [p for p in card["patches"] if p["name"].startswith("t")][:4]
    tabs = {"format": "mamelon-tab-set", "version": "1.0", "name": "mine", "viewing": "D65/2"}
    tabs["tabs"] = [{"name": p["name"], "lab": p["lab"]} for p in patches]
    (tmp_path / "tabs.json").write_text(json.dumps(tabs), encoding="utf-8")
    boxes = []
    for p in patches:
        corners = []
        for part in (0.25, 0.75):
            at = [p["x_mm"] + part * p["width_mm"], p["y_mm"] + part * p["height_mm"], 1]
            x, y, w = (
                sum(a * b for a, b in zip(row, at, strict=True)) for row in TRUTH["mm_to_px"]
            )
            corners.append((x / w, y / w))
        (x0, y0), (x1, y1) = corners
        boxes.append(f"--tab-box={p['name']}={x0:.0f},{y0:.0f},{x1 - x0:.0f},{y1 - y0:.0f}")
    scale = f"--px-per-mm={TRUTH['px_per_mm']}"
    found = shade(mamelon, "--tabs", tmp_path / "tabs.json", *boxes, scale, *tooth_words(1))
    assert any("no card" in warning for warning in found["warnings"])
    for reading, zone in zip(found["readings"], TRUTH["teeth"][0]["zones"], strict=True):
        for value, true, sd in zip(reading["lab"], zone["lab"], reading["sd"], strict=True):
            assert abs(value - true) < 3 * sd
