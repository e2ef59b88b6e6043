"""How much of what a practice's own biases cost is won back by learning from its outcomes.

    PYTHONPATH=<build>/python:tests python -m simulator.study_practices --practices 24 --judged

Every practice (of `judged_practices`, or without --judged of `practices`, on which constants were
chosen) plans 20 cases one after another with what its outcomes have taught
so far, then 10 more three times over: as the documents say, with what was learnt, and by an oracle
that knows every bias. All three meet the same chance. Printed: root mean square of the achieved
ΔE00, the share of the way to the oracle, and how often the stated 50, 80 and 95 % regions held,
before (no correction yet), during and after.
"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

import numpy as np

import mamelon as mm
from mamelon.practice import learning, linear, planning

from .judged_practices import JudgedPractice
from .practices import HONEST, NM, Array, Habits, Job, Practice, de00

GRID = mm.Grid(400, 10, 31)
CASES, TESTS = 20, 10
CAMERA = "camera"
NOISE = np.diag([0.3**2, 0.15**2, 0.25**2])


def _paste(name: str, role: Any, k: Array, s: Array) -> mm.Paste:
    return mm.Paste(name, role, mm.PerMm(GRID, k), mm.PerMm(GRID, s))


def _transport_paste(
    name: str, role: Any, absorption: Array, reduced: Array, anisotropy: float
) -> mm.Paste:
    constants = mm.TransportConstants(
        mm.PerMm(GRID, absorption), mm.PerMm(GRID, reduced), anisotropy
    )
    two_fluxes = mm.PerMm(GRID, 2 * absorption), mm.PerMm(GRID, 0.75 * reduced)
    return mm.Paste(name, role, *two_fluxes, transport=constants)


class Tool:
    """The practice's pastes in the library's terms, and its outcomes so far."""

    def __init__(self, practice: Practice | JudgedPractice) -> None:
        assert len(NM) == GRID.count
        self.practice = practice
        make = _transport_paste if practice.is_transport else _paste
        self.pastes = mm.PasteSet("practice", practice.documents_as(make))
        self.true = mm.PasteSet("practice", practice.documents_as(make, true=True))
        self.outcomes: list[tuple[planning.Stack, Job, Array]] = []

    def request(self, job: Job, pastes: mm.PasteSet, seen: Array) -> mm.PlanRequest:
        lab = mm.Measured(mm.Lab(*seen), random=NOISE)
        return mm.PlanRequest(
            mm.Reading("t", lab, "D65/2"), pastes, mm.Reflectance(GRID, job.floor_read),
            round(job.depth_mm, 1), thickness_sd_mm=0.2,
        )  # fmt: skip

    def evidence(self) -> learning.Evidence:
        names = [paste.name for paste in self.pastes.pastes]
        operators = list(self.practice.bias)
        n = len(self.outcomes)
        paste = np.full((n, 3), -1)
        by_paste = np.zeros((n, 3, 3, linear.WAYS))
        by_thickness = np.zeros((n, 3, 3))
        residual, unit, operator = np.zeros((n, 3)), np.zeros((n, 3, 3)), np.zeros(n, dtype=int)
        noise = np.zeros((n, 3, 3))
        for i, (stack, job, read) in enumerate(self.outcomes):
            known = stack.prediction
            residual[i] = read - np.array(known.lab)
            unit[i] = known.unit
            noise[i] = NOISE + np.array(known.floor)
            operator[i] = operators.index(job.operator)
            for at, layer in enumerate(stack.layers):
                paste[i, at] = names.index(layer.paste)
                by_paste[i, at] = known.by_paste[at]
                by_thickness[i, at] = known.by_thickness[at]
        rows = learning.Rows(
            residual, noise, unit, paste, by_paste, by_thickness, operator,
            np.zeros(n, dtype=int), np.zeros((n, 3, 3)), tuple((name, "") for name in names),
            tuple(operators), (CAMERA,),
        )  # fmt: skip
        return learning.learn(rows)

    def plan(self, job: Job, evidence: learning.Evidence, use: bool) -> planning.Stack:
        found = planning.plan_with(
            self.request(job, self.pastes, job.seen), evidence, operator=job.operator,
            device=CAMERA, use=use,
        )  # fmt: skip
        return found.stacks[0]

    def oracle(self, job: Job) -> list[tuple[str, float]]:
        bias = self.practice.bias[job.operator]
        spread = self.practice.spread[job.operator]
        request = self.request(job, self.true, job.seen - self.practice.camera)
        request = request.replace(thickness_sd_mm=spread)
        known: list[tuple[float, int, list[tuple[str, float]]]] = []
        for count in (1, 2):
            wider = request.replace(depth_mm=request.depth_mm + count * bias, max_layers=count)
            for one in mm.plan(wider).plans:
                if len(one.layers) == count:
                    layers = [(x.paste, x.thickness_mm - bias) for x in one.layers]
                    known.append((one.de00_rms, count, layers))
        best = [min((k for k in known if k[1] == count), default=None) for count in (1, 2)]
        one, two = best
        assert one is not None
        if two is None:
            return one[2]
        # The same rule as of every plan.
        better = (one[0] > 1.8 and two[0] < one[0]) or one[0] - two[0] > 0.8
        return (two if better else one)[2]


def _layers(stack: planning.Stack) -> list[tuple[str, float]]:
    return [(layer.paste, layer.thickness_mm) for layer in stack.layers]


def study(seed: int, habits: Habits, judged: bool) -> dict[str, Any]:
    practice = (JudgedPractice if judged else Practice)(seed, habits)
    tool = Tool(practice)
    held: dict[str, list[tuple[float, bool]]] = {"before": [], "during": [], "after": []}
    for number in range(CASES):
        job = practice.job()
        evidence = tool.evidence()
        stack = tool.plan(job, evidence, True)
        _, read = practice.place(job, _layers(stack))
        when = "before" if number < learning.ENOUGH_CASES else "during"
        held[when].append((planning.level_of(stack.colour, read, NOISE), bool(job.wrong)))
        tool.outcomes.append((stack, job, read))
    evidence = tool.evidence()
    away: dict[str, list[float]] = {"plain": [], "learnt": [], "oracle": []}
    for _ in range(TESTS):
        job = practice.job()
        plain, learnt = tool.plan(job, evidence, False), tool.plan(job, evidence, True)
        ways = {"plain": _layers(plain), "learnt": _layers(learnt), "oracle": tool.oracle(job)}
        for name, layers in ways.items():
            true, read = practice.place(job, layers)
            away[name].append(float(de00(job.tooth, true)))
            if name == "learnt":
                held["after"].append(
                    (planning.level_of(learnt.colour, read, NOISE), bool(job.wrong))
                )
    return {"seed": seed, "away": away, "held": held}


def summary(found: list[dict[str, Any]]) -> dict[str, Any]:
    rms = {
        name: float(np.sqrt(np.mean(np.square([x for one in found for x in one["away"][name]]))))
        for name in ("plain", "learnt", "oracle")
    }
    gap = rms["plain"] - rms["oracle"]
    held = {}
    for when in ("before", "during", "after"):
        chances = [x for one in found for x in one["held"][when]]
        right = np.array([c for c, wrong in chances if not wrong])
        every = np.array([c for c, _ in chances])
        held[when] = {
            "cases": len(every),
            **{f"{p}": round(float((every < p / 100).mean()), 3) for p in (50, 80, 95)},
            "95 of those not wrong": round(float((right < 0.95).mean()), 3),
        }
    return {
        "practices": len(found),
        "rms": {name: round(value, 3) for name, value in rms.items()},
        "closed": round((rms["plain"] - rms["learnt"]) / gap, 3) if gap > 0 else None,
        "learnt over plain": round(rms["learnt"] / rms["plain"], 4),
        "held": held,
    }


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--practices", type=int, default=24)
    options.add_argument("--first", type=int, default=1, help="seed of the first practice")
    options.add_argument("--judged", action="store_true", help="practices of the judge")
    options.add_argument("--honest", action="store_true", help="practices without any bias")
    given = options.parse_args()
    habits = HONEST if given.honest else Habits()
    found = []
    for seed in range(given.first, given.first + given.practices):
        found.append(study(seed, habits, given.judged))
        print(json.dumps(summary(found)), file=sys.stderr)
    print(json.dumps(summary(found), indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
