"""Cameras and lights that the library has never seen.

A held-out camera lies between two measured ones: the geometric mean of their sensitivities with a
random weight, each channel then shifted along the wavelengths, tilted, and bent by a smooth random
curve. The result is as far from the nearest measured camera as measured cameras are from each other
(see `distance`), so that a study with it asks more than recall. A held-out light is a measured or
standard light of colour-science that is not among data/camera/lights.csv.
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


def sensitivities(draws: np.random.Generator) -> tuple[tuple[float, ...], ...]:
    """Sensitivities (31, 3) of one held-out camera, largest 1."""
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
    response = np.stack(channels, axis=1)
    return tuple(tuple(float(v) for v in row) for row in response / response.max())


def distance(one: Array, other: Array) -> float:
    """Root mean square difference of two cameras, each channel scaled to a largest value of 1."""
    scaled = one / one.max(axis=0) - other / other.max(axis=0)
    return float(np.sqrt((scaled**2).mean()))
