"""How a tooth is pointed at: points in and out, a drawn rim, mirrors, polarisers, from above."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import DATA, Command
from PIL import Image, ImageOps

TRUTH = json.loads((DATA / "photos/front_teeth.truth.json").read_text(encoding="utf-8"))
PHOTO = DATA / "photos/front_teeth.jpg"


def shade(
    mamelon: Command, photo: Path, *words: object, tabs: Path = DATA / "tabs/orchard16.json"
) -> Any:
    result = mamelon(
        "shade", photo, "--card", DATA / "cards/tooth20_frame.json", "--tabs", tabs, "--json",
        *words,
    )  # fmt: skip
    assert result.returncode in (0, 1), result.stderr
    return json.loads(result.stdout)


def refused(mamelon: Command, *words: object) -> str:
    result = mamelon(
        "shade", PHOTO, "--card", DATA / "cards/tooth20_frame.json",
        "--tabs", DATA / "tabs/orchard16.json", *words,
    )  # fmt: skip
    assert result.returncode == 2
    return result.stderr


@pytest.fixture(scope="module")
def tooth() -> tuple[float, float, float, float]:
    """Give the box of a central incisor: x, y, width, height."""
    x, y, width, height = TRUTH["teeth"][2]["box_px"]
    return x, y, width, height


def colours(document: Any) -> list[float]:
    return [value for reading in document["readings"] for value in reading["lab"]]


def test_a_drawn_rim_reads_as_a_point_does(
    mamelon: Command, tooth: tuple[float, float, float, float]
) -> None:
    x, y, w, h = tooth
    corners = [(0.1, 0.05), (0.9, 0.05), (0.95, 0.95), (0.05, 0.95)]
    rim = ",".join(f"{x + u * w:.0f},{y + v * h:.0f}" for u, v in corners)
    by_rim = shade(mamelon, PHOTO, "--rim", rim)
    by_point = shade(mamelon, PHOTO, "--tooth", f"{x + w / 2:.0f},{y + h / 2:.0f}")
    assert colours(by_rim) == pytest.approx(colours(by_point), abs=1.0)


def test_points_in_and_out_are_taken(
    mamelon: Command, tooth: tuple[float, float, float, float]
) -> None:
    x, y, w, h = tooth
    words = ["--tooth", f"{x + w / 2:.0f},{y + h / 2:.0f}"]
    plain = shade(mamelon, PHOTO, *words)
    shorter = shade(mamelon, PHOTO, *words, "--outside", f"{x + w / 2:.0f},{y + 0.85 * h:.0f}")
    assert colours(shorter) != colours(plain)
    inside = shade(mamelon, PHOTO, "--inside", f"{x + w / 2:.0f},{y + h / 2:.0f}")
    assert colours(inside) == pytest.approx(colours(plain), abs=0.3)


def test_hints_that_make_no_sense_are_refused(mamelon: Command) -> None:
    assert "--rim: expected three corners or more" in refused(mamelon, "--rim", "1,2,3,4")
    assert "give one of them" in refused(mamelon, "--rim", "1,2,3,4,5,6", "--box", "1,2,3,4")
    two = ["--tooth", "700,400", "--tooth", "900,400", "--inside", "700,420"]
    assert "mend one tooth" in refused(mamelon, *two)
    assert "from above" in refused(mamelon, "--tooth", "11=820,400", "--from-above")


def test_a_photo_taken_in_a_mirror_reads_as_the_photo(
    mamelon: Command, tooth: tuple[float, float, float, float], tmp_path: Path
) -> None:
    """Pillow flips the photo; places are told in the photo as it is."""
    x, y, w, h = tooth
    image = Image.open(PHOTO)
    files = {}
    for name, made in (("plain", image), ("flipped", ImageOps.mirror(image))):
        files[name] = tmp_path / f"{name}.png"
        made.save(files[name], icc_profile=image.info["icc_profile"])
    at = x + w / 2, y + h / 2
    plain = shade(mamelon, files["plain"], "--tooth", f"{at[0]},{at[1]}")
    mirrored = shade(
        mamelon, files["flipped"], "--mirrored", "--tooth", f"{image.width - 1 - at[0]},{at[1]}"
    )
    assert colours(mirrored) == pytest.approx(colours(plain), abs=1e-9)
    result = mamelon(
        "shade", files["plain"], "--card", DATA / "cards/tooth20_frame.json",
        "--tabs", DATA / "tabs/orchard16.json", "--mirrored",
    )  # fmt: skip
    assert result.returncode == 4
    assert "show the card in the mirror" in result.stderr


def test_tabs_read_without_polarisers_widen_the_interval(
    mamelon: Command, tooth: tuple[float, float, float, float], tmp_path: Path
) -> None:
    x, y, w, h = tooth
    mask = ["--tooth", f"{x + w / 2:.0f},{y + h / 2:.0f}", "--polarised"]
    apart = shade(mamelon, PHOTO, *mask)
    assert any("crossed polarisers" in text for text in apart["warnings"])
    document = json.loads((DATA / "tabs/orchard16.json").read_text(encoding="utf-8"))
    tabs = tmp_path / "tabs.json"
    tabs.write_text(json.dumps({**document, "polarised": True}), encoding="utf-8")
    alike = shade(mamelon, PHOTO, *mask, tabs=tabs)
    assert not any("crossed polarisers" in text for text in alike["warnings"])
    for wide, narrow in zip(apart["readings"], alike["readings"], strict=True):
        assert wide["lab"] == narrow["lab"]
        assert wide["sd"][0] > narrow["sd"][0]
