// Truth: the laws of the header written out again, a cell at a time in double precision; factors on power by
// bisection over the laws at that power.
#include "response/row.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

namespace circumfluence::response {
namespace {

struct Event {
  double energy, share, warmth, threshold;
};

struct Cell {
  double fluence = 0, removed = 0, rise = 0;
};

Cell by_hand(const std::vector<Event>& events, const Film& film, double power = 1) {
  Cell cell;
  for (const Event& e : events) {
    const double fluence = power * e.energy * e.share, a = film.absorptivity * fluence;
    const double standing = film.thickness - cell.removed;
    cell.fluence += fluence;
    double spent = 0;  // absorbed before the base lies bare
    if (standing > 1e-6 * film.need) {
      const bool steady = film.law == RemovalLaw::steady;
      const double whole =
          steady ? e.threshold + standing * film.energy : e.threshold * std::exp(standing / film.depth);
      const double part = a > e.threshold ? (steady ? (a - e.threshold) / film.energy
                                                    : film.depth * std::log(a / e.threshold))
                                          : 0;
      cell.removed = a >= whole ? film.thickness : cell.removed + part;
      spent = std::min(a, whole);
    }
    cell.rise = std::max(cell.rise, (a - spent) / a * power * e.energy * e.warmth);
  }
  return cell;
}

// Thickness taken off by all events when there is always some left.
double taken(const std::vector<Event>& events, const Film& film, double power) {
  double sum = 0;
  for (const Event& e : events) {
    const double a = power * film.absorptivity * e.energy * e.share;
    if (a > e.threshold)
      sum += film.law == RemovalLaw::steady ? (a - e.threshold) / film.energy
                                            : film.depth * std::log(a / e.threshold);
  }
  return sum;
}

// The least power at which `enough` holds, which must stay true above it.
double least_power(const std::function<bool(double)>& enough) {
  double low = 1e-6, high = 1e9;
  for (int i = 0; i < 200; ++i) {
    const double middle = std::sqrt(low * high);
    (enough(middle) ? high : low) = middle;
  }
  return high;
}

Row run(const std::vector<Event>& events, const Film* film, double limit, bool uniform = true) {
  Row row(3, film, static_cast<float>(limit));
  row.clear(row.columns());
  for (const Event& e : events) {
    const float energy = static_cast<float>(e.energy), share = static_cast<float>(e.share);
    const float warmth = static_cast<float>(e.warmth), threshold = static_cast<float>(e.threshold);
    const std::vector<float> energies(3, energy), shares(3, share), warmths(3, warmth),
        thresholds(3, threshold);
    row.pass({energies.data(), energies.data(), shares.data(), warmths.data(), thresholds.data(), uniform, warmths.data()});
  }
  return row;
}

rc::Gen<double> between(double low, double high) {
  return rc::gen::map(rc::gen::inRange(0, 1'000'001),
                      [=](int i) { return low * std::pow(high / low, i * 1e-6); });
}

struct Case {
  std::vector<Event> events;
  Film film;
  double limit;
};

Case any_case(RemovalLaw law) {
  Case c;
  c.film = {law,    static_cast<float>(*between(0.1, 1)),     static_cast<float>(*between(1e-5, 1e-4)),
            3.3e9f, static_cast<float>(*between(2e-6, 2e-5)), 0, 0.002f};
  c.film.need = 0.98f * c.film.thickness;
  c.limit = *between(100, 1e4);
  const int count = *rc::gen::inRange(1, 9);
  const double threshold = *between(5e3, 5e4);
  for (int i = 0; i < count; ++i)
    c.events.push_back(
        {*between(1, 400), *between(50, 2e4), *between(0.3, 30), threshold * *between(0.95, 1.05)});
  return c;
}

double largest_threshold(const Case& c) {
  double most = 0;
  for (const Event& e : c.events) most = std::max(most, e.threshold);
  return most;
}

void same_as_by_hand(const Case& c, bool uniform) {
  const Row row = run(c.events, &c.film, c.limit, uniform);
  const Cell cell = by_hand(c.events, c.film);
  RC_ASSERT(std::abs(row.fluence()[1] - cell.fluence) <= 1e-5 * cell.fluence);
  RC_ASSERT(std::abs(c.film.thickness - row.left()[1] - cell.removed) <= 1e-5 * c.film.thickness);
  double scale = 0;  // of rounding where the surplus is a small difference
  for (const Event& e : c.events) scale = std::max(scale, e.energy * e.warmth);
  RC_ASSERT(std::abs(row.rise()[1] - cell.rise) <= 3e-5 * scale);
}

RC_GTEST_PROP(Row, SteadyLawAndSurplus, ()) {
  same_as_by_hand(any_case(RemovalLaw::steady), *rc::gen::arbitrary<bool>());
}

RC_GTEST_PROP(Row, BlowOffLawAndSurplus, ()) {
  same_as_by_hand(any_case(RemovalLaw::blow_off), *rc::gen::arbitrary<bool>());
}

void mark_factor_is_close(const Case& c, double bound) {
  std::vector<float> out(3);
  run(c.events, &c.film, c.limit).mark_factor(out);
  const double truth = least_power([&](double f) { return taken(c.events, c.film, f) >= c.film.need; });
  if (truth > 1e6) return;  // near the ends of float
  RC_ASSERT(out[0] >= truth * (1 - 1e-4));
  RC_ASSERT(out[0] <= truth * (1 + bound + 1e-4));
}

RC_GTEST_PROP(Row, MarkFactorWithinItsBound, ()) {
  const Case c = any_case(RemovalLaw::steady);
  const double most = largest_threshold(c), others = double(c.events.size()) - 1;
  mark_factor_is_close(c, others * most / (double(c.film.need) * c.film.energy + most));
}

// Lines of equal power, a spacing apart, pass one after the other at whatever distance the cell lies.
RC_GTEST_PROP(Row, MarkFactorInRasters, ()) {
  Case c = any_case(RemovalLaw::steady);
  c.events.clear();
  const double spacing = *between(0.75, 4), shift = *between(0.01, 1), power = *between(1, 400),
               threshold = *between(3e3, 3e4);
  for (double y = -6 + shift * spacing; y < 6; y += spacing)
    c.events.push_back({power, 2e4 * std::exp(-2 * y * y), 1, threshold});
  if (c.events.empty()) return;
  mark_factor_is_close(c, 0.04);
}

RC_GTEST_PROP(Row, MarkFactorIsExactWhenEventsComeInFallingOrder, ()) {
  Case c = any_case(*rc::gen::element(RemovalLaw::steady, RemovalLaw::blow_off));
  std::sort(c.events.begin(), c.events.end(), [](const Event& a, const Event& b) {
    return a.energy * a.share / a.threshold > b.energy * b.share / b.threshold;
  });
  mark_factor_is_close(c, 0);
}

// The film is taken as it stands at the power given, so the answer is on the right side of 1 always, exact
// where the film is gone or the base is reached at that power, and never above the factor of the line alone
// plus what frees the base.
RC_GTEST_PROP(Row, OverFactor, ()) {
  const Case c = any_case(*rc::gen::element(RemovalLaw::steady, RemovalLaw::blow_off));
  std::vector<float> out(3);
  run(c.events, &c.film, c.limit).over_factor(out);
  const double truth = least_power([&](double f) { return by_hand(c.events, c.film, f).rise >= c.limit; });
  const double now = by_hand(c.events, c.film).rise;
  if (std::abs(now / c.limit - 1) > 1e-3) RC_ASSERT((out[0] <= 1) == (now >= c.limit));
  if (out[0] > 1) RC_ASSERT(out[0] >= truth * (1 - 1e-3));
  if (out[0] < 1) RC_ASSERT(out[0] <= truth * (1 + 1e-3));
  double bare = 1e30;
  for (const Event& e : c.events) bare = std::min(bare, c.limit / (e.energy * e.warmth));
  RC_ASSERT(truth >= bare * (1 - 1e-6));
}

RC_GTEST_PROP(Row, OverFactorOfASingleEventIsExact, ()) {
  Case c = any_case(RemovalLaw::steady);
  c.events.resize(1);
  std::vector<float> out(3);
  run(c.events, &c.film, c.limit).over_factor(out);
  const double truth = least_power([&](double f) { return by_hand(c.events, c.film, f).rise >= c.limit; });
  RC_ASSERT(std::abs(out[0] / truth - 1) < 1e-4);
}

RC_GTEST_PROP(Row, BareBaseKeepsItsHighestRise, ()) {
  const Case c = any_case(RemovalLaw::steady);
  const Row row = run(c.events, nullptr, c.limit, *rc::gen::arbitrary<bool>());
  double rise = 0, fluence = 0;
  for (const Event& e : c.events) {
    rise = std::max(rise, e.energy * e.warmth);
    fluence += e.energy * e.share;
  }
  std::vector<float> over(3);
  row.over_factor(over);
  RC_ASSERT(std::abs(row.rise()[2] / rise - 1) < 1e-6);
  RC_ASSERT(std::abs(row.centre()[2] / rise - 1) < 1e-6);
  RC_ASSERT(std::abs(row.fluence()[2] / fluence - 1) < 1e-5);
  RC_ASSERT(std::abs(over[0] * rise / c.limit - 1) < 1e-5);
}

RC_GTEST_PROP(Row, MorePowerNeverRemovesLessNorWarmsLess, ()) {
  Case c = any_case(*rc::gen::element(RemovalLaw::steady, RemovalLaw::blow_off));
  const Row before = run(c.events, &c.film, c.limit);
  for (Event& e : c.events) e.energy *= 1.3;
  const Row after = run(c.events, &c.film, c.limit);
  RC_ASSERT(after.left()[0] <= before.left()[0] + 1e-6f * c.film.thickness);
  RC_ASSERT(after.rise()[0] >= before.rise()[0] * (1 - 1e-4f));
}

TEST(Row, ADistantEventWarmsOnlyWhatLiesBare) {
  const Film film{RemovalLaw::steady, 0.9f, 60e-6f, 3.3e9f, 5e-6f, 58.8e-6f, 0.002f};
  const Event strong{200, 1e4, 5, 1e4}, distant{200, 0, 1, 1e4};
  EXPECT_EQ(run({distant}, &film, 500).rise()[0], 0);
  EXPECT_NEAR(run({strong, distant}, &film, 500).rise()[0], run({strong}, &film, 500).rise()[0], 1e-3);
  const Event weak_but_through{300, 2e3, 0.1, 1e4};
  EXPECT_NEAR(run({weak_but_through, distant}, &film, 500).rise()[0], 200, 1e-2);
}

TEST(Row, NoLightNoFactor) {
  const Film film{RemovalLaw::steady, 0.9f, 60e-6f, 3.3e9f, 5e-6f, 58.8e-6f, 0.002f};
  std::vector<float> out(3);
  const Row row = run({{0, 1e4, 5, 1e4}}, &film, 500);
  row.mark_factor(out);
  EXPECT_TRUE(std::isinf(out[0]));
  row.over_factor(out);
  EXPECT_TRUE(std::isinf(out[0]));
  EXPECT_EQ(row.left()[0], film.thickness);
}

TEST(Row, ClearForgetsThePreviousRow) {
  const Film film{RemovalLaw::steady, 0.9f, 60e-6f, 3.3e9f, 5e-6f, 58.8e-6f, 0.002f};
  Row row = run({{200, 1e4, 5, 1e4}}, &film, 500);
  row.clear(row.columns());
  std::vector<float> out(3);
  row.mark_factor(out);
  EXPECT_TRUE(std::isinf(out[1]));
  EXPECT_EQ(row.fluence()[1], 0);
  EXPECT_EQ(row.left()[1], film.thickness);
  EXPECT_EQ(row.rise()[1], 0);
}

}  // namespace
}  // namespace circumfluence::response
