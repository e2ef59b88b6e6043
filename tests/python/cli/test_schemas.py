"""Every document that is written or shipped obeys its published JSON Schema (draft 2020-12)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from conftest import DATA, Command, plan_words

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
