"""How near to the truth signals are read, by kind of surface, family of spectra and class of light.

    PYTHONPATH=<build>/python:tests python -m simulator.study_kinds --judged

The card is painted flat in a small linear photo, in front of held-out cameras and lights, and its
corners are given; then signals of surfaces that no fit has seen are read through the library's
Python interface, each as the kind that it is and as *unknown*. Without `--judged` the families are
those that constants were chosen with. The interval of a reading is the 95 % point of ΔE00 of its
covariance.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np

import mamelon

from . import families, former_judges, held_out, judged_surfaces, tuning_surfaces
from .card_art import card_file
from .spectra import WAVELENGTHS_NM as NM
from .spectra import Array, to_lab, tooth_reflectances

VIEWING = "D65/2"
PX_PER_MM = 12

#: Lights beyond `held_out.LIGHTS`: with lines, and broad ones that are not in data/camera either.
MORE_LIGHTS = {
    "daylight": ("D60",),
    "lines": ("FL2", "FL4", "FL7", "FL11", "FL12", "LED-RGB1", "3-LED-1 (457/540/605)"),
}
BROAD = ("daylight", "cool LED", "warm LED", "tungsten")


def lights() -> Iterator[tuple[str, str]]:
    """Class and name of every light."""
    for group in (*BROAD, "lines"):
        for name in (*held_out.LIGHTS.get(group, ()), *MORE_LIGHTS.get(group, ())):
            yield group, name


def power_of(name: str) -> Array:
    """Relative power (31,) of a light, each band a triangle of 20 nm, so that no line is missed."""
    import colour

    source = {**colour.SDS_ILLUMINANTS, **colour.SDS_LIGHT_SOURCES}[name]
    step = np.median(np.diff(source.wavelengths))
    fine = np.arange(380.0, 721.0, step)
    power = np.interp(fine, source.wavelengths, source.values)
    bands = np.clip(1 - np.abs(fine[None, :] - NM[:, None]) / 10, 0, None)
    seen = np.asarray(bands @ power)
    return seen / seen.max()


def painted(
    card: dict[str, Any],
    spectra: dict[str, Array],
    response: Array,
    noise: float,
    draws: np.random.Generator,
) -> mamelon.Photo:
    """A linear photo of the card, upright, `PX_PER_MM` wide, its patches flat."""
    width = round(card["width_mm"] * PX_PER_MM) + 1
    height = round(card["height_mm"] * PX_PER_MM) + 1
    picture = np.zeros((height, width, 3))

    def fill(part: dict[str, Any], curve: Array) -> None:
        x, y = round(part["x_mm"] * PX_PER_MM), round(part["y_mm"] * PX_PER_MM)
        w, h = round(part["width_mm"] * PX_PER_MM), round(part["height_mm"] * PX_PER_MM)
        signal = curve @ response * (1 + draws.normal(0, noise, 3))
        picture[y : y + h + 1, x : x + w + 1] = signal

    for area in card["white"]["areas"]:
        fill(area, spectra["white"])
    for patch in card["patches"]:
        fill(patch, spectra[patch["name"]])
    picture *= 1 + draws.normal(0, 0.004, picture.shape)
    codes = np.clip(np.rint(picture * 65535), 0, 65535).astype(np.uint16)
    return mamelon.Photo(codes, bits=16)


def curves_of(card: dict[str, Any]) -> dict[str, Array]:
    """Spectra (31,) of a card's patches and of its white, by name."""
    out = {"white": np.array(card["white"]["reflectance"]["values"])}
    for patch in card["patches"]:
        out[patch["name"]] = np.array(patch["reflectance"]["values"])
    return {name: curve[:31] for name, curve in out.items()}


def u95(lab: Array, covariance: Array, draws: Array) -> float:
    """The 95 % point of ΔE00 of a normal error of this covariance, by a fixed sample."""
    values, vectors = np.linalg.eigh(covariance)
    errors = draws @ (vectors * np.sqrt(np.clip(values, 0, None))).T
    here = np.broadcast_to(lab, errors.shape)
    return float(np.quantile(mamelon.de00(here + errors, here), 0.95))


def surfaces(judged: bool, count: int) -> list[tuple[str, str, Array]]:
    """Kind, family and reflectances (count, 31)."""
    modules = (judged_surfaces,) if judged else (tuning_surfaces, former_judges)
    out = [
        (kind, name, families.draw(generator, 100 * order + place, count))
        for order, kind in enumerate(("tooth", "restoration", "tab"))
        for place, (name, generator) in enumerate(
            (n, g)
            for made in modules
            for n, g in (made.TEETH, made.RESTORATIONS, made.TABS)[order].items()
        )
    ]
    # The family that the library's natural teeth come from, for comparison.
    draws = np.random.default_rng(7)
    modelled = np.stack([c for n, c in tooth_reflectances().items() if "gingiva" not in n])
    shares = draws.dirichlet(np.full(len(modelled), 0.2), count)
    out.append(("tooth", "own", shares @ modelled))
    return out


