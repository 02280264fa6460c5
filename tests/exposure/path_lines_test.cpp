// Truth: the same lines as a raster's events; direct integration in time of a beam over the part as it stands
// in space (slow_beam.h); conservation of energy.
#include "exposure/path_lines.h"

#include <gtest/gtest.h>

#include "exposure/raster_path.h"
#include "exposure/trials.h"
#include "quantity/error.h"

namespace circumfluence::exposure {
namespace {

using motion::Direction;
using slow::Trial;
using slow::Try;

quantity::Map<double> fluence(const Exposure& exposure, const workpiece::Surface& s) {
  const std::unique_ptr<Cursor> cursor = exposure.cursor();
  quantity::Map<double> map(s.around, s.axial);
  for (int row = 0; row < map.around(); ++row) {
    std::ranges::fill(map.row(row), 0.0);
    for (const EventRow& event : cursor->at(row))
      for (int i = 0; i < map.axial(); ++i)
        map.row(row)[i] += double(event.energy[i]) * double(event.uniform ? event.share : event.shares[i]);
  }
  return map;
}

// What an event is at a cell: fluence, line energy, and the three radii that say where it lies.
struct Passage {
  double fluence, energy, heating, eta, half, angle, along, across, speed;
};
std::vector<Passage> passages(const Exposure& exposure, std::span<const EventRow> events, int column) {
  std::vector<Passage> out;
  for (const EventRow& whole : events) {
    const EventRow e = whole.from(column);
    const SpotState& state = exposure.states()[e.uniform ? e.state : e.states[0]];
    const Passage p{double(e.energy[0]) * (e.uniform ? e.share : e.shares[0]),
                    e.energy[0],
                    e.heating[0],
                    e.uniform ? e.eta : e.etas[0],
                    e.uniform ? e.half : e.halves[0],
                    e.uniform ? e.angle : e.angles[0],
                    state.along,
                    state.across,
                    state.speed};
    if (p.fluence > 0) out.push_back(p);
  }
  return out;
}

// Beyond a lit part its speed goes on where the raster's has changed: by 5 % over a dot where the head
// is slow.
void expect_alike(const Passage& a, const Passage& b, double least, double heating) {
  EXPECT_NEAR(a.fluence, b.fluence, least);
  EXPECT_NEAR(a.energy, b.energy, 2e-2 * b.energy + 1e-6);
  EXPECT_NEAR(a.heating, b.heating, heating);
  EXPECT_NEAR(a.eta, b.eta, 2e-3);
  EXPECT_NEAR(a.half, b.half, 5e-3);
  EXPECT_NEAR(a.angle, b.angle, 2e-3);
  EXPECT_NEAR(a.along, b.along, 6e-3 * b.along);
  EXPECT_NEAR(a.across, b.across, 6e-3 * b.across);
  EXPECT_NEAR(a.speed, b.speed, 0.12 * b.speed);
}

class PathOfARaster : public testing::TestWithParam<std::tuple<Try, Direction>> {};

// Cell by cell in the order of time, those that bring more than ten times what may differ [J/m^2].
void expect_same_events(const Exposure& path, const Exposure& lines, const workpiece::Surface& s,
                        double least, double heating) {
  const Echo echo{3, {{0, {0.4f, 0.2f, 0.1f}, {0.2f, 0.1f}}, {2, {0.1f, 0.3f, 0.3f}, {0.2f, 0.1f}}}};
  const std::unique_ptr<Cursor> one = path.cursor(echo), other = lines.cursor(echo);
  const auto faint = [least](const Passage& p) { return p.fluence < 10 * least; };
  for (int row = 0; row < s.around && !testing::Test::HasFailure(); row += 3) {
    const std::span<const EventRow> these = one->at(row), those = other->at(row);
    for (int i = 0; i < s.axial && !testing::Test::HasFailure(); i += 7) {
      std::vector<Passage> a = passages(path, these, i), b = passages(lines, those, i);
      std::erase_if(a, faint);
      std::erase_if(b, faint);
      SCOPED_TRACE(testing::Message() << "row " << row << ", column " << i);
      ASSERT_EQ(a.size(), b.size());
      for (size_t k = 0; k < a.size(); ++k) expect_alike(a[k], b[k], least, heating);
    }
  }
}

// Where the head is still slow a raster takes the mean over a dot, which the slow beam holds to 1.3e-3.
TEST_P(PathOfARaster, BringsTheSameEvents) {
  const auto& [what, direction] = GetParam();
  const Trial t = trial(what, direction);
  const Arrangement job = slow::arrange(t);
  const std::unique_ptr<Exposure> lines = expose(job), path = slow::RasterPath(job).exposure();
  const quantity::Map<double> expected = fluence(*lines, job.surface), map = fluence(*path, job.surface);
  const double peak = *std::ranges::max_element(expected.cells());
  double most = 0;
  for (size_t i = 0; i < map.size(); ++i)
    most = std::max(most, std::abs(map.cells()[i] - expected.cells()[i]));
  EXPECT_LT(most / peak, what.change.tolerance.one_radius) << what;
  // A line all around has two ends at its seam: a raster's event there is one, though a turn lies between
  // them. A row that lies between two dots hears the nearer one in a raster, both in a path.
  const bool between = direction == Direction::around && (what.hold == motion::Hold::standing ||
                                                          t.mount.beam_offset != 0 || t.mount.runout != 0);
  const bool slow_ends = std::string(what.change.name).starts_with("slow ends");
  if (what.change.name != std::string("all around") || direction == Direction::axial)
    expect_same_events(*path, *lines, job.surface, what.change.tolerance.one_radius * peak,
                       (between     ? 0.25
                        : slow_ends ? 0.12
                                    : 2e-3) *
                           job.power / job.speed);
}

constexpr slow::Tolerance kSame{1e-4, 1e-4};
constexpr slow::Tolerances kAny{.plain = kSame,
                                .flat = kSame,
                                .astigmatic = kSame,
                                .offset = kSame,
                                .runout = kSame,
                                .one_line = kSame,
                                .short_run_up = {2e-3, 2e-3},
                                .turn = kSame};
INSTANTIATE_TEST_SUITE_P(Jobs, PathOfARaster,
                         testing::Combine(testing::ValuesIn(slow::tries(kAny)),
                                          testing::Values(Direction::axial, Direction::around)));

// A path of its own over the rod, and the same the slow way.
class Drawn {
 public:
  explicit Drawn(const Trial& trial) : trial_(trial), beam_(trial) {}
  const workpiece::Surface& surface() const { return beam_.job().surface; }
  bool turning() const { return trial_.mount.hold == motion::Hold::turning; }
  double turn() const { return turning() ? 2 * quantity::kPi * surface().reference_radius : 0; }

