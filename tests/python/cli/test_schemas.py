"""Every document that is written or shipped obeys its published JSON Schema (draft 2020-12)."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from conftest import DATA, Command, plan_words

import mamelon as mm

SCHEMAS = DATA / "schemas"


def validator(name: str) -> jsonschema.Draft202012Validator:
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def written(mamelon: Command, *words: object) -> Any:
    result = mamelon(*words)
    assert result.returncode in (0, 1), result.stderr
    return json.loads(result.stdout)


@pytest.mark.parametrize(
    ("folder", "name"), [("tabs", "tab-set"), ("pastes", "paste-set"), ("cards", "card")]
)
def test_shipped_documents(folder: str, name: str) -> None:
    files = sorted((DATA / folder).glob("*.json"))
    assert files
    for file in files:
        validator(name).validate(json.loads(file.read_text(encoding="utf-8")))


def test_shade_and_plan(mamelon: Command, demo: dict[str, str]) -> None:
    words = plan_words(demo)
    plan = written(mamelon, *words, "--json")
    validator("plan").validate(plan)
    lit = written(mamelon, *words, "--lamp=1200", "--json")
    validator("plan").validate(lit)
    assert lit["plans"][0]["increments"][0]["exposure_s"] is not None
    shade = written(
        mamelon, "shade", demo["photo"], "--card", demo["card"], "--tabs", demo["tabs"], "--json"
    )
    validator("shade").validate(shade)


def test_card_with_and_without_a_profile(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    words = ("card", demo["photo"], "--card", demo["card"], "--json")
    plain = written(mamelon, *words)
    validator("card-report").validate(plain)
    assert plain["icc"] is None
    left_out = written(mamelon, *words, "--exclude", plain["patches"][0]["name"])
    validator("card-report").validate(left_out)
    assert left_out["patches"][0]["used"] is False
    profiled = written(mamelon, *words, "--icc", tmp_path / "camera.icc")
    validator("card-report").validate(profiled)
    assert profiled["icc"]["de00_max"] < 0.2


def test_paste_predict(mamelon: Command, demo: dict[str, str]) -> None:
    words = ("paste", "predict", demo["pastes"], "--layers", "loam:2.2,petal:0.8", "--floor",
             demo["floor"], "--json")  # fmt: skip
    validator("paste-predict").validate(written(mamelon, *words))
    compared = written(mamelon, *words, "--target", "74,2,18")
    validator("paste-predict").validate(compared)
    assert compared["de00"] > 0


def test_study_record(mamelon: Command, demo: dict[str, str], tmp_path: Path) -> None:
    manifest = tmp_path / "manifest.csv"
    manifest.write_text("item,L,a,b\nx,70,1,15\n", encoding="utf-8")
    result = mamelon(
        "study", manifest, "--tabs", demo["tabs"], "--output", tmp_path / "t.csv", "--json",
        env={"MAMELON_PYTHON": sys.executable},
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    record = json.loads(result.stdout)
    validator("study-record").validate(record)
    file = tmp_path / "t.csv.record.json"
    assert json.loads(file.read_text(encoding="utf-8")) == record
    validator("study-record").validate({**record, "version": "1.3", "cluster": 2})
    for spoilt in ({**record, "version": "2.0"}, {**record, "cluster": 2}, {**record, "items": 0}):
        with pytest.raises(jsonschema.ValidationError):
            validator("study-record").validate(spoilt)


def test_published_schemas_are_those_of_the_descriptions() -> None:
    for name in mm.json_schema_names():
        published = (SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")
        made = json.loads(mm.json_schema(name))
        assert json.loads(published) == made, f"write mm.json_schema({name!r}) to data/schemas"


def test_every_schema_is_one_and_is_held_against_something_here() -> None:
    tests = Path(__file__).parents[1].rglob("test_*.py")
    source = "".join(path.read_text(encoding="utf-8") for path in tests)
    names = {path.name.removesuffix(".schema.json") for path in SCHEMAS.glob("*.schema.json")}
    for name in names:
        assert validator(name).schema["$id"] == f"mamelon:schemas/{name}"
        assert f'"{name}"' in source or f"{name}.schema.json" in source, (
            f"no test holds a document against {name}.schema.json"
        )


def test_lab_and_diff(mamelon: Command, tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("label,L,a,b\nx,70,1,2\ny,60,-1,20\n", encoding="utf-8")
    validator("lab").validate(written(mamelon, "lab", table, "--json"))
    validator("diff").validate(written(mamelon, "diff", table, table, "--json"))


def test_tabs_build_and_audit(mamelon: Command, demo: dict[str, str], tmp_path: Path) -> None:
    table = tmp_path / "readings.csv"
    rows = ["label,L,a,b,operator,day"]
    for day in (1, 2, 3):
        for who in ("p", "q"):
            for i, (name, light) in enumerate((("reed", 72.0), ("sand", 70.0), ("clay", 61.5))):
                rows.append(f"{name},{light + 0.1 * day + 0.03 * i},1.{day},{18 + i}.2,{who},{day}")
    table.write_text("\n".join(rows) + "\n", encoding="utf-8")
    built = written(mamelon, "tabs", "build", table, "--name", "own", "--json")
    validator("tab-set").validate(built)
    out = tmp_path / "own.json"
    result = mamelon("tabs", "build", table, "--name", "own", "--out", out)
    assert result.returncode == 0, result.stderr
    assert json.loads(out.read_text(encoding="utf-8")) == built
    sheet = tmp_path / "audit.html"
    audit = written(
        mamelon, "tabs", "audit", demo["tabs"], "--earlier", demo["tabs"], "--keep", 8,
        "--sheet", sheet, "--json",
    )  # fmt: skip
    validator("audit").validate(audit)
    assert len(audit["choice"]["tabs"]) == 8
    assert f"{audit['coverage']['error_de00']:.2f}" in sheet.read_text(encoding="utf-8")


def test_a_schema_refuses_what_the_reader_refuses() -> None:
    tabs = json.loads((DATA / "tabs/orchard16.json").read_text(encoding="utf-8"))
    for spoil in ("unknown", "lab", "empty", "version"):
        changed = json.loads(json.dumps(tabs))
        if spoil == "unknown":
            changed["tabs"][0]["gloss"] = 3
        elif spoil == "lab":
            changed["tabs"][0]["lab"][0] = 172
        elif spoil == "empty":
            changed["tabs"] = []
        else:
            changed["version"] = "2.0"
        with pytest.raises(jsonschema.ValidationError):
            validator("tab-set").validate(changed)


def test_crosswalk(mamelon: Command, demo: dict[str, str], tmp_path: Path) -> None:
    table = tmp_path / "crosswalk.csv"
    words = [
        "tabs",
        "crosswalk",
        demo["tabs"],
        "--pastes",
        demo["pastes"],
        "--floor",
        demo["floor"],
    ]
    document = written(mamelon, *words, "--depth", 2, "--csv", table, "--json")
    validator("crosswalk").validate(document)
    tabs = [tab["name"] for tab in json.loads(Path(demo["tabs"]).read_text("utf-8"))["tabs"]]
    assert [row["tab"] for row in document["rows"]] == tabs
    lines = table.read_text("utf-8").splitlines()
    assert len(lines) == 1 + sum(len(row["recipes"]) for row in document["rows"])
    assert sum(line.split(",")[2] == "yes" for line in lines) == len(tabs)
    for row in document["rows"]:
        assert [len(recipe["layers"]) for recipe in row["recipes"]] == [1, 2]
        for recipe in row["recipes"]:
            assert sum(layer["thickness_mm"] for layer in recipe["layers"]) == pytest.approx(2)
    text = mamelon(*words, "--depth", 2)
    assert text.returncode == 0
    assert all(name in text.stdout for name in tabs)
