"""Tables by column name, for those who work in pandas, Polars or Arrow; maps for xarray.

`to_frame` gives a pandas DataFrame, which Polars (`polars.from_pandas`) and Arrow
(`pyarrow.Table.from_pandas`) take as it is. What takes a frame takes any of theirs, or a mapping
from names to columns: it asks for `frame[name]` alone. The words are those of the CSV that
`mamelon lab` reads: `label`, `L`, `a`, `b`, `sd_L`, `sd_a`, `sd_b`, and a column for each
wavelength, `400nm`. Needs pandas for `to_frame`, xarray for `to_xarray`, nothing for the rest.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mamelon._core import (
    ArgumentError,
    CardFit,
    Grid,
    Measured,
    Photo,
    Reading,
    Reflectance,
    Report,
    Tab,
    TabSet,
    Viewing,
    Zones,
    map_lab,
    read_spectrum,
    viewing_from_string,
)

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

__all__ = ["from_frame", "readings_from_frame", "tab_set_from_frame", "to_frame", "to_xarray"]

Floats = NDArray[np.float64]
WAVELENGTH = re.compile(r"(\d+(?:\.\d+)?)(?: ?nm)?", re.ASCII)
COLOUR = ("L", "a", "b")
SPREAD = ("sd_L", "sd_a", "sd_b")


def to_frame(value: Report | TabSet | Iterable[Reading]) -> pd.DataFrame:
    """Readings, a tab set or a report as a DataFrame, one row each reading, tab or ranked tab.

    CIELAB in `L`, `a`, `b` with standard deviations `sd_L`, `sd_a`, `sd_b`; reflectances (0–1) in a
    column each wavelength, `400nm`, where all have one grid. A report gives its matches: `tooth`,
    `zone`, `rank` (from 1), `tab`, `de00` with `low` and `high`, `chance_best`, `dl`, `dc`, `dh`,
    `grade`. Raises ArgumentError for anything else.

    >>> frame = to_frame([Reading("disc", Measured([70, 1, 15]), "D65/2")])
    >>> frame[["label", "viewing", "L", "a", "b"]].values.tolist()
    [['disc', 'D65/2', 70.0, 1.0, 15.0]]
    """
    import pandas as pd

    if isinstance(value, Report):
        return pd.DataFrame(_match_columns(value))
    if isinstance(value, TabSet):
        named = [{"name": tab.name} for tab in value.tabs]
        return pd.DataFrame(_colour_columns(named, value.tabs, value.viewing))
    readings = list(value)
    for number, reading in enumerate(readings):
        if not isinstance(reading, Reading):
            kind = type(reading).__name__
            raise ArgumentError(f"item {number} is a {kind}; expected a Reading")
    named = [{"label": r.label, "zone": r.zone, "kind": str(r.kind)} for r in readings]
    columns = _colour_columns(named, readings, None)
    columns["count"] = np.array([r.count for r in readings], dtype=np.int64)
    columns["warnings"] = ["; ".join(r.warnings) for r in readings]
    return pd.DataFrame(columns)


def readings_from_frame(frame: Any, viewing: Viewing | str | None = None) -> tuple[Reading, ...]:
    """Readings from a frame by column name, one a row.

    `label` and either `L`, `a`, `b` or a column for each wavelength (`400nm` or `400`, evenly
    spaced, reflectance 0–1). Optional: `zone`, `sd_L`, `sd_a`, `sd_b`, `count`, and `viewing` where
    the argument does not give it. Other columns are left alone. Raises ArgumentError naming the
    column, and the row from 0, for what is missing, no number or out of range.

    >>> frame = {"label": ["disc"], "L": [70], "a": [1], "b": [15]}
    >>> readings_from_frame(frame, "D65/2")[0].lab.value
    Lab(l=70, a=1, b=15)
    """
    table = _Table(frame)
    labels = table.texts("label")
    viewings = table.viewings(viewing)
    zones = table.texts("zone") if "zone" in table.names else [""] * len(labels)
    counts = table.whole("count") if "count" in table.names else [1] * len(labels)
    colours, curves = table.colours(viewings)
    readings = []
    for row, label in enumerate(labels):
        readings.append(
            Reading(label, colours[row], viewings[row], zones[row], curves[row], counts[row])
        )
    return tuple(readings)


def tab_set_from_frame(frame: Any, name: str, viewing: Viewing | str | None = None) -> TabSet:
    """A tab set from a frame, one tab a row: `name` and the columns of `readings_from_frame`.

    Raises ArgumentError naming the column, also for tabs under unlike viewings.

    >>> tab_set_from_frame({"name": ["oat"], "L": [70], "a": [1], "b": [15]}, "two", "D65/2").names
    ('oat',)
    """
    table = _Table(frame)
    names = table.texts("name")
    viewings = table.viewings(viewing)
    if not viewings:
        raise ArgumentError("the frame has no rows: a tab set needs a tab")
    if any(one != viewings[0] for one in viewings):
        raise ArgumentError("column viewing: the tabs of a set share one viewing")
    colours, curves = table.colours(viewings)
    tabs = [Tab(*row) for row in zip(names, colours, curves, strict=True)]
    return TabSet(name, tabs, viewings[0])


from_frame = readings_from_frame


def to_xarray(photo: Photo, fit: CardFit, zones: Zones) -> xr.DataArray:
    """CIELAB of the tooth pixel by pixel as a DataArray (`y_px`, `x_px`, `axis`).

    `axis` is L, a, b; the coordinates are columns and rows of the photo. NaN outside the tooth, in
    glare and where the photo is clipped. Raises ArgumentError for parts of another photo.
    """
    import xarray as xr

    lab, left, top = map_lab(photo, fit, zones)
    height, width = lab.shape[:2]
    return xr.DataArray(
        lab,
        dims=("y_px", "x_px", "axis"),
        coords={
            "y_px": np.arange(top, top + height),
            "x_px": np.arange(left, left + width),
            "axis": list(COLOUR),
        },
        name="lab",
        attrs={"viewing": str(fit.viewing), "long_name": "CIELAB"},
    )


class _Table:
    """Columns of whatever frame, each checked under its name."""

    def __init__(self, frame: Any) -> None:
        names = getattr(frame, "column_names", None)
        if names is None:
            names = getattr(frame, "columns", None)
        if names is None and hasattr(frame, "keys"):
            names = frame.keys()
        if names is None:
            kind = type(frame).__name__
            raise ArgumentError(f"a frame with named columns is needed, not a {kind}")
        self.frame = frame
        self.names = [str(name) for name in names]
        self.keys = dict(zip(self.names, names, strict=True))

    def column(self, name: str) -> list[Any]:
        if name not in self.keys:
            raise ArgumentError(f"the frame has no column {name}; it has {', '.join(self.names)}")
        column = self.frame[self.keys[name]]
        for words in ("to_pylist", "to_list", "tolist"):
            if hasattr(column, words):
                return list(getattr(column, words)())
        return list(column)

    def texts(self, name: str) -> list[str]:
        cells = self.column(name)
        for row, cell in enumerate(cells):
            if not isinstance(cell, str):
                raise ArgumentError(f"column {name}, row {row}: expected a text, not {cell!r}")
        return cells

    def numbers(self, name: str) -> Floats:
        cells = self.column(name)
        found = np.empty(len(cells))
        for row, cell in enumerate(cells):
            try:
                if isinstance(cell, str):
                    raise TypeError
                found[row] = float(cell)
            except (TypeError, ValueError):
                found[row] = math.nan
            if not math.isfinite(found[row]):
                raise ArgumentError(f"column {name}, row {row}: expected a number, not {cell!r}")
        return found

    def whole(self, name: str) -> list[int]:
        numbers = self.numbers(name)
        for row, number in enumerate(numbers):
            if number != int(number) or number < 1:
                raise ArgumentError(
                    f"column {name}, row {row}: expected a whole number from 1, not {number:g}"
                )
        return [int(number) for number in numbers]

    def viewings(self, given: Viewing | str | None) -> list[Viewing]:
        if given is not None:
            one = viewing_from_string(given) if isinstance(given, str) else given
            return [one] * len(self.column(self.names[0]) if self.names else [])
        if "viewing" not in self.names:
            raise ArgumentError("the frame has no column viewing, and no viewing is given")
        found = []
        for row, text in enumerate(self.texts("viewing")):
            try:
                found.append(viewing_from_string(text))
            except ArgumentError as error:
                raise ArgumentError(f"column viewing, row {row}: {error}") from None
        return found

    def colours(
        self, viewings: Sequence[Viewing]
    ) -> tuple[list[Measured], list[Reflectance | None]]:
        """Colour and, where there is one, reflectance of every row."""
        curves = self.curves(len(viewings))
        if all(name in self.names for name in COLOUR) or not curves:
            labs = np.column_stack([self.numbers(name) for name in COLOUR])
        else:
            pairs = zip(curves, viewings, strict=True)
            labs = np.array([read_spectrum("row", *pair).lab.value for pair in pairs])
        sds = np.zeros_like(labs)
        if any(name in self.names for name in SPREAD):
            sds = np.column_stack([self.numbers(name) for name in SPREAD])
        measured = []
        for row, (lab, sd) in enumerate(zip(labs, sds, strict=True)):
            try:
                measured.append(Measured(lab, np.diag(sd**2)))
            except ArgumentError as error:
                raise ArgumentError(f"columns L, a, b, row {row}: {error}") from None
        return measured, list(curves) if curves else [None] * len(viewings)

    def curves(self, rows: int) -> list[Reflectance]:
        """A reflectance each row, from the columns named by a wavelength; empty without them."""
        bands = sorted(
            (float(match[1]), name) for name in self.names if (match := WAVELENGTH.fullmatch(name))
        )
        if not bands:
            return []
        nm = np.array([wavelength for wavelength, _ in bands])
        steps = np.diff(nm)
        if len(nm) < 2 or np.ptp(steps) > 1e-9:
            raise ArgumentError(f"columns {bands[0][1]} to {bands[-1][1]}: wavelengths are uneven")
        grid = Grid(nm[0], steps[0], len(nm))
        values = np.column_stack([self.numbers(name) for _, name in bands])
        found = []
        for row in range(rows):
            try:
                found.append(Reflectance(grid, values[row]))
            except ArgumentError as error:
                raise ArgumentError(
                    f"columns {bands[0][1]} to {bands[-1][1]}, row {row}: {error}"
                ) from None
        return found


def _colour_columns(
    named: Sequence[dict[str, str]], values: Sequence[Any], viewing: Viewing | None
) -> dict[str, Any]:
    columns: dict[str, Any] = {key: [row[key] for row in named] for key in (named or [{}])[0]}
    columns["viewing"] = [str(viewing or value.viewing) for value in values]
    labs = np.array([value.lab.value for value in values]).reshape(-1, 3)
    sds = np.array([value.lab.sd() for value in values]).reshape(-1, 3)
    columns.update(zip(COLOUR, labs.T, strict=True))
    columns.update(zip(SPREAD, sds.T, strict=True))
    grids = {value.reflectance.grid for value in values if value.reflectance is not None}
    if len(grids) == 1:
        grid = grids.pop()
        nothing = [math.nan] * grid.count
        measured = [v.reflectance for v in values]
        curves = np.array([nothing if m is None else m.values for m in measured])
        for band in range(grid.count):
            columns[f"{grid.first_nm + band * grid.step_nm:g}nm"] = curves[:, band]
    return columns


def _match_columns(report: Report) -> dict[str, Any]:
    words = ("tab", "de00", "low", "high", "chance_best", "dl", "dc", "dh", "grade")
    columns: dict[str, list[Any]] = {name: [] for name in ("tooth", "zone", "rank", *words)}
    for tooth in report.teeth:
        for reading, match in zip(tooth.readings, tooth.matches, strict=True):
            for rank, tab in enumerate(match.ranked, start=1):
                columns["tooth"].append(tooth.name)
                columns["zone"].append(reading.zone)
                columns["rank"].append(rank)
                for word in words:
                    columns[word].append(getattr(tab, word))
    return columns
