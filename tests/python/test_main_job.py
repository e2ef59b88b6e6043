"""The main job in Python, as the example does it, against the truth beside the demo photo."""

from __future__ import annotations

import json
import pickle
import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import mamelon as mm

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Any:
    job = runpy.run_path(str(ROOT / "examples/main_job.py"))
    sheet = tmp_path_factory.mktemp("job") / "sheet.html"
    made = job["main_job"](sheet)
    return made, sheet


def test_the_sheet_is_a_whole_page(report: Any) -> None:
    text = report[1].read_text(encoding="utf-8")
    assert text.lstrip().lower().startswith("<!doctype html>")
    assert text.rstrip().endswith("</html>")
    assert str(ROOT) not in text


def test_zones_come_near_the_recorded_truth(report: Any) -> None:
    made, _ = report
    truth = json.loads((ROOT / "data/photos/front_teeth.truth.json").read_text(encoding="utf-8"))
    tooth_found = made.teeth[0]
    ends = np.array([tooth_found.zones.cervical_end, tooth_found.zones.incisal_end]).mean(axis=0)
    tooth = min(
        truth["teeth"], key=lambda tooth: float(np.linalg.norm(np.array(tooth["point_px"]) - ends))
    )
    wanted = {zone["name"]: zone["lab"] for zone in tooth["zones"]}
    apart = [float(mm.de00(r.lab.value, wanted[r.zone])) for r in tooth_found.readings]
    # The figures promised for the demo photos.
    assert np.median(apart) <= 1.0
    assert max(apart) <= 1.8


def test_matches_follow_the_readings(report: Any) -> None:
    made, _ = report
    for reading, match in zip(made.teeth[0].readings, made.teeth[0].matches, strict=True):
        labs = made.tabs.labs
        nearest = made.tabs.names[int(np.argmin(mm.de00(reading.lab.value, labs)))]
        assert match.best.tab == nearest
        assert match.best.de00 == pytest.approx(mm.de00(reading.lab.value, labs).min(), abs=1e-12)
        assert sum(tab.chance_best for tab in match.ranked) == pytest.approx(1)


def test_the_plan_fills_the_depth(report: Any) -> None:
    made, _ = report
    for plan in made.teeth[0].plans.plans:
        assert sum(layer.thickness_mm for layer in plan.layers) == pytest.approx(3, abs=1e-9)
        assert sum(step.thickness_mm for step in plan.increments) == pytest.approx(3, abs=1e-9)
        seen = mm.to_lab(plan.reflectance, plan.predicted[0].viewing)
        assert list(seen) == pytest.approx(list(plan.predicted[0].lab), abs=1e-6)


def test_json_document_has_the_same_numbers(report: Any) -> None:
    made, _ = report
    document = json.loads(mm.to_json(made))
    assert [r["zone"] for r in document["readings"]] == [r.zone for r in made.teeth[0].readings]
    assert document["readings"][0]["lab"] == pytest.approx(
        list(made.teeth[0].readings[0].lab.value)
    )
    assert document["recommended"] == made.teeth[0].plans.recommended


def test_what_belongs_to_a_tooth_can_be_pickled(report: Any) -> None:
    made, _ = report
    twin = pickle.loads(pickle.dumps(made.teeth[0]))
    assert twin == made.teeth[0]
    assert hash(twin) == hash(made.teeth[0])


def test_a_report_can_be_pickled_with_its_photo(report: Any) -> None:
    made, _ = report
    twin = pickle.loads(pickle.dumps(made))
    assert twin == made
    assert hash(twin) == hash(made)
    assert mm.to_json(twin) == mm.to_json(made)
    # With the tooth as the photo shows it.
    assert mm.sheet_html(twin) == mm.sheet_html(made)
    # Where and under which name the photo lay is not told.
    assert twin.photographed.photo.source == "the photo"
