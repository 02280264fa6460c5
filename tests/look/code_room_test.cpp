// Truth: another reader, zbar, that reads codes predicted by the whole road above the limit and not far below
// it.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <memory>

#include "look/code.h"
#include "look/other_reader.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

constexpr int kQuiet = 4, kPixels = 4;

mark::Picture picture_of(const Symbol& code) {
  const int side = (code.columns + 2 * kQuiet) * kPixels;
  mark::Picture out{side, side, std::vector<int>(size_t(side) * size_t(side), 255)};
  for (int y = 0; y < code.rows * kPixels; ++y)
    for (int x = 0; x < code.columns * kPixels; ++x)
      if (code.black(size_t(y / kPixels) * size_t(code.columns) + size_t(x / kPixels)))
        out.tone[size_t(y + kQuiet * kPixels) * size_t(side) + size_t(x + kQuiet * kPixels)] = 0;
  return out;
}

std::string millimetres(double length) {
  char text[40];
  std::snprintf(text, sizeof text, "%.6f mm", length * 1e3);
  return text;
}

std::unique_ptr<mark::SmallJob> with(const char* base, const char* coat, const Symbol& code) {
  auto job = std::make_unique<mark::SmallJob>(picture_of(code));
  if (coat[0] == 0) job->bare(base, "1 mm");
  return job;
}

// The whole road, on the true part, for a code with that module: read by the other reader.
bool predicted(mark::SmallJob& job, const Symbol& code, double module) {
  job.with("artwork.size_axial", millimetres(module * (code.columns + 2 * kQuiet)));
  job.with("grid.cell", millimetres(module / 8));
  const mark::MarkMap map = job.on_a_cold_wall();
  const Skin blocks = skin(map, {.finest = finest_for_codes(map.scene).value(), .threads = 1});
  return reads_otherwise(code_view(map, blocks, find_symbols(map.scene.image).at(0)), code.text);
}

bool contrast_lighter(const Finish& finish) {
  return in_diffuse_light(finish.marked())[0] > in_diffuse_light(finish.ground())[0];
}

// From the limit on, in whole lines, and not at 0.7 of it or less.
void expect_agreement(mark::SmallJob& job, const Symbol& code) {
  job.with("workpiece.diameter", "16 mm");
  const Swatches swatches(mark::prepare(job.job), 10e-6);
  const Finish finish(swatches.scene(), swatches.model());
  const CodeRoom room = code_room(swatches, finish);
  ASSERT_TRUE(std::isfinite(room.least_module));
  const double line = swatches.spacing();
  const int least = int(std::lround(room.least_module / line));
  EXPECT_NEAR(room.least_module, least * line, 1e-9);
  EXPECT_GT(least, 1);  // else there is nothing below
  for (const int lines : {least, least + 1, least + 2})
    EXPECT_TRUE(predicted(job, code, lines * line)) << lines;
  for (int lines = int(0.7 * least); lines > 0; --lines)
    EXPECT_FALSE(predicted(job, code, lines * line)) << lines;
  EXPECT_EQ(room.most_modules % 4, 1);
  EXPECT_NEAR(room.widest, room.most_modules * room.least_module, 1e-9);
  EXPECT_EQ(room.inverted, contrast_lighter(finish));
}

TEST(CodeRooms, AnotherReaderReadsFromTheLimitOnAndNotBelowOnABlackCoat) {
  const Symbol code = qr_code(2);
  const auto job = with("al_6061", "polyester_powder_black", code);
  expect_agreement(job->with("scan.spacing", "0.06 mm").with("scan.speed", "4000 mm/min"), code);
}

TEST(CodeRooms, AnotherReaderReadsFromTheLimitOnAndNotBelowOnCard) {
  const Symbol code = qr_code(2);
  const auto job = with("cardboard", "", code);
  expect_agreement(job->with("scan.spacing", "0.05 mm").with("scan.speed", "6000 mm/min"), code);
}

// A reader takes less than the half that is seen: 47 modules of 0.2 mm would go there.
TEST(CodeRooms, AThinPartTakesFewModules) {
  const auto job = with("birch", "", qr_code(2));
  job->with("workpiece.diameter", "6 mm");
  const Swatches swatches(mark::prepare(job->job), 10e-6);
  const CodeRoom room = code_room(swatches, Finish(swatches.scene(), swatches.model()));
  EXPECT_NEAR(room.least_module, 0.2e-3, 1e-9);
  EXPECT_GE(room.most_modules, 21);
  EXPECT_LT(room.most_modules, 41);
}

TEST(CodeRooms, WhereNothingIsMarkedNothingReads) {
  const auto job = with("aisi_304", "", qr_code(2));
  const Swatches swatches(mark::prepare(job->job), 10e-6);
  const CodeRoom room = code_room(swatches, Finish(swatches.scene(), swatches.model()));
  EXPECT_TRUE(std::isinf(room.least_module));
  EXPECT_EQ(room.most_modules, 0);
}

TEST(CodeRooms, ItCanBeStopped) {
  const auto job = with("birch", "", qr_code(2));
  const Swatches swatches(mark::prepare(job->job), 10e-6);
  const Finish finish(swatches.scene(), swatches.model());
  EXPECT_THROW(code_room(swatches, finish, [](double) { return false; }), quantity::Interrupted);
}

}  // namespace
}  // namespace circumfluence::look
