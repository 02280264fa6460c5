#include "motion/commands.h"

namespace circumfluence::motion {

Commands::Commands(const artwork::Image& image, const artwork::Placement& placement, std::span<const double> edges)
    : tone_(image, placement, artwork::Along::axial, edges),
      use_(placement.tone),
      threshold_(static_cast<float>(placement.threshold)) {}

void Commands::row(double from, double to, std::span<float> out, Scratch& scratch) const {
  tone_.row(from, to, out, scratch);
  if (use_ == artwork::ToneUse::threshold)
    for (float& share : out) share = share >= threshold_ ? 1.0f : 0.0f;
}

void Commands::wanted(double from, double to, std::span<std::uint8_t> out, Scratch& scratch) const {
  static thread_local std::vector<float> share;
  share.resize(out.size());
  tone_.row(from, to, share, scratch);
  for (size_t i = 0; i < out.size(); ++i) out[i] = share[i] >= threshold_ ? 1 : 0;
}

}  // namespace circumfluence::motion
