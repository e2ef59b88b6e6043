"""Every malformed file ends in a documented exit code, one sentence, in time, leaving nothing."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from make_malformed import DATA, Malformed, make

CLI = os.environ.get("MAMELON_CLI")
pytestmark = pytest.mark.skipif(CLI is None, reason="MAMELON_CLI names no built command")

LIMIT_S = 2.0
LIMIT_KIB = 512 * 1024
ERRORS = {2, 3, 4, 5, 6}


def arguments(case: Malformed, sheet: Path) -> list[str]:
    if case.role == "table":
        return ["lab", str(case.path), "--viewing", "D65/2"]
    files = {
        "photo": DATA / "photos/front_teeth.jpg",
        "card": DATA / "cards/tooth20.json",
        "tabs": DATA / "tabs/orchard16.json",
        "pastes": DATA / "pastes/orchard10.json",
        "floor": DATA / "floors/dark_dentine.csv",
    }
    files[case.role] = case.path
    words = ["plan", str(files.pop("photo"))]
    for role, path in files.items():
        words += [f"--{role}", str(path)]
    return [*words, "--depth", "3", "--sheet", str(sheet)]


# The kernel counts what a process held before it became another program. This one starts small.
STARTER = """
import os, sys
child = os.fork()
if child == 0:
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    os.execv(sys.argv[1], sys.argv[1:])
_, status, usage = os.wait4(child, 0)
print(os.waitstatus_to_exitcode(status), usage.ru_maxrss)
"""


def run(words: list[str]) -> tuple[int, str, float, int]:
    """Exit code, standard error, seconds, and peak memory in KiB."""
    assert CLI is not None
    start = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", STARTER, CLI, *words], capture_output=True, check=True
    )
    code, memory_kib = map(int, done.stdout.split())
    message = done.stderr.decode("utf-8", "surrogateescape")
    return code, message, time.monotonic() - start, memory_kib


def test_malformed_files(tmp_path: Path) -> None:
    cases = make(tmp_path / "files")
    assert len(cases) >= 300
    out = tmp_path / "out"
    out.mkdir()
    wrong = []
    for case in cases:
        sheet = out / "sheet.html"
        code, message, seconds, memory_kib = run(arguments(case, sheet))
        name = case.path.name
        if code < 0:
            wrong.append(f"{name}: killed by {signal.Signals(-code).name}")
            continue
        if code not in ERRORS and not (case.may_be_valid and code in {0, 1}):
            wrong.append(f"{name}: exit code {code}: {message[-300:]}")
        said = [line for line in message.split("\n") if line.startswith("mamelon: ")]
        errors = [line for line in said if not line.startswith("mamelon: warning:")]
        if code in ERRORS and len(errors) != 1:
            wrong.append(f"{name}: {len(errors)} error lines: {message[-300:]}")
        if not message.isprintable() and re.search(r"[\x00-\x08\x0b-\x1f\ud800-\udfff]", message):
            wrong.append(f"{name}: unprintable bytes in the message: {message[-300:]!r}")
        if re.search(r"terminate called|std::|0x[0-9a-f]{8}|\.cpp:\d", message):
            wrong.append(f"{name}: internals in the message: {message[-300:]}")
        left = [path.name for path in out.iterdir()]
        if code in ERRORS and left:
            wrong.append(f"{name}: left {left}")
        if seconds > LIMIT_S and code in ERRORS:
            wrong.append(f"{name}: {seconds:.1f} s")
        if memory_kib > LIMIT_KIB:
            wrong.append(f"{name}: {memory_kib / 1024:.0f} MiB")
        sheet.unlink(missing_ok=True)
    assert not wrong, f"{len(wrong)} of {len(cases)}:\n" + "\n".join(wrong)
