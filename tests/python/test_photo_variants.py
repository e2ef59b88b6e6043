"""One picture in the forms that programs give it: decoded, all are the same light.

Written by pillow, tifffile and OpenCV (and profiles by Little CMS through pillow, or by hand after
ICC.1), as export dialogs and converters write them. Reference: the picture's own numbers.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms, features
from simulator.files import linear_profile, srgb_profile

import mamelon as mm

HEIGHT, WIDTH = 256, 320
Floats = np.ndarray


def light() -> Floats:
    """Smooth, coloured, different in every corner: linear light 0–1, (h, w, 3)."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH] / [[[HEIGHT]], [[WIDTH]]]
    return np.stack([0.1 + 0.7 * x, 0.1 + 0.6 * y, 0.5 - 0.3 * x * y], axis=-1)


def srgb_code(value: Floats) -> Floats:
    """Code of a light (IEC 61966-2-1)."""
    return np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)


def gamma_profile(gamma: float, red_x: float = 0.64) -> bytes:
    """The linear profile with curves of a gamma, as ICC.1 7.2 writes it in u8Fixed8."""
    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256)) + bytes(2)
    flat = b"curv" + bytes(4) + struct.pack(">I", 0)
    profile = bytearray(linear_profile())
    count = struct.unpack(">I", profile[128:132])[0]
    end = len(profile)
    for number in range(count):
        at = 132 + 12 * number
        tag = bytes(profile[at : at + 4])
        if tag in (b"rTRC", b"gTRC", b"bTRC"):
            start = struct.unpack(">I", profile[at + 4 : at + 8])[0]
            assert profile[start : start + len(flat)] == flat
            profile[at + 4 : at + 12] = struct.pack(">2I", end, 14)
    profile += curve
    profile[0:4] = struct.pack(">I", len(profile))
    return bytes(profile)


def wide_profile() -> bytes:
    """A profile of primaries wider than sRGB's with the sRGB curve, by Little CMS."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # Red primary of a wider gamut, adapted to D50 (ICC display profiles of DCI primaries).
    at = profile.index(b"rXYZ", 128)
    start = struct.unpack(">I", profile[at + 4 : at + 8])[0]
    wide = bytearray(profile)
    wide[start + 8 : start + 20] = struct.pack(
        ">3i", *(round(v * 65536) for v in (0.5151, 0.2412, -0.0011))
    )
    return bytes(wide)


def as8(code: Floats) -> np.ndarray:
    return np.round(255 * code).astype(np.uint8)


def as16(code: Floats) -> np.ndarray:
    return np.round(65535 * code).astype(np.uint16)


def pillow(file_format: str, code: Floats | None = None, **options: object) -> bytes:
    stream = io.BytesIO()
    image = Image.fromarray(as8(srgb_code(light()) if code is None else code))
    image.save(stream, file_format, **options)
    return stream.getvalue()


def tiff(values: np.ndarray, **options: object) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, values, **{"photometric": "rgb", **options})  # type: ignore[arg-type]
    return stream.getvalue()


def opencv(extension: str, values: np.ndarray, *options: int) -> bytes:
    done, data = cv2.imencode(extension, values[..., ::-1], list(options))
    assert done
    return bytes(data)


def turned(file_format: str, orientation: int) -> bytes:
    """Stored turned, with EXIF's note of how to turn it back."""
    code = srgb_code(light())
    stored = {
        2: code[:, ::-1], 3: code[::-1, ::-1], 4: code[::-1], 5: code.swapaxes(0, 1),
        6: np.rot90(code, 1), 7: code[::-1, ::-1].swapaxes(0, 1), 8: np.rot90(code, -1),
    }[orientation]  # fmt: skip
    exif = Image.Exif()
    exif[0x0112] = orientation
    # What cameras write and no sheet may show: a place, and a comment.
    exif[0x9286] = "comment"
    options = {"quality": 98, "subsampling": 0} if file_format == "JPEG" else {}
    return pillow(file_format, stored, exif=exif.tobytes(), **options)


@dataclass(frozen=True)
class Variant:
    """How a file is made, what it must be taken for, and how near it must come, in 8-bit steps."""

    make: Callable[[], bytes]
    encoding: str
    steps: float = 0.5


CODE = srgb_code(light())
JPEG = {"quality": 98, "subsampling": 0, "icc_profile": srgb_profile()}
EIGHT = {"photometric": "rgb", "iccprofile": srgb_profile()}

