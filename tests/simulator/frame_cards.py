"""Makes the framed cards of data/cards: the same patches, with white bars beside the teeth.

Run as `python -m tests.simulator.frame_cards` from the root of the project. A framed card's
rectangle reaches from the upper end of the left bar to the lower right corner; the teeth are seen
between the bars. The simulated photos show the bars, so each may be read with the card or with its
frame; with the frame the light beside the teeth is known.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from .card_art import CardArt
from .materials import compact_json
from .photo import bars_mm, placed_card
from .spectra import DATA

#: Length of one white area along a bar.
PIECE_MM = 2.4
#: Left free along a bar's edges.
RIM_MM = 0.3


def framed(name: str) -> dict[str, Any]:
    """The document of a card with its bars."""
    card = placed_card(CardArt.read(DATA / "cards" / f"{name}.json").document)
    bars = bars_mm(card)
    left, top = min(bar[0] for bar in bars), min(bar[1] for bar in bars)
    right, bottom = max(bar[2] for bar in bars), max(bar[3] for bar in bars)
    dx, dy = card.x_mm - left, card.y_mm - top
    document: dict[str, Any] = json.loads(json.dumps(card.document))
    document["name"] = f"{name}_frame"
    document["note"] += " With white bars beside the teeth."
    document["width_mm"] = round(right - left, 4)
    document["height_mm"] = round(bottom - top, 4)
    areas = document["white"]["areas"]
    for item in document["fiducials"] + document["patches"] + areas:
        item["x_mm"] = round(item["x_mm"] + dx, 4)
        item["y_mm"] = round(item["y_mm"] + dy, 4)
    for x0, y0, x1, y1 in bars[:2]:
        for y in np.arange(y0 + RIM_MM, y1 - 1.6 - PIECE_MM, PIECE_MM):
            areas.append(
                {
                    "x_mm": round(x0 - left + RIM_MM, 4),
                    "y_mm": round(float(y) - top, 4),
                    "width_mm": round(x1 - x0 - 2 * RIM_MM, 4),
                    "height_mm": round(PIECE_MM - 0.2, 4),
                }
            )
    return document


def main() -> None:
    """Writes every framed card."""
    for name in ("tooth20", "chart24", "compact12"):
        file = DATA / "cards" / f"{name}_frame.json"
        file.write_text(compact_json(framed(name)), encoding="utf-8")


if __name__ == "__main__":
    main()
