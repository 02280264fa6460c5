// Truth: a fit made by hand, a Gaussian of deviates. For each of its draws the ends of the old scene so
// drawn, the power that arrives as a factor, must be the ends of the records and the job at the deviates that
// this draw has among them.
#include "calibration/fitted.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <cmath>
#include <functional>
#include <random>

#include "job/job_file.h"
#include "job/material_file.h"
#include "mark/small_job.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/window.h"

namespace circumfluence::calibration {
namespace {

using mark::Scene;
using mark::SmallJob;
using testing::AllOf;
using testing::Contains;
using testing::HasSubstr;
using testing::StartsWith;
using window::Unknown;
using workpiece::Material;
using Of = Unknown::Of;

SmallJob stated() {
  SmallJob small;
  small.with("laser.power_spread", "8 %").with("laser.spot_spread", "10 %").with("laser.shape_spread", "5 %");
  small.with("laser.depth_spread", "15 %")
      .with("workpiece.coat_spread", "20 %")
      .with("mount.height_spread", "0.3 mm");
  small.with("scan.speed", "1500 mm/min");
  return small;
}

SmallJob& bare(SmallJob& small, const char* base) {
  small.job.workpiece.coat_spread = quantity::kUnset;
  return small.bare(base);
}

// What `rows` observations of random directions with an error of `noise` would leave.
Fit learnt_from(const Scene& scene, int rows, double noise, unsigned seed = 1) {
  Fit out = nothing_learnt(scene);
  const auto n = static_cast<Eigen::Index>(out.unknowns.size());
  std::mt19937_64 dice(seed);
  std::normal_distribution<double> normal;
  Eigen::MatrixXd a(rows, n);
  Eigen::VectorXd y(rows);
  for (Eigen::Index i = 0; i < rows; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) a(i, j) = normal(dice);
    y(i) = 0.5 * normal(dice);
  }
  const Eigen::MatrixXd precision = Eigen::MatrixXd::Identity(n, n) + a.transpose() * a / (noise * noise);
  out.covariance = precision.llt().solve(Eigen::MatrixXd::Identity(n, n));
  out.best = out.covariance * a.transpose() * y / (noise * noise);
  return out;
}

// What patches at the ends of two speeds would leave, taken as linear: each end known to `noise` of its
// power.
Fit learnt_from_ends(const Scene& scene, double noise) {
  Fit out = nothing_learnt(scene);
  const auto n = static_cast<Eigen::Index>(out.unknowns.size());
  const Patch one{.power = scene.power(), .speed = scene.job.scan.speed, .spacing = scene.job.scan.spacing};
  Patch other = one;
  other.speed *= 2;
  const Trials trials(with_threshold(scene), {one, other}, out.unknowns);
  Eigen::MatrixXd a(4, n);
  for (Eigen::Index j = 0; j < n; ++j)
    for (const double side : {1.0, -1.0}) {
      std::vector<double> z(size_t(n), 0.0);
      z[size_t(j)] = side;
      const std::vector<LogEnds> ends = trials.ends(z);
      for (Eigen::Index i = 0; i < 4; ++i) {
        const double end = i % 2 ? ends[size_t(i / 2)].burns : ends[size_t(i / 2)].marks;
        a(i, j) = side > 0 ? end / 2 : a(i, j) - end / 2;
      }
    }
  const Eigen::MatrixXd precision = Eigen::MatrixXd::Identity(n, n) + a.transpose() * a / (noise * noise);
  out.covariance = precision.llt().solve(Eigen::MatrixXd::Identity(n, n));
  out.best = out.covariance * a.transpose() * Eigen::Vector4d(0.2, -0.1, 0.22, -0.12) / (noise * noise);
  return out;
}

Report report() {
  Report out;
  out.results.resize(12);
  out.date = "2026-05-02", out.origin = "club.csv";
  return out;
}

// ln of [W] set.
struct Logs {
  double marks, burns;
};

Logs logs(const Scene& scene) {
  const window::Ends ends =
      window::Look(scene, window::place_of(scene, window::fill_of(scene.job)), scene.job.scan.speed).ends();
  return {window::log_of(ends.marks), window::log_of(ends.burns)};
}

struct Kind {
  const char* name;
  std::function<void(SmallJob&)> make;
};

class Bodies : public testing::TestWithParam<Kind> {
 protected:
  // [1] by which ln of a figure of the records goes with ln of the power that arrives.
  static double exponent(const Unknown& u) {
    if (u.optic == &workpiece::Optics::absorptivity)
      return u.of == Of::base || std::string_view(GetParam().name) == "dyed";
    return u.of == Of::coat && (u.figure == &Material::threshold || u.figure == &Material::removal_energy)
               ? -1
               : 0;
  }
};

TEST_P(Bodies, DrawOfTheRecordsIsTheDrawOfTheFit) {
  SmallJob small = stated();
  GetParam().make(small);
  const Scene scene = mark::prepare(small.job), full = with_threshold(scene);
  Fit fit = learnt_from(scene, 6, 0.5);
  fit.best *= 0.4;  // no absorptivity beyond 1
  const Scene after = fitted(scene, fit, report(), "club").scene();
  const std::vector<Unknown> unknowns = window::unknowns(after);
  std::mt19937_64 dice(5);
  std::normal_distribution<double> normal;
  const Eigen::MatrixXd factor = fit.covariance.llt().matrixL();
  for (int draw = 0; draw < 5; ++draw) {
    Eigen::VectorXd step(fit.best.size());
    for (double& one : step) one = 0.5 * normal(dice);
    step = factor * step;
    const Eigen::VectorXd z = fit.best + step;
    double arrives = 0, beyond = 0;  // ln of the power that arrives, and what of it is not in the medians
    for (Eigen::Index i = 0; i < z.size(); ++i)
      if (const Unknown& u = fit.unknowns[size_t(i)]; u.of == Of::power)
        arrives += u.spread * z(i), beyond += u.spread * step(i);
    std::vector<double> deviates;
    for (const Unknown& u : unknowns) {
      double moved = exponent(u) * beyond;  // of ln, or of a height
      for (size_t i = 0; i < fit.unknowns.size(); ++i)
        if (const Unknown& was = fit.unknowns[i];
            was.of == u.of && was.figure == u.figure && was.optic == u.optic)
          moved += was.spread * step(Eigen::Index(i));
      deviates.push_back(moved / u.spread);
    }
    const Logs was = logs(window::drawn(full, fit.unknowns, std::span(z.data(), size_t(z.size()))));
    const Logs is = logs(window::drawn(after, unknowns, deviates));
    EXPECT_NEAR(is.marks, was.marks - arrives, 2e-4) << "draw " << draw;
    EXPECT_NEAR(is.burns, was.burns - arrives, 2e-4) << "draw " << draw;
  }
}

INSTANTIATE_TEST_SUITE_P(
    All, Bodies,
    testing::Values(Kind{"coated", [](SmallJob&) {}},
                    Kind{"blown_off", [](SmallJob& s) { s.with("outcome.removal", "blow_off"); }},
                    Kind{"bare", [](SmallJob& s) { bare(s, "aisi_304"); }},
                    Kind{"dyed",
                         [](SmallJob& s) {
                           s.job.workpiece.coat_thickness = 15e-6;
                           s.with("workpiece.coat", "anodic_layer_dyed_black");
                         }},
                    Kind{"organic", [](SmallJob& s) { bare(s, "cardboard").with("scan.power", "0.5 W"); }},
                    Kind{"painted", [](SmallJob& s) { s.with("workpiece.base", "birch"); }}),
    [](const auto& param) { return std::string(param.param.name); });

double sd(const std::vector<double>& of) {
  double mean = 0, sum = 0;
  for (const double x : of) mean += x / double(of.size());
  for (const double x : of) sum += (x - mean) * (x - mean);
  return std::sqrt(sum / double(of.size() - 1));
}

// The records and the job carry what was learnt: their window is the fit's own forecast.
TEST(Fitted, WindowIsTheForecastOfTheFit) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Fit fit = learnt_from_ends(scene, 0.03);
  const Patch set{.power = scene.power(), .speed = scene.job.scan.speed, .spacing = scene.job.scan.spacing};
  const Forecast told = forecast(scene, fit, set, 2048);
  const Scene after = fitted(scene, fit, report(), "club").scene();
  const window::Doubt doubt(after, {.count = 2048});
  EXPECT_EQ(doubt.power_spread(), 0);
  const window::Outlook found =
      doubt.over(window::place_of(after, window::fill_of(after.job)), std::vector{set.speed}).front();
  const auto wide = [](const window::Interval& i) { return std::log(i.high / i.low) / (2 * 1.645); };
  EXPECT_NEAR(std::log(found.least(0.5) / told.marks.middle), 0, 0.12 * wide(told.marks));
  EXPECT_NEAR(std::log(found.greatest(0.5) / told.burns.middle), 0, 0.12 * wide(told.burns));
  EXPECT_NEAR(wide({found.least(0.05), 0, found.least(0.95)}), wide(told.marks), 0.08 * wide(told.marks));
  EXPECT_NEAR(wide({found.greatest(0.95), 0, found.greatest(0.05)}), wide(told.burns),
              0.08 * wide(told.burns));
  // Drawn apart, the same figures would tell much less: it is the block that makes it so.
  Scene apart = after;
  apart.coat->settled.clear(), apart.base.settled.clear();
  const auto loose = window::Doubt(apart, {.count = 512})
                         .over(window::place_of(apart, window::fill_of(apart.job)), std::vector{set.speed});
  EXPECT_GT(sd(loose.front().marks()), 2 * sd(found.marks()));
}

