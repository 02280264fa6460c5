// Truth: closed forms (the width of a line by the removal law, the published one at 5 J/cm^2), brute
// force over spacings and heights, plain Monte Carlo, and predictions of whole jobs.
#include "window/focus.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <random>

#include "mark/small_job.h"
#include "quantity/error.h"
#include "response/threshold.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using mark::SmallJob;
using testing::HasSubstr;

const FocusRequest kPlain{.chances = false};

Focus plain(const Scene& scene) {
  return focus_study(scene, kPlain);
}

SmallJob stated() {
  SmallJob small;
  small.with("laser.power_spread", "5 %").with("laser.spot_spread", "10 %");
  small.with("workpiece.coat_spread", "20 %").with("mount.height_spread", "0.3 mm");
  return small;
}

// 304 of 0.8 mm in closely set slow lines.
SmallJob steel() {
  SmallJob small;
  small.bare("aisi_304").with("scan.speed", "500 mm/min").with("scan.spacing", "0.03 mm");
  return small;
}

Place place_at(const Scene& scene, double height, double spacing) {
  Place place = place_of(scene, {spacing, 0, scene.job.scan.passes});
  place.stand.height = height;
  return place;
}

Ends ends_at(const Scene& scene, double height, double spacing) {
  return Look(scene, place_at(scene, height, spacing), scene.job.scan.speed).ends();
}

bool good(const Ends& ends, double power) {
  return ends.marks <= power && power < ends.burns;
}

double widest_at(const Scene& scene, double height) {
  const Place place = place_at(scene, height, scene.job.scan.spacing);
  const mark::Line line = mark::line_at(scene, place.stand);
  Look look(scene, place.fill, line);
  return coarsest_spacing(look, scene, line);
}

// A F(y) = F_th + e need with F(y) = sqrt(2/pi) P/(v w) exp(-2 y^2/w^2).
double width_by_removal(const Scene& scene, double radius) {
  const double power = scene.power(), speed = scene.job.scan.speed, absorbs = 0.95, energy = 3.3e9;
  const double need = (1 - scene.job.outcome.coat_left) * scene.job.workpiece.coat_thickness;
  const double threshold = response::threshold(*scene.coat, scene.job.workpiece.temperature, radius / speed);
  const double centre = absorbs * std::sqrt(2 / M_PI) * power / (speed * radius),
               least = threshold + energy * need;
  return centre > least ? 2 * radius * std::sqrt(0.5 * std::log(centre / least)) : 0;
}

TEST(Focus, LineWidthByTheClosedForm) {
  for (const char* power : {"75 %", "20 %"}) {
    const Scene scene = mark::prepare(SmallJob().with("scan.power", power).job);
    const Focus found = plain(scene);
    ASSERT_EQ(found.rows.size(), 81u);
    EXPECT_EQ(found.rows[40].height, 0);
    EXPECT_DOUBLE_EQ(found.rows.front().height, -4e-3);
    for (const HeightRow& row : found.rows) {
      EXPECT_DOUBLE_EQ(row.across, 40e-6 * std::hypot(1, row.height / 2e-3));
      EXPECT_DOUBLE_EQ(row.along, row.across);
      EXPECT_NEAR(row.width, width_by_removal(scene, row.across), 5e-3 * row.across) << row.height;
    }
  }
}

TEST(Focus, PublishedLineWidth) {
  Scene scene = mark::prepare(SmallJob().with("scan.power", "5 W").job);  // at 41.667 mm/s
  workpiece::Material& coat = *scene.coat;
  const double need = (1 - scene.job.outcome.coat_left) * scene.job.workpiece.coat_thickness;
  coat.removal_energy.value = 1;             // [J/m^3] next to nothing
  coat.threshold.value = 0.95 * 5e4 - need;  // [J/m^2] absorbed; 5 J/cm^2 incident
  coat.threshold_dwell.value = 40e-6 / scene.job.scan.speed;
  const Focus found = plain(scene);
  EXPECT_NEAR(found.set.width, 111.2625e-6, 0.2e-6);
  EXPECT_NEAR(mark::line_of(scene).fluence(0), 239.3635e4, 20);
}

