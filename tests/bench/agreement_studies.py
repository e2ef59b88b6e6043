"""Whether the intervals of `mamelon.agreement` hold as often as they say: stated against seen.

Usage: python tests/bench/agreement_studies.py [STUDIES]
"""

from __future__ import annotations

import sys

import numpy as np

import mamelon as mm
from mamelon import agreement


def mean_difference(studies: int, rng: np.random.Generator) -> None:
    """The mean difference from the mean, of repeats of several shapes of error."""
    print("mean difference from the mean, 95 %: repeats | held % for four shapes of error")
    shapes = [(0.25, 0.13, 0.22), (0.4, 0.15, 0.3), (0.2, 0.2, 0.2), (0.5, 0.1, 0.1)]
    for n in (3, 5, 10, 20):
        line = f"{n} |"
        for sd in shapes:
            truth = np.mean(mm.de00([72, 1.5, 17], rng.normal([72, 1.5, 17], sd, (200_000, 3))))
            held = 0
            for _ in range(studies):
                rows = rng.normal([72, 1.5, 17], sd, (n, 3))
                found = agreement.mcdm_interval(rows, bootstrap=600)
                held += found.low <= truth <= found.high
            line += f" {100 * held / studies:.1f}"
        print(line, flush=True)


def limits(studies: int, rng: np.random.Generator) -> None:
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
        seen = 100 * held / studies
        print(
            f"{things} x {repeats} | {seen[0]:.1f} {seen[1]:.1f} {seen[2]:.1f} | {seen[3]:.1f}",
            flush=True,
        )


def equivalence(studies: int, rng: np.random.Generator) -> None:
    """Equivalence said where the difference is just the margin (5 % at most) and where none."""
    print("equivalence within 0.8: pairs | said at a difference of 0.8 %, of 0 %")
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
        print(f"{n} | {said[0]:.1f} {said[1]:.1f}", flush=True)


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    generator = np.random.default_rng(1)
    mean_difference(number, generator)
    limits(number, generator)
    equivalence(number, generator)
