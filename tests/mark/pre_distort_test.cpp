// Truth: the art placed on the part by geometry written down here anew, cell by cell on the surface, against
// the prediction of the job that feeds the pre-distorted picture.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "mark/set_up.h"
#include "mark/small_job.h"
#include "motion/mount.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using motion::Truth;
using quantity::JobError;
using testing::HasSubstr;
using testing::ThrowsMessage;

// Unlike all its images, with straight and slanting edges: 80 x 60, a frame, a foot and a wedge.
Picture motif() {
  Picture p{.width = 80, .height = 60, .tone = std::vector<int>(4800, 255)};
  const auto black = [&](int x, int y) { p.tone[size_t(y * 80 + x)] = 0; };
  for (int y = 0; y < 60; ++y)
    for (int x = 0; x < 80; ++x) {
      if (x < 5 || x >= 75 || y < 5 || y >= 55) black(x, y);
      if (x >= 15 && x < 25 && y >= 12) black(x, y);
      if (x >= 32 && x < 68 && y >= 14 && y < 46 && (x - 32) < 2 * (y - 14)) black(x, y);
    }
  return p;
}

SmallJob job_for_art(const char* shape) {
  SmallJob small(motif());
  job::Job& job = small.job;
  job.workpiece.length = 40e-3;
  job.artwork.size_axial = 20e-3;
  job.grid.cell = 50e-6;
  job.grid.margin = 1.5e-3;
  if (std::string(shape) == "tapered") small.tapered(40e-3);
  if (std::string(shape) == "stepped") {  // a cap on a wider body
    job.workpiece.shape = workpiece::Shape::stepped;
    job.workpiece.profile = {{0, 60e-3}, {18e-3, 40e-3}};
  }
  job = job::completed(job);
  return small;
}

struct Spot {
  double along, around;  // [m] on the art
};

// Where a place of the part lies on the art: `driven` is the reference radius.
Spot level(const workpiece::Part& part, const Scene& scene, double axial, double azimuth) {
  const double slope =
      part.shape == workpiece::Shape::tapered ? (part.end_diameter - part.diameter) / 2 / part.length : 0;
  double radius = part.diameter / 2 + slope * axial;
  if (part.shape == workpiece::Shape::stepped) radius = axial < 18e-3 ? 30e-3 : 20e-3;
  const double from = azimuth - scene.job.artwork.around / scene.reference_radius;
  return {(axial - scene.job.artwork.axial) * std::sqrt(1 + slope * slope), radius * from};
}

// A label on the small job's taper, from the distance to its point and the angle of the fan.
Spot label(const workpiece::Part& part, const Scene& scene, double axial, double azimuth) {
  const double fall = (part.diameter - part.end_diameter) / 2 / part.length, half_angle = std::atan(fall);
  const auto to_point = [&](double u) { return (part.diameter / 2 - fall * u) / std::sin(half_angle); };
  const double fan = (azimuth - scene.job.artwork.around / scene.reference_radius) * std::sin(half_angle);
  return {to_point(scene.job.artwork.axial) - to_point(axial) * std::cos(fan),
          to_point(axial) * std::sin(fan)};
}

using Place = Spot (*)(const workpiece::Part&, const Scene&, double, double);

bool black(const Scene& meant, const Spot& at) {
  const double pixel = (meant.art.axial_to - meant.art.axial_from) / meant.image.width;
  const double x = at.along / pixel + meant.image.width / 2.0,
               y = meant.image.height / 2.0 - at.around / pixel;
  if (!(x >= 0 && x < meant.image.width && y >= 0 && y < meant.image.height)) return false;
  return meant.image.tone[size_t(y) * size_t(meant.image.width) + size_t(x)] == 0;
}

// Whether the art is the same for `reach` [m] about the place, so that no edge excuses a mismatch.
bool even(const Scene& meant, const Spot& at, double reach) {
  const bool here = black(meant, at);
  for (const double dx : {-reach, 0.0, reach})
    for (const double dy : {-reach, 0.0, reach})
      if (black(meant, {at.along + dx, at.around + dy}) != here) return false;
  return true;
}

struct Mismatch {
  long cells = 0, wanted = 0, away = 0, all = 0;  // `away` from every edge, by a pixel and a cell
  double share() const { return double(all) / double(wanted); }
};

