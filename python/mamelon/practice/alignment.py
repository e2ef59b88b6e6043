"""Instruments that read the same specimens, brought into line with one of them or their consensus.

Every instrument reads a specimen's colour through a map of its own, with errors; the specimens'
colours are as unknown as the maps. Both are found together, each weighed by its errors (maximum
likelihood of the functional relationship with errors in all variables: Fuller 1987, Measurement
Error Models; with one axis and two instruments it is Deming's line). What is left is measured on
specimens that were left out. For two instruments and one set as the truth see `mm.fit_transfer`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from mamelon._core import ArgumentError, ModelError, Reading, de00, make_provenance
from mamelon.practice.linear import Floats, as_lab, visible_unit

Form = Literal["offset", "diagonal", "affine"]
FORMS: tuple[Form, ...] = ("offset", "diagonal", "affine")
_PARAMETERS = {"offset": 3, "diagonal": 6, "affine": 12}
CONSENSUS = "consensus"


@dataclass(frozen=True)
class Line:
    """How one instrument is carried into line: reference = matrix · reading + offset.

    `covariance` (12×12) is that of the numbers of `matrix` row by row and `offset`, by leaving out
    one specimen at a time (jackknife). `before` and `after` are root mean squares of ΔE00 to the
    other instruments over specimens left out of the fit; `floor` is what the repeats' own scatter
    would leave. `cause` names a difference of apertures where the readings show it.
    """

    instrument: str
    reference: str
    matrix: tuple[tuple[float, ...], ...]
    offset: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    before: float
    after: float
    floor: float
    cause: str
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class Alignment:
    """All instruments in line; `scores` is the left-out ΔE00 of every form that was tried."""

    form: Form
    reference: str
    lines: tuple[Line, ...]
    specimens: int
    before: float
    after: float
    floor: float
    scores: tuple[tuple[str, float], ...]

    def line(self, instrument: str) -> Line:
        """The line of one instrument; ArgumentError where there is none."""
        for one in self.lines:
            if one.instrument == instrument:
                return one
        known = ", ".join(one.instrument for one in self.lines)
        raise ArgumentError(f"no line of instrument {instrument!r}; there are {known}")


def align(
    readings: Mapping[str, Floats],
    covariances: Mapping[str, Floats],
    *,
    reference: str = CONSENSUS,
    apertures_mm: Mapping[str, float] | None = None,
    translucency: Sequence[float] | None = None,
) -> Alignment:
    """Brings instruments into line by the specimens that all of them read.

    `readings` has for each instrument an array (specimens, 3) of L*, a*, b* in one order,
    `covariances` the 3×3 covariance of one of those values by repeats. Of shift, shift with scale
    by axis, and full linear map the simplest within one standard error of the best on left-out
    specimens is taken. With `apertures_mm` and each specimen's `translucency` (parameter, ΔE00)
    edge loss is looked for: a smaller aperture loses light in a more translucent specimen, and
    reads it darker. Raises ArgumentError for fewer than 2 instruments, fewer than 5 specimens, or
    shapes and names that do not fit; ModelError where no form brings anything into line.
    """
    names = list(readings)
    read = _checked(readings, covariances, reference)
    noise = np.array([np.asarray(covariances[name], dtype=float) for name in names])
    n = read.shape[1]
    tried: dict[Form, Floats] = {}
    for form in FORMS:
        # A map needs specimens beyond its own numbers.
        if n >= _PARAMETERS[form] // 3 + 4:
            tried[form] = _left_out(read, noise, form, _index(names, reference))
    squares = {form: (own**2).mean(axis=(0, 1)) for form, own in tried.items()}
    best = min(tried, key=lambda form: float(squares[form].mean()))
    chosen = best
    for form in tried:
        # By specimens: a specimen's own error stands in all of its pairs.
        gap = squares[form] - squares[best]
        error = float(gap.std(ddof=1) / np.sqrt(n))
        if float(gap.mean()) <= error:
            chosen = form
            break
    raw = _pairs(read)
    after = tried[chosen]
    floor = _floor(read, noise)
    if not float((after**2).mean()) < float((raw**2).mean()) and float(
        (raw**2).mean()
    ) > 1.5 * float((floor**2).mean()):
        raise ModelError("no map brings these instruments nearer to one another than they are")
    maps = _fit(read, noise, chosen, _index(names, reference))
    spread = _jackknife(read, noise, chosen, _index(names, reference))
    lines = []
    for i, name in enumerate(names):
        others = [j for j in range(len(names)) if j != i]

        def rms(values: Floats, row: int = i, columns: list[int] = others) -> float:
            return float(np.sqrt((values[row][columns] ** 2).mean()))

        lines.append(
            Line(
                name, reference, _rows(maps[i, :, :3]), tuple(float(x) for x in maps[i, :, 3]),
                _rows(spread[i]), rms(raw), rms(after), rms(floor),
                _edge_loss(names, read, i, apertures_mm, translucency),
                tuple(float(x) for x in read[i].min(axis=0)),
                tuple(float(x) for x in read[i].max(axis=0)),
            )
        )  # fmt: skip
    return Alignment(
        chosen, reference, tuple(lines), n, _rms(raw), _rms(after), _rms(floor),
        tuple((form, _rms(own)) for form, own in tried.items()),
    )  # fmt: skip


def _rows(matrix: Floats) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(float(x) for x in row) for row in matrix)


def _index(names: Sequence[str], reference: str) -> int:
    return -1 if reference == CONSENSUS else list(names).index(reference)


def _checked(
    readings: Mapping[str, Floats], covariances: Mapping[str, Floats], reference: str
) -> Floats:
    if len(readings) < 2:
        raise ArgumentError(f"alignment needs at least two instruments, not {len(readings)}")
    if reference != CONSENSUS and reference not in readings:
        raise ArgumentError(
            f"the reference must be {CONSENSUS} or one of {', '.join(readings)}, not {reference!r}"
        )
    arrays = []
    for name, values in readings.items():
        rows = np.asarray(values, dtype=float)
        if rows.ndim != 2 or rows.shape[1] != 3 or not np.isfinite(rows).all():
            raise ArgumentError(f"readings of {name} must be finite, of shape (specimens, 3)")
        if name not in covariances or np.asarray(covariances[name]).shape != (3, 3):
            raise ArgumentError(f"instrument {name} needs its 3×3 covariance by repeats")
        if not (np.linalg.eigvalsh(np.asarray(covariances[name], dtype=float)) > 0).all():
            raise ArgumentError(
                f"the covariance of {name} must be positive definite: read each specimen at least "
                "twice"
            )
        arrays.append(rows)
    if len({len(rows) for rows in arrays}) != 1:
        raise ArgumentError("all instruments must have read the same specimens, in one order")
    if len(arrays[0]) < 5:
        raise ArgumentError(f"alignment needs at least 5 specimens, not {len(arrays[0])}")
    return np.array(arrays)


def _regressors(truth: Floats, form: Form) -> list[Floats]:
    ones = np.ones(len(truth))
    if form == "affine":
        return [np.column_stack([truth, ones])] * 3
    return [np.column_stack([truth[:, axis], ones]) for axis in range(3)]


def _fit(read: Floats, noise: Floats, form: Form, reference: int) -> Floats:
    """(instruments, 3, 4): maps from readings to the reference."""
    k = len(read)
    forward = np.zeros((k, 3, 4))
    forward[:, :, :3] = np.eye(3)
    precision = np.linalg.inv(noise)
    truth = read.mean(axis=0) if reference < 0 else read[reference].copy()
    centre = truth.mean(axis=0)
    read = read - centre
    truth = truth - centre
    for _ in range(200):
        for i in range(k):
            if form == "offset":
                forward[i, :, 3] = (read[i] - truth).mean(axis=0)
                continue
            for axis, design in enumerate(_regressors(truth, form)):
                found = np.linalg.lstsq(design, read[i, :, axis], rcond=None)[0]
                if form == "affine":
                    forward[i, axis] = found
                else:
                    forward[i, axis, axis], forward[i, axis, 3] = found
        _normalise(forward, reference)
        # Of the true colours, given the maps: each reading by its own error.
        left = np.zeros((3, 3))
        right = np.zeros_like(truth)
        for i in range(k):
            back = forward[i, :, :3].T @ precision[i]
            left += back @ forward[i, :, :3]
            right += (read[i] - forward[i, :, 3]) @ back.T
        moved = np.linalg.solve(left, right.T).T
        step = float(np.abs(moved - truth).max())
        truth = moved
        if step < 1e-9:
            break
    inverse = np.linalg.inv(forward[:, :, :3])
    offset = -np.einsum("iab,ib->ia", inverse, forward[:, :, 3])
    offset += centre - np.einsum("iab,b->ia", inverse, centre)
    return np.concatenate([inverse, offset[:, :, None]], axis=2)


def _normalise(forward: Floats, reference: int) -> None:
    """Makes the reference's own map, or the mean of all, the identity."""
    whole = forward.mean(axis=0) if reference < 0 else forward[reference].copy()
    inverse = np.linalg.inv(whole[:, :3])
    for own in forward:
        own[:, :3] = own[:, :3] @ inverse
        own[:, 3] = own[:, 3] - own[:, :3] @ whole[:, 3]