VARIANTS = {
    "PNG 8 bit, sRGB profile": Variant(
        lambda: pillow("PNG", icc_profile=srgb_profile()), "profile"
    ),
    "PNG 8 bit, stripped": Variant(lambda: pillow("PNG"), "srgb_assumed"),
    "PNG 8 bit by OpenCV": Variant(
        lambda: opencv(".png", as8(CODE), cv2.IMWRITE_PNG_COMPRESSION, 9), "srgb_assumed"
    ),
    "PNG 16 bit by OpenCV": Variant(lambda: opencv(".png", as16(CODE)), "srgb_assumed", 0.01),
    "JPEG baseline": Variant(lambda: pillow("JPEG", **JPEG), "profile", 3),
    "JPEG progressive": Variant(lambda: pillow("JPEG", progressive=True, **JPEG), "profile", 3),
    "JPEG optimised, restart marks": Variant(
        lambda: pillow("JPEG", optimize=True, restart_marker_rows=1, **JPEG), "profile", 3
    ),
    "JPEG, chroma subsampled": Variant(
        lambda: pillow("JPEG", **{**JPEG, "subsampling": 2}), "profile", 4
    ),
    "JPEG, stripped": Variant(lambda: pillow("JPEG", quality=98, subsampling=0), "srgb_assumed", 3),
    "JPEG by OpenCV, progressive": Variant(
        lambda: opencv(
            ".jpg", as8(CODE), cv2.IMWRITE_JPEG_QUALITY, 98, cv2.IMWRITE_JPEG_PROGRESSIVE, 1
        ),
        "srgb_assumed",
        4,
    ),
    "TIFF 8 bit, plain": Variant(lambda: tiff(as8(CODE), **EIGHT), "profile"),
    "TIFF 8 bit, LZW with predictor": Variant(
        lambda: pillow("TIFF", compression="tiff_lzw", icc_profile=srgb_profile()), "profile"
    ),
    "TIFF 8 bit, PackBits": Variant(
        lambda: pillow("TIFF", compression="packbits", icc_profile=srgb_profile()), "profile"
    ),
    "TIFF 8 bit, JPEG inside": Variant(
        lambda: pillow("TIFF", compression="jpeg", quality=98, icc_profile=srgb_profile()),
        "profile",
        4,
    ),
    "TIFF 16 bit, deflated, tiled": Variant(
        lambda: tiff(as16(CODE), tile=(64, 64), compression="zlib", **EIGHT), "profile", 0.01
    ),
    "TIFF 16 bit, planes apart": Variant(
        lambda: tiff(np.moveaxis(as16(CODE), 2, 0), planarconfig="separate", **EIGHT),
        "profile",
        0.01,
    ),
    "TIFF 16 bit, planes apart, tiled": Variant(
        lambda: tiff(
            np.moveaxis(as16(CODE), 2, 0), planarconfig="separate", tile=(128, 64), **EIGHT
        ),
        "profile",
        0.01,
    ),
    "TIFF 16 bit, big-endian": Variant(
        lambda: tiff(as16(CODE), byteorder=">", **EIGHT), "profile", 0.01
    ),
    "TIFF 16 bit, BigTIFF": Variant(
        lambda: tiff(as16(CODE), bigtiff=True, **EIGHT), "profile", 0.01
    ),
    "TIFF 16 bit with an alpha channel": Variant(
        lambda: tiff(
            np.dstack([as16(CODE), np.full((HEIGHT, WIDTH), 65535, np.uint16)]),
            extrasamples=["unassalpha"],
            **EIGHT,
        ),
        "profile",
        0.01,
    ),
    "TIFF 16 bit, linear profile": Variant(
        lambda: tiff(as16(light()), iccprofile=linear_profile()), "linear", 0.01
    ),
    "TIFF 16 bit, wide gamut, gamma 2.2": Variant(
        lambda: tiff(as16(light() ** (256 / 563)), iccprofile=gamma_profile(563 / 256)),
        "profile",
        0.01,
    ),
    "TIFF 16 bit, very wide gamut, gamma 1.8": Variant(
        lambda: tiff(as16(light() ** (256 / 461)), iccprofile=gamma_profile(461 / 256)),
        "profile",
        0.01,
    ),
    "PNG 8 bit, wide primaries with the sRGB curve": Variant(
        lambda: pillow("PNG", icc_profile=wide_profile()), "profile"
    ),
    **{
        f"{file_format}, orientation {number}": Variant(
            lambda file_format=file_format, number=number: turned(file_format, number),
            "srgb_assumed",
            3,
        )
        for file_format in ("JPEG", "TIFF")
        for number in range(2, 9)
    },
}


