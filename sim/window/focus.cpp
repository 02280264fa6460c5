#include "window/focus.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using quantity::format;
using quantity::ValidityError;

constexpr size_t kMostHeights = 100'000;
constexpr double kNeverLog = 600;     // beyond the ln of any power
constexpr double kNoticeable = 1.5;   // times the line as set
constexpr double kWarm = 10;          // [K] linear, of a wall that is worth a note
constexpr double kChanceShare = 0.8;  // of the work, for progress

Place at_height(const mark::Scene& scene, double height) {
  Place place = place_of(scene, fill_of(scene.job));
  place.stand.height = height;
  return place;
}

void check(const FocusRequest& request) {
  if (!(request.chance >= 0 && request.chance <= 1))
    throw ValidityError(
        fmt::format("focus.chance = {} (expected 0 % to 100 %)", format(request.chance, "%", 4)));
  if (!request.heights) return;
  const std::vector<double>& heights = *request.heights;
  if (heights.empty() || heights.size() > kMostHeights)
    throw ValidityError(
        fmt::format("focus.heights: {} of them (expected 1 to {})", heights.size(), kMostHeights));
  for (size_t i = 0; i < heights.size(); ++i) {
    if (!std::isfinite(heights[i]))
      throw ValidityError(
          fmt::format("focus.heights has {} at place {} (expected a finite number)", heights[i], i));
    if (i > 0 && !(heights[i] > heights[i - 1]))
      throw ValidityError(
          fmt::format("focus.heights goes from {} to {} at place {} (expected rising heights). Sort them",
                      format(heights[i - 1], "mm", 6), format(heights[i], "mm", 6), i));
  }
}

HeightRow row_at(const mark::Scene& scene, double height) {
  const Place place = at_height(scene, height);
  const mark::Line line = mark::line_at(scene, place.stand);
  Look look(scene, place.fill, line);
  const Ends ends = look.ends();
  const double power = scene.power();
  return {.height = height,
          .along = line.along,
          .across = line.across,
          .width = look.fill().width(1),
          .ends = ends,
          .least_factor = ends.marks / power,
          .greatest_factor = ends.burns / power,
          .ruling = ruling(ends, power),
          .spacing = coarsest_spacing(look, scene, line),
          .chances = {quantity::kUnset, quantity::kUnset, quantity::kUnset}};
}

std::vector<HeightRow> rows_at(const mark::Scene& scene, const std::vector<double>& heights, int threads) {
  std::vector<HeightRow> rows(heights.size());
  const auto solve = [&](int first, int last, int) {
    for (auto i = size_t(first); i < size_t(last); ++i) rows[i] = row_at(scene, heights[i]);
  };
  quantity::for_bands({.count = int(heights.size()), .band = 1, .threads = threads}, solve);
  return rows;
}

// An end of one draw over height. Where a neighbour has none, only what both have: `worse` of the two.
class DrawnEnd {
 public:
  DrawnEnd(std::vector<double> heights, std::vector<double> logs, bool marks)
      : heights_(heights), logs_(logs), marks_(marks) {
    const bool everywhere = std::all_of(logs.begin(), logs.end(), [](double log) { return log < kNeverLog; });
    if (everywhere && heights.size() > 1) curve_.emplace(std::move(heights), std::move(logs));
  }
  double at(double height) const {
    if (curve_) return curve_->at(height);
    const auto next = size_t(std::upper_bound(heights_.begin(), heights_.end(), height) - heights_.begin());
    const double low = logs_[next > 0 ? next - 1 : 0], high = logs_[std::min(next, logs_.size() - 1)];
    if (next == 0 || next == logs_.size() || std::max(low, high) >= kNeverLog)
      return marks_ ? std::max(low, high) : std::min(low, high);
    return low + (high - low) * (height - heights_[next - 1]) / (heights_[next] - heights_[next - 1]);
  }

 private:
  std::vector<double> heights_, logs_;
  bool marks_;
  std::optional<response::Curve> curve_;
};

// Chances over height, from draws solved at some.
class ChanceOverHeight {
 public:
  ChanceOverHeight(const Doubt& doubt, const std::vector<double>& heights, const quantity::Progress& progress)
      : power_(doubt.scene().power()), spread_(doubt.power_spread()) {
    const double speed = doubt.scene().job.scan.speed;
    std::vector<Outlook> outlooks;
    for (size_t i = 0; i < heights.size(); ++i) {
      const double all = double(heights.size());
      const quantity::Progress its = quantity::part(progress, double(i) / all, double(i + 1) / all);
      outlooks.push_back(doubt.over(at_height(doubt.scene(), heights[i]), {&speed, 1}, {}, its).front());
    }
    for (size_t draw = 0; draw < size_t(doubt.count()); ++draw) {
      std::vector<double> marks, burns;
      for (const Outlook& o : outlooks) marks.push_back(o.marks()[draw]), burns.push_back(o.burns()[draw]);
      marks_.emplace_back(heights, std::move(marks), true);
      burns_.emplace_back(heights, std::move(burns), false);
    }
  }
  Chances at(double height) const {
    std::vector<double> marks, burns;
    for (size_t i = 0; i < marks_.size(); ++i)
      marks.push_back(marks_[i].at(height)), burns.push_back(burns_[i].at(height));
    return Outlook(std::move(marks), std::move(burns), spread_).at(power_);
  }

 private:
  double power_, spread_;
  std::vector<DrawnEnd> marks_, burns_;
};

// At most kChanceNodes: all of them, or as many even steps; the job's own among them.
std::vector<double> chance_nodes(const std::vector<double>& heights, double own) {
  std::vector<double> out = heights;
  if (heights.size() >= size_t(kChanceNodes)) {
    out.clear();
    for (int i = 0; i < kChanceNodes - 1; ++i)
      out.push_back(heights.front() + (heights.back() - heights.front()) * i / (kChanceNodes - 2));
  }
  const auto after = std::lower_bound(out.begin(), out.end(), own);
  if (after == out.end() || *after != own) out.insert(after, own);
  return out;
}

