// Patches laid out in rows.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "calibration/plan.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

constexpr double kQuiet = 1.5e-3, kGap = 1e-3;        // [m] around corner marks, between neighbours
constexpr double kFoot = 0.25e-3;                     // [m] below the last label, half a stroke and more
constexpr double kLargest = 1.8e-3, kLeast = 0.8e-3;  // [m] letters
constexpr double kSpots = 8;                          // [1] letters are at least so many spots high

// What a row shares; single lines over heights share one as well.
auto row_key(const Patch& p) {
  return std::tuple(p.is_line(), p.speed, p.spacing, p.passes, p.is_line() ? 0.0 : p.focus_offset,
                    int(p.direction));
}
auto key(const Patch& p) {
  return std::tuple(row_key(p), p.focus_offset, p.power);
}

struct Style {
  double letters;  // [m]
  bool mixed;      // rows go on with the next speed where one ends
};

struct Table {
  const PlanRequest& request;
  Coupon blank;  // ink, ground
  const motion::Scan* scan;

  double edge() const { return blank.corner + kQuiet; }
  Rectangle slot(const Patch& patch) const {
    const double half = patch.is_line() ? request.side / 2 : request.side;
    return patch.direction == motion::Direction::axial ? Rectangle{0, 0, request.side, half}
                                                       : Rectangle{0, 0, half, request.side};
  }
};

struct Shape {
  double pitch = 0;  // [m] from column to column
  size_t columns = 0;
};

// Rows of slots [first, last) in order.
std::vector<std::pair<size_t, size_t>> rows(const Coupon& coupon, size_t columns, bool mixed) {
  std::vector<std::pair<size_t, size_t>> out;
  for (size_t i = 0; i < coupon.slots.size(); ++i) {
    const bool on = !out.empty() && i - out.back().first < columns &&
                    (mixed || row_key(coupon.slots[i].patch) == row_key(coupon.slots[i - 1].patch));
    if (on)
      out.back().second = i + 1;
    else
      out.emplace_back(i, i + 1);
  }
  return out;
}

Shape shape(const Table& table, const Coupon& coupon, const std::vector<std::string>& texts) {
  double widest = 0;
  for (size_t i = 0; i < coupon.slots.size(); ++i)
    widest =
        std::max({widest, coupon.slots[i].place.width, label_place(coupon, coupon.slots[i], texts[i]).width});
  Shape out{.pitch = widest + kGap};
  const double room = table.request.width - 2 * table.edge() + kGap * (1 + 1e-9);
  if (room > 0) out.columns = static_cast<size_t>(std::min(1e6, room / out.pitch));
  return out;
}

// The first `count` patches, or nothing where they do not fit.
std::optional<Coupon> attempt(const Table& table, std::vector<Patch> patches, const Style& style) {
  std::stable_sort(patches.begin(), patches.end(),
                   [](const Patch& a, const Patch& b) { return key(a) < key(b); });
  Coupon out = table.blank;
  out.letters = style.letters;
  for (const Patch& patch : patches)
    out.slots.push_back({int(out.slots.size()) + 1, patch, table.slot(patch)});
  const std::vector<std::string> texts = labels(out);
  const Shape shape = calibration::shape(table, out, texts);
  if (shape.columns == 0) return std::nullopt;
  double y = 0;  // downward from the upper edge
  size_t longest = 0;
  for (const auto& [first, last] : rows(out, shape.columns, style.mixed)) {
    double slots = 0, written = 0;
    for (size_t i = first; i < last; ++i) {
      slots = std::max(slots, out.slots[i].place.height);
      const Rectangle label = label_place(out, out.slots[i], texts[i]);
      written = std::max(written, out.slots[i].place.y - label.y);
    }
    for (size_t i = first; i < last; ++i) {
      Rectangle& place = out.slots[i].place;
      place.x = table.edge() + double(i - first) * shape.pitch, place.y = -(y + place.height);
    }
    y += slots + (style.letters > 0 ? written : 0.0) + kGap;
    longest = std::max(longest, last - first);
  }
  out.width = 2 * table.edge() + double(longest) * shape.pitch - kGap;
  out.height = std::max(y - kGap + (style.letters > 0 ? kFoot : 0.0), 2 * out.corner + kQuiet);
  for (Slot& slot : out.slots) slot.place.y += out.height;
  if (out.width > table.request.width * (1 + 1e-9) || out.height > table.request.height * (1 + 1e-9))
    return std::nullopt;
  if (!std::isnan(table.request.duration) && duration(out, *table.scan) > table.request.duration)
    return std::nullopt;
  return out;
}

