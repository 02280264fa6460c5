#include "motion/commands.h"

#include "quantity/lanes.h"

namespace circumfluence::motion {
namespace {

CIRCUMFLUENCE_LANES void at_least(const float* share, float threshold, std::uint8_t* out, int n) {
  for (int i = 0; i < n; ++i) out[i] = share[i] >= threshold ? 1 : 0;
}

CIRCUMFLUENCE_LANES void on_or_off(float* share, float threshold, int n) {
  for (int i = 0; i < n; ++i) share[i] = share[i] >= threshold ? 1.0f : 0.0f;
}

}  // namespace

Commands::Commands(const artwork::Image& image, const artwork::Placement& placement,
                   std::span<const double> edges)
    : tone_(image, placement, artwork::Along::axial, edges),
      use_(placement.tone),
      threshold_(static_cast<float>(placement.threshold)) {}

void Commands::row(double from, double to, std::span<float> out, Scratch& scratch) const {
  tone_.row(from, to, out, scratch);
  if (use_ != artwork::ToneUse::grey) on_or_off(out.data(), threshold_, static_cast<int>(out.size()));
}

void Commands::wanted(double from, double to, std::span<std::uint8_t> out, Scratch& scratch) const {
  static thread_local std::vector<float> share;
  share.resize(out.size());
  tone_.row(from, to, share, scratch);
  at_least(share.data(), threshold_, out.data(), static_cast<int>(out.size()));
}

}  // namespace circumfluence::motion
