#include "mark/resume.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "job/job_file.h"
#include "mark/fill.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using quantity::kInfinity;
using quantity::ValidityError;

constexpr double kWhole = 0.999;  // [1] nearly all of a line

// A line as it has got on.
struct Progressed {
  int pass, line;
  double way;  // [m] over the art that it has burnt
};

Progressed progressed(const motion::Raster& raster, const motion::Moment& now) {
  const double way = raster.backward(now.line) ? raster.along_to - now.along : now.along - raster.along_from;
  return {now.pass, now.line, std::clamp(way, 0.0, raster.along_to - raster.along_from)};
}

// The one after it when it is done.
Progressed begun(const motion::Raster& raster, Progressed at) {
  if (!(at.way >= raster.along_to - raster.along_from)) return at;
  const int turn = raster.turn(at.line) + 1;
  if (turn < raster.lines) return {at.pass, raster.line_of_turn(turn), 0};
  return {at.pass + 1, raster.line_of_turn(0), 0};
}

[[noreturn]] void refuse(const std::string& problem) {
  throw ValidityError("restart: " + problem);
}

int line_seen(const motion::Raster& raster, const Stop& stop) {
  const int line =
      std::isnan(stop.cross)
          ? stop.line
          : int(std::lround(std::clamp((stop.cross - raster.first) / raster.spacing, -1e9, 1e9)));
  if (line < 0 || line >= raster.lines)
    refuse(fmt::format("line = {} (this job burns {} lines; expected 0 to {})", line, raster.lines,
                       raster.lines - 1));
  return line;
}

// Where the line seen last ends; a line that is not known to end may have got anywhere.
Progressed seen(const motion::Raster& raster, const Stop& stop) {
  if (stop.pass < 0 && raster.passes > 1)
    refuse(fmt::format("pass is missing (every line is burnt {} times; expected the pass under way, 0 to {})",
                       raster.passes, raster.passes - 1));
  if (stop.pass >= raster.passes)
    refuse(fmt::format("pass = {} (expected 0 to {})", stop.pass, raster.passes - 1));
  const int line = line_seen(raster, stop), pass = std::max(0, stop.pass);
  if (std::isnan(stop.along)) return {pass, line, quantity::kUnset};
  return progressed(raster, {pass, line, stop.along, 0});
}

// What one more burning does to a fill, and how far a line goes on beyond its end.
class Look {
 public:
  explicit Look(const Scene& scene)
      : line_(mark::line_of(scene)),
        model_(respond(scene, {{line_.along, line_.across, line_.speed}})),
        profile_(orders(scene.job).along) {
    EvenFill fill(model_, scene.job.outcome, line_);
    Period period{scene.job.scan.spacing, scene.job.scan.passes, 0, scene.job.scan.interleave};
    least_ = fill.required(period);
    once_ = fill.burns(period);
    ++period.passes;
    twice_ = fill.burns(period);
  }

  Joint repeated(double way) const {
    return ruled({way, least_, std::min(once_, twice_), kInfinity, Ruling::marks});
  }

  // `doubt` [m]: the beam comes back earlier by so much, where it is not known better.
  Joint joined(double doubt) const {
    const double share = std::min(kReserve * least_, kWhole);
    const double overlap = 2 * beyond(share), meets = beyond(std::min(least_, kWhole));
    // Where the first end marks no more, the second one brings the most that falls on ground already marked.
    const double second = doubt > 0 ? 1.0 : profile_.cumulative((overlap - meets) / line_.along);
    return ruled({overlap + doubt, least_ / share, std::min(once_, twice_ / second), overlap - 2 * meets,
                  Ruling::marks});
  }

