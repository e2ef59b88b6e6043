"""Figures to files, drawn without a screen."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

from mamelon._core import ArgumentError, write_file_atomically


def saved(draw: Callable[[Any], Any], file: str) -> None:
    """Draws on new axes and writes them as .png, .svg or .pdf. Needs matplotlib.

    The same values give the same bytes. Raises ArgumentError for another ending.
    """
    kind = Path(file).suffix.lower().removeprefix(".")
    if kind not in ("png", "svg", "pdf"):
        raise ArgumentError(f"{file}: a figure is written as .png, .svg or .pdf")
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context({"svg.hashsalt": "mamelon"}):
        figure = Figure(figsize=(5, 4), layout="constrained")
        FigureCanvasAgg(figure)
        draw(figure.add_subplot())
        stream = io.BytesIO()
        stamp = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(kind, {})
        figure.savefig(stream, format=kind, metadata=stamp)
    write_file_atomically(file, stream.getvalue())
