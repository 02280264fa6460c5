// Truth: geometry by hand; times from the closed forms of motion/kinematics.h; tables read back.
#include "calibration/coupon.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

Patch setting(double power, double speed = 2500e-3 / 60) {
  return {.power = power, .speed = speed, .spacing = 1e-4};
}

Coupon sample() {
  Coupon out{.width = 40e-3, .height = 30e-3, .ink = setting(10)};
  out.slots = {{1, setting(2.5), {5e-3, 20e-3, 4e-3, 4e-3}},
               {2, setting(5), {17e-3, 20e-3, 4e-3, 4e-3}},
               {7, {7.5, 1.0 / 60, 0.0, 2, 1e-3, motion::Direction::around}, {29e-3, 20e-3, 4e-3, 2e-3}}};
  return out;
}

void expect_refused(const Coupon& coupon, const char* words) {
  EXPECT_THAT([&] { check(coupon); }, ThrowsMessage<ValidityError>(HasSubstr(words)));
}

TEST(Coupon, IsTakenAsItIs) {
  EXPECT_NO_THROW(check(sample()));
}

TEST(Coupon, SaysWhatIsAmiss) {
  const auto with = [](auto change) {
    Coupon out = sample();
    change(out);
    return out;
  };
  expect_refused(with([](Coupon& c) { c.slots.clear(); }), "no slots");
  expect_refused(with([](Coupon& c) { c.slots[1].number = 1; }), "number 1 stands beside two slots");
  expect_refused(with([](Coupon& c) { c.slots[1].number = 0; }), "number = 0");
  expect_refused(with([](Coupon& c) { c.slots[1].place.x = 8e-3; }), "slot 1 overlaps slot 2");
  expect_refused(with([](Coupon& c) { c.slots[0].place.x = 2e-3, c.slots[0].place.y = 2e-3; }),
                 "a corner mark");
  expect_refused(with([](Coupon& c) { c.slots[0].place.x = 37e-3, c.slots[0].place.y = 10e-3; }),
                 "slot 1 is");
  expect_refused(with([](Coupon& c) { c.slots[0].place.x = std::nan(""); }), "slot 1 is");
  expect_refused(with([](Coupon& c) { c.slots[0].place.width = 0; }), "slot 1 is");
  expect_refused(with([](Coupon& c) { c.slots[2].patch.power = 0; }), "power of slot 7 = 0 W");
  expect_refused(with([](Coupon& c) { c.slots[2].patch.speed = INFINITY; }), "speed of slot 7");
  expect_refused(with([](Coupon& c) { c.slots[2].patch.spacing = -1e-9; }), "spacing of slot 7");
  expect_refused(with([](Coupon& c) { c.slots[2].patch.passes = 101; }), "passes of slot 7 = 101");
  expect_refused(with([](Coupon& c) { c.slots[2].patch.focus_offset = NAN; }), "focus offset of slot 7");
  expect_refused(with([](Coupon& c) { c.ink.spacing = 0; }), "spacing of corner marks and labels");
  expect_refused(with([](Coupon& c) { c.ink = {}; }), "power of corner marks and labels");
  expect_refused(with([](Coupon& c) { c.corner = 16e-3; }), "corner = 16 mm");
  expect_refused(with([](Coupon& c) { c.height = 0; }), "size = 40 x 0 mm");
  expect_refused(with([](Coupon& c) { c.letters = -1e-3; }), "letters = -1 mm");
}

// Neighbours may touch: rounding is no overlap.
TEST(Coupon, SlotsMayTouch) {
  Coupon coupon = sample();
  coupon.slots[1].place.x = 9e-3;
  EXPECT_NO_THROW(check(coupon));
  coupon.slots[0].place = {3e-3, 0, 1e-3, 1e-3};
  EXPECT_NO_THROW(check(coupon));
}

TEST(Coupon, CornerMarksGoCounterClockwise) {
  const Coupon coupon = sample();
  const double places[4][2] = {{0, 0}, {37e-3, 0}, {37e-3, 27e-3}, {0, 27e-3}};
  for (int which = 0; which < 4; ++which) {
    const Rectangle mark = corner_mark(coupon, which);
    EXPECT_NEAR(mark.x, places[which][0], 1e-12);
    EXPECT_NEAR(mark.y, places[which][1], 1e-12);
    EXPECT_EQ(mark.width, 3e-3);
    EXPECT_EQ(mark.height, 3e-3);
  }
}

