"""Agreement statistics in terms of ΔE00.

What general packages already do (ICC, kappa, mixed models) is not here: take pingouin, statsmodels
or scipy. Thresholds of perception stand in `mamelon.judgement`. Needs SciPy. Every interval is a
bootstrap with a stated seed: same input, same numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mamelon._core import ArgumentError, DifferenceWeights, Match, de00

__all__ = [
    "AxisAgreement",
    "Interval",
    "TabAgreement",
    "bland_altman",
    "coverage_error_interval",
    "exact_tab_agreement",
    "mcdm_interval",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Interval:
    """An estimate and its confidence interval.

    >>> Interval(1.0, 0.8, 1.3).high
    1.3
    """

    estimate: float
    low: float
    high: float


def colours(values: ArrayLike, name: str, at_least: int = 1) -> Floats:
    """CIELAB rows (n, 3), all finite; ArgumentError names what is wrong."""
    try:
        rows = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ArgumentError(f"{name} must be numbers of shape (n, 3)") from None
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise ArgumentError(f"{name} must have shape (n, 3), not {rows.shape}")
    if len(rows) < at_least:
        raise ArgumentError(f"{name} must have at least {at_least} rows, not {len(rows)}")
    if not np.isfinite(rows).all():
        row = int(np.flatnonzero(~np.isfinite(rows).all(axis=1))[0])
        raise ArgumentError(f"{name}: row {row} is not finite")
    return rows


def check_level(confidence: float, bootstrap: int) -> None:
    """ArgumentError unless the confidence lies within 0.5–0.999 and there are enough draws."""
    if not 0.5 <= confidence <= 0.999:
        raise ArgumentError(f"confidence must lie within 0.5–0.999, not {confidence}")
    if bootstrap < 100:
        raise ArgumentError(f"bootstrap must be at least 100 draws, not {bootstrap}")


def mcdm_interval(
    readings: ArrayLike,
    *,
    weights: DifferenceWeights | None = None,
    confidence: float = 0.95,
    bootstrap: int = 2000,
    seed: int = 1,
) -> Interval:
    """Mean colour difference from the mean (ASTM E2214) of repeats (n, 3), with its interval.

    In CIEDE2000. The interval is the BCa bootstrap (Efron 1987, J Am Stat Assoc 82:171–185) over
    the repeats; n is at least 3. Raises ArgumentError for a wrong shape or too few rows.

    >>> rows = [[70, 1, 15], [70.4, 1, 15.2], [69.7, 1.2, 15], [70.1, 0.9, 14.7]]
    >>> interval = mcdm_interval(rows)
    >>> interval.low < interval.estimate < interval.high
    True
    """
    from scipy import stats

    check_level(confidence, bootstrap)
    rows = colours(readings, "readings", at_least=3)
    factors = weights or DifferenceWeights()

    def statistic(index: NDArray[np.intp], axis: int = -1) -> Floats:
        chosen = rows[np.moveaxis(index, axis, -1)]
        mean = chosen.mean(axis=-2, keepdims=True)
        apart = np.asarray(de00(mean, chosen, factors), dtype=np.float64)
        return np.asarray(apart.mean(axis=-1))

    estimate = float(statistic(np.arange(len(rows))))
    if np.ptp(rows, axis=0).max() == 0:
        return Interval(0.0, 0.0, 0.0)
    found = stats.bootstrap(
        (np.arange(len(rows)),),
        statistic,
        vectorized=True,
        n_resamples=bootstrap,
        confidence_level=confidence,
        method="BCa",
        rng=np.random.default_rng(seed),
    ).confidence_interval
    return Interval(estimate, float(found.low), float(found.high))


def coverage_error_interval(
    teeth: ArrayLike,
    tabs: ArrayLike,
    *,
    weights: DifferenceWeights | None = None,
    confidence: float = 0.95,
    bootstrap: int = 2000,
    seed: int = 1,
) -> Interval:
    """Coverage error of `tabs` (m, 3) over `teeth` (n, 3) with its interval over the teeth.

    The mean over teeth of the least CIEDE2000 to any tab; percentile bootstrap over the teeth.
    Raises ArgumentError for a wrong shape or fewer than 2 teeth.

    >>> coverage_error_interval([[70, 1, 15], [60, 1, 15]], [[70, 1, 15]]).low
    0.0
    """
    check_level(confidence, bootstrap)
    sample = colours(teeth, "teeth", at_least=2)
    nearest = nearest_de00(sample, colours(tabs, "tabs"), weights or DifferenceWeights())
    rng = np.random.default_rng(seed)
    means = np.array(
        [nearest[rng.integers(0, len(nearest), len(nearest))].mean() for _ in range(bootstrap)]
    )
    low, high = np.quantile(means, [(1 - confidence) / 2, (1 + confidence) / 2])
    return Interval(float(nearest.mean()), float(low), float(high))


def nearest_de00(teeth: Floats, tabs: Floats, weights: DifferenceWeights) -> Floats:
    """ΔE00 of each tooth to its nearest tab, in slices that keep memory small."""
    slices = np.array_split(teeth, max(1, len(teeth) * len(tabs) // 1_000_000))
    return np.concatenate([de00(part[:, None], tabs[None], weights).min(axis=1) for part in slices])


@dataclass(frozen=True)
class TabAgreement:
    """How often two rankings of the same things pick the same tab.

    `exact` counts equal first picks. `tied` also counts picks that cannot be told apart: those
    where either first pick is among the other's indistinguishable tabs; None without matches.

    >>> TabAgreement(4, Interval(0.5, 0.15, 0.85), None).n
    4
    """

    n: int
    exact: Interval
    tied: Interval | None


def _share(agreed: int, n: int, confidence: float) -> Interval:
    """A share with its score interval (Wilson 1927, J Am Stat Assoc 22:209–212)."""
    from scipy import stats

    found = stats.binomtest(agreed, n).proportion_ci(confidence, method="wilson")
    return Interval(agreed / n, float(found.low), float(found.high))


def exact_tab_agreement(
    first: Sequence[str] | Sequence[Match],
    second: Sequence[str] | Sequence[Match],
    *,
    confidence: float = 0.95,
) -> TabAgreement:
    """Share of things for which two observers, instruments or days pick the same tab.

    Given names, only exact agreement is known; given matches, also agreement that counts tabs
    which cannot be told apart as the same. Raises ArgumentError for unequal lengths or no items.

    >>> exact_tab_agreement(["oat", "flax"], ["oat", "birch"]).exact.estimate
    0.5
    """
    check_level(confidence, 100)
    if len(first) != len(second) or not first:
        raise ArgumentError(
            f"first and second must have equal lengths above 0, not {len(first)} and {len(second)}"
        )

    def pick(item: str | Match) -> str:
        return item.best.tab if isinstance(item, Match) else item

    pairs: list[tuple[str | Match, str | Match]] = list(zip(first, second, strict=True))
    exact = sum(pick(a) == pick(b) for a, b in pairs)
    tied = None
    if all(isinstance(item, Match) for pair in pairs for item in pair):
        agreed = sum(
            pick(a) == pick(b) or pick(a) in b.indistinguishable or pick(b) in a.indistinguishable
            for a, b in pairs
            if isinstance(a, Match) and isinstance(b, Match)
        )
        tied = _share(agreed, len(pairs), confidence)
    return TabAgreement(len(pairs), _share(exact, len(pairs), confidence), tied)


@dataclass(frozen=True)
class AxisAgreement:
    """Limits of agreement of two instruments on one axis.

    `bias` is the mean of second minus first; 95 % of differences lie between `lower` and `upper`.

    >>> AxisAgreement("L*", Interval(0, -1, 1), 0.5, Interval(-1, -2, 0), Interval(1, 0, 2)).axis
    'L*'
    """

    axis: str
    bias: Interval
    sd: float
    lower: Interval
    upper: Interval


def bland_altman(
    first: ArrayLike, second: ArrayLike, *, confidence: float = 0.95
) -> tuple[AxisAgreement, ...]:
    """Bias and 95 % limits of agreement on L*, a* and b* of paired readings (n, 3).

    Bland and Altman 1999, Stat Methods Med Res 8:135–160; the intervals of the limits use the
    variance given there in section 3.1. n is at least 3. Raises ArgumentError for unequal shapes.

    >>> first = [[70, 1, 15], [66, 2, 18], [74, 0, 12]]
    >>> second = [[71, 1, 15], [67, 2, 18], [75, 0, 12]]
    >>> [axis.bias.estimate for axis in bland_altman(first, second)]
    [1.0, 0.0, 0.0]
    """
    from scipy import stats

    check_level(confidence, 100)
    a = colours(first, "first", at_least=3)
    b = colours(second, "second", at_least=3)
    if len(a) != len(b):
        raise ArgumentError(f"first and second must be pairs, not {len(a)} and {len(b)} rows")
    n = len(a)
    t = float(stats.t.ppf((1 + confidence) / 2, n - 1))
    z = float(stats.norm.ppf(0.975))
    result = []
    for axis, difference in zip(("L*", "a*", "b*"), (b - a).T, strict=True):
        mean, sd = float(difference.mean()), float(difference.std(ddof=1))
        of_mean = t * sd / np.sqrt(n)
        of_limit = t * sd * np.sqrt(1 / n + z**2 / (2 * (n - 1)))

        def around(value: float, half: float) -> Interval:
            return Interval(value, float(value - half), float(value + half))

        result.append(
            AxisAgreement(
                axis,
                around(mean, of_mean),
                sd,
                around(mean - z * sd, of_limit),
                around(mean + z * sd, of_limit),
            )
        )
    return tuple(result)
