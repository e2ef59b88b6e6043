"""A fit that is kept, and later photos that are read by it, through the package."""

from __future__ import annotations

import hashlib
import json
import pickle
import struct
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm

DATA = Path(__file__).resolve().parents[2] / "data"
PHOTO = DATA / "photos/front_teeth.jpg"
CARD = DATA / "cards/tooth20_frame.json"


def with_exif(
    jpeg: bytes, model: str, exposure: tuple[int, int], balance: int, order: str = "<"
) -> bytes:
    """The JPEG file with an EXIF block (EXIF 2.32, 4.6.2) that says how it was taken."""
    name = model.encode() + b"\0"
    first, second = 8, 8 + 2 + 2 * 12 + 4
    values = second + 2 + 5 * 12 + 4
    rationals = struct.pack(order + "4I", *exposure, 220, 10)

    def entry(tag: int, kind: int, count: int, value: int, short: bool = False) -> bytes:
        held = struct.pack(order + ("HH" if short else "I"), *((value, 0) if short else (value,)))
        return struct.pack(order + "HHI", tag, kind, count) + held

    block = (b"II" if order == "<" else b"MM") + struct.pack(order + "HI", 42, first)
    block += struct.pack(order + "H", 2)
    block += entry(0x0110, 2, len(name), values + 16)
    block += entry(0x8769, 4, 1, second)
    block += struct.pack(order + "I", 0)
    block += struct.pack(order + "H", 5)
    block += entry(0x829A, 5, 1, values)
    block += entry(0x829D, 5, 1, values + 8)
    block += entry(0x8827, 3, 1, 200, short=True)
    block += entry(0x9003, 2, 3, int.from_bytes(b"no\0\0", "little" if order == "<" else "big"))
    block += entry(0xA403, 3, 1, balance, short=True)
    block += struct.pack(order + "I", 0) + rationals + name
    segment = b"Exif\0\0" + block
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + jpeg[2:]


@pytest.fixture(scope="module")
def photo() -> mm.Photo:
    return mm.decode_photo(with_exif(PHOTO.read_bytes(), "Invented One", (1, 125), 1), "a.jpg")


@pytest.fixture(scope="module")
def fit(photo: mm.Photo) -> mm.CardFit:
    return mm.fit_card(photo, mm.read_card(CARD), "D65/2")


@pytest.fixture(scope="module")
def kept(fit: mm.CardFit) -> mm.KeptFit:
    return fit.keep()


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_photo_says_how_it_was_taken(order: str) -> None:
    made = with_exif(PHOTO.read_bytes(), "Invented One", (1, 125), 0, order)
    settings = mm.decode_photo(made, "a.jpg").settings
    assert settings.camera == hashlib.sha256(b"Invented One").hexdigest()[:16]
    assert settings.exposure_s == pytest.approx(1 / 125)
    assert (settings.f_number, settings.iso) == (22, 200)
    assert settings.white_balance == "automatic"
    assert settings.taken == ""
    assert mm.read_photo(PHOTO).settings == mm.CameraSettings()


def test_a_kept_fit_is_read_back_and_reads_the_same(
    photo: mm.Photo, fit: mm.CardFit, kept: mm.KeptFit, tmp_path: Path
) -> None:
    file = tmp_path / "fit.json"
    file.write_text(mm.to_json(kept), encoding="utf-8")
    assert mm.read_kept_fit(file) == kept
    later = mm.fit_later(photo, mm.read_kept_fit(file), "D65/2")
    steady = mm.fit_later(photo, kept, "D65/2", drift=mm.LightDrift(0, 0))
    zones = mm.find_zones(photo, fit, point=(820, 400))
    before = [r.lab for r in mm.read_zones(photo, fit, zones, "a")]
    for read, wide, old in zip(
        mm.read_zones(photo, steady, zones, "a"),
        mm.read_zones(photo, later, zones, "a"),
        before,
        strict=True,
    ):
        assert read.lab == old
        assert wide.lab.value == old.value
        assert wide.lab.sd()[0] > old.sd()[0] + 0.5
    again = pickle.loads(pickle.dumps(later))
    signal = ([0.3, 0.26, 0.2], np.eye(3) * 1e-8, (820, 400))
    assert again.lab(*signal) == later.lab(*signal)


