"""Agreement statistics in terms of ΔE00.

What general packages already do (ICC, kappa, mixed models) is not here: take pingouin, statsmodels
or scipy. Thresholds of perception stand in `mamelon.judgement`. Needs SciPy. What is simulated has
a stated seed: same input, same numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mamelon._core import ArgumentError, DifferenceWeights, Match, de00

__all__ = [
    "AxisAgreement",
    "Equivalence",
    "Interval",
    "ProportionalBias",
    "TabAgreement",
    "bland_altman",
    "coverage_error_interval",
    "equivalence",
    "equivalence_power",
    "exact_tab_agreement",
    "mcdm_interval",
    "pairs_for_bias",
    "pairs_for_equivalence",
    "pairs_for_limits",
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

    In CIEDE2000. The estimate is the repeats' own; the interval is that of the mean difference from
    the true mean in the long run, which is about √(n / (n − 1)) times as large, because each repeat
    pulls their mean towards itself. It holds for normal repeats: its width is that of the posterior
    of their covariance (`bootstrap` draws), under an inverse Wishart prior on 3 degrees of freedom
    about a sphere in ΔE00 of any size (Gelman et al. 2013, Bayesian Data Analysis, 3.6), so that
    repeats which scatter along one line are allowed for as long as they are few. That posterior
    puts the size too high, the more so the rounder the scatter; its middle is moved up to halfway,
    the farther the more repeats there are, to that of the sum of squares as a multiple of χ²
    (Satterthwaite 1946, Biometrics Bull 2:110), and each tail holds a share 0.7 / n more than the
    confidence says. n is at least 3. Raises ArgumentError for a wrong shape or too few rows.

    >>> rows = [[70, 1, 15], [70.4, 1, 15.2], [69.7, 1.2, 15], [70.1, 0.9, 14.7]]
    >>> interval = mcdm_interval(rows)
    >>> interval.low < interval.estimate < interval.high
    True
    """
    check_level(confidence, bootstrap)
    rows = colours(readings, "readings", at_least=3)
    factors = weights or DifferenceWeights()
    if np.ptp(rows, axis=0).max() == 0:
        return Interval(0.0, 0.0, 0.0)
    centre = rows.mean(axis=0)
    own = float(np.asarray(de00(centre, rows, factors)).mean())
    root = np.linalg.cholesky(_metric(centre, factors))
    rng = np.random.default_rng(seed)
    residuals = (rows - centre) @ root
    axes = _axes_of_covariance(residuals, bootstrap, rng)
    lengths = _mean_length(axes)
    dof = len(rows) - 1
    shapes = axes / axes.sum(axis=1, keepdims=True)
    equal = dof / (shapes**2).sum(axis=1)  # degrees of freedom of the sum of squares
    sizes = (residuals**2).sum() / dof * equal / rng.chisquare(equal)
    ratio = np.median(np.sqrt(sizes) * _mean_length(shapes)) / np.median(lengths)
    moved = ratio ** (0.5 - 1.5 / len(rows))
    tail = (1 - confidence) / 2 * (1 + 0.7 / len(rows))
    ends = moved * np.quantile(lengths, [tail, 1 - tail])
    return Interval(own, float(ends[0]), float(ends[1]))


def _metric(centre: Floats, factors: DifferenceWeights) -> Floats:
    """G with ΔE00² ≈ d G d for a small difference d from `centre`."""
    step = 0.05
    axes = np.eye(3)

    def squared(move: Floats) -> float:
        return float(de00(centre - step * move / 2, centre + step * move / 2, factors)) ** 2

    own = np.array([squared(axes[i]) for i in range(3)])
    metric = np.diag(own)
    for i in range(3):
        for j in range(i):
            metric[i, j] = metric[j, i] = (squared(axes[i] + axes[j]) - own[i] - own[j]) / 2
    return metric / step**2


