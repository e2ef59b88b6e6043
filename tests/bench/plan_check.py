"""Plans held against a program of another author, and against the plans of another build.

`python tests/bench/plan_check.py` plans the demo tabs over the demo floors and predicts every
winner again by adding-doubling (iadpython, S. Prahl) of 16 points. Pastes without transport
constants get them by formula, which is no fit: the check is of the optics, not of the pastes.

`python tests/bench/plan_check.py OTHER/mamelon` asks another build's command for the same plans and
weighs both by transport: the expected ΔE00 of both is this build's `predict_plan`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import iadpython
import numpy as np

import mamelon as mm

DATA = Path(__file__).resolve().parents[2] / "data"
D65 = mm.viewing_from_string("D65/2")
POINTS = 16
DEPTHS = (1.5, 2.5)
FLOORS = ("sound_dentine", "dark_dentine")


def by_formula(paste: mm.Paste) -> mm.Paste:
    """Give a paste the transport constants that K = 2 µa and S = ¾ µs′ say, where it has none."""
    if paste.transport is not None:
        return paste
    absorption = mm.PerMm(paste.absorption.grid, np.asarray(paste.absorption.values) / 2)
    reduced = mm.PerMm(paste.scattering.grid, np.asarray(paste.scattering.values) * 4 / 3)
    return paste.replace(transport=mm.TransportConstants(absorption, reduced, 0.6))


def seen_by_adding_doubling(floor: np.ndarray, layers: list[tuple[mm.Paste, float]]) -> list[float]:
    """Reflectance d:8 without gloss; `floor` internal, layers from it outward."""
    index = layers[-1][0].refractive_index
    gloss = ((index - 1) / (index + 1)) ** 2
    seen = []
    for band, rho in enumerate(floor):
        stack = None
        for paste, thickness in layers:
            constants = paste.transport
            assert constants is not None
            absorption = constants.absorption.values[band]
            scattering = constants.reduced_scattering.values[band] / (1 - constants.anisotropy)
            extinction = absorption + scattering
            sample = iadpython.Sample(
                a=scattering / extinction, b=extinction * thickness, g=constants.anisotropy,
                d=thickness, n=index, quad_pts=POINTS,
            )  # fmt: skip
            sample.update_quadrature()
            r, t = iadpython.simple_layer_matrices(sample)
            # An even floor sends back rho of all that falls on it.
            below = np.full_like(r, rho) if stack is None else stack
            stack, _ = iadpython.combine.add_layers_basic(
                sample, below, np.zeros_like(t), r, r, t, t
            )
        top = iadpython.start.boundary_layer(sample, top=True)
        zero = np.zeros_like(stack)
        whole, _, _, _ = iadpython.add_slide_above(sample, *top, stack, zero, zero, zero)
        normal, _, _, _ = sample.UX1_and_UXU(whole, zero)
        seen.append(float(normal) - gloss)
    return seen


def requests() -> list[tuple[str, mm.PlanRequest]]:
    pastes = mm.read_paste_set(DATA / "pastes/orchard10.json")
    pastes = mm.PasteSet(pastes.name, [by_formula(paste) for paste in pastes.pastes])
    grid = pastes.pastes[0].absorption.grid
    tabs = mm.read_tab_set(DATA / "tabs/orchard16.json")
    found = []
    for floor in FLOORS:
        table = np.genfromtxt(DATA / f"floors/{floor}.csv", delimiter=",", skip_header=2)
        wavelengths, values = table[:, 0], table[:, 1]
        at = grid.first_nm + grid.step_nm * np.arange(grid.count)
        curve = mm.Reflectance(grid, np.interp(at, wavelengths, values))
        for depth in DEPTHS:
            for tab in tabs.tabs[::3]:
                target = mm.Reading(tab.name, mm.Measured(tab.lab.value), tabs.viewing)
                request = mm.PlanRequest(target, pastes, curve, depth)
                found.append((f"{floor} {depth} mm {tab.name}", request))
    return found


def against_adding_doubling() -> None:
    worst: dict[str, float] = {"4 streams": 0.0, "8 streams": 0.0, "ΔE00 to the target": 0.0}
    count = 0
    for _, request in requests():
        found = mm.plan(request)
        plan = found.plans[found.recommended]
        by_name = {paste.name: paste for paste in request.pastes.pastes}
        layers = [(by_name[x.paste], x.thickness_mm) for x in plan.layers]
        under = mm.interface_of(request.floor_refractive_index, False)
        inside = np.array([mm.to_internal(v, under) for v in request.floor.values])
        seen = mm.Reflectance(request.floor.grid, seen_by_adding_doubling(inside, layers))
        lab = mm.to_lab(seen, D65)
        stack = mm.Stack(
            mm.Reflectance(request.floor.grid, inside), [mm.Layer(p, d) for p, d in layers]
        )
        for streams in (4, 8):
            ours = mm.to_lab(mm.predict(stack, "transport", streams=streams), D65)
            off = float(mm.de00(ours, lab))
            worst[f"{streams} streams"] = max(worst[f"{streams} streams"], off)
        off = abs(float(mm.de00(request.target.lab.value, lab)) - plan.de00_confirmed)
        worst["ΔE00 to the target"] = max(worst["ΔE00 to the target"], off)
        count += 1
    print(f"{count} winners against iadpython, largest ΔE00:", worst)


def against(command: str) -> None:
    better, worse = [], []
    with tempfile.TemporaryDirectory() as folder:
        for name, request in requests():
            pastes = Path(folder) / "pastes.json"
            pastes.write_text(mm.to_json(request.pastes), encoding="utf-8")
            lab = request.target.lab.value
            floor = next(f for f in FLOORS if name.startswith(f))
            words = [
                command, "plan", ",".join(str(v) for v in (lab.l, lab.a, lab.b)), "--json",
                "--tabs", str(DATA / "tabs/orchard16.json"), "--pastes", str(pastes),
                "--floor", str(DATA / f"floors/{floor}.csv"), "--depth", str(request.depth_mm),
            ]  # fmt: skip
            done = subprocess.run(words, capture_output=True, text=True, check=False)
            document = json.loads(done.stdout)
            other = document["plans"][document["recommended"]]
            layers = [mm.PlannedLayer(x["paste"], x["role"], x["thickness_mm"])
                      for x in other["layers"]]  # fmt: skip
            theirs = mm.predict_plan(request, layers)
            found = mm.plan(request)
            ours = found.plans[found.recommended]
            gap = ours.de00_rms - theirs.de00_rms
            (worse if gap > 0.02 else better).append(gap)
            print(
                f"{name:32} {theirs.de00:5.2f} {theirs.de00_rms:5.2f} {len(layers)} layers ->"
                f" {ours.de00:5.2f} {ours.de00_rms:5.2f} {len(ours.layers)} layers {gap:+.3f}"
            )
    print(f"no worse than 0.02: {len(better)}, worse: {len(worse)}", worse)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        against(sys.argv[1])
    else:
        against_adding_doubling()
