"""Laws of every value: immutable, equal to its copies, hashable, picklable, a short repr."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import mamelon as mm

GRID = mm.Grid(400, 10, 31)
GREY = mm.Reflectance(GRID, np.full(31, 0.5))
PASTE = mm.Paste("harvest", "dentine", mm.PerMm(GRID, np.full(31, 0.1)), mm.PerMm(GRID, [3.0] * 31))
MEASURED = mm.Measured([70, 1, 15], np.eye(3) * 0.01, np.eye(3) * 0.04, 9)
READING = mm.Reading("tooth", MEASURED, "D65/2", zone="middle", reflectance=GREY, warnings=["dry"])
TABS = mm.TabSet(
    "two", [mm.Tab("linden", MEASURED, GREY), mm.Tab("alder", mm.Measured([66, 2, 18]))], "D65/2"
)
MASK = mm.Mask(np.eye(3, dtype=bool), x=2, y=1)
PHOTO = mm.Photo(np.arange(60, dtype=np.uint16).reshape(4, 5, 3), bits=16, warnings=["no profile"])

VALUES = [
    mm.Lab(70, 1, 15), mm.Xyz(0.4, 0.5, 0.3), mm.Lch(70, 15, 86), mm.DifferenceWeights(kl=2), GRID,
    GREY, PASTE.absorption, mm.Power(GRID, np.ones(31)), mm.standard_illuminant("A"),
    mm.Illuminant("own", mm.Power(GRID, np.arange(1, 32))), mm.Viewing("D65/2"),
    mm.Provenance("lab", "x", ["aa"], "bb"), MEASURED, READING, PHOTO, MASK, mm.PointMm(1, 2),
    mm.PointPx(1, 2), mm.BoxPx(1, 2, 3, 4), mm.Fiducial(0, 1, 1, 4), mm.WhiteArea(0, 0, 1, 1),
    mm.Patch("grey", 0, 0, 1, 1, True, mm.Lab(60, 0, 0), GREY), mm.PatchFit("grey", True),
    mm.Zone("middle", MASK), mm.Zones(MASK, MASK, [mm.Zone("middle", MASK)]), TABS, TABS.tabs[0],
    mm.RankedTab("linden", 0.4), mm.Match("tooth", "middle", [mm.RankedTab("linden", 0.4)]), PASTE,
    mm.PasteSet("one", [PASTE]), mm.Interface(), mm.Layer(PASTE, 1),
    mm.Stack(GREY, [mm.Layer(PASTE, 1)]),
    mm.PlanRequest(READING, mm.PasteSet("one", [PASTE]), GREY, 2.0),
    mm.PlannedLayer("harvest", "dentine", 1.5), mm.Increment(1, "harvest", 1.5, 16, 16),
    mm.PredictedColour("A/2", [70, 1, 15], [70, 1, 15], 0),
    mm.CaseTooth(number=21, at=mm.ToothHint(point=(820, 400))), mm.GridSize(2, 3),
    mm.Case(viewing="D65/2", teeth=[mm.CaseTooth(readings=[READING])], tabs=TABS),
    mm.Population("three", [[70, 1, 15]], "D65/2"), mm.Mcdm(0.3, 0.4),
    mm.RepeatReading(READING, day="2026-03-02"), mm.Coverage(1.2, 1.1, 1.3),
    mm.Placing("oblique", True, 900), mm.Floor(GREY, [GREY]), mm.LayerGain(2, 1.1, 0.4),
    mm.PartingTie(0, 3, "A/2", 1.2), mm.OutOfReach(2.5, "floor too dark"),
    mm.CrosswalkReport(
        TABS, mm.PlanRequest(READING, mm.PasteSet("one", [PASTE]), GREY, 2.0), []
    ),
]  # fmt: skip


@pytest.mark.parametrize("value", VALUES, ids=lambda value: type(value).__name__)
class TestEveryValue:
    def test_copies_are_equal_with_equal_hash(self, value: Any) -> None:
        for twin in (
            pickle.loads(pickle.dumps(value)),
            pickle.loads(pickle.dumps(value, protocol=2)),
            copy.copy(value),
            copy.deepcopy(value),
        ):
            assert twin == value
            assert (twin != value) is False
            assert hash(twin) == hash(value)
            assert repr(twin) == repr(value)

    def test_cannot_be_changed(self, value: Any) -> None:
        names = [n for n, m in vars(type(value)).items() if isinstance(m, property)]
        assert names
        for name in names:
            with pytest.raises(AttributeError):
                setattr(value, name, getattr(value, name))
            held = getattr(value, name)
            assert not isinstance(held, (list, dict, set))
            if isinstance(held, np.ndarray):
                assert not held.flags.writeable
        with pytest.raises(AttributeError):
            value.something_new = 1

    def test_is_unlike_other_types(self, value: Any) -> None:
        assert value != 1
        assert value != "text"
        assert (value == object()) is False

    def test_repr_is_short_and_named(self, value: Any) -> None:
        text = repr(value)
        assert text.startswith(type(value).__name__ + "(")
        assert len(text) < 160
        assert "\n" not in text

    def test_html_is_whole(self, value: Any) -> None:
        html = value._repr_html_()
        assert html.count("<div") == html.count("</div>")
        assert html.count("<table") == html.count("</table>")
        assert "<script" not in html


def test_a_changed_field_makes_another_value() -> None:
    for value in VALUES:
        cls = type(value)
        for name in getattr(cls, "__match_args__", ()):
            held = getattr(value, name)
            if isinstance(held, float) and np.isfinite(held):
                other = held / 2 + 0.2625
                try:
                    changed = value.replace(**{name: other})
                except mm.ArgumentError:
                    continue
                assert changed != value
                assert getattr(changed, name) == other
                assert getattr(value, name) == held


def test_arrays_outlive_their_value() -> None:
    rgb = mm.Photo(np.full((40, 50, 3), 7, dtype=np.uint16)).rgb
    values = mm.Reflectance(GRID, np.full(31, 0.25)).values
    assert rgb.sum() == 7 * 40 * 50 * 3
    assert values.sum() == 31 * 0.25


def test_arrays_are_views_not_copies() -> None:
    assert np.shares_memory(GREY.values, GREY.values)
    assert np.shares_memory(PHOTO.rgb, PHOTO.rgb)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: mm.Lab(70, 1), "Lab needs `b`"),
        (lambda: mm.Lab(70, 1, 2, 3), "at most 3 values, not 4"),
        (lambda: mm.Lab(70, 1, b="15"), "Lab.b must be a number, not str"),
        (lambda: mm.Lab(70, 1, 15, a=2), "Lab.a is given twice"),
        (lambda: mm.Lab(l=70, a=1, b=15, c=2), "no field `c`; its fields are l, a, b"),
        (lambda: mm.Grid(400, 10, 2.5), "Grid.count must be a whole number, not float"),
        (lambda: mm.Grid(400, 10, -1), "Grid.count is out of range: -1"),
        (lambda: mm.Grid(400, 10, True), "Grid.count must be a whole number, not bool"),
        (lambda: mm.Viewing("D65", "deg3"), "expected one of deg2 and deg10, got 'deg3'"),
        (lambda: mm.PlannedLayer("x", "filler", 1), "one of opaque, dentine"),
        (lambda: mm.Measured([70, 1]), "Measured.value must have 3 numbers, not 2"),
        (lambda: mm.Measured([70, 1, 15], [[1, 0], [0, 1]]), r"shape \(3, 3\), not \(2, 2\)"),
        (lambda: mm.Measured([70, 1, 15], -np.eye(3)), "without negative variances"),
        (lambda: mm.Reading("x", [70, 1, 15], "D65/2"), "Reading.lab must be a Measured, not list"),
        (lambda: mm.TabSet("none", [], "D65/2"), "tab"),
        (lambda: mm.TabSet("bad", ["linden"], "D65/2"), r"TabSet.tabs\[0\] must be a Tab, not str"),
        (lambda: mm.Photo(np.zeros((4, 5, 3))), "array of uint16, not float64"),
        (lambda: mm.Photo(np.zeros((4, 5), dtype=np.uint16)), r"shape \(n, n, 3\), not \(4, 5\)"),
        (lambda: mm.Mask([[1, 0]]), "array of bool, not int64"),
        (lambda: mm.Reflectance(GRID, [0.5] * 30), "30"),
        (lambda: mm.Viewing("D65/3"), "D65/3"),
    ],
)
def test_wrong_fields_are_refused_in_one_sentence(make: Any, words: str) -> None:
    with pytest.raises(mm.ArgumentError, match=words) as caught:
        make()
    assert "\n" not in str(caught.value)


def test_exceptions_are_family_and_built_ins() -> None:
    assert issubclass(mm.ArgumentError, ValueError)
    assert issubclass(mm.DataError, ValueError)
    assert issubclass(mm.ModelError, ArithmeticError)
    assert issubclass(mm.IoError, OSError)
    for kind in (mm.ArgumentError, mm.DataError, mm.CaptureError, mm.ModelError, mm.IoError):
        assert issubclass(kind, mm.Error)
        assert kind.__module__ == "mamelon"
        error = kind("one sentence")
        twin = pickle.loads(pickle.dumps(error))
        assert type(twin) is kind
        assert str(twin) == "one sentence"


def test_each_kind_is_raised(tmp_path: Path) -> None:
    with pytest.raises(mm.IoError, match=r"no_such\.json"):
        mm.read_tab_set(tmp_path / "no_such.json")
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    with pytest.raises(mm.DataError, match=r"broken\.json"):
        mm.read_tab_set(broken)
    with pytest.raises(mm.ModelError):
        mm.predict(mm.Stack(GREY, [mm.Layer(PASTE, 31.0)]))
    with pytest.raises(mm.CaptureError):
        mm.fit_card(
            mm.Photo(np.full((600, 800, 3), 9000, dtype=np.uint16)),
            mm.read_card(Path(__file__).resolve().parents[2] / "data/cards/tooth20.json"),
            "D65/2",
        )


def test_a_former_name_holds_for_one_version() -> None:
    """`curve` was the name of a measured reflectance; documents keep it as a key."""
    named = READING.replace(curve=None)
    assert named.reflectance is None and named.curve is None  # type: ignore[attr-defined]
    assert READING.curve == READING.reflectance  # type: ignore[attr-defined]
    assert READING.replace(reflectance=GREY) == READING
