"""What the build lists in its bill of materials is what it finds, and README names the licences."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FILES = [
    ROOT / "CMakeLists.txt",
    *(ROOT / "src").rglob("CMakeLists.txt"),
    *(ROOT / "python").rglob("CMakeLists.txt"),
    *(ROOT / "tests").rglob("CMakeLists.txt"),
]
# Names of packages that the bill calls otherwise, and those that are no library of their own.
SAME = {"JPEG": "libjpeg-turbo", "PNG": "libpng", "TIFF": "libtiff", "Eigen3": "Eigen",
        "GTest": "GoogleTest", "nlohmann_json": "nlohmann-json", "libhwy": "highway",
        "libraw": "LibRaw", "libraw_r": "LibRaw",
        "libwebpdemux": "libwebp"}  # fmt: skip
# What stands in the tree itself.
CARRIED = {"musl"}
# What a wheel or the page links beside that, statically.
WITHIN = {"zlib"}
NONE = {"Threads", "PkgConfig", "Python", "mamelon"}


def test_every_library_is_in_the_bill_and_in_the_readme() -> None:
    text = "\n".join(f.read_text(encoding="utf-8") for f in FILES if "consumer" not in f.parts)
    wanted = set(re.findall(r"^\s*find_package\((\w+)", text, flags=re.MULTILINE))
    for line in re.findall(r"pkg_check_modules\(\w+ ([^)]*)\)", text):
        wanted |= {w.split(">=")[0] for w in line.split() if w[0].islower()}
    wanted = {SAME.get(name, name) for name in wanted - NONE}
    listed = dict(re.findall(r'sbom_component\(([\w-]+) "[^"]*"\s*"([^"]+)"', text))
    assert wanted | CARRIED | WITHIN == set(listed)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    licences = readme[readme.index("## Licence") :]
    for name, licence in listed.items():
        assert name in licences, name
        for part in re.split(r" AND | OR ", licence):
            assert part in licences, (name, part)


def test_limits_of_the_readme_are_those_of_the_header() -> None:
    header = (ROOT / "include/mamelon/limits.h").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8").replace("\u00a0", " ")
    values = dict(re.findall(r"constexpr \S+ (\w+) = ([^;]+);", header))
    assert values["photo_pixels"].endswith("{160} * 1000 * 1000")
    for name, words in {
        "memory_bytes": ("{512} << 20U", "512 MiB"),
        "photo_bytes": ("memory_bytes", "512 MiB a photo's file"),
        "document_values": ("2'000'000", "2 million values"),
        "document_bytes": ("{64} << 20U", "64 MiB"),
        "document_depth": ("32", "32 levels"),
        "table_bytes": ("{4} << 30U", "4 GiB a table"),
        "table_columns": ("10'000", "10 000 cells a row"),
        "cxf_bytes": ("{64} << 20U", "64 MiB a CxF file"),
        "table_rows": ("10'000'000", "ten million rows"),
        "spectrum_bands": ("5000", "5000 bands"),
        "tabs": ("10'000", "10 000 tabs"),
        "pastes": ("1000", "1000 pastes"),
        "plan_layers": ("3", "3 layers"),
        "plan_depth_mm": ("20", "20 mm a plan"),
    }.items():
        assert values[name].endswith(words[0]), name
        assert words[1] in readme, name
