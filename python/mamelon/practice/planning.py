"""Plans that state what the outcomes taught: corrected pastes, hands and camera, and intervals.

The pastes' document is not changed: copies of them are, for this plan alone. Nothing is corrected
with fewer than `ENOUGH_CASES` outcomes, or where the person says so; the interval is stated either
way.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from mamelon._core import (
    ArgumentError,
    ModelError,
    PlannedLayer,
    PlanRequest,
    Provenance,
    de00,
    plan,
    predict_plan,
    recommended,
)
from mamelon.practice import linear
from mamelon.practice.learning import (
    ENOUGH_CASES,
    MODEL_RMS,
    WRONG_RMS,
    WRONG_SHARE,
    Evidence,
    Ints,
    Rows,
    learn,
)
from mamelon.practice.linear import WAYS, Floats, Prediction, as_lab

#: How many stacks of each number of layers are looked at closely.
_SHORTLIST = 3
_SAMPLE = np.random.default_rng(20261128).standard_normal((1024, 3))


@dataclass(frozen=True)
class Statement:
    """What an outcome is expected to read: mean L*, a*, b*, covariance, degrees of freedom."""

    lab: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    dof: float


@dataclass(frozen=True)
class Stack:
    """A plan under what is known: `layers` are to be placed as they are given here.

    `colour` is what they are expected to read by the target's device; `de00` the difference of its
    mean to the target; `de00_rms` the root mean square over all that is not known, and
    `de00_p95` what 95 of 100 stay below.
    """

    layers: tuple[PlannedLayer, ...]
    colour: Statement
    prediction: Prediction
    de00: float
    de00_rms: float
    de00_p95: float


@dataclass(frozen=True)
class Plans:
    """The recommended stack first, then the others by `de00_rms`.

    `told` says in one sentence whether and what the outcomes changed; `evidence` names what was
    used, and is empty where nothing was.
    """

    stacks: tuple[Stack, ...]
    told: str
    evidence: str


def level_of(stated: Statement, read: Floats, noise: Floats) -> float:
    """Level of the smallest region about what was stated that holds a reading; `noise` is its own.

    Of all outcomes, and one in 20 is wrong (`learning.WRONG_SHARE`: another paste was placed than
    noted, another tooth read) and lies anywhere within `learning.WRONG_RMS`: a region of 95 % holds
    98 to 99 % of those that are what they say. Needs SciPy.
    """
    from scipy.stats import f

    covariance = np.array(stated.covariance) + noise
    away = read - np.array(stated.lab)
    squared = float(away @ np.linalg.solve(covariance, away))
    unit = linear.visible_unit(np.array(stated.lab))
    broad = covariance + WRONG_RMS**2 / 3 * unit @ unit.T
    wider = float(np.trace(np.linalg.solve(covariance, broad))) / 3
    right, wrong = f.cdf(np.array([squared, squared / wider]) / 3, 3, stated.dof)
    return float((1 - WRONG_SHARE) * right + WRONG_SHARE * wrong)


def lots_of(request: PlanRequest, lots: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Every paste of the request with the lot in use; ArgumentError for a lot of no such paste."""
    names = [paste.name for paste in request.pastes.pastes]
    for name in lots:
        if name not in names:
            raise ArgumentError(
                f"a lot is given of paste {name!r}, which the case's set {request.pastes.name!r} "
                f"does not have"
            )
    return tuple((name, lots.get(name, "")) for name in names)


def _design(
    prediction: Prediction, layers: Sequence[PlannedLayer], lots: Mapping[str, str],
    evidence: Evidence, operator: str, device: str,
) -> tuple[Floats, Ints]:  # fmt: skip
    """Derivatives (3, k) and where their numbers stand in the evidence."""
    named = [(layer.paste, lots.get(layer.paste, "")) for layer in layers]
    places = evidence.places(named, operator, device)
    by_paste = [np.array(own) for own in prediction.by_paste]
    by_hand = np.array(prediction.by_thickness).sum(axis=0)[:, None]
    return np.hstack([*by_paste, by_hand, np.eye(3)]), places


def state(
    prediction: Prediction,
    layers: Sequence[PlannedLayer],
    lots: Mapping[str, str],
    evidence: Evidence,
    operator: str,
    device: str,
    *,
    noise: Floats | None = None,
) -> Statement:
    """The outcome that `evidence` expects, as `device` would read it.

    `noise` is the covariance of that reading alone. Where the same device read the target, the
    covariance is also that of the true difference between the two.
    """
    design, places = _design(prediction, layers, lots, evidence, operator, device)
    mean = np.array([evidence.mean[i] for i in places])
    covariance = np.array(evidence.covariance)[np.ix_(places, places)]
    hand = np.array(prediction.by_thickness)
    spread = evidence.spread_mm[evidence.operators.index(operator)]
    unit = np.array(prediction.unit)
    chance = spread**2 * hand.T @ hand + np.array(prediction.floor)
    chance = chance + MODEL_RMS**2 / 3 * unit @ unit.T
    if noise is not None:
        chance = chance + noise
    total = evidence.scale * (design @ covariance @ design.T + chance)
    lab = np.array(prediction.lab) + design @ mean
    return Statement(tuple(float(x) for x in lab), linear.rows((total + total.T) / 2), evidence.dof)


