"""Plans, floors, placing, zones and crosswalks through the bindings."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass

import numpy as np
import pytest
from conftest import DATA

import mamelon as mm

D65 = mm.viewing_from_string("D65/2")


@dataclass(frozen=True)
class Case:
    """A request and the set of tabs beside it."""

    request: mm.PlanRequest
    tabs: mm.TabSet


@pytest.fixture(scope="module")
def case() -> Case:
    pastes = mm.read_paste_set(DATA / "pastes/orchard10.json")
    target = mm.Reading("tooth", mm.Measured([74, 2, 18]), D65)
    floor = mm.floor_of(
        mm.Reading("floor", mm.Measured([50, 6, 20], np.diag([9, 1, 4])), D65),
        pastes.pastes[0].absorption.grid,
    )
    assert floor.estimated
    assert len(floor.errors) == 3
    request = mm.PlanRequest(
        target, pastes, floor.reflectance, 2.4, floor_errors=floor.errors,
        placing=mm.Placing("wall_first", contact_wall=True, lamp_irradiance_mw_cm2=1000),
    )  # fmt: skip
    return Case(request, mm.read_tab_set(DATA / "tabs/orchard16.json"))


def test_a_plan_says_what_layers_buy_and_how_it_is_placed(case: Case) -> None:
    found = mm.plan(case.request)
    assert [gain.layers for gain in found.gains] == [1, 2]
    assert found.gains[1].gain_de00 == pytest.approx(found.second_layer_gain_de00)
    assert found.out_of_reach is None or found.out_of_reach.de00 > 1.8
    best = found.plans[found.recommended]
    assert best.contact_wall is not None
    assert best.contact_wall.width_mm == 1
    steps = found.plans[0].increments
    assert steps[0].portion == "contact_wall"
    assert {step.portion for step in steps if step.share > 0} == {"walls", "core"}
    assert sum(step.share * step.thickness_mm for step in steps) == pytest.approx(2.4)
    assert all(step.exposure_s == pytest.approx(step.exposure_j_cm2) for step in steps)
    assert steps[-1].contour


def test_what_if_a_layer_were_thicker(case: Case) -> None:
    plan = mm.plan(case.request).plans[-1]
    assert mm.predict_plan(case.request, plan.layers).de00_rms == plan.de00_rms
    moved = [plan.layers[0].replace(thickness_mm=1.0), *plan.layers[1:]]
    assert mm.predict_plan(case.request, moved).layers[0].thickness_mm == 1.0


def test_one_cavity_of_two_depths(case: Case) -> None:
    found = mm.plan_depths(case.request, [2.4, 1.5])
    assert [[x.paste for x in p.layers] for p in found.plans] == [list(found.pastes)] * 2
    assert [sum(x.thickness_mm for x in p.layers) for p in found.plans] == pytest.approx([2.4, 1.5])
    assert len(found.differences) == 1
    with pytest.raises(mm.ArgumentError, match="two or three"):
        mm.plan_depths(case.request, [2.4])


def test_an_uncertain_floor_widens_what_is_expected(case: Case) -> None:
    sure = mm.plan(case.request.replace(floor_errors=(), depth_mm=1.0, max_layers=1))
    wide = mm.plan(case.request.replace(depth_mm=1.0, max_layers=1))
    assert wide.plans[0].de00_rms > sure.plans[0].de00_rms


def test_zones_keep_the_pastes(case: Case) -> None:
    plan = mm.plan(case.request).plans[-1]
    names = [layer.paste for layer in plan.layers]
    zones = [
        mm.Reading(n, mm.Measured(c), D65) for n, c in (("a", [70, 3, 21]), ("b", [76, 1, 15]))
    ]
    plans = mm.plan_zones(case.request, names, zones, depths_mm=[2.0, 1.6])
    assert [[x.paste for x in p.layers] for p in plans] == [names, names]
    assert [sum(x.thickness_mm for x in p.layers) for p in plans] == pytest.approx([2.0, 1.6])
    with pytest.raises(mm.ArgumentError, match="is not in set"):
        mm.plan_zones(case.request, ["nobody"], zones)


def test_a_crosswalk_is_one_table_in_two_formats(case: Case) -> None:
    tabs = mm.TabSet("few", case.tabs.tabs[:3], D65)
    rows = mm.crosswalk(tabs, case.request)
    report = mm.CrosswalkReport(tabs, case.request, rows)
    document = json.loads(mm.to_json(report))
    assert [row["tab"] for row in document["rows"]] == [tab.name for tab in tabs.tabs]
    table = list(csv.DictReader(io.StringIO(mm.to_csv(report))))
    assert len(table) == sum(len(row.plans) for row in rows)
    first = rows[0].plans[0]
    assert table[0]["paste_1"] == first.layers[0].paste
    assert float(table[0]["de00"]) == pytest.approx(first.de00, abs=6e-4)


def test_increments_follow_the_order(case: Case) -> None:
    paste = case.request.pastes.pastes[1]
    flat = mm.increments_of(paste, 3.0)
    wedges = mm.increments_of(paste, 3.0, placing=mm.Placing("oblique"))
    assert [step.portion for step in wedges[:2]] == ["first_wedge", "second_wedge"]
    assert len(wedges) == 2 * len(flat)
    with pytest.raises(mm.ArgumentError):
        mm.Placing("sideways")  # type: ignore[arg-type]
