#!/usr/bin/env bash
# The same bits of colour arithmetic from every compiler found and from -O0 and -O3.
#   same_bits.sh SOURCE_DIR WORK_DIR
set -euo pipefail
source_dir=$1
work=$2
mkdir -p "$work"
first=
for compiler in g++ clang++; do
  command -v "$compiler" >/dev/null || continue
  case $compiler in g++) c=gcc ;; *) c=clang ;; esac
  for level in -O0 -O3; do
    program=$work/same_bits$compiler$level
    (cd "$work" && "$c" -std=c99 "$level" -ffp-contract=off -w \
      -include "$source_dir/src/base/musl/libm.h" -c "$source_dir"/src/base/musl/*.c)
    "$compiler" -std=c++20 "$level" -ffp-contract=off -I"$source_dir/include" -I"$source_dir/src" \
      $(pkg-config --cflags eigen3) \
      "$source_dir"/tests/rules/same_bits.cpp "$source_dir"/src/colour/{colour,difference}.cpp \
      "$source_dir"/src/base/{error,measured}.cpp "$work"/*.o -o "$program"
    digest=$("$program")
    echo "$compiler $level $digest"
    first=${first:-$digest}
    [ "$digest" = "$first" ] || { echo "the bits differ" >&2; exit 1; }
  done
done
