// A fit in words, as a table, and as JSON.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <numeric>

#include "calibration/fit.h"
#include "mark/verdict.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using window::Unknown;

constexpr double kTogether = 0.9;  // [1] correlation beyond which two are told only together
constexpr double kLearnt = 0.2;    // [1] of the variance
constexpr double kNarrow = 0.5;    // [1] variance of a combination that is known
constexpr double kShare = 0.3;     // [1] of a combination, from which an unknown is named
constexpr double kTail = 1.6448536269514722;

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (size_t i = 0; i < names.size(); ++i)
    out += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  return out;
}

// Unknowns that hang together by correlations beyond kTogether, by the number of their group.
std::vector<size_t> groups_of(const Fit& fit) {
  std::vector<size_t> group(fit.unknowns.size());
  std::iota(group.begin(), group.end(), size_t{0});
  for (size_t i = 0; i < group.size(); ++i)
    for (size_t j = 0; j < i; ++j) {
      const double product = fit.covariance(long(i), long(i)) * fit.covariance(long(j), long(j));
      if (!(std::abs(fit.covariance(long(i), long(j))) > kTogether * std::sqrt(product))) continue;
      const size_t from = group[i], to = group[j];
      std::replace(group.begin(), group.end(), std::max(from, to), std::min(from, to));
    }
  return group;
}

// What is known of a combination though of no unknown in it: of those not learnt by themselves, the axis
// known best.
std::string combination(const Fit& fit, const std::vector<size_t>& unlearnt) {
  const long n = long(unlearnt.size());
  Eigen::MatrixXd among(n, n);
  for (long i = 0; i < n; ++i)
    for (long j = 0; j < n; ++j)
      among(i, j) = fit.covariance(long(unlearnt[size_t(i)]), long(unlearnt[size_t(j)]));
  if (n < 2) return "";
  const Principal parts = principal(among);
  if (parts.squares[0] > kNarrow) return "";
  const Eigen::VectorXd along = parts.along.col(0).cwiseAbs();
  std::vector<std::string> names;
  for (long i = 0; i < n; ++i)
    if (along[i] > kShare) names.push_back(fit.unknowns[unlearnt[size_t(i)]].words);
  return names.size() < 2 ? "" : fmt::format("Of {} only a combination was learnt. ", listed(names));
}

std::string spread_text(const Unknown& u, double spread) {
  return format(spread, u.relative ? "%" : u.unit, 2);
}

std::string value_text(const Unknown& u, double deviate) {
  return format(u.at(deviate), u.unit, 4);
}

std::string json_of(const window::Interval& i) {
  return fmt::format("[{}, {}, {}]", mark::json_number(i.low), mark::json_number(i.middle),
                     mark::json_number(i.high));
}

std::string json_of(const Eigen::VectorXd& row) {
  std::string out;
  for (long i = 0; i < row.size(); ++i) out += (i == 0 ? "" : ", ") + mark::json_number(row[i]);
  return "[" + out + "]";
}

template <class Range, class Text>
std::string json_list(const Range& range, const Text& text_of) {
  std::string out;
  for (const auto& item : range) out += (out.empty() ? "" : ", ") + text_of(item);
  return "[" + out + "]";
}

}  // namespace

std::string identifiability(const Fit& fit) {
  const Eigen::VectorXd learnt = fit.learnt();
  const std::vector<size_t> group = groups_of(fit);
  std::vector<std::string> apart, unknown;
  std::vector<size_t> unlearnt;
  std::string together;
  for (size_t i = 0; i < fit.unknowns.size(); ++i) {
    std::vector<std::string> names;
    for (size_t j = i; j < group.size(); ++j)
      if (group[j] == i) names.push_back(fit.unknowns[j].words);
    if (names.size() > 1) {
      together += listed(names) + " are told only together. ";
    } else if (names.size() == 1) {
      (learnt[long(i)] >= kLearnt ? apart : unknown).push_back(names.front());
      if (learnt[long(i)] < kLearnt) unlearnt.push_back(i);
    }
  }
  std::string out;
  if (apart.size() > 1) out += listed(apart) + " are told apart. ";
  if (apart.size() == 1) out += apart.front() + " was learnt. ";
  out += together + combination(fit, unlearnt);
  if (unknown.size() > kMostNamed) {
    const size_t more = unknown.size() - kMostNamed;
    unknown.resize(kMostNamed);
    unknown.push_back(fmt::format("{} more", more));
  }
  if (!unknown.empty()) out += fmt::format("Not learnt by itself: {}. ", listed(unknown));
  if (!out.empty()) out.pop_back(), out.front() = char(std::toupper(static_cast<unsigned char>(out.front())));
  return out;
}

