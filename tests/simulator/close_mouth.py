"""A mouth as photographs of real ones show it, to the outline harder than `Mouth`.

Neighbours touch and overlap along a line without a seam, lower teeth stand behind the upper ones,
the lining has measured spectra (lining.csv), enamel its cross ridges, and broad reflections of a
softbox or a window and a film of saliva along the gum lie over both.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from .canvas import Canvas, Field, Waves
from .mouth import CROWNS, PARTS, Crown, Mouth, Tooth, draw_spectra
from .spectra import WAVELENGTHS_NM, Array

#: Lower teeth, upside down behind the upper ones: half width, length (mm).
LOWER = ((2.65, 8.8), (2.95, 9.2), (3.4, 10.4), (3.5, 8.6))


def lining() -> Array:
    """Reflectances (12, 31) of the lining of mouths on WAVELENGTHS_NM."""
    text = Path(__file__).with_name("lining.csv").read_text(encoding="utf-8")
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    at = np.array(rows[0][1:], dtype=np.float64)
    curves = np.array([row[1:] for row in rows[1:]], dtype=np.float64)
    return curves[:, np.isin(at, WAVELENGTHS_NM)]


@dataclass(frozen=True)
class Sheen:
    """A broad reflection on one tooth, in the tooth's frame (mm) over a perfect white."""

    x: float
    y: float
    half_width: float
    half_height: float
    #: 2: an ellipse, a ring lamp's or a softbox's; 6: a window's rounded box.
    power: float
    height: float

    def at(self, across: Field, y: Field) -> Field:
        """Its height at places of the tooth, falling off softly at its rim."""
        u = np.abs((across - self.x) / self.half_width) ** self.power
        v = np.abs((y - self.y) / self.half_height) ** self.power
        distance = (u + v) ** (1 / self.power)
        return np.asarray(self.height / (1 + np.exp((distance - 1) / 0.07)), dtype=np.float32)


@dataclass
class CloseMouth(Mouth):
    """See the head of this file."""

    lower: list[Tooth] = field(default_factory=list)
    sheens: dict[int, list[Sheen]] = field(default_factory=dict)
    shadow: float = 0.06

    def paint(self, canvas: Canvas) -> None:
        """The lower teeth first, then everything else in front of them."""
        everywhere = canvas.everywhere()
        x, y = canvas.x_mm, canvas.y_mm
        depth = np.asarray(0.10 + 0.05 * np.exp(-((y / 6) ** 2)), dtype=np.float32)
        canvas.paint(everywhere, np.ones_like(x), [(self.lip, depth)])
        for tooth in self.lower:
            part = canvas.region(*_box_of_lower(tooth))
            if part is None:
                continue
            across, v = tooth.frame(canvas.x_mm[part], -canvas.y_mm[part])
            inside = tooth.inside_mm(across, v)
            weights = tooth.weights(across, v, inside)
            canvas.paint(
                part, canvas.soft(inside), [(tooth.spectra[name], weights[name]) for name in PARTS]
            )
        self._paint_gingiva(canvas)
        self._paint_teeth(canvas)
        self._paint_lips(canvas)

    def specular(self, canvas: Canvas) -> Field:
        """Spots as on any mouth, broad reflections, and saliva along the gum."""
        glare = super().specular(canvas)
        for number, tooth in enumerate(self.teeth, start=1):
            part = canvas.region(*tooth.box_mm())
            if part is None:
                continue
            across, v = tooth.frame(canvas.x_mm[part], canvas.y_mm[part])
            mine = canvas.owner[part] == number
            y = v * np.float32(tooth.crown.length_mm)
            for sheen in self.sheens.get(number, []):
                glare[part] += sheen.at(across, y) * mine
            # A meniscus where gum and tooth meet, broken into beads.
            inside = tooth.inside_mm(across, v)
            film = np.exp(-(((inside - 0.12) / 0.07) ** 2)) * (v < 0.35)
            beads = np.clip(tooth.ridges.at(across * 3, y * 3) - 0.8, 0, 1)
            glare[part] += np.float32(0.5) * film * beads * mine
        return glare


def draw(draws: np.random.Generator, spots_per_tooth: float) -> Mouth:
    """A mouth of one person."""
    easy = Mouth.draw(draws, spots_per_tooth)
    teeth = []
    for tooth in easy.teeth:
        # Neighbours overlap by a quarter of a millimetre and lean and turn a little.
        order = next(i for i, crown in enumerate(CROWNS) if crown.name == tooth.crown.name)
        crown = replace(
            tooth.crown,
            lean_deg=tooth.crown.lean_deg + draws.normal(0, 2.5),
            half_width_mm=tooth.crown.half_width_mm * draws.uniform(0.98, 1.04),
            incisal_y_mm=tooth.crown.incisal_y_mm + draws.normal(0, 0.25),
        )
        centre = tooth.centre_x_mm - tooth.side * (0.12 + 0.25 * order)
        teeth.append(replace(tooth, crown=crown, centre_x_mm=centre, contour=0.10))
    curves = lining()
    one, other, lip = draws.choice(len(curves), 3, replace=False)
    sheens = {
        number: [_draw_sheen(draws, tooth.crown)]
        for number, tooth in enumerate(teeth, start=1)
        if draws.random() < 0.6
    }
    return CloseMouth(
        teeth,
        (curves[one], curves[other]),
        curves[lip] * 0.8,
        easy.stipple,
        easy.cloud,
        easy.wet,
        lower=_draw_lower(draws),
        sheens=sheens,
    )


def _draw_sheen(draws: np.random.Generator, crown: Crown) -> Sheen:
    half_width = float(draws.uniform(0.3, 0.55)) * crown.half_width_mm
    half_height = float(draws.uniform(0.15, 0.3)) * crown.length_mm
    return Sheen(
        float(draws.uniform(-0.35, 0.35)) * crown.half_width_mm,
        float(draws.uniform(0.3, 0.6)) * crown.length_mm,
        half_width,
        half_height,
        float(draws.choice([2.0, 6.0])),
        float(draws.uniform(0.06, 0.2)),
    )


def _draw_lower(draws: np.random.Generator) -> list[Tooth]:
    base = draw_spectra(draws)
    fall = draws.uniform(0.72, 0.85)
    spectra = {part: base[part] * fall for part in PARTS}
    teeth = []
    for side in (-1, 1):
        edge = 0.0
        for half_width, length in LOWER:
            crown = replace(
                CROWNS[0],
                name="lower",
                half_width_mm=half_width,
                length_mm=length,
                # Their edges stand behind the upper ones; the frame is upside down.
                incisal_y_mm=float(1.2 + draws.normal(0, 0.2)),
            )
            teeth.append(
                Tooth(
                    "lower",
                    crown,
                    side,
                    side * (edge + half_width - 0.1),
                    spectra,
                    Waves.draw(draws, (1.1, 1.0), 8),
                    Waves.draw(draws, (1.3, 2.2)),
                    Waves.draw(draws, (0.9, 0.16)),
                    contour=0.10,
                )
            )
            edge += 2 * half_width - 0.2
    return teeth


def _box_of_lower(tooth: Tooth) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = tooth.box_mm()
    return x0, -y1, x1, -y0
