"""From light to the numbers of a file: lens, sensor, white balance, matrix and tone curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from .canvas import Field
from .spectra import DATA, Array, read_columns, to_xyz

#: `raw` is `linear` before the white balance.
Encoding = Literal["raw", "linear", "srgb", "rendered"]

#: Linear sRGB from XYZ (D65, Y = 1): IEC 61966-2-1.
SRGB_FROM_XYZ: Array = np.array(
    [
        [3.2406, -1.5372, -0.4986],
        [-0.9689, 1.8758, 0.0415],
        [0.0557, -0.2040, 1.0570],
    ]
)


@dataclass(frozen=True)
class Sensor:
    """A camera in front of a light."""

    response: Array  #: (31, 3) reflectance to raw signal, scaled so that a perfect white gives ≤ 1
    balance: Array  #: (3,) gains that make a perfect white grey
    full_well: float = 20000.0  #: electrons at raw clipping
    read_noise: float = 4.0  #: electrons rms
    black_flare: float = 0.0  #: part of the picture's mean light spread evenly over it


def sensor(sensitivities: Array, power: Array, **noise: float) -> Sensor:
    """The sensor of a camera (31, 3) under a light (31,)."""
    raw = sensitivities * power[:, None]
    white = raw.sum(axis=0)
    return Sensor(raw / white.max(), white.max() / white, **noise)


def camera_matrix(one: Sensor) -> Array:
    """Balanced raw to linear sRGB: least squares over the photographic chart, white kept white."""
    chart = np.stack(list(read_columns(DATA / "camera" / "chart24_reflectance.csv").values()))
    balanced = chart @ one.response * one.balance
    wanted = to_xyz(chart) @ SRGB_FROM_XYZ.T
    # Three free numbers a row less one: the row adds up to 1.
    differences = np.stack(
        [balanced[:, 0] - balanced[:, 2], balanced[:, 1] - balanced[:, 2]], axis=1
    )
    rows = []
    for channel in range(3):
        free, *_ = np.linalg.lstsq(differences, wanted[:, channel] - balanced[:, 2], rcond=None)
        rows.append([free[0], free[1], 1 - free[0] - free[1]])
    return np.array(rows)


def expose(
    signal: Field,
    glare: Field,
    field: Field,
    one: Sensor,
    *,
    exposure: float,
    blur_px: float,
    draws: np.random.Generator,
) -> Field:
    """Balanced linear RGB, 1 at raw clipping of the brightest channel, from a painted canvas.

    `signal` is even light's; `field` the light's relative strength; `glare` adds the light's own
    colour. A raw channel clips at 1; the brightest channel of white has a gain of 1, so that a
    pixel clipped in all channels is cut to white as raw developers do.
    """
    from scipy.ndimage import gaussian_filter

    white = (one.response.sum(axis=0)).astype(np.float32)
    raw = (signal + glare[..., None] * white) * (field * np.float32(exposure))[..., None]
    if blur_px > 0:
        raw = gaussian_filter(raw, (blur_px, blur_px, 0), mode="nearest", truncate=3.0)
    raw = raw * np.float32(1 - one.black_flare) + np.float32(one.black_flare) * raw.mean((0, 1))
    electrons = raw * np.float32(one.full_well)
    spread = np.sqrt(np.clip(electrons, 0, None) + np.float32(one.read_noise**2))
    noisy = electrons + spread * draws.standard_normal(raw.shape, dtype=np.float32)
    clipped = np.clip(noisy / np.float32(one.full_well), 0, 1)
    return np.asarray(np.clip(clipped * one.balance, 0, 1), dtype=np.float32)


def srgb_curve(linear: Field) -> Field:
    """IEC 61966-2-1 encoding of linear values 0–1."""
    low = linear * 12.92
    high = 1.055 * np.clip(linear, 0.0031308, None) ** (1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, low, high), dtype=np.float32)


def rendered_curve(linear: Field, contrast: float, lift: float) -> Field:
    """A camera's own look: the sRGB curve under an S-shaped contrast and a lift of the middle."""
    x = srgb_curve(linear)
    lifted = x ** np.float32(1 - lift)
    bend = lifted + np.float32(contrast) * np.sin(2 * np.pi * (lifted - 0.5)) / (2 * np.pi)
    return np.asarray(np.clip(bend, 0, 1), dtype=np.float32)


def encode(
    linear: Field, encoding: Encoding, matrix: Array | None, contrast: float, lift: float
) -> Field:
    """File values 0–1 from balanced linear RGB."""
    if matrix is not None:
        linear = np.clip(linear @ matrix.T.astype(np.float32), 0, 1)
    if encoding in ("raw", "linear"):
        return linear
    if encoding == "srgb":
        return srgb_curve(linear)
    return rendered_curve(linear, contrast, lift)
