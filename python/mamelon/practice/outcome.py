"""A try-in or a finished restoration beside its target and its prediction.

The deviation from the prediction is held against all that the prediction left open: is it more than
chance, and if so, which one of thickness, floor, paste or reading would have to be off least to
explain it? Both by the derivatives of the same model that predicted. What to change now is searched
with that model, after what this outcome itself shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mamelon._core import (
    ModelError,
    PlannedLayer,
    PlanRequest,
    de00,
    de00_parts,
    grade,
    predict_plan,
    threshold,
)
from mamelon.practice import linear
from mamelon.practice.document import Outcome, Stated
from mamelon.practice.learning import Evidence
from mamelon.practice.linear import WAYS, Floats
from mamelon.practice.planning import corrected_request, shift_in_words, state

# How much wider than its prior a cause is taken to be where it is the one that went wrong.
_GONE_WRONG = 3.0
_READING_RMS = 1.0
_SAMPLE = np.random.default_rng(20261129).standard_normal((2048, 3))


@dataclass(frozen=True)
class Compared:
    """A colour less another: ΔE00 with the interval of 95 %, signed parts ΔL', ΔC', ΔH', words."""

    de00: float
    low: float
    high: float
    parts: tuple[float, float, float]
    words: str
    grade: str


@dataclass(frozen=True)
class Cause:
    """One thing that may have gone wrong: `chance` among those looked at; `words` with its size."""

    what: str
    chance: float
    words: str


@dataclass(frozen=True)
class Checked:
    """What an outcome shows.

    `p_value`: chance of a deviation from the prediction at least so large; below 0.05 it is taken
    for more than chance, and `causes` are ordered by their chance. `change` says what to do now.
    """

    to_target: Compared
    to_prediction: Compared
    p_value: float
    causes: tuple[Cause, ...]
    change: str
    cautions: tuple[str, ...]

    @property
    def is_more_than_chance(self) -> bool:
        """Whether the prediction did not allow for this outcome, at a chance of 5 %."""
        return self.p_value < 0.05


def compare(reference: Floats, sample: Floats, covariance: Floats) -> Compared:
    """`sample` against `reference`, with the covariance of their difference."""
    values, vectors = np.linalg.eigh(covariance)
    drawn = sample + _SAMPLE @ (vectors * np.sqrt(np.maximum(values, 0))).T
    low, high = np.quantile(np.asarray(de00(reference, drawn)), [0.025, 0.975])
    away = float(de00(reference, sample))
    lightness, chroma, hue = (float(x) for x in np.asarray(de00_parts(reference, sample))[:3])
    return Compared(
        away, float(low), float(high), (lightness, chroma, hue),
        shift_in_words(reference, sample), str(grade(away)),
    )  # fmt: skip


def cautions_of(outcome: Outcome) -> tuple[str, ...]:
    """What the state of the surface does to what was read."""
    found = []
    if not outcome.cured:
        found.append(
            "the paste is not cured: curing shifts its colour by ΔEab 4.2 on average at once (Oper "
            "Dent 2015;40:271), so this says little of the finished restoration, and nothing is "
            "learnt from it"
        )
    if not outcome.wet:
        found.append(
            "the tooth is dry: 87 of 100 teeth change visibly within a minute of drying (Suliman "
            "et al. 2019, J Esthet Restor Dent 31:118), so compare again when it is wet; nothing "
            "is learnt from it"
        )
    return tuple(found)


def _layers(plan: Stated, request: PlanRequest) -> list[PlannedLayer]:
    return [
        PlannedLayer(x.paste, linear.paste_named(request, x.paste).role, x.thickness_mm)
        for x in plan.layers
    ]


