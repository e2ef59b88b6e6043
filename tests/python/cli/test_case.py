"""What a case asks and a report answers: several teeth, uncertain readings, floors in photos."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from conftest import DATA, Command, plan_words
from PIL import Image

import mamelon as mm

TRUTH = json.loads((DATA / "photos/front_teeth.truth.json").read_text(encoding="utf-8"))
PHOTO = str(DATA / "photos/front_teeth.jpg")


@pytest.fixture
def photo(demo: dict[str, str]) -> dict[str, str]:
    """Give the demo in the card's frame."""
    return {**demo, "photo": PHOTO, "card": str(DATA / "cards/tooth20_frame.json")}


def point(tooth: int) -> str:
    x, y = TRUTH["teeth"][tooth]["point_px"]
    return f"{x},{y}"


def document(mamelon: Command, *words: object) -> Any:
    result = mamelon(*words, "--json")
    assert result.returncode in (0, 1), result.stderr
    return json.loads(result.stdout)


def test_two_teeth_have_their_own_plans_and_the_one_named_stands_first(
    mamelon: Command, photo: dict[str, str], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.html"
    # Another tooth than the central: of another colour.
    words = [
        *plan_words(photo, depth="2"), f"--tooth=13={point(0)}", f"--tooth=11={point(2)}",
        "--headline=11", f"--sheet={sheet}",
    ]  # fmt: skip
    found = document(mamelon, *words)
    assert found["headline"] == "tooth 11"
    assert [(tooth["number"], tooth["planned"]) for tooth in found["teeth"]] == [
        (13, "tooth 13, middle"), (11, "tooth 11, middle"),
    ]  # fmt: skip
    assert [reading["label"] for reading in found["readings"]] == ["tooth 13"] * 3 + [
        "tooth 11"
    ] * 3
    assert found["plans"] == found["teeth"][1]["plans"]
    assert found["plans"] != found["teeth"][0]["plans"]
    alone = document(
        mamelon, *plan_words(photo, depth="2"), f"--tooth=13={point(0)}"
    )  # fmt: skip
    assert alone["plans"] == found["teeth"][0]["plans"]
    answer = re.findall("<p class=answer>([^<]*)", sheet.read_text(encoding="utf-8"))
    assert answer[0].startswith("Tooth 11, middle: nearest tab ")
    text = mamelon(*words).stdout
    assert text.index("Plan for tooth 11, middle") < text.index("Plan for tooth 13, middle")


def test_a_tooth_is_named_as_the_standard_does(mamelon: Command, photo: dict[str, str]) -> None:
    result = mamelon(*plan_words(photo), f"--tooth=19={point(2)}")
    assert result.returncode == 2
    assert "is no tooth in ISO 3950" in result.stderr
    molar = document(
        mamelon, "shade", PHOTO, "--card", photo["card"], "--tabs", photo["tabs"],
        f"--tooth=16={point(2)}",
    )  # fmt: skip
    assert [reading["zone"] for reading in molar["readings"]][-1] == "occlusal"
    missing = mamelon(*plan_words(photo), "--headline=31")
    assert missing.returncode == 2
    assert 'no tooth is named "31"' in missing.stderr


def test_posterior_teeth_are_planned_for_their_occlusal_third(
    mamelon: Command, photo: dict[str, str]
) -> None:
    text = mamelon(*plan_words(photo), f"--tooth={point(2)}", "--posterior").stdout
    assert "Plan for tooth, occlusal" in text


def test_a_reading_too_uncertain_decides_nothing(
    mamelon: Command, photo: dict[str, str], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.html"
    # An over-exposed photo was read with b* ± 6.3.
    words = plan_words({**photo, "photo": "74,2,18,1.5,1,6.3"}, card=None, sheet=str(sheet))
    result = mamelon(*words, "--json")
    assert result.returncode == 1
    found = json.loads(result.stdout)
    assert found["plans"] == []
    assert found["recommended"] is None
    reading = found["readings"][0]
    assert len(reading["matches"]) == 16
    assert {tab["grade"] for tab in reading["matches"]} == {None}
    for tab in reading["matches"]:
        assert tab["de00"] is None or tab["low"] <= tab["de00"] <= tab["high"]
    first = result.stderr.splitlines()[0]
    assert first.startswith("mamelon: warning: no plan is made: ")
    assert "take three readings or more" in first
    page = sheet.read_text(encoding="utf-8")
    assert "too uncertain to grade" in page
    assert "Plan from the floor outward" not in page
    shade = mamelon("shade", "74,2,18,1.5,1,6.3", "--tabs", photo["tabs"])
    assert shade.returncode == 1
    assert "withheld" in shade.stdout
    assert "excellent" not in shade.stdout
    sure = mamelon("shade", "74,2,18,0.6,0.3,0.5", "--tabs", photo["tabs"], "--json")
    assert None not in {tab["grade"] for tab in json.loads(sure.stdout)["readings"][0]["matches"]}


def test_an_uncertainty_that_was_not_given_is_unknown(
    mamelon: Command, demo: dict[str, str], tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.html"
    result = mamelon("shade", "74,2,18", "--tabs", demo["tabs"], f"--sheet={sheet}")
    assert "± unknown" in result.stdout
    assert "± 0.0" not in result.stdout
    assert "± unknown" in sheet.read_text(encoding="utf-8")
    assert (
        document(mamelon, "shade", "74,2,18", "--tabs", demo["tabs"])["readings"][0]["sd"] is None
    )


def test_a_warning_that_changes_the_decision_stands_first(
    mamelon: Command, demo: dict[str, str]
) -> None:
    result = mamelon(*plan_words({**demo, "photo": "97,0,1"}, card=None, floor="48,7,22"))
    assert result.returncode == 1
    kinds = [line.split(": ")[1] for line in result.stderr.splitlines()]
    assert kinds[0] == "warning"
    assert "note" in kinds
    assert kinds == sorted(kinds, reverse=True)


@pytest.mark.parametrize("darkness", [0.02, 0.15, 0.6])
@pytest.mark.parametrize("side", [1, 6, 80])
def test_a_floor_in_a_photo_may_be_of_any_darkness_and_size(
    mamelon: Command, photo: dict[str, str], tmp_path: Path, darkness: float, side: int
) -> None:
    # The photo with a stained floor painted on the tooth, darker to one side.
    pixels = np.array(Image.open(PHOTO))
    x, y = (int(v) for v in TRUTH["teeth"][2]["point_px"])
    shade = np.array([200, 150, 110]) * darkness**0.45
    fall = np.linspace(1.1, 0.9, 100)[None, :, None]
    pixels[y - 50 : y + 50, x - 50 : x + 50] = np.clip(shade * fall, 0, 255)
    file = tmp_path / "floor.png"
    Image.fromarray(pixels).save(file)
    half = side // 2
    result = mamelon(
        *plan_words({**photo, "photo": "74,2,18"}, floor=str(file), depth="2"),
        f"--floor-box={x - half},{y - half},{side},{side}", "--json",
    )  # fmt: skip
    assert result.returncode in (0, 1), result.stderr
    assert json.loads(result.stdout)["plans"]


def test_the_place_of_a_floor_is_asked_for_where_there_is_a_photo(
    mamelon: Command, photo: dict[str, str]
) -> None:
    missing = mamelon(*plan_words({**photo, "photo": "74,2,18"}, floor="dark"))
    assert missing.returncode == 6
    assert "dark: cannot be opened" in missing.stderr
    words = plan_words({**photo, "photo": "74,2,18"}, floor=PHOTO)
    assert "--floor-box" in mamelon(*words).stderr
    outside = mamelon(*words, "--floor-box=1500,1100,900,90")
    assert outside.returncode == 2
    assert "reaches beyond the photo" in outside.stderr


def test_a_mask_on_the_card_is_refused(
    mamelon: Command, photo: dict[str, str], tmp_path: Path
) -> None:
    mask = np.zeros((TRUTH["height_px"], TRUTH["width_px"]), np.uint8)
    corners = np.array(TRUTH["card_corners_px"]).reshape(-1, 2)
    x0, y0 = corners.min(axis=0).astype(int)
    mask[max(y0, 0) : y0 + 220, max(x0, 0) : x0 + 500] = 255
    Image.fromarray(mask).save(tmp_path / "mask.png")
    words = ["shade", PHOTO, "--card", photo["card"], "--tabs", photo["tabs"]]
    result = mamelon(*words, f"--mask={tmp_path / 'mask.png'}")
    assert result.returncode == 2, result.stderr
    assert "lies on the card" in result.stderr


def test_tabs_in_the_photo_are_pointed_at_once_and_are_no_teeth(
    mamelon: Command, photo: dict[str, str]
) -> None:
    words = ["shade", PHOTO, "--tabs", photo["tabs"], f"--tooth={point(2)}"]
    tabs = [tab["name"] for tab in json.loads(Path(photo["tabs"]).read_text("utf-8"))["tabs"]]
    x, y = TRUTH["teeth"][2]["point_px"]
    twice = mamelon(*words, f"--tab-box={tabs[0]}=10,10,40,40", f"--tab-box={tabs[0]}=90,10,40,40")
    assert twice.returncode == 2
    assert "is pointed at twice" in twice.stderr
    on_tooth = mamelon(*words, f"--tab-box={tabs[0]}={x - 20},{y - 20},40,40")
    assert on_tooth.returncode == 2, on_tooth.stderr
    assert "lies on tooth" in on_tooth.stderr


@pytest.mark.parametrize(
    "words",
    [["--layers=2.5"], ["--top=1.5"], ["--grid=2.5x3"]],
)
def test_whole_numbers_are_whole(mamelon: Command, photo: dict[str, str], words: list[str]) -> None:
    result = mamelon(*plan_words(photo), *words)
    assert result.returncode == 2
    assert "expected a whole number" in result.stderr


def test_a_layout_does_not_overwrite_a_card(mamelon: Command, tmp_path: Path) -> None:
    drawing = tmp_path / "mine.svg"
    words = ["card", f"--layout={drawing}", "--patches=4"]
    assert mamelon(*words).returncode == 0
    assert mamelon(*words).returncode == 0  # nothing of a person's own is there yet
    filled = tmp_path / "mine.json"
    content = filled.read_text("utf-8").replace('"neutral": false', '"neutral": true')
    filled.write_text(content + " ", encoding="utf-8")
    refused = mamelon(*words)
    assert refused.returncode == 2
    assert "mine.json exists" in refused.stderr
    assert filled.read_text("utf-8") == content + " "


def test_a_saved_case_gives_the_same_answer_again(
    mamelon: Command, photo: dict[str, str], tmp_path: Path
) -> None:
    words = [*plan_words(photo, depth="2", label="case seven"), f"--tooth=11={point(2)}"]
    first = mamelon(*words, f"--save={tmp_path / 'case.zip'}", "--json")
    assert first.returncode in (0, 1), first.stderr
    again = mamelon("solve", tmp_path / "case.zip", "--json")
    assert (again.returncode, again.stdout) == (first.returncode, first.stdout)
    for zone in ("Europe/Berlin", "Pacific/Auckland"):
        twin = tmp_path / f"{zone[:3]}.zip"
        mamelon(*words, f"--save={twin}", env={"TZ": zone, "LC_ALL": "de_DE.UTF-8"})
        assert twin.read_bytes() == (tmp_path / "case.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "case.zip") as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        assert names[:2] == ["case.json", "sources.json"]
        assert [archive.read(name) for name in names[2:]] == [Path(PHOTO).read_bytes()]
        case = archive.read("case.json").decode()
    assert Path(PHOTO).name not in case
    assert str(tmp_path) not in case
    # A case of one's own is not overwritten by another.
    other = mamelon(*words[:-1], f"--save={tmp_path / 'case.zip'}")
    assert other.returncode == 2
    assert "case.zip exists" in other.stderr


def test_a_saved_case_holds_a_light_of_ones_own(mamelon: Command, tmp_path: Path) -> None:
    power = mm.Power(mm.Grid(380, 10, 36), [100.0 + i for i in range(36)])
    viewing = mm.Viewing(mm.Illuminant("shop lamp", power), "deg2")
    names = {"one": [70, 1, 15], "two": [66, 2, 18], "three": [74, 0, 12]}
    case = mm.Case(
        viewing=viewing,
        teeth=[mm.CaseTooth(readings=[mm.Reading("tooth", mm.Measured([71, 1, 15]), viewing)])],
        tabs=mm.TabSet("three", [mm.Tab(n, mm.Measured(lab)) for n, lab in names.items()], viewing),
    )
    mm.write_case(tmp_path / "case.zip", case)
    again = mamelon("solve", tmp_path / "case.zip", "--json")
    assert again.returncode in (0, 1), again.stderr
    assert again.stdout == mm.to_json(mm.solve(case))


def test_the_case_is_a_document_with_a_schema(
    mamelon: Command, photo: dict[str, str], tmp_path: Path
) -> None:
    schema = json.loads((DATA / "schemas/case.schema.json").read_text(encoding="utf-8"))
    file = tmp_path / "case.zip"
    mamelon(*plan_words({**photo, "photo": "74,2,18"}, card=None), f"--save={file}")
    with zipfile.ZipFile(file) as archive:
        jsonschema.Draft202012Validator(schema).validate(json.loads(archive.read("case.json")))


def test_a_damaged_case_is_refused(mamelon: Command, photo: dict[str, str], tmp_path: Path) -> None:
    file = tmp_path / "case.zip"
    assert mamelon("shade", PHOTO, "--card", photo["card"], "--tabs", photo["tabs"],
                   f"--save={file}").returncode in (0, 1)  # fmt: skip
    whole = file.read_bytes()
    with zipfile.ZipFile(file) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}

    def refused(content: bytes, words: str) -> None:
        file.write_bytes(content)
        result = mamelon("solve", file)
        assert result.returncode == 3, (words, result.stderr)
        assert re.search(words, result.stderr), result.stderr

    def packed(changed: dict[str, bytes]) -> bytes:
        made = io.BytesIO()
        with zipfile.ZipFile(made, "w") as archive:
            for name, content in changed.items():
                archive.writestr(name, content)
        return made.getvalue()

    refused(b"not a zip", "no sound zip")
    refused(whole[:-30], "no sound zip")
    middle = whole.index(parts["case.json"]) + 40
    refused(whole[:middle] + b"#" + whole[middle + 1 :], "damaged")
    photo_name = next(name for name in parts if name.startswith("files/"))
    refused(packed({k: v for k, v in parts.items() if k != photo_name}), "has no part files/")
    refused(packed({**parts, photo_name: b"another"}), "is not the file that its name says")
    refused(packed({**parts, "case.json": b"{}"}), r"case\.json")
    unknown = parts["case.json"].replace(b'"teeth"', b'"teef"')
    refused(packed({**parts, "case.json": unknown}), "teef|teeth")
    refused(packed({**parts, **{f"more/{i}": b"" for i in range(1000)}}), "parts")
    # Packed again by another program it is still the same case.
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    file.write_bytes(made.getvalue())
    assert mamelon("solve", file).returncode in (0, 1)
