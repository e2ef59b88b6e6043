"""The table of a study, and the record of how it was made beside it."""

from __future__ import annotations

import csv
import io
import json
import platform
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mamelon._core import ArgumentError, IoError, library_version, sha256_hex, write_file_atomically
from mamelon.study.journal import Row
from mamelon.study.manifest import Manifest
from mamelon.study.measure import COLUMNS
from mamelon.study.settings import Settings

if TYPE_CHECKING:
    import pandas as pd

# Never guessed from what a study happens to hold, so that a column has one type in every study.
TEXT = (
    "item", "source", "zone", "tab_set", "tab", "grade", "words", "warnings", "digest",
    "error_kind", "error",
)  # fmt: skip
WHOLE = ("count", "rank")


@dataclass(frozen=True)
class Record:
    """How a table was made: no clock, host or path."""

    mamelon: str
    python: str
    settings: dict[str, Any]
    manifest: str
    table: str
    items: int
    rows: int
    failed: int


def check_output(path: Path) -> None:
    """Raises ArgumentError for a format that is not written or that lacks its package."""
    if path.suffix not in (".csv", ".parquet"):
        raise ArgumentError(f"{path}: the table must be .csv or .parquet")
    if path.suffix == ".parquet":
        try:
            import pandas  # noqa: F401
            import pyarrow  # noqa: F401
        except ImportError:
            raise ArgumentError(f"{path}: Parquet needs pandas and pyarrow") from None
    if not path.parent.is_dir():
        raise IoError(f"{path.parent}: no such folder")


def write(path: Path, items: Manifest, settings: Settings, rows: Sequence[Row]) -> Record:
    """Writes table and record, each whole or not at all."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["item", *items.covariates, *COLUMNS])
    writer.writerows(rows)
    content = text.getvalue().encode()
    if path.suffix == ".parquet":
        buffer = io.BytesIO()
        _frame(text.getvalue()).to_parquet(buffer, index=False)
        content = buffer.getvalue()
    error = 1 + len(items.covariates) + COLUMNS.index("error")
    record = Record(
        library_version(),
        platform.python_version(),
        settings.described(),
        items.digest,
        sha256_hex(content),
        len(items.items),
        len(rows),
        sum(1 for row in rows if row[error]),
    )
    document = {"format": "mamelon-study-record", "version": "1.0", **asdict(record)}
    write_file_atomically(path, content)
    write_file_atomically(
        path.with_name(path.name + ".record.json"),
        json.dumps(document, indent=1, ensure_ascii=False) + "\n",
    )
    return record


def read(path: Path) -> pd.DataFrame:
    """A written table as a DataFrame."""
    if path.suffix == ".parquet":
        import pandas as pd

        return pd.read_parquet(path)
    return _frame(path.read_text(encoding="utf-8"))


def _frame(content: str) -> pd.DataFrame:
    import pandas as pd

    head, *rows = csv.reader(io.StringIO(content))
    cells = dict(zip(head, zip(*rows, strict=True), strict=True))
    return pd.DataFrame({name: _column(name, texts) for name, texts in cells.items()})


def _column(name: str, texts: Sequence[str]) -> Any:
    """Cells as a column of one type; empty cells of a number are missing."""
    import pandas as pd

    if name in WHOLE:
        numbers = [pd.NA if text == "" else int(text) for text in texts]
        return pd.array(numbers, dtype="Int64")
    if name in TEXT:
        return list(texts)
    if name in COLUMNS:
        return [float(text or "nan") for text in texts]
    # A covariate is a number where every cell is one.
    if all(re.fullmatch(r"[+-]?\d{1,18}", text) for text in texts):
        return [int(text) for text in texts]
    try:
        return [float(text or "nan") for text in texts]
    except ValueError:
        return list(texts)
