"""A predicted colour with its derivatives: what a change of paste, thickness or floor does to it.

A paste has four ways to differ from its document, in units of ΔE00: three that shift the colour of
a thick layer of it (absorption, over three smooth curves of wavelength, so that the three shifts
are equally visible in every direction), and one that makes it more or less opaque and leaves that
colour as it is (absorption and scattering together). Derivatives are differences of `predict_plan`,
so they belong to the engine that planned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mamelon._core import (
    ArgumentError,
    Grid,
    Lab,
    ModelError,
    Paste,
    PerMm,
    PlannedLayer,
    PlanRequest,
    Reflectance,
    de00,
    predict_plan,
)

Floats = NDArray[np.float64]

WAYS = 4
# Relative change of opacity that goes with a colour shift of ΔE00 1: a lot that is 0.8 off in
# colour is some 5 % off in scattering (an assumption; outcomes correct it).
OPACITY_PER_UNIT = 0.06
# Error of a floor's reflectance where none is stated, as a share of it (an assumption).
FLOOR_SHARE = 0.05
_THICK_MM = 8.0
_STEP = 0.01
_STEP_MM = 0.05


@dataclass(frozen=True)
class Prediction:
    """Colour of a stack and its derivatives; layers from the floor outward.

    `by_paste` holds for each layer 3 rows (L*, a*, b*) of `WAYS` derivatives; a paste that is used
    twice has those of both layers in the first. `by_thickness` is L*, a*, b* per mm of each layer.
    `floor` is the 3×3 covariance that the floor's stated errors give, or `FLOOR_SHARE` of it where
    none are stated. `unit` turns three equally visible shifts of ΔE00 1 into L*, a*, b* here.
    """

    lab: tuple[float, ...]
    by_paste: tuple[tuple[tuple[float, ...], ...], ...]
    by_thickness: tuple[tuple[float, ...], ...]
    floor: tuple[tuple[float, ...], ...]
    unit: tuple[tuple[float, ...], ...]


def rows(matrix: Floats) -> tuple[tuple[float, ...], ...]:
    """A matrix as it is kept in a document."""
    return tuple(tuple(float(x) for x in row) for row in matrix)


def visible_unit(lab: Floats) -> Floats:
    """3×3 U with ΔE00(lab, lab + U z) ≈ |z| for small z."""
    step = 0.02
    axes = np.eye(3) * step

    def squared(move: Floats) -> float:
        return float(de00(lab - move / 2, lab + move / 2)) ** 2

    own = [squared(axes[i]) for i in range(3)]
    metric = np.diag(own)
    for i in range(3):
        for j in range(i):
            metric[i, j] = metric[j, i] = (squared(axes[i] + axes[j]) - own[i] - own[j]) / 2
    return np.asarray(np.linalg.inv(np.linalg.cholesky(metric / step**2)).T)


def _curves(grid: Grid) -> Floats:
    """Three smooth curves over the bands, of ln K: level, slope and bend."""
    nm = grid.first_nm + grid.step_nm * np.arange(grid.count)
    x = (nm - 550) / 150
    return np.array([np.ones_like(x), x, x**2 - 1 / 3])


def _scaled(spectrum: PerMm, factor: Floats) -> PerMm:
    # What is nearly none stays within what a paste may have.
    return PerMm(spectrum.grid, np.maximum(np.asarray(spectrum.values) * factor, 1e-9))


def _changed(paste: Paste, log_absorption: Floats, log_opacity: float) -> Paste:
    """The paste with its ln K moved by that much at every band, and both constants by opacity."""
    up = np.exp(log_absorption + log_opacity)
    even = np.full_like(up, np.exp(log_opacity))
    transport = paste.transport
    if transport is not None:
        own = _curves_on(transport.absorption.grid, paste.absorption.grid, log_absorption)
        transport = transport.replace(
            absorption=_scaled(transport.absorption, np.exp(own + log_opacity)),
            reduced_scattering=_scaled(
                transport.reduced_scattering, np.full_like(own, np.exp(log_opacity))
            ),
        )
    return paste.replace(
        absorption=_scaled(paste.absorption, up),
        scattering=_scaled(paste.scattering, even),
        transport=transport,
    )


def _curves_on(grid: Grid, given: Grid, values: Floats) -> Floats:
    nm = grid.first_nm + grid.step_nm * np.arange(grid.count)
    at = given.first_nm + given.step_nm * np.arange(given.count)
    return np.asarray(np.interp(nm, at, values))


def _with(request: PlanRequest, changed: Sequence[Paste]) -> PlanRequest:
    """The request with the stack's pastes alone, those of `changed` in place of their own."""
    return request.replace(
        pastes=request.pastes.replace(pastes=tuple(changed)),
        illuminants=(),
        illuminant_weights=(),
    )


def _colour(request: PlanRequest, layers: Sequence[PlannedLayer]) -> Floats:
    # The first prediction is under the target's own viewing.
    lab = predict_plan(request, layers).predicted[0].lab
    return np.array([lab.l, lab.a, lab.b])


