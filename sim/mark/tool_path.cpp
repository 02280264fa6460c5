// The tool path of a job, from its file to what the part sees.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "mark/fill.h"
#include "mark/scene.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

constexpr int kPlacesOfAnArc = 64;

struct Box {
  artwork::Extent extent{std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity(),
                         std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};

  void add(const motion::PathPoint& point) {
    extent.axial_from = std::min(extent.axial_from, point.axial);
    extent.axial_to = std::max(extent.axial_to, point.axial);
    extent.around_from = std::min(extent.around_from, point.around);
    extent.around_to = std::max(extent.around_to, point.around);
  }
  bool empty() const { return extent.axial_from > extent.axial_to; }
};

// What an arc bulges beyond its ends: its places farthest along and around, and between them those of one
// whose radius changes.
void add_arc(const motion::Move& move, Box& box) {
  constexpr double kQuarter = quantity::kPi / 2;
  for (int i = 0; i <= kPlacesOfAnArc; ++i) box.add(move.at(double(i) / kPlacesOfAnArc));
  const motion::Arc& arc = move.arc;
  const double start = std::atan2(move.from.around - arc.around, move.from.axial - arc.axial);
  const double low = std::min(start, start + arc.angle);
  const double first = std::ceil(low / kQuarter), quarters = std::abs(arc.angle) / kQuarter;
  for (int i = 0; i < std::min(4.0, quarters); ++i) {
    const double share = ((first + i) * kQuarter - start) / arc.angle;
    if (share >= 0 && share <= 1) box.add(move.at(share));
  }
}

bool burns(const motion::Move& move) {
  return move.power > 0;
}

[[noreturn]] void refuse_dark(const job::Job& job) {
  throw quantity::JobError(
      fmt::format("path.file = \"{}\" (burns nothing: the beam is never on while the path moves or dwells; "
                  "M3 or M4 with an S puts it on)",
                  job.path.file));
}

// The value in whose favour half of the weight is cast; those within a per cent count as one, by their mean.
class Middle {
 public:
  void add(double value, double weight) {
    if (!(value > 0)) return;
    Votes& votes = votes_[std::lround(100 * std::log(value))];
    votes.weight += weight;
    votes.sum += weight * value;
  }
  double value() const {
    double all = 0, sum = 0;
    for (const auto& [step, votes] : votes_) all += votes.weight;
    for (const auto& [step, votes] : votes_)
      if ((sum += votes.weight) >= all / 2) return votes.sum / votes.weight;
    return 0;
  }

 private:
  struct Votes {
    double weight = 0, sum = 0;
  };
  std::map<long, Votes> votes_;
};

// [m] the widest spacing at which parallel lines leave nothing between them, as far as outcome.required asks;
// 0: none.
double clear_spacing(const Scene& scene, const response::Model& model, const Line& line) {
  EvenFill fill(model, scene.job.outcome, line);
  double low = fill.width(1) / 2, high = 4 * line.across;
  if (!(low > 0) || !(fill.required({low}) <= 1)) return 0;
  for (int i = 0; i < 12; ++i) {
    const double middle = (low + high) / 2;
    (fill.required({middle}) <= 1 ? low : high) = middle;
  }
  return low;
}

}  // namespace

motion::PathFile path_file(const Scene& scene) {
  motion::PathFile how = scene.job.path;
  how.driven_diameter = 2 * scene.reference_radius;
  return how;
}

std::vector<motion::Finding> check_path(const Scene& scene, const quantity::Progress& progress) {
  const Line line = line_of(scene);
  const response::Model model =
      respond(scene, std::vector<exposure::SpotState>{{line.along, line.across, line.speed}});
  const double clears = clear_spacing(scene, model, line);
  const bool turning = scene.job.mount.hold == motion::Hold::turning;
  motion::PathCheck check({.length = scene.profile.length(),
                           .turn = turning ? 2 * quantity::kPi * scene.reference_radius : quantity::kUnset,
                           .standing = turning ? nullptr : &scene.profile,
                           .beam_offset = scene.job.mount.beam_offset,
                           .clear_width = clears > 0 ? clears : quantity::kUnset,
                           .machine = scene.job.machine});
  const auto take = [&check](const motion::Move& move) {
    check.take(move);
    return true;
  };
  return check.finish(motion::read_path(scene.job.path_to(scene.job.path.file), path_file(scene), take, progress));
}

artwork::Extent outline(const job::Job& job, const motion::PathFile& how) {
  Box box;
  motion::read_path(job.path_to(job.path.file), how, [&box](const motion::Move& move) {
    if (!burns(move)) return true;
    box.add(move.from);
    box.add(move.to);
    if (move.arc.angle != 0) add_arc(move, box);
    return true;
  });
  if (box.empty()) refuse_dark(job);
  return box.extent;
}

std::shared_ptr<const ToolPath> read_tool_path(const Scene& scene, const motion::PathFile& how) {
  const job::Job& job = scene.job;
  const bool turning = job.mount.hold == motion::Hold::turning;
  auto out = std::make_shared<ToolPath>(
      ToolPath{.path = exposure::Path({.light = scene.light,
                                       .power = job.laser.rated_power * (1 - job.laser.losses),
                                       .turn = turning ? 2 * quantity::kPi * scene.reference_radius : 0}),
               .notes = {}});
  Middle power, speed;
  motion::Planner planner(job.machine, [&](const motion::Travel& asked) {
    motion::Travel travel = asked;
    travel.move.power = std::min(asked.move.power, 1.0f);  // the laser gives no more than it has
    out->path.take(travel);
    if (!burns(travel.move) || travel.move.kind == motion::Move::Kind::dwell) return true;
    out->burning += travel.duration;
    const double length = travel.move.length();
    if (!(length > 0)) return true;
    power.add(travel.move.power * job.laser.rated_power, length);
    speed.add(travel.move.follows_speed ? travel.move.speed : length / travel.duration, length);
    return true;
  });
  out->notes = motion::read_path(job.path_to(job.path.file), how,
                                 [&planner](const motion::Move& move) { return planner.take(move); });
  planner.finish();
  out->duration = planner.elapsed();
  if (out->path.pieces().empty()) refuse_dark(job);
  out->power = power.value();
  out->speed = speed.value();
  return out;
}

}  // namespace circumfluence::mark
