// Ranges on the command line: "500 mm/min:8000 mm/min:60", low:high:count, or a single value; of whole
// numbers "1:3".
//
// Values lie evenly, of speeds evenly in the logarithm, both ends among them. Each end is held to the bounds
// of the job as if it stood there. Throws JobError naming the option, its value, and what was expected.
#pragma once

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <string>
#include <vector>

#include "job/job_file.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::program {

// A quantity given with an option. Throws JobError naming both.
inline double quantity_of(const char* option, const std::string& text, const char* like) {
  try {
    return quantity::parse_quantity(text, like);
  } catch (const quantity::JobError& error) {
    throw quantity::JobError(fmt::format("{} = {}", option, error.problem()));
  }
}

// The same with what is allowed of it.
inline double above_zero(const char* option, const std::string& text, const char* like) {
  const double value = quantity_of(option, text, like);
  if (!(value > 0)) throw quantity::JobError(fmt::format("{} = \"{}\" (expected above 0 {})", option, text, like));
  return value;
}
inline double at_least_zero(const char* option, const std::string& text, const char* like) {
  const double value = quantity_of(option, text, like);
  if (!(value >= 0)) throw quantity::JobError(fmt::format("{} = \"{}\" (expected 0 {} or more)", option, text, like));
  return value;
}

inline constexpr int kMostValues = 1'000'000;  // of one range

struct Range {
  const char* option;
  const char* unit;
  const char* example;
  const char* address;  // in the job, whose bounds hold; empty: above zero
  bool logarithmic = false;
};

// A range as given, and how to say no to it.
class RangeText {
 public:
  RangeText(const job::Job& job, const Range& range, const std::string& text)
      : job_(job), range_(range), text_(text), parts_(1) {
    for (const char c : text)
      if (c == ':')
        parts_.emplace_back();
      else
        parts_.back() += c;
  }

  const std::vector<std::string>& parts() const { return parts_; }

  [[noreturn]] void refuse(const std::string& why) const {
    throw quantity::JobError(fmt::format("{} = \"{}\" ({}; expected {} such as \"{}\", or a single value)",
                                         range_.option, text_, why, counted() ? "low:high:count" : "low:high",
                                         range_.example));
  }

  double end(size_t part) const {
    if (parts_[part].find_first_not_of(' ') == std::string::npos)
      refuse(fmt::format("part {} is empty", part + 1));
    try {
      const double value = quantity::parse_quantity(parts_[part], range_.unit);
      if (*range_.address != '\0') job::replaced(job_, range_.address, value);
      if (*range_.address == '\0' && !(value > 0)) refuse("not above zero");
      return value;
    } catch (const quantity::JobError& error) {
      if (error.problem().starts_with(range_.option)) throw;
      throw quantity::JobError(fmt::format("{} = \"{}\": {}", range_.option, text_, error.problem()));
    }
  }

  int count() const {
    const std::string& part = parts_[2];
    int out = 0;
    const char* const last = part.data() + part.find_last_not_of(' ') + 1;
    const char* const first = part.data() + std::min(part.find_first_not_of(' '), part.size());
    const auto [stop, problem] = std::from_chars(first, last, out);
    if (problem != std::errc() || stop != last)
      refuse(fmt::format("the count \"{}\" is no whole number", part));
    if (out < 2 || out > kMostValues) refuse(fmt::format("a count of {}, not 2 to {}", out, kMostValues));
    return out;
  }

 private:
  bool counted() const { return *range_.unit != '1'; }

  const job::Job& job_;
  const Range& range_;
  const std::string& text_;
  std::vector<std::string> parts_;
};

inline std::vector<double> values(const job::Job& job, const Range& range, const std::string& text) {
  const RangeText given(job, range, text);
  const size_t parts = given.parts().size();
  if (parts != 1 && parts != 3) given.refuse(parts == 2 ? "no count" : "more than three parts");
  const double low = given.end(0);
  if (parts == 1) return {low};
  const double high = given.end(1);
  const int count = given.count();
  if (!(high > low)) given.refuse("it does not rise");
  std::vector<double> out;
  for (int i = 0; i < count; ++i) {
    const double share = double(i) / (count - 1);
    out.push_back(range.logarithmic ? low * std::pow(high / low, share) : low + (high - low) * share);
  }
  out.back() = high;
  return out;
}

inline std::vector<int> whole_values(const job::Job& job, const Range& range, const std::string& text) {
  const RangeText given(job, range, text);
  if (given.parts().size() > 2) given.refuse("more than two parts");
  for (size_t i = 0; i < given.parts().size(); ++i)
    if (const double end = given.end(i); end != std::round(end)) given.refuse("no whole number");
  const int low = static_cast<int>(given.end(0)),
            high = static_cast<int>(given.end(given.parts().size() - 1));
  if (high < low) given.refuse("it ends below where it begins");
  std::vector<int> out;
  for (int value = low; value <= high; ++value) out.push_back(value);
  return out;
}

}  // namespace circumfluence::program
