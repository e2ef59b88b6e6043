#!/usr/bin/env bash
# Runs fuzzers of a build with MAMELON_BUILD_FUZZERS, two at a time, from their committed corpora,
# and prints how often each was executed. What one finds stays in BUILD_FOLDER/fuzz/NAME; the exit
# code is 1 then.
#   run.sh BUILD_FOLDER SECONDS_EACH [NAME …]
set -euo pipefail
folder=$(realpath "$1")
seconds=$2
shift 2
here=$(cd "$(dirname "$0")" && pwd)
names=("$@")
if [ ${#names[@]} -eq 0 ]; then
  for source in "$here"/fuzz_*.cpp; do
    name=${source##*/fuzz_}
    names+=("${name%.cpp}")
  done
fi

# 2 GiB of memory and 10 seconds for one input are far above what any reader may take.
fuzz() {
  local name=$1 work=$folder/fuzz/$1
  rm -rf "$work"
  mkdir -p "$work/found" "$work/corpus"
  local program=$folder/tests/fuzz/fuzz_$name
  if ! "$program" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -print_final_stats=1 \
    -artifact_prefix="$work/found/" "$work/corpus" "$here/corpus/$name" >"$work/log" 2>&1; then
    echo "fuzz_$name failed:" && tail -n 40 "$work/log"
    return 1
  fi
  local runs covered
  runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$work/log")
  covered=$(sed -n 's/.* cov: \([0-9]*\).*/\1/p' "$work/log" | tail -n 1)
  echo "fuzz_$name: $runs executions in $seconds s, $covered edges"
}
export -f fuzz
export folder seconds here
printf '%s\n' "${names[@]}" | xargs -P 2 -I{} bash -c 'fuzz {}'
