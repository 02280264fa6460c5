#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/lanes.h"
#include "response/kinetics.h"

namespace circumfluence::response {

namespace {

struct Table {
  const float* nodes;
  float steps;
};

// 1 - 1/r from the rises, so that neither cold cells nor r without end need care; the root of it picks the
// node.
__attribute__((always_inline)) inline float reach(const Table& table, float rise, float melting) {
  const float up = rise - melting, above = up > 0.0f ? (up < 1e6f * melting ? up : 1e6f * melting) : 0.0f;
  const float q = std::sqrt(above / (above + melting));
  const float along = q * table.steps;
  const int i = static_cast<int>(along);
  return table.nodes[i] + (along - static_cast<float>(i)) * (table.nodes[i + 1] - table.nodes[i]);
}

CIRCUMFLUENCE_LANES void raise_all(const Table& given, const float* rises, float melting, float* reaches,
                                   int count) {
  const Table table = given;
#pragma GCC ivdep
  for (int i = 0; i < count; ++i) {
    const float found = reach(table, rises[i], melting);
    reaches[i] = found > reaches[i] ? found : reaches[i];
  }
}

}  // namespace

MeltReach::MeltReach(std::span<const double> distances, std::span<const double> shares) {
  bool falls = distances.size() >= 2 && distances.size() == shares.size() && distances[0] == 0 &&
               std::abs(shares[0] - 1) < 1e-6;
  for (size_t i = 1; falls && i < distances.size(); ++i)
    falls = distances[i] > distances[i - 1] && shares[i] < shares[i - 1] && shares[i] >= 0;
  if (!falls)
    throw quantity::ValidityError(
        "kinetics: the profile for melting is none (expected distances from 0 up and shares that fall from "
        "1)");
  std::vector<double> q, distance(distances.begin(), distances.end());
  for (const double share : shares) q.push_back(std::sqrt(std::max(0.0, 1 - share)));
  q[0] = 0;
  const Curve curve(std::move(q), std::move(distance));
  for (int i = 0; i <= kSteps; ++i) table_[i] = static_cast<float>(curve.at(double(i) / kSteps));
  table_[kSteps + 1] = table_[kSteps];
}

double MeltReach::of(double ratio) const {
  const float rise = static_cast<float>(ratio);
  float found = 0;
  raise({&rise, 1}, 1.0, {&found, 1});
  return found;
}

void MeltReach::raise(std::span<const float> rises, double melting, std::span<float> reaches) const {
  raise_all({table_.data(), float(kSteps)}, rises.data(), static_cast<float>(melting), reaches.data(),
            static_cast<int>(reaches.size()));
}

}  // namespace circumfluence::response
