"""The demo photo enlarged to 24 megapixels, for `bench_shade_job`.

    python tests/bench/large_photos.py FOLDER

Writes `smooth.jpg`, the enlarged picture as it is, and `detailed.jpg`, which carries what a camera
adds at this size: photon and reading noise, smeared by demosaicing, and fine texture. Enlarging
leaves nothing of either, so that the smooth picture decodes faster than any photo does and makes
the rest of the job look worse. `detailed420.jpg` is the same with halved chroma, as phones write
it. All at quality 92, the demo's profile kept.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

DATA = Path(__file__).resolve().parents[2] / "data"
SIZE = (6000, 4000)


def to_light(code: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Linear light of sRGB values 0–1 (IEC 61966-2-1)."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def to_code(light: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Invert `to_light`."""
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def detailed(picture: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """Texture of 3 %, noise of a full well of 3000 electrons with 4 of reading, sharpened."""
    random = np.random.default_rng(24)
    light = to_light(picture.astype(np.float32) / 255)
    shape = light.shape
    texture = cv2.GaussianBlur(random.standard_normal(shape[:2], np.float32), (0, 0), 1.0)
    light *= 1 + 0.03 * (texture / texture.std())[..., None]
    electrons = 3000.0
    noise = random.standard_normal(shape, np.float32)
    noise *= np.sqrt(light / electrons + (4 / electrons) ** 2)
    # Two of three values a pixel are interpolated: neighbours share noise.
    light += cv2.GaussianBlur(noise, (0, 0), 0.6)
    code = to_code(np.clip(light, 0, 1))
    code += 0.5 * (code - cv2.GaussianBlur(code, (0, 0), 1.0))
    return np.round(255 * np.clip(code, 0, 1)).astype(np.uint8)


def main() -> None:
    """Write the pictures."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with Image.open(DATA / "photos/front_teeth.jpg") as photo:
        profile = photo.info.get("icc_profile")
        smooth = np.asarray(photo.convert("RGB").resize(SIZE, Image.Resampling.BICUBIC))
    rough = detailed(smooth)
    for name, pixels, subsampling in (
        ("smooth", smooth, 0),
        ("detailed", rough, 0),
        ("detailed420", rough, 2),
    ):
        file = folder / f"{name}.jpg"
        Image.fromarray(pixels).save(file, quality=92, subsampling=subsampling, icc_profile=profile)
        print(f"{file}: {file.stat().st_size * 8 / pixels[..., 0].size:.2f} bits a pixel")


if __name__ == "__main__":
    main()
