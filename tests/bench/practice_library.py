"""Time to list, query and learn from a practice of many cases, on one core.

    PYTHONPATH=<build>/python:tests/python/practice python tests/bench/practice_library.py 100000

The cases stand in the index alone: their files are not read for any of this. Medians of five runs,
in seconds of the clock and of the processor, a new connection each time.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import made
import numpy as np

from mamelon.practice import learning
from mamelon.practice.library import Library


def fill(folder: Path, count: int) -> None:
    """Indexes `count` cases with an outcome each, of 6 pastes in 10 lots and 6 operators."""
    rng = np.random.default_rng(1)
    rows = made.rows(count)
    with Library(folder, create=True) as practice:
        data = practice._data
        data.execute("BEGIN")
        pastes = [[practice._number("paste", f"paste{p}", str(lot)) for lot in range(10)]
                  for p in range(6)]  # fmt: skip
        operators = [practice._number("operator", f"operator{i}") for i in range(6)]
        device = practice._number("device", made.CAMERA)
        for i in range(count):
            packed = np.concatenate(
                [
                    rows.residual[i], rows.noise[i].ravel(), rows.unit[i].ravel(), np.zeros(9),
                    rows.by_paste[i].ravel(), rows.by_thickness[i].ravel(),
                ]
            )  # fmt: skip
            lot = rng.integers(0, 10, 2)
            date = f"{2020 + i % 6}-{1 + i % 12:02d}-{1 + i % 28:02d}"
            data.execute(
                "INSERT INTO kept VALUES (?, ?, ?, 21, ?, ?, ?, 'D65/2', ?, 1, ?, 1.2)",
                (f"c{i}", f"d{i}", f"P{i // 4}", date, f"operator{i % 6}", made.CAMERA, date, date),
            )
            data.execute(
                "INSERT INTO outcome VALUES (?, 0, ?, ?, ?, ?, ?, -1, ?)",
                (
                    f"c{i}", date, operators[i % 6], device, pastes[rows.paste[i, 0]][lot[0]],
                    pastes[rows.paste[i, 1]][lot[1]], packed.tobytes(),
                ),
            )  # fmt: skip
        data.execute("COMMIT")


def timed(name: str, work: Callable[[Library], object], folder: Path) -> None:
    clock, processor = [], []
    for _ in range(5):
        start = time.perf_counter(), time.process_time()
        with Library(folder) as practice:
            work(practice)
        clock.append(time.perf_counter() - start[0])
        processor.append(time.process_time() - start[1])
    print(f"{name}: {statistics.median(clock):.3f} s, {statistics.median(processor):.3f} s of CPU")


def main() -> int:
    count = int(sys.argv[1])
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        fill(folder, count)
        timed("list the latest 50", lambda p: p.cases(limit=50), folder)
        timed("list all", lambda p: p.cases(), folder)
        timed("one person's", lambda p: p.cases("P77"), folder)
        timed("read all outcomes", lambda p: p.rows(), folder)
        rows = Library(folder).rows()
        timed("learn from them", lambda _: learning.learn(rows), folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
