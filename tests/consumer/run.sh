#!/usr/bin/env bash
# Builds and runs the consumer against the installed library and, with --subproject, as a parent
# project of the sources. Usage: run.sh BUILD_FOLDER WORK_FOLDER [--subproject]
set -euo pipefail
build=$1 work=$2
here=$(cd "$(dirname "$0")" && pwd)
source "$here/../../examples/packages.sh"
launcher=()
command -v ccache >/dev/null && launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)

mkdir -p "$work"
cmake --install "$build" --prefix "$work/prefix" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
one() {
  cmake -S "$here" -B "$1" -G Ninja -DCMAKE_BUILD_TYPE=Release "${launcher[@]}" "${WHOLE_BUILD[@]}" "${@:2}" >"$work/log" 2>&1 \
    && cmake --build "$1" >>"$work/log" 2>&1 || { tail -n 30 "$work/log"; exit 1; }
  "$1/consumer"
}
one "$work/installed" -DCMAKE_PREFIX_PATH="$(cd "$work/prefix" && pwd)"
if [ "${3:-}" = --subproject ]; then
  one "$work/subproject" -DMAMELON_SOURCE_DIR="$(cd "$here/../.." && pwd)"
fi
