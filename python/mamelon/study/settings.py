"""What is the same for every item of a study."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from mamelon._core import (
    ArgumentError,
    Case,
    DifferenceWeights,
    TabSet,
    ToothPrior,
    Viewing,
    digest,
    library_version,
    read_card,
    sha256_hex,
    to_json,
)


@dataclass(frozen=True)
class Settings:
    """Settings of a study.

    `rows` is `summary` (one row per item, zone and tab set: the nearest tab) or `tabs` (one row
    per item, zone, tab set and tab). `card` is the card of photos whose row names none.
    `like` is a case that every item takes what it does not state from: the card, how it is fitted,
    what is to be placed and over which floor. `prior` is what is known of teeth before one is read;
    None for that of the item's case, of `like`, or the generated one. Raises
    ArgumentError for no tab set, two of one name, or another viewing than the study's.

    >>> import mamelon as mm
    >>> tabs = mm.TabSet("one", [mm.Tab("linden", mm.Measured([70, 1, 15]))], "D65/2")
    >>> Settings((tabs,), "D65/2").rows
    'summary'
    """

    tabs: tuple[TabSet, ...]
    viewing: str
    card: Path | None = None
    rows: Literal["summary", "tabs"] = "summary"
    weights: DifferenceWeights = field(default_factory=DifferenceWeights)
    draws: int = 4096
    seed: int = 1
    margin_mm: float = 0.4
    camera_rendering: bool = False
    like: Case | None = None
    prior: ToothPrior | None = None

    def __post_init__(self) -> None:
        if not self.tabs:
            raise ArgumentError("a study needs at least one tab set")
        viewing = Viewing(self.viewing)
        names = set()
        for tabs in self.tabs:
            if not isinstance(tabs, TabSet):
                raise ArgumentError(f"tabs must be TabSets, not {type(tabs).__name__}")
            if tabs.viewing != viewing:
                raise ArgumentError(
                    f"tab set {tabs.name!r} is stated under {tabs.viewing}, "
                    f"the study under {self.viewing}"
                )
            if tabs.name in names:
                raise ArgumentError(f"two tab sets are named {tabs.name!r}")
            names.add(tabs.name)
        if self.rows not in ("summary", "tabs"):
            raise ArgumentError(f"rows must be summary or tabs, not {self.rows!r}")

    def described(self) -> dict[str, Any]:
        """Every setting that matters to a row, as plain values without paths."""
        card = None
        if self.card is not None:
            card = sha256_hex(to_json(read_card(self.card)).encode())
        w = self.weights
        return {
            "mamelon": library_version(),
            "viewing": self.viewing,
            "tab_sets": [
                {"name": tabs.name, "digest": sha256_hex(to_json(tabs).encode())}
                for tabs in self.tabs
            ],
            "card": card,
            "rows": self.rows,
            "weights": [w.kl, w.kc, w.kh],
            "draws": self.draws,
            "seed": self.seed,
            "margin_mm": self.margin_mm,
            "camera_rendering": self.camera_rendering,
            "like": None if self.like is None else digest(self.like),
            "prior": None if self.prior is None else _plain_prior(self.prior),
        }

    def digest(self) -> str:
        """SHA-256 of `described`."""
        return sha256_hex(json.dumps(self.described(), sort_keys=True).encode())


def _plain_prior(prior: ToothPrior) -> dict[str, Any]:
    return {
        "name": prior.name,
        "mean": [prior.mean.l, prior.mean.a, prior.mean.b],
        "covariance": prior.covariance.tolist(),
    }
