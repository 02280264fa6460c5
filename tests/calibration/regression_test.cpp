// Truth: Liu 1982 and the fluence of a Gaussian line in closed form; check values worked out and inverted by
// an independent script (the same as in validation/exact/squared_width.toml). Errors against the scatter of
// many simulated ladders.
#include "calibration/regression.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr double kRadius = 40e-6, kThreshold = 5e4, kSpeed = 41.667e-3;  // [m], [J/m^2], [m/s]

// [m] of a line of the Gaussian beam at a power.
double width_of(double power) {
  const double peak = std::sqrt(2 / std::numbers::pi) * power / (kSpeed * kRadius);
  return 2 * kRadius * std::sqrt(std::log(peak / kThreshold) / 2);
}

std::vector<LineWidth> ladder(int count, double low = 0.2, double high = 5) {
  std::vector<LineWidth> out;
  for (int i = 0; i < count; ++i) {
    const double power = low * std::pow(high / low, double(i) / (count - 1));
    out.push_back({power / kSpeed, width_of(power)});
  }
  return out;
}

TEST(SquaredWidth, PulsesGiveTheCheckValues) {
  const std::vector<LineWidth> pulses = {{20e-6, 19.5609e-6}, {50e-6, 39.0895e-6}, {200e-6, 57.1039e-6}};
  const SquaredWidth fit = squared_width(pulses, Exposed::pulses);
  EXPECT_NEAR(fit.radius.value * 1e6, 25.0, 1e-4);
  EXPECT_NEAR(fit.threshold.value * 1e-4, 1.5, 1e-5);
  EXPECT_NEAR(fit.threshold_energy.value, 1.5e4 * std::numbers::pi * 25e-6 * 25e-6 / 2, 1e-10);
}

TEST(SquaredWidth, ALineGivesTheCheckValues) {
  const std::vector<LineWidth> lines = ladder(8);
  EXPECT_NEAR(lines.back().width * 1e6, 111.2625, 1e-4);
  const SquaredWidth fit = squared_width(lines, Exposed::lines);
  EXPECT_NEAR(fit.radius.value, kRadius, 1e-9 * kRadius);
  EXPECT_NEAR(fit.threshold.value, kThreshold, 1e-9 * kThreshold);
  EXPECT_NEAR(std::sqrt(2 / std::numbers::pi) * 5 / kSpeed / fit.radius.value * 1e-4, 239.3635, 1e-4);
  EXPECT_NEAR(fit.width(5 / kSpeed) * 1e6, 111.2625, 1e-4);
  EXPECT_EQ(fit.width(fit.threshold_energy.value / 2), 0);
  EXPECT_THAT(fit.notes, IsEmpty());
}

// Shares within one stated error, and means in units of it.
struct Tally {
  double within_radius = 0, within_threshold = 0, off_radius = 0, off_threshold = 0;
  double product = 0, correlation = 0;
};

double threshold_of(Exposed exposed) {
  const double energy = kThreshold * kRadius * std::sqrt(std::numbers::pi / 2);
  return exposed == Exposed::lines ? kThreshold : 2 * energy / (std::numbers::pi * kRadius * kRadius);
}

// Many ladders with errors of 3 %.
Tally many(int count, Exposed exposed, double stated = 0.03) {
  constexpr int kDraws = 2000;
  std::mt19937_64 random(20260502);
  std::normal_distribution<double> normal;
  const std::vector<LineWidth> exact = ladder(count);
  Tally out;
  for (int draw = 0; draw < kDraws; ++draw) {
    std::vector<LineWidth> widths = exact;
    for (LineWidth& one : widths) one.width *= std::exp(0.03 * normal(random));
    const SquaredWidth fit = squared_width(widths, exposed, stated);
    const double radius = (fit.radius.value - kRadius) / fit.radius.error;
    const double threshold = (fit.threshold.value - threshold_of(exposed)) / fit.threshold.error;
    out.within_radius += std::abs(radius) < 1, out.within_threshold += std::abs(threshold) < 1;
    out.off_radius += radius, out.off_threshold += threshold;
    out.product += radius * threshold, out.correlation += fit.correlation;
  }
  for (double* sum : {&out.within_radius, &out.within_threshold, &out.off_radius, &out.off_threshold,
                      &out.product, &out.correlation})
    *sum /= kDraws;
  return out;
}

TEST(SquaredWidth, ErrorsAreThoseOfManyLadders) {
  for (const Exposed exposed : {Exposed::lines, Exposed::pulses}) {
    const Tally tally = many(40, exposed, 0.005);  // all of the error is to be seen in the scatter
    EXPECT_NEAR(tally.within_radius, 0.68, 0.03);
    EXPECT_NEAR(tally.within_threshold, 0.68, 0.03);
    EXPECT_NEAR(tally.off_radius, 0, 0.15);
    EXPECT_NEAR(tally.off_threshold, 0, 0.15);
    EXPECT_NEAR(tally.correlation, tally.product, 0.1);
  }
}

