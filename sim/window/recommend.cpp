#include "window/recommend.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

constexpr double kDisplayed = 1e-3 / 60;  // [m/s] one mm/min, in which speeds are rounded
constexpr int kFigures = 3;
constexpr int kFinerNodes = 8;  // speeds a decade at which finer lines are looked at

void check(const Wish& wish) {
  for (const auto& [name, chance] : {std::pair{"marking", wish.marks}, std::pair{"over-burning", wish.burns}})
    if (!(chance >= 0 && chance <= 1))
      throw quantity::ValidityError(fmt::format("chance of {} = {} (expected 0 to 1, such as {})", name, chance,
                                                std::string_view(name) == "marking" ? "0.95" : "0.05"));
}

// Down to three figures in mm/min.
double rounded(double speed) {
  const double shown = speed / kDisplayed;
  const double step = std::pow(10.0, std::floor(std::log10(shown)) - kFigures + 1);
  return std::floor(shown / step + 1e-9) * step * kDisplayed;
}

// Powers at one speed that meet a wish.
struct Range {
  double low, high;
  bool holds() const { return low <= high; }
};

class Search {
 public:
  Search(const Doubt& doubt, const Window& window, const Wish& wish)
      : doubt_(doubt), window_(window), wish_(wish), rated_(doubt.scene().job.laser.rated_power) {}

  Range range(const Outlook& outlook) const { return {outlook.least(wish_.marks), std::min(outlook.greatest(1 - wish_.burns), rated_)}; }

  Setting setting(const Outlook& outlook, const Fill& fill, double speed) const {
    const Range range = this->range(outlook);
    Setting out{.speed = speed, .fill = fill};
    out.power = outlook.best(rated_);
    if (range.holds()) out.power = settled(std::clamp(outlook.best(range.high), range.low, range.high), range);
    out.duration = durations(doubt_.scene(), fill, {&speed, 1}).front();
    return appraised(out, outlook, wish_, rated_);
  }

  // The fastest of one fill; `first` is its first solution.
  std::optional<Setting> fastest(const std::vector<Outlook>& outlooks, size_t first, const Fill& fill) const {
    const std::vector<double>& speeds = window_.axes.speed;
    size_t last = speeds.size();
    while (last > 0 && !range(outlooks[first + last - 1]).holds()) --last;
    if (last == 0) return std::nullopt;
    double speed = speeds[last - 1];
    if (last < speeds.size()) speed = crossing(range(outlooks[first + last - 1]), range(outlooks[first + last]), speed, speeds[last]);
    const double slowest = speeds[last - 1];
    for (speed = std::max(rounded(speed), slowest); ; speed = std::max(rounded(0.995 * speed), slowest)) {
      const Outlook outlook = closer(fill, first, speed);
      if (range(outlook).holds() || speed <= slowest) {
        Setting found = setting(outlook, fill, speed);
        return found.power_low <= found.power_high ? std::optional(found) : std::nullopt;
      }
    }
  }

  const Axes& axes() const { return window_.axes; }

  Outlook closer(const Fill& fill, size_t first, double speed) const {
    std::vector<WallRise> walls;
    const std::vector<double>& speeds = window_.axes.speed;
    if (!window_.walls.empty()) walls = between(speeds, std::span(window_.walls).subspan(first, speeds.size()), {&speed, 1});
    return doubt_.over(place_of(doubt_.scene(), fill), {&speed, 1}, walls).front();
  }

 private:
  // A whole per cent of the rated power, where one lies within.
  double settled(double power, const Range& range) const {
    const double whole = std::round(100 * power / rated_) / 100 * rated_;
    return whole >= range.low && whole <= range.high ? whole : power;
  }
  // Where the range of powers closes between two speeds; both ends run straight over ln(speed).
  static double crossing(const Range& slow, const Range& fast, double from, double to) {
    const double open = std::log(slow.high / slow.low), closed = std::log(fast.low / fast.high);
    const double share = std::isfinite(closed) && open + closed > 0 ? open / (open + closed) : 0;
    return from * std::pow(to / from, share);
  }

  const Doubt& doubt_;
  const Window& window_;
  const Wish& wish_;
  double rated_;
};

