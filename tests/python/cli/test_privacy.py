"""No output carries the photo's metadata, its place on the disk, its name or the machine's name."""

from __future__ import annotations

import base64
import pickle
import re
import shutil
import socket
from pathlib import Path

import pytest
import tifffile
from conftest import DATA, Command
from PIL import Image

import mamelon as mm

PLANTED = (
    "Zebrafinch Quillon", "PLANTEDCAMERA", "PLANTEDSOFTWARE", "47.2345", "8.7654", "patient-folder",
)  # fmt: skip
XMP = (
    b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><dc:creator>Zebrafinch Quillon</dc:creator>"
    b"<exif:GPSLatitude>47.2345N</exif:GPSLatitude></x:xmpmeta>"
)


def segment(marker: int, content: bytes) -> bytes:
    """A marker segment of a JPEG file (ITU-T T.81, B.1.1.4)."""
    return bytes([0xFF, marker]) + (len(content) + 2).to_bytes(2, "big") + content


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """The demo photo with a name, a place and a camera in its EXIF, XMP, IPTC and comment."""
    folder = tmp_path / "patient-folder-Quillon"
    folder.mkdir()
    path = folder / "Quillon_1961-04-01.jpg"
    image = Image.open(DATA / "photos/front_teeth.jpg")
    exif = image.getexif()
    exif[0x010F] = "PLANTEDCAMERA"
    exif[0x0131] = "PLANTEDSOFTWARE"
    exif[0x013B] = "Zebrafinch Quillon"
    exif[0x8298] = "Zebrafinch Quillon"
    gps = exif.get_ifd(0x8825)
    gps.update({1: "N", 2: (47.2345, 0.0, 0.0), 3: "E", 4: (8.7654, 0.0, 0.0)})
    image.save(
        path, quality="keep", exif=exif, icc_profile=image.info.get("icc_profile"), subsampling=-1
    )
    content = path.read_bytes()
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x17\x1c\x02\x50\0\x12Zebrafinch Quillon\0"
    more = segment(0xE1, XMP) + segment(0xED, iptc) + segment(0xFE, b"Zebrafinch Quillon")
    path.write_bytes(content[:2] + more + content[2:])
    assert path.read_bytes().count(b"Zebrafinch Quillon") >= 5
    return path


@pytest.fixture
def tiff(photo: Path) -> Path:
    """The linear demo photo with names in the tags of a TIFF file."""
    path = photo.with_suffix(".tif")
    shutil.copy(DATA / "photos/front_teeth_linear.tif", path)
    with tifffile.TiffFile(path) as source:
        page = source.pages[0]
        pixels = page.asarray()
        profile = page.tags[34675].value if 34675 in page.tags else None
    tifffile.imwrite(
        path, pixels, photometric="rgb", iccprofile=profile, metadata=None,
        description="Zebrafinch Quillon", software="PLANTEDSOFTWARE",
        extratags=[
            (271, "s", 0, "PLANTEDCAMERA", True),
            (315, "s", 0, "Zebrafinch Quillon", True),
            (316, "s", 0, "Zebrafinch Quillon", True),
            (700, "B", len(XMP), XMP, True),
        ],
    )  # fmt: skip
    assert path.read_bytes().count(b"Zebrafinch Quillon") >= 4
    return path


def leaks(text: str | bytes, photo: Path) -> list[str]:
    """Planted words, parts of the photo's path and the host's name that stand in an output."""
    raw = text.encode() if isinstance(text, str) else text
    words = [*PLANTED, "Quillon", "1961-04-01", str(photo.parent), photo.name, photo.stem]
    host = socket.gethostname()
    if len(host) > 3:
        words.append(host)
    return [
        word
        for word in words
        if any(word.encode(coding) in raw for coding in ("utf-8", "utf-16-le", "utf-16-be"))
    ]


def no_picture_has_metadata(page: str, photo: Path) -> None:
    """The pictures of a sheet are pixels and nothing else."""
    pictures = re.findall(r"data:image/[a-z]+;base64,([A-Za-z0-9+/=]+)", page)
    assert pictures
    for picture in pictures:
        raw = base64.b64decode(picture)
        assert not leaks(raw, photo)
        assert b"Exif" not in raw
        assert b"eXIf" not in raw


