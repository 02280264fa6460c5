#include "mark/set_up.h"

#include <algorithm>
#include <cmath>

#include "appearance/colour.h"
#include "mark/fill.h"
#include "mark/predict.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using quantity::kPi;

constexpr double kNearly = 0.9;  // [1] of a turn, from which art counts as going all round
constexpr int kPlaces = 513;     // along the part, at which the head's clearance is looked at

bool given(double value) {
  return !std::isnan(value);
}

bool on_rollers(const job::Job& job) {
  return job.mount.hold == motion::Hold::turning && job.rotary.drive == motion::Drive::rollers;
}

bool steps_known(const motion::Rotary& rotary) {
  return rotary.motor_steps > 0 && rotary.microsteps > 0 && given(rotary.reduction) &&
         (rotary.drive == motion::Drive::chuck || given(rotary.roller_diameter));
}

// [m] what rollers turn by, or in a chuck what the art lies on.
double turned_diameter(const Scene& scene) {
  const motion::Rotary& rotary = scene.job.rotary;
  if (!on_rollers(scene.job)) return 2 * scene.profile.radius(scene.focus_at);
  return 2 * (given(rotary.contact) ? scene.profile.radius(rotary.contact) : scene.profile.greatest_radius());
}

std::optional<motion::Closure> seam(const Scene& scene, const artwork::Extent& art,
                                    const motion::Steps& right) {
  const double span = art.around_to - art.around_from;
  if (span < kNearly * 2 * kPi * scene.reference_radius) return {};
  motion::Rotary rotary = scene.job.rotary;
  if (!given(rotary.set_steps)) rotary.set_steps = right.stored;
  return motion::closure(rotary, {.entered = span / kPi, .diameter = turned_diameter(scene)});
}

Turning turning(const Scene& scene, const artwork::Extent& art) {
  const motion::Rotary& rotary = scene.job.rotary;
  Turning out{.driven = 2 * scene.reference_radius, .here = 2 * scene.profile.radius(scene.focus_at)};
  const bool right = on_rollers(scene.job) || steps_known(rotary);
  out.jogged = right ? turned_diameter(scene) : out.driven;
  if (steps_known(rotary)) {
    out.steps = motion::steps(rotary, out.here);
    out.seam = seam(scene, art, *out.steps);
  }
  if (on_rollers(scene.job) && given(rotary.roller_gap)) out.seat = motion::seat(rotary, scene.profile);
  return out;
}

std::vector<motion::Band> bands(const Scene& scene, const artwork::Extent& art) {
  const double length = scene.profile.length();
  const double from = std::clamp(art.axial_from, 0.0, length), to = std::clamp(art.axial_to, 0.0, length);
  if (!(from < to)) return {};
  return motion::bands(scene.job.workpiece, from, to, scene.reference_radius);
}

bool height_known(const job::Job& job) {
  return given(job.rotary.axle_height) && (!on_rollers(job) || given(job.rotary.roller_gap));
}

// [m] above the bed of the highest place that the head passes.
double highest(const Scene& scene, const motion::Rotary& rotary, const Start& start) {
  const double length = scene.profile.length();
  const double from = std::clamp(start.head_from, 0.0, length), to = std::clamp(start.head_to, 0.0, length);
  double out = -quantity::kInfinity;
  for (int i = 0; i < kPlaces; ++i)
    out = std::max(out, motion::top(rotary, scene.profile, from + (to - from) * i / (kPlaces - 1)));
  return out;
}

Stack stack(const Scene& scene, const Start& start) {
  const job::Job& job = scene.job;
  const double radius = scene.profile.radius(scene.focus_at);
  Stack out{.radius = radius * std::cos(stand_of(scene).azimuth),
            .focus = job.laser.focus_distance + job.scan.focus_offset,
            .head = job.mount.head_height};
  if (!height_known(job)) return out;
  motion::Rotary rotary = job.rotary;
  if (!on_rollers(job)) rotary.drive = motion::Drive::chuck;  // a standing part is held at its axis likewise
  out.axis = motion::top(rotary, scene.profile, scene.focus_at) - radius;
  out.clearance = out.surface() + out.focus - highest(scene, rotary, start);
  return out;
}

Start start_of(const Scene& scene, const motion::Raster& raster) {
  const artwork::Mirror against = motion::against(scene.job.mount);
  const bool axial_against = int(against) & 1, around_against = int(against) & 2;
  const bool axial = raster.direction == motion::Direction::axial;
  const double before = raster.along_from - raster.sweep.run_up(),
               after = raster.along_to + raster.sweep.run_up();
  const double first = raster.cross(0), last = raster.cross(raster.lines - 1);
  const auto begin = [](bool falls, double low, double high) { return falls ? high : low; };
  if (axial) return {begin(axial_against, before, after), begin(around_against, first, last), before, after};
  return {begin(axial_against, first, last), begin(around_against, before, after), first, last};
}

