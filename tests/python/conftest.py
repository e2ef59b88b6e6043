"""Shared fixtures: the demo data and small values to work with."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import mamelon as mm

# Processes started here take Ctrl-C even where this one was started with it ignored, as a shell
# does in the background.
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"


@pytest.fixture(autouse=True)
def current_number_format() -> Iterator[None]:
    """Arrays print as NumPy prints them today: colour-science sets an older format on import."""
    with np.printoptions(legacy=False):
        yield


@pytest.fixture(scope="session")
def data() -> Path:
    """The folder of demo data."""
    return DATA


@pytest.fixture(scope="session")
def tabs() -> mm.TabSet:
    """The invented demo tabs."""
    return mm.read_tab_set(DATA / "tabs/orchard16.json")


@pytest.fixture(scope="session")
def pastes() -> mm.PasteSet:
    """The invented demo pastes."""
    return mm.read_paste_set(DATA / "pastes/orchard10.json")


@pytest.fixture(scope="session")
def rng() -> np.random.Generator:
    """Random numbers, the same in every run."""
    return np.random.default_rng(20260401)
