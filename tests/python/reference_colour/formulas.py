"""Colour differences, adaptation and indices by colour-science (BSD-3-Clause).

Vectors that the C++ tests read: random pairs, near-neutral ones and opposite hues.

    formulas.py tests/data/formulas.csv

DIN99o is evaluated with colour-science's general DIN99 form and the constants of DIN 6176:2018,
which it does not list by name. CAM16-UCS: both colours under D65/2° with an adapting luminance of
20 cd/m², a background of Y = 0.2 and an average surround, from CIELAB by the same white.
"""

from __future__ import annotations

import csv
import sys
import warnings
from pathlib import Path

import numpy as np
from colour.models import din99

import colour

WHITE = np.array([0.9504, 1.0, 1.0888])
OTHER = np.array([1.0985, 1.0, 0.3558])
# L factor, L weight, turn, stretch, 1/0.0435 and the chroma weight, turn back, unit.
DIN99O = (303.67, 0.0039, 26.0, 0.83, 1 / 0.0435, 0.075, 26.0, 1.0)


def pairs() -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(11664)
    low, high = [0, -128, -128], [100, 128, 128]
    wide = dice.uniform(low, high, (200, 2, 3))
    tooth = dice.uniform([40, -5, 0], [95, 15, 45], (100, 2, 3))
    grey = dice.uniform([20, -1e-3, -1e-3], [95, 1e-3, 1e-3], (50, 2, 3))
    opposite = dice.uniform(low, high, (50, 2, 3))
    opposite[:, 1, 1:] = -opposite[:, 0, 1:]
    every = np.concatenate([wide, tooth, grey, opposite])
    return every[:, 0], every[:, 1]


def lab_to_xyz(lab: np.ndarray) -> np.ndarray:
    return np.asarray(colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(WHITE)))


def cam16_ucs(lab: np.ndarray) -> np.ndarray:
    surround = colour.VIEWING_CONDITIONS_CAM16["Average"]
    found = colour.XYZ_to_CAM16(100 * lab_to_xyz(lab), 100 * WHITE, 20.0, 20.0, surround)
    jmh = np.stack([found.J, found.M, found.h], axis=-1)
    jab = np.asarray(colour.JMh_CAM16_to_CAM16UCS(jmh))
    # No light has these CIELAB values; CAM16 is not defined there.
    jab[~((found.J >= 0) & (found.M >= 0))] = np.nan
    return jab


def main() -> None:
    warnings.simplefilter("ignore")
    din99.DIN99_METHODS["DIN99o"] = DIN99O
    p, q = pairs()
    difference = colour.delta_E
    din_p, din_q = (din99.Lab_to_DIN99(x, method="DIN99o") for x in (p, q))
    cam_p, cam_q = cam16_ucs(p), cam16_ucs(q)
    xyz = lab_to_xyz(p)
    columns = {
        "de76": difference(p, q, method="CIE 1976"),
        "de94": difference(p, q, method="CIE 1994"),
        "de94_textiles": difference(p, q, method="CIE 1994", textiles=True),
        "cmc_2_1": difference(p, q, method="CMC", l=2, c=1),
        "cmc_1_1": difference(p, q, method="CMC", l=1, c=1),
        "din99o": np.linalg.norm(din_p - din_q, axis=-1),
        "de00": difference(p, q, method="CIE 2000"),
        "cam16_j": cam_p[:, 0],
        "cam16_a": cam_p[:, 1],
        "cam16_b": cam_p[:, 2],
        "cam16_de": np.linalg.norm(cam_p - cam_q, axis=-1),
    }
    for name, transform in (("cat16", "CAT16"), ("bradford", "Bradford")):
        adapted = colour.chromatic_adaptation(
            xyz, WHITE, OTHER, method="Von Kries", transform=transform
        )
        for i, axis in enumerate("xyz"):
            columns[f"{name}_{axis}"] = adapted[:, i]
    # colour-science compares rounded hue angles and so takes the wrong side for some exactly
    # opposite hues, 4 of these 50; 40-digit arithmetic (de00.py) decides there.
    columns["de00"][-50:] = np.nan
    with Path(sys.argv[1]).open("w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["l1", "a1", "b1", "l2", "a2", "b2", *columns])
        for i in range(len(p)):
            start = [repr(float(x)) for x in (*p[i], *q[i])]
            rows.writerow([*start, *(f"{values[i]:.15g}" for values in columns.values())])


if __name__ == "__main__":
    main()
