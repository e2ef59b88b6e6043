"""The built command and the demo data it runs on."""

from __future__ import annotations

import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
DATA = ROOT / "data"


@dataclass(frozen=True)
class Command:
    """The `mamelon` command; calling it runs it."""

    path: str

    def __call__(
        self, *words: object, env: dict[str, str] | None = None
    ) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [self.path, *map(str, words)],
            capture_output=True,
            text=True,
            check=False,
            timeout=600,
            env={**os.environ, **(env or {})},
        )


@pytest.fixture(scope="session")
def mamelon() -> Command:
    """Run the command that MAMELON_CLI names."""
    path = os.environ.get("MAMELON_CLI")
    if path is None:
        pytest.skip("MAMELON_CLI names no built command")
    return Command(path)


@pytest.fixture(scope="session")
def demo() -> dict[str, str]:
    """Give the demo's files by role."""
    return {
        "photo": str(DATA / "photos/front_teeth_linear.tif"),
        "card": str(DATA / "cards/tooth20_frame.json"),
        "tabs": str(DATA / "tabs/orchard16.json"),
        "pastes": str(DATA / "pastes/orchard10.json"),
        "floor": str(DATA / "floors/sound_dentine.csv"),
    }


def plan_words(demo: dict[str, str], **changes: str | None) -> list[str]:
    """Words of a `plan` on the demo; a change of None leaves the option out."""
    options = {**demo, "depth": "3", **changes}
    words = ["plan"]
    photo = options.pop("photo")
    if photo is not None:
        words.append(photo)
    for name, value in options.items():
        if value is not None:
            words.append(f"--{name}={value}")
    return words