std::string text(const Fit& fit) {
  const Eigen::VectorXd learnt = fit.learnt();
  size_t wide = 8;
  for (const Unknown& u : fit.unknowns) wide = std::max(wide, u.words.size());
  std::string out =
      fmt::format("{:<{}}  {:>28}  {:>34}  {:>6}\n", "", wide, "before", "after (90 %)", "learnt");
  for (size_t i = 0; i < fit.unknowns.size(); ++i) {
    const Unknown& u = fit.unknowns[i];
    const window::Interval now = fit.interval(i);
    const auto number = [&u](double si) { return fmt::format("{:.4g}", quantity::in_unit(si, u.unit)); };
    out += fmt::format(
        "{:<{}}  {:>28}  {:>34}  {:>6}\n", u.words, wide,
        fmt::format("{} +- {}", value_text(u, 0), spread_text(u, u.spread)),
        fmt::format("{} ({} to {})", format(now.middle, u.unit, 4), number(now.low), number(now.high)),
        fmt::format("{:.0f} %", 100 * learnt[long(i)]));
  }
  out += identifiability(fit) + "\n";
  if (fit.sampling)
    out += fmt::format("{} draws, R-hat {:.3f}, {:.0f} of them effective, {:.0f} % of proposals accepted.\n",
                       fit.sampling->draws.rows(), fit.sampling->rhat, fit.sampling->effective,
                       100 * fit.sampling->accepted);
  for (const std::string& note : fit.notes) out += "- " + note + "\n";
  return out;
}

std::string json(const Fit& fit) {
  const Eigen::VectorXd learnt = fit.learnt();
  std::vector<size_t> indices(fit.unknowns.size());
  std::iota(indices.begin(), indices.end(), size_t{0});
  const std::string unknowns = json_list(indices, [&](size_t i) {
    const Unknown& u = fit.unknowns[i];
    return fmt::format("{{\"name\": {}, \"words\": {}, \"before\": {}, \"after\": {}, \"learnt\": {}}}",
                       mark::json_text(u.name), mark::json_text(u.words),
                       json_of(window::Interval{u.at(-kTail), u.at(0), u.at(kTail)}),
                       json_of(fit.interval(i)), mark::json_number(learnt[long(i)]));
  });
  std::string out =
      fmt::format("{{\"unknowns\": {}, \"best\": {}, \"covariance\": {}", unknowns, json_of(fit.best),
                  json_list(indices, [&](size_t i) { return json_of(fit.covariance.row(long(i))); }));
  out += fmt::format(", \"log_evidence\": {}, \"surprise\": {}, \"strays\": {}",
                     mark::json_number(fit.log_evidence), json_list(fit.surprise, mark::json_number),
                     mark::json_number(fit.strays));
  if (fit.sampling)
    out += fmt::format(", \"rhat\": {}, \"effective_draws\": {}, \"accepted\": {}",
                       mark::json_number(fit.sampling->rhat), mark::json_number(fit.sampling->effective),
                       mark::json_number(fit.sampling->accepted));
  return out + fmt::format(", \"identifiability\": {}, \"notes\": {}}}",
                           mark::json_text(identifiability(fit)), json_list(fit.notes, mark::json_text));
}

}  // namespace circumfluence::calibration
