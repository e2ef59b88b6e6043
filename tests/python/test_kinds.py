"""Kinds of surfaces, differences within a photo, and what cannot be true, through the package."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm

DATA = Path(__file__).resolve().parents[2] / "data"
CARD = DATA / "cards/tooth20_frame.json"


@pytest.fixture(scope="module")
def photo() -> mm.Photo:
    return mm.read_photo(DATA / "photos/front_teeth_linear.tif")


@pytest.fixture(scope="module")
def fit(photo: mm.Photo) -> mm.CardFit:
    return mm.fit_card(photo, mm.read_card(CARD), "D65/2")


def test_a_reading_carries_its_kind_and_unknown_is_widest(photo: mm.Photo, fit: mm.CardFit) -> None:
    zones = mm.find_zones(photo, fit)
    spread = {}
    for kind in ("tooth", "restoration", "unknown"):
        reading = mm.read_zones(photo, fit, zones, "a", kind=kind)[1]
        assert reading.kind == kind
        spread[kind] = np.trace(reading.lab.covariance())
    assert spread["tooth"] < spread["restoration"] < spread["unknown"]
    assert mm.read_zones(photo, fit, zones, "a")[1].kind == "tooth"


def test_a_difference_is_surer_than_two_readings(photo: mm.Photo, fit: mm.CardFit) -> None:
    zones = mm.find_zones(photo, fit)
    one, other = mm.zone_signals(photo, zones)[:2]
    apart = mm.signal_difference(fit, one, other)
    readings = mm.read_zones(photo, fit, zones, "a")
    both = sum(np.trace(r.lab.covariance()) for r in readings[:2])
    assert 0 < np.trace(apart.covariance) < both
    assert apart.de00 == pytest.approx(float(mm.de00(apart.one, apart.other)))


def test_a_fit_belongs_to_its_photo(photo: mm.Photo, fit: mm.CardFit) -> None:
    other = mm.read_photo(DATA / "photos/front_teeth.jpg")
    zones = mm.find_zones(photo, fit)
    with pytest.raises(mm.ArgumentError, match="another photo"):
        mm.find_zones(other, fit)
    with pytest.raises(mm.ArgumentError, match="another photo"):
        mm.read_zones(other, fit, zones, "a")
    with pytest.raises(mm.ArgumentError, match="another photo"):
        file = DATA / "photos/front_teeth.jpg"
        mm.input_profile(file.read_bytes(), file.name, fit, "tooth20")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda d: d["white"]["reflectance"].update(values=[1.2] * 31), "1.02 at the most"),
        (
            lambda d: d["white"].update(
                lab=[69.5, 0, 0], reflectance={**d["white"]["reflectance"], "values": [0.4] * 31}
            ),
            "80 or more",
        ),
        (lambda d: d["patches"][8].update(lab=[60, 10, 30]), "the reflectance counts"),
        (
            lambda d: d["patches"][9]["reflectance"].update(
                values=[0.05, 0.05, *d["patches"][9]["reflectance"]["values"][:-2]]
            ),
            "the reflectance counts",
        ),
    ],
)
def test_a_card_that_cannot_be_true_is_refused(change: object, sentence: str) -> None:
    document = json.loads(CARD.read_text(encoding="utf-8"))
    assert callable(change)
    change(document)
    with pytest.raises(mm.DataError, match=sentence):
        mm.parse_card(json.dumps(document), "card.json")


def test_a_tab_that_cannot_be_true_is_refused() -> None:
    file = DATA / "tabs/orchard16.json"
    document = json.loads(file.read_text(encoding="utf-8"))
    mm.parse_tab_set(json.dumps(document), "tabs.json")
    document["tabs"][3]["lab"][0] += 4
    with pytest.raises(mm.DataError, match="they may differ by 1"):
        mm.parse_tab_set(json.dumps(document), "tabs.json")
