"""The table of a study, and the record of how it was made beside it."""

from __future__ import annotations

import csv
import io
import json
import platform
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mamelon._core import (
    ArgumentError,
    DataError,
    IoError,
    library_version,
    sha256_hex,
    write_file_atomically,
)
from mamelon.study.journal import Row
from mamelon.study.manifest import Manifest, number
from mamelon.study.measure import COLUMNS
from mamelon.study.settings import Settings

if TYPE_CHECKING:
    import pandas as pd

# Never guessed from what a study happens to hold, so that a column has one type in every study.
TEXT = (
    "item", "source", "tooth", "zone", "tab_set", "tab", "grade", "words", "plan",
    "warnings", "digest",
    "error_kind", "error",
)  # fmt: skip
WHOLE = ("count", "rank")

FORMAT = "mamelon-study-record"
WORDS = {str: "text", int: "a whole number", dict: "an object"}


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

    def document(self) -> dict[str, Any]:
        """As the JSON document that stands beside the table."""
        return {"format": FORMAT, "version": "1.0", **asdict(self)}


# What a spreadsheet takes for a formula or a command, behind any number of guards of ours.
FORMULA = re.compile(r"'*[=+\-@\t\r]")


def guarded(cell: str) -> str:
    """A cell with an apostrophe before what a spreadsheet would run; numbers stay as they are."""
    return "'" + cell if FORMULA.match(cell) and number(cell) is None else cell


def unguarded(cell: str) -> str:
    """The cell that `guarded` was given."""
    return cell[1:] if cell.startswith("'") and FORMULA.match(cell) else cell


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


def failed(rows: Sequence[Row]) -> bool:
    """Whether an item's rows say that it could not be measured."""
    return any(row[len(row) - len(COLUMNS) + COLUMNS.index("error")] for row in rows)


def write(
    path: Path, items: Manifest, settings: Settings, rows: Sequence[Row], *, guard: bool = True
) -> Record:
    """Writes table and record, each whole or not at all; `guard` is of a CSV's cells."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    head = ["item", *items.covariates, *COLUMNS]
    own = guarded if guard else str
    writer.writerow(map(own, head))
    writer.writerows([own(cell) for cell in row] for row in rows)
    content = text.getvalue().encode(errors="backslashreplace")
    if path.suffix == ".parquet":
        buffer = io.BytesIO()
        _frame(text.getvalue()).to_parquet(buffer, index=False)
        content = buffer.getvalue()
    record = Record(
        library_version(),
        platform.python_version(),
        settings.described(),
        items.digest,
        sha256_hex(content),
        len(items.items),
        len(rows),
        sum(1 for row in rows if failed([row])),
    )
    write_file_atomically(path, content)
    write_file_atomically(
        path.with_name(path.name + ".record.json"),
        json.dumps(record.document(), indent=1, ensure_ascii=False) + "\n",
    )
    return record


def read_record(path: str | Path) -> Record:
    """A written record. One of a newer minor version is read without what it adds.

    Raises IoError, or DataError for a document of another kind or a newer major version.
    """
    file = Path(path)
    try:
        document = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise IoError(f"{file}: cannot read: {error.strerror}") from None
    except ValueError:
        raise DataError(f"{file}: is not a JSON document") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise DataError(f"{file}: is not a {FORMAT}")
    version = re.fullmatch(r"(\d{1,4})\.(\d{1,4})", str(document.get("version")))
    if version is None:
        raise DataError(f"{file}: at $.version: expected a version such as 1.0")
    if version[1] != "1":
        raise DataError(
            f"{file}: at $.version: version {version[0]} is not one that this program reads, "
            "which is 1.x; use a newer program"
        )
    values: dict[str, Any] = {}
    for field in fields(Record):
        value = document.get(field.name)
        wanted = {"str": str, "int": int}.get(str(field.type), dict)
        if not isinstance(value, wanted) or isinstance(value, bool):
            raise DataError(f"{file}: at $.{field.name}: expected {WORDS[wanted]}")
        values[field.name] = value
    unknown = sorted(set(document) - set(values) - {"format", "version"})
    if unknown and version[2] == "0":
        raise DataError(f"{file}: unknown key {unknown[0]!r}")
    return Record(**values)


def read(path: Path) -> pd.DataFrame:
    """A written table as a DataFrame."""
    if path.suffix == ".parquet":
        import pandas as pd

        return pd.read_parquet(path)
    return _frame(path.read_text(encoding="utf-8"))


def _frame(content: str) -> pd.DataFrame:
    import pandas as pd

    head, *rows = csv.reader(io.StringIO(content))
    head = [unguarded(name) for name in head]
    rows = [[unguarded(cell) for cell in row] for row in rows]
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
