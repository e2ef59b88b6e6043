"""One simulated photo and its truth.

    shot = simulate(Shot(seed=7, card="tooth20"))
    write(shot, Path("photo"))        # photo.jpg or photo.tif, and photo.truth.json

The truth of a zone is the CIELAB (D65 / 2 degrees) of its mean reflectance factor as seen from the
front under even light, shading included, glare and a margin along the outline left out.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from . import camera, close_mouth, files, spectra
from .canvas import Bits, Canvas, Field, Region
from .card_art import CardArt, Pose, card_file
from .mouth import PARTS, ZONES, Mouth, Tooth, zone_masks
from .spectra import Array

#: Width of the plane that an untilted photo shows.
VIEW_WIDTH_MM = 50.0
#: Top of that view; the incisal edges lie at 0.
VIEW_TOP_MM = -17.6
#: Where the upper edge of the card lies.
CARD_TOP_MM = 1.9
#: Glare above this part of a perfect white's light is left out of the truth.
GLARE_FLOOR = 0.01


@dataclass(frozen=True)
class Shot:
    """What to simulate. Equal values give equal bytes."""

    seed: int
    card: str | None = "tooth20"  #: name of a card document; None: no card in the picture
    width: int = 1800
    height: int = 1200
    camera_name: str = "A"
    light_name: str = "D50"
    #: Sensitivities (31, 3) and power (31,) in place of the named ones.
    sensitivities: tuple[tuple[float, ...], ...] | None = None
    power: tuple[float, ...] | None = None
    encoding: camera.Encoding = "srgb"
    bits: int = 12  #: of the sensor, for linear files
    quality: int = 93
    exposure: float = 0.88  #: a perfect white at the light's strongest place, over clipping
    light_span: float = 0.25  #: natural logarithm of the light's strongest over its weakest place
    tilt_deg: float = 6.0  #: standard deviation of the three turns of the camera
    blur_px: float = 0.8
    black_flare: float = 0.0
    full_well: float = 20000.0
    spots_per_tooth: float = 2.0
    margin_mm: float = 0.4
    card_shift_mm: tuple[float, float] = (0.0, 0.0)
    card_pose: Pose = "upright"
    second_card_shift_mm: tuple[float, float] | None = None
    #: Turns the order of the coloured patches round, so that the card is not the one it seems.
    swap_patches: bool = False
    bars: bool = True
    #: `easy`: teeth parted by dark seams, spots of glare. `close`: see close_mouth.
    mouth: Literal["easy", "close"] = "easy"


@dataclass
class Simulated:
    """A photo with its truth."""

    shot: Shot
    values: Field  #: (height, width, 3) file values 0–1
    truth: dict[str, Any]
    masks: dict[str, Bits] = field(default_factory=dict)


@dataclass(frozen=True)
class SeenTooth:
    """A tooth, the part of the picture that holds it, and its masks there."""

    tooth: Tooth
    part: Region
    masks: dict[str, Field]


def simulate(shot: Shot) -> Simulated:
    """Renders one photo. Deterministic in `shot`."""
    draws = np.random.default_rng(shot.seed)
    sensitivities = (
        np.array(shot.sensitivities)
        if shot.sensitivities is not None
        else spectra.camera(shot.camera_name)
    )
    power = np.array(shot.power) if shot.power is not None else spectra.light(shot.light_name)
    one = camera.sensor(
        sensitivities, power, full_well=shot.full_well, black_flare=shot.black_flare
    )
    canvas = Canvas(shot.width, shot.height, _view(shot, draws), one.response)
    make = close_mouth.draw if shot.mouth == "close" else Mouth.draw
    mouth = make(draws, shot.spots_per_tooth)
    mouth.paint(canvas)
    card = _card(shot)
    if card is not None:
        if shot.bars:
            _paint_bars(canvas, card)
        _hide(canvas, card)
        card.paint(canvas)
        if shot.second_card_shift_mm is not None:
            dx, dy = shot.second_card_shift_mm
            replace(card, x_mm=card.x_mm + dx, y_mm=card.y_mm + dy).paint(canvas)
    glare = mouth.specular(canvas)
    light = _light_field(shot, draws)
    linear = camera.expose(
        canvas.signal,
        glare,
        light / light.max(),
        replace(one, balance=np.ones(3)) if shot.encoding == "raw" else one,
        exposure=shot.exposure,
        blur_px=shot.blur_px,
        draws=draws,
    )
    matrix = None if shot.encoding in ("raw", "linear") else camera.camera_matrix(one)
    contrast, lift = draws.uniform(0.25, 0.6), draws.uniform(0.0, 0.12)
    values = camera.encode(linear, shot.encoding, matrix, float(contrast), float(lift))
    truth = {
        "note": "simulated; it shows nobody",
        "viewing": "D65/2",
        "width_px": shot.width,
        "height_px": shot.height,
        "seed": shot.seed,
        "camera": shot.camera_name,
        "light": shot.light_name,
        "encoding": shot.encoding,
        "card": shot.card,
        "card_corners_px": None if card is None else _rounded(canvas.to_px(card.corners_mm())),
        "mm_to_px": _rounded(canvas.mm_to_px @ _card_origin(card), 9),
        "px_per_mm": round(canvas.px_per_mm, 3),
        "margin_mm": shot.margin_mm,
    }
    simulated = Simulated(shot, values, truth)
    _describe_teeth(simulated, canvas, mouth, glare)
    return simulated


def card_in_view(shot: Shot) -> bool:
    """Whether the whole card, with a rim of 0.5 mm less, stands in the picture."""
    card = _card(shot)
    if card is None:
        return False
    view = _view(shot, np.random.default_rng(shot.seed))
    x0, y0 = card.corners_mm()[0] + 0.5
    x1, y1 = card.corners_mm()[2] - 0.5
    at = np.array([[x0, y0, 1], [x1, y0, 1], [x1, y1, 1], [x0, y1, 1]]) @ view.T
    points = at[:, :2] / at[:, 2:]
    return bool((points > 0).all() and (points < [shot.width - 1, shot.height - 1]).all())


def _view(shot: Shot, draws: np.random.Generator) -> Array:
    """Homography from the plane to pixels of a camera turned a little about its three axes."""
    about_x, about_y, roll = np.deg2rad(draws.normal(0, 1, 3) * shot.tilt_deg * [1, 1, 0.5])
    cx, sx, cy, sy = np.cos(about_x), np.sin(about_x), np.cos(about_y), np.sin(about_y)
    cz, sz = np.cos(roll), np.sin(roll)
    turn = (
        np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
        @ np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
        @ np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    )
    scale = shot.width / VIEW_WIDTH_MM
    distance_mm = 250.0
    middle_mm = VIEW_TOP_MM + shot.height / scale / 2
    into_view = np.column_stack(
        [turn[:, 0], turn[:, 1], turn @ [0, -middle_mm, 0] + [0, 0, distance_mm]]
    )
    focal = scale * distance_mm
    lens = np.array([[focal, 0, shot.width / 2], [0, focal, shot.height / 2], [0, 0, 1]])
    view = lens @ into_view
    return np.asarray(view / view[2, 2], dtype=np.float64)


def _card(shot: Shot) -> CardArt | None:
    if shot.card is None:
        return None
    document = CardArt.read(card_file(shot.card)).document
    if shot.swap_patches:
        curves = [patch["reflectance"] for patch in document["patches"]]
        for patch, curve in zip(document["patches"], reversed(curves), strict=True):
            patch["reflectance"] = curve
    card = placed_card(document)
    dx, dy = shot.card_shift_mm
    return replace(card, x_mm=card.x_mm + dx, y_mm=card.y_mm + dy, pose=shot.card_pose)


def placed_card(document: dict[str, Any]) -> CardArt:
    """A card at its usual place, under the incisal edges and in the middle."""
    return CardArt(document, -document["width_mm"] / 2, CARD_TOP_MM)


def _card_origin(card: CardArt | None) -> Array:
    """Shift from card millimetres to the plane's."""
    x, y = (0.0, 0.0) if card is None else (card.x_mm, card.y_mm)
    return np.array([[1, 0, x], [0, 1, y], [0, 0, 1]], dtype=np.float64)


