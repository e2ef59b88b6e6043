"""What a person sees: help that is enough, tables that fit, colour only where it can be shown."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import termios
import threading
import time
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from conftest import DATA, Command, plan_words
from PIL import Image

VERBS = [
    ["lab"], ["diff"], ["card"], ["shade"], ["plan"], ["tabs", "build"], ["tabs", "audit"],
    ["paste", "fit"], ["paste", "predict"], ["study"], ["completion"], ["manual"],
]  # fmt: skip


def in_terminal(
    command: Command,
    words: list[str],
    columns: int,
    stream: Literal["stdout", "stderr"] = "stdout",
    **environment: str,
) -> tuple[int, str]:
    """Run with one stream on a terminal of that width; the other is thrown away."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    clean = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLORTERM", "COLUMNS")}
    process = subprocess.Popen(
        [command.path, *words],
        stdout=theirs if stream == "stdout" else subprocess.DEVNULL,
        stderr=theirs if stream == "stderr" else subprocess.DEVNULL,
        env={**clean, **environment},
    )
    os.close(theirs)
    pieces = []
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        pieces.append(piece)
    os.close(ours)
    return process.wait(), b"".join(pieces).decode()


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("terminal") / "readings.csv"
    path.write_text(
        "label,L,a,b\nupper left central,70,1,18\nupper right central,60,-1,20\n", encoding="utf-8"
    )
    return str(path)


@pytest.fixture(scope="module")
def shade(table: str) -> list[str]:
    return ["shade", table, "--tabs", str(DATA / "tabs/orchard16.json")]


def test_swatches_only_where_the_terminal_can(
    mamelon: Command, shade: list[str], table: str
) -> None:
    _, plain = in_terminal(mamelon, shade, 100)
    _, coloured = in_terminal(mamelon, shade, 100, COLORTERM="truecolor")
    _, refused = in_terminal(mamelon, shade, 100, COLORTERM="truecolor", NO_COLOR="1")
    piped = mamelon(*shade, env={"COLORTERM": "truecolor"}).stdout
    assert "\x1b[48;2;" in coloured
    for text in (plain, refused, piped):
        assert "\x1b" not in text
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured).replace(" ", "") == plain.replace(" ", "")


@pytest.mark.parametrize("columns", [40, 80])
def test_lines_fit_the_terminal(mamelon: Command, shade: list[str], columns: int) -> None:
    code, text = in_terminal(mamelon, shade, columns, COLORTERM="24bit")
    assert code in (0, 1)
    lines = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in text.splitlines()]
    assert max(map(len, lines)) <= columns
    shown = "\n".join(lines)
    assert "quince" in shown or "barley" in shown or "almond" in shown


def test_every_text_fits_a_narrow_terminal(
    mamelon: Command, demo: dict[str, str], table: str
) -> None:
    tabs = demo["tabs"]
    stack = ["--layers", "loam:2.2,petal:0.8", "--floor", demo["floor"]]
    for words in (
        ["lab", table],
        ["card", demo["photo"], "--card", demo["card"]],
        ["shade", table, "--tabs", tabs],
        plan_words(demo, lamp="1000"),
        ["tabs", "audit", tabs, "--earlier", tabs, "--keep", "8"],
        ["paste", "predict", demo["pastes"], *stack, "--target", "74,2,18"],
    ):
        code, text = in_terminal(mamelon, words, 40)
        assert code in (0, 1)
        long = [line for line in text.splitlines() if len(line) > 40]
        assert not long, (words[0], long)