def _axes_of_covariance(residuals: Floats, draws: int, rng: np.random.Generator) -> Floats:
    """(draws, 3): variances along the axes of the covariance that such residuals may come from.

    Given a size s the covariance is inverse Wishart about s² with `prior` degrees of freedom, so
    that its posterior is too; s is drawn from its own posterior, flat before in its logarithm.
    """
    prior = 3
    dof = prior + len(residuals) - 1
    own = np.maximum(np.linalg.eigvalsh(residuals.T @ residuals), 0)
    log_size = np.log(own.mean()) + np.linspace(-9, 5, 200)
    scale = own + np.exp(log_size)[:, None]
    log_density = 1.5 * prior * log_size - dof / 2 * np.log(scale).sum(axis=1)
    density = np.exp(log_density - log_density.max())
    chosen = np.searchsorted(density.cumsum() / density.sum(), rng.random(draws))
    # Bartlett's root B of a Wishart matrix: the covariance is A'A with A = B⁻¹ scaled.
    root = np.zeros((draws, 3, 3))
    for i in range(3):
        root[:, i, i] = np.sqrt(rng.chisquare(dof - i, draws))
        root[:, i, :i] = rng.standard_normal((draws, i))
    scaled = np.linalg.inv(root) * np.sqrt(scale[np.minimum(chosen, len(scale) - 1)])[:, None, :]
    axes = np.linalg.eigvalsh(scaled.transpose(0, 2, 1) @ scaled)
    return np.asarray(np.maximum(axes, 1e-12 * axes.sum(axis=1, keepdims=True)))


