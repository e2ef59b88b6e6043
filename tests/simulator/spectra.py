"""Spectral data and its colour under CIE D65 / 2 degrees.

The colorimetry here is kept apart from the library under test: the tables are those of the
general-purpose package colour-science, and the sums are made at 1 nm (CIE 015:2018).
"""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

DATA = Path(__file__).resolve().parents[2] / "data"
#: The grid of every spectrum in the simulator: 400 to 700 nm in steps of 10 nm.
WAVELENGTHS_NM: Array = np.arange(400.0, 701.0, 10.0)


def read_columns(file: Path) -> dict[str, Array]:
    """Columns of a CSV with `#` comments and a header row, by name, on WAVELENGTHS_NM."""
    rows = [
        line
        for line in file.read_text(encoding="utf-8").splitlines()
        if line and not line.startswith("#")
    ]
    names = rows[0].split(",")
    table = np.array([[float(cell) for cell in row.split(",")] for row in rows[1:]])
    if not np.array_equal(table[:, 0], WAVELENGTHS_NM):
        raise ValueError(f"{file}: the wavelengths are not 400 to 700 nm in steps of 10 nm")
    return {name: table[:, i] for i, name in enumerate(names) if i > 0}


@functools.cache
def camera(letter: str) -> Array:
    """Sensitivities (31, 3) of measured camera A, B, C or D, relative to energy."""
    columns = read_columns(DATA / "camera" / "cameras.csv")
    return np.stack([columns[f"camera_{letter}_{channel}"] for channel in "RGB"], axis=1)


@functools.cache
def light(name: str) -> Array:
    """Relative power (31,) of D50, D65, A or LED-B3, 1 at 560 nm."""
    return read_columns(DATA / "camera" / "lights.csv")[name]


@functools.cache
def tooth_reflectances() -> dict[str, Array]:
    """The modelled teeth and gingivae of data/camera, by name."""
    return read_columns(DATA / "camera" / "tooth_reflectance.csv")


@functools.cache
def _weights() -> tuple[Array, Array]:
    """Matrix (31, 3) from reflectance on WAVELENGTHS_NM to XYZ, and the white's XYZ; Y = 1."""
    from scipy.interpolate import CubicSpline

    import colour

    wavelengths = np.arange(380.0, 781.0, 1.0)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    cmf = np.array([observer[w] for w in wavelengths], dtype=np.float64)
    source = colour.SDS_ILLUMINANTS["D65"]
    power = np.array([source[w] for w in wavelengths], dtype=np.float64)
    product = cmf * power[:, None]
    product /= product[:, 1].sum()
    # Interpolation is linear in the data, so unit spectra give its matrix; the ends are held.
    held = np.clip(wavelengths, WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1])
    interpolation = CubicSpline(WAVELENGTHS_NM, np.eye(len(WAVELENGTHS_NM)))(held)
    return np.asarray(interpolation.T @ product, dtype=np.float64), product.sum(axis=0)


def to_xyz(reflectance: Array) -> Array:
    """XYZ (..., 3) under D65 / 2 degrees of reflectances (..., 31); Y = 1 for R = 1."""
    return reflectance @ _weights()[0]


def xyz_to_lab(xyz: Array) -> Array:
    """CIELAB (..., 3) under D65 / 2 degrees, ISO/CIE 11664-4 with the rational constants."""
    ratio = xyz / _weights()[1]
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.stack(
        [
            116 * f[..., 1] - 16,
            500 * (f[..., 0] - f[..., 1]),
            200 * (f[..., 1] - f[..., 2]),
        ],
        axis=-1,
    )


def to_lab(reflectance: Array) -> Array:
    """CIELAB (..., 3) under D65 / 2 degrees of reflectances (..., 31)."""
    return xyz_to_lab(to_xyz(reflectance))


def smooth_reflectance(lab: tuple[float, float, float], blue_fall: float) -> Array:
    """A tooth-like reflectance (31,) of the wanted CIELAB under D65 / 2 degrees.

    log R is a parabola in wavelength less `blue_fall` · exp(−(λ − 400)/60); the parabola's three
    coefficients are solved for the colour.
    """
    from scipy.optimize import fsolve

    x = (WAVELENGTHS_NM - 560) / 140
    fall = blue_fall * np.exp(-(WAVELENGTHS_NM - 400) / 60)

    def curve(s: Array) -> Array:
        return np.asarray(np.exp(s[0] + s[1] * x + s[2] * x * x - fall), dtype=np.float64)

    start = np.array([2 * np.log((lab[0] + 16) / 116) * 1.5, 0.2, 0.0])
    solved, _, code, message = fsolve(
        lambda s: to_lab(curve(s)) - np.array(lab), start, full_output=True
    )
    if code != 1:
        raise ValueError(f"no smooth reflectance of CIELAB {lab}: {message}")
    return curve(solved)
