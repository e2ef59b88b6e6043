"""Bad input ends in one sentence, the documented exit code, and no file half written."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from conftest import DATA, ROOT, Command, plan_words
from PIL import Image

PHOTOS = ROOT / "tests/data/photos"

WRONG_USE, MALFORMED, CAPTURE, MODEL, IO = 2, 3, 4, 5, 6


def check(
    mamelon: Command,
    words: list[str],
    sheet: Path,
    code: int,
    pattern: str,
) -> None:
    """Run, and hold the failure against what is documented."""
    result = mamelon(*words, f"--sheet={sheet}")
    lines = [line for line in result.stderr.splitlines() if ": warning: " not in line]
    assert result.returncode == code, result.stderr
    assert len(lines) == 1, result.stderr
    assert re.search(pattern, lines[0]), lines[0]
    assert result.stdout == ""
    assert list(sheet.parent.iterdir()) == []


@pytest.mark.parametrize(
    "case",
    [
        ("absent.jpg", IO, r"absent\.jpg: cannot be opened"),
        ("text.jpg", MALFORMED, r"text\.jpg"),
        ("truncated.jpg", MALFORMED, r"truncated\.jpg"),
        ("no_card.jpg", CAPTURE, "card"),
        ("card_cut_off.jpg", CAPTURE, "card"),
        ("card_hidden.jpg", CAPTURE, "card"),
        ("card_mirrored.jpg", CAPTURE, "mirror"),
        ("over_exposed.jpg", CAPTURE, "over-exposed"),
        ("under_exposed.jpg", CAPTURE, "under-exposed"),
        ("motion_blur.jpg", CAPTURE, "sharp|blur"),
        ("two_cards.jpg", CAPTURE, "more than one card"),
        ("wrong_card.jpg", CAPTURE, r"do not agree with the definition .* ΔE00 of \S+ \d"),
        ("cmyk.jpg", CAPTURE, "CMYK"),
        ("grey.jpg", CAPTURE, "grey"),
        ("tiny.jpg", CAPTURE, "too few|small"),
    ],
)
def test_photos(
    mamelon: Command, demo: dict[str, str], tmp_path: Path, case: tuple[str, int, str]
) -> None:
    photo, code, pattern = case
    words = plan_words({**demo, "photo": str(PHOTOS / photo)})
    check(mamelon, words, tmp_path / "sheet.html", code, pattern)


def test_a_card_upside_down_is_read(mamelon: Command, demo: dict[str, str]) -> None:
    result = mamelon(
        "card", PHOTOS / "card_upside_down.jpg", "--card", DATA / "cards/tooth20.json", "--json"
    )
    assert result.returncode == 0, result.stderr
    assert json.loads(result.stdout)["card"]["loo_de00_median"] < 0.5


def test_a_photo_of_more_pixels_than_can_be_measured(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    # The frame header (ITU-T T.81, B.2.2) of a good photo, told to be 16000 by 16000 pixels.
    content = bytearray((PHOTOS / "good_small.jpg").read_bytes())
    at = content.index(b"\xff\xc0") + 5
    content[at : at + 4] = (16000).to_bytes(2, "big") * 2
    (tmp_path / "huge").mkdir()
    huge = tmp_path / "huge/huge.jpg"
    huge.write_bytes(content)
    out = tmp_path / "out"
    out.mkdir()
    words = plan_words({**demo, "photo": str(huge)})
    check(mamelon, words, out / "sheet.html", CAPTURE, "16000×16000 pixels are more than the limit")


def test_a_card_without_white_samples_is_read_with_a_warning(
    mamelon: Command, tmp_path: Path
) -> None:
    document = json.loads((DATA / "cards/tooth20.json").read_text(encoding="utf-8"))
    del document["white"]
    for patch in document["patches"]:
        patch["neutral"] = False
    card = tmp_path / "card.json"
    card.write_text(json.dumps(document), encoding="utf-8")
    result = mamelon("card", PHOTOS / "good_small.jpg", "--card", card)
    assert result.returncode == 0, result.stderr
    assert "too few white samples" in result.stderr


@pytest.mark.parametrize(
    "case",
    [
        ({"depth": "0"}, WRONG_USE, "--depth: .*got 0"),
        ({"depth": "-1"}, WRONG_USE, "--depth: .*got -1"),
        ({"depth": "50"}, (WRONG_USE, MODEL), "depth.*50"),
        ({"depth": "deep"}, WRONG_USE, '--depth: expected a number, got "deep"'),
        ({"depth": "nan"}, WRONG_USE, "--depth: expected a number"),
        ({"depth": None}, WRONG_USE, "--depth"),
        ({"tabs": None}, WRONG_USE, "--tabs"),
        ({"card": None}, WRONG_USE, "--card"),
        ({"tooth": "5000,5000"}, WRONG_USE, "outside"),
        ({"tooth": "5"}, WRONG_USE, "--tooth: expected 2 numbers"),
        ({"box": "-900,-900,20,20"}, WRONG_USE, "outside|beyond"),
        ({"grid": "5"}, WRONG_USE, "--grid: expected rows and columns"),
        ({"grid": "0x3"}, WRONG_USE, "--grid"),
        ({"card": None, "tab-box": "oat"}, WRONG_USE, "--tab-box: expected NAME=X,Y,W,H"),
        ({"card": None, "tab-box": "no such tab=1,2,30,40"}, WRONG_USE, "no tab named"),
        ({"box": "10,10,20"}, WRONG_USE, "--box: expected 4 numbers"),
        ({"box": "1,1,9,9", "tooth": "5,5"}, WRONG_USE, "one of them"),
        ({"viewing": "noon"}, WRONG_USE, "--viewing"),
        ({"weights": "1:1"}, WRONG_USE, "--weights"),
        ({"zone": "left"}, WRONG_USE, 'no reading is named "left"; there are cervical'),
        ({"lamp": "5"}, WRONG_USE, "--lamp"),
        ({"floor": "absent.csv"}, IO, "absent.csv"),
        ({"floor": "170,0,0"}, WRONG_USE, "--floor"),
        ({"no-such-option": "1"}, WRONG_USE, "no-such-option"),
    ],
)
def test_options(
    mamelon: Command,
    demo: dict[str, str],
    tmp_path: Path,
    case: tuple[dict[str, str | None], int | tuple[int, int], str],
) -> None:
    changes, code, pattern = case
    codes = code if isinstance(code, tuple) else (code,)
    words = plan_words(demo, **changes)
    result = mamelon(*words)
    assert result.returncode in codes, result.stderr
    check(mamelon, words, tmp_path / "sheet.html", result.returncode, pattern)


@pytest.mark.parametrize(
    "option",
    [
        {"card": str(DATA / "cards/tooth20_frame.json")}, {"tooth": "5,5"}, {"box": "1,1,9,9"},
        {"rim": "1,1,9,9,1,9"}, {"inside": "1,1"}, {"outside": "1,1"}, {"mask": "m.png"},
        {"cervical": "90"}, {"grid": "3x3"}, {"tab-box": "oat=1,1,9,9"}, {"px-per-mm": "20"},
        {"blank-white": "w.jpg"}, {"corners": "1,1,9,1,9,9,1,9"}, {"exclude": "p"},
        {"method": "matrix"},
    ],
)  # fmt: skip
def test_options_of_a_photo_are_not_dropped_beside_readings(
    mamelon: Command, demo: dict[str, str], tmp_path: Path, option: dict[str, str]
) -> None:
    words = plan_words({**demo, "photo": "74,2,18"}, **{"card": None, **option})
    name = next(iter(option))
    check(mamelon, words, tmp_path / "s.html", WRONG_USE, f"--{name}: goes with a photo")


@pytest.mark.parametrize("flag", ["--mirrored", "--polarised", "--from-above", "--posterior"])
def test_flags_of_a_photo_are_not_dropped_beside_readings(
    mamelon: Command, demo: dict[str, str], flag: str
) -> None:
    done = mamelon("shade", "74,2,18", "--tabs", demo["tabs"], flag)
    assert done.returncode == WRONG_USE
    assert f"{flag}: goes with a photo" in done.stderr


def test_where_a_floor_lies_is_not_dropped_beside_a_curve(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    for option in ({"floor-box": "1,1,9,9"}, {"floor-mask": "m.png"}):
        words = plan_words(demo, **option)
        check(mamelon, words, tmp_path / "s.html", WRONG_USE, "--floor-mask go with a --floor")


def test_a_scale_needs_the_tabs_that_it_is_of(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    words = plan_words(demo, **{"px-per-mm": "20"})
    check(mamelon, words, tmp_path / "s.html", WRONG_USE, "--px-per-mm: goes with --tab-box")


@pytest.mark.parametrize("typed", ["74,2", "74 2 18", "74;2;18", "74,2,18,1", "74.2/1/18"])
def test_a_colour_that_is_typed_otherwise_is_told_how(
    mamelon: Command, demo: dict[str, str], typed: str
) -> None:
    done = mamelon("shade", typed, "--tabs", demo["tabs"])
    assert done.returncode == WRONG_USE
    assert "expected a colour as L,a,b" in done.stderr


def test_a_colour_that_no_tooth_has_is_met_by_no_tab(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    table = tmp_path / "far.csv"
    table.write_text("label,L,a,b\nx,120,10,18\ny,74,-130,18\n", encoding="utf-8")
    done = mamelon("shade", table, "--tabs", demo["tabs"])
    assert done.returncode == 1, done.stderr
    assert "extreme mismatch" in done.stdout
    for given in ("74,200,18", "74,190,18,0.1,0.1,0.1"):
        done = mamelon("shade", given, "--tabs", demo["tabs"])
        assert done.returncode == WRONG_USE, done.stderr
        assert "those of a surface lie from -150 to 150" in done.stderr


def test_files_of_other_kinds_are_told_what_they_are(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    workbook = tmp_path / "book.xlsx"
    workbook.write_bytes(b"PK\x03\x04" + bytes(60))
    report = tmp_path / "report.pdf"
    report.write_bytes(b"%PDF-1.7\n%\xe2\xe3\n")
    for file, kind in (
        (demo["tabs"], "a JSON document"),
        (workbook, "a workbook"),
        (report, "a printed document"),
    ):
        for words in (("lab", file), ("shade", file, "--tabs", demo["tabs"])):
            done = mamelon(*words)
            assert done.returncode == MALFORMED, done.stderr
            assert kind in done.stderr
    photo = DATA / "photos/front_teeth.jpg"
    done = mamelon("lab", photo)
    assert done.returncode == MALFORMED
    assert "a picture, not a table" in done.stderr
    done = mamelon("shade", "74,2,18", "--tabs", photo)
    assert done.returncode == MALFORMED
    assert "a picture, not a JSON document" in done.stderr


def test_depth_as_its_own_word_may_be_negative(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    words = [*plan_words(demo, depth=None), "--depth", "-3"]
    check(mamelon, words, tmp_path / "sheet.html", WRONG_USE, "--depth: .*got -3")


def document(name: str) -> dict[str, Any]:
    """One of the demo's documents, to be spoilt."""
    loaded: dict[str, Any] = json.loads((DATA / name).read_text(encoding="utf-8"))
    return loaded


