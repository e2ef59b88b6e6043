"""One item of a study to its rows of the table: a case solved and shown. Runs in workers."""

from __future__ import annotations

import functools
import itertools
import math
import os
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path

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
    "source", "tooth", "zone", "L", "a", "b", "sd_L", "sd_a", "sd_b", "count", "tab_set", "rank",
    "tab", "de00", "low", "high", "chance_best", "chance_perceptible", "chance_acceptable", "dl",
    "dc", "dh", "grade", "words", "card_loo_de00_median", "plan", "plan_de00",
    "plan_de00_expected", "warnings", "digest", "error_kind", "error",
)  # fmt: skip

# As the library takes them: limits::photo_bytes.
MOST_PHOTO_BYTES = 2**31
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
        return [_row(item, values) for values in _solved(item, settings)]
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
    return _row(
        item, {"error_kind": kind, "error": words if len(words) <= 500 else words[:499] + "…"}
    )


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


def _number(value: float | None) -> str:
    # Twelve significant digits, as in the JSON of the command: the last bits of a computation are
    # no part of what is said.
    return "" if value is None or math.isnan(value) else repr(float(f"{float(value):.12g}"))


def _solved(item: Item, settings: Settings) -> Iterator[dict[str, str]]:
    """The report of an item's case, reading by reading and tab set by tab set."""
    source, case = case_of(item, settings)
    report = _core.solve(case)
    matches = [[tooth.matches for tooth in report.teeth]]
    # What was read once is ranked against the other sets.
    read = case.replace(
        photo=None,
        restoration=None,
        teeth=[_core.CaseTooth(name=t.name, readings=t.readings) for t in report.teeth],
    )
    for tabs in settings.tabs[1:]:
        again = _core.solve(read.replace(tabs=tabs))
        matches.append([tooth.matches for tooth in again.teeth])
    for at, tooth in enumerate(report.teeth):
        for place, reading in enumerate(tooth.readings):
            shown = _reading(reading) | {
                "source": source,
                "tooth": str(tooth.number or tooth.name),
                "card_loo_de00_median": _number(report.card_loo_de00_median),
            }
            if place == tooth.planned and tooth.plans is not None:
                shown |= _plan(tooth.plans)
            withheld = tooth.withheld[place]
            for tabs, of_teeth in zip(settings.tabs, matches, strict=True):
                match = of_teeth[at][place]
                told = ([withheld] if withheld else []) + [*reading.warnings, *match.warnings]
                for rank, tab in enumerate(match.ranked, start=1):
                    yield shown | {
                        "tab_set": tabs.name,
                        "rank": str(rank),
                        "tab": tab.tab,
                        "grade": "" if withheld else tab.grade,
                        "words": _core.difference_in_words(tab),
                        "warnings": "; ".join(dict.fromkeys(told)),
                        "digest": match.provenance.digest,
                    } | {
                        name: _number(getattr(tab, name))
                        for name in (
                            "de00", "low", "high", "chance_best", "chance_perceptible",
                            "chance_acceptable", "dl", "dc", "dh",
                        )
                    }  # fmt: skip


def _reading(reading: _core.Reading) -> dict[str, str]:
    sd = [float(value) for value in reading.lab.sd()]
    known = any(sd)
    return {
        "zone": reading.zone,
        **dict(zip(("L", "a", "b"), map(_number, reading.lab.value), strict=True)),
        **{f"sd_{axis}": _number(v) if known else "" for axis, v in zip("Lab", sd, strict=True)},
        "count": str(reading.count),
    }


def _plan(plans: _core.PlanSet) -> dict[str, str]:
    best = plans.plans[plans.recommended]
    return {
        "plan": " + ".join(f"{layer.paste} {layer.thickness_mm:.1f} mm" for layer in best.layers),
        "plan_de00": _number(best.de00),
        "plan_de00_expected": _number(best.de00_rms),
    }


