// A window as a chart.
//
// Curves between the speeds of the window are those of window/ends.h; the time on the upper edge is found
// between neighbouring speeds on a straight line through ln(time) over ln(speed), since time falls with
// speed.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "appearance/chart.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/window.h"

namespace circumfluence::window {
namespace {

using appearance::Chart;
using appearance::Colour;
using appearance::Curve;
using appearance::LegendEntry;
using appearance::Point;
using appearance::Swatch;

constexpr int kAcross = 760, kUp = 500;  // [pixel]
constexpr double kStrength = 0.38;       // of the colours of outcomes beneath lines and letters
constexpr double kShortest = 0.08;       // [1] of the width: a shorter line of a margin is left out
constexpr double kSqueezed = 0.3;        // [1] of the picture
constexpr double kMillimetres = 60e3;    // [mm/min] one m/s
constexpr double kMargins[] = {1.25, 1.5, 2, 3, 5, 10};
constexpr double kMostCrossed = 3;  // margin that is drawn where both kinds are
const Colour kBoth = appearance::tint(appearance::kSeriesColours[2], 0.5);  // where both chances are as asked
constexpr Colour kChance = appearance::kSeriesColours[0], kAsked = appearance::kSeriesColours[1];

Colour colour_of(int outcome) {
  return appearance::tint(appearance::colour_of(appearance::verdict(outcome, true)), kStrength);
}

void check(const Window& window, const WindowPicture& picture) {
  const size_t speeds = window.axes.speed.size();
  const auto refuse = [](const std::string& problem) {
    throw quantity::ValidityError("picture of a window: " + problem);
  };
  if (speeds < 2) refuse(fmt::format("speeds = {} (no axis; expected two or more)", speeds));
  if (window.axes.power.empty()) refuse("powers = 0 (no axis; expected one or more)");
  if (window.ends.size() < speeds || window.duration.size() < speeds)
    refuse(fmt::format("ends = {}, durations = {} (expected one a speed, {})", window.ends.size(),
                       window.duration.size(), speeds));
  if (!picture.outlooks.empty() && picture.outlooks.size() != speeds)
    refuse(fmt::format("outlooks = {} (expected one a speed, {}, or none)", picture.outlooks.size(), speeds));
}

// The first fill of a window, at the middle of each column of pixels.
class View {
 public:
  View(const Window& window, const WindowPicture& picture);
  Chart chart() const;

 private:
  using Power = double (*)(const Ends& ends, double margin);
  Curve curve(const std::vector<Ends>& ends, Power power, double margin = 1) const;
  void add_margins(Chart& chart) const;
  void add_ends(Chart& chart) const;
  void add_chances(Chart& chart) const;
  void add_legend(Chart& chart) const;
  bool holds_both(size_t column, double power) const;
  double share_marked(bool logarithmic) const;
  double power_at(double share) const;  // [W] so far up
  appearance::Pixels field() const;
  std::vector<appearance::Tick> times() const;
  bool lies_in(const Point& point) const { return point.y >= low_ && point.y <= high_; }