def bars_mm(card: CardArt) -> list[tuple[float, float, float, float]]:
    """The white bars beside the teeth, x0, y0, x1, y1 in the plane."""
    low = card.y_mm + card.height_mm
    return [
        (-23.4, -11.0, -21.4, low),
        (21.4, -11.0, 23.4, low),
        (-23.4, low - 1.6, card.x_mm, low),
        (card.x_mm + card.width_mm, low - 1.6, 23.4, low),
    ]


def _paint_bars(canvas: Canvas, card: CardArt) -> None:
    for bar in bars_mm(card):
        _paint_shadow(canvas, bar)
    for bar in bars_mm(card):
        part = canvas.region(*bar)
        if part is not None:
            canvas.paint(part, canvas.box(part, *bar), [(card.white, 1.0)])


def _hide(canvas: Canvas, card: CardArt) -> None:
    """Darkens what lies just behind the card."""
    corners = card.corners_mm()
    _paint_shadow(canvas, (*corners[0], *corners[2]))


def _paint_shadow(canvas: Canvas, box: tuple[float, float, float, float]) -> None:
    x0, y0, x1, y1 = box
    part = canvas.region(x0 - 2, y0 - 2, x1 + 2, y1 + 2)
    if part is None:
        return
    x, y = canvas.x_mm[part], canvas.y_mm[part]
    outside = np.maximum(np.maximum(x0 - x, x - x1), np.maximum(y0 - y, y - y1))
    canvas.signal[part] *= (1 - 0.35 * np.exp(-np.clip(outside, 0, 9) / 0.3))[..., None]


