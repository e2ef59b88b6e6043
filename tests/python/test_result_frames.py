"""A match, a calibration and an audit as JSON and as data frames say what the values say."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm


def test_a_match(tabs: mm.TabSet) -> None:
    pytest.importorskip("pandas")
    found = mm.match(mm.Reading("tooth", mm.Measured([72, 1, 16], np.eye(3) * 0.1), "D65/2"), tabs)
    frame = found.to_frame()
    assert list(frame.tab) == [tab.tab for tab in found.ranked]
    assert frame.chance_acceptable[0] == found.best.chance_acceptable
    assert frame.L[0] == found.best.lab.l
    document = json.loads(mm.to_json(found))["match"]
    assert [tab["tab"] for tab in document["ranked"]] == list(frame.tab)
    assert document["ranked"][0]["surely_acceptable_match"] == found.best.surely_acceptable_match


def test_a_calibration_and_its_files(tmp_path: Path) -> None:
    pytest.importorskip("pandas")
    rng = np.random.default_rng(3)
    rows = [
        mm.RepeatReading(
            mm.Reading(tab, mm.Measured(rng.normal(lab, 0.2)), "D65/2"),
            day=day,
            operator_name="Ann",
        )
        for day in ("1.3.2025", "2.3.2025")
        for tab, lab in (("oat", [70, 1, 15]), ("flax", [74, 0, 12]))
        for _ in range(3)
    ]
    made = mm.calibrate(rows, name="bench")
    frame = made.to_frame()
    assert list(frame.tab) == ["oat", "flax"]
    assert frame.low_L[1] == made.records[1].low[0]
    document = json.loads(mm.to_json(made))["calibration"]
    assert [record["tab"] for record in document["records"]] == ["oat", "flax"]
    assert "oat" in mm.sheet_html(made)
    for name, write in (("rows.txt", mm.to_cgats), ("rows.cxf", mm.to_cxf)):
        file = tmp_path / name
        file.write_text(write(rows), encoding="utf-8")
        back = mm.read_repeats(file)
        assert [(r.reading.label, r.day, r.operator_name) for r in back] == [
            (r.reading.label, r.day, r.operator_name) for r in rows
        ]
    file = tmp_path / "rows.csv"
    file.write_text("Farbe,L,a,b\noat,70,1,15\n", encoding="utf-8")
    assert mm.read_repeats(file, columns={"tab": "Farbe"})[0].reading.label == "oat"
    with pytest.raises(mm.ArgumentError, match="no column is called"):
        mm.read_repeats(file, columns={"tab": "Muster"})


def test_an_audit(tabs: mm.TabSet) -> None:
    pytest.importorskip("pandas")
    found = mm.audit(tabs, mm.generated_population("D65/2", count=60))
    frame = found.to_frame()
    assert list(frame.nearest) == [near.nearest for near in found.neighbours]
    assert frame.attrs["coverage_error"] == found.coverage.error_de00
    assert json.loads(mm.to_json(found))["audit"]["coverage"]["high"] > 0
