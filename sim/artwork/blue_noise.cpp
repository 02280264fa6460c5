// Void-and-cluster. A burnt dot weighs on its neighbourhood as a Gaussian of its distance, the tile wrapped
// around its edges; where the sum is greatest among burnt dots is the tightest cluster, where it is least
// among the others the largest void. A tenth of the dots, thrown at random, is first spread: the tightest
// cluster moves to the largest void while that makes the pattern more even. From there ranks go down by
// taking the tightest cluster away and up by filling the largest void. Past one half the original takes the
// tightest cluster of dots that are left; the sums of the two kinds add up to a constant, so that it is the
// same place. Weights are whole numbers: the same matrix on every machine.
#include <array>
#include <cmath>
#include <random>

#include "artwork/halftone.h"
#include "quantity/lanes.h"

namespace circumfluence::artwork {
namespace {

constexpr int kSide = kBlueNoiseSide, kPlaces = kSide * kSide, kFirst = kPlaces / 10;
constexpr double kSpread = 1.5;  // [dot] of the Gaussian
constexpr int kReach = 8;        // [dot] beyond it a weight is less than 1e-6
constexpr int kOut = 1 << 30;    // keeps a place from being found

using Plane = std::array<int, size_t(kPlaces)>;

CIRCUMFLUENCE_LANES
int least(const int* __restrict sum, const int* __restrict burnt, int sign, int count) {
  int out = 2 * (kOut - 1);
  for (int i = 0; i < count; ++i) {
    const int here = sign * sum[i] + burnt[i];
    out = here < out ? here : out;
  }
  return out;
}

class Pattern {
 public:
  Pattern() {
    for (int d = -kReach; d <= kReach; ++d)
      for (int e = -kReach; e <= kReach; ++e)
        weight_[size_t((d + kReach) * kWide + e + kReach)] =
            static_cast<int>(std::lround(std::exp(-(d * d + e * e) / (2 * kSpread * kSpread)) * (1 << 20)));
  }
  bool burnt(int place) const { return taken_[size_t(place)] != 0; }
  int sum(int place) const { return sum_[size_t(place)]; }
  int largest_void() const { return find(taken_, 1); }
  int tightest_cluster() const { return find(free_, -1); }

  void set(int place, bool burn) {
    taken_[size_t(place)] = burn ? kOut : 0;
    free_[size_t(place)] = kOut - taken_[size_t(place)];
    const int sign = burn ? 1 : -1, column = place % kSide, row = place / kSide;
    for (int d = -kReach; d <= kReach; ++d) {
      const int base = ((row + d) & (kSide - 1)) * kSide;
      const int* weight = &weight_[size_t((d + kReach) * kWide + kReach)];
      for (int e = -kReach; e <= kReach; ++e)
        sum_[size_t(base + ((column + e) & (kSide - 1)))] += sign * weight[e];
    }
  }

 private:
  static constexpr int kWide = 2 * kReach + 1;

  // The first place, row by row, of the least signed sum among those that are not kept out.
  int find(const Plane& out, int sign) const {
    const int found = least(sum_.data(), out.data(), sign, kPlaces);
    int place = 0;
    while (sign * sum_[size_t(place)] + out[size_t(place)] != found) ++place;
    return place;
  }

  std::array<int, size_t(kWide* kWide)> weight_{};
  Plane sum_{}, taken_{}, free_ = all_out();

  static Plane all_out() {
    Plane out;
    out.fill(kOut);
    return out;
  }
};

Pattern thrown() {
  Pattern out;
  std::mt19937 random(1993);
  for (int count = 0; count < kFirst;) {
    const int place = static_cast<int>(random() % unsigned(kPlaces));
    if (out.burnt(place)) continue;
    out.set(place, true);
    ++count;
  }
  return out;
}

// Each move makes the sum over burnt dots less, so that it comes to an end.
void spread(Pattern& pattern) {
  for (;;) {
    const int from = pattern.tightest_cluster();
    pattern.set(from, false);
    const int to = pattern.largest_void();
    const bool better = pattern.sum(to) < pattern.sum(from);
    pattern.set(better ? to : from, true);
    if (!better) return;
  }
}

}  // namespace

std::vector<std::uint16_t> void_and_cluster() {
  std::vector<std::uint16_t> out(size_t(kPlaces), std::uint16_t(0));
  Pattern pattern = thrown();
  spread(pattern);
  Pattern thinned = pattern;
  for (int rank = kFirst - 1; rank >= 0; --rank) {
    const int place = thinned.tightest_cluster();
    thinned.set(place, false);
    out[size_t(place)] = std::uint16_t(rank);
  }
  for (int rank = kFirst; rank < kPlaces; ++rank) {
    const int place = pattern.largest_void();
    pattern.set(place, true);
    out[size_t(place)] = std::uint16_t(rank);
  }
  return out;
}

}  // namespace circumfluence::artwork
