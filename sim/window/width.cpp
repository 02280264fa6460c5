#include "window/width.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using quantity::format;
using quantity::JobError;
using quantity::kInfinity;
using quantity::kPi;

constexpr int kOffsets = 9;          // tried at first
constexpr size_t kPeaks = 2;         // of those, climbed from
constexpr int kRounds = 5;           // of halving the distance between offsets, when calls are dear
constexpr int kCheapRounds = 40;     // when there is no chance to ask
constexpr double kFarthest = 0.1;    // [m] that scan.focus_offset may be
constexpr double kFocusStep = 1e-6;  // [m] to which a focus can be set
constexpr double kWhole = 1e-9;      // [1] by which a count may miss a whole number through rounding

void check_range(const char* name, double value, double low, double high) {
  if (!(value >= low && value <= high))
    throw quantity::ValidityError(fmt::format(
        "usable width: {} = {:g} (out of bounds; expected {:g} to {:g})", name, value, low, high));
}

void check(const Cover& cover, double turn) {
  if (!(cover.motif > 0))
    throw JobError(
        fmt::format("motif = {} (nothing to cover; expected an arc above 0 mm)", format(cover.motif, "mm")));
  if (cover.motif > turn * (1 + 1e-6))
    throw JobError(fmt::format("motif = {} (more than once around; expected at most a turn, {})",
                               format(cover.motif, "mm"), format(turn, "mm")));
  if (!(cover.overlap >= 0))
    throw JobError(fmt::format("overlap = {} (strips would stand apart; expected 0 mm or more)",
                               format(cover.overlap, "mm")));
}

// The focus in search of the widest strip.
class Focus {
 public:
  Focus(const Standing& part, const Chance& chance, int threads)
      : part_(part), chance_(chance), threads_(threads) {
    const auto [least, most] = std::ranges::minmax(part.stations, {}, &Station::radius);
    low_ = std::max(part.axis(0) + most.radius - part.allowed.highest, -kFarthest);
    high_ = std::min(part.axis(0) + least.radius - part.allowed.lowest, kFarthest);
  }

  // Whether any focus keeps the tops of all stations within the growth allowed.
  bool any() const { return low_ <= high_; }
  Strip at(double offset) const { return strips(part_, {offset}, chance_, threads_).front(); }
  Strip best(const Strip& set) const;

 private:
  static bool better(const Strip& a, const Strip& b) {
    const double wider = a.half_width() - b.half_width(), same = kWhole * b.half_width();
    return wider > same || (wider >= -same && a.half_width() > 0 && a.growth < b.growth * (1 - kWhole));
  }
  bool may_win(double offset, const Strip& best) const;
  static std::vector<Strip> peaks(const std::vector<Strip>& row);
  std::vector<Strip> tried(const std::vector<double>& offsets, const Strip& best) const;
  Strip climbed(Strip best, double step) const;
  void round(Strip& best) const;

  const Standing& part_;
  const Chance& chance_;
  int threads_;
  double low_, high_;  // [m] offsets
};

// As far as growth and stretch, which cost nothing, can tell.
bool Focus::may_win(double offset, const Strip& best) const {
  double most = kInfinity;
  for (const Station& s : part_.stations)
    most = std::min({most, half_width_by_growth(s.radius, part_.axis(offset), part_.allowed),
                     half_width_by_stretch(s.radius, part_.stretch)});
  return most > 0 && most >= best.half_width() * (1 - kWhole);
}

std::vector<Strip> Focus::tried(const std::vector<double>& offsets, const Strip& best) const {
  std::vector<double> worth;
  std::ranges::copy_if(offsets, std::back_inserter(worth), [&](double o) { return may_win(o, best); });
  return strips(part_, worth, chance_, threads_);
}

// Uphill from a strip, whose neighbours were tried `step` away.
Strip Focus::climbed(Strip best, double step) const {
  for (int round = 0; round < (chance_ ? kRounds : kCheapRounds); ++round) {
    step /= 2;
    const double from = best.focus_offset;
    for (const Strip& strip :
         tried({std::clamp(from - step, low_, high_), std::clamp(from + step, low_, high_)}, best))
      if (better(strip, best)) best = strip;
  }
  return best;
}

