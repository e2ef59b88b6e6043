"""An invented mouth: upper front teeth, gingiva, lips and the dark behind, in the picture plane.

The incisal edges of the two central incisors lie at y = 0, the midline at x = 0, y grows downwards.
Colours come as mixtures of spectral reflectances, so that the true colour of any part of a tooth is
the mean reflectance over that part.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np

from .canvas import Canvas, Field, Region, Waves
from .spectra import WAVELENGTHS_NM, Array, tooth_reflectances

ZONES = ("cervical", "middle", "incisal")
#: The parts of a tooth's colour, from the gingiva to the edge.
PARTS = ("cervical", "body", "incisal", "edge")


@dataclass(frozen=True)
class Crown:
    """The outline of a kind of tooth, in the frame of its long axis (v = 0 cervical, 1 incisal)."""

    name: str
    half_width_mm: float
    length_mm: float
    incisal_y_mm: float
    #: Half width over its largest at v = 0, 0.3, 0.6, 0.8 and 1.
    profile: tuple[float, float, float, float, float]
    cervical_cap: float
    mesial_corner: float
    distal_corner: float
    corner_power: float
    lean_deg: float
    facing: float


#: From the midline outwards, as seen from the front; shapes are common dental anatomy.
CROWNS = (
    Crown("central", 4.25, 10.4, 0.0, (0.86, 0.935, 0.99, 1.0, 0.965), 0.34, 0.05, 0.12, 2.3, 1, 1),
    Crown("lateral", 3.2, 8.9, -0.7, (0.85, 0.93, 0.99, 1.0, 0.92), 0.36, 0.09, 0.20, 2.0, 2, 0.96),
    Crown(
        "canine", 3.1, 10.1, -0.1, (0.86, 0.945, 0.995, 1.0, 0.85), 0.36, 0.24, 0.30, 1.6, 3, 0.88
    ),
    Crown(
        "premolar", 2.35, 8.3, -0.8, (0.86, 0.95, 0.995, 1.0, 0.87), 0.36, 0.22, 0.25, 1.7, 2, 0.7
    ),
    Crown(
        "second premolar", 1.7, 7.4, -1.4, (0.87, 0.95, 1.0, 1.0, 0.88), 0.36, 0.2, 0.2, 1.8, 1, 0.5
    ),
)


@dataclass
class Tooth:
    """One tooth of the mouth: place, spectra and surface."""

    name: str
    crown: Crown
    side: int
    centre_x_mm: float
    spectra: dict[str, Array]
    lobes: Waves
    mottle: Waves
    ridges: Waves
    #: Specular spots: x, y, half width, half height (mm, in the tooth's frame), height over white.
    spots: list[tuple[float, float, float, float, float]] = field(default_factory=list)
    #: How much the light falls off along the outline.
    contour: float = 0.40

    def box_mm(self) -> tuple[float, float, float, float]:
        """A rectangle of the plane that holds the tooth."""
        c = self.crown
        reach = c.half_width_mm * 1.25 + 0.6
        return (
            self.centre_x_mm - reach,
            c.incisal_y_mm - c.length_mm - 0.6,
            self.centre_x_mm + reach,
            c.incisal_y_mm + 0.6,
        )

    def frame(self, x_mm: Field, y_mm: Field) -> tuple[Field, Field]:
        """Points in the tooth's own frame: mm towards distal from the axis, and v along it."""
        lean = np.deg2rad(self.crown.lean_deg)
        x = (x_mm - np.float32(self.centre_x_mm)) * self.side
        y = y_mm - np.float32(self.crown.incisal_y_mm)
        across = np.cos(lean) * x + np.sin(lean) * y
        along = -np.sin(lean) * x + np.cos(lean) * y
        return (
            across.astype(np.float32),
            (1 + along / self.crown.length_mm).astype(np.float32),
        )

    def inside_mm(self, across: Field, v: Field) -> Field:
        """Distance to the outline, positive inside; good near the outline."""
        c = self.crown
        # The gingival zenith lies a little distal of the axis.
        shifted = across - np.float32(0.35) * np.clip(0.5 - v, 0, 1)
        u = np.abs(shifted)
        distance: Field = np.empty_like(u)
        for distal, corner in ((True, c.distal_corner), (False, c.mesial_corner)):
            outline = _outline(c, corner)
            for lower in (True, False):
                here = ((shifted > 0) == distal) & ((v > 0.7) == lower)
                distance[here] = _to_outline(outline, c.length_mm, u[here], v[here], lower)
        return distance

    def weights(self, across: Field, v: Field, inside_mm: Field) -> dict[str, Field]:
        """Weight of each of PARTS at each point, shading included: their sum is the shading."""
        u = across / np.float32(self.crown.half_width_mm)
        bend = 0.05 * self.lobes.at(across, v * 0)
        height = np.clip(v + 0.03 * self.mottle.at(across, v * 10) + 0.0 * u, 0, 1)
        edge = _ramp(height + bend, 0.76, 1.0)
        incisal = _ramp(height + bend, 0.45, 0.85) * (1 - edge)
        cervical = (1 - _ramp(height, 0.02, 0.48)) * (1 - edge) * (1 - incisal)
        body = 1 - edge - incisal - cervical
        # The sides of the incisal third show the same translucency as the edge.
        rim = np.clip(np.abs(u) - 0.55, 0, 1) * _ramp(height, 0.5, 0.9) * 0.8
        body, edge = body * (1 - rim), edge + body * rim
        shade = self._shading(u, v, across, inside_mm)
        return {
            "cervical": cervical * shade,
            "body": body * shade,
            "incisal": incisal * shade,
            "edge": edge * shade,
        }

    def _shading(self, u: Field, v: Field, across: Field, inside_mm: Field) -> Field:
        turned = 1 - 0.15 * np.clip(np.abs(u), 0, 1.1) ** 4
        turned = turned * (1 - 0.05 * np.clip(1 - v / 0.25, 0, 1) ** 2)
        turned = turned * (1 - 0.04 * np.clip((v - 0.85) / 0.15, 0, 1))
        contour = 1 - self.contour * np.exp(-np.clip(inside_mm, 0, None) / np.float32(0.14))
        # Two shallow grooves between three lobes, and fine cross ridges.
        lobes = 1 - 0.022 * np.cos(3 * np.pi * u) * _ramp(v, 0.25, 0.7) * (np.abs(u) < 0.83)
        texture = (
            1 + 0.010 * self.mottle.at(across, v * 10) + 0.005 * self.ridges.at(across, v * 10)
        )
        # The line along the edge where light is thrown back looks a little lighter.
        halo = 1 + 0.06 * np.exp(-(((v - 0.975) / 0.012) ** 2))
        shade = self.crown.facing * turned * contour * lobes * texture * halo
        return np.asarray(shade, dtype=np.float32)

    def specular(self, across: Field, v: Field) -> Field:
        """Height of the glare over the light a perfect white would send back."""
        y = v * np.float32(self.crown.length_mm)
        total = np.zeros_like(across)
        for x0, y0, half_w, half_h, height in self.spots:
            ragged = 1 + 0.18 * self.ridges.at(across, y)
            distance = (((across - x0) / half_w) ** 2 + ((y - y0) / half_h) ** 2) * ragged
            total += np.float32(height) * np.exp(-(np.clip(distance, 0, 20) ** 3))
        return total


