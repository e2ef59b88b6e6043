#!/usr/bin/env bash
# Fails when a kernel takes over 10 % more instructions a row than recorded, by callgrind: a count
# that other work on the machine does not disturb. Callgrind knows AVX2 but not AVX-512, so a record
# holds for the instruction set that it shows; without AVX2 the check is skipped.
#   instruction_guard.sh PROGRAM RECORD [--record]
set -euo pipefail
program=$1
record=$2
mode=${3:-}
rows=4096
command -v valgrind >/dev/null && grep -qw avx2 /proc/cpuinfo || { echo "skipped"; exit 77; }

# From main on: the loader's own work before it differs from start to start by up to a million.
instructions() {  # KERNEL REPEATS
  valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect=main \
    "$program" "$1" "$2" 2>&1 |
    sed -n 's/.*Collected : \([0-9]*\).*/\1/p'
}

result=0
if [ "$mode" = --record ]; then
  echo "# instructions a row under callgrind (AVX2), g++ 12 -O3: kernel count" >"$record"
fi
for kernel in de00_float de00_double nearest_of_16 lab_from_srgb8; do
  few=$(instructions $kernel 10)
  many=$(instructions $kernel 110)
  now=$(awk -v a="$few" -v b="$many" -v n=$((100 * rows)) 'BEGIN { printf "%.2f", (b - a) / n }')
  if [ "$mode" = --record ]; then
    echo "$kernel $now" | tee -a "$record"
    continue
  fi
  before=$(awk -v k=$kernel '$1 == k { print $2 }' "$record")
  [ -n "$before" ] || { echo "$kernel is not in $record" >&2; exit 1; }
  echo "$kernel: $now instructions a row, recorded $before"
  awk -v a="$now" -v b="$before" 'BEGIN { exit !(a > 1.1 * b) }' && {
    echo "$kernel takes over 10 % more instructions than recorded" >&2
    result=1
  }
done
exit $result
