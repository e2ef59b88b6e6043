"""Results as pandas data frames: what `to_frame` of a match, a calibration or an audit gives."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from mamelon import _core

if TYPE_CHECKING:
    import pandas as pd

_RANKED = (
    "tab", "de00", "low", "high", "chance_best", "chance_perceptible", "chance_acceptable",
    "surely_perceptible_match", "surely_acceptable_match", "dl", "dc", "dh", "grade",
)  # fmt: skip
_RECORD = ("count", "used", "mcdm_de00", "mcdm_de76", "no_repeatability", "repeats_worse")


def _axes(name: str, values: Any) -> dict[str, float]:
    return {f"{name}{axis}": float(value) for axis, value in zip("Lab", values, strict=True)}


def _match(match: _core.Match) -> list[dict[str, Any]]:
    return [
        {"label": match.label, "zone": match.zone}
        | {name: getattr(tab, name) for name in _RANKED}
        | _axes("", tab.lab)
        for tab in match.ranked
    ]


def _calibration(calibration: _core.Calibration) -> list[dict[str, Any]]:
    return [
        {"tab": tab.name}
        | _axes("", tab.lab.value)
        | _axes("sd_", tab.lab.sd())
        | _axes("low_", record.low)
        | _axes("high_", record.high)
        | {name: getattr(record, name) for name in _RECORD}
        for tab, record in zip(calibration.tabs.tabs, calibration.records, strict=True)
    ]


def _audit(audit: _core.Audit) -> list[dict[str, Any]]:
    names = ("tab", "nearest", "de00")
    return [{name: getattr(near, name) for name in names} for near in audit.neighbours]


_ROWS: dict[str, Callable[[Any], list[dict[str, Any]]]] = {
    "Match": _match,
    "Calibration": _calibration,
    "Audit": _audit,
}


def to_frame(value: Any) -> pd.DataFrame:
    """One row a tab. What holds for all of them stands in `attrs`."""
    import pandas as pd

    frame = pd.DataFrame(_ROWS[type(value).__name__](value))
    if isinstance(value, _core.Audit):
        frame.attrs["coverage_error"] = value.coverage.error_de00
        frame.attrs["coverage_low"] = value.coverage.low
        frame.attrs["coverage_high"] = value.coverage.high
        frame.attrs["population"] = value.population
    frame.attrs["provenance"] = (
        value.tabs if isinstance(value, _core.Calibration) else value
    ).provenance.digest
    return frame
