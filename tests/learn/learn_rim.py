"""Learns where a tooth's rim lies along rays from a point on it.

From photographs with drawn outlines.

    learn_rim.py FOLDER --out data/learned/rim_weights.csv [--steps 700] [--only 0] [--seed 0]

FOLDER holds X.png and X_label.png (closed light lines around the teeth on black), as in the
validation part of https://github.com/SJTUzhou/3D-Teeth-Reconstruction-from-Five-Intra-oral-Images
(MIT licence, copyright 2023 CHEN Yizhou; doi 10.1109/TVCG.2023.3277914), commit 4754279119ae. The
photographs show two people: `--only 0` and `--only 1` learn from one of them, so that the other's
teeth can judge. Nothing of the photographs but the learned weights is shipped.

A tooth is seen as a picture of 64 rays by 64 steps of 0.14 mm around a point on it; the network is
a small encoder and decoder (3 × 3 convolutions, the angle closed on itself) whose output is, for
each ray, the probability of the rim over its steps. Every sample is drawn anew: the point anywhere
in the inner part of the tooth, any turn, mirrored or not, other size, sharpness, light, white
balance, saturation and noise. Colours are scaled so that the tooth at the point has a typical
tooth's colour, as the library does before it asks the network.

Needs numpy, opencv-python-headless and jax.
"""

from __future__ import annotations

import argparse
import pathlib
import time
from typing import Any

import cv2
import jax
import jax.numpy as jnp
import numpy as np

PX_PER_MM = 14.0
RAYS, STEPS, STEP_MM = 64, 64, 0.14
HALF = int(13 * PX_PER_MM)
#: Pixels a millimetre of each photograph: an upper central incisor is taken as 8.5 mm wide, a first
#: molar as 10 mm (common practice).
SCALES = {
    "0-0": 24.0,
    "0-2": 29.0,
    "0-3": 29.0,
    "0-4": 23.8,
    "1-0": 22.0,
    "1-2": 24.0,
    "1-3": 28.0,
    "1-4": 25.0,
}
#: Regions of the labels, in order of their first pixel, that are not one tooth.
NO_TOOTH = {"0-3": (4, 10), "0-4": (2,), "1-3": (6, 12)}
TO_XYZ = np.array(  # IEC 61966-2-1
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
ANGLES = np.arange(RAYS) * 2 * np.pi / RAYS
RADII = (np.arange(STEPS) + 0.5) * STEP_MM
WIDTHS = (12, 24, 32)


def linear(code: Any) -> Any:
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def lab_of(xyz: Any) -> Any:
    root = np.where(
        xyz > 216 / 24389, np.cbrt(np.maximum(xyz, 1e-9)), (24389 / 27 * xyz + 16) / 116
    )
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], -1).astype(np.float32)


def xyz_of(lab: tuple[float, float, float]) -> Any:
    y = (lab[0] + 16) / 116
    return np.array([y + lab[1] / 500, y, y - lab[2] / 200]) ** 3


TYPICAL = xyz_of((73, 1.5, 17))


def outlined(file: pathlib.Path) -> list[Any]:
    """Regions enclosed by the drawn lines, each grown over half the line."""
    drawn = cv2.imread(str(file), cv2.IMREAD_UNCHANGED)[..., :3].max(2)
    line = cv2.morphologyEx(
        (drawn >= 90).astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8)
    )
    count, parts, stats, _ = cv2.connectedComponentsWithStats(1 - line, connectivity=4)
    labels, found = np.zeros(drawn.shape, np.int32), 0
    for i in range(1, count):
        x, y, w, h, area = stats[i]
        if x > 0 and y > 0 and x + w < drawn.shape[1] and y + h < drawn.shape[0] and area >= 800:
            found += 1
            labels[parts == i] = found
    distance, nearest = cv2.distanceTransformWithLabels(
        (labels == 0).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros(nearest.max() + 1, np.int32)
    table[nearest[labels > 0]] = labels[labels > 0]
    labels = np.where(distance <= 2.5, table[nearest], 0)
    return [labels == i for i in range(1, found + 1)]


def cropped(image: Any, x: float, y: float, border: int) -> Any:
    """A square of 2 HALF around a place."""
    padded = cv2.copyMakeBorder(image, HALF, HALF, HALF, HALF, border)
    x0, y0 = round(x), round(y)
    return padded[y0 : y0 + 2 * HALF, x0 : x0 + 2 * HALF].copy()


def features_around(xyz: Any, x: float, y: float) -> Any:
    """L*, a*, b* as if the tooth here were of a typical colour, and the depth of dark seams."""
    reach = int(PX_PER_MM)
    column, row = round(x), round(y)
    here = xyz[max(0, row - reach) : row + reach + 1, max(0, column - reach) : column + reach + 1]
    gain = TYPICAL / np.maximum(np.median(here.reshape(-1, 3), 0), 1e-3)
    around = cropped(xyz, x, y, cv2.BORDER_REPLICATE)
    lab = lab_of(np.clip(around * gain.astype(np.float32), 0, 1.6))
    lightness = np.ascontiguousarray(lab[..., 0])
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round(0.4 * PX_PER_MM) + 1,) * 2)
    seam = cv2.morphologyEx(lightness, cv2.MORPH_CLOSE, disc) - lightness
    return np.dstack([lab, seam]).astype(np.float32)


