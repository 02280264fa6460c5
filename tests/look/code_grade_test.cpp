// Truth: grades of made surfaces of known reflectance (definitions of ISO/IEC 15415 and 29158; figures worked
// by hand), closed forms of a code on a cylinder, and where the art is wanted by the prediction itself.
#include <gtest/gtest.h>

#define ZX_USE_UTF8 1
#include <ZXing/BitMatrix.h>
#include <ZXing/MultiFormatWriter.h>

#include <cmath>

#include "artwork/tone.h"
#include "look/code.h"
#include "mark/small_job.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

constexpr int kQuiet = 4, kPixels = 4;

// The art of a code, a whole number of pixels a module, in a quiet zone.
mark::Picture picture_of(const Symbol& code, bool inverted = false) {
  const int side = (code.columns + 2 * kQuiet) * kPixels;
  mark::Picture out{side, side, std::vector<int>(size_t(side) * size_t(side), inverted ? 0 : 255)};
  for (int y = 0; y < code.rows * kPixels; ++y)
    for (int x = 0; x < code.columns * kPixels; ++x)
      if (code.black(size_t(y / kPixels) * size_t(code.columns) + size_t(x / kPixels)))
        out.tone[size_t(y + kQuiet * kPixels) * size_t(side) + size_t(x + kQuiet * kPixels)] =
            inverted ? 255 : 0;
  return out;
}

mark::MarkMap unburnt(const mark::SmallJob& job) {
  mark::Scene scene = mark::prepare(job.job);
  workpiece::Surface surface = mark::develop(scene);
  motion::Raster raster = mark::plan(scene);
  return {.scene = std::move(scene),
          .surface = std::move(surface),
          .raster = raster,
          .overview = appearance::Overview(1, 1),
          .maps = {},
          .verdict = {},
          .wall = {},
          .mark_factors = {},
          .over_factors = {}};
}

// A surface whose reflectance is given by a function of the code's own coordinates [modules], for art at turn
// 0.
template <class Light>
Skin painted(const mark::MarkMap& map, const Symbol& code, const Light& light, double blocks = 8) {
  const artwork::Extent art = artwork::extent(map.scene.job.artwork, map.scene.image);
  const double modules = code.columns + 2 * kQuiet, axial = (art.axial_to - art.axial_from) / modules,
               around = (art.around_to - art.around_from) / modules;
  Skin out;
  out.axial = out.around = int(std::lround(modules * blocks));
  out.axial_from = art.axial_from, out.around_from = art.around_from;
  out.block_axial = axial / blocks, out.block_around = around / blocks;
  out.reference_radius = map.surface.reference_radius;
  out.ground = {{0.5, 0.5, 0.5}, {0, 0, 0}, 0};
  for (int i = 0; i < out.around; ++i)
    for (int j = 0; j < out.axial; ++j) {
      const float r = float(light((j + 0.5) / blocks - kQuiet, code.rows + kQuiet - (i + 0.5) / blocks));
      out.diffuse.push_back({r, r / 2, r / 3});
      out.mirror.push_back({0, 0, 0});
      out.slope.push_back(0);
    }
  return out;
}

bool black(const Symbol& code, double column, double row) {
  if (column < 0 || row < 0 || column >= code.columns || row >= code.rows) return false;
  return code.black(size_t(row) * size_t(code.columns) + size_t(column));
}

CodeGrade grade(const mark::MarkMap& map, const Skin& skin) {
  const std::vector<CodeGrade> all = grade_codes(map, skin);
  EXPECT_EQ(all.size(), 1u);
  return all.at(0);
}

bool says(const CodeGrade& grade, const char* words) {
  for (const std::string& note : grade.notes)
    if (note.find(words) != std::string::npos) return true;
  return false;
}

struct Contrasts {
  double light, dark, contrast, cell;
  Letter by_contrast, by_cell;
};