std::optional<Coupon> attempt(const Table& table, const std::vector<Patch>& patches, size_t count,
                              const Style& style) {
  return attempt(table, std::vector<Patch>(patches.begin(), patches.begin() + std::ptrdiff_t(count)), style);
}

// As many as fit, taking it that fewer do where more do.
Coupon most(const Table& table, const std::vector<Patch>& patches, double letters) {
  std::optional<Coupon> best;
  for (const bool mixed : {false, true}) {
    size_t fits = best ? best->slots.size() : 0, fails = patches.size() + 1;
    while (fails - fits > 1) {
      const size_t middle = fits + (fails - fits) / 2;
      if (std::optional<Coupon> found = attempt(table, patches, middle, {letters, mixed}))
        best = std::move(found), fits = middle;
      else
        fails = middle;
    }
  }
  if (!best)
    throw quantity::ValidityError(fmt::format(
        "coupon: not one patch of {} fits {} x {}{} (with its label and corner marks; expected room for one)",
        quantity::format(table.request.side, "mm", 3), quantity::format(table.request.width, "mm", 3),
        quantity::format(table.request.height, "mm", 3),
        std::isnan(table.request.duration) ? ""
                                           : " and " + quantity::format(table.request.duration, "s", 3)));
  return *best;
}

void check_sizes(const PlanRequest& request) {
  for (const auto& [name, value] : {std::pair{"width", request.width}, std::pair{"height", request.height},
                                    std::pair{"side", request.side}})
    if (!(value > 0) || !std::isfinite(value))
      throw quantity::ValidityError(
          fmt::format("coupon: {} = {} (expected a length above 0 mm)", name, quantity::format(value, "mm")));
  if (!std::isnan(request.duration) && !(request.duration > 0))
    throw quantity::ValidityError(
        fmt::format("coupon: duration = {} s (expected more than 0 s)", request.duration));
}

// Where a job of a tool path leaves ramps open, those of its axes.
motion::Scan scan_of(const job::Job& job) {
  motion::Scan out = job.scan;
  if (std::isnan(out.acceleration)) out.acceleration = job.machine.axial_acceleration;
  return out;
}

}  // namespace

Coupon lay_out(const mark::Scene& scene, const std::vector<Patch>& patches, const PlanRequest& request) {
  check_sizes(request);
  if (patches.empty()) throw quantity::ValidityError("coupon: no patches to lay out (expected one or more)");
  const motion::Scan scan = scan_of(scene.job);
  Coupon blank{.ground = request.ground};
  blank.ink = ink_for(scene, request).patch;
  const Table table{request, blank, &scan};
  // Single lines take half a patch; what is beyond that will not fit.
  const double room = 2 * request.width * request.height / (request.side * request.side);
  std::vector<Patch> some = patches;
  some.resize(std::min({some.size(), kMostSlots, static_cast<size_t>(std::min(1e9, room)) + 1}));
  const double spot = std::max(scene.job.laser.spot_axial, scene.job.laser.spot_around);
  const double least = std::clamp(kSpots * spot, kLeast, kLargest);
  if (some.size() == patches.size())
    for (const bool mixed : {false, true})
      for (const double letters : {kLargest, 1.6e-3, 1.4e-3, 1.2e-3, 1.0e-3, least}) {
        if (letters < least) continue;
        if (const std::optional<Coupon> all = attempt(table, some, {letters, mixed})) return *all;
      }
  return most(table, some, least);
}

}  // namespace circumfluence::calibration
