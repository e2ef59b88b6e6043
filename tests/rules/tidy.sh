#!/usr/bin/env bash
# tidy.sh BUILD_FOLDER [SOURCE …]: clang-tidy over the library and the command, as compiled by clang in
# BUILD_FOLDER (with CMAKE_EXPORT_COMPILE_COMMANDS), one source a layer. With names of sources, those
# alone.
set -euo pipefail
cd "$(dirname "$0")/../.."
build=$1
shift
tidy=(clang-tidy --quiet --config-file=.clang-tidy)
if [ $# -gt 0 ]; then
  exec "${tidy[@]}" -p "$build" "$@"
fi
python3 tests/rules/tidy_sources.py "$build" "$build/tidy" >"$build/tidy.list"
# The count of warnings in system headers is no news.
xargs -P "$(nproc)" -n 1 "${tidy[@]}" -p "$build/tidy" <"$build/tidy.list" 2>"$build/tidy.log" \
  || { grep -E 'error: ' "$build/tidy.log" >&2 || true; exit 1; }