TEST(Focus, SameAboveAndBelowAStigmaticFocus) {
  for (const SmallJob& small : {SmallJob(), steel()}) {
    const std::vector<HeightRow> rows = plain(mark::prepare(small.job)).rows;
    for (size_t i = 0; i < rows.size() / 2; ++i) {
      const HeightRow &a = rows[i], &b = rows[rows.size() - 1 - i];
      EXPECT_NEAR(a.ends.marks / b.ends.marks, 1, 1e-6);
      EXPECT_NEAR(a.ends.burns / b.ends.burns, 1, 1e-6);
      EXPECT_NEAR(a.spacing, b.spacing, 1e-4 * b.spacing);
      EXPECT_EQ(a.ruling, b.ruling);
    }
  }
  SmallJob skew;
  skew.job.laser.waist_offset_around = 1e-3;
  const Focus found = plain(mark::prepare(skew.job));
  EXPECT_DOUBLE_EQ(found.rows.back().height, 5e-3);
  EXPECT_GT(std::abs(found.rows.front().ends.marks / found.rows.back().ends.marks - 1), 0.05);
  EXPECT_TRUE(std::isnan(found.coarsest.other));
  skew.job.laser.focus_depth = quantity::kUnset;  // the lesser Rayleigh length tells how far to look
  skew.job.laser.m2_axial = 2, skew.job.laser.m2_around = 4;
  EXPECT_NEAR(heights_about(mark::prepare(skew.job)).back(), 1e-3 + 2 * M_PI * 1600e-12 / (4 * 450e-9), 1e-9);
}

TEST(Focus, EndsAreThoseOfTheJobRefocused) {
  const SmallJob small;
  const Scene scene = mark::prepare(small.job);
  const std::vector<double> heights{-1.5e-3, 0.7e-3};
  const Focus found = focus_study(scene, {.heights = heights, .chances = false});
  for (size_t i = 0; i < 2; ++i) {
    SmallJob moved;
    moved.job.scan.focus_offset = -heights[i];
    const Scene there = mark::prepare(moved.job);
    const double speed = there.job.scan.speed;
    const Ends ends = window::ends(there, place_of(there, fill_of(there.job)), {&speed, 1}).front();
    EXPECT_DOUBLE_EQ(found.rows[i].ends.marks, ends.marks);
    EXPECT_DOUBLE_EQ(found.rows[i].ends.burns, ends.burns);
    EXPECT_DOUBLE_EQ(found.rows[i].least_factor, ends.marks / 7.5);
    EXPECT_EQ(found.rows[i].ruling, ruling(ends, 7.5));
  }
}

// Every micrometre near the ends, every 20 between them.
void expect_room(const Scene& scene, const HeightRoom& room) {
  const double spacing = scene.job.scan.spacing, power = scene.power();
  ASSERT_TRUE(room.holds);
  for (double h = room.lowest.height; h < room.highest.height; h += 20e-6)
    EXPECT_TRUE(good(ends_at(scene, h, spacing), power)) << h;
  for (const double inside : {room.lowest.height + 1e-6, room.highest.height - 1e-6})
    EXPECT_TRUE(good(ends_at(scene, inside, spacing), power));
  for (const double outside : {room.lowest.height - 1e-6, room.highest.height + 1e-6})
    EXPECT_FALSE(good(ends_at(scene, outside, spacing), power));
}

