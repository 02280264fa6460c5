#!/usr/bin/env bash
# Installs everything, builds everything, runs every test: the one command that CI runs.
#   bash tests/run.sh          all of it
#   bash tests/run.sh quick    without the sanitizer build and the fuzzers
set -euo pipefail
cd "$(dirname "$0")/.."
. sim/packages.sh
# shellcheck disable=SC2086
install_packages $build_packages $python_packages $test_packages

jobs=$(nproc)
export LSAN_OPTIONS="suppressions=$PWD/tests/leaks.supp:print_suppressions=0" UBSAN_OPTIONS=print_stacktrace=1
export CMAKE_BUILD_PARALLEL_LEVEL=$jobs
common=(-G Ninja -DPython_EXECUTABLE=/usr/bin/python3)
step() { echo; echo "== $* ($(date +%T))"; }

step "Build"
cmake -S . -B build/tests "${common[@]}" -DCIRCUMFLUENCE_WERROR=ON -DCMAKE_BUILD_TYPE=Release -DCIRCUMFLUENCE_BENCHMARKS=ON >/dev/null
cmake --build build/tests

if [ "${1:-all}" != quick ]; then
  # One build for both, by the other compiler. Of its time most is compiling: light optimising and lines alone halve it.
  step "Build with address and undefined-behaviour sanitizers, and the fuzzers"
  cmake -S . -B build/watched "${common[@]}" -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ \
    -DCMAKE_BUILD_TYPE=RelWithDebInfo "-DCMAKE_CXX_FLAGS_RELWITHDEBINFO=-O1 -g1" \
    -DCIRCUMFLUENCE_SANITIZE=ON -DCIRCUMFLUENCE_FUZZERS=ON -DCIRCUMFLUENCE_PYTHON=OFF >/dev/null
  cmake --build build/watched
  step "Test under the sanitizers"
  ctest --test-dir build/watched --output-on-failure -j "$jobs"

  step "Fuzz what parses, briefly"
  for target in image job mark path coupon symbol; do
    seconds=30
    case $target in job | path) seconds=60 ;; esac
    cp -r "tests/fuzz/corpus/$target" "build/watched/corpus_$target"
    (cd build/watched && "./tests/fuzz/${target}_fuzz" -max_total_time=$seconds -print_final_stats=1 -rss_limit_mb=2048 -timeout=10 "corpus_$target" \
      >"fuzz_$target.log" 2>&1) || { tail -50 "build/watched/fuzz_$target.log"; exit 1; }
    grep -E "number_of_executed_units" "build/watched/fuzz_$target.log" | sed "s/^/$target: /"
    rm -rf "build/watched/corpus_$target"
  done
fi

step "Test"
ctest --test-dir build/tests --output-on-failure -j "$jobs" --progress
