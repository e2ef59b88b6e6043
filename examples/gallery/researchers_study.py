"""A researcher's study with figures
=================================

Two instruments read the same teeth: do they agree, and do they pick the same tab? The readings are
simulated; the second instrument has a bias that the study should find.
"""

# %%
# A manifest is a table, one item a row; every further column goes into the result as it is.
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import mamelon as mm
from mamelon import agreement, plot, study

data = Path("data") if Path("data/tabs").is_dir() else Path("../../data")
tabs = mm.read_tab_set(data / "tabs/orchard16.json")
rng = np.random.default_rng(4)
true = np.asarray(mm.generated_population("D65/2", count=120).teeth)
parts = []
for instrument, bias in (("first", (0, 0, 0)), ("second", (0.6, -0.2, 0.3))):
    labs = pd.DataFrame(
        true + bias + rng.normal(0, [0.4, 0.15, 0.3], true.shape), columns=list("Lab")
    )
    labs.insert(0, "item", [f"{instrument} {number:03}" for number in range(len(labs))])
    labs.insert(1, "instrument", instrument)
    parts.append(labs.assign(sd_L=0.4, sd_a=0.15, sd_b=0.3))
manifest = pd.concat(parts, ignore_index=True)
manifest.head(3).round(2)

# %%
# `run` measures and matches every item, in parallel; `run_to_file` does so resumably, with a record
# of versions, settings and digests beside the table.
table = study.run(manifest, tabs=tabs, viewing="D65/2", processes=1)
first, second = (table[table.instrument == name] for name in ("first", "second"))
table.groupby("instrument")["de00"].describe().round(2)

# %%
# Do they pick the same tab?
same = agreement.exact_tab_agreement(first.tab.tolist(), second.tab.tolist())
print(f"same tab: {same.exact.estimate:.0%} ({same.exact.low:.0%} to {same.exact.high:.0%})")

# %%
# Bland–Altman plots by axis: the bias of each, and the limits within which 95 % of pairs lie.
fig, axes = plt.subplots(1, 3, figsize=(10, 3.2), layout="constrained")
pairs = [part[["L", "a", "b"]].to_numpy() for part in (first, second)]
plot.bland_altman_axes(*pairs, axes=axes)
for axis in agreement.bland_altman(*pairs):
    print(f"{axis.axis}: bias {axis.bias.estimate:+.2f}")
plt.show()

# %%
# Where the teeth lie among the tabs, with ellipses of a just visible and an acceptable difference.
fig, ax = plt.subplots(figsize=(6, 4.6), layout="constrained")
plot.colour_plane(tabs, "ab", ax=ax)
ax.plot(first.a, first.b, ".", color="0.4", markersize=3)
plt.show()
