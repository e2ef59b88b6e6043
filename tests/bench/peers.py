"""Ours beside general-purpose Python libraries, end to end on (n, 3) arrays, on one core.

All compared run by turns and the shortest of the repeats counts. Prints nanoseconds a row and how
many times faster than each peer we are.

    python tests/bench/peers.py [rows]
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import skimage.color

import colour
import mamelon

REPEATS = 7


def tooth_colours(rows: int, seed: int) -> npt.NDArray[np.float64]:
    """Random CIELAB within the range of natural teeth, with margin."""
    random = np.random.default_rng(seed)
    return random.uniform([55, -3, 5], [90, 10, 40], (rows, 3))


def shortest(
    contestants: dict[str, Callable[[], object]], repeats: int = REPEATS
) -> dict[str, float]:
    """Seconds of the fastest run of each, run by turns."""
    least = dict.fromkeys(contestants, float("inf"))
    for _ in range(repeats):
        for name, run in contestants.items():
            start = time.perf_counter()
            run()
            least[name] = min(least[name], time.perf_counter() - start)
    return least


def show(title: str, times: dict[str, float], rows: int) -> None:
    """A line each: nanoseconds a row and the ratio to every peer."""
    print(title)
    peers = [name for name in times if not name.startswith("mamelon")]
    for name, seconds in times.items():
        ratios = (
            "  ".join(f"{times[peer] / seconds:6.1f} x {peer}" for peer in peers)
            if name not in peers
            else ""
        )
        print(f"  {name:22} {seconds / rows * 1e9:9.2f} ns  {ratios}")


def main() -> None:
    """Differences of a million pairs, then the nearest of 16 tabs."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})

    a, b = tooth_colours(rows, 1), tooth_colours(rows, 2)
    a32, b32 = a.astype(np.float32), b.astype(np.float32)
    show(
        f"CIEDE2000 of {rows} pairs",
        shortest(
            {
                "colour-science": lambda: colour.difference.delta_E_CIE2000(a, b),
                "scikit-image": lambda: skimage.color.deltaE_ciede2000(a, b),
                "mamelon float64": lambda: mamelon.de00(a, b),
                "mamelon float32": lambda: mamelon.de00(a32, b32),
            }
        ),
        rows,
    )

    tabs = tooth_colours(16, 3)
    pixels = a[: rows // 4]
    pixels32, tabs32 = pixels.astype(np.float32), tabs.astype(np.float32)

    def peer_nearest() -> npt.NDArray[np.intp]:
        tables = [skimage.color.deltaE_ciede2000(pixels, tab[None]) for tab in tabs]
        return np.asarray(np.argmin(tables, axis=0))

    def our_nearest() -> npt.NDArray[np.intp]:
        tables = [mamelon.de00(pixels32, tab[None]) for tab in tabs32]
        return np.asarray(np.argmin(tables, axis=0))

    contestants: dict[str, Callable[[], object]] = {
        "scikit-image": peer_nearest,
        "mamelon float32 by NumPy": our_nearest,
    }
    contestants["mamelon float32"] = lambda: mamelon.nearest_rows(pixels32, tabs32)
    show(f"nearest of 16 tabs of {len(pixels)} pixels", shortest(contestants, 3), len(pixels))

    image = np.random.default_rng(4).integers(90, 250, (len(pixels), 3), dtype=np.uint8)

    def peer_map() -> npt.NDArray[np.intp]:
        labs = skimage.color.rgb2lab(image)
        tables = [skimage.color.deltaE_ciede2000(labs, tab[None]) for tab in tabs]
        return np.asarray(np.argmin(tables, axis=0))

    contestants = {
        "scikit-image": peer_map,
        "mamelon float32": lambda: mamelon.nearest_srgb8(image, tabs32),
    }
    show(
        f"8-bit sRGB to nearest of 16 tabs, {len(image)} pixels",
        shortest(contestants, 3),
        len(image),
    )


if __name__ == "__main__":
    main()
