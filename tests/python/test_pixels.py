"""Images in bulk: CIELAB of pixels and the nearest candidate, beside scalar code and peers."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.color
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

import mamelon as mm

LABS = hnp.arrays(
    np.float64,
    st.tuples(st.integers(1, 40), st.just(3)),
    elements=st.floats(-60, 100, allow_nan=False),
)


@given(colours=LABS, candidates=LABS)
@settings(max_examples=60, deadline=None)
def test_nearest_is_the_argmin_of_de00(colours: np.ndarray, candidates: np.ndarray) -> None:
    index, de = mm.nearest_rows(colours, candidates)
    table = np.asarray(mm.de00(colours[:, None], candidates[None]))
    # The nearest are sought by ΔE², whose root may differ in the last bit.
    np.testing.assert_allclose(de, table.min(axis=1), rtol=1e-12, atol=1e-12)
    chosen = np.take_along_axis(table, index[:, None].astype(np.intp), axis=1)[:, 0]
    np.testing.assert_allclose(chosen, table.min(axis=1), rtol=1e-12, atol=1e-12)
    squared = mm.nearest_rows(colours, candidates, squared=True)[1]
    np.testing.assert_allclose(np.sqrt(squared), de, rtol=1e-12, atol=1e-12)


def test_nearest_gives_whole_numbers_and_minus_one_for_no_colour() -> None:
    colours = np.array([[[70, 1, 15], [np.nan, 0, 0]], [[61, 1, 15], [60, 1, 15]]], dtype=float)
    row, de = mm.nearest(colours, [[60, 1, 15], [70, 1, 15]])
    assert row.dtype == np.int64
    np.testing.assert_array_equal(row, [[1, -1], [0, 0]])
    np.testing.assert_array_equal(np.isnan(de), [[False, True], [False, False]])
    assert de[0, 0] == 0 == de[1, 1]


@given(colours=LABS, data=st.data())
@settings(max_examples=60, deadline=None)
def test_columns_give_the_bits_of_rows(colours: np.ndarray, data: st.DataObject) -> None:
    others = data.draw(
        hnp.arrays(np.float64, colours.shape, elements=st.floats(-60, 100, allow_nan=False))
    )
    for dtype in (np.float64, np.float32):
        a, b = colours.astype(dtype), others.astype(dtype)
        for function in (mm.de00, mm.de76):
            by_rows = function(a, b)
            by_columns = function(np.asfortranarray(a), np.asfortranarray(b))
            assert by_columns.dtype == dtype
            np.testing.assert_array_equal(by_columns, by_rows)
            # One of each is broadcast as ever.
            np.testing.assert_array_equal(function(np.asfortranarray(a), b), by_rows)


def test_columns_are_not_copied() -> None:
    columns = np.random.default_rng(1).uniform([[55], [-3], [5]], [[90], [10], [40]], (3, 400_000))
    columns.flags.writeable = False
    part = columns[:, 1000:399_000]
    assert not part.T.flags.c_contiguous
    np.testing.assert_array_equal(
        mm.de00(part.T, part.T[::-1]), mm.de00(part.T.copy(), part.T[::-1].copy())
    )


def test_masked_and_missing_colours_stay_so() -> None:
    colours = np.array([[70.0, 1, 15], [60, 1, 15], [np.nan, 0, 0]])
    index, de = mm.nearest_rows(colours, [[61, 1, 15], [71, 1, 15]])
    assert index.tolist() == [1, 0, 0xFFFFFFFF]
    assert np.isnan(de[2])
    masked = np.ma.masked_array(colours, mask=[[0, 0, 0], [0, 1, 0], [0, 0, 0]])
    index, de = mm.nearest_rows(masked, [[61, 1, 15], [71, 1, 15]])
    assert index.mask.tolist() == de.mask.tolist() == [False, True, False]


def test_srgb_pixels_against_scikit_image() -> None:
    """Every hundredth of the 2²⁴ pixels. scikit-image's rgb2lab uses the same primaries to four
    digits and the white 0.95047, 1, 1.08883, ours the sum of the rows: 0.02 in a* and b*.
    """
    levels = np.arange(0, 2**24, 97, dtype=np.uint32)
    pixels = levels[:, None].view(np.uint8).reshape(-1, 4)[:, :3]
    ours = mm.lab_from_srgb8(pixels)
    assert ours.dtype == np.float32
    assert np.abs(ours - skimage.color.rgb2lab(pixels)).max() < 0.05
    exact = mm.lab_from_linear(
        np.where(
            pixels / 255 <= 0.04045, pixels / 255 / 12.92, ((pixels / 255 + 0.055) / 1.055) ** 2.4
        )
    )
    assert np.abs(ours - exact).max() <= 2e-4


def test_image_map_is_that_of_its_parts() -> None:
    image = np.random.default_rng(3).integers(0, 256, (37, 53, 3), dtype=np.uint8)
    tabs = np.random.default_rng(4).uniform([55, -3, 5], [90, 10, 40], (16, 3))
    index, de = mm.nearest_srgb8(image, tabs)
    assert index.shape == de.shape == (37, 53)
    two_steps = mm.nearest_rows(mm.lab_from_srgb8(image), tabs.astype(np.float32))
    np.testing.assert_array_equal(index, two_steps[0])
    np.testing.assert_array_equal(de, two_steps[1])
    # A view of every second pixel, and read-only memory.
    image.flags.writeable = False
    np.testing.assert_array_equal(mm.nearest_srgb8(image[::2, ::2], tabs)[0], index[::2, ::2])


def test_linear_light_of_sixteen_bits() -> None:
    image = np.random.default_rng(5).integers(0, 65536, (200, 3), dtype=np.uint16)
    np.testing.assert_allclose(
        mm.lab_from_linear(image), mm.lab_from_linear(image / 65535.0), atol=3e-4
    )
    matrix, white = np.diag([0.9, 1.0, 0.8]), [0.9, 1.0, 0.8]
    np.testing.assert_allclose(
        mm.lab_from_linear([[1.0, 1.0, 1.0]], matrix, white), [[100, 0, 0]], atol=1e-12
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: mm.nearest_rows([[70, 1]], [[70, 1, 15]]), "colours must have shape"),
        (lambda: mm.nearest_rows([[70, 1, 15]], [70, 1, 15]), "candidates must have shape"),
        (lambda: mm.nearest_rows([[70, 1, 15]], np.empty((0, 3))), "at least one candidate"),
        (lambda: mm.nearest_rows([["a", "b", "c"]], [[70, 1, 15]]), "must be numbers"),
        (lambda: mm.lab_from_srgb8(np.zeros((4, 3))), "rgb must be an array of uint8"),
        (lambda: mm.lab_from_srgb8(np.zeros((4, 4), np.uint8)), r"rgb must have shape \(…, 3\)"),
        (lambda: mm.nearest_srgb8(np.zeros(3, np.int8), [[70, 1, 15]]), "array of uint8"),
        (lambda: mm.lab_from_linear([[1, 1, 1]], np.eye(3)), "to_xyz and white go together"),
        (lambda: mm.lab_from_linear([[1, 1, 1]], np.eye(2), [1, 1, 1]), "to_xyz must have shape"),
        (lambda: mm.lab_from_linear([[1, 1, 1]], np.eye(3), [1, 0, 1]), "white of a conversion"),
    ],
)
def test_wrong_arguments_are_named(call: object, message: str) -> None:
    with pytest.raises(mm.ArgumentError, match=message):
        call()  # type: ignore[operator]
