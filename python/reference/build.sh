#!/usr/bin/env bash
# build.sh BUILD: the reference as HTML in build/reference, from the headers, the docstrings of the
# package in BUILD/python, and the gallery, whose pictures are drawn by running it. No warning passes.
set -euo pipefail
cd "$(dirname "$0")/../.."
source examples/packages.sh
package=$(realpath "$1")/python
python=${PYTHON:-$PWD/build/venv/bin/python}
need_packages doxygen

rm -rf build/reference build/reference_source
mkdir -p build/reference_source/extra build/reference
cp python/reference/{conf.py,index.rst,use.rst} build/reference_source
say "C++ pages"
{ cat python/reference/Doxyfile; echo "OUTPUT_DIRECTORY = build/reference_source/extra"; echo "HTML_OUTPUT = cpp"
  echo "GENERATE_TAGFILE = build/reference_source/extra/cpp.tag"; } | doxygen -
say "Python pages and gallery"
PYTHONPATH=$package "$python" -m sphinx -q -W --keep-going -b html build/reference_source build/reference
"$python" python/reference/check_links.py build/reference
say "The reference is build/reference/index.html"
