"""Shade matching, colour difference and layer planning for tooth-coloured restorations.

The same words as in C++: `read_photo`, `read_card`, `fit_card`, `find_zones`, `read_zones` give
readings; `match` ranks a tab set for a reading; `plan` finds layers and increments; `sheet_html`
draws the page. Arrays are (…, 3) or (…, n) and broadcast as NumPy does. Every value is immutable.

Not imported until asked for: `mamelon.frames` (DataFrames and xarray), `mamelon.study` (many items
to one table), `mamelon.agreement` (agreement statistics), `mamelon.judgement` (thresholds from
judgements), `mamelon.plot` (figures), `mamelon.practice` (cases over time).
"""

from __future__ import annotations

import importlib
from types import ModuleType

from mamelon import _core
from mamelon._core import *

__version__ = _core.library_version()

__all__ = ["__version__"]
__all__ += _core.__all__

_LAZY = ("agreement", "frames", "judgement", "plot", "practice", "study")


def __getattr__(name: str) -> ModuleType:
    """Imports the optional parts at first use."""
    if name in _LAZY:
        return importlib.import_module(f"mamelon.{name}")
    raise AttributeError(f"module 'mamelon' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_LAZY])
