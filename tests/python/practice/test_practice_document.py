"""The record in a case's file: read as it was written, and every way it can be wrong."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import jsonschema
import made
import pytest

import mamelon as mm
from mamelon.practice import document, schema
from mamelon.practice.document import with_outcome


def test_a_record_is_read_as_it_was_written(tmp_path: Path) -> None:
    record = with_outcome(made.record("c"), made.outcome())
    text = document.to_json(record)
    assert document.parse_record(text, "c") == record
    file = made.case_file(tmp_path / "case.zip")
    before = mm.read_case(file)
    document.write_record(file, document.read_parts(file), record, {"p": b"photo"})
    assert document.read_record(file) == record
    # Whoever knows nothing of it reads the case as before, and solves it to the same bytes.
    assert mm.read_case(file) == before
    assert mm.to_json(mm.solve(mm.read_case(file))) == mm.to_json(mm.solve(before))
    first = file.read_bytes()
    document.write_record(file, document.read_parts(file), record)
    assert file.read_bytes() == first
    with zipfile.ZipFile(file) as archive:
        assert archive.read(f"files/{mm.sha256_hex(b'photo')}") == b"photo"


def spoilt(path: list[Any], value: Any) -> str:
    body = json.loads(document.to_json(with_outcome(made.record("c"), made.outcome())))
    at = body
    for key in path[:-1]:
        at = at[key]
    if value is ...:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    return json.dumps(body)


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (["version"], "2.0", "newer mamelon"),
        (["version"], "x", "/version must be like"),
        (["format"], "other", "/format must be"),
        (["tooth"], 19, "two-digit notation"),
        (["tooth"], True, "/tooth must be a whole number"),
        (["tooth"], ..., "/tooth is missing"),
        (["extra"], 1, "/extra is not known"),
        (["plan", "target", "lab", 1], "red", "/plan/target/lab/1 must be a number"),
        (["outcomes", 0, "wet"], 1, "/outcomes/0/wet must be true or false"),
        (["outcomes"], {}, "/outcomes must be a list"),
        (["plan", "evidence"], 3, "/plan/evidence must be an object"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(path: list[Any], value: Any, said: str) -> None:
    with pytest.raises(mm.DataError, match=said) as failed:
        document.parse_record(spoilt(path, value), "case.zip")
    assert str(failed.value).startswith("case.zip: ")


def test_a_newer_minor_version_is_read_without_what_it_adds() -> None:
    body = json.loads(spoilt(["extra"], 1))
    body["version"] = "1.7"
    assert document.parse_record(json.dumps(body), "c").id == "c"


@pytest.mark.parametrize("text", ["", "[]", "{", '{"format": "mamelon-case-record"}', "NaN"])
def test_what_is_no_record_is_refused(text: str) -> None:
    with pytest.raises(mm.DataError, match=r"^c: "):
        document.parse_record(text, "c")


def test_infinite_numbers_are_refused() -> None:
    text = document.to_json(made.record("c")).replace("72.0", "Infinity", 1)
    with pytest.raises(mm.DataError, match="must be a finite number"):
        document.parse_record(text, "c")


@pytest.mark.parametrize("content", [b"", b"PK", b"not a zip at all"])
def test_a_file_that_is_no_case_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(content)
    with pytest.raises(mm.DataError, match=r"x\.zip: is no case's file"):
        document.read_record(tmp_path / "x.zip")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"tooth": 11}, "is of tooth 11, but case c of tooth 21"),
        ({"date": "2026-01-04"}, "lies before that of its plan, 2026-01-05"),
        ({"date": "tomorrow"}, "must be a date"),
        ({"stage": "later"}, "try_in or finished"),
        ({"lab": (178.0, 1.0, 2.0)}, r"reads L\* 178, .* which no tooth does"),
        ({"lab": (78.0, 1e300, 2.0)}, "which no tooth does"),
    ],
)
def test_an_outcome_that_does_not_belong_is_refused(changes: Any, said: str) -> None:
    with pytest.raises(mm.ArgumentError, match=said):
        with_outcome(made.record("c"), made.outcome(**changes))


def test_an_outcome_needs_its_plan_and_counts_once() -> None:
    import dataclasses

    bare = dataclasses.replace(made.record("c"), plan=None)
    with pytest.raises(mm.ArgumentError, match="has no plan"):
        with_outcome(bare, made.outcome())
    other = dataclasses.replace(made.outcome().seen, light="A/2")
    with pytest.raises(mm.ArgumentError, match="for A/2, but the plan for D65/2"):
        with_outcome(made.record("c"), made.outcome(seen=other))
    once = with_outcome(made.record("c"), made.outcome())
    with pytest.raises(mm.ArgumentError, match="has this outcome already"):
        with_outcome(once, made.outcome())


def test_the_published_schema_is_that_of_the_types() -> None:
    file = Path(__file__).resolve().parents[3] / "data/schemas/case-record.schema.json"
    published = json.loads(file.read_text(encoding="utf-8"))
    assert published == schema.record_schema(), "write it anew from mamelon.practice.schema"
    validator = jsonschema.Draft202012Validator(published)
    written = json.loads(document.to_json(with_outcome(made.record("c"), made.outcome())))
    validator.validate(written)
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(json.loads(spoilt(["outcomes", 0, "wet"], 1)))