def check(
    plan: Stated, outcome: Outcome, operator: str, request: PlanRequest, evidence: Evidence
) -> Checked:
    """Compares an outcome with its plan.

    `request` is the case's own, with the pastes as their document says; `evidence` knows the plan's
    pastes with their lots, the operator and the outcome's device, without this outcome among what
    it has learnt.
    """
    # Needs SciPy, which the package does not otherwise.
    from scipy.stats import f

    read = np.array(outcome.seen.lab)
    noise = np.array(outcome.seen.random)
    layers = _layers(plan, request)
    lots = {layer.paste: layer.lot for layer in plan.layers}
    device = outcome.seen.device
    stated = state(plan.prediction, layers, lots, evidence, operator, device, noise=noise)
    # As it was stated on the day, where it was stated for the same device.
    same = device == plan.target.device
    expected = np.array(plan.stated.lab if same else stated.lab)
    open_part = np.array(plan.stated.covariance) + noise if same else np.array(stated.covariance)
    dof = plan.stated.dof if same else stated.dof
    deviation = read - expected
    squared = float(deviation @ np.linalg.solve(open_part, deviation))
    p_value = float(f.sf(squared / 3, 3, dof))
    target = np.array(plan.target.lab)
    between = noise + np.array(plan.target.random)
    if not same:
        between = between + np.array(outcome.seen.shared) + np.array(plan.target.shared)
    to_target = compare(target, read, between)
    causes = _causes(plan, deviation, open_part)
    change = _change(plan, outcome, operator, request, evidence, to_target, deviation, open_part)
    return Checked(
        to_target,
        compare(expected, read, open_part),
        p_value,
        causes if p_value < 0.05 else (),
        change,
        cautions_of(outcome),
    )


def _causes(plan: Stated, deviation: Floats, open_part: Floats) -> tuple[Cause, ...]:
    """Each single cause gone wrong, by how well it alone explains the deviation."""
    known = plan.prediction
    unit = np.array(known.unit)
    looked: list[tuple[str, Floats, Floats]] = []
    for at, layer in enumerate(plan.layers):
        own = np.array(known.by_thickness[at])[:, None]
        looked.append((f"thickness of {layer.paste}", own, np.array([[0.2]])))
        paste = np.array(known.by_paste[at])
        if np.any(paste):
            looked.append((f"paste {layer.paste}", paste, np.eye(WAYS) * 0.8 / np.sqrt(3)))
    # A floor that is not as it was read shows through as its stated errors do.
    values, vectors = np.linalg.eigh(np.array(known.floor))
    through = vectors * np.sqrt(np.maximum(values, 0))
    if values.max() > 1e-6:
        looked.append(("floor", through, np.eye(3)))
    looked.append(("reading", unit, np.eye(3) * _READING_RMS / np.sqrt(3)))
    scores, words = [], []
    for what, design, root in looked:
        wide = design @ root * _GONE_WRONG
        total = open_part + wide @ wide.T
        lower = np.linalg.cholesky(total)
        white = np.linalg.solve(lower, deviation)
        scores.append(-float(white @ white) / 2 - float(np.log(np.diag(lower)).sum()))
        share = wide.T @ np.linalg.solve(total, deviation)
        words.append(_cause_in_words(what, design, root * _GONE_WRONG @ share, known.lab))
    odds = np.exp(np.array(scores) - max(scores))
    odds /= odds.sum()
    found = [
        Cause(what, float(chance), text)
        for (what, _, _), chance, text in zip(looked, odds, words, strict=True)
    ]
    return tuple(sorted(found, key=lambda cause: -cause.chance))


def _cause_in_words(what: str, design: Floats, size: Floats, lab: Sequence[float]) -> str:
    if what.startswith("thickness"):
        way = "thicker" if size[0] > 0 else "thinner"
        return f"{what.removeprefix('thickness of ')} came out {abs(size[0]):.1f} mm {way}"
    middle = np.array(lab)
    shift = shift_in_words(middle, middle + design @ size)
    if what == "floor":
        return f"the floor shows through otherwise than it was read: {shift}"
    if what == "reading":
        return f"the photo or reading is off: {shift}"
    return f"{what} is off its document: {shift}"


def _after(
    plan: Stated, evidence: Evidence, operator: str, device: str, deviation: Floats,
    open_part: Floats,
) -> Evidence:  # fmt: skip
    """What is known with this outcome: its deviation is shared out among all that was open."""
    import dataclasses

    lots = [(layer.paste, layer.lot) for layer in plan.layers]
    places = evidence.places(lots, operator, device)
    design = np.hstack(
        [np.array(own) for own in plan.prediction.by_paste]
        + [np.array(plan.prediction.by_thickness).sum(axis=0)[:, None], np.eye(3)]
    )
    whole = np.zeros((3, len(evidence.mean)))
    # A paste that stands in two layers has one place for both.
    for column, place in enumerate(places):
        whole[:, place] += design[:, column]
    covariance = np.array(evidence.covariance) * evidence.scale
    gain = covariance @ whole.T @ np.linalg.inv(open_part)
    mean = np.array(evidence.mean) + gain @ deviation
    return dataclasses.replace(evidence, mean=tuple(float(x) for x in mean))