TEST(Focus, RoomEndsWhereTheOutcomeChanges) {
  SmallJob hot = steel();
  const Focus cool = plain(mark::prepare(hot.job));
  expect_room(mark::prepare(hot.job), cool.nominal);
  EXPECT_EQ(cool.nominal.highest.fault, HeightFault::too_little);
  EXPECT_NEAR(cool.nominal.up(), cool.nominal.down(), 2e-7);
  hot.with("scan.power", "8.8 W").with("scan.focus_offset", "1.5 mm");  // over-burns in focus
  const Scene scene = mark::prepare(hot.job);
  const Focus found = plain(scene);
  expect_room(scene, found.nominal);
  EXPECT_EQ(found.nominal.highest.fault, HeightFault::over_burns);
  EXPECT_LT(found.nominal.highest.height, 0);
  EXPECT_EQ(found.nominal.lowest.fault, HeightFault::too_little);
  hot.with("scan.focus_offset", "0 mm");
  const HeightRoom none = plain(mark::prepare(hot.job)).nominal;
  EXPECT_FALSE(none.holds);
  EXPECT_EQ(none.lowest.fault, HeightFault::over_burns);
  EXPECT_TRUE(std::isinf(used(none, {})));
}

// The widest of a grid of spacings in steps of 1 %.
double widest_by_grid(const Scene& scene, double height) {
  double out = 0;
  for (double spacing = 25e-6; spacing < 600e-6; spacing *= 1.01)
    if (good(ends_at(scene, height, spacing), scene.power())) out = spacing;
  return out;
}

TEST(Focus, CoarsestSpacingAgainstAGrid) {
  SmallJob twice;
  twice.with("scan.passes", "2");
  SmallJob wood;
  wood.bare("birch", "4 mm").with("scan.power", "1 W");
  SmallJob hot = steel();
  hot.with("scan.power", "9 W");  // over-burns in focus at any spacing
  for (const SmallJob* small : std::initializer_list<const SmallJob*>{&twice, &wood, &hot})
    for (const double height : {0.0, 1.3e-3, 3e-3}) {
      const Scene scene = mark::prepare(small->job);
      const double found = widest_at(scene, height), grid = widest_by_grid(scene, height);
      EXPECT_GE(found, grid * (1 - 2e-4)) << height;
      EXPECT_LE(found, grid * (1.01 + 2e-4)) << height;
    }
  EXPECT_EQ(widest_at(mark::prepare(hot.job), 0), 0);
  EXPECT_GT(widest_at(mark::prepare(hot.job), 1.3e-3), 0);
}

TEST(Focus, PredictionsCloseAtThatSpacingAndNotBeyond) {
  SmallJob small;
  small.with("grid.cell", "5 um").with("scan.focus_offset", "1.5 mm");
  const double widest = widest_at(mark::prepare(small.job), -1.5e-3);
  const auto marked = [&](double spacing) {
    small.job.scan.spacing = spacing;
    return small.on_a_cold_wall().verdict.wanted[2];
  };
  EXPECT_GT(marked(0.97 * widest), small.job.outcome.required);
  EXPECT_LT(marked(1.05 * widest), small.job.outcome.required);
}

TEST(Focus, BestFocusAgainstBruteForce) {
  SmallJob small;
  small.with("scan.power", "1 W");
  const Scene scene = mark::prepare(small.job);
  const Coarsest found = focus_study(scene, {.chances = false}).coarsest;
  double widest = 0;
  for (double h = -4e-3; h <= 4e-3; h += 25e-6) widest = std::max(widest, widest_at(scene, h));
  EXPECT_GE(found.spacing, widest * (1 - 2e-4));
  EXPECT_LE(found.spacing, widest * (1 + 2e-3));
  EXPECT_FALSE(found.at_the_end);
  EXPECT_GT(found.focus_offset, 0);  // of two alike the one where the head stands further away
  EXPECT_DOUBLE_EQ(found.other, -found.focus_offset);
  EXPECT_NEAR(widest_at(scene, -found.other), found.spacing, 1e-4 * found.spacing);
  SmallJob advised;
  advised.job.scan.spacing = found.spacing;
  EXPECT_DOUBLE_EQ(found.duration, mark::plan(mark::prepare(advised.job)).duration);
  small.with("scan.focus_offset", "-1 mm");
  EXPECT_LT(plain(mark::prepare(small.job)).coarsest.focus_offset, 0);  // the nearer one
}