std::optional<Polarity> polarity(const Scene& scene) {
  try {
    const appearance::Palette seen = palette(scene);
    const appearance::Lab ground = appearance::lab_from_srgb(seen.ground),
                          marked = appearance::lab_from_srgb(seen.marked);
    const bool lighter = marked.l > ground.l, dark_burnt = scene.job.artwork.burns == artwork::Burns::dark;
    return Polarity{ground.l, marked.l, appearance::ciede2000(ground, marked), lighter == dark_burnt};
  } catch (const quantity::ValidityError&) {
    return {};  // the records say no colour
  }
}

double edge_stretch(const Scene& scene, const artwork::Extent& art) {
  if (scene.job.mount.hold == motion::Hold::turning) return 1;
  const double aside = scene.job.mount.beam_offset, radius = scene.profile.radius(scene.focus_at);
  const double edge = std::max(std::abs(art.around_from + aside), std::abs(art.around_to + aside)) / radius;
  return edge < 1 ? 1 / std::sqrt(1 - edge * edge) : quantity::kInfinity;
}

void lacks_rotary(const job::Job& job, std::vector<Lacking>& out) {
  const motion::Rotary& rotary = job.rotary;
  const auto lack = [&out](bool lacks, const char* key, const char* what) {
    if (lacks) out.push_back({key, what});
  };
  lack(rotary.motor_steps <= 0, "rotary.motor_steps", "steps per mm for this part");
  lack(rotary.microsteps <= 0, "rotary.microsteps", "steps per mm for this part");
  lack(!given(rotary.reduction), "rotary.reduction", "steps per mm for this part");
  if (rotary.drive == motion::Drive::rollers) {
    lack(!given(rotary.roller_diameter), "rotary.roller_diameter", "steps per mm, and how the part lies");
    lack(!given(rotary.roller_gap), "rotary.roller_gap", "how the part lies");
  }
  lack(!given(rotary.set_steps), "rotary.set_steps", "whether the steps now set are right");
  lack(!given(rotary.flat_steps), "rotary.flat_steps", "what to put back afterwards");
}

std::vector<Lacking> lacking(const SetUp& sheet) {
  const job::Job& job = sheet.job;
  std::vector<Lacking> out;
  if (sheet.turning) lacks_rotary(job, out);
  if (!given(job.rotary.axle_height)) out.push_back({"rotary.axle_height", "how high the head has to stand"});
  if (!given(job.laser.focus_distance))
    out.push_back({"laser.focus_distance", "how high the head has to stand"});
  if (!given(job.mount.head_height)) out.push_back({"mount.head_height", "how far to raise it"});
  if (!motion::way_stated(job.mount))
    out.push_back({"mount.mouth, mouth_faces, axial_feed, around_feed", "which way round the art lands"});
  if (!sheet.polarity)
    out.push_back(
        {"ground_colour, marked_colour in the material's record", "whether marks come out lighter"});
  return out;
}

// What the machine would do badly on a tool path.
std::vector<std::string> looks(const Scene& scene) {
  std::vector<std::string> out;
  if (!scene.path) return out;
  try {
    for (const motion::Finding& finding : check_path(scene)) out.push_back(motion::words(finding));
  } catch (const quantity::ValidityError& error) {
    out.push_back(std::string("The path is not looked over: ") + error.what());
  }
  return out;
}

}  // namespace

SetUp set_up(const Scene& scene, double tube_wall) {
  SetUp out{.job = scene.job,
            .base = scene.base.title,
            .coat = scene.coat ? scene.coat->title : "",
            .focus_at = scene.focus_at,
            .power = scene.path ? scene.path->power : scene.power(),
            .duration = plan(scene).duration,
            .art = scene.art,
            .edge_stretch = edge_stretch(scene, scene.art),
            .landing = motion::landing(scene.job.artwork, scene.job.mount),
            .polarity = polarity(scene),
            .looks = looks(scene),
            .cautions = cautions(scene)};
  if (scene.path) out.job.scan.speed = scene.path->speed;
  if (!scene.path) {
    out.art = artwork::extent(fed(scene), scene.image);
    out.raster = plan(scene);
    out.start = start_of(scene, *out.raster);
  }
  if (scene.job.mount.hold == motion::Hold::turning) {
    out.turning = turning(scene, out.art);
    out.bands = bands(scene, out.art);
  }
  out.stack =
      stack(scene, out.start.value_or(Start{.head_from = out.art.axial_from, .head_to = out.art.axial_to}));
  out.trial = tube_trial(scene, tube_wall);
  out.lacking = lacking(out);
  out.checks = power_up_checks(out);
  return out;
}

}  // namespace circumfluence::mark
