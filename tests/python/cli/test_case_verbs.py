"""`mamelon case`, `follow` and `tabs align`: the package by the command's words and codes."""

from __future__ import annotations

import argparse
import csv
import json
import re
import sys
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import DATA, Command

import mamelon as mm
from mamelon.practice.__main__ import parser

PYTHON = {"MAMELON_PYTHON": sys.executable}


@pytest.fixture
def saved(mamelon: Command, demo: dict[str, str], tmp_path: Path) -> Path:
    file = tmp_path / "case.zip"
    mamelon(
        "plan", "74,2,18,0.3,0.2,0.3", "--pastes", demo["pastes"], "--tabs", demo["tabs"],
        "--floor", "60,5,20,1,0.5,1", "--depth", "2.5", "--save", file,
    )  # fmt: skip
    return file


def run(mamelon: Command, *words: object) -> Any:
    return mamelon(*words, env=PYTHON)


def test_a_case_is_planned_kept_checked_listed_and_erased(
    mamelon: Command, saved: Path, tmp_path: Path
) -> None:
    practice = tmp_path / "practice"
    added = run(
        mamelon, "case", "add", practice, saved, "--person", "P1", "--tooth", "21", "--operator",
        "ann", "--lot", "loam=7", "--date", "2026-01-05", "--json",
    )  # fmt: skip
    assert added.returncode == 0, added.stderr
    document = json.loads(added.stdout)
    assert "0 of the 8" in document["told"]
    name = document["case"]
    again = run(mamelon, "case", "plan", practice, name, "--json")
    assert json.loads(again.stdout)["plans"] == document["plans"]
    # The kept file is the case that was given, to every other verb as well.
    kept = practice / "cases" / f"{name}.zip"
    assert mamelon("solve", kept, "--json").stdout == mamelon("solve", saved, "--json").stdout
    check = [
        "case", "check", practice, name, "--tooth", "21", "--stage", "try_in", "--surface", "wet",
        "--cured", "yes", "--lab", "78,1.6,21", "--date", "2026-01-06",
    ]  # fmt: skip
    seen = run(mamelon, *check)
    assert seen.returncode == 1, seen.stderr
    assert seen.stdout.startswith("against the target: ΔE00 ")
    assert "\nto do: " in seen.stdout
    assert run(mamelon, *check).returncode == 2
    solved = mamelon("solve", kept, "--json")
    assert solved.stdout == mamelon("solve", saved, "--json").stdout
    assert "a practice keeps this case with 1 outcome, " in solved.stderr
    listed = json.loads(run(mamelon, "case", "list", practice, "--json").stdout)["cases"]
    assert [(one["id"], one["outcomes"]) for one in listed] == [(name, 1)]
    assert json.loads(run(mamelon, "case", "show", practice, name, "--json").stdout)["id"] == name
    held = json.loads(run(mamelon, "case", "calibration", practice, "--json").stdout)["held"]
    assert held[0]["cases"] == 1
    assert "1 outcomes" in run(mamelon, "case", "learned", practice).stdout
    table = tmp_path / "t.csv"
    assert run(mamelon, "case", "export", practice, "--output", table).returncode == 0
    assert len(list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))) == 1
    assert "45/0" in run(mamelon, "case", "paper", practice, name, "--geometry", "45/0").stdout
    assert run(mamelon, "case", "rebuild", practice).stdout == "1 cases\n"
    assert run(mamelon, "case", "erase", practice, "--person", "P1").returncode == 2
    assert run(mamelon, "case", "erase", practice, "--person", "P1", "--yes").returncode == 0
    assert run(mamelon, "case", "list", practice).stdout == "no case\n"