def paste_named(request: PlanRequest, name: str) -> Paste:
    """The paste of that name; ArgumentError where the set has none."""
    for paste in request.pastes.pastes:
        if paste.name == name:
            return paste
    raise ArgumentError(f"paste {name!r} is not in set {request.pastes.name!r}")


def ways_of(request: PlanRequest, name: str) -> Floats:
    """(bands, 3): ln K by wavelength for each of the three equally visible shifts of a paste.

    Raises ModelError for a paste whose thick colour absorption cannot move, such as one of none.
    """
    paste = paste_named(request, name)
    curves = _curves(paste.absorption.grid)
    thick = [PlannedLayer(name, paste.role, _THICK_MM)]
    plain = np.zeros_like(curves[0])

    def colour(log_absorption: Floats) -> Floats:
        own = _changed(paste, log_absorption, 0.0)
        return _colour(_with(request, [own]), thick)

    middle = colour(plain)
    slopes = np.array([(colour(_STEP * 2 * c) - middle) / (2 * _STEP) for c in curves]).T
    unit = visible_unit(middle)
    if np.linalg.cond(slopes) > 1e6:
        raise ModelError(f"the colour of paste {name!r} does not follow its absorption")
    return np.asarray((np.linalg.solve(slopes, unit).T @ curves).T)


def corrected(request: PlanRequest, shifts: dict[str, Floats]) -> PlanRequest:
    """The request with pastes moved by `shifts`: by name, `WAYS` numbers in ΔE00.

    Only this value of them: the document that they came from stays as it is.
    """
    pastes = []
    for paste in request.pastes.pastes:
        shift = shifts.get(paste.name)
        if shift is None or not np.any(shift):
            pastes.append(paste)
            continue
        pastes.append(
            _changed(
                paste,
                ways_of(request, paste.name) @ shift[:3],
                float(OPACITY_PER_UNIT * shift[3]),
            )
        )
    return request.replace(pastes=request.pastes.replace(pastes=tuple(pastes)))


def thick_shift(request: PlanRequest, name: str, shift: Floats) -> Floats:
    """By how much L*, a*, b* of a thick layer of a paste move with `shift`."""
    paste = paste_named(request, name)
    layer = [PlannedLayer(name, paste.role, _THICK_MM)]
    moved = corrected(_with(request, [paste]), {name: shift})
    return np.asarray(_colour(moved, layer) - _colour(_with(request, [paste]), layer))


def linearise(request: PlanRequest, layers: Sequence[PlannedLayer]) -> Prediction:
    """Colour and derivatives of a stack, under the target's own viewing.

    Raises ArgumentError for a paste that the set lacks or a thickness that is not above 0, and
    ModelError as `predict_plan` and `ways_of` do.
    """
    names = list(dict.fromkeys(layer.paste for layer in layers))
    pastes = [paste_named(request, name) for name in names]
    small = _with(request, pastes)
    middle = _colour(small, layers)
    own: dict[str, Floats] = {}
    for at, name in enumerate(names):
        ways = ways_of(small, name)
        moves = [(ways[:, k], 0.0) for k in range(3)] + [(0 * ways[:, 0], OPACITY_PER_UNIT)]
        slopes = []
        for log_absorption, log_opacity in moves:
            ends = []
            for step in (-0.1, 0.1):
                changed = list(pastes)
                changed[at] = _changed(pastes[at], step * log_absorption, step * log_opacity)
                ends.append(_colour(_with(request, changed), layers))
            slopes.append((ends[1] - ends[0]) / 0.2)
        own[name] = np.array(slopes).T
    by_thickness = []
    for at, layer in enumerate(layers):
        # Inward only as far as there is something of the layer.
        step = min(_STEP_MM, layer.thickness_mm / 2)
        ends = []
        for sign in (-1, 1):
            moved = list(layers)
            moved[at] = layer.replace(thickness_mm=layer.thickness_mm + sign * step)
            ends.append(_colour(small, moved))
        by_thickness.append((ends[1] - ends[0]) / (2 * step))
    floor = np.zeros((3, 3))
    own_floor = np.asarray(request.floor.values)
    errors = [np.asarray(error.values) for error in request.floor_errors]
    for error in errors or [FLOOR_SHARE * own_floor]:
        values = np.clip(own_floor + error, 0.001, 0.999)
        changed_floor = Reflectance(request.floor.grid, values)
        shifted = _colour(small.replace(floor=changed_floor), layers) - middle
        floor += np.outer(shifted, shifted)
    # A paste that stands in two layers moves both at once: its derivative is given once.
    seen: set[str] = set()
    by_paste = []
    for layer in layers:
        by_paste.append(rows(own[layer.paste] * (layer.paste not in seen)))
        seen.add(layer.paste)
    return Prediction(
        tuple(float(x) for x in middle),
        tuple(by_paste),
        rows(np.array(by_thickness)),
        rows(floor),
        rows(visible_unit(middle)),
    )


def as_lab(values: Floats) -> Lab:
    """Three numbers as a colour."""
    return Lab(float(values[0]), float(values[1]), float(values[2]))
