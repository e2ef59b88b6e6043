#!/usr/bin/env bash
# Fails when a reader does more than proportionate work: of files of N, 2N and 4N rows the last step,
# twice as large, may cost at most 2.2 times the instructions of the step before, by callgrind: a count
# that other work on the machine does not disturb. A quadratic reader would cost four times.
#   reader_work.sh PROGRAM
set -euo pipefail
program=$1
command -v valgrind >/dev/null || { echo "skipped: valgrind is not installed"; exit 77; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

instructions() {  # READER N
  "$program" make "$1" "$2" "$folder/$2"
  valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect=main \
    "$program" read "$1" "$folder/$2" 2>&1 |
    sed -n 's/.*Collected : \([0-9]*\).*/\1/p'
}

result=0
for reader in $("$program" list); do
  case $reader in
    curve) n=1000 ;;
    jpeg | png | tiff | paste_set) n=240 ;;
    drawdowns | tab_set | card) n=500 ;;
    objects) n=10000 ;;
    *) n=4000 ;;
  esac
  once=$(instructions "$reader" $n)
  twice=$(instructions "$reader" $((2 * n)))
  fourfold=$(instructions "$reader" $((4 * n)))
  ratio=$(awk -v a="$once" -v b="$twice" -v c="$fourfold" 'BEGIN { printf "%.2f", (c - b) / (b - a) }')
  echo "$reader: $(awk -v b="$twice" -v a="$once" 'BEGIN { printf "%.1f", (b - a) / 1e6 }') million instructions, then $ratio times as many"
  awk -v r="$ratio" 'BEGIN { exit !(r > 2.2) }' && { echo "$reader costs more than its file grows" >&2; result=1; }
done
exit $result
