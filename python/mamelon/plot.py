"""Figures for papers, on matplotlib axes of your own or new ones. Needs matplotlib.

Every function draws on `ax` (made when None) and returns it; nothing is shown or saved. Colours of
swatches are for orientation: a screen or print shows them right only when it is calibrated.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mamelon._core import (
    ArgumentError,
    DifferenceWeights,
    Drift,
    Grid,
    PasteSet,
    Photo,
    Plan,
    Reading,
    TabSet,
    Viewing,
    Zones,
    de00,
    lch_to_lab,
    threshold,
    to_display,
    to_hex,
    to_lch,
)
from mamelon.agreement import bland_altman, colours, nearest_de00

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "bland_altman_axes",
    "colour_plane",
    "coverage_curve",
    "drift_chart",
    "layer_section",
    "shade_map",
    "threshold_contour",
]

Floats = NDArray[np.float64]
Plane = Literal["ab", "lc"]


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]


def _mark_thresholds(drawn: Axes, label_at: float) -> None:
    """Vertical lines at the perceptibility and acceptability thresholds, named at that height."""
    for level, name in ((threshold.perceptible_de00, "PT"), (threshold.acceptable_de00, "AT")):
        drawn.axvline(level, color="0.5", linewidth=0.8, linestyle=":")
        drawn.text(level, label_at, name, ha="center", va="bottom", fontsize=8, color="0.4")


def threshold_contour(
    centre: ArrayLike,
    level: float,
    *,
    plane: Plane = "ab",
    weights: DifferenceWeights | None = None,
    points: int = 181,
) -> Floats:
    """The curve of ΔE00 = `level` around one colour in a plane through it: (points, 2), closed.

    `ab` is the plane of equal L*, in a* and b*; `lc` that of equal hue, in C* and L*. Each point
    lies on the contour to 1e-9. Raises ArgumentError for a level outside 0–10 or a wrong plane.

    >>> import mamelon as mm
    >>> curve = threshold_contour([70, 2, 18], 0.8)
    >>> away = mm.de00([70, 2, 18], np.column_stack([np.full(181, 70.0), curve]))
    >>> bool(abs(away - 0.8).max() < 1e-9)
    True
    """
    if not 0 < level <= 10:
        raise ArgumentError(f"level must lie within 0–10, not {level}")
    if plane not in ("ab", "lc"):
        raise ArgumentError(f"plane must be ab or lc, not {plane!r}")
    middle = colours(np.atleast_2d(np.asarray(centre)), "centre")[0]
    factors = weights or DifferenceWeights()
    angle = np.linspace(0, 2 * np.pi, points)
    lch = np.asarray(to_lch(middle), dtype=np.float64)
    origin = middle[1:] if plane == "ab" else lch[[1, 0]]
    towards = np.column_stack([np.cos(angle), np.sin(angle)])

    def lab_at(radius: Floats) -> Floats:
        xy = origin + radius[:, None] * towards
        if plane == "ab":
            return np.asarray(np.column_stack([np.full(points, middle[0]), xy]))
        hue = np.where(xy[:, 0] < 0, lch[2] + 180, lch[2])
        return np.asarray(
            lch_to_lab(np.column_stack([xy[:, 1], np.abs(xy[:, 0]), hue])), dtype=np.float64
        )

    near, far = np.zeros(points), np.full(points, 1e-3)
    # The difference grows along each ray; widen until every ray has crossed, then bisect.
    while (short := np.asarray(de00(middle, lab_at(far), factors)) < level).any():
        near, far = np.where(short, far, near), np.where(short, 2 * far, far)
        if far.max() > 1e3:
            raise ArgumentError("this contour does not close")
    for _ in range(60):
        half = (near + far) / 2
        inside = np.asarray(de00(middle, lab_at(half), factors)) < level
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    curve = origin + ((near + far) / 2)[:, None] * towards
    curve[-1] = curve[0]
    return np.asarray(curve)


def colour_plane(
    values: ArrayLike | TabSet,
    plane: Plane = "ab",
    *,
    viewing: Viewing | str = "D65/2",
    levels: Sequence[float] = (threshold.perceptible_de00, threshold.acceptable_de00),
    weights: DifferenceWeights | None = None,
    names: Sequence[str] | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Colours (n, 3) or a tab set in a plane, with contours of equal ΔE00 around each.

    `ab` is a* against b*, with the contours of `threshold_contour` at each colour's own L*: not
    circles; `lc` is C* against L*, each contour at the colour's own hue.
    """
    if isinstance(values, TabSet):
        names = values.names if names is None else names
        viewing = values.viewing
        values = values.labs
    labs = colours(values, "colours")
    drawn = _axes(ax)
    lch = np.asarray(to_lch(labs))
    at = labs[:, 1:] if plane == "ab" else lch[:, [1, 0]]
    for lab in labs:
        for level, style in zip(levels, ("-", "--", ":", "-."), strict=False):
            curve = threshold_contour(lab, level, plane=plane, weights=weights)
            drawn.plot(*curve.T, style, color="0.6", linewidth=0.7, zorder=1)
    shown = [to_hex(lab, viewing) for lab in labs.tolist()]
    drawn.scatter(at[:, 0], at[:, 1], c=shown, edgecolors="0.2", linewidths=0.6, s=45, zorder=2)
    for name, place in zip(names or (), at, strict=False):
        drawn.annotate(name, place, xytext=(4, 4), textcoords="offset points", fontsize=7)
    drawn.set_xlabel("a*" if plane == "ab" else "C*")
    drawn.set_ylabel("b*" if plane == "ab" else "L*")
    drawn.set_aspect("equal", adjustable="datalim")
    return drawn


