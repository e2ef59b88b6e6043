"""Measures the figures that the README shows, and says which of them are older than their sources.

`figures.py run FAMILY …` measures families (none: all) with the package importable and writes
FAMILY/RESULTS.md beside this file: machine, date, revision, the peers' versions, a digest of the
sources that the figures rest on, the lines for the README, and all that the program printed.
`figures.py readme` fills the README's table from them. `figures.py check` (before a release) exits
with 1 and names the families whose sources have changed since, and a README that shows other lines.
"""

from __future__ import annotations

import datetime
import hashlib
import importlib.metadata
import os
import platform
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
BEGIN, END = "<!-- figures: made by tests/figures/figures.py -->", "<!-- end of figures -->"


@dataclass(frozen=True)
class Line:
    """A line of the README's table, found in what the program prints."""

    what: str
    pattern: str
    """A regular expression; its groups fill `shown`."""
    shown: str


@dataclass(frozen=True)
class Family:
    """Figures that one program measures."""

    command: tuple[str, ...]
    """Arguments of Python, run in the folder above this one's with it on the path."""
    sources: tuple[str, ...]
    """What the figures rest on, as patterns below the root."""
    peers: tuple[str, ...]
    lines: tuple[Line, ...]


COLOUR = ("src/base/**/*", "src/colour/**/*", "include/mamelon/*.h")
PHOTOS = (*COLOUR, "src/reading/*", "src/capture/**/*", "data/camera/*", "data/cards/*")
FAMILIES = {
    "speed": Family(
        ("bench/peers.py", "1000000"),
        (
            *COLOUR,
            "python/bindings/colour.cpp",
            "python/bindings/pixels.cpp",
            "tests/bench/peers.py",
        ),
        ("numpy", "colour-science", "scikit-image"),
        (
            Line(
                "ΔE00 of a million pairs from Python, float64, one core",
                r"CIEDE2000[\s\S]*?float64 +([\d.]+) ns +([\d.]+) x colour-science +([\d.]+) x",
                "{} ns a pair: {} × colour-science, {} × scikit-image",
            ),
            Line(
                "the same, float32",
                r"CIEDE2000[\s\S]*?float32 +([\d.]+) ns +([\d.]+) x colour-science +([\d.]+) x",
                "{} ns a pair: {} × colour-science, {} × scikit-image",
            ),
            Line(
                "nearest of 16 tabs, a pixel of 8-bit sRGB",
                r"8-bit sRGB[\s\S]*?mamelon float32 +([\d.]+) ns +([\d.]+) x",
                "{} ns: {} × scikit-image",
            ),
        ),
    ),
    "transfer": Family(
        ("bench/streams.py",),
        ("src/base/**/*", "src/material/**/*", "include/mamelon/*.h", "tests/bench/streams.py"),
        ("iadpython", "numpy"),
        (
            Line(
                "totals of slabs, n 1.5, g 0.5, 8 streams, largest error (iadpython's)",
                r"n 1\.5 g 0\.5: (?:[^|]*\|){2} (\S+) (\S+) \((\S+) (\S+)\)",
                "beam {0} ({2}), diffuse light {1} ({3})",
            ),
            Line(
                "colours of stacks, g 0.8, 4 streams, ΔE00 against 32 streams, mean / largest",
                r"g 0\.8: 4: (\S+) / (\S+)",
                "{} / {}",
            ),
        ),
    ),
    "agreement": Family(
        ("bench/agreement_studies.py", "400"),
        (*COLOUR, "python/mamelon/agreement.py", "tests/bench/agreement_studies.py"),
        ("numpy", "scipy"),
        (
            Line(
                "95 % intervals of the mean difference, 3 repeats, four shapes of error: held "
                "(standard errors off)",
                r"four shapes of error\n3 \| (.*)",
                "{} %",
            ),
            Line(
                "the same, 10 repeats",
                r"four shapes of error[\s\S]*?\n10 \| (.*)",
                "{} %",
            ),
        ),
    ),
    "photos": Family(
        ("-m", "simulator.study_capture", "--photos", "120", "--only", "tooth20"),
        (*PHOTOS, "tests/simulator/*.py"),
        ("numpy",),
        tuple(
            Line(
                f"simulated photos, {name}: ΔE00 median / 95 % point, within U95",
                rf"\| {name} \| \d+ \| \d+ \| (\S+) \| (\S+) \| \S+ \| \S+ \| (\S+) % \|",
                "{} / {}, {} %",
            )
            for name in ("tooth20 linear", "tooth20 sRGB", "tooth20 rendered")
        ),
    ),
}


