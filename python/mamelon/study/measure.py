"""One item of a study to its rows of the table. Runs in worker processes."""

from __future__ import annotations

import functools
import itertools
import math
import os
import stat
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from mamelon import _core
from mamelon.study.manifest import (
    FILES,
    LONGEST_NAME,
    Item,
    is_wavelength,
    number,
    shortened,
)
from mamelon.study.settings import Settings

# Columns of the table after `item` and the covariates.
COLUMNS = (
    "source", "zone", "L", "a", "b", "sd_L", "sd_a", "sd_b", "count", "tab_set", "rank", "tab",
    "de00", "low", "high", "chance_best", "chance_perceptible", "chance_acceptable", "dl", "dc",
    "dh", "grade", "words", "card_loo_de00_median", "warnings", "digest", "error_kind", "error",
)  # fmt: skip

Row = tuple[str, ...]


def rows_of(item: Item, settings: Settings) -> list[Row]:
    """Rows of one item; a failure is a row that says what went wrong."""
    try:
        if item.fault:
            raise _core.DataError(item.fault)
        if len(item.name) > LONGEST_NAME:
            raise _core.DataError(
                f"{item.where}: the item's name has {len(item.name)} characters; "
                f"at most {LONGEST_NAME}"
            )
        return _measured(item, settings)
    # Whatever is wrong with one item, the study goes on; only Ctrl-C and the like end it.
    except Exception as error:
        message = str(error) or ("out of memory" if isinstance(error, MemoryError) else "no reason")
        kind = type(error).__name__
    return [failure(item, kind, _without_names(message, item, settings))]


def rows_of_chunk(items: Sequence[Item], settings: Settings) -> list[list[Row]]:
    """Rows of each of several items."""
    return [rows_of(item, settings) for item in items]


def failure(item: Item, kind: str, message: str) -> Row:
    """The row of an item that could not be measured."""
    words = " ".join(message.split())
    return _row(item, {"error_kind": kind, "error": words if len(words) <= 500 else words[:499] + "…"})


def _without_names(message: str, item: Item, settings: Settings) -> str:
    """A message that tells a file by its column: a photo's name or folder may be a patient's."""
    for column in FILES:
        try:
            path = item.path(column) or (settings.card if column == "card" else None)
        except _core.DataError:
            continue
        if path is not None:
            told = f"the {column.replace('_', ' ')}"
            message = message.replace(str(path), told)
            # Where the reader tells the name without the folder, it comes first.
            if message.startswith(f"{path.name}:"):
                message = told + message.removeprefix(path.name)
    # Without the folder the table is the same wherever the study stands.
    return message.replace(item.folder + os.sep, "")


def _row(item: Item, values: dict[str, str]) -> Row:
    lead = (item.name, *(item.get(name) for name in item.covariates))
    return lead + tuple(values.get(name, "") for name in COLUMNS)


def _number(value: float) -> str:
    # Twelve significant digits, as in the JSON of the command: the last bits of a computation are no
    # part of what is said.
    return "" if math.isnan(value) else repr(float(f"{float(value):.12g}"))


def _measured(item: Item, settings: Settings) -> list[Row]:
    source, readings, card_median = _readings(item, settings)
    rows = []
    keep = 1 if settings.rows == "summary" else 0
    for reading in readings:
        sd = [float(value) for value in reading.lab.sd()]
        colour = {
            "source": source,
            "zone": reading.zone,
            **dict(zip(("L", "a", "b"), map(_number, reading.lab.value), strict=True)),
            **dict(zip(("sd_L", "sd_a", "sd_b"), map(_number, sd), strict=True)),
            "count": str(reading.count),
            "card_loo_de00_median": card_median,
        }
        for tabs in settings.tabs:
            match = _core.match(
                reading,
                tabs,
                weights=settings.weights,
                draws=settings.draws,
                seed=settings.seed,
                keep=keep,
                threads=1,
            )
            for rank, tab in enumerate(match.ranked, start=1):
                found = {
                    "tab_set": tabs.name,
                    "rank": str(rank),
                    "tab": tab.tab,
                    "grade": tab.grade,
                    "words": _core.difference_in_words(tab),
                    "warnings": "; ".join(dict.fromkeys(reading.warnings + match.warnings)),
                    "digest": match.provenance.digest,
                }
                for name in (
                    "de00", "low", "high", "chance_best", "chance_perceptible",
                    "chance_acceptable", "dl", "dc", "dh",
                ):  # fmt: skip
                    found[name] = _number(getattr(tab, name))
                rows.append(_row(item, colour | found))
    return rows


def _readings(item: Item, settings: Settings) -> tuple[str, Sequence[_core.Reading], str]:
    """Source, readings and the card's leave-one-out figure of one item."""
    bands = sorted(float(name) for name, cell in item.cells if is_wavelength(name) and cell)
    given = [
        kind
        for kind, there in (
            ("photo", item.get("photo")),
            ("lab", item.get("L") or item.get("a") or item.get("b")),
            ("curve", item.get("curve") or bands),
        )
        if there
    ]
    if len(given) != 1:
        what = " and ".join(given) or "nothing"
        raise _core.DataError(
            f"{item.where}: an item is one of photo, L,a,b and curve; this one gives {what}"
        )
    if given[0] == "photo":
        return ("photo", *_photo_readings(item, settings))
    if given[0] == "lab":
        return "lab", [_lab_reading(item, settings)], ""
    path = item.path("curve")
    curve = _core.read_reflectance(path) if path else _curve_of_bands(item, bands)
    return "curve", [_core.read_spectrum(item.name, curve, settings.viewing)], ""


