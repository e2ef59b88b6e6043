"""`mamelon study` is the Python package's study with the command's words, messages and codes."""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from pathlib import Path

import pytest
from conftest import Command

import mamelon as mm
from mamelon import study
from mamelon.study.__main__ import parser

PYTHON = {"MAMELON_PYTHON": sys.executable}


@pytest.fixture
def manifest(tmp_path: Path) -> Path:
    path = tmp_path / "manifest.csv"
    path.write_text("item,L,a,b,patient\nx,70,1,15,q\ny,61,2,20,p\n", encoding="utf-8")
    return path


def test_a_study_by_the_command_is_the_packages_study(
    mamelon: Command, demo: dict[str, str], manifest: Path, tmp_path: Path
) -> None:
    ours = tmp_path / "ours.csv"
    result = mamelon("study", manifest, "--tabs", demo["tabs"], "--output", ours, env=PYTHON)
    assert result.returncode == 0, result.stderr
    assert result.stdout == f"{ours}: 2 items, 2 rows, 0 failed\n"
    tabs = study.Settings((mm.read_tab_set(demo["tabs"]),), "D65/2")
    study.run_to_file(manifest, tabs, tmp_path / "theirs.csv", processes=1)
    assert ours.read_bytes() == (tmp_path / "theirs.csv").read_bytes()


def test_codes_and_messages_are_passed_on(
    mamelon: Command, demo: dict[str, str], manifest: Path, tmp_path: Path
) -> None:
    words = ("--tabs", demo["tabs"], "--output", tmp_path / "t.csv")
    absent = mamelon("study", tmp_path / "absent.csv", *words, env=PYTHON)
    assert absent.returncode == 6
    assert re.fullmatch(r"mamelon: .*absent\.csv: cannot read: .*\n", absent.stderr)
    bad = mamelon("study", manifest, *words, "--weights", "1:1", env=PYTHON)
    assert bad.returncode == 2
    assert bad.stderr.startswith("mamelon: --weights")
    manifest.write_text("item,photo\nx,none.jpg\n", encoding="utf-8")
    failed = mamelon("study", manifest, *words, "--json", "--fresh", env=PYTHON)
    assert failed.returncode == 1
    assert json.loads(failed.stdout)["failed"] == 1
    assert mamelon("study", manifest, env=PYTHON).returncode == 2


@pytest.mark.parametrize("python", ["/nowhere/python3", "/bin/sh"])
def test_without_python_a_sentence_says_what_is_needed(
    mamelon: Command, demo: dict[str, str], manifest: Path, tmp_path: Path, python: str
) -> None:
    if python == "/bin/sh":
        # An interpreter that has no such package.
        bare = tmp_path / "python3"
        bare.write_text(f'#!/bin/sh\nexec "{sys.executable}" -S -E "$@"\n', encoding="utf-8")
        bare.chmod(0o755)
        python = str(bare)
    result = mamelon(
        "study", manifest, "--tabs", demo["tabs"], "--output", tmp_path / "t.csv",
        env={**os.environ, "MAMELON_PYTHON": python},
    )  # fmt: skip
    assert result.returncode == 6
    assert len(result.stderr.splitlines()) == 1
    assert result.stderr.startswith("mamelon: the verb study needs")
    assert ("cannot be started" if "nowhere" in python else "cannot import") in result.stderr
    assert "MAMELON_PYTHON" in result.stderr
    assert not (tmp_path / "t.csv").exists()


def test_the_verb_has_the_packages_options_and_defaults(mamelon: Command) -> None:
    help_text = mamelon("study", "--help").stdout
    shown = set(re.findall(r"^ +(?:-h,)?(--[a-z-]+)", help_text, re.MULTILINE))
    theirs = parser()
    known = {word for action in theirs._actions for word in action.option_strings}
    assert shown == known - {"-h"}
    for action in theirs._actions:
        if action.default in (None, False, argparse.SUPPRESS) or not action.option_strings:
            continue
        line = next(ln for ln in help_text.splitlines() if f"{action.option_strings[0]} " in ln)
        assert f"={action.default} " in f"{line} ", line


def test_a_record_of_a_newer_minor_version_is_read_and_of_a_newer_major_refused(
    mamelon: Command, demo: dict[str, str], manifest: Path, tmp_path: Path
) -> None:
    out = tmp_path / "t.csv"
    done = mamelon("study", manifest, "--tabs", demo["tabs"], "--output", out, env=PYTHON)
    assert done.returncode == 0, done.stderr
    file = tmp_path / "t.csv.record.json"
    record = study.read_record(file)
    assert (record.items, record.failed) == (2, 0)
    document = json.loads(file.read_text(encoding="utf-8"))
    for version, extra, refused in (
        ("1.7", {"cluster": 3}, None),
        ("2.0", {}, r"\$\.version: version 2\.0 .* newer program"),
        ("one", {}, r"\$\.version"),
        ("1.0", {"cluster": 3}, "unknown key 'cluster'"),
        ("1.0", {"items": "two"}, r"\$\.items: expected a whole number"),
    ):
        file.write_text(json.dumps({**document, "version": version, **extra}), encoding="utf-8")
        if refused is None:
            assert study.read_record(file) == record
        else:
            with pytest.raises(mm.DataError, match=refused):
                study.read_record(file)
