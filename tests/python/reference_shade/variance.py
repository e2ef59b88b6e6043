"""Analysis of variance and Hotelling's T² by statsmodels (BSD-3-Clause) and SciPy.

Vectors that the C++ tests read. An unbalanced crossed study of 6 tabs, 4 days and 3 operators goes
through ordinary least squares with sum coding, coordinate by coordinate: type III sums of squares
of days and operators, the residual's, least-squares means of the tabs and their variance factors.
An unbalanced nested study, 3 operators with days of their own, goes through a sequence of models:
what operators and then days explain, and the traces behind the expected mean squares by NumPy.
Small samples go through ``statsmodels.stats.multivariate.test_mvmean``.

    variance.py tests/data/shade
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.multivariate import test_mvmean

TABS = ["flax", "oat", "straw", "husk", "millet", "malt"]
AXES = ["L", "a", "b"]


def study() -> pd.DataFrame:
    dice = np.random.default_rng(2214)
    day = dice.normal(0, [0.3, 0.1, 0.2], (4, 3))
    hand = dice.normal(0, [0.25, 0.1, 0.2], (3, 3))
    tab = dice.normal([72, 1.5, 17], [4, 1, 3], (6, 3))
    rows = []
    for t in range(6):
        for d in range(4):
            for o in range(3):
                for _ in range(int(dice.integers(0, 4))):
                    lab = tab[t] + day[d] + hand[o] + dice.normal(0, [0.25, 0.12, 0.2])
                    rows.append([TABS[t], f"day {d}", f"operator {o}", *lab])
    return pd.DataFrame(rows, columns=["label", "day", "operator", *AXES])


def analysis(rows: pd.DataFrame) -> list[list[object]]:
    out: list[list[object]] = []
    for axis in AXES:
        fit = smf.ols(f"{axis} ~ C(label) - 1 + C(day, Sum) + C(operator, Sum)", rows).fit()
        full = smf.ols(f"{axis} ~ C(label, Sum) + C(day, Sum) + C(operator, Sum)", rows).fit()
        table = anova_lm(full, typ=3)
        for name, term in [
            ("day", "C(day, Sum)"),
            ("operator", "C(operator, Sum)"),
            ("residual", "Residual"),
        ]:
            out.append([axis, name, table.loc[term, "sum_sq"], table.loc[term, "df"]])
        for tab in TABS:
            key = f"C(label)[{tab}]"
            factor = fit.bse[key] ** 2 / fit.mse_resid
            out.append([axis, tab, fit.params[key], factor])
    return out


def nested_study() -> pd.DataFrame:
    dice = np.random.default_rng(1953)
    tab = dice.normal([72, 1.5, 17], [4, 1, 3], (4, 3))
    rows = []
    for o, days in enumerate((2, 3, 5)):
        hand = dice.normal(0, [0.4, 0.15, 0.3])
        for d in range(days):
            day = dice.normal(0, [0.3, 0.1, 0.2])
            for t in range(4):
                for _ in range(int(dice.integers(1, 4))):
                    lab = tab[t] + day + hand + dice.normal(0, [0.25, 0.12, 0.2])
                    rows.append([TABS[t], f"day {o}.{d}", f"operator {o}", *lab])
    return pd.DataFrame(rows, columns=["label", "day", "operator", *AXES])


def nested_analysis(rows: pd.DataFrame) -> list[list[object]]:
    models = ["C(label)", "C(label) + C(operator)", "C(label) + C(day)"]
    out: list[list[object]] = []
    for axis in AXES:
        table = anova_lm(*[smf.ols(f"{axis} ~ {model}", rows).fit() for model in models])
        out += [
            [axis, name, table["ss_diff"][k], table["df_diff"][k]]
            for k, name in ((1, "operator"), (2, "day"))
        ]

    def beyond(model: str, factor: str) -> float:
        x = smf.ols(f"L ~ {model}", rows).exog
        z = pd.get_dummies(rows[factor]).to_numpy(float)
        return float(np.trace(z.T @ (z - x @ np.linalg.pinv(x) @ z)))

    day_beyond_operator = beyond(models[1], "day")
    out.append(["k", "day", day_beyond_operator, ""])
    out.append(["k", "operator", beyond(models[0], "operator"), ""])
    out.append(["k", "day in operator", beyond(models[0], "day") - day_beyond_operator, ""])
    return out


def hotelling() -> list[list[float]]:
    dice = np.random.default_rng(3)
    out = []
    for count in (6, 10, 25, 80):
        sample = dice.multivariate_normal(
            [0.2, -0.1, 0.15], [[0.09, 0.02, 0], [0.02, 0.03, 0.01], [0, 0.01, 0.06]], count
        )
        test = test_mvmean(sample, np.zeros(3))
        mean = sample.mean(axis=0)
        cov = np.cov(sample.T) / count
        out.append([count, *mean, *cov[np.triu_indices(3)], test.t2, test.pvalue])
    return out


def main() -> None:
    folder = Path(sys.argv[1])
    rows = study()
    rows.to_csv(folder / "anova_rows.csv", index=False)
    with (folder / "anova_expected.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["axis", "term", "value", "df_or_factor"])
        writer.writerows(analysis(rows))
    rows = nested_study()
    rows.to_csv(folder / "nested_rows.csv", index=False)
    with (folder / "nested_expected.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["axis", "term", "value", "df"])
        writer.writerows(nested_analysis(rows))
    with (folder / "hotelling.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["n", "L", "a", "b", "LL", "La", "Lb", "aa", "ab", "bb", "t2", "p"])
        writer.writerows(hotelling())


if __name__ == "__main__":
    main()
