"""Paints a reference card, read from the project's card document, into the picture plane."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from .canvas import Canvas
from .spectra import DATA, Array

#: Inner 4×4 cells, 1 white, of markers 0–3 of the 4×4 dictionary of 50 (Garrido-Jurado et al. 2014,
#: as issued with OpenCV).
MARKER_CELLS = {
    0: ("1011", "0101", "0011", "0010"),
    1: ("0000", "1111", "1001", "1010"),
    2: ("0011", "0011", "0010", "1101"),
    3: ("1001", "1001", "0100", "0110"),
}
#: Folders with card documents: the shipped ones and those that only tests need.
CARD_FOLDERS = (DATA / "cards", DATA.parent / "tests" / "data" / "cards")
INK = np.full(31, 0.035)
Pose = Literal["upright", "upside down", "mirrored"]


def card_file(name: str) -> Path:
    """The document of a card, from the shipped cards or the tests' own."""
    for folder in CARD_FOLDERS:
        file = folder / f"{name}.json"
        if file.exists():
            return file
    raise ValueError(f"no card {name} in {' or '.join(map(str, CARD_FOLDERS))}")


@dataclass(frozen=True)
class CardArt:
    """A card document and where its upper left corner lies in the plane."""

    document: dict[str, Any]
    x_mm: float
    y_mm: float
    pose: Pose = "upright"

    @staticmethod
    def read(file: Path) -> CardArt:
        """The card of a JSON file, at the middle of the plane."""
        return CardArt(json.loads(file.read_text(encoding="utf-8")), 0, 0)

    @property
    def width_mm(self) -> float:
        """Width of the whole card."""
        return float(self.document["width_mm"])

    @property
    def height_mm(self) -> float:
        """Height of the whole card."""
        return float(self.document["height_mm"])

    @property
    def white(self) -> Array:
        """Reflectance (31,) of the white base."""
        return np.array(self.document["white"]["reflectance"]["values"], dtype=np.float64)

    def corners_mm(self) -> Array:
        """The card's corners (4, 2) in the plane: upper left, upper right, lower right, left."""
        w, h = self.width_mm, self.height_mm
        x, y = self.x_mm, self.y_mm
        return np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]], dtype=np.float64)

    def placed(self, x: float, y: float, w: float, h: float) -> tuple[float, float, float, float]:
        """A rectangle of the card as x0, y0, x1, y1 in the plane."""
        left = x if self.pose == "upright" else self.width_mm - x - w
        top = self.height_mm - y - h if self.pose == "upside down" else y
        return (
            self.x_mm + left,
            self.y_mm + top,
            self.x_mm + left + w,
            self.y_mm + top + h,
        )

    def paint(self, canvas: Canvas) -> None:
        """Base, markers and patches."""
        whole = {"x_mm": 0.0, "y_mm": 0.0, "width_mm": self.width_mm, "height_mm": self.height_mm}
        self._rectangle(canvas, whole, self.white)
        for fiducial in self.document["fiducials"]:
            self._marker(canvas, fiducial)
        for patch in self.document["patches"]:
            reflectance = np.array(patch["reflectance"]["values"], dtype=np.float64)
            self._rectangle(canvas, patch, reflectance)

    def _rectangle(self, canvas: Canvas, area: dict[str, Any], reflectance: Array) -> None:
        placed = self.placed(area["x_mm"], area["y_mm"], area["width_mm"], area["height_mm"])
        part = canvas.region(*placed)
        if part is not None:
            canvas.paint(part, canvas.box(part, *placed), [(reflectance, 1.0)])

    def _marker(self, canvas: Canvas, fiducial: dict[str, Any]) -> None:
        x, y, size = fiducial["x_mm"], fiducial["y_mm"], fiducial["size_mm"]
        placed = self.placed(x, y, size, size)
        part = canvas.region(*placed)
        if part is None:
            return
        ink = canvas.box(part, *placed)
        cell = size / 6
        for row, cells in enumerate(MARKER_CELLS[fiducial["id"]]):
            for column, white in enumerate(cells):
                if white == "1":
                    place = self.placed(x + (column + 1) * cell, y + (row + 1) * cell, cell, cell)
                    ink -= canvas.box(part, *place)
        canvas.paint(part, np.clip(ink, 0, 1), [(INK, 1.0)])
