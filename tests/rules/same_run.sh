#!/usr/bin/env bash
# The same output of the main job from several builds, such as of g++ and of clang. What the sets of
# instructions are called is left out: Highway's one-lane set has another name under each compiler.
#   same_run.sh GOLDEN_RUN GOLDEN_RUN …
set -euo pipefail
cd "$(dirname "$0")/../.."
first=
for program in "$@"; do
  digest=$("$program" plan data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json \
    --tabs data/tabs/orchard16.json --pastes data/pastes/orchard10.json \
    --floor data/floors/dark_dentine.csv --depth 3 --json 2>/dev/null | sed 's/^== .*/==/' | sha256sum)
  echo "$program ${digest%% *}"
  first=${first:-$digest}
  [ "$digest" = "$first" ] || { echo "the outputs differ" >&2; exit 1; }
done
