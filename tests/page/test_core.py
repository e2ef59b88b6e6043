"""The core under node gives the bytes that the native library and its command give."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from page_driver import CARD, CORE, DATA, PASTES, PHOTO, TABS, needs_page

NODE = shutil.which("node")
NATIVE = os.environ.get("MAMELON_CLI", "")
pytestmark = [
    needs_page,
    pytest.mark.skipif(NODE is None, reason="node is not installed"),
    pytest.mark.skipif(not NATIVE, reason="needs MAMELON_CLI, the native command"),
]
FLOOR = DATA / "floors/dark_dentine.csv"


def run(folder: Path, jobs: list[list[Any]]) -> list[dict[str, Any]]:
    listed = folder / "jobs.json"
    listed.write_text(json.dumps(jobs), encoding="utf-8")
    done = subprocess.run(
        [str(NODE), Path(__file__).parent / "run_core.js", CORE, listed],
        capture_output=True,
        text=True,
        check=True,
    )
    answers = json.loads(done.stdout)
    assert isinstance(answers, list)
    return answers


def native(*words: object) -> str:
    done = subprocess.run([NATIVE, *map(str, words)], capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def document(photo: Path, **more: Any) -> dict[str, Any]:
    """The page's document of a case."""
    return {
        "label": "", "photo": hashlib.sha256(photo.read_bytes()).hexdigest(), "rendering": False,
        "posterior": False, "card": {"name": "card", "text": CARD.read_text("utf-8")},
        "tabs": {"name": "tabs", "text": TABS.read_text("utf-8")},
        "pastes": {"name": "pastes", "text": PASTES.read_text("utf-8")},
        "out": [], "tabBoxes": [], "teeth": [{"point": [820, 400]}],
        "floor": {"kind": "curve", "name": "floor", "text": FLOOR.read_text("utf-8")},
        "depth": 3, "lamp": 1000, "layers": 2, "anyOrder": False, "wall": False, "zone": "",
        "lights": False, "plan": False, **more,
    }  # fmt: skip


PLAN = ["--pastes", PASTES, "--floor", FLOOR, "--lamp", "1000", "--depth"]
# What the page's document says, and the same in the command's words.
CASES: list[tuple[str, dict[str, Any], list[object]]] = [
    (photo, {"teeth": [{"point": list(at)}], **more}, [*words, "--tooth", f"{at[0]},{at[1]}"])
    for photo in ("front_teeth.jpg", "front_teeth_warm.jpg", "front_teeth_linear.tif")
    for at in ((820, 400), (1030, 420))
    for more, words in (
        ({}, ["shade"]),
        ({"posterior": True}, ["shade", "--posterior"]),
        ({"plan": True}, ["plan", *PLAN, "3"]),
        ({"plan": True, "depth": 1.5, "layers": 1}, ["plan", *PLAN, "1.5", "--layers", "1"]),
        ({"plan": True, "depth": 2.2, "wall": True}, ["plan", *PLAN, "2.2", "--contact-wall"]),
        (
            {"plan": True, "layers": 3, "anyOrder": True},
            ["plan", *PLAN, "3", "--layers", "3", "--any-order"],
        ),
        ({"plan": True, "zone": "incisal"}, ["plan", *PLAN, "3", "--zone", "incisal"]),
    )
]  # fmt: skip


@pytest.mark.parametrize(
    "name", ["front_teeth.jpg", "front_teeth_warm.jpg", "front_teeth_linear.tif"]
)
def test_reports_are_the_commands_byte_for_byte(name: str, tmp_path: Path) -> None:
    photo = DATA / "photos" / name
    cases = [case for case in CASES if case[0] == name]
    jobs: list[list[Any]] = [["put", {}, str(photo), None]]
    for i, (_, more, _) in enumerate(cases):
        jobs.append(["solve", document(photo, **more), None, None])
        jobs.append(["report", {}, None, str(tmp_path / f"{i}.json")])
    answers = run(tmp_path, jobs)
    for i, (_, _, words) in enumerate(cases):
        assert answers[1 + 2 * i]["ok"], answers[1 + 2 * i]
        verb, *rest = words
        text = native(verb, photo, "--card", CARD, "--tabs", TABS, *rest, "--json")
        assert (tmp_path / f"{i}.json").read_text("utf-8") == text, words


def test_a_saved_case_is_the_commands(tmp_path: Path) -> None:
    asked = document(PHOTO, plan=True)
    run(
        tmp_path, [["put", {}, str(PHOTO), None], ["save", asked, None, str(tmp_path / "page.zip")]]
    )
    solved = native("solve", tmp_path / "page.zip", "--json")
    direct = native(
        "plan", PHOTO, "--card", CARD, "--tabs", TABS, *PLAN, "3", "--tooth", "820,400", "--json"
    )
    assert json.loads(solved)["plans"] == json.loads(direct)["plans"]


def test_refusals_are_the_library_s(tmp_path: Path) -> None:
    torn = tmp_path / "torn.jpg"
    torn.write_bytes(PHOTO.read_bytes()[:9000])
    key = hashlib.sha256(torn.read_bytes()).hexdigest()
    answers = run(
        tmp_path,
        [
            ["put", {}, str(torn), None],
            ["preview", {"key": key, "side": 800}, None, None],
            ["read", {"name": "x.json", "text": '{"format": "mamelon-tab-set"}'}, None, None],
            ["predict", {"layers": []}, None, None],
        ],
    )
    for answer in answers[1:]:
        assert not answer["ok"]
        assert answer["answer"]["kind"] == "refused"
        assert len(answer["answer"]["sentence"]) > 15
