#include "look/skin.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "mark/fill.h"
#include "quantity/bands.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

constexpr double kMostBlocks = 64e6;

// What a shade adds to a block: diffuse and mirrored light, the square of the slope by mirrored light, that
// light.
struct Share {
  alignas(32) float light[8];
};

Share share_of(const Shade& shade) {
  const double mirrored = appearance::xyz_from_linear(shade.mirror).y / 100;
  Share out{};
  for (size_t i = 0; i < 3; ++i) {
    out.light[i] = float(shade.diffuse[i]);
    out.light[3 + i] = float(shade.mirror[i]);
  }
  out.light[6] = float(mirrored * shade.slope * shade.slope);
  out.light[7] = float(mirrored);
  return out;
}

std::vector<Share> shares_of(const Finish& finish) {
  std::vector<Share> out;
  for (const Shade& shade : finish.shades()) out.push_back(share_of(shade));
  return out;
}

// [cells] along one side of a block.
int block_of(const Blocks& blocks, int cells, double cell) {
  if (blocks.finest > 0)
    return std::clamp(int(std::min(blocks.finest / cell + 1e-9, 1e9)), 1, std::max(cells, 1));
  return (cells + blocks.most - 1) / blocks.most;
}

int count_of(int cells, int block) {
  return (cells + block - 1) / block;
}

void check(const mark::MarkMap& map, const Blocks& blocks) {
  if (map.maps.outcome.empty() || map.maps.changed.empty())
    throw quantity::ValidityError(
        "skin: maps (not kept; expected outcome and changed of every cell). Predict with keep = true");
  if (blocks.most < 1)
    throw quantity::ValidityError(
        fmt::format("skin: most = {} (no blocks; expected 1 or more a side)", blocks.most));
  if (!(blocks.finest >= 0))
    throw quantity::ValidityError(fmt::format("skin: finest = {} m (expected 0 or more)", blocks.finest));
}

Skin frame_of(const mark::MarkMap& map, int rows, int columns) {
  const workpiece::Surface& s = map.surface;
  Skin out;
  out.around = count_of(s.around, rows);
  out.axial = count_of(s.axial, columns);
  out.axial_from = s.axial_from;
  out.around_from = s.around_from;
  out.block_axial = columns * s.cell_axial;
  out.block_around = rows * s.cell_around;
  out.reference_radius = s.reference_radius;
  const double count = double(out.around) * out.axial;
  if (count > kMostBlocks)
    throw quantity::ValidityError(
        fmt::format("skin: blocks = {:.3g} (too many to hold; expected at most {:.3g}). Ask for coarser "
                    "blocks, or predict a smaller region",
                    count, kMostBlocks));
  const size_t size = size_t(out.around) * size_t(out.axial);
  out.diffuse.resize(size);
  out.mirror.resize(size);
  out.slope.resize(size);
  return out;
}

// One row of blocks, from the rows of cells in it.
class RowOfBlocks {
 public:
  RowOfBlocks(const mark::MarkMap& map, const Finish& finish, const std::vector<Share>& shares, int block)
      : map_(map),
        finish_(finish),
        shares_(shares),
        block_(block),
        entries_(size_t(map.surface.axial)),
        sums_(size_t(count_of(map.surface.axial, block))) {}

  void add(int row) {
    const auto outcome = map_.maps.outcome.row(row);
    const auto changed = map_.maps.changed.row(row);
    for (size_t i = 0; i < entries_.size(); ++i)
      entries_[i] = std::uint16_t(finish_.entry(outcome[i], changed[i]));
    for (size_t b = 0; b < sums_.size(); ++b) {
      const size_t end = std::min(entries_.size(), (b + 1) * size_t(block_));
      for (size_t i = b * size_t(block_); i < end; i += kTogether) add(b, i, std::min(end, i + kTogether));
    }
    ++rows_;
  }

