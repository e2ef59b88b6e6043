"""Sphinx settings of the reference: Python pages from docstrings, the gallery from examples.

`build.sh` copies this folder into build/, where the pages of names are written beside it.
"""

from __future__ import annotations

import inspect
import re
import runpy
from pathlib import Path
from typing import Any

import mamelon as mm
from mamelon import agreement, frames, judgement, plot, study

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).resolve().parent

project = "mamelon"
author = "the mamelon authors"
copyright = "the mamelon authors, Apache-2.0"
release = mm.__version__
extensions = ["sphinx.ext.autodoc", "sphinx_gallery.gen_gallery"]
html_theme = "alabaster"
html_theme_options = {"description": mm.__doc__.splitlines()[0], "fixed_sidebar": True}
html_show_sourcelink = False
# Doxygen's pages, made before these.
html_extra_path = ["extra"]
nitpicky = False
autodoc_docstring_signature = True
autodoc_typehints = "none"
autodoc_class_signature = "separated"
python_maximum_signature_line_length = 80
sphinx_gallery_conf = {
    "examples_dirs": str(ROOT / "examples/gallery"),
    "gallery_dirs": "gallery",
    "filename_pattern": r".*\.py",
    "download_all_examples": False,
    "remove_config_comments": True,
    "show_memory": False,
    "min_reported_time": 1e9,
    "abort_on_example_error": True,
    "nested_sections": False,
}

# What the layers are called, in the order of their headers.
LAYERS = {
    "base": ("Values and errors", "measured provenance progress error limits"),
    "colour": ("Colour", "spectrum colour viewing difference batch appearance"),
    "reading": ("Readings", "reading"),
    "capture": ("From a photo to readings", "image card profile zones region layout"),
    "shade": ("Tab sets", "tabs match calibrate transfer population audit"),
    "material": ("Pastes", "paste stack transport drawdown opacity shift"),
    "plan": ("Plans", "plan crosswalk"),
    "case": ("Cases", "case report solve"),
    "io": ("Files and sheets", "files exchange paste_report sheet"),
}
MODULES = {
    "agreement": agreement, "frames": frames, "judgement": judgement, "plot": plot, "study": study
}  # fmt: skip


FIELDS: dict[str, dict[str, str]] = {}
for header in sorted((ROOT / "include/mamelon").glob("*.h")):
    described = runpy.run_path(str(ROOT / "python/reference/field_meanings.py"))["meanings"]
    FIELDS |= described(header.read_text(encoding="utf-8"), "name")


def layer_of(name: str, headers: dict[str, str]) -> str:
    """The layer whose header has the same name in C++, a constructor's or a list's left aside."""
    for layer, text in headers.items():
        if re.search(rf"\b{re.escape(name)}\b\s*[({{:;=<]|\b(struct|class) {name}\b", text):
            return layer
    return "python"


def directive(owner: str, name: str, value: object) -> str:
    """The autodoc directive of one public name."""
    if inspect.isclass(value):
        return (
            f".. autoclass:: {owner}.{name}\n   :members:\n   :undoc-members:\n"
            "   :special-members: __len__, __iter__, __getitem__\n"
        )
    if callable(value):
        return f".. autofunction:: {owner}.{name}\n"
    return f".. autodata:: {owner}.{name}\n   :no-value:\n"


def page(title: str, about: str, parts: list[str]) -> str:
    """One page of names."""
    return f"{title}\n{'=' * len(title)}\n\n{about}\n\n" + "\n".join(parts)


def write_pages() -> None:
    """A page for each layer, in the order of the layers, and one for each optional module."""
    headers = {}
    for layer, (_, names) in LAYERS.items():
        files = [ROOT / f"include/mamelon/{name}.h" for name in names.split()]
        files = [file for file in files if file.exists()]
        headers[layer] = "\n".join(file.read_text(encoding="utf-8") for file in files)
    parts: dict[str, list[str]] = {layer: [] for layer in [*LAYERS, "python"]}
    for name in sorted(mm.__all__, key=lambda name: (name[0].islower(), name)):
        parts[layer_of(name, headers)].append(directive("mamelon", name, getattr(mm, name)))
    folder = HERE / "names"
    folder.mkdir(exist_ok=True)
    titles = {layer: title for layer, (title, _) in LAYERS.items()} | {"python": "Python alone"}
    for layer, title in titles.items():
        text = page(title, "", [".. currentmodule:: mamelon\n", *parts[layer]])
        (folder / f"{layer}.rst").write_text(text, encoding="utf-8")
    for name, module in MODULES.items():
        names = [directive(f"mamelon.{name}", one, getattr(module, one)) for one in module.__all__]
        about = f".. automodule:: mamelon.{name}\n   :no-members:\n"
        (folder / f"{name}.rst").write_text(page(f"mamelon.{name}", about, names), encoding="utf-8")


def plain_words(line: str) -> str:
    """One line of a docstring, which is plain text with `names`, as reStructuredText."""
    parts = re.split(r"(``.+?``|`.+?`)", line)
    for number, part in enumerate(parts):
        if number % 2:
            parts[number] = "``" + part.strip("`") + "``"
        else:
            parts[number] = re.sub(r"([*|\\])", r"\\\1", part)
            parts[number] = re.sub(r"(?<=\w)_(?=\W|$)", r"\\_", parts[number])
    return "".join(parts)


def mend_docstring(
    app: object, what: str, name: str, value: object, options: object, lines: list[str]
) -> None:
    """Docstrings are written for readers of source and terminal; here they become pages."""
    mended: list[str] = []
    example = False
    for line in lines:
        starts = line.lstrip().startswith(">>>")
        if starts and not example and mended and mended[-1].strip():
            mended.append("")
        example = starts or (example and bool(line.strip()))
        mended.append(line if example else plain_words(line))
    if what in ("property", "attribute") and mended and ": " in mended[0]:
        kind, meaning = lines[0].split(": ", 1)
        owner, field = name.split(".")[-2:]
        # The description also tells unit and range.
        meaning = FIELDS.get(owner, {}).get(field, meaning)
        mended[0] = f"``{kind}``: {plain_words(meaning)}"
    lines[:] = mended


def setup(app: Any) -> None:
    """Called by Sphinx."""
    app.connect("autodoc-process-docstring", mend_docstring)


write_pages()