Mismatch compare(const Scene& meant, const MarkMap& map, Place place, bool light = false) {
  Mismatch out;
  const workpiece::Surface& s = map.surface;
  const double reach = 1.5 * s.cell_axial;
  for (int row = 0; row < s.around; ++row)
    for (int column = 0; column < s.axial; ++column) {
      const double u = s.position(column);
      if (meant.job.workpiece.shape == workpiece::Shape::stepped && std::abs(u - 18e-3) < reach) continue;
      const Spot at = place(meant.job.workpiece, meant, u, s.azimuth(row));
      const bool inside = std::abs(at.along) < (meant.art.axial_to - meant.art.axial_from) / 2 &&
                          std::abs(at.around) < (meant.art.around_to - meant.art.around_from) / 2;
      const bool expected = light ? inside && !black(meant, at) : black(meant, at);
      const bool rim =
          light && even(meant, at, reach) &&
          (std::abs(std::abs(at.along) - 10e-3) < reach || std::abs(std::abs(at.around) - 7.5e-3) < reach);
      const bool found = map.maps.wanted.row(row)[size_t(column)] != 0;
      ++out.cells;
      out.wanted += expected;
      out.all += found != expected;
      out.away += found != expected && even(meant, at, reach) && !rim;
    }
  return out;
}

struct Fed {
  Scene meant;
  FedArt art;
  MarkMap map;
};

Fed feed(const SmallJob& small, FeedWish wish = {}) {
  if (std::isnan(wish.pixel)) wish.pixel = 50e-6;
  const Scene meant = prepare(small.job);
  FedArt art = pre_distort(meant, wish);
  artwork::write_image(art.image, art.pixel, small.folder.file("fed.png"));
  MarkMap map = predict(fed_job(meant, art, "fed.png"), small.request(true, 2));
  return {meant, std::move(art), std::move(map)};
}

