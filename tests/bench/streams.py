"""How the error of radiative transfer falls with the number of streams.

Slab totals against 32 streams, ours and iadpython's at the same number of points, and colours of
stacks as an instrument d:8 sees them. Run `python tests/bench/streams.py`, package importable.
"""

from __future__ import annotations

import itertools

import iadpython
import numpy as np

import mamelon

MEDIA = [(0.02, 1.0), (0.2, 3.0), (0.0, 2.0), (1.5, 0.5)]
THICKNESSES = (0.3, 1.0, 3.0)
ANISOTROPIES = (0.0, 0.5, 0.8)
STREAMS = (4, 6, 8, 16)
D65 = mamelon.viewing_from_string("D65/2")
GRID = mamelon.Grid(400, 10, 31)


def totals(index: float, g: float, streams: int) -> list[list[float]]:
    found = []
    for (absorption, reduced), d in itertools.product(MEDIA, THICKNESSES):
        slab = mamelon.slab_totals(
            mamelon.Medium(absorption, reduced / (1 - g), g), d, index, streams
        )
        found.append([slab.r_normal, slab.t_normal, slab.r_diffuse, slab.t_diffuse])
    return found


def of_iadpython(index: float, g: float, points: int) -> list[list[float]]:
    found = []
    for (absorption, reduced), d in itertools.product(MEDIA, THICKNESSES):
        scattering = reduced / (1 - g)
        extinction = absorption + scattering
        sample = iadpython.Sample(
            a=scattering / extinction, b=extinction * d, g=g, d=d, n=index, quad_pts=points
        )
        found.append([float(v) for v in sample.rt()])
    return found


def worst(found: list[list[float]], truth: list[list[float]]) -> tuple[float, float]:
    off = np.abs(np.subtract(found, truth)).max(axis=0)
    return float(off[:2].max()), float(off[2:].max())


def slabs() -> None:
    print("largest error of totals (of a beam, of diffuse light) against 32 streams")
    for index, g in itertools.product((1.0, 1.5), ANISOTROPIES):
        truth = totals(index, g, 32)
        cells = []
        for streams in STREAMS:
            ours = worst(totals(index, g, streams), truth)
            theirs = worst(of_iadpython(index, g, streams), truth)
            cells.append(f"{ours[0]:.1e} {ours[1]:.1e} ({theirs[0]:.1e} {theirs[1]:.1e})")
        print(f"  n {index} g {g}: " + " | ".join(cells))


def stacks() -> None:
    print("colours of 40 stacks of 1 to 3 layers, n 1.5: dE00 mean / max against 32 streams")
    draws = np.random.default_rng(1)
    waves = 400 + 10 * np.arange(31.0)
    for g in ANISOTROPIES:
        found: dict[int, list[float]] = {streams: [] for streams in STREAMS}
        for _ in range(40):
            layers = []
            for i in range(int(draws.integers(1, 4))):
                fall = (waves / 550) ** -draws.uniform(0.2, 1.0)
                absorption = draws.uniform(0.005, 0.04) + draws.uniform(0.02, 0.2) * np.exp(
                    -(((waves - 380) / 85) ** 2)
                )
                curves = [
                    mamelon.PerMm(GRID, list(map(float, v)))
                    for v in (absorption, draws.uniform(0.7, 3.0) * fall)
                ]
                paste = mamelon.Paste(
                    f"p{i}", "body", *curves, transport=mamelon.TransportConstants(*curves, g)
                )
                layers.append(mamelon.Layer(paste, float(draws.uniform(0.3, 1.5))))
            floor = mamelon.Reflectance(GRID, [float(draws.uniform(0.05, 0.6))] * 31)
            stack = mamelon.Stack(floor, layers)
            colour = {
                n: mamelon.to_lab(mamelon.predict(stack, "transport", n), D65)
                for n in (*STREAMS, 32)
            }
            for streams in STREAMS:
                found[streams].append(float(mamelon.de00(colour[streams], colour[32])))
        print(
            f"  g {g}: "
            + " | ".join(f"{n}: {np.mean(v):.4f} / {np.max(v):.4f}" for n, v in found.items())
        )


if __name__ == "__main__":
    slabs()
    stacks()
