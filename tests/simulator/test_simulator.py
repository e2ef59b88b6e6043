"""The simulator does what it says: energy, geometry, truth, encodings and the same bytes again."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from . import camera, files, frame_cards, held_out, materials, spectra, study_capture
from .canvas import Bits, Canvas, Field
from .card_art import MARKER_CELLS, CardArt
from .photo import Shot, Simulated, from_run_lengths, run_lengths, simulate, write
from .spectra import DATA, WAVELENGTHS_NM, Array

SMALL = Shot(seed=5, width=600, height=400, encoding="linear", blur_px=0, full_well=1e9)


@pytest.fixture(scope="module")
def plain() -> Simulated:
    """A linear photo without blur, glare and noise, under even light, straight from the front."""
    return simulate(replace(SMALL, light_span=1e-6, tilt_deg=0, spots_per_tooth=0))


def patch_values(simulated: Simulated, patch: dict[str, float]) -> Array:
    """Mean file value (3,) of the middle of a patch of an untilted photo."""
    to_px = np.array(simulated.truth["mm_to_px"])
    x0, y0 = patch["x_mm"] + 0.7, patch["y_mm"] + 0.7
    x1, y1 = patch["x_mm"] + patch["width_mm"] - 0.7, patch["y_mm"] + patch["height_mm"] - 0.7
    ends = np.array([[x0, y0, 1], [x1, y1, 1]]) @ to_px.T
    (left, top), (right, bottom) = np.round(ends[:, :2] / ends[:, 2:]).astype(int)
    part = simulated.values[top:bottom, left:right].reshape(-1, 3)
    return np.asarray(part.mean(axis=0), dtype=np.float64)


def test_a_patch_sends_back_its_reflectance_times_light_times_sensitivity(plain: Simulated) -> None:
    one = camera.sensor(spectra.camera("A"), spectra.light("D50"))
    document = json.loads((DATA / "cards" / "tooth20.json").read_text(encoding="utf-8"))
    for patch in document["patches"]:
        reflectance = np.array(patch["reflectance"]["values"])
        expected = SMALL.exposure * (reflectance @ one.response) * one.balance
        assert patch_values(plain, patch) == pytest.approx(expected, rel=2e-3)


def test_flat_greys_stay_grey_in_white_balanced_light(plain: Simulated) -> None:
    document = json.loads((DATA / "cards" / "tooth20.json").read_text(encoding="utf-8"))
    for patch in document["patches"]:
        if patch["neutral"]:
            values = patch_values(plain, patch)
            assert np.ptp(values) < 2e-3 * values.mean() + 1e-5


def test_colour_of_the_card_agrees_with_its_stated_lab() -> None:
    # The cards' Lab values were summed from 380 to 780 nm at 5 nm, outside this program.
    for name in ("tooth20", "chart24", "compact12"):
        document = json.loads((DATA / "cards" / f"{name}.json").read_text(encoding="utf-8"))
        for patch in document["patches"]:
            lab = spectra.to_lab(np.array(patch["reflectance"]["values"]))
            assert lab == pytest.approx(patch["lab"], abs=0.45), (name, patch["name"])


def test_perfect_white_is_white() -> None:
    assert spectra.to_lab(np.ones(31)) == pytest.approx([100, 0, 0], abs=1e-9)
    assert spectra.to_xyz(np.ones(31))[1] == pytest.approx(1, abs=1e-12)


def colorimeter(shot: Shot) -> Shot:
    """The shot by a "camera" whose raw values are XYZ under D65, so that it can see the truth."""
    weights = spectra.to_xyz(np.eye(31))
    rows = tuple(tuple(float(v) for v in row) for row in weights)
    return replace(shot, sensitivities=rows, power=(1.0,) * 31)


def seen_lab(simulated: Simulated, mask: Bits) -> Array:
    """CIELAB of the mean over a mask, in a photo by `colorimeter`."""
    white = spectra.to_xyz(np.ones(31))
    xyz = simulated.values[mask].mean(axis=0) / simulated.shot.exposure * white
    return spectra.xyz_to_lab(xyz.astype(np.float64))


def test_truth_is_what_an_ideal_colorimeter_would_read(plain: Simulated) -> None:
    seen = simulate(colorimeter(plain.shot))
    for tooth in seen.truth["teeth"]:
        for zone in tooth["zones"]:
            mask = from_run_lengths(zone["rle"], plain.shot.width, plain.shot.height)
            # The outline's half-covered pixels and shadows are in the photo only.
            assert seen_lab(seen, mask) == pytest.approx(zone["lab_to_the_outline"], abs=0.6)


def test_the_card_lies_where_the_truth_says() -> None:
    simulated = simulate(SMALL)
    corners = np.array(simulated.truth["card_corners_px"])
    document = json.loads((DATA / "cards" / "tooth20.json").read_text(encoding="utf-8"))
    w, h = document["width_mm"], document["height_mm"]
    at = (
        np.array([[0, 0, 1], [w, 0, 1], [w, h, 1], [0, h, 1]])
        @ np.array(simulated.truth["mm_to_px"]).T
    )
    assert at[:, :2] / at[:, 2:] == pytest.approx(corners, abs=0.02)


def test_tilt_moves_the_corners_off_a_rectangle() -> None:
    straight = np.array(simulate(replace(SMALL, tilt_deg=0)).truth["card_corners_px"])
    tilted = np.array(simulate(SMALL).truth["card_corners_px"])
    assert straight[0, 1] == pytest.approx(straight[1, 1], abs=0.01)
    assert np.abs(tilted - straight).max() > 3


def test_zones_are_thirds_of_the_tooth_and_do_not_overlap(plain: Simulated) -> None:
    shot = plain.shot
    for tooth in plain.truth["teeth"]:
        masks = [from_run_lengths(zone["rle"], shot.width, shot.height) for zone in tooth["zones"]]
        assert not (masks[0] & masks[1]).any() and not (masks[1] & masks[2]).any()
        rows = [np.nonzero(mask)[0].mean() for mask in masks]
        assert rows[0] < rows[1] < rows[2]
        heights = [np.ptp(np.nonzero(mask)[0]) + 1 for mask in masks]
        assert max(heights) - min(heights) <= 4
        x, y = tooth["point_px"]
        assert masks[1][round(y), round(x)]


def test_glare_clips_and_is_left_out_of_the_truth() -> None:
    shot = colorimeter(replace(SMALL, light_span=1e-6, tilt_deg=0, spots_per_tooth=4))
    seen = simulate(shot)
    glare = from_run_lengths(seen.truth["glare_rle"], shot.width, shot.height)
    assert (seen.values[glare].min(axis=1) >= 1).any()
    brightened = 0
    for tooth in seen.truth["teeth"]:
        for zone in tooth["zones"]:
            mask = from_run_lengths(zone["rle"], shot.width, shot.height)
            truth = pytest.approx(zone["lab_to_the_outline"], abs=0.6)
            assert seen_lab(seen, mask & ~glare) == truth
            brightened += seen_lab(seen, mask)[0] > zone["lab_to_the_outline"][0] + 1
    assert brightened >= 3


def test_uneven_light_has_the_stated_span() -> None:
    even = simulate(replace(SMALL, card=None, light_span=1e-6))
    uneven = simulate(replace(SMALL, card=None, light_span=0.25))
    lit = even.values[..., 1] > 0.05
    ratio = np.log(uneven.values[..., 1][lit] / even.values[..., 1][lit])
    assert np.ptp(ratio) == pytest.approx(0.25, abs=0.03)


def test_noise_follows_the_number_of_electrons() -> None:
    signal = np.full((200, 200, 3), 0.25, dtype=np.float32)
    flat = np.ones((200, 200), dtype=np.float32)
    one = camera.Sensor(np.full((31, 3), 1 / 31), np.ones(3), full_well=10000, read_noise=3)
    linear = camera.expose(
        signal, flat * 0, flat, one, exposure=1.0, blur_px=0.0, draws=np.random.default_rng(1)
    )
    # Poisson: variance in electrons equals their number, plus the read noise's.
    assert linear.std() * 10000 == pytest.approx(np.sqrt(2500 + 9), rel=0.02)
    assert linear.mean() == pytest.approx(0.25, rel=1e-3)


def test_the_camera_matrix_keeps_white_and_comes_near_srgb() -> None:
    for letter in "ABCD":
        for name in ("D50", "D65", "A", "LED-B3"):
            one = camera.sensor(spectra.camera(letter), spectra.light(name))
            matrix = camera.camera_matrix(one)
            assert matrix.sum(axis=1) == pytest.approx([1, 1, 1])
            grey = np.full(31, 0.3) @ one.response * one.balance @ matrix.T
            assert grey == pytest.approx([0.3] * 3)


def test_srgb_files_hold_srgb_of_the_patches(plain: Simulated, tmp_path: Path) -> None:
    # Mid-grey 0.4 · exposure through IEC 61966-2-1, at the precision of 8 bits and JPEG.
    file = write(simulate(replace(plain.shot, encoding="srgb")), tmp_path / "shot")
    image = Image.open(file)
    profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    pixels = np.asarray(np.asarray(image) / 255, dtype=np.float32)
    document = json.loads((DATA / "cards" / "tooth20.json").read_text(encoding="utf-8"))
    grey = next(p for p in document["patches"] if p["name"] == "n2")
    linear = 0.4 * plain.shot.exposure
    expected = 1.055 * linear ** (1 / 2.4) - 0.055
    seen = replace_values(plain, pixels)
    assert patch_values(seen, grey) == pytest.approx([expected] * 3, abs=1.5 / 255)


def replace_values(simulated: Simulated, values: Field) -> Simulated:
    """The same photo with other file values."""
    return Simulated(simulated.shot, values, simulated.truth, simulated.masks)


def test_linear_profile_is_a_profile_little_cms_reads_as_linear() -> None:
    profile = ImageCms.ImageCmsProfile(io.BytesIO(files.linear_profile()))
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    transform = ImageCms.buildTransform(profile, srgb, "RGB", "RGB")
    grey = Image.new("RGB", (1, 1), (55, 55, 55))
    converted = ImageCms.applyTransform(grey, transform)
    assert converted is not None
    # 55/255 of the light is 0.5029 in sRGB: IEC 61966-2-1.
    assert converted.getpixel((0, 0)) == pytest.approx((128, 128, 128), abs=1)


def test_tone_curve_rises_everywhere() -> None:
    x = np.linspace(0, 1, 1001, dtype=np.float32)
    for contrast, lift in ((0.25, 0), (0.6, 0), (0.6, 0.12)):
        assert (np.diff(camera.rendered_curve(x, contrast, lift)) >= 0).all()


def test_equal_shots_give_equal_bytes_and_other_seeds_others(tmp_path: Path) -> None:
    digests = []
    for run, seed in enumerate((5, 5, 6)):
        folder = tmp_path / str(run)
        folder.mkdir()
        for encoding in ("linear", "srgb"):
            write(simulate(replace(SMALL, seed=seed, encoding=encoding)), folder / encoding)
        written = sorted(folder.iterdir())
        assert len(written) == 4
        digests.append([hashlib.sha256(file.read_bytes()).hexdigest() for file in written])
    assert digests[0] == digests[1]
    assert all(a != b for a, b in zip(digests[0], digests[2], strict=True))


def test_run_lengths_come_back() -> None:
    mask = np.random.default_rng(3).random((17, 23)) > 0.5
    assert (from_run_lengths(run_lengths(mask), 23, 17) == mask).all()


def test_markers_are_those_of_the_dictionary() -> None:
    cv2 = pytest.importorskip("cv2")
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    for number, cells in MARKER_CELLS.items():
        image = cv2.aruco.generateImageMarker(dictionary, number, 6)
        drawn = tuple("".join("1" if v else "0" for v in row[1:5]) for row in image[1:5])
        assert drawn == cells


def test_markers_are_found_where_they_were_painted() -> None:
    cv2 = pytest.importorskip("cv2")
    simulated = simulate(replace(SMALL, encoding="srgb", width=1200, height=800))
    grey = np.round(simulated.values[..., 1] * 255).astype(np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    assert sorted(numbers.ravel()) == [0, 1, 2, 3]
    document = json.loads((DATA / "cards" / "tooth20.json").read_text(encoding="utf-8"))
    to_px = np.array(simulated.truth["mm_to_px"])
    for number, found in zip(numbers.ravel(), corners, strict=True):
        fiducial = document["fiducials"][number]
        at = to_px @ np.array([fiducial["x_mm"], fiducial["y_mm"], 1])
        assert found[0][0] == pytest.approx(at[:2] / at[2], abs=1.5)


def test_mixtures_are_linear_in_reflectance() -> None:
    view = np.array([[10.0, 0, 20], [0, 10, 20], [0, 0, 1]])
    response = spectra.camera("B")
    canvas = Canvas(40, 40, view, response)
    half = np.full((40, 40), 0.5, dtype=np.float32)
    one, other = np.full(31, 0.2), WAVELENGTHS_NM / 1000
    canvas.paint(canvas.everywhere(), half * 2, [(one, half), (other, half)])
    assert canvas.signal[3, 3] == pytest.approx((one + other) / 2 @ response, rel=1e-5)


def test_boxes_side_by_side_cover_exactly_once() -> None:
    view = np.array([[10.0, 1, 20], [-1, 10, 20], [0.001, 0, 1]])
    canvas = Canvas(60, 60, view, spectra.camera("A"))
    part = canvas.everywhere()
    both = canvas.box(part, 0, 0, 1.03, 2) + canvas.box(part, 1.03, 0, 2, 2)
    assert both == pytest.approx(canvas.box(part, 0, 0, 2, 2), abs=1e-5)


def test_a_mirrored_card_is_the_card_seen_from_behind() -> None:
    card = CardArt.read(DATA / "cards" / "tooth20.json")
    x0, y0, x1, y1 = replace(card, pose="mirrored").placed(1, 2, 3, 4)
    assert (x1 - x0, y0, y1) == (3, 2, 6)
    assert x0 == pytest.approx(card.width_mm - 4)


def test_demo_tabs_are_the_ones_in_the_tree() -> None:
    text = (DATA / "tabs/orchard16.json").read_text(encoding="utf-8")
    assert json.loads(text) == materials.tab_set()


def test_tab_curves_have_the_stated_lab() -> None:
    for tab in materials.tab_set()["tabs"]:
        lab = spectra.to_lab(np.array(tab["reflectance"]["values"]))
        assert lab == pytest.approx(tab["lab"], abs=0.006)


def test_framed_cards_are_the_ones_in_the_tree_and_lie_where_the_bars_are_painted() -> None:
    for name in ("tooth20", "chart24", "compact12"):
        document = frame_cards.framed(name)
        text = (DATA / "cards" / f"{name}_frame.json").read_text(encoding="utf-8")
        assert json.loads(text) == document
    # Every white area of the frame is white in the photo, also those on the bars.
    plain = simulate(replace(SMALL, light_span=1e-6, tilt_deg=0, spots_per_tooth=0))
    card = CardArt.read(DATA / "cards" / "tooth20.json")
    framed = frame_cards.framed("tooth20")
    shift = framed["fiducials"][0]["x_mm"] - card.document["fiducials"][0]["x_mm"]
    drop = framed["fiducials"][0]["y_mm"] - card.document["fiducials"][0]["y_mm"]
    to_px = np.array(plain.truth["mm_to_px"])
    for area in framed["white"]["areas"]:
        middle = [
            area["x_mm"] + area["width_mm"] / 2 - shift,
            area["y_mm"] + area["height_mm"] / 2 - drop,
            1,
        ]
        x, y, scale = to_px @ middle
        seen = plain.values[round(y / scale), round(x / scale)]
        assert seen == pytest.approx([0.82 * SMALL.exposure] * 3, rel=2e-3)


def test_layer_formula_against_rational_cases() -> None:
    # Kubelka-Munk: K/S = 1/60, 1/12, 1/4, 2/3, 8/5 give infinite layers of 5/6, 2/3, 1/2, 1/3, 1/5.
    for ratio, infinite in ((1 / 60, 5 / 6), (1 / 12, 2 / 3), (1 / 4, 1 / 2), (2 / 3, 1 / 3)):
        layer = materials.layer_over(np.array([ratio]), np.array([1.0]), 80.0, np.array([0.1]))
        assert layer[0] == pytest.approx(infinite, abs=1e-9)


def test_pastes_over_a_dark_floor_look_like_teeth() -> None:
    floor = materials.to_internal(materials.floor_curve("dark_dentine"))
    for name, (role, *_) in materials.PASTES.items():
        for thickness in (2.0, 3.0):
            layer = materials.layer_over(*materials.paste_curves(name), thickness, floor)
            lightness, a, b = spectra.to_lab(materials.to_air(layer))
            if role != "translucent":
                assert 62 <= lightness <= 80 and -1.5 <= a <= 7 and 7 <= b <= 28, name


def test_held_out_cameras_are_as_far_from_the_measured_as_those_from_each_other() -> None:
    measured = {letter: spectra.camera(letter) for letter in "ABCD"}
    between = [
        held_out.distance(measured[one], measured[other])
        for one, other in itertools.combinations("ABCD", 2)
    ]
    for make in held_out.FAMILIES.values():
        draws = np.random.default_rng(1)
        nearest = []
        for _ in range(40):
            made = np.array(make(draws))
            assert made.shape == (31, 3) and made.min() >= 0 and made.max() == 1
            nearest.append(min(held_out.distance(made, other) for other in measured.values()))
        assert min(nearest) > 0.015
        assert np.median(nearest) > 0.9 * min(between)


def test_held_out_lights_are_not_the_shipped_ones() -> None:
    shipped = [spectra.light(name) for name in ("D50", "D65", "A", "LED-B3")]
    for names in held_out.LIGHTS.values():
        for name in names:
            light = np.array(held_out.light(name))
            assert light[16] == 1 and light.min() >= 0
            assert min(np.abs(light - other).max() for other in shipped) > 0.05


def test_a_class_of_the_study_shows_the_same_photos_whatever_else_is_wanted() -> None:
    every = study_capture.tasks(432, 600, None)
    some = study_capture.tasks(432, 600, "chart24")
    assert [task for task in every if "chart24" in task.kind.name] == some
    for kind in study_capture.CLASSES:
        mine = [task for task in every if task.kind == kind]
        pairs = {(task.light_name, study_capture.camera_family(task)) for task in mine}
        assert len(pairs) == 2 * sum(len(names) for names in held_out.LIGHTS.values())


def test_u95_is_the_95_percent_point_of_the_stated_error() -> None:
    # Along L* at 50, ΔE00 equals ΔL*/S_L with S_L = 1 (Sharma et al. 2005, eqs 15-16).
    stated = study_capture.u95(np.array([50.0, 0, 0]), np.diag([0.09, 0, 0]))
    assert stated == pytest.approx(1.96 * 0.3, rel=0.05)
