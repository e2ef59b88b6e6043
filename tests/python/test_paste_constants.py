"""Fits of a paste's constants against SciPy and iadpython on the same problems."""

from __future__ import annotations

import pickle
from pathlib import Path

import iadpython
import numpy as np
import numpy.typing as npt
import scipy.optimize

import mamelon

Array = npt.NDArray[np.float64]

GRID = mamelon.Grid(400, 20, 16)
WAVELENGTHS = 400 + 20 * np.arange(16.0)
THICKNESSES = (0.5, 1.0)
BACKINGS = (0.04, 0.8)
THICKNESS_SD, NOISE = 0.02, 0.002
SURFACE = mamelon.interface_of(1.5, False)


def curve(values: Array) -> mamelon.Reflectance:
    return mamelon.Reflectance(GRID, list(map(float, values)))


def kubelka_munk(k: Array, s: Array, d: float, floor: float) -> Array:
    """Kubelka (1948) by sinh and cosh, read through Saunderson's surface."""
    a = (s + k) / s
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * s * d)
    inside = (1 - floor * (a - b * coth)) / (a - floor + b * coth)
    k1, k2 = SURFACE.k1, SURFACE.k2
    return np.asarray((1 - k1) * (1 - k2) * inside / (1 - k2 * inside))


def drawdowns() -> list[mamelon.Drawdown]:
    draws = np.random.default_rng(4)
    k = 0.03 + 0.25 * np.exp(-(((WAVELENGTHS - 390) / 80) ** 2))
    s = 1.1 * (WAVELENGTHS / 550) ** -0.7
    found = []
    for d in THICKNESSES:
        true_mm = d + THICKNESS_SD * draws.standard_normal()
        for floor in BACKINGS:
            seen = kubelka_munk(k, s, true_mm, floor) + NOISE * draws.standard_normal(16)
            found.append(
                mamelon.Drawdown(
                    f"disc {d}",
                    d,
                    "d:8 excluded",
                    "internal",
                    curve(np.full(16, floor)),
                    curve(seen),
                    thickness_sd_mm=THICKNESS_SD,
                    reflectance_sd=NOISE,
                )
            )
    return found


