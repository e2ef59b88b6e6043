"""Malformed files of every kind the command reads, made from the demo data.

Each file is a damage that happens (a truncated download, a flipped bit, a spreadsheet's export) or
one that an attacker would try (a huge count, a deep nesting, a small file that unpacks to
gigabytes). `make(folder)` writes them and returns what each one is; the same files every time.

    python tests/fuzz/make_malformed.py FOLDER
"""

from __future__ import annotations

import json
import random
import struct
import sys
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

DATA = Path(__file__).resolve().parents[2] / "data"


@dataclass(frozen=True)
class Malformed:
    """A file, the argument it is given as, and whether it can still be right by luck."""

    path: Path
    role: str  # photo, card, tabs, pastes, floor, table
    may_be_valid: bool


def truncations(content: bytes, parts: int = 16) -> Iterator[tuple[str, bytes]]:
    for i in range(parts):
        yield f"cut_{i:02d}", content[: len(content) * i // parts]


def bit_flips(content: bytes, count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    chooser = random.Random(seed)
    for i in range(count):
        damaged = bytearray(content)
        damaged[chooser.randrange(len(damaged))] ^= 1 << chooser.randrange(8)
        yield f"flip_{i:02d}", bytes(damaged)


def png(width: int, height: int, idat: bytes, depth: int = 8, colour: int = 2) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        checksum = zlib.crc32(kind + body)
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", checksum)

    header = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    parts = [chunk(b"IHDR", header), chunk(b"IDAT", idat), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def png_with_profile(profile: bytes) -> bytes:
    pixels = zlib.compress((b"\0" + b"\x80" * (3 * 800)) * 600)
    whole = png(800, 600, pixels)
    body = b"p\0\0" + zlib.compress(profile)
    chunk = struct.pack(">I", len(body)) + b"iCCP" + body
    chunk += struct.pack(">I", zlib.crc32(b"iCCP" + body))
    return whole[:33] + chunk + whole[33:]


def icc(tag_count: int, tags: bytes, size: int | None = None) -> bytes:
    body = struct.pack(">I", tag_count) + tags
    header = bytearray(128)
    header[8:12] = b"\x02\x40\0\0"
    header[12:24] = b"mntrRGB XYZ "
    header[36:40] = b"acsp"
    header[0:4] = struct.pack(">I", 128 + len(body) if size is None else size)
    return bytes(header) + body


def dng(width: int = 256, height: int = 240) -> bytes:
    """The least that a raw reader takes: a mosaic of 16 bits (TIFF/EP and DNG 1.4)."""
    pixels = 8 + 2 + 12 * 16 + 4
    camera, matrix = pixels + 2 * width * height, pixels + 2 * width * height + 8
    entries = [
        (256, 4, 1, width), (257, 4, 1, height), (258, 3, 1, 16), (259, 3, 1, 1),
        (262, 3, 1, 32803), (273, 4, 1, pixels), (277, 3, 1, 1), (278, 4, 1, height),
        (279, 4, 1, 2 * width * height), (33421, 3, 2, 0x00020002), (33422, 1, 4, 0x02010100),
        (50706, 1, 4, 0x00000401), (50708, 2, 8, camera), (50714, 4, 1, 512),
        (50717, 4, 1, 16383), (50721, 10, 9, matrix),
    ]  # fmt: skip
    body = struct.pack("<H", len(entries))
    body += b"".join(struct.pack("<HHII", *entry) for entry in entries) + bytes(4)
    rational = b"".join(struct.pack("<ii", int(i % 4 == 0), 1) for i in range(9))
    mosaic = struct.pack("<H", 4000) * (width * height)
    return b"II*\0" + struct.pack("<I", 8) + body + mosaic + b"camera\0\0" + rational


def photos() -> Iterator[tuple[str, bytes, bool]]:
    jpeg = (DATA / "photos/front_teeth.jpg").read_bytes()
    tiff = (DATA / "photos/front_teeth_linear.tif").read_bytes()
    for name, content in truncations(jpeg):
        yield f"jpeg_{name}.jpg", content, False
    for name, content in bit_flips(jpeg, 24, 1):
        yield f"jpeg_{name}.jpg", content, True
    for name, content in bit_flips(jpeg[:600], 24, 2):
        yield f"jpeg_head_{name}.jpg", content + jpeg[600:], True
    for name, content in truncations(tiff, 8):
        yield f"tiff_{name}.tif", content, False
    for name, content in bit_flips(tiff[:4096], 16, 3):
        yield f"tiff_head_{name}.tif", content + tiff[4096:], True

    start = jpeg.index(b"\xff\xc0") if b"\xff\xc0" in jpeg else jpeg.index(b"\xff\xc2")
    for side in (65500, 65535, 0, 1):
        huge = bytearray(jpeg)
        huge[start + 5 : start + 9] = struct.pack(">HH", side, side)
        yield f"jpeg_side_{side}.jpg", bytes(huge), False
    yield "jpeg_no_scan.jpg", jpeg[: jpeg.index(b"\xff\xda")], False
    yield "jpeg_two_starts.jpg", b"\xff\xd8" * 1000, False

    bomb = zlib.compress(b"\0" * 40_000_000, 9)
    for side in (100_000, 30_000, 2**31 - 1):
        yield f"png_bomb_{side}.png", png(side, side, bomb), False
    yield "png_zero.png", png(0, 0, b""), False
    yield "png_short_data.png", png(800, 600, zlib.compress(b"\0" * 100)), False
    yield "png_bad_depth.png", png(800, 600, zlib.compress(b"\0"), depth=7), False
    yield "png_grey.png", png(800, 600, zlib.compress((b"\0" * 801) * 600), colour=0), False
    good = png(800, 600, zlib.compress((b"\0" + b"\x80" * 2400) * 600))
    for name, content in truncations(good, 8):
        yield f"png_{name}.png", content, False
    curve_tags = (b"rTRC", b"gTRC", b"bTRC")
    for label, profile in {
        "empty": b"",
        "short": b"acsp",
        "many_tags": icc(2**32 - 1, b""),
        "tag_outside": icc(1, b"rXYZ" + struct.pack(">II", 2**31, 2**31)),
        "size_lie": icc(1, b"rXYZ" + struct.pack(">II", 144, 20), size=2**31),
        "tag_itself": icc(3, b"".join(t + struct.pack(">II", 128, 40) for t in curve_tags)),
    }.items():
        yield f"png_icc_{label}.png", png_with_profile(profile), False

    def tiff_of(entries: list[tuple[int, int, int, int]], next_ifd: int = 0) -> bytes:
        body = struct.pack("<H", len(entries))
        body += b"".join(struct.pack("<HHII", *entry) for entry in entries)
        return b"II*\0" + struct.pack("<I", 8) + body + struct.pack("<I", next_ifd)

    yield "tiff_loop.tif", tiff_of([(256, 4, 1, 800)], next_ifd=8), False
    yield "tiff_no_tags.tif", tiff_of([]), False
    yield "tiff_offset_outside.tif", b"II*\0" + struct.pack("<I", 2**32 - 1), False
    shape = [(256, 4, 1, 2**31), (257, 4, 1, 2**31), (258, 3, 1, 8), (277, 3, 1, 3)]
    yield "tiff_huge.tif", tiff_of(shape), False
    yield "tiff_huge_count.tif", tiff_of([(273, 4, 2**32 - 1, 8), *shape]), False
    for label, content in {
        "text": b"this is not a photo\n",
        "zeros": bytes(100_000),
        "empty": b"",
        "html": b"<!doctype html><title>404</title>",
        "one_byte": b"\xff",
    }.items():
        yield f"not_a_photo_{label}.jpg", content, False


def raws() -> Iterator[tuple[str, bytes, bool]]:
    raw = dng()
    for name, content in truncations(raw, 8):
        yield f"dng_{name}.dng", content, False
    for name, content in bit_flips(raw[:206], 40, 4):
        yield f"dng_head_{name}.dng", content + raw[206:], True
    for label, size in {"wide": (2**31, 240), "zero": (0, 0), "tall": (256, 2**32 - 1)}.items():
        head = bytearray(raw)
        for at, side in zip((18, 30), size, strict=True):
            head[at : at + 4] = struct.pack("<I", side)
        yield f"dng_{label}.dng", bytes(head), False


def documents(name: str, path: Path) -> Iterator[tuple[str, bytes, bool]]:
    content = path.read_bytes()
    good = json.loads(content)
    for label, damaged in truncations(content):
        yield f"{name}_{label}.json", damaged, False
    for label, damaged in bit_flips(content, 16, 4):
        yield f"{name}_{label}.json", damaged, True

    def with_change(**changes: object) -> bytes:
        return json.dumps({**good, **changes}).encode()

    items = next(key for key in ("patches", "tabs", "pastes") if key in good)
    for label, damaged in {
        "empty_list": with_change(**{items: []}),
        "not_a_list": with_change(**{items: {"a": 1}}),
        "twice": with_change(**{items: good[items] + good[items][:1]}),
        "too_many": with_change(**{items: good[items] * 10_000}),
        "unknown_key": with_change(surprise=1),
        "no_format": json.dumps({k: v for k, v in good.items() if k != "format"}).encode(),
        "other_format": with_change(format="something-else"),
        "newer_major": with_change(version="99.0"),
        "bad_version": with_change(version="one"),
        "nan": content.replace(b"0.", b"NaN, 0.", 1),
        "infinity": content.replace(b"0.", b"Infinity, 0.", 1),
        "overflow": content.replace(b"0.", b"1e999, 0.", 1),
        "deep": b"[" * 100_000,
        "deep_object": b'{"a":' * 50_000 + b"1" + b"}" * 50_000,
        "utf16": content.decode().encode("utf-16"),
        "bad_utf8": content[:20] + b"\xff\xfe\x80" + content[20:],
        "nul": content[:20] + b"\0" + content[20:],
        "two_documents": content + content,
        "long_name": with_change(name="x" * 10_000_000),
        "wrong_type": with_change(name=7),
        "array": b"[]",
        "number": b"1",
        "empty": b"",
    }.items():
        yield f"{name}_{label}.json", damaged, False


def tables() -> Iterator[tuple[str, bytes, bool]]:
    good = b"label,L,a,b\n" + b"".join(b"tooth %d,72.5,1.25,18.0\n" % i for i in range(50))
    bands = ",".join(str(w) for w in range(400, 701, 10))
    curve = f"label,{bands}\nx," + ",".join(["0.5"] * 31) + "\n"
    for label, damaged in truncations(good, 8):
        yield f"table_{label}.csv", damaged, True
    for label, damaged in bit_flips(good, 16, 5):
        yield f"table_{label}.csv", damaged, True
    # Not UTF-8, and so read as Latin-1: a spreadsheet's old default.
    yield "table_latin1.csv", good + b"\xff\xfe\x80,70,1,1\n", True
    for label, damaged in {
        "nan": good + b"x,nan,1,1\n",
        "inf": good + b"x,inf,1,1\n",
        "overflow": good + b"x,1e999,1,1\n",
        "text": good + b"x,light,1,1\n",
        "short_row": good + b"x,70,1\n",
        "long_row": good + b"x,70,1,1,1\n",
        "open_quote": good + b'"x,70,1,1\n',
        "no_header": b"x,70,1,1\n",
        "header_only": b"label,L,a,b\n",
        "empty": b"",
        "one_line_10_mb": b"label,L,a,b\n" + b"x" * 10_000_000,
        "many_columns": b"label," + b"L," * 200_000 + b"\n",
        "nul": good + b"x\0,70,1,1\n",
        "twice_l": b"label,L,L,b\nx,70,1,1\n",
        "l_above_100": b"label,L,a,b\nx,700,1,1\n",
        "percent": curve.replace("0.5", "50.5").encode(),
        "negative": curve.replace("0.5", "-0.5", 1).encode(),
        "uneven": curve.replace(",410,", ",411,").encode(),
        "falling": curve.replace(",410,420,", ",420,410,").encode(),
        "two_bands": b"label,400,410\nx,0.5,0.5\n",
        "step_25": b"label,400,425,450,475\nx,0.5,0.5,0.5,0.5\n",
    }.items():
        yield f"table_{label}.csv", damaged, False


def floors() -> Iterator[tuple[str, bytes, bool]]:
    good = (DATA / "floors/dark_dentine.csv").read_bytes()
    for label, damaged in truncations(good, 8):
        yield f"floor_{label}.csv", damaged, True
    for label, damaged in bit_flips(good, 16, 6):
        yield f"floor_{label}.csv", damaged, True
    for label, damaged in {
        "percent": b"wavelength_nm,reflectance\n400,20\n410,21\n420,22\n",
        "binary": bytes(range(256)) * 40,
        "empty": b"",
    }.items():
        yield f"floor_{label}.csv", damaged, False


def make(folder: Path) -> list[Malformed]:
    """Writes every malformed file into `folder` and lists them."""
    folder.mkdir(parents=True, exist_ok=True)
    sources: list[tuple[str, Iterator[tuple[str, bytes, bool]]]] = [
        ("photo", photos()),
        ("photo", raws()),
        ("card", documents("card", DATA / "cards/tooth20.json")),
        ("tabs", documents("tabs", DATA / "tabs/orchard16.json")),
        ("pastes", documents("pastes", DATA / "pastes/orchard10.json")),
        ("table", tables()),
        ("floor", floors()),
    ]
    made = []
    for role, files in sources:
        for name, content, may_be_valid in files:
            path = folder / name
            path.write_bytes(content)
            made.append(Malformed(path, role, may_be_valid))
    return made


if __name__ == "__main__":
    print(f"{len(make(Path(sys.argv[1])))} files")
