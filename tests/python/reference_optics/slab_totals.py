"""Reflectance and transmittance of slabs by iadpython (adding–doubling) for the C++ tests.

Normal and diffuse incidence, with and without a mismatch of refractive index. Run with the path of
the CSV to write: ``slab_totals.py tests/data/slab_totals.csv``.
"""

from __future__ import annotations

import csv
import itertools
import sys
from pathlib import Path

import iadpython

# Absorption and scattering per mm, anisotropy, thickness in mm, refractive index.
MEDIA = [(0.02, 1.0), (0.2, 3.0), (0.0, 2.0), (1.5, 0.5)]
THICKNESSES = [0.3, 1.0, 3.0]
ANISOTROPIES = [0.0, 0.5, 0.8]
INDICES = [1.0, 1.5]
QUADRATURE_POINTS = 24


def main() -> None:
    with Path(sys.argv[1]).open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(
            [
                *("absorption", "scattering", "g", "thickness_mm", "index"),
                *("r_normal", "t_normal", "r_diffuse", "t_diffuse"),
            ]
        )
        for (mu_a, reduced), d, g, n in itertools.product(
            MEDIA, THICKNESSES, ANISOTROPIES, INDICES
        ):
            mu_s = reduced / (1 - g)
            total = mu_a + mu_s
            sample = iadpython.Sample(
                a=mu_s / total, b=total * d, g=g, d=d, n=n, quad_pts=QUADRATURE_POINTS
            )
            values = [f"{float(v):.8f}" for v in sample.rt()]
            out.writerow([mu_a, repr(mu_s), g, d, n, *values])


if __name__ == "__main__":
    main()