  // At an even speed, or gaining it.
  Drawn& move(const motion::Move& move, double entry, double leave) {
    motion::Travel t{};
    t.move = move;
    t.entry = entry, t.leave = leave, t.top = std::max(entry, leave);
    const double length = move.length();
    t.acceleration = entry == leave ? 1 : std::abs(leave * leave - entry * entry) / (2 * length);
    t.duration = move.kind == motion::Move::Kind::dwell ? move.pause : 2 * length / (entry + leave);
    t.start = moves_.empty() ? 0 : moves_.back().start + moves_.back().duration;
    moves_.push_back(t);
    at_ = move.to;
    return *this;
  }
  Drawn& to(double axial, double around, float power = 1, double height = 0) {
    return move({.power = power, .from = at_, .to = {axial, around, height}, .speed = 0.05}, 0.05, 0.05);
  }
  Drawn& arc(double axial, double around, double angle) {
    motion::Move m{.power = 1, .from = at_, .to = at_, .arc = {axial, around, angle}, .speed = 0.05};
    const double x = at_.axial - axial, y = at_.around - around, c = std::cos(angle), s = std::sin(angle);
    m.to = {axial + c * x - s * y, around + s * x + c * y, at_.height};
    return move(m, 0.05, 0.05);
  }
  Drawn& dwell(double seconds) {
    return move({.kind = motion::Move::Kind::dwell, .power = 1, .from = at_, .to = at_, .pause = seconds}, 0,
                0);
  }