def _carried(maps: Floats, read: Floats) -> Floats:
    return np.asarray(np.einsum("iab,inb->ina", maps[:, :, :3], read) + maps[:, None, :, 3])


def _pairs(read: Floats) -> Floats:
    """(k, k, n): ΔE00 between every two instruments on every specimen."""
    return np.asarray(de00(read[:, None], read[None, :]), dtype=float)


def _left_out(read: Floats, noise: Floats, form: Form, reference: int) -> Floats:
    n = read.shape[1]
    found = np.zeros((len(read), len(read), n))
    for one in range(n):
        kept = np.arange(n) != one
        maps = _fit(read[:, kept], noise, form, reference)
        found[:, :, one] = _pairs(_carried(maps, read[:, ~kept]))[:, :, 0]
    return found


def _jackknife(read: Floats, noise: Floats, form: Form, reference: int) -> Floats:
    n = read.shape[1]
    found = np.array(
        [_fit(read[:, np.arange(n) != one], noise, form, reference) for one in range(n)]
    )
    flat = np.concatenate([found[..., :3].reshape(n, len(read), 9), found[..., 3]], axis=2)
    away = flat - flat.mean(axis=0)
    return np.asarray((n - 1) / n * np.einsum("nia,nib->iab", away, away))


def _floor(read: Floats, noise: Floats) -> Floats:
    """(k, k, n): rms ΔE00 that repeats alone leave between two instruments."""
    k, n, _ = read.shape
    found = np.zeros((k, k, n))
    for one in range(n):
        root = np.linalg.inv(visible_unit(read[:, one].mean(axis=0)))
        own = np.array([np.trace(root @ part @ root.T) for part in noise])
        found[:, :, one] = np.sqrt(own[:, None] + own[None, :])
    return found


