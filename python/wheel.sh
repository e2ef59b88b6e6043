#!/usr/bin/env bash
# build/wheel/mamelon-*.whl: a wheel that needs Python, NumPy and the C and C++ library, with the command and
# the bill of materials inside. Its libraries are built from pinned sources and linked statically.
# LibRaw among them is used under the CDDL, which allows that; its sources are Debian's, unchanged.
set -euo pipefail
cd "$(dirname "$0")/.."
source examples/packages.sh
python=${PYTHON:-$PWD/build/venv/bin/python}

bash src/page/dependencies.sh build/dependencies native
say "Building the wheel"
rm -rf build/wheel
# Else it would name the compiler as Python was built with, which a compiler cache does not know.
CC=cc CXX=c++ "$python" -m pip wheel -q --disable-pip-version-check --no-deps --no-build-isolation \
  -w build/wheel/unnamed . \
  --config-settings cmake.define.MAMELON_DEPENDENCIES="$PWD/build/dependencies/native"
# Names the oldest C library that it runs with; there is nothing to pack in, which --plat checks.
PATH="$(dirname "$python"):$PATH" "$python" -m auditwheel repair -w build/wheel build/wheel/unnamed/*.whl \
  >build/wheel/repair.log 2>&1 || { cat build/wheel/repair.log >&2; fail "auditwheel refused the wheel"; }
rm -r build/wheel/unnamed
bytes=$(stat -c %s build/wheel/*.whl)
[ "$bytes" -le 25000000 ] || fail "the wheel has $bytes bytes: more than 25 MB"
say "$(ls build/wheel/*.whl) ($((bytes / 1000000)) MB)"
