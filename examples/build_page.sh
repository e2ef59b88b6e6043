#!/usr/bin/env bash
# The page: the whole job in one file that opens in any browser. The first run builds the libraries
# for WebAssembly too, which takes some ten minutes.
set -euo pipefail
cd "$(dirname "$0")/.."
source examples/packages.sh

bash src/page/dependencies.sh build/page/deps wasm
export NODE_PATH=/usr/share/nodejs
say "Compiling the core for WebAssembly"
emcmake cmake -S . -B build/page/core -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_HAVE_LIBC_PTHREAD=1 "${WHOLE_BUILD[@]}" \
    -DMAMELON_DEPENDENCIES="$PWD/build/page/deps/wasm" -DMAMELON_BUILD_TESTS=OFF -DMAMELON_INSTALL=OFF \
    -DMAMELON_BUILD_CLI="${MAMELON_PAGE_COMMAND:-OFF}" >build/page/core.log 2>&1 \
  && cmake --build build/page/core >>build/page/core.log 2>&1 \
  || { tail -n 30 build/page/core.log >&2; fail "the core could not be compiled: the end of build/page/core.log is above"; }
python3 src/page/assemble.py build/page/core/src/page/mamelon_core.js build/page/core/src/page/mamelon_core.wasm data build/page/mamelon.html
say "The page is $PWD/build/page/mamelon.html (open it in a browser; it needs nothing else)"
