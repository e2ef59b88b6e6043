"""`tidy_sources.py BUILD OUT`: write one source a layer for clang-tidy, and how each compiles.

Most of clang-tidy's time goes into the headers, which a source that includes a whole layer brings
once. Sources that do not compile beside the others of their layer (two of them have a helper of one
name, or a source is compiled once for every instruction set) are checked alone. Prints the sources,
the longest first.
"""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# clang's analyzer follows paths through included sources where the name says that they are such.
NAME = "UnifiedSource"


def flags(entry: dict[str, str]) -> tuple[str, ...]:
    """How a source is compiled, without its own name, its output and the sanitizers."""
    words = shlex.split(entry["command"])
    words = words[next(i for i, word in enumerate(words) if "clang" in Path(word).name) :]
    left: list[str] = []
    rest = iter(words)
    for word in rest:
        if word == "-o":
            next(rest)
        elif word not in (entry["file"], "-c", "-Werror") and not word.startswith("-fsanitize"):
            left.append(word)
    # A precompiled header is read as the header that it is made of.
    if "-include-pch" in left:
        at = left.index("-include-pch") - 1
        del left[at : at + 4]
    # Warnings are the compilers' part: here a helper of one file would shadow that of another.
    return (*left, "-w")


def sources_of(entry: dict[str, str]) -> list[Path]:
    """The sources that an entry compiles: several where CMake lets them compile as one."""
    source = Path(entry["file"])
    if source.parent.name != "Unity":
        return [source]
    return [Path(name) for name in re.findall(r'^#include "(.+)"', source.read_text("utf-8"), re.M)]


def write(path: Path, sources: list[Path]) -> None:
    """Writes a source that includes others."""
    path.write_text("".join(f'#include "{source}"\n' for source in sources), encoding="utf-8")


def clashing(command: tuple[str, ...], folder: str, path: Path, sources: list[Path]) -> set[Path]:
    """Those of the sources that do not compile beside the ones before them."""
    write(path, sources)
    made = subprocess.run(
        [*command, "-fsyntax-only", "-ferror-limit=0", str(path)],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if made.returncode == 0:
        return set()
    found = {Path(name) for name in re.findall(r"^(\S+?):\d+:\d+: error: ", made.stderr, re.M)}
    return (found & set(sources)) or set(sources)


def main() -> None:
    """Groups the sources of every layer and prints what clang-tidy is to read."""
    build, out = (Path(word).resolve() for word in sys.argv[1:3])
    out.mkdir(parents=True, exist_ok=True)
    database = json.loads((build / "compile_commands.json").read_text(encoding="utf-8"))
    layers: dict[tuple[str, str, tuple[str, ...]], list[Path]] = {}
    alone: list[tuple[str, tuple[str, ...], list[Path]]] = []
    compiled = [(entry, source) for entry in database for source in sources_of(entry)]
    for entry, source in compiled:
        # The C sources are other people's.
        if not source.is_relative_to(ROOT / "src") or source.suffix != ".cpp":
            continue
        layer = source.parent.name
        if "foreach_target.h" in source.read_text(encoding="utf-8"):
            alone.append((entry["directory"], flags(entry), [source]))
        else:
            layers.setdefault((layer, entry["directory"], flags(entry)), []).append(source)

    def split(key: tuple[str, str, tuple[str, ...]]) -> None:
        layer, folder, command = key
        together = sorted(layers[key])
        while found := clashing(command, folder, out / f"{NAME}_{layer}.cpp", together):
            alone.extend((folder, command, [source]) for source in sorted(found))
            together = [source for source in together if source not in found]
        layers[key] = together

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(split, sorted(layers, key=lambda key: -len(layers[key]))))
    groups = [(folder, command, sources) for (_, folder, command), sources in layers.items()]
    entries = []
    for folder, command, sources in sorted(groups + alone, key=lambda group: -len(group[2])):
        if not sources:
            continue
        path = out / f"{NAME}_{sources[0].parent.name}_{sources[0].stem}.cpp"
        write(path, sources)
        entries.append(
            {"directory": folder, "file": str(path), "arguments": [*command, "-c", str(path)]}
        )
        print(path)
    (out / "compile_commands.json").write_text(json.dumps(entries, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
