"""The practice's cases as one table: a row an outcome, or a case without one.

Anonymised, a row has no name, note, photo or date that could be traced: cases, persons, operators
and devices are numbered anew, and days are counted from the person's first entry.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from mamelon._core import ArgumentError, IoError, de00, sha256_hex, write_file_atomically
from mamelon.practice.document import Outcome, Record
from mamelon.study.table import guarded

COLUMNS = (
    "case", "person", "tooth", "operator", "device", "light", "planned", "zone", "pastes", "lots",
    "thickness_mm", "learnt", "target_L", "target_a", "target_b", "stated_L", "stated_a",
    "stated_b", "stated_sd_L", "stated_sd_a", "stated_sd_b", "outcome", "stage", "wet", "cured",
    "outcome_device", "L", "a", "b", "de00_target", "de00_stated",
)  # fmt: skip
Row = dict[str, str]


def _number(value: float) -> str:
    return f"{value:.6g}"


def _row(record: Record, outcome: Outcome | None) -> Row:
    row = dict.fromkeys(COLUMNS, "")
    row.update(
        case=record.id, person=record.person, tooth=str(record.tooth), operator=record.operator
    )
    plan = record.plan
    if plan is None:
        return row
    row.update(
        device=plan.target.device,
        light=plan.target.light,
        planned=plan.date,
        zone=plan.zone,
        pastes=" + ".join(layer.paste for layer in plan.layers),
        lots=" + ".join(layer.lot for layer in plan.layers),
        thickness_mm=" + ".join(_number(layer.thickness_mm) for layer in plan.layers),
        learnt=str(int(plan.learnt)),
    )
    sd = np.sqrt(np.diag(np.array(plan.stated.covariance)))
    for axis, name in enumerate("Lab"):
        row[f"target_{name}"] = _number(plan.target.lab[axis])
        row[f"stated_{name}"] = _number(plan.stated.lab[axis])
        row[f"stated_sd_{name}"] = _number(float(sd[axis]))
    if outcome is None:
        return row
    row.update(
        outcome=outcome.date,
        stage=outcome.stage,
        wet=str(int(outcome.wet)),
        cured=str(int(outcome.cured)),
        outcome_device=outcome.seen.device,
        de00_target=_number(float(de00(plan.target.lab, outcome.seen.lab))),
        de00_stated=_number(float(de00(plan.stated.lab, outcome.seen.lab))),
    )
    for axis, name in enumerate("Lab"):
        row[name] = _number(outcome.seen.lab[axis])
    return row


def rows_of(records: Iterable[Record], *, anonymised: bool = False) -> list[Row]:
    """All rows, by case; anonymised in an order that says nothing of when they were entered."""
    found = list(records)
    if not anonymised:
        return [row for one in found for row in _rows(one)]
    found.sort(key=lambda one: sha256_hex(one.id.encode()))
    first: dict[str, datetime.date] = {}
    for one in found:
        entered = datetime.date.fromisoformat(one.entered)
        first[one.person] = min(first.get(one.person, entered), entered)
    known: dict[tuple[str, str], str] = {}

    def numbered(kind: str, name: str) -> str:
        if not name:
            return ""
        count = sum(1 for other, _ in known if other == kind)
        return known.setdefault((kind, name), f"{kind}{count + 1:04d}")

    rows = []
    for one in found:
        for row in _rows(one):
            start = first[one.person]
            row["case"] = numbered("C", row["case"])
            row["person"] = numbered("P", row["person"])
            row["operator"] = numbered("O", row["operator"])
            for name in ("device", "outcome_device"):
                row[name] = numbered("D", row[name])
            for name in ("planned", "outcome"):
                if row[name]:
                    days = (datetime.date.fromisoformat(row[name]) - start).days
                    row[name] = str(days)
            rows.append(row)
    return rows


def _rows(record: Record) -> list[Row]:
    return [_row(record, outcome) for outcome in record.outcomes or (None,)]


def write_table(path: str | Path, rows: list[Row], *, guard: bool = True) -> None:
    """Writes .csv, or .parquet (which needs pandas and PyArrow), whole or not at all.

    `guard` puts an apostrophe before cells that a spreadsheet would run. Raises ArgumentError for
    another ending.
    """
    file = Path(path)
    if file.suffix == ".csv":
        stream = io.StringIO()
        table = csv.writer(stream, lineterminator="\n")
        table.writerow(COLUMNS)
        for row in rows:
            table.writerow([guarded(row[name]) if guard else row[name] for name in COLUMNS])
        write_file_atomically(str(file), stream.getvalue())
        return
    if file.suffix != ".parquet":
        raise ArgumentError(f"{file}: the table is written as .csv or .parquet")
    try:
        import pandas as pd

        frame = pd.DataFrame(rows, columns=list(COLUMNS))
        buffer = io.BytesIO()
        frame.to_parquet(buffer, index=False)
    except ImportError as error:
        raise IoError(f"{file}: Parquet needs pandas and pyarrow ({error})") from None
    write_file_atomically(str(file), buffer.getvalue())
