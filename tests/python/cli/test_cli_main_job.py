"""The main job through the command: text, JSON and the sheet say the same."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from conftest import Command, plan_words


@pytest.fixture(scope="module")
def planned(
    mamelon: Command, demo: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> tuple[dict[str, Any], str, str]:
    """JSON, text and sheet of one plan."""
    sheet = tmp_path_factory.mktemp("plan") / "sheet.html"
    words = plan_words(demo, lamp="1000", label="Case <one>", sheet=str(sheet))
    as_json = mamelon(*words, "--json")
    as_text = mamelon(*words)
    assert as_json.returncode in (0, 1), as_json.stderr
    assert as_text.returncode == as_json.returncode
    return json.loads(as_json.stdout), as_text.stdout, sheet.read_text(encoding="utf-8")


def test_plan_json_has_the_agreed_shape(planned: tuple[dict[str, Any], str, str]) -> None:
    document, _, _ = planned
    assert set(document) == {
        "mamelon", "viewing", "readings", "card", "warnings", "plans", "recommended",
        "as_good", "why", "gains", "ties", "out_of_reach", "zones", "cautions",
    }  # fmt: skip
    assert set(document["mamelon"]) == {"version", "provenance"}
    assert document["viewing"] == {"illuminant": "D65", "observer": "2"}
    assert [reading["zone"] for reading in document["readings"]] == [
        "cervical", "middle", "incisal",
    ]  # fmt: skip
    for reading in document["readings"]:
        assert set(reading) == {
            "label", "zone", "lab", "sd", "cov", "n", "matches", "prior", "warnings",
        }  # fmt: skip
        differences = [match["de00"] for match in reading["matches"]]
        assert differences == sorted(differences)
        assert all(m["low"] <= m["de00"] <= m["high"] or m["low"] <= m["high"]
                   for m in reading["matches"])  # fmt: skip
        assert sum(match["chance_best"] for match in reading["matches"]) == pytest.approx(1)
        assert set(reading["matches"][0]) == {
            "tab", "de00", "low", "high", "chance_best", "chance_acceptable", "equivalent_within",
            "dL", "dC", "dH", "grade",
        }  # fmt: skip
    assert set(document["card"]) == {"loo_de00_median", "loo_de00_max"}
    plan = document["plans"][document["recommended"]]
    assert set(plan) == {
        "layers", "increments", "predicted", "de00", "de00_expected", "de00_p95",
        "metamerism", "engine", "sampled", "de00_confirmed", "contact_wall",
    }  # fmt: skip
    assert sum(layer["thickness_mm"] for layer in plan["layers"]) == pytest.approx(3)
    assert sum(step["thickness_mm"] for step in plan["increments"]) == pytest.approx(3)
    assert [step["order"] for step in plan["increments"]] == list(
        range(1, len(plan["increments"]) + 1)
    )
    for step in plan["increments"]:
        # 1000 mW/cm² deliver one J/cm² a second.
        assert step["exposure_s"] == pytest.approx(step["exposure_j_cm2"])
    assert [colour["illuminant"] for colour in plan["predicted"]] == ["D65", "A", "LED-B3"]


def test_text_and_sheet_show_the_numbers_of_the_json(
    planned: tuple[dict[str, Any], str, str],
) -> None:
    document, text, sheet = planned
    shown = re.sub(r"<[^>]*>", " ", sheet.split("<main>")[1])
    for reading in document["readings"]:
        for value in reading["lab"]:
            assert f"{value:.1f}" in text
            assert f"{value:.1f}" in shown.replace("−", "-")
    middle = document["readings"][1]
    for match in middle["matches"][:5]:
        assert match["tab"] in text
        assert match["tab"] in shown
        assert f"{match['de00']:.2f}" in text
        assert f"{match['de00']:.2f}" in shown
    plan = document["plans"][document["recommended"]]
    for step in plan["increments"]:
        assert f"{step['thickness_mm']:.1f} mm" in text
        assert f"{step['thickness_mm']:.1f} mm" in shown
    for key in ("de00", "de00_expected", "de00_p95"):
        assert f"{plan[key]:.2f}" in text
        assert f"{plan[key]:.2f}" in shown


def test_the_sheet_has_every_part_that_a_chairside_reader_needs(
    planned: tuple[dict[str, Any], str, str],
) -> None:
    document, _, sheet = planned
    shown = " ".join(re.sub(r"<[^>]*>", " ", sheet.split("<main>")[1]).split())
    plan = document["plans"][document["recommended"]]
    assert "data:image/png;base64," in sheet  # the crop
    photo = sheet.split("<h2>Photo</h2>")[1].split("</figure>")[0]
    for reading in document["readings"]:  # its zones, outlined and named
        assert reading["zone"] in photo
    assert photo.count("<path") + photo.count("<polygon") >= len(document["readings"])
    assert "Nearest tab by place: 1 " in shown  # the map
    best = document["readings"][1]["matches"]
    for match in best[:5]:  # swatches, difference and grade in words
        row = sheet.split(f"<th scope=row>{match['tab']}<td>")[-1].split("</tr>")[0]
        assert f"tooth beside tab {match['tab']}" in row
        assert len(re.findall("background:#[0-9a-f]{6}", row)) == 2
        assert match["grade"].replace("_", " ") in row
    assert sheet.count("class=plots") >= 1
    chair = shown.split("To scale;")[1].split(" Evidence ")[0]
    for step in plan["increments"]:  # with exposures
        row = re.search(rf"{step['order']} {step['paste']} .*?J/cm²", chair)
        assert row is not None
        assert f" {step['thickness_mm']:.1f} mm " in row[0]
        assert f"({step['exposure_j_cm2']:.0f} J/cm²" in row[0]
    for colour in plan["predicted"]:  # under three lights, beside the tooth
        assert f"tooth beside predicted colour under {colour['illuminant']}/2" in sheet
        assert f"{colour['de00']:.2f}" in shown
    assert re.search(r"Confidence that this is the nearest tab: (high|fair|low|very low) ", shown)
    card = document["card"]
    assert f"{card['loo_de00_median']:.2f} (median), {card['loo_de00_max']:.2f} (largest)" in shown
    for words in ("optical contact", "Curing light of 1000 mW/cm²", "The photo holds linear light"):
        assert words in shown
    for caution in ("within a minute", "cured, not uncured", "shield eyes", "Not a diagnosis",
                    "paste maker's instructions"):  # fmt: skip
        assert caution in shown.replace("&#39;", "'")
    assert document["mamelon"]["provenance"] in shown
    for warning in document["warnings"]:
        assert warning in shown.replace("&#39;", "'")


class Wellformed(HTMLParser):
    """Collects what a sheet may not have."""

    def __init__(self) -> None:
        super().__init__()
        self.scripts = 0
        self.addresses: list[str] = []
        self.unnamed: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.scripts += tag == "script"
        self.addresses += [
            value or "" for name, value in attrs if name in ("src", "href", "action", "srcset")
        ]
        if given.get("role") == "img" and not given.get("aria-label"):
            self.unnamed.append(tag)


def test_sheet_stands_alone_and_names_its_pictures(
    planned: tuple[dict[str, Any], str, str], demo: dict[str, str]
) -> None:
    _, _, sheet = planned
    parser = Wellformed()
    parser.feed(sheet)
    assert parser.scripts == 0
    assert parser.unnamed == []
    assert parser.addresses
    assert all(address.startswith("data:image/png;base64,") for address in parser.addresses)
    assert "Case &lt;one&gt;" in sheet
    assert "Case <one>" not in sheet
    assert Path(demo["photo"]).name not in sheet
    assert str(Path(demo["photo"]).parent) not in sheet


def test_same_request_gives_the_same_bytes(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    outputs = set()
    sheets = set()
    for name in ("a", "b"):
        sheet = tmp_path / f"{name}.html"
        result = mamelon(
            *plan_words(demo, sheet=str(sheet)), "--json",
            env={"LC_ALL": "de_DE.UTF-8" if name == "b" else "C"},
        )  # fmt: skip
        outputs.add(result.stdout)
        sheets.add(sheet.read_bytes())
    assert len(outputs) == 1
    assert len(sheets) == 1


def test_readings_from_a_table_are_planned_for(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    table = tmp_path / "readings.csv"
    table.write_text("label,L,a,b\ntooth,74.0,1.5,18.0\ntooth,74.4,1.5,18.2\n", encoding="utf-8")
    words = plan_words({**demo, "photo": str(table)}, card=None)
    result = mamelon(*words, "--json")
    assert result.returncode in (0, 1), result.stderr
    document = json.loads(result.stdout)
    assert document["card"] is None
    assert document["readings"][0]["n"] == 2
    assert document["readings"][0]["lab"] == pytest.approx([74.2, 1.5, 18.1])


def test_a_colour_no_tab_and_no_plan_can_reach_is_an_honest_negative_answer(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    table = tmp_path / "blue.csv"
    table.write_text("label,L,a,b\nblue,40,5,-30\n", encoding="utf-8")
    result = mamelon("shade", table, "--tabs", demo["tabs"], "--json")
    assert result.returncode == 1
    assert json.loads(result.stdout)["readings"][0]["matches"][0]["de00"] > 1.8
    assert "no tab is within the acceptance threshold" in result.stderr
    result = mamelon(*plan_words({**demo, "photo": str(table)}, card=None), "--json")
    assert result.returncode == 1
    assert all(plan["de00"] > 1.8 for plan in json.loads(result.stdout)["plans"])
