"""Writes pictures with their colour profiles, the same bytes every time."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

from .canvas import Field


def srgb_profile() -> bytes:
    """The sRGB profile made by Little CMS, with its date and identifier blanked."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    profile[84:100] = bytes(16)
    return bytes(profile)


def linear_profile() -> bytes:
    """A matrix profile (ICC.1, version 2.4) with linear curves and the sRGB primaries under D50."""
    primaries = {
        b"rXYZ": (0.43607, 0.22249, 0.01392),
        b"gXYZ": (0.38515, 0.71687, 0.09708),
        b"bXYZ": (0.14307, 0.06061, 0.71410),
    }
    white = (0.9642, 1.0, 0.8249)

    def xyz(values: tuple[float, float, float]) -> bytes:
        return b"XYZ " + bytes(4) + struct.pack(">3i", *(round(v * 65536) for v in values))

    name = b"Linear light\x00"
    described = b"desc" + bytes(4) + struct.pack(">I", len(name)) + name
    described += bytes(8) + bytes(3 + 67)
    tags = {
        b"desc": described,
        b"cprt": b"text" + bytes(4) + b"No rights reserved\x00",
        b"wtpt": xyz(white),
        **{tag: xyz(values) for tag, values in primaries.items()},
    }
    curve = b"curv" + bytes(4) + struct.pack(">I", 0)
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    table, body = b"", b""
    start = 128 + 4 + 12 * len(tags)
    for tag, content in tags.items():
        table += tag + struct.pack(">2I", start + len(body), len(content))
        body += content + bytes(-len(content) % 4)
    header = struct.pack(">I4sI", start + len(body), b"none", 0x02400000)
    header += b"mntrRGB XYZ " + struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28)
    header += struct.pack(">3i", *(round(v * 65536) for v in white))
    header = header.ljust(128, b"\x00")
    return header + struct.pack(">I", len(tags)) + table + body


def jpeg_bytes(values: Field, quality: int, profile: bytes | None) -> bytes:
    """A JPEG without chroma subsampling of file values 0–1."""
    image = Image.fromarray(np.round(values * 255).astype(np.uint8))
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=quality, subsampling=0, icc_profile=profile or b"")
    return stream.getvalue()


def write_tiff16(file: Path, values: Field, bits: int, profile: bytes) -> None:
    """A deflated 16-bit TIFF whose values carry `bits` significant bits, as a camera's raw does."""
    import tifffile

    levels = (1 << bits) - 1
    pixels = np.round(values * levels).astype(np.uint16)
    # The top is kept at full scale so that clipping can be seen.
    pixels = np.where(pixels == levels, 65535, pixels << (16 - bits)).astype(np.uint16)
    tifffile.imwrite(
        file,
        pixels,
        photometric="rgb",
        compression="deflate",
        compressionargs={"level": 9},
        predictor=True,
        iccprofile=profile,
        software=False,
        metadata=None,
    )