TEST(Fitted, BlockMatchesWhatTheWindowLists) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Fitted found = fitted(scene, learnt_from(scene, 6, 0.3), report(), "club");
  ASSERT_EQ(found.records.size(), 2u);
  EXPECT_EQ(found.records[0].name, "club");
  EXPECT_EQ(found.records[1].name, "club_base");
  const Scene after = found.scene();
  const std::vector<Unknown> all = window::unknowns(after);
  EXPECT_EQ(window::settled_together(window::settled_factor(after, all), all.size()), all.size());
  EXPECT_EQ(found.records[0].settled.size(), all.size());
  EXPECT_TRUE(std::isnan(found.job.laser.power_spread));
  // With another laser the figures of the records stay together.
  Scene other = after;
  other.job.laser.spot_axial *= 1.1, other.job.laser.depth_spread = 0.07,
                                     other.job.mount.height_spread = 0.2e-3;
  const std::vector<Unknown> then = window::unknowns(other);
  EXPECT_EQ(window::settled_together(window::settled_factor(other, then), then.size()), all.size() - 4);
}

TEST(Fitted, SaysWhereItsFiguresComeFrom) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Fitted found = fitted(scene, learnt_from(scene, 6, 0.3), report(), "club");
  const Material& coat = found.records.at(0);
  EXPECT_EQ(coat.threshold.source,
            "coupon of 2026-05-02 (club.csv): 12 patches, with 10 W at 450 nm; power that arrives is in it");
  EXPECT_EQ(coat.density.source, scene.coat->density.source);
  EXPECT_EQ(coat.title, scene.coat->title + ", by coupon of 2026-05-02");
  EXPECT_THAT(found.changes, Contains(StartsWith("laser.spot: 80 um +- 10 % -> ")));
  EXPECT_THAT(found.changes, Contains(StartsWith("laser.power_spread: taken out")));
  EXPECT_THAT(found.changes, testing::Each(testing::Not(HasSubstr("e+"))));
  EXPECT_THAT(found.changes, Contains(AllOf(StartsWith("mount.height: 0 mm +- 0.3 mm -> 0 mm +- "),
                                            HasSubstr("while the focus is not set anew"))));
}

