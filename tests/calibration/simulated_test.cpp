// Truth: coupons simulated for unknowns drawn from the prior: a 90 % interval has to hold the truth 90 % of
// the time.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "calibration/trial_coupon.h"
#include "window/sobol.h"

namespace circumfluence::calibration {
namespace {

// How often intervals held a truth, and how wide they were.
struct Tally {
  std::string name;
  int inside = 0, of = 0;
  double squares = 0;  // sum of squared deviations over squared spreads
  double learnt = 0;   // sum

  void add(double truth, const window::Interval& interval) {
    ++of, inside += truth >= interval.low && truth <= interval.high;
  }
  double share() const { return double(inside) / of; }
  void print(const char* what) const {
    std::printf("%-45s holds %.3f, off by %.2f spreads (rms), %s %.3f\n", name.c_str(), share(),
                std::sqrt(squares / of), what, learnt / of);
  }
};

// Ends of the window at the job's own setting.
struct Recovery {
  Tally marks{"ln marks at the job's setting"}, burns{"ln burns at the job's setting"};
};

struct Trial {
  std::vector<double> truth;
  Fit fit;
  Forecast after;
  LogEnds ends;
};

std::vector<Trial> simulate(const mark::Scene& scene, const Patch& setting, int count, std::uint64_t seed) {
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon), job(scene, {setting});
  const size_t n = trials.unknowns().size();
  const std::vector<double> truths = window::normal_points(int(n), count, seed);
  std::vector<Trial> out(static_cast<size_t>(count));
  quantity::for_bands({.count = count, .band = 1}, [&](int from, int to, int) {
    for (int i = from; i < to; ++i) {
      Trial& one = out[size_t(i)];
      one.truth.assign(truths.begin() + long(size_t(i) * n), truths.begin() + long(size_t(i + 1) * n));
      one.fit = fit(trials, coupon, simulated(trials, coupon, one.truth, 1000 * seed + std::uint64_t(i)),
                    {.threads = 1});
      one.after = forecast(scene, one.fit, setting, 128, 1);
      one.ends = job.ends(one.truth)[0];
    }
  });
  return out;
}

double width_of(const window::Interval& watts) {
  return std::log(watts.high / watts.low);
}

void tally(const std::vector<Trial>& all, std::vector<Tally>& unknowns, Recovery& ends) {
  for (const Trial& one : all) {
    for (size_t u = 0; u < unknowns.size(); ++u) {
      const double spread = std::sqrt(one.fit.covariance(long(u), long(u)));
      unknowns[u].name = one.fit.unknowns[u].name;
      unknowns[u].add(one.fit.unknowns[u].at(one.truth[u]), one.fit.interval(u));
      unknowns[u].squares += std::pow((one.truth[u] - one.fit.best[long(u)]) / spread, 2);
      unknowns[u].learnt += one.fit.learnt()[long(u)];
    }
    for (auto [end, which, interval] : {std::tuple{&ends.marks, &LogEnds::marks, &Forecast::marks},
                                        {&ends.burns, &LogEnds::burns, &Forecast::burns}}) {
      const window::Interval& found = one.after.*interval;
      end->add(std::exp(one.ends.*which), found);
      end->squares += std::pow((one.ends.*which - std::log(found.middle)) / (width_of(found) / 3.29), 2);
      end->learnt += width_of(found);
    }
  }
}

TEST(SimulatedCoupons, IntervalsHoldTheTruthAsOftenAsTheySay) {
#ifdef CIRCUMFLUENCE_WATCHED
  int count = 16;
  const double slack = 0.25;
#else
  int count = 500;
  const double slack = 0;
#endif
  std::uint64_t seed = 11;
  if (const char* more = std::getenv("CIRCUMFLUENCE_COUPONS")) count = std::atoi(more);
  if (const char* other = std::getenv("CIRCUMFLUENCE_SEED")) seed = std::uint64_t(std::atoi(other));
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Patch setting{.power = 7.5, .speed = 2500 / 60e3, .spacing = 0.1e-3};
  const std::vector<Trial> all = simulate(scene, setting, count, seed);
  std::vector<Tally> unknowns(all.front().truth.size());
  Recovery ends;
  tally(all, unknowns, ends);
  const Forecast before = forecast(scene, nothing_learnt(scene), setting, 512);

  int inside = 0, of = 0, informed = 0;
  const auto check = [&](const Tally& one, const char* what) {
    one.print(what);
    inside += one.inside, of += one.of;
    EXPECT_GE(one.share(), 0.84 - slack) << one.name;
    EXPECT_LE(one.share(), 0.96 + slack) << one.name;
  };
  for (const Tally& one : unknowns)
    if (one.learnt / one.of > 0.1) check(one, "learnt"), ++informed;
  check(ends.marks, "ln wide"), check(ends.burns, "ln wide");
  std::printf("all: %.3f; before: marks %.3f, burns %.3f wide\n", double(inside) / of, width_of(before.marks),
              width_of(before.burns));
  EXPECT_GE(informed, 3);
  EXPECT_GE(double(inside) / of, 0.87 - slack);
  EXPECT_LE(double(inside) / of, 0.93 + slack);
  // The window is found again, much narrower than it was.
  EXPECT_LT(ends.marks.learnt / ends.marks.of, 0.35 * width_of(before.marks));
}

}  // namespace
}  // namespace circumfluence::calibration