 private:
  // [m] from its end, inward, where a line brings a share of itself.
  double beyond(double share) const {
    double low = -profile_.reach(), high = profile_.reach();
    for (int i = 0; i < 60; ++i) {
      const double middle = (low + high) / 2;
      (profile_.cumulative(middle) < share ? low : high) = middle;
    }
    return low * line_.along;
  }
  static Joint ruled(Joint joint) {
    joint.ruling = joint.greatest < 1 ? Ruling::over_burns
                   : joint.least > 1  ? Ruling::under_marks
                                      : Ruling::marks;
    return joint;
  }

  Line line_;
  response::Model model_;
  beam::SpotProfile profile_;
  double least_ = 0, once_ = 0, twice_ = 0;
};

std::string look_words(const Joint& joint) {
  switch (joint.ruling) {
    case Ruling::over_burns:
      return fmt::format("it over-burns there (power would have to be {:.2f} of what is set)",
                         joint.greatest);
    case Ruling::marks:
      return std::isinf(joint.greatest)
                 ? std::string("it stays marked, and no power over-burns it")
                 : fmt::format("it stays marked, with a factor of {:.2f} on power up to over-burning",
                               joint.greatest);
    default:
      return "it is under-marked, as the whole job is";
  }
}

std::string spoken(double length, int digits) {
  return format(length, length < 1e-3 ? "um" : "mm", digits);
}

std::string joined_words(const Joint& joint) {
  const std::string how = joint.overlap >= 0 ? fmt::format("an overlap of {}", spoken(joint.overlap, 3))
                                             : fmt::format("a gap of {}, which the two ends fill",
                                                           spoken(-joint.overlap, 3));
  const std::string off = joint.tolerance > 0 ? fmt::format("; a gap shows once it begins {} further on",
                                                            spoken(joint.tolerance, 2))
                                              : "";
  return fmt::format("Joined where the beam went out, with {}: {}{}.", how, look_words(joint), off);
}

std::string words_of(const motion::Raster& raster, const Restart& at) {
  const int line = raster.first_line + at.line;
  std::string said = fmt::format(
      "Start again with line {} of {} (scan.first_line = {}){}, {} across", line + 1,
      raster.first_line + raster.lines, line,
      raster.passes > 1 ? fmt::format(" of pass {} of {}", at.pass + 1, raster.passes) : std::string(),
      format(at.cross, "mm", 5));
  if (!at.repeated) return said + ". It had not begun: nothing is burnt twice.";
  said += std::isnan(at.along)
              ? std::string(". How far it had got is not known.")
              : fmt::format("; the beam went out at {} along it.", format(at.along, "mm", 5));
  said += fmt::format(
      " Burnt again from its beginning, {} are burnt twice: {}.",
      std::isnan(at.along) ? std::string("up to the whole of it") : format(at.repeated->overlap, "mm", 4),
      look_words(*at.repeated));
  if (at.lines_twice > 0)
    said += fmt::format(" As the time is in doubt, so may be the {} after it.", at.lines_twice);
  if (at.joined) said += " " + joined_words(*at.joined);
  said += at.repeat ? " Burn the whole line again." : " Join it.";
  if (std::isnan(at.along)) said += " If it is seen to reach its end, start with the next one.";
  return said;
}

void add_joints(const Scene& scene, const motion::Raster& raster, const Stop& stop, double way, Restart& at) {
  const double whole = raster.along_to - raster.along_from, doubt = 2 * stop.doubt * scene.job.scan.speed;
  if (way <= 0 && !(doubt > 0)) return;
  const Look look(scene);
  at.repeated = look.repeated(std::isnan(way) ? whole : std::min(whole, way + doubt));
  if (!std::isnan(way) && way > 0 && way + doubt < whole) at.joined = look.joined(doubt);
  at.repeat = !at.joined || at.repeated->margin() >= at.joined->margin();
}

// Of the part, where a line across at that place is burnt. The map's own coordinate.
double on_the_surface(const Scene& scene, double cross) {
  if (scene.job.scan.direction == motion::Direction::around) return cross;
  const motion::Pose pose = motion::pose(scene.job.mount, scene.reference_radius, cross);
  return scene.reference_radius * pose.azimuth_under_beam(scene.profile.radius(scene.focus_at));
}

