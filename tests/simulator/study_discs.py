"""How well pastes are known from photos of cured discs: `mamelon paste fit --photos`.

    MAMELON_CLI=<build>/src/cli/mamelon PYTHONPATH=tests python -m simulator.study_discs --pastes 12

Each paste (`judged_practices`: adding and doubling, no code of the library's) is photographed once
as discs on a dark and a light backing above the card, by a held-out camera under a held-out light
whose direction is drawn between even light and a lamp at 45°. The paste set that comes of it
predicts single layers and pairs over grey floors; printed by class: ΔE00 from the truth (mean, 95 %
point), the share of coordinates within their 95 % interval, and the median of 1.96 √(Σ sd²).
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from . import camera, files, held_out
from .canvas import Canvas
from .card_art import card_file
from .judged_practices import Resin, _pigments, _resin, seen_over
from .photo import Shot, _light_field, _view, bars_mm, card_in_view, placed_card
from .practices import NM, Array, de00, to_lab
from .spectra import WAVELENGTHS_NM

#: Painted, and as it is read: with the white bars beside it.
CARD, READ_CARD = "tooth20", "tooth20_frame"
THICKNESSES_MM = (0.5, 1.0, 2.0)
THICKNESS_SD_MM = 0.02
RADIUS_MM = 2.6
BACKINGS = {"black": 0.045, "white": 0.82}
#: Light that enters a paste of index 1.5 from 45° over that of even light.
FROM_45_DEGREES = 1.046
#: Surface of a paste in air (Saunderson), index 1.5.
K1, K2 = 0.04, 0.59635
ROLES = ("dentine", "body", "enamel")


def inside(in_air: float) -> Array:
    """A backing read in air, as the paste in contact sees it."""
    return np.full(31, in_air / ((1 - K1) * (1 - K2) + K2 * in_air))


def places() -> list[tuple[str, int | None, float, float]]:
    """Backing, number of the disc (None: the bare backing), and middle in the plane, mm."""
    out: list[tuple[str, int | None, float, float]] = []
    for name, left in (("black", -17.0), ("white", 0.5)):
        for number, (x, y) in enumerate(((3.2, -12.5), (9.2, -12.5), (3.2, -5.5))):
            out.append((name, number, left + x, y))
        out.append((name, None, left + 11.5, -5.0))
    return out


def photograph(paste: Resin, seed: int, stem: Path) -> Path:
    """Writes the photo and the table of its discs; the table's path."""
    draws = np.random.default_rng([2027, seed])
    lights = [name for group in held_out.LIGHTS.values() for name in group]
    family = tuple(held_out.FAMILIES)[seed % 2]
    shot = Shot(seed=seed, card=CARD, tilt_deg=3.0, encoding="linear", width=1200, height=800)
    while not card_in_view(shot):
        shot = replace(shot, seed=shot.seed + 100_000)
    one = camera.sensor(
        np.array(held_out.FAMILIES[family](draws)),
        np.array(held_out.light(lights[seed % len(lights)])),
    )
    canvas = Canvas(shot.width, shot.height, _view(shot, draws), one.response)
    canvas.paint(canvas.everywhere(), np.ones((shot.height, shot.width), np.float32), [
        (np.full(31, 0.3), 1.0)])  # fmt: skip
    for name, left in (("black", -17.0), ("white", 0.5)):
        part = canvas.region(left, -16.5, left + 16.5, -1.0)
        assert part is not None
        bare = [(np.full(31, BACKINGS[name]), 1.0)]
        canvas.paint(part, canvas.box(part, left, -16.5, left + 16.5, -1.0), bare)
    gain = draws.uniform(1, FROM_45_DEGREES)
    true_mm = [d + THICKNESS_SD_MM * draws.standard_normal() for d in THICKNESSES_MM]
    rows: list[list[Any]] = []
    for name, number, x, y in places():
        if number is not None:
            seen = gain * seen_over([(paste, true_mm[number])], inside(BACKINGS[name]))
            part = canvas.region(x - 3, y - 3, x + 3, y + 3)
            assert part is not None
            distance = np.hypot(canvas.x_mm[part] - x, canvas.y_mm[part] - y)
            canvas.paint(part, canvas.soft(np.float32(RADIUS_MM) - distance), [
                (np.interp(WAVELENGTHS_NM, NM, seen), 1.0)])  # fmt: skip
        half = 1.5
        corners = canvas.to_px(np.array([[x - half, y - half], [x + half, y + half]]))
        (x0, y0), (x1, y1) = corners
        disc = ["", ""] if number is None else [f"disc {number}", f"{THICKNESSES_MM[number]}"]
        rows.append([f"{stem.name}.tif", *disc, name, round(x0), round(y0), round(x1 - x0),
                     round(y1 - y0)])  # fmt: skip
    card = placed_card(json.loads(card_file(CARD).read_text(encoding="utf-8")))
    for bar in bars_mm(card):
        part = canvas.region(*bar)
        if part is not None:
            canvas.paint(part, canvas.box(part, *bar), [(card.white, 1.0)])
    card.paint(canvas)
    light = _light_field(shot, draws)
    none = np.zeros((shot.height, shot.width), np.float32)
    linear = camera.expose(canvas.signal, none, light / light.max(), one,
                           exposure=0.85, blur_px=0.8, draws=draws)  # fmt: skip
    values = camera.encode(linear, "linear", None, 0, 0)
    files.write_tiff16(stem.with_suffix(".tif"), values, 12, files.linear_profile())
    table = stem.with_suffix(".csv")
    with table.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(["photo", "specimen", "thickness_mm", "backing", "x", "y", "width",
                         "height"])  # fmt: skip
        writer.writerows(rows)
    return table


