"""Colour arithmetic over 10 000 random pairs against general-purpose reference libraries."""

from __future__ import annotations

import numpy as np
import pytest

import mamelon as mm

colour = pytest.importorskip("colour", exc_type=ImportError)
skimage_color = pytest.importorskip("skimage.color", exc_type=ImportError)

COUNT = 10_000


def _pairs(kind: str) -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(2005)
    spread = {"wide": 128.0, "near neutral": 1e-2, "opposite": 128.0}[kind]
    low, high = [0, -spread, -spread], [100, spread, spread]
    p, q = dice.uniform(low, high, (2, COUNT, 3))
    if kind == "opposite":
        # Within a thousandth of the half turn; exact ones are left to 40-digit arithmetic, since
        # both libraries compare rounded hue angles there.
        q[:, 1:] = -p[:, 1:] * (1 + dice.choice([-1e-3, 1e-3], (COUNT, 1)) * [1, -1])
    return p, q


@pytest.mark.parametrize("kind", ["wide", "near neutral", "opposite"])
def test_ciede2000(kind: str) -> None:
    p, q = _pairs(kind)
    ours = np.asarray(mm.de00(p, q))
    np.testing.assert_allclose(ours, colour.delta_E(p, q, method="CIE 2000"), rtol=0, atol=1e-9)
    np.testing.assert_allclose(ours, skimage_color.deltaE_ciede2000(p, q), rtol=0, atol=1e-9)


@pytest.mark.parametrize("kind", ["wide", "near neutral", "opposite"])
def test_other_formulas(kind: str) -> None:
    p, q = _pairs(kind)
    for ours, method, arguments in (
        (mm.de76(p, q), "CIE 1976", {}),
        (mm.de94(p, q), "CIE 1994", {}),
        (mm.de_cmc(p, q, l=2, c=1), "CMC", {"l": 2, "c": 1}),
        (mm.de_cmc(p, q, l=1, c=1), "CMC", {"l": 1, "c": 1}),
    ):
        theirs = colour.delta_E(p, q, method=method, **arguments)
        np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-6, err_msg=method)


def test_cielab_both_ways() -> None:
    xyz = np.random.default_rng(11).uniform(0.0, 1.0, (COUNT, 3))
    white = mm.white_point("D65/2")
    numbers = np.array([white.x, white.y, white.z])
    lab = np.asarray(mm.to_lab(xyz, white))
    theirs = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(numbers))
    np.testing.assert_allclose(lab, theirs, rtol=0, atol=1e-9)
    np.testing.assert_allclose(mm.to_xyz(lab, white), xyz, rtol=0, atol=1e-12)
