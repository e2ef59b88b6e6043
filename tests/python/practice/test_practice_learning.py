"""What outcomes teach, against the same Gaussian problem solved whole."""

from __future__ import annotations

import dataclasses

import made
import numpy as np
import pytest

import mamelon as mm
from mamelon.practice import learning, planning


def test_the_posterior_is_that_of_the_whole_gaussian_problem(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # One prior, no wrong case, the spread known: then it is one joint normal distribution, whose
    # conditional mean and covariance are the textbook's (Rasmussen, Williams 2006, A.6).
    monkeypatch.setattr(learning, "SCALES", (1.0,))
    monkeypatch.setattr(learning, "WRONG_SHARE", 1e-300)
    monkeypatch.setattr(learning, "SPREAD_WEIGHT", 1e12)
    rows = made.rows(12)
    found = learning.learn(rows)
    size = 4 * 6 + 2 + 3
    prior = np.zeros((size, size))
    prior[:24, :24] = np.eye(24) * 0.8**2 / 3
    prior[24:26, 24:26] = np.eye(2) * 0.2**2
    prior[26:, 26:] = np.array(made.UNIT) @ np.array(made.UNIT).T / 3
    design, chance = np.zeros((36, size)), np.zeros((36, 36))
    for i in range(12):
        at = slice(3 * i, 3 * i + 3)
        own = rows.noise[i] + learning.MODEL_RMS**2 / 3 * rows.unit[i] @ rows.unit[i].T
        for layer in range(2):
            place = 4 * rows.paste[i, layer]
            design[at, place : place + 4] += rows.by_paste[i, layer]
            design[at, 24 + rows.operator[i]] += rows.by_thickness[i, layer]
            own = own + 0.2**2 * np.outer(rows.by_thickness[i, layer], rows.by_thickness[i, layer])
        design[at, 26:] = np.eye(3)
        chance[at, at] = own
    gain = prior @ design.T @ np.linalg.inv(design @ prior @ design.T + chance)
    np.testing.assert_allclose(found.mean, gain @ rows.residual.ravel(), atol=1e-8)
    np.testing.assert_allclose(found.covariance, prior - gain @ design @ prior, atol=1e-8)


def test_lots_of_one_paste_lean_on_each_other_and_on_no_other_paste() -> None:
    rows = made.rows(40, bias=1.5)
    names = (("p", "1"), ("p", "2"), ("q", ""), ("r", ""), ("s", ""), ("t", ""))
    more = dataclasses.replace(rows, pastes=(*names, ("p", "new"), ("z", "")))
    found = learning.learn(more)
    known = (found.of_paste(("p", "1")) + found.of_paste(("p", "2"))) / 2
    new = found.of_paste(("p", "new"))
    assert np.linalg.norm(new) > 0.05
    assert new @ known > 0.5 * np.linalg.norm(new) * np.linalg.norm(known)
    np.testing.assert_allclose(found.of_paste(("z", "")), 0, atol=1e-12)


@pytest.mark.parametrize("size", [5.0, 8.0, 15.0, 60.0])
@pytest.mark.parametrize("seed", range(3))
def test_one_gross_outcome_moves_nothing_by_more_than_a_fifth(size: float, seed: int) -> None:
    rows = made.rows(20, seed)
    before = learning.learn(made.without(rows, 7))
    rng = np.random.default_rng(seed + 50)
    away = rng.normal(size=3)
    wrong = rows.residual.copy()
    wrong[7] += np.array(made.UNIT) @ (size * away / np.linalg.norm(away))
    after = learning.learn(dataclasses.replace(rows, residual=wrong))
    moved = np.abs(np.array(after.mean) - np.array(before.mean))
    assert moved.max() <= 0.2
    assert after.counted == pytest.approx(before.counted, abs=0.2)


def open_colour(found: learning.Evidence) -> float:
    """How open the colour of a usual stack is, in ΔE00, beside each case's own chance."""
    layers = [mm.PlannedLayer("paste0", "body", 1.6), mm.PlannedLayer("paste4", "enamel", 0.6)]
    known = planning.state(made.PREDICTION, layers, {}, found, "ann", made.CAMERA)
    away = np.linalg.inv(np.array(made.UNIT)) @ np.linalg.cholesky(np.array(known.covariance))
    return float(np.sqrt((away**2).sum()))


def test_intervals_narrow_with_evidence_and_widen_with_surprise() -> None:
    none, many = learning.learn(made.rows(0)), learning.learn(made.rows(60))
    assert open_colour(many) < 0.8 * open_colour(none)
    calm = made.rows(60)
    noisy = dataclasses.replace(
        calm, residual=calm.residual + 1.2 * np.random.default_rng(9).normal(size=(60, 3))
    )
    assert open_colour(learning.learn(noisy)) > 1.2 * open_colour(learning.learn(calm))


def test_where_nothing_is_biased_next_to_nothing_is_corrected() -> None:
    sizes = []
    for seed in range(5):
        found = learning.learn(made.rows(20, seed, bias=0.0))
        sizes += [float(np.linalg.norm(found.of_paste(lot))) for lot in found.pastes]
    assert np.mean(sizes) < 0.15


def test_many_outcomes_are_learnt_from_as_few_are(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = made.rows(3000)
    monkeypatch.setattr(learning, "_MANY", 5000)
    exact = learning.learn(rows)
    monkeypatch.setattr(learning, "_MANY", 2000)
    quick = learning.learn(rows)
    np.testing.assert_allclose(quick.mean, exact.mean, atol=0.03)
    np.testing.assert_allclose(quick.spread_mm, exact.spread_mm, atol=0.02)


def test_the_digest_names_the_evidence_and_not_how_it_was_numbered() -> None:
    rows = made.rows(10)
    order = [2, 0, 1, 5, 4, 3]
    place = np.argsort(order)
    again = dataclasses.replace(
        rows,
        pastes=tuple(rows.pastes[i] for i in order),
        paste=np.where(rows.paste >= 0, place[rows.paste], -1),
    )
    assert again.digest() == rows.digest()
    np.testing.assert_allclose(
        learning.learn(again).of_paste(("paste3", "")),
        learning.learn(rows).of_paste(("paste3", "")),
    )
    assert made.without(rows, 3).digest() != rows.digest()


def test_nothing_is_known_before_any_outcome() -> None:
    found = learning.learn(made.rows(0))
    assert not found.is_enough
    assert found.cases == 0
    assert not np.any(found.mean)
    assert (np.diag(np.array(found.covariance)) > 0).all()
