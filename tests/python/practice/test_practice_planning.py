"""Derivatives, corrected plans and checked outcomes, on the demo pastes."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import made
import numpy as np
import pytest

import mamelon as mm
from mamelon.practice import casework, learning, linear, outcome, planning
from mamelon.practice.library import Library

LAYERS = [mm.PlannedLayer("loam", "dentine", 1.9), mm.PlannedLayer("dew", "enamel", 0.6)]


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> casework.Read:
    file = made.case_file(tmp_path_factory.mktemp("case") / "case.zip")
    return casework.read_target(file, 21, "")


def colour(request: mm.PlanRequest, layers: list[mm.PlannedLayer]) -> np.ndarray:
    lab = mm.predict_plan(request, layers).predicted[0].lab
    return np.array([lab.l, lab.a, lab.b])


def test_derivatives_are_those_of_the_engine(read: casework.Read) -> None:
    known = linear.linearise(read.request, LAYERS)
    middle = colour(read.request, LAYERS)
    np.testing.assert_allclose(known.lab, middle, atol=1e-9)
    shift = np.array([0.2, -0.1, 0.15, 0.1])
    moved = colour(linear.corrected(read.request, {"loam": shift}), LAYERS)
    np.testing.assert_allclose(moved - middle, np.array(known.by_paste[0]) @ shift, atol=0.02)
    thicker = [LAYERS[0], LAYERS[1].replace(thickness_mm=0.62)]
    expected = 0.02 * np.array(known.by_thickness[1])
    np.testing.assert_allclose(colour(read.request, thicker) - middle, expected, atol=0.01)


def test_the_four_ways_of_a_paste_are_equally_visible_and_the_last_is_not(
    read: casework.Read,
) -> None:
    rng = np.random.default_rng(1)
    for name in ("loam", "dew", "chalk"):
        direction = rng.normal(size=3)
        shift = np.r_[0.4 * direction / np.linalg.norm(direction), 0.0]
        paste = linear.paste_named(read.request, name)
        thick = [mm.PlannedLayer(name, paste.role, 8.0)]
        middle = colour(read.request, thick)
        moved = linear.thick_shift(read.request, name, shift)
        assert float(mm.de00(middle, middle + moved)) == pytest.approx(0.4, abs=0.05)
        opaque = linear.thick_shift(read.request, name, np.array([0, 0, 0, 1.0]))
        # 8 mm of a paste are not without end: a little of the black shows, more through enamel.
        assert np.abs(opaque).max() < (0.3 if name == "dew" else 0.2)


def known(read: casework.Read, cases: int = 14, **means: float) -> learning.Evidence:
    """What 14 outcomes would have taught: means of loam, of ann's hand and of the device."""
    lots = planning.lots_of(read.request, {})
    blank = dataclasses.replace(
        learning.learn(made.rows(0)), pastes=lots, operators=("ann",), devices=(read.device,)
    )
    prior = planning.unlearned(blank)
    mean = np.zeros(len(prior.mean))
    mean[4 * lots.index(("loam", ""))] = means.get("loam", 0.0)
    mean[4 * len(lots)] = means.get("hand", 0.0)
    mean[4 * len(lots) + 1] = means.get("device", 0.0)
    small = np.array(prior.covariance) * 0.1
    return dataclasses.replace(
        prior, cases=cases, mean=tuple(mean), covariance=linear.rows(small), digest="d"
    )


def test_below_enough_cases_and_where_it_is_switched_off_the_plan_is_the_documents(
    read: casework.Read,
) -> None:
    plain = mm.plan(read.request)
    layers = [(x.paste, x.thickness_mm) for x in plain.plans[plain.recommended].layers]
    few = planning.plan_with(
        read.request, known(read, 7, loam=1.0, hand=0.3), operator="ann", device=read.device
    )
    off = planning.plan_with(
        read.request, known(read, loam=1.0, hand=0.3), operator="ann", device=read.device, use=False
    )
    for plans in (few, off):
        assert [(x.paste, x.thickness_mm) for x in plans.stacks[0].layers] == layers
        assert plans.evidence == ""
    assert "7 of the 8" in few.told
    assert "left out of this plan, as asked" in off.told


def test_the_hands_bias_is_planned_for_and_said(read: casework.Read) -> None:
    request = read.request
    plans = planning.plan_with(request, known(read, hand=0.2), operator="ann", device=read.device)
    for stack in plans.stacks:
        assert sum(x.thickness_mm for x in stack.layers) == pytest.approx(request.depth_mm)
        made_of = [x.replace(thickness_mm=x.thickness_mm + 0.2) for x in stack.layers]
        np.testing.assert_allclose(stack.colour.lab, colour(request, made_of), atol=1e-9)
    assert "with your 14 cases" in plans.told
    assert "layers come out 0.2 mm thicker than planned" in plans.told
    assert plans.evidence == "d"


