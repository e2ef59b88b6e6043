"""Contrast of the sheet's text, computed from its own colours (WCAG 2.1, success criterion 1.4.3).

Level AA asks for a ratio of 4.5 for text and of 3 for the marks of a drawing (1.4.11).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import Command, plan_words

TEXT, MARK = 4.5, 3.0


def luminance(colour: str) -> float:
    """Relative luminance of #rgb or #rrggbb, as WCAG 2.1 defines it."""
    digits = colour.lstrip("#")
    digits = digits if len(digits) == 6 else "".join(2 * digit for digit in digits)
    light = 0.0
    for weight, at in ((0.2126, 0), (0.7152, 2), (0.0722, 4)):
        code = int(digits[at : at + 2], 16) / 255
        light += weight * (code / 12.92 if code <= 0.03928 else ((code + 0.055) / 1.055) ** 2.4)
    return light


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_as_wcag_defines_it() -> None:
    # WCAG 2.1, definition of contrast ratio: 21 for black on white; #767676 is the lightest grey
    # with 4.5 on white (common practice).
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.fixture(scope="module")
def sheet(mamelon: Command, demo: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("colours") / "sheet.html"
    assert mamelon(*plan_words(demo, sheet=str(path))).returncode in (0, 1)
    return path.read_text(encoding="utf-8")


def schemes(sheet: str) -> dict[str, dict[str, str]]:
    """Variables of the light, dark and printed scheme; each overrides the light one."""
    style = sheet[sheet.index("<style>") : sheet.index("</style>")]
    dark_at = style.index("prefers-color-scheme:dark")
    print_at = style.index("@media print")
    found: dict[str, dict[str, str]] = {}
    for name, start in (("light", 0), ("dark", dark_at), ("print", print_at)):
        block = style[style.index(":root{", start) :].split("}")[0]
        own = dict(re.findall(r"--(\w+):(#[0-9a-f]{3,6})", block))
        found[name] = {**found.get("light", {}), **own}
    return found


def test_every_scheme_has_text_and_marks_that_can_be_seen(sheet: str) -> None:
    found = schemes(sheet)
    assert len({tuple(sorted(colours.items())) for colours in found.values()}) == 3
    for name, colours in found.items():
        for ink, ground, least in (
            ("ink", "page", TEXT), ("soft", "page", TEXT), ("ink", "panel", TEXT),
            ("soft", "panel", TEXT), ("ink", "warnpanel", TEXT), ("warn", "warnpanel", TEXT),
            ("warn", "page", MARK), ("mark", "page", MARK),
        ):  # fmt: skip
            ratio = contrast(colours[ink], colours[ground])
            assert ratio >= least, f"{name}: {ink} on {ground} has a contrast of {ratio:.2f}"


def test_numbers_on_the_shade_map_can_be_read(sheet: str) -> None:
    cells = re.findall(r'fill="(#[0-9a-f]{6})"/><text [^>]*style="fill:(#[0-9a-f]{3})"', sheet)
    assert len(cells) > 50
    for ground, ink in set(cells):
        assert contrast(ground, ink) >= TEXT, (ground, ink)
