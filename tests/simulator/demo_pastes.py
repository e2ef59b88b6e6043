"""Makes the invented demo pastes of data/pastes/orchard10.json.

Run as `python -m simulator.demo_pastes` in `tests`, with the package importable. Pastes that do not
exist are lit by radiative transfer with 32 streams, read as drawdowns with errors of thickness and
noise, and fitted as the reader's own drawdowns are: the constants in the file are what a fit found.
"""

from __future__ import annotations

import json
from typing import Any

import mamelon

from .drawdowns import drawdowns
from .materials import PASTES, compact_json, paste_curves
from .spectra import DATA

ANISOTROPY = 0.6
FILE = DATA / "pastes" / "orchard10.json"


def truth(name: str) -> mamelon.Paste:
    """The paste that is lit; µa is half of the sketched K, µs(1 − g) four thirds of its S."""
    role, *_, index, _, _ = PASTES[name]
    grid = mamelon.Grid(400, 10, 31)
    absorption, scattering = paste_curves(name)
    curves = [mamelon.PerMm(grid, list(v)) for v in (absorption / 2, scattering * 4 / 3)]
    return mamelon.Paste(
        name,
        role,
        *curves,
        refractive_index=index,
        transport=mamelon.TransportConstants(*curves, ANISOTROPY),
    )


def fitted(name: str) -> mamelon.Paste:
    """The paste as its drawdowns tell it, with what its maker would say of placing it."""
    role, *_, index, limit, exposure = PASTES[name]
    seed = 100 + list(PASTES).index(name)
    viewing = mamelon.viewing_from_string("D65/2")
    read = mamelon.parse_drawdowns(drawdowns(truth(name), seed), f"{name}.csv", viewing)
    report = mamelon.fit_report(name, role, read, viewing, refractive_index=index)
    return report.paste.replace(
        increment_limit_mm=limit,
        radiant_exposure_j_cm2=exposure,
        minimum_mm=0.3,
        maximum_mm=1.5 if role == "opaque" else 6.0,
    )


def rounded(part: Any) -> Any:
    """The document with five significant digits, finer than any fit."""
    if isinstance(part, float):
        return float(f"{part:.5g}")
    if isinstance(part, list):
        return [rounded(item) for item in part]
    if isinstance(part, dict):
        return {key: rounded(value) for key, value in part.items()}
    return part


def document(names: list[str]) -> Any:
    """The set of these pastes as the file states it."""
    whole = json.loads(mamelon.to_json(mamelon.PasteSet("orchard10", [fitted(n) for n in names])))
    note = "Invented for the demo: no such pastes exist. Measure drawdowns of your own."
    head = {key: whole.pop(key) for key in ("format", "version")}
    return rounded({**head, "note": note, **whole})


def main() -> None:
    """Writes the demo pastes."""
    FILE.write_text(compact_json(document(list(PASTES))), encoding="utf-8")


if __name__ == "__main__":
    main()