def _outline(crown: Crown, corner: float) -> tuple[Array, Array]:
    """Half widths (mm) at a fine row of v, for one side of the crown."""
    v = (1 - np.cos(np.linspace(0, np.pi, 801))) / 2
    top = np.clip(1 - v / crown.cervical_cap, 0, 1)
    low = np.clip((v - 1 + corner) / corner, 0, 1)
    ends = np.sqrt(1 - top**2.1) * (1 - low**crown.corner_power) ** (1 / crown.corner_power)
    base = np.interp(v, np.linspace(0, 1, 41), _smooth_profile(crown.profile))
    return v, crown.half_width_mm * base * ends


def _to_outline(
    outline: tuple[Array, Array], length_mm: float, u: Field, v: Field, lower: bool
) -> Field:
    """Distance inside an outline from its distances along and across the axis."""
    at, width = outline
    across = np.interp(v, at, width, left=0, right=0) - u
    half = at >= 0.7 if lower else at <= 0.7
    rising = np.maximum.accumulate(width[half][::-1] if lower else width[half])
    where = at[half][::-1] if lower else at[half]
    end = np.interp(u, rising, where, right=where[-1])
    along = (end - v if lower else v - end) * length_mm
    # Beyond the widest place only the way across counts, beyond the ends only that along.
    beyond = u > rising[-1]
    slant = across * along / np.maximum(np.hypot(across, along), 1e-6)
    slant = np.where((across < 0) | (along < 0), -np.abs(slant), slant)
    slant = np.where(beyond & (v > 0) & (v < 1), across, slant)
    return np.where((v <= 0) | (v >= 1), -np.abs(along), slant).astype(np.float32)


def _ramp(value: Field, low: float, high: float) -> Field:
    t = np.clip((value - np.float32(low)) / np.float32(high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), dtype=np.float32)


