"""What outcomes teach: biases of pastes and lots, operators and cameras, in closed form.

An outcome's colour less the predicted one is, to first order, the sum of what its pastes are off
their documents (by paste, and by lot of it), what its operator's layers are off in thickness (a
bias, and a spread from case to case), what its camera with its card is off, and chance. All of
these are Gaussian with a prior of zero mean, so the posterior is a linear solution (Lindley and
Smith 1972, J R Stat Soc B 34:1–41). How wide the priors are is averaged over a grid of scales by
their evidence (Gaussian marginal likelihood), among them zero: where nothing is biased, nothing is
corrected. A case counts by the chance that it is none of the few wrong ones (wrong paste noted,
another tooth), judged against what the other cases predict for it; so a gross one counts nothing.
The spread of each operator is found by expectation and maximisation.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mamelon.practice.linear import WAYS, Floats

Ints = NDArray[np.int64]
Lot = tuple[str, str]

#: Outcomes before which nothing is corrected.
ENOUGH_CASES = 8

# Prior rms, in ΔE00 where not said otherwise. That lots of one paste differ by 0.8 and hands by
# 0.2 mm are assumptions from common practice; the grid of scales moves them.
PASTE_RMS = 0.8
SHARE_OF_PASTE = 0.4  # of the paste's variance, what all lots of it have in common
OPERATOR_SD_MM = 0.2
DEVICE_RMS = 1.0
MODEL_RMS = 0.55
SPREAD_SD_MM = 0.2
SPREAD_WEIGHT = 4.0  # layers that the prior spread counts for
SCALE_WEIGHT = 30.0  # readings of an axis that the prior scale counts for
SCALES = (0.0, 0.5, 1.0, 1.6)
WRONG_SHARE = 0.05
WRONG_RMS = 8.0
MOST_LAYERS = 3
# Above so many cases a case's own weight in what is known hardly counts.
_MANY = 2000


@dataclass(frozen=True)
class Rows:
    """Outcomes as arrays; index −1 of a layer: there is none.

    `residual` (n, 3): outcome less prediction; `noise` (n, 3, 3): covariance of the reading and of
    the floor; `unit` (n, 3, 3): see `linear.Prediction`; `paste` (n, 3): index into `pastes` by
    layer; `by_paste` (n, 3 layers, 3, 4); `by_thickness` (n, 3 layers, 3); `operator` and `device`
    (n): index into their names; `device_shared` (n, 3, 3): the stated covariance common to all
    readings of the device, zero where none is stated.
    """

    residual: Floats
    noise: Floats
    unit: Floats
    paste: Ints
    by_paste: Floats
    by_thickness: Floats
    operator: Ints
    device: Ints
    device_shared: Floats
    pastes: tuple[Lot, ...] = ()
    operators: tuple[str, ...] = ()
    devices: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.residual)

    def digest(self) -> str:
        """SHA-256 of all of it, which names the evidence; names count by what they stand for."""
        found = hashlib.sha256()
        for values in (self.residual, self.noise, self.by_paste, self.by_thickness):
            found.update(np.round(values, 9).astype("<f8").tobytes())
        for index, names in (
            (self.paste, self.pastes),
            (self.operator, self.operators),
            (self.device, self.devices),
        ):
            # Numbered by the names that are used, whatever else is known.
            used = sorted({names[i] for i in np.unique(index) if i >= 0})
            number = {name: at for at, name in enumerate(used)}
            place = np.array([number.get(name, -1) for name in names] + [-1])
            found.update(repr(used).encode())
            found.update(place[index].astype("<i8").tobytes())
        return found.hexdigest()


@dataclass(frozen=True)
class Evidence:
    """What is known of pastes, operators and devices: mean and covariance, one after another.

    A paste with its lot has 4 numbers in ΔE00 (see `linear`), an operator one in mm (thicker is
    positive), a device three in L*, a*, b*. `spread_mm` is by operator; `scale` widens (above 1) or
    narrows every interval by what the outcomes were against theirs; `dof` is behind it.
    `cases` counts the outcomes, `counted` those that are not taken for wrong.
    """

    cases: int
    counted: float
    pastes: tuple[Lot, ...]
    operators: tuple[str, ...]
    devices: tuple[str, ...]
    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    spread_mm: tuple[float, ...]
    scale: float = 1.0
    dof: float = SCALE_WEIGHT
    digest: str = ""

    @property
    def is_enough(self) -> bool:
        """Whether it may correct a plan: at least `ENOUGH_CASES` outcomes."""
        return self.cases >= ENOUGH_CASES

    def places(self, pastes: Sequence[Lot], operator: str, device: str) -> Ints:
        """Where the numbers of these pastes, operator and device stand in `mean`."""
        first_operator = WAYS * len(self.pastes)
        first_device = first_operator + len(self.operators)
        found: list[int] = []
        for lot in pastes:
            start = WAYS * self.pastes.index(lot)
            found.extend(range(start, start + WAYS))
        found.append(first_operator + self.operators.index(operator))
        start = first_device + 3 * self.devices.index(device)
        return np.array([*found, start, start + 1, start + 2])

    def of_paste(self, lot: Lot) -> Floats:
        """Mean of a paste's 4 numbers."""
        start = WAYS * self.pastes.index(lot)
        return np.array(self.mean[start : start + WAYS])

    def of_operator(self, operator: str) -> float:
        """Mean bias of an operator's thickness in mm."""
        return float(self.mean[WAYS * len(self.pastes) + self.operators.index(operator)])

    def of_device(self, device: str) -> Floats:
        """Mean shift of a device in L*, a*, b*."""
        start = WAYS * len(self.pastes) + len(self.operators) + 3 * self.devices.index(device)
        return np.array(self.mean[start : start + 3])

    def only(
        self, pastes: Sequence[Lot], operators: Sequence[str], devices: Sequence[str]
    ) -> Evidence:
        """What is known of these alone, as a case keeps it."""
        lots = tuple(lot for lot in self.pastes if lot in pastes)
        some_operators = tuple(o for o in self.operators if o in operators)
        some_devices = tuple(d for d in self.devices if d in devices)
        kept: list[int] = []
        for lot in lots:
            start = WAYS * self.pastes.index(lot)
            kept.extend(range(start, start + WAYS))
        first = WAYS * len(self.pastes)
        kept.extend(first + self.operators.index(o) for o in some_operators)
        first += len(self.operators)
        for device in some_devices:
            start = first + 3 * self.devices.index(device)
            kept.extend(range(start, start + 3))
        covariance = np.array(self.covariance).reshape(len(self.mean), -1)[np.ix_(kept, kept)]
        return Evidence(
            self.cases,
            self.counted,
            lots,
            some_operators,
            some_devices,
            tuple(_kept(self.mean[i]) for i in kept),
            tuple(tuple(_kept(x) for x in row) for row in covariance),
            tuple(_kept(self.spread_mm[self.operators.index(o)]) for o in some_operators),
            _kept(self.scale),
            _kept(self.dof),
            self.digest,
        )


