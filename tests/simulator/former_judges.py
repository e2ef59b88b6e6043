"""Reflectances that judged the reading of photos until constants were changed after a look at them.

Five families of teeth, three of restorations and three of tabs. Bands of chromophores are bells in
photon energy, layers are added by repeated reflection, paths in turbid tissue follow a gamma
distribution. Places of bands are from memory of the sources named; strengths are free choices that
give the colours of teeth.
"""

from __future__ import annotations

import numpy as np

from .families import Generator
from .spectra import WAVELENGTHS_NM, Array

W = WAVELENGTHS_NM
#: Photon energy in eV.
E = 1239.84 / W


def _band(centre_nm: float, width_ev: float) -> Array:
    """A bell in photon energy."""
    return np.asarray(np.exp(-0.5 * ((E - 1239.84 / centre_nm) / width_ev) ** 2))


def _deep(absorption: Array, scattering: Array) -> Array:
    """Reflectance of a deep layer that scatters evenly, through a surface of index 1.5.

    The root of x² − 2(1 + q)x + 1 with q absorption over scattering, then internal reflection of
    0.6 and 4 % lost at the surface.
    """
    q = absorption / scattering
    inside = 1 / (1 + q + np.sqrt(q * (q + 2)))
    return np.asarray(0.96 * 0.4 * inside / (1 - 0.6 * inside))


def _added(reflected: Array, transmitted: Array, behind: Array) -> Array:
    """A layer before another: the sum of light turned back once, twice, …"""
    return np.asarray(reflected + transmitted**2 * behind / (1 - reflected * behind))


# --- teeth ---


def organic_dentine(draws: np.random.Generator) -> Array:
    """Dentine whose organic matter absorbs as an exponential tail, behind enamel's haze.

    Enamel scatters with about the inverse third power of the wavelength (Spitzer and ten Bosch
    1975, Calcif Tissue Res 17:129).
    """
    tail = draws.uniform(0.05, 0.5) * np.exp(-draws.uniform(0.009, 0.016) * (W - 430))
    scattering = (W / 550) ** -draws.uniform(0.2, 0.9)
    dentine = _deep(tail + draws.uniform(0.003, 0.03), scattering)
    haze = draws.uniform(0.02, 0.12) * (W / 550) ** -draws.uniform(1.5, 3.2)
    clear = 1 - haze - draws.uniform(0.0, 0.06)
    return _added(
        haze * draws.uniform(0.3, 0.8), np.sqrt(clear) * draws.uniform(0.9, 0.98), dentine
    )


def stained_in_energy(draws: np.random.Generator) -> Array:
    """A pale tooth under chromophores whose bands lie in the near ultraviolet and in the blue."""
    pale = draws.uniform(0.5, 0.72) * (1 + draws.uniform(0.0, 0.08) * (W - 550) / 150)
    density = (
        draws.uniform(0.3, 1.2) * _band(draws.uniform(310, 360), draws.uniform(0.5, 0.75))
        + draws.uniform(0.05, 0.3) * _band(draws.uniform(430, 490), draws.uniform(0.3, 0.5))
        + draws.uniform(0.0, 0.1) * _band(draws.uniform(520, 600), draws.uniform(0.25, 0.4))
    )
    return np.asarray(pale * np.exp(-density))


def by_components(draws: np.random.Generator) -> Array:
    """A mean curve of incisors and three ways of differing, from memory of published averages."""
    from scipy.interpolate import PchipInterpolator

    knots = [400, 420, 440, 460, 490, 520, 550, 580, 620, 660, 700]
    mean = [0.29, 0.34, 0.385, 0.42, 0.46, 0.485, 0.505, 0.52, 0.545, 0.56, 0.57]
    yellow = [-0.30, -0.26, -0.215, -0.17, -0.105, -0.05, 0.0, 0.02, 0.04, 0.05, 0.06]
    violet = [-0.16, -0.08, -0.02, 0.01, 0.02, 0.015, 0.0, -0.005, -0.01, -0.01, -0.01]
    red = [0.02, 0.02, 0.01, 0.0, -0.01, -0.015, -0.01, -0.005, 0.015, 0.03, 0.04]
    log = np.log(mean) + draws.normal(0, 0.13)
    for way, size in ((yellow, 0.8), (violet, 0.7), (red, 0.8)):
        log = log + draws.normal(0, size) * np.array(way)
    waves = [draws.normal(0, 0.005) * np.sin(n * np.pi * (W - 385) / 330) for n in range(1, 7)]
    return np.asarray(np.exp(PchipInterpolator(knots, log)(W) + np.sum(waves, axis=0)))


