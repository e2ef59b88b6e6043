"""Integrates the Kubelka–Munk equations with 40 digits and writes the vectors the C++ tests read.

The two-flux equation for the reflectance R of a layer growing on a floor (Kubelka 1948,
J Opt Soc Am 38:448) is integrated as it stands by Taylor series, with none of the closed forms the
library uses:

    dR/dx = S − 2 (K + S) R + S R²,   R(0) = floor
    dT/dx = −(K + S) T + S R T,       T(0) = 1   (R over a black floor)

Run with the path of the CSV to write:
``kubelka_munk_stacks.py tests/data/kubelka_munk_stacks.csv``.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import mpmath as mp

mp.mp.dps = 40

# floor, then (K per mm, S per mm, thickness mm) from the floor outward; decimal text throughout.
STACKS: list[tuple[str, list[tuple[str, str, str]]]] = [
    ("0.02", [("0.10", "0.70", "1.0")]),
    ("0.85", [("0.40", "0.90", "1.0")]),
    ("0.30", [("0.02", "1.20", "2.0")]),
    ("0.85", [("0.05", "0.50", "0.5")]),
    ("0.02", [("0.10", "0.90", "1.0"), ("0.03", "0.45", "0.5")]),
    ("0.02", [("0.03", "0.45", "0.5"), ("0.10", "0.90", "1.0")]),
    ("0.60", [("0", "0.8", "1.5")]),
    ("0.60", [("0.3", "0", "1.5")]),
    ("0.60", [("0", "0", "1.5")]),
    ("0.45", [("1e-9", "0.6", "0.8")]),
    ("0.12", [("0.000002", "0.000003", "0.4"), ("0.7", "1.9", "0.31")]),
    ("0.08", [("2.5", "6.0", "0.3"), ("0.15", "1.1", "1.2"), ("0.01", "0.25", "0.6")]),
    ("0.95", [("0.002", "3.2", "0.7"), ("0.9", "0.05", "0.2"), ("0.04", "0.9", "2.2")]),
    ("0.5", [("0.2", "0.5", "0.0001")]),
]


def grow(k: mp.mpf, s: mp.mpf, thickness: mp.mpf, start: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
    """Reflectance over `start` and transmittance of one layer."""
    solution = mp.odefun(
        lambda _, y: [
            s - 2 * (k + s) * y[0] + s * y[0] ** 2,
            s - 2 * (k + s) * y[1] + s * y[1] ** 2,
            (s * y[1] - k - s) * y[2],
        ],
        0,
        [start, mp.mpf(0), mp.mpf(1)],
    )
    over_start, _, transmittance = solution(thickness)
    return over_start, transmittance


def main() -> None:
    with Path(sys.argv[1]).open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["floor", "layers_k_s_mm", "reflectance", "transmittance_of_last_layer"])
        for floor, layers in STACKS:
            r = mp.mpf(floor)
            t = mp.mpf(1)
            for k, s, d in layers:
                r, t = grow(mp.mpf(k), mp.mpf(s), mp.mpf(d), r)
            text = ";".join(" ".join(layer) for layer in layers)
            out.writerow([floor, text, mp.nstr(r, 25), mp.nstr(t, 25)])


if __name__ == "__main__":
    main()
