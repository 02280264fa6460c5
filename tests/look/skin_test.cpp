// Truth: conservation (the mean over blocks is the mean over cells, for any block), identity where a block is
// a cell, and the places of known cells.
#include "look/skin.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "mark/fill.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using mark::MarkMap;
using mark::SmallJob;

Finish finish_of(const MarkMap& map, Wipe wipe = Wipe::after) {
  const mark::Line line = mark::line_of(map.scene);
  return Finish(map.scene, mark::respond(map.scene, {{line.along, line.across, line.speed}}), wipe);
}

const MarkMap& island_map() {
  static const MarkMap map = SmallJob(mark::island()).predicted(true);
  return map;
}

// Mean over the cells of diffuse and mirrored green light.
std::array<double, 2> mean_of_cells(const MarkMap& map, const Finish& finish) {
  std::array<double, 2> sum{};
  for (size_t i = 0; i < map.maps.outcome.size(); ++i) {
    const Shade& shade = finish.of(map.maps.outcome.cells()[i], map.maps.changed.cells()[i]);
    sum[0] += shade.diffuse[1] / double(map.maps.outcome.size());
    sum[1] += shade.mirror[1] / double(map.maps.outcome.size());
  }
  return sum;
}

// The same over the blocks, by the cells in each.
std::array<double, 2> mean_of_blocks(const MarkMap& map, const Skin& skin) {
  const int rows = int(std::lround(skin.block_around / map.surface.cell_around));
  const int columns = int(std::lround(skin.block_axial / map.surface.cell_axial));
  std::array<double, 2> sum{};
  for (int row = 0; row < skin.around; ++row)
    for (int column = 0; column < skin.axial; ++column) {
      const double cells = double(std::min(rows, map.surface.around - row * rows)) *
                           std::min(columns, map.surface.axial - column * columns) /
                           double(map.maps.outcome.size());
      const Shade shade = skin.at(row, column);
      sum[0] += shade.diffuse[1] * cells;
      sum[1] += shade.mirror[1] * cells;
    }
  return sum;
}

RC_GTEST_PROP(Skin, ConservesLight, ()) {
  const MarkMap& map = island_map();
  Blocks blocks;
  if (*rc::gen::arbitrary<bool>())
    blocks.most = *rc::gen::inRange(1, 400);
  else
    blocks.finest = *rc::gen::inRange(1, 3000) * 1e-6;
  blocks.threads = *rc::gen::inRange(1, 4);
  static const std::array<double, 2> cells = mean_of_cells(map, finish_of(map));
  const auto seen = mean_of_blocks(map, skin(map, blocks));
  for (size_t i = 0; i < 2; ++i) RC_ASSERT(std::abs(seen[i] - cells[i]) <= 1e-6 * cells[i] + 1e-9);
}

TEST(Skin, BlocksOfACellShowThatCell) {
  const MarkMap& map = island_map();
  const Skin made = skin(map, {.finest = 1e-9});
  ASSERT_EQ(made.around, map.surface.around);
  ASSERT_EQ(made.axial, map.surface.axial);
  const Finish finish = finish_of(map);
  for (int row = 0; row < made.around; row += 3)
    for (int column = 0; column < made.axial; column += 3) {
      const size_t i = size_t(column);
      const Shade cell = finish.of(map.maps.outcome.row(row)[i], map.maps.changed.row(row)[i]),
                  block = made.at(row, column);
      EXPECT_NEAR(block.diffuse[0], cell.diffuse[0], 1e-6);
      EXPECT_NEAR(block.mirror[2], cell.mirror[2], 1e-6);
      EXPECT_NEAR(block.slope, cell.slope, 1e-6);
    }
}

TEST(Skin, BlocksAreWholeNumbersOfCellsNoLargerThanAsked) {
  const MarkMap& map = island_map();
  const Skin made = skin(map, {.finest = 70e-6});  // of cells of 20 um
  EXPECT_NEAR(made.block_axial, 60e-6, 1e-12);
  EXPECT_NEAR(made.block_around, 60e-6, 1e-12);
  EXPECT_EQ(made.axial, (map.surface.axial + 2) / 3);
  EXPECT_DOUBLE_EQ(made.axial_from, map.surface.axial_from);
  const Skin few = skin(map, {.most = 10});
  EXPECT_LE(few.around, 10);
  EXPECT_LE(few.axial, 10);
  EXPECT_GE(few.axial, 6);
}