void Focus::round(Strip& best) const {
  const double steps = best.focus_offset / kFocusStep;
  for (const double rounded : {std::round(steps), std::ceil(steps), std::floor(steps)}) {
    const Strip strip = at(rounded * kFocusStep);
    if (strip.half_width() < 0.99 * best.half_width()) continue;
    best = strip;
    return;
  }
}

// Those that none of their neighbours is better than, the best first.
std::vector<Strip> Focus::peaks(const std::vector<Strip>& row) {
  std::vector<Strip> out;
  for (size_t i = 0; i < row.size(); ++i)
    if ((i == 0 || !better(row[i - 1], row[i])) && (i + 1 == row.size() || !better(row[i + 1], row[i])))
      out.push_back(row[i]);
  std::ranges::stable_sort(out,
                           [](const Strip& a, const Strip& b) { return a.half_width() > b.half_width(); });
  return out;
}

Strip Focus::best(const Strip& set) const {
  if (!any()) return set;
  const double step = (high_ - low_) / (kOffsets - 1);
  std::vector<double> offsets;
  for (int i = 0; i < kOffsets; ++i) offsets.push_back(i + 1 < kOffsets ? low_ + step * i : high_);
  if (low_ < 0 && high_ > 0) offsets.push_back(0.0);
  std::ranges::sort(offsets);
  Strip best = set;
  const std::vector<Strip> found = peaks(tried(offsets, set));
  for (size_t i = 0; i < std::min(found.size(), kPeaks); ++i)
    if (const Strip top = climbed(found[i], step); better(top, best)) best = top;
  if (best.focus_offset == set.focus_offset && set.half_width() > 0) best = climbed(set, step);
  if (best.focus_offset != set.focus_offset) round(best);
  return better(set, best) ? set : best;
}

std::vector<ArcRow> table_of(const Standing& part, const Strip& strip, const mark::Scene& scene, int rows) {
  std::vector<ArcRow> out;
  const Station& s = strip.limiting();
  const double edge = arc(s.radius, strip.half_width());
  if (!(edge > 0)) return out;
  for (int i = 0; i < rows; ++i) {
    const double along = edge * (2.0 * i / (rows - 1) - 1), y = lateral(s.radius, along);
    const double drop = workpiece::sagitta(s.radius, y);
    const double height = part.axis(strip.focus_offset) + s.radius - drop;
    out.push_back({.arc = along,
                   .lateral = y,
                   .stretch = stretch(s.radius, y),
                   .drop = drop,
                   .growth_axial = part.caustic.axial.radius_at(height) / part.caustic.axial.radius,
                   .growth_around = part.caustic.around.radius_at(height) / part.caustic.around.radius,
                   .incidence = scene.profile.at(s.axial, along / s.radius).incidence});
  }
  return out;
}

// [m] the art's own arc; on a standing part the job gives it as seen from above.
double arc_of_art(const mark::Scene& scene) {
  const auto& [from_axial, to_axial, from, to] = scene.art;
  if (scene.job.mount.hold == motion::Hold::turning) return to - from;
  return arc(scene.reference_radius, to) - arc(scene.reference_radius, from);
}

std::vector<std::string> notes_of(const mark::Scene& scene, const Width& width, bool any_focus) {
  std::vector<std::string> notes;
  const motion::Mount& mount = scene.job.mount;
  if (mount.hold == motion::Hold::turning)
    notes.push_back(
        "The job turns the part; this is how wide its art could be with the part standing still.");
  if (!width.asked_chance) notes.push_back("Whether it marks was not asked: growth and stretch alone count.");
  if (!any_focus)
    notes.push_back(
        fmt::format("No focus keeps the top of the part within {:.4g} times the waist all along the art.",
                    width.limits.growth));
  if (mount.hold == motion::Hold::standing && mount.beam_offset != 0)
    notes.push_back("The strip lies about the top of the part, not about the beam's offset from it.");
  if (mount.runout > 0)
    notes.push_back(
        "Run-out counts as the part stands at first; indexed, it rises and falls from strip to strip.");
  if (width.turns.count == 0 && width.best.half_width() > 0)
    notes.push_back(
        fmt::format("The strip is so narrow that the motif would take more than {}.", Turns::kMost));
  return notes;
}

