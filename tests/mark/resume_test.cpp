// Truth: times added up by hand; the fluence of the whole job, which the rest must bring line for line; a
// soft end as the integral of a Gaussian; a job of one pass more, burnt through the whole road; and that a
// joint narrower or wider than the smallest overlap fails as it says.
#include "mark/resume.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

// 30 lines of 4 mm, two-way; at full speed 41.7 mm/s over the art.
SmallJob small() {
  return SmallJob();
}

double sweep_time() {
  return 2 * (2.5 / 60) / 1 + (10e-3 - 2 * 0.5 * (2.5 / 60) * (2.5 / 60)) / (2.5 / 60);
}
double step_time() {
  return 2 * std::sqrt(0.1e-3 / 1);
}

Stop after(double elapsed, double doubt = 0) {
  return {.elapsed = elapsed, .doubt = doubt};
}

TEST(Restart, FindsTheLineAndThePlaceAtThatTime) {
  const Scene scene = prepare(small().job);
  const double begun = 7 * (sweep_time() + step_time());  // line 7 runs backwards
  const Restart at = restart(scene, after(begun + sweep_time() / 2 + 1e-3 / (2.5 / 60)));
  EXPECT_EQ(at.pass, 0);
  EXPECT_EQ(at.line, 7);
  EXPECT_TRUE(at.backward);
  EXPECT_NEAR(at.along, 20e-3 - 1e-3, 1e-9);
  EXPECT_NEAR(at.cross, (7 - 14.5) * 0.1e-3, 1e-12);
  EXPECT_NEAR(at.elapsed, begun, 1e-9);
  EXPECT_NEAR(at.left, 30 * sweep_time() + 29 * step_time() - begun, 1e-9);
  ASSERT_TRUE(at.repeated && at.joined);
  EXPECT_NEAR(at.repeated->overlap, 3e-3, 1e-9);
  EXPECT_THAT(at.words, HasSubstr("line 8 of 30 (scan.first_line = 7)"));
}

TEST(Restart, BetweenLinesNothingIsBurntTwice) {
  const Scene scene = prepare(small().job);
  const double period = sweep_time() + step_time();
  for (const double time : {3 * period - step_time() / 2, 3 * period - 1e-3, 3 * period + 0.01}) {
    const Restart at = restart(scene, after(time));  // at rest, still running out, in the run-up
    EXPECT_EQ(at.line, 3);
    EXPECT_FALSE(at.repeated || at.joined);
    EXPECT_THAT(at.words, HasSubstr("nothing is burnt twice"));
  }
  EXPECT_THAT([&] { restart(scene, after(1e6)); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("nothing is left")));
}

TEST(Restart, ADoubtfulTimeStartsEarlier) {
  const Scene scene = prepare(small().job);
  const double period = sweep_time() + step_time();
  const Restart at = restart(scene, after(10.5 * period, 1.2 * period));
  EXPECT_EQ(at.line, 9);
  EXPECT_EQ(at.lines_twice, 2);
  EXPECT_FALSE(at.joined);
  EXPECT_NEAR(at.repeated->overlap, 4e-3, 1e-9);
}

TEST(Restart, FromTheLastLineSeen) {
  const Scene scene = prepare(small().job);
  const Restart line = restart(scene, {.line = 12});
  EXPECT_EQ(line.line, 12);
  EXPECT_TRUE(std::isnan(line.along) && line.repeat && !line.joined);
  EXPECT_THAT(line.words, HasSubstr("If it is seen to reach its end, start with the next one"));
  const Restart place = restart(scene, {.cross = line.cross + 0.03e-3, .along = 21e-3});
  EXPECT_EQ(place.line, 12);
  EXPECT_NEAR(place.along, 21e-3, 1e-12);
  EXPECT_TRUE(place.joined);
  EXPECT_EQ(restart(scene, {.line = 12, .along = 22.5e-3}).line, 13);  // forward, and done
  EXPECT_THAT([&] { restart(scene, {.line = 30}); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("expected 0 to 29")));
  EXPECT_THAT([&] { restart(scene, {}); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("expected one of")));
  const Scene twice = prepare(small().with("scan.passes", "2").job);
  EXPECT_THAT([&] { restart(twice, {.line = 3}); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("pass is missing")));
}

// What the rest brings is what the whole job brings there; where both reach, no more than that.
TEST(Rest, BringsWhatTheWholeJobStillHadToBring) {
  for (const char* direction : {"axial", "around"}) {
    SmallJob job(island());
    job.with("scan.direction", direction);
    const Scene scene = prepare(job.job);
    const Restart at = restart(scene, {.line = 11, .along = direction[1] == 'x' ? 20e-3 : 0.0});
    const std::vector<job::Job> jobs = rest(scene, at);
    ASSERT_EQ(jobs.size(), 1u);
    EXPECT_EQ(jobs[0].scan.first_line, 11);
    Request request = job.request();
    request.warming = false;
    const MarkMap whole = predict(job.job, request), left = predict(jobs[0], request);
    EXPECT_EQ(left.verdict.lines, whole.verdict.lines - 11);
    const bool axial = scene.job.scan.direction == motion::Direction::axial;
    const double edge = at.cross - 0.05e-3;
    EXPECT_NEAR(axial ? left.surface.around_from : left.surface.axial_from, edge, 20e-6);
    int compared = 0;
    double greatest = 0, furthest = 0;  // [J/m^2]
    for (int row = 0; row < left.surface.around; ++row)
      for (int column = 0; column < left.surface.axial; ++column) {
        const double arc = left.surface.arc(row), axial_place = left.surface.position(column);
        const int r = int(std::lround((arc - whole.surface.arc(0)) / whole.surface.cell_around));
        const int c = int(std::lround((axial_place - whole.surface.position(0)) / whole.surface.cell_axial));
        if (std::abs(whole.surface.arc(r) - arc) > 1e-9 ||
            std::abs(whole.surface.position(c) - axial_place) > 1e-9)
          continue;
        if ((axial ? arc : axial_place) < edge + 0.3e-3) continue;  // reached by lines left out
        const float here = left.maps.fluence.row(row)[size_t(column)];
        greatest = std::max(greatest, double(here));
        furthest = std::max(furthest, double(std::abs(here - whole.maps.fluence.row(r)[size_t(c)])));
        ++compared;
      }
    EXPECT_GT(compared, 1000) << direction;
    EXPECT_LT(furthest, 1e-6 * greatest) << direction;
    EXPECT_EQ(left.verdict.ruling, whole.verdict.ruling)
        << direction;  // what is burnt already is not asked for again
  }
}