def run(arguments: argparse.Namespace) -> list[dict[str, Any]]:
    """One record a reading."""
    import colour

    document = json.loads(card_file(arguments.card).read_text(encoding="utf-8"))
    if arguments.plain:
        document.pop("design", None)
    card = mamelon.parse_card(json.dumps(document), arguments.card)
    spectra = curves_of(document)
    width, height = document["width_mm"] * PX_PER_MM, document["height_mm"] * PX_PER_MM
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    shown = surfaces(arguments.judged, arguments.surfaces)
    draws = np.random.default_rng(2027 if arguments.judged else 2026)
    sample = np.random.default_rng(95).standard_normal((500, 3))
    cameras = [
        held_out.FAMILIES[("mixed", "lobed")[i % 2]](draws) for i in range(arguments.cameras)
    ]
    records = []
    for number, rows in enumerate(cameras):
        for group, name in lights():
            if arguments.only and arguments.only != group:
                continue
            response = np.array(rows) * power_of(name)[:, None]
            response = response / (response.sum(axis=0).max()) * 0.9
            photo = painted(document, spectra, response, arguments.noise, draws)
            base = {"camera": number, "group": group, "light": name}
            try:
                fit = mamelon.fit_card(photo, card, VIEWING, corners_px=corners)
            except mamelon.Error as error:
                records.append({**base, "error": str(error)})
                continue
            for kind, family, curves in shown:
                picked = curves[(number * 7 + np.arange(arguments.each)) % len(curves)]
                truths = to_lab(picked)
                for truth, curve in zip(truths, picked, strict=True):
                    rgb = curve @ response
                    rgb = rgb * (1 + draws.normal(0, 0.001, 3))
                    for declared in (kind,) if kind == "tooth" else (kind, "unknown"):
                        options = {"kind": declared} if arguments.kinds else {}
                        read = fit.lab(rgb, np.eye(3) * 1e-9, (width / 2, height / 2), **options)
                        lab = np.array([read.value.l, read.value.a, read.value.b])
                        with warnings.catch_warnings():
                            warnings.simplefilter("ignore")
                            error = float(colour.delta_E(lab, truth, method="CIE 2000"))
                        records.append(
                            {
                                **base,
                                "kind": declared,
                                "family": family,
                                "de00": error,
                                "u95": u95(lab, np.array(read.covariance()), sample),
                                "offset": (lab - truth).tolist(),
                                "warned": len(fit.warnings),
                                "error": None,
                            }
                        )
    return records


def line(name: str, records: list[dict[str, Any]]) -> str:
    """A row of the table."""
    de00 = np.array([r["de00"] for r in records])
    limit = np.array([r["u95"] for r in records])
    off = np.mean([r["offset"] for r in records], axis=0)
    return (
        f"| {name} | {len(records)} | {np.median(de00):.2f} / {np.quantile(de00, 0.95):.2f} | "
        f"{100 * np.mean(de00 <= limit):.1f} % | {np.median(limit):.2f} | "
        f"{off[0]:+.2f} {off[1]:+.2f} {off[2]:+.2f} |"
    )


def report(records: list[dict[str, Any]]) -> str:
    """Tables by kind, by family and by class of light."""
    good = [r for r in records if r["error"] is None]
    rows = [
        "| surfaces | readings | ΔE00 median / p95 | within U95 | U95 median | mean ΔL* Δa* Δb* |",
        "|" + " --- |" * 6,
    ]
    own = [r for r in good if r["family"] == "own" and r["group"] != "lines"]
    if own:
        rows.append(line("own family, broad", own))
    good = [r for r in good if r["family"] != "own"]
    for kind in dict.fromkeys(r["kind"] for r in good):
        mine = [r for r in good if r["kind"] == kind]
        broad = [r for r in mine if r["group"] != "lines"]
        if broad:
            rows.append(line(f"**{kind}, broad lights**", broad))
        for group in dict.fromkeys(r["group"] for r in mine):
            rows.append(line(f"{kind}, {group}", [r for r in mine if r["group"] == group]))
        for family in dict.fromkeys(r["family"] for r in broad):
            rows.append(line(f"{kind}: {family}", [r for r in broad if r["family"] == family]))
    failed = [r for r in records if r["error"] is not None]
    groups = sorted({(r["group"], r["error"][:70]) for r in failed})
    rows += [f"refused, {g}: {e} ({sum(r['group'] == g for r in failed)})" for g, e in groups]
    return "\n".join(rows)


def main() -> None:
    """Runs the study and prints its tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--judged", action="store_true", help="the families that judge")
    parser.add_argument("--card", default="tooth20_frame")
    parser.add_argument("--cameras", type=int, default=12)
    parser.add_argument("--surfaces", type=int, default=60, help="reflectances of a family")
    parser.add_argument("--each", type=int, default=4, help="of them read in a photo")
    parser.add_argument("--noise", type=float, default=0.0015, help="relative sd of a patch")
    parser.add_argument("--only", help="one class of light")
    parser.add_argument("--plain", action="store_true", help="leave the card's own design out")
    parser.add_argument("--no-kinds", dest="kinds", action="store_false", help="say no kind")
    sys.stdout.write(report(run(parser.parse_args())) + "\n")


if __name__ == "__main__":
    main()
