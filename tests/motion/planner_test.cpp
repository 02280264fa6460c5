// Truth: the greatest speed along the path, found on a fine grid of places by one pass forwards and one
// backwards from the limits alone, and the time integrated over it; speeds at junctions found by trying all;
// conservation; limits.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <random>
#include <vector>

#include "motion/kinematics.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::kPi;
using Path = std::vector<Move>;

std::vector<Travel> planned(const Machine& machine, const Path& path) {
  std::vector<Travel> out;
  Planner planner(machine, [&out](const Travel& travel) {
    out.push_back(travel);
    return true;
  });
  for (const Move& move : path) planner.take(move);
  planner.finish();
  EXPECT_EQ(out.size(), path.size());
  return out;
}

double total(const std::vector<Travel>& travels) {
  return travels.back().start + travels.back().duration;
}

Move straight(const PathPoint& from, const PathPoint& to, double speed = 0) {
  return {.kind = speed > 0 ? Move::Kind::feed : Move::Kind::rapid, .from = from, .to = to, .speed = speed};
}

Machine machine() {
  return {.axial_speed = 0.15,
          .around_speed = 0.08,
          .axial_acceleration = 1.5,
          .around_acceleration = 0.6,
          .corner_deviation = 30e-6};
}

// Lines, arcs, dwells and rapids, from tenths of a millimetre to centimetres.
Path any_path(unsigned seed, int moves, bool arcs = true) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> unit(0, 1);
  Path path;
  PathPoint at;
  double direction = 0;
  for (int i = 0; i < moves; ++i) {
    Move move{.from = at, .to = at, .speed = 0.005 + 0.1 * unit(random) * unit(random)};
    const double kind = unit(random), size = 1e-4 * std::pow(100, unit(random));
    direction += kind < 0.3 ? 0.0 : (unit(random) - 0.5) * (kind < 0.6 ? 0.2 : 2 * kPi);
    if (kind > 0.97) {
      move.kind = Move::Kind::dwell, move.pause = unit(random) * 0.05;
    } else if (arcs && kind > 0.75) {
      const double begin = 2 * kPi * unit(random);
      move.arc = {at.axial - size * std::cos(begin), at.around - size * std::sin(begin),
                  (unit(random) - 0.5) * 8};
      const double end = begin + move.arc.angle;
      move.to = {move.arc.axial + size * std::cos(end), move.arc.around + size * std::sin(end), at.height};
    } else {
      move.to = {at.axial + size * std::cos(direction), at.around + size * std::sin(direction),
                 at.height + (kind > 0.7 ? size : 0)};
      if (kind > 0.65) move.kind = Move::Kind::rapid, move.speed = 0;
    }
    path.push_back(move);
    at = move.to;
  }
  return path;
}

// Places along the path, the greatest speed at each, and the greatest acceleration from each to the next.
struct Grid {
  std::vector<double> step, cap, gain;
};

PathPoint less(const PathPoint& a, const PathPoint& b) {
  return {a.axial - b.axial, a.around - b.around, a.height - b.height};
}
double size(const PathPoint& a) {
  return std::hypot(a.axial, a.around, a.height);
}

// The most along a direction with no axis beyond its own.
double most_along(const PathPoint& d, double axial, double around) {
  const double length = size(d);
  return std::min({axial * length / std::abs(d.axial), around * length / std::abs(d.around),
                   axial * length / std::abs(d.height)});
}

// How a corner may be taken, from directions a nanometre long on either side.
double corner(const Machine& m, const PathPoint& in, const PathPoint& out) {
  const double cosine =
      (in.axial * out.axial + in.around * out.around + in.height * out.height) / size(in) / size(out);
  const double half = (kPi - std::acos(std::clamp(cosine, -1.0, 1.0))) / 2;  // of the angle between the legs
  if (half > kPi / 2 - 5e-4) return 1e9;
  const double radius = m.corner_deviation * std::sin(half) / (1 - std::sin(half));
  const PathPoint change{out.axial / size(out) - in.axial / size(in),
                         out.around / size(out) - in.around / size(in),
                         out.height / size(out) - in.height / size(in)};
  return std::sqrt(radius * most_along(change, m.axial_acceleration, m.around_acceleration));
}

