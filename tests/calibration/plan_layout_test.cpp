// Truth: geometry, over random requests.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <set>

#include "calibration/plan.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

const mark::Scene& scene() {
  static const mark::SmallJob job;
  static const mark::Scene out = mark::prepare(job.job);
  return out;
}

bool apart(const Rectangle& a, const Rectangle& b, double gap) {
  return a.x + a.width + gap <= b.x + 1e-9 || b.x + b.width + gap <= a.x + 1e-9 ||
         a.y + a.height + gap <= b.y + 1e-9 || b.y + b.height + gap <= a.y + 1e-9;
}

// All that is burnt: corner marks with their quiet zone, slots, labels.
void expect_apart(const Coupon& coupon) {
  check(coupon);
  std::vector<Rectangle> slots, texts;
  for (const Slot& slot : coupon.slots) {
    slots.push_back(slot.place);
    texts.push_back(label_place(coupon, slot));
    const Rectangle& text = texts.back();
    RC_ASSERT(text.x >= -1e-9 && text.y >= 0.2e-3 && text.x + text.width <= coupon.width + 1e-9);
    RC_ASSERT(text.y + text.height <= slot.place.y);
  }
  for (size_t i = 0; i < slots.size(); ++i) {
    for (size_t j = 0; j < slots.size(); ++j) {
      RC_ASSERT(i == j || apart(slots[i], slots[j], 0.9e-3));
      RC_ASSERT(i == j || apart(texts[i], texts[j], 0));
      RC_ASSERT(apart(slots[i], texts[j], 0));
    }
    for (int which = 0; which < 4; ++which) {
      RC_ASSERT(apart(slots[i], corner_mark(coupon, which), 1.5e-3));
      RC_ASSERT(apart(texts[i], corner_mark(coupon, which), 1.4e-3));
    }
  }
}

Patch any_patch() {
  return {.power = *rc::gen::element(0.5, 2.5, 7.5, 10.0),
          .speed = *rc::gen::element(1000.0, 2500.0) / 60e3,
          .spacing = *rc::gen::element(0.0, 5e-5, 1e-4),
          .passes = *rc::gen::element(1, 1, 2),
          .focus_offset = *rc::gen::element(0.0, 0.0, -1e-3, 2.5e-3),
          .direction = motion::Direction(*rc::gen::inRange(0, 2))};
}

RC_GTEST_PROP(LayOut, NothingOverlaps, ()) {
  std::vector<Patch> patches(size_t(*rc::gen::inRange(1, 40)));
  for (Patch& patch : patches) patch = any_patch();
  PlanRequest request;
  request.width = *rc::gen::inRange(35, 120) * 1e-3, request.height = *rc::gen::inRange(20, 90) * 1e-3;
  request.side = *rc::gen::inRange(2, 8) * 1e-3;
  const Coupon coupon = lay_out(scene(), patches, request);
  expect_apart(coupon);
  RC_ASSERT(coupon.width <= request.width + 1e-9 && coupon.height <= request.height + 1e-9);
  RC_ASSERT(coupon.slots.size() <= patches.size());
  // The first ones, whatever their places.
  std::multiset<double> wanted, found;
  for (size_t i = 0; i < coupon.slots.size(); ++i) {
    wanted.insert(patches[i].power * 1e3 + patches[i].speed),
        found.insert(coupon.slots[i].patch.power * 1e3 + coupon.slots[i].patch.speed);
  }
  RC_ASSERT(wanted == found);
  for (size_t i = 0; i < coupon.slots.size(); ++i) RC_ASSERT(coupon.slots[i].number == int(i) + 1);
}

Patch at(double power, double speed) {
  return {.power = power, .speed = speed / 60e3, .spacing = 1e-4};
}

TEST(LayOut, RowsOfOneSpeedPowersRising) {
  const Coupon coupon =
      lay_out(scene(), {at(7, 2500), at(5, 1000), at(6, 2500), at(3, 1000), at(4, 2500)}, {});
  ASSERT_EQ(coupon.slots.size(), 5u);
  const double powers[] = {3, 5, 4, 6, 7};
  for (size_t i = 0; i < 5; ++i) EXPECT_EQ(coupon.slots[i].patch.power, powers[i]);
  EXPECT_EQ(coupon.slots[0].place.y, coupon.slots[1].place.y);
  EXPECT_LT(coupon.slots[2].place.y, coupon.slots[1].place.y - 4e-3);
  EXPECT_LT(coupon.slots[2].place.x, coupon.slots[3].place.x);
  EXPECT_EQ(coupon.slots[0].place.x, coupon.slots[2].place.x);
  EXPECT_EQ(coupon.letters, 1.8e-3);
}

// Few fit: those that come first.
TEST(LayOut, KeepsTheFirstThatFit) {
  std::vector<Patch> patches;
  for (int i = 0; i < 30; ++i) patches.push_back(at(1 + 0.3 * i, 2500));
  PlanRequest request;
  request.width = 40e-3, request.height = 20e-3;
  const Coupon coupon = lay_out(scene(), patches, request);
  EXPECT_LT(coupon.slots.size(), 10u);
  EXPECT_EQ(coupon.slots.front().patch.power, 1);
  EXPECT_EQ(coupon.letters, 0.8e-3);
  request.width = 15e-3;
  EXPECT_THAT([&] { (void)lay_out(scene(), patches, request); },
              ThrowsMessage<ValidityError>(HasSubstr("not one patch")));
  request.width = NAN;
  EXPECT_THAT([&] { (void)lay_out(scene(), patches, request); },
              ThrowsMessage<ValidityError>(HasSubstr("width")));
  EXPECT_THAT([&] { (void)lay_out(scene(), {}, {}); }, ThrowsMessage<ValidityError>(HasSubstr("no patches")));
}

TEST(LayOut, KeepsToATime) {
  std::vector<Patch> patches;
  for (int i = 0; i < 12; ++i) patches.push_back(at(2 + 0.5 * i, 1000));
  PlanRequest request;
  const double whole = duration(lay_out(scene(), patches, request), scene().job.scan);
  request.duration = 0.6 * whole;
  const Coupon less = lay_out(scene(), patches, request);
  EXPECT_LE(duration(less, scene().job.scan), request.duration);
  EXPECT_GT(less.slots.size(), 3u);
  EXPECT_LT(less.slots.size(), 12u);
  request.duration = 1;
  EXPECT_THAT([&] { (void)lay_out(scene(), patches, request); },
              ThrowsMessage<ValidityError>(HasSubstr("and 1 s")));
}

TEST(LayOut, TenThousandFindTheirPlaces) {
  std::vector<Patch> patches;
  for (int i = 0; i < 12000; ++i) patches.push_back(at(1 + 1e-3 * i, 500 + i / 100));
  PlanRequest request;
  for (const double size : {60e-3, 3.0}) {
    request.width = request.height = size;
    const Coupon coupon = lay_out(scene(), patches, request);
    EXPECT_GT(coupon.slots.size(), size < 1 ? 10u : 9000u);
  }
}

}  // namespace
}  // namespace circumfluence::calibration
