"""Photos through the package: tabs in place of a card, grids, maps, designs."""

from __future__ import annotations

import json
import pickle
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(scope="module")
def photo() -> mm.Photo:
    return mm.read_photo(DATA / "photos/front_teeth_linear.tif")


@pytest.fixture(scope="module")
def truth() -> dict[str, object]:
    text = (DATA / "photos/front_teeth_linear.truth.json").read_text(encoding="utf-8")
    return dict(json.loads(text))


@pytest.fixture(scope="module")
def fit(photo: mm.Photo) -> mm.CardFit:
    return mm.fit_card(photo, mm.read_card(DATA / "cards/tooth20_frame.json"), "D65/2")


def test_parts_of_the_card_and_its_light(fit: mm.CardFit) -> None:
    assert len(fit.card_parts) > 24
    light, sd = fit.light(mm.to_px(fit, (fit.card_width_mm / 2, fit.card_height_mm / 2)))
    assert light == pytest.approx(1, abs=0.01) and 0 <= sd < 0.01
    # The simulator's lens spreads an edge over some two pixels.
    assert 0.02 < fit.edge_blur_mm < 0.3


def test_a_map_agrees_with_the_readings(photo: mm.Photo, fit: mm.CardFit) -> None:
    zones = mm.find_zones(photo, fit)
    lab, x, y = mm.map_lab(photo, fit, zones)
    assert lab.shape == (zones.tooth.height, zones.tooth.width, 3) and lab.dtype == np.float32
    assert (x, y) == (zones.tooth.x, zones.tooth.y)
    for zone, reading in zip(zones.zones, mm.read_zones(photo, fit, zones, "t"), strict=True):
        mean = lab[np.asarray(zone.mask.inside)].mean(axis=0)
        value = reading.lab.value
        # Means of CIELAB and of light differ by the tooth's texture.
        assert mean == pytest.approx([value.l, value.a, value.b], abs=0.1)


def test_a_grid_has_names_and_counts(photo: mm.Photo, fit: mm.CardFit) -> None:
    zones = mm.find_zones(photo, fit)
    cells = mm.read_grid(photo, fit, zones, 4, 3, "t")
    assert cells[0].zone == "r1c1" and len(cells) <= 12
    assert min(cell.count for cell in cells) >= 30


def test_tabs_in_place_of_a_card_can_be_pickled(photo: mm.Photo, fit: mm.CardFit) -> None:
    surfaces = []
    for patch in fit.patches[5:9]:
        named = next(
            p
            for p in mm.read_card(DATA / "cards/tooth20_frame.json").patches
            if p.name == patch.name
        )
        a = mm.to_px(fit, (named.x_mm + 0.6, named.y_mm + 0.6))
        box = mm.BoxPx(a.x, a.y, 20, 20)
        surfaces.append(mm.KnownSurface(patch.name, box, lab=patch.reference))
    loose = mm.fit_surfaces(photo, surfaces, "D65/2")
    assert loose.method == "tabs"
    again = pickle.loads(pickle.dumps(loose))
    at = mm.PointPx(900, 500)
    rgb = (0.3, 0.25, 0.2)
    zero = np.zeros((3, 3))
    assert again.lab(rgb, zero, at) == loose.lab(rgb, zero, at)
