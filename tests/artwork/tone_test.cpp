// Truth: closed form (overlap of rectangles, summed over every pixel after a rotation by sine and cosine) and
// conservation (cells that tile the picture hold its mean).
#include "artwork/tone.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "artwork/slow_tone.h"
#include "quantity/error.h"
#if __has_include(<rapidcheck/gtest.h>)
#include <rapidcheck/gtest.h>
#define CIRCUMFLUENCE_PROPERTIES 1
#endif

namespace circumfluence::artwork {
namespace {

using slow::noise;
using slow::reference;
using slow::wanted;
using Rows = std::vector<std::vector<float>>;

double quarter(int turns) {
  return turns * std::numbers::pi / 2;
}

std::vector<double> edges(double from, double to, int cells) {
  std::vector<double> out(cells + 1);
  for (int i = 0; i <= cells; ++i) out[i] = from + (to - from) * i / cells;
  return out;
}

Rows sample(const Tone& tone, const std::vector<double>& across, int cells) {
  Rows rows(across.size() - 1, std::vector<float>(cells));
  Tone::Scratch scratch;
  for (std::size_t j = 0; j + 1 < across.size(); ++j) tone.row(across[j], across[j + 1], rows[j], scratch);
  return rows;
}

// Everything about a case follows from a few small numbers, so that a failing one can be read.
struct Case {
  int width, height, along_cells, across_cells, turns;
  bool transparent, dark, along_axial;
  unsigned seed;
};

Placement place(const Case& it) {
  return {.size_axial = 0.03 + 0.01 * (it.seed % 3),
          .size_around = 0.02,
          .axial = 0.11,
          .around = -0.004,
          .turn = quarter(it.turns),
          .burns = it.dark ? Burns::dark : Burns::light};
}

// Cells over a window about the picture, some inside, some across its border, some beyond.
void expect_exact(const Case& it) {
  const Image image = noise(it.width, it.height, it.seed, it.transparent);
  const Placement placement = place(it);
  const Extent all = extent(placement, image);
  const auto axial =
      edges(all.axial_from - 0.007, all.axial_to + 0.003, it.along_axial ? it.along_cells : it.across_cells);
  const auto around = edges(all.around_from - 0.002, all.around_to + 0.011,
                            it.along_axial ? it.across_cells : it.along_cells);
  const auto& row_edges = it.along_axial ? axial : around;
  const auto& across = it.along_axial ? around : axial;
  const Tone tone(image, placement, it.along_axial ? Along::axial : Along::around, row_edges);
  const Rows rows = sample(tone, across, it.along_cells);
  for (int j = 0; j < it.across_cells; ++j)
    for (int i = 0; i < it.along_cells; ++i) {
      const Extent cell = it.along_axial ? Extent{row_edges[i], row_edges[i + 1], across[j], across[j + 1]}
                                         : Extent{across[j], across[j + 1], row_edges[i], row_edges[i + 1]};
      ASSERT_NEAR(rows[j][i], reference(image, placement, cell), it.transparent ? 1e-5 : 5e-7)
          << "cell " << i << ", " << j;
    }
}

TEST(Tone, MatchesTheSumOverPixelsAtEveryTurn) {
  for (int turns = 0; turns < 4; ++turns)
    for (const bool along_axial : {true, false})
      for (const bool dark : {true, false}) {
        SCOPED_TRACE(turns);
        expect_exact({7, 5, 23, 31, turns, false, dark, along_axial, 3});  // pixels larger than cells
        expect_exact({40, 33, 6, 5, turns, true, dark, along_axial, 4});   // many pixels a cell
        expect_exact({19, 21, 20, 22, turns, true, dark, along_axial, 5});
        expect_exact({1, 1, 3, 4, turns, false, dark, along_axial, 6});
        expect_exact({9, 80, 40, 3, turns, false, dark, along_axial, 7});
      }
}

// An F, told apart from all of its turns and mirror images: picture rows, '#' is dark.
TEST(Tone, AnAsymmetricGlyphTurnsAnticlockwiseAndIsThenMirrored) {
  const std::vector<std::string> f = {"###", "#..", "##.", "#..", "#.."};
  // Seen with axial to the right and around upwards, the highest around first.
  const std::vector<std::vector<std::string>> seen = {
      f,
      {"#....", "#.#..", "#####"},
      {"..#", "..#", ".##", "..#", "###"},
      {"#####", "..#.#", "....#"},
  };
  Image image{3, 5, {}, {}};
  for (const std::string& line : f)
    for (const char c : line) image.tone.push_back(c == '#' ? 0 : 65535);
  for (int turns = -4; turns < 12; ++turns) {
    const auto mirror = Mirror(turns < 0 ? 0 : turns / 4 + 1);  // axial, around, both
    const bool swaps_x = mirror == Mirror::axial || mirror == Mirror::both;
    const bool swaps_y = mirror == Mirror::around || mirror == Mirror::both;
    const auto& shape = seen[(turns + 4) % 4];
    const int wide = static_cast<int>(shape[0].size()), high = static_cast<int>(shape.size());
    const Placement placement{
        .size_axial = 1e-3 * wide, .axial = 0.2, .around = 0.01, .turn = quarter(turns), .mirror = mirror};
    const Extent all = extent(placement, image);
    const auto axial = edges(all.axial_from, all.axial_to, wide);
    const auto around = edges(all.around_from, all.around_to, high);
    const Rows lying = sample(Tone(image, placement, Along::axial, axial), around, wide);
    const Rows standing = sample(Tone(image, placement, Along::around, around), axial, high);
    for (int y = 0; y < high; ++y)
      for (int x = 0; x < wide; ++x) {
        const int from_top = swaps_y ? y : high - 1 - y, from_left = swaps_x ? wide - 1 - x : x;
        const float expected = shape[from_top][from_left] == '#' ? 1.0f : 0.0f;
        EXPECT_EQ(lying[y][x], expected) << turns << " quarters, " << x << ", " << y;
        EXPECT_EQ(standing[x][y], expected) << turns << " quarters, " << x << ", " << y;
      }
  }
}

TEST(Tone, BlackAndWhiteAreExact) {
  const std::pair<int, int> sizes[] = {{3, 2}, {100, 77}, {1013, 997}};
  for (const auto& [width, height] : sizes)
    for (const std::uint16_t level : {std::uint16_t{0}, std::uint16_t{65535}}) {
      const Image image{
          width, height, std::vector<std::uint16_t>(static_cast<std::size_t>(width) * height, level), {}};
      const Placement placement{.size_axial = 0.0371, .axial = 0.1};
      const Extent all = extent(placement, image);
      const Tone tone(image, placement, Along::axial, edges(all.axial_from, all.axial_to, 137));
      for (const auto& row : sample(tone, edges(all.around_from, all.around_to, 41), 137))
        for (const float share : row) ASSERT_EQ(share, level == 0 ? 1.0f : 0.0f);
    }
}

TEST(Tone, NothingIsWantedBeyondThePictureOrWhereItIsTransparent) {
  Image image{2, 1, {0, 0}, {65535, 0}};
  const Placement placement{.size_axial = 0.002, .axial = 0.0};
  const Tone tone(image, placement, Along::axial, edges(-0.003, 0.003, 6));
  Tone::Scratch scratch;
  std::vector<float> out(6);
  tone.row(-0.0005, 0.0005, out, scratch);
  EXPECT_EQ(out, (std::vector<float>{0, 0, 1, 0, 0, 0}));
  tone.row(0.0005, 0.0015, out, scratch);
  EXPECT_EQ(out, std::vector<float>(6, 0.0f));
  tone.row(-0.001, 0.001, out, scratch);  // half of it beyond
  EXPECT_FLOAT_EQ(out[2], 0.5f);
}

TEST(Tone, OverOtherCellsIsTheSamePicture) {
  const Case it{.width = 23, .height = 17, .along_cells = 0, .across_cells = 0, .turns = 1, .transparent = true,
                .dark = true, .along_axial = true, .seed = 5};
  const Image image = noise(it.width, it.height, it.seed, it.transparent);
  const Tone fine(image, place(it), Along::axial, edges(0.09, 0.13, 400));
  for (const int cells : {7, 400, 901}) {
    const std::vector<double> other = edges(0.088, 0.131, cells), across = edges(-0.015, 0.008, 9);
    EXPECT_EQ(sample(fine.over(other), across, cells),
              sample(Tone(image, place(it), Along::axial, other), across, cells));
  }
}

TEST(Tone, OneCellOverEverythingHoldsTheMean) {
  const Image image = noise(300, 200, 8, false);
  double mean = 0;
  for (std::size_t i = 0; i < image.tone.size(); ++i) mean += wanted(image, i, Burns::dark);
  mean /= static_cast<double>(image.tone.size());
  const Placement placement{.size_axial = 0.003, .axial = 0.0};
  const Tone tone(image, placement, Along::around, std::vector<double>{-0.002, 0.002});  // twice its height
  Tone::Scratch scratch;
  std::vector<float> out(1);
  tone.row(-0.003, 0.003, out, scratch);  // twice its width
  EXPECT_NEAR(out[0], mean / 4, 1e-7);
}

// Two pictures of one size: the covers are the same and only the picture tells the rows apart.
TEST(Tone, AScratchServesSeveralTones) {
  const Placement placement{.size_axial = 0.01, .size_around = 0.01, .axial = 0.0};
  const auto cells = edges(-0.004, 0.004, 11);
  const Tone one(noise(4, 3, 1, false), placement, Along::axial, cells);
  const Tone other(noise(4, 3, 2, false), placement, Along::axial, cells);
  Tone::Scratch shared;
  std::vector<float> out(11), expected(11);
  for (int i = 0; i < 10; ++i)
    for (const Tone* tone : {&one, &other}) {
      Tone::Scratch fresh;
      tone->row(-4e-3 + 8e-4 * i, -4e-3 + 8e-4 * (i + 1), expected, fresh);
      tone->row(-4e-3 + 8e-4 * i, -4e-3 + 8e-4 * (i + 1), out, shared);
      EXPECT_EQ(out, expected);
    }
}

TEST(Tone, RefusesWhatIsNoGrid) {
  const Image image = noise(4, 3, 1, false);
  const Placement placement{.size_axial = 0.01, .axial = 0.0};
  const auto make = [&](std::vector<double> at) { return Tone(image, placement, Along::axial, at); };
  EXPECT_THROW(make({0.0}), quantity::ValidityError);
  EXPECT_THROW(make({0.0, 0.0}), quantity::ValidityError);
  EXPECT_THROW(make({0.0, NAN, 1.0}), quantity::ValidityError);
  EXPECT_THROW(make({0.0, INFINITY}), quantity::ValidityError);
  EXPECT_THROW(Tone({}, placement, Along::axial, std::vector{0.0, 1.0}), quantity::ValidityError);
  const Tone tone = make({0.0, 1e-3, 2e-3});
  Tone::Scratch scratch;
  std::vector<float> out(2), wrong(3);
  EXPECT_THROW(tone.row(0, 0, out, scratch), quantity::ValidityError);
  EXPECT_THROW(tone.row(0, NAN, out, scratch), quantity::ValidityError);
  EXPECT_THROW(tone.row(0, 1e-3, wrong, scratch), quantity::ValidityError);
}

TEST(Tone, CellsFarAwayOrVeryThinAreHarmless) {
  const Image image = noise(4, 3, 1, false);
  const Placement placement{.size_axial = 0.01, .axial = 0.0};
  const Tone tone(image, placement, Along::axial,
                  std::vector{-1e300, -0.004, std::nextafter(-0.004, 0), -0.003, 1e300});
  Tone::Scratch scratch;
  std::vector<float> out(4);
  tone.row(0.0, 1e-18, out, scratch);
  EXPECT_EQ(out[0], 0.0f);
  EXPECT_NEAR(out[1], wanted(image, 4, Burns::dark), 1e-6);
  tone.row(-1e300, 1e300, out, scratch);
  for (const float share : out) EXPECT_EQ(share, 0.0f);
}

#ifdef CIRCUMFLUENCE_PROPERTIES
Case any_case() {
  const auto size = [](int most) { return *rc::gen::inRange(1, most + 1); };
  return {size(24),
          size(24),
          size(40),
          size(40),
          *rc::gen::inRange(-4, 5),
          *rc::gen::arbitrary<bool>(),
          *rc::gen::arbitrary<bool>(),
          *rc::gen::arbitrary<bool>(),
          static_cast<unsigned>(size(1000))};
}

RC_GTEST_PROP(ToneProperty, MatchesTheSumOverPixels, ()) {
  Case it = any_case();
  it.along_cells = std::min(it.along_cells, 12);
  it.across_cells = std::min(it.across_cells, 12);
  expect_exact(it);
  RC_ASSERT(!::testing::Test::HasFailure());
}

// Cells of any widths that tile the picture hold its mean: sum of share times area.
RC_GTEST_PROP(ToneProperty, MeanIsConserved, ()) {
  const Case it = any_case();
  const Image image = noise(it.width, it.height, it.seed, it.transparent);
  const Placement placement = place(it);
  const Extent all = extent(placement, image);
  std::mt19937 random(it.seed);
  const auto uneven = [&](double from, double to, int cells) {
    std::vector<double> at = {from - 0.001, to + 0.001};
    for (int i = 0; i < cells; ++i)
      at.push_back(from + (to - from) * std::uniform_real_distribution()(random));
    std::ranges::sort(at);
    return at;
  };
  auto row_edges = uneven(all.axial_from, all.axial_to, it.along_cells);
  auto across = uneven(all.around_from, all.around_to, it.across_cells);
  if (!it.along_axial) std::swap(row_edges, across);
  const Tone tone(image, placement, it.along_axial ? Along::axial : Along::around, row_edges);
  const int cells = static_cast<int>(row_edges.size()) - 1;
  const Rows rows = sample(tone, across, cells);
  double held = 0;
  for (std::size_t j = 0; j < rows.size(); ++j)
    for (int i = 0; i < cells; ++i) {
      RC_ASSERT(rows[j][i] >= 0.0f && rows[j][i] <= 1.0f);
      held += rows[j][i] * (row_edges[i + 1] - row_edges[i]) * (across[j + 1] - across[j]);
    }
  double mean = 0;
  for (std::size_t i = 0; i < image.tone.size(); ++i) mean += wanted(image, i, placement.burns);
  mean /= static_cast<double>(image.tone.size());
  const double area = (all.axial_to - all.axial_from) * (all.around_to - all.around_from);
  RC_ASSERT(std::abs(held / area - mean) < (it.transparent ? 1e-5 : 5e-7));
}
#endif

}  // namespace
}  // namespace circumfluence::artwork
