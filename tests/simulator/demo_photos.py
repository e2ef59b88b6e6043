"""Makes the demo photos of data/photos.

Run as `python -m tests.simulator.demo_photos` from the root of the project.
"""

from __future__ import annotations

from .photo import Shot, simulate, write
from .spectra import DATA

#: Name of the photo and what it shows.
PHOTOS = {
    "front_teeth": Shot(seed=11, card="tooth20", camera_name="A", light_name="D50"),
    "front_teeth_linear": Shot(
        seed=12,
        card="tooth20",
        camera_name="C",
        light_name="D65",
        encoding="linear",
        width=1200,
        height=800,
    ),
    "front_teeth_warm": Shot(
        seed=13, card="chart24", camera_name="B", light_name="LED-B3", quality=94
    ),
}


def main() -> None:
    """Writes every demo photo with its truth."""
    folder = DATA / "photos"
    folder.mkdir(exist_ok=True)
    for name, shot in PHOTOS.items():
        file = write(simulate(shot), folder / name)
        print(f"{file.name}: {file.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
