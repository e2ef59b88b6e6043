"""The column that names the tab: found by its name, and asked for where there is none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Command

ROWS = "ash,72,1,14\nelm,76,0,11\nash,72.4,1.2,14.2\nelm,76.2,0.1,11.2\n"


@pytest.mark.parametrize("column", ["label", "tab", "Tab", "name", "shade", "Zahnfarbe"])
def test_repeat_readings_of_a_tab_are_one_tab(
    mamelon: Command, tmp_path: Path, column: str
) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text(f"{column},L,a,b\n{ROWS}", encoding="utf-8")
    result = mamelon("tabs", "build", readings, "--json")
    assert result.returncode == 0, result.stderr
    assert [tab["name"] for tab in json.loads(result.stdout)["tabs"]] == ["ash", "elm"]


def test_readings_that_name_no_tab_are_refused(mamelon: Command, tmp_path: Path) -> None:
    readings, out = tmp_path / "readings.csv", tmp_path / "mine.json"
    readings.write_text(f"remark,L,a,b\n{ROWS}", encoding="utf-8")
    result = mamelon("tabs", "build", readings, "--out", out)
    assert result.returncode == 3
    assert "no column names the tab that was read; call it label or tab" in result.stderr
    assert not out.exists()
