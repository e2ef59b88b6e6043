"""`diff` on long lists: right, in little memory, with bad rows told by line."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import numpy as np
import pytest
from colour.difference import (
    delta_E_CIE1976,
    delta_E_CIE1994,
    delta_E_CIE2000,
    delta_E_CMC,
)
from conftest import Command

import mamelon as mm


def write(path: Path, lab: np.ndarray) -> None:
    lines = [f"{i},{row[0]},{row[1]},{row[2]}" for i, row in enumerate(lab)]
    path.write_text("label,L,a,b\n" + "\n".join(lines) + "\n", encoding="utf-8")


def colours(seed: int, count: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    return np.round(random.uniform([20, -40, -40], [95, 40, 60], (count, 3)), 3)


def test_differences_agree_with_an_independent_library(mamelon: Command, tmp_path: Path) -> None:
    # Reference: colour-science, CIEDE2000 and CIE 1976.
    first, second = colours(1, 500), colours(2, 500)
    write(tmp_path / "a.csv", first)
    write(tmp_path / "b.csv", second)
    result = mamelon("diff", tmp_path / "a.csv", tmp_path / "b.csv", "--json")
    assert result.returncode == 0, result.stderr
    pairs = json.loads(result.stdout)["pairs"]
    assert [pair["de00"] for pair in pairs] == pytest.approx(
        delta_E_CIE2000(first, second), abs=1e-9
    )
    assert [pair["de76"] for pair in pairs] == pytest.approx(
        delta_E_CIE1976(first, second), abs=1e-9
    )


def test_every_formula_is_reached_by_its_word(mamelon: Command, tmp_path: Path) -> None:
    # References: colour-science's CIEDE2000, CIE 1976, CIE 1994 (graphic arts), CMC(1:1), DIN99o.
    first, second = colours(3, 40), colours(4, 40)
    write(tmp_path / "a.csv", first)
    write(tmp_path / "b.csv", second)
    words = ("diff", tmp_path / "a.csv", tmp_path / "b.csv")
    expected = {
        "de00": delta_E_CIE2000(first, second),
        "de76": delta_E_CIE1976(first, second),
        "de94": delta_E_CIE1994(first, second),
        "cmc": delta_E_CMC(first, second, l=1, c=1),
        "din99o": np.linalg.norm(mm.to_din99o(first) - mm.to_din99o(second), axis=1),
    }
    known = mamelon(*words, "--formula", "none").stderr
    for word, values in expected.items():
        assert word in known
        result = mamelon(*words, "--formula", word, "--json")
        assert result.returncode == 0, result.stderr
        pairs = json.loads(result.stdout)["pairs"]
        assert {pair["formula"] for pair in pairs} == {word}
        assert [pair["de"] for pair in pairs] == pytest.approx(values, abs=1e-9)
        column = mamelon(*words, "--formula", word).stdout.splitlines()
        assert column[0].split("\t")[-1] == word
        assert float(column[1].split("\t")[-1]) == pytest.approx(values[0], abs=1e-4)


def test_a_million_rows_in_less_than_64_mib(mamelon: Command, tmp_path: Path) -> None:
    count = 1_000_000
    row = "\n".join(f"s{i},70.{i % 1000:03},1.5,18" for i in range(count))
    (tmp_path / "a.csv").write_text("label,L,a,b\n" + row + "\n", encoding="utf-8")
    out = tmp_path / "out.tsv"
    # The kernel refuses memory beyond 64 MiB of data; a process's own peak would count its parent.
    with out.open("w") as target:
        result = subprocess.run(
            ["bash", "-c", 'ulimit -d 65536; exec "$0" diff a.csv a.csv', mamelon.path],
            stdout=target,
            cwd=tmp_path,
            check=False,
        )
    assert result.returncode == 0
    with out.open() as lines:
        assert sum(1 for _ in lines) == count + 1


def test_bad_rows_are_told_by_line_and_the_others_compared(
    mamelon: Command, tmp_path: Path
) -> None:
    (tmp_path / "a.csv").write_text("label,L,a,b\nx,70,1,2\ny,?,1,2\nz,60,1,2\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("label,L,a,b\nx,71,1,2\ny,60,1,2\nz,61,1\n", encoding="utf-8")
    result = mamelon("diff", tmp_path / "a.csv", tmp_path / "b.csv", "--json")
    assert result.returncode == 3
    assert [pair["a"] for pair in json.loads(result.stdout)["pairs"]] == ["x"]
    assert 'a.csv: line 3, column "L"' in result.stderr
    assert "b.csv: line 4: has 3 cells" in result.stderr
    assert "2 bad rows left out" in result.stderr


def test_lists_of_unequal_length(mamelon: Command, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("label,L,a,b\nx,70,1,2\ny,60,1,2\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("label,L,a,b\nx,71,1,2\n", encoding="utf-8")
    for pair in (("a.csv", "b.csv"), ("b.csv", "a.csv")):
        result = mamelon("diff", *(tmp_path / name for name in pair))
        assert result.returncode == 3
        assert "a.csv: has more rows than" in result.stderr
        assert result.stdout == ""


def test_equal_labels_in_another_order_belong_together(mamelon: Command, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("label,L,a,b\nx,70,1,2\ny,60,1,2\ny,61,1,2\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("label,L,a,b\ny,60,1,2\nx,70,1,2\ny,61,1,2\n", encoding="utf-8")
    result = mamelon("diff", tmp_path / "a.csv", tmp_path / "b.csv", "--json")
    assert result.returncode == 0, result.stderr
    pairs = json.loads(result.stdout)["pairs"]
    assert [(pair["a"], pair["b"], pair["de00"]) for pair in pairs] == [
        ("x", "x", 0), ("y", "y", 0), ("y", "y", 0),
    ]  # fmt: skip
    assert "note" not in result.stderr


def test_other_labels_are_paired_by_row_and_it_is_said(mamelon: Command, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("label,L,a,b\nx,70,1,2\ny,60,1,2\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("label,L,a,b\np,70,1,2\nq,60,1,2\n", encoding="utf-8")
    result = mamelon("diff", tmp_path / "a.csv", tmp_path / "b.csv", "--json")
    assert result.returncode == 0
    assert [pair["de00"] for pair in json.loads(result.stdout)["pairs"]] == [0, 0]
    assert "rows are compared in their order" in result.stderr


def test_missing_and_empty_lists(mamelon: Command, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    missing = mamelon("diff", tmp_path / "absent.csv", tmp_path / "empty.csv")
    assert missing.returncode == 6
    empty = mamelon("diff", tmp_path / "empty.csv", tmp_path / "empty.csv")
    assert empty.returncode == 3
    assert "empty.csv: is empty" in empty.stderr
