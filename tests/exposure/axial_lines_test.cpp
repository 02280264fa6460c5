// Truth: direct integration in time of a beam over the part as it stands in space (slow_beam.h), conservation
// of energy, symmetries.
#include "exposure/axial_lines.h"

#include <gtest/gtest.h>

#include "exposure/trials.h"

namespace circumfluence::exposure {
namespace {

using slow::Trial;
using slow::Try;
using workpiece::Shape;

constexpr motion::Direction kDirection = motion::Direction::axial;
constexpr slow::Tolerances kTolerances{.plain = {2e-5, 4e-5},
                                       .flat = {8e-4, 8e-4},
                                       .astigmatic = {4e-4, 4e-4},
                                       .offset = {1.5e-3, 1.5e-3},
                                       .runout = {5e-5, 5e-5},
                                       .one_line = {5e-5, 5e-5},
                                       .short_run_up = {2e-3, 2e-3},
                                       .turn = {4e-5, 4e-5}};

class AxialLines : public testing::TestWithParam<Try> {};

TEST_P(AxialLines, AgreeWithTheSlowBeam) {
  EXPECT_LT(slow::worst(trial(GetParam(), kDirection), 397), tolerance(GetParam()));
}

INSTANTIATE_TEST_SUITE_P(Jobs, AxialLines, testing::ValuesIn(slow::tries(kTolerances)));

TEST(AxialLinesEnergy, IsConserved) {
  for (const Try& what : slow::tries(kTolerances))
    if (what.change.name != std::string("a region within the art")) {
      EXPECT_NEAR(slow::imbalance(trial(what, kDirection)), 0, 1e-4) << what;
    }
}

// The beam is widest on the crest when the focus lies below it, not under the first or the last line.
TEST(AxialLines, ReachAsFarAsTheirWidestLine) {
  Trial t = slow::rod();
  t.mount.hold = motion::Hold::standing;
  t.laser.m2_axial = 60;
  t.scan = {.power = 5,
            .speed = 0.05,
            .spacing = 0.5e-3,
            .run_up = 10e-3,
            .acceleration = 1.0,
            .focus_offset = -3e-3};
  t.art.size_around = 9e-3;
  t.image.tone.assign(12, 0);
  t.grid = {.cell = 40e-6, .margin = 2e-3};
  const slow::Beam beam(t);
  const quantity::Map<double> map = slow::fluence(beam.job());
  const double arc = 5e-3 * std::asin(0.25e-3 / 5e-3);  // under line 9, next to the crest
  const int row = static_cast<int>((arc - beam.job().surface.around_from) / 40e-6);
  for (int i = 0; i < map.axial(); i += 3)
    EXPECT_NEAR(map.row(row)[i], beam.fluence(row, i), 2e-4 * map.row(row)[map.axial() / 2]) << i;
}

// Lines whose middle passes beside the part burn nothing; near the flank nothing is negative or undefined.
TEST(AxialLines, MayMissThePart) {
  for (const Shape s : {Shape::straight, Shape::tapered, Shape::stepped})
    for (const double offset : {-0.9e-3, 0.4e-3}) {
      Trial t = slow::rod();
      slow::shape(t, s);
      t.mount.hold = motion::Hold::standing;
      t.mount.beam_offset = offset;
      t.art.size_around = 9.6e-3;
      t.scan.spacing = 0.1e-3;
      t.grid = {.cell = 40e-6, .margin = 4e-3};
      const quantity::Map<double> map = slow::fluence(slow::arrange(t));
      double most = 0;
      for (const double f : map.cells()) {
        ASSERT_GE(f, 0);
        most = std::max(most, f);
      }
      EXPECT_GT(most, 1e4);
      EXPECT_LT(slow::imbalance(t), 1e-4);
    }
}

// The steep flank of a part out of focus: the beam's radius is taken where its middle meets the part, but
// differs across the spot. At 53 degrees and up, 1 to 3 mm off focus, that is half a per cent.
TEST(AxialLines, HoldToOnePerCentOnASteepFlankOutOfFocus) {
  Trial t = slow::rod();
  t.mount.hold = motion::Hold::standing;
  t.scan.focus_offset = -3e-3;
  t.scan.spacing = 0.4e-3;
  t.art.size_around = 8e-3;
  t.grid = {.cell = 40e-6, .margin = 0.6e-3};
  EXPECT_LT(slow::worst(t, 199), 1e-2);
}

TEST(AxialLines, CursorsAgreeInWhateverOrderRowsAreAsked) {
  Trial t = slow::rod();
  slow::shape(t, Shape::tapered);
  const Arrangement job = slow::arrange(t);
  const std::unique_ptr<Exposure> exposure = expose(job);
  const std::unique_ptr<Cursor> down = exposure->cursor();
  const quantity::Map<double> map = slow::fluence(job);
  for (int row = map.around() - 1; row >= 0; row -= 2) {
    std::vector<double> sum(map.axial());
    for (const EventRow& event : down->at(row))
      for (int i = 0; i < map.axial(); ++i) sum[i] += double(event.energy[i]) * event.shares[i];
    for (int i = 0; i < map.axial(); ++i) ASSERT_EQ(sum[i], map.row(row)[i]);
  }
}

TEST(AxialLines, EventsSayHowFarTheLineIs) {
  Trial t = slow::rod();
  t.image.tone.assign(12, 0);
  const Arrangement job = slow::arrange(t);
  const std::unique_ptr<Exposure> exposure = expose(job);
  const std::unique_ptr<Cursor> cursor = exposure->cursor();
  const int row = job.surface.around / 2;
  const std::span<const EventRow> events = cursor->at(row);
  ASSERT_GT(events.size(), 3u);
  EXPECT_TRUE(events[0].uniform);
  for (size_t i = 0; i + 1 < events.size(); ++i)
    EXPECT_NEAR(std::abs(events[i].eta - events[i + 1].eta) * 65e-6, 60e-6, events[i].eta < 1 ? 60e-6 : 1e-7);
  EXPECT_NEAR(events[0].half * 65e-6, 10e-6, 2e-8);
  EXPECT_NEAR(exposure->states()[events[0].state].along, 45e-6, 1e-9);
  EXPECT_NEAR(exposure->states()[events[0].state].across, 65e-6, 1e-9);
  EXPECT_NEAR(exposure->states()[events[0].state].speed, 0.05, 1e-9);
}

}  // namespace
}  // namespace circumfluence::exposure