def gamma_paths(draws: np.random.Generator) -> Array:
    """Tissue whose light travels paths of a gamma distribution, with pulpal or gingival blood.

    Reflectance is then (1 + θ·absorption)^−k. Blood absorbs at 415, 542 and 577 nm, without oxygen
    at 433 and 556 nm (Prahl 1998).
    """
    oxygen = draws.uniform(0.5, 1.0)
    blood = oxygen * (_band(415, 0.10) + 0.11 * _band(542, 0.05) + 0.12 * _band(577, 0.035))
    blood = blood + (1 - oxygen) * (_band(433, 0.10) + 0.1 * _band(556, 0.08))
    absorption = (
        draws.uniform(0.03, 0.15) * np.exp(3.0 * draws.uniform(0.7, 1.2) * (E - 2.75))
        + draws.uniform(0.0, 0.10) * np.minimum(blood, 0.5)
        + draws.uniform(0.0, 0.03)
    )
    out = draws.uniform(0.5, 0.78) * (W / 600) ** draws.uniform(-0.05, 0.2)
    return np.asarray(out * (1 + draws.uniform(3, 12) * absorption) ** -draws.uniform(0.5, 1.0))


def incisal_enamel(draws: np.random.Generator) -> Array:
    """Enamel with little dentine behind it and the dark of the mouth behind that."""
    dark = draws.uniform(0.02, 0.15) * (1 + draws.uniform(0.2, 1.2) / (1 + np.exp((590 - W) / 18)))
    tail = draws.uniform(0.1, 0.6) * np.exp(-draws.uniform(0.009, 0.014) * (W - 430))
    share = draws.uniform(0.5, 0.95)
    behind = share * _deep(tail + 0.01, (W / 550) ** -0.5) + (1 - share) * dark
    haze = draws.uniform(0.08, 0.22) * (W / 550) ** -draws.uniform(0.6, 2.0)
    return _added(haze * 0.8, np.asarray(1 - haze - draws.uniform(0.01, 0.08)), behind)


# --- restorations and tabs ---

#: Bands of iron oxides, centre in nm, width in eV and height (Scheinost et al. 1999, Clays Clay
#: Miner 47:156; Sherman and Waite 1985, Am Mineral 70:1262; heights from memory).
GOETHITE = ((370, 0.38, 1.0), (435, 0.17, 0.45), (482, 0.14, 0.38), (650, 0.12, 0.04))
HAEMATITE = ((380, 0.40, 0.9), (444, 0.20, 0.5), (530, 0.15, 1.0), (575, 0.09, 0.35))


def _oxides(draws: np.random.Generator, strength: float) -> Array:
    yellow = sum(h * _band(c + draws.normal(0, 3), w) for c, w, h in GOETHITE)
    red = sum(h * _band(c + draws.normal(0, 4), w) for c, w, h in HAEMATITE)
    black = draws.uniform(0.0, 0.12)
    return np.asarray(strength * (yellow + draws.uniform(0.0, 0.4) * red + black) + 0.004)


def oxides_in_composite(draws: np.random.Generator) -> Array:
    """A deep composite: iron oxides, a grey, and titania, which absorbs below 405 nm."""
    titania = draws.uniform(0.0, 0.12) / (1 + np.exp((W - draws.uniform(395, 408)) / 4))
    absorption = _oxides(draws, draws.uniform(0.02, 0.4)) + titania
    return _deep(absorption, (W / 550) ** -draws.uniform(0.0, 1.0))


def organics_in_composite(draws: np.random.Generator) -> Array:
    """A deep composite: organic yellow and red, what is left of an initiator, aged amine."""
    yellow = 1 / (1 + np.exp((W - draws.uniform(470, 500)) / draws.uniform(8, 16)))
    red = _band(draws.uniform(520, 535), 0.13) + 0.8 * _band(draws.uniform(558, 572), 0.08)
    absorption = (
        draws.uniform(0.01, 0.16) * yellow
        + draws.uniform(0.0, 0.03) * red
        + draws.uniform(0.0, 0.01) * _band(468, 0.16)
        + draws.uniform(0.0, 0.15) * np.exp(-(W - 400) / draws.uniform(20, 60))
        + draws.uniform(0.003, 0.04)
    )
    return _deep(absorption, (W / 550) ** -draws.uniform(0.1, 1.2))


