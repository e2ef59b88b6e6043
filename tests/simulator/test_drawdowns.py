"""The demo drawdowns and pastes are the ones that their scripts make."""

from __future__ import annotations

import json

import pytest

from .spectra import DATA

pytest.importorskip("mamelon")


def test_the_file_is_what_the_script_makes() -> None:
    from . import drawdowns

    made = drawdowns.drawdowns(drawdowns.paste()).splitlines()
    kept = (DATA / "pastes" / "drawdowns_fawn.csv").read_text(encoding="utf-8").splitlines()
    assert made == kept


def test_the_pastes_are_what_their_script_fits() -> None:
    from . import demo_pastes

    kept = json.loads(demo_pastes.FILE.read_text(encoding="utf-8"))
    assert [paste["name"] for paste in kept["pastes"]] == list(demo_pastes.PASTES)
    one = demo_pastes.document(["husk"])
    assert one["pastes"] == [paste for paste in kept["pastes"] if paste["name"] == "husk"]
