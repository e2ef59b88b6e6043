"""The verb `mamelon tabs align`: instruments in line by specimens that all of them read."""

from __future__ import annotations

import argparse
import dataclasses
import json
from typing import Any

import numpy as np

from mamelon import _core
from mamelon._core import ArgumentError
from mamelon.practice import alignment
from mamelon.practice.case_verbs import numbers, pairs
from mamelon.practice.linear import Floats


def add_to(verbs: Any) -> None:
    """Adds the verb."""
    made = verbs.add_parser("align", help="Instruments that read the same specimens, in line")
    made.add_argument("readings", metavar="NAME=FILE", nargs="+")
    made.add_argument("--reference", default=alignment.CONSENSUS)
    made.add_argument("--aperture", action="append", default=[])
    made.add_argument("--translucency")
    made.add_argument("--viewing", default="D65/2")
    made.add_argument("--out")
    made.add_argument("--json", action="store_true")
    made.set_defaults(run=_align)


def _read(file: str, viewing: str) -> dict[str, Floats]:
    found: dict[str, list[list[float]]] = {}
    for reading in _core.read_measurements(file, viewing):
        value = reading.lab.value
        found.setdefault(reading.label, []).append([value.l, value.a, value.b])
    return {label: np.array(rows) for label, rows in found.items()}


def _scatter(own: dict[str, Floats], labels: list[str], name: str) -> tuple[Floats, Floats]:
    """Mean of every specimen, and the covariance of such a mean by the repeats of all."""
    dof = sum(len(own[label]) - 1 for label in labels)
    if dof < 3:
        raise ArgumentError(
            f"instrument {name}: read specimens at least twice, to show repeatability"
        )
    squares = np.zeros((3, 3))
    for label in labels:
        away = own[label] - own[label].mean(axis=0)
        squares += away.T @ away
    repeats = float(np.mean([len(own[label]) for label in labels]))
    covariance = squares / dof / repeats + np.eye(3) * 1e-8
    return np.array([own[label].mean(axis=0) for label in labels]), covariance


def _align(given: argparse.Namespace) -> tuple[str, Any, int]:
    files = pairs(given.readings, "NAME=FILE")
    read = {name: _read(file, given.viewing) for name, file in files.items()}
    common = set.intersection(*(set(own) for own in read.values()))
    labels = sorted(common)
    means: dict[str, Floats] = {}
    covariances: dict[str, Floats] = {}
    for name, own in read.items():
        means[name], covariances[name] = _scatter(own, labels, name)
    apertures = {
        name: numbers(value, "--aperture NAME=MM", (1,))[0]
        for name, value in pairs(given.aperture, "--aperture").items()
    }
    translucency = None
    if given.translucency is not None:
        known = {
            label: numbers(value, "--translucency", (1,))[0]
            for label, value in pairs(given.translucency.split(";"), "--translucency").items()
        }
        missing = [label for label in labels if label not in known]
        if missing:
            raise ArgumentError(f"--translucency lacks specimen {missing[0]!r}")
        translucency = [known[label] for label in labels]
    found = alignment.align(
        means, covariances, reference=given.reference, apertures_mm=apertures or None,
        translucency=translucency,
    )  # fmt: skip
    body = dataclasses.asdict(found)
    if given.out is not None:
        _core.write_file_atomically(given.out, json.dumps(body, indent=1) + "\n")
    lines = [
        f"{found.specimens} specimens, to {found.reference} ({found.form}): ΔE00 between "
        f"instruments {found.before:.2f} before, {found.after:.2f} after on specimens left out; "
        f"repeats alone leave {found.floor:.2f}"
    ]
    for line in found.lines:
        lines.append(f"{line.instrument}: {line.before:.2f} before, {line.after:.2f} after")
        if line.cause:
            lines.append(f"  {line.cause}")
    return "\n".join(lines), body, 0
