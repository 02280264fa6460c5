#!/usr/bin/env bash
# Installs the packages, builds the program, predicts the demo bottle and says where the pictures are.
set -euo pipefail
cd "$(dirname "$0")/.."
. sim/packages.sh
# shellcheck disable=SC2086
install_packages $build_packages

cmake -S . -B build/quickstart -G Ninja -DCMAKE_BUILD_TYPE=Release -DCIRCUMFLUENCE_PYTHON=OFF -DCIRCUMFLUENCE_TESTS=OFF
cmake --build build/quickstart

mkdir -p build/demo
cp sim/demo/finisher_bottle.toml build/demo/
/usr/bin/python3 sim/demo/draw_art.py build/demo/finisher_art.png
echo
build/quickstart/bin/circumfluence predict build/demo/finisher_bottle.toml --folder build/demo
echo
echo "The program is  $PWD/build/quickstart/bin/circumfluence"
echo "Look at         $PWD/build/demo/finisher_bottle.outcome.png"
echo "and             $PWD/build/demo/finisher_bottle.view.png"
echo "Change          $PWD/build/demo/finisher_bottle.toml  and predict again."