TEST(CodeGrades, ContrastsOfKnownReflectances) {
  const Symbol code = qr_code(2);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  for (const Contrasts& c : {Contrasts{0.45, 0.12, 0.33, 0.7333, Letter::d, Letter::a},
                             {0.30, 0.20, 0.10, 0.3333, Letter::f, Letter::a},
                             {0.25, 0.205, 0.045, 0.18, Letter::f, Letter::d},
                             {0.90, 0.10, 0.80, 0.8889, Letter::a, Letter::a}}) {
    const Skin skin =
        painted(map, code, [&](double x, double y) { return black(code, x, y) ? c.dark : c.light; });
    const CodeGrade g = grade(map, skin);
    EXPECT_NEAR(g.symbol_contrast, c.contrast, 1e-6);
    EXPECT_NEAR(g.cell_contrast, c.cell, 1e-4);
    EXPECT_NEAR(g.modulation, 1, 1e-5);
    EXPECT_EQ(g.by_contrast, c.by_contrast);
    EXPECT_EQ(g.by_cell, c.by_cell);
    EXPECT_EQ(g.by_modulation, Letter::a);
    EXPECT_EQ(g.overall, std::max(c.by_contrast, g.by_nonuniformity));
    EXPECT_EQ(g.flipped, 0);
    EXPECT_TRUE(g.reads || c.contrast < 0.2);
    EXPECT_FALSE(g.reads_inverted);
    EXPECT_NEAR(g.growth_axial, 0, 0.01);
    EXPECT_NEAR(g.growth_around, 0, 0.01);
    EXPECT_NEAR(g.module_axial, 4e-3 / 33, 1e-6);
  }
}

TEST(CodeGrades, LettersChangeWhereTheStandardsSay) {
  EXPECT_EQ(by_contrast(0.7), Letter::a);
  EXPECT_EQ(by_contrast(0.699), Letter::b);
  EXPECT_EQ(by_contrast(0.399), Letter::d);
  EXPECT_EQ(by_modulation(0.4), Letter::b);
  EXPECT_EQ(by_modulation(0.19), Letter::f);
  EXPECT_EQ(by_cell(0.2), Letter::c);
  struct Error {
    double by, ratio;
    Letter letter;
  };
  for (const Error& e : {Error{1.05, 0.04878, Letter::a},
                         {1.08, 0.07692, Letter::b},
                         {1.10, 0.09524, Letter::c},
                         {1.15, 0.13953, Letter::f}}) {
    EXPECT_NEAR(nonuniformity(1, e.by), e.ratio, 5e-6);
    EXPECT_EQ(by_nonuniformity(nonuniformity(1, e.by)), e.letter);
  }
}

TEST(CodeGrades, GrowthIsWhatWasAddedToEachRun) {
  const Symbol code = qr_code(1);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  for (const double wider : {-0.25, 0.25, 0.5}) {
    const Skin skin = painted(
        map, code,
        [&](double x, double y) {
          bool all = true, any = false;
          for (const double d : {-0.5 * std::abs(wider), 0.5 * std::abs(wider)})
            all &= black(code, x + d, y), any |= black(code, x + d, y);
          return (wider > 0 ? any : all) ? 0.1 : 0.7;
        },
        16);
    const CodeGrade g = grade(map, skin);
    EXPECT_NEAR(g.growth_axial, wider, 0.02);
    EXPECT_NEAR(g.growth_around, 0, 0.01);
  }
}

TEST(CodeGrades, ModulationIsThatOfTheLastCodewordThatMayBeLost) {
  const Symbol code = qr_code(2);
  const Codewords words = codewords(code);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  ASSERT_EQ(words.correctable, 6);  // of 44, 15 %
  for (const int spoilt : {6, 7}) {
    const Skin skin = painted(map, code, [&](double x, double y) {
      const bool in = x >= 0 && y >= 0 && x < code.columns && y < code.rows;
      const int word = in ? words.of[size_t(y) * size_t(code.columns) + size_t(x)] : -1;
      const double full = black(code, x, y) ? 0.1 : 0.7;
      return word >= 0 && word < spoilt ? 0.4 + 0.3 * (full - 0.4) : full;
    });
    EXPECT_NEAR(grade(map, skin).modulation, spoilt == 6 ? 1 : 0.3, 1e-4);
  }
}

TEST(CodeGrades, DataMatricesAreGradedAlike) {
  const std::string text = "Fernhollow";
  const ZXing::BitMatrix bits =
      ZXing::MultiFormatWriter(ZXing::BarcodeFormat::DataMatrix).setMargin(0).encode(text, 0, 0);
  Symbol code{.kind = Symbology::data_matrix, .text = text, .columns = bits.width(), .rows = bits.height()};
  for (int i = 0; i < code.columns * code.rows; ++i)
    code.dark.push_back(bits.get(i % code.columns, i / code.columns));
  ASSERT_EQ(code.columns, code.rows);
  const Codewords words = codewords(code);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  for (const int spoilt : {words.correctable, words.correctable + 1}) {
    const Skin skin = painted(map, code, [&](double x, double y) {
      const bool in = x >= 0 && y >= 0 && x < code.columns && y < code.rows;
      const int word = in ? words.of[size_t(y) * size_t(code.columns) + size_t(x)] : -1;
      const double full = black(code, x, y) ? 0.1 : 0.7;
      return word >= 0 && word < spoilt ? 0.4 + 0.25 * (full - 0.4) : full;
    });
    const CodeGrade g = grade(map, skin);
    EXPECT_EQ(g.symbol.kind, Symbology::data_matrix);
    EXPECT_NEAR(g.modulation, spoilt == words.correctable ? 1 : 0.25, 1e-4);
    EXPECT_NEAR(g.symbol_contrast, 0.6, 1e-6);
    EXPECT_EQ(g.flipped, 0);
    EXPECT_TRUE(g.reads || spoilt > words.correctable);  // beyond, by the reader's own threshold
  }
}