TEST(Coupon, LabelsSayWhatDiffers) {
  Coupon coupon = sample();
  EXPECT_EQ(label(coupon, coupon.slots[0]), "1: 2.5 W\n2500 mm/min\n1x +0 mm");
  EXPECT_EQ(label(coupon, coupon.slots[2]), "7: 7.5 W\n1000 mm/min\n2x +1 mm");
  coupon.slots.pop_back();
  EXPECT_EQ(label(coupon, coupon.slots[0]), "1: 2.5 W\n2500 mm/min");
  coupon.slots[1].patch.spacing = 8e-5;
  EXPECT_EQ(label(coupon, coupon.slots[1]), "2: 5 W\n2500 mm/min\n0.08 mm");
  coupon.letters = 1.2e-3;
  const Rectangle room = label_place(coupon, coupon.slots[1]);
  EXPECT_DOUBLE_EQ(room.x, 17e-3);
  EXPECT_NEAR(room.height, (1 + 2 * 4.0 / 3) * 1.2e-3, 1e-12);
  EXPECT_NEAR(room.y + room.height, 20e-3 - 0.48e-3, 1e-12);
  EXPECT_NEAR(room.width, (11 * 5.0 - 1) / 6 * 1.2e-3, 1e-12);
}

motion::Scan scan() {
  motion::Scan out;
  out.run_up = 3e-3, out.acceleration = 1, out.speed = 2500e-3 / 60;
  return out;
}

// 40 lines each: v^2 / 2a of way to the full speed within the run-up, a step across, and so on.
TEST(CouponDuration, OfOnePatchByHand) {
  Coupon coupon{.width = 20e-3, .height = 20e-3, .corner = 1e-3, .ink = {10, 0.05, 1e-3}, .letters = 0};
  coupon.slots = {{1, setting(5), {5e-3, 5e-3, 4e-3, 4e-3}}};
  const double a = 1, v = 2500e-3 / 60, ink = 0.05;
  const auto line = [&](double speed, double length) {
    return (length + 6e-3 - speed * speed / a) / speed + 2 * speed / a;
  };
  const double patch = 40 * line(v, 4e-3) + 39 * 2 * std::sqrt(1e-4 / a);
  const double corners = 4 * line(ink, 1e-3);
  const auto go = [&](double x, double y, double speed) {
    const double way = std::hypot(x, y);
    return way < speed * speed / a ? 2 * std::sqrt(way / a)
                                   : (way - speed * speed / a) / speed + 2 * speed / a;
  };
  const double ways = go(18e-3, 1e-3, ink) + go(1e-3, 18e-3, ink) + go(20e-3, 1e-3, ink) + go(4e-3, 15e-3, v);
  EXPECT_NEAR(duration(coupon, scan()), patch + corners + ways, 1e-9);
  coupon.slots[0].patch.passes = 2;
  EXPECT_NEAR(duration(coupon, scan()), 2 * patch + 2 * std::sqrt(1e-4 / a) + corners + ways, 1e-9);
  coupon.slots[0].patch.passes = 1, coupon.slots[0].patch.spacing = 0;
  EXPECT_NEAR(duration(coupon, scan()), line(v, 4e-3) + corners + ways, 1e-9);
}

TEST(CouponDuration, LabelsTakeTime) {
  Coupon coupon = sample();
  const double with = duration(coupon, scan());
  coupon.letters = 0;
  EXPECT_GT(with, duration(coupon, scan()) + 1);
  motion::Scan unknown = scan();
  unknown.acceleration = NAN;
  EXPECT_THAT([&] { (void)duration(coupon, unknown); },
              ThrowsMessage<ValidityError>(HasSubstr("scan.acceleration")));
}

Coupon many(size_t count) {
  Coupon out{.width = 300e-3, .height = 300e-3, .ink = setting(10), .letters = 0};
  for (size_t i = 0; i < count; ++i)
    out.slots.push_back(
        {int(i) + 1,
         setting(5),
         {(4 + 2.5 * double(i % 101)) * 1e-3, (4 + 2.5 * double(i / 101)) * 1e-3, 2e-3, 2e-3}});
  return out;
}

TEST(Coupon, TenThousandPatchesAndNoMore) {
  const Coupon all = many(kMostSlots);
  const Coupon back = parse_coupon(table(all), "t.csv");
  EXPECT_EQ(back.slots.size(), kMostSlots);
  EXPECT_GT(duration(back, scan()), 0);
  expect_refused(many(kMostSlots + 1), "10001 slots");
}

}  // namespace
}  // namespace circumfluence::calibration