  Path path(double energy_step = 1e-3) const {
    Path path(
        {.light = beam_.job().light, .power = trial_.scan.power, .turn = turn(), .energy_step = energy_step});
    for (const motion::Travel& t : moves_) path.take(t);
    return path;
  }
  PathLines lines(double energy_step = 1e-3) const {
    const Arrangement& job = beam_.job();
    return {{job.surface, job.mount, job.laser, job.light, job.angle_factor}, path(energy_step)};
  }

  double fluence(int row, int column) const {
    return beam_.mean(row, column, [this](double u, double phi) {
      double sum = 0;
      for (const motion::Travel& t : moves_)
        if (t.move.power > 0) sum += of_move(t, u, phi);
      return sum;
    });
  }

  // Greatest difference over every `stride`th cell, over the peak.
  double worst(int stride) const {
    const quantity::Map<double> map = exposure::fluence(lines(), surface());
    double most = 0, peak = 0;
    for (long cell = 0; cell < long(map.size()); cell += stride) {
      const int row = int(cell / map.axial()), column = int(cell % map.axial());
      const double truth = fluence(row, column);
      peak = std::max(peak, truth);
      most = std::max(most, std::abs(map.row(row)[column] - truth));
    }
    return most / peak;
  }
  double imbalance() const {
    const quantity::Map<double> map = exposure::fluence(lines(), surface());
    double sum = 0;
    for (int row = 0; row < map.around(); ++row)
      for (int i = 0; i < map.axial(); ++i) sum += map.row(row)[i] * surface().cell_area(i);
    return sum / path().energy() - 1;
  }

 private:
  double received(double u, double phi, const motion::PathPoint& at) const {
    return beam_.received(u, phi, at.axial, at.around, at.height);
  }
  double of_move(const motion::Travel& t, double u, double phi) const {
    const double power = trial_.scan.power * t.move.power, length = t.move.length();
    if (t.move.kind == motion::Move::Kind::dwell) return power * t.duration * received(u, phi, t.move.from);
    const int steps = static_cast<int>(std::ceil(length / (t.entry == t.leave ? 8e-6 : 2e-6)));
    double sum = 0;
    for (int i = 0; i < steps; ++i) {
      const double time = t.time_at(length * (i + 1) / steps) - t.time_at(length * i / steps);
      for (const double node : {0.2113248654, 0.7886751346})  // Gauss, two points
        sum += 0.5 * power * time * received(u, phi, t.move.at((i + node) / steps));
    }
    return sum;
  }