  const Window& window_;
  const WindowPicture& picture_;
  std::span<const double> known_;  // [m/s]
  std::vector<double> speeds_;     // [m/s] by column
  std::vector<Ends> ends_;         // likewise
  std::vector<Ends> asked_;        // likewise: where the chances asked for end, if any are known
  double low_, high_;              // [W]
  bool logarithmic_ = false;       // of power
};

View::View(const Window& window, const WindowPicture& picture)
    : window_(window), picture_(picture), known_(window.axes.speed) {
  const std::vector<double>& powers = window.axes.power;
  low_ = powers.front() < 0.15 * powers.back() ? 0 : powers.front();
  high_ = powers.back();
  if (powers.size() == 1) low_ = 0.5 * powers.front(), high_ = 2 * powers.front();
  const auto at_the_top = [&](const Mark& mark) { return mark.power > 0.98 * high_ && mark.power <= high_; };
  if (std::any_of(picture.marks.begin(), picture.marks.end(), at_the_top))
    high_ *= 1.04;  // room for its sign
  for (int i = 0; i < kAcross; ++i)
    speeds_.push_back(known_.front() * std::pow(known_.back() / known_.front(), (i + 0.5) / kAcross));
  speeds_.front() = known_.front(), speeds_.back() = known_.back();
  ends_ = between(known_, std::span(window.ends).first(known_.size()), speeds_);
  std::vector<Ends> asked;
  for (const Outlook& outlook : picture.outlooks)
    asked.push_back({1, 1, outlook.least(picture.chance_marks), outlook.greatest(1 - picture.chance_burns)});
  if (!asked.empty()) asked_ = between(known_, asked, speeds_);
  // A window of powers that are small against the greatest would be squeezed.
  const double straight = share_marked(false);
  if (powers.front() < 0.5 * high_ && straight < kSqueezed && share_marked(true) > 2 * straight)
    low_ = powers.front(), logarithmic_ = true;
}

double View::share_marked(bool logarithmic) const {
  const double front = logarithmic ? window_.axes.power.front() : low_;
  double sum = 0;
  for (const Ends& ends : ends_) {
    const double low = std::clamp(ends.marks, front, high_), high = std::clamp(ends.burns, front, high_);
    if (high > low)
      sum += logarithmic ? std::log(high / low) / std::log(high_ / front) : (high - low) / (high_ - front);
  }
  return sum / kAcross;
}

double View::power_at(double share) const {
  return logarithmic_ ? low_ * std::pow(high_ / low_, share) : low_ + (high_ - low_) * share;
}

bool View::holds_both(size_t column, double power) const {
  return !asked_.empty() && power >= asked_[column].marks && power <= asked_[column].burns;
}

appearance::Pixels View::field() const {
  appearance::Pixels out{kAcross, kUp, std::vector<Colour>(size_t(kAcross) * kUp)};
  Colour colours[4];
  for (int i = 0; i < 4; ++i) colours[i] = colour_of(i);
  for (int y = 0; y < kUp; ++y) {
    const double power = power_at(1 - (y + 0.5) / kUp);
    for (size_t x = 0; x < size_t(kAcross); ++x)
      out.rgb[size_t(y) * kAcross + x] = holds_both(x, power) ? kBoth : colours[int(ruling(ends_[x], power))];
  }
  return out;
}

Curve View::curve(const std::vector<Ends>& ends, Power power, double margin) const {
  Curve out;
  for (size_t i = 0; i < speeds_.size(); ++i)
    out.points.push_back({speeds_[i] * kMillimetres, power(ends[i], margin)});
  return out;
}

// Only where both ends leave room for the margin.
void View::add_margins(Chart& chart) const {
  const Power above = [](const Ends& e, double m) {
    return m * e.marks <= e.burns ? m * e.marks : std::nan("");
  };
  const Power below = [](const Ends& e, double m) {
    return e.burns / m >= e.marks ? e.burns / m : std::nan("");
  };
  const auto add = [&](Power power, double margin, const std::string& label) {
    Curve line = curve(ends_, power, margin);
    const auto seen =
        std::count_if(line.points.begin(), line.points.end(), [&](const Point& p) { return lies_in(p); });
    if (double(seen) < kShortest * kAcross) return;
    line.colour = appearance::kSoftInk, line.thickness = 1.2, line.dashed = true, line.label = label;
    chart.curves.push_back(line);
  };
  const bool burns = std::any_of(ends_.begin(), ends_.end(), [&](const Ends& e) { return e.burns < high_; });
  for (const double margin : kMargins) {
    if (burns && margin > kMostCrossed) continue;
    add(above, margin, fmt::format("{} times what marks", margin));
    add(below, margin, fmt::format("over-burns at {} times", margin));
  }
}

void View::add_ends(Chart& chart) const {
  Curve begins = curve(ends_, [](const Ends& e, double) { return e.begins; });
  begins.colour = appearance::kEdge, begins.thickness = 1.2;
  Curve marks = curve(ends_, [](const Ends& e, double) { return e.marks; });
  marks.thickness = 2.6, marks.label = "marks from here up";
  Curve burns = curve(ends_, [](const Ends& e, double) { return e.burns; });
  burns.thickness = 2.6, burns.label = "over-burns from here up";
  for (Curve* line : {&begins, &marks, &burns}) chart.curves.push_back(*line);
}

void View::add_chances(Chart& chart) const {
  if (asked_.empty()) return;
  Curve marks = curve(asked_, [](const Ends& e, double) { return e.marks; });
  marks.label = fmt::format("{:.3g} % chance to mark", 100 * picture_.chance_marks);
  Curve burns = curve(asked_, [](const Ends& e, double) { return e.burns; });
  burns.label = fmt::format("{:.3g} % chance to over-burn", 100 * picture_.chance_burns);
  marks.colour = kChance, burns.colour = kAsked;
  for (const Curve* line : {&marks, &burns}) chart.curves.push_back(*line);
}

void View::add_legend(Chart& chart) const {
  for (int i = 0; i < 4; ++i)
    chart.legend.push_back({response::kOutcomeNames[i], colour_of(i), Swatch::area});
  if (std::find(chart.field.rgb.begin(), chart.field.rgb.end(), kBoth) != chart.field.rgb.end())
    chart.legend.push_back({"both chances as asked", kBoth, Swatch::area});
}

// Seconds, minutes and hours at round numbers.
std::vector<double> round_times() {
  std::vector<double> out;
  for (const double unit : {1.0, 60.0})
    for (const double count : {1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0})
      out.push_back(count * unit);
  for (const double count :
       {1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0, 200.0, 500.0})
    out.push_back(count * 3600);
  return out;
}

std::string in_words(double time) {
  if (time < 60) return fmt::format("{:g} s", time);
  return time < 3600 ? fmt::format("{:g} min", time / 60) : fmt::format("{:g} h", time / 3600);
}

std::vector<appearance::Tick> View::times() const {
  std::vector<appearance::Tick> out;
  for (const double time : round_times())
    for (size_t i = 1; i < known_.size(); ++i) {
      const double slow = window_.duration[i - 1], fast = window_.duration[i];
      if (!(slow >= time && time > fast)) continue;
      const double share = std::log(slow / time) / std::log(slow / fast);
      out.push_back(
          {kMillimetres * known_[i - 1] * std::pow(known_[i] / known_[i - 1], share), in_words(time)});
      break;
    }
  return out;
}

Chart View::chart() const {
  Chart out;
  out.title = picture_.title, out.subtitle = picture_.subtitle;
  out.width = kAcross, out.height = kUp;
  out.x = {"speed [mm/min]", known_.front() * kMillimetres, known_.back() * kMillimetres, true};
  out.y = {"power set at the source [W]", low_, high_, logarithmic_};
  out.top = times();
  if (!out.top.empty()) out.top_title = "time of the job";
  out.field = field();
  add_legend(out);
  add_margins(out);
  add_chances(out);
  add_ends(out);
  constexpr appearance::Shape shapes[] = {appearance::Shape::dot, appearance::Shape::ring,
                                          appearance::Shape::cross};
  for (size_t i = 0; i < picture_.marks.size(); ++i) {
    const Mark& mark = picture_.marks[i];
    out.markers.push_back({{mark.speed * kMillimetres, mark.power}, mark.label, shapes[i % 3]});
  }
  return out;
}

}  // namespace

void write_picture(const std::string& path, const Window& window, const WindowPicture& picture) {
  check(window, picture);
  appearance::write_chart(path, View(window, picture).chart());
}

}  // namespace circumfluence::window