TEST(Focus, SafeSpacingHasTheChanceAsked) {
  const Scene scene = mark::prepare(stated().job);
  const Doubt doubt(scene);
  const auto chance = [&](const Coarsest& c, double spacing) {
    const double speed = scene.job.scan.speed;
    return doubt.over(place_at(scene, -c.focus_offset, spacing), {&speed, 1}).front().at(7.5).good;
  };
  for (const double asked : {0.9, 0.2}) {
    Coarsest found = plain(scene).coarsest;
    add_safe(found, doubt, asked);
    EXPECT_GE(chance(found, found.safe_spacing), asked);
    EXPECT_LT(chance(found, 1.004 * found.safe_spacing), asked);
    EXPECT_EQ(found.safe_spacing<found.spacing, asked> 0.5);
  }
  const Scene narrow = mark::prepare(steel().job);  // its window is narrower than what is known of it
  Coarsest never = plain(narrow).coarsest;
  add_safe(never, Doubt(narrow, {.count = 8}), 0.99);
  EXPECT_GT(never.spacing, 0);
  EXPECT_EQ(never.safe_spacing, 0);
}

TEST(Focus, ChancesAgainstPlainMonteCarlo) {
  const Scene scene = mark::prepare(stated().job);
  const std::vector<double> heights{-1.2e-3, 0, 0.6e-3};
  const Focus found = focus_study(scene, {.heights = heights, .draws = {.count = 512}});
  const std::vector<Unknown> all = unknowns(scene);
  std::mt19937 random(7);
  std::normal_distribution<double> normal;
  constexpr int kDraws = 3000;
  int marks[3] = {}, spares[3] = {}, both[3] = {};
  for (int i = 0; i < kDraws; ++i) {
    std::vector<double> deviates;
    for (size_t k = 0; k < all.size(); ++k) deviates.push_back(normal(random));
    const Scene draw = drawn(scene, all, deviates);
    const double off = draw.job.scan.focus_offset - scene.job.scan.focus_offset, power = draw.power();
    for (int k = 0; k < 3; ++k) {
      const Ends ends = ends_at(draw, heights[size_t(k)] - off, scene.job.scan.spacing);
      marks[k] += ends.marks <= power, spares[k] += power < ends.burns, both[k] += good(ends, power);
    }
  }
  for (size_t k = 0; k < 3; ++k) {
    EXPECT_NEAR(found.rows[k].chances.marks, double(marks[k]) / kDraws, 0.025);
    EXPECT_NEAR(found.rows[k].chances.spares, double(spares[k]) / kDraws, 0.025);
    EXPECT_NEAR(found.rows[k].chances.good, double(both[k]) / kDraws, 0.025);
  }
  EXPECT_LT(found.rows[1].chances.good, found.rows[0].chances.good - 0.1);  // something to tell
}

TEST(Focus, ChancesBetweenNodesAreThoseSolvedThere) {
  SmallJob bare = steel();
  bare.with("mount.height_spread", "0.3 mm").with("laser.spot_spread", "5 %");
  for (const SmallJob& small : {stated(), bare}) {
    const Scene scene = mark::prepare(small.job);
    const FocusRequest request{.chance = 0.3, .draws = {.count = 32}};
    const Focus found = focus_study(scene, request);
    const Doubt doubt(scene, request.draws);
    const double speed = scene.job.scan.speed;
    const auto direct = [&](double height) {
      return doubt.over(place_at(scene, height, scene.job.scan.spacing), {&speed, 1})
          .front()
          .at(scene.power());
    };
    for (size_t i = 1; i < found.rows.size(); i += 7) {
      const Chances there = direct(found.rows[i].height);
      EXPECT_NEAR(found.rows[i].chances.good, there.good, 0.01) << found.rows[i].height;
      EXPECT_NEAR(found.rows[i].chances.marks, there.marks, 0.01) << found.rows[i].height;
    }
    EXPECT_TRUE(found.likely.holds);
    for (const HeightEnd& end : {found.likely.lowest, found.likely.highest})
      if (end.fault != HeightFault::range) {
        EXPECT_NEAR(direct(end.height).good, 0.3, 0.02);
      }
  }
}

