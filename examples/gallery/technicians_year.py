"""A technician's year with a tab set
==================================

Measure the set, find the spoilt reading, see which teeth no tab meets, and a year later ask whether
the tabs or the instrument have drifted. The readings are simulated around invented tabs.
"""

# %%
# Three readings of each tab on three days. One of them is a slip: the wrong tab was under the tip.
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import mamelon as mm
from mamelon import plot

data = Path("data") if Path("data/tabs").is_dir() else Path("../../data")
invented = mm.read_tab_set(data / "tabs/orchard16.json")
rng = np.random.default_rng(6)


def measured(days, change=None):
    """Repeat readings of every tab, `change` the shift of some."""
    rows = []
    for day in days:
        shift = rng.normal(0, [0.15, 0.05, 0.1])
        for tab in invented.tabs:
            own = np.asarray((change or {}).get(tab.name, [0, 0, 0]))
            for _ in range(3):
                lab = np.asarray(tab.lab.value) + own + shift + rng.normal(0, [0.2, 0.08, 0.15])
                reading = mm.Reading(tab.name, mm.Measured(lab), invented.viewing)
                rows.append(mm.RepeatReading(reading, day=day, row=len(rows) + 2))
    return rows


rows = measured(["2026-03-02", "2026-03-03", "2026-03-04"])
slip = mm.Reading(invented.names[0], mm.Measured([60, 5, 30]), invented.viewing)
rows.append(mm.RepeatReading(slip, day="2026-03-04", row=len(rows) + 2))

# %%
# The calibration sets the slip aside and says why, and tells how far repeat and day move a reading.
calibration = mm.calibrate(rows, name="bench")
for reading in calibration.set_aside:
    print(f"row {reading.row}, {reading.tab}: {reading.reason}")
for part in calibration.parts:
    print(f"{part.source}: sd ΔE00 {part.sd_de00:.2f}")

# %%
# What can this set match? Each point of the curve is a share of teeth whose nearest tab lies within
# that ΔE00. The teeth are generated and stand in for your patients': bring your own readings.
teeth = mm.generated_population("D65/2", count=400)
coverage = mm.audit(calibration.tabs, teeth).coverage
print(f"coverage error {coverage.error_de00:.2f} ({coverage.low:.2f} to {coverage.high:.2f})")
fig, ax = plt.subplots(figsize=(6, 3.6), layout="constrained")
plot.coverage_curve(teeth.teeth, calibration.tabs, ax=ax)
plt.show()

# %%
# A year later two tabs have yellowed. The chart names them; the rest stays within what readings do.
yellowed = {"linen": [-0.6, 0.2, 1.8], invented.names[5]: [-0.4, 0.1, 1.5]}
later = mm.calibrate(measured(["2027-03-01", "2027-03-02", "2027-03-03"], yellowed), name="bench")
drift = mm.drift(calibration.tabs, later.tabs)
print(drift.note)
fig, ax = plt.subplots(figsize=(6, 4.4), layout="constrained")
plot.drift_chart(drift, ax=ax)
plt.show()
