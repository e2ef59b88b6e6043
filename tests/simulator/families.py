"""What families of reflectances have in common: how one is drawn, and which colours are kept."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .spectra import Array, to_lab

#: One reflectance (31,) by chance.
Generator = Callable[[np.random.Generator], Array]

#: Least and largest L*, a*, b* that are kept: about the range that teeth and tabs are told in.
RANGE = ((50.0, -3.0, 3.0), (88.0, 9.0, 32.0))


def draw(generator: Generator, seed: int, count: int) -> Array:
    """`count` reflectances (count, 31) of a family within RANGE."""
    draws = np.random.default_rng([4711, seed])
    kept: list[Array] = []
    for _ in range(4000):
        curve = generator(draws)
        lab = to_lab(curve)
        if np.all(lab >= RANGE[0]) and np.all(lab <= RANGE[1]) and curve.max() < 0.95:
            kept.append(curve)
            if len(kept) == count:
                return np.stack(kept)
    raise ValueError(f"{generator.__name__} makes too few tooth-like colours")