def _mean_length(axes: Floats) -> Floats:
    """Mean length of normal vectors with these variances along three axes, (n, 3) to (n,).

    E|x| = ∫ (1 − ∏ (1 + 2 t λ)^(−1/2)) t^(−3/2) dt / √(4π), by sums over ln t.
    """
    total = axes.sum(axis=1)
    step = 1.0
    t = np.exp(np.arange(-14.0, 16.5, step))
    product = np.ones((len(axes), len(t)))
    for i in range(3):
        product *= 1 + 2 * t * (axes[:, i] / total)[:, None]
    mean = ((1 - 1 / np.sqrt(product)) / np.sqrt(t)).sum(axis=1) * step / np.sqrt(4 * np.pi)
    return np.asarray(mean * np.sqrt(total))


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

    The mean over teeth of the least CIEDE2000 to any tab; studentised bootstrap over the teeth
    (Efron and Tibshirani 1993, An Introduction to the Bootstrap, 12.5), below 10 teeth Student's t.
    Raises ArgumentError for a wrong shape or fewer than 2 teeth.

    >>> coverage_error_interval([[70, 1, 15], [60, 1, 15]], [[70, 1, 15]]).low
    0.0
    """
    check_level(confidence, bootstrap)
    sample = colours(teeth, "teeth", at_least=2)
    nearest = nearest_de00(sample, colours(tabs, "tabs"), weights or DifferenceWeights())
    n = len(nearest)
    mean, error = float(nearest.mean()), float(nearest.std(ddof=1) / np.sqrt(n))
    tails = [(1 + confidence) / 2, (1 - confidence) / 2]
    if n < 10:
        from scipy import stats

        ends = stats.t.ppf(tails, n - 1)
    else:
        rng = np.random.default_rng(seed)
        drawn = [nearest[rng.integers(0, n, n)] for _ in range(bootstrap)]
        errors = np.array([d.std(ddof=1) / np.sqrt(n) for d in drawn])
        off = np.array([d.mean() for d in drawn]) - mean
        ends = np.quantile(off / np.where(errors > 0, errors, np.inf), tails)
    return Interval(mean, max(0.0, float(mean - ends[0] * error)), float(mean - ends[1] * error))


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
class ProportionalBias:
    """Difference = `intercept` + `slope` · mean of the two; `sd` is what scatters about that line.

    >>> ProportionalBias(Interval(0.1, 0.05, 0.15), -6.0, 0.5).limits(70)[0] < 1
    True
    """

    slope: Interval
    intercept: float
    sd: float

    def limits(self, value: float) -> tuple[float, float]:
        """Limits of agreement at a mean reading of `value`."""
        bias = self.intercept + self.slope.estimate * value
        return bias - _z_limits * self.sd, bias + _z_limits * self.sd


_z_limits = 1.959963984540054


@dataclass(frozen=True)
class AxisAgreement:
    """Limits of agreement of two instruments on one axis.

    `bias` is the mean of second minus first; 95 % of differences lie between `lower` and `upper`.
    `proportional` is None below 4 things; where the interval of its slope leaves out 0, the
    difference grows with the reading and `proportional.limits` holds in place of the others.

    >>> AxisAgreement("L*", Interval(0, -1, 1), 0.5, Interval(-1, -2, 0), Interval(1, 0, 2)).axis
    'L*'
    """

    axis: str
    bias: Interval
    sd: float
    lower: Interval
    upper: Interval
    proportional: ProportionalBias | None = None


def bland_altman(
    first: ArrayLike,
    second: ArrayLike,
    *,
    thing: Sequence[object] | None = None,
    confidence: float = 0.95,
) -> tuple[AxisAgreement, ...]:
    """Bias and 95 % limits of agreement on L*, a* and b* of paired readings (n, 3).

    Bland and Altman 1999, Stat Methods Med Res 8:135–160. The intervals of the limits are exact for
    normal differences, by the non-central t distribution (Carkeet 2015, Optom Vis Sci 92:e71–e80).
    `thing` (n,) names what each pair was read on, where things were read repeatedly: the limits
    then are those of one new pair on a new thing (Bland and Altman 2007, J Biopharm Stat
    17:571–582), the degrees of freedom of whose variance are Satterthwaite's (1946, Biometrics Bull
    2:110). Proportional bias is the regression of the differences on the means, of things where
    they repeat. At least 3 things. Raises ArgumentError for unequal shapes.

    >>> first = [[70, 1, 15], [66, 2, 18], [74, 0, 12]]
    >>> second = [[71, 1, 15], [67, 2, 18], [75, 0, 12]]
    >>> [axis.bias.estimate for axis in bland_altman(first, second)]
    [1.0, 0.0, 0.0]
    """
    check_level(confidence, 100)
    a, b, index = _pairs(first, second, thing, at_least=3)
    result = []
    for k, axis in enumerate(("L*", "a*", "b*")):
        difference, middle = (b - a)[:, k], (a + b)[:, k] / 2
        bias, sd, lower, upper = _limits(difference, index, confidence)
        line = _proportional(_by_thing(difference, index), _by_thing(middle, index), confidence)
        result.append(AxisAgreement(axis, bias, sd, lower, upper, line))
    return tuple(result)


def _pairs(
    first: ArrayLike, second: ArrayLike, thing: Sequence[object] | None, at_least: int
) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Both readings and the index of the thing each pair was read on."""
    a = colours(first, "first", at_least=at_least)
    b = colours(second, "second", at_least=at_least)
    if len(a) != len(b):
        raise ArgumentError(f"first and second must be pairs, not {len(a)} and {len(b)} rows")
    if thing is None:
        return a, b, np.arange(len(a))
    if len(thing) != len(a):
        raise ArgumentError(f"thing must name each of the {len(a)} pairs, not {len(thing)}")
    names = {name: number for number, name in enumerate(dict.fromkeys(thing))}
    if len(names) < at_least:
        raise ArgumentError(f"at least {at_least} things must have been read, not {len(names)}")
    return a, b, np.array([names[name] for name in thing])


def _by_thing(values: Floats, index: NDArray[np.intp]) -> Floats:
    """Mean of each thing's values."""
    return np.asarray(np.bincount(index, values) / np.bincount(index))


def _around(value: float, half: float) -> Interval:
    return Interval(value, float(value - half), float(value + half))


