"""No output carries the photo's EXIF, its place on the disk, its name or the machine's name."""

from __future__ import annotations

import base64
import re
import shutil
import socket
from pathlib import Path

import pytest
from conftest import DATA, Command
from PIL import Image

PLANTED = ("Zebrafinch Quillon", "PLANTEDCAMERA", "PLANTEDSOFTWARE", "47.2345", "patient-folder")


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """The demo photo with a name, a place and a camera in its EXIF, in a folder with a name."""
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
    assert b"Zebrafinch Quillon" in path.read_bytes()
    return path


def leaks(text: str | bytes, photo: Path) -> list[str]:
    """Planted words, parts of the photo's path and the host's name that stand in an output."""
    raw = text.encode() if isinstance(text, str) else text
    words = [*PLANTED, "Quillon", "1961-04-01", str(photo.parent), photo.name, photo.stem]
    host = socket.gethostname()
    if len(host) > 3:
        words.append(host)
    return [word for word in words if word.encode() in raw or word.encode("utf-16-le") in raw]


def test_no_output_tells_whose_photo_it_is(mamelon: Command, photo: Path, tmp_path: Path) -> None:
    card = tmp_path / "card.json"
    shutil.copy(DATA / "cards/tooth20_frame.json", card)
    sheet = tmp_path / "sheet.html"
    plan = [
        "plan", photo, "--card", card, "--tabs", DATA / "tabs/orchard16.json",
        "--pastes", DATA / "pastes/orchard10.json", "--floor", DATA / "floors/dark_dentine.csv",
        "--depth", "3", "--label", "case seven", "--sheet", sheet,
    ]  # fmt: skip
    for words in (plan, [*plan, "--json"], ["card", photo, "--card", card]):
        done = mamelon(*words)
        assert done.returncode in (0, 1), done.stderr
        assert not leaks(done.stdout, photo)
        assert not leaks(done.stderr, photo)
    page = sheet.read_text(encoding="utf-8")
    assert "case seven" in page
    assert not leaks(page, photo)
    pictures = re.findall(r"data:image/[a-z]+;base64,([A-Za-z0-9+/=]+)", page)
    assert pictures
    for picture in pictures:
        raw = base64.b64decode(picture)
        assert not leaks(raw, photo)
        assert b"Exif" not in raw
        assert b"eXIf" not in raw


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
