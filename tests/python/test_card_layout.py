"""The card to print: its drawing, rendered, is read back by the library's own detector."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from PIL import Image, ImageCms

import mamelon as mm

PX_PER_MM = 16
MARGIN_MM = 6.0


def linear(code: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1, code 0–1 to light."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def lab_of(code: tuple[int, int, int]) -> list[float]:
    """CIELAB under D65 of an 8-bit sRGB colour (IEC 61966-2-1 matrix, ISO/CIE 11664-4)."""
    matrix = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    f = np.cbrt(matrix @ linear(np.array(code) / 255) / matrix.sum(axis=1))
    return [float(v) for v in (116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2]))]


def test_the_printed_card_is_found_and_read() -> None:
    resvg_py = pytest.importorskip("resvg_py")
    layout = mm.card_layout(name="bench card", patches=16)
    drawing = resvg_py.svg_to_bytes(
        svg_string=mm.layout_svg(layout), background="#ffffff", dpi=PX_PER_MM * 25.4
    )
    image = np.array(Image.open(io.BytesIO(bytes(drawing))).convert("RGB")) * 0.86
    # Patches mounted in the windows: greys, tooth-like colours and two reds.
    colours = [(v, v, v) for v in (50, 90, 130, 170, 205)]
    colours += [(205 - 9 * i, 190 - 10 * i, 165 - 14 * i) for i in range(9)]
    colours += [(190, 110, 105), (160, 80, 75)]
    document = json.loads(mm.to_json(layout.card))
    for patch, colour in zip(document["patches"], colours, strict=True):
        x0, y0 = (round((patch[k] + MARGIN_MM) * PX_PER_MM) for k in ("x_mm", "y_mm"))
        size = round(patch["width_mm"] * PX_PER_MM)
        image[y0 : y0 + size, x0 : x0 + size] = colour
        patch["lab"] = lab_of(colour)
        patch["neutral"] = len(set(colour)) == 1
    document["white"]["lab"] = lab_of((219, 219, 219))
    stream = io.BytesIO()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    Image.fromarray(np.round(image).astype(np.uint8)).save(stream, "PNG", icc_profile=profile)

    photo = mm.decode_photo(stream.getvalue(), "print.png")
    card = mm.parse_card(json.dumps(document), "card.json")
    fit = mm.fit_card(photo, card, "D65/2")
    assert fit.reprojection_rms_px < 0.5
    for place in ((0, 0), (card.width_mm, card.height_mm)):
        at = mm.to_px(fit, place)
        assert at.x + 0.5 == pytest.approx((place[0] + MARGIN_MM) * PX_PER_MM, abs=1)
        assert at.y + 0.5 == pytest.approx((place[1] + MARGIN_MM) * PX_PER_MM, abs=1)
    assert all(patch.used for patch in fit.patches)
    assert fit.loo_de00_median < 0.3


def test_a_card_that_was_not_measured_is_refused() -> None:
    text = mm.to_json(mm.card_layout(patches=6).card)
    with pytest.raises(mm.DataError, match="no colour"):
        mm.parse_card(text, "card.json")