Grid grid_of(const Machine& m, const Path& path, int pieces) {
  Grid grid;
  PathPoint last;
  bool first = true;
  for (const Move& move : path) {
    if (move.kind == Move::Kind::dwell) {
      if (!grid.cap.empty()) grid.cap.back() = 0;
      first = true;
      continue;
    }
    const double length = move.length(),
                 radius = size(less(move.from, {move.arc.axial, move.arc.around, move.from.height}));
    if (grid.cap.empty()) grid.cap.push_back(0);
    // Of an arc the worst anywhere counts: within a move the limits are the same throughout.
    double speed = move.speed > 0 ? move.speed : 1e9, gain = 1e9;
    PathPoint tangent;
    for (int i = 0; i < 500; ++i) {
      tangent = less(move.at((i + 1) / 500.0), move.at(i / 500.0));
      speed = std::min(speed, most_along(tangent, m.axial_speed, m.around_speed));
      gain = std::min(gain, most_along(tangent, m.axial_acceleration, m.around_acceleration));
      if (move.arc.angle != 0)
        speed = std::min(speed, std::sqrt(radius * most_along({tangent.around, tangent.axial, 0},
                                                              m.axial_acceleration, m.around_acceleration)));
    }
    const PathPoint begin = less(move.at(1e-6), move.at(0));
    grid.cap.back() = std::min({grid.cap.back(), speed, first ? 0.0 : corner(m, last, begin)});
    for (int i = 0; i < pieces; ++i)
      grid.step.push_back(length / pieces), grid.gain.push_back(gain), grid.cap.push_back(speed);
    last = less(move.at(1), move.at(1 - 1e-6));
    first = false;
  }
  grid.cap.back() = 0;
  return grid;
}

double integrated(Grid grid) {
  const size_t n = grid.step.size();
  for (size_t i = 0; i < n; ++i)
    grid.cap[i + 1] =
        std::min(grid.cap[i + 1], std::sqrt(grid.cap[i] * grid.cap[i] + 2 * grid.gain[i] * grid.step[i]));
  for (size_t i = n; i-- > 0;)
    grid.cap[i] =
        std::min(grid.cap[i], std::sqrt(grid.cap[i + 1] * grid.cap[i + 1] + 2 * grid.gain[i] * grid.step[i]));
  double time = 0;
  for (size_t i = 0; i < n; ++i) time += 2 * grid.step[i] / (grid.cap[i] + grid.cap[i + 1]);
  return time;
}

double pauses(const Path& path) {
  double time = 0;
  for (const Move& move : path) time += move.pause;
  return time;
}

TEST(Planner, TimeIsThatOfADirectIntegration) {
  for (unsigned seed = 1; seed <= 12; ++seed) {
    const Path path = any_path(seed, 60);
    const double truth = integrated(grid_of(machine(), path, 400)) + pauses(path),
                 time = total(planned(machine(), path));
    EXPECT_NEAR(time / truth, 1, 2e-3) << seed;
  }
}

TEST(Planner, KnowsAloneStandingMoves) {
  const Path path{straight({}, {20e-3, 0, 0}, 0.1)};
  EXPECT_NEAR(total(planned(machine(), path)), 0.1 / 1.5 + 20e-3 / 0.1, 1e-14);
  const Path rapid{straight({}, {0, 3e-3, 0})};
  EXPECT_NEAR(total(planned(machine(), rapid)), 2 * std::sqrt(3e-3 / 0.6), 1e-14);  // never at its speed
  Machine unlimited = machine();
  unlimited.around_speed = quantity::kUnset;
  EXPECT_NEAR(total(planned(unlimited, {straight({}, {0, 3, 0})})), 2 * std::sqrt(3 / 0.6), 1e-12);
  unlimited.jerk =
      2;  // rest to rest over a way too short for `a`: four pieces of constant jerk, way = 2 j t^3
  EXPECT_NEAR(total(planned(unlimited, {straight({}, {1e-3, 0, 0}, 1)})), 4 * std::cbrt(1e-3 / (2 * 2)),
              1e-12);
}

