"""Change over visits across persons: a linear mixed model, by statsmodels.

Teeth of one person change together, and visits of one tooth hang together; taken as independent
they would show more than there is. So persons, and teeth within persons, have random intercepts.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

from mamelon._core import ArgumentError, ModelError
from mamelon.agreement import Interval


@dataclass(frozen=True)
class VisitEffect:
    """Mean change at one visit against the first, with its interval; `p_value` of none."""

    visit: str
    change: Interval
    p_value: float


@dataclass(frozen=True)
class MixedModel:
    """Effects of the visits, and the standard deviations between persons, teeth and within."""

    effects: tuple[VisitEffect, ...]
    person_sd: float
    tooth_sd: float
    residual_sd: float
    persons: int
    rows: int


def change_over_visits(
    table: Any, value: str, *, person: str = "person", tooth: str = "tooth", visit: str = "visit",
    confidence: float = 0.95,
) -> MixedModel:  # fmt: skip
    """Fits `value` on the visits with random intercepts of persons and of teeth within them.

    `table` is a DataFrame with one row a tooth and visit; the first visit in the order of their
    names is what the others are compared with. Restricted maximum likelihood by
    `statsmodels.MixedLM`. Raises ArgumentError for missing columns, fewer than three persons or
    fewer than two visits, ModelError where the fit does not converge.
    """
    import statsmodels.formula.api as formulas
    from statsmodels.tools.sm_exceptions import ConvergenceWarning

    for name in (value, person, tooth, visit):
        if name not in table.columns:
            raise ArgumentError(f"the table has no column {name!r}")
    rows = table[[value, person, tooth, visit]].dropna().astype({visit: str})
    visits = sorted(rows[visit].unique())
    persons = rows[person].nunique()
    if persons < 3 or len(visits) < 2:
        raise ArgumentError(
            f"a model over persons needs three persons and two visits, not {persons} and "
            f"{len(visits)}"
        )
    rows.columns = ["value", "person", "tooth", "visit"]
    with warnings.catch_warnings():
        # A variance of zero, as teeth without one of their own have, is said by its value.
        warnings.simplefilter("ignore", ConvergenceWarning)
        warnings.simplefilter("ignore", RuntimeWarning)
        found = formulas.mixedlm(
            "value ~ C(visit)", rows, groups="person", vc_formula={"tooth": "0 + C(tooth)"},
            re_formula="1",
        ).fit(reml=True)  # fmt: skip
    if not found.converged:
        raise ModelError("the mixed model does not converge on this table")
    limits = found.conf_int(1 - confidence)
    effects = []
    for name in visits[1:]:
        key = f"C(visit)[T.{name}]"
        low, high = (float(x) for x in limits.loc[key])
        change = Interval(float(found.fe_params[key]), low, high)
        effects.append(VisitEffect(name, change, float(found.pvalues[key])))
    return MixedModel(
        tuple(effects),
        float(found.cov_re.iloc[0, 0] ** 0.5),
        float(found.vcomp[0] ** 0.5),
        float(found.scale**0.5),
        int(persons),
        len(rows),
    )
