#!/usr/bin/env bash
# wheel_alone.sh WHEEL: installs it in a new environment and runs the demo case by the command and by
# Python; every file of code that either maps is the wheel's, Python's, NumPy's or the C and C++ library's.
# Then the package's tests with it: TESTS says which (all before a release: TESTS=tests/python).
set -euo pipefail
cd "$(dirname "$0")/../.."
source examples/packages.sh
wheel=$(realpath "$1")
venv=$PWD/build/wheel_venv
rm -rf "$venv" && /usr/bin/python3 -m venv "$venv"
begin=$SECONDS
"$venv/bin/pip" install -q --disable-pip-version-check "$wheel"
say "Installed in $((SECONDS - begin)) s, NumPy with it"

arguments=(plan data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json
  --tabs data/tabs/orchard16.json --pastes data/pastes/orchard10.json
  --floor data/floors/dark_dentine.csv --depth 3 --lamp 1000)
answer() { "$@" >/dev/null || [ $? -eq 1 ]; }  # 1 is an honest negative answer

say "The command"
LD_DEBUG=files LD_DEBUG_OUTPUT=$venv/loaded answer "$venv/bin/mamelon" "${arguments[@]}"
say "Python"
(cd build && "$venv/bin/python" - "$venv" <<'END'
import re
import sys
from pathlib import Path

import mamelon as mm

data = Path("../data")
case = mm.Case(
    viewing="D65/2",
    photo=mm.CasePhoto((data / "photos/front_teeth.jpg").read_bytes()),
    card=mm.read_card(data / "cards/tooth20_frame.json"),
    teeth=[mm.CaseTooth(number=11)],
    tabs=mm.read_tab_set(data / "tabs/orchard16.json"),
)
assert mm.solve(case).teeth[0].matches[0].ranked
maps = Path("/proc/self/maps").read_text()
files = {line.split(maxsplit=5)[5] for line in maps.splitlines() if line.count("/")}
Path(sys.argv[1], "mapped").write_text("\n".join(sorted(files)) + "\n")
END
)
# The program itself and what its loader looked for, in the words of the C library's own report.
sed -n 's/.*file=\([^ ]*\) .*generating link map.*/\1/p; s/.*calling init: //p' "$venv"/loaded.* | sort -u >"$venv/command"

# What Python and NumPy map of their own: the same modules without mamelon.
(cd build && "$venv/bin/python" -c '
import ctypes, hashlib, importlib.metadata, json, re, sys, tempfile, zipfile
from pathlib import Path
import numpy
lines = Path("/proc/self/maps").read_text().splitlines()
print(*sorted({line.split(maxsplit=5)[5] for line in lines if line.count("/")}), sep="\n")' >"$venv/own")
strangers=$(grep -vxF -f "$venv/own" "$venv/mapped" | grep -vE "^($venv/|/usr/lib/python3)" || true)
[ -z "$strangers" ] || fail "Python mapped what is not the wheel's: $strangers"
strangers=$(grep -vE '^(/[^ ]*/)?(ld-linux-x86-64|lib(c|m|stdc\+\+|gcc_s))\.so[.0-9]*$' "$venv/command" || true)
[ -z "$strangers" ] || fail "the command loaded what is not the C or C++ library's: $strangers"
grep -q 'libc\.so' "$venv/command" || fail "the loader reported nothing of the command"
grep -q '/mamelon/_core' "$venv/mapped" || fail "the extension was not mapped"
"$venv/bin/python" - <<'END'
import importlib.metadata as metadata
import json

files = [f for f in metadata.files("mamelon") if f.name == "mamelon.cdx.json"]
bill = json.loads(files[0].read_text())
names = {part["name"] for part in bill["components"]}
assert {"OpenCV", "zlib", "libtiff", "LibRaw"} <= names, names
assert all(part["version"] and part["licenses"] for part in bill["components"])
END

say "The package's tests with the wheel: ${TESTS:=tests/python/test_main_job.py tests/python/test_solve.py tests/python/test_raw.py tests/python/cli/test_golden.py}"
site=$PWD/build/wheel_site
rm -rf "$site"
"$venv/bin/pip" install -q --disable-pip-version-check --no-deps --target "$site" "$wheel"
# shellcheck disable=SC2086
MAMELON_CLI=$site/bin/mamelon PYTHONPATH=$site build/venv/bin/python -m pytest -q $TESTS
say "The wheel stands alone"
