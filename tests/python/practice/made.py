"""Records and outcomes made by hand, so that nothing has to be planned."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np

import mamelon as mm
from mamelon.practice import document, learning, planning
from mamelon.practice.document import Outcome, PlacedLayer, Record, Seen, Stated
from mamelon.practice.linear import Prediction

UNIT = ((1.2, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.5))
NOISE = ((0.09, 0.0, 0.0), (0.0, 0.0225, 0.0), (0.0, 0.0, 0.0625))
INNER = ((0.6, 0.0, 0.0, 0.2), (-0.1, 0.5, 0.0, 0.0), (0.0, 0.0, 1.0, 0.2))
OUTER = ((0.3, 0.0, 0.0, 0.05), (0.0, 0.2, -0.1, 0.0), (-0.3, 0.0, 0.7, 0.0))
PREDICTION = Prediction(
    (72.0, 2.0, 18.0),
    (INNER, OUTER),
    ((1.7, 0.3, 2.0), (1.0, -0.3, -0.4)),
    document.NOTHING,
    UNIT,
)
CAMERA = "camera with card"


def rows(n: int, seed: int = 1, *, bias: float = 1.0, pastes: int = 6) -> learning.Rows:
    """Outcomes of a practice with biases of that size."""
    rng = np.random.default_rng(seed)
    paste = np.full((n, 3), -1)
    by_paste, by_thickness = np.zeros((n, 3, 3, 4)), np.zeros((n, 3, 3))
    paste[:, 0] = rng.integers(0, pastes // 2, n)
    paste[:, 1] = rng.integers(pastes // 2, pastes, n)
    by_paste[:, 0] = np.array(INNER) * rng.uniform(0.6, 1.2, (n, 1, 1))
    by_paste[:, 1] = np.array(OUTER) * rng.uniform(0.6, 1.2, (n, 1, 1))
    by_thickness[:, :2] = np.array(PREDICTION.by_thickness) * rng.uniform(0.5, 1.2, (n, 2, 1))
    operator = rng.integers(0, 2, n)
    shifts = rng.normal(size=(pastes, 4)) * 0.8 / np.sqrt(3) * bias
    hand = np.array([0.2, -0.2])[operator][:, None] * bias + 0.2 * rng.normal(size=(n, 2))
    residual = rng.normal(size=(n, 3)) * [0.4, 0.25, 0.35] + bias * np.array([0.6, -0.3, 0.5])
    for layer in range(2):
        residual += np.einsum("nij,nj->ni", by_paste[:, layer], shifts[paste[:, layer]])
        residual += by_thickness[:, layer] * hand[:, layer, None]
    every = np.ones((n, 1, 1))
    return learning.Rows(
        residual, every * np.array(NOISE), every * np.array(UNIT), paste, by_paste, by_thickness,
        operator, np.zeros(n, dtype=int), np.zeros((n, 3, 3)),
        tuple((f"paste{i}", "") for i in range(pastes)), ("ann", "bo"), (CAMERA,),
    )  # fmt: skip


def without(given: learning.Rows, place: int) -> learning.Rows:
    """All outcomes but one."""
    kept = np.arange(len(given)) != place
    names = ("residual", "noise", "unit", "paste", "by_paste", "by_thickness", "operator",
             "device", "device_shared")  # fmt: skip
    return dataclasses.replace(given, **{name: getattr(given, name)[kept] for name in names})


def record(name: str, person: str = "P1", *, tooth: int = 21, date: str = "2026-01-05") -> Record:
    """A record with a plan of two layers and no outcome."""
    lots = (("kernel", "7"), ("dew", ""))
    prior = planning.unlearned(
        dataclasses.replace(
            learning.learn(rows(0)), pastes=lots, operators=("ann",), devices=(CAMERA,)
        )
    )
    layers = (PlacedLayer("kernel", 1.6, "7"), PlacedLayer("dew", 0.6))
    plan = Stated(
        date, "middle", layers, Seen((72.0, 2.0, 18.0), NOISE, document.NOTHING, CAMERA),
        PREDICTION, planning.Statement((72.0, 2.0, 18.0), NOISE, 20.0),
        prior.only(lots, ["ann"], [CAMERA]), "told", False, {"kernel": "7"},
    )  # fmt: skip
    return Record(name, person, tooth, date, "ann", plan)


def outcome(lab: Any = (72.5, 2.1, 18.4), **changes: Any) -> Outcome:
    """A cured, wet try-in read by the camera of the plan."""
    seen = Seen(tuple(lab), NOISE, document.NOTHING, CAMERA)
    found = Outcome("2026-01-06", 21, "try_in", seen, True, True)
    return dataclasses.replace(found, **changes)


def case_file(path: Path, label: str = "") -> Path:
    """A saved case of readings that plans a restoration."""
    data = Path(__file__).resolve().parents[3] / "data"
    lab = mm.Measured(mm.Lab(74, 2, 18), random=np.diag([0.09, 0.0225, 0.0625]))
    floor = mm.Reading("floor", mm.Measured(mm.Lab(60, 5, 20), random=np.eye(3)), "D65/2")
    case = mm.Case(
        viewing="D65/2",
        teeth=[mm.CaseTooth(number=21, readings=[mm.Reading("21", lab, "D65/2")])],
        label=label,
        restoration=mm.Restoration(
            mm.read_paste_set(data / "pastes/orchard10.json"), mm.CaseFloor(colour=floor), [2.5]
        ),
    )
    mm.write_case(path, case)
    return path
