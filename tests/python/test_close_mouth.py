"""Outlines in a simulated mouth that is as hard as photographed ones: see simulator/close_mouth."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from simulator.photo import Shot, from_run_lengths, simulate, write

import mamelon as mm

CARD = Path(__file__).resolve().parents[2] / "data/cards/tooth20_frame.json"
SHOT = Shot(seed=3, width=1200, height=800, mouth="close", encoding="srgb")


@pytest.fixture(scope="module")
def shot(tmp_path_factory: pytest.TempPathFactory) -> tuple[mm.Photo, mm.CardFit, list[dict]]:
    """Give the photo, its fit and the teeth with their true outlines."""
    file = write(simulate(SHOT), tmp_path_factory.mktemp("close") / "close")
    truth = json.loads(file.with_suffix(".truth.json").read_text(encoding="utf-8"))
    photo = mm.read_photo(file)
    size = truth["width_px"], truth["height_px"]
    teeth = []
    for tooth in truth["teeth"]:
        masks = [from_run_lengths(zone["rle"], *size) for zone in tooth["zones"]]
        teeth.append({**tooth, "mask": np.any(masks, axis=0)})
    return photo, mm.fit_card(photo, mm.read_card(CARD), "D65/2"), teeth


def whole(mask: mm.Mask, shape: tuple[int, int]) -> np.ndarray:
    out = np.zeros(shape, dtype=bool)
    inside = np.asarray(mask.inside)
    out[mask.y : mask.y + mask.height, mask.x : mask.x + mask.width] = inside
    return out


def test_touching_teeth_are_parted(shot: tuple[mm.Photo, mm.CardFit, list[dict]]) -> None:
    photo, fit, teeth = shot
    assert len(teeth) >= 4
    overlaps = []
    for tooth in teeth:
        zones = mm.find_zones(photo, fit, point=tooth["point_px"])
        found = whole(zones.tooth, tooth["mask"].shape)
        overlaps.append((found & tooth["mask"]).sum() / (found | tooth["mask"]).sum())
        others = np.any([t["mask"] for t in teeth if t is not tooth], axis=0)
        assert (found & others).sum() < 0.1 * tooth["mask"].sum(), tooth["name"]
        assert zones.cervical_end.y < zones.incisal_end.y
    assert np.median(overlaps) > 0.93
    assert min(overlaps) > 0.85


def test_all_teeth_in_view_are_found_once(
    shot: tuple[mm.Photo, mm.CardFit, list[dict]],
) -> None:
    photo, fit, teeth = shot
    found = [whole(t.tooth, teeth[0]["mask"].shape) for t in mm.find_teeth(photo, fit)]
    best = [max((f & t["mask"]).sum() / (f | t["mask"]).sum() for f in found) for t in teeth]
    assert np.median(best) > 0.85
    assert max(np.sum(found, axis=0).ravel()) == 1
