"""Frames of any make in and out, by column name; maps with their coordinates."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest

import mamelon as mm
from mamelon import frames

MAKES: dict[str, Callable[[pd.DataFrame], Any]] = {
    "pandas": lambda frame: frame,
    "polars": pl.from_pandas,
    "arrow": pa.Table.from_pandas,
    "mapping": lambda frame: frame.to_dict("list"),
}


@pytest.mark.parametrize("make", MAKES)
def test_a_tab_set_comes_back_from_a_frame(make: str, tabs: mm.TabSet) -> None:
    back = frames.tab_set_from_frame(MAKES[make](frames.to_frame(tabs)), tabs.name)
    assert back.names == tabs.names
    assert back.viewing == tabs.viewing
    np.testing.assert_array_equal(back.labs, tabs.labs)
    for own, other in zip(tabs.tabs, back.tabs, strict=True):
        np.testing.assert_allclose(other.lab.sd(), own.lab.sd(), rtol=1e-12)
        assert other.reflectance == own.reflectance


@pytest.mark.parametrize("make", MAKES)
def test_readings_come_back_from_a_frame(make: str) -> None:
    readings = [
        mm.Reading(f"disc {n}", mm.Measured([70 + n, 1, 15], np.diag([0.04, 0.01, 0.09])), "D65/2",
                   zone="middle", count=n + 1)
        for n in range(3)
    ]  # fmt: skip
    back = frames.from_frame(MAKES[make](frames.to_frame(readings)))
    assert [r.label for r in back] == ["disc 0", "disc 1", "disc 2"]
    assert [r.count for r in back] == [1, 2, 3]
    for own, other in zip(readings, back, strict=True):
        assert other.lab.value == own.lab.value
        np.testing.assert_allclose(other.lab.sd(), own.lab.sd(), rtol=1e-12)


def test_a_colour_is_computed_where_only_a_reflectance_is_given() -> None:
    columns: dict[str, Any] = {f"{nm}": [0.5] for nm in range(400, 701, 10)}
    grey = frames.from_frame({"label": ["grey"], **columns}, "D65/2")[0]
    # L* of a grey of 50 % (ISO/CIE 11664-4): 116 * 0.5^(1/3) - 16.
    assert grey.lab.value.l == pytest.approx(116 * 0.5 ** (1 / 3) - 16, abs=1e-4)


GOOD = {"label": ["disc"], "L": [70.0], "a": [1.0], "b": [15.0]}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"L": None}, "no column L"),
        ({"label": None}, "no column label"),
        ({"a": ["red"]}, "column a, row 0: expected a number, not 'red'"),
        ({"b": [float("nan")]}, "column b, row 0"),
        ({"L": ["61,25"]}, "column L, row 0"),
        ({"label": [7]}, "column label, row 0: expected a text"),
        ({"count": [1.5]}, "column count, row 0"),
        ({"sd_L": [0.2]}, "no column sd_a"),
        ({"viewing": ["D77"]}, "column viewing, row 0"),
    ],
)
def test_errors_name_the_column(change: dict[str, Any], said: str) -> None:
    columns = {**GOOD, "viewing": ["D65/2"], **change}
    frame = {name: cells for name, cells in columns.items() if cells is not None}
    with pytest.raises(mm.ArgumentError, match=said):
        frames.from_frame(frame)


def test_what_is_no_frame_is_refused() -> None:
    with pytest.raises(mm.ArgumentError, match="a frame with named columns"):
        frames.from_frame(7, "D65/2")
    with pytest.raises(mm.ArgumentError, match="wavelengths are uneven"):
        frames.from_frame({"label": ["x"], "400": [0.5], "410": [0.5], "430": [0.5]}, "D65/2")
    with pytest.raises(mm.ArgumentError, match="expected a Reading"):
        frames.to_frame([1])  # type: ignore[list-item]
    assert len(frames.to_frame([])) == 0


def test_the_ranking_of_a_report(tabs: mm.TabSet) -> None:
    tooth = mm.CaseTooth(readings=[mm.Reading("t", mm.Measured([72, 2, 18]), "D65/2")])
    report = mm.solve(mm.Case(viewing="D65/2", teeth=[tooth], tabs=tabs))
    table = frames.to_frame(report)
    assert table["rank"].tolist() == list(range(1, len(tabs) + 1))
    assert table["de00"].is_monotonic_increasing
    assert table.loc[0, "tab"] == report.teeth[0].matches[0].best.tab


def test_a_map_knows_its_place_in_the_photo(data: Path) -> None:
    xr = pytest.importorskip("xarray")
    photo = mm.read_photo(data / "photos/front_teeth.jpg")
    fit = mm.fit_card(photo, mm.read_card(data / "cards/tooth20_frame.json"), "D65/2")
    zones = mm.find_zones(photo, fit)
    lab, left, top = mm.map_lab(photo, fit, zones)
    made = frames.to_xarray(photo, fit, zones)
    assert isinstance(made, xr.DataArray)
    row, column = np.argwhere(np.isfinite(lab[..., 0]))[0]
    picked = made.sel(y_px=top + row, x_px=left + column, axis="L")
    assert float(picked) == lab[row, column, 0]


def test_the_nearest_tab_is_an_index(tabs: mm.TabSet) -> None:
    rows, _ = mm.nearest(tabs.labs, tabs.labs)
    assert np.issubdtype(rows.dtype, np.integer)
    assert rows.tolist() == list(range(len(tabs)))