def teeth_of(folder: pathlib.Path, only: str) -> list[dict[str, Any]]:
    teeth = []
    for file in sorted(folder.glob("*_label.png")):
        name = file.name.removesuffix("_label.png")
        if not name.startswith(only):
            continue
        factor = PX_PER_MM / SCALES[name]
        picture = cv2.imread(str(file.with_name(name + ".png")))
        size = (round(picture.shape[1] * factor), round(picture.shape[0] * factor))
        small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
        white = TO_XYZ.sum(1)
        xyz = (linear(small[..., ::-1] / 255.0) @ TO_XYZ.T / white).astype(np.float32)
        xyz = cv2.GaussianBlur(xyz, (0, 0), 0.05 * PX_PER_MM)
        for i, region in enumerate(outlined(file)):
            if i in NO_TOOTH.get(name, ()):
                continue
            mask = cv2.resize(region.astype(np.float32), size, interpolation=cv2.INTER_AREA)
            row, column = (float(v.mean()) for v in np.nonzero(mask > 0.5))
            inside = cropped(mask, column, row, cv2.BORDER_CONSTANT)
            depth = cv2.distanceTransform((inside > 0.5).astype(np.uint8), cv2.DIST_L2, 5)
            teeth.append(
                {
                    "features": features_around(xyz, column, row),
                    "mask": inside,
                    "centre": (HALF + column - round(column), HALF + row - round(row)),
                    "inner": np.nonzero(depth > 0.4 * depth.max()),
                }
            )
    return teeth


def along_rays(
    image: Any, x: float, y: float, scale: float, turn: tuple[int, float], step: float, count: int
) -> Any:
    """The image at `count` steps along each ray; `turn` is a mirroring (±1) and an angle."""
    radius = ((np.arange(count) + 0.5) * step * PX_PER_MM * scale)[None]
    angle = (ANGLES * turn[0] + turn[1])[:, None]
    return cv2.remap(
        image,
        (x + radius * np.cos(angle)).astype(np.float32),
        (y + radius * np.sin(angle)).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )


def true_radii(mask: Any, x: float, y: float, scale: float, turn: tuple[int, float]) -> Any:
    """Where each ray first leaves the drawn outline for 0.3 mm or more, in mm."""
    step = 0.05
    share = along_rays(mask, x, y, scale, turn, step, 220)
    outside = share < 0.5
    left = outside & np.roll(outside, -3, 1) & np.roll(outside, -6, 1)
    left[:, -7:] = True
    at = left.argmax(1)
    ray = np.arange(RAYS)
    before, after = share[ray, np.maximum(at - 1, 0)], share[ray, at]
    between = np.where(
        (before > after) & (before >= 0.5), (before - 0.5) / np.maximum(before - after, 1e-6), 1
    )
    return (at - 0.5 + between) * step


def network_input(rays: Any) -> Any:
    radius = np.broadcast_to(RADII[None], rays.shape[:2])
    parts = [
        (rays[..., 0] - 73) / 12,
        (rays[..., 1] - 1.5) / 6,
        (rays[..., 2] - 17) / 8,
        rays[..., 3] / 6,
        radius / 3 - 1,
    ]
    return np.clip(np.stack(parts, -1), -5, 5).astype(np.float32)


