"""CIEDE2000 with 40 digits, the vectors that the C++ tests read.

Sharma, Wu, Dalal 2005 (Color Res Appl 30:21–30), equations 2–22, in degrees as printed, by
mpmath. The coordinates are the exact values of the doubles. Whether two hues stand more than 180°
apart, and whether they sum to less than 360°, is decided on exact fractions: a1'b2 − a2'b1 has the
sign of a1 b2 − a2 b1, because 1 + G is above 0.

    de00.py tests/data/de00_40_digits.csv
"""

from __future__ import annotations

import csv
import itertools
import math
import random
import sys
from fractions import Fraction
from pathlib import Path

import mpmath as mp

mp.mp.dps = 40

Colour = tuple[float, float, float]


def hue(a: mp.mpf, b: mp.mpf) -> mp.mpf:
    if a == 0 and b == 0:
        return mp.mpf(0)
    angle = mp.degrees(mp.atan2(b, a))
    return angle + 360 if angle < 0 else angle


def half_plane(a: float, b: float) -> int:
    """0 for hues in [0, 180), 1 for hues in [180, 360)."""
    return 0 if b > 0 or (b == 0 and a > 0) else 1


def ciede2000(p: Colour, q: Colour, kl: int) -> tuple[mp.mpf, mp.mpf, mp.mpf, mp.mpf]:
    (l1, a1, b1), (l2, a2, b2) = ([mp.mpf(x) for x in colour] for colour in (p, q))
    chroma = (mp.sqrt(a1**2 + b1**2) + mp.sqrt(a2**2 + b2**2)) / 2
    g = (1 - mp.sqrt(chroma**7 / (chroma**7 + mp.mpf(25) ** 7))) / 2
    a1p, a2p = (1 + g) * a1, (1 + g) * a2
    c1, c2 = mp.sqrt(a1p**2 + b1**2), mp.sqrt(a2p**2 + b2**2)
    h1, h2 = hue(a1p, b1), hue(a2p, b2)

    if c1 * c2 == 0:
        dh_angle, mean_hue = mp.mpf(0), h1 + h2
    else:
        f1, f2 = [Fraction(x) for x in p[1:]], [Fraction(x) for x in q[1:]]
        turn = f1[0] * f2[1] - f2[0] * f1[1]
        sides = half_plane(*p[1:]), half_plane(*q[1:])
        apart = sides[0] != sides[1] and (turn < 0 if sides[1] else turn > 0)
        dh_angle = h2 - h1
        mean_hue = (h1 + h2) / 2
        if apart:
            dh_angle += -360 if sides[1] else 360
            mean_hue += 180 if f1[0] * f2[1] + f2[0] * f1[1] < 0 else -180

    dl, dc = l2 - l1, c2 - c1
    dh = 2 * mp.sqrt(c1 * c2) * mp.sin(mp.radians(dh_angle) / 2)
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    t = (
        1
        - mp.mpf("0.17") * mp.cos(mp.radians(mean_hue - 30))
        + mp.mpf("0.24") * mp.cos(mp.radians(2 * mean_hue))
        + mp.mpf("0.32") * mp.cos(mp.radians(3 * mean_hue + 6))
        - mp.mpf("0.20") * mp.cos(mp.radians(4 * mean_hue - 63))
    )
    theta = 30 * mp.exp(-(((mean_hue - 275) / 25) ** 2))
    rc = 2 * mp.sqrt(mean_c**7 / (mean_c**7 + mp.mpf(25) ** 7))
    rt = -mp.sin(mp.radians(2 * theta)) * rc
    sl = 1 + mp.mpf("0.015") * (mean_l - 50) ** 2 / mp.sqrt(20 + (mean_l - 50) ** 2)
    sc = 1 + mp.mpf("0.045") * mean_c
    sh = 1 + mp.mpf("0.015") * mean_c * t
    parts = dl / (kl * sl), dc / sc, dh / sh
    de = mp.sqrt(sum(x**2 for x in parts) + rt * parts[1] * parts[2])
    return de, *parts


