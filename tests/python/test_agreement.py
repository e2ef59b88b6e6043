"""Agreement statistics and thresholds against simulation, general packages and published forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.special import expit

import mamelon as mm
from mamelon import agreement, judgement


@pytest.fixture
def rng() -> np.random.Generator:
    """Of each test its own: what a test sees must not depend on which ran before it."""
    return np.random.default_rng(20260401)


def test_mcdm_is_the_mean_difference_from_the_mean(rng: np.random.Generator) -> None:
    rows = rng.normal([70, 1, 15], [0.3, 0.1, 0.2], (12, 3))
    interval = agreement.mcdm_interval(rows)
    expected = np.mean([mm.de00(rows.mean(axis=0), row) for row in rows])
    assert interval.estimate == pytest.approx(expected, abs=1e-12)
    assert agreement.mcdm_interval(rows) == interval
    assert agreement.mcdm_interval(np.tile(rows[0], (4, 1))) == agreement.Interval(0, 0, 0)


@pytest.mark.parametrize("sd", [(0.4, 0.15, 0.3), (0.5, 0.1, 0.1)])
@pytest.mark.parametrize("n", [3, 20])
def test_mcdm_interval_holds_the_truth_about_as_often_as_it_says(
    n: int, sd: tuple[float, float, float]
) -> None:
    rng = np.random.default_rng(11)
    truth = float(np.mean(mm.de00([70, 1, 15], rng.normal([70, 1, 15], sd, (200_000, 3)))))
    held = 0
    for _ in range(200):
        rows = rng.normal([70, 1, 15], sd, (n, 3))
        interval = agreement.mcdm_interval(rows, bootstrap=300)
        assert interval.low < interval.estimate < interval.high
        held += interval.low <= truth <= interval.high
    # 95 % of 200 is 190; three standard deviations of a binomial below it is 180.8.
    assert held >= 181


def test_mcdm_interval_of_round_scatter_misses_to_both_sides(rng: np.random.Generator) -> None:
    """Equal scatter along all axes of ΔE00: the posterior alone lay above the truth in 7 %."""
    sd = (0.4, 0.28, 0.53)
    truth = float(np.mean(mm.de00([70, 1, 15], rng.normal([70, 1, 15], sd, (200_000, 3)))))
    above = 0
    for study in range(300):
        rows = rng.normal([70, 1, 15], sd, (20, 3))
        above += agreement.mcdm_interval(rows, bootstrap=300, seed=study).low > truth
    # 2.5 % of 300 is 7.5; three standard deviations above it is 15.6.
    assert above <= 15


def test_coverage_error_agrees_with_the_core(rng: np.random.Generator, tabs: mm.TabSet) -> None:
    teeth = rng.normal([72, 1.5, 17], [6, 1.5, 4], (500, 3))
    interval = agreement.coverage_error_interval(teeth, tabs.labs)
    assert interval.estimate == pytest.approx(mm.coverage_error(teeth, tabs.labs), abs=1e-12)
    nearest = np.asarray(mm.de00(teeth[:, None], tabs.labs[None])).min(axis=1)
    # The percentile bootstrap of a mean of 500 is the normal interval to within a tenth.
    half = 1.96 * nearest.std(ddof=1) / np.sqrt(500)
    assert interval.high - interval.estimate == pytest.approx(half, rel=0.15)
    assert interval.estimate - interval.low == pytest.approx(half, rel=0.15)


def test_wilsons_interval() -> None:
    # Newcombe 1998, Stat Med 17:857–872, Table I: 81 of 263 by the score method: 0.2553 to 0.3662.
    first = ["a"] * 263
    second = ["a"] * 81 + ["b"] * 182
    found = agreement.exact_tab_agreement(first, second)
    assert round(found.exact.low, 4) == 0.2553
    assert round(found.exact.high, 4) == 0.3662
    assert found.tied is None


def test_ties_count_only_where_tabs_cannot_be_told_apart() -> None:
    def match(best: str, *alike: str) -> mm.Match:
        return mm.Match("x", "", [mm.RankedTab(best, 0.3)], [best, *alike])

    first = [match("oat"), match("oat", "flax"), match("oat"), match("oat")]
    second = [match("oat"), match("flax"), match("flax", "oat"), match("birch", "clay")]
    found = agreement.exact_tab_agreement(first, second)
    assert found.exact.estimate == 0.25
    assert found.tied is not None
    assert found.tied.estimate == 0.75


def test_limits_of_agreement_cover_simulated_differences(rng: np.random.Generator) -> None:
    first = rng.normal([70, 1, 15], [6, 1.5, 4], (4000, 3))
    second = first + rng.normal([0.5, -0.2, 0.1], [0.6, 0.3, 0.4], first.shape)
    for axis, difference in zip(
        agreement.bland_altman(first, second), (second - first).T, strict=True
    ):
        inside = np.mean((difference > axis.lower.estimate) & (difference < axis.upper.estimate))
        assert inside == pytest.approx(0.95, abs=0.01)
        expected = stats.ttest_1samp(difference, 0).confidence_interval(0.95)
        assert axis.bias.low == pytest.approx(expected.low, abs=1e-12)
        assert axis.bias.high == pytest.approx(expected.high, abs=1e-12)


def test_limits_of_repeats_are_those_of_one_new_pair() -> None:
    # Variance components known: between things 0.8², within 0.5²; one pair on a new thing differs
    # with variance 0.89 (Bland and Altman 2007, J Biopharm Stat 17:571–582, their equation).
    rng = np.random.default_rng(5)
    thing = np.repeat(np.arange(3000), rng.integers(2, 5, 3000))
    first = rng.normal([70, 1, 15], [6, 1.5, 4], (3000, 3))[thing]
    apart = 0.4 + rng.normal(0, 0.8, (3000, 3))[thing] + rng.normal(0, 0.5, (len(thing), 3))
    for axis in agreement.bland_altman(first, first + apart, thing=list(thing)):
        assert axis.bias.estimate == pytest.approx(0.4, abs=0.06)
        assert axis.sd == pytest.approx(np.sqrt(0.89), rel=0.03)
        assert axis.lower.low < 0.4 - 1.96 * np.sqrt(0.89) < axis.lower.high
        assert axis.upper.low < 0.4 + 1.96 * np.sqrt(0.89) < axis.upper.high


def test_repeats_say_less_than_as_many_things(rng: np.random.Generator) -> None:
    apart = rng.normal(0, 0.5, (10, 3))
    first = rng.normal([70, 1, 15], [6, 1.5, 4], (10, 3))
    once = agreement.bland_altman(first, first + apart)
    thrice = agreement.bland_altman(
        np.repeat(first, 3, axis=0), np.repeat(first + apart, 3, axis=0),
        thing=list(np.repeat(np.arange(10), 3)),
    )  # fmt: skip
    for a, b in zip(once, thrice, strict=True):
        assert b.bias.low == pytest.approx(a.bias.low, abs=1e-12)
        assert b.sd == pytest.approx(a.sd, abs=1e-12)


def test_proportional_bias_is_the_regression_line(rng: np.random.Generator) -> None:
    first = rng.normal([70, 1, 15], [6, 1.5, 4], (80, 3))
    second = first + [-3.5, 0, 0] + first * [0.05, 0, 0] + rng.normal(0, 0.3, first.shape)
    lightness, redness, _ = agreement.bland_altman(first, second)
    middle, difference = (first + second)[:, 0] / 2, (second - first)[:, 0]
    line = stats.linregress(middle, difference)
    found = lightness.proportional
    assert found is not None
    assert found.slope.estimate == pytest.approx(line.slope, rel=1e-9)
    assert found.intercept == pytest.approx(line.intercept, rel=1e-9)
    half = stats.t.ppf(0.975, 78) * line.stderr
    assert found.slope.high - found.slope.estimate == pytest.approx(half, rel=1e-9)
    assert found.slope.low > 0
    assert redness.proportional is not None
    assert redness.proportional.slope.low < 0 < redness.proportional.slope.high


@pytest.mark.parametrize("things", [3, 6])
def test_limits_of_few_things_hold_as_often_as_they_say(things: int) -> None:
    rng = np.random.default_rng(things)
    held = np.zeros(3)
    for _ in range(300):
        first = rng.normal([70, 1, 15], [6, 1.5, 4], (things, 3))
        axis = agreement.bland_altman(first, first + rng.normal(0.3, 0.6, first.shape))[0]
        for k, (interval, truth) in enumerate(
            ((axis.bias, 0.3), (axis.lower, 0.3 - 1.96 * 0.6), (axis.upper, 0.3 + 1.96 * 0.6))
        ):
            held[k] += interval.low <= truth <= interval.high
    # 95 % of 300 is 285, three standard deviations below it 273.7.
    assert held.min() >= 273
    with pytest.raises(mm.ArgumentError, match="at least 3"):
        agreement.bland_altman([[70, 1, 15]] * 2, [[70, 1, 15]] * 2)


def test_equivalence_is_said_only_where_it_is_shown() -> None:
    tooth = np.array([72.0, 1.5, 17.0])
    size = 0.8 / float(mm.de00(tooth, np.add(tooth, [1, 0, 0])))
    rng = np.random.default_rng(2)
    said = {0.0: 0, size: 0}
    for shift in said:
        for _ in range(120):
            first = np.tile(tooth, (12, 1))
            second = first + rng.normal([shift, 0, 0], [0.4, 0.2, 0.35], first.shape)
            said[shift] += agreement.equivalence(first, second, draws=1500).equivalent
    assert said[size] <= 13  # 5 % of 120 is 6, three standard deviations above it 13
    assert said[0.0] >= 110
    # Too few readings show nothing, however alike their means are.
    noisy = rng.normal(tooth, 1.5, (5, 3))
    assert not agreement.equivalence(noisy, noisy[::-1]).equivalent


def test_power_and_sample_sizes() -> None:
    # Two one-sided t tests against their simulation.
    rng = np.random.default_rng(9)
    n, sd, margin, bias = 14, 1.0, 0.9, 0.2
    draws = rng.normal(bias, sd, (20_000, n))
    half = stats.t.ppf(0.95, n - 1) * draws.std(axis=1, ddof=1) / np.sqrt(n)
    seen = np.mean(np.abs(draws.mean(axis=1)) + half < margin)
    assert agreement.equivalence_power(n, sd, margin, bias=bias) == pytest.approx(seen, abs=0.012)
    # The width that is asked for is reached, and one pair fewer does not reach it.
    pairs = agreement.pairs_for_bias(0.8, 0.3)
    for count, enough in ((pairs, True), (pairs - 1, False)):
        assert bool(stats.t.ppf(0.975, count - 1) * 0.8 / np.sqrt(count) <= 0.3) is enough
    assert agreement.pairs_for_limits(0.8, 0.3) > pairs
    needed = agreement.pairs_for_equivalence(1.0, 0.8, bias=0.1, power=0.8)
    assert agreement.equivalence_power(needed, 1.0, 0.8, bias=0.1) >= 0.8
    assert agreement.equivalence_power(needed - 1, 1.0, 0.8, bias=0.1) < 0.8
    with pytest.raises(mm.ArgumentError, match="does not lie within the margin"):
        agreement.pairs_for_equivalence(1.0, 0.8, bias=0.8)


def judgements(
    rng: np.random.Generator, count: int, middle: float = 0.8, slope: float = 4.0
) -> tuple[np.ndarray, np.ndarray]:
    x = rng.uniform(0.05, 2.5, count).round(2)
    return x, rng.random(count) < expit(slope * (x - middle))


def test_logistic_fit_is_the_maximum_likelihood_one(rng: np.random.Generator) -> None:
    sm = pytest.importorskip("statsmodels.api")
    x, y = judgements(rng, 800)
    fit = judgement.fit_threshold(x, y, bootstrap=200)
    expected = sm.Logit(y, sm.add_constant(x)).fit(disp=0).params
    assert fit.parameters == pytest.approx(list(expected), rel=1e-7)
    assert fit.threshold.estimate == pytest.approx(-expected[0] / expected[1], rel=1e-7)
    assert fit.share(fit.threshold.estimate) == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize("model", ["logistic", "tsk"])
def test_threshold_interval_holds_the_truth(model: str) -> None:
    rng = np.random.default_rng(5)
    held = 0
    estimates = []
    for _ in range(60):
        x, y = judgements(rng, 400)
        fit = judgement.fit_threshold(x, y, model=model, bootstrap=200)  # type: ignore[arg-type]
        estimates.append(fit.threshold.estimate)
        held += fit.threshold.low <= 0.8 <= fit.threshold.high
    assert np.mean(estimates) == pytest.approx(0.8, abs=0.03)
    # 95 % of 60 is 57; three standard deviations of a binomial below it is 52.
    assert held >= 51


def test_tsk_follows_a_curve_that_is_not_logistic(rng: np.random.Generator) -> None:
    x = np.linspace(0, 3, 61).repeat(60)
    share = np.clip(x / 2, 0, 1)
    y = rng.random(len(x)) < share
    fit = judgement.fit_threshold(x, y, model="tsk", rules=4, bootstrap=200)
    grid = np.linspace(0.1, 2.9, 50)
    assert np.abs(fit.share(grid) - np.clip(grid / 2, 0, 1)).max() < 0.08
    assert fit.threshold.estimate == pytest.approx(1.0, abs=0.08)


def test_observers_who_differ_widen_the_interval() -> None:
    rng = np.random.default_rng(8)
    x, y, who = [], [], []
    for number in range(20):
        own = rng.normal(0.8, 0.3)
        a, b = judgements(rng, 60, middle=own, slope=6)
        x += a.tolist()
        y += b.tolist()
        who += [f"observer {number}"] * 60
    alone = judgement.fit_threshold(x, y, bootstrap=400).threshold
    grouped = judgement.fit_threshold(x, y, observer=who, bootstrap=400).threshold
    assert grouped.estimate == alone.estimate
    assert grouped.high - grouped.low > 1.5 * (alone.high - alone.low)


@pytest.mark.parametrize(
    ("x", "y", "kind", "words"),
    [
        ([0.5, 1.0] * 10, [0] * 20, mm.ModelError, "fix no threshold"),
        ([0.5, 1.0] * 10, [0, 1] * 10, mm.ModelError, "fix no threshold"),
        ([0.5, 1.0] * 10, [1, 0] * 9 + [0, 1], mm.ModelError, "fix no threshold"),
        ([0.5] * 20, [0, 1] * 10, mm.ArgumentError, "more than one value"),
        ([0.5, 1.0], [0, 1], mm.ArgumentError, "at least 10"),
        ([0.5, 1.0] * 10, [0, 2] * 10, mm.ArgumentError, "0 or 1"),
        ([-0.5, 1.0] * 10, [0, 1] * 10, mm.ArgumentError, "0 or more"),
        ([0.5, np.nan] * 10, [0, 1] * 10, mm.ArgumentError, "finite"),
        ([0.5, 1.0] * 10, [0, 1] * 9, mm.ArgumentError, r"\(20,\) and \(18,\)"),
        (["x"] * 20, [0, 1] * 10, mm.ArgumentError, "must be numbers"),
    ],
)
def test_judgements_that_fix_nothing(
    x: list[float], y: list[int], kind: type[Exception], words: str
) -> None:
    with pytest.raises(kind, match=words):
        judgement.fit_threshold(x, y, bootstrap=100)


def test_wrong_rows_are_refused() -> None:
    with pytest.raises(mm.ArgumentError, match=r"shape \(n, 3\), not \(3,\)"):
        agreement.mcdm_interval([70, 1, 15])
    with pytest.raises(mm.ArgumentError, match="row 1 is not finite"):
        agreement.mcdm_interval([[70, 1, 15], [np.nan, 1, 15], [70, 1, 15]])
    with pytest.raises(mm.ArgumentError, match="at least 3 rows, not 2"):
        agreement.mcdm_interval([[70, 1, 15], [71, 1, 15]])
    with pytest.raises(mm.ArgumentError, match="must be numbers"):
        agreement.mcdm_interval([["x", "y", "z"]])
    with pytest.raises(mm.ArgumentError, match="equal lengths above 0, not 1 and 2"):
        agreement.exact_tab_agreement(["a"], ["a", "b"])
    with pytest.raises(mm.ArgumentError, match="pairs, not 3 and 4 rows"):
        agreement.bland_altman(np.zeros((3, 3)), np.zeros((4, 3)))
    with pytest.raises(mm.ArgumentError, match="confidence"):
        agreement.bland_altman(np.zeros((3, 3)), np.zeros((3, 3)), confidence=95)