def test_another_viewing_asks_for_the_same_photo_again(photo: mm.Photo, kept: mm.KeptFit) -> None:
    signal = ([0.3, 0.26, 0.2], np.eye(3) * 1e-8, (820, 400))
    fitted = mm.fit_card(photo, mm.read_card(CARD), "D50/2")
    later = mm.fit_later(photo, kept, "D50/2", drift=mm.LightDrift(0, 0))
    assert later.lab(*signal) == fitted.lab(*signal)


@pytest.mark.parametrize(
    ("model", "exposure", "balance", "said"),
    [
        ("Invented Two", (1, 125), 1, "another camera"),
        ("Invented One", (1, 60), 1, "exposure"),
        ("Invented One", (1, 125), 0, "balance of white automatic in place of fixed"),
    ],
)
def test_a_photo_that_does_not_belong_is_refused(
    kept: mm.KeptFit, model: str, exposure: tuple[int, int], balance: int, said: str
) -> None:
    other = mm.decode_photo(with_exif(PHOTO.read_bytes(), model, exposure, balance), "b.jpg")
    with pytest.raises(mm.CaptureError, match="does not belong to the kept fit") as error:
        mm.fit_later(other, kept, "D65/2")
    assert said in str(error.value)


def test_a_balance_that_the_camera_chose_anew_is_told() -> None:
    made = with_exif(PHOTO.read_bytes(), "Invented One", (1, 125), 0)
    photo = mm.decode_photo(made, "a.jpg")
    kept = mm.fit_card(photo, mm.read_card(CARD), "D65/2").keep()
    later = mm.fit_later(photo, kept, "D65/2")
    assert any("balanced white anew" in w for w in later.warnings)


def test_a_case_is_solved_by_a_kept_fit(kept: mm.KeptFit, tmp_path: Path) -> None:
    file = with_exif(PHOTO.read_bytes(), "Invented One", (1, 125), 1)
    case = mm.Case(
        viewing="D65/2",
        photo=mm.CasePhoto(file),
        kept_fit=kept,
        drift=mm.LightDrift(light=0.02),
        teeth=[mm.CaseTooth(number=11, at=mm.ToothHint(point=(820, 400)))],
        tabs=mm.read_tab_set(DATA / "tabs/orchard16.json"),
    )
    report = mm.solve(case)
    assert report.teeth[0].matches[0].ranked
    assert any("no card in the photo" in note for note in report.notes)
    mm.write_case(tmp_path / "case.zip", case)
    again = mm.solve(mm.read_case(tmp_path / "case.zip"))
    assert mm.to_json(again) == mm.to_json(report)
    with pytest.raises(mm.ArgumentError, match="a card or a kept fit"):
        mm.solve(case.replace(card=mm.read_card(CARD)))
    with pytest.raises(mm.ArgumentError, match="drift goes with a kept fit"):
        mm.solve(case.replace(kept_fit=None, card=mm.read_card(CARD)))
    with pytest.raises(mm.ArgumentError, match="mirror"):
        mm.solve(case.replace(photo=mm.CasePhoto(file, mirrored=True)))


def test_a_document_that_cannot_be_true_is_refused(kept: mm.KeptFit) -> None:
    document = json.loads(mm.to_json(kept))
    assert document["format"] == "mamelon-kept-fit"
    for text in (mm.to_json(kept)[:-40], mm.to_json(mm.read_card(CARD)), "{}", ""):
        with pytest.raises(mm.DataError, match=r"fit\.json"):
            mm.parse_kept_fit(text, "fit.json")
    other = json.loads((DATA / "cards/compact12_frame.json").read_text(encoding="utf-8"))
    document["card"] = {k: v for k, v in other.items() if k not in ("format", "version")}
    with pytest.raises(mm.DataError, match="patches"):
        mm.parse_kept_fit(json.dumps(document), "fit.json")


def test_a_fit_by_tabs_is_not_kept(photo: mm.Photo) -> None:
    surface = mm.KnownSurface("tab", (800, 380, 40, 40), lab=mm.Lab(72, 2, 16))
    with pytest.raises(mm.ArgumentError, match="card alone"):
        mm.fit_surfaces(photo, [surface], "D65/2").keep()