def _rms(values: Floats) -> float:
    different = ~np.eye(len(values), dtype=bool)
    return float(np.sqrt((values[different] ** 2).mean()))


def _edge_loss(
    names: Sequence[str], read: Floats, i: int, apertures_mm: Mapping[str, float] | None,
    translucency: Sequence[float] | None,
) -> str:  # fmt: skip
    """A sentence where an instrument darkens with translucency as its aperture would have it."""
    if apertures_mm is None or translucency is None or names[i] not in apertures_mm:
        return ""
    from scipy import stats

    if len(translucency) != read.shape[1]:
        raise ArgumentError(
            f"{read.shape[1]} specimens need as many translucencies, not {len(translucency)}"
        )
    others = [j for j in range(len(names)) if j != i and names[j] in apertures_mm]
    if not others or len(set(translucency)) < 3:
        return ""
    away = read[i, :, 0] - read[others, :, 0].mean(axis=0)
    wider = float(np.mean([apertures_mm[names[j]] for j in others]))
    found = stats.linregress(translucency, away)
    own = apertures_mm[names[i]]
    as_expected = (own < wider and found.slope < 0) or (own > wider and found.slope > 0)
    if own == wider or not as_expected or found.pvalue > 0.01:
        return ""
    way = "smaller" if own < wider else "larger"
    size = abs(float(found.slope))
    return (
        f"edge loss: the {way} aperture ({own:g} mm against {wider:g}) reads {size:.2f} "
        f"{'darker' if own < wider else 'lighter'} in L* for every unit of translucency; the map "
        "holds for specimens as translucent as these alone"
    )