def _limits(
    difference: Floats, index: NDArray[np.intp], confidence: float
) -> tuple[Interval, float, Interval, Interval]:
    from scipy import stats

    means, size = _by_thing(difference, index), np.bincount(index)
    k, within_dof = len(means), len(difference) - len(means)
    mean, between = float(means.mean()), float(means.var(ddof=1))
    within = float(((difference - means[index]) ** 2).sum()) / max(within_dof, 1)
    # Of one new pair: 1 − 1/m for the harmonic mean m of the repeats.
    more = (1 - float((1 / size).mean())) * within
    variance, error = between + more, np.sqrt(between / k)
    sd = float(np.sqrt(variance))
    tails = np.array([(1 - confidence) / 2, (1 + confidence) / 2])
    bias = _around(mean, float(stats.t.ppf(tails[1], k - 1)) * error)
    if between == 0:
        near = far = _z_limits * sd
    else:
        parts = np.array([between, more]) / variance
        dofs = np.array([k - 1, max(within_dof, 1)])
        # Satterthwaite's figure is too large where a part came out small by chance; a tenth of the
        # most careful reading mends that (chosen on six designs, 8000 studies each).
        dof = (parts**2 / dofs).sum() ** -0.9 * (parts / dofs).sum() ** -0.1
        near, far = error * stats.nct.ppf(tails, dof, _z_limits * sd / error)
    half = _z_limits * sd
    return (
        bias,
        sd,
        Interval(mean - half, float(mean - far), float(mean - near)),
        Interval(mean + half, float(mean + near), float(mean + far)),
    )


def _proportional(difference: Floats, middle: Floats, confidence: float) -> ProportionalBias | None:
    from scipy import stats

    n = len(difference)
    x = middle - middle.mean()
    if n < 4 or float((x**2).sum()) == 0:
        return None
    slope = float((x * difference).sum() / (x**2).sum())
    intercept = float(difference.mean() - slope * middle.mean())
    sd = float(np.sqrt(((difference - intercept - slope * middle) ** 2).sum() / (n - 2)))
    half = float(stats.t.ppf((1 + confidence) / 2, n - 2)) * sd / np.sqrt(float((x**2).sum()))
    return ProportionalBias(_around(slope, float(half)), intercept, sd)


@dataclass(frozen=True)
class Equivalence:
    """Whether two instruments agree on average within `margin` (ΔE00).

    `de00` is between the mean readings; `upper` its one-sided bound. `equivalent` is True where
    `upper` lies within the margin. A difference that is not significant is no equivalence.

    >>> Equivalence(0.2, 0.5, 0.8, True).equivalent
    True
    """

    de00: float
    upper: float
    margin: float
    equivalent: bool


def equivalence(
    first: ArrayLike,
    second: ArrayLike,
    *,
    margin: float = 0.8,
    thing: Sequence[object] | None = None,
    weights: DifferenceWeights | None = None,
    confidence: float = 0.95,
    draws: int = 20000,
    seed: int = 1,
) -> Equivalence:
    """Is the mean colour of two instruments' paired readings (n, 3) the same within `margin`?

    The one-sided test of Schuirmann 1987, J Pharmacokinet Biopharm 15:657–680, carried to three
    coordinates: the bound is the quantile of ΔE00 over multivariate Student's t of the mean
    difference. `thing` as in `bland_altman`; at least 5 things. The margin is 0.8 (perceptibility)
    unless given; 1.8 is acceptability (Paravina et al. 2015). Raises ArgumentError for unequal
    shapes or a margin that is not positive.

    >>> rows = [[70 + i, 1, 15] for i in range(6)]
    >>> equivalence(rows, rows).equivalent
    True
    """
    check_level(confidence, draws)
    if not (np.isfinite(margin) and margin > 0):
        raise ArgumentError(f"margin must be above 0, not {margin}")
    a, b, index = _pairs(first, second, thing, at_least=5)
    factors = weights or DifferenceWeights()
    means = np.stack([_by_thing((b - a)[:, axis], index) for axis in range(3)], axis=1)
    n = len(means)
    centre, bias = a.mean(axis=0), means.mean(axis=0)
    covariance = np.cov(means.T) / n
    rng = np.random.default_rng(seed)
    eigen, vectors = np.linalg.eigh(covariance)
    error = rng.standard_normal((draws, 3)) * np.sqrt(np.maximum(eigen, 0)) @ vectors.T
    error *= np.sqrt((n - 1) / rng.chisquare(n - 1, (draws, 1)))
    apart = np.asarray(de00(centre, centre + bias + error, factors))
    upper = float(np.quantile(apart, confidence))
    return Equivalence(float(de00(centre, centre + bias, factors)), upper, margin, upper <= margin)


