"""What goes into functions over arrays: dtypes, layouts, broadcasting, masks, refusals."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

import mamelon as mm

LABS = np.random.default_rng(7).uniform([40, -5, 0], [90, 10, 35], (6, 3))


def test_sharma_pairs_by_broadcast() -> None:
    # Sharma, Wu, Dalal 2005, Color Res Appl 30:21–30, Table 1, pairs 1–3, 7, 17, 25 and 34.
    reference = [
        [50, 2.6772, -79.7751],
        [50, 3.1571, -77.2803],
        [50, 2.8361, -74.0200],
        [50, 0, 0],
        [50, 2.5, 0],
        [60.2574, -34.0099, 36.2677],
        [2.0776, 0.0795, -1.1350],
    ]
    sample = [
        [50, 0, -82.7485],
        [50, 0, -82.7485],
        [50, 0, -82.7485],
        [50, -1, 2],
        [73, 25, -18],
        [60.4626, -34.1751, 39.4387],
        [0.9033, -0.0636, -0.5514],
    ]
    expected = [2.0425, 2.8615, 3.4412, 2.3669, 27.1492, 1.2644, 0.9082]
    assert np.round(mm.de00(reference, sample), 4).tolist() == expected


@settings(max_examples=150, deadline=None)
@given(
    shapes=hnp.mutually_broadcastable_shapes(num_shapes=2, max_dims=4, max_side=4),
    single=st.tuples(st.booleans(), st.booleans()),
    seed=st.integers(0, 2**32 - 1),
)
def test_broadcasting_is_numpys(
    shapes: hnp.BroadcastableShapes, single: tuple[bool, bool], seed: int
) -> None:
    rng = np.random.default_rng(seed)
    first, second = (
        rng.uniform(0, 60, (*shape, 3)).astype(np.float32 if narrow else np.float64)
        for shape, narrow in zip(shapes.input_shapes, single, strict=True)
    )
    got = mm.de00(first, second)
    assert np.shape(got) == shapes.result_shape
    assert got.dtype == (np.float32 if all(single) else np.float64)
    wide = np.broadcast_arrays(first.astype(float), second.astype(float))
    rows = [
        mm.de00(a, b) for a, b in zip(wide[0].reshape(-1, 3), wide[1].reshape(-1, 3), strict=True)
    ]
    tolerance = 2e-5 if all(single) else 0
    np.testing.assert_allclose(np.ravel(got), rows, rtol=tolerance, atol=tolerance)


@pytest.mark.parametrize(
    "function",
    [
        lambda lab: mm.to_lch(lab),
        lambda lab: mm.lch_to_lab(mm.to_lch(lab)),
        lambda lab: mm.to_xyz(lab, "D65/2"),
        lambda lab: mm.to_lab(mm.to_xyz(lab, "D65/2"), "D65/2"),
        lambda lab: mm.de00_parts(lab, lab[..., ::-1]),
        lambda lab: mm.de76(lab, [70, 0, 0]),
        lambda lab: mm.to_display(lab, "D50/2"),
    ],
)
@pytest.mark.parametrize("layout", ["fortran", "strided", "reversed", "read_only", "big_endian"])
def test_memory_layout_changes_nothing(function: Any, layout: str) -> None:
    made = {
        "fortran": np.asfortranarray(LABS),
        "strided": np.repeat(np.repeat(LABS, 2, axis=0), 2, axis=1)[::2, ::2],
        "reversed": LABS[::-1][::-1],
        "read_only": LABS.copy(),
        "big_endian": LABS.astype(">f8"),
    }[layout]
    if layout == "read_only":
        made.setflags(write=False)
    np.testing.assert_array_equal(function(made), function(LABS))


def test_arguments_are_never_changed() -> None:
    before = LABS.copy()
    mm.to_xyz(LABS, "D65/2")
    mm.de00(LABS, LABS[:1])
    np.testing.assert_array_equal(LABS, before)


@pytest.mark.parametrize("kind", ["int64", "int8", "uint16", "float16"])
def test_whole_and_half_numbers_are_converted(kind: str) -> None:
    rows = np.array([[70, 2, 18], [60, 1, 12]], dtype=kind)
    expected = mm.de00(rows.astype(float), [70, 0, 0])
    np.testing.assert_allclose(mm.de00(rows, [70, 0, 0]), expected, rtol=1e-6)


def test_result_is_single_only_when_every_array_is() -> None:
    narrow = LABS.astype(np.float32)
    assert mm.de00(narrow, narrow[::-1]).dtype == np.float32
    assert mm.de00(narrow, LABS).dtype == np.float64
    assert mm.to_xyz(narrow, "D65/2").dtype == np.float32
    assert mm.to_lch(narrow).dtype == np.float32


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (np.array([[70, 0, 0]], dtype=object), "dtype object"),
        (np.array([["70", "0", "0"]]), "dtype <U2"),
        ("70,0,0", "not str"),
        (b"70", "not bytes"),
        (np.array([[True, False, True]]), "dtype bool"),
        (np.array([[70, 0, 1j]]), "dtype complex128"),
        (np.array([["2020-01-01"] * 3], dtype="M8[D]"), "datetime64"),
        ([[70, 0], [70, 0, 0]], "equal rows"),
        ([70, 0], r"shape \(…, 3\), not \(2,\)"),
        (np.zeros((3, 4)), r"shape \(…, 3\), not \(3, 4\)"),
        (70.0, r"shape \(…, 3\), not \(\)"),
        ({"l": 70}, "dtype object"),
        (None, "dtype object"),
    ],
)
def test_wrong_arrays_are_refused_in_one_sentence(bad: Any, words: str) -> None:
    with pytest.raises(mm.ArgumentError, match=words) as caught:
        mm.de00(bad, [70, 0, 0])
    assert "\n" not in str(caught.value)
    assert "reference" in str(caught.value)


def test_leading_axes_that_do_not_fit() -> None:
    with pytest.raises(mm.ArgumentError, match=r"\(2,\) and \(3,\) do not broadcast"):
        mm.de00(np.zeros((2, 3)), np.zeros((3, 3)))


def test_nan_rows_stay_and_touch_no_other() -> None:
    rows = LABS.copy()
    rows[2, 1] = np.nan
    got = mm.de00(rows, LABS[::-1])
    assert np.isnan(got[2])
    keep = [0, 1, 3, 4, 5]
    np.testing.assert_array_equal(got[keep], mm.de00(LABS, LABS[::-1])[keep])
    curves = np.full((3, 31), 0.4)
    curves[1, 4] = np.nan
    lab = mm.to_lab(curves, "D65/2", grid=mm.Grid(400, 10, 31))
    assert np.isnan(lab[1]).all()
    assert not np.isnan(lab[[0, 2]]).any()


def test_masked_rows_stay_masked() -> None:
    rows = np.ma.masked_array(LABS, mask=np.zeros_like(LABS, dtype=bool))
    rows[3, 0] = np.ma.masked
    got = mm.de00(rows, LABS[::-1])
    assert isinstance(got, np.ma.MaskedArray)
    assert got.mask.tolist() == [False, False, False, True, False, False]
    lch = mm.to_lch(rows)
    assert lch.mask[3].all()
    assert not lch.mask[[0, 1, 2, 4, 5]].any()
    table = mm.de00(rows[:, None], LABS[None, :2])
    assert table.shape == (6, 2)
    assert table.mask[3].all()


def test_no_rows_give_no_rows() -> None:
    assert mm.de00(np.empty((0, 3)), [70, 0, 0]).shape == (0,)
    assert mm.to_lch(np.empty((2, 0, 3))).shape == (2, 0, 3)


def test_a_pair_gives_a_number() -> None:
    got = mm.de00(mm.Lab(70, 0, 0), mm.Lab(71, 0, 0))
    assert isinstance(got, np.float64)


def test_many_blocks_equal_one_by_one() -> None:
    # More rows than one block and than one look for Ctrl-C.
    rng = np.random.default_rng(3)
    many = rng.uniform([40, -5, 0], [90, 10, 35], (70_003, 3))
    got = mm.de00(many, many[::-1])
    for i in [0, 4095, 4096, 65535, 65536, 70_002]:
        assert got[i] == mm.de00(many[i], many[::-1][i])


def test_reflectance_rows_equal_single_reflectances() -> None:
    grid = mm.Grid(400, 10, 31)
    curves = np.random.default_rng(5).uniform(0.1, 0.9, (4, 31))
    table = mm.to_lab(curves, "A/10", grid=grid, integration="sprague")
    for row, curve in zip(table, curves, strict=True):
        single = mm.to_lab(mm.Reflectance(grid, curve), "A/10", integration="sprague")
        assert row.tolist() == list(single)


def test_percent_for_a_fraction_gets_its_own_message() -> None:
    with pytest.raises(mm.ArgumentError, match="percent"):
        mm.to_lab(np.full((1, 31), 55.0), "D65/2", grid=mm.Grid(400, 10, 31))
    with pytest.raises(mm.ArgumentError, match=r"shape \(…, 31\)"):
        mm.to_lab(np.full((1, 30), 0.5), "D65/2", grid=mm.Grid(400, 10, 31))


def test_data_frames_are_read_by_the_names_of_their_columns() -> None:
    frame = pd.DataFrame({"label": ["x"], "b*": [15.0], "L*": [70.0], "a*": [1.0]})
    turned = frame[["a*", "b*", "L*"]].rename(columns=str.lower)
    assert mm.de00(frame, [[70, 1, 15]]).tolist() == [0.0]
    assert mm.de00(turned, [[70, 1, 15]]).tolist() == [0.0]
    with pytest.raises(mm.ArgumentError, match="read by the names of its columns"):
        mm.de00(pd.DataFrame([[70.0, 1.0, 15.0]]), [[70, 1, 15]])
    with pytest.raises(mm.ArgumentError, match="two columns of one name"):
        mm.de00(frame.assign(l=70.0), [[70, 1, 15]])
    falling = pd.DataFrame([[0.1 + i / 100 for i in range(31)]], columns=range(700, 390, -10))
    rising = falling.to_numpy()[:, ::-1]
    grid = mm.Grid(400, 10, 31)
    found = mm.to_lab(falling, "D65/2", grid=grid)
    assert found.tolist() == mm.to_lab(rising, "D65/2", grid=grid).tolist()
