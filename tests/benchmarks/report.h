// What the benchmarks of single pieces share: the clock, and the figures of a piece against its plain twin.
#pragma once

#include <benchmark/benchmark.h>

#include <chrono>

namespace circumfluence::benchmarks {

inline double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// ours, plain: [s] summed over the iterations; the difference as a share of the piece's own scale.
inline void report(benchmark::State& state, double ours, double plain, double difference) {
  const double n = static_cast<double>(state.iterations());
  state.counters["ours_us"] = 1e6 * ours / n;
  state.counters["plain_us"] = 1e6 * plain / n;
  state.counters["ratio"] = plain / ours;
  state.counters["largest_difference"] = difference;
}

}  // namespace circumfluence::benchmarks
