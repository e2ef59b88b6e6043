"""Reflectances that judge the reading of photos.

No fit, no constant and no expectation of the library was made with them, and they share no code, no
data and no family with those, nor with `tuning_surfaces` and `former_judges`, with which constants
are chosen. Whoever changes a constant after a look at their figures moves them there and writes
others.

Four families of teeth, two of restorations and two of tabs. Reflectance of deep matter follows the
root of absorption over scattering: ln R = −c √(a/s), the limit of weak absorption (Bohren 1987, Am
J Phys 55:524, from memory). Places of bands are from memory too; strengths are free choices that
give the colours of teeth.
"""

from __future__ import annotations

import numpy as np

from .families import Generator
from .spectra import WAVELENGTHS_NM, Array

LAMBDA = WAVELENGTHS_NM


def _root(absorption: Array, scattering: Array, strength: float) -> Array:
    return np.asarray(np.exp(-strength * np.sqrt(absorption / scattering)))


def _hump(centre_nm: float, below_nm: float, above_nm: float) -> Array:
    """A band with a width on each side."""
    off = LAMBDA - centre_nm
    return np.asarray(1 / (1 + (off / np.where(off < 0, below_nm, above_nm)) ** 4))


# --- teeth ---


def power_law_tooth(draws: np.random.Generator) -> Array:
    """Absorption as a power of the wavelength over an even part, in deep scattering matter."""
    absorption = draws.uniform(0.01, 0.12) * (LAMBDA / 500) ** -draws.uniform(3, 8)
    absorption = absorption + draws.uniform(0.001, 0.02)
    scattering = (LAMBDA / 500) ** -draws.uniform(0.2, 1.2)
    return draws.uniform(0.62, 0.85) * _root(absorption, scattering, draws.uniform(1.5, 3.0))


def rises_in_energy(draws: np.random.Generator) -> Array:
    """Two edges as error functions of photon energy: proteins in the violet, stain in the green."""
    from scipy.special import erf

    energy = 1239.84 / LAMBDA
    violet = (1 + erf((energy - draws.uniform(2.95, 3.35)) / draws.uniform(0.4, 0.7))) / 2
    green = (1 + erf((energy - draws.uniform(2.3, 2.6)) / draws.uniform(0.2, 0.45))) / 2
    density = draws.uniform(0.3, 1.3) * violet + draws.uniform(0.02, 0.3) * green
    return np.asarray(draws.uniform(0.45, 0.68) * np.exp(-density))


def between_four(draws: np.random.Generator) -> Array:
    """Between a white, a yellow, a brown and a grey tooth, in the logarithm; from memory."""
    knots = [395, 415, 440, 470, 510, 560, 610, 660, 705]
    ends = np.array(
        [
            [0.44, 0.50, 0.555, 0.595, 0.625, 0.645, 0.655, 0.66, 0.66],
            [0.21, 0.26, 0.32, 0.39, 0.47, 0.54, 0.58, 0.60, 0.615],
            [0.14, 0.165, 0.20, 0.245, 0.31, 0.385, 0.45, 0.49, 0.52],
            [0.30, 0.335, 0.37, 0.395, 0.415, 0.43, 0.44, 0.445, 0.45],
        ]
    )
    from scipy.interpolate import CubicSpline

    log = CubicSpline(knots, np.log(ends), axis=1)(LAMBDA)
    share = draws.dirichlet([1.0, 1.2, 0.6, 0.8])
    place = (LAMBDA - 400) / 300
    waves = [draws.normal(0, 0.006) * np.cos(n * np.pi * place) for n in range(2, 8)]
    return np.asarray(np.exp(share @ log + np.sum(waves, axis=0)))


