// A trial on a tube of card: settings that mark it and do not burn through, from an even fill's two ends.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "job/job_file.h"
#include "mark/fill.h"
#include "mark/set_up.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;

constexpr double kPlenty = 3;    // [1] on the least power: three spreads of what is known of card
constexpr double kMargin = 1.5;  // [1] on power, either way, that a trial has at least
constexpr double kFaintest =
    0.02;  // [1] of the rated power: below it sources are unsteady, common practice, no source
constexpr double kStep = 1.25;  // [1] from one speed that is tried to the next
constexpr int kSpeeds = 10;     // that are tried, either way

job::Job tube(const Scene& scene, double wall) {
  job::Job job = scene.job;
  const double diameter = 2 * scene.profile.radius(scene.focus_at);
  workpiece::Part card;
  card.length = scene.job.workpiece.length;
  card.diameter = diameter;
  card.wall = wall;
  card.base = "cardboard";
  card.temperature = scene.job.workpiece.temperature;
  job.workpiece = card;
  // A chuck turns the tube as it does the part; rollers turn it by its own diameter.
  const bool chuck = job.rotary.drive == motion::Drive::chuck;
  job.mount.drive_diameter = chuck ? 2 * scene.reference_radius : quantity::kUnset;
  job.mount.focus_at = scene.focus_at;
  job.rotary = {};
  for (double* limit : {&job.grid.axial_from, &job.grid.axial_to, &job.grid.around_from, &job.grid.around_to})
    *limit = quantity::kUnset;
  return job::completed(std::move(job));
}

// [K] linear: the greatest of what earlier lines leave in the wall; infinity where it would char through by
// itself.
double warmed(const Scene& scene) {
  const workpiece::Surface surface = develop(scene);
  const motion::Raster raster = plan(scene);
  const auto exposure = expose(scene, surface, raster);
  const response::Model model = respond(scene, *exposure);
  const Background background = warm(scene, raster, *exposure, model, 0);
  if (background.capped) return quantity::kInfinity;
  return background.counts() ? heat::linear_rise(model.conductivity, background.warming.greatest) : 0.0;
}

// The tube's scene at one speed, and what powers do there.
class Attempt {
 public:
  Attempt(const Scene& tube, double speed) : scene_(tube) {
    scene_.job.scan.speed = speed;
    const Line line = line_of(scene_);
    model_.emplace(respond(scene_, {{line.along, line.across, line.speed}}));
    fill_.emplace(*model_, scene_.job.outcome, line);
    marks_ = scene_.power() * fill_->required(period(0));
    burns_ = scene_.power() * fill_->burns(period(0));
  }
  Attempt(const Attempt&) = delete;
  Attempt& operator=(const Attempt&) = delete;

  // Whether some power of this laser does; then the trial has it.
  bool serves(TubeTrial& trial) {
    const double rated = scene_.job.laser.rated_power;
    const double wished = std::min(kPlenty * marks_, std::sqrt(marks_) * std::sqrt(burns_));
    const double power = rounded(std::clamp(wished, kFaintest * rated, rated));
    if (!std::isfinite(marks_) || power < kMargin * marks_ || power * kMargin > burns_) return false;
    const double before = scene_.power();
    set(power);
    const double rise = warmed(scene_);
    if (!std::isfinite(rise)) return false;
    // Factors refer to the power that the fill was made with.
    const double warm = before * fill_->burns(period(rise * before / power));
    if (power * kMargin > warm) return false;
    trial.power = power, trial.speed = scene_.job.scan.speed;
    trial.marks = marks_ / power, trial.burns = warm / power;
    trial.duration = plan(scene_).duration;
    trial.job = job::completed(scene_.job);
    return true;
  }

 private:
  Period period(double rise) const {
    const motion::Scan& scan = scene_.job.scan;
    return {scan.spacing, scan.passes, rise, scan.interleave};
  }
  // To a tenth of a per cent of the rated power, as controllers take it.
  double rounded(double power) const {
    const double step = scene_.job.laser.rated_power / 1000;
    return std::round(power / step) * step;
  }
  void set(double power) {
    scene_.job.scan.power = power;
    scene_.job.scan.power_share = quantity::kUnset;
  }

  Scene scene_;
  std::optional<response::Model> model_;
  std::optional<EvenFill> fill_;
  double marks_ = 0, burns_ = 0;  // [W] at the source
};

// The job's own, then faster ones, then slower ones; three figures.
std::vector<double> speeds(const motion::Scan& scan) {
  std::vector<double> out = {scan.speed};
  const double most = std::isnan(scan.top_speed) ? quantity::kInfinity : scan.top_speed;
  for (const double step : {kStep, 1 / kStep})
    for (int i = 1; i <= kSpeeds; ++i) {
      const double speed = std::stod(format(scan.speed * std::pow(step, i), "mm/min", 3)) * (1e-3 / 60);
      if (speed <= most) out.push_back(speed);
    }
  return out;
}

}  // namespace

TubeTrial tube_trial(const Scene& scene, double wall) {
  TubeTrial out{.diameter = 2 * scene.profile.radius(scene.focus_at), .wall = wall};
  if (scene.job.has_path()) {
    out.why = "settings on card are not worked out for a tool path";
    return out;
  }
  try {
    const Scene on_card = prepare(tube(scene, wall));
    for (const double speed : speeds(scene.job.scan))
      if (Attempt(on_card, speed).serves(out)) return out;
    out.why = fmt::format(
        "at no speed near the job's does a power of this laser mark card of {} without burning through",
        format(wall, "mm", 3));
  } catch (const quantity::JobError& error) {
    out.why = error.problem();
  } catch (const quantity::ValidityError& error) {
    out.why = error.what();
  }
  return out;
}

}  // namespace circumfluence::mark
