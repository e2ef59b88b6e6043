#!/usr/bin/env bash
# The whole job on the demo photo: installs what is missing, builds, measures, matches and plans.
set -euo pipefail
cd "$(dirname "$0")/.."
source examples/packages.sh

need_packages "${BUILD_PACKAGES[@]}"
configure_and_build build/release -DMAMELON_BUILD_TESTS=OFF

sheet=build/demo_sheet.html
say "Planning the restoration of the demo case (an invented clinic, tabs and pastes)"
build/release/src/cli/mamelon plan data/photos/front_teeth.jpg \
  --card data/cards/tooth20_frame.json --tabs data/tabs/orchard16.json \
  --pastes data/pastes/orchard10.json --floor data/floors/dark_dentine.csv \
  --depth 3 --lamp 1000 --label "Demo case" --sheet "$sheet" || {
    status=$?
    # 1 is an honest answer: nothing within the acceptability threshold. The sheet is written.
    [ $status -eq 1 ] || fail "mamelon plan stopped with exit code $status"
  }
say "The sheet is $PWD/$sheet (open it in a browser)"
