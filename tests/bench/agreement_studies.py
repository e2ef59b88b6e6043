"""Whether the intervals of `mamelon.agreement` hold as often as they say: stated against seen.

Usage: python tests/bench/agreement_studies.py [STUDIES] [SEED]

In brackets: binomial standard errors between the two. The end counts the cells.
"""

from __future__ import annotations

import sys

import numpy as np
from scipy import stats

import mamelon as mm
from mamelon import agreement


class Tally:
    """How far seen shares lie from stated ones."""

    def __init__(self) -> None:
        self.cells = self.within_two = self.within_four = 0

    def enter(
        self, stated: float, seen: float, studies: int, *, less_is_right: bool = False
    ) -> str:
        """Both in per cent; gives the share seen with the standard errors between them."""
        off = (seen - stated) / np.sqrt(stated * (100 - stated) / studies)
        counted = max(off, 0.0) if less_is_right else off
        self.cells += 1
        self.within_two += abs(counted) <= 2
        self.within_four += abs(counted) <= 4
        return f"{seen:.1f} ({off:+.1f})"


def mean_difference(studies: int, rng: np.random.Generator, tally: Tally) -> None:
    """The mean difference from the mean, of repeats of several shapes of error."""
    print("mean difference from the mean, 95 %: repeats | held % for four shapes of error")
    shapes = [(0.25, 0.13, 0.22), (0.4, 0.15, 0.3), (0.2, 0.2, 0.2), (0.5, 0.1, 0.1)]
    for n in (3, 5, 10, 20):
        line = f"{n} |"
        for sd in shapes:
            truth = np.mean(mm.de00([72, 1.5, 17], rng.normal([72, 1.5, 17], sd, (200_000, 3))))
            held = 0
            # Draws of their own: with one seed all would share the error of these few.
            for study in range(studies):
                rows = rng.normal([72, 1.5, 17], sd, (n, 3))
                found = agreement.mcdm_interval(rows, bootstrap=600, seed=study)
                held += found.low <= truth <= found.high
            line += " " + tally.enter(95, 100 * held / studies, studies)
        print(line, flush=True)


def limits(studies: int, rng: np.random.Generator, tally: Tally) -> None:
    """Limits of agreement, with and without repeats, and proportional bias."""
    print("limits of agreement, 95 %: things x repeats | bias, lower, upper held % | slope held %")
    for things, repeats in ((3, 1), (5, 1), (10, 1), (30, 1), (10, 3), (30, 2)):
        held = np.zeros(4)
        between, within = 0.4, 0.3
        reach = 1.959964 * np.hypot(between, within)
        for _ in range(studies):
            thing = np.repeat(np.arange(things), repeats)
            true = rng.normal(72, 5, things)
            bias = 0.5 + rng.normal(0, between, things)
            first = np.tile([72.0, 1.5, 17.0], (len(thing), 1))
            first[:, 0] = true[thing]
            second = first.copy()
            second[:, 0] += bias[thing] + rng.normal(0, within, len(thing))
            found = agreement.bland_altman(first, second, thing=thing if repeats > 1 else None)[0]
            line = found.proportional
            held += [
                found.bias.low <= 0.5 <= found.bias.high,
                found.lower.low <= 0.5 - reach <= found.lower.high,
                found.upper.low <= 0.5 + reach <= found.upper.high,
                line is not None and line.slope.low <= 0 <= line.slope.high,
            ]
        stated = held[:3] if things < 4 else held  # three things show no slope
        seen = [tally.enter(95, share, studies) for share in 100 * stated / studies]
        print(f"{things} x {repeats} | {', '.join(seen[:3])} | {', '.join(seen[3:])}", flush=True)


def equivalence(studies: int, rng: np.random.Generator, tally: Tally) -> None:
    """Equivalence said where the difference is just the margin (5 % at most) and where none."""
    print("equivalence within 0.8: pairs | said at a difference of 0.8 % (5 at most), of 0 %")
    tooth = np.array([72.0, 1.5, 17.0])
    size = 0.8 / float(mm.de00(tooth, [tooth[0] + 1, *tooth[1:]]))
    for n in (5, 10, 30):
        said = []
        for shift in (size, 0.0):
            count = 0
            for _ in range(studies):
                first = np.tile(tooth, (n, 1))
                second = first + rng.normal([shift, 0, 0], [0.5, 0.25, 0.45], (n, 3))
                count += agreement.equivalence(first, second, draws=2000).equivalent
            said.append(100 * count / studies)
        at_margin = tally.enter(5, said[0], studies, less_is_right=True)
        print(f"{n} | {at_margin}, {said[1]:.1f}", flush=True)


def sizes(studies: int, rng: np.random.Generator, tally: Tally) -> None:
    """Whether as many pairs as are said to be needed do what they are needed for.

    Power by SciPy's own two one-sided t tests; the bias's half-width by the mean of n normal
    differences; limits by the mean half-width of their intervals, which is asked.
    """
    print("pairs for equivalence on one axis: sd, margin, bias, power | pairs | power said, seen %")
    for sd, margin, bias, power in (
        (1.0, 0.8, 0.0, 0.9),
        (1.0, 0.8, 0.3, 0.8),
        (0.4, 0.8, 0.2, 0.9),
        (0.4, 1.8, 1.0, 0.95),
    ):
        n = agreement.pairs_for_equivalence(sd, margin, bias=bias, power=power)
        said = 100 * agreement.equivalence_power(n, sd, margin, bias=bias)
        differences = rng.normal(bias, sd, (studies, n))
        above = stats.ttest_1samp(differences, -margin, axis=1, alternative="greater").pvalue
        below = stats.ttest_1samp(differences, margin, axis=1, alternative="less").pvalue
        seen = 100 * float(np.mean(np.maximum(above, below) <= 0.05))
        off = tally.enter(said, seen, studies)
        print(f"{sd}, {margin}, {bias}, {power} | {n} | {said:.1f}, {off}")
    print("pairs for a half-width: sd, half-width | for the bias, its t interval's mean half-width")
    print("  | for the limits, their intervals' mean half-width")
    for sd, half in ((1.0, 0.5), (0.6, 0.15)):
        line = f"{sd}, {half}"
        for pairs, of in (
            (agreement.pairs_for_bias, "bias"),
            (agreement.pairs_for_limits, "lower"),
        ):
            n = pairs(sd, half)
            widths = []
            for _ in range(studies):
                first = np.tile([72.0, 1.5, 17.0], (n, 1))
                second = first + rng.normal(0, sd, (n, 3))
                found = getattr(agreement.bland_altman(first, second)[0], of)
                widths.append((found.high - found.low) / 2)
            line += f" | {n}: {np.mean(widths):.3f} ± {np.std(widths) / np.sqrt(studies):.3f}"
        print(line, flush=True)


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    generator = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    cells = Tally()
    mean_difference(number, generator, cells)
    limits(number, generator, cells)
    equivalence(number, generator, cells)
    sizes(number, generator, cells)
    print(
        f"{cells.cells} cells: {cells.within_two} within two standard errors, "
        f"{cells.within_four} within four"
    )
