#include "window/window.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using quantity::ValidityError;

// An axis as its check sees it.
struct Named {
  const char* name;
  const char* unit;
  bool positive;
};

template <class Value>
void check_axis(const std::vector<Value>& values, const Named& axis) {
  const auto refuse = [&](const std::string& problem) {
    throw ValidityError(fmt::format("window.{} {}", axis.name, problem));
  };
  if (values.empty()) refuse("is empty (expected one value or more)");
  const auto text = [&](Value value) { return quantity::format(double(value), axis.unit, 4); };
  for (size_t i = 0; i < values.size(); ++i) {
    if (!std::isfinite(double(values[i])) || (axis.positive && !(values[i] > 0)))
      refuse(fmt::format("has {} at place {} (expected a {} number)", text(values[i]), i, axis.positive ? "positive" : "finite"));
    if (i > 0 && !(values[i] > values[i - 1]))
      refuse(fmt::format("goes from {} to {} at place {} (expected rising values). Sort it", text(values[i - 1]), text(values[i]), i));
  }
}

std::vector<double> even(double from, double to, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(from + (to - from) * i / std::max(count - 1, 1));
  return out;
}

void check_range(int powers, int speeds) {
  if (powers < 1 || speeds < 1)
    throw ValidityError(fmt::format("window: {} powers by {} speeds (expected one or more of each)", powers, speeds));
}

}  // namespace

size_t Axes::index(size_t at_spacing, size_t at_focus, size_t at_passes, size_t at_speed) const {
  return ((at_spacing * focus_offset.size() + at_focus) * passes.size() + at_passes) * speed.size() + at_speed;
}

Axes axes_of(const job::Job& job, int powers, int speeds) {
  check_range(powers, speeds);
  const double top = job.scan.top_speed;
  const double fastest = std::isnan(top) ? 5 * job.scan.speed : std::min(top, 5 * job.scan.speed);
  const Fill fill = fill_of(job);
  Axes axes{even(0.02 * job.laser.rated_power, job.laser.rated_power, powers),
            even(std::log(job.scan.speed / 5), std::log(fastest), speeds),
            {fill.spacing},
            {fill.focus_offset},
            {fill.passes}};
  for (double& speed : axes.speed) speed = std::exp(speed);
  return axes;
}

void check(const Axes& axes, bool many) {
  check_axis(axes.power, {"power", "W", true});
  check_axis(axes.speed, {"speed", "mm/min", true});
  check_axis(axes.spacing, {"spacing", "mm", true});
  check_axis(axes.focus_offset, {"focus_offset", "mm", false});
  check_axis(axes.passes, {"passes", "1", true});
  if (!many && axes.settings() > kManySettings)
    throw ValidityError(fmt::format("window: {} x {} x {} x {} x {} = {} settings of power, speed, spacing, focus offset and passes "
                                    "(expected at most {}). Say many if that is what you want",
                                    axes.power.size(), axes.speed.size(), axes.spacing.size(), axes.focus_offset.size(),
                                    axes.passes.size(), axes.settings(), kManySettings));
}

Window window(const mark::Scene& scene, const Axes& axes, const WindowRequest& request) {
  check(axes, request.many);
  Window out{axes, {}, {}, {}};
  const size_t fills = axes.solutions() / axes.speed.size();
  size_t done = 0;
  for (const double spacing : axes.spacing)
    for (const double focus_offset : axes.focus_offset)
      for (const int passes : axes.passes) {
        if (request.progress && !request.progress(double(done++) / double(fills))) throw quantity::Interrupted();
        const Fill fill{spacing, focus_offset, passes};
        const std::vector<WallRise> walls = request.warming ? wall_rises(scene, fill, axes.speed) : std::vector<WallRise>{};
        const std::vector<Ends> found = ends(scene, place_of(scene, fill), axes.speed, walls, request.threads);
        const std::vector<double> time = durations(scene, fill, axes.speed);
        out.ends.insert(out.ends.end(), found.begin(), found.end());
        out.duration.insert(out.duration.end(), time.begin(), time.end());
        out.walls.insert(out.walls.end(), walls.begin(), walls.end());
      }
  return out;
}

mark::Ruling ruling(const Ends& ends, double power) {
  if (power >= ends.burns) return mark::Ruling::over_burns;
  if (power >= ends.marks) return mark::Ruling::marks;
  return power >= ends.begins ? mark::Ruling::under_marks : mark::Ruling::leaves_no_mark;
}

std::vector<Outlook> outlooks(const Doubt& doubt, const Window& window, const quantity::Progress& progress) {
  const Axes& axes = window.axes;
  std::vector<Outlook> out;
  const size_t speeds = axes.speed.size(), fills = axes.solutions() / speeds;
  size_t done = 0;
  for (const double spacing : axes.spacing)
    for (const double focus_offset : axes.focus_offset)
      for (const int passes : axes.passes) {
        const std::span<const WallRise> walls =
            window.walls.empty() ? std::span<const WallRise>{} : std::span(window.walls).subspan(done * speeds, speeds);
        const quantity::Progress its = quantity::part(progress, double(done) / double(fills), double(done + 1) / double(fills));
        std::vector<Outlook> found = doubt.over(place_of(doubt.scene(), {spacing, focus_offset, passes}), axes.speed, walls, its);
        std::move(found.begin(), found.end(), std::back_inserter(out));
        ++done;
      }
  return out;
}

}  // namespace circumfluence::window
