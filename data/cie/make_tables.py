"""Writes data/cie from the CIE tables that colour-science (BSD-3-Clause) carries.

Observers are 1 nm tables as published. Illuminants are published at 5 nm and stand here at 1 nm:
A from its defining formula; D50, D55, D65 and D75 by linear interpolation, as CIE 015:2018 (4.1.2)
prescribes for daylight; C, F and LED by the cubic Lagrange interpolation of ASTM E2022, with which
the sums give the white points that ASTM E308 prints (linear interpolation misses them by up to 0.1
in Z). Outside the published range (below 380 nm for F and LED) the power is 0.

    python data/cie/make_tables.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

import colour

OUT = Path(__file__).resolve().parent
WAVELENGTHS = np.arange(360, 781)
SERIES_F = {f"F{i}": f"FL{i}" for i in range(1, 13)}
LEDS = ["LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"]


def standard_a() -> np.ndarray:
    """CIE 015:2018, equation 4.1: Planckian with c2 = 1.435e7 nm K at 2848 K, 100 at 560 nm."""
    second = 1.435e7 / 2848
    wavelength = WAVELENGTHS.astype(float)
    ratio = np.expm1(second / 560) / np.expm1(second / wavelength)
    return 100 * (560 / wavelength) ** 5 * ratio


def linear(name: str) -> np.ndarray:
    table = colour.SDS_ILLUMINANTS[name]
    return np.interp(WAVELENGTHS, table.wavelengths, table.values, left=0.0, right=0.0)


def lagrange(name: str) -> np.ndarray:
    """Cubic through the four nearest bands, quadratic in the first and last interval."""
    table = colour.SDS_ILLUMINANTS[name]
    bands, values = table.wavelengths, table.values
    power = np.zeros(WAVELENGTHS.shape)
    for k, wavelength in enumerate(WAVELENGTHS):
        if not bands[0] <= wavelength <= bands[-1]:
            continue
        interval = min(int((wavelength - bands[0]) // (bands[1] - bands[0])), len(bands) - 2)
        nodes = range(max(interval - 1, 0), min(interval + 3, len(bands)))
        for i in nodes:
            others = [j for j in nodes if j != i]
            weights = [(wavelength - bands[j]) / (bands[i] - bands[j]) for j in others]
            power[k] += values[i] * np.prod(weights)
    # Beside a steep edge of a nearly dark region the cubic may dip below 0.
    return np.maximum(power, 0.0)


def write(name: str, header: list[str], columns: list[np.ndarray], comments: list[str]) -> None:
    lines = [f"# {text}" for text in comments]
    lines.append(",".join(header))
    for row in zip(*columns, strict=True):
        lines.append(",".join(f"{value:.10g}" for value in row))
    (OUT / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def main() -> None:
    deg2 = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    deg10 = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    wavelengths = deg2.wavelengths
    write(
        "observers_1nm.csv",
        ["wavelength_nm", "x2", "y2", "z2", "x10", "y10", "z10"],
        [wavelengths, *deg2.values.T, *deg10.values.T],
        ["CIE 1931 and CIE 1964 colour-matching functions, 1 nm (ISO/CIE 11664-1)."],
    )
    names = ["A", "C", "D50", "D55", "D65", "D75", "E", *SERIES_F, *LEDS]
    values = {"A": standard_a(), "E": np.full(WAVELENGTHS.shape, 100.0)}
    for name in names:
        if name not in values:
            source = SERIES_F.get(name, name)
            values[name] = linear(source) if source.startswith("D") else lagrange(source)
    write(
        "illuminants_1nm.csv",
        ["wavelength_nm", *names],
        [WAVELENGTHS, *(values[name] for name in names)],
        ["CIE illuminants, relative spectral power, 1 nm (CIE 015:2018); see SOURCES.md."],
    )
    components = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    series = [components[f"S{i}"] for i in range(3)]
    write(
        "daylight_components.csv",
        ["wavelength_nm", "S0", "S1", "S2"],
        [WAVELENGTHS, *(np.interp(WAVELENGTHS, s.wavelengths, s.values) for s in series)],
        ["Components of daylight, 1 nm by linear interpolation (CIE 015:2018, table 6)."],
    )


if __name__ == "__main__":
    main()
