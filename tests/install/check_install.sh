#!/usr/bin/env bash
# Installs a build into a scratch folder, moves it, runs the program from there and builds a consumer against it.
set -euo pipefail
build=$1
here=$(cd "$(dirname "$0")" && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cmake --install "$build" --prefix "$scratch/first" >/dev/null
mv "$scratch/first" "$scratch/moved"
unset CIRCUMFLUENCE_MATERIALS
"$scratch/moved/bin/circumfluence" --version
# Through a file: a grep that has seen enough closes its pipe, and the program would be told so while it still writes.
"$scratch/moved/bin/circumfluence" materials aisi_304 >"$scratch/record"
grep -q 'AISI 304' "$scratch/record"
cmake -S "$here/consumer" -B "$scratch/consumer" -G Ninja -DCMAKE_PREFIX_PATH="$scratch/moved" >/dev/null
cmake --build "$scratch/consumer" >/dev/null
"$scratch/consumer/consumer"