template <class Work>
void each_fill(const Axes& axes, const Work& work) {
  size_t first = 0;
  for (const double spacing : axes.spacing)
    for (const double focus_offset : axes.focus_offset)
      for (const int passes : axes.passes) {
        work(first, Fill{spacing, focus_offset, passes});
        first += axes.speed.size();
      }
}

// By rising time, each with a better chance than all before it.
void keep_best(std::vector<Setting>& trade) {
  std::stable_sort(trade.begin(), trade.end(), [](const Setting& a, const Setting& b) { return a.duration < b.duration; });
  double best = -1;
  std::erase_if(trade, [&](const Setting& s) {
    if (s.chances.good <= best + 1e-6) return true;
    best = s.chances.good;
    return false;
  });
}

// Ways to alter a fill or its speeds, from a little to a lot.
struct Alteration {
  std::vector<double> tries;
  void (*change)(double value, Fill& fill, std::vector<double>& speeds);
};

// The first try that meets the wish, taking it that all after it do too; NaN when the last does not.
double first_that_holds(const Search& search, const Doubt& doubt, const Alteration& alteration, const quantity::Progress& progress) {
  const Axes& axes = search.axes();
  const auto holds = [&](double value) {
    std::vector<double> speeds = nodes_of(axes.speed, 2);
    Fill fill{axes.spacing.front(), axes.focus_offset.front(), axes.passes.back()};
    alteration.change(value, fill, speeds);
    const std::vector<Outlook> found = doubt.over(place_of(doubt.scene(), fill), speeds, {}, progress);
    return std::any_of(found.begin(), found.end(), [&](const Outlook& o) { return search.range(o).holds(); });
  };
  const std::vector<double>& tries = alteration.tries;
  if (tries.empty() || !holds(tries.back())) return std::nan("");
  const auto found = std::partition_point(tries.begin(), tries.end() - 1, [&](double value) { return !holds(value); });
  return *found;
}

// What each limit alone would have to be, from the outlooks at hand.
void relax_chances(const std::vector<Outlook>& outlooks, const Wish& wish, double rated, std::vector<Relaxation>& out) {
  double power = quantity::kInfinity, marks = 0, burns = 1;
  for (const Outlook& outlook : outlooks) {
    const double low = outlook.least(wish.marks), high = outlook.greatest(1 - wish.burns);
    if (low <= high) power = std::min(power, low);
    if (const double most = std::min(high, rated); most > 0) marks = std::max(marks, outlook.at(most).marks);
    if (low <= rated) burns = std::min(burns, 1 - outlook.at(low).spares);
  }
  if (std::isfinite(power)) out.push_back({"laser.rated_power", rated, power, "W"});
  if (marks > 0.01) out.push_back({"chance of marking", wish.marks, marks, "%"});
  if (burns < 0.99) out.push_back({"chance of over-burning", wish.burns, burns, "%"});
}

struct Relaxing {
  std::vector<Relaxation>& out;
  const quantity::Progress& progress;
};

void relax_fill(const Search& search, const Doubt& doubt, const Axes& axes, const Relaxing& relaxing) {
  Alteration spacing{{}, [](double value, Fill& fill, std::vector<double>&) { fill.spacing = value; }};
  for (double share = 0.85; share > 0.2; share *= 0.85) spacing.tries.push_back(axes.spacing.front() * share);
  Alteration passes{{}, [](double value, Fill& fill, std::vector<double>&) { fill.passes = int(value); }};
  for (int more = 1; more <= 4; ++more) passes.tries.push_back(axes.passes.back() + more);
  Alteration speed{{}, [](double value, Fill&, std::vector<double>& speeds) { speeds.assign(1, value); }};
  for (double share = 0.85; share > 0.02; share *= 0.85) speed.tries.push_back(rounded(axes.speed.front() * share));
  const auto add = [&](const char* what, double from, double to, const char* unit) {
    if (!std::isnan(to)) relaxing.out.push_back({what, from, to, unit});
  };
  const auto find = [&](const Alteration& alteration) {
    return first_that_holds(search, doubt, alteration, [&](double) { return !relaxing.progress || relaxing.progress(0.9); });
  };
  add("scan.speed", axes.speed.front(), find(speed), "mm/min");
  add("scan.spacing", axes.spacing.front(), find(spacing), "mm");
  add("scan.passes", axes.passes.back(), find(passes), "1");
}

}  // namespace