TEST(CodeGrades, FlippedModulesAreCounted) {
  const Symbol code = qr_code(2);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  const Skin skin = painted(map, code, [&](double x, double y) {
    const bool there = x > 14 && x < 17 && y > 14 && y < 16;  // 3 x 2 modules
    return black(code, x, y) != there ? 0.1 : 0.7;
  });
  EXPECT_EQ(grade(map, skin).flipped, 6);
}

TEST(CodeGrades, WhatDoesNotShowHasNotGrown) {
  const Symbol code = qr_code(2);
  const mark::MarkMap map = unburnt(mark::SmallJob(picture_of(code)));
  const CodeGrade blank = grade(map, painted(map, code, [](double, double) { return 0.3; }));
  EXPECT_EQ(blank.growth_axial, 0);
  EXPECT_EQ(blank.growth_around, 0);
  EXPECT_EQ(blank.overall, Letter::f);
}

TEST(CodeGrades, AroundACylinderModulesLookNarrower) {
  const Symbol code = qr_code(2);
  mark::SmallJob job(picture_of(code));
  job.with("workpiece.diameter", "4 mm");  // the code alone: 25 / 33 of 4 mm
  const mark::MarkMap map = unburnt(job);
  const Skin skin = painted(map, code, [&](double x, double y) { return black(code, x, y) ? 0.1 : 0.7; });
  const CodeGrade g = grade(map, skin);
  const double half = 4e-3 * 25 / 33 / 2 / 2e-3;  // [rad]
  EXPECT_NEAR(g.turned, half, 0.02 * half);
  EXPECT_NEAR(g.nonuniformity, nonuniformity(1, std::sin(half) / half), 2e-3);
  EXPECT_EQ(g.by_nonuniformity, by_nonuniformity(g.nonuniformity));
  const appearance::Pixels view = code_view(map, skin, g.symbol);
  EXPECT_LE(std::max(view.width, view.height), 2000);
  EXPECT_LT(view.height, view.width);
}

TEST(CodeGrades, WhatLandsInvertedOrMirroredIsSaid) {
  const Symbol code = qr_code(1);
  mark::SmallJob job(picture_of(code));
  const mark::MarkMap map = unburnt(job);
  const CodeGrade lighter =
      grade(map, painted(map, code, [&](double x, double y) { return black(code, x, y) ? 0.7 : 0.1; }));
  EXPECT_TRUE(lighter.reads_inverted);
  EXPECT_FALSE(lighter.reads);
  EXPECT_EQ(lighter.flipped, 0);
  EXPECT_TRUE(says(lighter, "light on dark"));
  EXPECT_FALSE(says(lighter, "mirrored"));
  const mark::MarkMap other = unburnt(job.with("artwork.mirror", "axial"));
  const CodeGrade mirrored = grade(other, painted(map, code, [&](double x, double y) {
                                     return black(code, code.columns - x, y) ? 0.1 : 0.7;
                                   }));
  EXPECT_TRUE(says(mirrored, "mirrored"));
  EXPECT_EQ(mirrored.flipped, 0);
  EXPECT_FALSE(says(mirrored, "light on dark"));
}

TEST(CodeGrades, ModulesOfBrokenLinesAreSaid) {
  const Symbol code = qr_code(1);  // 4 mm over 29 modules
  for (const bool whole : {false, true}) {
    mark::SmallJob job(picture_of(code));
    job.with("scan.spacing", whole ? "0.0689655 mm" : "0.1 mm");
    const mark::MarkMap map = unburnt(job);
    const auto light = [&](double x, double y) { return black(code, x, y) ? 0.1 : 0.7; };
    EXPECT_EQ(says(grade(map, painted(map, code, light)), "lines wide"), !whole);
  }
}

