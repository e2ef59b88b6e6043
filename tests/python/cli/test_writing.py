"""A file is replaced whole or not at all: full disk, folder that cannot be written, killed process.

`MAMELON_KILL_TRIALS` sets how many processes are killed (6 when not set).
"""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest
from conftest import DATA, Command

TRIALS = int(os.environ.get("MAMELON_KILL_TRIALS", "6"))


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    """Repeat readings of 60 tabs, enough to make a tab set of some 40 kB."""
    rng = np.random.default_rng(7)
    folder = tmp_path / "in"
    folder.mkdir()
    lines = ["label,L,a,b"]
    for tab in range(60):
        centre = rng.uniform([55, -2, 8], [85, 6, 30])
        lines += [
            "tab {},{:.3f},{:.3f},{:.3f}".format(tab, *(centre + rng.normal(0, 0.2, 3)))
            for _ in range(5)
        ]
    path = folder / "readings.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def build_words(readings: Path, out: Path) -> list[str]:
    return ["tabs", "build", str(readings), "--name", "mine", "--out", str(out), "--replace"]


def test_a_full_disk_leaves_the_old_file_whole(
    mamelon: Command, readings: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out" / "mine.json"
    out.parent.mkdir()
    out.write_text("the old set", encoding="utf-8")

    def no_room() -> None:
        # A write beyond this many bytes fails, as it does on a disk that is full.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    done = subprocess.run(
        [mamelon.path, *build_words(readings, out)],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=no_room,
    )
    assert done.returncode == 6
    assert len(done.stderr.splitlines()) == 1
    assert "mine.json: cannot be written" in done.stderr
    assert out.read_text(encoding="utf-8") == "the old set"
    assert list(out.parent.iterdir()) == [out]


def test_a_folder_that_takes_no_file_is_named(mamelon: Command, readings: Path) -> None:
    done = mamelon(*build_words(readings, Path("/sys/mine.json")))
    assert done.returncode == 6
    assert len(done.stderr.splitlines()) == 1
    assert "/sys/mine.json: cannot be written" in done.stderr
    assert done.stdout == ""


def test_a_killed_process_leaves_the_old_or_the_new_file(
    mamelon: Command, readings: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out" / "mine.json"
    out.parent.mkdir()
    words = [mamelon.path, *build_words(readings, out)]
    start = time.monotonic()
    subprocess.run(words, check=True, capture_output=True)
    seconds = time.monotonic() - start
    whole = out.read_bytes()
    old = b"the old set"
    moments = random.Random(11)
    killed = 0
    for _ in range(TRIALS):
        out.write_bytes(old)
        with subprocess.Popen(
            words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ) as process:
            time.sleep(moments.uniform(0, 1.2 * seconds))
            process.kill()
        killed += process.returncode == -signal.SIGKILL
        assert out.read_bytes() in (old, whole)
    assert killed > 0
    # What a killed process may leave is its own temporary file, never a document's name.
    assert all(p == out or p.name.startswith(".mamelon-") for p in out.parent.iterdir())
    subprocess.run(words, check=True, capture_output=True)
    assert out.read_bytes() == whole


def test_the_same_set_is_read_back(mamelon: Command, readings: Path, tmp_path: Path) -> None:
    out = tmp_path / "mine.json"
    assert mamelon(*build_words(readings, out)).returncode == 0
    done = mamelon("tabs", "audit", out, "--earlier", DATA / "tabs/orchard16.json", "--json")
    assert done.returncode == 2
    assert "no tab" in done.stderr


def test_nothing_of_a_persons_own_is_overwritten_in_silence(
    mamelon: Command, readings: Path, tmp_path: Path
) -> None:
    tabs = str(DATA / "tabs/orchard16.json")
    restoration = ("--pastes", DATA / "pastes/orchard10.json", "--depth", "2", "--layers", "1",
                   "--floor", DATA / "floors/sound_dentine.csv")  # fmt: skip
    photo = (DATA / "photos/front_teeth.jpg", "--card", DATA / "cards/tooth20_frame.json")
    for option, name, words in (
        ("--out", "mine.json", ("tabs", "build", readings)),
        ("--out", "carried.json", ("tabs", "transfer", tabs, tabs)),
        ("--out", "out.cxf", ("lab", readings)),
        ("--icc", "camera.icc", ("card", *photo)),
        ("--csv", "crosswalk.csv", ("tabs", "crosswalk", tabs, *restoration)),
        ("--sheet", "audit.html", ("tabs", "audit", tabs)),
        ("--sheet", "shade.html", ("shade", "74,2,18", "--tabs", tabs)),
    ):
        file = tmp_path / name
        file.write_text("of my own", encoding="utf-8")
        refused = mamelon(*words, option, file)
        assert refused.returncode == 2, words
        assert f"{option}: {file} exists" in refused.stderr
        assert ("--replace" in refused.stderr) == (option != "--sheet")
        assert file.read_text(encoding="utf-8") == "of my own"
        if option == "--sheet":
            file.unlink()
            assert mamelon(*words, option, file).returncode in (0, 1)
        else:
            assert mamelon(*words, option, file, "--replace").returncode == 0
        assert file.read_bytes() != b"of my own"
        assert mamelon(*words, option, file).returncode in (0, 1)  # what is the same may be written


def test_one_tooth_is_one_tooth(mamelon: Command, tmp_path: Path) -> None:
    teeth = tmp_path / "teeth.csv"
    teeth.write_text("label,L,a,b\nx,70,1,15\n", encoding="utf-8")
    done = mamelon("tabs", "audit", DATA / "tabs/orchard16.json", "--teeth", teeth)
    assert "has 1 tooth only" in done.stderr
    assert "1 reading of" in done.stdout
