"""Writes the stub of mamelon._core from the signatures that stand first in its docstrings.

Run with the package importable: `python make_stub.py [FILE]`; without a file it prints.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from mamelon import _core

HEAD = '''"""Types of the C++ core. Made by python/bindings/make_stub.py; do not edit."""

# A pair of colours is also array-like, but gives one number rather than an array.
# mypy: disable-error-code="overload-overlap"

from collections.abc import Callable, Iterator, Sequence
from os import PathLike
from typing import Any, Literal, TypeAlias, TypeVar, overload

import numpy as np
from numpy.typing import ArrayLike, DTypeLike, NDArray
from typing_extensions import Self

_Floats: TypeAlias = NDArray[np.floating[Any]]
_Numbers: TypeAlias = Sequence[float] | NDArray[Any]
'''

SAME_TYPE = """_Spectrum = TypeVar("_Spectrum", Reflectance, PerMm, Power)
_Carried = TypeVar("_Carried", Reading, TabSet)
"""


def signatures(name: str, doc: str | None) -> list[str]:
    """The leading lines of a docstring that are signatures of `name`."""
    found = []
    for line in (doc or "").splitlines():
        if not re.match(rf"{re.escape(name)}\(.*\) -> .+$", line):
            break
        found.append(line)
    return found


def definitions(name: str, doc: str | None, indent: str) -> Iterator[str]:
    """`def` lines of one function, overloaded where it has several signatures."""
    found = signatures(name, doc)
    for signature in found:
        if len(found) > 1:
            yield f"{indent}@overload"
        yield f"{indent}def {signature}: ..."


def class_lines(cls: type[Any]) -> Iterator[str]:
    """The stub of one class."""
    bases = [base.__name__ for base in cls.__bases__ if base.__module__ != "pybind11_builtins"]
    shown = f"({', '.join(bases)})" if bases and bases != ["object"] else ""
    body = []
    for name, member in sorted(vars(cls).items()):
        if isinstance(member, property):
            kind = (member.__doc__ or "object").split(": ")[0]
            body += ["    @property", f"    def {name}(self) -> {kind}: ..."]
        elif name == "__match_args__":
            words = ", ".join(f'"{word}"' for word in member)
            comma = "," if len(member) == 1 else ""
            body.append(f"    __match_args__ = ({words}{comma})")
        elif name == "_repr_html_":
            body.append("    def _repr_html_(self) -> str: ...")
        else:
            body += definitions(name, getattr(member, "__doc__", None), "    ")
    if not body:
        yield f"class {cls.__name__}{shown}: ..."
        return
    yield f"class {cls.__name__}{shown}:"
    yield from body


def make() -> str:
    """The whole stub."""
    lines = [HEAD]
    for alias, words in sorted(_core._names.items()):
        shown = ", ".join(f'"{word}"' for word in words)
        lines.append(f"_{alias}: TypeAlias = Literal[{shown}]")
    lines += ["", "__all__ = ["]
    lines += [f'    "{name}",' for name in _core.__all__]
    lines += ["]", ""]
    classes = {name: v for name, v in vars(_core).items() if isinstance(v, type)}
    # Bases first, then by name.
    ordered = sorted(
        classes.items(),
        key=lambda item: (len(item[1].__mro__) if issubclass(item[1], Exception) else 99, item[0]),
    )
    for name, cls in ordered:
        if name == "_View":
            continue
        lines += [*class_lines(cls), ""]
    lines.append(SAME_TYPE)
    for name, value in sorted(vars(_core).items()):
        if isinstance(value, type) or name.startswith("__") or name == "_names":
            continue
        if callable(value):
            lines += definitions(name, value.__doc__, "")
        else:
            lines.append(f"{name}: {type(value).__name__}")
    lines.append("_names: dict[str, tuple[str, ...]]")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    if len(sys.argv) > 1:
        target = Path(sys.argv[1])
        target.unlink(missing_ok=True)  # a link must not be written through
        target.write_text(make(), encoding="utf-8")
    else:
        sys.stdout.write(make())
