"""The program that renews the README's figures knows its sources, its results and its README."""

from __future__ import annotations

import runpy
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = runpy.run_path(str(ROOT / "tests/figures/figures.py"))


def test_every_source_of_a_figure_exists() -> None:
    digests = {name: PROGRAM["digest_of"](family) for name, family in PROGRAM["FAMILIES"].items()}
    assert len(set(digests.values())) == len(digests)


def test_the_readme_shows_what_was_measured() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert PROGRAM["readme_with_figures"]() == readme
    assert sum(len(family.lines) for family in PROGRAM["FAMILIES"].values()) == 10
