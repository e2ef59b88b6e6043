"""`mamelon paste shift`, `paste mask`, `--after` and `--aperture`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import DATA, Command
from test_schemas import validator

WEEK = ("--name", "week", "--change=-1.5,0.2,2", "--sd", "0.6,0.2,0.8")
FLOOR = DATA / "floors/dark_dentine.csv"


@pytest.fixture(scope="module")
def stated(
    mamelon: Command, demo: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    out = tmp_path_factory.mktemp("shift") / "mine.json"
    result = mamelon("paste", "shift", demo["pastes"], "--paste", "loam", *WEEK, "--out", out)
    assert result.returncode == 0, result.stderr
    return out


def lab_of(mamelon: Command, pastes: Path, *words: str) -> dict[str, Any]:
    black = pastes.with_name("black.csv")
    rows = "".join(f"{nm},0\n" for nm in range(400, 701, 10))
    black.write_text("wavelength_nm,reflectance\n" + rows, encoding="utf-8")
    result = mamelon(
        "paste", "predict", pastes, "--layers", "loam:2", "--floor", black, "--json", *words
    )
    assert result.returncode == 0, result.stderr
    told: dict[str, Any] = json.loads(result.stdout)
    validator("paste-predict").validate(told)
    return told


def test_a_shift_is_kept_and_used(mamelon: Command, stated: Path) -> None:
    document = json.loads(stated.read_text(encoding="utf-8"))
    validator("paste-set").validate(document)
    assert document["version"] == "1.5"
    before, after = lab_of(mamelon, stated), lab_of(mamelon, stated, "--after", "week")
    changed = [b - a for a, b in zip(before["lab"], after["lab"], strict=True)]
    # As the specimen: 2 mm over black.
    assert changed == pytest.approx([-1.5, 0.2, 2], abs=1e-3)
    # Its spread of a*, 0.2, is small beside what the paste's own constants leave open, and that may
    # become less as the colour moves.
    for i in (0, 2):
        assert after["lab_sd"][i] > before["lab_sd"][i] + 0.1
    for value, sd, (low, high) in zip(after["lab"], after["lab_sd"], after["lab_95"], strict=True):
        assert (low, high) == pytest.approx((value - 1.96 * sd, value + 1.96 * sd), abs=1e-9)


def test_a_set_grows_in_place_and_loses_nothing_unasked(mamelon: Command, stated: Path) -> None:
    words = ("paste", "shift", stated, "--paste", "loam")
    again = mamelon(*words, *WEEK, "--out", stated)
    assert again.returncode == 2
    assert "already" in again.stderr
    assert mamelon(*words, *WEEK, "--out", stated, "--replace").returncode == 0
    dry = ("--name", "dry", "--change", "2,0,-1")
    assert mamelon(*words, *dry, "--out", stated).returncode == 0
    other = stated.with_name("other.json")
    other.write_text("mine", encoding="utf-8")
    kept = mamelon(*words, "--name", "wet", "--change", "1,0,0", "--out", other)
    assert kept.returncode == 2
    assert other.read_text(encoding="utf-8") == "mine"


def test_a_shift_that_nothing_gives_is_refused(mamelon: Command, stated: Path) -> None:
    result = mamelon(
        "paste", "shift", stated, "--paste", "loam", "--name", "white", "--change", "39,0,0",
        "--out", stated,
    )  # fmt: skip
    assert result.returncode == 5
    assert "no constants give the shift" in result.stderr
    unknown = mamelon(
        "paste", "predict", stated, "--layers", "loam:2", "--floor", FLOOR, "--after", "month"
    )
    assert unknown.returncode == 2
    assert "month" in unknown.stderr


def test_a_plan_after_a_week(mamelon: Command, stated: Path, demo: dict[str, str]) -> None:
    words = (
        "plan", "70,2,18,0.3,0.3,0.3", "--tabs", demo["tabs"], "--pastes", stated, "--floor", FLOOR,
        "--depth", "2", "--json",
    )  # fmt: skip
    plain, after = mamelon(*words), mamelon(*words, "--after", "week")
    assert after.returncode in (0, 1), after.stderr
    assert 'after "week"' not in plain.stdout + plain.stderr
    validator("plan").validate(json.loads(after.stdout))
    assert 'those after "week"' in after.stderr


def test_an_aperture_goes_with_readings(
    mamelon: Command, stated: Path, demo: dict[str, str]
) -> None:
    words = (
        "plan", "70,2,18,0.3,0.3,0.3", "--tabs", demo["tabs"], "--pastes", stated, "--floor", FLOOR,
        "--depth", "2", "--json",
    )  # fmt: skip
    small = mamelon(*words, "--aperture", "5/3")
    assert small.returncode in (0, 1), small.stderr
    assert "loses light at its edge" in small.stderr
    assert mamelon(*words, "--aperture", "5").returncode == 2


def test_coats_that_mask(mamelon: Command, demo: dict[str, str]) -> None:
    words = ("paste", "mask", demo["pastes"], "--paste", "chalk", "--floor", FLOOR)
    result = mamelon(*words, "--coat", "0.15", "--json")
    assert result.returncode == 0, result.stderr
    told = json.loads(result.stdout)
    assert (told["coats"] - 1) * 0.15 < told["thickness_95_mm"][1] <= told["coats"] * 0.15
    shown = mamelon(*words)
    assert "coats of 0.1 mm" in shown.stdout
    clear = mamelon("paste", "mask", demo["pastes"], "--paste", "rime", "--floor", FLOOR,
                    "--de00", "0.01")  # fmt: skip
    assert clear.returncode in (0, 1)
