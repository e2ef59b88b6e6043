"""How near instruments of a ring come to one another once they are in line.

    PYTHONPATH=<build>/python:tests python -m simulator.study_ring --rings 20

Each ring: five instruments read 20 tooth-coloured specimens three times each. An instrument scales
and shifts L*, a*, b*, mixes them a little and bends L*, as geometries and apertures do; on average
two of them differ by ΔE00 5–6 before. Printed: root mean squares of ΔE00 between instruments before
and after, on specimens left out of the fit, and over what the repeats alone leave.
"""

from __future__ import annotations

import argparse
import json
import sys

import numpy as np

from mamelon.practice import alignment


def ring(seed: int) -> alignment.Alignment:
    rng = np.random.default_rng([seed, 815])
    truth = np.column_stack([rng.normal(73, 5, 20), rng.normal(2, 1.5, 20), rng.normal(18, 5, 20)])
    read, scatter = {}, {}
    for name in "abcde":
        sd = rng.uniform(0.1, 0.35, 3)
        mixed = np.diag(rng.uniform(0.9, 1.1, 3)) + 0.02 * rng.normal(size=(3, 3))
        seen = truth @ mixed.T + rng.normal(size=3) * [4, 1.5, 3]
        seen[:, 0] += rng.normal() * 0.002 * (truth[:, 0] - 73) ** 2
        repeats = seen + sd * rng.normal(size=(3, 20, 3))
        read[name] = repeats.mean(axis=0)
        scatter[name] = np.diag(repeats.var(axis=0, ddof=1).mean(axis=0) / 3)
    return alignment.align(read, scatter)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rings", type=int, default=20)
    found = [ring(seed) for seed in range(options.parse_args().rings)]
    ratio = np.array([one.after / one.floor for one in found])
    rms = {
        name: round(float(np.sqrt(np.mean([getattr(one, name) ** 2 for one in found]))), 3)
        for name in ("before", "after", "floor")
    }
    forms = [one.form for one in found]
    print(
        json.dumps(
            {
                "rings": len(found), **rms,
                "after over floor": {"median": round(float(np.median(ratio)), 3),
                                     "worst": round(float(ratio.max()), 3)},
                "forms": {form: forms.count(form) for form in sorted(set(forms))},
            }
        )
    )  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
