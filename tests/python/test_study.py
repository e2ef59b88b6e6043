"""Studies: one table whatever runs them, whatever interrupts them, whatever fails in them.

`MAMELON_KILL_TRIALS` sets how many studies are killed at a random moment (6 when not set).
"""

from __future__ import annotations

import csv
import io
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import settings as settings_of_hypothesis
from hypothesis import strategies as st

import mamelon as mm
from mamelon import study
from mamelon.study.measure import COLUMNS

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"
TABS = DATA / "tabs/orchard16.json"
COMMAND = [sys.executable, "-m", "mamelon.study"]
TRIALS = int(os.environ.get("MAMELON_KILL_TRIALS", "6"))
ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}


def write_manifest(path: Path, count: int, seed: int = 1) -> Path:
    """Synthetic instrument readings with covariates."""
    rng = np.random.default_rng(seed)
    labs = rng.normal([72, 1.5, 17], [6, 1.5, 4], (count, 3)).round(2)
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["item", "L", "a", "b", "sd_L", "sd_a", "sd_b", "patient", "age"])
        for number, lab in enumerate(labs):
            people = [f"p{number % 40}", 20 + number % 50]
            writer.writerow([f"r{number:05}", *lab, 0.3, 0.1, 0.2, *people])
    return path


def settings(draws: int = 64) -> study.Settings:
    return study.Settings((mm.read_tab_set(TABS),), "D65/2", draws=draws)


def command(manifest: Path, output: Path, *more: str) -> list[str]:
    return [*COMMAND, str(manifest), "--tabs", str(TABS), "--output", str(output), *more]


def lines_in(path: Path) -> int:
    return path.read_bytes().count(b"\n") if path.exists() else 0


def whole_lines(path: Path) -> list[bytes]:
    """The lines that were written to their end."""
    return path.read_bytes().split(b"\n")[:-1] if path.exists() else []


def wait_until(condition: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.01)


