"""Writes DNG files of a known sensor: every value is what the test says, nothing is processed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray

from .canvas import Field

Mosaic = NDArray[np.uint16]

# Tags of TIFF/EP and DNG 1.4 (Adobe, 2012), by number, with TIFF's types.
BYTE, ASCII, SHORT, LONG, RATIONAL, SIGNED_RATIONAL = 1, 2, 3, 4, 5, 10
CFA, LINEAR_RAW = 32803, 34892

# An invented camera's matrix, which a DNG must state and no linear reading uses.
CAMERA_FROM_XYZ = (0.9, -0.3, -0.1, -0.4, 1.2, 0.2, -0.1, 0.2, 0.6)


def rational(values: Sequence[float]) -> tuple[int, ...]:
    """Numbers as pairs of integers over 10 000."""
    return tuple(number for value in values for number in (round(value * 10_000), 10_000))


def mosaic_of(rgb: Field, pattern: Sequence[int] = (0, 1, 1, 2)) -> Field:
    """What a sensor with one colour a photosite sees of (h, w, 3): (h, w)."""
    rows, columns = np.indices(rgb.shape[:2])
    channel = np.asarray(pattern).reshape(2, 2)[rows % 2, columns % 2]
    return np.take_along_axis(rgb, channel[..., None], axis=2)[..., 0]


def write_dng(
    file: Path,
    values: NDArray[np.uint16],
    *,
    black: Sequence[int] = (512, 512, 512, 512),
    white: Sequence[int] = (16383,),
    pattern: Sequence[int] = (0, 1, 1, 2),
    orientation: int = 1,
    byteorder: str = "<",
) -> None:
    """A DNG of a mosaic (h, w), or of linear camera RGB (h, w, 3), as the sensor's values.

    `black` is of the four photosites of the pattern, or of the three channels.
    """
    mosaic = values.ndim == 2
    tags: list[tuple[int, int, int, Any, bool]] = [
        (274, SHORT, 1, orientation, True),
        (50706, BYTE, 4, (1, 4, 0, 0), True),
        (50707, BYTE, 4, (1, 1, 0, 0), True),
        (50708, ASCII, 0, "mamelon simulated camera", True),
        (50714, LONG, len(black), tuple(black), True),
        (50717, LONG, len(white), tuple(white), True),
        (50721, SIGNED_RATIONAL, 9, rational(CAMERA_FROM_XYZ), True),
        (50728, RATIONAL, 3, rational((0.5, 1, 0.7)), True),
        (50778, SHORT, 1, 21, True),
        (271, ASCII, 0, "mamelon", True),
        (272, ASCII, 0, "simulated camera", True),
    ]  # fmt: skip
    if mosaic:
        tags += [
            (33421, SHORT, 2, (2, 2), True),
            (33422, BYTE, 4, tuple(pattern), True),
            (50713, SHORT, 2, (2, 2), True),
        ]
    tifffile.imwrite(
        file,
        values,
        photometric=CFA if mosaic else LINEAR_RAW,
        planarconfig=None if mosaic else "contig",
        extratags=tags,
        byteorder=byteorder,
        software=False,
        metadata=None,
    )
