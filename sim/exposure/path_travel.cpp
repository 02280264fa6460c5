// From planned moves to lit pieces.
#include <algorithm>
#include <cmath>

#include "exposure/path_pieces.h"

namespace circumfluence::exposure {
namespace {

using motion::Move;
using motion::PathPoint;
using motion::Travel;

constexpr double kSharp = -1e-6;      // [1] cosine between the legs of a corner that breaks a chain
constexpr double kFinest = 1.0 / 32;  // [1] of the spot's radius
constexpr double kWidestBend = 0.15;  // [rad] that a piece of an arc turns
constexpr double kRadiusStep = 0.01;  // [1] by which a radius may change within a piece

bool turns(const Move& move) {
  return move.arc.angle != 0;
}

// [W] over the power asked for, times what makes it an energy per length: none where the power follows the
// speed.
bool follows(const Travel& travel) {
  return travel.move.follows_speed;
}

double asked(const Travel& travel) {
  return travel.move.speed > 0 ? travel.move.speed : travel.top;
}

}  // namespace

void Path::follow_corner(const motion::Course& course) {
  const motion::Heading &in = course.begin, &out = course.end;
  if (in.axial == 0 && in.around == 0) return;
  if (in.axial * heading_.axial + in.around * heading_.around < kSharp) ++chain_;
  heading_ = out;
}

void Path::take(const Travel& travel) {
  const Move& move = travel.move;
  const motion::Course course = motion::course(move);
  const double length = course.length;
  follow_corner(course);
  if (move.power > 0 && length > 0) {
    cut(travel, length);
  } else {
    if (move.power > 0 && travel.duration > 0 && !follows(travel))
      add({.axial = move.from.axial,
           .around = move.from.around,
           .to_axial = move.from.axial,
           .to_around = move.from.around,
           .height = move.from.height,
           .energy = terms_.power * move.power * travel.duration,
           .speed = 2 * narrowest(move.from.height) / travel.duration,
           .distance = distance_,
           .start = travel.start,
           .chain = chain_});
    distance_ +=
        turns(move) ? length : std::hypot(move.to.axial - move.from.axial, move.to.around - move.from.around);
  }
}

// [m] along the move that a piece may have, whatever the speed.
double Path::longest(const Travel& travel, double length) const {
  const Move& move = travel.move;
  if (!turns(move)) return length;
  const double radius = std::hypot(move.from.axial - move.arc.axial, move.from.around - move.arc.around);
  const double fine = 0.15 * narrowest(move.from.height) / std::max(radius, 1e-9);
  const double angle = std::min(kWidestBend, std::sqrt(std::sqrt(fine)));
  return length / std::ceil(std::abs(move.arc.angle) / angle);
}

// Energy per length, or the speed of a power that follows, and both radii change little over it.
bool Path::even(const Travel& travel, const Cut& cut) const {
  const double from = travel.move.from.height, by = travel.move.to.height - from;
  double slowest = 1e300, fastest = 0;
  for (int i = 0; i <= 4; ++i) {
    const double speed = travel.speed_at(cut.from + 0.25 * i * cut.by);
    slowest = std::min(slowest, speed);
    fastest = std::max(fastest, speed);
  }
  if (fastest > slowest * (1 + (follows(travel) ? 4 : 1) * terms_.energy_step)) return false;
  if (by == 0) return true;
  const double length = travel.move.length();
  const Radii a = terms_.light.radii(-(from + cut.from / length * by));
  const Radii b = terms_.light.radii(-(from + (cut.from + cut.by) / length * by));
  return std::abs(a.axial / b.axial - 1) <= kRadiusStep && std::abs(a.around / b.around - 1) <= kRadiusStep;
}

void Path::cut(const Travel& travel, double length) {
  const double least =
      kFinest * std::min(narrowest(travel.move.from.height), narrowest(travel.move.to.height));
  const double most = longest(travel, length);
  double from = 0, by = most;
  while (from < length * (1 - 1e-12)) {
    by = std::min({4 * by, most, length - from});
    while (by > least && !even(travel, {from, by})) by /= 2;
    burn(travel, {from, by}, length);
    from += by;
  }
}

void Path::burn(const Travel& travel, const Cut& cut, double length) {
  const Move& move = travel.move;
  const double end = std::min(cut.from + cut.by, length);
  const PathPoint from = move.at(cut.from / length), to = move.at(end / length);
  const double begun = travel.time_at(cut.from), time = std::max(travel.time_at(end) - begun, 1e-12);
  const double power = terms_.power * move.power;
  const double energy = follows(travel) ? power * (end - cut.from) / asked(travel) : power * time;
  const double chord = std::hypot(to.axial - from.axial, to.around - from.around);
  Segment s{.axial = from.axial,
            .around = from.around,
            .to_axial = to.axial,
            .to_around = to.around,
            .height = (from.height + to.height) / 2,
            .energy = chord > 0 ? energy / chord : energy,
            .speed = chord > 0 ? chord / time : 2 * narrowest(from.height) / time,
            .distance = distance_,
            .start = travel.start + begun,
            .chain = chain_};
  if (turns(move) && chord > 0) {
    const PathPoint middle = move.at((cut.from + end) / 2 / length);
    s.bend = ((middle.around - (from.around + to.around) / 2) * (to.axial - from.axial) -
              (middle.axial - (from.axial + to.axial) / 2) * (to.around - from.around)) /
             chord;
  }
  add(s);
  distance_ += chord;
}

}  // namespace circumfluence::exposure
