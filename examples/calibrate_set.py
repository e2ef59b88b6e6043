"""Calibrate a tab set from repeat readings and hold it against a sample of teeth.

`python examples/calibrate_set.py [SET.json]`. Readings are simulated around the invented tabs.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

import mamelon as mm

DATA = Path(__file__).resolve().parent.parent / "data"


def invented_repeats(tabs: mm.TabSet) -> list[mm.RepeatReading]:
    """Three readings of each tab on three days, one of them spoilt."""
    rng = np.random.default_rng(6)
    rows: list[mm.RepeatReading] = []
    for day in ("2026-03-02", "2026-03-03", "2026-03-04"):
        shift = rng.normal(0, [0.15, 0.05, 0.1])
        for tab in tabs.tabs:
            for _ in range(3):
                lab = np.asarray(tab.lab.value) + shift + rng.normal(0, [0.2, 0.08, 0.15])
                reading = mm.Reading(tab.name, mm.Measured(lab.tolist()), tabs.viewing)
                rows.append(mm.RepeatReading(reading, day=day, row=len(rows) + 2))
    slip = mm.Reading(tabs.names[0], mm.Measured([60, 5, 30]), tabs.viewing)
    return [*rows, mm.RepeatReading(slip, day="2026-03-04", row=len(rows) + 2)]


def main(output: Path) -> mm.Calibration:
    """Prints the calibration and the audit; writes the set."""
    invented = mm.read_tab_set(DATA / "tabs/orchard16.json")
    calibration = mm.calibrate(invented_repeats(invented), name="own tabs")
    for reading in calibration.set_aside:
        print(f"row {reading.row}, {reading.tab}: set aside: {reading.reason}")
    for part in calibration.parts:
        print(f"{part.source}: sd ΔE00 {part.sd_de00:.2f}")
    teeth = mm.generated_population(invented.viewing)
    audit = mm.audit(calibration.tabs, teeth)
    coverage = audit.coverage
    print(f"coverage error {coverage.error_de00:.2f} ({coverage.low:.2f}–{coverage.high:.2f})")
    for gap in audit.gaps:
        print(f"no tab near {gap.centre}: would serve {gap.share:.1%} more teeth")
    mm.write_file_atomically(output, mm.to_json(calibration.tabs))
    print(f"The set is {output}")
    return calibration


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "own_tabs.json"))