def corrected_request(
    request: PlanRequest, lots: Mapping[str, str], evidence: Evidence, device: str
) -> PlanRequest:
    """The request with pastes and target as the outcomes say that they are."""
    shifts = {name: evidence.of_paste((name, lot)) for name, lot in lots_of(request, lots)}
    shift = evidence.of_device(device)
    target = request.target
    value = target.lab.value
    read = np.array([value.l, value.a, value.b])
    moved = target.replace(
        lab=target.lab.replace(value=as_lab(read - shift)),
        reflectance=None,
        provenance=Provenance(),
    )
    return linear.corrected(request, shifts).replace(target=moved)


def _differences(lab: Floats, covariance: Floats, target: Floats) -> tuple[float, float, float]:
    values, vectors = np.linalg.eigh(covariance)
    drawn = lab + _SAMPLE @ (vectors * np.sqrt(np.maximum(values, 0))).T
    away = np.asarray(de00(target, drawn))
    return (
        float(de00(target, lab)),
        float(np.sqrt((away**2).mean())),
        float(np.quantile(away, 0.95)),
    )


def _stack(
    request: PlanRequest, known: PlanRequest, layers: tuple[PlannedLayer, ...],
    lots: Mapping[str, str], evidence: Evidence, operator: str, device: str, bias: float,
) -> Stack:  # fmt: skip
    """One stack, its colour by the engine at the thicknesses that the hand really makes."""
    prediction = linear.linearise(request, layers)
    made = [layer.replace(thickness_mm=max(0.05, layer.thickness_mm + bias)) for layer in layers]
    found = predict_plan(known.replace(illuminants=(), illuminant_weights=()), made)
    colour = found.predicted[0].lab
    lab = np.array([colour.l, colour.a, colour.b])
    read = state(prediction, layers, lots, evidence, operator, device)
    target = known.target.lab
    covariance = np.array(read.covariance) + np.array(target.random)
    value = np.array([target.value.l, target.value.a, target.value.b])
    de, expected, p95 = _differences(lab, covariance, value)
    seen = lab + evidence.of_device(device)
    stated = Statement(tuple(float(x) for x in seen), read.covariance, read.dof)
    return Stack(layers, stated, prediction, de, expected, p95)


def _prescribed(
    layers: Sequence[PlannedLayer], bias: float, request: PlanRequest
) -> tuple[PlannedLayer, ...] | None:
    """What to place so that `layers` come out: whole steps that add up to the depth, or None."""
    step = request.step_mm
    steps = [round((layer.thickness_mm - bias) / step) for layer in layers]
    # The last layer takes up what rounding leaves.
    steps[-1] += round(request.depth_mm / step) - sum(steps)
    if min(steps) < 1:
        return None
    found = []
    for layer, count in zip(layers, steps, strict=True):
        paste = linear.paste_named(request, layer.paste)
        thickness = round(count * step, 6)
        if not paste.minimum_mm - 1e-9 <= thickness <= paste.maximum_mm + 1e-9:
            return None
        found.append(PlannedLayer(layer.paste, paste.role, thickness))
    return tuple(found)


def _candidates(
    request: PlanRequest, known: PlanRequest, bias: float, spread: float
) -> list[tuple[PlannedLayer, ...]]:
    """Stacks to look at closely, of every number of layers."""
    found: dict[tuple[tuple[str, float], ...], tuple[PlannedLayer, ...]] = {}
    for count in range(1, request.max_layers + 1):
        asked = known.replace(
            depth_mm=request.depth_mm + count * bias, max_layers=count, thickness_sd_mm=spread
        )
        try:
            plans = plan(asked).plans
        except ModelError:
            continue
        fitting = [one for one in plans if len(one.layers) == count]
        for one in sorted(fitting, key=lambda p: p.de00_rms)[:_SHORTLIST]:
            layers = _prescribed(one.layers, bias, request)
            if layers is not None:
                key = tuple((layer.paste, layer.thickness_mm) for layer in layers)
                found.setdefault(key, layers)
    if not found:
        raise ModelError(
            "with the thickness that the outcomes show of this operator no stack fills the depth "
            f"of {request.depth_mm:g} mm; plan without the outcomes"
        )
    return list(found.values())