def fed_tooth(draws: np.random.Generator) -> Array:
    """A pale tooth with what food leaves: three bands of carotenes, a tannin's tail, blood."""
    carotene = 0.7 * _hump(426, 18, 12) + _hump(451, 13, 13) + 0.85 * _hump(480, 13, 12)
    blood = _hump(542, 14, 12) + 1.05 * _hump(577, 10, 8) + 4 * _hump(415, 14, 16)
    density = (
        draws.uniform(0.0, 0.06) * carotene
        + draws.uniform(0.15, 0.8) * np.exp(-(LAMBDA - 400) / draws.uniform(50, 110))
        + draws.uniform(0.0, 0.02) * blood
    )
    slope = draws.uniform(0.0, 0.1) * (LAMBDA - 550) / 150
    return np.asarray(draws.uniform(0.42, 0.68) * np.exp(slope - density))


# --- restorations and tabs ---


def titanate_in_composite(draws: np.random.Generator) -> Array:
    """A deep composite with a titanate's yellow, a red earth and soot."""
    yellow = 1 / (1 + (LAMBDA / draws.uniform(445, 480)) ** draws.uniform(16, 34))
    red = 1 / (1 + (LAMBDA / draws.uniform(555, 585)) ** draws.uniform(25, 45))
    absorption = (
        draws.uniform(0.03, 0.5) * yellow
        + draws.uniform(0.0, 0.04) * red
        + draws.uniform(0.002, 0.03)
    )
    return 0.86 * _root(absorption, (LAMBDA / 500) ** -draws.uniform(0.0, 0.9), 1.8)


def glass_in_resin(draws: np.random.Generator) -> Array:
    """A hazy composite before a tooth-like floor: aged resin, dye, what is left of an initiator."""
    floor = draws.uniform(0.35, 0.6) * (1 - 0.5 * np.exp(-(LAMBDA - 400) / draws.uniform(50, 130)))
    density = (
        draws.uniform(0.0, 0.3) * np.exp(-(LAMBDA - 400) / draws.uniform(15, 45))
        + draws.uniform(0.0, 0.05) * _hump(468, 28, 22)
        + draws.uniform(0.02, 0.3) * _hump(draws.uniform(430, 455), 45, 32)
        + draws.uniform(0.0, 0.06) * _hump(draws.uniform(510, 550), 30, 30)
    )
    haze = draws.uniform(0.1, 0.35) * (LAMBDA / 500) ** -draws.uniform(0.5, 1.8)
    return np.asarray(haze + (1 - haze) * floor * np.exp(-density))


def doped_glass_ceramic(draws: np.random.Generator) -> Array:
    """A tab: iron's bands and its tail towards the red, cerium's towards the violet, manganese."""
    absorption = (
        draws.uniform(0.0, 0.04) * (_hump(380, 12, 12) + 0.6 * _hump(420, 10, 10))
        + draws.uniform(0.0, 0.03) * _hump(437, 9, 9)
        + draws.uniform(0.0, 0.03) * np.exp((LAMBDA - 700) / 120)
        + draws.uniform(0.02, 0.3) * np.exp(-(LAMBDA - 400) / draws.uniform(20, 70))
        + draws.uniform(0.0, 0.04) * _hump(490, 60, 60)
        + draws.uniform(0.002, 0.02)
    )
    return 0.86 * _root(absorption, (LAMBDA / 500) ** -draws.uniform(0.1, 1.1), 1.8)


def nitro_and_quinone(draws: np.random.Generator) -> Array:
    """A polymer tab: a nitro dye's broad yellow and an anthraquinone's red with its shoulder."""
    density = (
        draws.uniform(0.1, 0.7) * _hump(draws.uniform(405, 435), 60, 45)
        + draws.uniform(0.0, 0.15) * (_hump(505, 35, 25) + 0.7 * _hump(540, 25, 28))
        + draws.uniform(0.0, 0.1)
    )
    return np.asarray(draws.uniform(0.5, 0.78) * np.exp(-density))


TEETH: dict[str, Generator] = {
    "power-law tooth": power_law_tooth,
    "rises in energy": rises_in_energy,
    "between four": between_four,
    "fed tooth": fed_tooth,
}
RESTORATIONS: dict[str, Generator] = {
    "titanate in composite": titanate_in_composite,
    "glass in resin": glass_in_resin,
}
TABS: dict[str, Generator] = {
    "doped glass-ceramic": doped_glass_ceramic,
    "nitro and quinone": nitro_and_quinone,
}
