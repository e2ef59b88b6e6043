"""Figures: what is drawn is where the numbers say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest

import mamelon as mm
from mamelon import plot

mpl.use("Agg")

from matplotlib import pyplot

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(autouse=True)
def close_figures() -> Any:
    yield
    pyplot.close("all")


@pytest.mark.parametrize("centre", [[70, 2, 18], [62, 5, 25], [84, -1, 8], [75, 0, 0.2]])
@pytest.mark.parametrize("plane", ["ab", "lc"])
@pytest.mark.parametrize("weights", [mm.DifferenceWeights(), mm.DifferenceWeights(kl=2)])
def test_contours_lie_at_their_level(centre: list[float], plane: Any, weights: Any) -> None:
    curve = plot.threshold_contour(centre, 1.8, plane=plane, weights=weights)
    assert (curve[0] == curve[-1]).all()
    if plane == "ab":
        labs = np.column_stack([np.full(len(curve), centre[0]), curve])
    else:
        hue = mm.to_lch(centre)[2]
        direction = np.array([np.cos(np.radians(hue)), np.sin(np.radians(hue))])
        labs = np.column_stack([curve[:, 1], curve[:, :1] * direction])
    np.testing.assert_allclose(mm.de00(centre, labs, weights), 1.8, atol=1e-9)


def test_contours_are_not_circles() -> None:
    curve = plot.threshold_contour([70, 2, 25], 0.8)
    radius = np.linalg.norm(curve - [2, 25], axis=1)
    assert radius.max() / radius.min() > 1.3


def test_planes_show_every_tab_with_two_contours(tabs: mm.TabSet) -> None:
    planes: tuple[tuple[plot.Plane, tuple[int, int] | None], ...] = (("ab", (1, 2)), ("lc", None))
    for plane, columns in planes:
        ax = plot.colour_plane(tabs, plane)
        assert len(ax.lines) == 2 * len(tabs)
        shown = ax.collections[0].get_offsets()
        expected = tabs.labs[:, columns] if columns else mm.to_lch(tabs.labs)[:, [1, 0]]
        np.testing.assert_allclose(shown, expected)
        assert [text.get_text() for text in ax.texts] == list(tabs.names)
        ax.figure.canvas.draw()


def test_bland_altman_lines_are_the_statistics(rng: np.random.Generator) -> None:
    first = rng.normal([70, 1, 15], [6, 1.5, 4], (40, 3))
    second = first + rng.normal(0.3, 0.5, first.shape)
    axes = plot.bland_altman_axes(first, second)
    for number, ax in enumerate(axes):
        bias = ax.lines[0].get_ydata()[0]
        assert bias == pytest.approx((second - first)[:, number].mean())
    axes[0].figure.canvas.draw()


def test_coverage_curve_rises_from_none_to_all(rng: np.random.Generator, tabs: mm.TabSet) -> None:
    teeth = rng.normal([72, 1.5, 17], [6, 1.5, 4], (200, 3))
    half = mm.TabSet("half", tabs.tabs[::2], tabs.viewing)
    ax = plot.coverage_curve(teeth, [tabs, half])
    nearest = np.asarray(mm.de00(teeth[:, None], tabs.labs[None])).min(axis=1)
    line = ax.lines[0]
    for level in (0.8, 1.8, 3.0):
        drawn = line.get_ydata()[np.searchsorted(line.get_xdata(), level, side="right") - 1]
        assert drawn == pytest.approx((nearest <= level).mean())
    ax.figure.canvas.draw()


def test_drift_bars_are_as_long_as_the_changes(tabs: mm.TabSet) -> None:
    rows = [
        np.add(tab.lab.value, [-3.0 * (number == 2), 0, 0]) for number, tab in enumerate(tabs.tabs)
    ]
    moved = [
        mm.Tab(tab.name, mm.Measured(row, tab.lab.random, tab.lab.shared, tab.lab.dof))
        for tab, row in zip(tabs.tabs, rows, strict=True)
    ]
    drift = mm.drift(tabs, mm.TabSet("later", moved, tabs.viewing))
    ax = plot.drift_chart(drift)
    bars = [patch for patch in ax.patches if patch.get_height() == pytest.approx(0.6)]
    assert [bar.get_width() for bar in bars] == pytest.approx([tab.de00 for tab in drift.tabs])
    assert [bar.get_hatch() == "///" for bar in bars] == [n == 2 for n in range(len(tabs))]
    assert [label.get_text() for label in ax.get_yticklabels()] == list(tabs.names)
    ax.figure.canvas.draw()
    with pytest.raises(mm.ArgumentError, match="no tab"):
        plot.drift_chart(drift.replace(tabs=[]))


def test_section_is_to_scale(pastes: mm.PasteSet) -> None:
    target = mm.Reading("tooth", mm.Measured([72, 2, 18]), "D65/2")
    floor = mm.read_reflectance(DATA / "floors/dark_dentine.csv")
    plans = mm.plan(mm.PlanRequest(target, pastes, floor, 3.0))
    plan = plans.plans[plans.recommended]
    ax = plot.layer_section(plan, pastes)
    heights = [patch.get_height() for patch in ax.patches[1 : 1 + len(plan.layers)]]
    assert heights == pytest.approx([layer.thickness_mm for layer in plan.layers])
    assert len(ax.patches) == 1 + len(plan.layers) + 2 * len(plan.predicted)
    ax.figure.canvas.draw()
    with pytest.raises(mm.ArgumentError, match="is not in paste set"):
        others = [p for p in pastes.pastes if p.name not in {x.paste for x in plan.layers}]
        plot.layer_section(plan, mm.PasteSet("others", others))


def test_shade_map_fills_zones_with_their_colours() -> None:
    photo = mm.Photo(np.full((60, 40, 3), 20_000, dtype=np.uint16))
    inside = np.zeros((20, 20), dtype=bool)
    inside[4:16, 4:16] = True
    names = ("cervical", "middle")
    parts = [mm.Zone(n, mm.Mask(inside, x=10, y=10 + 20 * k)) for k, n in enumerate(names)]
    tooth = mm.Mask(np.ones((40, 20), dtype=bool), x=10, y=10)
    zones = mm.Zones(tooth, mm.Mask(np.zeros((40, 20), dtype=bool), x=10, y=10), parts)
    readings = [
        mm.Reading("tooth", mm.Measured(lab), "D65/2", zone=name)
        for name, lab in zip(names, ([70, 2, 18], [76, 1, 14]), strict=True)
    ]
    ax = plot.shade_map(photo, zones, readings, ["oat", "flax"])
    assert [text.get_text() for text in ax.texts] == ["cervical\noat", "middle\nflax"]
    fill = ax.images[1].get_array()
    np.testing.assert_allclose(fill[8, 8, :3], mm.to_display([70, 2, 18], "D65/2")[:3])
    assert fill[0, 0, 3] == 0
    with pytest.raises(mm.ArgumentError, match="1 readings for 2 zones"):
        plot.shade_map(photo, zones, readings[:1])


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: plot.threshold_contour([70, 1, 15], 0),
        lambda: plot.threshold_contour([70, 1, 15], 11),
        lambda: plot.threshold_contour([70, 1, 15], 1, plane="xy"),  # type: ignore[arg-type]
        lambda: plot.threshold_contour([70, 1], 1),
    ],
)
def test_wrong_contours_are_refused(wrong: Any) -> None:
    with pytest.raises(mm.ArgumentError):
        wrong()
