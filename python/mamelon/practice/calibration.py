"""How often what the tool stated held: the figure that a practice can show.

Of every case with an outcome, the region stated before it was carried out, at 50, 80 and 95 %,
against the colour that was read: how many lay within, with the binomial interval of that share
(Clopper and Pearson 1934, Biometrika 26:404). Nothing is left out, not even what looks wrong: the
regions allow for one outcome in 20 that is (`planning.level_of`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mamelon._core import ArgumentError
from mamelon.agreement import Interval
from mamelon.practice.document import Record
from mamelon.practice.linear import Floats
from mamelon.practice.planning import level_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LEVELS = (0.5, 0.8, 0.95)
GROUPS = ("all", "paste", "camera", "light")


@dataclass(frozen=True)
class Held:
    """Share of cases whose outcome lay within the region of `level`, with its 95 % interval."""

    group: str
    name: str
    level: float
    cases: int
    within: int
    share: Interval

    @property
    def is_as_stated(self) -> bool:
        """Whether the stated level lies within the binomial interval."""
        return self.share.low <= self.level <= self.share.high


@dataclass(frozen=True)
class Placed:
    """Where one outcome lay: the least level whose region holds it, and what it belongs to."""

    case: str
    level: float
    pastes: tuple[str, ...]
    camera: str
    light: str


def place_outcomes(records: Iterable[Record]) -> list[Placed]:
    """The level of every outcome that teaches, read by the device its plan was stated for."""
    found = []
    for record in records:
        plan = record.plan
        if plan is None:
            continue
        for outcome in record.outcomes:
            if not outcome.teaches or outcome.seen.device != plan.target.device:
                continue
            found.append(
                Placed(
                    record.id,
                    level_of(
                        plan.stated, np.array(outcome.seen.lab), np.array(outcome.seen.random)
                    ),
                    tuple(dict.fromkeys(layer.paste for layer in plan.layers)),
                    outcome.seen.device,
                    outcome.seen.light,
                )
            )
    return found


def binomial(within: int, cases: int, confidence: float = 0.95) -> Interval:
    """A share with its exact interval (Clopper and Pearson)."""
    from scipy.stats import beta

    rest = (1 - confidence) / 2
    low = 0.0 if within == 0 else float(beta.ppf(rest, within, cases - within + 1))
    high = 1.0 if within == cases else float(beta.ppf(1 - rest, within + 1, cases - within))
    return Interval(within / cases, low, high)


def levels_held(placed: Sequence[Placed]) -> list[Held]:
    """How often every level held: over all, by paste, by camera with its card, by light.

    Raises ArgumentError where there is no outcome to hold anything against.
    """
    if not placed:
        raise ArgumentError(
            "no kept case has an outcome (cured, wet, read as its target was): nothing to hold "
            "what was stated against"
        )
    names: dict[tuple[str, str], list[float]] = {("all", ""): [p.level for p in placed]}
    for one in placed:
        for paste in one.pastes:
            names.setdefault(("paste", paste), []).append(one.level)
        names.setdefault(("camera", one.camera), []).append(one.level)
        names.setdefault(("light", one.light), []).append(one.level)
    found = []
    for (group, name), own in sorted(names.items(), key=lambda k: (GROUPS.index(k[0][0]), k[0][1])):
        for level in LEVELS:
            within = sum(x <= level for x in own)
            found.append(Held(group, name, level, len(own), within, binomial(within, len(own))))
    return found


def calibration_axes(placed: Sequence[Placed], *, ax: Axes | None = None) -> Axes:
    """Share of outcomes within the region of every level, against the level. Needs matplotlib.

    The diagonal is what was stated; bars are the binomial intervals at 50, 80 and 95 %.
    """
    from mamelon.plot import _axes

    held = [one for one in levels_held(placed) if one.group == "all"]
    drawn = _axes(ax)
    levels: Floats = np.sort([one.level for one in placed])
    drawn.plot([0, 1], [0, 1], color="0.6", linewidth=0.8)
    share = np.arange(1, len(levels) + 1) / len(levels)
    drawn.step(np.r_[0, levels, 1], np.r_[0, share, 1], where="post", color="C0")
    for one in held:
        low, high = one.share.estimate - one.share.low, one.share.high - one.share.estimate
        drawn.errorbar(one.level, one.share.estimate, [[low], [high]], fmt="o", color="C0")
    drawn.set_xlabel("stated")
    drawn.set_ylabel(f"held, of {len(levels)} outcomes")
    drawn.set_xlim(0, 1)
    drawn.set_ylim(0, 1)
    return drawn


def save_plot(placed: Sequence[Placed], file: str) -> None:
    """Writes `calibration_axes` as a picture of the format that the name ends in."""
    from mamelon.practice.figures import saved

    saved(lambda ax: calibration_axes(placed, ax=ax), file)
