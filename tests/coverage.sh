#!/usr/bin/env bash
# The part of the library's lines that the C++ tests run, file by file; exit code 1 below 90 %.
#   coverage.sh BUILD_FOLDER
# Needs gcovr. It has a build of its own, because counting slows the tests several times.
set -euo pipefail
folder=$(realpath -m "$1")
cd "$(dirname "$0")/.."
source examples/packages.sh
configure_and_build "$folder" -DCMAKE_BUILD_TYPE=RelWithDebInfo -DMAMELON_BUILD_CLI=OFF \
  -DCMAKE_CXX_FLAGS_RELWITHDEBINFO="-O1 -g1 --coverage"
find "$folder" -name '*.gcda' -delete
ctest --test-dir "$folder" --output-on-failure -j "$(nproc)"
gcovr --root . --object-directory "$folder" --exclude-throw-branches --fail-under-line 90 \
  --filter 'src/(base|colour|reading|capture|shade|material|plan)/' --filter include/ "$folder"
