// Truth: symmetries, conservation, and the dose P cos(theta) / (v s) of a fill on a standing cylinder.
#include "exposure/expose.h"

#include <gtest/gtest.h>

#include "exposure/slow_beam.h"

namespace circumfluence::exposure {
namespace {

using motion::Direction;
using motion::Hold;
using slow::Trial;

void expect_equal(const quantity::Map<double>& a, const quantity::Map<double>& b, double tolerance) {
  ASSERT_EQ(a.around(), b.around());
  ASSERT_EQ(a.axial(), b.axial());
  const double peak = *std::ranges::max_element(a.cells());
  ASSERT_GT(peak, 0);
  for (size_t i = 0; i < a.size(); ++i) ASSERT_NEAR(a.cells()[i], b.cells()[i], tolerance * peak) << i;
}

// 5 W at 100 mm/s, lines 50 um apart, 40 mm diameter: at y = 0, 5, 10, 15 mm from the crest the surface
// receives 100, 96.82458, 86.60254, 66.14378 J/cm^2 (validation/exact/cylinder.toml).
TEST(Expose, DoseOnAStandingCylinder) {
  for (const Direction direction : {Direction::axial, Direction::around}) {
    Trial t = slow::rod();
    t.part.diameter = 40e-3;
    t.mount.hold = Hold::standing;
    t.scan = {.power = 5,
              .speed = 0.1,
              .spacing = 50e-6,
              .direction = direction,
              .run_up = 10e-3,
              .acceleration = 1.0};
    t.image = {1, 1, {0}, {}};
    t.art = {.size_axial = 1e-3, .size_around = 32e-3, .axial = 3e-3};
    t.grid = {.cell = 50e-6, .margin = 0.1e-3};
    const Arrangement job = slow::arrange(t);
    const quantity::Map<double> map = slow::fluence(job);
    for (const auto& [lateral, dose] :
         {std::pair{0.0, 100.0}, {5e-3, 96.82458}, {10e-3, 86.60254}, {15e-3, 66.14378}}) {
      const double arc = 20e-3 * std::asin(lateral / 20e-3);
      const double at = (arc - job.surface.around_from) / job.surface.cell_around - 0.5;
      const int row = static_cast<int>(at), column = map.axial() / 2;
      const double share = at - row;
      const double here = (1 - share) * map.row(row)[column] + share * map.row(row + 1)[column];
      EXPECT_NEAR(here * 1e-4 / dose, 1, 1e-3) << lateral;
    }
  }
}

// What is asked of the absorptivity is the cosine of incidence under the line and the axial share of the
// tilt.
TEST(Expose, AsksForTheAngleUnderTheLine) {
  for (const Direction direction : {Direction::axial, Direction::around})
    for (const double slope : {0.0, -1.0 / 12}) {
      Trial t = slow::rod();
      t.part.shape = workpiece::Shape::tapered;
      t.part.end_diameter = 10e-3 + 2 * slope * 6e-3;
      t.mount.beam_offset = 2e-3;
      t.scan.direction = direction;
      t.grid.around_from = 1.5e-3;
      t.grid.around_to = 2.5e-3;
      Arrangement job = slow::arrange(t);
      for (const bool share : {false, true}) {
        job.angle_factor = [share](double incidence, double axial) { return share ? axial : incidence; };
        const std::unique_ptr<Exposure> exposure = expose(job);
        const std::unique_ptr<Cursor> cursor = exposure->cursor();
        const int column = job.surface.axial / 2;
        const double sine = 2e-3 / job.surface.radius[column], tilt = slope * slope + sine * sine;
        const double expected =
            share ? slope * slope / tilt : std::sqrt((1 - sine * sine) / (1 + slope * slope));
        const std::span<const EventRow> events = cursor->at(job.surface.around / 2);
        ASSERT_FALSE(events.empty());
        EXPECT_NEAR(events[0].uniform ? events[0].angle : events[0].angles[column], expected, 1e-6);
      }
    }
}

class EveryWay : public testing::TestWithParam<std::tuple<Direction, Hold>> {
 protected:
  Trial made() const {
    Trial t = slow::rod();
    t.scan.direction = std::get<0>(GetParam());
    t.mount.hold = std::get<1>(GetParam());
    return t;
  }
};

INSTANTIATE_TEST_SUITE_P(Ways, EveryWay,
                         testing::Combine(testing::Values(Direction::axial, Direction::around),
                                          testing::Values(Hold::turning, Hold::standing)));

TEST_P(EveryWay, MirroredArtGivesMirroredFluence) {
  Trial t = made(), axial = t, around = t;
  for (int y = 0; y < 3; ++y)
    for (int x = 0; x < 4; ++x) {
      axial.image.tone[4 * y + x] = t.image.tone[4 * y + 3 - x];
      around.image.tone[4 * y + x] = t.image.tone[4 * (2 - y) + x];
    }
  for (Trial* each : {&t, &axial, &around}) {  // a whole number of cells either side of the middle
    each->grid.axial_from = 2e-3;
    each->grid.axial_to = 4e-3;
    each->grid.around_from = -0.8e-3;
    each->grid.around_to = 0.8e-3;
  }
  const quantity::Map<double> plain = slow::fluence(slow::arrange(t)), flipped(plain.around(), plain.axial()),
                              turned(plain.around(), plain.axial());
  for (int row = 0; row < plain.around(); ++row)
    for (int i = 0; i < plain.axial(); ++i) {
      flipped.row(row)[i] = plain.row(row)[plain.axial() - 1 - i];
      turned.row(row)[i] = plain.row(plain.around() - 1 - row)[i];
    }
  expect_equal(flipped, slow::fluence(slow::arrange(axial)), 1e-5);
  expect_equal(turned, slow::fluence(slow::arrange(around)), 1e-5);
}

TEST_P(EveryWay, BothWaysBurnLikeOneWay) {
  Trial t = made();
  t.scan.run_up = 0.2e-3;
  Trial one = t;
  one.scan.two_way = false;
  expect_equal(slow::fluence(slow::arrange(t)), slow::fluence(slow::arrange(one)), 1e-12);
}

TEST_P(EveryWay, PassesAddUpAndPowerScales) {
  Trial t = made(), more = t;
  more.scan.passes = 3;
  more.scan.power = t.scan.power * 2;
  quantity::Map<double> plain = slow::fluence(slow::arrange(t));
  for (double& f : plain.cells()) f *= 6;
  expect_equal(plain, slow::fluence(slow::arrange(more)), 1e-6);
}

TEST_P(EveryWay, OnceAroundOrOnlyTheArtIsTheSame) {
  Trial t = made();
  t.grid.cell = 2 * quantity::kPi * 5e-3 / 1500;  // or the dots would lie otherwise
  t.grid.around_from = -0.8e-3;
  t.grid.around_to = 0.8e-3;
  const quantity::Map<double> plain = slow::fluence(slow::arrange(t));
  for (const double turns : {-2.0, 1.0, 3.0}) {
    Trial far = t;
    far.grid.around_from += turns * 2 * quantity::kPi * 5e-3;
    far.grid.around_to += turns * 2 * quantity::kPi * 5e-3;
    if (t.mount.hold == Hold::turning) expect_equal(plain, slow::fluence(slow::arrange(far)), 1e-4);
  }
}

// A round beam writes rows of a picture as it writes the columns of the picture laid on its side.
TEST(Expose, LinesAroundAreLinesAlongLaidOnTheirSide) {
  Trial along = slow::rod();
  along.laser.spot_around = along.laser.spot_axial;
  along.laser.m2_around = along.laser.m2_axial;
  along.part.diameter = 100e-3;
  along.part.length = 20e-3;
  along.mount.focus_at = 10e-3;
  along.image = {3, 3, {0, 65535, 0, 0, 0, 65535, 65535, 0, 0}, {}};
  along.art = {.size_axial = 0.9e-3, .size_around = 0.9e-3, .axial = 10e-3, .threshold = 0.47};
  along.grid.axial_from = 9.2e-3;
  along.grid.axial_to = 10.8e-3;
  along.grid.around_from = -0.8e-3;
  along.grid.around_to = 0.8e-3;
  Trial around = along;
  around.scan.direction = Direction::around;
  for (int y = 0; y < 3; ++y)
    for (int x = 0; x < 3; ++x) around.image.tone[3 * (2 - x) + 2 - y] = along.image.tone[3 * y + x];
  const quantity::Map<double> a = slow::fluence(slow::arrange(along)),
                              b = slow::fluence(slow::arrange(around));
  quantity::Map<double> turned(b.axial(), b.around());
  for (int row = 0; row < b.around(); ++row)
    for (int i = 0; i < b.axial(); ++i) turned.row(i)[row] = b.row(row)[i];
  expect_equal(a, turned, 2e-5);
}

// A fill all around, lines that divide the turn: nothing shows where the end meets the beginning.
TEST(Expose, AWholeTurnHasNoSeam) {
  for (const Direction direction : {Direction::axial, Direction::around})
    for (const double cut : {0.0, 0.37e-3}) {
      Trial t = slow::rod();
      t.part.diameter = 1e-3;
      t.part.wall = 0.1e-3;
      t.scan.direction = direction;
      const double turn = quantity::kPi * 1e-3;
      t.scan.spacing = direction == Direction::axial ? turn / 157 : 20e-6;
      t.image = {1, 1, {0}, {}};
      t.art = {.size_axial = 1e-3, .size_around = turn, .axial = 3e-3, .around = turn / 2};
      if (cut > 0) t.grid.around_from = cut, t.grid.around_to = cut + turn;
      const Arrangement job = slow::arrange(t);
      ASSERT_TRUE(job.surface.closed);
      const quantity::Map<double> map = slow::fluence(job);
      const double middle = map.row(map.around() / 2)[map.axial() / 2];
      const double tolerance =
          direction == Direction::around && cut > 0 ? 0.3 : 2e-4;  // half a dot at either end
      for (int row = 0; row < map.around(); ++row)
        ASSERT_NEAR(map.row(row)[map.axial() / 2] / middle, 1, tolerance) << row;
    }
}

}  // namespace
}  // namespace circumfluence::exposure