def _light_field(shot: Shot, draws: np.random.Generator) -> Field:
    """Relative strength of the light: quadratic in the picture plane in log light."""
    columns = np.linspace(-1, 1, shot.width, dtype=np.float32)[None, :]
    rows = np.linspace(-1, 1, shot.height, dtype=np.float32)[:, None]
    linear_x, linear_y, square_x, cross, square_y = draws.normal(0, 1, 5) * [1, 1, 0.6, 0.5, 0.6]
    logarithm = linear_x * columns + linear_y * rows + cross * columns * rows
    logarithm = logarithm + square_x * columns**2 + square_y * rows**2
    span = float(logarithm.max() - logarithm.min())
    return np.asarray(np.exp(logarithm * shot.light_span / span), dtype=np.float32)


def _describe_teeth(simulated: Simulated, canvas: Canvas, mouth: Mouth, glare: Field) -> None:
    teeth = []
    for number, tooth in enumerate(mouth.teeth, start=1):
        part = canvas.region(*tooth.box_mm())
        if part is None:
            continue
        masks = zone_masks(canvas, number, tooth, part)
        rows, columns = np.nonzero(masks["tooth"])
        whole = abs(tooth.centre_x_mm) < 20 and len(rows) > 0
        if not whole or _cut(canvas, part, masks["tooth"]):
            continue
        box = [columns.min(), rows.min(), np.ptp(columns) + 1, np.ptp(rows) + 1]
        box[0] += part[1].start
        box[1] += part[0].start
        point = canvas.to_px(np.array([_middle_mm(tooth)]))[0]
        teeth.append(
            {
                "name": tooth.name,
                "box_px": [int(v) for v in box],
                "point_px": _rounded(point),
                "zones": _zones(simulated, canvas, SeenTooth(tooth, part, masks), glare),
            }
        )
    teeth.sort(key=lambda tooth: tooth["point_px"][0])
    simulated.truth["teeth"] = teeth
    simulated.truth["glare_rle"] = run_lengths(glare > GLARE_FLOOR)
    simulated.masks["glare"] = glare > GLARE_FLOOR


def _middle_mm(tooth: Tooth) -> tuple[float, float]:
    return tooth.centre_x_mm, tooth.crown.incisal_y_mm - 0.5 * tooth.crown.length_mm