def _change(
    plan: Stated, outcome: Outcome, operator: str, request: PlanRequest, evidence: Evidence,
    to_target: Compared, deviation: Floats, open_part: Floats,
) -> str:  # fmt: skip
    """What to do now, in one sentence."""
    if to_target.de00 <= threshold.perceptible_de00:
        return "nothing: it cannot be told from the target"
    if not outcome.cured:
        return "cure it, wet it, and compare again before anything is changed"
    layers = _layers(plan, request)
    lots = {**plan.lots, **{layer.paste: layer.lot for layer in plan.layers}}
    device = outcome.seen.device
    known = _after(plan, evidence, operator, device, deviation, open_part)
    try:
        better = corrected_request(request, lots, known, device).replace(
            illuminants=(), illuminant_weights=()
        )
    except ModelError:
        return "the model finds no change that it could answer for"
    bias = known.of_operator(operator)
    target = better.target.lab.value

    def away(stack: Sequence[PlannedLayer]) -> float:
        made = [x.replace(thickness_mm=max(0.05, x.thickness_mm + bias)) for x in stack]
        return float(de00(target, predict_plan(better, made).predicted[0].lab))

    # What neither pastes nor hand explain stays as it is whatever is changed.
    now = away(layers)
    moved = [(away(stack), words, stack) for words, stack in _exchanges(layers, better)]
    best = min(moved, key=lambda one: one[0], default=None)
    if best is not None and best[0] <= max(threshold.perceptible_de00, 0.7 * now):
        return f"{best[1]}: ΔE00 {best[0]:.1f} is to be expected in place of {now:.1f}"
    return _other_paste(plan, better, now)


def _exchanges(
    layers: Sequence[PlannedLayer], request: PlanRequest
) -> list[tuple[str, list[PlannedLayer]]]:
    """The same pastes in other thicknesses of the same sum, in words."""
    found = []
    for one in range(len(layers)):
        for other in range(len(layers)):
            if one == other:
                continue
            for tenths in range(1, 11):
                more = tenths / 10
                moved = list(layers)
                up = round(layers[one].thickness_mm + more, 6)
                down = round(layers[other].thickness_mm - more, 6)
                thin = linear.paste_named(request, layers[other].paste).minimum_mm
                thick = linear.paste_named(request, layers[one].paste).maximum_mm
                if down < thin - 1e-9 or up > thick + 1e-9:
                    break
                moved[one] = layers[one].replace(thickness_mm=up)
                moved[other] = layers[other].replace(thickness_mm=down)
                words = (
                    f"{more:.1f} mm more of the {_place(one, layers)} layer ({layers[one].paste}) "
                    f"and as much less of the {_place(other, layers)} ({layers[other].paste})"
                )
                found.append((words, moved))
    return found


def _place(index: int, layers: Sequence[PlannedLayer]) -> str:
    if index == 0:
        return "inner"
    return "outer" if index == len(layers) - 1 else "middle"


def _other_paste(plan: Stated, request: PlanRequest, now: float) -> str:
    from mamelon._core import plan as search

    try:
        plans = search(request.replace(max_layers=max(2, len(plan.layers))))
    except ModelError:
        return "no stack of these pastes fills the depth"
    best = plans.plans[plans.recommended]
    used = {layer.paste for layer in plan.layers}
    stack = " and ".join(f"{x.paste} {x.thickness_mm:.1f} mm" for x in best.layers)
    placed = [(x.paste, round(x.thickness_mm, 1)) for x in plan.layers]
    same = [(x.paste, round(x.thickness_mm, 1)) for x in best.layers] == placed
    if same or best.de00 >= 0.9 * now:
        return (
            f"no change of these pastes comes nearer than ΔE00 {best.de00:.1f}: look at what the "
            "plan was given (floor, depth, target), or take other pastes"
        )
    dropped = sorted(used - {layer.paste for layer in best.layers})
    first = f"not {' and '.join(dropped)}: " if dropped else ""
    return f"{first}{stack}, from the floor outward: ΔE00 {best.de00:.1f} is to be expected"
