#include "exposure/path_pieces.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"

namespace circumfluence::exposure {
namespace {

using Kind = Piece::Kind;

constexpr double kStray = 4e-5;        // [1] of the spot's radius
constexpr double kLongestLink = 0.25;  // [m], so that distances within it are exact as floats
constexpr double kStraightRun = 6;     // [1] radii that a straight line must have to be a link by itself
constexpr unsigned kMostLevels = 4096;
constexpr double kSlowest = 1e-7,
                 kSpeedSteps = 5600;  // [m/s]; steps of the kept speed per unit of its logarithm
constexpr double kMostSpeedCode = 131071;

bool known(const Segment& s) {
  for (const double value :
       {s.axial, s.around, s.to_axial, s.to_around, s.bend, s.height, s.distance, s.start})
    if (!std::isfinite(value)) return false;
  return s.energy >= 0 && std::isfinite(s.energy) && s.speed > 0 && std::isfinite(s.speed);
}

double length(const Segment& s) {
  return std::hypot(s.to_axial - s.axial, s.to_around - s.around);
}

}  // namespace

Path::Path(const PathTerms& terms) : terms_(terms) {
  // The focus depth is found from the radii themselves: the height at which one of them has grown by half a
  // per mille.
  height_step_ = 1e-7;
  const auto grows = [&](double step) {
    for (const double at : {-5e-3, -1e-3, 0.0, 1e-3, 5e-3}) {
      const Radii here = terms_.light.radii(at), there = terms_.light.radii(at + step);
      if (std::abs(there.axial / here.axial - 1) > 5e-4 || std::abs(there.around / here.around - 1) > 5e-4)
        return true;
    }
    return false;
  };
  while (height_step_ < 1e-2 && !grows(2 * height_step_)) height_step_ *= 2;
}

double Path::speed(const Piece& piece) const {
  return kSlowest * std::exp(piece.speed / kSpeedSteps);
}

double Path::pause(const Piece& piece) const {
  return 2 * narrowest(height(piece)) / speed(piece);
}

double Path::narrowest(double height) const {
  const Radii radii = terms_.light.radii(-height);
  return std::min(radii.axial, radii.around);
}

unsigned Path::level(double height) {
  if (!heights_.empty() && heights_.back() == height) return static_cast<unsigned>(heights_.size()) - 1;
  const auto [found, fresh] =
      level_of_.try_emplace(std::lround(height / height_step_), unsigned(heights_.size()));
  if (!fresh) return found->second;
  if (heights_.size() >= kMostLevels)
    throw quantity::ValidityError(fmt::format(
        "the path moves the focus through more than {} heights (that the spot differs at; expected fewer)",
        kMostLevels));
  heights_.push_back(height);
  return found->second;
}

void Path::add(const Segment& segment) {
  if (!known(segment))
    throw quantity::ValidityError(fmt::format(
        "piece {} of the path has a figure that is no number, or no speed (expected a planned path)",
        pieces_.size()));
  const double by = std::abs(segment.to_around - segment.around);
  const int parts =
      terms_.turn > 0 ? std::max(1, static_cast<int>(std::ceil(2 * by / terms_.turn - 1e-9))) : 1;
  const double whole = length(segment), last = segment.distance + whole;
  Segment part = segment;
  for (int i = 1; i <= parts; ++i) {
    const double share = double(i) / parts;
    part.to_axial =
        i == parts ? segment.to_axial : segment.axial + share * (segment.to_axial - segment.axial);
    part.to_around =
        i == parts ? segment.to_around : segment.around + share * (segment.to_around - segment.around);
    part.bend = segment.bend / (parts * parts);
    keep(part);
    part.axial = part.to_axial;
    part.around = part.to_around;
    part.distance = segment.distance + share * (last - segment.distance);
    part.start = segment.start + share * whole / segment.speed;
  }
}

Piece::Kind Path::kind_of(const Segment& s) const {
  const double axial = std::abs(s.to_axial - s.axial), around = std::abs(s.to_around - s.around);
  if (axial == 0 && around == 0) return Kind::spot;
  const double stray = kStray * narrowest(s.height);
  if (std::abs(s.bend) > stray) return Kind::oblique;
  return around <= stray && axial >= around ? Kind::axial : axial <= stray ? Kind::around : Kind::oblique;
}

// Whether a piece lies on the line of its link, further on.
bool Path::goes_on(const Segment& s, Kind kind) const {
  if (pieces_.empty() || s.chain != links_.back().chain || pieces_.back().sort() != kind) return false;
  if (s.distance - links_.back().base > kLongestLink || s.height != head_.height) return false;
  if (kind != Kind::axial && kind != Kind::around) return false;
  const bool axial = kind == Kind::axial;
  const double stray = kStray * narrowest(s.height);
  const double aside = axial ? (s.around + s.to_around - head_.around - head_.to_around) / 2
                             : (s.axial + s.to_axial - head_.axial - head_.to_axial) / 2;
  const double way = axial ? head_.to_axial - head_.axial : head_.to_around - head_.around;
  const double by = axial ? s.to_axial - s.axial : s.to_around - s.around;
  const double gap = axial ? s.axial - last_.to_axial : s.around - last_.to_around;
  return std::abs(aside) <= stray && way * by > 0 && gap * way >= -stray * std::abs(way);
}

void Path::keep(const Segment& s) {
  if (pieces_.size() >= kMostPieces)
    throw quantity::ValidityError(fmt::format(
        "the path has more than {} lit pieces (they would not fit the memory; expected fewer). Predict it in "
        "parts, or write its arcs as G2 and G3",
        kMostPieces));
  const Kind kind = kind_of(s);
  const bool line = kind == Kind::axial || kind == Kind::around, on_line = goes_on(s, kind);
  const bool fresh =
      pieces_.empty() || links_.back().chain != s.chain || s.distance - links_.back().base > kLongestLink;
  const bool was_line = !pieces_.empty() && pieces_.size() - links_.back().first > 0 && head_.speed > 0 &&
                        Kind(pieces_[links_.back().first].kind) != Kind::oblique &&
                        length(head_) > kStraightRun * narrowest(head_.height);
  const bool own = line && !on_line && length(s) > kStraightRun * narrowest(s.height);
  if (fresh || own || (was_line && !on_line)) {
    links_.push_back({s.distance, s.chain, static_cast<std::uint32_t>(pieces_.size())});
    head_ = s;
  }
  const double middle = (s.around + s.to_around) / 2;
  if (!on_line || kind != Kind::axial)
    shift_ = terms_.turn > 0 ? std::floor(middle / terms_.turn) * terms_.turn : 0.0;
  Piece piece{};
  piece.axial = kind == Kind::around ? (s.axial + s.to_axial) / 2 : s.axial;
  piece.around = (kind == Kind::axial ? middle : s.around) - shift_;
  piece.axial_by = kind == Kind::around ? 0.0f : static_cast<float>(s.to_axial - s.axial);
  piece.around_by = kind == Kind::axial ? 0.0f : static_cast<float>(s.to_around - s.around);
  piece.bend = kind == Kind::oblique ? static_cast<float>(s.bend) : 0.0f;
  piece.distance = static_cast<float>(s.distance - links_.back().base);
  piece.start = static_cast<float>(s.start);
  piece.energy = static_cast<float>(s.energy);
  piece.link = static_cast<std::int32_t>(links_.size()) - 1;
  piece.level = level(s.height) & 4095u;
  piece.speed = static_cast<unsigned>(
                    std::clamp(std::log(s.speed / kSlowest) * kSpeedSteps + 0.5, 0.0, kMostSpeedCode)) &
                131071u;
  piece.kind = unsigned(kind) & 3u;
  piece.follows = on_line && kind == Kind::axial ? 1 : 0;
  energy_ += s.energy * (kind == Kind::spot ? 1.0 : length(s));
  pieces_.push_back(piece);
  last_ = s;
}

}  // namespace circumfluence::exposure
