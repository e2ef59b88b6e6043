"""`mamelon paste fit`: drawdowns to a paste set, its report and its sheet."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import iadpython
import jsonschema
import numpy as np
import numpy.typing as npt
import pytest
import tifffile
from conftest import DATA, Command
from simulator import study_discs
from simulator.files import linear_profile, write_tiff16
from simulator.practices import NM, to_lab
from test_schemas import validator

Array = npt.NDArray[np.float64]
DRAWDOWNS = DATA / "pastes/drawdowns_fawn.csv"
WORDS = ("--name", "fawn", "--role", "body", "--refractive-index", 1.51)


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return DRAWDOWNS.read_text(encoding="utf-8").splitlines()


def test_the_demo(mamelon: Command, tmp_path: Path, demo: dict[str, str]) -> None:
    out, sheet = tmp_path / "mine.json", tmp_path / "fawn.html"
    result = mamelon(
        "paste", "fit", DRAWDOWNS, *WORDS, "--into", demo["pastes"], "--out", out,
        "--sheet", sheet, "--json",
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    report = json.loads(result.stdout)
    validator("paste-fit").validate(report)
    # The truth that tests/simulator/drawdowns.py states.
    transport = report["transport"]
    at_550 = transport["scattering_per_mm"]["values"][15]
    assert abs(at_550 / 1.6 - 1) < 4 * transport["ln_scattering_sd"][15]
    assert abs(transport["anisotropy"] - 0.7) < 4 * transport["anisotropy_sd"]
    ratio = transport["chi_square"] / transport["degrees_of_freedom"]
    assert 0.7 < ratio < 1.3
    written = json.loads(out.read_text(encoding="utf-8"))
    validator("paste-set").validate(written)
    assert [paste["name"] for paste in written["pastes"]][-1] == "fawn"
    assert len(written["pastes"]) == 11
    assert written["version"] == "1.3"  # brought how fitted constants err together
    page = sheet.read_text(encoding="utf-8")
    assert "fawn" in page
    assert f"{report['opacity']['tp00']:.1f}" in page
    # The set is good for what comes next, and says where it extrapolates.
    seen = mamelon(
        "paste", "predict", out, "--layers", "fawn:2.6", "--floor", demo["floor"],
        "--engine", "transport", "--json",
    )  # fmt: skip
    assert seen.returncode == 0, seen.stderr
    assert "extrapolated" in seen.stderr


# A set of version 1.0: the demo pastes before they had transport constants.
BY_TWO_FLUXES = Path(__file__).resolve().parents[2] / "fuzz/corpus/paste_set/orchard10.json"


def test_an_older_set_without_transport_constants_says_so(
    mamelon: Command, demo: dict[str, str]
) -> None:
    assert "no transport constants" in mamelon(
        "paste", "predict", BY_TWO_FLUXES, "--layers", "loam:1", "--floor", demo["floor"],
        "--engine", "transport",
    ).stderr  # fmt: skip
    words = ["plan", "74,2,18", "--tabs", demo["tabs"], "--floor", demo["floor"], "--depth", "2"]
    older = mamelon(*words, "--pastes", BY_TWO_FLUXES)
    assert older.returncode == 0, older.stderr
    assert "predicted by two fluxes" in older.stdout + older.stderr
    newer = mamelon(*words, "--pastes", demo["pastes"])
    assert newer.returncode == 0, newer.stderr
    assert "two fluxes" not in newer.stdout + newer.stderr


def test_colours_alone(mamelon: Command, tmp_path: Path) -> None:
    table = tmp_path / "lab.csv"
    table.write_text(
        "specimen,thickness_mm,backing,geometry,contact,value,L,a,b\n"
        ",,black,45/0,,external,24,0,0\n"
        ",,white,45/0,,external,92,0,2\n"
        "disc,1,black,45/0,contact,,66.1,-1.2,7.5\n"
        "disc,1,white,45/0,contact,,79.8,0.3,14.2\n",
        encoding="utf-8",
    )
    result = mamelon("paste", "fit", table, "--name", "x", "--role", "enamel", "--json")
    assert result.returncode == 0, result.stderr
    report = json.loads(result.stdout)
    validator("paste-fit").validate(report)
    for residual in report["transport"]["residuals"]:
        assert residual["reflectance"] is None
        assert all(abs(value) < 0.6 for value in residual["lab"])


def test_thick_specimens_are_an_honest_no(
    mamelon: Command, tmp_path: Path, lines: list[str]
) -> None:
    head, dark, light = lines[1], lines[2], lines[3]
    cells = lines[-1].split(",")
    rows = []
    for name in ("black", "white"):
        rows.append(",".join(["disc", "6", "0.02", name, *cells[4:]]))
    table = tmp_path / "thick.csv"
    table.write_text("\n".join([head, dark, light, *rows]) + "\n", encoding="utf-8")
    out = tmp_path / "out.json"
    result = mamelon("paste", "fit", table, *WORDS, "--out", out)
    assert result.returncode == 1, result.stderr
    assert "S undetermined" in result.stderr
    assert not out.exists()


def changed(lines: list[str], number: int, column: int, text: str) -> str:
    cells = lines[number].split(",")
    cells[column] = text
    return "\n".join([*lines[:number], ",".join(cells), *lines[number + 1 :]]) + "\n"


@pytest.mark.parametrize(
    ("number", "column", "text", "says"),
    [
        (1, 4, "value", "stands twice"),
        (1, 7, "gloss", 'column "gloss" is not known'),
        (2, 6, "", "value of backing"),
        (4, 4, "", "geometry must be"),
        (4, 4, "45/0", "different geometries"),
        (4, 5, "", "contact must be"),
        (4, 3, "grey", "no row gives the bare backing"),
        (4, 1, "0", "thickness_mm must be"),
        (4, 9, "nan", "a reflectance must be a number"),
        (4, 9, "41.2", "mark the wavelengths with %"),
        (4, 1, "0.7", "thicknesses of"),
    ],
)
def test_bad_tables(
    mamelon: Command,
    tmp_path: Path,
    lines: list[str],
    number: int,
    column: int,
    text: str,
    says: str,
) -> None:
    table = tmp_path / "bad.csv"
    table.write_text(changed(lines, number, column, text), encoding="utf-8")
    result = mamelon("paste", "fit", table, *WORDS)
    assert result.returncode in (2, 3), result.stderr
    assert says in result.stderr
    assert result.stdout == ""


def test_all_faults_of_a_table_are_told_at_once(
    mamelon: Command, tmp_path: Path, lines: list[str]
) -> None:
    faulty = list(lines)
    for number, column, text in ((4, 4, ""), (5, 1, "thick"), (6, 5, "glued"), (7, 9, "nan")):
        faulty = changed(faulty, number, column, text).splitlines()
    table = tmp_path / "bad.csv"
    table.write_text("\n".join(faulty) + "\n", encoding="utf-8")
    result = mamelon("paste", "fit", table, *WORDS)
    assert result.returncode == 3, result.stderr
    for row, says in ((5, "geometry"), (6, "thickness_mm"), (7, "contact"), (8, "420")):
        assert f"line {row}, column {says}:" in result.stderr
    assert result.stderr.count(str(table)) == 1
    assert "\\x0a" not in result.stderr


def test_nothing_is_overwritten_unasked(
    mamelon: Command, tmp_path: Path, demo: dict[str, str]
) -> None:
    out = tmp_path / "mine.json"
    words = ("paste", "fit", DRAWDOWNS, *WORDS, "--out", out)
    out.write_text("my own", encoding="utf-8")
    refused = mamelon(*words)
    assert refused.returncode == 2
    assert "--replace" in refused.stderr
    assert out.read_text(encoding="utf-8") == "my own"
    assert mamelon(*words, "--replace").returncode == 0
    kept = out.read_bytes()
    # Nor a paste of that name within the set, though the file to write is a new one.
    again = mamelon(*words[:-1], tmp_path / "new.json", "--into", out)
    assert again.returncode == 2
    assert "fawn" in again.stderr and "--replace" in again.stderr
    assert not (tmp_path / "new.json").exists()
    assert out.read_bytes() == kept


def test_swapped_backings(mamelon: Command, tmp_path: Path, lines: list[str]) -> None:
    swapped = [
        line.replace(",black,", ",x,").replace(",white,", ",black,").replace(",x,", ",white,")
        if line.startswith("disc")
        else line
        for line in lines
    ]
    table = tmp_path / "swapped.csv"
    table.write_text("\n".join(swapped) + "\n", encoding="utf-8")
    result = mamelon("paste", "fit", table, *WORDS)
    assert result.returncode == 2
    assert "darker over the lighter backing" in result.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--engine", "monte-carlo"), "--engine"),
        (("--engine", "transport", "--streams", 5), "number of streams"),
        (("--streams", "many"), "--streams"),
    ],
)
def test_engines_that_are_not_there(
    mamelon: Command, demo: dict[str, str], words: tuple[object, ...], says: str
) -> None:
    result = mamelon(
        "paste", "predict", demo["pastes"], "--layers", "loam:1", "--floor", demo["floor"], *words
    )
    assert result.returncode == 2
    assert says in result.stderr


def test_the_schema_refuses_another_report() -> None:
    with pytest.raises(jsonschema.ValidationError):
        validator("paste-fit").validate({"paste": "x"})


def fitted(mamelon: Command, table: Path, *words: object) -> dict[str, object]:
    result = mamelon("paste", "fit", table, *WORDS, *words, "--json")
    assert result.returncode == 0, result.stderr
    report = json.loads(result.stdout)
    validator("paste-fit").validate(report)
    return dict(report["transport"])


@pytest.fixture(scope="module")
def as_it_is(mamelon: Command) -> dict[str, object]:
    return fitted(mamelon, DRAWDOWNS)


def test_another_language_and_order_give_the_same_bits(
    mamelon: Command, tmp_path: Path, lines: list[str], as_it_is: dict[str, object]
) -> None:
    rows = [line.split(",") for line in lines[1:]]
    german = ["Prüfkörper", "Dicke [mm]", "Dickenunsicherheit (mm)", "Unterlage", "Messgeometrie"]
    rows[0][:7] = [*german, "Lage", "Wert"]
    for row in rows[1:]:
        row[4] = "de:8°"
        row[5] = row[5].replace("contact", "Kontakt")
        row[6] = row[6].replace("external", "extern")
        row[7:] = [value.replace(".", ",") for value in row[7:]]
        row[1:3] = [value.replace(".", ",") for value in row[1:3]]
    table = tmp_path / "german.csv"
    table.write_text("\n".join(";".join(row[::-1]) for row in rows) + "\n", encoding="latin-1")
    assert fitted(mamelon, table, "--columns", "contact=Lage") == as_it_is
    assert 'the column "Lage" is not known' in mamelon("paste", "fit", table, *WORDS).stderr


def test_iso_28178_and_cxf3_give_the_same_bits(
    mamelon: Command, tmp_path: Path, lines: list[str], as_it_is: dict[str, object]
) -> None:
    rows = [line.split(",") for line in lines[1:]]
    fields = ["SPECIMEN", "THICKNESS_MM", "THICKNESS_SD_MM", "SAMPLE_BACKING", "GEOMETRY"]
    fields += ["CONTACT", "VALUE", *(f"SPECTRAL_NM{nm}" for nm in rows[0][7:])]
    cgats = tmp_path / "fawn.txt"
    cgats.write_text(
        "ISO28178\nSPECTRAL_NORM 1\nBEGIN_DATA_FORMAT\n"
        + " ".join(fields)
        + "\nEND_DATA_FORMAT\nBEGIN_DATA\n"
        + "\n".join(" ".join(f'"{cell}"' for cell in row) for row in rows[1:])
        + "\nEND_DATA\n",
        encoding="utf-8",
    )
    assert fitted(mamelon, cgats) == as_it_is

    objects = ""
    for number, row in enumerate(rows[1:]):
        tags = "".join(
            f'<cc:Tag Name="{name}" Value="{value}"/>'
            for name, value in zip(rows[0][1:7], row[1:7], strict=True)
            if value and name != "geometry"
        )
        objects += (
            f'<cc:Object Name="{row[0] or row[3]}" Id="{number}"><cc:ColorValues>'
            f'<cc:ReflectanceSpectrum ColorSpecification="s">{" ".join(row[7:])}'
            "</cc:ReflectanceSpectrum></cc:ColorValues>"
            f"<cc:TagCollection>{tags}</cc:TagCollection></cc:Object>"
        )
    cxf = tmp_path / "fawn.cxf"
    cxf.write_text(
        '<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources>'
        f"<cc:ObjectCollection>{objects}</cc:ObjectCollection><cc:ColorSpecificationCollection>"
        '<cc:ColorSpecification Id="s"><cc:MeasurementSpec><cc:GeometryChoice>'
        "<cc:SphereGeometry>Specular_Excluded</cc:SphereGeometry></cc:GeometryChoice>"
        '<cc:WavelengthRange StartWL="400" Increment="10"/></cc:MeasurementSpec>'
        "</cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>",
        encoding="utf-8",
    )
    assert fitted(mamelon, cxf) == as_it_is


def slabs(
    draws: np.random.Generator, thicknesses_mm: tuple[float, ...] = (0.5, 1.0, 2.0)
) -> tuple[list[str], Array, Array]:
    """Discs in air by adding and doubling: all they reflect and all they pass, with noise."""
    nm = np.arange(400.0, 701.0, 20.0)
    absorption = 0.01 + 0.12 / (1 + np.exp((nm - 460) / 25))
    reduced = 1.3 * (550 / nm) ** 0.6
    rows = [
        f"specimen,thickness_mm,backing,geometry,contact,value,{','.join(f'{w:.0f}' for w in nm)}"
    ]
    for number, mm in enumerate(thicknesses_mm, 1):
        totals = []
        for k, s in zip(absorption, reduced / 0.2, strict=True):
            slab = iadpython.Sample(a=s / (s + k), b=(s + k) * mm, g=0.8, d=mm, n=1.51, quad_pts=16)
            totals.append(slab.rt()[:2])
        for kind, geometry in enumerate(("d:8 included", "transmittance")):
            seen = np.array([pair[kind] for pair in totals]) + 0.002 * draws.standard_normal(16)
            behind = ("none", "air gap") if kind == 0 else ("", "")
            cells = [f"disc {number}", f"{mm}", behind[0], geometry, behind[1], ""]
            rows.append(",".join([*cells, *(f"{value:.4f}" for value in seen)]))
    return rows, absorption, reduced


def test_transmittances_by_adding_and_doubling(mamelon: Command, tmp_path: Path) -> None:
    rows, absorption, reduced = slabs(np.random.default_rng(5))
    table = tmp_path / "passing.csv"
    table.write_text("\n".join(rows) + "\n", encoding="utf-8")
    fit = fitted(mamelon, table, "--aperture", "endless")
    assert fit["chi_square"] < 1.5 * fit["degrees_of_freedom"]
    for name, truth, most in (("scattering", reduced, 0.03), ("absorption", absorption, 0.15)):
        off = np.log(np.array(fit[f"{name}_per_mm"]["values"]) / truth)
        sds = np.array(fit[f"ln_{name}_sd"])
        assert np.all(np.abs(off) < 4 * sds)
        assert np.sqrt(np.mean(off**2)) < most
    # Transmittances alone tell less, and the intervals say so.
    table.write_text("\n".join([rows[0], *rows[2::2]]) + "\n", encoding="utf-8")
    alone = fitted(mamelon, table)
    for name, truth in (("scattering", reduced), ("absorption", absorption)):
        off = np.log(np.array(alone[f"{name}_per_mm"]["values"]) / truth)
        sds = np.array(alone[f"ln_{name}_sd"])
        assert np.all(np.abs(off) < 4 * sds)
        assert np.all(sds > np.array(fit[f"ln_{name}_sd"]))
    # Of two thick specimens they tell too little.
    thick, _, _ = slabs(np.random.default_rng(5), (3.0, 4.0))
    table.write_text("\n".join([thick[0], *thick[2::2]]) + "\n", encoding="utf-8")
    open_ = mamelon("paste", "fit", table, *WORDS)
    assert open_.returncode == 1, open_.stderr
    assert "transmittances alone do not tell what is scattered" in open_.stderr


def test_one_backing_at_one_thickness_is_refused_in_a_sentence(
    mamelon: Command, tmp_path: Path, lines: list[str]
) -> None:
    one = [line for line in lines if not line.startswith("disc") or line.startswith("disc 1,0.50")]
    table = tmp_path / "one.csv"
    table.write_text("\n".join(row for row in one if ",white," not in row) + "\n", encoding="utf-8")
    result = mamelon("paste", "fit", table, *WORDS)
    assert result.returncode == 2
    assert "at least two backings or thicknesses" in result.stderr
    # At several thicknesses one backing will do.
    table.write_text(
        "\n".join(row for row in lines if ",white," not in row) + "\n", encoding="utf-8"
    )
    assert mamelon("paste", "fit", table, *WORDS).returncode == 0


def test_the_template_has_rows_for_transmittances(mamelon: Command) -> None:
    asked = mamelon("paste", "template", "--transmittance", "--repeats", 1, "--thicknesses", "1,2")
    assert asked.returncode == 0, asked.stderr
    assert asked.stdout.count(",transmittance,") == 2
    assert ",transmittance," not in mamelon("paste", "template").stdout


def test_discs_in_a_photo_are_known_as_well_as_is_said(mamelon: Command, tmp_path: Path) -> None:
    # Pastes by another adding and doubling, cameras and lights that nothing was fitted to.
    paste = study_discs.draw(2, np.random.default_rng(77))[1]
    table = study_discs.photograph(paste, 77_001, tmp_path / "discs")
    card = study_discs.card_file(study_discs.READ_CARD)
    pasted, floor = tmp_path / "set.json", tmp_path / "floor.csv"
    floor.write_text("wavelength_nm,reflectance\n" + "".join(f"{nm:.0f},0.2\n" for nm in NM))
    inside = study_discs.inside(0.2)

    def fitted() -> list[tuple[Array, Array]] | None:
        """Colours of two layers with their sd; none: the discs were refused."""
        result = mamelon(
            "paste", "fit", table, "--photos", "--card", card, "--name", "one",
            "--role", paste.role, "--out", pasted, "--replace",
        )  # fmt: skip
        if result.returncode == 5:
            assert "the likeliest cause" in result.stderr
            return None
        assert result.returncode == 0, result.stderr
        told = []
        for mm in (0.8, 1.5):
            seen = mamelon(
                "paste", "predict", pasted, "--layers", f"one:{mm}", "--floor", floor,
                "--floor-index", "1.5", "--thickness-sd", 0, "--json",
            )  # fmt: skip
            document = json.loads(seen.stdout)
            told.append((np.array(document["lab"]), np.array(document["lab_sd"])))
        return told

    told = fitted()
    assert told is not None
    for mm, (lab, sd) in zip((0.8, 1.5), told, strict=True):
        truth = to_lab(study_discs.seen_over([(paste, mm)], inside))
        assert (np.abs(lab - truth) < 3 * sd).all()
        assert 1.96 * np.sqrt((sd**2).sum()) < 4

    # A shadow over the thinner discs is said, or makes the interval wider.
    photo = tmp_path / "discs.tif"
    values = tifffile.imread(photo) / 65535
    with table.open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            if row["specimen"] in ("disc 0", "disc 1"):
                x, y, w, h = (int(row[key]) for key in ("x", "y", "width", "height"))
                values[y - 5 : y + h + 5, x - 5 : x + w + 5] *= 0.8
    write_tiff16(photo, values, 12, linear_profile())
    shaded = fitted()
    if shaded is not None:
        for (_, before), (_, sd) in zip(told, shaded, strict=True):
            assert np.linalg.norm(sd) > 1.3 * np.linalg.norm(before)