TEST(CodeGrades, BeyondTheHorizonIsSaid) {
  const Symbol code = qr_code(1);
  mark::SmallJob job(picture_of(code));
  const mark::MarkMap map =
      unburnt(job.with("workpiece.wall", "0.2 mm").with("workpiece.diameter", "1.5 mm"));
  const CodeGrade g =
      grade(map, painted(map, code, [&](double x, double y) { return black(code, x, y) ? 0.1 : 0.7; }));
  EXPECT_TRUE(says(g, "beyond what a camera sees"));
  EXPECT_FALSE(g.reads);
  EXPECT_EQ(g.overall, Letter::f);
}

TEST(CodeGrades, TooCoarseASkinIsRefused) {
  const Symbol code = qr_code(1);
  mark::SmallJob job(picture_of(code));
  const mark::MarkMap map = unburnt(job.with("grid.cell", "5 um"));
  EXPECT_THROW(grade_codes(map, painted(
                                    map, code, [](double, double) { return 0.5; }, 2)),
               quantity::ValidityError);
  EXPECT_NEAR(finest_for_codes(map.scene).value_or(0), 4e-3 / (21 + 8) / 8, 2e-6);
}

TEST(CodeGrades, ArtWithoutACodeHasNone) {
  const mark::MarkMap map = unburnt(mark::SmallJob(mark::island()));
  EXPECT_FALSE(finest_for_codes(map.scene).has_value());
  EXPECT_TRUE(grade_codes(map, {}).empty());
}

TEST(CodeGrades, ACodeThatDoesNotReadAsDrawnIsSaid) {
  const Symbol code = qr_code(2);
  mark::Picture picture = picture_of(code);
  for (int y = 9; y < 17; ++y)  // data covered, the corner patterns left
    for (int x = 0; x < code.columns; ++x)
      for (int i = 0; i < kPixels * kPixels; ++i)
        picture.tone[size_t((y + kQuiet) * kPixels + i / kPixels) * size_t(picture.width) +
                     size_t((x + kQuiet) * kPixels + i % kPixels)] = 255;
  const mark::MarkMap map = unburnt(mark::SmallJob(picture));
  EXPECT_TRUE(finest_for_codes(map.scene).has_value());
  const CodeGrade g = grade(map, {});
  EXPECT_TRUE(says(g, "does not read as drawn, before any mark"));
  EXPECT_EQ(g.overall, Letter::f);
  const appearance::Pixels view =
      code_view(map, painted(map, code, [](double, double) { return 0.5; }), g.symbol);  // all the art
  EXPECT_GT(view.width, 700);
}

// Modules lie where the prediction wants them, any way round.
void expect_where_wanted(const mark::SmallJob& job, const Symbol& code) {
  const mark::MarkMap map = job.predicted(true);
  const std::vector<Symbol> found = find_symbols(map.scene.image);
  ASSERT_EQ(found.size(), 1u);
  const Landed landed(map.scene);
  int wrong = 0;
  for (int row = 0; row < code.rows; ++row)
    for (int column = 0; column < code.columns; ++column) {
      const auto spot = landed.at(in_picture(found[0], column + 0.5, row + 0.5));
      ASSERT_TRUE(spot.has_value());
      const workpiece::Surface& s = map.surface;
      const int i = int(std::floor((spot->azimuth * s.reference_radius - s.around_from) / s.cell_around));
      const int j = int(std::floor((spot->axial - s.axial_from) / s.cell_axial));
      ASSERT_TRUE(i >= 0 && j >= 0 && i < s.around && j < s.axial);
      wrong += (map.maps.wanted.row(i)[size_t(j)] != 0) !=
               code.black(size_t(row) * size_t(code.columns) + size_t(column));
    }
  EXPECT_EQ(wrong, 0);
}

TEST(CodeGrades, ModulesLieWhereTheyAreWanted) {
  const Symbol code = qr_code(1);
  for (const char* turn : {"0 deg", "90 deg", "180 deg", "270 deg"})
    for (const char* mirror : {"none", "axial", "around", "both"}) {
      SCOPED_TRACE(std::string(turn) + " " + mirror);
      mark::SmallJob job(picture_of(code));
      expect_where_wanted(
          job.with("artwork.turn", turn).with("artwork.mirror", mirror).with("artwork.around", "3 mm"), code);
    }
  mark::SmallJob standing(picture_of(code));
  expect_where_wanted(standing.with("mount.hold", "standing")
                          .with("workpiece.diameter", "8 mm")
                          .with("artwork.around", "1 mm"),
                      code);
}

}  // namespace
}  // namespace circumfluence::look