def test_what_is_recommended_is_the_librarys_rule(read: casework.Read) -> None:
    for hand in (-0.1, 0.0, 0.2):
        found = planning.plan_with(
            read.request, known(read, hand=hand), operator="ann", device=read.device
        )
        stacks = sorted(found.stacks, key=lambda s: (len(s.layers), s.de00_rms))
        layers = [len(s.layers) for s in stacks]
        chosen = mm.recommended(layers, [s.de00 for s in stacks], [s.de00_rms for s in stacks])
        assert found.stacks[0] == stacks[chosen]


def test_a_lot_and_a_camera_that_are_off_move_the_plan(read: casework.Read) -> None:
    seen = planning.plan_with(
        read.request, known(read, device=1.5), operator="ann", device=read.device
    )
    lighter = planning.plan_with(read.request, known(read), operator="ann", device=read.device)
    # A camera that reads 1.5 too light: the tooth is darker than read.
    assert "the target is taken as 1.5 darker" in seen.told
    shift = np.array([1.5, 0, 0])
    best = seen.stacks[0]
    plain = colour(read.request, list(best.layers))
    np.testing.assert_allclose(np.array(best.colour.lab) - shift, plain, atol=0.05)
    assert best.de00 < lighter.stacks[0].de00 + 1.5
    with pytest.raises(mm.ArgumentError, match="a lot is given of paste 'nettle'"):
        planning.plan_with(
            read.request, known(read), lots={"nettle": "1"}, operator="ann", device=read.device
        )


def test_a_kept_case_solves_to_the_same_bytes_and_documents_stay(tmp_path: Path) -> None:
    file = made.case_file(tmp_path / "case.zip")
    before = mm.to_json(mm.read_case(file).restoration.pastes)
    with Library(tmp_path / "p", create=True) as practice:
        record, plans = casework.add_case(
            practice, file, person="P1", operator="ann", lots={"loam": "7"}, date="2026-01-05"
        )
        first = casework.plans_again(practice, record.id)
        assert repr(first) == repr(plans)
        # What is learnt later changes nothing of it.
        seen = dataclasses.replace(made.outcome().seen, device=record.plan.target.device)
        casework.check_outcome(practice, record.id, made.outcome(seen=seen), keep=True)
        assert repr(casework.plans_again(practice, record.id)) == repr(plans)
        kept = mm.read_case(practice.file(record.id))
        assert mm.to_json(kept.restoration.pastes) == before
        with pytest.raises(mm.ArgumentError, match="kept already"):
            casework.add_case(practice, file, person="P2", date="2026-01-07")


def checked(
    read: casework.Read, move: np.ndarray, **changes: object
) -> tuple[outcome.Checked, linear.Prediction]:
    prediction = linear.linearise(read.request, LAYERS)
    evidence = known(read)
    stated = planning.state(prediction, LAYERS, {}, evidence, "ann", read.device)
    plan = dataclasses.replace(
        made.record("c").plan, prediction=prediction, stated=stated, evidence=evidence,
        layers=tuple(made.PlacedLayer(x.paste, x.thickness_mm) for x in LAYERS), lots={},
        target=dataclasses.replace(
            made.outcome().seen, lab=prediction.lab, device=read.device
        ),
    )  # fmt: skip
    seen = dataclasses.replace(
        made.outcome().seen, lab=tuple(np.array(prediction.lab) + move), device=read.device
    )
    found = outcome.check(plan, made.outcome(seen=seen, **changes), "ann", read.request, evidence)
    return found, prediction


def test_an_outcome_as_predicted_is_no_more_than_chance(read: casework.Read) -> None:
    found, _ = checked(read, np.array([0.3, 0.1, -0.2]))
    assert not found.is_more_than_chance
    assert found.causes == ()
    assert found.change.startswith("nothing")
    assert found.to_prediction.words == "0.3 lighter, 0.2 weaker in chroma, 0.1 redder"


def test_a_layer_that_came_out_thick_is_named_and_the_exchange_said(read: casework.Read) -> None:
    _, known_of = checked(read, np.zeros(3))
    found, _ = checked(read, 1.3 * np.array(known_of.by_thickness[0]))
    assert found.is_more_than_chance
    assert found.causes[0].what == "thickness of loam"
    assert "thicker" in found.causes[0].words
    assert found.change.count("mm") >= 1


def test_uncured_and_dry_are_said_and_teach_nothing(read: casework.Read) -> None:
    found, _ = checked(read, np.array([3.0, 0, 0]), cured=False)
    assert found.change.startswith("cure it")
    assert "not cured" in found.cautions[0]
    dry, _ = checked(read, np.array([3.0, 0, 0]), wet=False)
    assert "the tooth is dry" in dry.cautions[0]
    assert not made.outcome(cured=False).teaches
    assert not made.outcome(wet=False).teaches