def _smooth_profile(profile: tuple[float, ...]) -> Array:
    from scipy.interpolate import PchipInterpolator

    knots = np.array([0, 0.3, 0.6, 0.8, 1.0])
    return np.asarray(PchipInterpolator(knots, profile)(np.linspace(0, 1, 41)), dtype=np.float64)


@dataclass
class Mouth:
    """Everything in the plane but the card."""

    teeth: list[Tooth]
    gingiva: tuple[Array, Array]
    lip: Array
    stipple: Waves
    cloud: Waves
    wet: Waves
    #: Depth of the shadow that a tooth throws on what lies behind its outline.
    shadow: float = 0.55

    @staticmethod
    def draw(draws: np.random.Generator, spots_per_tooth: float) -> Mouth:
        """A mouth with teeth of one person: neighbours differ a little, canines more."""
        base = draw_spectra(draws)
        darker = draw_spectra(draws)
        teeth = []
        for side in (-1, 1):
            edge = 0.0
            for order, crown in enumerate(CROWNS):
                share = (0.0, 0.12, 0.45, 0.25, 0.3)[order] + draws.uniform(0, 0.05)
                fall = (1.0, 0.985, 0.93, 0.95, 0.93)[order] * draws.uniform(0.99, 1.01)
                spectra = {
                    part: base[part] ** (1 - share) * darker[part] ** share * fall for part in PARTS
                }
                centre = side * (edge + crown.half_width_mm + 0.02)
                edge += 2 * crown.half_width_mm + 0.04
                tooth = Tooth(
                    f"{'right' if side < 0 else 'left'} {crown.name}",
                    crown,
                    side,
                    centre,
                    spectra,
                    Waves.draw(draws, (1.1, 1.0), 8),
                    Waves.draw(draws, (1.3, 2.2)),
                    Waves.draw(draws, (0.9, 0.16)),
                )
                _draw_spots(tooth, draws, spots_per_tooth)
                teeth.append(tooth)
        teeth.sort(key=lambda tooth: -abs(tooth.centre_x_mm))
        reflectances = tooth_reflectances()
        names = [str(name) for name in draws.permutation(["gingiva1", "gingiva2", "gingiva3"])]
        gingiva = (reflectances[names[0]], reflectances[names[1]])
        return Mouth(
            teeth,
            gingiva,
            reflectances["gingiva3"] * 0.8,
            Waves.draw(draws, (0.22, 0.22), 24),
            Waves.draw(draws, (3.0, 2.0)),
            Waves.draw(draws, (0.35, 0.2), 20),
        )

    def paint(self, canvas: Canvas) -> None:
        """The dark, the gingiva, the teeth from the back to the front, and the lips."""
        everywhere = canvas.everywhere()
        x, y = canvas.x_mm, canvas.y_mm
        depth = np.asarray(0.066 + 0.044 * np.exp(-((y / 6) ** 2)), dtype=np.float32)
        canvas.paint(everywhere, np.ones_like(x), [(self.lip, depth)])
        self._paint_gingiva(canvas)
        self._paint_teeth(canvas)
        self._paint_lips(canvas)

    def _paint_teeth(self, canvas: Canvas) -> None:
        for number, tooth in sorted(enumerate(self.teeth, start=1), key=lambda t: t[0]):
            part = canvas.region(*tooth.box_mm())
            if part is not None:
                across, v = tooth.frame(canvas.x_mm[part], canvas.y_mm[part])
                inside = tooth.inside_mm(across, v)
                weights = tooth.weights(across, v, inside)
                # A narrow shadow falls on what lies behind the outline.
                around = canvas.signal[part]
                fall = np.exp(-np.clip(-inside, 0, 9)[..., None] / np.float32(0.10))
                around *= 1 - np.float32(self.shadow) * fall
                mixture: list[tuple[Array, Field | float]] = [
                    (tooth.spectra[name], weights[name]) for name in PARTS
                ]
                canvas.paint(part, canvas.soft(inside), mixture, number)

    def _paint_gingiva(self, canvas: Canvas) -> None:
        everywhere = canvas.everywhere()
        x, y = canvas.x_mm, canvas.y_mm
        lower = _papilla_line(self.teeth, x)
        blend = np.clip(0.45 + 0.22 * self.cloud.at(x, y), 0, 1)
        # Roots bulge under the gingiva; it is redder and darker towards its margin.
        bulge = np.zeros_like(x)
        for tooth in self.teeth:
            bulge += np.exp(-(((x - tooth.centre_x_mm) / tooth.crown.half_width_mm / 0.62) ** 2))
        relief = (0.76 + 0.24 * bulge) * (1 + 0.03 * self.stipple.at(x, y))
        relief *= 1 - 0.010 * np.abs(x)
        relief *= 1 - 0.16 * _ramp(y, -10.0, -5.0)
        parts: list[tuple[Array, Field | float]] = [
            (self.gingiva[0], blend * relief),
            (self.gingiva[1], (1 - blend) * relief),
        ]
        canvas.paint(everywhere, canvas.soft(lower - y), parts)

    def _paint_lips(self, canvas: Canvas) -> None:
        everywhere = canvas.everywhere()
        x, y = canvas.x_mm, canvas.y_mm
        crease = 1 + 0.035 * self.wet.at(x * 0.55, y * 0.06) + 0.06 * self.cloud.at(x, y)
        upper = -16.4 + 0.0075 * x * x + 0.25 * self.cloud.at(x, y * 0)
        lower = 2.6 - 0.0042 * x * x + 0.25 * self.cloud.at(x, y * 0 + 5)
        for distance in (upper - y, y - lower):
            rounding = 0.55 + 0.45 * np.clip(distance / 3.5, 0, 1) ** 0.7
            canvas.paint(everywhere, canvas.soft(distance), [(self.lip, crease * rounding * 1.5)])

    def specular(self, canvas: Canvas) -> Field:
        """Glare on teeth and wet gingiva, over the light a perfect white would send back."""
        glare = np.zeros_like(canvas.x_mm)
        for number, tooth in enumerate(self.teeth, start=1):
            part = canvas.region(*tooth.box_mm())
            if part is not None:
                across, v = tooth.frame(canvas.x_mm[part], canvas.y_mm[part])
                mine = canvas.owner[part] == number
                glare[part] += tooth.specular(across, v) * mine
        x, y = canvas.x_mm, canvas.y_mm
        attached = (canvas.owner == 0) * (y < -4) * (y > -13.5 + 0.0075 * x * x) * (np.abs(x) < 21)
        glare += np.float32(1.2) * attached * np.clip(self.wet.at(x, y) - 2.6, 0, 0.4)
        return glare


