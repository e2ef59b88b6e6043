"""Tristimulus values by colour-science (BSD-3-Clause), the vectors that the C++ tests read.

Every illuminant and observer of data/cie, on grids of 1, 5, 10 and 20 nm, whole (360–780 nm) and
with missing ends, by ``sd_to_XYZ_ASTME308`` (ASTM E308 with tables built as ASTM E2022).
colour-science is given the 1 nm illuminants of data/cie, so that both sides integrate the same
light; the omission of 5 nm tables and the interpolation of 20 nm data to 10 nm, which are its
defaults, are turned off, since this library builds E2022 tables for those intervals too.

    tristimulus.py tests/data/tristimulus.csv

With ``--defaults`` it prints how far colour-science's own defaults lie away, and which of the two
is nearer the 1 nm summation.
"""

from __future__ import annotations

import argparse
import csv
import math
import warnings
from pathlib import Path

import numpy as np

import colour

ROOT = Path(__file__).resolve().parents[3]
OBSERVERS = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}
GRIDS = [
    (360, 1, 421),
    (380, 1, 351),
    (360, 5, 85),
    (380, 5, 71),
    (400, 5, 61),
    (360, 10, 43),
    (380, 10, 36),
    (400, 10, 31),
    (400, 10, 36),
    (360, 20, 22),
    (400, 20, 16),
]


def specimen(name: str, wavelength: float) -> float:
    """Closed forms, so that the C++ test makes the same curves from the wavelength alone."""
    if name == "tooth":
        return 0.25 + 0.4 / (1 + math.exp(-(wavelength - 480) / 60))
    if name == "ripple":
        return 0.5 + 0.35 * math.sin(wavelength / 17)
    raise ValueError(name)


def illuminants() -> dict[str, colour.SpectralDistribution]:
    path = ROOT / "data/cie/illuminants_1nm.csv"
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    names = lines[0].split(",")[1:]
    table = np.array([[float(cell) for cell in line.split(",")] for line in lines[1:]])
    return {
        name: colour.SpectralDistribution(table[:, i + 1], table[:, 0], name=name)
        for i, name in enumerate(names)
    }


def by_colour_science(
    curve: colour.SpectralDistribution,
    observer: str,
    light: colour.SpectralDistribution,
    *,
    defaults: bool,
) -> np.ndarray:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return np.asarray(
            colour.colorimetry.sd_to_XYZ_ASTME308(
                curve,
                colour.MSDS_CMFS[OBSERVERS[observer]],
                light,
                mi_5nm_omission_method=defaults,
                mi_20nm_interpolation_method=defaults,
            )
        )


def curve_on(name: str, first: int, step: int, count: int) -> colour.SpectralDistribution:
    wavelengths = [first + step * i for i in range(count)]
    return colour.SpectralDistribution([specimen(name, w) for w in wavelengths], wavelengths)


def write(path: Path) -> None:
    with path.open("w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(
            ["illuminant", "observer", "first_nm", "step_nm", "count", "specimen", "x", "y", "z"]
        )
        for light_name, light in illuminants().items():
            for observer in OBSERVERS:
                for grid in GRIDS:
                    for name in ("tooth", "ripple"):
                        xyz = by_colour_science(
                            curve_on(name, *grid), observer, light, defaults=False
                        )
                        numbers = [f"{value:.10f}" for value in xyz]
                        rows.writerow([light_name, observer, *grid, name, *numbers])


def worst_of(differences: list[np.ndarray]) -> str:
    return f"{max(float(np.abs(d).max()) for d in differences):.1e}"


def report_defaults() -> None:
    print("Largest |difference| of X, Y, Z of the tooth-like curve, Y of white = 100.")
    print("light: from colour-science's own illuminant; 5 nm and 20 nm: of this library's tables")
    print("and of colour-science's defaults from the 1 nm summation of the curve itself.")
    for light_name, light in illuminants().items():
        own_name = light_name.replace("F", "FL", 1) if light_name.startswith("F") else light_name
        own = colour.SDS_ILLUMINANTS[own_name]
        lights = []
        gaps: dict[str, list[np.ndarray]] = {}
        for observer in OBSERVERS:
            fine = curve_on("tooth", 360, 1, 421)
            truth = by_colour_science(fine, observer, light, defaults=False)
            lights.append(truth - by_colour_science(fine, observer, own, defaults=True))
            for grid in ((360, 5, 85), (360, 20, 22)):
                curve = curve_on("tooth", *grid)
                for defaults in (False, True):
                    xyz = by_colour_science(curve, observer, light, defaults=defaults)
                    key = f"{grid[1]} nm {'theirs' if defaults else 'ours'}"
                    gaps.setdefault(key, []).append(xyz - truth)
        parts = [f"light {worst_of(lights)}"]
        parts += [f"{key} {worst_of(values)}" for key, values in gaps.items()]
        print(f"{light_name:9s}", "  ".join(parts))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("csv", nargs="?", type=Path)
    parser.add_argument("--defaults", action="store_true")
    arguments = parser.parse_args()
    if arguments.defaults:
        report_defaults()
    if arguments.csv:
        write(arguments.csv)


if __name__ == "__main__":
    main()
