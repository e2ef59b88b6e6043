#!/usr/bin/env bash
# sanitized_python.sh BUILD_FOLDER: the Python tests with the extension and the command of a clang
# build with the address and undefined-behaviour sanitizers (MAMELON_SANITIZE=address,undefined).
set -euo pipefail
cd "$(dirname "$0")/../.."
source examples/packages.sh
build=$(cd "$1" && pwd)
python=$PWD/build/venv/bin/python
[ -x "$python" ] || fail "no Python environment in build/venv: run tests/run.sh first"

log=$build/python.log
{ cmake -S . -B "$build" -DMAMELON_BUILD_PYTHON=ON -DPython_EXECUTABLE="$python" \
  && cmake --build "$build" --target mamelon_python mamelon_cli; } >"$log" 2>&1 \
  || { tail -n 30 "$log" >&2; fail "the build failed: the end of $log is above"; }

# Python itself knows no sanitizer: the runtime comes first, and the C++ library that throws.
runtime=$(clang++ -print-file-name=libclang_rt.asan-x86_64.so)
preload="$runtime $(clang++ -print-file-name=libstdc++.so.6)"
# What Python and NumPy keep to their end is not looked at; a refused allocation is an error that the
# tests ask for, as it is without the sanitizer.
export ASAN_OPTIONS=detect_leaks=0:allocator_may_return_null=1:detect_odr_violation=0
export UBSAN_OPTIONS=print_stacktrace=1
export PYTHONPATH=$build/python MAMELON_CLI=$build/sanitized_command
# Counts of lines, where the build makes them, are those of the C++ tests alone.
export GCOV_PREFIX=$build/python_coverage

# The command has the runtime within it and takes no second.
printf '#!/bin/sh\nunset LD_PRELOAD\nexec "%s" "$@"\n' "$build/src/cli/mamelon" >"$MAMELON_CLI"
chmod +x "$MAMELON_CLI"

# A read past the end of memory must be seen, in the extension's own code too, else a pass would say
# nothing.
[[ $(nm -D --undefined-only "$build"/python/mamelon/_core.*.so) == *__asan_report_load* ]] \
  || fail "the extension does not look for bad reads"
if LD_PRELOAD=$preload "$python" -c '
import ctypes, mamelon
c = ctypes.CDLL(None)
c.malloc.restype = ctypes.c_void_p
ctypes.memmove(ctypes.create_string_buffer(64), c.malloc(8), 64)' >"$log" 2>&1; then
  fail "the address sanitizer did not see a planted read past the end of 8 bytes"
fi
grep -q 'heap-buffer-overflow' "$log" || { tail -n 5 "$log" >&2; fail "the planted error ended otherwise"; }

# Left out: other people's programs (browser, cluster, plots, references of other packages), which
# bring minutes and no call that the others do not make; the study's verb, which starts a Python of
# its own, and `man`, which takes no sanitizer; what is timed, weighed or killed at a moment; and all
# searches for plans but the main job's, since each takes most of a minute here and the C++ tests make many
# under the same sanitizers.
left_out=()
for name in test_agreement test_colour_references test_examples test_frames test_planning test_plot \
  test_study_cluster cli/test_cli_main_job cli/test_golden cli/test_plan_options \
  cli/test_sheet_colours cli/test_sheet_in_browser cli/test_study_verb cli/test_writing; do
  [ -f "tests/python/$name.py" ] || fail "tests/python/$name.py, which is left out here, is no more"
  left_out+=("--ignore=tests/python/$name.py")
done
others='kill or ctrl_c or quick or million or in_the_manual or (example_runs and study)'
others="$others or test_study_record"
plans='shade_and_plan or crosswalk or narrow_terminal or endless_label or existing_sheet or markup'
plans="$plans or sheet_that_cannot or no_output_tells_whose_photo"
LD_PRELOAD=$preload "$python" -m pytest -q -n "$(nproc)" --dist worksteal -p no:cacheprovider \
  "${left_out[@]}" -k "not ($others or $plans)" tests/python