def sample(tooth: dict[str, Any], draws: np.random.Generator) -> tuple[Any, Any]:
    """One picture of rays, and the probability of the rim over the steps of each."""
    x, y = tooth["centre"]
    if draws.random() < 0.7:
        rows, columns = tooth["inner"]
        i, share = draws.integers(len(rows)), draws.uniform()
        x, y = x + share * (columns[i] - x), y + share * (rows[i] - y)
    scale = float(np.exp(draws.normal(0, 0.12)))
    turn = (int(draws.choice([-1, 1])), float(draws.uniform(0, 2 * np.pi)))
    radii = true_radii(tooth["mask"], x, y, scale, turn)
    image = tooth["features"]
    if draws.random() < 0.3:
        image = cv2.GaussianBlur(image, (0, 0), draws.uniform(0.3, 2.2))
    rays = along_rays(image, x, y, scale, turn, STEP_MM, STEPS).copy()
    contrast = np.exp(draws.normal(0, 0.12))
    rays[..., 0] = 73 + (rays[..., 0] - 73) * contrast + draws.normal(0, 3.5)
    rays[..., 3] *= contrast
    chroma = np.exp(draws.normal(0, 0.25))
    darker = rays[..., 0] - 73
    rays[..., 1] = (
        1.5 + (rays[..., 1] - 1.5) * chroma + draws.normal(0, 1.2) + draws.normal(0, 0.05) * darker
    )
    rays[..., 2] = (
        17 + (rays[..., 2] - 17) * chroma + draws.normal(0, 2.0) + draws.normal(0, 0.08) * darker
    )
    slope = draws.normal(0, 0.7, 2)
    rays[..., 0] += RADII[None] * (slope[0] * np.cos(ANGLES) + slope[1] * np.sin(ANGLES))[:, None]
    if draws.random() < 0.5:
        rays += draws.normal(0, [draws.uniform(0, 1.5), 0.6, 0.9, 0.4], rays.shape)
    target = np.exp(-0.5 * ((RADII[None] - radii[:, None]) / STEP_MM) ** 2)
    target /= target.sum(1, keepdims=True) + 1e-9
    return network_input(rays), target.astype(np.float32)


def first_weights(key: Any) -> dict[str, tuple[Any, Any]]:
    fine, middle, coarse = WIDTHS
    shapes = {
        "a": (3, 5, fine),
        "b": (3, fine, middle),
        "c": (3, middle, middle),
        "d": (3, middle, coarse),
        "e": (3, coarse, coarse),
        "f": (3, coarse, coarse),
        "g": (3, coarse + middle, middle),
        "h": (3, middle + fine, fine),
        "o": (1, fine, 1),
    }
    out = {}
    for k, (name, (side, inputs, outputs)) in zip(
        jax.random.split(key, len(shapes)), shapes.items(), strict=True
    ):
        spread = np.sqrt(2 / (side * side * inputs)) * (0.3 if name == "o" else 1)
        out[name] = (
            jax.random.normal(k, (side, side, inputs, outputs)) * spread,
            jnp.zeros(outputs),
        )
    return out


def convolved(x: Any, weights: tuple[Any, Any], stride: int = 1) -> Any:
    kernel, bias = weights
    reach = kernel.shape[0] // 2
    if reach:
        x = jnp.concatenate([x[:, -reach:], x, x[:, :reach]], 1)
        x = jnp.pad(x, ((0, 0), (0, 0), (reach, reach), (0, 0)))
    if stride == 2:
        x = x[:, :-1, :-1]
    out = jax.lax.conv_general_dilated(
        x, kernel, (stride, stride), "VALID", dimension_numbers=("NHWC", "HWIO", "NHWC")
    )
    return out + bias


def rectified(x: Any) -> Any:
    return jnp.maximum(x, 0.1 * x)


def doubled(x: Any) -> Any:
    return jnp.repeat(jnp.repeat(x, 2, 1), 2, 2)


