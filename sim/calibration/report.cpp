// What a report may say.
#include "calibration/report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>
#include <string_view>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using quantity::JobError;

constexpr double kLongest = 0.1;        // [m] of a width or depth
constexpr double kRounding = 1 + 1e-9;  // [1]

const Slot* slot_of(int number, const Coupon& coupon) {
  const auto found = std::find_if(coupon.slots.begin(), coupon.slots.end(),
                                  [number](const Slot& slot) { return slot.number == number; });
  return found == coupon.slots.end() ? nullptr : &*found;
}

std::string numbers(const Coupon& coupon) {
  const auto [least, greatest] = std::minmax_element(
      coupon.slots.begin(), coupon.slots.end(), [](const Slot& a, const Slot& b) { return a.number < b.number; });
  return coupon.slots.empty() ? "none" : fmt::format("one from {} to {}", least->number, greatest->number);
}

void check_length(double value, const char* key, int number) {
  if (std::isnan(value) || (value >= 0 && value <= kLongest)) return;
  throw JobError(fmt::format("{} = {} (of patch {}; expected a length from 0 um to {})", key, format(value, "um"),
                             number, format(kLongest, "mm")));
}

void check_share(double value, const char* key) {
  if (value > 0 && value <= 10) return;
  throw JobError(fmt::format("{} = {} (expected a share from above 0 % to 1000 %)", key, format(value, "%")));
}

bool holds_control(const std::string& text) {
  return std::any_of(text.begin(), text.end(), [](unsigned char c) { return c < 0x20 && c != '\n' && c != '\t'; });
}

// Written into tables and records as it is.
void check_date(const std::string& date) {
  const auto fits = [](unsigned char c) {
    return std::isalnum(c) || std::string_view(" .:/+-").find(char(c)) != std::string_view::npos;
  };
  if (date.empty() ||
      (date.size() <= 40 && std::all_of(date.begin(), date.end(), fits) && date.front() != ' ' && date.back() != ' '))
    return;
  throw JobError(fmt::format("date = \"{}\" (expected a date such as 2026-05-02)", date.substr(0, 64)));
}

int get_outcome(const Result& result) {
  return result.outcome ? static_cast<int>(*result.outcome) : -1;
}

void set_outcome(Result& result, int which) {
  result.outcome = static_cast<response::Outcome>(which);
}

}  // namespace

bool Result::measured() const {
  return outcome || !std::isnan(width) || !std::isnan(depth);
}

bool Result::told() const {
  return measured() || !remark.empty();
}

const quantity::Fields<Result>& result_fields() {
  static const quantity::Fields<Result> fields = {
      {"number", &Result::number, "", 1, 1e9, "of the patch, as it stands beside it"},
      {"outcome", quantity::Choice<Result>{get_outcome, set_outcome}, "", 0, 0, "what became of it", false,
       "untouched under-marked marked over-burned"},
      {"width", &Result::width, "um", 0, kLongest, "of a single line's mark; 0 um: there is none", false},
      {"depth", &Result::depth, "um", 0, kLongest, "of what is gone, mean over the patch", false},
      {"remark", &Result::remark, "", 0, 0, "anything else", false},
  };
  return fields;
}

const quantity::Fields<Report>& report_fields() {
  static const quantity::Fields<Report> fields = {
      {"date", &Report::date, "", 0, 0, "when the coupon was burnt", false},
      {"width_error", &Report::width_error, "%", 1e-4, 10, "standard error of a measured width", false},
      {"depth_error", &Report::depth_error, "%", 1e-4, 10, "standard error of a measured depth", false},
      {"resolution", &Report::resolution, "um", 0, 1e-2, "of widths and depths: what is finer is only small", false},
  };
  return fields;
}

void check(const Result& result, const Coupon& coupon) {
  const Slot* slot = slot_of(result.number, coupon);
  if (!slot)
    throw JobError(fmt::format("number = {} (no patch of this coupon; expected {})", result.number, numbers(coupon)));
  check_length(result.width, "width", result.number);
  check_length(result.depth, "depth", result.number);
  if (holds_control(result.remark))
    throw JobError(fmt::format("remark (of patch {}, holds a control character; expected text)", result.number));
  if (std::isnan(result.width)) return;
  const Patch& patch = slot->patch;
  if (!patch.is_line())
    throw JobError(
        fmt::format("width = {} (of patch {}, a fill; expected a width of single lines only). Leave it empty",
                    format(result.width, "um"), result.number));
  const double most = patch.direction == motion::Direction::axial ? slot->place.height : slot->place.width;
  if (result.width > most * kRounding)
    throw JobError(fmt::format("width = {} (of patch {}, wider than its slot; expected at most {})",
                               format(result.width, "um"), result.number, format(most, "um")));
}

void check(const Report& report, const Coupon& coupon) {
  check_share(report.width_error, "width_error");
  check_share(report.depth_error, "depth_error");
  if (!(report.resolution >= 0 && report.resolution <= 1e-2))
    throw JobError(
        fmt::format("resolution = {} (expected a length from 0 um to 10 mm)", format(report.resolution, "um")));
  check_date(report.date);
  std::set<int> seen;
  for (const Result& result : report.results) {
    check(result, coupon);
    if (!seen.insert(result.number).second)
      throw JobError(fmt::format("number = {} (comes twice; expected each patch once)", result.number));
  }
  if (std::none_of(report.results.begin(), report.results.end(), [](const Result& r) { return r.measured(); }))
    throw JobError("no result (not one outcome, width or depth; expected one or more)");
}

}  // namespace circumfluence::calibration
