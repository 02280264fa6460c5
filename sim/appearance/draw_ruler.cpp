#include <algorithm>
#include <cmath>
#include <cstdio>

#include "appearance/draw.h"

namespace circumfluence::appearance {
namespace {

constexpr double kLabelSize = 12.0, kTitleRow = 16.0;
constexpr double kLongTick = 7.0, kShortTick = 4.0;
constexpr double kLeastTitle = 52.0;  // [pixel] from the edge of an upright ruler to its title, at least

constexpr Type kNumber{.size = kLabelSize};

// factor 10^decade: plain where that is short, else as a power.
std::string number(int factor, int decade) {
  char text[32];
  if (decade >= -4 && decade < 5) {
    std::snprintf(text, sizeof text, "%.*f", std::max(0, -decade), factor * std::pow(10.0, decade));
    return text;
  }
  static const char* const raised[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
  std::snprintf(text, sizeof text, "%d", std::abs(decade));
  std::string power =
      std::string(factor == 1 ? "" : std::to_string(factor) + "·") + (decade < 0 ? "10⁻" : "10");
  for (const char* digit = text; *digit != '\0'; ++digit) power += raised[*digit - '0'];
  return power;
}

// Which numbers of a decade are ticked and which of them labelled, and of which decades.
struct Steps {
  const char *ticked, *labelled;
  int stride = 1;  // decades from label to label
};

Steps steps(double decades_apart) {
  if (decades_apart <= std::log10(2.0)) return {"123456789", "125"};
  if (decades_apart <= 0.6) return {"123456789", "1"};
  if (decades_apart <= 1.0) return {"125", "1"};
  return {"1", "1", int(std::ceil(decades_apart))};
}

int labels(const std::vector<Tick>& found) {
  return int(std::count_if(found.begin(), found.end(), [](const Tick& tick) { return !tick.label.empty(); }));
}

double widest(const Sheet& sheet, const std::vector<Tick>& found) {
  double width = 0.0;
  for (const Tick& tick : found) width = std::max(width, sheet.length(tick.label, kNumber));
  return width;
}

// Of two labels that touch, the one further from the start is left out.
void thin(const Sheet& sheet, const Ruler& ruler, std::vector<Tick>& found) {
  const double away = ruler.stop < ruler.start ? -1.0 : 1.0;
  double taken = -1e30;
  for (Tick& tick : found) {
    if (tick.label.empty()) continue;
    const double half = ruler.upright ? 0.5 * kLabelSize : 0.5 * sheet.length(tick.label, kNumber);
    const double at = away * place(ruler, tick.value);
    if (at - half < taken + (ruler.upright ? 3.0 : 8.0))
      tick.label.clear();
    else
      taken = at + half;
  }
}

// The title in rows, and where the last of them stands: [pixel] of its baseline from the edge.
struct Title {
  std::vector<std::string> rows;
  double last = 0.0;
};

Title title_of(const Sheet& sheet, const Ruler& ruler) {
  Title title{sheet.lines(ruler.title, kNumber, std::max(std::abs(ruler.stop - ruler.start), 160.0))};
  const double labels_end = kLongTick + 5.0 + widest(sheet, ticks(sheet, ruler));
  title.last = ruler.upright ? std::max(52.0, labels_end + 11.0) : ruler.above ? 30.0 : 42.0;
  return title;
}

}  // namespace

std::vector<Tick> ticks(double from, double to, double most) {
  const double least = (to - from) / std::max(most, 1.0);
  if (!(least > 0.0)) return {};
  int decade = int(std::floor(std::log10(least)));
  int factor = 1;
  for (const int next : {2, 5, 10})
    if (factor * std::pow(10.0, decade) < least * (1.0 - 1e-9)) factor = next;
  if (factor == 10) factor = 1, ++decade;

  const int parts = factor == 2 ? 4 : 5;
  const double fine = factor * std::pow(10.0, decade) / parts;
  const double slack = 1e-6 * fine;
  std::vector<Tick> found;
  for (auto i = std::llround(std::ceil((from - slack) / fine)); double(i) * fine <= to + slack; ++i) {
    char label[32] = "";
    if (i % parts == 0)
      std::snprintf(label, sizeof label, "%.*f", std::max(0, -decade), i == 0 ? 0.0 : double(i) * fine);
    found.push_back({double(i) * fine, label});
  }
  return found;
}

std::vector<Tick> log_ticks(double from, double to, double most) {
  if (!(from > 0.0) || !(to > from)) return {};
  most = std::max(most, 1.0);
  const Steps step = steps(std::log10(to / from) / most);
  std::vector<Tick> found;
  for (int decade = int(std::floor(std::log10(from))); std::pow(10.0, decade) <= to * (1.0 + 1e-9); ++decade)
    for (const char* digit = step.ticked; *digit != '\0'; ++digit) {
      const double value = (*digit - '0') * std::pow(10.0, decade);
      if (value < from * (1.0 - 1e-9) || value > to * (1.0 + 1e-9)) continue;
      const bool labelled =
          decade % step.stride == 0 && std::string_view(step.labelled).find(*digit) != std::string_view::npos;
      found.push_back({value, labelled ? number(*digit - '0', decade) : ""});
    }
  if (labels(found) >= 3 || to > 10.0 * from) return found;
  // The scale is narrow: even steps, no closer at their crowded end than asked for.
  std::vector<Tick> even = ticks(from, to, most * (to - from) / (to * std::log(to / from)));
  return labels(even) > labels(found) ? even : found;
}

std::vector<Tick> ticks(const Sheet& sheet, const Ruler& ruler) {
  const double length = std::abs(ruler.stop - ruler.start);
  std::vector<Tick> found = ruler.given;
  std::erase_if(found, [&](const Tick& tick) {
    const double at = place(ruler, tick.value);
    return !(at >= std::min(ruler.start, ruler.stop) - 1e-6 &&
             at <= std::max(ruler.start, ruler.stop) + 1e-6);
  });
  std::sort(found.begin(), found.end(), [](const Tick& a, const Tick& b) { return a.value < b.value; });
  if (ruler.given.empty()) {
    const auto apart_by = [&](double room) {
      const double most = length / room;
      return ruler.logarithmic ? log_ticks(ruler.from, ruler.to, most) : ticks(ruler.from, ruler.to, most);
    };
    double room = ruler.upright ? 45.0 : 60.0;  // [pixel] from number to number
    found = apart_by(room);
    while (!ruler.upright && widest(sheet, found) + 12.0 > room && room < length)
      found = apart_by(room *= 1.3);
    if (labels(found) < 2) found = apart_by(30.0);
  }
  thin(sheet, ruler, found);
  return found;
}

double place(const Ruler& ruler, double value) {
  const double length = ruler.stop - ruler.start;
  if (!ruler.logarithmic) return ruler.start + (value - ruler.from) * (length / (ruler.to - ruler.from));
  return ruler.start + std::log(value / ruler.from) / std::log(ruler.to / ruler.from) * length;
}

double reach(const Sheet& sheet, const Ruler& ruler) {
  const Title title = title_of(sheet, ruler);
  if (title.rows.empty()) return ruler.upright ? title.last - 7.0 : 26.0;
  return title.last + (double(title.rows.size()) - 1.0) * kTitleRow +
         (ruler.upright || ruler.above ? 12.0 : 6.0);
}

void draw(Sheet& sheet, const Ruler& ruler, Colour colour) {
  const Type label{.size = kLabelSize, .colour = colour, .anchor = ruler.upright ? 1.0 : 0.5};
  const double side = ruler.above ? -1.0 : 1.0;
  for (const Tick& tick : ticks(sheet, ruler)) {
    const double at = std::floor(place(ruler, tick.value)) + 0.5;
    const double out = 1.0 + (tick.label.empty() ? kShortTick : kLongTick);
    if (ruler.upright) {
      sheet.line({ruler.edge - out, at}, {ruler.edge - 1.0, at}, colour);
      sheet.text({ruler.edge - kLongTick - 5.0, at + 0.36 * kLabelSize}, tick.label, label);
    } else {
      sheet.line({at, ruler.edge + side}, {at, ruler.edge + side * out}, colour);
      const double below = ruler.above ? -kLongTick - 5.0 : kLongTick + 4.0 + kLabelSize;
      sheet.text({at, ruler.edge + below}, tick.label, label);
    }
  }
  const double middle = 0.5 * (ruler.start + ruler.stop);
  const double quarter = std::acos(0.0);
  const Type type{.size = kLabelSize, .colour = colour, .anchor = 0.5, .turn = ruler.upright ? quarter : 0.0};
  const Title title = title_of(sheet, ruler);
  for (size_t i = 0; i < title.rows.size(); ++i) {
    const double rows_after = double(title.rows.size() - 1 - i);
    const double outward = title.last + kTitleRow * (ruler.upright || ruler.above ? rows_after : double(i));
    const Point upright{ruler.edge - outward, middle}, level{middle, ruler.edge + side * outward};
    sheet.text(ruler.upright ? upright : level, title.rows[i], type);
  }
}

}  // namespace circumfluence::appearance