@pytest.mark.parametrize("name", VARIANTS)
def test_every_variant_is_the_same_light(name: str) -> None:
    variant = VARIANTS[name]
    photo = mm.decode_photo(variant.make(), name)
    assert photo.encoding == variant.encoding
    assert (photo.height, photo.width) == (HEIGHT, WIDTH)
    found = np.asarray(photo.rgb, dtype=np.float64) / 65535
    # Compared as sRGB codes: what is lost in coding is even there.
    apart = 255 * np.abs(srgb_code(found) - CODE)
    assert np.quantile(apart, 0.999) <= variant.steps + 0.01


def grey(mode: str) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(as8(CODE)).convert(mode).save(
        stream, "TIFF" if mode == "CMYK" else "PNG", compression="tiff_lzw"
    )
    return stream.getvalue()


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: grey("L"), "grey"),
        (lambda: grey("CMYK"), "CMYK"),
        (lambda: grey("P"), "palette"),
        (lambda: pillow("PNG", icc_profile=b"no profile at all"), "profile is malformed"),
        (lambda: pillow("PNG", icc_profile=srgb_profile()[:200]), "profile"),
        (
            lambda: pillow(
                "JPEG",
                icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes(),
            ),
            "not of RGB data",
        ),
        (lambda: pillow("GIF"), "not a JPEG, PNG, TIFF, HEIC, WebP or camera raw file"),
    ],
)
def test_what_is_no_colour_photo_is_refused_in_a_sentence(
    make: Callable[[], bytes], sentence: str
) -> None:
    with pytest.raises((mm.CaptureError, mm.DataError), match=sentence):
        mm.decode_photo(make(), "photo")


@pytest.mark.parametrize(
    ("format_", "settings", "steps"),
    [("WEBP", {"lossless": True}, 0), ("WEBP", {"quality": 95}, 6), ("AVIF", {"quality": 95}, 6)],
)
def test_phone_files_are_read_as_other_photos(
    format_: str, settings: dict[str, object], steps: float
) -> None:
    """Pillow's encoders (libwebp, libavif) against the same picture as a PNG."""
    if format_ == "AVIF" and not features.check("avif"):
        pytest.skip("this Pillow writes no AVIF")
    icc = {"icc_profile": srgb_profile()}
    same = mm.decode_photo(pillow("PNG", **icc), "photo")
    try:
        photo = mm.decode_photo(pillow(format_, **settings, **icc), "photo")
    except mm.CaptureError as error:
        assert "built without lib" in str(error) and "export" in str(error)
        return
    assert (photo.height, photo.width) == (same.height, same.width)
    assert photo.encoding == same.encoding
    codes = [srgb_code(np.asarray(p.rgb, dtype=np.float64) / 65535) for p in (photo, same)]
    assert np.quantile(255 * np.abs(codes[0] - codes[1]), 0.999) <= steps + 0.01


@pytest.mark.parametrize("format_", ["WEBP", "AVIF"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.98])
def test_half_a_phone_file_is_an_error(format_: str, share: float) -> None:
    if format_ == "AVIF" and not features.check("avif"):
        pytest.skip("this Pillow writes no AVIF")
    content = pillow(format_)
    with pytest.raises((mm.CaptureError, mm.DataError), match=r"^photo: "):
        mm.decode_photo(content[: int(share * len(content))], "photo")


def test_a_photo_through_its_own_input_profile_is_read_by_the_tables(tmp_path: Path) -> None:
    """A profile made of tables in a file, as scanners' are: light is what the tables say."""
    root = Path(__file__).resolve().parents[2]
    file = root / "data/photos/front_teeth_linear.tif"
    card = mm.read_card(root / "data/cards/tooth20.json")
    fit = mm.fit_card(mm.read_photo(file), card, "D50/2")
    profile = mm.input_profile(file.read_bytes(), file.name, fit, card.name)
    values = tifffile.imread(file)
    tifffile.imwrite(tmp_path / "a.tif", values, photometric="rgb", iccprofile=profile)
    photo = mm.read_photo(tmp_path / "a.tif")
    assert photo.encoding == "profile"
    assert "left out of the fit" in photo.profile_description
    # In the wide space of the tables the fit is a fit to colours that are right already.
    again = mm.fit_card(photo, card, "D50/2")
    assert again.loo_de00_median < 0.5
    with pytest.raises(mm.ArgumentError, match="made of tables"):
        mm.input_profile((tmp_path / "a.tif").read_bytes(), "a.tif", again, card.name)
