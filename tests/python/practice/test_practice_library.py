"""The practice's folder: nothing is lost, nothing is kept twice, and what is erased is gone."""

from __future__ import annotations

import dataclasses
import os
import random
import re
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import made
import numpy as np
import pytest

import mamelon as mm
from mamelon.practice import document, library
from mamelon.practice.library import Library

PARTS = {"case.json": b"{}", "sources.json": b"{}"}


def parts(number: int) -> dict[str, bytes]:
    return {**PARTS, "case.json": str(number).encode()}


def fill(folder: Path, count: int) -> None:
    with Library(folder, create=True) as practice:
        for i in range(count):
            practice.put(made.record(f"c{i}", f"P{i % 3}"), parts(i), new=True)
            practice.change(f"c{i}", lambda r: document.with_outcome(r, made.outcome()))


def test_what_is_put_is_listed_and_read_back(tmp_path: Path) -> None:
    fill(tmp_path, 5)
    with Library(tmp_path) as practice:
        found = practice.cases()
        assert {one.id for one in found} == {f"c{i}" for i in range(5)}
        assert [one.id for one in practice.cases("P1")] == ["c1", "c4"]
        assert practice.record("c2").outcomes == (made.outcome(),)
        rows = practice.rows()
        assert len(rows) == 5
        assert rows.pastes == (("dew", ""), ("kernel", "7"))
        np.testing.assert_allclose(rows.residual, [[0.5, 0.1, 0.4]] * 5)


def test_the_index_is_made_again_from_the_cases(tmp_path: Path) -> None:
    fill(tmp_path, 4)
    with Library(tmp_path) as practice:
        before, evidence = practice.cases(), practice.evidence()
    for file in tmp_path.glob("index.sqlite*"):
        file.unlink()
    with Library(tmp_path) as practice:
        assert practice.cases() == before
        assert practice.evidence() == evidence
        assert practice.rebuild() == 4
        assert practice.cases() == before


def test_an_older_index_is_brought_up_and_a_newer_one_refused(tmp_path: Path) -> None:
    fill(tmp_path, 2)
    index = tmp_path / "index.sqlite"
    for file in tmp_path.glob("index.sqlite*"):
        file.unlink()
    # As the first version made it, with a case that it knew.
    old = sqlite3.connect(index)
    old.executescript(library._MIGRATIONS[0] + "PRAGMA user_version=1;")
    old.commit()
    old.close()
    with Library(tmp_path) as practice:
        assert len(practice.cases()) == 2
        visit = document.Visit("2026-02-01", ())
        practice.change("c0", lambda r: dataclasses.replace(r, visits=(visit,)))
    newer = sqlite3.connect(index)
    newer.execute("PRAGMA user_version=99")
    newer.commit()
    newer.close()
    with pytest.raises(mm.DataError, match=r"newer mamelon \(index version 99"):
        Library(tmp_path)


def test_a_damaged_index_says_how_to_mend_it(tmp_path: Path) -> None:
    fill(tmp_path, 1)
    for file in tmp_path.glob("index.sqlite*"):
        file.unlink()
    (tmp_path / "index.sqlite").write_bytes(b"no database at all" * 100)
    with pytest.raises(mm.DataError, match="case rebuild"):
        Library(tmp_path)


def test_the_same_case_is_kept_once(tmp_path: Path) -> None:
    fill(tmp_path, 1)
    with Library(tmp_path) as practice:
        with pytest.raises(mm.ArgumentError, match="kept already, as c0"):
            practice.put(made.record("other"), parts(0), new=True)
        assert len(practice.cases()) == 1


