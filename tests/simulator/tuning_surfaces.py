"""Reflectances that the constants of the library's expectations were chosen with.

Seven families of teeth and seven of restorations and tabs, beside those of `former_judges`; they
judge nothing: `judged_surfaces` does, which shares no family and no code with these. Constants
that are not told otherwise are from memory or free choices of the order that the literature gives.
"""

from __future__ import annotations

import numpy as np

from .families import Generator
from .spectra import WAVELENGTHS_NM, Array

W = WAVELENGTHS_NM
X = (W - 550) / 150


def _bell(centre: float, width: float) -> Array:
    return np.exp(-0.5 * ((W - centre) / width) ** 2)


def _step(edge: float, width: float) -> Array:
    """1 below the edge, 0 above it."""
    return 1 / (1 + np.exp((W - edge) / width))


def _thick(k: Array, s: Array) -> Array:
    """Reflectance of an infinitely thick layer (Kubelka and Munk 1931)."""
    ratio = k / s
    return np.asarray(1 + ratio - np.sqrt(ratio * ratio + 2 * ratio))


def _over(k: Array, s: Array, depth_mm: float, floor: Array) -> Array:
    """Reflectance of a layer over a floor (Kubelka 1948)."""
    a = 1 + k / s
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(np.clip(b * s * depth_mm, 1e-6, 50))
    return np.asarray((1 - floor * (a - b * coth)) / (a - floor + b * coth))


def _outside(inside: Array, inner: float = 0.6, outer: float = 0.04) -> Array:
    """Through the surface, without the mirror part (Saunderson 1942)."""
    return np.asarray((1 - outer) * (1 - inner) * inside / (1 - inner * inside))


# --- teeth ---


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


def enamel_over_dentine(draws: np.random.Generator) -> Array:
    """Enamel of small power-law scatterers over thick dentine with broad Gaussian bands."""
    dentine_s = draws.uniform(2.5, 6.0) * (W / 550) ** -draws.uniform(0.1, 0.7)
    dentine_k = (
        draws.uniform(0.3, 2.0) * _bell(draws.uniform(330, 400), draws.uniform(45, 80))
        + draws.uniform(0.0, 0.08) * _bell(draws.uniform(470, 520), draws.uniform(35, 60))
        + draws.uniform(0.0, 0.04) * _bell(draws.uniform(540, 580), draws.uniform(25, 45))
        + draws.uniform(0.02, 0.3)
    )
    enamel_s = draws.uniform(0.2, 1.1) * (W / 550) ** -draws.uniform(1.2, 3.2)
    enamel_k = draws.uniform(0.002, 0.02) + draws.uniform(0, 0.06) * _bell(390, 40)
    floor = _thick(dentine_k, dentine_s)
    return _outside(_over(enamel_k, enamel_s, draws.uniform(0.2, 1.3), floor))


def like_three_measured(draws: np.random.Generator) -> Array:
    """Between three curves of the order of measured incisors (from memory), with smooth noise."""
    knots = np.array([400, 430, 460, 500, 550, 600, 650, 700.0])
    rows = np.array(
        [
            [0.30, 0.36, 0.43, 0.49, 0.535, 0.565, 0.585, 0.60],
            [0.21, 0.265, 0.33, 0.41, 0.47, 0.515, 0.545, 0.56],
            [0.27, 0.305, 0.345, 0.39, 0.42, 0.455, 0.48, 0.50],
        ]
    )
    share = draws.dirichlet([0.8, 0.8, 0.8])
    curve = np.exp(np.interp(W, knots, share @ np.log(rows)))
    curve = np.convolve(np.pad(curve, 2, mode="edge"), [0.1, 0.2, 0.4, 0.2, 0.1], mode="valid")
    noise = np.zeros_like(W)
    for _ in range(5):
        noise += draws.normal(0, 0.02) * _bell(draws.uniform(400, 700), draws.uniform(25, 70))
    return np.asarray(curve * draws.uniform(0.75, 1.25) * np.exp(noise))


#: Oxy- and deoxyhaemoglobin as bells: centre, width in nm and height over the Soret band's.
OXY = ((415, 11, 1.0), (542, 11, 0.105), (577, 8, 0.115), (480, 60, 0.045))
DEOXY = ((431, 12, 1.0), (556, 19, 0.098), (500, 60, 0.035))


def diffusing_tooth(draws: np.random.Generator) -> Array:
    """Thick turbid tissue by the diffusion equation, with a violet tail and blood behind it.

    Diffuse reflectance of a semi-infinite medium, Flock et al. 1989 (IEEE Trans
    Biomed Eng 36:1162).
    """
    scattering = draws.uniform(1.5, 4.5) * (W / 500) ** -draws.uniform(0.3, 1.6)
    blood = sum(h * _bell(c, w) for c, w, h in OXY) * draws.uniform(0.5, 1)
    blood = blood + sum(h * _bell(c, w) for c, w, h in DEOXY) * draws.uniform(0, 0.5)
    absorption = (
        draws.uniform(0.01, 0.12) * np.exp(-(W - 400) / draws.uniform(45, 120))
        + draws.uniform(0, 0.02) * np.minimum(blood, 0.4)
        + draws.uniform(0.005, 0.12)
    )
    albedo = scattering / (scattering + absorption)
    inner = 3.4  # (1 + r)/(1 − r)·… of n = 1.5 (from memory)
    root = np.sqrt(3 * (1 - albedo))
    return np.asarray(
        albedo
        * draws.uniform(0.85, 1.0)
        / (1 + 2 * inner / 3 * (1 - albedo) + (1 + 2 * inner / 3) * root)
        * 1.2
    )


