"""Many photos or readings to one tidy table: parallel, resumable, with a record of how it was made.

A manifest (CSV file or DataFrame) has one item a row: a `photo` with its `card`, or `L,a,b`, or a
reflectance (`curve` file, or columns named by wavelength). Every other column is a covariate and
goes into the table as it is. `run` measures and matches every item and returns a DataFrame;
`run_to_file` writes a CSV or Parquet table, with a journal that makes the study resumable after a
kill and a record of versions, settings and digests beside it. See `Manifest` for the columns.

On the command line: `mamelon study --help`, or `python -m mamelon.study --help`.
"""

from __future__ import annotations

from mamelon.study.engine import run, run_to_file
from mamelon.study.manifest import Item, Manifest
from mamelon.study.settings import Settings
from mamelon.study.table import Record, read_record

__all__ = ["Item", "Manifest", "Record", "Settings", "read_record", "run", "run_to_file"]
