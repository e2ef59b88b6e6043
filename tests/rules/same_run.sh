#!/usr/bin/env bash
# The same output of the main job from several builds, such as of g++ and of clang, each under two
# settings of the C library and with the kernels of every set of instructions that it was built with.
#   same_run.sh GOLDEN_RUN GOLDEN_RUN …
set -euo pipefail
cd "$(dirname "$0")/../.."
first=
# The C library's own functions with and without fused multiply-adds, where it is glibc.
without_fma=glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX2_Usable,-FMA_Usable
for program in "$@"; do
  for tunables in "" "$without_fma"; do
    digests=$(GLIBC_TUNABLES=$tunables "$program" plan data/photos/front_teeth.jpg \
      --card data/cards/tooth20_frame.json --tabs data/tabs/orchard16.json \
      --pastes data/pastes/orchard10.json --floor data/floors/dark_dentine.csv --depth 3 --json \
      2>/dev/null | python3 -c '
import hashlib, re, sys
for part in re.split("^== .*\n", sys.stdin.read(), flags=re.M)[1:]:
    print(hashlib.sha256(part.encode()).hexdigest())')
    for digest in $digests; do
      echo "$program ${tunables:-as it is} $digest"
      first=${first:-$digest}
      [ "$digest" = "$first" ] || { echo "the outputs differ" >&2; exit 1; }
    done
  done
done
[ -n "$first" ] || { echo "no program printed anything" >&2; exit 1; }