@pytest.fixture(scope="module")
def uninterrupted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Manifest and table of 2000 items that nothing disturbed."""
    folder = tmp_path_factory.mktemp("whole")
    manifest = write_manifest(folder / "manifest.csv", 2000)
    study.run_to_file(manifest, settings(), folder / "table.csv", processes=1)
    return manifest, folder / "table.csv"


def test_kill_and_resume_lose_and_repeat_nothing(
    uninterrupted: tuple[Path, Path], tmp_path: Path
) -> None:
    manifest, whole = uninterrupted
    output = tmp_path / "table.csv"
    journal = tmp_path / "table.csv.journal"
    more = ("--processes", "2", "--draws", "64", "--quiet")
    killed_at = 0
    for goal in (300, 1100):
        with subprocess.Popen(command(manifest, output, *more), env=ENVIRONMENT) as process:
            wait_until(lambda goal=goal: lines_in(journal) > goal, 120)
            process.send_signal(signal.SIGKILL)
        assert process.returncode == -signal.SIGKILL
        assert not output.exists()
        assert killed_at < lines_in(journal) < 2001
        killed_at = lines_in(journal)
    before = journal.read_bytes()
    done = subprocess.run(command(manifest, output, *more), env=ENVIRONMENT, check=False)
    assert done.returncode == 0
    # What stood in the journal stands there still: nothing was done twice.
    assert journal.read_bytes().startswith(before[: before.rfind(b"\n") + 1])
    assert lines_in(journal) == 2001
    assert len(output.read_text(encoding="utf-8").splitlines()) == 2001
    assert output.read_bytes() == whole.read_bytes()
    records = [
        json.loads(path.with_name("table.csv.record.json").read_text(encoding="utf-8"))
        for path in (output, whole)
    ]
    assert records[0] == records[1]
    assert records[0]["rows"] == 2000
    assert records[0]["table"] == mm.sha256_hex(output.read_bytes())


def test_kills_at_random_moments_lose_and_double_no_row(
    uninterrupted: tuple[Path, Path], tmp_path: Path
) -> None:
    """Killed, gone on with and killed again; a study that came to its end is begun anew."""
    manifest, whole = uninterrupted
    output, journal = tmp_path / "table.csv", tmp_path / "table.csv.journal"
    ways = [
        command(manifest, output, "--processes", str(processes), "--draws", "64", "--quiet")
        for processes in (1, 2)
    ]
    start = time.monotonic()
    subprocess.run(ways[1], env=ENVIRONMENT, check=True)
    seconds = time.monotonic() - start
    moments = random.Random(17)
    killed = midway = 0
    while killed < TRIALS:
        if output.exists():
            assert output.read_bytes() == whole.read_bytes()
            for made in tmp_path.iterdir():
                made.unlink()
        before = whole_lines(journal)
        with subprocess.Popen(ways[killed % 2], env=ENVIRONMENT) as process:
            if killed % 3 == 0:
                time.sleep(moments.uniform(0, 1.2 * seconds))
            else:
                # These die while rows are written, however long the start takes.
                goal = len(before) + moments.randrange(1, 2100 - len(before))
                wait_until(
                    lambda process=process, goal=goal: (
                        lines_in(journal) >= goal or process.poll() is not None
                    ),
                    120,
                )
            process.kill()
        killed += process.returncode == -signal.SIGKILL
        after = whole_lines(journal)
        assert after[: len(before)] == before
        keys = [json.loads(line)["key"] for line in after[1:]]
        assert len(set(keys)) == len(keys)
        midway += len(before) < len(after) < 2001
    print(f"{killed} studies killed, {midway} of them while rows were written")
    assert midway > 0
    subprocess.run(ways[1], env=ENVIRONMENT, check=True)
    assert output.read_bytes() == whole.read_bytes()


def test_a_full_disk_leaves_the_old_table_whole(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 200)
    output = tmp_path / "table.csv"
    output.write_text("the old table", encoding="utf-8")
    words = command(manifest, output, "--processes", "1", "--draws", "64", "--quiet")

    def no_room() -> None:
        # A write beyond this many bytes fails, as it does on a disk that is full.
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    full = subprocess.run(
        words, env=ENVIRONMENT, capture_output=True, text=True, check=False, preexec_fn=no_room
    )
    assert full.returncode == 6
    assert re.fullmatch(r"mamelon.*table\.csv\.journal: .*\n", full.stderr)
    assert output.read_text(encoding="utf-8") == "the old table"
    kept = whole_lines(tmp_path / "table.csv.journal")
    assert 1 < len(kept) < 201
    # With room again it goes on from there.
    subprocess.run(words, env=ENVIRONMENT, check=True)
    assert whole_lines(tmp_path / "table.csv.journal")[: len(kept)] == kept
    study.run_to_file(manifest, settings(), tmp_path / "whole.csv", processes=1)
    assert output.read_bytes() == (tmp_path / "whole.csv").read_bytes()


def test_workers_of_a_killed_study_end_too(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 3000)
    output = tmp_path / "table.csv"
    with subprocess.Popen(
        command(manifest, output, "--processes", "2", "--draws", "2048", "--quiet"),
        env=ENVIRONMENT,
    ) as process:
        wait_until(lambda: lines_in(tmp_path / "table.csv.journal") > 5, 60)
        listed = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(process.pid)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        children = [int(pid) for pid in listed.stdout.split()]
        process.kill()
    assert len(children) >= 2

    def gone(pid: int) -> bool:
        try:
            state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
        except FileNotFoundError:
            return True
        return state[0] == "Z"

    wait_until(lambda: all(map(gone, children)), 10)


@pytest.mark.parametrize("cut", [1, 17, 400, 5000, 20_001])
def test_a_journal_torn_anywhere_is_taken_up(tmp_path: Path, cut: int) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 60)
    output = tmp_path / "table.csv"
    study.run_to_file(manifest, settings(), output, processes=1)
    whole = output.read_bytes()
    journal = tmp_path / "table.csv.journal"
    content = journal.read_bytes()
    journal.write_bytes(content[: len(content) - cut])
    output.unlink()
    study.run_to_file(manifest, settings(), output, processes=1)
    assert output.read_bytes() == whole
    assert journal.read_bytes() == content


def test_a_journal_that_is_not_one_is_refused(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 5)
    journal = tmp_path / "table.csv.journal"
    journal.write_text("label,L,a,b\nx,1,2,3\n", encoding="utf-8")
    with pytest.raises(mm.DataError, match=r"journal, line 1: is not a line of a study journal"):
        study.run_to_file(manifest, settings(), tmp_path / "table.csv", processes=1)
    assert journal.read_text(encoding="utf-8").startswith("label")


def test_other_settings_do_not_mix(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 5)
    output = tmp_path / "table.csv"
    study.run_to_file(manifest, settings(64), output, processes=1)
    with pytest.raises(mm.DataError, match="other settings"):
        study.run_to_file(manifest, settings(128), output, processes=1)
    study.run_to_file(manifest, settings(128), output, processes=1, resume=False)
    record = json.loads((tmp_path / "table.csv.record.json").read_text(encoding="utf-8"))
    assert record["settings"]["draws"] == 128


def test_a_longer_manifest_adds_only_its_new_items(tmp_path: Path) -> None:
    output = tmp_path / "table.csv"
    manifest = write_manifest(tmp_path / "manifest.csv", 20)
    study.run_to_file(manifest, settings(), output, processes=1)
    first = output.read_bytes()
    write_manifest(manifest, 25)
    study.run_to_file(manifest, settings(), output, processes=1)
    assert output.read_bytes().startswith(first)
    assert lines_in(tmp_path / "table.csv.journal") == 26


def test_two_studies_cannot_write_one_journal(tmp_path: Path) -> None:
    from mamelon.study.journal import Journal

    with (
        Journal(tmp_path / "j", "digest", True),
        pytest.raises(mm.ArgumentError, match="another study"),
        Journal(tmp_path / "j", "digest", True),
    ):
        pass


def test_frame_and_file_give_the_same_table(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 30)
    from_file = study.run(manifest, tabs=TABS, viewing="D65/2", draws=64, processes=1)
    frame = pd.read_csv(manifest)
    from_frame = study.run(frame, tabs=TABS, viewing="D65/2", draws=64, processes=1)
    pd.testing.assert_frame_equal(from_file, from_frame)
    assert list(from_file.columns) == ["item", "patient", "age", *COLUMNS]
    assert from_file["age"].dtype == np.int64
    assert from_file["de00"].dtype == np.float64
    tabs = mm.read_tab_set(TABS)
    labs = from_file[["L", "a", "b"]].to_numpy()
    np.testing.assert_array_equal(labs, frame[["L", "a", "b"]].to_numpy())
    nearest = mm.de00(labs[:, None], tabs.labs[None])
    # The study ranks by the scalar function, arrays go through the kernels: 1e-12 apart at most.
    # The table states twelve significant digits: half a unit of the last is at most 5e-12 of it.
    np.testing.assert_allclose(from_file["de00"], nearest.min(axis=1), rtol=5e-12, atol=1e-12)
    assert from_file["tab"].tolist() == [tabs.names[i] for i in nearest.argmin(axis=1)]


def test_one_row_a_tab_and_several_sets(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 4)
    tabs = mm.read_tab_set(TABS)
    half = mm.TabSet("half", tabs.tabs[::2], tabs.viewing)
    table = study.run(
        manifest, tabs=[tabs, half], viewing="D65/2", rows="tabs", draws=64, processes=1
    )
    assert len(table) == 4 * (16 + 8)
    for _, part in table.groupby(["item", "tab_set"]):
        assert part["rank"].tolist() == list(range(1, len(part) + 1))
        assert part["de00"].is_monotonic_increasing
        assert part["chance_best"].sum() == pytest.approx(1)


def test_parquet_holds_what_csv_holds(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 12)
    as_csv = study.run(manifest, tabs=TABS, viewing="D65/2", draws=64, processes=1)
    output = tmp_path / "table.parquet"
    as_parquet = study.run(
        manifest, tabs=TABS, viewing="D65/2", draws=64, processes=1, output=output
    )
    pd.testing.assert_frame_equal(as_csv, as_parquet, check_dtype=False)


def test_a_failing_item_is_a_row_and_not_the_end(tmp_path: Path) -> None:
    text = tmp_path / "note.jpg"
    text.write_text("this is no photo", encoding="utf-8")
    grid = ",".join(str(nm) for nm in range(400, 701, 10))
    good = ",".join(["0.4"] * 31)
    (tmp_path / "manifest.csv").write_text(
        f"item,photo,card,L,a,b,site,{grid}\n"
        f"fine,,,70,1,15,north,{',' * 30}\n"
        f"missing,no_such.jpg,{DATA / 'cards/tooth20.json'},,,,north,{',' * 30}\n"
        f"text,note.jpg,{DATA / 'cards/tooth20.json'},,,,south,{',' * 30}\n"
        f"no card,note.jpg,,,,,south,{',' * 30}\n"
        f"word,,,seventy,1,15,south,{',' * 30}\n"
        f"both,,,70,1,15,south,{good}\n"
        f"nothing,,,,,,south,{',' * 30}\n"
        f"curve,,,,,,south,{good}\n"
        f"percent,,,,,,south,{good.replace('0.4', '40')}\n"
        f"last,,,66,2,18,south,{',' * 30}\n",
        encoding="utf-8",
    )
    table = study.run(
        tmp_path / "manifest.csv", tabs=TABS, viewing="D65/2", draws=64, processes=1
    ).set_index("item")
    assert len(table) == 10
    assert table.loc[["fine", "curve", "last"], "error"].tolist() == ["", "", ""]
    kinds = table["error_kind"]
    assert kinds["missing"] == "IoError"
    assert kinds["text"] == "DataError"
    assert "a photo needs a `card`" in table.loc["no card", "error"]
    assert "L must be a number, not 'seventy'" in table.loc["word", "error"]
    assert "gives lab and curve" in table.loc["both", "error"]
    assert "gives nothing" in table.loc["nothing", "error"]
    assert "percent" in table.loc["percent", "error"]
    assert table["site"].tolist() == ["north"] * 2 + ["south"] * 8
    # No message carries the folder of the study.
    assert not table["error"].str.contains(str(tmp_path)).any()
    expected = mm.to_lab(mm.Reflectance(mm.Grid(400, 10, 31), [0.4] * 31), "D65/2")
    assert table.loc["curve", ["L", "a", "b"]].tolist() == pytest.approx(list(expected))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no column `item`"),
        ("label,L,a,b\nx,1,2,3\n", "no column `item`"),
        ("item,L,a,b\n", "has no items"),
        ("item,L,L\nx,1,2\n", "'L' stands twice"),
        ('item,L,a,b\n"x,1,2,3\n', "line"),
        ("item,L,a,b,de00\nx,1,2,3,4\n", "covariate 'de00' has the name of a column"),
    ],
)
def test_a_malformed_manifest_is_refused(tmp_path: Path, text: str, words: str) -> None:
    manifest = tmp_path / "manifest.csv"
    manifest.write_text(text, encoding="utf-8")
    with pytest.raises(mm.DataError, match=words):
        study.run_to_file(manifest, settings(), tmp_path / "table.csv", processes=1)
    assert not (tmp_path / "table.csv").exists()


# Cells of `item,photo,L,a,b,sd_L,curve,tooth_mask` and what their row says.
BAD_ROWS = [
    ("x,,7_4,1,15,,,", "L must be a number, not '7_4'"),
    ("x,,500,1,15,,,", "L must be 0 to 150, not '500'"),
    ("x,,70,1e308,15,,,", "a must be"),
    ("x,,70,1,nan,,,", "b must be a number, not 'nan'"),
    ("x,,70,1,inf,,,", "b must be a number"),
    ("x,,70,1,0x10,,,", "b must be a number"),
    ("x,,70,1,\u0661,,,", "b must be a number"),
    ("x,,70,1,15,-5,,", "sd_L must be 0 to 100, not '-5'"),
    ("x,,70,1,15,1e200,,", "sd_L must be 0 to 100"),
    ("x,,70,1,15,1e999,,", "sd_L must be a number"),
    ("x,,70,1,,,,", "b is empty"),
    ("x,,70,1", "4 cells where the header has 8"),
    ("x,,70,1,15,,,,more", "9 cells where the header has 8"),
    (",,70,1,15,,,", "`item` is empty"),
    ("first,,70,1,15,,,", "item 'first' stands already at"),
    ("n" * 300 + ",,70,1,15,,,", "the item's name has 300 characters"),
    ("x,no\0such.jpg,,,,,,", "zero byte"),
    ("x," + "p" * 5000 + ".jpg,,,,,,", "cannot read: File name too long"),
    ("x,,,,,,pipe.csv,", "is a pipe or a device"),
    ("x,pipe.csv,,,,,,", "is a pipe or a device"),
    ("x,,,,,,/dev/zero,", "is a pipe or a device"),
    ("x,photo.jpg,,,,,,empty.npy", "not a .npy file"),
    ("x,photo.jpg,,,,,,zipped.npz", "it is an archive"),
    ("x,photo.jpg,,,,,,pipe.csv", "is not a regular file"),
    ("x,photo.jpg,,,,,,text.npy", "not a .npy file"),
    ("x,photo.jpg,,,,,,floats.npy", "2 dimensions of float64"),
    ("x,photo.jpg,,,,,,huge.npy", "not a .npy file"),
    ("x,photo.jpg,,,,,,none.npy", "cannot read"),
    ("x,,,,,,,", "gives nothing"),
]


def bad_row_files(folder: Path) -> None:
    os.mkfifo(folder / "pipe.csv")
    (folder / "photo.jpg").write_bytes((DATA / "photos/front_teeth.jpg").read_bytes())
    (folder / "empty.npy").write_bytes(b"")
    (folder / "text.npy").write_text("no array", encoding="utf-8")
    np.savez(folder / "zipped.npz", mask=np.ones((2, 2), bool))
    np.save(folder / "floats.npy", np.ones((2, 2)))
    head = io.BytesIO()
    np.lib.format.write_array_header_1_0(
        head, {"descr": "|b1", "fortran_order": False, "shape": (10**6, 10**6)}
    )
    (folder / "huge.npy").write_bytes(head.getvalue())


def test_no_row_ends_a_study_and_every_row_is_accounted_for(tmp_path: Path) -> None:
    bad_row_files(tmp_path)
    manifest = tmp_path / "manifest.csv"
    lines = ["item,photo,L,a,b,sd_L,curve,tooth_mask", "first,,70,1,15,,,"]
    # Names apart, so that only the rows that are about names have trouble with them.
    lines += [re.sub("^x,", f"x{number},", cells) for number, (cells, _) in enumerate(BAD_ROWS)]
    lines += ["last,,66,2,18,,,"]
    manifest.write_text("\n".join(lines) + "\n", encoding="utf-8")
    chosen = study.Settings(
        (mm.read_tab_set(TABS),), "D65/2", DATA / "cards/tooth20_frame.json", draws=64
    )
    record = study.run_to_file(manifest, chosen, tmp_path / "table.csv", processes=1)
    with (tmp_path / "table.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == len(BAD_ROWS) + 2
    assert record.failed == len(BAD_ROWS)
    assert rows[0]["error"] == rows[-1]["error"] == ""
    for row, (cells, words) in zip(rows[1:-1], BAD_ROWS, strict=True):
        assert words in row["error"], (cells, row["error"])
        assert row["error_kind"] != ""


CELLS = st.one_of(
    st.sampled_from(["", "70", "-5", "1e200", "7_4", "nan", "=1+1", "\0", "a\0b", "é"]),
    st.text(st.characters(codec="utf-8", exclude_characters=',"\r\n'), max_size=20),
)


@settings_of_hypothesis(max_examples=100, deadline=None)
@given(st.lists(st.tuples(*[CELLS] * 8), min_size=1, max_size=6))
def test_generated_rows_never_end_a_study(rows: list[tuple[str, ...]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        manifest = Path(folder) / "manifest.csv"
        head = ["item", "photo", "L", "a", "b", "sd_L", "curve", "site"]
        with manifest.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows([head, *rows])
        record = study.run_to_file(manifest, settings(16), Path(folder) / "t.csv", processes=1)
        with (Path(folder) / "t.csv").open(encoding="utf-8", newline="") as stream:
            table = list(csv.DictReader(stream))
        assert record.items == len(table) == len(rows)


def test_a_failure_that_was_cured_is_tried_again(tmp_path: Path) -> None:
    manifest = tmp_path / "manifest.csv"
    manifest.write_text("item,curve\nx,curve.csv\n", encoding="utf-8")
    curve = (DATA / "floors/dark_dentine.csv").read_text(encoding="utf-8")
    (tmp_path / "curve.csv").write_text(curve, encoding="utf-8")
    output = tmp_path / "table.csv"
    study.run_to_file(manifest, settings(), output, processes=1)
    # The same stamps, another outcome, as where a folder could not be reached for a while.
    journal = output.with_name("table.csv.journal")
    first, second = journal.read_text(encoding="utf-8").splitlines()
    entry = json.loads(second)
    entry["rows"] = [[*[""] * (len(entry["rows"][0]) - 1), "out of reach"]]
    journal.write_text(first + "\n" + json.dumps(entry) + "\n", encoding="utf-8")
    assert study.run_to_file(manifest, settings(), output, processes=1).failed == 0
    assert len(journal.read_text(encoding="utf-8").splitlines()) == 3
    assert study.run_to_file(manifest, settings(), output, processes=1).failed == 0
    assert len(journal.read_text(encoding="utf-8").splitlines()) == 3


def test_cells_that_a_spreadsheet_would_run_are_guarded(tmp_path: Path) -> None:
    names = ["=1+1", "+cmd", "-x", "@sum", "'=quoted", "''-y", "plain", "-5"]
    frame = pd.DataFrame({"item": names, "L": 70, "a": 1, "b": 15, "note": names})
    output = tmp_path / "table.csv"
    table = study.run(frame, tabs=TABS, viewing="D65/2", draws=16, output=output, processes=1)
    assert table["item"].tolist() == names
    assert table["note"].tolist() == names
    with output.open(encoding="utf-8", newline="") as stream:
        cells = [row["note"] for row in csv.DictReader(stream)]
    assert cells == ["'=1+1", "'+cmd", "'-x", "'@sum", "''=quoted", "'''-y", "plain", "-5"]
    manifest = study.Manifest.from_frame(frame)
    study.run_to_file(manifest, settings(), output, resume=False, processes=1, guard=False)
    assert "'@sum" not in output.read_text(encoding="utf-8")


def test_wrong_arguments_are_refused(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 3)
    tabs = mm.read_tab_set(TABS)
    with pytest.raises(mm.ArgumentError, match="stated under D65/2, the study under A/2"):
        study.run(manifest, tabs=tabs, viewing="A/2")
    with pytest.raises(mm.ArgumentError, match="two tab sets are named"):
        study.run(manifest, tabs=[tabs, tabs], viewing="D65/2")
    with pytest.raises(mm.ArgumentError, match="at least one tab set"):
        study.run(manifest, tabs=[], viewing="D65/2")
    with pytest.raises(mm.ArgumentError, match="processes must be at least 1"):
        study.run(manifest, tabs=tabs, viewing="D65/2", processes=0)
    with pytest.raises(mm.ArgumentError, match=r"must be \.csv or \.parquet"):
        study.run(manifest, tabs=tabs, viewing="D65/2", output=tmp_path / "table.xls")
    with pytest.raises(mm.IoError, match="no such folder"):
        study.run(manifest, tabs=tabs, viewing="D65/2", output=tmp_path / "no/table.csv")
    with pytest.raises(mm.IoError, match=r"no\.csv"):
        study.run(tmp_path / "no.csv", tabs=tabs, viewing="D65/2")
    with pytest.raises(mm.ArgumentError, match=r"DataFrame, not dict"):
        study.run({"item": ["x"]}, tabs=tabs, viewing="D65/2")  # type: ignore[arg-type]
    frame = pd.DataFrame({"item": ["x"], "L": [70], "a": [1], "b": [15], "hook": [lambda: 1]})
    with pytest.raises(mm.ArgumentError, match="row 0, hook is a function"):
        study.run(frame, tabs=tabs, viewing="D65/2")


def test_photos_give_a_row_a_zone(tmp_path: Path) -> None:
    manifest = tmp_path / "manifest.csv"
    photo = DATA / "photos/front_teeth.jpg"
    manifest.write_text(f"item,photo,session\ncase,{photo},1\n", encoding="utf-8")
    card = DATA / "cards/tooth20.json"
    table = study.run(manifest, tabs=TABS, viewing="D65/2", card=card, processes=1)
    made = mm.read_photo(photo)
    fit = mm.fit_card(made, mm.read_card(card), "D65/2")
    readings = mm.read_zones(made, fit, mm.find_zones(made, fit), "case")
    assert table["zone"].tolist() == [reading.zone for reading in readings]
    for row, reading in zip(table.to_dict("records"), readings, strict=True):
        # A table states twelve significant digits.
        stated = [float(f"{value:.12g}") for value in reading.lab.value]
        assert [row["L"], row["a"], row["b"]] == stated
        assert row["card_loo_de00_median"] == pytest.approx(fit.loo_de00_median, rel=1e-11)
        assert row["tab"] == mm.match(reading, mm.read_tab_set(TABS)).best.tab


def test_ctrl_c_ends_the_command_and_it_can_go_on(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 3000)

    def seconds_until_said(output: Path) -> float:
        arguments = command(manifest, output, "--processes", "2", "--draws", "4096", "--quiet")
        with subprocess.Popen(
            arguments, env=ENVIRONMENT, stderr=subprocess.PIPE, text=True
        ) as process:
            wait_until(lambda: lines_in(Path(f"{output}.journal")) > 5, 60)
            sent = time.monotonic()
            process.send_signal(signal.SIGINT)
            assert process.stderr is not None
            first = process.stderr.readline()
            spent = time.monotonic() - sent
            rest = process.communicate(timeout=20)[1]
        assert process.returncode == 130
        assert first + rest == "interrupted; run the same command again to go on\n"
        assert not output.exists()
        return spent

    # The least is the cost of the work itself; the rest is the machine's other load.
    assert min(seconds_until_said(tmp_path / f"{i}.csv") for i in range(2)) < 0.5


def test_command_line_codes(tmp_path: Path) -> None:
    manifest = write_manifest(tmp_path / "manifest.csv", 3)
    output = tmp_path / "table.csv"

    def code(*arguments: str) -> tuple[int, str]:
        done = subprocess.run(
            [*COMMAND, *arguments], env=ENVIRONMENT, capture_output=True, text=True, check=False
        )
        return done.returncode, done.stderr + done.stdout

    tail = ("--tabs", str(TABS), "--output", str(output), "--draws", "64", "--processes", "1")
    assert code(str(manifest), *tail, "--weights", "2:1")[0] == 2
    assert code(str(manifest), "--wrong")[0] == 2
    assert code(str(tmp_path / "no.csv"), *tail)[0] == 6
    (tmp_path / "bad.csv").write_text("label\nx\n", encoding="utf-8")
    assert code(str(tmp_path / "bad.csv"), *tail)[0] == 3
    (tmp_path / "none.csv").write_text("item,L,a,b\nx,a,b,c\n", encoding="utf-8")
    assert code(str(tmp_path / "none.csv"), *tail)[0] == 1
    (tmp_path / "table.csv.journal").unlink()
    status, text = code(str(manifest), *tail, "--json")
    assert status == 0
    assert json.loads(text)["rows"] == 3


def test_an_item_that_kills_its_process_costs_its_own_row_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from mamelon.study import workers

    manifest = write_manifest(tmp_path / "manifest.csv", 40)
    monkeypatch.setattr(workers, "rows_of_chunk", crash_on_r00007)
    table = study.run(manifest, tabs=TABS, viewing="D65/2", draws=64, processes=2)
    assert len(table) == 40
    assert table["error_kind"].tolist() == [
        "BrokenProcessPool" if item == "r00007" else "" for item in table["item"]
    ]


def crash_on_r00007(items: object, given: object) -> object:
    """The real work, with one item that brings the process down."""
    from mamelon.study.measure import rows_of_chunk

    if any(item.name == "r00007" for item in items):  # type: ignore[attr-defined]
        os.kill(os.getpid(), signal.SIGKILL)
    return rows_of_chunk(items, given)  # type: ignore[arg-type]


def test_the_prior_is_that_of_the_settings_or_of_the_case_and_stands_in_the_record(
    tmp_path: Path,
) -> None:
    manifest = tmp_path / "manifest.csv"
    manifest.write_text("item,L,a,b,sd_L,sd_a,sd_b\nx,70,1,15,3,1,2\n", encoding="utf-8")
    none = mm.ToothPrior("", [0, 0, 0], np.zeros((3, 3)))
    tabs = (mm.read_tab_set(TABS),)

    def chance(name: str, **given: Any) -> tuple[str, Any]:
        chosen = study.Settings(tabs, "D65/2", draws=256, **given)
        record = study.run_to_file(manifest, chosen, tmp_path / name, processes=1)
        with (tmp_path / name).open(encoding="utf-8", newline="") as stream:
            (row,) = csv.DictReader(stream)
        assert row["error"] == ""
        return row["chance_best"], record.document()["settings"]["prior"]

    plain, without = chance("plain.csv"), chance("none.csv", prior=none)
    assert plain[1] is None
    assert plain[0] == chance("generated.csv", prior=mm.generated_prior())[0]
    assert without[0] != plain[0]
    assert without[1] == {"name": "", "mean": [0, 0, 0], "covariance": np.zeros((3, 3)).tolist()}
    like = mm.Case(viewing="D65/2", teeth=[mm.CaseTooth(name="t")]).replace(
        match=mm.MatchOptions(prior=none)
    )
    assert chance("like.csv", like=like)[0] == without[0]
