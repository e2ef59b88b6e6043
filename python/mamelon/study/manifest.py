"""The items of a study, from a CSV file or a DataFrame."""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import json
import math
import re
import stat
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mamelon._core import ArgumentError, DataError, IoError

# A number as spreadsheets and scripts write it: Python's own reading also takes 7_4 and nan.
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
LONGEST_NAME = 200

# Columns with a meaning; every other column is a covariate or, if it is a number, a wavelength.
FILES = ("photo", "card", "curve", "tooth_mask", "case")
KNOWN = (
    "item", *FILES, "tooth", "tooth_box", "tooth_point", "tooth_kind", "cervical_direction_deg",
    "L", "a", "b", "sd_L", "sd_a", "sd_b",
)  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One row of a manifest, all of it text, with the folder its files are relative to.

    `fault` says what is wrong with the row itself; such an item becomes a row of the table that
    says so.
    """

    name: str
    cells: tuple[tuple[str, str], ...]
    covariates: tuple[str, ...]
    folder: str
    where: str
    fault: str = ""

    def get(self, column: str) -> str:
        """The cell of a column, empty where the manifest has none."""
        return dict(self.cells).get(column, "")

    def path(self, column: str) -> Path | None:
        """The file named in a column."""
        text = self.get(column)
        if "\0" in text:
            raise DataError(f"{self.where}: {column} has a zero byte in its name")
        return Path(self.folder) / text if text else None

    def numbers(
        self, column: str, count: int, least: float = -math.inf, most: float = math.inf
    ) -> tuple[float, ...] | None:
        """Numbers in a cell, separated by commas or spaces, from `least` to `most`."""
        text = self.get(column)
        if not text:
            return None
        values = tuple(number(part) for part in text.replace(",", " ").split())
        if len(values) != count or None in values:
            what = "a number" if count == 1 else f"{count} numbers"
            raise DataError(f"{self.where}: {column} must be {what}, not {shortened(text)}")
        found = tuple(value for value in values if value is not None)
        if not all(least <= value <= most for value in found):
            raise DataError(
                f"{self.where}: {column} must be {least:g} to {most:g}, not {shortened(text)}"
            )
        return found

    def key(self) -> str:
        """Digest of the row and of the size and time of its files: changes when either does."""
        stamps = []
        for column in FILES:
            # What cannot be looked at is told when the item is measured.
            with contextlib.suppress(OSError, ValueError, DataError):
                path = self.path(column)
                if path is not None:
                    status = path.stat()
                    stamps.append((column, status.st_size, status.st_mtime_ns))
        text = json.dumps([self.name, self.cells, stamps, self.where if self.fault else ""])
        return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Manifest:
    """Items in order, and the names of their covariates.

    Columns with a meaning: `item` (unique name); `photo` (file) with `card` (file), `tooth_box`
    (x, y, width, height in pixels), `tooth_point` (x, y) or `tooth_mask` (PNG, or .npy file of
    booleans), `tooth` (its number in ISO 3950), `tooth_kind` (anterior or posterior) and
    `cervical_direction_deg`; or `L`, `a`, `b` with `sd_L`, `sd_a`, `sd_b` of their random error; or
    `curve` (file) or columns named by wavelength in nm; or `case` (file), a saved case. Files are
    relative to the manifest's folder.
    """

    items: tuple[Item, ...]
    covariates: tuple[str, ...]
    digest: str

    @classmethod
    def read(cls, file: str | Path) -> Manifest:
        """From a CSV file (UTF-8, header row). Raises IoError, or DataError naming the line."""
        path = Path(file)
        try:
            # Opening a pipe that nobody writes to would wait for ever.
            if not stat.S_ISREG(Path(path).stat().st_mode):
                raise IoError(f"{path}: is not a regular file")
            text = path.read_text(encoding="utf-8-sig")
        except OSError as error:
            raise IoError(f"{path}: cannot read: {error.strerror or error}") from None
        except ValueError as error:
            if isinstance(error, UnicodeDecodeError):
                raise DataError(f"{path}: is not UTF-8 text") from None
            raise IoError(f"{str(path)!r}: cannot read: {error}") from None
        reader = csv.reader(io.StringIO(text), strict=True)
        rows = []
        try:
            head = [name.strip() for name in next(reader, [])]
            for cells in reader:
                if not cells:
                    continue
                rows.append((f"{path.name}, line {reader.line_num}", cells))
        except csv.Error as error:
            raise DataError(f"{path}, line {reader.line_num}: {error}") from None
        return cls._make(head, rows, path.parent, path.name)

    @classmethod
    def from_frame(cls, frame: Any, folder: str | Path = ".") -> Manifest:
        """From a pandas DataFrame; numbers become their shortest text."""
        head = [str(name) for name in frame.columns]
        rows = []
        for number, values in enumerate(frame.itertuples(index=False, name=None)):
            where = f"manifest row {number}"
            cells = [_text(v, f"{where}, {n}") for n, v in zip(head, values, strict=True)]
            rows.append((where, cells))
        return cls._make(head, rows, Path(folder), "manifest")

    @classmethod
    def _make(
        cls,
        head: Sequence[str],
        rows: Iterable[tuple[str, Sequence[str]]],
        folder: Path,
        source: str,
    ) -> Manifest:
        if not head or "item" not in head:
            raise DataError(f"{source}: the header has no column `item`")
        twice = sorted({name for name in head if head.count(name) > 1})
        if twice:
            raise DataError(f"{source}: column {twice[0]!r} stands twice in the header")
        covariates = tuple(name for name in head if name not in KNOWN and not is_wavelength(name))
        items: list[Item] = []
        seen: dict[str, str] = {}
        digest = hashlib.sha256(json.dumps(list(head)).encode())
        for where, cells in rows:
            fault = ""
            if len(cells) != len(head):
                fault = f"{where}: {len(cells)} cells where the header has {len(head)}"
            texts = [cell.strip() for cell in cells][: len(head)]
            texts += [""] * (len(head) - len(texts))
            digest.update(json.dumps(texts).encode())
            row: Mapping[str, str] = dict(zip(head, texts, strict=True))
            name = row["item"]
            if not name and not fault:
                fault = f"{where}: `item` is empty"
            elif name in seen and not fault:
                fault = f"{where}: item {shortened(name)} stands already at {seen[name]}"
            seen.setdefault(name, where)
            items.append(Item(name, tuple(row.items()), covariates, str(folder), where, fault))
        if not items:
            raise DataError(f"{source}: has no items")
        return cls(tuple(items), covariates, digest.hexdigest())


def number(text: str) -> float | None:
    """A finite number written with digits, point and exponent; None for anything else."""
    if NUMBER.fullmatch(text) is None:
        return None
    value = float(text)
    return value if math.isfinite(value) else None


def shortened(text: str) -> str:
    """A cell for a message."""
    return repr(text if len(text) <= 60 else text[:57] + "…")


def is_wavelength(name: str) -> bool:
    """True for a column name that is a number of nanometres."""
    value = number(name)
    return value is not None and 200 <= value <= 2500


def _text(value: Any, where: str) -> str:
    """A cell as text; only text, numbers, booleans, times and missing values are cells."""
    plain = value.item() if hasattr(value, "item") and not hasattr(value, "__len__") else value
    missing = plain is None or type(plain).__name__ in ("NAType", "NaTType")
    if missing or (isinstance(plain, float) and math.isnan(plain)):
        return ""
    if isinstance(plain, str):
        return plain
    if isinstance(plain, (bool, int)):
        return str(plain)
    if isinstance(plain, float):
        return repr(plain)
    if hasattr(plain, "isoformat"):
        return str(plain.isoformat())
    if isinstance(plain, Path):
        return str(plain)
    raise ArgumentError(
        f"{where} is a {type(plain).__name__}; a manifest holds text, numbers and dates"
    )
