"""A study of photos from manifest to table on one process and on two: time and peak memory.

    python tests/bench/study_photos.py [photos]

Every item is the demo photo under a name of its own, so that each is decoded and measured anew.
"""

from __future__ import annotations

import csv
import os
import resource
import shutil
import sys
import tempfile
import time
from pathlib import Path

import mamelon as mm
from mamelon import study

DATA = Path(__file__).resolve().parents[2] / "data"


def main() -> None:
    """Run the study on one and on two processes; the tables must be the same bytes."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    # One thread a process, or two processes would share what one alone had to itself.
    os.environ["MAMELON_THREADS"] = "1"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copy(DATA / "photos/front_teeth.jpg", folder / "photo.jpg")
        with (folder / "manifest.csv").open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(["item", "photo", "card"])
            for number in range(count):
                os.link(folder / "photo.jpg", folder / f"{number:04}.jpg")
                card = DATA / "cards/tooth20_frame.json"
                writer.writerow([f"p{number:04}", folder / f"{number:04}.jpg", card])
        settings = study.Settings((mm.read_tab_set(DATA / "tabs/orchard16.json"),), "D65/2")
        tables = []
        for processes in (1, 2):
            output = folder / f"table{processes}.csv"
            start = time.perf_counter()
            study.run_to_file(folder / "manifest.csv", settings, output, processes=processes)
            seconds = time.perf_counter() - start
            own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{count} photos, {processes} process(es): {seconds:.1f} s, "
                f"{seconds / count * 1000:.0f} ms a photo; peak memory here {own:.0f} MiB"
            )
            tables.append(output.read_bytes())
        if tables[0] != tables[1]:
            sys.exit("the tables differ")


if __name__ == "__main__":
    main()