TEST(Fitted, JobNamesTheRecordsAndTheyAreFoundWhereKept) {
  SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Fitted found = fitted(scene, learnt_from(scene, 6, 0.3), report(), "club");
  EXPECT_EQ(found.job.workpiece.coat, "club");
  EXPECT_EQ(found.job.workpiece.base, "club_base");
  EXPECT_EQ(found.job.text.find("[material"), std::string::npos);
  const std::string path = small.folder.file("mine.toml");
  keep(found.records, path);
  setenv("CIRCUMFLUENCE_MY_MATERIALS", path.c_str(), 1);
  const Scene read = mark::prepare(job::parse_job(found.job.text, "again.toml", small.folder.path.string()));
  unsetenv("CIRCUMFLUENCE_MY_MATERIALS");
  const Scene direct = found.scene();
  EXPECT_EQ(job::write_material(*read.coat), job::write_material(*direct.coat));
  EXPECT_EQ(logs(read).marks, logs(direct).marks);
  EXPECT_EQ(window::unknowns(read).size(), window::unknowns(direct).size());
}

// The job's doubts but for the power that arrives.
Scene without_power() {
  SmallJob small = stated();
  small.job.laser.power_spread = quantity::kUnset;
  return mark::prepare(small.with("laser.losses", "1 %").job);
}

