"""Files of other programs are read as those programs mean them, and ours open there."""

from __future__ import annotations

import json
import re
import warnings
from pathlib import Path
from typing import Any

import colour_cxf
import numpy as np
import pytest
from conftest import Command

import colour

# A tab-like curve, 400–700 nm by 10 nm.
CURVE = [round(0.2 + 0.45 * i / 30 - 0.1 * (i / 30) ** 2, 4) for i in range(31)]


def lab(mamelon: Command, path: Path, *words: str) -> list[dict[str, Any]]:
    result = mamelon("lab", path, *words, "--json")
    assert result.returncode == 0, result.stderr
    readings: list[dict[str, Any]] = json.loads(result.stdout)["readings"]
    return readings


@pytest.fixture
def spectra(tmp_path: Path) -> Path:
    path = tmp_path / "spectra.csv"
    header = ",".join(str(nm) for nm in range(400, 701, 10))
    rows = [f"t{k}," + ",".join(str(round(v * k / 3, 6)) for v in CURVE) for k in (1, 2, 3)]
    path.write_text(f"label,{header}\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_cxf_written_here_is_read_by_colour_cxf(
    mamelon: Command, spectra: Path, tmp_path: Path
) -> None:
    # Reference: colour-cxf, the reader of the colour-science project.
    out = tmp_path / "out.cxf"
    ours = lab(mamelon, spectra, "--viewing", "D50/2", "--out", str(out))
    document = colour_cxf.read_cxf_from_file(out)
    assert document.resources is not None
    objects = document.resources.object_collection.object_value  # type: ignore[union-attr]
    assert [item.name for item in objects] == ["t1", "t2", "t3"]
    for item, reading in zip(objects, ours, strict=True):
        values = item.color_values.choice
        spectrum = next(v for v in values if type(v).__name__ == "ReflectanceSpectrum")
        colours = next(v for v in values if type(v).__name__ == "ColorCielab")
        assert len(spectrum.value) == 31
        # Numbers are printed with twelve significant digits, and exported in full.
        assert [colours.l, colours.a, colours.b] == pytest.approx(reading["lab"], rel=1e-11)
    specification = document.resources.color_specification_collection
    assert specification is not None
    assert {s.id for s in specification.color_specification} == {"spectra", "colours"}
    # What colour-cxf writes of it is read here with every digit.
    again = tmp_path / "again.cxf"
    again.write_bytes(colour_cxf.write_cxf(document))
    assert lab(mamelon, again, "--viewing", "D50/2") == ours
    assert lab(mamelon, out) == ours


def test_the_sample_of_colour_cxf(mamelon: Command) -> None:
    # Its CIELAB is under D50/2°; spectra and colours must agree, both being of the same file.
    sample = Path(colour_cxf.__file__).parent / "tests/resources/sample.cxf"
    if not sample.exists():
        pytest.skip("colour-cxf came without its sample")
    document = colour_cxf.read_cxf_from_file(sample)
    objects = document.resources.object_collection.object_value  # type: ignore[union-attr]
    readings = lab(mamelon, sample)
    assert len(readings) == len(objects)
    differences = []
    for item, reading in zip(objects, readings, strict=True):
        stated = next(v for v in item.color_values.choice if type(v).__name__ == "ColorCielab")
        differences.append(colour.delta_E([stated.l, stated.a, stated.b], reading["lab"]))
    assert np.median(differences) < 0.3


def test_cgats_round_trip_is_exact(mamelon: Command, spectra: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.txt"
    ours = lab(mamelon, spectra, "--viewing", "A/10", "--out", str(out))
    assert lab(mamelon, out) == ours
    text = out.read_text(encoding="utf-8")
    assert text.startswith("ISO28178\n")
    assert 'ILLUMINANT "A"' in text


def test_cgats_as_a_profiling_tool_writes_it(mamelon: Command, tmp_path: Path) -> None:
    # The layout of the free profiling tools' .ti3 text: percent by SPECTRAL_NORM, fields SPEC_400….
    fields = " ".join(f"SPEC_{nm}" for nm in range(400, 701, 10))
    values = " ".join(f"{100 * value:.4f}" for value in CURVE)
    path = tmp_path / "out.ti3"
    path.write_text(
        'CTI3   \n\nDESCRIPTOR "chart"\nKEYWORD "DEVICE_CLASS"\nDEVICE_CLASS "OUTPUT"\n'
        'SPECTRAL_BANDS "31"\nSPECTRAL_START_NM "400.000000"\nSPECTRAL_END_NM "700.000000"\n'
        'SPECTRAL_NORM "100.000000"\n\nNUMBER_OF_FIELDS 35\nBEGIN_DATA_FORMAT\n'
        f"SAMPLE_ID SAMPLE_LOC XYZ_X XYZ_Y {fields}\nEND_DATA_FORMAT\n\nNUMBER_OF_SETS 1\n"
        f'BEGIN_DATA\n1 "A1" 40.0 41.0 {values}\nEND_DATA\n',
        encoding="utf-8",
    )
    reading = lab(mamelon, path, "--viewing", "D50/2")[0]
    # Reference: colour-science, ASTM E308 integration.
    curve = colour.SpectralDistribution(dict(zip(range(400, 701, 10), CURVE, strict=True)))
    illuminant = colour.SDS_ILLUMINANTS["D50"]
    with warnings.catch_warnings():
        # It tells that it brings the tables to one grid.
        warnings.simplefilter("ignore")
        xyz = colour.sd_to_XYZ(curve, illuminant=illuminant)
        white = colour.sd_to_XYZ(colour.sd_ones(), illuminant=illuminant)
    expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white))
    assert colour.delta_E(expected, reading["lab"]) < 0.1


