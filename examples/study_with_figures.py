"""A shade study from manifest to figures, with invented readings of two invented instruments.

`python examples/study_with_figures.py [FOLDER]`. Needs pandas, matplotlib, scipy; statsmodels for
the mixed model if it is installed. Interrupt it and run it again: it goes on where it was.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import mamelon as mm
from mamelon import agreement, judgement, plot, study

DATA = Path(__file__).resolve().parent.parent / "data"


def invented_manifest(teeth: int) -> pd.DataFrame:
    """Readings of `teeth` teeth by two instruments, the second with a bias."""
    rng = np.random.default_rng(4)
    true = np.array(mm.generated_population("D65/2", count=teeth).teeth)
    rows = []
    for instrument, bias in (("first", (0, 0, 0)), ("second", (0.6, -0.2, 0.3))):
        labs = true + bias + rng.normal(0, [0.4, 0.15, 0.3], true.shape)
        for number, lab in enumerate(labs):
            name = f"{instrument} {number:04}"
            rows.append([name, instrument, number, *lab.round(2), 0.4, 0.15, 0.3])
    columns = ["item", "instrument", "pair", "L", "a", "b", "sd_L", "sd_a", "sd_b"]
    return pd.DataFrame(rows, columns=columns)


def main(folder: Path, teeth: int = 200) -> pd.DataFrame:
    """Runs the study in `folder` and draws its figures."""
    mpl.use("Agg")
    folder.mkdir(parents=True, exist_ok=True)
    tabs = mm.read_tab_set(DATA / "tabs/orchard16.json")
    table = study.run(
        invented_manifest(teeth), tabs=tabs, viewing="D65/2", output=folder / "table.csv"
    )
    first, second = (
        table[table.instrument == name].sort_values("pair") for name in ("first", "second")
    )
    print(table.groupby("instrument")["de00"].describe().round(2))
    same = agreement.exact_tab_agreement(first.tab.tolist(), second.tab.tolist())
    print(f"same tab: {same.exact.estimate:.0%} ({same.exact.low:.0%}–{same.exact.high:.0%})")
    labs = [part[["L", "a", "b"]].to_numpy() for part in (first, second)]
    for axis in agreement.bland_altman(*labs):
        limits = f"{axis.lower.estimate:.2f} to {axis.upper.estimate:.2f}"
        print(f"{axis.axis}: bias {axis.bias.estimate:.2f}, limits of agreement {limits}")
    coverage = agreement.coverage_error_interval(labs[0], tabs.labs)
    print(f"coverage error {coverage.estimate:.2f} ({coverage.low:.2f}–{coverage.high:.2f})")
    print(f"perceptibility of invented observers: ΔE00 {invented_threshold():.2f}")
    mixed_model(table)
    plot.bland_altman_axes(*labs)
    plt.savefig(folder / "bland_altman.png", dpi=150)
    plot.coverage_curve(labs[0], tabs)
    plt.savefig(folder / "coverage.png", dpi=150)
    plot.colour_plane(tabs, "lc")
    plt.savefig(folder / "tabs_lc.png", dpi=150)
    return table


def invented_threshold() -> float:
    """Threshold fitted to simulated judgements with a true value of 0.8."""
    rng = np.random.default_rng(5)
    seen = rng.uniform(0.1, 2.5, 600)
    yes = rng.random(600) < 1 / (1 + np.exp(-4 * (seen - 0.8)))
    return judgement.fit_threshold(seen, yes, bootstrap=500).threshold.estimate


def mixed_model(table: pd.DataFrame) -> None:
    """Lightness by instrument with a random tooth: statsmodels does this, not mamelon."""
    if importlib.util.find_spec("statsmodels") is None:
        return
    import statsmodels.formula.api as smf

    model = smf.mixedlm("L ~ instrument", table, groups=table["pair"]).fit()
    print(model.params.round(2).to_dict())


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "study_demo"))
