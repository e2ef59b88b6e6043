#!/usr/bin/env bash
# Every C++ and Python test, from a clean clone: installs what is missing, builds, runs.
set -euo pipefail
cd "$(dirname "$0")/.."
source examples/packages.sh

need_packages "${BUILD_PACKAGES[@]}" "${TEST_PACKAGES[@]}"

python=${PYTHON:-/usr/bin/python3}
venv=$PWD/build/venv
wanted=$(cat tests/python/requirements.txt | sha256sum | cut -d' ' -f1)
if [ "$(cat "$venv/requirements.sha256" 2>/dev/null)" != "$wanted" ]; then
  say "Making a Python environment in $venv"
  mkdir -p build
  "$python" -m venv "$venv" || fail "$python could not make a virtual environment"
  "$venv/bin/pip" install -q --disable-pip-version-check -r tests/python/requirements.txt \
    || fail "pip could not install tests/python/requirements.txt: check the network, then run this again"
  echo "$wanted" >"$venv/requirements.sha256"
fi

# Locales that write 61,25 and that turn I into a dotless letter, for the tests that must not care.
export LOCPATH=$PWD/build/locale
for name in de_DE tr_TR; do
  [ -d "$LOCPATH/$name.UTF-8" ] || { mkdir -p "$LOCPATH"; localedef -i $name -f UTF-8 "$LOCPATH/$name.UTF-8"; }
done

configure_and_build build/test -DMAMELON_BUILD_PYTHON=ON -DPython_EXECUTABLE="$venv/bin/python"

say "Running the C++ tests"
ctest --test-dir build/test --output-on-failure -j "$(nproc)"

say "Running the Python tests"
export MAMELON_CLI=$PWD/build/test/src/cli/mamelon
PYTHONPATH=$PWD/build/test/python "$venv/bin/python" -m pytest -q -n "$(nproc)" --dist worksteal tests

say "Building a program that uses the installed library"
bash tests/consumer/run.sh build/test build/consumer
say "All tests passed"