def network(w: dict[str, tuple[Any, Any]], x: Any) -> Any:
    a = rectified(convolved(x, w["a"]))
    b = rectified(convolved(a, w["b"], 2))
    c = rectified(convolved(b, w["c"]))
    d = rectified(convolved(c, w["d"], 2))
    e = rectified(convolved(d, w["e"]))
    f = rectified(convolved(e, w["f"])) + d
    g = rectified(convolved(jnp.concatenate([doubled(f), c], -1), w["g"]))
    h = rectified(convolved(jnp.concatenate([doubled(g), a], -1), w["h"]))
    return convolved(h, w["o"])[..., 0]


def loss(w: dict[str, tuple[Any, Any]], x: Any, target: Any) -> Any:
    logs = jax.nn.log_softmax(network(w, x), -1)
    size = sum(jnp.sum(kernel**2) for kernel, _ in w.values())
    return -jnp.mean(jnp.sum(target * logs, -1)) + 2e-4 * size


@jax.jit
def improved(state: Any, x: Any, target: Any, step: Any, rate: Any) -> Any:
    """One step of Adam (Kingma and Ba, 2015)."""
    w, mean, square = state
    value, slope = jax.value_and_grad(loss)(w, x, target)
    mean = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, mean, slope)
    square = jax.tree.map(lambda s, g: 0.99 * s + 0.01 * g * g, square, slope)
    w = jax.tree.map(
        lambda p, m, s: p - rate * (m / (1 - 0.9**step)) / (jnp.sqrt(s / (1 - 0.99**step)) + 1e-6),
        w,
        mean,
        square,
    )
    return (w, mean, square), value


def learned(teeth: list[dict[str, Any]], steps: int, seed: int) -> dict[str, tuple[Any, Any]]:
    draws = np.random.default_rng(seed)
    w = first_weights(jax.random.PRNGKey(seed))
    state = (w, jax.tree.map(jnp.zeros_like, w), jax.tree.map(jnp.zeros_like, w))
    order: list[int] = []
    start = time.monotonic()
    for step in range(1, steps + 1):
        batch = []
        for _ in range(16):
            if not order:
                order = list(draws.permutation(len(teeth)))
            batch.append(sample(teeth[order.pop()], draws))
        rate = 4e-3 * min(1, step / 40) * 0.5 * (1 + np.cos(np.pi * step / steps)) + 1e-5
        x, target = (np.stack(part) for part in zip(*batch, strict=True))
        state, value = improved(state, x, target, float(step), rate)
        if step % 50 == 0:
            print(f"{step}: loss {value:.3f}, {time.monotonic() - start:.0f} s", flush=True)
    return {name: (np.asarray(k), np.asarray(b)) for name, (k, b) in state[0].items()}


COMMENT = """\
# Weights of the network that finds a tooth's rim along rays. Made by tests/learn/learn_rim.py,
# which says what they were learned from. A layer's values are whole numbers, one row for each place
# in its 3 x 3 kernel and each input, one number for each output; those of an output are multiplied
# by its scale.
layer,part,numbers
"""


def table(weights: dict[str, tuple[Any, Any]]) -> str:
    """The weights as CSV: whole numbers, with a scale for each output."""

    def number(value: float) -> str:
        text = f"{value:.6g}"
        return text if "." in text or "e" in text else text + ".0"

    rows = []
    for layer, (kernel, bias) in weights.items():
        flat = kernel.reshape(-1, kernel.shape[-1])
        scale = np.maximum(np.abs(flat).max(0) / 127, 1e-9)
        rows += [[layer, "values", *map(str, row)] for row in np.round(flat / scale).astype(int)]
        rows += [[layer, part, *map(number, v)] for part, v in (("scale", scale), ("bias", bias))]
    return COMMENT + "".join(",".join(row) + "\n" for row in rows)


def main() -> None:
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("folder", type=pathlib.Path)
    options.add_argument("--out", type=pathlib.Path, required=True)
    options.add_argument("--steps", type=int, default=700)
    options.add_argument("--only", default="", help="names of photographs that start with this")
    options.add_argument("--seed", type=int, default=0)
    args = options.parse_args()
    teeth = teeth_of(args.folder, args.only)
    print(f"{len(teeth)} teeth")
    args.out.write_text(table(learned(teeth, args.steps, args.seed)), encoding="utf-8")


if __name__ == "__main__":
    main()
