"""Runs a study: what is left to do, where, and the table at the end."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from mamelon._core import (
    ArgumentError,
    Case,
    DataError,
    DifferenceWeights,
    TabSet,
    ToothPrior,
    read_case,
    read_tab_set,
)
from mamelon.study import table, workers
from mamelon.study.journal import Journal, Row
from mamelon.study.manifest import Manifest
from mamelon.study.measure import COLUMNS
from mamelon.study.settings import Settings

if TYPE_CHECKING:
    import pandas as pd


def run(
    manifest: str | Path | Manifest | pd.DataFrame,
    *,
    tabs: TabSet | str | Path | Sequence[TabSet | str | Path],
    viewing: str,
    card: str | Path | None = None,
    rows: Literal["summary", "tabs"] = "summary",
    weights: DifferenceWeights | None = None,
    draws: int = 4096,
    seed: int = 1,
    margin_mm: float = 0.4,
    camera_rendering: bool = False,
    like: Case | str | Path | None = None,
    prior: ToothPrior | None = None,
    output: str | Path | None = None,
    resume: bool = True,
    processes: int | None = None,
    client: Any = None,
    progress: bool | None = None,
) -> pd.DataFrame:
    """Measures and matches every item of a manifest; returns the tidy table as a DataFrame.

    `output` (.csv or .parquet) also writes the table, with its journal and record beside it, and
    makes the study resumable: run it again after a kill and only what is missing is done.
    `processes` is the number of worker processes (None: all processors; 1: this one). `client`, a
    dask.distributed client, runs the items on its cluster instead. `progress` shows a tqdm bar
    where tqdm is installed (None: when standard error is a terminal). The table does not depend on
    any of these. Needs pandas.

    `like` is a case, or its file, that every item takes what it does not state from: with the
    restoration of a plan, every tooth is planned for. `prior` is what is known of teeth before one
    is read (None: that of the item's case or of `like`, else `generated_prior`).

    An item that fails is a row with `error_kind` and `error`; a study that is resumed tries it
    again. Raises ArgumentError, DataError or
    IoError when the study itself cannot run.
    """
    items = _manifest(manifest)
    settings = _settings(
        tabs, viewing, card, rows, weights, draws, seed, margin_mm, camera_rendering, like, prior
    )
    if output is not None:
        run_to_file(
            items, settings, output, resume=resume, processes=processes, client=client,
            progress=progress,
        )  # fmt: skip
        return table.read(Path(output))
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "table.csv"
        run_to_file(items, settings, made, processes=processes, client=client, progress=progress)
        return table.read(made)


def run_to_file(
    manifest: str | Path | Manifest,
    settings: Settings,
    output: str | Path,
    *,
    resume: bool = True,
    processes: int | None = None,
    client: Any = None,
    progress: bool | None = None,
    guard: bool = True,
) -> table.Record:
    """The same without pandas for a CSV table; returns the record that stands beside it.

    `guard` puts an apostrophe before cells of a CSV that a spreadsheet would run as a formula.
    """
    items = _manifest(manifest)
    path = Path(output)
    table.check_output(path)
    clash = sorted(set(items.covariates) & set(COLUMNS))
    if clash:
        raise DataError(f"the covariate {clash[0]!r} has the name of a column of the table")
    if processes is not None and processes < 1:
        raise ArgumentError(f"processes must be at least 1, not {processes}")
    keys = [item.key() for item in items.items]
    journal_file = path.with_name(path.name + ".journal")
    with Journal(journal_file, settings.digest(), resume) as journal:
        left = [
            (index, item)
            for index, (item, key) in enumerate(zip(items.items, keys, strict=True))
            if key not in journal.done or table.failed(journal.done[key])
        ]
        for index, rows in _bar(
            _work(left, settings, processes, client), len(keys), left, progress
        ):
            journal.add(keys[index], rows)
        rows_in_order = [row for key in keys for row in journal.done[key]]
    return table.write(path, items, settings, rows_in_order, guard=guard)


def _work(
    left: workers.Numbered, settings: Settings, processes: int | None, client: Any
) -> workers.Done:
    if not left:
        return iter(())
    if client is not None:
        return workers.on_cluster(left, settings, client)
    count = min(processes or os.cpu_count() or 1, len(left))
    if count == 1:
        return workers.here(left, settings)
    return workers.in_processes(left, settings, count)


def _bar(
    done: workers.Done, total: int, left: workers.Numbered, progress: bool | None
) -> Iterable[tuple[int, list[Row]]]:
    shown = sys.stderr.isatty() if progress is None else progress
    if shown:
        try:
            from tqdm import tqdm
        except ImportError:
            return done
        shown_done: Iterable[tuple[int, list[Row]]] = tqdm(
            done, total=total, initial=total - len(left), unit="item"
        )
        return shown_done
    return done


def _manifest(given: Any) -> Manifest:
    if isinstance(given, Manifest):
        return given
    if isinstance(given, (str, Path)):
        return Manifest.read(given)
    if hasattr(given, "itertuples") and hasattr(given, "columns"):
        return Manifest.from_frame(given)
    raise ArgumentError(f"manifest must be a CSV file or a DataFrame, not {type(given).__name__}")


def _settings(
    tabs: Any, viewing: str, card: Any, rows: Any, weights: Any, draws: int, seed: int,
    margin_mm: float, camera_rendering: bool, like: Any,
    prior: ToothPrior | None,
) -> Settings:  # fmt: skip
    several = [tabs] if isinstance(tabs, (TabSet, str, Path)) else list(tabs)
    sets = tuple(read_tab_set(item) if isinstance(item, (str, Path)) else item for item in several)
    return Settings(
        sets, viewing, None if card is None else Path(card), rows, weights or DifferenceWeights(),
        draws, seed, margin_mm, camera_rendering,
        read_case(like) if isinstance(like, (str, Path)) else like, prior,
    )  # fmt: skip