def _kept(value: float) -> float:
    # Rounded as it is written, so that what is read back is what was used.
    return float(f"{value:.9g}")


@dataclass
class _Model:
    """The whole problem with what is fixed of it."""

    rows: Rows
    model_noise: Floats
    device_unit: Floats
    size: int
    columns: Ints = field(init=False)
    design: Floats = field(init=False)
    # The same by column, each over all cases in one run of memory.
    places: Ints = field(init=False)
    by_column: Floats = field(init=False)

    def __post_init__(self) -> None:
        rows = self.rows
        n = len(rows)
        first_operator = WAYS * len(rows.pastes)
        first_device = first_operator + len(rows.operators)
        width = MOST_LAYERS * WAYS + 1 + 3
        self.columns = np.zeros((n, width), dtype=np.int64)
        self.design = np.zeros((n, 3, width))
        for layer in range(MOST_LAYERS):
            place = slice(layer * WAYS, (layer + 1) * WAYS)
            self.columns[:, place] = WAYS * np.maximum(rows.paste[:, layer], 0)[
                :, None
            ] + np.arange(WAYS)
            self.design[:, :, place] = rows.by_paste[:, layer]
        self.columns[:, -4] = first_operator + rows.operator
        self.design[:, :, -4] = rows.by_thickness.sum(axis=1)
        self.columns[:, -3:] = first_device + 3 * rows.device[:, None] + np.arange(3)
        self.design[:, :, -3:] = np.eye(3)
        self.places = np.ascontiguousarray(self.columns.T)
        self.by_column = np.ascontiguousarray(self.design.transpose(2, 1, 0))

    def prior(self, scales: tuple[float, float, float]) -> Floats:
        """A root C of the prior covariance C Cᵀ, for scales of pastes, operators and devices."""
        rows = self.rows
        root = np.zeros((self.size, self.size))
        names = [name for name, _ in rows.pastes]
        for name in dict.fromkeys(names):
            at = np.array([i for i, other in enumerate(names) if other == name])
            shared = np.full((len(at), len(at)), SHARE_OF_PASTE)
            shared[np.diag_indices(len(at))] = 1
            lower = np.linalg.cholesky(shared) * scales[0] * PASTE_RMS / np.sqrt(3)
            for way in range(WAYS):
                root[np.ix_(WAYS * at + way, WAYS * at + way)] = lower
        first = WAYS * len(rows.pastes)
        for i in range(len(rows.operators)):
            root[first + i, first + i] = scales[1] * OPERATOR_SD_MM
        first += len(rows.operators)
        for i in range(len(rows.devices)):
            place = slice(first + 3 * i, first + 3 * i + 3)
            root[place, place] = scales[2] * self.device_unit[i]
        return root

    def precision(self, weight: Floats, covariance: Floats) -> tuple[Floats, Any]:
        """Σ w Jᵀ V⁻¹ J and Σ w Jᵀ V⁻¹ r over all cases."""
        weighed = _inverse(covariance)[0] * weight[:, None, None]
        by_column, columns = self.by_column, self.places
        whole = np.ascontiguousarray(weighed.transpose(1, 2, 0))
        there = [j for j in range(len(columns)) if by_column[j].any()]
        against = {j: (whole * by_column[j]).sum(axis=1) for j in there}
        right = np.zeros(self.size)
        upper = np.zeros(self.size**2)
        diagonal = np.zeros(self.size)
        residual = np.ascontiguousarray(self.rows.residual.T)
        for number, j in enumerate(there):
            own = (against[j] * residual).sum(axis=0)
            right += np.bincount(columns[j], own, self.size)
            for k in there[number:]:
                product_of = (by_column[j] * against[k]).sum(axis=0)
                if k == j:
                    diagonal += np.bincount(columns[j], product_of, self.size)
                else:
                    place = columns[j] * self.size + columns[k]
                    upper += np.bincount(place, product_of, self.size**2)
        square = upper.reshape(self.size, self.size)
        return square + square.T + np.diag(diagonal), right

    def explained(self, mean: Floats) -> Floats:
        """(n, 3): what these means explain of every residual."""
        return np.asarray(np.einsum("nij,nj->ni", self.design, mean[self.columns]))

    def uncertainty(self, covariance: Floats) -> Floats:
        """(n, 3, 3): what the covariance of the numbers leaves open of every outcome."""
        if len(self.rows) > _MANY:
            # By then next to nothing: what the numbers have in common is left out of it.
            found = np.zeros((3, 3, len(self.rows)))
            own = np.diag(covariance)
            for column, place in zip(self.by_column, self.places, strict=True):
                part = own[place] * column
                for i in range(3):
                    for j in range(i + 1):
                        found[i, j] += part[i] * column[j]
            for i in range(3):
                for j in range(i):
                    found[j, i] = found[i, j]
            return np.ascontiguousarray(found.transpose(2, 0, 1))
        own = covariance[self.columns[:, :, None], self.columns[:, None, :]]
        return np.asarray(self.design @ own @ self.design.transpose(0, 2, 1))


