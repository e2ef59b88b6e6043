"""Tab sets from files as they come, and what goes out: formats, sheets, prior, equivalence."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import Command

# Two days and two operators, as a German spreadsheet writes them.
ROWS = [
    ("Esche", "72,10;1,00;14,20", "Anna", "1.3.2025"),
    ("Esche", "72,30;1,10;14,00", "Berta", "1.3.2025"),
    ("Esche", "72,25;0,95;14,35", "Anna", "2.3.2025"),
    ("Esche", "72,45;1,05;14,15", "Berta", "2.3.2025"),
    ("Ulme", "76,00;0,10;11,10", "Anna", "1.3.2025"),
    ("Ulme", "76,20;0,00;11,30", "Berta", "1.3.2025"),
    ("Ulme", "76,15;0,20;11,00", "Anna", "2.3.2025"),
    ("Ulme", "76,35;0,15;11,25", "Berta", "2.3.2025"),
]


def spreadsheet(file: Path, header: str) -> Path:
    rows = "".join(f"{tab};{lab};{by};{day}\n" for tab, lab, by, day in ROWS)
    file.write_text(header + "\n" + rows, encoding="utf-8")
    return file


def built(mamelon: Command, *words: Any) -> tuple[dict[str, Any], str]:
    result = mamelon("tabs", "build", *words, "--name", "bench", "--json")
    assert result.returncode == 0, result.stderr
    return json.loads(result.stdout), result.stderr


def test_a_spreadsheet_of_another_language_and_its_exports(
    mamelon: Command, tmp_path: Path
) -> None:
    readings = spreadsheet(tmp_path / "werte.csv", "Muster;L*;a*;b*;Bediener;Datum")
    first, told = built(mamelon, readings)
    assert [tab["name"] for tab in first["tabs"]] == ["Esche", "Ulme"]
    assert "no day" not in told
    assert "no operator" not in told
    for name in ("werte.txt", "werte.cxf"):
        out = tmp_path / name
        assert mamelon("lab", readings, "--out", out).returncode == 0
        again, told = built(mamelon, out)
        assert again["tabs"] == first["tabs"], name
        assert "no day" not in told
        assert "no operator" not in told


def test_columns_by_mapping(mamelon: Command, tmp_path: Path) -> None:
    plain = spreadsheet(tmp_path / "plain.csv", "Muster;L;a;b;Bediener;Datum")
    own = spreadsheet(tmp_path / "own.csv", "Farbe Nr.;Helle;a;b;Wer;Termin")
    mapping = "tab=Farbe Nr.,L=Helle,operator=Wer,day=Termin"
    assert built(mamelon, own, "--columns", mapping)[0]["tabs"] == built(mamelon, plain)[0]["tabs"]
    wrong = mamelon("tabs", "build", own, "--columns", "tab=Farbe")
    assert wrong.returncode == 2
    assert 'no column is called "Farbe"' in wrong.stderr
    assert mamelon("tabs", "build", own, "--columns", "tab").returncode == 2


def test_sheets_of_build_and_crosswalk(
    mamelon: Command, tmp_path: Path, demo: dict[str, str]
) -> None:
    readings = spreadsheet(tmp_path / "werte.csv", "Muster;L;a;b;Bediener;Datum")
    sheet, tabs = tmp_path / "sheet.html", tmp_path / "two.json"
    result = mamelon("tabs", "build", readings, "--sheet", sheet, "--out", tabs)
    assert result.returncode == 0, result.stderr
    text = sheet.read_text(encoding="utf-8")
    assert "Esche" in text
    assert "Where a reading" in text
    result = mamelon(
        "tabs", "crosswalk", tabs, "--pastes", demo["pastes"], "--floor", "60,3,20", "--depth", "2",
        "--layers", "1", "--sheet", sheet,
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    text = sheet.read_text(encoding="utf-8")
    assert "Esche" in text
    assert "Recipes" in text


def chance(mamelon: Command, tabs: str, *words: Any) -> tuple[float, str]:
    result = mamelon("shade", "80,3,22,1.5,0.6,1.2", "--tabs", tabs, *words, "--json")
    assert result.returncode in (0, 1), result.stderr
    reading = json.loads(result.stdout)["readings"][0]
    return reading["matches"][0]["chance_best"], reading["prior"]


def test_the_prior_is_stated_and_can_be_switched(
    mamelon: Command, tmp_path: Path, demo: dict[str, str]
) -> None:
    usual, name = chance(mamelon, demo["tabs"])
    assert name == "generated anterior teeth"
    without, nothing = chance(mamelon, demo["tabs"], "--prior", "none")
    assert nothing == ""
    assert usual != without
    teeth = tmp_path / "teeth.csv"
    rows = [f"t{i},{78 + i % 5},{2 + 0.3 * (i % 4)},{20 + 0.7 * (i % 7)}" for i in range(30)]
    teeth.write_text("label,L,a,b\n" + "\n".join(rows) + "\n", encoding="utf-8")
    own, name = chance(mamelon, demo["tabs"], "--prior", teeth)
    assert name == "your teeth"
    assert own not in (usual, without)


@pytest.mark.parametrize(("colour", "within"), [("exact", "perceptibility"), ("far", None)])
def test_equivalence_stands_beside_the_difference(
    mamelon: Command, demo: dict[str, str], colour: str, within: str | None
) -> None:
    tab = json.loads(Path(demo["tabs"]).read_text(encoding="utf-8"))["tabs"][0]
    lab = tab["lab"]["lab"] if isinstance(tab["lab"], dict) else tab["lab"]
    lightness = lab[0] + (0 if colour == "exact" else 12)
    reading = f"{lightness},{lab[1]},{lab[2]},0.05,0.05,0.05"
    result = mamelon("shade", reading, "--tabs", demo["tabs"], "--json")
    first = json.loads(result.stdout)["readings"][0]["matches"][0]
    assert first["equivalent_within"] == within
    text = mamelon("shade", reading, "--tabs", demo["tabs"]).stdout
    assert ("With 95 %, " in text) == (within is not None)


def test_one_reading_takes_its_uncertainty_from_the_set(mamelon: Command, tmp_path: Path) -> None:
    tabs = tmp_path / "two.json"
    readings = spreadsheet(tmp_path / "werte.csv", "Muster;L;a;b;Bediener;Datum")
    assert mamelon("tabs", "build", readings, "--out", tabs).returncode == 0
    result = mamelon("shade", "72.3,1,14.2", "--tabs", tabs)
    assert "± unknown" not in result.stdout
    document = json.loads(mamelon("shade", "72.3,1,14.2", "--tabs", tabs, "--json").stdout)
    assert document["readings"][0]["sd"][0] > 0.05
    assert any("new reading" in w for w in document["readings"][0]["warnings"])