TEST(Skin, SlopesAreThoseOfTheLightThatIsMirrored) {
  const MarkMap& map = island_map();
  const Finish finish = finish_of(map);
  double squares = 0, light = 0;
  for (size_t i = 0; i < map.maps.outcome.size(); ++i) {
    const Shade& shade = finish.of(map.maps.outcome.cells()[i], map.maps.changed.cells()[i]);
    const double mirrored = appearance::xyz_from_linear(shade.mirror).y;
    squares += mirrored * shade.slope * shade.slope;
    light += mirrored;
  }
  EXPECT_NEAR(skin(map, {.most = 1}).at(0, 0).slope, std::sqrt(squares / light), 1e-4);
}

TEST(Skin, BeyondTheMapIsUntouchedGround) {
  const Skin made = skin(island_map());
  const Finish finish = finish_of(island_map());
  for (const auto& [row, column] : {std::pair{-1, 0}, {0, -1}, {made.around, 0}, {0, made.axial}})
    EXPECT_EQ(made.at(row, column).mirror, finish.ground().mirror);
  EXPECT_EQ(made.notes, finish.notes());
  EXPECT_FALSE(made.closed());
}

TEST(Skin, AWholeTurnIsClosed) {
  SmallJob small;
  small.with("workpiece.diameter", "8 mm")
      .with("grid.around_from", "-12.6 mm")
      .with("grid.around_to", "12.6 mm");
  const MarkMap map = small.predicted(true);
  ASSERT_TRUE(map.surface.closed);
  EXPECT_TRUE(skin(map, {.most = 100}).closed());
}

TEST(Skin, ResidueIsSeenUntilItIsWiped) {
  const MarkMap map = SmallJob().bare("birch", "5 mm").predicted(true);
  const auto wiped = mean_of_blocks(map, skin(map)),
             unwiped = mean_of_blocks(map, skin(map, {.wipe = Wipe::before}));
  EXPECT_LE(unwiped[0], wiped[0]);
  EXPECT_NEAR(unwiped[0], mean_of_cells(map, finish_of(map, Wipe::before))[0], 1e-6);
}

TEST(Skin, FlatHasTheGreatestArcOnTop) {
  Skin made;
  made.around = 2;
  made.axial = 1;
  made.diffuse = {{0.0f, 0.0f, 0.0f}, {0.5f, 0.5f, 0.5f}};
  made.mirror = {{0.0f, 0.0f, 0.0f}, {0.5f, 0.25f, 0.0f}};
  made.slope = {0.1f, 0.1f};
  const appearance::Pixels pixels = flat(made);
  ASSERT_EQ(pixels.height, 2);
  EXPECT_EQ(pixels.rgb[1], (appearance::Colour{0, 0, 0}));
  EXPECT_EQ(pixels.rgb[0], appearance::srgb_from_linear(appearance::Linear{1.0, 0.75, 0.5}));
}

TEST(Skin, ScreenValuesAreTheFormulas) {
  for (int level = 0; level < 256; ++level)
    EXPECT_EQ(on_screen(float(appearance::linear_from_srgb(level / 255.0))), level);
  for (int i = 0; i <= 1000; ++i)
    EXPECT_NEAR(on_screen(float(i) / 1000), 255 * appearance::srgb_from_linear(i / 1000.0), 0.53);
  EXPECT_EQ(on_screen(-1.0f), 0);
  EXPECT_EQ(on_screen(7.0f), 255);
  EXPECT_EQ(on_screen(std::nanf("")), 0);
}

TEST(Skin, SaysWhatIsMissing) {
  MarkMap bare = island_map();
  bare.maps = {};
  EXPECT_THROW(skin(bare), quantity::ValidityError);
  EXPECT_THROW(skin(island_map(), {.most = 0}), quantity::ValidityError);
  EXPECT_THROW(skin(island_map(), {.finest = -1}), quantity::ValidityError);
  EXPECT_THROW(skin(island_map(), {.finest = std::nan("")}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::look
