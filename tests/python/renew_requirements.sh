#!/usr/bin/env bash
# Writes requirements.txt anew from requirements.in: newest versions, each pinned with the hashes of
# all its files. Run it before a release or when a package is added, then run the tests.
set -euo pipefail
cd "$(dirname "$0")"
venv=../../build/renew_venv
"${PYTHON:-/usr/bin/python3}" -m venv "$venv"
"$venv/bin/pip" install -q --disable-pip-version-check pip-tools
export CUSTOM_COMPILE_COMMAND="tests/python/renew_requirements.sh"
"$venv/bin/pip-compile" --quiet --upgrade --generate-hashes --strip-extras --allow-unsafe \
  --no-emit-index-url --no-emit-trusted-host --no-emit-find-links --no-emit-options \
  --output-file requirements.txt requirements.in
