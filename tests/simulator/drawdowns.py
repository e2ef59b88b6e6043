"""Makes the invented demo drawdowns of data/pastes/drawdowns_fawn.csv.

Run as `python -m simulator.drawdowns` in `tests`, with the package importable. A paste that does
not exist is lit by radiative transfer with 32 streams; errors of thickness and noise are added.
"""

from __future__ import annotations

import numpy as np

import mamelon

from .spectra import DATA, WAVELENGTHS_NM, Array

#: Reduced scattering at 550 nm per mm, exponent of its fall, anisotropy.
SCATTERING_550, EXPONENT, ANISOTROPY = 1.6, 0.6, 0.7
BACKINGS = {"black": 0.045, "white": 0.82}
THICKNESSES_MM = (0.5, 1.0, 2.0)
NOISE, THICKNESS_SD_MM, REPEATS = 0.002, 0.02, 2


def paste() -> mamelon.Paste:
    """The invented paste."""
    w = WAVELENGTHS_NM
    grid = mamelon.Grid(400, 10, 31)
    absorption = 0.01 * (w / 550) ** -1.2 + 0.18 * np.exp(-(((w - 380) / 85) ** 2))
    scattering = SCATTERING_550 * (w / 550) ** -EXPONENT
    curves = [mamelon.PerMm(grid, list(v)) for v in (absorption, scattering)]
    return mamelon.Paste(
        "fawn",
        "body",
        *curves,
        refractive_index=1.51,
        transport=mamelon.TransportConstants(*curves, ANISOTROPY),
    )


def drawdowns(read: mamelon.Paste, seed: int = 23) -> str:
    """The table of one paste, d:8 with the specular part excluded, backings read in air, wetted."""
    draws = np.random.default_rng(seed)
    grid = mamelon.Grid(400, 10, 31)
    surface = mamelon.interface_of(read.refractive_index, False)
    head = [
        "specimen",
        "thickness_mm",
        "thickness_sd_mm",
        "backing",
        "geometry",
        "contact",
        "value",
    ]
    rows = [
        "# Invented drawdowns of an invented paste. Measure your own.",
        ",".join([*head, *(f"{w:.0f}" for w in WAVELENGTHS_NM)]),
    ]

    def row(cells: list[str], values: Array) -> None:
        rows.append(",".join([*cells, *(f"{v:.4f}" for v in values)]))

    external = {}
    for name, level in BACKINGS.items():
        tilt = level * (1 + 0.03 * (WAVELENGTHS_NM - 550) / 150)
        external[name] = np.round(tilt, 4)
        row(["", "", "", name, "d:8 excluded", "", "external"], external[name])
    for number, nominal in enumerate(THICKNESSES_MM, 1):
        thickness = nominal + THICKNESS_SD_MM * draws.standard_normal()
        for name, values in external.items():
            floor = mamelon.Reflectance(grid, list(mamelon.to_internal(values, surface)))
            stack = mamelon.Stack(floor, [mamelon.Layer(read, float(thickness))])
            seen = np.asarray(mamelon.predict(stack, "transport", 32))
            for _ in range(REPEATS):
                noisy = seen + NOISE * draws.standard_normal(seen.size)
                cells = [f"disc {number}", f"{nominal:.2f}", f"{THICKNESS_SD_MM}", name]
                row([*cells, "d:8 excluded", "contact", ""], noisy)
    return "\n".join(rows) + "\n"


def main() -> None:
    """Writes the demo drawdowns."""
    (DATA / "pastes" / "drawdowns_fawn.csv").write_text(drawdowns(paste()), encoding="utf-8")


if __name__ == "__main__":
    main()
