"""What a file may cost: memory as the kernel counts it, and answers that stay short."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
DATA = ROOT / "data"
COMMAND = os.environ.get("MAMELON_CLI", str(ROOT / "build/dev/src/cli/mamelon"))
TABS = str(DATA / "tabs/orchard16.json")
MB = 1_000_000


def peak_of(*words: str) -> tuple[int, int]:
    """Exit code and greatest resident memory in bytes of one run of the command."""
    peak = 0
    with subprocess.Popen([COMMAND, *words], stdout=subprocess.DEVNULL) as running:
        # wait4 would count what this process held when it made the command's. The kernel's own
        # high-water mark of the command never falls, so the last look before its end tells.
        status = Path(f"/proc/{running.pid}/status")
        while running.poll() is None:
            mark = re.search(r"VmHWM:\s+(\d+) kB", status.read_text(encoding="utf-8"))
            peak = max(peak, int(mark[1]) * 1024 if mark else 0)
            time.sleep(0.01)
    assert peak > 0
    return running.returncode, peak


@pytest.fixture(scope="module")
def million_rows(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("rows") / "million.csv"
    rows = "".join(f"reading {i},{60 + i % 31},{i % 7},{10 + i % 23}\n" for i in range(100_000))
    with file.open("w", encoding="utf-8") as stream:
        stream.write("label,L,a,b\n")
        for _ in range(10):
            stream.write(rows)
    return file


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_lab_of_a_million_rows(million_rows: Path, more: tuple[str, ...]) -> None:
    code, peak = peak_of("lab", str(million_rows), *more)
    assert code == 0
    assert peak <= 200 * MB


def test_lab_of_a_million_rows_prints_every_row(million_rows: Path) -> None:
    done = subprocess.run(
        [COMMAND, "lab", str(million_rows)], capture_output=True, text=True, check=True
    )
    lines = done.stdout.splitlines()
    assert len(lines) == 1_000_002
    assert lines[2].split()[:3] == ["reading", "0", "60.00"]


def test_an_audit_against_a_million_teeth(million_rows: Path) -> None:
    code, peak = peak_of("tabs", "audit", TABS, "--teeth", str(million_rows), "--json")
    assert code == 0
    assert peak <= 300 * MB


def test_a_wrong_zone_among_many_labels_gets_a_short_answer(tmp_path: Path) -> None:
    file = tmp_path / "many.csv"
    with file.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["label", "L", "a", "b"])
        writer.writerows([f"reading {i}", 70, 1, 15] for i in range(2000))
    done = subprocess.run(
        [COMMAND, "plan", str(file), "--tabs", TABS, "--pastes",
         str(DATA / "pastes/orchard10.json"), "--floor", "48,7,22", "--depth", "2",
         "--zone", "no such"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "and 1988 more" in done.stderr
    assert len(done.stderr) < 1000


HOSTILE = "a\x1b[2Jb\x9bc\x07d\u202ee"


@pytest.mark.parametrize("verb", ["lab", "shade", "diff"])
def test_control_characters_of_a_label_never_reach_a_terminal(tmp_path: Path, verb: str) -> None:
    file = tmp_path / "labels.csv"
    file.write_text(f"label,L,a,b\n{HOSTILE},70,1,15\n", encoding="utf-8")
    words = {
        "lab": ["lab", str(file)],
        "shade": ["shade", str(file), "--tabs", TABS],
        "diff": ["diff", str(file), str(file)],
    }[verb]
    for more in ([], ["--json"]):
        done = subprocess.run([COMMAND, *words, *more], capture_output=True, check=False)
        text = (done.stdout + done.stderr).decode()
        assert done.returncode in (0, 1), text
        controls = [c for c in text if c != "\n" and c != "\t" and not c.isprintable() and c != " "]
        assert controls == []


def test_a_named_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    card = str(DATA / "cards/tooth20_frame.json")
    for words in (
        ["lab", str(pipe)],
        ["shade", str(pipe), "--tabs", TABS, "--card", card],
        ["tabs", "audit", str(pipe)],
        ["tabs", "build", str(pipe)],
        ["paste", "fit", str(pipe), "--name", "x", "--role", "body"],
        ["shade", "70,1,15", "--tabs", TABS, "--light", str(pipe)],
    ):
        done = subprocess.run([COMMAND, *words], capture_output=True, timeout=20, check=False)
        assert done.returncode == 6, (words, done.stderr)
