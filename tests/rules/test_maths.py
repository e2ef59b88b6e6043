"""No mathematical function comes from the C library, whose last bits depend on the processor."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# All but what IEEE 754 fixes to the bit (sqrt, fma, rounding) or what takes a number apart.
INEXACT = {
    "acos", "acosh", "asin", "asinh", "atan", "atan2", "atanh", "cbrt", "cos", "cosh", "erf",
    "erfc", "exp", "exp10", "exp2", "expm1", "hypot", "lgamma", "lgamma_r", "log", "log10", "log1p",
    "log2", "pow", "sin", "sincos", "sinh", "tan", "tanh", "tgamma",
}  # fmt: skip


def test_the_command_brings_its_own() -> None:
    command = os.environ.get("MAMELON_CLI")
    if command is None or shutil.which("nm") is None:
        pytest.skip("needs MAMELON_CLI and nm")
    listing = subprocess.run(
        ["nm", "-D", "--undefined-only", command], capture_output=True, text=True, check=True
    ).stdout
    wanted = {line.split()[-1].split("@")[0] for line in listing.splitlines()}
    # The f of float: expf. Those of long double have one implementation, for the x87 unit.
    inexact = {name + kind for name in INEXACT for kind in ("", "f")}
    assert wanted & inexact == set()