def plan_with(
    request: PlanRequest,
    evidence: Evidence,
    *,
    lots: Mapping[str, str] | None = None,
    operator: str = "",
    device: str = "",
    use: bool = True,
) -> Plans:
    """Plans for one target, with what outcomes taught where there are enough and `use` is True.

    `evidence` has to know the request's pastes with their `lots`, the `operator` and the `device`
    that read the target (an `Evidence` from `learn` with those names, outcomes or none). Raises
    ArgumentError and ModelError as `mm.plan` does.
    """
    own = dict(lots or {})
    named = lots_of(request, own)
    if not (use and evidence.is_enough):
        stacks = []
        quiet = unlearned(evidence)
        first = plan(request)
        for one in first.plans:
            layers = tuple(
                PlannedLayer(layer.paste, layer.role, layer.thickness_mm) for layer in one.layers
            )
            stacks.append(_stack(request, request, layers, own, quiet, operator, device, 0.0))
        missing = (
            f"outcomes do not correct plans yet: there are {evidence.cases} of the {ENOUGH_CASES} "
            "that it takes"
            if use
            else "outcomes were left out of this plan, as asked"
        )
        chosen = stacks[first.recommended]
        rest = [stack for stack in stacks if stack is not chosen]
        return Plans((chosen, *rest), missing, "")
    bias = evidence.of_operator(operator)
    spread = evidence.spread_mm[evidence.operators.index(operator)]
    known = corrected_request(request, own, evidence, device)
    stacks = [
        _stack(request, known, layers, own, evidence, operator, device, bias)
        for layers in _candidates(request, known, bias, spread)
    ]
    stacks.sort(key=lambda s: (len(s.layers), s.de00_rms))
    chosen = stacks[
        recommended(
            [len(s.layers) for s in stacks],
            [s.de00 for s in stacks],
            [s.de00_rms for s in stacks],
        )
    ]
    rest = sorted((s for s in stacks if s is not chosen), key=lambda s: s.de00_rms)
    told = sentence(request, evidence, chosen, dict(named), operator, device)
    return Plans((chosen, *rest), told, evidence.digest)


def unlearned(evidence: Evidence) -> Evidence:
    """What is known of the same pastes, operators and devices before any outcome."""
    none = np.zeros((0, 3, 3))
    return learn(
        Rows(
            np.zeros((0, 3)), none, none, np.zeros((0, 3), dtype=np.int64),
            np.zeros((0, 3, 3, WAYS)), none, np.zeros(0, dtype=np.int64),
            np.zeros(0, dtype=np.int64), none,
            evidence.pastes, evidence.operators, evidence.devices,
        )
    )  # fmt: skip


def sentence(
    request: PlanRequest, evidence: Evidence, stack: Stack, lots: Mapping[str, str],
    operator: str, device: str,
) -> str:  # fmt: skip
    """What the outcomes change of one stack, in words: "with your 14 cases: 0.4 lighter"."""
    plain = np.array(stack.prediction.lab)
    design, places = _design(stack.prediction, stack.layers, lots, evidence, operator, device)
    mean = np.array([evidence.mean[i] for i in places])
    shift = design[:, :-3] @ mean[:-3]
    parts = [f"with your {evidence.cases} cases: {shift_in_words(plain, plain + shift)}"]
    bias = evidence.of_operator(operator)
    if abs(bias) >= 0.05:
        way = "thicker" if bias > 0 else "thinner"
        parts.append(f"layers come out {abs(bias):.1f} mm {way} than planned")
    seen = evidence.of_device(device)
    value = request.target.lab.value
    read = np.array([value.l, value.a, value.b])
    if float(de00(read, read - seen)) >= 0.2:
        parts.append(f"the target is taken as {shift_in_words(read, read - seen)}")
    return "; ".join(parts)


def shift_in_words(reference: Floats, sample: Floats) -> str:
    """How `sample` differs from `reference` in lightness, chroma and hue, what is seen of it."""
    move = sample - reference
    chroma = float(np.hypot(*sample[1:]) - np.hypot(*reference[1:]))
    size = float(np.hypot(*move[1:]))
    hue = float(np.sqrt(max(0.0, size**2 - chroma**2)))
    turned = float(reference[1] * sample[2] - sample[1] * reference[2])
    words = []
    if abs(move[0]) >= 0.05:
        words.append(f"{abs(move[0]):.1f} {'lighter' if move[0] > 0 else 'darker'}")
    if abs(chroma) >= 0.05:
        words.append(f"{abs(chroma):.1f} {'stronger' if chroma > 0 else 'weaker'} in chroma")
    if hue >= 0.05:
        # Tooth colours lie between red and yellow: a turn towards b* is yellower.
        words.append(f"{hue:.1f} {'yellower' if turned > 0 else 'redder'}")
    return ", ".join(words) if words else "nothing that counts"
