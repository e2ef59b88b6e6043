"""The demo drawdowns are the ones that their script makes."""

from __future__ import annotations

import pytest

from .spectra import DATA

pytest.importorskip("mamelon")


def test_the_file_is_what_the_script_makes() -> None:
    from . import drawdowns

    made = drawdowns.drawdowns().splitlines()
    kept = (DATA / "pastes" / "drawdowns_fawn.csv").read_text(encoding="utf-8").splitlines()
    assert made == kept
