"""What a person sees: help that is enough, tables that fit, colour only where it can be shown."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import termios
from pathlib import Path

import pytest
from conftest import DATA, Command

VERBS = [
    ["lab"], ["diff"], ["card"], ["shade"], ["plan"], ["tabs", "build"], ["tabs", "audit"],
    ["paste", "predict"], ["completion"], ["manual"],
]  # fmt: skip


def in_terminal(
    command: Command, words: list[str], columns: int, **environment: str
) -> tuple[int, str]:
    """Run with standard output on a terminal of that width."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    clean = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLORTERM", "COLUMNS")}
    process = subprocess.Popen(
        [command.path, *words],
        stdout=theirs,
        stderr=subprocess.DEVNULL,
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
    bin_folder = tmp_path / "bin"
    bin_folder.mkdir()
    (bin_folder / "mamelon").symlink_to(Path(mamelon.path).resolve())
    result = subprocess.run(
        ["bash", "-c", example],
        cwd=tmp_path,
        env={**os.environ, "PATH": f"{bin_folder}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode in (0, 1), result.stderr
    for name in re.findall(r"[\w.]+\.(?:html|json|bash|1)\b", example.split("--sheet")[-1]):
        if not name.startswith(("tooth20", "orchard")):
            assert (tmp_path / name).stat().st_size > 0


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