def shade_map(
    photo: Photo,
    zones: Zones,
    readings: Sequence[Reading],
    names: Sequence[str] | None = None,
    *,
    ax: Axes | None = None,
) -> Axes:
    """The tooth in its photo with each zone filled with its measured colour and named.

    `names`, one a zone (the nearest tab, say), stand on the zones. The photo behind is shown as
    recorded, not corrected. Raises ArgumentError unless there is one reading a zone.
    """
    if len(readings) != len(zones.zones):
        raise ArgumentError(f"{len(readings)} readings for {len(zones.zones)} zones")
    drawn = _axes(ax)
    tooth = zones.tooth
    pad = int(0.15 * max(tooth.width, tooth.height))
    left, top = max(0, tooth.x - pad), max(0, tooth.y - pad)
    right = min(photo.width, tooth.x + tooth.width + pad)
    bottom = min(photo.height, tooth.y + tooth.height + pad)
    seen = np.asarray(photo.rgb[top:bottom, left:right], dtype=np.float64)
    seen = np.clip(seen / max(float(np.quantile(seen, 0.995)), 1.0), 0, 1)
    # The transfer curve of IEC 61966-2-1, enough to look at linear light.
    curved = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    extent = (left - 0.5, right - 0.5, bottom - 0.5, top - 0.5)
    drawn.imshow(curved, extent=extent)
    for number, (zone, reading) in enumerate(zip(zones.zones, readings, strict=True)):
        mask = zone.mask
        fill = np.zeros((mask.height, mask.width, 4))
        fill[..., :3] = np.asarray(to_display(reading.lab.value, reading.viewing))[:3]
        fill[..., 3] = mask.inside
        right_edge, lower_edge = mask.x + mask.width - 0.5, mask.y + mask.height - 0.5
        drawn.imshow(fill, extent=(mask.x - 0.5, right_edge, lower_edge, mask.y - 0.5))
        rows, columns = np.nonzero(mask.inside)
        if len(rows):
            text = zone.name if names is None else f"{zone.name}\n{names[number]}"
            drawn.text(
                mask.x + columns.mean(), mask.y + rows.mean(), text, ha="center", va="center",
                fontsize=8,
            )  # fmt: skip
    drawn.set_xlim(extent[0], extent[1])
    drawn.set_ylim(extent[2], extent[3])
    drawn.set_axis_off()
    return drawn


def bland_altman_axes(
    first: ArrayLike,
    second: ArrayLike,
    *,
    axes: Sequence[Axes] | None = None,
    confidence: float = 0.95,
) -> tuple[Axes, ...]:
    """Bland–Altman plots of two instruments' paired readings (n, 3), one each for L*, a*, b*.

    Solid: bias; dashed: 95 % limits of agreement; bands: their confidence intervals.
    """
    if axes is None:
        from matplotlib import pyplot

        axes = list(pyplot.subplots(1, 3, figsize=(10, 3.2), layout="constrained")[1])
    if len(axes) != 3:
        raise ArgumentError(f"axes must be 3, not {len(axes)}")
    a, b = colours(first, "first", 3), colours(second, "second", 3)
    found = bland_altman(a, b, confidence=confidence)
    for number, (ax, agreement) in enumerate(zip(axes, found, strict=True)):
        ax.scatter((a[:, number] + b[:, number]) / 2, b[:, number] - a[:, number], s=12, c="0.25")
        lines = ((agreement.bias, "-"), (agreement.lower, "--"), (agreement.upper, "--"))
        for interval, style in lines:
            ax.axhline(interval.estimate, linestyle=style, color="C0", linewidth=1)
            ax.axhspan(interval.low, interval.high, color="C0", alpha=0.15, linewidth=0)
        ax.set_xlabel(f"mean {agreement.axis}")
        ax.set_ylabel(f"second − first, {agreement.axis}")
    return tuple(axes)


