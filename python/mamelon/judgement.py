"""Perceptibility and acceptability thresholds from yes/no judgements of colour differences.

The threshold is the ΔE00 at which half of the judgements say "I see a difference" (perceptibility)
or "I would not accept it" (acceptability). Needs SciPy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mamelon._core import ArgumentError, ModelError
from mamelon.agreement import Interval, check_level

__all__ = ["ThresholdFit", "fit_threshold"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ThresholdFit:
    """A fitted psychometric curve and the ΔE00 at which it crosses one half.

    `failed` counts bootstrap draws that have no threshold within the judged range; they are left
    out of the interval, so a large count means that the interval is too narrow.

    >>> fit = fit_threshold([0.2, 0.6, 1.0, 1.4] * 10, ([0, 0, 1, 1] * 9) + [0, 1, 0, 1])
    >>> 0.6 < fit.threshold.estimate < 1.0
    True
    """

    model: Literal["logistic", "tsk"]
    threshold: Interval
    parameters: tuple[float, ...]
    failed: int
    _range: tuple[float, float] = field(repr=False)

    def share(self, de00: ArrayLike) -> Floats:
        """Share of yes at `de00`, 0–1, of any shape."""
        x = np.asarray(de00, dtype=np.float64)
        if self.model == "logistic":
            return _logistic(x, np.array(self.parameters))
        return _tsk(x, np.array(self.parameters), self._range)


def fit_threshold(
    de00: ArrayLike,
    yes: ArrayLike,
    *,
    model: Literal["logistic", "tsk"] = "logistic",
    observer: Sequence[object] | None = None,
    rules: int = 3,
    confidence: float = 0.95,
    bootstrap: int = 2000,
    seed: int = 1,
) -> ThresholdFit:
    """Threshold from judgements `yes` (n,) of 0 or 1 about pairs that differ by `de00` (n,).

    `logistic` is maximum likelihood logistic regression. `tsk` is a Takagi–Sugeno–Kang fuzzy
    approximation with `rules` Gaussian rules spread evenly over the judged range and linear
    consequents by least squares (Takagi and Sugeno 1985, IEEE Trans Syst Man Cybern 15:116–132).
    The interval is a percentile bootstrap over judgements, or over whole observers where
    `observer` (n,) names them. Raises ArgumentError for wrong shapes or values and ModelError
    where the judgements fix no threshold (all alike, perfectly separated, or never half).

    >>> fit_threshold([0.2, 0.6, 1.0, 1.4] * 5, [0, 0, 1, 1] * 5)
    Traceback (most recent call last):
        ...
    mamelon.ModelError: ...
    """
    check_level(confidence, bootstrap)
    if model not in ("logistic", "tsk"):
        raise ArgumentError(f"model must be logistic or tsk, not {model!r}")
    if not 2 <= rules <= 9:
        raise ArgumentError(f"rules must lie within 2–9, not {rules}")
    x, y = _judgements(de00, yes)
    groups = _groups(observer, len(x))
    span = (float(x.min()), float(x.max()))
    fit = _logistic_fit if model == "logistic" else _tsk_fitter(rules, span)
    levels, level_of = np.unique(x, return_inverse=True)

    def threshold_of(weights: Floats) -> tuple[float, Floats] | None:
        total = np.bincount(level_of, weights, len(levels)).astype(np.float64)
        positive = np.bincount(level_of, weights * y, len(levels)).astype(np.float64)
        seen = total > 0
        return fit(levels[seen], positive[seen], total[seen])

    whole = threshold_of(np.ones(len(x)))
    if whole is None:
        raise ModelError(
            "these judgements fix no threshold: they must go from mostly no to mostly yes, "
            "with some of both near the middle"
        )
    rng = np.random.default_rng(seed)
    drawn = []
    for _ in range(bootstrap):
        chosen = rng.integers(0, groups.max() + 1, groups.max() + 1)
        counts = np.bincount(chosen, minlength=int(groups.max()) + 1).astype(np.float64)
        again = threshold_of(counts[groups])
        if again is not None:
            drawn.append(again[0])
    if len(drawn) < bootstrap // 2:
        raise ModelError(
            "most bootstrap draws of these judgements fix no threshold: too few judgements"
        )
    low, high = np.quantile(drawn, [(1 - confidence) / 2, (1 + confidence) / 2])
    return ThresholdFit(
        model,
        Interval(whole[0], float(low), float(high)),
        tuple(float(value) for value in whole[1]),
        bootstrap - len(drawn),
        span,
    )


def _judgements(de00: ArrayLike, yes: ArrayLike) -> tuple[Floats, Floats]:
    try:
        x = np.asarray(de00, dtype=np.float64)
        y = np.asarray(yes, dtype=np.float64)
    except (TypeError, ValueError):
        raise ArgumentError("de00 and yes must be numbers of shape (n,)") from None
    if x.ndim != 1 or x.shape != y.shape:
        raise ArgumentError(f"de00 and yes must be (n,) both, not {x.shape} and {y.shape}")
    if len(x) < 10:
        raise ArgumentError(f"at least 10 judgements are needed, not {len(x)}")
    if not np.isfinite(x).all() or (x < 0).any():
        raise ArgumentError("de00 must be finite and 0 or more")
    if not np.isin(y, (0, 1)).all():
        raise ArgumentError("yes must be 0 or 1, False or True")
    if np.ptp(x) == 0:
        raise ArgumentError("de00 must have more than one value")
    return x, y


def _groups(observer: Sequence[object] | None, n: int) -> NDArray[np.intp]:
    if observer is None:
        return np.arange(n)
    if len(observer) != n:
        raise ArgumentError(f"observer must name each of the {n} judgements, not {len(observer)}")
    names = {name: number for number, name in enumerate(dict.fromkeys(observer))}
    return np.array([names[name] for name in observer])


Fit = Callable[[Floats, Floats, Floats], "tuple[float, Floats] | None"]


def _logistic(x: Floats, parameters: Floats) -> Floats:
    from scipy.special import expit

    return np.asarray(expit(parameters[0] + parameters[1] * x))


def _logistic_fit(x: Floats, positive: Floats, total: Floats) -> tuple[float, Floats] | None:
    """Newton's method on the log likelihood; None without a finite rising maximum."""
    if positive.sum() in (0, total.sum()):
        return None
    centre = float(np.average(x, weights=total))
    design = np.column_stack([np.ones_like(x), x - centre])
    beta = np.zeros(2)
    for _ in range(60):
        p = _logistic(x - centre, beta)
        gradient = design.T @ (positive - total * p)
        hessian = (design * (total * p * (1 - p))[:, None]).T @ design
        if np.linalg.cond(hessian) > 1e12:
            return None
        step = np.linalg.solve(hessian, gradient)
        # A step beyond this makes the next weights vanish; halving keeps Newton's method on track.
        beta = beta + step * min(1.0, 4.0 / max(float(np.abs(step).max()), 1e-300))
        if np.abs(step).max() < 1e-10:
            break
    else:
        return None
    if beta[1] <= 0 or abs(beta[1]) > 1e3:
        return None
    parameters = np.array([beta[0] - beta[1] * centre, beta[1]])
    return float(-parameters[0] / parameters[1]), parameters