def pairs_for_bias(sd: float, half_width: float, *, confidence: float = 0.95) -> int:
    """Pairs needed for the bias on one axis to be known within ± `half_width`.

    `sd` is that of the differences. Raises ArgumentError unless both are positive.

    >>> pairs_for_bias(1.0, 0.5)
    18
    """
    from scipy import stats

    _check_positive(sd=sd, half_width=half_width)
    check_level(confidence, 100)
    return _least(
        lambda n: float(stats.t.ppf((1 + confidence) / 2, n - 1)) * sd / np.sqrt(n) <= half_width, 2
    )


def pairs_for_limits(sd: float, half_width: float, *, confidence: float = 0.95) -> int:
    """Pairs needed for each limit of agreement to be known within ± `half_width` on average.

    Half the width of the exact interval of Carkeet 2015. Raises ArgumentError unless positive.

    >>> pairs_for_limits(1.0, 0.5) > pairs_for_bias(1.0, 0.5)
    True
    """
    from scipy import stats

    _check_positive(sd=sd, half_width=half_width)
    check_level(confidence, 100)
    tails = np.array([(1 - confidence) / 2, (1 + confidence) / 2])

    def enough(n: int) -> bool:
        ends = stats.nct.ppf(tails, n - 1, _z_limits * np.sqrt(n)) * sd / np.sqrt(n)
        return float(ends[1] - ends[0]) / 2 <= half_width

    return _least(enough, 3)


def equivalence_power(
    n: int, sd: float, margin: float, *, bias: float = 0.0, confidence: float = 0.95
) -> float:
    """Chance that two one-sided t tests on one axis say "equivalent within ± margin", 0–1.

    `n` pairs whose differences have the mean `bias` and standard deviation `sd`. Exact: the normal
    mean and the χ² of the variance are integrated over (Schuirmann 1987). Raises ArgumentError for
    n below 2 or values out of range.

    >>> equivalence_power(20, 1.0, 0.8) > equivalence_power(10, 1.0, 0.8)
    True
    """
    from scipy import integrate, stats

    _check_positive(sd=sd, margin=margin)
    check_level(confidence, 100)
    if n < 2:
        raise ArgumentError(f"n must be at least 2, not {n}")
    error = sd / np.sqrt(n)
    t = float(stats.t.ppf(confidence, n - 1))
    widest = (n - 1) * (margin / (t * error)) ** 2

    def given(chi: float) -> float:
        reach = margin - t * error * np.sqrt(chi / (n - 1))
        inside = stats.norm.cdf((reach - bias) / error) - stats.norm.cdf((-reach - bias) / error)
        return float(inside * stats.chi2.pdf(chi, n - 1))

    top = min(widest, float(stats.chi2.isf(1e-10, n - 1)))
    return float(integrate.quad(given, 0, top, limit=200)[0])


def pairs_for_equivalence(
    sd: float, margin: float, *, bias: float = 0.0, power: float = 0.9, confidence: float = 0.95
) -> int:
    """Pairs needed to show equivalence within ± `margin` on one axis with this power.

    Raises ArgumentError for a power outside 0.5–0.999 or a bias that is not within the margin.

    >>> n = pairs_for_equivalence(1.0, 0.8)
    >>> equivalence_power(n, 1.0, 0.8) >= 0.9 > equivalence_power(n - 1, 1.0, 0.8)
    True
    """
    if not 0.5 <= power <= 0.999:
        raise ArgumentError(f"power must lie within 0.5–0.999, not {power}")
    _check_positive(sd=sd, margin=margin)
    if not abs(bias) < margin:
        raise ArgumentError(f"a bias of {bias} does not lie within the margin of {margin}")
    return _least(
        lambda n: equivalence_power(n, sd, margin, bias=bias, confidence=confidence) >= power, 2
    )


def _check_positive(**values: float) -> None:
    for name, value in values.items():
        if not (np.isfinite(value) and value > 0):
            raise ArgumentError(f"{name} must be above 0, not {value}")


def _least(enough: Callable[[int], bool], first: int) -> int:
    """The least n from `first` on that is enough, for a condition that stays true once it is."""
    most = 1_000_000
    high = first
    while not enough(high):
        high *= 2
        if high > most:
            raise ArgumentError(f"more than {most} pairs would be needed")
    low = first - 1 if high == first else high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
