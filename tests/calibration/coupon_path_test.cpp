// Truth: the path's own words, read back by the reader of tool paths, against the coupon's geometry; v^2/2a; an even
// fill's model for what a whole prediction of the path burns.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "calibration/coupon_drawing.h"
#include "calibration/small_coupon.h"
#include "mark/small_job.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "window/ends.h"

namespace circumfluence::calibration {
namespace {

using mark::SmallJob;
using motion::Direction;
using motion::Move;
using quantity::JobError;
using testing::HasSubstr;

job::Job with_words(job::Job job, double full = 1000) {
  job.path.full_power_word = full;
  return job;
}

// In the coupon's plane, as it lies on the part.
std::vector<Move> moves(const std::string& text, const job::Job& job, motion::PathPoint corner = {}) {
  motion::PathFile how = job.path;
  if (std::isnan(how.axial)) how.axial = 0;
  how.driven_diameter = job.workpiece.diameter;
  how.rapids_dark = false;  // a rapid with the beam on would show
  std::vector<Move> out;
  motion::parse_path(text, "coupon.ngc", how, [&](const Move& move) {
    out.push_back(move);
    for (motion::PathPoint* point : {&out.back().from, &out.back().to})
      point->axial -= corner.axial, point->around -= corner.around;
    return true;
  });
  return out;
}

bool lit_in(const Move& move, const Rectangle& place) {
  return move.power > 0 && within(place, move.from.axial, move.from.around) &&
         within(place, move.to.axial, move.to.around);
}

std::vector<Move> lit_in(const std::vector<Move>& all, const Rectangle& place) {
  std::vector<Move> out;
  std::copy_if(all.begin(), all.end(), std::back_inserter(out), [&](const Move& m) { return lit_in(m, place); });
  return out;
}

bool anywhere(const Coupon& coupon, const Move& move) {
  for (int i = 0; i < 4; ++i)
    if (lit_in(move, corner_mark(coupon, i))) return true;
  return std::any_of(coupon.slots.begin(), coupon.slots.end(), [&](const Slot& slot) {
    return lit_in(move, slot.place) || lit_in(move, label_place(coupon, slot));
  });
}

// Lines of a slot by their place across, against what its spacing and size say.
void expect_lines(const Slot& slot, const std::vector<Move>& burnt, double rated) {
  SCOPED_TRACE(slot.number);
  const Patch& patch = slot.patch;
  const bool axial = patch.direction == Direction::axial;
  const Rectangle& at = slot.place;
  const double along = axial ? at.x : at.y, length = axial ? at.width : at.height;
  const double across = axial ? at.y : at.x, breadth = axial ? at.height : at.width;
  const int lines = patch.is_line() ? 1 : static_cast<int>(breadth / patch.spacing + 1e-6);
  ASSERT_EQ(burnt.size(), size_t(lines * patch.passes));
  for (size_t i = 0; i < burnt.size(); ++i) {
    const Move& move = burnt[i];
    const double middle = (lines - 1) / 2.0;
    const double place = across + breadth / 2 + (double(i % size_t(lines)) - middle) * patch.spacing;
    EXPECT_NEAR(axial ? move.from.around : move.from.axial, place, 1e-7);
    EXPECT_NEAR(axial ? move.to.around : move.to.axial, place, 1e-7);
    const double from = axial ? move.from.axial : move.from.around, to = axial ? move.to.axial : move.to.around;
    EXPECT_NEAR(std::min(from, to), along, 1e-7);
    EXPECT_NEAR(std::max(from, to), along + length, 1e-7);
    EXPECT_NEAR(move.power, patch.power / rated, 1e-6);
    EXPECT_NEAR(move.speed, patch.speed, 1e-6 * patch.speed);
    EXPECT_NEAR(move.from.height, patch.focus_offset, 1e-9);
    EXPECT_EQ(move.to.height, move.from.height);
    EXPECT_EQ(move.kind, Move::Kind::feed);
  }
}

void expect_coupon(const Coupon& coupon, const std::vector<Move>& all, double rated = 10) {
  for (const Slot& slot : coupon.slots) expect_lines(slot, lit_in(all, slot.place), rated);
  for (const Move& move : all) {
    if (!(move.power > 0)) continue;
    EXPECT_TRUE(anywhere(coupon, move)) << "line " << move.line;
    EXPECT_EQ(move.kind, Move::Kind::feed) << "line " << move.line;
    EXPECT_FALSE(move.darkened);
    const auto lies_in = [&](const Slot& slot) { return lit_in(move, slot.place); };
    if (std::any_of(coupon.slots.begin(), coupon.slots.end(), lies_in)) continue;
    EXPECT_NEAR(move.power, coupon.ink.power / rated, 1e-6);
    EXPECT_NEAR(move.speed, coupon.ink.speed, 1e-6 * coupon.ink.speed);
  }
}

TEST(CouponPath, ReadBackItBurnsThePatches) {
  const SmallJob small;
  for (const double full : {1.0, 255.0, 1000.0, 1e6})
    expect_coupon(small_coupon(),
                  moves(path_text(small_coupon(), with_words(small.job, full)), with_words(small.job, full)));
}

TEST(CouponPath, OneWayLinesAllRunForth) {
  SmallJob small;
  small.with("scan.two_way", "false");
  const std::vector<Move> all = moves(path_text(small_coupon(), with_words(small.job)), with_words(small.job));
  expect_coupon(small_coupon(), all);
  for (const Move& move : lit_in(all, small_coupon().slots[0].place)) EXPECT_LT(move.from.axial, move.to.axial);
  const job::Job two_way = with_words(SmallJob().job);
  const std::vector<Move> both =
      lit_in(moves(path_text(small_coupon(), two_way), two_way), small_coupon().slots[0].place);
  EXPECT_LT(both[0].from.axial, both[0].to.axial);
  EXPECT_GT(both[1].from.axial, both[1].to.axial);
}

TEST(CouponPath, LinesComeInTheJobsOrder) {
  SmallJob small;
  small.with("scan.interleave", "7");
  const Slot slot = small_coupon().slots[0];
  const std::vector<Move> burnt =
      lit_in(moves(path_text(small_coupon(), with_words(small.job)), with_words(small.job)), slot.place);
  ASSERT_EQ(burnt.size(), 30u);
  EXPECT_NEAR(burnt[1].from.around - burnt[0].from.around, 0.7e-3, 1e-7);
  EXPECT_NEAR(burnt[5].from.around - burnt[0].from.around, 0.1e-3, 1e-7);  // 0, 7, 14, 21, 28; 1
}

TEST(CouponPath, MiddleOfTheFirstCornerMarkStaysBlank) {
  const SmallJob small;
  const Coupon coupon = small_coupon();
  const std::vector<Move> all = moves(path_text(coupon, with_words(small.job)), with_words(small.job));
  double lit[4];
  for (int i = 0; i < 4; ++i) {
    lit[i] = 0;
    for (const Move& move : lit_in(all, corner_mark(coupon, i))) lit[i] += move.length();
  }
  EXPECT_NEAR(lit[1], 30 * 3e-3, 1e-6);
  EXPECT_NEAR(lit[2], lit[1], 1e-6);
  EXPECT_NEAR(lit[3], lit[1], 1e-6);
  EXPECT_NEAR(lit[0], lit[1] * 8 / 9, 1e-6);
  const Rectangle blank{1e-3 + 1e-6, 1e-3 + 1e-6, 1e-3 - 2e-6, 1e-3 - 2e-6};
  for (const Move& move : all)
    EXPECT_FALSE(move.power > 0 && within(blank, move.at(0.5).axial, move.at(0.5).around, 0)) << move.line;
}

// Dark, straight on to the line, at its speed, and long enough; and dark again after it.
TEST(CouponPath, LinesAreRunUpTo) {
  SmallJob small;
  small.with("scan.run_up", "0.2 mm");
  const Coupon coupon = small_coupon();
  const std::vector<Move> all = moves(path_text(coupon, with_words(small.job)), with_words(small.job));
  int seen = 0;
  for (size_t i = 1; i + 1 < all.size(); ++i)
    for (const Slot& slot : coupon.slots) {
      if (!lit_in(all[i], slot.place)) continue;
      const double needed = std::max(0.2e-3, slot.patch.speed * slot.patch.speed / 2 / 1.0);
      for (const Move* dark : {&all[i - 1], &all[i + 1]}) {
        EXPECT_EQ(dark->power, 0);
        EXPECT_EQ(dark->kind, Move::Kind::feed);
        EXPECT_GE(dark->length(), needed - 1e-7);
        EXPECT_NEAR(dark->speed, slot.patch.speed, 1e-6 * slot.patch.speed);
        const bool axial = slot.patch.direction == Direction::axial;
        EXPECT_EQ(axial ? dark->from.around : dark->from.axial, axial ? dark->to.around : dark->to.axial);
      }
      ++seen;
    }
  EXPECT_EQ(seen, 30 + 2 * 42 + 16 + 1 + 3);
}

job::Job on_the_part(const char* words) {
  SmallJob small;
  std::string text(mark::kSmallJob);
  text.replace(text.find("[artwork]"), text.find("[scan]") - text.find("[artwork]"), "");
  text += std::string(
              "[machine]\naxial_speed = \"6000 mm/min\"\naround_speed = \"6000 mm/min\"\naxial_acceleration = \"1000 "
              "mm/s^2\"\n"
              "around_acceleration = \"1000 mm/s^2\"\n[path]\nfile = \"coupon.ngc\"\nfull_power_word = 1000\n") +
          words;
  return job::parse_job(text, "strip.toml", small.folder.path.string());
}

TEST(CouponPath, OnAStripItBeginsAtThePathsZero) {
  for (const char* words : {"axial = \"2 mm\"\n", "axial = \"2 mm\"\naround = \"-5 mm\"\nturn = \"a\"\n",
                            "axial = \"3 mm\"\nalong = \"y\"\nturn = \"x\"\n"}) {
    SCOPED_TRACE(words);
    const job::Job job = on_the_part(words);
    const std::string text = path_text(small_coupon(Ground::strip), job);
    expect_coupon(small_coupon(Ground::strip), moves(text, job, {job.path.axial, job.path.around}));
  }
}

TEST(CouponPath, OnAStripItBeginsWhereTheArtDoes) {
  SmallJob small;
  small.with("workpiece.length", "80 mm").with("artwork.around", "7 mm");  // art of 4 x 3 mm about 20 mm, 7 mm
  const job::Job job = with_words(small.job);
  const std::string text = path_text(small_coupon(Ground::strip), job);
  expect_coupon(small_coupon(Ground::strip), moves(text, job));  // the zero is the corner
  job::Job zeroed = job;
  zeroed.path.axial = 0;
  expect_coupon(small_coupon(Ground::strip),
                moves(path_text(small_coupon(Ground::strip), zeroed), zeroed, {18e-3, 5.5e-3}));
}

TEST(CouponPath, AFeedThatRunsAgainstTheSurfaceIsMirrored) {
  job::Job job = on_the_part("axial = \"2 mm\"\n");
  job.mount.mouth = motion::End::end, job.mount.mouth_faces = motion::Toward::right;
  job.mount.axial_feed = motion::Toward::left, job.mount.around_feed = motion::Toward::back;
  const Coupon coupon = small_coupon(Ground::strip);
  std::vector<Move> all = moves(path_text(coupon, job), job, {job.path.axial, job.path.around});
  const std::vector<Move> unturned = lit_in(all, coupon.slots[0].place);
  EXPECT_NE(unturned.size(), 30u);
  for (Move& move : all)
    move.from.axial = coupon.width - move.from.axial, move.to.axial = coupon.width - move.to.axial;
  expect_coupon(coupon, all);
}

// All lines along the axis and no letters, which turn both ways: nothing is burnt with slack in the drive, nothing
// lit that should not be.
TEST(CouponPath, ChecksOfToolPathsFindNothing) {
  Coupon coupon = small_coupon(Ground::strip);
  coupon.letters = 0;
  for (Slot& slot : coupon.slots) slot.patch.direction = Direction::axial, slot.patch.focus_offset = 0;
  const job::Job job = on_the_part("axial = \"2 mm\"\n");
  motion::PathCheck check(
      {.length = job.workpiece.length, .turn = quantity::kPi * job.workpiece.diameter, .machine = job.machine});
  const auto notes = motion::parse_path(path_text(coupon, job), "coupon.ngc", job.path, [&](const Move& move) {
    check.take(move);
    return true;
  });
  EXPECT_TRUE(notes.ended);
  EXPECT_EQ(notes.beam_on, 0);
  EXPECT_TRUE(notes.ignored.empty());
  for (const motion::Finding& finding : check.finish(notes))
    EXPECT_EQ(finding.kind, motion::Finding::Kind::second_turn) << words(finding);
}

TEST(CouponPath, WordsSayTheHabitOfPower) {
  SmallJob small;
  EXPECT_THAT(path_text(small_coupon(), with_words(small.job)), HasSubstr("\nM4 S0\n"));
  small.with("scan.power_habit", "constant");
  EXPECT_THAT(path_text(small_coupon(), with_words(small.job)), HasSubstr("\nM3 S0\n"));
  job::Job other = with_words(small.job);
  other.path.m3_follows_speed = true, other.path.m4_follows_speed = false;
  EXPECT_THAT(path_text(small_coupon(), other), HasSubstr("\nM4 S0\n"));
}

template <class Work>
std::string refused(const Work& work) {
  try {
    work();
  } catch (const JobError& error) {
    return error.problem();
  }
  return "not refused";
}

TEST(CouponPath, WhatTheJobLacksIsNamed) {
  const SmallJob small;
  EXPECT_THAT(refused([&] { path_text(small_coupon(), small.job); }), HasSubstr("path.full_power_word is missing"));
  job::Job job = with_words(small.job);
  job.scan.run_up = job.scan.acceleration = quantity::kUnset;
  EXPECT_THAT(refused([&] { path_text(small_coupon(), job); }), HasSubstr("scan.run_up is missing"));
  Coupon strong = small_coupon();
  strong.slots[1].patch.power = 10.1;
  EXPECT_THAT(refused([&] { path_text(strong, with_words(small.job)); }), HasSubstr("power of slot 2 = 10.1 W"));
  Coupon fast = small_coupon(Ground::strip);
  fast.slots[0].patch.speed = 0.2;
  EXPECT_THAT(refused([&] { path_text(fast, on_the_part("axial = \"2 mm\"\n")); }), HasSubstr("machine.axial_speed"));
  EXPECT_THAT(refused([&] { path_text(small_coupon(Ground::strip), on_the_part("axial = \"10 mm\"\n")); }),
              HasSubstr("coupon from 10 mm to 46 mm along the part"));
  Coupon fine = small_coupon();
  fine.slots[0].patch.spacing = 1e-9;
  EXPECT_THAT(refused([&] { path_text(fine, with_words(small.job)); }), HasSubstr("expected fewer"));
}

// Share of the middle of a slot that came out so.
double share(const mark::MarkMap& map, const Rectangle& place, const motion::PathPoint& corner, int outcome) {
  int all = 0, such = 0;
  for (int row = 0; row < map.surface.around; ++row)
    for (int i = 0; i < map.surface.axial; ++i) {
      const double x = map.surface.axial_from + (i + 0.5) * map.surface.cell_axial - corner.axial;
      const double y = map.surface.around_from + (row + 0.5) * map.surface.cell_around - corner.around;
      if (!within(place, x, y, -0.25e-3)) continue;
      ++all, such += map.maps.outcome.row(row)[i] == outcome;
    }
  return all == 0 ? 0 : double(such) / all;
}

TEST(CouponPath, APredictionOfItBurnsWhatTheModelExpects) {
  mark::TestFolder folder;
  job::Job job = on_the_part("axial = \"10 mm\"\n");
  job.folder = folder.path.string(), job.workpiece.base = "aisi_304";
  Coupon coupon{.ground = Ground::strip,
                .width = 12e-3,
                .height = 4e-3,
                .corner = 1e-3,
                .ink = {.power = 6, .speed = 0.04, .spacing = 0.1e-3},
                .letters = 0,
                .slots = {}};
  const mark::Scene plain = mark::prepare(SmallJob().with("workpiece.base", "aisi_304").job);
  const double speed = 20e-3;
  const window::Ends ends = window::Look(plain, window::place_of(plain, {0.1e-3, 0, 1}), speed).ends();
  ASSERT_LT(ends.marks * 1.2, ends.burns / 1.2);
  ASSERT_LT(ends.burns * 1.08, 10);
  const double powers[4] = {ends.begins / 1.1, std::sqrt(ends.begins * ends.marks), ends.marks * 1.15,
                            ends.burns * 1.08};
  for (int i = 0; i < 4; ++i)
    coupon.slots.push_back({i + 1,
                            {.power = powers[i], .speed = speed, .spacing = 0.1e-3},
                            {1.5e-3 + 2.4e-3 * i, 1.2e-3, 1.8e-3, 1.6e-3}});
  write_path(folder.file("coupon.ngc"), coupon, job);
  mark::Request request;
  request.keep = true, request.warming = false, request.threads = 2;
  const mark::MarkMap map = mark::predict(job, request);
  const motion::PathPoint corner{10e-3, 0, 0};
  EXPECT_GT(share(map, coupon.slots[0].place, corner, 0), 0.99);
  EXPECT_GT(share(map, coupon.slots[1].place, corner, 1), 0.99);
  EXPECT_GT(share(map, coupon.slots[2].place, corner, 2), 0.99);
  EXPECT_GT(share(map, coupon.slots[3].place, corner, 3), 0.2);
  EXPECT_EQ(share(map, coupon.slots[2].place, corner, 3), 0);
}

}  // namespace
}  // namespace circumfluence::calibration