void expect_as_meant(const Fed& fed, Place place, bool light = false) {
  const Mismatch found = compare(fed.meant, fed.map, place, light);
  EXPECT_EQ(found.away, 0);
  EXPECT_LT(found.share(), 0.02);  // some 3000 of 60 000 wanted cells lie along an edge
  EXPECT_GT(found.wanted, 30'000);
}

// What comes of the same picture fed as it is.
double undistorted(const SmallJob& small, Place place) {
  const Scene meant = prepare(small.job);
  const Mismatch found = compare(meant, predict(small.job, small.request(true, 2)), place);
  return double(found.away) / double(found.wanted);
}

TEST(PreDistort, AStraightPartIsFedTheArtItself) {
  const SmallJob small = job_for_art("straight");
  const Fed fed = feed(small);
  expect_as_meant(fed, level);
  EXPECT_LT(undistorted(small, level), 1e-9);
  EXPECT_EQ(fed.art.image.width, 400);
  EXPECT_EQ(fed.art.image.height, 300);
}

TEST(PreDistort, ADrivenDiameterThatIsNotTheParts) {
  SmallJob small = job_for_art("straight");
  small.with("mount.drive_diameter", "50 mm").with("artwork.around", "3 mm");
  const Fed fed = feed(small);
  expect_as_meant(fed, level);
  EXPECT_NEAR(fed.art.extent.around_to - fed.art.extent.around_from, 15e-3 * 5 / 6, 50e-6);
  EXPECT_GT(undistorted(small, level), 0.2);
}

TEST(PreDistort, TaperedLevel) {
  const SmallJob small = job_for_art("tapered");
  expect_as_meant(feed(small), level);
  EXPECT_GT(undistorted(small, level), 0.15);
}

TEST(PreDistort, TaperedDeveloped) {
  SmallJob small = job_for_art("tapered");
  small.with("artwork.around", "-4 mm");
  const Fed fed = feed(small, {.truth = Truth::developed});
  expect_as_meant(fed, label);
  EXPECT_GT(undistorted(small, label), 0.15);
  EXPECT_GT(double(compare(fed.meant, fed.map, level).away), 0);  // and it isn't the level one
}

TEST(PreDistort, CapOnABody) {
  SmallJob small = job_for_art("stepped");
  small.with("mount.focus_at", "10 mm");
  const Fed fed = feed(small);
  expect_as_meant(fed, level);
  EXPECT_GT(undistorted(small, level), 0.2);
  ASSERT_EQ(fed.art.bands.size(), 2u);
  EXPECT_NEAR(fed.art.bands[1].scale_around, 1.5, 1e-12);
}

TEST(PreDistort, StandingCylinder) {
  SmallJob small = job_for_art("straight");
  small.with("mount.hold", "standing").with("workpiece.diameter", "18 mm");
  const Fed fed = feed(small);
  expect_as_meant(fed, level);
  EXPECT_GT(undistorted(small, level), 0.4);
  EXPECT_NEAR(fed.art.extent.around_to, 9e-3 * std::sin(7.5 / 9), 50e-6);
}

TEST(PreDistort, StandingTaperDeveloped) {
  SmallJob small = job_for_art("tapered");
  small.with("mount.hold", "standing");
  expect_as_meant(feed(small, {.truth = Truth::developed}), label);
}

// The machine runs against the part's frame, and fed() mirrors what it is fed.
TEST(PreDistort, AMachineThatMirrorsIsUndone) {
  SmallJob small = job_for_art("tapered");
  for (const auto& [key, value] :
       {std::pair{"mouth", "end"}, {"mouth_faces", "right"}, {"axial_feed", "left"}, {"around_feed", "back"}})
    job::assign(small.job, std::string("mount.") + key, value);
  small.job = job::completed(small.job);
  ASSERT_NE(motion::against(small.job.mount), artwork::Mirror::none);
  const Fed fed = feed(small);
  expect_as_meant(fed, level);
  EXPECT_THAT(fed.art.words, HasSubstr("mirrored"));
  EXPECT_GT(double(compare(fed.meant, feed(small, {.flip = artwork::Mirror::none}).map, level).away), 1000);
}

TEST(PreDistort, FlippedBeforehandIsTheSamePictureTurnedOver) {
  const SmallJob small = job_for_art("tapered");
  const Scene meant = prepare(small.job);
  const FedArt plain = pre_distort(meant, {}), both = pre_distort(meant, {.flip = artwork::Mirror::both});
  EXPECT_EQ(artwork::turned_over(plain.image, true, true).tone, both.image.tone);
}

TEST(PreDistort, LightArtIsWrittenInverted) {
  SmallJob small = job_for_art("tapered");
  small.with("artwork.burns", "light");
  const Fed fed = feed(small);
  expect_as_meant(fed, level, true);
  EXPECT_EQ(fed.map.scene.job.artwork.burns, artwork::Burns::dark);
  EXPECT_THAT(fed.art.words, HasSubstr("inverted"));
  const Fed kept = feed(small, {.invert = false});
  expect_as_meant(kept, level, true);
  EXPECT_EQ(kept.map.scene.job.artwork.burns, artwork::Burns::light);
}

TEST(PreDistort, TurnedArt) {
  SmallJob small = job_for_art("tapered");
  small.with("artwork.turn", "180 deg");
  expect_as_meant(feed(small), [](const workpiece::Part& part, const Scene& scene, double u, double azimuth) {
    const Spot at = level(part, scene, u, azimuth);
    return Spot{-at.along, -at.around};
  });
}

// Not only what is wanted, also what the beam does: inside the art it marks, beside it nothing.
TEST(PreDistort, TheBeamBurnsItThere) {
  for (const char* hold : {"turning", "standing"}) {
    SmallJob small = job_for_art("tapered");
    small.with("mount.hold", hold);
    const Fed fed = feed(small);
    const workpiece::Surface& s = fed.map.surface;
    long inside = 0, beside = 0, unmarked = 0, marked = 0;
    for (int row = 0; row < s.around; ++row)
      for (int column = 0; column < s.axial; ++column) {
        const Spot at = level(small.job.workpiece, fed.meant, s.position(column), s.azimuth(row));
        if (!even(fed.meant, at, 0.3e-3)) continue;  // three lines
        const bool burnt = fed.map.maps.outcome.row(row)[size_t(column)] >= int(response::Outcome::marked);
        black(fed.meant, at) ? (++inside, unmarked += !burnt) : (++beside, marked += burnt);
      }
    EXPECT_GT(inside, 20'000);
    EXPECT_GT(beside, 20'000);
    EXPECT_EQ(unmarked, 0) << hold;
    EXPECT_EQ(marked, 0) << hold;
  }
}

TEST(PreDistort, ItsJobSurvivesBeingWritten) {
  SmallJob small = job_for_art("tapered");
  small.with("artwork.turn", "180 deg");
  const Scene meant = prepare(small.job);
  const FedArt art = pre_distort(meant, {});
  const job::Job fed = fed_job(meant, art, "fed.png");
  const job::Job read = job::parse_job(job::write_job(fed), "fed.toml", small.folder.path.string());
  EXPECT_EQ(read.artwork.size_around, fed.artwork.size_around);
  EXPECT_EQ(read.mount.focus_at, meant.focus_at);
  EXPECT_EQ(read.artwork.turn, 0);
  artwork::write_image(art.image, art.pixel, small.folder.file("fed.png"));
  EXPECT_NEAR(prepare(read).reference_radius, meant.reference_radius, 1e-15);
}

// A band all round the thin end of a taper: it must meet itself.
TEST(PreDistort, ArtThatClosesTheTurn) {
  SmallJob small(Picture{.width = 20, .height = 200, .tone = std::vector<int>(4000, 0)});
  small.with("workpiece.diameter", "10 mm").with("mount.drive_diameter", "12 mm");
  small.job.artwork.size_around = std::numbers::pi * 10e-3;
  small.job = job::completed(small.job);
  const Fed fed = feed(small);
  const double turn = std::numbers::pi * 12e-3;
  EXPECT_NEAR(fed.art.pixel * fed.art.image.height, turn, 1e-12);
  for (int row = 0; row < fed.map.surface.around; ++row)
    EXPECT_EQ(fed.map.maps.wanted.row(row)[size_t(fed.map.surface.axial / 2)], 1) << row;
}

TEST(PreDistort, ArtUpToThePartsEndStaysOnIt) {
  SmallJob small = job_for_art("straight");
  small.with("artwork.axial", "30 mm");
  const FedArt art = pre_distort(prepare(small.job), {.pixel = 70e-6});
  EXPECT_NEAR(art.extent.axial_to, 40e-3, 1e-12);
  EXPECT_LE(art.extent.axial_from, 20e-3 + 1e-12);
}

TEST(PreDistort, ThePixelIsTheFinestOfUse) {
  const FedArt art = pre_distort(prepare(job_for_art("straight").job), {});
  EXPECT_NEAR(art.pixel, 1 / 37'500.0, 1e-12);  // a third of 80 um
  EXPECT_THAT(art.words, HasSubstr("750 x 563 pixels"));
}

TEST(PreDistort, WordsSayWhatIsDone) {
  SmallJob small = job_for_art("tapered");
  const std::string said = pre_distort(prepare(small.job), {.truth = Truth::developed}).words;
  EXPECT_THAT(said, HasSubstr("band"));
  EXPECT_THAT(said, HasSubstr("toward the part's beginning"));
  small.with("mount.hold", "standing").with("mount.beam_offset", "0.1 mm");
  EXPECT_THAT(pre_distort(prepare(small.job), {}).words,
              testing::AllOf(HasSubstr("as the head sees it"), HasSubstr("left in")));
}

TEST(PreDistort, Refusals) {
  SmallJob small = job_for_art("tapered");
  small.with("artwork.axial", "30 mm");  // fits flat, but not along the slope
  EXPECT_NO_THROW(pre_distort(prepare(small.job), {}));
  EXPECT_THAT([&] { pre_distort(prepare(job_for_art("straight").job), {.pixel = 0.2e-6}); },
              ThrowsMessage<JobError>(HasSubstr("Use a larger pixel")));
  EXPECT_THAT([&] { pre_distort(prepare(job_for_art("straight").job), {.pixel = -1}); },
              ThrowsMessage<JobError>(HasSubstr("pixel = -1000 mm")));
  Scene path = prepare(job_for_art("straight").job);
  path.job.path.file = "moves.nc";
  EXPECT_THAT([&] { pre_distort(path, {}); }, ThrowsMessage<JobError>(HasSubstr("path.file = \"moves.nc\"")));
  EXPECT_THAT([&] { pre_distort(prepare(job_for_art("stepped").job), {.truth = Truth::developed}); },
              ThrowsMessage<JobError>(HasSubstr("Lay it level")));
}

}  // namespace
}  // namespace circumfluence::mark