def test_erasing_leaves_no_trace_and_recomputes(tmp_path: Path) -> None:
    fill(tmp_path, 6)
    with Library(tmp_path) as practice:
        before = practice.evidence()
        practice.put(made.record("secret-case", "person-0815"), parts(99), {"x": b"the photo"})
        practice.change(
            "secret-case", lambda r: document.with_outcome(r, made.outcome((75.25, 2, 18)))
        )
        assert practice.evidence().cases == 7
        assert practice.erase("person-0815") == 1
        assert practice.evidence() == before
        with pytest.raises(mm.ArgumentError, match="nothing is kept of person"):
            practice.erase("person-0815")
    for file in tmp_path.rglob("*"):
        if file.is_file():
            content = file.read_bytes()
            assert b"person-0815" not in content
            assert b"secret-case" not in content
            assert b"the photo" not in content


def test_a_clock_set_back_is_noticed(tmp_path: Path) -> None:
    with Library(tmp_path, create=True) as practice:
        practice.put(made.record("late", date="2999-01-01"), PARTS)
        with pytest.raises(mm.ArgumentError, match="the practice has an entry of 2999-01-01"):
            practice.today(None)
        assert practice.today("2026-03-01") == "2026-03-01"
        with pytest.raises(mm.ArgumentError, match="must be a date such as"):
            practice.today("1.3.2026")
        with pytest.raises(mm.ArgumentError, match="the date 2206-03-01 lies years ahead"):
            practice.today("2206-03-01")


def test_a_full_disk_loses_nothing(tmp_path: Path) -> None:
    fill(tmp_path, 2)
    program = (
        "import resource, sys, made\n"
        "from mamelon.practice.library import Library\n"
        "practice = Library(sys.argv[1])\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))\n"
        "try:\n"
        "    practice.put(made.record('big'), {'case.json': bytes(1_000_000)})\n"
        "except OSError as error:\n"
        "    print(type(error).__name__, error)\n"
    )
    done = python(program, str(tmp_path))
    assert re.match(r"IoError .*big\.zip: cannot be written", done.stdout), done
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
    with Library(tmp_path) as practice:
        assert {one.id for one in practice.cases()} == {"c0", "c1"}
        assert not [file for file in (tmp_path / "cases").iterdir() if file.suffix != ".zip"]


def environment() -> dict[str, str]:
    paths = [str(Path(__file__).parent), *sys.path]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in paths if p)}


def python(program: str, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", program, *words], capture_output=True, text=True, check=False,
        env=environment(), timeout=120,
    )  # fmt: skip


WRITER = """
import sys, made
from mamelon.practice import document
from mamelon.practice.library import Library
folder, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
for i in range(count):
    with Library(folder, create=True) as practice:
        key = f'{name}{i}'
        practice.put(made.record(key), {'case.json': key.encode()}, new=True)
        practice.change(key, lambda r: document.with_outcome(r, made.outcome()))
    print(key, flush=True)
"""


def writer(folder: Path, name: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder), name, str(count)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment(),
    )  # fmt: skip


def test_two_writers_lose_no_case(tmp_path: Path) -> None:
    both = [writer(tmp_path, name, 8) for name in "ab"]
    said = [one.communicate(timeout=120) for one in both]
    assert [one.returncode for one in both] == [0, 0], said
    with Library(tmp_path) as practice:
        assert len(practice.cases()) == 16
        assert len(practice.rows()) == 16


@pytest.mark.parametrize("trial", range(int(os.environ.get("MAMELON_KILL_TRIALS", "4"))))
def test_a_kill_loses_no_case(tmp_path: Path, trial: int) -> None:
    running = writer(tmp_path, "k", 1000)
    assert running.stdout is not None
    said = [running.stdout.readline().strip()]
    time.sleep(random.Random(trial).uniform(0, 0.3))
    running.send_signal(signal.SIGKILL)
    said += running.communicate()[0].split()
    with Library(tmp_path) as practice:
        kept = {one.id: one.outcomes for one in practice.cases()}
        assert all(kept[name] == 1 for name in said)
        files = {file.stem for file in (tmp_path / "cases").glob("*.zip")}
        assert files == set(kept)
        assert len(practice.rows()) == sum(kept.values())
