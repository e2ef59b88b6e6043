"""Every Python example runs and leaves what it promises."""

from __future__ import annotations

import runpy
import warnings
from pathlib import Path
from typing import Any

import matplotlib.pyplot as plt
import pytest

import mamelon as mm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PNG = b"\x89PNG\r\n\x1a\n"


def example(name: str) -> dict[str, Any]:
    return runpy.run_path(str(EXAMPLES / name))


@pytest.fixture(autouse=True)
def close_figures() -> Any:
    yield
    plt.close("all")


@pytest.mark.parametrize("name", ["match_tab", "plan_layers"])
def test_figures(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    figure = tmp_path / "figure.png"
    example(f"{name}.py")["main"](figure)
    assert figure.read_bytes().startswith(PNG)
    assert "ΔE00" in capsys.readouterr().out


def test_calibrated_set(tmp_path: Path) -> None:
    output = tmp_path / "set.json"
    calibration = example("calibrate_set.py")["main"](output)
    # The planted mistake is found. Of sound readings up to 0.5 % may be set aside too: one of 145.
    rows = [reading.row for reading in calibration.set_aside]
    assert 2 + 16 * 9 in rows
    assert len(rows) <= 2
    written = mm.read_tab_set(output)
    assert written.names == calibration.tabs.names
    true = mm.read_tab_set(EXAMPLES.parent / "data/tabs/orchard16.json")
    assert mm.de00(written.labs, true.labs).max() < 0.5


def test_study(tmp_path: Path) -> None:
    # statsmodels warns about its own optimiser now and then.
    with warnings.catch_warnings(action="ignore", category=UserWarning):
        table = example("study_with_figures.py")["main"](tmp_path, teeth=60)
    assert len(table) == 120
    for name in ("bland_altman", "coverage", "tabs_lc"):
        assert (tmp_path / f"{name}.png").read_bytes().startswith(PNG)
    assert (tmp_path / "table.csv.record.json").exists()
