"""The built reference has every public name. MAMELON_REFERENCE is its folder; unset: skipped."""

from __future__ import annotations

import importlib
import inspect
import os
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

# Before a commit the rules are held where nothing is built yet.
mm = pytest.importorskip("mamelon")

ROOT = Path(__file__).resolve().parents[2]
BUILT = os.environ.get("MAMELON_REFERENCE", "")
pytestmark = pytest.mark.skipif(not BUILT, reason="MAMELON_REFERENCE names no built reference")
MODULES = ("agreement", "frames", "judgement", "plot", "study")
# Described in a text of their own: src/base/README.md.
MACHINERY = {"description.h"}


def names_in_python() -> set[str]:
    found = {f"mamelon.{name}" for name in mm.__all__ if not name.startswith("__")}
    for name in mm.__all__:
        value = getattr(mm, name)
        if inspect.isclass(value):
            found |= {
                f"mamelon.{name}.{key}"
                for key, member in vars(value).items()
                if not key.startswith("_") and (callable(member) or isinstance(member, property))
            }
    for module in MODULES:
        every = importlib.import_module(f"mamelon.{module}").__all__
        found |= {f"mamelon.{module}.{name}" for name in every}
    return found


def test_every_python_name_has_its_place() -> None:
    inventory = pytest.importorskip("sphinx.util.inventory").InventoryFile
    with Path(BUILT, "objects.inv").open("rb") as file:
        kinds = inventory.load(file, "", lambda base, path: path)
    listed = {name for kind, names in kinds.items() if kind.startswith("py:") for name in names}
    wanted = names_in_python()
    assert len(wanted) > 1000
    assert not wanted - listed


def names_in_headers() -> set[str]:
    """Types, functions, constants and fields, read from the headers as text."""
    found: set[str] = set()
    for header in sorted((ROOT / "include/mamelon").glob("*.h")):
        if header.name in MACHINERY:
            continue
        text = header.read_text(encoding="utf-8")
        # Descriptions of values are no names of their own.
        text = re.sub(r"(?ms)^template <(class \w+)?>\nstruct \w+<.*?^\};\n", "", text)
        found |= set(re.findall(r"^(?:struct|class|enum class) (\w+)[^;]*\{", text, re.M))
        found |= set(re.findall(r"^(?:\[\[nodiscard\]\]|void)\s[^;{(=]*?\b(\w+)\(", text, re.M))
        found |= set(re.findall(r"^inline constexpr [^=;{]*?\b(\w+)(?: =|\{)", text, re.M))
        fields = re.findall(
            r"^  [\w:]+(?:<[^;]*>)?\s([a-z]\w*)(?: = [^;]*|\{[^;]*\})?;", text, re.M
        )
        found |= {name for name in fields if not name.endswith("_")}
    return found


def test_every_cpp_name_has_its_place() -> None:
    tags = ElementTree.parse(Path(BUILT, "cpp.tag")).getroot()
    listed = {(name.text or "").rsplit("::", 1)[-1] for name in tags.iter("name")}
    wanted = names_in_headers()
    assert len(wanted) > 500
    assert not wanted - listed
