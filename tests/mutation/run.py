"""Shows that the tests notice small changes of the numeric core.

Changes one sign, constant, index or comparison at a time, builds the tests of that layer and runs
them. A mutant is killed when it does not compile, a test fails, or the tests hang. Survivors are
printed with their place: each is either a missing test or a change that means nothing.

    python tests/mutation/run.py WORK_FOLDER [--count 66] [--seed 1] [--only src/colour]

WORK_FOLDER gets a copy of the committed tree and a build of it. Exit code 1 when fewer than 90 %
are killed.
"""

from __future__ import annotations

import argparse
import random
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# Sources whose mistakes would be wrong numbers, and what runs them.
CORE = {
    "src/base/measured.cpp": "base",
    "src/colour/colour.cpp": "colour",
    "src/colour/difference.cpp": "colour",
    "src/colour/hue_difference.h": "colour",
    "src/colour/difference-inl.h": "colour",
    "src/colour/tristimulus.cpp": "colour",
    "src/colour/viewing.cpp": "colour",
    "src/colour/cam16.cpp": "colour",
    "src/reading/reading.cpp": "reading",
    "src/shade/distributions.cpp": "shade",
    "src/shade/pair_metric.cpp": "shade",
    "src/shade/variance_analysis.cpp": "shade",
    "src/material/layer.cpp": "material",
    "src/material/interface.cpp": "material",
    "src/material/quadrature.cpp": "material",
    "src/plan/increments.cpp": "plan",
    "src/plan/interval.cpp": "plan",
    "src/capture/light_field.cpp": "capture",
    "src/capture/residual_map.cpp": "capture",
}
# The long studies and searches would take minutes a mutant.
FILTER = "-*Study*:*Brute*:*ThousandPlans*"

SWAPS = [
    (r" \+ ", " - "),
    (r" - ", " + "),
    (r" \* ", " / "),
    (r" / ", " * "),
    (r" < ", " >= "),
    (r" > ", " <= "),
    (r" <= ", " > "),
    (r" >= ", " < "),
    (r"\[0\]", "[1]"),
    (r"\[1\]", "[2]"),
    (r"\[2\]", "[0]"),
]
NUMBER = re.compile(r"(?<![\w.])(\d+\.\d+|\d{2,})(?![\w.])")


@dataclass(frozen=True)
class Mutant:
    """One changed place of one file."""

    file: str
    line: int
    before: str
    after: str


def candidates(file: str, text: str) -> Iterator[Mutant]:
    """Every change of one line of code, comments, strings and preprocessor lines left alone."""
    for number, line in enumerate(text.splitlines(), 1):
        code = line.split("//")[0]
        skip = ("#", "template", "throw", "using", "case")
        if '"' in code or code.strip().startswith(skip) or "ArgumentError" in code:
            continue
        for pattern, new in SWAPS:
            for match in re.finditer(pattern, code):
                yield Mutant(file, number, line, line[: match.start()] + new + line[match.end() :])
        for match in NUMBER.finditer(code):
            raw = match.group(1)
            changed = str(float(raw) * 1.01 or 0.01) if "." in raw else str(int(raw) + 1)
            yield Mutant(file, number, line, line[: match.start()] + changed + line[match.end() :])


def chosen(count: int, seed: int, only: str) -> list[Mutant]:
    """`count` mutants spread evenly over the files, the same for the same seed and sources."""
    draw = random.Random(seed)
    by_file = {}
    for file in CORE:
        if file.startswith(only):
            found = list(candidates(file, (ROOT / file).read_text(encoding="utf-8")))
            draw.shuffle(found)
            by_file[file] = found
    mutants: list[Mutant] = []
    while len(mutants) < count and any(by_file.values()):
        for found in by_file.values():
            if found and len(mutants) < count:
                mutants.append(found.pop())
    return sorted(mutants, key=lambda m: (m.file, m.line))


def succeeds(command: list[str], seconds: float) -> bool:
    """Whether the command ends well in time."""
    try:
        return (
            subprocess.run(command, capture_output=True, timeout=seconds, check=False).returncode
            == 0
        )
    except subprocess.TimeoutExpired:
        return False


def killed(tree: Path, build: Path, mutant: Mutant) -> bool:
    """Builds and runs the tests with the mutant in place, then puts the source back."""
    path = tree / mutant.file
    whole = path.read_text(encoding="utf-8")
    lines = whole.splitlines(keepends=True)
    lines[mutant.line - 1] = mutant.after + "\n"
    path.write_text("".join(lines), encoding="utf-8")
    test = f"test_{CORE[mutant.file]}"
    try:
        if not succeeds(["cmake", "--build", str(build), "--target", test], 900):
            return True
        program = next(build.glob(f"tests/cpp/*/{test}"))
        return not succeeds([str(program), f"--gtest_filter={FILTER}", "--gtest_fail_fast"], 300)
    finally:
        path.write_text(whole, encoding="utf-8")


def main() -> int:
    """Copies, builds once, tries every mutant, prints a line each and the score."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("work", type=Path)
    parser.add_argument("--count", type=int, default=66)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="src/")
    given = parser.parse_args()
    tree, build = given.work / "tree", given.work / "build"
    if not tree.exists():
        given.work.mkdir(parents=True, exist_ok=True)
        subprocess.run(["git", "clone", "-q", str(ROOT), str(tree)], check=True)
        subprocess.run(
            [
                *("cmake", "-S", str(tree), "-B", str(build), "-G", "Ninja"),
                *("-DCMAKE_BUILD_TYPE=Release", "-DCMAKE_CXX_FLAGS_RELEASE=-O1"),
            ],
            check=True,
            capture_output=True,
        )
    mutants = chosen(given.count, given.seed, given.only)
    for layer in sorted({CORE[mutant.file] for mutant in mutants}):
        test = f"test_{layer}"
        subprocess.run(
            ["cmake", "--build", str(build), "--target", test], check=True, capture_output=True
        )
        program = next(build.glob(f"tests/cpp/*/{test}"))
        if not succeeds([str(program), f"--gtest_filter={FILTER}"], 600):
            print(f"{test} fails without any mutant", file=sys.stderr)
            return 2
    survivors = []
    for number, mutant in enumerate(mutants, 1):
        dead = killed(tree, build, mutant)
        if not dead:
            survivors.append(mutant)
        verdict = "killed  " if dead else "SURVIVED"
        print(
            f"{number:3} {verdict} {mutant.file}:{mutant.line}: {mutant.after.strip()}", flush=True
        )
    share = 1 - len(survivors) / len(mutants)
    print(f"{len(mutants) - len(survivors)} of {len(mutants)} killed ({100 * share:.1f} %)")
    return 0 if share >= 0.9 else 1


if __name__ == "__main__":
    sys.exit(main())
