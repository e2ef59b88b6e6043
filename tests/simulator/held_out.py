"""Cameras and lights that the library has never seen.

Two families of cameras. A *mixed* camera lies between two measured ones: the geometric mean of
their sensitivities with a random weight, each channel then shifted along the wavelengths, tilted,
and bent by a smooth random curve. A *lobed* camera owes nothing to the measured ones: each channel
is a skewed lobe of random place and width with a part of the other channels' lobes mixed in, behind
a common filter that cuts the ultraviolet and the infrared. Both are about as far from the nearest
measured camera as measured cameras are from each other (see `distance`).

A held-out light is a measured or standard light of colour-science that is not among
data/camera/lights.csv.
"""

from __future__ import annotations

import functools

import numpy as np

from .spectra import WAVELENGTHS_NM, Array, camera

#: Class of light: names in colour-science, SDS_ILLUMINANTS or SDS_LIGHT_SOURCES.
LIGHTS = {
    "daylight": ("D55", "ISO 7589 Photographic Daylight", "D75", "Kinoton 75P"),
    "cool LED": ("Phosphor LED YAG", "LED-B4", "LED-B5"),
    "warm LED": ("Luxeon WW 2880", "LED-B1", "LED-B2"),
    "tungsten": ("60 A/W (Soft White)", "ISO 7589 Studio Tungsten"),
}

#: Standard deviations of what is done to each channel.
SHIFT_NM = 4.0
TILT = 0.08
BEND = 0.06


@functools.cache
def light(name: str) -> tuple[float, ...]:
    """Relative power (31,) of a held-out light, 1 at 560 nm."""
    import colour

    known = {**colour.SDS_ILLUMINANTS, **colour.SDS_LIGHT_SOURCES}
    source = known[name]
    power = np.interp(WAVELENGTHS_NM, source.wavelengths, source.values)
    return tuple(float(v) for v in power / power[WAVELENGTHS_NM == 560])


Rows = tuple[tuple[float, ...], ...]


def mixed_camera(draws: np.random.Generator) -> Rows:
    """Sensitivities (31, 3) of a camera between two measured ones, largest 1."""
    one, other = draws.permutation(list("ABCD"))[:2]
    share = draws.uniform(0.15, 0.85)
    floor = 1e-4
    mixed = (camera(one) + floor) ** (1 - share) * (camera(other) + floor) ** share - floor
    x = (WAVELENGTHS_NM - 550) / 150
    channels = []
    for channel in range(3):
        moved = WAVELENGTHS_NM + draws.normal(0, SHIFT_NM)
        values = np.interp(moved, WAVELENGTHS_NM, mixed[:, channel])
        bend = np.zeros_like(x)
        for order in range(1, 5):
            bend += draws.normal(0, BEND) * np.cos(np.pi * order * (x + 1) / 2)
        channels.append(np.clip(values, 0, None) * np.exp(draws.normal(0, TILT) * x + bend))
    return _rows(np.stack(channels, axis=1))


#: Peak, and widths (standard deviations) below and above it, of the red, green and blue lobes, nm.
LOBES = ((598.0, 20.0, 42.0), (532.0, 33.0, 36.0), (458.0, 24.0, 31.0))


def lobed_camera(draws: np.random.Generator) -> Rows:
    """Sensitivities (31, 3) of a camera made of skewed lobes, largest 1."""
    lobes = []
    for peak, below, above in LOBES:
        distance_nm = WAVELENGTHS_NM - peak - draws.normal(0, 5)
        width = np.where(distance_nm < 0, below, above) * np.exp(draws.normal(0, 0.08))
        lobes.append(np.exp(-(np.abs(distance_nm / width) ** draws.uniform(1.8, 2.3)) / 2))
    leak = draws.uniform(0.01, 0.10, (3, 3))
    np.fill_diagonal(leak, 1)
    leak[0, 2] *= 0.4
    violet = 1 / (1 + np.exp(-(WAVELENGTHS_NM - draws.uniform(408, 424)) / 5))
    red = 1 / (1 + np.exp((WAVELENGTHS_NM - draws.uniform(650, 690)) / draws.uniform(6, 14)))
    heights = np.array([draws.uniform(0.5, 0.8), 1.0, draws.uniform(0.6, 0.95)])
    return _rows((leak @ np.stack(lobes) * heights[:, None] * violet * red).T)


def _rows(response: Array) -> Rows:
    return tuple(tuple(float(v) for v in row) for row in response / response.max())


FAMILIES = {"mixed": mixed_camera, "lobed": lobed_camera}


def distance(one: Array, other: Array) -> float:
    """Root mean square difference of two cameras, each channel scaled to a largest value of 1."""
    scaled = one / one.max(axis=0) - other / other.max(axis=0)
    return float(np.sqrt((scaled**2).mean()))
