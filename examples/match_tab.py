"""Match one spectrophotometer reading to a tab set, and draw both in the a*b* plane.

`python examples/match_tab.py [FIGURE.png]`. The tabs are invented.
"""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np

import mamelon as mm
from mamelon import plot

DATA = Path(__file__).resolve().parent.parent / "data"


def main(figure: Path) -> None:
    """Prints the nearest five tabs and draws the set with the reading."""
    mpl.use("Agg")
    tabs = mm.read_tab_set(DATA / "tabs/orchard16.json")
    repeats = [
        mm.Reading("tooth 21", mm.Measured(lab), tabs.viewing, zone="middle")
        for lab in ([73.1, 1.6, 17.2], [72.8, 1.5, 17.5], [73.3, 1.4, 17.1])
    ]
    reading = mm.combine(repeats)
    match = mm.match(reading, tabs)
    print(f"{reading.label}: {reading.lab.value}, sd {np.round(reading.lab.sd(), 2)}")
    for tab in match.ranked[:5]:
        words = mm.difference_in_words(tab)
        print(f"{tab.tab:8} ΔE00 {tab.de00:.2f} ({tab.low:.2f}–{tab.high:.2f}), ", end="")
        print(f"best with chance {tab.chance_best:.0%}: the tooth is {words}")
    print("cannot be told apart:", ", ".join(match.indistinguishable))
    ax = plot.colour_plane(tabs, "ab")
    ax.plot(reading.lab.value.a, reading.lab.value.b, "k+", markersize=12)
    plt.savefig(figure, dpi=150)
    print(f"The figure is {figure}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "match_tab.png"))
