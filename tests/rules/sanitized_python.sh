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

# What hands memory over between Python and C++, and what reads files: the rest brings minutes and no
# call that these or the C++ tests, under the same sanitizers, do not make.
chosen=()
for name in test_arrays test_capture test_kinds test_paste_constants test_pixels test_solve test_values \
  cli/test_bad_input cli/test_diff cli/test_formats; do
  [ -f "tests/python/$name.py" ] || fail "tests/python/$name.py, which is to be run here, is no more"
  chosen+=("tests/python/$name.py")
done
# Interrupted at a moment, weighed, or a search for a plan, which takes most of a minute here.
others='kill or ctrl_c or million or shade_and_plan or crosswalk'
LD_PRELOAD=$preload "$python" -m pytest -q -n "$(nproc)" --dist worksteal -p no:cacheprovider \
  -k "not ($others)" "${chosen[@]}"
