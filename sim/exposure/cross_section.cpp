#include "exposure/cross_section.h"

#include <cmath>

#include "quantity/lanes.h"

namespace circumfluence::exposure {
namespace {

constexpr int kSteps = 4096;

struct Table {
  const float* values;
  float reach, scale;
};

inline float look_up(const Table& table, float t) {
  float at = (t + table.reach) * table.scale;
  at = at < 0.0f ? 0.0f : at;
  at = at > float(kSteps) ? float(kSteps) : at;
  const int i = static_cast<int>(at);
  return table.values[i] + (at - float(i)) * (table.values[i + 1] - table.values[i]);
}

CIRCUMFLUENCE_LANES void fill_row(const Table& table, float from, float step, float* out, int n) {
  const Table local = table;
  for (int i = 0; i < n; ++i) out[i] = look_up(local, from + float(i) * step);
}

CIRCUMFLUENCE_LANES void fill(const Table& table, const CrossSection::Columns& columns, float* shares,
                              float* etas) {
  const int n = static_cast<int>(columns.near.size());
  const float *near = columns.near.data(), *far = columns.far.data();
  const float *inverse_radius = columns.inverse_radius.data(), *inverse_width = columns.inverse_width.data();
  const Table local = table;
  for (int i = 0; i < n; ++i) {
    const float from = near[i] * inverse_radius[i], to = far[i] * inverse_radius[i];
    shares[i] = (look_up(local, to) - look_up(local, from)) * inverse_width[i];
    etas[i] = 0.5f * std::fabs(from + to);
  }
}

}  // namespace

CrossSection::CrossSection(const beam::SpotProfile& profile)
    : reach_(static_cast<float>(profile.reach())),
      scale_(static_cast<float>(kSteps / (2 * profile.reach()))) {
  for (int i = 0; i <= kSteps; ++i)
    table_.push_back(static_cast<float>(profile.cumulative((2.0 * i / kSteps - 1) * profile.reach())));
  table_.push_back(table_.back());
}

void CrossSection::shares(const Columns& columns, std::span<float> shares, std::span<float> etas) const {
  fill({table_.data(), reach_, scale_}, columns, shares.data(), etas.data());
}

void CrossSection::row(float from, float step, std::span<float> out) const {
  fill_row({table_.data(), reach_, scale_}, from, step, out.data(), static_cast<int>(out.size()));
}

}  // namespace circumfluence::exposure