// A move cut into many is still the same move, with a jerk limit too.
TEST(Planner, CutMovesRunAsOne) {
  for (const double jerk : {quantity::kUnset, 20.0}) {
    Machine m = machine();
    m.jerk = jerk;
    Path cut;
    for (int i = 0; i < 700; ++i)
      cut.push_back({.from = {i * 1e-4, 0, 0}, .to = {(i + 1) * 1e-4, 0, 0}, .speed = 0.1});
    const auto whole = planned(m, {straight({}, {70e-3, 0, 0}, 0.1)}), parts = planned(m, cut);
    EXPECT_NEAR(total(parts), total(whole), 1e-9);
    EXPECT_NEAR(parts[40].start, whole[0].time_at(40e-4), 1e-9);
    EXPECT_NEAR(parts[40].entry, whole[0].speed_at(40e-4), 1e-9);
    EXPECT_NEAR(parts[690].duration, whole[0].time_at(691e-4) - whole[0].time_at(690e-4), 1e-9);
    EXPECT_NEAR(parts[690].time_at(0.5e-4), whole[0].time_at(690.5e-4) - whole[0].time_at(690e-4), 1e-9);
  }
}

TEST(Planner, SpeedsAreOneAtJunctionsAndTimesAddUp) {
  for (const double jerk : {quantity::kUnset, 30.0})
    for (const int ahead : {0, 1, 3, 20}) {
      Machine m = machine();
      m.jerk = jerk, m.look_ahead = ahead;
      const auto travels = planned(m, any_path(5, 400));
      double time = 0;
      for (size_t i = 0; i < travels.size(); ++i) {
        const Travel& t = travels[i];
        EXPECT_NEAR(t.start, time, 1e-9);
        time += t.duration;
        EXPECT_NEAR(t.entry, i == 0 ? 0.0 : travels[i - 1].leave, 1e-12);
        EXPECT_LE(std::max(t.entry, t.leave), t.top * (1 + 1e-12));
        if (t.move.kind == Move::Kind::dwell) continue;
        if (i + 1 < travels.size() && t.leave > 0) {
          EXPECT_LE(t.leave,
                    corner_speed(m, course(t.move).end, course(travels[i + 1].move).begin) * (1 + 1e-9));
        }
        EXPECT_LE(t.top, limits(m, t.move, course(t.move)).speed * (1 + 1e-9));
        EXPECT_NEAR(t.time_at(t.move.length()), t.duration, 1e-9);
        EXPECT_NEAR(t.speed_at(0), t.entry, 1e-6);
        EXPECT_NEAR(t.distance_at(t.time_at(0.3 * t.move.length())), 0.3 * t.move.length(), 1e-12);
      }
      EXPECT_EQ(travels.back().leave, 0);
    }
}

// What is run is sampled in time; the gain in speed, and that of the acceleration, keep within the limits.
TEST(Planner, NoLimitIsExceeded) {
  for (const double jerk : {quantity::kUnset, 3.0, 30.0, 300.0}) {
    Machine m = machine();
    m.jerk = jerk;
    for (const Travel& t : planned(m, any_path(8, 300))) {
      if (t.move.kind == Move::Kind::dwell || t.duration == 0) continue;
      const double a = limits(m, t.move, course(t.move)).acceleration, dt = t.duration / 200;
      double last = 0;
      for (int i = 1; i < 200; ++i) {
        const auto way = [&](int k) { return t.distance_at(k * dt); };
        const double gain = (way(i + 1) - 2 * way(i) + way(i - 1)) / (dt * dt);
        EXPECT_LE(std::abs(gain), a * 1.001 + 1e-5);
        if (jerk > 0 && i > 1) {
          EXPECT_LE(std::abs(gain - last), jerk * dt * 1.01 + 1e-5);
        }
        last = gain;
      }
    }
  }
}

