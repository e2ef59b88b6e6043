"""Camera raw files: linear in the sensor's own values, and what is clipped is known from them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from simulator.dng import mosaic_of, write_dng

import mamelon as mm

DATA = Path(__file__).resolve().parents[2] / "data"
SIZE = (256, 320)


def fields(black: int, white: int) -> tuple[np.ndarray, np.ndarray]:
    """Four flat quarters of known light (h, w, 3), and what a sensor makes of them."""
    light = np.empty((*SIZE, 3))
    half_y, half_x = SIZE[0] // 2, SIZE[1] // 2
    light[:half_y, :half_x] = (0.60, 0.30, 0.10)
    light[:half_y, half_x:] = (0.05, 0.40, 0.20)
    light[half_y:, :half_x] = (0.90, 0.80, 0.70)
    light[half_y:, half_x:] = (0.25, 0.25, 0.25)
    values = np.round(black + mosaic_of(light) * (white - black)).astype(np.uint16)
    return light, values


def quarters(photo: mm.Photo) -> np.ndarray:
    """Mean of the middle of each quarter, as light."""
    rgb = np.asarray(photo.rgb, dtype=np.float64) / 65535
    height, width = rgb.shape[:2]
    middles = [(y, x) for y in (height // 4, 3 * height // 4) for x in (width // 4, 3 * width // 4)]
    return np.array([rgb[y - 20 : y + 20, x - 20 : x + 20].mean(axis=(0, 1)) for y, x in middles])


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("pattern", [(0, 1, 1, 2), (2, 1, 1, 0), (1, 0, 2, 1)])
def test_values_are_the_sensors_less_black(
    tmp_path: Path, byteorder: str, pattern: tuple[int, ...]
) -> None:
    light, _ = fields(512, 16383)
    values = np.round(512 + mosaic_of(light, pattern) * (16383 - 512)).astype(np.uint16)
    write_dng(tmp_path / "a.dng", values, pattern=pattern, byteorder=byteorder)
    photo = mm.read_photo(tmp_path / "a.dng")
    assert str(photo.encoding) == "linear"
    assert not photo.warnings
    assert (photo.height, photo.width) == SIZE
    expected = light[[10, 10, -10, -10], [10, -10, 10, -10]]
    # Half a step of the sensor and of the 16-bit result.
    assert np.abs(quarters(photo) - expected).max() < 1 / 15871 + 1 / 65535


def test_black_of_every_photosite_is_taken_off(tmp_path: Path) -> None:
    black = (500, 520, 540, 600)
    light, _ = fields(0, 1)
    offset = np.asarray(black).reshape(2, 2)[np.indices(SIZE)[0] % 2, np.indices(SIZE)[1] % 2]
    values = np.round(offset + mosaic_of(light) * 12000).astype(np.uint16)
    write_dng(tmp_path / "a.dng", values, black=black, white=(12600,))
    found = quarters(mm.read_photo(tmp_path / "a.dng"))
    ratio = found / light[[10, 10, -10, -10], [10, -10, 10, -10]]
    # One scale for all: what light there was stays in proportion.
    assert np.ptp(ratio) < 2e-3 * ratio.mean()


def test_full_photosites_and_their_neighbours_count_as_clipped(tmp_path: Path) -> None:
    white = 15000
    values = np.minimum(fields(512, 16383)[1], white - 1)
    values[40, 60] = white  # a red photosite
    values[201, 101] = 16000  # a blue one
    write_dng(tmp_path / "a.dng", values, white=(white,))
    photo = mm.read_photo(tmp_path / "a.dng")
    clipped = (np.asarray(photo.rgb) >= np.asarray(photo.clip_level)).any(axis=2)
    expected = np.zeros(SIZE, dtype=bool)
    expected[39:42, 59:62] = True
    expected[200:203, 100:103] = True
    assert (clipped == expected).all()


@pytest.mark.parametrize(("orientation", "turns"), [(1, 0), (6, -1), (3, 2), (8, 1)])
def test_orientation_is_applied(tmp_path: Path, orientation: int, turns: int) -> None:
    light, values = fields(512, 16383)
    write_dng(tmp_path / "a.dng", values, orientation=orientation)
    photo = mm.read_photo(tmp_path / "a.dng")
    turned = np.rot90(light, turns)
    assert (photo.height, photo.width) == turned.shape[:2]
    expected = turned[[10, 10, -10, -10], [10, -10, 10, -10]]
    assert np.abs(quarters(photo) - expected).max() < 1e-3


def test_linear_camera_rgb_is_read_too(tmp_path: Path) -> None:
    light, _ = fields(0, 1)
    values = np.round(light * 60000).astype(np.uint16)
    write_dng(tmp_path / "a.dng", values, black=(0, 0, 0), white=(60000, 60000, 60000))
    photo = mm.read_photo(tmp_path / "a.dng")
    expected = light[[10, 10, -10, -10], [10, -10, 10, -10]]
    assert np.abs(quarters(photo) - expected).max() < 1e-4


def test_the_demo_scene_as_raw_reads_as_its_truth(tmp_path: Path) -> None:
    """The demo's linear picture seen through one colour a photosite, with black and noise."""
    rgb = tifffile.imread(DATA / "photos/front_teeth_linear.tif").astype(np.float64) / 65535
    truth = json.loads((DATA / "photos/front_teeth_linear.truth.json").read_text(encoding="utf-8"))
    black, white = 512, 16383
    noise = np.random.default_rng(3).normal(0, 3, rgb.shape[:2])
    values = np.round(black + mosaic_of(rgb) * (white - black) + noise)
    write_dng(tmp_path / "a.dng", np.clip(values, 0, white).astype(np.uint16))
    card = mm.read_card(DATA / f"cards/{truth['card']}.json")
    viewing = mm.viewing_from_string(truth["viewing"])

    def zones_of(file: Path) -> tuple[mm.Zones, list[mm.Reading]]:
        photo = mm.read_photo(file)
        fit = mm.fit_card(photo, card, viewing)
        zones = mm.find_zones(photo, fit)
        return zones, list(mm.read_zones(photo, fit, zones, label="demo"))

    zones, raw = zones_of(tmp_path / "a.dng")
    _, tiff = zones_of(DATA / "photos/front_teeth_linear.tif")
    box = zones.tooth
    known = next(
        {zone["name"]: zone["lab"] for zone in tooth["zones"]}
        for tooth in truth["teeth"]
        if box.x <= tooth["point_px"][0] < box.x + box.width
        and box.y <= tooth["point_px"][1] < box.y + box.height
    )
    assert len(raw) == len(known) == 3
    for reading in raw:
        assert mm.de00(reading.lab.value, known[reading.zone]) < 1.0
    for a, b in zip(raw, tiff, strict=True):
        # Less than what the fit itself is good for: the mosaic costs next to nothing.
        assert mm.de00(a.lab.value, b.lab.value) < 0.3


def test_truncated_and_colourless_raw_files_are_refused(tmp_path: Path) -> None:
    _, values = fields(512, 16383)
    write_dng(tmp_path / "a.dng", values)
    content = (tmp_path / "a.dng").read_bytes()
    (tmp_path / "cut.dng").write_bytes(content[: len(content) // 2])
    with pytest.raises(mm.DataError, match=r"cut\.dng: the raw file"):
        mm.read_photo(tmp_path / "cut.dng")
    # A few bytes less are not a few dark rows.
    (tmp_path / "short.dng").write_bytes(content[:-400])
    with pytest.raises(mm.DataError, match=r"short\.dng: the raw file"):
        mm.read_photo(tmp_path / "short.dng")
    write_dng(tmp_path / "small.dng", values[:40, :40])
    with pytest.raises(mm.CaptureError, match="too few to measure"):
        mm.read_photo(tmp_path / "small.dng")