def test_no_output_tells_whose_photo_it_is(mamelon: Command, photo: Path, tmp_path: Path) -> None:
    card = tmp_path / "card.json"
    shutil.copy(DATA / "cards/tooth20_frame.json", card)
    sheet = tmp_path / "sheet.html"
    profile = tmp_path / "camera.icc"
    case = [photo, "--card", card]
    tabs = ["--tabs", DATA / "tabs/orchard16.json"]
    plan = [
        "plan", *case, *tabs, "--pastes", DATA / "pastes/orchard10.json",
        "--floor", DATA / "floors/dark_dentine.csv",
        "--depth", "3", "--label", "case seven", "--sheet", sheet,
    ]  # fmt: skip
    for words in (
        plan,
        [*plan, "--json"],
        ["shade", *case, *tabs],
        ["shade", *case, *tabs, "--json"],
        ["card", *case],
        ["card", *case, "--json", "--icc", profile],
    ):
        done = mamelon(*words)
        assert done.returncode in (0, 1), done.stderr
        assert not leaks(done.stdout, photo)
        assert not leaks(done.stderr, photo)
    page = sheet.read_text(encoding="utf-8")
    assert "case seven" in page
    assert not leaks(page, photo)
    no_picture_has_metadata(page, photo)
    assert len(profile.read_bytes()) > 128
    assert not leaks(profile.read_bytes(), photo)