// What was promised when less was known of the path can be kept, whatever comes.
TEST(Planner, RampsFitTheirMovesHoweverShortTheLook) {
  Machine m = machine();
  for (const double jerk : {0.3, 3.0, 30.0})
    for (const int ahead : {1, 2, 3, 5, 0})
      for (unsigned seed = 1; seed < 30; ++seed) {
        m.jerk = jerk, m.look_ahead = ahead;
        for (const Travel& t : planned(m, any_path(seed, 100, false))) {
          if (t.run.length > 0 || t.move.kind == Move::Kind::dwell) continue;
          const Ramp up{t.entry, t.top, t.acceleration, jerk}, down{t.top, t.leave, t.acceleration, jerk};
          EXPECT_LE(up.distance() + down.distance(), t.move.length() * (1 + 1e-7))
              << jerk << " " << ahead << " " << seed;
        }
      }
}

TEST(Planner, LookingLessFarAheadIsSlower) {
  Machine m = machine();
  const Path path = any_path(3, 500, false);
  double last = 1e9;
  for (const int ahead : {1, 2, 4, 8, 32, 0}) {
    m.look_ahead = ahead;
    const double time = total(planned(m, path));
    EXPECT_LE(time, last * (1 + 1e-12)) << ahead;
    last = time;
  }
  m.look_ahead = 1;  // stops after every move
  double stops = 0;
  for (const Move& move : path) stops += total(planned(m, {move}));
  EXPECT_NEAR(total(planned(m, path)), stops, 1e-9);
}

// Straight on at changing speeds, each junction from its definition: the path as if it ended n moves on.
TEST(Planner, LooksAsFarAheadAsItIsTold) {
  Machine m = machine();
  for (const int ahead : {1, 2, 5, 9}) {
    m.look_ahead = ahead;
    Path path;
    double at = 0;
    for (int i = 0; i < 60; ++i) {
      const double length = 1e-4 * (1 + i * 7 % 13);
      path.push_back(straight({at, 0, 0}, {at + length, 0, 0}, 0.01 * (1 + i * 5 % 9)));
      at += length;
    }
    const auto travels = planned(m, path);
    const auto gained = [](double from, const Move& move) {
      return std::sqrt(from * from + 2 * 1.5 * move.length());
    };
    double entry = 0;
    for (size_t i = 0; i < path.size(); ++i) {
      double back = 0;  // of the last move known, and so on back to the end of this one
      for (size_t k = std::min(i + size_t(ahead), path.size()); k-- > i + 1;)
        back = std::min({gained(back, path[k]), path[k].speed, path[k - 1].speed});
      const double leave = std::min(back, gained(entry, path[i]));
      EXPECT_NEAR(travels[i].leave, leave, 1e-12) << ahead << " at " << i;
      entry = leave;
    }
  }
}

// What is handed on early is what would have been handed on with the whole path known.
TEST(Planner, HoldsBackWhatLaterMovesMayChange) {
  Machine m = machine();
  for (const double jerk : {quantity::kUnset, 50.0}) {
    m.jerk = jerk, m.look_ahead = 0;
    const auto all = planned(m, any_path(11, 9000));
    m.look_ahead = 9000;  // as many as there are: one look at the whole
    const auto once = planned(m, any_path(11, 9000));
    for (size_t i = 0; i < all.size(); ++i) ASSERT_NEAR(all[i].start, once[i].start, 1e-9) << i;
  }
}

TEST(Planner, IsBoundedWhereNothingSettles) {
  Machine m{.axial_acceleration = 1e-3, .around_acceleration = 1};
  size_t handed = 0, most = 0, taken = 0;
  Planner planner(m, [&](const Travel&) { return ++handed, true; });
  for (int i = 0; i < 400000; ++i) {
    ++taken;
    planner.take({.from = {i * 1e-6, 0, 0}, .to = {(i + 1) * 1e-6, 0, 0}, .speed = 50});
    most = std::max(most, taken - handed);
  }
  planner.finish();
  EXPECT_LE(most, Planner::kMostAhead);
  EXPECT_EQ(handed, taken);
  const double known = 2 * std::sqrt(0.4 / 1e-3);  // with all of it known: half the way up, half down
  EXPECT_GE(planner.elapsed(), known);
  EXPECT_LE(planner.elapsed(), 1.1 * known);
}

