"""How near to the truth the library reads simulated photos, over cameras and lights it never saw.

    PYTHONPATH=<build>/python:tests python -m simulator.study_capture --out study.jsonl

Each photo is rendered (see `photo`), written, read back through the library's Python interface from
one click a tooth, and compared with its truth: zone CIEDE2000, whether the truth lies within the
stated 95 % interval, intersection over union of the outline, and the part of the glare left out.
The table gives median, 95 % point and largest ΔE00 a class of card, encoding and method, and of
light. One JSON line a zone goes to `--out`.
"""

from __future__ import annotations

import argparse
import functools
import json
import multiprocessing
import sys
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from . import held_out
from .camera import Encoding
from .card_art import card_file
from .photo import Shot, card_in_view, from_run_lengths, simulate, write
from .spectra import Array

VIEWING = "D65/2"
#: Teeth read in each photo.
TEETH = ("right central", "left central", "left lateral")


@dataclass(frozen=True)
class Class:
    """A way to take and read photos; `goal` is the wanted median and 95 % point of ΔE00."""

    name: str
    card: str  #: painted
    read_card: str  #: document given to the library
    encoding: Encoding
    method: Literal["grey"] | None  #: None: the best that the card allows
    goal: tuple[float, float]
    lab_only: bool = False  #: the document's reflectances are taken away before reading


CLASSES = (
    Class("tooth20 linear", "tooth20", "tooth20_frame", "linear", None, (0.30, 0.70)),
    Class("tooth20 sRGB", "tooth20", "tooth20_frame", "srgb", None, (0.30, 0.70)),
    Class("tooth20 sRGB, no bars", "tooth20", "tooth20", "srgb", None, (0.30, 0.70)),
    Class("chart24 linear", "chart24", "chart24_frame", "linear", None, (0.35, 0.80)),
    Class("chart24 sRGB", "chart24", "chart24_frame", "srgb", None, (0.35, 0.80)),
    Class("compact12 linear", "compact12", "compact12_frame", "linear", None, (0.5, 1.1)),
    Class("compact12 sRGB", "compact12", "compact12_frame", "srgb", None, (0.5, 1.1)),
    Class("grey card linear", "tooth20", "tooth20_frame", "linear", "grey", (1.6, 3.3)),
    Class("tooth20 rendered", "tooth20", "tooth20_frame", "rendered", None, (0.5, 1.0)),
)


#: A card that is not what it seems: metamer20 has the Lab of tooth20 with other spectra. Read as if
#: it were tooth20 it must be flagged or given a wider interval.
METAMERIC = (
    Class("tooth20 by Lab, linear", "tooth20", "tooth20_frame", "linear", None, (0.5, 1.1), True),
    Class(
        "metamer20 by Lab, linear", "metamer20", "tooth20_frame", "linear", None, (1.0, 2.5), True
    ),
    Class("metamer20 as tooth20, linear", "metamer20", "tooth20_frame", "linear", None, (1.0, 2.5)),
)


#: Beside the others: what a grey card allows where the white balance is still to be made.
UNBALANCED = (Class("grey card raw", "tooth20", "tooth20_frame", "raw", "grey", (1.6, 3.3)),)


@dataclass(frozen=True)
class Task:
    """One photo of one class."""

    number: int
    turn: int  #: round of the classes
    kind: Class
    light_class: str
    light_name: str
    width: int


def tasks(photos: int, width: int, only: str | None) -> list[Task]:
    """`photos` tasks spread evenly over classes and lights, less those whose class is not wanted.

    A photo has the same number and shows the same whatever is wanted.
    """
    lights = [(group, name) for group, names in held_out.LIGHTS.items() for name in names]
    rounds = photos // len(CLASSES)
    spread = [
        Task(len(CLASSES) * turn + order, turn, kind, *lights[turn % len(lights)], width)
        for turn in range(rounds)
        for order, kind in enumerate(CLASSES)
    ]
    spread += [
        Task(1000 * (order + 1) + turn, turn, kind, *lights[turn % len(lights)], width)
        for order, kind in enumerate(METAMERIC + UNBALANCED)
        for turn in range(rounds)
    ]
    return [task for task in spread if only is None or only in task.kind.name]


def shot_of(task: Task) -> Shot:
    """What the photo of a task shows; the camera is one of many held out."""
    draws = np.random.default_rng([2026, task.number])
    family = camera_family(task)
    shot = Shot(
        seed=100_000 + task.number,
        card=task.kind.card,
        width=task.width,
        height=task.width * 2 // 3,
        camera_name=f"held out, {family}",
        light_name=task.light_name,
        sensitivities=held_out.FAMILIES[family](draws),
        power=held_out.light(task.light_name),
        encoding=task.kind.encoding,
        quality=int(draws.integers(90, 97)),
        exposure=float(draws.uniform(0.7, 0.92)),
        light_span=float(draws.uniform(0.1, 0.35)),
        blur_px=float(draws.uniform(0.5, 1.1)),
        black_flare=float(draws.choice([0.0, 0.01])),
        full_well=float(draws.choice([6000.0, 20000.0, 60000.0])),
        spots_per_tooth=float(draws.uniform(0.5, 3.0)),
    )
    # A card that the tilt puts out of the picture tells nothing of the reading.
    while not card_in_view(shot):
        shot = replace(shot, seed=shot.seed + 100_000)
    return shot