def test_scipy_finds_the_same_optimum() -> None:
    readings = drawdowns()
    fit = mamelon.fit_paste(readings)
    measured = [np.asarray(one.measured) for one in readings]

    def residuals(at: Array) -> Array:
        k, s, errors = np.exp(at[:16]), np.exp(at[16:32]), at[32:]
        rows = []
        for i, reading in enumerate(measured):
            d = THICKNESSES[i // 2] + THICKNESS_SD * errors[i // 2]
            rows.append((kubelka_munk(k, s, d, BACKINGS[i % 2]) - reading) / NOISE)
        # Second differences with sd 0.05 of ln K and 0.001 of ln S per 10 nm step; 20 nm here.
        rows.append(np.diff(at[:16], 2) / (4 * 0.05))
        rows.append(np.diff(at[16:32], 2) / (4 * 1e-3))
        # The levels: about 0.05 and 1 per mm with sd 3 of the mean.
        rows.append((at[:16] - np.log(0.05)) / (3 * 4))
        rows.append(at[16:32] / (3 * 4))
        rows.append(errors)
        return np.concatenate(rows)

    start = np.concatenate([np.full(16, np.log(0.1)), np.zeros(16), np.zeros(2)])
    found = scipy.optimize.least_squares(residuals, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    np.testing.assert_allclose(np.log(np.asarray(fit.absorption)), found.x[:16], atol=2e-5)
    np.testing.assert_allclose(np.log(np.asarray(fit.scattering)), found.x[16:32], atol=2e-5)
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    unit = np.concatenate([np.ones(32), np.full(2, THICKNESS_SD)])
    np.testing.assert_allclose(
        np.asarray(fit.covariance).reshape(34, 34),
        # The fit widens by how far the readings miss it.
        fit.widened**2 * unit[:, None] * covariance * unit,
        rtol=2e-3,
        atol=2e-3 * np.abs(covariance).max() * 1e-3,
    )
    data = residuals(found.x)[: 4 * 16]
    np.testing.assert_allclose(fit.chi_square, data @ data, rtol=1e-6)


def test_iadpython_inverts_our_slabs() -> None:
    """Prahl's inverse adding-doubling finds the constants that our totals were made from.

    It inverts with isotropic scattering (its `Experiment` starts from g = 0), so that is given.
    """
    for absorption, scattering, index in ((0.05, 1.5, 1.0), (0.1, 1.5, 1.5)):
        totals = mamelon.slab_totals(mamelon.Medium(absorption, scattering, 0.0), 1.0, index, 16)
        sample = iadpython.Sample(g=0.0, n=index, d=1.0, quad_pts=16)
        experiment = iadpython.Experiment(r=totals.r_normal, t=totals.t_normal, sample=sample)
        albedo, depth, _ = experiment.invert_rt()
        np.testing.assert_allclose(depth * (1 - albedo), absorption, rtol=5e-3)
        np.testing.assert_allclose(depth * albedo, scattering, rtol=5e-3)


def test_transport_fit_finds_g_and_predicts_with_an_interval() -> None:
    constants = mamelon.TransportConstants(
        mamelon.PerMm(GRID, [0.04] * 16), mamelon.PerMm(GRID, [2.0] * 16), 0.75
    )
    paste = mamelon.Paste(
        "x", "body", constants.absorption, constants.reduced_scattering, transport=constants
    )
    readings = []
    for d in (0.5, 1.0, 2.0):
        for floor in BACKINGS:
            stack = mamelon.Stack(curve(np.full(16, floor)), [mamelon.Layer(paste, d)])
            readings.append(
                mamelon.Drawdown(
                    f"disc {d}",
                    d,
                    "d:8 excluded",
                    "internal",
                    stack.floor,
                    mamelon.predict(stack, "transport", 32),
                    # So wide that no light is lost at an edge.
                    aperture=mamelon.Aperture(1000, 500),
                )
            )
    # With an index and a scale that are known: else they hide what g would tell.
    fit = mamelon.fit_paste(
        readings, engine="transport", model_sd=0.0003, refractive_index_sd=0, scale_sd=0
    )
    assert fit.anisotropy_fitted
    assert abs(fit.anisotropy - 0.75) < 4 * fit.anisotropy_sd
    viewing = mamelon.viewing_from_string("D65/2")
    floor = curve(np.full(16, 0.2))
    predicted = mamelon.predict_fitted(floor, [(fit, 1.2, 0.0), (fit, 0.6, 0.1)], viewing)
    truth = mamelon.Stack(floor, [mamelon.Layer(paste, 1.2), mamelon.Layer(paste, 0.6)])
    seen = np.asarray(mamelon.predict(truth, "transport", 32))
    off = np.abs(seen - np.asarray(predicted.reflectance))
    assert (off < 2.5 * np.asarray(predicted.reflectance_sd)).all()
    both = mamelon.paste_of("x", "body", mamelon.fit_paste(readings, model_sd=0.008), fit)
    assert both.transport is not None
    assert len(mamelon.extrapolations(mamelon.Stack(floor, [mamelon.Layer(both, 2.4)]))) == 1
    prepared = mamelon.PreparedPastes([both])
    again = prepared.predict(floor, [mamelon.PreparedLayer(0, 1.2)])
    alone = mamelon.predict(mamelon.Stack(floor, [mamelon.Layer(both, 1.2)]), "transport")
    assert again == alone
    twin = pickle.loads(pickle.dumps(prepared))
    assert twin.predict(floor, [mamelon.PreparedLayer(0, 1.2)]) == alone
    shown = mamelon.opacity(both, "transport", viewing)
    assert 0 < shown.contrast_ratio < 1
    assert shown.infinite_mm is not None


def test_drawdowns_are_read_and_averaged() -> None:
    file = Path(__file__).resolve().parents[2] / "data/pastes/drawdowns_fawn.csv"
    readings = mamelon.read_drawdowns(file, "D65/2")
    assert len(readings) == 12
    means = mamelon.average_repeats(readings)
    assert [one.specimen for one in means] == ["disc 1"] * 2 + ["disc 2"] * 2 + ["disc 3"] * 2
    first = np.mean([np.asarray(one.measured) for one in readings[:2]], axis=0)
    np.testing.assert_allclose(np.asarray(means[0].measured), first, atol=1e-15)
    report = mamelon.fit_report("fawn", "body", readings, "D65/2", 1.51)
    assert report.paste.transport is not None
    assert "fawn" in mamelon.sheet_html(report)
    assert '"paste": "fawn"' in mamelon.to_json(report)
    # Noise of 0.002, two repeats, 186 differences.
    assert abs(means[0].reflectance_sd * np.sqrt(2) / 0.002 - 1) < 4 / np.sqrt(2 * 186)