namespace {

// Finer lines may be faster: they close at higher speeds.
void note_finer(const Doubt& doubt, const Axes& axes, const Wish& wish, Recommendation& out) {
  if (axes.spacing.size() > 1) return;
  Axes finer = axes;
  finer.spacing = {0.6 * axes.spacing.front(), 0.8 * axes.spacing.front()};
  finer.speed = nodes_of(axes.speed, kFinerNodes);
  const Window made = window(doubt.scene(), finer);
  const std::vector<Outlook> all = outlooks(doubt, made);
  const Search search(doubt, made, wish);
  std::optional<Setting> best;
  each_fill(finer, [&](size_t first, const Fill& fill) {
    const std::optional<Setting> found = search.fastest(all, first, fill);
    if (found && (!best || found->duration < best->duration)) best = found;
  });
  if (best && (!out.fastest || best->duration < 0.9 * out.fastest->duration))
    out.notes.push_back(fmt::format("Lines {} apart would do in {}, at {} and {}.", quantity::format(best->fill.spacing, "mm", 3),
                                    mark::clock(best->duration), quantity::format(best->power, "W", 3),
                                    quantity::format(best->speed, "mm/min", 4)));
}

// The head needs v^2 / 2a to reach its speed.
void note_run_up(const motion::Scan& scan, const Setting& setting, Recommendation& out) {
  const double needed = setting.speed * setting.speed / (2 * scan.acceleration);
  if (needed > scan.run_up * 1.001)
    out.notes.push_back(fmt::format("At {} the head needs {} to reach its speed; scan.run_up is {}: line ends are slower{}.",
                                    quantity::format(setting.speed, "mm/min", 4), quantity::format(needed, "mm", 3),
                                    quantity::format(scan.run_up, "mm", 3),
                                    scan.power_habit == motion::PowerHabit::constant ? " and get more than the rest" : ""));
}

}  // namespace

Setting appraised(Setting setting, const Outlook& outlook, const Wish& wish, double rated) {
  const auto factor = [&](double power) { return power / setting.power; };
  setting.chances = outlook.at(setting.power);
  setting.power_low = outlook.least(wish.marks);
  setting.power_high = std::min(outlook.greatest(1 - wish.burns), rated);
  setting.least_factor = {factor(outlook.least(0.05)), factor(outlook.least(0.5)), factor(outlook.least(0.95))};
  setting.greatest_factor = {factor(outlook.greatest(0.95)), factor(outlook.greatest(0.5)), factor(outlook.greatest(0.05))};
  return setting;
}

Recommendation recommend(const Doubt& doubt, const Window& window, const std::vector<Outlook>& all, const Wish& wish,
                         const quantity::Progress& progress) {
  check(wish);
  if (all.size() != window.axes.solutions())
    throw quantity::ValidityError(
        fmt::format("recommend: {} outlooks of a window of {} solutions (expected one each)", all.size(), window.axes.solutions()));
  Recommendation out;
  const Search search(doubt, window, wish);
  each_fill(window.axes, [&](size_t first, const Fill& fill) {
    const std::optional<Setting> found = search.fastest(all, first, fill);
    if (found && (!out.fastest || found->duration < out.fastest->duration)) out.fastest = found;
    for (size_t i = 0; i < window.axes.speed.size(); ++i)
      out.trade.push_back(search.setting(all[first + i], fill, window.axes.speed[i]));
  });
  keep_best(out.trade);
  if (out.fastest && out.fastest->speed > 0.999 * window.axes.speed.back())
    out.notes.push_back("The fastest speed looked at will do: the window's range, or scan.top_speed, sets it.");
  note_finer(doubt, window.axes, wish, out);
  if (out.fastest) note_run_up(doubt.scene().job.scan, *out.fastest, out);
  if (!out.fastest) {
    relax_chances(all, wish, doubt.scene().job.laser.rated_power, out.relaxations);
    relax_fill(search, doubt, window.axes, {out.relaxations, progress});
  }
  return out;
}

}  // namespace circumfluence::window