// The greater of scatter and stated error is above the true one on average, the more so the fewer the widths.
TEST(SquaredWidth, ErrorsWithTheRightOneStatedAreRatherTooWide) {
  for (const int count : {8, 40}) {
    const Tally tally = many(count, Exposed::lines);
    for (const double share : {tally.within_radius, tally.within_threshold}) {
      EXPECT_GT(share, 0.67) << count;
      EXPECT_LT(share, 0.75) << count;
    }
    EXPECT_NEAR(tally.off_radius, 0, 0.15) << count;
    EXPECT_NEAR(tally.off_threshold, 0, 0.15) << count;
  }
}

TEST(SquaredWidth, AnExactLineStillHasTheStatedErrorAndItGoesWithIt) {
  const std::vector<LineWidth> lines = ladder(12);
  const SquaredWidth one = squared_width(lines, Exposed::lines, 0.02);
  const SquaredWidth two = squared_width(lines, Exposed::lines, 0.04);
  EXPECT_LT(one.scatter, 1e-9);
  EXPECT_NEAR(two.radius.error / one.radius.error, 2, 1e-9);
  EXPECT_NEAR(two.threshold.error / one.threshold.error, 2, 1e-9);
}

TEST(SquaredWidth, SaysWhatIsAmiss) {
  EXPECT_THAT(squared_width(ladder(4), Exposed::lines).notes, Contains(HasSubstr("only 4 widths")));
  EXPECT_THAT(squared_width(ladder(8, 3, 5), Exposed::lines).notes, Contains(HasSubstr("factor of 1.67")));
  std::vector<LineWidth> fine = ladder(8);
  for (LineWidth& one : fine) one.width /= 40;
  EXPECT_THAT(squared_width(fine, Exposed::lines).notes, Contains(HasSubstr("below 2 um")));
  std::vector<LineWidth> gap = ladder(8);
  gap[6].width = 0;
  gap.push_back({0.05 / kSpeed, 0});  // this one lies below the threshold: no news
  EXPECT_THAT(squared_width(gap, Exposed::lines).notes, ElementsAre(HasSubstr("no mark at")));
}

TEST(SquaredWidth, ABendIsSeenAndAStraightLineHasNone) {
  // A flat-topped beam, F = F0 exp(-2 (y/w)^4), marks D = 2 w (ln(F0/F_th) / 2)^(1/4).
  std::vector<LineWidth> flat;
  for (int i = 1; i <= 12; ++i) flat.push_back({std::exp(0.3 * i), 80e-6 * std::pow(0.3 * i / 2, 0.25)});
  EXPECT_THAT(squared_width(flat, Exposed::lines).notes, Contains(HasSubstr("bend downward")));
  int bends = 0;
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  for (int draw = 0; draw < 1000; ++draw) {
    std::vector<LineWidth> widths = ladder(10);
    for (LineWidth& one : widths) one.width *= 1 + 0.03 * normal(random);
    for (const std::string& note : squared_width(widths, Exposed::lines).notes)
      bends += note.find("bend") != note.npos;
  }
  EXPECT_LT(bends, 15);
}

void refused(const std::vector<LineWidth>& widths, const char* why, double error = 0.03) {
  try {
    squared_width(widths, Exposed::lines, error);
    ADD_FAILURE() << why;
  } catch (const quantity::ValidityError& e) {
    EXPECT_THAT(e.what(), HasSubstr(why));
  }
}

TEST(SquaredWidth, RefusesWhatTellsNothing) {
  refused({}, "0 widths above zero");
  refused({{1, 1e-5}, {2, 2e-5}, {3, 0}}, "2 widths above zero");
  refused({{2, 1e-5}, {2, 2e-5}, {2, 2e-5}}, "all alike");
  refused({{1, 3e-5}, {2, 2e-5}, {3, 1e-5}}, "do not grow with energy");
  refused({{1, 2e-5}, {2, 2e-5}, {3, 2e-5}}, "do not grow with energy");
  refused({{-1, 2e-5}, {2, 2e-5}, {3, 2e-5}}, "energy of a line = -1 J/m");
  refused({{1, std::nan("")}, {2, 2e-5}, {3, 2e-5}}, "width = nan");
  refused({{1, 1e200}, {2, 2e200}, {3, 3e200}}, "width = ");
  refused(ladder(5), "error of a width = 0 %", 0);
  refused(ladder(5), "error of a width", std::nan(""));
}

TEST(SquaredWidth, ReadsAsWords) {
  const std::string said = text(squared_width(ladder(4), Exposed::lines));
  EXPECT_THAT(said, HasSubstr("radius     40 um, give or take"));
  EXPECT_THAT(said, HasSubstr("threshold  5 J/cm^2, give or take"));
  EXPECT_THAT(said, HasSubstr("note       only 4 widths"));
}

TEST(Polynomial, WeightsAreOfTheCurveAndDoNotPullItDown) {
  // Two groups of one abscissa each: the curve there is the plain mean of a group, not one drawn to the
  // small.
  const Polynomial line = polynomial({{0, 0, 1, 1}, {0.9, 1.1, 3.6, 4.4}}, 1, 0.1);
  EXPECT_NEAR(line(0), 1, 1e-12);
  EXPECT_NEAR(line(1), 4, 1e-12);
}

}  // namespace
}  // namespace circumfluence::calibration