@pytest.mark.parametrize(
    ("body", "code", "pattern"),
    [
        ("ISO28178\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
         "BEGIN_DATA\n1 70 1 2\nEND_DATA\n", 2, "illuminant and observer"),
        ("ISO28178\nILLUMINANT \"D50\"\nOBSERVER \"2\"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A "
         "LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n1 70 1 2\nEND_DATA\n", 3,
         "NUMBER_OF_SETS says 2"),
        ("ISO28178\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
         "BEGIN_DATA\n1 70 1 2\n", 3, "never ended"),
        ("ISO28178\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
         "BEGIN_DATA\n1 70 1\nEND_DATA\n", 3, "line 6: has 3 values"),
        ("ISO28178\nWEIGHTING_FUNCTION \"ILLUMINANT, D50\"\nWEIGHTING_FUNCTION \"ILLUMINANT, A\"\n"
         "BEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 70 1 2\n"
         "END_DATA\n", 3, "both stated"),
        ("ISO28178\nNUMBER_OF_FIELDS 3\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\n"
         "END_DATA_FORMAT\nBEGIN_DATA\n1 70 1 2\nEND_DATA\n", 3, "NUMBER_OF_FIELDS says 3"),
        ("<a><b></a>", 3, "not well-formed"),
        ("<CxF xmlns='urn:other'><Resources/></CxF>", 3, "namespace"),
        ('<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><x>&b;</x>', 3, "document type"),
        ("<cc:CxF xmlns:cc='http://colorexchangeformat.com/CxF3-core'><cc:Resources>"
         "<cc:ObjectCollection/></cc:Resources></cc:CxF>", 3, "no object"),
    ],
)  # fmt: skip
def test_bad_exchange_files(
    mamelon: Command, tmp_path: Path, body: str, code: int, pattern: str
) -> None:
    path = tmp_path / "bad.txt"
    path.write_text(body, encoding="utf-8")
    result = mamelon("lab", path, "--json")
    assert result.returncode == code, result.stderr
    assert pattern in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_a_stated_viewing_is_not_overruled_for_colours(mamelon: Command, tmp_path: Path) -> None:
    path = tmp_path / "lab.txt"
    path.write_text(
        'CGATS.17\nWEIGHTING_FUNCTION "ILLUMINANT, D50"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"\n'
        "BEGIN_DATA_FORMAT\nLAB_B SAMPLE_NAME LAB_L LAB_A\nEND_DATA_FORMAT\n"
        'BEGIN_DATA\n18 "reed mat" 70 1\nEND_DATA\n',
        encoding="utf-8",
    )
    assert lab(mamelon, path)[0]["lab"] == [70, 1, 18]
    assert lab(mamelon, path)[0]["label"] == "reed mat"
    result = mamelon("lab", path, "--viewing", "D65/2")
    assert result.returncode == 2
    assert "stated under D50/2, not under D65/2" in result.stderr


def test_explain_says_how_columns_are_understood(mamelon: Command, tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    bands = range(420, 700, 20)
    names = ";".join(f"R{nm}nm" for nm in bands)
    values = ";".join(f"{10 + nm / 100:.1f}".replace(".", ",") for nm in bands)
    table = f"Name;{names};Lot\n{';%' * len(bands)};\nx;{values};7\n"
    path.write_bytes(table.encode("utf-16"))
    result = mamelon("lab", path, "--explain")
    assert result.returncode == 0, result.stderr
    for text in (
        "UTF-16, little-endian", "semicolon", "decimal comma", 'column 2 "R420nm": reflectance at',
        'column 16 "Lot": not understood, not used', "percent",
    ):  # fmt: skip
        assert text in result.stdout


def spectral_data(values: list[float]) -> colour.SpectralDistribution:
    return colour.SpectralDistribution(dict(zip(range(400, 701, 10), values, strict=True)))


def test_a_light_of_the_users_own_is_the_illuminant(
    mamelon: Command, spectra: Path, tmp_path: Path
) -> None:
    """Held against colour-science under CIE F5, given here as a file."""
    illuminant = colour.SDS_ILLUMINANTS["FL5"].copy()
    light = tmp_path / "shop.csv"
    rows = zip(illuminant.wavelengths, illuminant.values, strict=True)
    light.write_text(
        "wavelength_nm,power\n" + "".join(f"{nm:g},{value}\n" for nm, value in rows),
        encoding="utf-8",
    )
    ours = lab(mamelon, spectra, "--light", str(light))
    assert ours == lab(mamelon, spectra, "--light", str(light), "--viewing", "A/2")
    built_in = lab(mamelon, spectra, "--viewing", "F5/2")
    for reading, other in zip(ours, built_in, strict=True):
        np.testing.assert_allclose(reading["lab"], other["lab"], atol=0.05)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyz = colour.sd_to_XYZ(spectral_data(CURVE), illuminant=illuminant)
        white = colour.sd_to_XYZ(colour.sd_ones(), illuminant=illuminant)
    expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white))
    assert colour.delta_E(expected, ours[2]["lab"]) < 0.1
    text = mamelon("lab", spectra, "--light", light).stdout
    assert re.match(r"CIELAB under shop@[0-9a-f]{8}/2;", text)
    other = tmp_path / "shop.sp"
    body = "SPEC_400 SPEC_500 SPEC_600 SPEC_700\nEND_DATA_FORMAT\nBEGIN_DATA\n1 1 1 1\nEND_DATA\n"
    other.write_text("SPECT\nBEGIN_DATA_FORMAT\n" + body, encoding="utf-8")
    refused = mamelon("lab", spectra, "--light", other)
    assert refused.returncode == 3
    assert "at most 20 nm" in refused.stderr