def _memberships(x: Floats, rules: int, span: tuple[float, float]) -> Floats:
    """Normalised Gaussian memberships (…, rules), neighbours crossing at one half."""
    centres = np.linspace(span[0], span[1], rules)
    width = (centres[1] - centres[0]) / (2 * np.sqrt(2 * np.log(2)))
    raw = np.exp(-(((x[..., None] - centres) / width) ** 2) / 2)
    return np.asarray(raw / raw.sum(axis=-1, keepdims=True))


def _tsk(x: Floats, parameters: Floats, span: tuple[float, float]) -> Floats:
    rules = len(parameters) // 2
    level, slope = parameters[:rules], parameters[rules:]
    inside = np.clip(x, *span)
    part = _memberships(inside, rules, span)
    return np.asarray((part * (level + slope * inside[..., None])).sum(axis=-1))


def _tsk_fitter(rules: int, span: tuple[float, float]) -> Fit:
    grid = np.linspace(*span, 2001)

    def fit(x: Floats, positive: Floats, total: Floats) -> tuple[float, Floats] | None:
        part = _memberships(x, rules, span)
        design = np.concatenate([part, part * x[:, None]], axis=1)
        root = np.sqrt(total)
        parameters, *_ = np.linalg.lstsq(
            design * root[:, None], root * positive / total, rcond=1e-10
        )
        curve = _tsk(grid, parameters, span) - 0.5
        rising = np.flatnonzero((curve[:-1] < 0) & (curve[1:] >= 0))
        if len(rising) == 0:
            return None
        # The last rise: beyond it most judgements stay yes.
        at = rising[-1]
        share = curve[at] / (curve[at] - curve[at + 1])
        return float(grid[at] + share * (grid[at + 1] - grid[at])), parameters

    return fit