def _lab_reading(item: Item, settings: Settings) -> _core.Reading:
    lab = []
    sd = []
    for axis, least, most in (("L", 0, 150), ("a", -200, 200), ("b", -200, 200)):
        lab.append(_within(item, axis, least, most))
        name = f"sd_{axis}"
        sd.append(_within(item, name, 0, 100) if item.get(name) else 0.0)
    random = [[sd[i] ** 2 if i == j else 0.0 for j in range(3)] for i in range(3)]
    return _core.Reading(item.name, _core.Measured(lab, random), settings.viewing)


def _within(item: Item, column: str, least: float, most: float) -> float:
    """The number in a cell, in its range: those of tables of readings."""
    values = item.numbers(column, 1)
    if values is None:
        raise _core.DataError(f"{item.where}: {column} is empty")
    if not least <= values[0] <= most:
        raise _core.DataError(
            f"{item.where}: {column} must be {least:g} to {most:g}, not {shortened(item.get(column))}"
        )
    return values[0]


def _curve_of_bands(item: Item, bands: Sequence[float]) -> _core.Reflectance:
    if len(bands) < 3:
        raise _core.DataError(f"{item.where}: a curve needs at least 3 bands, not {len(bands)}")
    step = bands[1] - bands[0]
    for before, after in itertools.pairwise(bands):
        if not math.isclose(after - before, step, rel_tol=1e-9):
            raise _core.DataError(
                f"{item.where}: bands must be equally spaced; after {before:g} nm comes {after:g}"
            )
    cells = {float(name): cell for name, cell in item.cells if is_wavelength(name) and cell}
    if bands[0] > 430 or bands[-1] < 670:
        raise _core.DataError(
            f"{item.where}: the bands do not cover what the eye sees ({bands[0]:g} to {bands[-1]:g} "
            "nm); give 400 to 700 nm, at the least 430 to 670 nm"
        )
    values = []
    for band in bands:
        value = number(cells[band])
        if value is None:
            raise _core.DataError(
                f"{item.where}: the reflectance at {band:g} nm is not a number: "
                f"{shortened(cells[band])}"
            )
        values.append(value)
    return _core.Reflectance(_core.Grid(bands[0], step, len(bands)), values)


@functools.lru_cache(maxsize=16)
def _card(path: Path, _stamp: tuple[int, int]) -> _core.Card:
    return _core.read_card(path)


def _photo_readings(item: Item, settings: Settings) -> tuple[Sequence[_core.Reading], str]:
    photo_file = item.path("photo")
    card_file = item.path("card") or settings.card
    if photo_file is None or card_file is None:
        raise _core.DataError(f"{item.where}: a photo needs a `card`")
    try:
        status = card_file.stat()
    except OSError as error:
        raise _core.IoError(f"{card_file}: cannot read: {error.strerror}") from None
    card = _card(card_file, (status.st_size, status.st_mtime_ns))
    photo = _core.read_photo(photo_file, camera_rendering=settings.camera_rendering)
    fit = _core.fit_card(photo, card, settings.viewing)
    direction = item.numbers("cervical_direction_deg", 1)
    zones = _core.find_zones(
        photo,
        fit,
        point=item.numbers("tooth_point", 2),
        box=item.numbers("tooth_box", 4),
        mask=_mask(item),
        kind=_kind(item),
        cervical_direction_deg=direction[0] if direction else None,
        margin_mm=settings.margin_mm,
    )
    return _core.read_zones(photo, fit, zones, item.name), _number(fit.loo_de00_median)


def _kind(item: Item) -> Literal["anterior", "posterior"]:
    text = item.get("tooth_kind")
    if text in ("", "anterior"):
        return "anterior"
    if text == "posterior":
        return "posterior"
    raise _core.DataError(f"{item.where}: tooth_kind must be anterior or posterior, not {text!r}")


def _mask(item: Item) -> _core.Mask | None:
    path = item.path("tooth_mask")
    if path is None:
        return None
    import numpy as np

    told = f"{path}: is not a .npy file of booleans, a row of the photo a row"
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _core.IoError(f"{path}: is not a regular file")
        # Mapped, so that a header that states more than the file holds costs nothing.
        made = np.load(path, mmap_mode="r", allow_pickle=False)
    except OSError as error:
        raise _core.IoError(f"{path}: cannot read: {error.strerror or error}") from None
    except (ValueError, EOFError) as error:
        raise _core.DataError(f"{told}: {error}") from None
    if not isinstance(made, np.ndarray):
        made.close()
        raise _core.DataError(f"{told}: it is an archive")
    if made.dtype != np.bool_ or made.ndim != 2:
        raise _core.DataError(f"{told}: it holds {made.ndim} dimensions of {made.dtype}")
    return _core.Mask(np.array(made))