def _papilla_line(teeth: list[Tooth], x_mm: Field) -> Field:
    """How far down the gingiva reaches: pointed at the contacts, hidden by the teeth between."""
    row = sorted(teeth, key=lambda tooth: tooth.centre_x_mm)
    knots = []
    for left, right in itertools.pairwise(row):
        inner, outer = sorted((left, right), key=lambda tooth: abs(tooth.centre_x_mm))
        contact = left.centre_x_mm + left.crown.half_width_mm + 0.02
        tip = outer.crown.incisal_y_mm - 0.40 * outer.crown.length_mm
        rise = 0.42 * inner.crown.half_width_mm
        knots += [(contact - rise, tip - 1.6), (contact, tip), (contact + rise, tip - 1.6)]
    return np.interp(x_mm, [k[0] for k in knots], [k[1] for k in knots]).astype(np.float32)


def draw_spectra(draws: np.random.Generator) -> dict[str, Array]:
    """Reflectances of one tooth's parts: between two modelled teeth, tilted and scaled a little."""
    reflectances = tooth_reflectances()
    one, other = draws.integers(1, 9, 2)
    share = draws.uniform(0, 1)
    tilt = draws.normal(0, 0.015) * (WAVELENGTHS_NM - 550) / 150
    scale = draws.uniform(0.94, 1.06)
    return {
        part: reflectances[f"tooth{one}_{part}"] ** (1 - share)
        * reflectances[f"tooth{other}_{part}"] ** share
        * np.exp(tilt)
        * scale
        for part in PARTS
    }


def _draw_spots(tooth: Tooth, draws: np.random.Generator, per_tooth: float) -> None:
    width, length = tooth.crown.half_width_mm, tooth.crown.length_mm
    for _ in range(int(draws.poisson(per_tooth))):
        tooth.spots.append(
            (
                float(draws.uniform(-0.55, 0.55) * width),
                float(draws.uniform(0.18, 0.8) * length),
                float(draws.uniform(0.12, 0.32)),
                float(draws.uniform(0.25, 0.9)),
                float(draws.uniform(0.5, 2.5)),
            )
        )


def zone_masks(canvas: Canvas, number: int, tooth: Tooth, part: Region) -> dict[str, Field]:
    """Pixels (0 or 1) of the whole visible tooth and of its thirds along the long axis."""
    _, v = tooth.frame(canvas.x_mm[part], canvas.y_mm[part])
    mine = canvas.owner[part] == number
    masks = {"tooth": mine}
    for third, name in enumerate(ZONES):
        masks[name] = mine & (v >= third / 3) & (v < (third + 1) / 3 if third < 2 else v < 2)
    return {name: mask.astype(np.float32) for name, mask in masks.items()}
