"""Cases and reports through the bindings, and a study of cases."""

from __future__ import annotations

import json
import multiprocessing
import pickle
import zipfile
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from conftest import DATA

import mamelon as mm
from mamelon import study


def reading(label: str, light: float, zone: str = "") -> mm.Reading:
    lab = mm.Measured([light, 2, 18], [[0.1, 0, 0], [0, 0.1, 0], [0, 0, 0.1]])
    return mm.Reading(label, lab, "D65/2", zone=zone)


@pytest.fixture(scope="module")
def case() -> mm.Case:
    """Two teeth of one reading each."""
    return mm.Case(
        viewing="D65/2",
        teeth=[
            mm.CaseTooth(number=11, readings=[reading("11", 74)]),
            mm.CaseTooth(number=21, readings=[reading("21", 66)]),
        ],
        tabs=mm.read_tab_set(DATA / "tabs/orchard16.json"),
        headline="21",
        restoration=mm.Restoration(
            pastes=mm.read_paste_set(DATA / "pastes/orchard10.json"),
            floor=mm.CaseFloor(reflectance=mm.read_reflectance(DATA / "floors/sound_dentine.csv")),
            depths_mm=[2],
        ),
    )


def test_each_tooth_has_its_own_report(case: mm.Case) -> None:
    report = mm.solve(case)
    assert [tooth.number for tooth in report.teeth] == [11, 21]
    assert report.headline == 1
    for tooth in report.teeth:
        assert tooth.plans is not None
        assert tooth.plans.plans[0].predicted[0].target == tooth.readings[0].lab.value
    document = json.loads(mm.to_json(report))
    assert document["headline"] == "tooth 21"
    assert "tooth 21" in mm.sheet_html(report) or "21" in mm.sheet_html(report)


def test_progress_is_told_and_can_stop(case: mm.Case) -> None:
    told: list[tuple[float, str]] = []

    def go_on(share: float, step: str) -> bool:
        told.append((share, step))
        return True

    mm.solve(case, progress=go_on)
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert {"ranking the tabs", "planning the layers"} <= {step for _, step in told}
    with pytest.raises(mm.StoppedError):
        mm.solve(case, progress=lambda share, step: False)
    with pytest.raises(ZeroDivisionError):
        mm.solve(case, progress=lambda share, step: 1 / 0 > 0)


def test_a_case_is_one_file(case: mm.Case, tmp_path: Path) -> None:
    mm.write_case(tmp_path / "case.zip", case)
    again = mm.read_case(tmp_path / "case.zip")
    assert again == case
    assert mm.digest(again) == mm.digest(case)
    mm.write_case(tmp_path / "twin.zip", again)
    assert (tmp_path / "twin.zip").read_bytes() == (tmp_path / "case.zip").read_bytes()
    assert mm.to_json(mm.solve(again)) == mm.to_json(mm.solve(case))
    with pytest.raises(mm.DataError, match="no sound zip"):
        (tmp_path / "bad.zip").write_bytes(b"PK")
        mm.read_case(tmp_path / "bad.zip")


def test_a_light_of_ones_own_stands_in_the_case(case: mm.Case, tmp_path: Path) -> None:
    power = 100 + np.arange(31.0)
    lamp = mm.Illuminant("shop lamp", mm.Power(mm.Grid(400, 10, 31), power))
    viewing = mm.Viewing(lamp, "deg10")
    tabs = case.tabs
    assert tabs is not None
    teeth = [
        tooth.replace(readings=[one.replace(viewing=viewing) for one in tooth.readings])
        for tooth in case.teeth
    ]
    restoration = case.restoration
    assert restoration is not None
    ours = case.replace(
        viewing=viewing,
        teeth=teeth,
        tabs=tabs.replace(viewing=viewing),
        restoration=restoration.replace(also_under=[mm.WeighedLight(lamp, 0.5)]),
    )
    mm.write_case(tmp_path / "case.zip", ours)
    again = mm.read_case(tmp_path / "case.zip")
    assert again == ours
    assert again.viewing.illuminant == lamp
    assert mm.digest(again) == mm.digest(ours)
    assert mm.to_json(mm.solve(again)) == mm.to_json(mm.solve(ours))
    with zipfile.ZipFile(tmp_path / "case.zip") as archive:
        document = json.loads(archive.read("case.json"))
    assert document["version"] == "1.6"
    assert document["lights"] == [
        {
            "name": "shop lamp",
            "power": {"first_nm": 400, "step_nm": 10, "values": power.tolist()},
        }
    ]
    jsonschema.Draft202012Validator(json.loads(mm.json_schema("case"))).validate(document)
    # Another light of that name is another case, and not one that can be told apart in a file.
    other = mm.Viewing(mm.Illuminant("shop lamp", mm.Power(lamp.power.grid, power**2)), "deg10")
    assert mm.digest(case.replace(viewing=other)) != mm.digest(case.replace(viewing=viewing))
    for name, words in (("shop lamp", "two lights"), ("D65", "not the CIE's")):
        light = mm.Illuminant(name, mm.Power(lamp.power.grid, power**2))
        with pytest.raises(mm.ArgumentError, match=words):
            mm.write_case(
                tmp_path / "other.zip",
                ours.replace(restoration=restoration.replace(
                    also_under=[mm.WeighedLight(light, 0.5)]
                )),
            )  # fmt: skip