def camera_family(task: Task) -> str:
    """One family of held-out cameras in the first half of each round of lights, then the other."""
    names = tuple(held_out.FAMILIES)
    lights = sum(len(group) for group in held_out.LIGHTS.values())
    return names[task.turn // lights % len(names)]


def ciede2000(one: Array, other: Array) -> Array:
    """ΔE00 by colour-science, apart from the library under test."""
    import colour

    return np.asarray(colour.delta_E(one, other, method="CIE 2000"), dtype=np.float64)


def u95(lab: Array, covariance: Array) -> float:
    """The 95 % point of ΔE00 of a normal error of this covariance, by a fixed sample."""
    draws = np.random.default_rng(95).standard_normal((2000, 3))
    values, vectors = np.linalg.eigh(covariance)
    errors = draws @ (vectors * np.sqrt(np.clip(values, 0, None))).T
    return float(np.quantile(ciede2000(lab + errors, np.broadcast_to(lab, errors.shape)), 0.95))


def render(shot: Shot, stem: Path) -> tuple[Path, dict[str, Any]]:
    """The photo and the truth of a shot, from an earlier run where the files are of this shot."""
    recorded = stem.with_name(stem.name + ".shot")
    told = stem.with_name(stem.name + ".truth.json")
    if not recorded.exists() or recorded.read_text(encoding="utf-8") != repr(shot):
        write(simulate(shot), stem)
        recorded.write_text(repr(shot), encoding="utf-8")
    truth = json.loads(told.read_text(encoding="utf-8"))
    return stem.with_name(truth["photo"]), truth


def run(task: Task, folder: Path) -> list[dict[str, Any]]:
    """Renders, reads and scores one photo: one record a zone, or one that tells of a failure."""
    import mamelon

    shot = shot_of(task)
    file, truth = render(shot, folder / f"{task.number:04d}")
    base = {
        "number": task.number,
        "class": task.kind.name,
        "light_class": task.light_class,
        "light": task.light_name,
        "camera": camera_family(task),
        "full_well": shot.full_well,
        "flare": shot.black_flare,
        "span": shot.light_span,
    }
    try:
        photo = mamelon.read_photo(file, camera_rendering=task.kind.encoding == "rendered")
        document = _document(task.kind)
        card = mamelon.parse_card(json.dumps(document), task.kind.read_card)
        fit = mamelon.fit_card(photo, card, VIEWING, method=task.kind.method)
        base["loo"] = fit.loo_de00_median
        base["warned"] = len(fit.warnings)
        base["px"] = _corner_error(fit, card, truth)
        records = []
        for tooth in truth["teeth"]:
            if tooth["name"] in TEETH:
                zones = mamelon.find_zones(photo, fit, point=tooth["point_px"])
                readings = mamelon.read_zones(photo, fit, zones, tooth["name"])
                scores = _score(truth, tooth, zones, readings)
                records += [{**base, **record} for record in scores]
        return records
    except mamelon.Error as error:
        return [{**base, "error": str(error)}]


def _document(kind: Class) -> dict[str, Any]:
    """The card as the library is told it."""
    document: dict[str, Any] = json.loads(card_file(kind.read_card).read_text(encoding="utf-8"))
    if kind.lab_only:
        for patch in document["patches"]:
            del patch["reflectance"]
    return document


def _corner_error(fit: Any, card: Any, truth: dict[str, Any]) -> float:
    """Largest distance in pixels between found and true corners of the fiducials."""
    found = np.array(fit.mm_to_px, dtype=np.float64).reshape(3, 3)
    true = np.array(truth["mm_to_px"])
    painted = json.loads(card_file(truth["card"]).read_text(encoding="utf-8"))
    worst = 0.0
    for here, there in zip(card.fiducials, painted["fiducials"], strict=True):
        a = found @ [here.x_mm, here.y_mm, 1]
        b = true @ [there["x_mm"], there["y_mm"], 1]
        worst = max(worst, float(np.hypot(*(a[:2] / a[2] - b[:2] / b[2]))))
    return worst


def _score(
    truth: dict[str, Any], tooth: dict[str, Any], zones: Any, readings: Any
) -> Iterable[dict[str, Any]]:
    shape = (int(truth["height_px"]), int(truth["width_px"]))
    true_zones = {
        zone["name"]: from_run_lengths(zone["rle"], shape[1], shape[0]) for zone in tooth["zones"]
    }
    outline = np.any(list(true_zones.values()), axis=0)
    glare = from_run_lengths(truth["glare_rle"], shape[1], shape[0]) & outline
    found = _whole(zones.tooth, shape)
    read = np.any([_whole(zone.mask, shape) for zone in zones.zones], axis=0)
    shared = {
        "tooth": tooth["name"],
        "iou": float((found & outline).sum() / (found | outline).sum()),
        "glare_px": int(glare.sum()),
        "glare_left_out": int((glare & ~read).sum()),
        "read_part": float((read & outline).sum() / outline.sum()),
    }
    truths = {zone["name"]: np.array(zone["lab"]) for zone in tooth["zones"]}
    for reading in readings:
        colour = truths[reading.zone]
        measured = reading.lab
        lab = np.array([measured.value.l, measured.value.a, measured.value.b])
        covariance = np.array(measured.covariance())
        yield {
            **shared,
            "zone": reading.zone,
            "truth": colour.tolist(),
            "error": None,
            "offset": (lab - colour).tolist(),
            "de00": float(ciede2000(lab, colour)),
            "u95": u95(lab, covariance),
            "covariance": covariance.tolist(),
        }


def _whole(mask: Any, shape: tuple[int, int]) -> Any:
    full = np.zeros(shape, dtype=np.bool_)
    full[mask.y : mask.y + mask.height, mask.x : mask.x + mask.width] = np.array(mask.inside)
    return full


def table(records: list[dict[str, Any]], key: Callable[[dict[str, Any]], str]) -> str:
    """A markdown table, one row a value of `key`."""
    lines = [
        "| class | zones | failed | ΔE00 median | p95 | max | mean ΔL* | in U95 | U95 median "
        "| IoU median | p5 | glare recall | card px |",
        "|" + " --- |" * 13,
    ]
    names = list(dict.fromkeys(key(record) for record in records))
    for name in names:
        mine = [record for record in records if key(record) == name]
        good = [record for record in mine if record["error"] is None]
        row = [name, str(len(good)), str(len(mine) - len(good))]
        if good:
            de00 = np.array([record["de00"] for record in good])
            inside = np.mean([record["de00"] <= record["u95"] for record in good])
            iou = np.array([record["iou"] for record in good])
            glare = sum(record["glare_px"] for record in good)
            left_out = sum(record["glare_left_out"] for record in good)
            row += [
                f"{np.median(de00):.2f}",
                f"{np.quantile(de00, 0.95):.2f}",
                f"{de00.max():.2f}",
                f"{np.mean([record['offset'][0] for record in good]):+.2f}",
                f"{100 * inside:.1f} %",
                f"{np.median([record['u95'] for record in good]):.2f}",
                f"{np.median(iou):.3f}",
                f"{np.quantile(iou, 0.05):.3f}",
                f"{left_out / glare:.3f}" if glare else "–",
                f"{max(record['px'] for record in good):.2f}",
            ]
        lines.append("| " + " | ".join(row) + " |")
    return "\n".join(lines)


def report(records: list[dict[str, Any]]) -> str:
    """Every table of the study."""
    errors = sorted({str(record["error"]) for record in records if record["error"] is not None})
    parts = [
        table(records, lambda record: str(record["class"])),
        table(records, lambda record: f"{record['class']}, {record['light_class']}"),
        table(records, lambda record: f"{record['class']}, {record['camera']} cameras"),
        table(records, lambda record: str(record.get("zone", "–"))),
    ]
    parts += [f"failed: {error}" for error in errors]
    return "\n\n".join(parts)


def main() -> None:
    """Runs the study and prints its tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--photos", type=int, default=432)
    parser.add_argument("--width", type=int, default=1000, help="of each photo, pixels")
    parser.add_argument("--only", help="classes whose name holds this text")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="folder for the photos, used again next time")
    parser.add_argument("--out", type=Path, help="JSON lines, one a zone, added as they come")
    parsed = parser.parse_args()
    wanted = tasks(parsed.photos, parsed.width, parsed.only)
    records: list[dict[str, Any]] = []
    with (
        tempfile.TemporaryDirectory() as passing,
        multiprocessing.get_context("spawn").Pool(parsed.processes) as pool,
    ):
        folder = parsed.keep or Path(passing)
        folder.mkdir(parents=True, exist_ok=True)
        for done in pool.imap(functools.partial(run, folder=folder), wanted):
            records.extend(done)
            lines = "".join(json.dumps(record) + "\n" for record in done)
            if parsed.out is not None:
                with parsed.out.open("a", encoding="utf-8") as out:
                    out.write(lines)
    sys.stdout.write(report(records) + "\n")


if __name__ == "__main__":
    main()