def coverage_curve(
    teeth: ArrayLike,
    sets: TabSet | Sequence[TabSet],
    *,
    weights: DifferenceWeights | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Share of teeth (n, 3) whose nearest tab lies within a given ΔE00, one curve a tab set.

    Vertical lines stand at the perceptibility and acceptability thresholds.
    """
    sample = colours(teeth, "teeth")
    drawn = _axes(ax)
    for tabs in [sets] if isinstance(sets, TabSet) else sets:
        labs = np.asarray(tabs.labs, dtype=np.float64)
        nearest = np.sort(nearest_de00(sample, labs, weights or DifferenceWeights()))
        share = np.arange(1, len(nearest) + 1) / len(nearest)
        label = f"{tabs.name}: mean {nearest.mean():.2f}"
        drawn.step(np.r_[0, nearest], np.r_[0, share], where="post", label=label)
    _mark_thresholds(drawn, 1.01)
    drawn.set_xlim(left=0)
    drawn.set_ylim(0, 1)
    drawn.set_xlabel("ΔE00 to the nearest tab")
    drawn.set_ylabel("share of teeth")
    drawn.legend(frameon=False, fontsize=8)
    return drawn


def drift_chart(drift: Drift, *, ax: Axes | None = None) -> Axes:
    """ΔE00 of every tab's own change since the earlier set, the first tab on top.

    Filled bars are changes that the readings' scatter does not explain; hatched ones can be seen
    too; an outline alone means that there was no repeatability to test against. Vertical lines
    stand at the perceptibility and acceptability thresholds.
    """
    if not drift.tabs:
        raise ArgumentError("drift has no tab that both sets have")
    looks: dict[str, dict[str, Any]] = {
        "steady": {"facecolor": "0.85", "edgecolor": "0.5"},
        "drifted": {"facecolor": "C0", "edgecolor": "0.2"},
        "drifted_visibly": {"facecolor": "C1", "edgecolor": "0.1", "hatch": "///"},
        "not_testable": {"facecolor": "none", "edgecolor": "0.5", "linestyle": "--"},
    }
    drawn = _axes(ax)
    for row, tab in enumerate(drift.tabs):
        drawn.barh(row, tab.de00, height=0.6, linewidth=0.8, **looks[tab.verdict])
    _mark_thresholds(drawn, -0.6)
    drawn.set_yticks(range(len(drift.tabs)), [tab.tab for tab in drift.tabs])
    drawn.set_ylim(len(drift.tabs) - 0.4, -0.6)
    drawn.set_xlim(left=0)
    drawn.set_xlabel("ΔE00 since the earlier set")
    return drawn


def layer_section(
    plan: Plan,
    pastes: PasteSet | None = None,
    *,
    thick_mm: float = 8.0,
    ax: Axes | None = None,
) -> Axes:
    """Cross-section of a plan, floor at the bottom, with target and predicted swatches above.

    Layers are to scale and cut into their increments. With `pastes` each layer is filled with the
    colour of its paste alone at `thick_mm`, without it in greys.
    """
    from matplotlib.patches import Rectangle

    drawn = _axes(ax)
    viewing = plan.predicted[0].viewing
    total = sum(layer.thickness_mm for layer in plan.layers)
    drawn.add_patch(Rectangle((0, -0.12 * total), 1, 0.12 * total, color="#4a3a2a"))
    drawn.text(0.5, -0.06 * total, "floor", ha="center", va="center", fontsize=8, color="white")
    height = 0.0
    for number, layer in enumerate(plan.layers):
        fill = str(0.6 + 0.25 * number / max(1, len(plan.layers) - 1))
        if pastes is not None:
            fill = _paste_colour(pastes, layer.paste, viewing, thick_mm)
        box = Rectangle((0, height), 1, layer.thickness_mm, facecolor=fill, edgecolor="0.2")
        drawn.add_patch(box)
        text = f"{layer.paste} ({layer.role}) {layer.thickness_mm:.2f} mm"
        drawn.text(0.5, height + layer.thickness_mm / 2, text, ha="center", va="center", fontsize=8)
        height += layer.thickness_mm
    level = 0.0
    for step in plan.increments[:-1]:
        level += step.thickness_mm
        drawn.plot([0, 1], [level, level], color="0.2", linewidth=0.6, linestyle=":")
    side = 1 / max(1, len(plan.predicted))
    for number, colour in enumerate(plan.predicted):
        left, up = number * side, total * 1.05
        for part, lab in enumerate((colour.target, colour.lab)):
            face = to_hex(lab, colour.viewing)
            place = (left + part * side / 2, up)
            drawn.add_patch(Rectangle(place, side / 2, 0.15 * total, color=face, linewidth=0))
        text = f"{colour.viewing}\nΔE00 {colour.de00:.2f}"
        drawn.text(left + side / 2, up + 0.17 * total, text, ha="center", va="bottom", fontsize=7)
    drawn.set_xlim(0, 1)
    drawn.set_ylim(-0.12 * total, total * 1.4)
    drawn.set_ylabel("mm from the floor")
    drawn.set_xticks([])
    drawn.set_title("target | predicted", fontsize=8)
    return drawn


def _paste_colour(pastes: PasteSet, name: str, viewing: Any, thick_mm: float) -> str:
    from mamelon._core import Layer, Reflectance, Stack, predict, to_lab

    for paste in pastes.pastes:
        if paste.name == name:
            grid: Grid = paste.absorption.grid
            floor = Reflectance(grid, np.full(grid.count, 0.3))
            alone = predict(Stack(floor, [Layer(paste, thick_mm)]))
            return to_hex(to_lab(alone, viewing), viewing)
    raise ArgumentError(f"the plan's paste {name!r} is not in paste set {pastes.name!r}")
