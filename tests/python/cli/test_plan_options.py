"""What `plan` does with its own options: floors, targets, orders of placing, zones, lights."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import Command, plan_words


def planned(mamelon: Command, *words: object) -> Any:
    result = mamelon(*words, "--json")
    assert result.returncode in (0, 1), result.stderr
    return json.loads(result.stdout)


@pytest.fixture
def table(demo: dict[str, str], tmp_path: Path) -> dict[str, str]:
    """Give a demo of which the tooth is a table of three zones' readings."""
    file = tmp_path / "tooth.csv"
    file.write_text("label,L,a,b\nneck,70,3,21\nmiddle,74,2,18\nedge,76,1,15\n", encoding="utf-8")
    return {
        "photo": str(file), "tabs": demo["tabs"], "pastes": demo["pastes"],
        "floor": demo["floor"], "zone": "middle",
    }  # fmt: skip


def expected(document: Any) -> float:
    value: float = document["plans"][document["recommended"]]["de00_expected"]
    return value


def test_a_target_is_a_colour_with_its_uncertainty(mamelon: Command, table: dict[str, str]) -> None:
    sure = planned(mamelon, *plan_words({**table, "photo": "74,2,18"}, zone=None))
    wide = planned(mamelon, *plan_words({**table, "photo": "74,2,18,1.5,0.5,1"}, zone=None))
    assert sure["readings"][0]["lab"] == [74, 2, 18]
    assert wide["readings"][0]["sd"] == pytest.approx([1.5, 0.5, 1])
    assert expected(wide) > expected(sure) + 0.1
    refused = mamelon(*plan_words({**table, "photo": "74,2,18,-1,0,0"}, zone=None))
    assert refused.returncode == 2
    assert "standard deviation" in refused.stderr


def test_a_floor_is_a_colour_with_its_uncertainty(mamelon: Command, table: dict[str, str]) -> None:
    words = {"depth": "1", "layers": "1"}
    sure = planned(mamelon, *plan_words({**table, "floor": "50,6,20"}, **words))
    wide = planned(mamelon, *plan_words({**table, "floor": "50,6,20,6,2,4"}, **words))
    best = [document["plans"][0] for document in (sure, wide)]
    assert best[0]["de00"] == pytest.approx(best[1]["de00"], abs=0.5)
    assert expected(wide) > expected(sure)
    assert any("smoothest reflectance" in text for text in wide["warnings"])


def test_a_floor_in_a_photo_needs_its_place(mamelon: Command, demo: dict[str, str]) -> None:
    words = plan_words({**demo, "floor": demo["photo"]})
    result = mamelon(*words)
    assert result.returncode == 2
    assert "--floor-box or --floor-mask" in result.stderr


@pytest.mark.parametrize("order", ["flat", "oblique", "wall_first"])
def test_increments_in_the_order_chosen(
    mamelon: Command, table: dict[str, str], order: str
) -> None:
    words = [*plan_words(table, order=order, depth="3.5"), "--contact-wall"]
    plan = planned(mamelon, *words)["plans"][0]
    steps = plan["increments"]
    walls = [step for step in steps if step["portion"] == "contact_wall"]
    assert walls == steps[: len(walls)]
    assert sum(step["thickness_mm"] for step in walls) == pytest.approx(3.5)
    assert sum(step["thickness_mm"] * step["share"] for step in steps) == pytest.approx(3.5)
    assert [step["contour"] for step in steps] == [False] * (len(steps) - 1) + [True]
    kinds = {step["portion"] for step in steps[len(walls) :]}
    assert kinds == {
        "flat": {"level"}, "oblique": {"first_wedge", "second_wedge"},
        "wall_first": {"walls", "core"},
    }[order]  # fmt: skip
    assert all(0 < step["blue_share"] < 1 and step["blue_measured"] for step in steps)


def test_an_unknown_order_is_refused(mamelon: Command, table: dict[str, str]) -> None:
    result = mamelon(*plan_words(table, order="sideways"))
    assert result.returncode == 2
    assert "flat, oblique and wall_first" in result.stderr


def test_the_same_pastes_in_every_zone(mamelon: Command, table: dict[str, str]) -> None:
    document = planned(mamelon, *plan_words(table), "--zones")
    pastes = [layer["paste"] for layer in document["plans"][document["recommended"]]["layers"]]
    assert [zone["label"] for zone in document["zones"]] == ["neck", "middle", "edge"]
    for zone in document["zones"]:
        assert [layer["paste"] for layer in zone["plan"]["layers"]] == pastes
        assert sum(x["thickness_mm"] for x in zone["plan"]["layers"]) == pytest.approx(3)
    text = mamelon(*plan_words(table), "--zones").stdout
    assert "The same pastes in every zone" in text


def test_a_light_that_counts_changes_the_goal(mamelon: Command, table: dict[str, str]) -> None:
    plain = planned(mamelon, *plan_words(table))
    warm = planned(mamelon, *plan_words(table), "--also-under", "A=1")
    assert expected(plain) != expected(warm)
    refused = mamelon(*plan_words(table), "--also-under", "A")
    assert refused.returncode == 2
    assert "NAME=WEIGHT" in refused.stderr


def test_what_is_out_of_reach_and_what_each_layer_buys(
    mamelon: Command, table: dict[str, str]
) -> None:
    document = planned(mamelon, *plan_words({**table, "photo": "97,0,1"}, zone=None, layers="2"))
    reach = document["out_of_reach"]
    assert reach["de00"] > 1.8
    assert reach["reason"] in document["warnings"]
    gains = document["gains"]
    assert [gain["layers"] for gain in gains] == [1, 2]
    first, second = (gain["de00_expected"] for gain in gains)
    assert gains[1]["gain_de00"] == pytest.approx(first - second)
    near = planned(mamelon, *plan_words(table))
    assert near["out_of_reach"] is None


def test_layers_add_up_in_tenths_and_seconds_are_whole(
    mamelon: Command, table: dict[str, str]
) -> None:
    document = planned(mamelon, *plan_words(table, depth="2.7", lamp="1100"))
    for plan in document["plans"]:
        tenths = [10 * layer["thickness_mm"] for layer in plan["layers"]]
        assert tenths == pytest.approx([round(value) for value in tenths])
        assert sum(tenths) == pytest.approx(27)
        for step in plan["increments"]:
            assert step["exposure_s"] == int(step["exposure_s"])
            assert step["exposure_s"] * 1.1 >= step["exposure_j_cm2"] - 1e-9


def test_an_acceptable_plan_comes_before_one_that_spares_a_layer(
    mamelon: Command, table: dict[str, str]
) -> None:
    words = {"photo": "78.02,0.11,12.42", "floor": "42,9,22"}
    document = planned(mamelon, *plan_words({**table, **words}, zone=None, depth="4"))
    plans = document["plans"]
    if any(plan["de00"] <= 1.8 for plan in plans):
        assert plans[document["recommended"]]["de00"] <= 1.8
    assert not any("a depth of" in text for text in document["warnings"])