def _cut(canvas: Canvas, part: Region, mask: Field) -> bool:
    """Whether the tooth touches the picture's border."""
    rows, columns = np.nonzero(mask)
    rows, columns = rows + part[0].start, columns + part[1].start
    return bool(
        rows.min() == 0
        or columns.min() == 0
        or rows.max() == canvas.height - 1
        or columns.max() == canvas.width - 1
    )


def _zones(
    simulated: Simulated, canvas: Canvas, seen: SeenTooth, glare: Field
) -> list[dict[str, Any]]:
    tooth, part, masks, glare = seen.tooth, seen.part, seen.masks, glare[seen.part]
    across, v = tooth.frame(canvas.x_mm[part], canvas.y_mm[part])
    inside = tooth.inside_mm(across, v)
    weights = tooth.weights(across, v, inside)
    margin = simulated.shot.margin_mm
    length = tooth.crown.length_mm
    core = (inside > margin) & (np.minimum(v, 1 - v) * length > margin) & (glare <= GLARE_FLOOR)
    described = []
    for name in ZONES:
        zone = masks[name] > 0
        measured = zone & core
        described.append(
            {
                "name": name,
                "lab": _rounded(_mean_lab(tooth, weights, measured), 4),
                "lab_to_the_outline": _rounded(
                    _mean_lab(tooth, weights, zone & (glare <= GLARE_FLOOR)), 4
                ),
                "reflectance": [round(float(r), 5) for r in _mean(tooth, weights, measured)],
                "rle": run_lengths(_full(canvas, part, zone)),
            }
        )
        simulated.masks[f"{tooth.name} {name}"] = _full(canvas, part, zone)
    return described


def _mean(tooth: Tooth, weights: dict[str, Field], mask: Bits) -> Array:
    total = sum(tooth.spectra[name] * float(weights[name][mask].mean()) for name in PARTS)
    return np.asarray(total, dtype=np.float64)


def _mean_lab(tooth: Tooth, weights: dict[str, Field], mask: Bits) -> Array:
    return spectra.to_lab(_mean(tooth, weights, mask))


def _full(canvas: Canvas, part: Region, mask: Bits) -> Bits:
    full = np.zeros((canvas.height, canvas.width), dtype=np.bool_)
    full[part] = mask
    return full


def run_lengths(mask: Bits) -> list[int]:
    """Start and length of each run of true pixels, in row-major order, one after the other."""
    flat = np.concatenate([[False], mask.ravel(), [False]])
    changes = np.flatnonzero(flat[1:] != flat[:-1])
    runs = changes.reshape(-1, 2)
    return [int(v) for start, end in runs for v in (start, end - start)]


def from_run_lengths(runs: list[int], width: int, height: int) -> Bits:
    """The mask of `run_lengths`."""
    flat = np.zeros(width * height, dtype=np.bool_)
    for start, length in zip(runs[::2], runs[1::2], strict=True):
        flat[start : start + length] = True
    return flat.reshape(height, width)


def _rounded(values: Array, digits: int = 2) -> Any:
    return np.round(values, digits).tolist()


def write(
    simulated: Simulated, stem: Path, profile: Callable[[], bytes] | None = files.srgb_profile
) -> Path:
    """Writes the photo (JPEG, or TIFF when linear) and its truth beside it; returns the photo."""
    shot = simulated.shot
    if shot.encoding in ("raw", "linear"):
        file = stem.with_name(stem.name + ".tif")
        files.write_tiff16(file, simulated.values, shot.bits, files.linear_profile())
    else:
        file = stem.with_name(stem.name + ".jpg")
        embedded = None if profile is None else profile()
        file.write_bytes(files.jpeg_bytes(simulated.values, shot.quality, embedded))
    truth = json.dumps({"photo": file.name, **simulated.truth}, separators=(",", ":"))
    stem.with_name(stem.name + ".truth.json").write_text(truth + "\n", encoding="utf-8")
    return file
