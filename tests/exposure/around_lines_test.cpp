// Truth: direct integration in time of a beam over the part as it stands in space (slow_beam.h), conservation
// of energy, symmetries.
#include "exposure/around_lines.h"

#include <gtest/gtest.h>

#include "exposure/trials.h"

namespace circumfluence::exposure {
namespace {

using slow::Trial;
using slow::Try;
using workpiece::Shape;

constexpr motion::Direction kDirection = motion::Direction::around;
constexpr slow::Tolerances kTolerances{.plain = {3e-5, 8e-4},
                                       .flat = {3e-5, 8e-4},
                                       .astigmatic = {6e-5, 8e-4},
                                       .offset = {1e-3, 1.5e-2},
                                       .runout = {1e-4, 8e-4},
                                       .one_line = {8e-5, 6e-3},
                                       .short_run_up = {1.5e-3, 2e-3},
                                       .turn = {6e-4, 8e-4}};

class AroundLines : public testing::TestWithParam<Try> {};

TEST_P(AroundLines, AgreeWithTheSlowBeam) {
  EXPECT_LT(slow::worst(trial(GetParam(), kDirection), 397), tolerance(GetParam()));
}

INSTANTIATE_TEST_SUITE_P(Jobs, AroundLines, testing::ValuesIn(slow::tries(kTolerances)));

// On a taper the radius under each line stands for the cells it reaches, and an offset beam tilts its line.
TEST(AroundLinesEnergy, IsConserved) {
  for (const Try& what : slow::tries(kTolerances))
    if (what.change.name != std::string("a region within the art")) {
      EXPECT_NEAR(slow::imbalance(trial(what, kDirection)), 0, 1e-4) << what;
    }
}

// A part that stands off the turning axis is faster under the beam where it is high.
TEST(AroundLines, RunOutChangesTheSpeedUnderTheBeam) {
  Trial t = slow::rod();
  t.scan.direction = kDirection;
  t.mount.runout = 0.3e-3;
  t.image.tone.assign(12, 0);
  const double centre = 2.5e-3 / 1e6;  // all of a cell near the art's middle
  for (const double phase : {0.0, quantity::kPi}) {
    t.mount.runout_phase = phase;
    const Arrangement job = slow::arrange(t);
    const quantity::Map<double> map = slow::fluence(job);
    const int row = static_cast<int>((centre - job.surface.around_from) / job.surface.cell_around);
    double mean = 0;  // over one spacing, three cells
    for (int i = 0; i < 3; ++i) mean += map.row(row)[map.axial() / 2 + i] / 3;
    EXPECT_NEAR(mean * 0.05 * 60e-6 / 5, 5e-3 / (5e-3 + 0.3e-3 * std::cos(phase)), 1e-3);
  }
}

// Across a step each piece has its own radius, angle and height.
TEST(AroundLines, KeepTheirEnergyOnBothSidesOfAStep) {
  Trial t = slow::rod();
  t.scan.direction = kDirection;
  t.part.shape = Shape::stepped;
  t.part.profile = {{0, 10e-3}, {3e-3, 6e-3}};
  t.mount.focus_at = 2.5e-3;
  t.mount.beam_offset = 1e-3;
  slow::look_aside(t, -1e-3, 4e-3);
  EXPECT_LT(slow::worst(t, 199), 2e-3);
}

TEST(AroundLines, StayDefinedAtTheFlank) {
  for (const Shape s : {Shape::straight, Shape::tapered, Shape::stepped}) {
    Trial t = slow::rod();
    slow::shape(t, s);
    t.scan.direction = kDirection;
    t.mount.hold = motion::Hold::standing;
    t.mount.beam_offset = 0.4e-3;
    t.art.size_around = 9.4e-3;
    t.grid = {.cell = 40e-6, .margin = 4e-3};
    const quantity::Map<double> map = slow::fluence(slow::arrange(t));
    for (const double f : map.cells()) ASSERT_GE(f, 0);
    EXPECT_LT(slow::imbalance(t), 1e-4);
  }
}

TEST(AroundLines, CursorsAgreeInWhateverOrderRowsAreAsked) {
  Trial t = slow::rod();
  t.scan.direction = kDirection;
  slow::shape(t, Shape::table);
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

}  // namespace
}  // namespace circumfluence::exposure