// asin of what lies beside the part has no landing place.
double gap(double radius, double index, double right, double left) {
  if (!(std::abs(right) <= 1) || !(std::abs(left) <= 1)) return kInfinity;
  return radius * (index - std::asin(right) - std::asin(left));
}

}  // namespace

void check(const WidthLimits& limits) {
  check_range("growth", limits.growth, 1, 1000);
  check_range("stretch", limits.stretch, 1, 100);
  check_range("chance", limits.chance, 0, 1);
  check_range("rows", limits.rows, 3, 100000);
  check_range("error of the diameter [m]", limits.errors.diameter, -1, 1);
  check_range("offset of the axis [m]", limits.errors.offset, -1, 1);
  check_range("error of the index [rad]", limits.errors.index, -kPi, kPi);
}

Turns turns(const Cover& cover) {
  const double turn = 2 * kPi * cover.radius, usable = cover.usable * cover.radius;
  check(cover, turn);
  const bool closed = cover.motif >= turn * (1 - 1e-6);
  if (!(usable > 0)) return {};
  if (!closed && cover.motif <= usable * (1 + kWhole)) return {.count = 1, .strip = cover.motif};
  if (cover.overlap >= usable)
    throw JobError(fmt::format("overlap = {} (as wide as the usable strip; expected less than {})",
                               format(cover.overlap, "mm"), format(usable, "mm")));
  const double net = closed ? turn : cover.motif - cover.overlap;
  const double count = std::ceil(net / (usable - cover.overlap) - kWhole);
  if (count > Turns::kMost) return {};
  return {int(count), net / count / cover.radius, net / count + cover.overlap, closed};
}

Joint joint(double radius, double index, const SetupErrors& errors) {
  const double edge = std::sin(index / 2), aside = errors.offset / radius;
  const double entered = edge * (1 + errors.diameter / (2 * radius));
  return {.plain = gap(radius, index, index / 2, index / 2),
          .diameter = gap(radius, index, entered, entered),
          .offset = gap(radius, index, edge + aside, edge - aside),
          .index = radius * errors.index};
}

Width usable_width(const mark::Scene& scene, const WidthLimits& limits, const Chance& chance) {
  check(limits);
  Width out;
  out.limits = limits;
  out.motif = std::isnan(limits.motif) ? arc_of_art(scene) : limits.motif;
  out.asked_chance = bool(chance);
  const Standing part = standing(scene, limits.growth, limits.stretch, limits.chance);
  const Focus focus(part, chance, limits.threads);
  out.set = focus.at(scene.job.scan.focus_offset);
  out.best = focus.best(out.set);
  out.table = table_of(part, out.best, scene, limits.rows);
  const Station& tightest = out.best.stations[size_t(out.best.least_angle)];
  out.turns = turns({out.motif, limits.overlap, 2 * tightest.half_angle(), scene.reference_radius});
  if (out.turns.joints() > 0) out.joint = joint(tightest.radius, out.turns.index, limits.errors);
  out.notes = notes_of(scene, out, focus.any());
  return out;
}

std::string comma_separated(const std::vector<ArcRow>& table) {
  std::string out =
      "arc [mm],lateral [mm],stretch [1],drop [mm],growth along the axis [1],growth around [1],incidence "
      "[1]\n";
  for (const ArcRow& row : table)
    out += fmt::format("{:.6f},{:.6f},{:.8f},{:.6f},{:.6f},{:.6f},{:.8f}\n", 1e3 * row.arc, 1e3 * row.lateral,
                       row.stretch, 1e3 * row.drop, row.growth_axial, row.growth_around, row.incidence);
  return out;
}

}  // namespace circumfluence::window