def smooth_walk(draws: np.random.Generator) -> Array:
    """The logit of reflectance as a smooth random rise, with no optics behind it."""
    steps = np.exp(draws.normal(0, 0.5, 7) + np.linspace(0.5, -0.5, 7))
    rise = np.cumsum(steps)
    knots = np.linspace(390, 710, 8)
    shape = np.concatenate([[0], rise / rise[-1]])
    logit = draws.uniform(-1.6, -0.3) + draws.uniform(0.7, 1.9) * np.interp(W, knots, shape)
    wide = np.pad(logit, 4, mode="edge")
    logit = np.convolve(wide, np.bartlett(11)[1:-1] / np.bartlett(11).sum(), mode="valid")
    return np.asarray(1 / (1 + np.exp(-logit)))


# --- restorations and tabs ---


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


def iron_oxides_in_resin(draws: np.random.Generator) -> Array:
    """A thick composite: edges of yellow and red oxides, a grey oxide, white scattering."""
    yellow = _step(draws.uniform(495, 530), draws.uniform(12, 22)) + 0.05 * _bell(650, 40)
    red = 0.6 * _step(draws.uniform(565, 585), draws.uniform(8, 16)) + 0.5 * _bell(
        530, draws.uniform(25, 45)
    )
    black = (W / 550) ** -draws.uniform(-0.2, 0.6)
    k = (
        draws.uniform(0.03, 0.6) * yellow
        + draws.uniform(0.0, 0.12) * red
        + draws.uniform(0.005, 0.1) * black
        + draws.uniform(0, 0.1) * np.exp(-(W - 400) / 18)
    )
    s = draws.uniform(2, 5) * (W / 550) ** -draws.uniform(0, 0.9)
    return _outside(_thick(k, s))


def layered_composite(draws: np.random.Generator) -> Array:
    """Enamel paste over dentine paste over a warm floor."""
    warm = 0.15 + 0.45 / (1 + np.exp(-(W - draws.uniform(480, 580)) / draws.uniform(30, 70)))

    def paste(strength: float) -> Array:
        return np.asarray(
            strength
            * draws.uniform(0.3, 1.2)
            * _bell(draws.uniform(425, 470), draws.uniform(28, 50))
            + strength
            * draws.uniform(0.0, 0.35)
            * _bell(draws.uniform(505, 550), draws.uniform(25, 45))
            + strength * draws.uniform(0.0, 0.15)
            + 0.01
        )

    body = _over(
        paste(draws.uniform(0.1, 0.7)),
        draws.uniform(1.2, 3.5) * (W / 550) ** -draws.uniform(0.1, 0.8),
        draws.uniform(0.8, 2.5),
        warm * draws.uniform(0.5, 1),
    )
    top = _over(
        paste(draws.uniform(0.01, 0.15)),
        draws.uniform(0.4, 1.4) * (W / 550) ** -draws.uniform(0.5, 2),
        draws.uniform(0.2, 1.0),
        body,
    )
    return _outside(top, draws.uniform(0.55, 0.62))


def ceramic_with_ions(draws: np.random.Generator) -> Array:
    """A ceramic tab: Lorentz bands of ions and a praseodymium-like yellow of narrow bands."""

    def lorentz(centre: float, half: float) -> Array:
        return np.asarray(1 / (1 + ((W - centre) / half) ** 2))

    k = (
        draws.uniform(0.0, 0.25)
        * (lorentz(445, 16) + 0.7 * lorentz(472, 12) + 0.5 * lorentz(485, 9))
        + draws.uniform(0.02, 0.3) * lorentz(draws.uniform(370, 410), draws.uniform(25, 60))
        + draws.uniform(0.0, 0.08) * lorentz(draws.uniform(515, 560), draws.uniform(30, 60))
        + draws.uniform(0.0, 0.04) * lorentz(draws.uniform(580, 660), draws.uniform(25, 50))
        + draws.uniform(0.005, 0.06)
    )
    s = draws.uniform(2, 5) * (W / 550) ** -draws.uniform(0.2, 1.6)
    return _outside(_thick(k, s))


def dyed_polymer(draws: np.random.Generator) -> Array:
    """A polymer tab: organic yellow, red and brown in optical density, with smooth noise."""
    density = (
        draws.uniform(0.1, 0.8) * _bell(draws.uniform(405, 440), draws.uniform(28, 45))
        + draws.uniform(0.0, 0.18) * _bell(draws.uniform(500, 545), draws.uniform(28, 45))
        + draws.uniform(0.0, 0.3) * np.exp(-(W - 400) / draws.uniform(80, 200))
    )
    noise = sum(
        draws.normal(0, 0.008) * _bell(draws.uniform(400, 700), draws.uniform(20, 60))
        for _ in range(4)
    )
    return np.asarray(draws.uniform(0.35, 0.8) * np.exp(-density + noise))


TEETH: dict[str, Generator] = {
    "double pass": double_pass,
    "logistic": logistic,
    "cubic log": cubic_log,
    "enamel over dentine": enamel_over_dentine,
    "like three measured": like_three_measured,
    "diffusing tooth": diffusing_tooth,
    "smooth walk": smooth_walk,
}
RESTORATIONS: dict[str, Generator] = {
    "edged pigments": edged_pigments,
    "thin over floor": thin_over_floor,
    "iron oxides in resin": iron_oxides_in_resin,
    "layered composite": layered_composite,
}
TABS: dict[str, Generator] = {
    "two dyes": two_dyes,
    "ceramic with ions": ceramic_with_ions,
    "dyed polymer": dyed_polymer,
}
