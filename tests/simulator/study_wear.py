"""How often `card_history` calls a patch changed that is as it was, and finds one that is not.

    PYTHONPATH=<build>/python:tests python -m simulator.study_wear

Histories of tooth20 in flat photos as in `study_kinds`: one held-out camera, and on every visit the
same light, or another one of its class. A patch that wears loses reflectance towards the violet, a
little more on every visit.
"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

import numpy as np

import mamelon

from . import held_out
from .card_art import card_file
from .spectra import WAVELENGTHS_NM as NM
from .spectra import Array, to_lab
from .study_kinds import BROAD, PX_PER_MM, VIEWING, curves_of, lights, painted, power_of

DAYS = ("2026-01-05", "2026-03-02", "2026-06-08", "2026-09-14", "2026-11-30")


def worn(curve: Array, wanted_de00: float) -> Array:
    """The curve yellowed until its colour is that far off."""
    fall = np.exp(-(NM - 400) / 70)
    before = to_lab(curve[None])[0]
    low, high = 0.0, 3.0
    for _ in range(30):
        middle = (low + high) / 2
        after = to_lab((curve * np.exp(-middle * fall))[None])[0]
        if float(mamelon.de00(after, before)) < wanted_de00:
            low = middle
        else:
            high = middle
    return np.asarray(curve * np.exp(-low * fall))


def visits(
    document: dict[str, Any],
    responses: list[Array],
    worn_patch: str | None,
    wear: float,
    draws: np.random.Generator,
) -> list[mamelon.CardVisit]:
    """One history."""
    card = mamelon.parse_card(json.dumps(document), "card")
    width, height = document["width_mm"] * PX_PER_MM, document["height_mm"] * PX_PER_MM
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    spectra = curves_of(document)
    out = []
    for i, (day, response) in enumerate(zip(DAYS, responses, strict=True)):
        shown = dict(spectra)
        if worn_patch is not None:
            shown[worn_patch] = worn(spectra[worn_patch], wear * i / (len(DAYS) - 1))
        scale = 0.9 / response.sum(axis=0).max() * np.exp(draws.normal(0, 0.05))
        photo = painted(document, shown, response * scale, 0.0015, draws)
        fit = mamelon.fit_card(photo, card, VIEWING, corners_px=corners)
        out.append(mamelon.CardVisit(fit.keep(), day))
    return out


def study(arguments: argparse.Namespace) -> str:
    """The tables."""
    document = json.loads(card_file("tooth20").read_text(encoding="utf-8"))
    names = [p["name"] for p in document["patches"]]
    draws = np.random.default_rng(2032)
    by_class = {g: [n for h, n in lights() if h == g] for g in BROAD}
    rows = [
        "| lights | wear, ΔE00 | histories | any other patch called changed | found "
        "| change within U95 |",
        "|" + " --- |" * 6,
    ]
    for same in (True, False):
        for wear in (0.0, 0.7, 1.0, 1.5, 2.5):
            alarms, found, held, count = 0, 0, 0, 0
            for i in range(arguments.histories):
                rows_of = np.array(held_out.FAMILIES[("mixed", "lobed")[i % 2]](draws))
                group = by_class[BROAD[i % len(BROAD)]]
                picked = [
                    group[(i if same else i + visit) % len(group)] for visit in range(len(DAYS))
                ]
                responses = [rows_of * power_of(name)[:, None] for name in picked]
                patch = names[i % len(names)] if wear > 0 else None
                try:
                    history = mamelon.card_history(
                        visits(document, responses, patch, wear, draws), VIEWING
                    )
                except mamelon.CaptureError:
                    continue
                count += 1
                changed = {p.name for p in history.patches if p.changed}
                alarms += bool(changed - {patch})
                found += patch in changed
                if patch is not None:
                    one = next(p for p in history.patches if p.name == patch)
                    held += abs(one.de00 - wear) <= one.de00_u95
            share = [f"{100 * n / count:.0f} %" for n in (alarms, found, held)]
            if wear == 0:
                share[1:] = ["–", "–"]
            rows.append(
                f"| {'the same' if same else 'of one class'} | {wear:.1f} | {count} | "
                + " | ".join(share)
                + " |"
            )
    return "\n".join(rows)


def main() -> None:
    """Runs the study and prints its table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--histories", type=int, default=40, help="of each kind")
    sys.stdout.write(study(parser.parse_args()) + "\n")


if __name__ == "__main__":
    main()
