"""How near to the truth later photos are read by a kept fit, without a card in the frame.

    PYTHONPATH=<build>/python:tests python -m simulator.study_later

The card is painted flat in a small linear photo before held-out cameras and lights, as in
`study_kinds`, and its fit is kept. A later photo shows teeth of the families that judge, and a tab
of one of them. Between the two, all light and each channel drift by draws of the sizes that
`fit_later` assumes (`--drift 2`: twice as far), or the light is another one. Whether the size is
right for somebody's lamp no simulation can tell.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from typing import Any

import numpy as np

import mamelon

from . import families, held_out, judged_surfaces
from .card_art import card_file
from .spectra import WAVELENGTHS_NM as NM
from .spectra import Array, to_lab
from .study_kinds import BROAD, PX_PER_MM, VIEWING, curves_of, lights, painted, power_of, u95

SETTINGS = mamelon.CameraSettings(
    camera="Invented One", exposure_s=0.008, f_number=22, iso=200, white_balance="fixed"
)
SIDE = 24  #: of a surface in the later photo, in pixels


def shown(
    signals: list[Array], size: tuple[int, int], draws: np.random.Generator
) -> tuple[mamelon.Photo, list[mamelon.BoxPx]]:
    """A linear photo with a square of each signal around its middle, and the boxes within them."""
    height, width = size
    picture = np.full((height, width, 3), 0.02)
    boxes = []
    top, left = height // 2 - SIDE // 2, width // 2 - SIDE * len(signals) // 2
    for i, signal in enumerate(signals):
        x = left + SIDE * i
        picture[top : top + SIDE, x : x + SIDE] = signal
        boxes.append(mamelon.BoxPx(x + 3, top + 3, SIDE - 6, SIDE - 6))
    picture *= 1 + draws.normal(0, 0.004, picture.shape)
    codes = np.clip(np.rint(picture * 65535), 0, 65535).astype(np.uint16)
    return mamelon.Photo(codes, bits=16, settings=SETTINGS), boxes


def curve_of(values: Array) -> mamelon.Reflectance:
    """A reflectance as the library takes it."""
    return mamelon.Reflectance(mamelon.Grid(float(NM[0]), 10.0, len(NM)), values)


class Study:
    """The card, the surfaces, and what was read of them."""

    def __init__(self, arguments: argparse.Namespace) -> None:
        """Draws the surfaces."""
        self.arguments = arguments
        self.document = json.loads(card_file("tooth20_frame").read_text(encoding="utf-8"))
        self.card = mamelon.parse_card(json.dumps(self.document), "tooth20_frame")
        self.spectra = curves_of(self.document)
        self.draws = np.random.default_rng(2031)
        self.sample = np.random.default_rng(95).standard_normal((500, 3))
        self.teeth = [
            families.draw(generator, 500 + i, 40)
            for i, generator in enumerate(judged_surfaces.TEETH.values())
        ]
        self.tabs = [
            families.draw(generator, 600 + i, 40)
            for i, generator in enumerate(judged_surfaces.TABS.values())
        ]
        self.records: list[dict[str, Any]] = []

    def kept(self, response: Array) -> mamelon.KeptFit | None:
        """The fit of a card's photo, or nothing where it is refused."""
        scale = PX_PER_MM
        width, height = self.document["width_mm"] * scale, self.document["height_mm"] * scale
        photo = painted(self.document, self.spectra, response, 0.0015, self.draws)
        photo = mamelon.Photo(np.asarray(photo.rgb), bits=16, settings=SETTINGS)
        corners = [(0, 0), (width, 0), (width, height), (0, height)]
        try:
            return mamelon.fit_card(photo, self.card, VIEWING, corners_px=corners).keep()
        except mamelon.Error:
            return None

    def read(self, kept: mamelon.KeptFit, response: Array, base: dict[str, Any]) -> None:
        """Reads four teeth of one later photo, alone and beside a tab of known reflectance."""
        number = len(self.records) // 8
        curves = [family[number % len(family)] for family in self.teeth]
        tab = self.tabs[number % len(self.tabs)][number % 40]
        signals = [c @ response for c in [*curves, tab]]
        photo, boxes = shown(signals, (kept.height_px, kept.width_px), self.draws)
        known = mamelon.KnownSurface("tab", boxes[-1], reflectance=curve_of(tab))
        for beside in (False, True):
            record = {**base, "tab": beside}
            try:
                fit = mamelon.fit_later(photo, kept, VIEWING, surfaces=[known] if beside else [])
            except mamelon.CaptureError as error:
                assert "does not belong" in str(error)
                self.records += [{**record, "refused": True, "warned": False}] * len(curves)
                continue
            for curve, box in zip(curves, boxes, strict=False):
                reading = mamelon.read_box(photo, fit, box, "tooth", "tooth")
                lab = np.array([reading.lab.value.l, reading.lab.value.a, reading.lab.value.b])
                truth = to_lab(curve[None])[0]
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    import colour

                    error_de00 = float(colour.delta_E(lab, truth, method="CIE 2000"))
                self.records.append(
                    {
                        **record,
                        "refused": False,
                        "warned": bool(reading.warnings),
                        "de00": error_de00,
                        "u95": u95(lab, np.array(reading.lab.covariance()), self.sample),
                    }
                )

    def run(self) -> None:
        """Every camera before every broad light, and a later photo under each class of light."""
        usual = mamelon.LightDrift()
        by_class = {g: [n for h, n in lights() if h == g] for g in BROAD}
        for i in range(self.arguments.cameras):
            rows = np.array(held_out.FAMILIES[("mixed", "lobed")[i % 2]](self.draws))
            for group, name in lights():
                if group not in BROAD:
                    continue
                response = rows * power_of(name)[:, None]
                scale = 0.7 / response.sum(axis=0).max()
                kept = self.kept(response * scale)
                if kept is None:
                    continue
                size = self.arguments.drift
                for _ in range(self.arguments.each):
                    light = np.exp(self.draws.normal(0, size * usual.light))
                    channels = np.exp(self.draws.normal(0, size * usual.colour, 3))
                    self.read(
                        kept, response * scale * light * channels, {"from": group, "to": "same"}
                    )
                for other in BROAD:
                    names = [n for n in by_class[other] if n != name]
                    another = rows * power_of(names[i % len(names)])[:, None]
                    another = another * (0.7 / another.sum(axis=0).max())
                    self.read(kept, another, {"from": group, "to": other})


