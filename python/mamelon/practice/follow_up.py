"""The same tooth over visits: what changed, what the camera did, and whether it can be seen.

Every visit is calibrated by its own card. What camera and light still shift is told by reference
teeth, to which nothing was done: the part of their change that all of them share is taken off, as
far as it is more than their readings' chance. Thresholds: colour, Paravina et al. 2015 (J Esthet
Restor Dent 27:S1–S9); whiteness index and its thresholds, Perez et al. 2016 and 2019 (Dent Mater
32:461 and 35:292, from memory); translucency, Salas et al. 2018 (Dent Mater 34:1168).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from mamelon._core import ArgumentError, threshold, whiteness_index_dentistry
from mamelon.agreement import Interval
from mamelon.practice.document import Visit, VisitReading
from mamelon.practice.linear import Floats
from mamelon.practice.outcome import Compared, compare

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Of Perez et al. 2016: WI_D = 0.511 L* − 2.324 a* − 1.100 b*.
_WHITENESS = np.array([0.511, -2.324, -1.1])
# A shift that the card leaves of a visit, where its reading states none; sd of each axis.
_CARD_SD = 0.7


@dataclass(frozen=True)
class Change:
    """One tooth at one visit against its first.

    `colour` has ΔE00 and its signed parts; `lab` ΔL*, Δa*, Δb* with their intervals of 95 %;
    `whiteness` the change of the whiteness index for dentistry. Words of whiteness and translucency
    are not perceptible, perceptible, or beyond acceptability (the 50:50 % thresholds).
    `camera_shift` was taken off; `references` is the number of reference teeth that told it.
    """

    date: str
    tooth: int
    colour: Compared
    lab: tuple[Interval, Interval, Interval]
    whiteness: Interval
    whiteness_word: str
    translucency: float | None
    translucency_word: str
    camera_shift: tuple[float, ...]
    references: int


def _word(change: float, perceptible: float, acceptable: float) -> str:
    size = abs(change)
    if size <= perceptible:
        return "not perceptible"
    return "perceptible" if size <= acceptable else "beyond acceptability"


def _by_tooth(visit: Visit) -> dict[int, VisitReading]:
    found: dict[int, VisitReading] = {}
    for one in visit.readings:
        if one.tooth in found:
            raise ArgumentError(f"the visit of {visit.date} has tooth {one.tooth} twice")
        found[one.tooth] = one
    return found


def camera_shift(first: Visit, later: Visit) -> tuple[Floats, Floats, int]:
    """What all reference teeth of both visits share of their change: shift, covariance, number.

    The mean of their changes, drawn towards none as far as it may be chance. Without a reference
    tooth it is none, with the covariance that the card leaves.
    """
    before, now = _by_tooth(first), _by_tooth(later)
    teeth = [t for t, one in now.items() if one.reference and t in before and before[t].reference]
    stated = [np.array(visit.readings[0].seen.shared) for visit in (first, later)]
    card = sum(own if np.trace(own) > 0 else np.eye(3) * _CARD_SD**2 for own in stated)
    prior = np.asarray(card)
    if not teeth:
        return np.zeros(3), prior, 0
    moves = [np.array(now[t].seen.lab) - np.array(before[t].seen.lab) for t in teeth]
    noise = (
        sum(np.array(now[t].seen.random) + np.array(before[t].seen.random) for t in teeth)
        / len(teeth) ** 2
    )
    gain = prior @ np.linalg.pinv(prior + np.asarray(noise))
    return gain @ np.mean(moves, axis=0), prior - gain @ prior, len(teeth)


def changes(visits: Sequence[Visit]) -> list[Change]:
    """Every tooth of every later visit that the first one has, but the reference teeth.

    Raises ArgumentError for fewer than two visits, visits out of order or of one date, a tooth
    twice in a visit, or mixed lights.
    """
    if len(visits) < 2:
        raise ArgumentError(f"a follow-up needs at least two visits, not {len(visits)}")
    for one, other in itertools.pairwise(visits):
        if other.date <= one.date:
            raise ArgumentError(f"the visit of {other.date} must come after that of {one.date}")
    lights = {r.seen.light for visit in visits for r in visit.readings}
    if len(lights) > 1:
        raise ArgumentError(f"all visits must be for one light, not for {sorted(lights)}")
    before = _by_tooth(visits[0])
    found = []
    for visit in visits[1:]:
        shift, open_part, count = camera_shift(visits[0], visit)
        for tooth, now in sorted(_by_tooth(visit).items()):
            if now.reference or tooth not in before:
                continue
            found.append(_change(visit.date, before[tooth], now, shift, open_part, count))
    return found


def _change(
    date: str, first: VisitReading, now: VisitReading, shift: Floats, open_part: Floats, count: int
) -> Change:
    start = np.array(first.seen.lab)
    moved = np.array(now.seen.lab) - shift
    covariance = np.array(first.seen.random) + np.array(now.seen.random) + open_part
    sd = np.sqrt(np.diag(covariance))
    away = moved - start

    def interval(value: float, deviation: float) -> Interval:
        return Interval(float(value), float(value - 1.96 * deviation), value + 1.96 * deviation)

    axes = [interval(float(away[i]), float(sd[i])) for i in range(3)]
    whiter = float(np.asarray(whiteness_index_dentistry(moved)) - np.asarray(
        whiteness_index_dentistry(start)))  # fmt: skip
    deviation = float(np.sqrt(_WHITENESS @ covariance @ _WHITENESS))
    clearer = None
    if first.translucency is not None and now.translucency is not None:
        clearer = now.translucency - first.translucency
    return Change(
        date,
        now.tooth,
        compare(start, moved, covariance),
        (axes[0], axes[1], axes[2]),
        interval(whiter, deviation),
        _word(whiter, threshold.perceptible_whiteness, threshold.acceptable_whiteness),
        clearer,
        ""
        if clearer is None
        else _word(
            clearer, threshold.perceptible_translucency_00, threshold.acceptable_translucency_00
        ),
        tuple(float(x) for x in shift),
        count,
    )


def follow_up_axes(found: Sequence[Change], *, ax: Axes | None = None) -> Axes:
    """Change of the whiteness index of every tooth over the visits, with intervals of 95 %.

    Needs matplotlib. Lines stand at the perceptibility and acceptability thresholds.
    """
    import datetime

    from mamelon.plot import _axes

    if not found:
        raise ArgumentError("there is no change to draw")
    drawn = _axes(ax)
    for tooth in sorted({one.tooth for one in found}):
        own = [one for one in found if one.tooth == tooth]
        days: Any = [datetime.date.fromisoformat(one.date) for one in own]
        middle = np.array([one.whiteness.estimate for one in own])
        low = middle - np.array([one.whiteness.low for one in own])
        high = np.array([one.whiteness.high for one in own]) - middle
        drawn.errorbar(days, middle, [low, high], fmt="o-", capsize=3, label=f"tooth {tooth}")
    for level in (threshold.perceptible_whiteness, threshold.acceptable_whiteness):
        for sign in (-1, 1):
            drawn.axhline(sign * level, color="0.5", linewidth=0.8, linestyle=":")
    drawn.set_ylabel("change of the whiteness index WI$_D$")
    drawn.legend(frameon=False, fontsize=8)
    return drawn
