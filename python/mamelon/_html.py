"""What values look like in a notebook: tables, with a swatch beside every colour.

The swatches are for orientation: a screen shows a colour right only when it is calibrated.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable
from typing import Any

from mamelon import _core

_CELL = "padding:2px 8px;text-align:left"


def swatch(lab: Any, viewing: Any) -> str:
    """A square of the colour with its hex value as a tooltip."""
    colour = _core.to_hex(lab, viewing)
    return (
        f'<span title="{colour}" style="display:inline-block;width:1.2em;height:1.2em;'
        f'vertical-align:middle;background:{colour};border:1px solid #888"></span>'
    )


def table(head: Iterable[str], rows: Iterable[Iterable[str]], caption: str = "") -> str:
    """A table; cells are HTML already."""
    top = "".join(f'<th style="{_CELL}">{cell}</th>' for cell in head)
    body = "".join(
        "<tr>" + "".join(f'<td style="{_CELL}">{cell}</td>' for cell in row) + "</tr>"
        for row in rows
    )
    title = f"<caption>{html.escape(caption)}</caption>" if caption else ""
    return f"<table>{title}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _numbers(values: Iterable[float]) -> str:
    return ", ".join(f"{value:.2f}" for value in values)


def _lab(value: _core.Lab) -> str:
    # No viewing is known here: the swatch assumes D65/2, as the row says.
    return table(
        ["", "L*", "a*", "b*"],
        [[swatch(value, "D65/2"), *(f"{number:.2f}" for number in value)]],
        "shown as if under D65/2",
    )


def _reading_row(reading: _core.Reading) -> list[str]:
    lab = reading.lab
    return [
        swatch(lab.value, reading.viewing),
        html.escape(reading.label),
        html.escape(reading.zone),
        _numbers(lab.value),
        _numbers(lab.sd()),
        html.escape(str(reading.viewing)),
        html.escape("; ".join(reading.warnings)),
    ]


def _reading(reading: _core.Reading) -> str:
    head = ["", "label", "zone", "L* a* b*", "sd", "viewing", "warnings"]
    return table(head, [_reading_row(reading)])


def _tab_set(tabs: _core.TabSet) -> str:
    rows = (
        [
            swatch(tab.lab.value, tabs.viewing),
            html.escape(tab.name),
            _numbers(tab.lab.value),
            _numbers(tab.lab.sd()),
        ]
        for tab in tabs.tabs
    )
    return table(["", "tab", "L* a* b*", "sd"], rows, f"{tabs.name}, {tabs.viewing}")


def _match(match: _core.Match) -> str:
    rows = (
        [
            html.escape(tab.tab),
            f"{tab.de00:.2f}",
            f"{tab.low:.2f}–{tab.high:.2f}",
            f"{tab.chance_best:.0%}",
            html.escape(_core.difference_in_words(tab)),
            tab.grade.replace("_", " "),
        ]
        for tab in match.ranked
    )
    head = ["tab", "ΔE00", "95 %", "chance best", "the reading is", "grade"]
    return table(head, rows, f"{match.label} {match.zone}")


def _plan(plan: _core.Plan) -> str:
    layers = table(
        ["layer from the floor", "role", "mm"],
        (
            [html.escape(layer.paste), layer.role, f"{layer.thickness_mm:.2f}"]
            for layer in plan.layers
        ),
    )
    steps = table(
        ["increment", "paste", "mm", "J/cm²", "s"],
        (
            [
                str(step.order),
                html.escape(step.paste),
                f"{step.thickness_mm:.2f}",
                f"{step.exposure_j_cm2:.1f}",
                "" if step.exposure_s is None else f"{step.exposure_s:.0f}",
            ]
            for step in plan.increments
        ),
    )
    colours = table(
        ["", "target", "viewing", "L* a* b*", "ΔE00"],
        (
            [
                swatch(colour.lab, colour.viewing),
                swatch(colour.target, colour.viewing),
                html.escape(str(colour.viewing)),
                _numbers(colour.lab),
                f"{colour.de00:.2f}",
            ]
            for colour in plan.predicted
        ),
    )
    return f"<div>{layers}{steps}{colours}</div>"


def _plan_set(plans: _core.PlanSet) -> str:
    rows = (
        [
            "✓" if number == plans.recommended else "",
            html.escape(" + ".join(f"{x.paste} {x.thickness_mm:.2f} mm" for x in plan.layers)),
            f"{plan.de00:.2f}",
            f"{plan.de00_rms:.2f}",
            f"{plan.de00_p95:.2f}",
        ]
        for number, plan in enumerate(plans.plans)
    )
    head = ["", "from the floor outward", "ΔE00", "expected", "95 %"]
    return table(head, rows, plans.why)


def _report(report: _core.Report) -> str:
    head = ["", "label", "zone", "L* a* b*", "sd", "viewing", "warnings"]
    parts = [table(head, [_reading_row(r) for tooth in report.teeth for r in tooth.readings])]
    for tooth in report.teeth:
        parts += [_match(match) for match in tooth.matches]
        if tooth.plans is not None:
            parts.append(_plan_set(tooth.plans))
    return f"<div>{''.join(parts)}</div>"


def _fields(value: Any) -> str:
    names = getattr(type(value), "__match_args__", None) or sorted(
        name for name, member in vars(type(value)).items() if isinstance(member, property)
    )
    rows = ([name, f"<code>{html.escape(_short(getattr(value, name)))}</code>"] for name in names)
    return table(["field", "value"], rows, type(value).__name__)


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 200 else text[:199] + "…"


_WRITERS: dict[str, Callable[[Any], str]] = {
    "Lab": _lab,
    "Reading": _reading,
    "TabSet": _tab_set,
    "Match": _match,
    "Plan": _plan,
    "PlanSet": _plan_set,
    "Report": _report,
}


def to_html(value: Any) -> str:
    """HTML of any value of the library."""
    return _WRITERS.get(type(value).__name__, _fields)(value)
