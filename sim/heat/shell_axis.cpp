// Places and times: an axis with its mirror images or turns, a line's cells and moments.
#include <cmath>

#include "heat/shell_parts.h"
#include "quantity/constants.h"

namespace circumfluence::heat {

std::vector<double> ShellAxis::distances(double from, double to, double reach) const {
  std::vector<double> out;
  const double straight = closed ? std::remainder(from - to, length) : from - to,
               period = closed ? length : 2 * length;
  const int n = static_cast<int>(std::ceil((reach + length) / period)) + 1;
  for (int j = -n; j <= n; ++j) {
    const double d = std::abs(straight + j * period), mirrored = std::abs(from + to + j * period);
    if (d <= reach) out.push_back(d);
    if (!closed && mirrored <= reach) out.push_back(mirrored);
  }
  return out;
}

std::vector<std::array<double, 2>> ShellAxis::images(double from, double to, double reach) const {
  std::vector<std::array<double, 2>> out;
  const double period = closed ? length : 2 * length, turns = closed ? std::floor(from / period) * period : 0;
  const int n = static_cast<int>(std::ceil(reach / period)) + 1;
  const auto keep = [&](double a, double b) {
    if (b > -reach && a < length + reach) out.push_back({a, b});
  };
  for (int j = -n; j <= n; ++j) {
    keep(from - turns + j * period, to - turns + j * period);
    if (!closed) keep(j * period - to, j * period - from);
  }
  return out;
}

LineClock::LineClock(const BurntLine& line)
    : cell(line.duration / double(line.energies.size())),
      count(static_cast<int>(line.energies.size())),
      forth(line.forth) {}

double LineMoments::time(const BurntLine& line, int q) {
  return line.duration * (1 - std::cos((2 * q + 1) * quantity::kPi / (2 * kCount))) / 2;
}

const float* LineMoments::shares(const BurntLine& line) {
  const std::size_t n = line.energies.size(), slot = 2 * n + (line.forth ? 1 : 0);
  if (slot >= known_.size()) known_.resize(slot + 1);
  std::vector<float>& out = known_[slot];
  if (!out.empty()) return out.data();
  const BurntLine unit{
      .across = 0, .start = 0, .duration = 1, .forth = line.forth, .first = 0, .energies = line.energies};
  const LineClock clock(unit);
  for (int q = 0; q < kCount; ++q)
    for (std::size_t j = 0; j < n; ++j) {
      double share = 1;
      for (int p = 0; p < kCount; ++p)
        if (p != q) share *= (clock.at(double(j) + 0.5) - time(unit, p)) / (time(unit, q) - time(unit, p));
      out.push_back(static_cast<float>(share));
    }
  return out.data();
}

}  // namespace circumfluence::heat
