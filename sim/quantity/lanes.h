// Loops that run on whatever vector unit the machine has: one binary, the version is chosen at load time.
//
// Write CIRCUMFLUENCE_LANES before a function whose body is plain loops over raw pointers. Only g++ builds
// the clones; elsewhere the function is compiled once for the baseline.
#pragma once

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define CIRCUMFLUENCE_LANES __attribute__((target_clones("default", "arch=x86-64-v3", "arch=x86-64-v4")))
#else
#define CIRCUMFLUENCE_LANES
#endif