def carry(alignment: Alignment, instrument: str, reading: Reading) -> Reading:
    """The reading as the reference would give it; its warnings say in which line it stands.

    Its covariance is carried through the map, and the map's own uncertainty joins the shared part.
    """
    line = alignment.line(instrument)
    matrix, offset = np.array(line.matrix), np.array(line.offset)
    value = reading.lab.value
    read = np.array([value.l, value.a, value.b])
    by_numbers = np.hstack([np.kron(np.eye(3), read), np.eye(3)])
    own = by_numbers @ np.array(line.covariance) @ by_numbers.T
    shared = matrix @ np.asarray(reading.lab.shared) @ matrix.T + own
    random = matrix @ np.asarray(reading.lab.random) @ matrix.T
    words = [f"in line with {line.reference} (from {instrument}, ΔE00 {line.after:.2f} left)"]
    if (read < line.low).any() or (read > line.high).any():
        words.append("its colour lies outside the specimens that brought the instrument into line")
    return reading.replace(
        lab=reading.lab.replace(
            value=as_lab(matrix @ read + offset),
            random=(random + random.T) / 2,
            shared=(shared + shared.T) / 2,
        ),
        reflectance=None,
        warnings=(*reading.warnings, *words),
        provenance=make_provenance(
            "align", f"{instrument} to {line.reference}: {line.matrix} {line.offset}",
            [reading.provenance.digest],
        ),
    )  # fmt: skip


@dataclass(frozen=True)
class Drifted:
    """How one instrument or specimen moved between two sessions; `p_value` of no move."""

    name: str
    move: tuple[float, ...]
    de00: float
    p_value: float


def drift_of_line(
    earlier: Mapping[str, Floats], later: Mapping[str, Floats],
    covariances: Mapping[str, Floats], specimens: Sequence[str],
) -> tuple[tuple[Drifted, ...], tuple[Drifted, ...]]:  # fmt: skip
    """Drift of the instruments, and of the specimens, between two sessions.

    What one instrument sees move on all specimens is its own drift; what all instruments see move
    on one specimen is that specimen's. A move common to all of both cannot be told apart and is
    given to the instruments, by the median over the specimens, so that a few that aged do not count
    as drift. Raises ArgumentError for sets that differ between the sessions.
    """
    from scipy import stats

    if set(earlier) != set(later) or len(earlier) < 2:
        raise ArgumentError("both sessions need the same instruments, at least two")
    names = list(earlier)
    moves = np.array([np.asarray(later[n], float) - np.asarray(earlier[n], float) for n in names])
    if moves.shape[1:] != (len(specimens), 3) or len(specimens) < 3:
        raise ArgumentError("every session needs readings (specimens, 3) of at least 3 specimens")
    noise = np.array([2 * np.asarray(covariances[name], float) for name in names])
    weight = np.linalg.inv(noise)
    total = np.linalg.inv(weight.sum(axis=0))
    instrument = np.median(moves, axis=1)
    for _ in range(20):
        specimen = np.einsum("ab,ibc,inc->na", total, weight, moves - instrument[:, None])
        specimen -= np.median(specimen, axis=0)
        instrument = np.median(moves - specimen[None], axis=1)
    middle = np.mean([np.asarray(earlier[n], float) for n in names], axis=0)

    def moved(name: str, move: Floats, covariance: Floats, at: Floats) -> Drifted:
        squared = float(move @ np.linalg.solve(covariance, move))
        return Drifted(
            name, tuple(float(x) for x in move), float(de00(at, at + move)),
            float(stats.chi2.sf(squared, 3)),
        )  # fmt: skip

    n = len(specimens)
    # The median of n normal values has π/2 times the variance of their mean.
    return (
        tuple(
            moved(name, instrument[i], noise[i] * np.pi / 2 / n, middle.mean(axis=0))
            for i, name in enumerate(names)
        ),
        tuple(moved(name, specimen[j], total, middle[j]) for j, name in enumerate(specimens)),
    )
