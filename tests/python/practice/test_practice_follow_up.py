"""Visits, calibration of the tool, instruments in line, and what a paper says."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import made
import matplotlib as mpl
import numpy as np
import pytest
from scipy import stats

import mamelon as mm
from mamelon.practice import alignment, calibration, export, follow_up, paper
from mamelon.practice.document import Record, Seen, Visit, VisitReading, with_outcome

mpl.use("Agg")

NOISE = np.diag([0.2, 0.1, 0.15]) ** 2


def visit(date: str, teeth: dict[int, Any], references: tuple[int, ...] = ()) -> Visit:
    return Visit(
        date,
        tuple(
            VisitReading(tooth, Seen(tuple(lab), made.NOISE), tooth in references)
            for tooth, lab in teeth.items()
        ),
    )


def test_a_cameras_shift_is_told_from_the_tooths_by_reference_teeth() -> None:
    first = visit("2026-01-01", {21: (70, 2, 18), 12: (71, 2, 17), 22: (69, 3, 19)}, (12, 22))
    second = visit("2026-02-01", {21: (74, 1, 15), 12: (72, 2, 17), 22: (70, 3, 19)}, (12, 22))
    (found,) = follow_up.changes([first, second])
    assert found.references == 2
    assert found.camera_shift == pytest.approx((1.0, 0, 0), abs=0.15)
    assert found.lab[0].estimate == pytest.approx(3.0, abs=0.15)
    assert found.lab[0].low < 3.0 < found.lab[0].high
    # WI_D = 0.511 L* − 2.324 a* − 1.100 b* (Perez et al. 2016).
    assert found.whiteness.estimate == pytest.approx(0.511 * 3 + 2.324 + 3.3, abs=0.1)
    assert found.whiteness_word == "beyond acceptability"
    (alone,) = follow_up.changes(
        [visit("2026-01-01", {21: (70, 2, 18)}), visit("2026-02-01", {21: (74, 1, 15)})]
    )
    assert alone.references == 0
    assert alone.lab[0].high - alone.lab[0].low > 1.5 * (found.lab[0].high - found.lab[0].low)


def test_intervals_of_a_change_hold_as_often_as_they_say() -> None:
    rng = np.random.default_rng(5)
    held = []
    for _ in range(400):
        shift = rng.normal(size=3) * 0.7 * np.sqrt(2)
        noise = np.sqrt(np.diag(np.array(made.NOISE)))
        labs = {21: (70, 2, 18), 12: (71, 2, 17), 22: (69, 3, 19)}
        first = {t: np.array(lab) + noise * rng.normal(size=3) for t, lab in labs.items()}
        later = {t: np.array(lab) + shift + noise * rng.normal(size=3) for t, lab in labs.items()}
        later[21] = later[21] + np.array([3.0, -1, -3])
        (found,) = follow_up.changes(
            [visit("2026-01-01", first, (12, 22)), visit("2026-02-01", later, (12, 22))]
        )
        held.append(found.whiteness.low <= 0.511 * 3 + 2.324 + 3.3 <= found.whiteness.high)
    assert 0.92 <= np.mean(held) <= 0.98


@pytest.mark.parametrize(
    ("visits", "said"),
    [
        ([visit("2026-01-01", {21: (70, 2, 18)})], "at least two visits"),
        ([visit("2026-01-02", {21: (70, 2, 18)}), visit("2026-01-01", {21: (70, 2, 18)})],
         "must come after"),
    ],
)  # fmt: skip
def test_visits_that_make_no_series_are_refused(visits: Any, said: str) -> None:
    with pytest.raises(mm.ArgumentError, match=said):
        follow_up.changes(visits)


def test_a_mixed_model_over_persons_finds_the_visits_effect() -> None:
    import pandas as pd

    from mamelon.study.mixed import change_over_visits

    rng = np.random.default_rng(1)
    rows = []
    for person in range(25):
        own = 2 * rng.normal()
        for tooth in (11, 21):
            other = rng.normal()
            for name, effect in (("2026-01", 0.0), ("2026-02", 3.0), ("2026-06", 2.0)):
                rows.append((person, tooth, name, own + other + effect + 0.7 * rng.normal()))
    table = pd.DataFrame(rows, columns=["person", "tooth", "visit", "whiteness"])
    found = change_over_visits(table, "whiteness")
    assert [one.visit for one in found.effects] == ["2026-02", "2026-06"]
    for one, true in zip(found.effects, (3.0, 2.0), strict=True):
        assert one.change.low < true < one.change.high
    # Far apart persons widen nothing: they are their own comparison.
    assert found.effects[0].change.high - found.effects[0].change.low < 0.9
    assert found.residual_sd == pytest.approx(0.7, abs=0.15)
    with pytest.raises(mm.ArgumentError, match="three persons"):
        change_over_visits(table[table.person < 2], "whiteness")


def with_level(number: int, level: float) -> Record:
    """A record whose outcome lies just at that level of what was stated of sound outcomes."""
    record = made.record(f"c{number}")
    assert record.plan is not None
    away = np.sqrt(3 * stats.f.ppf(level, 3, record.plan.stated.dof))
    total = np.array(record.plan.stated.covariance) + np.array(made.NOISE)
    move = np.linalg.cholesky(total) @ np.array([away, 0, 0])
    return with_outcome(record, made.outcome(tuple(np.array(record.plan.stated.lab) + move)))


def test_the_tools_own_calibration_counts_what_held() -> None:
    levels = np.linspace(0.025, 0.975, 20)
    placed = calibration.place_outcomes([with_level(i, x) for i, x in enumerate(levels)])
    # One outcome in 20 is taken for wrong, and of those next to none lies so near.
    np.testing.assert_allclose([one.level for one in placed], 0.95 * levels, atol=0.012)
    found = calibration.levels_held(placed)
    counts = [(one.level, one.within) for one in found if one.group == "all"]
    assert counts == [(0.5, 11), (0.8, 17), (0.95, 20)]
    assert all(one.is_as_stated for one in found)
    assert {one.group for one in found} == {"all", "paste", "camera", "light"}
    ax = calibration.calibration_axes(placed)
    assert ax.get_xlabel() == "stated"
    with pytest.raises(mm.ArgumentError, match="no kept case has an outcome"):
        calibration.levels_held([])


def test_binomial_intervals_are_scipys() -> None:
    for within, cases in ((0, 7), (7, 7), (3, 10), (19, 20)):
        exact = stats.binomtest(within, cases).proportion_ci(0.95, "exact")
        found = calibration.binomial(within, cases)
        assert (found.low, found.high) == pytest.approx((exact.low, exact.high))


def ring(seed: int, n: int = 24, instruments: str = "ABCDE") -> tuple[dict[str, Any], Any, Any]:
    rng = np.random.default_rng(seed)
    truth = np.column_stack([rng.uniform(60, 82, n), rng.uniform(-1, 6, n), rng.uniform(8, 30, n)])
    read = {}
    for name in instruments:
        matrix = np.eye(3) + 0.04 * rng.normal(size=(3, 3))
        noise = rng.normal(size=(n, 3)) * np.sqrt(np.diag(NOISE))
        read[name] = truth @ matrix.T + 2 * rng.normal(size=3) + noise
    return read, dict.fromkeys(instruments, NOISE), truth


@pytest.mark.parametrize("reference", ["consensus", "B"])
def test_a_ring_is_brought_into_line_down_to_its_noise(reference: str) -> None:
    ratios = []
    for seed in range(3):
        read, noise, _ = ring(seed)
        found = alignment.align(read, noise, reference=reference)
        assert found.before > 3
        ratios.append(found.after / found.floor)
    assert np.mean(ratios) <= 1.2
    if reference == "B":
        np.testing.assert_allclose(found.line("B").matrix, np.eye(3), atol=1e-9)


def test_two_instruments_and_one_axis_give_demings_line() -> None:
    # Deming 1943: the slope with equal errors, in closed form.
    rng = np.random.default_rng(3)
    truth = np.column_stack([rng.uniform(50, 90, 30), np.full(30, 2.0), np.full(30, 15.0)])
    error = 1.0 * rng.normal(size=(2, 30, 3))
    read = {"x": truth + error[0], "y": 1.1 * truth + 2 + error[1]}
    x, y = read["x"][:, 0], read["y"][:, 0]
    sxx, syy, sxy = x.var(), y.var(), ((x - x.mean()) * (y - y.mean())).mean()
    slope = (syy - sxx + np.sqrt((syy - sxx) ** 2 + 4 * sxy**2)) / (2 * sxy)
    maps = alignment._fit(
        np.array([read["x"], read["y"]]), np.array([np.eye(3)] * 2), "diagonal", 0
    )
    assert maps[1, 0, 0] == pytest.approx(1 / slope, rel=1e-4)


def test_edge_loss_is_named_where_apertures_differ_as_it_would_have_it() -> None:
    read, noise, _ = ring(1, instruments="AB")
    translucency = np.linspace(2, 18, 24)
    read["A"] = read["B"] + np.random.default_rng(1).normal(size=(24, 3)) * 0.1
    read["A"][:, 0] -= 0.15 * translucency
    small = {"A": 3.0, "B": 8.0}
    found = alignment.align(read, noise, apertures_mm=small, translucency=translucency.tolist())
    assert "smaller aperture (3 mm against 8)" in found.line("A").cause
    other = alignment.align(
        read, noise, apertures_mm={"A": 8.0, "B": 3.0}, translucency=translucency.tolist()
    )
    assert other.line("A").cause == ""


def test_a_carried_reading_says_in_which_line_it_stands() -> None:
    read, noise, _ = ring(2)
    found = alignment.align(read, noise, reference="B")
    lab = mm.Measured(mm.Lab(*read["A"][0]), random=NOISE)
    carried = alignment.carry(found, "A", mm.Reading("x", lab, "D65/2"))
    assert float(mm.de00(carried.lab.value, read["B"][0])) < 1.0
    assert carried.warnings[0].startswith("in line with B (from A")
    assert np.trace(carried.lab.shared) > 0
    far = mm.Reading("x", mm.Measured(mm.Lab(20, 0, 0), random=NOISE), "D65/2")
    assert "outside the specimens" in alignment.carry(found, "A", far).warnings[-1]
    with pytest.raises(mm.ArgumentError, match="no line of instrument 'Z'"):
        found.line("Z")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda r, c: r.pop("B"), "at least two instruments"),
        (lambda r, c: r.update(B=r["B"][:10]), "the same specimens"),
        (lambda r, c: r["B"].__setitem__((0, 0), np.nan), "readings of B must be finite"),
        (lambda r, c: c.update(B=np.zeros((3, 3))), "covariance of B must be positive"),
        (lambda r, c: r.update({k: v[:4] for k, v in r.items()}), "at least 5 specimens"),
    ],
)
def test_a_ring_that_is_none_is_refused(change: Any, said: str) -> None:
    read, noise, _ = ring(1, instruments="AB")
    change(read, noise)
    with pytest.raises(mm.ArgumentError, match=said):
        alignment.align(read, noise)


def test_an_instruments_drift_is_told_from_a_specimens() -> None:
    rng = np.random.default_rng(4)
    truth = np.column_stack(
        [rng.uniform(60, 82, 12), rng.uniform(0, 5, 12), rng.uniform(9, 28, 12)]
    )
    root = np.sqrt(np.diag(NOISE))
    early = {k: truth + rng.normal(size=(12, 3)) * root for k in "ABC"}
    aged = truth.copy()
    aged[3] += [-2, 0.5, 2]
    late = {k: aged + rng.normal(size=(12, 3)) * root for k in "ABC"}
    late["B"] = late["B"] + [1.0, 0, 0]
    instruments, specimens = alignment.drift_of_line(
        early, late, dict.fromkeys("ABC", NOISE), [f"s{i}" for i in range(12)]
    )
    assert [one.name for one in instruments if one.p_value < 0.001] == ["B"]
    assert [one.name for one in specimens if one.p_value < 0.001] == ["s3"]


def test_a_papers_table_and_paragraph_say_what_is_missing(tmp_path: Path) -> None:
    case = mm.read_case(made.case_file(tmp_path / "c.zip"))
    found = paper.reporting_of(case, "abcdef", geometry="45/0", backing="black")
    assert found.missing() == ("instrument", "aperture", "repeatability")
    table = dict(paper.reporting_table(found))
    assert table["illuminant"] == "CIE D65"
    assert table["observer"] == "2°"
    assert table["formula"] == "CIEDE2000 (1:1:1)"
    assert table["aperture"] == paper.MISSING
    text = paper.reporting_paragraph(found)
    assert "[aperture: not stated]" in text
    gingiva = paper.reporting_of(case, "abcdef", gingiva=True)
    assert "PT 1.1, AT 2.8" in gingiva.thresholds


def test_sample_sizes_are_the_textbooks() -> None:
    # Cohen 1988, Statistical Power Analysis, table 2.4.1 (two-sided 5 %): d = 0.5 → 64, 0.8 → 26.
    assert paper.per_group(1.0, 0.5) == 64
    assert paper.per_group(1.0, 0.8) == 26
    with pytest.raises(mm.ArgumentError, match="must be above 0"):
        paper.per_group(0.0, 1.0)


def test_an_anonymised_table_can_be_traced_to_nobody(tmp_path: Path) -> None:
    records = [
        with_outcome(made.record("secret-id", "Q-77", date="2026-01-05"), made.outcome()),
        made.record("other-id", "Q-77", date="2026-03-05"),
    ]
    rows = export.rows_of(records, anonymised=True)
    export.write_table(tmp_path / "t.csv", rows)
    text = (tmp_path / "t.csv").read_text(encoding="utf-8")
    for trace in ("secret", "Q-77", ",ann,", "2026", "camera with card"):
        assert trace not in text
    assert {row["person"] for row in rows} == {"P0001"}
    assert sorted(row["planned"] for row in rows) == ["0", "59"]
    export.write_table(tmp_path / "t.parquet", export.rows_of(records))
    import pandas as pd

    assert list(pd.read_parquet(tmp_path / "t.parquet")["case"]) == ["secret-id", "other-id"]
    with pytest.raises(mm.ArgumentError, match=r"\.csv or \.parquet"):
        export.write_table(tmp_path / "t.xlsx", rows)


def test_names_that_a_spreadsheet_would_run_are_guarded(tmp_path: Path) -> None:
    record = dataclasses.replace(made.record("c"), person="=cmd()")
    export.write_table(tmp_path / "t.csv", export.rows_of([record]))
    assert "'=cmd()" in (tmp_path / "t.csv").read_text(encoding="utf-8")
