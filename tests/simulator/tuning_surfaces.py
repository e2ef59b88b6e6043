"""Reflectances that the constants of the library's expectations were chosen with.

They judge nothing: `judged_surfaces` does, which shares no family with these.
"""

from __future__ import annotations

import numpy as np

from .judged_surfaces import Generator
from .spectra import WAVELENGTHS_NM, Array

W = WAVELENGTHS_NM
X = (W - 550) / 150


def double_pass(draws: np.random.Generator) -> Array:
    """A tooth: light through stained enamel twice, turned back by dentine of an even slope."""
    back = draws.uniform(0.45, 0.75) * (1 + draws.uniform(0.02, 0.14) * X)
    path = draws.uniform(0.4, 2.0)
    loss = draws.uniform(0.05, 0.3) * (W / 450) ** -draws.uniform(3, 7) + draws.uniform(0, 0.05)
    blue = draws.uniform(0, 0.06) * (W / 450) ** -4
    return np.asarray(back * np.exp(-2 * path * loss) + blue)


def logistic(draws: np.random.Generator) -> Array:
    """A tooth: one S-shaped rise with a shoulder and smooth Fourier noise."""
    low, high = draws.uniform(0.1, 0.35), draws.uniform(0.4, 0.75)
    curve = low + (high - low) / (
        1 + np.exp(-(W - draws.uniform(395, 450)) / draws.uniform(35, 90))
    )
    noise = sum(draws.normal(0, 0.012) * np.cos(np.pi * k * (X + 1) / 2) for k in range(1, 7))
    return np.asarray(curve * np.exp(noise))


def cubic_log(draws: np.random.Generator) -> Array:
    """A tooth: a cubic in the logarithm of reflectance, with a weak pair of blood bands."""
    curve = (
        draws.uniform(-1.2, -0.45) + draws.uniform(0.1, 0.45) * X - draws.uniform(0, 0.25) * X**2
    )
    curve = curve + draws.uniform(-0.05, 0.12) * X**3
    blood = np.exp(-(((W - 542) / 16) ** 2)) + np.exp(-(((W - 577) / 12) ** 2))
    return np.asarray(np.exp(curve - draws.uniform(0, 0.04) * blood))


def edged_pigments(draws: np.random.Generator) -> Array:
    """A composite: absorption edges as error functions, K/S mixed, R by Duncan's addition."""
    from scipy.special import erfc

    def edge(at: float, width: float) -> Array:
        return np.asarray(erfc((W - at) / width) / 2)

    ratio = (
        draws.uniform(0.01, 0.25) * edge(draws.uniform(470, 545), draws.uniform(20, 60))
        + draws.uniform(0, 0.05) * edge(draws.uniform(560, 600), draws.uniform(15, 50))
        + draws.uniform(0.001, 0.04)
        + draws.uniform(0, 0.2) * np.exp(-(W - 400) / draws.uniform(10, 40))
    )
    ratio = ratio * (W / 550) ** draws.uniform(-0.2, 1.0)
    inside = 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)
    return np.asarray(0.38 * inside / (1 - 0.6 * inside))


def two_dyes(draws: np.random.Generator) -> Array:
    """A tab: asymmetric yellow and red bands over a grey."""
    yellow_at, red_at = draws.uniform(420, 465), draws.uniform(500, 560)
    left = np.where(yellow_at > W, 60, draws.uniform(25, 50))
    yellow = np.exp(-(((W - yellow_at) / left) ** 2))
    red = np.exp(-(((W - red_at) / np.where(red_at > W, 45, draws.uniform(20, 35))) ** 2))
    density = draws.uniform(0.05, 0.8) * yellow + draws.uniform(0, 0.25) * red
    return np.asarray(draws.uniform(0.3, 0.75) * np.exp(-density) * (1 + draws.uniform(0, 0.1) * X))


def thin_over_floor(draws: np.random.Generator) -> Array:
    """A restoration: an absorbing film over a bright or dark floor of another hue."""
    floor = draws.uniform(0.15, 0.75) * (1 + draws.uniform(-0.1, 0.35) * X)
    haze = draws.uniform(0.05, 0.35) * (W / 550) ** -draws.uniform(0.3, 1.5)
    film = draws.uniform(0.02, 0.5) / (
        1 + np.exp((W - draws.uniform(470, 530)) / draws.uniform(10, 35))
    )
    film = film + draws.uniform(0, 0.12) / (1 + np.exp((W - draws.uniform(560, 600)) / 14))
    return np.asarray(
        haze + floor * (1 - haze) * np.exp(-2 * film) * np.exp(-draws.uniform(0, 0.3))
    )


TEETH: dict[str, Generator] = {
    "double pass": double_pass,
    "logistic": logistic,
    "cubic log": cubic_log,
}
RESTORATIONS: dict[str, Generator] = {
    "edged pigments": edged_pigments,
    "two dyes": two_dyes,
    "thin over floor": thin_over_floor,
}