HeightFault fault_of(const Ends& ends, double power) {
  return power < ends.marks   ? HeightFault::too_little
         : power < ends.burns ? HeightFault::range
                              : HeightFault::over_burns;
}

HeightFault fault_of(const Chances& chances, double asked) {
  if (chances.good >= asked) return HeightFault::range;
  return chances.marks <= chances.spares ? HeightFault::too_little : HeightFault::over_burns;
}

// The nearest height looked at where something holds that does not as set.
template <class Holds>
const HeightRow* nearest(const Focus& focus, const Holds& holds) {
  const HeightRow* out = nullptr;
  const auto away = [&](const HeightRow& row) { return std::abs(row.height - focus.set.height); };
  for (const HeightRow& row : focus.rows)
    if (holds(row) && (!out || away(row) < away(*out))) out = &row;
  return out;
}

std::string focused(const HeightRow& row) {
  return fmt::format("scan.focus_offset = \"{}\"", format(-row.height, "mm", 3));
}

void note_elsewhere(const Focus& focus, std::vector<std::string>& notes) {
  const std::string asked = format(focus.chance, "%", 3);
  if (!focus.nominal.holds)
    if (const HeightRow* row =
            nearest(focus, [](const HeightRow& r) { return r.ruling == mark::Ruling::marks; }))
      notes.push_back(fmt::format("The nearest focus looked at where it marks: {}.", focused(*row)));
  if (!focus.drawn || focus.likely.holds) return;
  if (const HeightRow* row =
          nearest(focus, [&](const HeightRow& r) { return r.chances.good >= focus.chance; }))
    notes.push_back(
        fmt::format("The nearest focus looked at with a chance of {}: {}.", asked, focused(*row)));
  else
    notes.push_back(
        fmt::format("No focus looked at has a chance of {}: power, speed or spacing has to change.", asked));
}

void note_detail(const Focus& focus, std::vector<std::string>& notes) {
  if (!focus.nominal.holds || !(focus.set.width > 0)) return;
  const HeightRow* broadest = &focus.set;
  for (const HeightRow& row : focus.rows)
    if (row.height >= focus.nominal.lowest.height && row.height <= focus.nominal.highest.height &&
        row.width > broadest->width)
      broadest = &row;
  if (broadest->width > kNoticeable * focus.set.width)
    notes.push_back(fmt::format(
        "Lines grow before the fill fails: to {} at {} from the focus, {} as set. Fine detail is lost first.",
        format(broadest->width, "um", 3), format(std::abs(broadest->height), "mm", 3),
        format(focus.set.width, "um", 3)));
}

std::vector<std::string> notes_of(const mark::Scene& scene, const Focus& focus) {
  std::vector<std::string> notes;
  note_elsewhere(focus, notes);
  note_detail(focus, notes);
  if (focus.coarsest.at_the_end)
    notes.push_back(
        "The coarsest spacing is at the end of the heights looked at; further out it may be wider still.");
  const double speed = scene.job.scan.speed;
  const double warm = wall_rises(scene, focus.fill, {&speed, 1}).front().greatest * focus.power;
  if (warm >= kWarm)
    notes.push_back(
        fmt::format("Earlier lines warm the wall by up to some {:.2g} K. That is not counted here: it marks "
                    "and over-burns "
                    "with less.",
                    warm));
  const double spread = scene.job.mount.height_spread;
  if (!focus.drawn && spread > 0)
    notes.push_back(fmt::format("mount.height_spread = {} counts only where chances are drawn.",
                                format(spread, "mm", 3)));
  return notes;
}

void add_chances(Focus& focus, const Doubt& doubt, const quantity::Progress& progress) {
  std::vector<double> heights;
  for (const HeightRow& row : focus.rows) heights.push_back(row.height);
  const ChanceOverHeight chances(doubt, chance_nodes(heights, focus.set.height), quantity::part(progress, 0, kChanceShare));
  for (HeightRow& row : focus.rows) row.chances = chances.at(row.height);
  focus.set.chances = chances.at(focus.set.height);
  focus.likely = room_in_height(focus.set.height, heights,
                                [&](double height) { return fault_of(chances.at(height), focus.chance); });
  add_safe(focus.coarsest, doubt, focus.chance, quantity::part(progress, kChanceShare, 1));
}

}  // namespace

Focus focus_study(const mark::Scene& scene, const FocusRequest& request) {
  check(request);
  const std::vector<double> heights = request.heights ? *request.heights : heights_about(scene);
  const double own = 0 - scene.job.scan.focus_offset,  // no minus zero
      speed = scene.job.scan.speed, power = scene.power();
  Focus out{.power = power,
            .speed = speed,
            .duration = durations(scene, fill_of(scene.job), {&speed, 1}).front(),
            .fill = fill_of(scene.job),
            .chance = request.chance,
            .drawn = request.chances,
            .set = row_at(scene, own),
            .rows = rows_at(scene, heights, request.draws.threads),
            .nominal = {},
            .likely = {},
            .moves = excursions(scene, request.ovality, request.sag),
            .coarsest = {},
            .notes = {}};
  out.nominal = room_in_height(own, heights, [&](double height) {
    return fault_of(Look(scene, at_height(scene, height), speed).ends(), power);
  });
  out.coarsest = coarsest(scene, out.rows);
  if (request.chances) add_chances(out, Doubt(scene, request.draws), request.progress);
  out.notes = notes_of(scene, out);
  return out;
}

}  // namespace circumfluence::window