// Three moves without corners between them, at three speeds: the speeds at both junctions by trying all.
TEST(Planner, UnderAJerkLimitJunctionsAreAboutTheBest) {
  for (const double jerk : {0.5, 5.0, 50.0}) {
    Machine m = machine();
    m.jerk = jerk;
    const double lengths[] = {4e-3, 2e-3, 6e-3}, speeds[] = {0.08, 0.03, 0.1};
    Path path;
    double at = 0;
    for (int i = 0; i < 3; ++i)
      path.push_back({.from = {at, 0, 0}, .to = {at += lengths[i], 0, 0}, .speed = speeds[i]});
    const auto time = [&](double entry, double leave, int i) {  // by trying tops as well
      double best = 1e9;
      for (int k = 0; k <= 200; ++k) {
        const double top = std::max(entry, leave) + (speeds[i] - std::max(entry, leave)) * k / 200;
        const Ramp up{entry, top, 1.5, jerk}, down{top, leave, 1.5, jerk};
        const double level = lengths[i] - up.distance() - down.distance();
        if (level >= 0) best = std::min(best, up.duration() + down.duration() + level / top);
      }
      return best;
    };
    double best = 1e9;
    for (int i = 1; i <= 60; ++i)
      for (int k = 1; k <= 60; ++k) {
        const double one = 0.03 * i / 60, two = 0.03 * k / 60;
        best = std::min(best, time(0, one, 0) + time(one, two, 1) + time(two, 0, 2));
      }
    EXPECT_NEAR(total(planned(m, path)) / best, 1, 2e-2) << jerk;
  }
}

TEST(Planner, StopsAndAStandingBeam) {
  Machine m = machine();
  Path path{straight({}, {10e-3, 0, 0}, 0.05)};
  path.push_back({.kind = Move::Kind::dwell, .from = path[0].to, .to = path[0].to, .pause = 0.25});
  path.push_back({.from = path[0].to, .to = path[0].to, .speed = 0.05});  // to where it is
  path.push_back({.from = path[0].to, .to = {20e-3, 0, 0}, .speed = 0.05});
  for (const double jerk : {quantity::kUnset, 10.0}) {
    m.jerk = jerk;
    const auto travels = planned(m, path);
    EXPECT_EQ(travels[0].leave, 0);
    EXPECT_EQ(travels[1].duration, 0.25);
    EXPECT_EQ(travels[2].duration, 0);
    EXPECT_NEAR(travels[3].duration, travels[0].duration, 1e-12);
    EXPECT_EQ(travels[3].entry, 0);
  }
  m.corner_deviation = quantity::kUnset;
  m.jerk = quantity::kUnset;
  const auto corner = planned(m, {path[0], {.from = path[0].to, .to = {10e-3, 1e-3, 0}, .speed = 0.05}});
  EXPECT_EQ(corner[0].leave, 0);
  const auto on = planned(m, {path[0], path[2], path[3]});
  EXPECT_NEAR(on[0].leave, 0.05, 1e-15);  // the move to where it is does not stop it
}

TEST(Planner, ACornerIsNoPartOfARun) {
  Machine m = machine();
  for (const double jerk : {quantity::kUnset, 50.0}) {
    m.jerk = jerk;
    const auto travels =
        planned(m, {straight({}, {30e-3, 0, 0}, 0.06), straight({30e-3, 0, 0}, {30e-3, 30e-3, 0}, 0.06)});
    const double radius = 30e-6 * std::sqrt(0.5) / (1 - std::sqrt(0.5)), across = 0.6 / std::sqrt(0.5);
    EXPECT_NEAR(travels[0].leave, std::sqrt(radius * across), 1e-9);
    EXPECT_NEAR(travels[1].entry, travels[0].leave, 1e-12);
  }
}

TEST(Planner, EndsWhenTheTakerSaysSo) {
  int taken = 0;
  Planner planner(machine(), [&taken](const Travel&) { return ++taken < 10; });
  bool going = true;
  for (const Move& move : any_path(1, 5000)) going = planner.take(move) && going;
  EXPECT_FALSE(going);
  EXPECT_FALSE(planner.finish());
  EXPECT_EQ(taken, 10);
  EXPECT_THROW(Planner({}, [](const Travel&) { return true; }), quantity::JobError);
}

}  // namespace
}  // namespace circumfluence::motion