  Trial trial_;
  slow::Beam beam_;
  motion::PathPoint at_{2.6e-3, -0.3e-3, 0};
  std::vector<motion::Travel> moves_;
};

Trial blank(workpiece::Shape form = workpiece::Shape::straight, motion::Hold hold = motion::Hold::turning) {
  Trial t = slow::rod();
  slow::shape(t, form);
  t.mount.hold = hold;
  return t;
}

class DrawnPath : public testing::TestWithParam<std::tuple<workpiece::Shape, motion::Hold>> {
 protected:
  Trial trial() const { return blank(std::get<0>(GetParam()), std::get<1>(GetParam())); }
  static constexpr double kTolerance = 1e-4;
};
INSTANTIATE_TEST_SUITE_P(Shapes, DrawnPath,
                         testing::Combine(testing::Values(workpiece::Shape::straight,
                                                          workpiece::Shape::tapered,
                                                          workpiece::Shape::stepped),
                                          testing::Values(motion::Hold::turning, motion::Hold::standing)));

TEST_P(DrawnPath, ObliqueLinesAgreeWithTheSlowBeam) {
  Drawn drawn(trial());
  drawn.to(3.1e-3, 0.2e-3).to(3.3e-3, -0.3e-3).to(2.5e-3, -0.31e-3);
  EXPECT_LT(drawn.worst(29), kTolerance);
}

TEST_P(DrawnPath, ArcsAgreeWithTheSlowBeam) {
  Drawn drawn(trial());
  drawn.to(2.9e-3, -0.3e-3).arc(2.9e-3, 0, 2.2).arc(2.95e-3, 0.02e-3, -5);
  EXPECT_LT(drawn.worst(29), kTolerance);
}

TEST_P(DrawnPath, DwellsAgreeWithTheSlowBeam) {
  Drawn drawn(trial());
  drawn.to(2.9e-3, 0, 0).dwell(0.01).to(3.1e-3, 0.1e-3).dwell(0.02);
  EXPECT_LT(drawn.worst(7), kTolerance);
}

// Elliptical, sharp-edged, out of focus, beside the axis, on a part that wobbles.
TEST(PathLines, HoldForAnyBeamAndMount) {
  for (const slow::Change& change :
       slow::changes({{1e-4, 0}, {1e-4, 0}, {1e-4, 0}, {1e-3, 0}, {1e-4, 0}, {}, {}, {}}))
    for (const motion::Hold hold : {motion::Hold::turning, motion::Hold::standing}) {
      if (std::string(change.name) == "one line" || change.tolerance.one_radius == 0) continue;
      Trial t = blank(workpiece::Shape::straight, hold);
      change.make(t);
      t.scan.run_up = 10e-3;
      Drawn drawn(t);
      drawn.to(3.1e-3, 0.2e-3).arc(3.1e-3, 0.1e-3, -4);
      EXPECT_LT(drawn.worst(197), change.tolerance.one_radius) << change.name << ", hold " << int(hold);
    }
}

// From 10 to 60 mm/s at constant power, on a way along the axis, around, and between: the slower, the more it
// burns.
TEST(PathLines, RampsAtConstantPowerOverExposeTheSlowEnd) {
  for (const auto& [axial, around] : {std::pair{0.8e-3, 0.0}, {0.0, 0.6e-3}, {0.7e-3, 0.5e-3}}) {
    Drawn drawn(blank());
    drawn.move({.power = 1,
                .from = {2.6e-3, -0.3e-3, 0},
                .to = {2.6e-3 + axial, -0.3e-3 + around, 0},
                .speed = 0.06},
               0.01, 0.06);
    EXPECT_LT(drawn.worst(31), 2e-4);
    const quantity::Map<double> map = fluence(drawn.lines(), drawn.surface());
    const workpiece::Surface& s = drawn.surface();
    const auto at = [&, axial = axial, around = around](double share) {
      return map.row(int((-0.3e-3 + share * around - s.around_from) /
                         s.cell_around))[int((2.6e-3 + share * axial - s.axial_from) / s.cell_axial)];
    };
    EXPECT_NEAR(at(0.25) / at(0.75), std::sqrt((1 + 0.75 * 35) / (1 + 0.25 * 35)), 0.05);  // v^2 grows evenly
  }
}

// Power in proportion to the speed brings the same energy everywhere.
TEST(PathLines, PowerThatFollowsIsEven) {
  Drawn ramp(blank()), even(blank());
  const motion::Move move{.follows_speed = true,
                          .power = 1,
                          .from = {2.6e-3, -0.3e-3, 0},
                          .to = {3.3e-3, 0.2e-3, 0},
                          .speed = 0.06};
  ramp.move(move, 0, 0.06);
  even.move(move, 0.06, 0.06);
  const quantity::Map<double> a = fluence(ramp.lines(), ramp.surface()),
                              b = fluence(even.lines(), even.surface());
  const double peak = *std::ranges::max_element(b.cells());
  for (size_t i = 0; i < a.size(); ++i) ASSERT_NEAR(a.cells()[i], b.cells()[i], 1e-4 * peak);
}

// Raising the head by a millimetre, and while it moves.
TEST(PathLines, HeightsMoveTheFocus) {
  Drawn drawn(blank());
  drawn.to(2.6e-3, -0.3e-3, 0, 0.8e-3)
      .to(3.2e-3, -0.3e-3, 1, 0.8e-3)
      .to(2.7e-3, 0.1e-3, 1, 0.8e-3)
      .to(3.2e-3, 0.25e-3, 1, -0.2e-3);
  EXPECT_LT(drawn.worst(37), 1.5e-3);  // on the slope within a piece a radius may differ by 1 %
}

TEST(PathLines, ConserveEnergy) {
  for (const workpiece::Shape form : {workpiece::Shape::straight, workpiece::Shape::tapered})
    for (const motion::Hold hold : {motion::Hold::turning, motion::Hold::standing}) {
      Drawn drawn(blank(form, hold));
      drawn.to(3.0e-3, 0.2e-3)
          .to(3.3e-3, 0.2e-3)
          .to(3.3e-3, -0.1e-3)
          .arc(3.1e-3, -0.1e-3, 3)
          .dwell(0.03)
          .to(2.7e-3, 0.0);
      EXPECT_NEAR(drawn.imbalance(), 0, form == workpiece::Shape::straight ? 1e-5 : 1e-4) << int(hold);
    }
}

// Twice round a thin rod, helically, over its grid's cut: as often as it comes by, as many passages, a turn
// apart.
TEST(PathLines, GoRoundAndRound) {
  Trial t = blank();
  slow::all_around(t);
  Drawn drawn(t);
  const double turn = drawn.turn();
  drawn.to(2.5e-3, -0.2 * turn, 0).to(3.5e-3, 1.8 * turn).to(3.5e-3, 0.9 * turn, 0).to(2.8e-3, 1.1 * turn);
  EXPECT_LT(drawn.worst(41), 1e-4);
  const PathLines lines = drawn.lines();
  const std::unique_ptr<Cursor> cursor = lines.cursor();
  const workpiece::Surface& s = drawn.surface();
  const int row = int((0.4 * turn - s.around_from) / s.cell_around) % s.around;
  int seen = 0;
  for (const double share : {0.3, 0.8})  // of the helix, where it crosses the row
    seen += int(
        passages(lines, cursor->at(row), int((2.5e-3 + share * 1e-3 - s.axial_from) / s.cell_axial)).size() ==
        1);
  EXPECT_EQ(seen, 2);
}

// [J/m^2] of the passages of one cell.
std::vector<double> at(const Drawn& drawn, double axial, double around) {
  const PathLines lines = drawn.lines();
  const std::unique_ptr<Cursor> cursor = lines.cursor();
  const workpiece::Surface& s = drawn.surface();
  const int row = int((around - s.around_from) / s.cell_around),
            column = int((axial - s.axial_from) / s.cell_axial);
  std::vector<double> out;
  for (const Passage& p : passages(lines, cursor->at(row), column)) out.push_back(p.fluence);
  return out;
}

// A bent way goes on with the passage; there and back, across, and a dwell on the way are told apart as they
// should be.
TEST(PathLines, ToldApartIntoPassages) {
  const double u = 2.9e-3, c = 0.0;
  EXPECT_EQ(at(Drawn(blank()).to(2.6e-3, c, 0).to(u, c).to(u, 0.3e-3), u, c).size(), 1u) << "a right angle";
  EXPECT_EQ(at(Drawn(blank()).to(2.6e-3, c, 0).to(u, c).to(2.6e-3, c), u - 50e-6, c).size(), 2u)
      << "there and back";
  EXPECT_EQ(
      at(Drawn(blank()).to(2.6e-3, c, 0).to(u, c).to(u, c + 40e-6, 0).to(2.6e-3, c + 40e-6), u - 50e-6, c)
          .size(),
      2u)
      << "a return of two right angles";
  EXPECT_EQ(
      at(Drawn(blank()).to(2.6e-3, c, 0).to(3.3e-3, c).to(3.3e-3, 0.3e-3).to(u, 0.3e-3).to(u, -0.3e-3), u, c)
          .size(),
      2u)
      << "a crossing";
  EXPECT_EQ(at(Drawn(blank()).to(2.6e-3, c, 0).to(u, c).dwell(0.01).to(3.3e-3, c), u, c).size(), 1u)
      << "a dwell on the way";
  Drawn wave(blank());
  wave.to(2.6e-3, c, 0);
  for (int i = 1; i <= 200; ++i) wave.to(2.6e-3 + i * 3e-6, c + 5e-6 * std::sin(0.2 * i));
  EXPECT_EQ(at(wave, u, c).size(), 1u) << "a curve of short moves";
}

// The same line in one piece, in a thousand, and at an angle of nothing much.
TEST(PathLines, DoNotMindHowALineIsCut) {
  for (const auto& [axial, around] :
       {std::pair{0.6e-3, 0.0}, {0.0, 0.5e-3}, {0.6e-3, 0.4e-3}, {0.6e-3, 1e-8}, {0.6e-3, 3e-6}}) {
    Drawn whole(blank()), pieces(blank());
    whole.to(2.6e-3 + axial, -0.3e-3 + around);
    for (int i = 1; i <= 300; ++i) pieces.to(2.6e-3 + axial * i / 300, -0.3e-3 + around * i / 300);
    const quantity::Map<double> a = fluence(whole.lines(), whole.surface()),
                                b = fluence(pieces.lines(), pieces.surface());
    const double peak = *std::ranges::max_element(a.cells());
    for (size_t i = 0; i < a.size(); ++i)
      ASSERT_NEAR(a.cells()[i], b.cells()[i], 1e-4 * peak) << axial << ", " << around;
  }
}

TEST(PathLines, CursorsAgreeInWhateverOrderRowsAreAsked) {
  Drawn drawn(blank(workpiece::Shape::tapered));
  drawn.to(3.0e-3, 0.2e-3).to(3.3e-3, 0.2e-3).to(3.3e-3, -0.1e-3).arc(3.1e-3, -0.1e-3, 3);
  const PathLines lines = drawn.lines();
  const quantity::Map<double> map = fluence(lines, drawn.surface());
  const std::unique_ptr<Cursor> down = lines.cursor();
  for (int row = map.around() - 1; row >= 0; row -= 2) {
    std::vector<double> sum(size_t(map.axial()));
    for (const EventRow& e : down->at(row))
      for (int i = 0; i < map.axial(); ++i)
        sum[size_t(i)] += double(e.energy[i]) * (e.uniform ? e.share : e.shares[i]);
    for (int i = 0; i < map.axial(); ++i) ASSERT_EQ(sum[size_t(i)], map.row(row)[i]);
  }
}

TEST(PathLines, RefuseWhatIsNoPath) {
  const Drawn drawn(blank());
  Path path = drawn.path();
  EXPECT_THROW(path.add({.to_axial = 1e-3, .energy = 1, .speed = 0}), quantity::ValidityError);
  EXPECT_THROW(path.add({.to_axial = std::nan(""), .energy = 1, .speed = 1}), quantity::ValidityError);
  EXPECT_NO_THROW(path.add({.to_axial = 1e-3, .energy = 1, .speed = 1}));
}

}  // namespace
}  // namespace circumfluence::exposure