def test_a_report_can_be_pickled(case: mm.Case) -> None:
    report = mm.solve(case)
    twin = pickle.loads(pickle.dumps(report))
    assert twin == report
    assert hash(twin) == hash(report)
    assert (mm.to_json(twin), mm.sheet_html(twin)) == (mm.to_json(report), mm.sheet_html(report))
    assert twin != report.replace(label="another")
    tried = mm.TryIn(reading=reading("try-in", 73))
    seen = mm.compare_try_in(case, report, tried)
    assert pickle.loads(pickle.dumps(seen)) == seen == mm.compare_try_in(case, twin, tried)
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        assert pool.apply(mm.solve, (case,)) == report


def test_a_case_keeps_what_came_of_it(case: mm.Case, tmp_path: Path) -> None:
    photo = mm.CasePhoto((DATA / "photos/front_teeth.jpg").read_bytes())
    layers = [mm.PlacedLayer("loam", 1.5)]
    whole = case.replace(
        chair=mm.ChairNotes("28 November", "ann", [mm.PasteLot("loam", "7")]),
        try_ins=[
            mm.TryIn(reading=reading("try-in", 73), layers=layers),
            mm.TryIn(stage="finished", photo=photo, at=mm.ToothHint(point=(820, 400))),
        ],
    )
    mm.write_case(tmp_path / "case.zip", whole)
    again = mm.read_case(tmp_path / "case.zip")
    # The name of a photo's file stands in no case: the case's own stands in for it.
    seen = whole.try_ins[1].replace(photo=photo.replace(source="case.zip"))
    assert again == whole.replace(try_ins=[whole.try_ins[0], seen])
    # What came of a plan changes no figure of it.
    assert mm.to_json(mm.solve(again)) == mm.to_json(mm.solve(case))


def test_a_try_in_stands_beside_its_target(case: mm.Case) -> None:
    report = mm.solve(case)
    tooth = report.teeth[report.headline]
    target = tooth.readings[tooth.planned]
    seen = reading("try-in", 70)
    found = mm.compare_try_in(case, report, mm.TryIn(reading=seen))
    assert found.to_target.de00 == mm.de00(target.lab.value, seen.lab.value)
    assert found.to_prediction is None
    with pytest.raises(mm.ArgumentError, match="one of a photo and a reading"):
        mm.compare_try_in(case, report, mm.TryIn())


def test_a_wrong_case_is_refused(case: mm.Case) -> None:
    with pytest.raises(mm.ArgumentError, match="is no tooth in ISO 3950"):
        mm.solve(case.replace(teeth=[mm.CaseTooth(number=19, readings=[reading("x", 70)])]))
    with pytest.raises(mm.ArgumentError, match="neither readings nor a photo"):
        mm.solve(case.replace(teeth=[mm.CaseTooth()]))


def test_a_study_plans_as_a_case_does(case: mm.Case, tmp_path: Path) -> None:
    mm.write_case(tmp_path / "like.zip", case)
    manifest = tmp_path / "manifest.csv"
    manifest.write_text(
        "item,tooth,L,a,b,sd_L,sd_a,sd_b,case\n"
        "light,11,74,2,18,0.3,0.3,0.3,\n"
        "unsure,11,74,2,18,2,1,6,\n"
        "saved,,,,,,,,like.zip\n",
        encoding="utf-8",
    )
    table = study.run(
        manifest, tabs=DATA / "tabs/orchard16.json", viewing="D65/2",
        like=tmp_path / "like.zip", processes=1,
    ).set_index("item")  # fmt: skip
    assert table["error"].tolist() == [""] * 4
    assert table.loc["light", "plan"].endswith(" mm")
    assert table.loc["light", "tooth"] == "11"
    assert table.loc["unsure", "plan"] == ""
    assert table.loc["unsure", "grade"] == ""
    assert "too uncertain" in table.loc["unsure", "warnings"]
    planned = [tooth.plans for tooth in mm.solve(case).teeth]
    # A table states twelve significant digits.
    assert table.loc["saved", "plan_de00"].tolist() == [
        float(f"{plans.plans[plans.recommended].de00:.12g}")
        for plans in planned
        if plans is not None
    ]


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ("7_4,2,18,0.3", "L must be a number, not '7_4'"),
        ("500,2,18,0.3", "L must be 0 to 150, not '500'"),
        ("74,2,18,-5", "sd_L must be 0 to 100, not '-5'"),
        ("74,nan,18,1", "a must be a number, not 'nan'"),
        ("74,2,1e999,1", "b must be a number, not '1e999'"),
    ],
)
def test_numbers_of_a_study_are_numbers_that_can_be(tmp_path: Path, cells: str, words: str) -> None:
    manifest = tmp_path / "manifest.csv"
    manifest.write_text(f"item,L,a,b,sd_L\nx,{cells}\n", encoding="utf-8")
    table = study.run(
        manifest, tabs=DATA / "tabs/orchard16.json", viewing="D65/2", processes=1
    )  # fmt: skip
    assert table["error_kind"].tolist() == ["DataError"]
    assert words in table.loc[0, "error"]
