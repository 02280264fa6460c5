// Any bytes are a coupon, a report or an error with its file; what is read holds together, and is read again from
// what is written of it. The first byte says as what the others are taken: a coupon's table, a report's table, a
// report's TOML.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "calibration/report.h"
#include "quantity/error.h"

namespace {

using namespace circumfluence::calibration;
using circumfluence::quantity::JobError;
using circumfluence::quantity::ValidityError;

void require(bool holds) {
  if (!holds) std::abort();
}

Coupon coupon() {
  Coupon out{.width = 60e-3, .height = 40e-3, .ink = {.power = 5, .speed = 0.04, .spacing = 0.1e-3}, .slots = {}};
  for (int i = 0; i < 8; ++i)
    out.slots.push_back({i + 1,
                         {.power = 1.0 + i, .speed = 0.04, .spacing = i < 6 ? 0.1e-3 : 0},
                         {5e-3 + (i % 4) * 12e-3, i < 4 ? 12e-3 : 26e-3, 4e-3, 4e-3}});
  return out;
}

bool near(double a, double b) {
  return std::abs(a - b) <= 1e-9 * std::abs(a);
}

bool same(const Patch& a, const Patch& b) {
  return near(a.power, b.power) && near(a.speed, b.speed) && near(a.spacing, b.spacing) && a.passes == b.passes &&
         std::abs(a.focus_offset - b.focus_offset) <= 1e-9 * (1e-3 + std::abs(a.focus_offset)) &&
         a.direction == b.direction;
}

void take_coupon(std::string_view text) {
  const Coupon one = parse_coupon(text, "coupon.csv");
  check(one);
  const Coupon two = parse_coupon(table(one), "coupon.csv");
  require(one.slots.size() == two.slots.size() && one.ground == two.ground && same(one.ink, two.ink));
  for (size_t i = 0; i < one.slots.size(); ++i) {
    require(one.slots[i].number == two.slots[i].number && same(one.slots[i].patch, two.slots[i].patch));
    require(!label(one, one.slots[i]).empty());
  }
}

bool same(double a, double b) {
  return a == b || (std::isnan(a) && std::isnan(b));
}

// Blanks at a cell's ends are left out.
std::string trimmed(const std::string& text) {
  const size_t from = text.find_first_not_of(" \t"), to = text.find_last_not_of(" \t");
  return from == std::string::npos ? "" : text.substr(from, to + 1 - from);
}

void take_report(const Report& one) {
  const Coupon all = coupon();
  check(one, all);
  for (const std::string& sentence : doubts(all, one)) require(sentence.back() == '.');
  const Report two = parse_report_csv(filled_table(all, one), "filled.csv", all);
  require(one.date == two.date && one.width_error == two.width_error && one.depth_error == two.depth_error &&
          one.resolution == two.resolution);
  size_t i = 0;
  for (const Result& result : one.results) {
    const std::string remark = trimmed(result.remark);
    if (!result.measured() && remark.empty()) continue;
    require(i < two.results.size());
    const Result& again = two.results[i++];
    require(result.number == again.number && result.outcome == again.outcome && same(result.width, again.width) &&
            same(result.depth, again.depth) && remark == again.remark);
  }
  require(i == two.results.size());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  try {
    if (data[0] % 3 == 0)
      take_coupon(text);
    else
      take_report(data[0] % 3 == 1 ? parse_report_csv(text, "report.csv", coupon())
                                   : parse_report_toml(text, "report.toml", coupon()));
  } catch (const JobError& error) {
    require(!error.place().file.empty() && error.problem().size() < 2000);
  }
  return 0;
}
