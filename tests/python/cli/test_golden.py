"""The main job gives the same bytes for any number of threads, locale and instruction set."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest
from conftest import DATA, Command

WORDS = [
    "plan", str(DATA / "photos/front_teeth.jpg"), "--card", str(DATA / "cards/tooth20_frame.json"),
    "--tabs", str(DATA / "tabs/orchard16.json"), "--pastes", str(DATA / "pastes/orchard10.json"),
    "--floor", str(DATA / "floors/dark_dentine.csv"), "--depth", "3", "--json",
]  # fmt: skip


@pytest.fixture(scope="module")
def plain(mamelon: Command) -> str:
    """Give the output of a run under nothing special."""
    done = mamelon(*WORDS)
    assert done.returncode in (0, 1), done.stderr
    assert '"plans"' in done.stdout
    return done.stdout


@pytest.mark.parametrize("threads", ["1", "2", "7"])
def test_threads_change_nothing(mamelon: Command, plain: str, threads: str) -> None:
    assert mamelon(*WORDS, env={"MAMELON_THREADS": threads}).stdout == plain


@pytest.mark.parametrize("locale", ["C", "de_DE.UTF-8", "tr_TR.UTF-8"])
def test_locales_change_nothing(mamelon: Command, plain: str, locale: str) -> None:
    known = subprocess.run(
        ["locale", "-a"], capture_output=True, text=True, check=True, env=os.environ
    ).stdout.lower()
    folder = Path(os.environ.get("LOCPATH", "/nowhere")) / locale
    if locale != "C" and not folder.is_dir() and locale.lower().replace("-", "") not in known:
        pytest.skip(f"the locale {locale} is not installed")
    assert mamelon(*WORDS, env={"LC_ALL": locale}).stdout == plain


def test_instruction_sets_change_nothing(mamelon: Command, plain: str) -> None:
    program = Path(mamelon.path).parents[2] / "tests/rules/golden_run"
    if not program.exists():
        pytest.skip("this build has no tests/rules/golden_run")
    done = subprocess.run([program, *WORDS], capture_output=True, text=True, check=True)
    runs = [part.split("\n", 1) for part in done.stdout.split("== ")[1:]]
    assert len(runs) >= 2
    for name, output in runs:
        assert output == plain, name


WITHOUT_FMA = "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX2_Usable,-FMA_Usable"


@pytest.mark.parametrize(
    "words",
    [
        WORDS,
        ["tabs", "audit", str(DATA / "tabs/orchard16.json"), "--json"],
        ["paste", "fit", str(DATA / "pastes/drawdowns_fawn.csv"), "--name", "fawn",
         "--role", "body",
         "--refractive-index", "1.51", "--json"],
    ],
)  # fmt: skip
def test_the_c_library_changes_nothing(mamelon: Command, words: list[str]) -> None:
    plain = mamelon(*words)
    assert plain.returncode in (0, 1), plain.stderr
    assert plain.stdout == mamelon(*words, env={"GLIBC_TUNABLES": WITHOUT_FMA}).stdout


def test_a_wrong_number_of_threads_is_refused(mamelon: Command) -> None:
    for text in ("0", "-1", "many", "1e9", ""):
        done = mamelon(*WORDS, env={"MAMELON_THREADS": text})
        assert done.returncode == 2
        assert "MAMELON_THREADS" in done.stderr
