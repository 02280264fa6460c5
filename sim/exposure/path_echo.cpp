// The echo along a path.
#include <algorithm>
#include <cmath>

#include "exposure/path_cursor.h"

namespace circumfluence::exposure {
namespace {

using Kind = Piece::Kind;

constexpr int kBlock = 256;        // steps heard at a time
constexpr size_t kBlocks = 16384;  // kept, 1 KiB each

double length(const Piece& piece) {
  return std::hypot(piece.axial_by, piece.around_by);
}

// [m] from a place on a line to the next edge of its cells ahead.
double to_edge(double from, double edge, double cell, double way) {
  const double at = (from - edge) / cell;
  return (way > 0 ? std::ceil(at - 1e-6) - at : at - std::floor(at + 1e-6)) * cell;
}

}  // namespace

PathEcho::PathEcho(const Path& path, const Echo& echo, const Grid& grid)
    : path_(path), listener_(echo), grid_(grid) {
  if (listens()) blocks_.resize(kBlocks);
}

PathEcho::Steps PathEcho::steps(const Piece& piece) const {
  const Path::Link& link = path_.links()[size_t(piece.link)];
  const Piece& head = path_.pieces()[link.first];
  if (head.sort() == Kind::axial)
    return {link.base + to_edge(head.axial, grid_.axial_from, grid_.cell_axial, head.axial_by),
            grid_.cell_axial};
  if (head.sort() == Kind::around) {
    const double turn = path_.turn(), past = head.around - grid_.around_from;
    const double at = turn > 0 ? past - std::round(past / turn) * turn : past;
    return {link.base + to_edge(at, 0, grid_.cell_around, head.around_by), grid_.cell_around};
  }
  return {link.base, grid_.cell_axial};
}

// Steps first, first + 1, ... of a link: what they and those before them were sent.
void PathEcho::hear(std::int32_t link, const Steps& steps, long first, std::span<float> out) {
  const int pad = listener_.echo().reach();
  const std::vector<Piece>& pieces = path_.pieces();
  const int chain = path_.links()[size_t(link)].chain;
  sent_.assign(out.size() + 2 * size_t(pad), 0.0f);
  const double low = steps.origin + double(first - pad) * steps.length;
  const double high = low + double(sent_.size()) * steps.length;
  const auto before = [&](const Piece& piece) {
    const int other = path_.links()[size_t(piece.link)].chain;
    return other < chain || (other == chain && path_.distance(piece) + length(piece) < low);
  };
  for (auto piece = std::partition_point(pieces.begin(), pieces.end(), before); piece != pieces.end();
       ++piece) {
    const double from = path_.distance(*piece), to = from + length(*piece);
    if (path_.links()[size_t(piece->link)].chain != chain || from >= high) break;
    if (piece->sort() == Kind::spot) continue;
    const double begin = (std::max(from, low) - low) / steps.length,
                 end = (std::min(to, high) - low) / steps.length;
    for (long i = static_cast<long>(begin); i < static_cast<long>(sent_.size()) && double(i) < end; ++i) {
      const double share = std::min(end, double(i + 1)) - std::max(begin, double(i));
      sent_[size_t(i)] += piece->energy * static_cast<float>(std::max(0.0, share));
    }
  }
  listener_.row(sent_, pad, Sense::forth, out);
}

// The block about a place [m] of the chain; takes the place of another that hashes alike.
const PathEcho::Block& PathEcho::block(const Piece& piece, double place) {
  const auto slot = [&](long number) -> Block& {
    const size_t hash = size_t(piece.link) * 7 + static_cast<size_t>(number + 1024) * 20011;
    return blocks_[hash % kBlocks];
  };
  // Blocks are numbered by length alone, so that the place finds its own before the steps are known.
  const double rough = grid_.cell_axial * kBlock;
  const long number = std::lround(std::floor((place - path_.links()[size_t(piece.link)].base) / rough));
  Block& kept = slot(number);
  if (kept.link == piece.link && kept.number == number) return kept;
  kept.link = piece.link;
  kept.number = number;
  kept.steps = steps(piece);
  kept.values.resize(size_t(kBlock) + 4 +
                     size_t(std::max(0.0, std::ceil(rough / kept.steps.length - kBlock))));
  kept.first = std::lround(std::floor(
                   (path_.links()[size_t(piece.link)].base + double(number) * rough - kept.steps.origin) /
                   kept.steps.length)) -
               1;
  hear(piece.link, kept.steps, kept.first, kept.values);
  return kept;
}

float PathEcho::at(const Piece& piece, double distance) {
  const double place = path_.distance(piece) + distance;
  const Block& near = block(piece, place);
  const double step = (place - near.steps.origin) / near.steps.length - 0.5, whole = std::floor(step + 1e-6);
  const float share = static_cast<float>(std::max(0.0, step - whole));
  const size_t i =
      size_t(std::clamp(std::lround(whole) - near.first, 0L, static_cast<long>(near.values.size()) - 2));
  return near.values[i] + share * (near.values[i + 1] - near.values[i]);
}

void PathEcho::columns(const Piece& head, int first, std::span<float> out) {
  const Steps grid = steps(head);
  const int count = static_cast<int>(out.size());
  const bool forth = head.axial_by > 0;
  // [m] along the chain of the middle of the column that the beam comes to first
  const double edge = grid_.axial_from + (forth ? first : first + count) * grid_.cell_axial;
  const double begins = path_.distance(head) + (edge - head.axial) * (forth ? 1 : -1);
  hear(head.link, grid, std::lround((begins - grid.origin) / grid.length), out);
  if (!forth) std::reverse(out.begin(), out.end());
}

}  // namespace circumfluence::exposure