def _nodes(size: int) -> list[tuple[float, float, float]]:
    if size <= 160:
        return [(a, b, c) for a, b, c in product(SCALES, repeat=3)]
    # With so many groups each scale is looked at with the others at their prior.
    found = [(1.0, 1.0, 1.0)]
    for axis in range(3):
        for scale in SCALES:
            node = [1.0, 1.0, 1.0]
            node[axis] = scale
            if tuple(node) not in found:
                found.append((node[0], node[1], node[2]))
    return found


def _averaged(roots: Sequence[Floats], precision: Floats, right: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance over all priors, each by its evidence."""
    means, covariances, evidence = [], [], []
    for root in roots:
        inner = np.eye(len(root)) + root.T @ precision @ root
        lower = np.linalg.cholesky(inner)
        half = np.linalg.solve(lower, root.T)
        whitened = half @ right
        means.append(half.T @ whitened)
        covariances.append(half)
        evidence.append(float(whitened @ whitened) / 2 - float(np.log(np.diag(lower)).sum()))
    share = np.exp(np.array(evidence) - max(evidence))
    share /= share.sum()
    mean = np.einsum("k,ki->i", share, np.array(means))
    covariance = np.zeros_like(precision)
    for part, own, half in zip(share, means, covariances, strict=True):
        if part < 1e-6:
            continue
        covariance += part * (half.T @ half + np.outer(own - mean, own - mean))
    return mean, covariance


def _inverse(matrices: Floats) -> tuple[Floats, Floats]:
    """Inverses and determinants of (n, 3, 3) by cofactors: many at once, and well conditioned."""
    m = np.ascontiguousarray(matrices.transpose(1, 2, 0))
    found = np.empty_like(m)
    for i in range(3):
        a, b = (i + 1) % 3, (i + 2) % 3
        for j in range(3):
            c, d = (j + 1) % 3, (j + 2) % 3
            found[j, i] = m[a, c] * m[b, d] - m[a, d] * m[b, c]
    determinant = (m[0] * found[:, 0]).sum(axis=0)
    found /= determinant
    return np.ascontiguousarray(found.transpose(2, 0, 1)), determinant


def _log_normal(residual: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    inverse, determinant = _inverse(covariance)
    squared = np.einsum("ni,nij,nj->n", residual, inverse, residual, optimize=True)
    return squared, -(squared + np.log(determinant)) / 2


def _chance_right(residual: Floats, covariance: Floats, unit: Floats) -> tuple[Floats, Floats]:
    """Squared distance of every outcome, and the chance that it is none of the wrong ones."""
    squared, right = _log_normal(residual, covariance)
    broad = covariance + WRONG_RMS**2 / 3 * unit @ unit.transpose(0, 2, 1)
    _, wrong = _log_normal(residual, broad)
    odds = np.log(WRONG_SHARE / (1 - WRONG_SHARE)) + wrong - right
    return squared, 1 / (1 + np.exp(np.clip(odds, -500, 500)))


def _device_roots(rows: Rows, typical: Floats) -> Floats:
    """(devices, 3, 3): root of the prior covariance of each device's shift."""
    roots = np.empty((len(rows.devices), 3, 3))
    for device in range(len(rows.devices)):
        stated = rows.device_shared[rows.device == device]
        known = stated[np.trace(stated, axis1=1, axis2=2) > 0] if len(stated) else stated
        if len(known):
            values, vectors = np.linalg.eigh(known.mean(axis=0))
            roots[device] = vectors * np.sqrt(np.maximum(values, 0))
        else:
            roots[device] = typical * DEVICE_RMS / np.sqrt(3)
    return roots


#: U of `linear.visible_unit` at a middling tooth colour, L* 74, a* 2, b* 18.
_TYPICAL_UNIT = np.array([[1.27, 0.0, 0.0], [0.0, 0.93, 0.24], [0.0, 0.0, 1.62]])


def _model(rows: Rows) -> _Model:
    typical = rows.unit.mean(axis=0) if len(rows) else _TYPICAL_UNIT
    size = WAYS * len(rows.pastes) + len(rows.operators) + 3 * len(rows.devices)
    noise = MODEL_RMS**2 / 3 * rows.unit @ rows.unit.transpose(0, 2, 1)
    return _Model(rows, noise, _device_roots(rows, typical), size)


def _chance(model: _Model, spread: Floats) -> Floats:
    """(n, 3, 3): what is each case's own: reading, floor, model and hand."""
    rows = model.rows
    by_hand = np.einsum("nli,nlj->nij", rows.by_thickness, rows.by_thickness)
    return np.asarray(
        rows.noise + model.model_noise + spread[rows.operator][:, None, None] * by_hand
    )


def _settled(model: _Model, spread: Floats, passes: int) -> tuple[Floats, Floats, Floats]:
    """Each operator's variance, and each case's chance of being right with its distance."""
    rows = model.rows
    plain = [model.prior((1.0, 1.0, 1.0))]
    # At first against the prior alone, then against what the other cases say.
    chance = _chance(model, spread)
    open_part = model.uncertainty(plain[0] @ plain[0].T)
    distance, weight = _chance_right(rows.residual, chance + open_part, rows.unit)
    for _ in range(passes):
        mean, covariance = _averaged(plain, *model.precision(weight, chance))
        spread = _spread(model, mean, covariance, weight, chance, spread)
        left, open_part = _left_out(model, mean, covariance, weight, chance)
        distance, weight = _chance_right(left, chance + open_part, rows.unit)
        chance = _chance(model, spread)
    return spread, weight, distance


def _some(rows: Rows, count: int) -> Rows:
    """Every so manieth outcome."""
    step = len(rows) // count
    own = {
        one.name: getattr(rows, one.name)[::step]
        for one in fields(rows)
        if isinstance(getattr(rows, one.name), np.ndarray)
    }
    return replace(rows, **own)


def learn(rows: Rows) -> Evidence:
    """The posterior of all groups that `rows` names, those without an outcome among them.

    Same rows, same numbers. Takes time in proportion to the outcomes.
    """
    model = _model(rows)
    roots = [model.prior(node) for node in _nodes(model.size)]
    spread = np.full(len(rows.operators), SPREAD_SD_MM**2)
    if len(rows) == 0:
        zero = np.zeros((model.size, model.size))
        mean, covariance = _averaged(roots, zero, np.zeros(model.size))
        return _evidence(rows, 0.0, mean, covariance, spread, 1.0, SCALE_WEIGHT)
    passes = 8
    if len(rows) > _MANY:
        # The spread settles slowly, and a thousand cases tell it as well.
        spread, _, _ = _settled(_model(_some(rows, 1000)), spread, passes)
        passes = 1
    spread, weight, distance = _settled(model, spread, passes)
    mean, covariance = _averaged(roots, *model.precision(weight, _chance(model, spread)))
    counted = float(weight.sum())
    scale = (SCALE_WEIGHT + float((weight * distance).sum())) / (SCALE_WEIGHT + 3 * counted)
    return _evidence(rows, counted, mean, covariance, spread, scale, SCALE_WEIGHT + 3 * counted)


def _evidence(
    rows: Rows, counted: float, mean: Floats, covariance: Floats, spread: Floats, scale: float,
    dof: float,
) -> Evidence:  # fmt: skip
    return Evidence(
        len(rows),
        counted,
        rows.pastes,
        rows.operators,
        rows.devices,
        tuple(float(x) for x in mean),
        tuple(tuple(float(x) for x in row) for row in covariance),
        tuple(float(x) for x in np.sqrt(spread)),
        scale,
        dof,
        rows.digest(),
    )


def _left_out(
    model: _Model, mean: Floats, covariance: Floats, weight: Floats, chance: Floats
) -> tuple[Floats, Floats]:
    """Every residual against what the other cases predict for it, and how open that is."""
    residual = model.rows.residual - model.explained(mean)
    known = model.uncertainty(covariance)
    share = weight[:, None, None] * known @ _inverse(chance)[0]
    # A case cannot be surer than its own reading makes it.
    back = _inverse(np.eye(3) * (1 + 1e-9) - share)[0]
    return (back @ residual[:, :, None])[:, :, 0], _symmetric(back @ known)


def _symmetric(matrices: Floats) -> Floats:
    return np.asarray((matrices + matrices.transpose(0, 2, 1)) / 2)


def _spread(
    model: _Model, mean: Floats, covariance: Floats, weight: Floats, chance: Floats, spread: Floats
) -> Floats:
    """Each operator's variance of thickness, given what its residuals say of its layers."""
    rows = model.rows
    own = spread[rows.operator]
    residual = rows.residual - model.explained(mean)
    total = chance + model.uncertainty(covariance)
    gain = own[:, None, None] * rows.by_thickness @ _inverse(total)[0]
    error = np.einsum("nli,ni->nl", gain, residual)
    rest = own[:, None] * (1 - np.einsum("nli,nli->nl", gain, rows.by_thickness))
    there = (rows.paste >= 0) * weight[:, None]
    squares = np.bincount(rows.operator, (there * (error**2 + rest)).sum(axis=1), len(spread))
    layers = np.bincount(rows.operator, there.sum(axis=1), len(spread))
    prior = SPREAD_WEIGHT * SPREAD_SD_MM**2
    return np.asarray((prior + squares) / (SPREAD_WEIGHT + layers))