TEST(Rest, OfSeveralPassesIsTwoJobs) {
  SmallJob job;
  const Scene scene = prepare(job.with("scan.passes", "4").job);
  const auto jobs = rest(scene, restart(scene, {.line = 5, .pass = 1}));
  ASSERT_EQ(jobs.size(), 2u);
  EXPECT_EQ(jobs[0].scan.passes, 1);
  EXPECT_EQ(jobs[0].scan.first_line, 5);
  EXPECT_EQ(jobs[1].scan.passes, 2);
  EXPECT_EQ(jobs[1].scan.first_line, 0);
  const auto whole = rest(scene, restart(scene, {.line = 0, .pass = 3}));
  ASSERT_EQ(whole.size(), 1u);
  EXPECT_EQ(whole[0].scan.passes, 1);
  // The rest of the rest counts on from there.
  const Scene second = prepare(jobs[0]);
  EXPECT_EQ(rest(second, restart(second, {.line = 3})).at(0).scan.first_line, 8);
}

TEST(Rest, OfRoundsIsRefusedWithAdvice) {
  const Scene scene = prepare(small().with("scan.interleave", "3").job);
  const Restart at = restart(scene, {.line = 7});
  EXPECT_EQ(at.line, 7);
  EXPECT_THAT([&] { rest(scene, at); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("scan.interleave = 3")));
}

// Burnt twice is no worse than a pass more of everything, and that is what a job of two passes says.
TEST(Joint, BurntAgainIsAsAPassMore) {
  SmallJob job;
  const Restart at = restart(prepare(job.job), {.line = 12, .along = 20e-3});
  const Verdict twice = job.with("scan.passes", "2").on_a_cold_wall().verdict;
  EXPECT_NEAR(at.repeated->greatest / twice.greatest_factor, 1, 0.05);
  EXPECT_EQ(at.repeated->ruling, twice.ruling == Ruling::over_burns ? Ruling::over_burns : Ruling::marks);
}

// Two soft ends, each an integral of a Gaussian stepped along the line: the weakest place between them has
// the reserve, and shorter by the tolerance it has none left.
TEST(Joint, TheSmallestOverlapLeavesNoGap) {
  SmallJob job;
  const Scene scene = prepare(job.job);
  const Restart at = restart(scene, {.line = 12, .along = 20e-3});
  const Joint joint = *at.joined;
  const double w = line_of(scene).along, needed = at.repeated->least;
  ASSERT_LT(needed, 0.9);
  const auto weakest = [&](double overlap) {
    double least = 1;
    for (int i = -400; i <= 400; ++i) {
      const double x = i * 0.01 * w;
      const auto share = [w](double in) {  // of a line that ends `in` further on
        double sum = 0;
        for (double t = -5 * w; t < in; t += 1e-3 * w)
          sum += 1e-3 * std::sqrt(2 / M_PI) * std::exp(-2 * t * t / (w * w));
        return sum;
      };
      least = std::min(least, std::max(share(overlap / 2 - x), share(overlap / 2 + x)));
    }
    return least;
  };
  EXPECT_NEAR(weakest(joint.overlap), kReserve * needed, 3e-3);
  EXPECT_NEAR(weakest(joint.overlap - joint.tolerance), needed, 3e-3);
  EXPECT_NEAR(joint.least, 1 / kReserve, 1e-3);
}

// On bare steel a second pass meets the same ground; under a coat it meets metal, which melts at lower power.
TEST(Joint, TheBetterOneIsAdvised) {
  SmallJob job;
  const Scene scene = prepare(job.job);
  const Restart at = restart(scene, {.line = 12, .along = 20e-3});
  EXPECT_GE(at.joined->greatest, at.repeated->greatest * (1 - 1e-9));
  EXPECT_EQ(at.repeat, at.repeated->margin() >= at.joined->margin());
  EXPECT_THAT(at.words, HasSubstr(at.repeat ? "Burn the whole line again" : "Join it"));
  SmallJob steel;
  steel.bare("aisi_304", "0.5 mm").with("scan.power", "100 %").with("scan.speed", "300 mm/min");
  const Restart melted = restart(prepare(steel.job), {.line = 12, .along = 20e-3});
  EXPECT_EQ(melted.repeated->ruling, melted.repeated->greatest < 1 ? Ruling::over_burns
                                     : melted.repeated->least > 1  ? Ruling::under_marks
                                                                   : Ruling::marks);
}

}  // namespace
}  // namespace circumfluence::mark