def digest_of(family: Family) -> str:
    """SHA-256 of the names and contents of the family's sources."""
    sha = hashlib.sha256()
    for pattern in family.sources:
        files = [file for file in sorted(ROOT.glob(pattern)) if file.is_file()]
        if not files:
            raise SystemExit(f"error: no source is called {pattern}")
        for file in files:
            if "__pycache__" not in file.parts:
                sha.update(file.relative_to(ROOT).as_posix().encode() + b"\0")
                sha.update(hashlib.sha256(file.read_bytes()).digest())
    return sha.hexdigest()


def machine() -> str:
    """Processor, number of processors, system and how busy it is."""
    facts = Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace")
    names = re.findall(r"^model name\s*: (.*)$", facts, flags=re.MULTILINE)
    load = os.getloadavg()[0]
    return (
        f"{names[0] if names else platform.machine()}, {os.cpu_count()} processors, "
        f"{platform.system()}, {load:.1f} programs running before"
    )


def revision() -> str:
    """The commit measured, and whether the tree differs from it."""
    git = ["git", "-C", str(ROOT)]
    commit = subprocess.run(
        [*git, "rev-parse", "--short=12", "HEAD"], capture_output=True, text=True, check=True
    ).stdout.strip()
    changed = subprocess.run(
        [*git, "status", "--porcelain", "-uno"], capture_output=True, text=True, check=True
    ).stdout.strip()
    return commit + (" with changes" if changed else "")


def run(name: str) -> None:
    """Measures one family and writes its RESULTS.md."""
    family = FAMILIES[name]
    stood = machine()
    tests = str(HERE.parent)
    path = os.pathsep.join([tests, *filter(None, [os.environ.get("PYTHONPATH")])])
    printed = subprocess.run(
        [sys.executable, *family.command],
        cwd=tests, env={**os.environ, "PYTHONPATH": path}, stdout=subprocess.PIPE, text=True,
        check=True,
    ).stdout  # fmt: skip
    rows = []
    for line in family.lines:
        found = re.search(line.pattern, printed)
        if found is None:
            raise SystemExit(f"error: {name} printed nothing for: {line.what}\n{printed}")
        rows.append(f"| {line.what} | {line.shown.format(*found.groups())} |")
    versions = ", ".join(f"{peer} {importlib.metadata.version(peer)}" for peer in family.peers)
    today = datetime.datetime.now(datetime.timezone.utc).date()
    text = f"""# {name}

Made by `python tests/figures/figures.py run {name}`; do not edit.

- command: `python {" ".join(family.command)}` in `tests`
- machine: {stood}
- date: {today}; revision: {revision()}
- Python {platform.python_version()}, {versions}
- digest of the sources: {digest_of(family)}

| what | figure |
|---|---|
{chr(10).join(rows)}

```
{printed.rstrip()}
```
"""
    (HERE / name).mkdir(exist_ok=True)
    (HERE / name / "RESULTS.md").write_text(text, encoding="utf-8")


def readme_with_figures() -> str:
    """The README as it should be, its table made from what the families hold."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = ["| figure | measured | by |", "|---|---|---|"]
    for name in FAMILIES:
        file = HERE / name / "RESULTS.md"
        if file.exists():
            lines = file.read_text(encoding="utf-8").splitlines()
            own = [line for line in lines if line.startswith("| ") and line != "| what | figure |"]
            link = f"[{name}](tests/figures/{name}/RESULTS.md)"
            rows += [f"{line} {link} |" for line in own[: len(FAMILIES[name].lines)]]
    before, rest = text.split(BEGIN)
    return before + BEGIN + "\n" + "\n".join(rows) + "\n" + END + rest.split(END)[1]


def complaints() -> list[str]:
    """What a release must not go out with."""
    found = []
    for name, family in FAMILIES.items():
        file = HERE / name / "RESULTS.md"
        if not file.exists():
            found.append(f"{name}: was never measured")
        elif digest_of(family) not in file.read_text(encoding="utf-8"):
            found.append(f"{name}: its sources have changed since it was measured")
    if readme_with_figures() != (ROOT / "README.md").read_text(encoding="utf-8"):
        found.append("README.md: its table is not the families': run `figures.py readme`")
    return found


def main(arguments: list[str]) -> int:
    """Does what the words say."""
    match arguments:
        case ["run", *names] if set(names) <= set(FAMILIES):
            for name in names or FAMILIES:
                run(name)
        case ["readme"]:
            (ROOT / "README.md").write_text(readme_with_figures(), encoding="utf-8")
        case ["check"]:
            found = complaints()
            print("\n".join(found) or "every figure is as old as its sources")
            return 1 if found else 0
        case _:
            print(
                f"usage: figures.py run [{'|'.join(FAMILIES)}]… | readme | check", file=sys.stderr
            )
            return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