// Lines already burnt are no part of the map.
void limit_grid(const Scene& scene, double edge, job::Job& job) {
  const double here = on_the_surface(scene, edge), beyond = on_the_surface(scene, edge + job.scan.spacing);
  if (std::isnan(here) || std::isnan(beyond)) return;
  const bool axial = job.scan.direction == motion::Direction::axial, rises = beyond > here;
  double& from = axial ? job.grid.around_from : job.grid.axial_from;
  double& to = axial ? job.grid.around_to : job.grid.axial_to;
  if (rises && !(from > here)) from = here;
  if (!rises && !(to < here)) to = here;
}

}  // namespace

double Joint::margin() const {
  return std::min(1 / least, greatest);
}

Restart restart(const Scene& scene, const Stop& stop) {
  const motion::Raster raster = plan(scene);
  const bool timed = !std::isnan(stop.elapsed), viewed = stop.line >= 0 || !std::isnan(stop.cross);
  if (timed == viewed) refuse("the time or the last line is needed (expected one of elapsed, line, cross)");
  if (timed && !(stop.elapsed >= 0 && stop.doubt >= 0))
    refuse("elapsed and doubt are times (expected 0 s or more)");
  Progressed stopped =
      timed ? progressed(raster, motion::moment(raster, stop.elapsed - stop.doubt)) : seen(raster, stop);
  stopped = begun(raster, stopped);
  if (stopped.pass >= raster.passes)
    refuse(fmt::format("nothing is left to burn (the job takes {})", clock(raster.duration)));
  Restart at{.pass = stopped.pass,
             .line = stopped.line,
             .backward = raster.backward(stopped.line),
             .cross = raster.cross(stopped.line),
             .along = quantity::kUnset,
             .lines_twice = 0,
             .elapsed = raster.start(stopped.line, stopped.pass),
             .left = 0,
             .repeated = {},
             .joined = {},
             .repeat = true,
             .words = {}};
  at.left = raster.duration - at.elapsed;
  if (stopped.way >= 0)
    at.along = at.backward ? raster.along_to - stopped.way : raster.along_from + stopped.way;
  if (timed && stop.doubt > 0) {
    const motion::Moment latest = motion::moment(raster, stop.elapsed + stop.doubt);
    at.lines_twice = (latest.pass - at.pass) * raster.lines + raster.turn(latest.line) - raster.turn(at.line);
    at.lines_twice = std::max(0, at.lines_twice);
  }
  add_joints(scene, raster, stop, stopped.way, at);
  at.words = words_of(raster, at);
  return at;
}

std::vector<job::Job> rest(const Scene& scene, const Restart& at) {
  const motion::Raster raster = plan(scene);
  if (at.pass == 0 && at.line == 0) return {scene.job};
  std::vector<job::Job> out;
  if (scene.job.scan.interleave > 1 && !(at.line == 0))
    refuse(fmt::format(
        "scan.interleave = {} (what is left lies between lines already burnt, which no job can name; "
        "expected 1). "
        "Start the controller's own job again at line {}, or burn the pass again if it stays marked",
        scene.job.scan.interleave, at.line + 1));
  job::Job left = scene.job;
  left.scan.passes = at.line == 0 ? raster.passes - at.pass : 1;
  left.scan.first_line = raster.first_line + at.line;
  if (at.line > 0) limit_grid(scene, at.cross - raster.spacing / 2, left);
  out.push_back(job::completed(std::move(left)));
  if (at.line > 0 && at.pass + 1 < raster.passes) {
    job::Job passes = scene.job;
    passes.scan.passes = raster.passes - at.pass - 1;
    out.push_back(job::completed(std::move(passes)));
  }
  return out;
}

}  // namespace circumfluence::mark