def report(records: list[dict[str, Any]]) -> str:
    """Coverage in the same light, and how often another one is told."""
    rows = [
        "| same light | readings | ΔE00 median / p95 | within U95 | U95 median | told |",
        "|" + " --- |" * 6,
    ]
    for beside in (False, True):
        same = [r for r in records if r["to"] == "same" and r["tab"] == beside]
        for group in ("all", *BROAD):
            mine = [r for r in same if group in ("all", r["from"])]
            read = [r for r in mine if not r["refused"]]
            de00 = np.array([r["de00"] for r in read])
            limit = np.array([r["u95"] for r in read])
            told = np.mean([r["refused"] or r["warned"] for r in mine])
            rows.append(
                f"| {'beside a tab' if beside else 'nothing known in the frame'}, {group} | "
                f"{len(mine)} | {np.median(de00):.2f} / {np.quantile(de00, 0.95):.2f} | "
                f"{100 * np.mean(de00 <= limit):.1f} % | {np.median(limit):.2f} | "
                f"{100 * told:.1f} % |"
            )
    rows += ["", "| another light: from, to | told without a tab | told beside a tab |"]
    rows.append("|" + " --- |" * 3)
    for group in BROAD:
        for other in BROAD:
            told = []
            for beside in (False, True):
                mine = [
                    r for r in records if (r["from"], r["to"], r["tab"]) == (group, other, beside)
                ]
                told.append(100 * np.mean([r["refused"] or r["warned"] for r in mine]))
            rows.append(f"| {group}, {other} | {told[0]:.0f} % | {told[1]:.0f} % |")
    return "\n".join(rows)


def main() -> None:
    """Runs the study and prints its tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--cameras", type=int, default=6)
    parser.add_argument("--each", type=int, default=4, help="later photos in the same light")
    parser.add_argument("--drift", type=float, default=1, help="times what is assumed")
    study = Study(parser.parse_args())
    study.run()
    sys.stdout.write(report(study.records) + "\n")


if __name__ == "__main__":
    main()