@pytest.fixture(scope="module")
def large_photo(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The demo photo at a hundred megapixels."""
    path = tmp_path_factory.mktemp("large") / "large.jpg"
    with Image.open(DATA / "photos/front_teeth.jpg") as image:
        factor = (100e6 / (image.width * image.height)) ** 0.5
        size = (round(image.width * factor), round(image.height * factor))
        assert size[0] * size[1] > 99e6
        large = image.resize(size, Image.Resampling.BILINEAR)
        large.save(path, quality=85, icc_profile=image.info["icc_profile"])
    return str(path)


def test_a_hundred_megapixels_are_read_as_the_same_tooth(
    mamelon: Command, large_photo: str
) -> None:
    words = ["--card", str(DATA / "cards/tooth20_frame.json"),
             "--tabs", str(DATA / "tabs/orchard16.json"), "--json"]  # fmt: skip
    large = mamelon("shade", large_photo, *words)
    small = mamelon("shade", DATA / "photos/front_teeth.jpg", *words)
    # The nearest tab lies close to the acceptability threshold, which the exit code tells.
    assert large.returncode in (0, 1)
    found, known = (json.loads(result.stdout)["readings"] for result in (large, small))
    assert [reading["zone"] for reading in found] == [reading["zone"] for reading in known]
    for one, other in zip(found, known, strict=True):
        np.testing.assert_allclose(one["lab"], other["lab"], atol=0.5)
        assert one["matches"][0]["tab"] == other["matches"][0]["tab"]
    assert "\x1b" not in large.stderr


def test_work_over_a_second_shows_how_far_it_is_and_takes_it_away(
    mamelon: Command, table: str, tmp_path: Path
) -> None:
    pipe = tmp_path / "slow.csv"
    os.mkfifo(pipe)

    def write_slowly() -> None:
        with pipe.open("w", encoding="utf-8") as stream:
            lines = Path(table).read_text(encoding="utf-8").splitlines(keepends=True)
            stream.write("".join(lines[:2]))
            stream.flush()
            time.sleep(2)
            # A row that cannot be compared, so that something is said after the bar.
            stream.write("".join([*lines[2:], "one,too,many,rows\n"]))

    writer = threading.Thread(target=write_slowly)
    writer.start()
    code, text = in_terminal(mamelon, ["diff", str(pipe), table], 40, "stderr")
    writer.join()
    assert code == 3, text
    drawn = re.findall(r"\r\x1b\[K(\[[#-]+\][^\r\n]*)", text)
    assert drawn
    assert max(map(len, drawn)) < 40
    # The bar is taken away before the sentence that ends the work.
    last = text.rstrip("\r\n").rsplit("\r\x1b[K", 1)[-1]
    assert last.startswith("mamelon: ")
    assert "[#" not in last
    assert "[-" not in last


def test_short_work_draws_nothing(mamelon: Command, shade: list[str]) -> None:
    _, text = in_terminal(mamelon, shade, 80, "stderr")
    assert "\x1b" not in text


@pytest.mark.parametrize("verb", VERBS, ids=" ".join)
def test_every_verbs_example_runs(mamelon: Command, verb: list[str], tmp_path: Path) -> None:
    help_text = mamelon(*verb, "--help")
    assert help_text.returncode == 0
    example = help_text.stdout.split("Example:")[1].strip()
    assert example.startswith("mamelon " + " ".join(verb))
    (tmp_path / "data").symlink_to(DATA)
    rows = "label,L,a,b\nreed,72,1,18\nreed,72.2,1,18.1\nsand,66,2,20\nsand,66.1,2,20.1\n"
    for name in ("readings.csv", "before.csv", "after.csv"):
        (tmp_path / name).write_text(rows, encoding="utf-8")
    (tmp_path / "manifest.csv").write_text("item,L,a,b\nreed,72,1,18\n", encoding="utf-8")
    bin_folder = tmp_path / "bin"
    bin_folder.mkdir()
    (bin_folder / "mamelon").symlink_to(Path(mamelon.path).resolve())
    result = subprocess.run(
        ["bash", "-c", example],
        cwd=tmp_path,
        env={
            **os.environ,
            "PATH": f"{bin_folder}:{os.environ['PATH']}",
            "MAMELON_PYTHON": sys.executable,
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode in (0, 1), result.stderr
    # What the example writes is there: files without a folder, but for those that it reads.
    named = re.findall(r"(?<![\w./])[\w.]+\.(?:html|json|bash|csv|icc|1)(?![\w.])", example)
    for name in named:
        assert (tmp_path / name).stat().st_size > 0, name


def test_help_of_every_verb_is_in_the_manual(mamelon: Command) -> None:
    page = mamelon("manual").stdout
    assert page.startswith(".TH MAMELON 1")
    for verb in VERBS:
        assert f".SS {' '.join(verb)}" in page
        for option in re.findall(r"^ +(--[a-z-]+)", mamelon(*verb, "--help").stdout, re.M):
            assert option.replace("-", r"\-") in page
    man = shutil.which("man")
    if man is not None:
        rendered = subprocess.run(
            [man, "--warnings", "-l", "-"], input=page, capture_output=True, text=True, check=False
        )
        assert rendered.returncode == 0
        assert rendered.stderr == ""


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts_are_valid_and_know_every_option(mamelon: Command, shell: str) -> None:
    script = mamelon("completion", shell).stdout
    for option in ("tabs", "pastes", "depth", "sheet", "viewing"):
        assert option in script
    program = shutil.which(shell)
    if program is not None:
        checked = subprocess.run(
            [program, "-n", "/dev/stdin"], input=script, capture_output=True, text=True, check=False
        )
        assert checked.returncode == 0, checked.stderr


def test_bash_completes_verbs_and_options(mamelon: Command) -> None:
    script = mamelon("completion", "bash").stdout
    ask = 'COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _mamelon; printf "%s\\n" "${COMPREPLY[@]}"'

    def complete(*words: str) -> list[str]:
        return subprocess.run(
            ["bash", "-c", script + "\n" + ask, "bash", *words],
            capture_output=True, text=True, check=True,
        ).stdout.split()  # fmt: skip

    assert complete("mamelon", "sh") == ["shade"]
    assert set(complete("mamelon", "tabs", "")) >= {"build", "audit"}
    assert complete("mamelon", "plan", "x.jpg", "--dep") == ["--depth"]
    assert complete("mamelon", "tabs", "audit", "--kee") == ["--keep"]
    assert complete("mamelon", "completion", "--tabs") == []


def test_unknown_shell(mamelon: Command) -> None:
    result = mamelon("completion", "csh")
    assert result.returncode == 2
    assert "bash, zsh or fish" in result.stderr
