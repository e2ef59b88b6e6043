"""The layer table of DEVELOPERS.md, held against every #include in the tree."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# A layer may include itself and whatever stands in its row.
MAY_INCLUDE = {
    "base": set(),
    "colour": {"base"},
    "reading": {"base", "colour"},
    "capture": {"base", "colour", "reading"},
    "shade": {"base", "colour", "reading"},
    "material": {"base", "colour", "reading"},
    "plan": {"base", "colour", "reading", "capture", "shade", "material"},
    "case": {"base", "colour", "reading", "capture", "shade", "material", "plan"},
    "io": {"base", "colour", "reading", "capture", "shade", "material", "plan", "case"},
    "sheet": {"base", "colour", "reading", "capture", "shade", "material", "plan", "case", "io"},
    "cli": {
        *("base", "colour", "reading", "capture", "shade", "material"),
        *("plan", "case", "io", "sheet"),
    },
}
MAY_INCLUDE["page"] = MAY_INCLUDE["cli"]
INCLUDE = re.compile(r'^\s*#include\s+["<]([^">]+)[">]', re.MULTILINE)
# Third-party headers and the only folders that may include them.
FENCED = {
    re.compile(r"^lcms2"): ["src/capture/icc.cpp"],
    re.compile(r"^libraw/"): ["src/capture/raw.cpp"],
    re.compile(r"^libheif/"): ["src/capture/heic.cpp"],
    re.compile(r"^webp/"): ["src/capture/webp.cpp"],
    re.compile(r"^opencv2/"): ["src/capture/"],
    re.compile(r"^nlohmann/"): ["src/io/", "src/page/"],
    re.compile(r"^pugixml"): ["src/io/"],
    re.compile(r"^zip\.h"): ["src/io/"],
    re.compile(r"^pybind11/"): ["python/bindings/"],
    re.compile(r"^CLI/"): ["src/cli/"],
    re.compile(r"^hwy/"): ["src/colour/", "src/shade/", "src/material/", "src/plan/"],
}


def header_layers() -> dict[str, str]:
    """Layer of each public header: the folder of src/ whose sources define it (see the table)."""
    table = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    layers: dict[str, str] = {}
    for match in re.finditer(r"^\| \d \| (\w+) \| `([^|]+)` \|", table, re.MULTILINE):
        for name in match.group(2).split():
            layers[name] = match.group(1)
    return layers


def sources() -> list[Path]:
    found = [p for folder in ("include", "src") for p in (ROOT / folder).rglob("*")]
    return sorted(p for p in found if p.suffix in {".h", ".cpp"})


def layer_of(path: Path, headers: dict[str, str]) -> str | None:
    parts = path.relative_to(ROOT).parts
    if parts[0] == "src":
        return parts[1]
    return headers.get(path.stem)


def test_every_public_header_stands_in_the_table() -> None:
    headers = header_layers()
    names = {p.stem for p in (ROOT / "include/mamelon").glob("*.h")} - {"mamelon"}
    assert names == set(headers)


def test_includes_point_down() -> None:
    headers = header_layers()
    wrong = []
    for path in sources():
        if path.stem == "mamelon" and path.suffix == ".h":
            continue
        layer = layer_of(path, headers)
        assert layer in MAY_INCLUDE, f"{path} stands in no layer"
        for name in INCLUDE.findall(path.read_text(encoding="utf-8")):
            if name == "mamelon/mamelon.h":
                target = "sheet"
            elif name.startswith("mamelon/"):
                target = headers[Path(name).stem]
            elif name.split("/")[0] in MAY_INCLUDE:
                target = name.split("/")[0]
            else:
                continue
            if target != layer and target not in MAY_INCLUDE[layer]:
                wrong.append(f"{path.relative_to(ROOT)} ({layer}) includes {name} ({target})")
    assert not wrong, "\n".join(wrong)


def test_the_command_is_a_client_of_the_public_headers() -> None:
    text = {"base/numbers.h", "base/listing.h"}
    wrong = [
        f"{path.name} includes {name}"
        for path in (ROOT / "src/cli").iterdir()
        if path.suffix in {".h", ".cpp"}
        for name in INCLUDE.findall(path.read_text(encoding="utf-8"))
        if "/" in name and not name.startswith(("mamelon/", "cli/", "CLI/", "sys/", *text))
    ]
    assert not wrong, "\n".join(wrong)


def test_public_headers_need_the_standard_library_alone() -> None:
    wrong = []
    for path in (ROOT / "include/mamelon").glob("*.h"):
        for name in INCLUDE.findall(path.read_text(encoding="utf-8")):
            if not name.startswith("mamelon/") and not re.fullmatch(r"[a-z_]+", name):
                wrong.append(f"{path.name} includes {name}")
    assert not wrong, "\n".join(wrong)


def test_third_party_headers_stay_behind_their_fence() -> None:
    wrong = []
    for folder in ("include", "src", "python"):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix not in {".h", ".cpp"}:
                continue
            place = path.relative_to(ROOT).as_posix()
            for name in INCLUDE.findall(path.read_text(encoding="utf-8")):
                for pattern, allowed in FENCED.items():
                    if pattern.search(name) and not any(place.startswith(a) for a in allowed):
                        wrong.append(f"{place} includes {name}")
    assert not wrong, "\n".join(wrong)


def test_files_stay_small() -> None:
    long = [
        f"{p.relative_to(ROOT)}: {n} lines"
        for p in sources()
        if (n := p.read_text(encoding="utf-8").count("\n")) > 550
    ]
    assert not long, "\n".join(long)