# As the tools of an open colour management system write them: keywords announced before they are
# used, spectra in percent by SPECTRAL_NORM or by default, names of bands by whole nanometres.
TARGET = """CTI3   

DESCRIPTOR "Calibration Target chart information 3"
ORIGINATOR "chartread"
CREATED "Mon Sep  7 08:33:21 2009"
KEYWORD "DEVICE_CLASS"
DEVICE_CLASS "INPUT"
KEYWORD "COLOR_REP"
COLOR_REP "XYZ_RGB"
KEYWORD "SPECTRAL_BANDS"
SPECTRAL_BANDS "31"
KEYWORD "SPECTRAL_START_NM"
SPECTRAL_START_NM "400.000000"
KEYWORD "SPECTRAL_END_NM"
SPECTRAL_END_NM "700.000000"

KEYWORD "SAMPLE_LOC"
NUMBER_OF_FIELDS 39
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_LOC RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z {fields} 
END_DATA_FORMAT

NUMBER_OF_SETS 2
BEGIN_DATA
1 "here" 50.000 50.000 50.000 40.1 41.2 30.3 {values} 
2 "there" 50.000 50.000 50.000 40.1 41.2 30.3 {halves} 
END_DATA
"""  # noqa: W291


def test_chart_readings_of_another_system_are_read_by_their_spectra(
    mamelon: Command, spectra: Path, tmp_path: Path
) -> None:
    path = tmp_path / "chart.ti3"
    path.write_text(
        TARGET.format(
            fields=" ".join(f"SPEC_{nm}" for nm in range(400, 701, 10)),
            values=" ".join(f"{100 * v:.4f}" for v in CURVE),
            halves=" ".join(f"{100 * v * 2 / 3:.5f}" for v in CURVE),
        ),
        encoding="utf-8",
    )
    theirs = lab(mamelon, path, "--viewing", "D50/2")
    ours = lab(mamelon, spectra, "--viewing", "D50/2")
    assert [reading["label"] for reading in theirs] == ["1", "2"]
    np.testing.assert_allclose(theirs[0]["lab"], ours[2]["lab"], atol=1e-3)
    np.testing.assert_allclose(theirs[1]["lab"], ours[1]["lab"], atol=1e-3)


def test_uneven_spectra_are_resampled_when_asked(mamelon: Command, tmp_path: Path) -> None:
    nm = [400 + 13 * i - (i % 2) for i in range(24)]
    smooth = np.interp(nm, range(400, 701, 10), CURVE)
    path = tmp_path / "uneven.csv"
    path.write_text(
        "label," + ",".join(map(str, nm)) + "\nx," + ",".join(f"{v:.6f}" for v in smooth) + "\n",
        encoding="utf-8",
    )
    refused = mamelon("lab", path)
    assert refused.returncode == 3
    assert "not evenly spaced" in refused.stderr
    found = lab(mamelon, path, "--resample", "10", "--viewing", "D50/2")[0]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sd = spectral_data(CURVE)
        xyz = colour.sd_to_XYZ(sd, illuminant=colour.SDS_ILLUMINANTS["D50"])
        white = colour.sd_to_XYZ(colour.sd_ones(), illuminant=colour.SDS_ILLUMINANTS["D50"])
    expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white))
    assert colour.delta_E(expected, found["lab"]) < 0.2
    explained = mamelon("lab", path, "--resample", "10", "--explain").stdout
    assert "spectra are resampled to 400–690 nm in steps of 10 nm" in explained
    wrong = mamelon("lab", path, "--resample", "50")
    assert wrong.returncode == 2
    assert "--resample" in wrong.stderr
