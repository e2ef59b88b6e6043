"""Makes the small photos of tests/data/photos: one that works, and one for each way to fail.

Run as `python -m tests.simulator.bad_photos` from the root of the project.
"""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

from .files import jpeg_bytes, srgb_profile
from .photo import Shot, simulate, write

FOLDER = Path(__file__).resolve().parents[1] / "data" / "photos"
GOOD = Shot(seed=22, camera_name="D", light_name="D50", width=600, height=400, tilt_deg=4.0)

#: Name: what is wrong with it.
SHOTS = {
    "no_card": replace(GOOD, card=None),
    "card_cut_off": replace(GOOD, card_shift_mm=(0.0, 6.5)),
    "card_mirrored": replace(GOOD, card_pose="mirrored"),
    "card_upside_down": replace(GOOD, card_pose="upside down"),
    "two_cards": replace(GOOD, second_card_shift_mm=(0.0, -17.0)),
    "wrong_card": replace(GOOD, swap_patches=True),
    "over_exposed": replace(GOOD, exposure=2.6),
    "under_exposed": replace(GOOD, exposure=0.02),
}


def main() -> None:
    """Writes every photo."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    good = write(simulate(GOOD), FOLDER / "good_small")
    write(simulate(replace(GOOD, encoding="linear")), FOLDER / "good_small_linear")
    for name, shot in SHOTS.items():
        values = simulate(shot).values
        (FOLDER / f"{name}.jpg").write_bytes(jpeg_bytes(values, shot.quality, srgb_profile()))
    content = good.read_bytes()
    (FOLDER / "truncated.jpg").write_bytes(content[: len(content) * 3 // 5])
    (FOLDER / "text.jpg").write_text("This is not a photo.\n", encoding="utf-8")
    image = Image.open(io.BytesIO(content))
    image.convert("L").save(FOLDER / "grey.jpg", quality=90)
    image.convert("CMYK").save(FOLDER / "cmyk.jpg", quality=90)
    image.resize((200, 133)).save(FOLDER / "tiny.jpg", quality=90, icc_profile=srgb_profile())
    pixels = np.asarray(np.asarray(image) / 255, dtype=np.float32)
    steps = [np.roll(pixels, step, axis=1) for step in range(-9, 10)]
    moved = np.asarray(np.mean(steps, axis=0), dtype=np.float32)
    (FOLDER / "motion_blur.jpg").write_bytes(jpeg_bytes(moved, 93, srgb_profile()))
    half = pixels.copy()
    half[250:330, 150:230] = (0.6, 0.45, 0.4)
    (FOLDER / "card_hidden.jpg").write_bytes(jpeg_bytes(half, 93, srgb_profile()))


if __name__ == "__main__":
    main()
