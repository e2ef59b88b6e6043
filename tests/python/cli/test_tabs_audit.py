"""`tabs audit` with and without a witness, and `tabs transfer`, on sets built from tables."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from conftest import Command

TABS = {f"reed {i}": (76 - i, 0.5 + 0.3 * i, 12 + i) for i in range(6)}
TILE = {"tile": (90, 0, 2)}
DAYS = ("1.3.2025", "8.3.2025", "15.3.2025")


def built(
    mamelon: Command, file: Path, seed: int, *, fade: float = 0, shift: float = 0, tile: bool = True
) -> Path:
    """Three readings on each of three days; `fade` moves the tabs' L*, `shift` all that is read."""
    rng = np.random.default_rng(seed)
    rows = ["Muster;Datum;L;a;b"]
    for day in DAYS:
        for name, lab in {**TABS, **(TILE if tile else {})}.items():
            move = shift + (fade if name != "tile" else 0)
            for read in rng.normal(np.add(lab, [move, 0, 0]), [0.2, 0.1, 0.2], (3, 3)):
                cells = ";".join(f"{value:.3f}".replace(".", ",") for value in read)
                rows.append(f"{name};{day};{cells}")
    file.with_suffix(".csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    result = mamelon("tabs", "build", file.with_suffix(".csv"), "--name", file.stem, "--out", file)
    assert result.returncode == 0, result.stderr
    return file


def test_a_witness_tells_a_faded_set_from_a_changed_instrument(
    mamelon: Command, tmp_path: Path
) -> None:
    earlier = built(mamelon, tmp_path / "earlier.json", 1)
    faded = built(mamelon, tmp_path / "faded.json", 2, fade=-1.3)
    moved = built(mamelon, tmp_path / "moved.json", 3, shift=-1.3)
    witness = ("--earlier", earlier, "--witness", "tile")
    for now, changed in ((faded, True), (moved, False)):
        told = mamelon("tabs", "audit", now, *witness)
        assert told.returncode == 0, told.stderr
        assert "All tabs together moved by ΔE00" in told.stdout
        assert "against the witness the set moved by ΔE00" in " ".join(told.stdout.split())
        drift = json.loads(mamelon("tabs", "audit", now, *witness, "--json").stdout)["drift"]
        # 1.3 in L* about 73 is ΔE00 1.0 (S_L 1.3), the instrument's own error beside it.
        assert drift["common_shift_de00"] == pytest.approx(1.0, abs=0.2)
        # Of steady sets 5 % are said to have changed: one draw is held at 1 in 1000.
        assert (drift["set_shift_p_value"] < 0.001) == changed
        assert {tab["verdict"] for tab in drift["tabs"]} == {"steady"}
        if changed:
            assert drift["set_verdict"] == "changed"
            assert "changed against the witness" in told.stderr
    missing = mamelon("tabs", "audit", faded, "--earlier", earlier, "--witness", "brick")
    assert missing.returncode == 2
    assert "the witness 'brick' must stand in both sets" in missing.stderr


def test_without_a_witness_the_two_cannot_be_told_apart(mamelon: Command, tmp_path: Path) -> None:
    earlier = built(mamelon, tmp_path / "earlier.json", 1, tile=False)
    faded = built(mamelon, tmp_path / "faded.json", 2, fade=-1.3, tile=False)
    sheet = tmp_path / "audit.html"
    told = mamelon("tabs", "audit", faded, "--earlier", earlier, "--sheet", sheet)
    assert told.returncode == 0, told.stderr
    assert "All tabs together moved by ΔE00" in told.stdout
    assert "against the witness the set" not in told.stdout
    assert "cannot be told" in told.stderr
    assert "cannot be told" in sheet.read_text(encoding="utf-8")


def test_a_set_is_carried_to_another_instrument(mamelon: Command, tmp_path: Path) -> None:
    here = built(mamelon, tmp_path / "here.json", 1)
    there = built(mamelon, tmp_path / "there.json", 2, shift=0.8)
    out = tmp_path / "carried.json"
    result = mamelon("tabs", "transfer", here, there, "--out", out)
    assert result.returncode == 0, result.stderr
    before, after = (json.loads(file.read_text(encoding="utf-8"))["tabs"] for file in (here, out))
    for was, now in zip(before, after, strict=True):
        assert now["lab"][0] - was["lab"][0] == pytest.approx(0.8, abs=0.2)
    few = tmp_path / "few.json"
    document = json.loads(there.read_text(encoding="utf-8"))
    document["tabs"] = document["tabs"][:3]
    few.write_text(json.dumps(document), encoding="utf-8")
    refused = mamelon("tabs", "transfer", here, few)
    assert refused.returncode == 5
    assert "a transfer needs at least 4" in refused.stderr