def case_of(item: Item, settings: Settings) -> tuple[str, _core.Case]:
    """What an item is read from (photo, lab, curve or case), and its case."""
    bands = sorted(float(name) for name, cell in item.cells if is_wavelength(name) and cell)
    given = [
        kind
        for kind, there in (
            ("photo", item.get("photo")),
            ("lab", item.get("L") or item.get("a") or item.get("b")),
            ("curve", item.get("curve") or bands),
            ("case", item.get("case")),
        )
        if there
    ]
    if len(given) != 1:
        what = " and ".join(given) or "nothing"
        raise _core.DataError(
            f"{item.where}: an item is one of photo, L,a,b, curve and case; this one gives {what}"
        )
    saved = item.path("case")
    own = settings.like if saved is None else _core.read_case(saved)
    prior = settings.prior or (own.match.prior if own is not None else _core.generated_prior())
    common = {
        "label": item.name,
        "headline": "",
        "tabs": settings.tabs[0],
        "match": _core.MatchOptions(
            weights=settings.weights, draws=settings.draws, seed=settings.seed,
            keep=1 if settings.rows == "summary" else 0, threads=1, prior=prior,
        ),
    }  # fmt: skip
    if saved is not None and own is not None:
        return "case", own.replace(**common)
    number = item.numbers("tooth", 1)
    tooth = _core.CaseTooth(name=item.name, number=int(number[0]) if number else None)
    photo_file = item.path("photo")
    if photo_file is None:
        reading = (
            _lab_reading(item, settings) if given[0] == "lab" else _curve(item, bands, settings)
        )
        tooth = tooth.replace(readings=[reading])
        photo = None
    else:
        direction = item.numbers("cervical_direction_deg", 1)
        tooth = tooth.replace(
            at=_core.ToothHint(
                point=item.numbers("tooth_point", 2), box=item.numbers("tooth_box", 4),
                mask=_mask(item),
            ),
            cervical_direction_deg=direction[0] if direction else None,
        )  # fmt: skip
        photo = _core.CasePhoto(
            _bytes_of(photo_file),
            source=photo_file.name,
            camera_rendering=settings.camera_rendering,
        )
    like = settings.like or _core.Case(viewing=settings.viewing, teeth=[tooth])
    return given[0], like.replace(
        viewing=settings.viewing,
        teeth=[tooth],
        photo=photo,
        card=_card_of(item, settings) if photo else None,
        tabs_in_photo=(),
        posterior=_is_posterior(item),
        margin_mm=settings.margin_mm,
        **common,
    )


def _bytes_of(file: Path) -> bytes:
    """What a regular file holds; a pipe or a device would be waited for without end."""
    try:
        status = file.stat()
        if not stat.S_ISREG(status.st_mode):
            raise _core.IoError(f"{file}: is a pipe or a device; give a file")
        if status.st_size > MOST_PHOTO_BYTES:
            raise _core.CaptureError(f"{file}: is larger than 2 GiB; give a smaller photo")
        return file.read_bytes()
    except OSError as error:
        raise _core.IoError(f"{file}: cannot read: {error.strerror or error}") from None


def _lab_reading(item: Item, settings: Settings) -> _core.Reading:
    lab = []
    sd = []
    for axis, (least, most) in (("L", (0, 150)), ("a", (-200, 200)), ("b", (-200, 200))):
        value = item.numbers(axis, 1, least, most)
        if value is None:
            raise _core.DataError(f"{item.where}: {axis} is empty")
        lab.append(value[0])
        sd.append((item.numbers(f"sd_{axis}", 1, 0, 100) or (0.0,))[0])
    random = [[sd[i] ** 2 if i == j else 0.0 for j in range(3)] for i in range(3)]
    return _core.Reading(item.name, _core.Measured(lab, random), settings.viewing)


def _curve(item: Item, bands: Sequence[float], settings: Settings) -> _core.Reading:
    path = item.path("curve")
    curve = _core.read_reflectance(path) if path else _curve_of_bands(item, bands)
    return _core.read_spectrum(item.name, curve, settings.viewing)


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
            f"{item.where}: the bands do not cover what the eye sees ({bands[0]:g} to "
            f"{bands[-1]:g} nm); give 400 to 700 nm, at the least 430 to 670 nm"
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


def _card_of(item: Item, settings: Settings) -> _core.Card:
    file = item.path("card") or settings.card
    if file is None and settings.like is not None and settings.like.card is not None:
        return settings.like.card
    if file is None:
        raise _core.DataError(f"{item.where}: a photo needs a `card`")
    try:
        status = file.stat()
    except OSError as error:
        raise _core.IoError(f"{file}: cannot read: {error.strerror}") from None
    return _card(file, (status.st_size, status.st_mtime_ns))


def _is_posterior(item: Item) -> bool:
    text = item.get("tooth_kind")
    if text not in ("", "anterior", "posterior"):
        raise _core.DataError(
            f"{item.where}: tooth_kind must be anterior or posterior, not {text!r}"
        )
    return text == "posterior"


def _mask(item: Item) -> _core.Mask | None:
    path = item.path("tooth_mask")
    if path is None:
        return None
    if path.suffix.lower() == ".png":
        return _core.parse_mask(path.read_bytes(), str(path))
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
