// A ranking of unknowns as a chart, as words and as JSON.
#include <fmt/format.h>

#include <algorithm>

#include "appearance/chart.h"
#include "mark/verdict.h"
#include "quantity/unit.h"
#include "window/chance.h"

namespace circumfluence::window {
namespace {

using mark::json_number;
using quantity::format;

std::string share(double value) {
  return value < kLeastShare ? "-" : fmt::format("{:.0f} %", 100 * value);
}

}  // namespace

bool write_ranking(const std::string& path, const Ranking& ranking, End end, const std::string& subtitle) {
  const bool marks = end == End::marks;
  appearance::BarChart chart;
  chart.title = marks ? "Why the power that marks is not known exactly"
                      : "Why the power that over-burns is not known exactly";
  chart.subtitle = subtitle;
  chart.axis = "share of the variance of ln(power)";
  for (const Rank& r : ranking.ranks) {
    const appearance::Bar bar{r.unknown.words, marks ? r.marks_first : r.burns_first,
                              marks ? r.marks_total : r.burns_total};
    if (bar.total >= kLeastShare) chart.bars.push_back(bar);
  }
  if (chart.bars.empty()) return false;
  std::stable_sort(chart.bars.begin(), chart.bars.end(),
                   [](const auto& a, const auto& b) { return a.total > b.total; });
  appearance::write_bars(path, chart);
  return true;
}

std::string text(const Ranking& ranking) {
  std::string out =
      fmt::format("ranking    {:>8} {:>10}  share of the doubt about the power, together with others\n",
                  "marks", "over-burns");
  if (ranking.ranks.empty()) return "ranking    nothing is in doubt\n";
  for (const Rank& r : ranking.ranks)
    if (std::max(r.marks_total, r.burns_total) >= kLeastShare)
      out += fmt::format("           {:>8} {:>10}  {}\n", share(r.marks_total), share(r.burns_total),
                         r.unknown.words);
  if (ranking.settled > 0)
    out += fmt::format("           {} of the figures were settled together by a fit: each with what it adds to those before it\n",
                       ranking.settled);
  return out;
}

std::string json(const Ranking& ranking) {
  std::string out;
  for (const Rank& r : ranking.ranks)
    out += fmt::format(
        "{}{{\"name\": {}, \"words\": {}, \"marks_first\": {}, \"marks_total\": {}, \"burns_first\": {}, "
        "\"burns_total\": {}}}",
        out.empty() ? "" : ", ", mark::json_text(r.unknown.name), mark::json_text(r.unknown.words),
        json_number(r.marks_first), json_number(r.marks_total), json_number(r.burns_first),
        json_number(r.burns_total));
  return fmt::format("{{\"marks_spread\": {}, \"burns_spread\": {}, \"unknowns\": [{}]}}",
                     json_number(ranking.marks_spread), json_number(ranking.burns_spread), out);
}

}  // namespace circumfluence::window