def test_a_try_in_is_checked_from_a_photo(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    truth = json.loads((DATA / "photos/front_teeth.truth.json").read_text(encoding="utf-8"))
    x, y = truth["teeth"][2]["point_px"]
    photo = ["--card", DATA / "cards/tooth20_frame.json"]
    picture = DATA / "photos/front_teeth.jpg"
    saved = tmp_path / "case.zip"
    mamelon(
        "plan", picture, *photo, "--pastes", demo["pastes"], "--tabs", demo["tabs"], "--floor",
        "60,5,20,1,0.5,1", "--depth", "2.5", f"--tooth=21={x},{y}", "--save", saved,
    )  # fmt: skip
    practice = tmp_path / "practice"
    added = run(mamelon, "case", "add", practice, saved, "--person", "P1", "--date", "2026-01-05",
                "--json")  # fmt: skip
    assert added.returncode == 0, added.stderr
    name = json.loads(added.stdout)["case"]
    seen = run(
        mamelon, "case", "check", practice, name, "--tooth", "21", "--stage", "finished",
        "--surface", "wet", "--cured", "yes", "--photo", picture, *photo, "--at", f"{x},{y}",
        "--date", "2026-01-06", "--json",
    )  # fmt: skip
    assert seen.returncode == 0, seen.stderr
    # The same tooth in the same photo, read as the composite that it is not: its interval holds it.
    found = json.loads(seen.stdout)["to_target"]
    assert found["de00"] < 1.5
    with zipfile.ZipFile(practice / "cases" / f"{name}.zip") as archive:
        assert f"files/{mm.sha256_hex(picture.read_bytes())}" in archive.namelist()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["list", "{nowhere}"], 6, "is no practice's folder"),
        (["add", "{p}", "{nowhere}", "--person", "P"], 6, "cannot"),
        (["add", "{p}", "{case}", "--person", "P"], 2, "say which tooth"),
        (["add", "{p}", "{case}", "--person", "P", "--tooth", "19"], 2, "two-digit notation"),
        (["add", "{p}", "{case}", "--person", "P", "--tooth", "21", "--lot", "x"], 2, "NAME=VALUE"),
        (["add", "{p}", "{case}", "--person", "P", "--tooth", "21", "--lot", "nettle=1"], 2,
         "a lot is given of paste 'nettle'"),
        (["add", "{p}", "{case}", "--person", "P", "--tooth", "21", "--date", "5.1.2026"], 2,
         "must be a date"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_one_line(
    mamelon: Command, saved: Path, tmp_path: Path, words: list[str], code: int, said: str
) -> None:
    places = {"nowhere": tmp_path / "nowhere", "p": tmp_path / "p", "case": saved}
    result = run(mamelon, "case", *(word.format(**places) for word in words))
    assert result.returncode == code, result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert result.stderr.startswith("mamelon: ")
    assert said in result.stderr


def test_visits_are_followed(mamelon: Command, saved: Path, tmp_path: Path) -> None:
    practice = tmp_path / "practice"
    words = ["--person", "P1", "--tooth", "21", "--date", "2026-01-01", "--json"]
    name = json.loads(run(mamelon, "case", "add", practice, saved, *words).stdout)["case"]
    for day, lab in (("2026-02-01", "70,2,18"), ("2026-03-01", "74,1,15")):
        readings = tmp_path / f"{day}.csv"
        readings.write_text(f"label,L,a,b\n21,{lab}\n12,71,2,17\n", encoding="utf-8")
        done = run(mamelon, "follow", practice, name, "--add", readings, "--reference", "12",
                   "--translucency", f"21={9 if day.startswith('2026-02') else 11}",
                   "--date", day, "--plot" if day.startswith("2026-03") else "--treatment",
                   tmp_path / "f.svg", "--json")  # fmt: skip
        assert done.returncode == 0, done.stderr
    (change,) = json.loads(done.stdout)["changes"]
    assert change["lab"][0]["estimate"] == pytest.approx(4.0, abs=1e-9)
    assert change["references"] == 1
    assert change["translucency"] == pytest.approx(2.0)
    # Between the thresholds of Salas et al. 2018, 0.62 and 2.62.
    assert change["translucency_word"] == "perceptible"
    assert (tmp_path / "f.svg").read_text(encoding="utf-8").startswith("<?xml")
    early = run(mamelon, "follow", practice, name, "--add", readings, "--date", "2026-01-15")
    assert early.returncode == 2
    assert "must come after" in early.stderr


def test_instruments_are_brought_into_line(mamelon: Command, tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    truth = rng.uniform([60, 0, 8], [82, 6, 28], (10, 3))
    files = []
    for name, shift in (("booth", 0.0), ("clinic", 2.0), ("lab", -1.5)):
        lines = ["label,L,a,b"]
        for i, lab in enumerate(truth):
            for _ in range(3):
                seen = lab + shift + 0.1 * rng.normal(size=3)
                lines.append(f"s{i}," + ",".join(f"{x:.3f}" for x in seen))
        (tmp_path / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        files.append(f"{name}={tmp_path / name}.csv")
    done = run(mamelon, "tabs", "align", *files, "--reference", "lab", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["form"] == "offset"
    assert found["after"] < 0.3 < found["before"]
    wrong = run(mamelon, "tabs", "align", *files, "--reference", "moon")
    assert wrong.returncode == 2
    assert "the reference must be" in wrong.stderr


def verbs() -> list[tuple[list[str], argparse.ArgumentParser]]:
    top = parser()._subparsers
    assert top is not None
    found = []
    for name, verb in top._group_actions[0].choices.items():  # type: ignore[union-attr]
        inner = verb._subparsers
        if inner is None:
            found.append(([name], verb))
        else:
            found += [([name, k], v) for k, v in inner._group_actions[0].choices.items()]
    return found


@pytest.mark.parametrize(("path", "theirs"), verbs())
def test_the_verbs_have_the_packages_words(
    mamelon: Command, path: list[str], theirs: argparse.ArgumentParser
) -> None:
    text = mamelon(*path, "--help").stdout
    shown = set(re.findall(r"^ +(?:-h,)?(--[a-z-]+)", text, re.MULTILINE))
    known = {word for action in theirs._actions for word in action.option_strings}
    assert shown == known - {"-h"}
    needed = {
        action.option_strings[0]
        for action in theirs._actions
        if action.required and action.option_strings
    }
    for word in needed:
        line = next(line for line in text.splitlines() if f"{word} " in line)
        assert "REQUIRED" in line