// Nothing learnt but of the spot: all else, the records' figures with their sources among it, is as it was.
TEST(Fitted, LeavesUntouchedWhatWasNotLearnt) {
  const Scene scene = without_power();
  Fit fit = nothing_learnt(scene);
  const Fitted nothing = fitted(scene, fit, report(), "club");
  EXPECT_TRUE(nothing.records.empty());
  EXPECT_TRUE(nothing.changes.empty());
  EXPECT_EQ(job::write_job(nothing.job), job::write_job(scene.job));
  for (size_t i = 0; i < fit.unknowns.size(); ++i)
    if (fit.unknowns[i].of == Of::spot)
      fit.best(Eigen::Index(i)) = 1, fit.covariance(Eigen::Index(i), Eigen::Index(i)) = 0.04;
  const Fitted spot = fitted(scene, fit, report(), "club");
  EXPECT_TRUE(spot.records.empty());
  EXPECT_THAT(spot.changes, testing::ElementsAre("laser.spot: 80 um +- 10 % -> 88.4 um +- 2 %"));
  EXPECT_NEAR(spot.job.laser.spot_around, 80e-6 * std::exp(0.1), 1e-12);
  EXPECT_EQ(spot.job.workpiece.coat, "polyester_powder_black");
}

// Figures that learnt little each may hold together what the fit knows: they stay in it.
TEST(Fitted, KeepsWhatMattersTogether) {
  const Scene scene = without_power();
  Fit fit = nothing_learnt(scene);
  const auto n = fit.best.size();
  // One direction, half a per cent of it in the last figure: known to 2 %, and known badly.
  Eigen::VectorXd a = Eigen::VectorXd::Zero(n);
  a(0) = 1, a(n - 1) = 0.07;
  a.normalize();
  fit.covariance -= a * a.transpose() * (1 - 0.0004);
  EXPECT_LT(fit.learnt()(n - 1), kUntouched);
  EXPECT_EQ(posterior(scene, fit).before.size(), 2u);
  fit.covariance = Eigen::MatrixXd::Identity(n, n) - 0.5 * a * a.transpose();
  EXPECT_EQ(posterior(scene, fit).before.size(), 1u);
}

// The sign, by a prediction: a focus found to lie higher than it was set is the focus so set.
TEST(Fitted, HeightOfTheFocusPredictsAsTheOffsetItIs) {
  SmallJob small = stated(), same = stated();
  const Scene scene = mark::prepare(
      small.with("scan.focus_offset", "0.4 mm").with("laser.waist_offset_around", "-0.3 mm").job);
  Fit fit = nothing_learnt(scene);
  for (size_t i = 0; i < fit.unknowns.size(); ++i) {
    if (fit.unknowns[i].of == Of::height)
      fit.best(Eigen::Index(i)) = 2, fit.covariance(Eigen::Index(i), Eigen::Index(i)) = 0.01;
  }
  const Fitted found = fitted(scene, fit, report(), "club");
  EXPECT_NEAR(found.job.mount.height_spread, 0.03e-3, 1e-12);
  same.with("scan.focus_offset", "1 mm").with("laser.waist_offset_around", "-0.3 mm");
  const mark::MarkMap is = mark::predict(found.scene().job, same.request()), was = same.predicted(true);
  double most = 0, off = 0;
  for (int row = 0; row < is.surface.around; ++row)
    for (int i = 0; i < is.surface.axial; ++i) {
      const double one = is.maps.fluence.row(row)[size_t(i)], other = was.maps.fluence.row(row)[size_t(i)];
      most = std::max(most, other), off = std::max(off, std::abs(one - other));
    }
  EXPECT_LT(off, 1e-5 * most);
  EXPECT_GT(most, 0);
}

TEST(Fitted, SaysWhenTheCouponAsksForMoreThanCanBe) {
  SmallJob small = stated();
  const Scene scene = mark::prepare(bare(small, "aisi_304").with("laser.power_spread", "60 %").job);
  Fit fit = nothing_learnt(scene);
  ASSERT_EQ(fit.unknowns.front().of, Of::power);
  fit.best(0) = 2.5;  // 4.5 times
  const Fitted found = fitted(scene, fit, report(), "club");
  EXPECT_THAT(found.changes,
              Contains(AllOf(StartsWith("club.absorptivity: "), HasSubstr("which cannot be"))));
  EXPECT_EQ(workpiece::optics_at(found.scene().base, 450e-9).absorptivity.value, 1.0);
}

TEST(Fitted, RefusesNamesAndFitsThatAreNotIts) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Fit fit = learnt_from(scene, 6, 0.3);
  EXPECT_THROW(fitted(scene, fit, report(), "polyester_powder_black"), quantity::ValidityError);
  EXPECT_THROW(fitted(scene, fit, report(), "a name"), quantity::JobError);
  EXPECT_THROW(fitted(mark::prepare(SmallJob().job), fit, report(), "club"), quantity::ValidityError);
  Fit torn = fit;
  torn.best.resize(2);
  EXPECT_THROW(posterior(scene, torn), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::calibration