def around(x: float) -> list[float]:
    return [math.nextafter(x, -math.inf), x, math.nextafter(x, math.inf)]


def random_pairs(dice: random.Random) -> list[tuple[Colour, Colour]]:
    def tooth() -> Colour:
        return dice.uniform(40, 95), dice.uniform(-5, 15), dice.uniform(0, 45)

    def wide() -> Colour:
        return dice.uniform(0, 100), dice.uniform(-128, 128), dice.uniform(-128, 128)

    def blue() -> Colour:
        angle, c = math.radians(dice.uniform(255, 295)), dice.uniform(5, 120)
        return dice.uniform(0, 100), c * math.cos(angle), c * math.sin(angle)

    def near(p: Colour) -> Colour:
        size = 10 ** dice.uniform(-9, 0)
        return tuple(x + size * dice.uniform(-1, 1) for x in p)  # type: ignore[return-value]

    pairs = [(tooth(), tooth()) for _ in range(150)]
    pairs += [(wide(), wide()) for _ in range(150)]
    pairs += [(blue(), blue()) for _ in range(100)]
    pairs += [(p, near(p)) for p in (tooth() for _ in range(100))]
    for _ in range(60):
        size = 10 ** dice.uniform(-14, -1)
        grey = (dice.uniform(20, 95), size * dice.uniform(-1, 1), size * dice.uniform(-1, 1))
        pairs += [(grey, near(grey)), (grey, tooth())]
    return pairs


def awkward_pairs(dice: random.Random) -> list[tuple[Colour, Colour]]:
    pairs: list[tuple[Colour, Colour]] = []
    # Zero chroma on one side or both, and hues on the axes, with either sign of zero.
    axes = [(0.0, 0.0), (-0.0, 0.0), (3.0, 0.0), (3.0, -0.0), (-3.0, 0.0), (-3.0, -0.0)]
    axes += [(0.0, 3.0), (-0.0, 3.0), (0.0, -3.0), (-0.0, -3.0)]
    pairs += [((60.0, *p), (58.5, *q)) for p, q in itertools.product(axes, axes)]
    for _ in range(25):
        a, b = dice.uniform(-60, 60), dice.uniform(-60, 60)
        k = dice.choice([1, 2, 0.5, 4])
        l1, l2 = dice.uniform(30, 90), dice.uniform(30, 90)
        # The half turn, exact and one unit in the last place to either side.
        pairs += [((l1, a, b), (l2, x, -k * b)) for x in around(-k * a)]
        # Hues that sum to 360°, exact and nearly.
        pairs += [((l1, abs(a), b), (l2, x, -k * b)) for x in around(k * abs(a))]
    # Exact half turns whose products round differently from the hues.
    for _ in range(25):
        m, n = dice.randint(1, 9999), dice.randint(1, 9999)
        r, s = dice.randint(2, 99), dice.randint(2, 99)
        p, q = (m * r / 1024, n * r / 1024), (-m * s / 1024, -n * s / 1024)
        pairs += [((70.0, *p), (71.0, x, q[1])) for x in around(q[0])]
    # Rows 9–15 of Sharma, Wu, Dalal: around the half turn in printed decimals.
    pairs += [((50.0, 2.49, -0.001), (50.0, -2.49, b)) for b in (0.0009, 0.001, 0.0011, 0.0012)]
    pairs += [((50.0, -0.001, 2.49), (50.0, a, -2.49)) for a in (0.0009, 0.001, 0.0011)]
    return pairs


def main() -> None:
    dice = random.Random(20050201)
    pairs = random_pairs(dice) + awkward_pairs(dice)
    with Path(sys.argv[1]).open("w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["l1", "a1", "b1", "l2", "a2", "b2", "kl", "de", "dl", "dc", "dh"])
        for i, (p, q) in enumerate(pairs):
            kl = 1 if i % 4 else 2
            values = [mp.nstr(x, 22) for x in ciede2000(p, q, kl)]
            rows.writerow([*(repr(x) for x in (*p, *q)), kl, *values])


if __name__ == "__main__":
    main()
