"""The picture plane: every object lies in the plane of the card and is painted as light.

Places are in millimetres. A pixel holds what a camera behind a perfect lens would record there
under even light, so that painting is linear in reflectance and the truth can be read from the
same weights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .spectra import Array

Field = npt.NDArray[np.float32]
Bits = npt.NDArray[np.bool_]
#: Rows and columns of a part of the picture.
Region = tuple[slice, slice]


@dataclass
class Waves:
    """Smooth noise of unit variance over the plane: a sum of random plane waves."""

    wave_vectors: Array
    phases: Array

    @staticmethod
    def draw(
        draws: np.random.Generator,
        scale_mm: tuple[float, float],
        count: int = 14,
    ) -> Waves:
        """Waves of about `scale_mm` (along x, along y)."""
        vectors = draws.normal(0, 1, (count, 2)) / np.array(scale_mm)
        return Waves(vectors, draws.uniform(0, 2 * np.pi, count))

    def at(self, x_mm: Field, y_mm: Field) -> Field:
        """The noise at points of the plane."""
        total = np.zeros_like(x_mm)
        for (kx, ky), phase in zip(self.wave_vectors, self.phases, strict=True):
            total += np.cos(np.float32(kx) * x_mm + np.float32(ky) * y_mm + np.float32(phase))
        return total * np.float32(np.sqrt(2 / len(self.phases)))


class Canvas:
    """A picture under construction: where each pixel lies, its signal, and whose it is."""

    def __init__(self, width: int, height: int, mm_to_px: Array, response: Array) -> None:
        """`mm_to_px` is the homography (3, 3); `response` (31, 3) maps reflectance to signal."""
        self.width = width
        self.height = height
        self.mm_to_px = mm_to_px
        self.response = response
        px_to_mm = np.linalg.inv(mm_to_px)
        columns, rows = np.meshgrid(np.arange(width), np.arange(height))
        depth = px_to_mm[2, 0] * columns + px_to_mm[2, 1] * rows + px_to_mm[2, 2]
        x = (px_to_mm[0, 0] * columns + px_to_mm[0, 1] * rows + px_to_mm[0, 2]) / depth
        y = (px_to_mm[1, 0] * columns + px_to_mm[1, 1] * rows + px_to_mm[1, 2]) / depth
        self.x_mm: Field = x.astype(np.float32)
        self.y_mm: Field = y.astype(np.float32)
        middle = (height // 2, width // 2)
        along_x = x[middle[0], middle[1] + 1] - x[middle]
        along_y = y[middle[0], middle[1] + 1] - y[middle]
        self.px_per_mm = float(1 / np.hypot(along_x, along_y))
        self.signal: Field = np.zeros((height, width, 3), dtype=np.float32)
        self.owner = np.zeros((height, width), dtype=np.int16)

    def region(self, x0: float, y0: float, x1: float, y1: float) -> Region | None:
        """The part of the picture that holds a rectangle of the plane, None when outside."""
        corners = np.array([[x0, y0, 1], [x1, y0, 1], [x1, y1, 1], [x0, y1, 1]]) @ self.mm_to_px.T
        points = corners[:, :2] / corners[:, 2:]
        low = np.maximum(np.floor(points.min(axis=0)).astype(int) - 2, 0)
        high = np.ceil(points.max(axis=0)).astype(int) + 3
        high = np.minimum(high, [self.width, self.height])
        if (high <= low).any():
            return None
        return slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))

    def everywhere(self) -> Region:
        """The whole picture."""
        return slice(0, self.height), slice(0, self.width)

    def soft(self, distance_mm: Field) -> Field:
        """Coverage of a pixel whose centre lies `distance_mm` inside an edge."""
        covered = distance_mm * np.float32(self.px_per_mm) + np.float32(0.5)
        return np.asarray(np.clip(covered, 0, 1), dtype=np.float32)

    def box(self, part: Region, x0: float, y0: float, x1: float, y1: float) -> Field:
        """Coverage by a rectangle; those of rectangles side by side add up to one."""
        x, y = self.x_mm[part], self.y_mm[part]
        across = self.soft(x - np.float32(x0)) - self.soft(x - np.float32(x1))
        return across * (self.soft(y - np.float32(y0)) - self.soft(y - np.float32(y1)))

    def paint(
        self,
        part: Region,
        coverage: Field,
        parts: list[tuple[Array, Field | float]],
        owner: int = 0,
    ) -> None:
        """Covers what is there by a linear mixture of reflectances (31,) with weights."""
        colour = np.zeros((*coverage.shape, 3), dtype=np.float32)
        for reflectance, weight in parts:
            rgb = (reflectance @ self.response).astype(np.float32)
            if isinstance(weight, np.ndarray):
                colour += weight[..., None] * rgb
            else:
                colour += np.float32(weight) * rgb
        alpha = coverage[..., None]
        self.signal[part] = self.signal[part] * (1 - alpha) + colour * alpha
        self.owner[part][coverage >= 0.5] = owner

    def to_px(self, points_mm: Array) -> Array:
        """Pixel positions (n, 2) of points (n, 2) of the plane."""
        homogeneous = np.column_stack([points_mm, np.ones(len(points_mm))]) @ self.mm_to_px.T
        return np.asarray(homogeneous[:, :2] / homogeneous[:, 2:], dtype=np.float64)