  void finish(Skin& out, int at) {
    for (size_t b = 0; b < sums_.size(); ++b) {
      const size_t cells = std::min(entries_.size(), (b + 1) * size_t(block_)) - b * size_t(block_);
      const double per = 1 / (double(cells) * rows_);
      const auto& light = sums_[b];
      const size_t i = size_t(at) * sums_.size() + b;
      out.diffuse[i] = {float(light[0] * per), float(light[1] * per), float(light[2] * per)};
      out.mirror[i] = {float(light[3] * per), float(light[4] * per), float(light[5] * per)};
      out.slope[i] = float(light[7] > 0 ? std::sqrt(light[6] / light[7]) : out.ground.slope);
    }
    std::fill(sums_.begin(), sums_.end(), Sum{});
    rows_ = 0;
  }

 private:
  static constexpr size_t kTogether = 32;  // cells whose light is added in single precision
  using Sum = std::array<double, 8>;

  void add(size_t block, size_t first, size_t last) {
    Share sum{};
    for (size_t i = first; i < last; ++i)
      for (size_t k = 0; k < 8; ++k) sum.light[k] += shares_[entries_[i]].light[k];
    for (size_t k = 0; k < 8; ++k) sums_[block][k] += double(sum.light[k]);
  }

  const mark::MarkMap& map_;
  const Finish& finish_;
  const std::vector<Share>& shares_;
  int block_, rows_ = 0;
  std::vector<std::uint16_t> entries_;
  std::vector<Sum> sums_;
};

// The law alone is asked of the model, at the job's own line: the cheapest that tells thicknesses.
response::Model model_of(const mark::Scene& scene) {
  const mark::Line line = mark::line_of(scene);
  return mark::respond(scene, {{line.along, line.across, line.speed}});
}

}  // namespace

Shade Skin::at(int row, int column) const {
  if (row < 0 || row >= around || column < 0 || column >= axial) return ground;
  const size_t i = size_t(row) * size_t(axial) + size_t(column);
  return {
      {diffuse[i][0], diffuse[i][1], diffuse[i][2]}, {mirror[i][0], mirror[i][1], mirror[i][2]}, slope[i]};
}

bool Skin::closed() const {
  return around * block_around >= 2 * quantity::kPi * reference_radius * (1 - 1e-9);
}

Skin skin(const mark::MarkMap& map, const Blocks& blocks) {
  check(map, blocks);
  const workpiece::Surface& surface = map.surface;
  const int rows = block_of(blocks, surface.around, surface.cell_around);
  const int columns = block_of(blocks, surface.axial, surface.cell_axial);
  Skin out = frame_of(map, rows, columns);
  const Finish finish(map.scene, model_of(map.scene), blocks.wipe);
  out.ground = finish.ground();
  out.notes = finish.notes();
  const std::vector<Share> shares = shares_of(finish);
  quantity::for_bands({.count = out.around, .band = 8, .threads = blocks.threads},
                      [&](int first, int last, int) {
                        RowOfBlocks sums(map, finish, shares, columns);
                        for (int at = first; at < last; ++at) {
                          for (int row = at * rows; row < std::min(surface.around, (at + 1) * rows); ++row)
                            sums.add(row);
                          sums.finish(out, at);
                        }
                      });
  return out;
}

appearance::Pixels flat(const Skin& skin) {
  appearance::Pixels out{skin.axial, skin.around, std::vector<appearance::Colour>(skin.diffuse.size())};
  quantity::for_bands({.count = skin.around}, [&](int first, int last, int) {
    for (int row = first; row < last; ++row)
      for (size_t column = 0; column < size_t(skin.axial); ++column) {
        const size_t i = size_t(row) * size_t(skin.axial) + column;
        appearance::Colour& pixel = out.rgb[size_t(skin.around - 1 - row) * size_t(skin.axial) + column];
        for (size_t k = 0; k < 3; ++k) pixel[k] = on_screen(skin.diffuse[i][k] + skin.mirror[i][k]);
      }
  });
  return out;
}

std::uint8_t on_screen(float light) {
  static const std::vector<std::uint8_t> table = [] {
    std::vector<std::uint8_t> out(65536);
    for (size_t i = 0; i < out.size(); ++i)
      out[i] = std::uint8_t(std::lround(255 * appearance::srgb_from_linear(double(i) / 65535)));
    return out;
  }();
  if (!(light > 0)) return 0;
  return table[size_t(std::min(light, 1.0f) * 65535.0f + 0.5f)];
}

}  // namespace circumfluence::look