def spoilt_tabs(kind: str) -> str:
    tabs = document("tabs/orchard16.json")
    if kind == "empty":
        tabs["tabs"] = []
    elif kind == "duplicate":
        tabs["tabs"][1]["name"] = tabs["tabs"][0]["name"]
    elif kind == "duplicate with its own viewing":
        tabs["tabs"][1] = {**tabs["tabs"][0], "viewing": "A/10"}
    elif kind == "unknown viewing":
        tabs["viewing"] = "noon"
    elif kind == "nan":
        tabs["tabs"][2]["lab"][1] = float("nan")
    elif kind == "newer major":
        tabs["version"] = "2.0"
    return json.dumps(tabs, indent=1)


@pytest.mark.parametrize(
    ("kind", "pattern"),
    [
        ("nan", r"tabs\.json: line \d+"),
        ("duplicate", r"tabs\.json: at \$\.tabs\[1\]\.name"),
        ("duplicate with its own viewing", r"\$\.tabs\[1\]: unknown key \"viewing\""),
        ("unknown viewing", r"at \$\.viewing"),
        ("empty", r"at \$\.tabs"),
        ("newer major", r"at \$\.version"),
    ],
)
def test_tab_sets(
    mamelon: Command, demo: dict[str, str], tmp_path: Path, kind: str, pattern: str
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    path = tmp_path / "tabs.json"
    path.write_text(spoilt_tabs(kind), encoding="utf-8")
    check(mamelon, plan_words(demo, tabs=str(path)), out / "sheet.html", MALFORMED, pattern)


def test_a_tab_set_of_another_viewing_is_refused(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    words = plan_words(demo, viewing="D50/2")
    check(mamelon, words, tmp_path / "sheet.html", WRONG_USE, "D50/2.*D65/2|D65/2.*D50/2")


def test_paste_with_negative_absorption(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    pastes = document("pastes/orchard10.json")
    pastes["pastes"][3]["absorption_per_mm"][4] = -0.1
    out = tmp_path / "out"
    out.mkdir()
    path = tmp_path / "pastes.json"
    path.write_text(json.dumps(pastes), encoding="utf-8")
    check(
        mamelon,
        plan_words(demo, pastes=str(path)),
        out / "sheet.html",
        MALFORMED,
        r"pastes\.json: at \$\.pastes\[3\]\.absorption_per_mm\[4\]",
    )


@pytest.mark.parametrize("size", [(1, 1), (1, 5000), (239, 4000)])
def test_photos_of_a_few_pixels(
    mamelon: Command, demo: dict[str, str], tmp_path: Path, size: tuple[int, int]
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    photo = tmp_path / "dot.png"
    Image.new("RGB", size, (180, 160, 140)).save(photo)
    words = plan_words({**demo, "photo": str(photo)})
    check(mamelon, words, out / "sheet.html", CAPTURE, "too few to measure")


def test_an_endless_label_is_cut_on_the_sheet_and_whole_nowhere(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.html"
    result = mamelon(*plan_words(demo, label="W" * 10_000, sheet=str(sheet)))
    assert result.returncode in (0, 1), result.stderr
    text = sheet.read_text(encoding="utf-8")
    assert "W" * 100 in text
    assert "W" * 200 not in text


def test_sheet_that_cannot_be_written(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    for sheet in (tmp_path / "absent" / "sheet.html", tmp_path):
        result = mamelon(*plan_words(demo, sheet=str(sheet)))
        assert result.returncode == IO, result.stderr
        assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_existing_sheet_is_replaced_whole(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.html"
    assert mamelon(*plan_words(demo, depth="2", sheet=str(sheet))).returncode in (0, 1)
    old = sheet.read_text(encoding="utf-8")
    failed = mamelon(*plan_words(demo, depth="0", sheet=str(sheet)))
    assert failed.returncode == WRONG_USE
    assert sheet.read_text(encoding="utf-8") == old
    assert mamelon(*plan_words(demo, sheet=str(sheet))).returncode in (0, 1)
    assert sheet.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert sheet.read_text(encoding="utf-8") != old
    assert [entry.name for entry in tmp_path.iterdir()] == ["sheet.html"]


def test_names_with_markup_stay_text_on_the_sheet(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    script = "<script>alert(1)</script>"
    tabs = document("tabs/orchard16.json")
    for tab in tabs["tabs"]:
        tab["name"] = script + tab["name"]
    pastes = document("pastes/orchard10.json")
    for paste in pastes["pastes"]:
        paste["name"] = script + paste["name"]
    (tmp_path / "tabs.json").write_text(json.dumps(tabs), encoding="utf-8")
    (tmp_path / "pastes.json").write_text(json.dumps(pastes), encoding="utf-8")
    sheet = tmp_path / "sheet.html"
    words = plan_words(
        demo,
        tabs=str(tmp_path / "tabs.json"),
        pastes=str(tmp_path / "pastes.json"),
        label=script * 400,
        sheet=str(sheet),
    )
    assert mamelon(*words).returncode in (0, 1)
    text = sheet.read_text(encoding="utf-8")
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert text.count("alert(1)") < 100


def test_no_verb_unknown_verb_and_full_output(mamelon: Command, tmp_path: Path) -> None:
    assert mamelon().returncode == WRONG_USE
    unknown = mamelon("polish", "x.jpg")
    assert unknown.returncode == WRONG_USE
    assert 'there is no verb "polish"' in unknown.stderr
    table = tmp_path / "t.csv"
    table.write_text("label,L,a,b\nx,70,1,2\n", encoding="utf-8")
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no /dev/full")
    import subprocess

    with full.open("w") as out:
        result = subprocess.run(
            [mamelon.path, "lab", str(table)], stdout=out, stderr=subprocess.PIPE, check=False
        )
    assert result.returncode == IO