def paste_over_dentine(draws: np.random.Generator) -> Array:
    """A thin paste of iron oxides before dentine that is sound or dark."""
    tail = draws.uniform(0.1, 0.9) * np.exp(-draws.uniform(0.008, 0.014) * (W - 430))
    dentine = _deep(tail + draws.uniform(0.01, 0.1), (W / 550) ** -0.5)
    back = draws.uniform(0.15, 0.45) * (W / 550) ** -draws.uniform(0.1, 0.9)
    through = np.clip(1 - back - 0.02, 0, 1) * np.exp(-_oxides(draws, draws.uniform(0.05, 0.4)))
    return _added(back * np.exp(-0.5 * _oxides(draws, 0.25)), through, dentine)


def zircon_stains(draws: np.random.Generator) -> Array:
    """A ceramic tab stained by zircons of praseodymium, iron and vanadium."""
    praseodymium = (
        0.8 * _band(446, 0.05) + _band(470, 0.045) + 0.8 * _band(484, 0.04) + 0.5 * _band(591, 0.04)
    )
    iron = 1 / (1 + np.exp((W - draws.uniform(550, 580)) / 14)) * (0.5 + 0.5 * _band(500, 0.4))
    vanadium = _band(640, 0.16) + 0.4 * _band(285, 0.8)
    absorption = (
        draws.uniform(0.02, 0.2) * praseodymium
        + draws.uniform(0.005, 0.08) * iron
        + draws.uniform(0.0, 0.03) * vanadium
        + draws.uniform(0.0, 0.15) * _band(360, 0.4)
        + draws.uniform(0.002, 0.03)
    )
    return _deep(absorption, (W / 550) ** -draws.uniform(0.0, 1.0))


def oxides_in_ceramic(draws: np.random.Generator) -> Array:
    """A ceramic tab: iron and manganese as free ions in glass, hazy over an opaque core."""
    core = draws.uniform(0.55, 0.8) * (1 + draws.uniform(-0.02, 0.12) * (W - 550) / 150)
    density = (
        draws.uniform(0.1, 0.6) * _band(draws.uniform(370, 385), draws.uniform(0.3, 0.5))
        + draws.uniform(0.0, 0.25) * _band(draws.uniform(430, 445), draws.uniform(0.2, 0.35))
        + draws.uniform(0.0, 0.12) * _band(draws.uniform(480, 520), draws.uniform(0.35, 0.5))
    )
    haze = draws.uniform(0.03, 0.2) * (W / 550) ** -draws.uniform(0.5, 2.0)
    return _added(haze, np.asarray((1 - haze) * np.exp(-density)), core)


def dyes_in_acrylic(draws: np.random.Generator) -> Array:
    """A polymer tab: three dyes, their bands steeper towards the red, in a white body."""

    def dye(peak: float) -> Array:
        wide, steep = draws.uniform(0.3, 0.45), draws.uniform(0.13, 0.2)
        distance = E - 1239.84 / peak
        return np.asarray(np.exp(-0.5 * (distance / np.where(distance > 0, wide, steep)) ** 2))

    density = (
        draws.uniform(0.1, 0.8) * dye(draws.uniform(415, 445))
        + draws.uniform(0.0, 0.25) * dye(draws.uniform(475, 500))
        + draws.uniform(0.0, 0.12) * dye(draws.uniform(540, 600))
    )
    return np.asarray(draws.uniform(0.45, 0.78) * np.exp(-density))


TEETH: dict[str, Generator] = {
    "organic dentine": organic_dentine,
    "stained in energy": stained_in_energy,
    "by components": by_components,
    "gamma paths": gamma_paths,
    "incisal enamel": incisal_enamel,
}
RESTORATIONS: dict[str, Generator] = {
    "oxides in composite": oxides_in_composite,
    "organics in composite": organics_in_composite,
    "paste over dentine": paste_over_dentine,
}
TABS: dict[str, Generator] = {
    "zircon stains": zircon_stains,
    "oxides in ceramic": oxides_in_ceramic,
    "dyes in acrylic": dyes_in_acrylic,
}