def test_no_output_tells_whose_tiff_it_is(mamelon: Command, tiff: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.html"
    profile = tmp_path / "camera.icc"
    card = ["--card", DATA / "cards/tooth20_frame.json"]
    for words in (
        ["shade", tiff, *card, "--tabs", DATA / "tabs/orchard16.json", "--sheet", sheet, "--json"],
        ["card", tiff, *card, "--icc", profile, "--json"],
    ):
        done = mamelon(*words)
        assert done.returncode in (0, 1), done.stderr
        assert not leaks(done.stdout + done.stderr, tiff)
    page = sheet.read_text(encoding="utf-8")
    assert not leaks(page, tiff)
    no_picture_has_metadata(page, tiff)
    assert not leaks(profile.read_bytes(), tiff)


def test_no_file_of_a_study_tells_whose_photos_they_are(photo: Path, tmp_path: Path) -> None:
    """Not where an item fails either, though its error tells what was wrong with the photo."""
    from mamelon import study

    torn = photo.with_name("Quillon_torn.jpg")
    torn.write_bytes(photo.read_bytes()[:3000])
    manifest = photo.with_name("Quillon.csv")
    manifest.write_text(
        "item,photo,session\n"
        f"case 1,{photo.name},1\ncase 2,{torn},2\ncase 3,Quillon_absent.jpg,1\n",
        encoding="utf-8",
    )
    out = tmp_path / "out"
    out.mkdir()
    for kind in ("csv", "parquet"):
        table = study.run(
            manifest, tabs=DATA / "tabs/orchard16.json", viewing="D65/2", processes=1,
            card=DATA / "cards/tooth20_frame.json", output=out / f"table.{kind}",
        )  # fmt: skip
        assert set(table["item"]) == {"case 1", "case 2", "case 3"}
        assert table.loc[table["item"] == "case 1", "error"].tolist() == [""] * 3
        assert (table.loc[table["item"] != "case 1", "error"] != "").all()
        assert not leaks(table.to_csv(), photo)
        assert not leaks(pickle.dumps(table), photo)
    written = sorted(out.iterdir())
    assert len(written) == 6
    for file in written:
        assert not leaks(file.read_bytes(), photo), file.name
        assert str(tmp_path).encode() not in file.read_bytes(), file.name


def test_no_value_of_the_package_tells_whose_photo_it_is(photo: Path) -> None:
    made = mm.read_photo(photo)
    card = mm.read_card(DATA / "cards/tooth20_frame.json")
    fit = mm.fit_card(made, card, "D65/2")
    zones = mm.find_zones(made, fit)
    readings = mm.read_zones(made, fit, zones, "case seven")
    tabs = mm.read_tab_set(DATA / "tabs/orchard16.json")
    matches = mm.match_all(readings, tabs)
    report = mm.solve(
        mm.Case(
            viewing="D65/2", teeth=[mm.CaseTooth()], label="case seven", card=card, tabs=tabs,
            photo=mm.CasePhoto(photo.read_bytes(), source=photo.name),
        )
    )  # fmt: skip
    outputs = {
        "json": mm.to_json(report),
        "sheet": mm.sheet_html(report),
        "profile": mm.input_profile(photo.read_bytes(), str(photo), fit, card.name),
    }
    for name, value in (
        ("photo", made), ("fit", fit), ("zones", zones), ("readings", readings),
        ("matches", matches),
    ):  # fmt: skip
        outputs[f"{name} pickled"] = pickle.dumps(value)
        outputs[f"{name} shown"] = repr(value)
    outputs["report shown"] = repr(report)
    for name, output in outputs.items():
        assert output, name
        assert not leaks(output, photo), name


def test_no_table_or_set_tells_who_measured_it(
    mamelon: Command, photo: Path, tmp_path: Path
) -> None:
    """What a measuring program writes of its user into a file stays in that file."""
    tabs = photo.with_name("Quillon.csv")
    rows = [f"tab {i},{60 + i}.{j},1.{j},15.{j}" for i in range(4) for j in range(5)]
    tabs.write_text("label,L,a,b\n" + "\n".join(rows) + "\n", encoding="utf-8")
    text = photo.with_name("Quillon.txt")
    text.write_text(
        'CGATS.17\nORIGINATOR "Zebrafinch Quillon"\nFILE_DESCRIPTOR "patient-folder"\n'
        'SERIAL "PLANTEDCAMERA"\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\n'
        "SAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n"
        "one 70 1 15\nEND_DATA\n",
        encoding="utf-8",
    )
    exchange = photo.with_name("Quillon.cxf")
    exchange.write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:FileInformation>'
        "<cc:Creator>Zebrafinch Quillon</cc:Creator><cc:Description>patient-folder"
        "</cc:Description></cc:FileInformation><cc:Resources><cc:ObjectCollection>"
        '<cc:Object ObjectType="Target" Name="one" Id="c1"><cc:ColorValues>'
        '<cc:ColorCIELab ColorSpecification="s"><cc:L>70</cc:L><cc:A>1</cc:A><cc:B>15</cc:B>'
        "</cc:ColorCIELab></cc:ColorValues></cc:Object></cc:ObjectCollection>"
        '<cc:ColorSpecificationCollection><cc:ColorSpecification Id="s"><cc:TristimulusSpec>'
        "<cc:Illuminant>D65</cc:Illuminant><cc:Observer>2_Degree</cc:Observer>"
        "</cc:TristimulusSpec></cc:ColorSpecification></cc:ColorSpecificationCollection>"
        "</cc:Resources></cc:CxF>\n",
        encoding="utf-8",
    )
    viewing = ["--viewing", "D65/2"]
    drawdowns = photo.with_name("Quillon_drawdowns.csv")
    shutil.copy(DATA / "pastes/drawdowns_fawn.csv", drawdowns)
    out = tmp_path / "out"
    out.mkdir()
    for words in (
        ["lab", tabs, "--json", "--out", out / "a.cxf"],
        ["lab", text, *viewing, "--json", "--out", out / "b.cxf"],
        ["lab", exchange, "--json", "--out", out / "c.txt"],
        ["lab", exchange, "--out", out / "d.cxf"],
        ["lab", text, *viewing, "--out", out / "e.txt"],
        [
            "shade", text, *viewing, "--tabs", DATA / "tabs/orchard16.json",
            "--sheet", out / "s.html",
        ],
        ["diff", tabs, tabs, "--json"],
        ["tabs", "build", tabs, "--json", "--out", out / "tabs.json"],
        ["tabs", "audit", out / "tabs.json", "--json", "--sheet", out / "audit.html"],
        [
            "paste", "fit", drawdowns, "--name", "fawn", "--role", "body", "--json",
            "--out", out / "pastes.json", "--sheet", out / "fit.html",
        ],
    ):  # fmt: skip
        done = mamelon(*words)
        assert done.returncode in (0, 1), (words, done.stderr)
        assert not leaks(done.stdout, photo), words
        assert not leaks(done.stderr, photo), words
    for file in out.iterdir():
        assert not leaks(file.read_bytes(), photo), file.name
        assert str(tmp_path).encode() not in file.read_bytes(), file.name


def test_an_error_names_the_file_only_where_the_user_reads_it(
    mamelon: Command, photo: Path, tmp_path: Path
) -> None:
    """A file that cannot be read is named to the person who gave it; nothing is written."""
    photo.write_bytes(photo.read_bytes()[:3000])
    sheet = tmp_path / "sheet.html"
    done = mamelon(
        "shade", photo, "--card", DATA / "cards/tooth20_frame.json",
        "--tabs", DATA / "tabs/orchard16.json", "--sheet", sheet,
    )  # fmt: skip
    assert done.returncode == 3
    assert done.stdout == ""
    assert "Zebrafinch" not in done.stderr
    assert not sheet.exists()