TEST(Focus, BadInputIsRefused) {
  const Scene scene = mark::prepare(SmallJob().job);
  const auto refusal = [&](const FocusRequest& request) -> std::string {
    try {
      focus_study(scene, request);
    } catch (const quantity::ValidityError& error) {
      return error.what();
    }
    return "";
  };
  EXPECT_THAT(refusal({.chance = 1.2}), HasSubstr("focus.chance = 120 % (expected 0 % to 100 %)"));
  EXPECT_THAT(refusal({.chance = NAN}), HasSubstr("focus.chance"));
  EXPECT_THAT(refusal({.heights = std::vector<double>{}}), HasSubstr("focus.heights: 0 of them (expected 1"));
  EXPECT_THAT(refusal({.heights = std::vector<double>{1e-3, 1e-3}}),
              HasSubstr("from 1 mm to 1 mm at place 1 (expected rising"));
  EXPECT_THAT(refusal({.heights = std::vector<double>{1e-3, 0.5e-3}}), HasSubstr("Sort them"));
  EXPECT_THAT(refusal({.heights = std::vector<double>{0.0, NAN}}),
              HasSubstr("focus.heights has nan at place 1"));
  EXPECT_THAT(refusal({.ovality = -1e-3}),
              HasSubstr("focus.ovality = -1 mm (expected a length of 0 or more)"));
  EXPECT_THAT(refusal({.sag = NAN}), HasSubstr("focus.sag"));
  EXPECT_THAT(refusal({.ovality = 0.2}), HasSubstr("the beam misses the part"));
  EXPECT_THAT(refusal({.draws = {.count = 1}}), HasSubstr("draws = 1"));
  EXPECT_THROW(heights_about(scene, 1), quantity::ValidityError);
  EXPECT_THROW(focus_study(scene, {.progress = [](double) { return false; }}), quantity::Interrupted);
}

TEST(Focus, SameWhateverTheThreadsAndProgressOnlyGrows) {
  const Scene scene = mark::prepare(stated().job);
  double last = 0;
  FocusRequest request{.draws = {.count = 16, .threads = 1}};
  request.progress = [&](double share) {
    EXPECT_GE(share, last - 1e-9);
    EXPECT_LE(share, 1 + 1e-9);
    last = share;
    return true;
  };
  const Focus one = focus_study(scene, request);
  EXPECT_GT(last, 0.8);
  EXPECT_EQ(json(one), json(focus_study(scene, {.draws = {.count = 16, .threads = 3}})));
}

TEST(Focus, SaysWhatItFound) {
  SmallJob small = stated();
  small.job.mount.runout = 0.1e-3;
  const Focus found = focus_study(mark::prepare(small.job), {.ovality = 0.4e-3, .draws = {.count = 16}});
  const std::string words = text(found);
  for (const char* part :
       {"7.5 W, 2500 mm/min, lines 0.1 mm apart, 1 pass, focus on the surface", "80 um across",
        "marks as set", "at least 4 mm lower", "run-out +-0.1 mm, ovality +-0.1 mm; in all +-0.2 mm",
        "fits, uses up at most 5 %", "lines 0.203 mm apart with the focus 4 mm above the surface",
        "scan.focus_offset = \"-4 mm\" serves as well", "at 95 %", "note       Lines grow"})
    EXPECT_THAT(words, HasSubstr(part));
  EXPECT_THAT(json(found), testing::AllOf(HasSubstr("\"ruling\": \"marks\""), HasSubstr("\"cautions\": []"),
                                          HasSubstr("chance_good")));
  EXPECT_THAT(json(plain(mark::prepare(small.job))), HasSubstr("\"likely\": null"));
  const std::string path = small.folder.file("focus.png");
  write_picture(path, found, "small");
  EXPECT_GT(std::filesystem::file_size(path), 10000u);
  const std::vector<double> one{0};
  write_picture(path, focus_study(mark::prepare(small.job), {.heights = one, .draws = {.count = 8}}),
                "one height");
}

}  // namespace
}  // namespace circumfluence::window