def mamelon(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = os.environ.get("MAMELON_CLI", "mamelon")
    return subprocess.run([command, *arguments], capture_output=True, text=True, check=False)


def draw(count: int, rng: np.random.Generator) -> list[Resin]:
    pastes = []
    for i in range(count):
        amounts = np.array([rng.uniform(0.1, 0.5), rng.uniform(0.01, 0.08), rng.uniform(0, 0.03)])
        pastes.append(_resin(rng, f"paste {i}", ROLES[i % 3], amounts, _pigments(rng)))
    return pastes


def run(count: int, seed: int, folder: Path) -> dict[str, Any]:
    rng = np.random.default_rng([seed, 22])
    pastes = draw(count, rng)
    pasted = folder / "set.json"
    known: list[Resin] = []
    refused: list[str] = []
    for i, paste in enumerate(pastes):
        table = photograph(paste, seed * 1000 + i, folder / f"p{i}")
        words = ["--into", str(pasted)] if known else []
        done = mamelon("paste", "fit", str(table), "--photos", "--card", str(card_file(READ_CARD)),
                       "--name", paste.name, "--role", paste.role, "--out", str(pasted),
                       "--replace", *words)  # fmt: skip
        if done.returncode == 0:
            known.append(paste)
        else:
            refused.append(done.stderr.strip().splitlines()[-1][:160])
    found: dict[str, list[tuple[float, Array, Array]]] = {"single": [], "pair": []}
    for i, paste in enumerate(known):
        other = known[(i + 1) % len(known)]
        for kind, scored in found.items():
            for _ in range(2):
                level = float(rng.uniform(0.05, 0.5))
                layers = [(paste, float(rng.uniform(0.6, 2.0)))]
                if kind == "pair":
                    layers.append((other, float(rng.uniform(0.3, 1.2))))
                floor = folder / "floor.csv"
                # As read in air under an index of 1.5.
                air = (1 - K1) * (1 - K2) * level / (1 - K2 * level)
                lines = [f"{nm:.0f},{air:.6f}" for nm in NM]
                floor.write_text("wavelength_nm,reflectance\n" + "\n".join(lines) + "\n")
                words = ",".join(f"{p.name}:{mm:.4f}" for p, mm in layers)
                done = mamelon("paste", "predict", str(pasted), "--layers", words, "--floor",
                               str(floor), "--floor-index", "1.5", "--thickness-sd", "0",
                               "--json")  # fmt: skip
                told = json.loads(done.stdout)
                layers = [(p, round(mm, 4)) for p, mm in layers]
                truth = to_lab(seen_over(layers, np.full(31, level)))
                lab = np.array(told["lab"])
                scored.append((float(de00(truth, lab)), truth - lab, np.array(told["lab_sd"])))
    out: dict[str, Any] = {"pastes": count, "refused": refused}
    for kind, all_of in found.items():
        if not all_of:
            continue
        off = np.array([one[0] for one in all_of])
        error = np.array([one[1] for one in all_of])
        sd = np.array([one[2] for one in all_of])
        out[kind] = {
            "stacks": len(off), "mean": round(float(off.mean()), 2),
            "p95": round(float(np.quantile(off, 0.95)), 2),
            "in 95 %": round(float(100 * (np.abs(error) < 1.96 * sd).mean()), 1),
            "U95": round(float(np.median(1.96 * np.sqrt((sd**2).sum(axis=1)))), 2),
            "mean error": [round(float(v), 2) for v in error.mean(axis=0)],
        }  # fmt: skip
    return out


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--pastes", type=int, default=12)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--folder", type=Path)
    given = options.parse_args()
    if given.folder:
        given.folder.mkdir(parents=True, exist_ok=True)
        print(json.dumps(run(given.pastes, given.seed, given.folder)))
        return 0
    with tempfile.TemporaryDirectory() as folder:
        print(json.dumps(run(given.pastes, given.seed, Path(folder))))
    return 0


if __name__ == "__main__":
    sys.exit(main())
