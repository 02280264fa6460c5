// What in a report doesn't fit together.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "calibration/report.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using response::Outcome;

constexpr double kRounding = 1e-9;  // [1]

struct Told {
  const Result* result;
  const Slot* slot;
};

bool lies_above(double value, double other) {
  return value > other + kRounding * std::abs(other);
}

// Whether `a` got at least as much of everything; only of the same kind, direction and focus.
bool got_no_less(const Patch& a, const Patch& b) {
  return a.is_line() == b.is_line() && a.direction == b.direction &&
         std::abs(a.focus_offset - b.focus_offset) < 1e-9 && !lies_above(b.power, a.power) && b.passes <= a.passes &&
         !lies_above(a.speed, b.speed) && !lies_above(a.spacing, b.spacing);
}

std::string setting(const Patch& patch) {
  std::string out = fmt::format("{}, {}", format(patch.power, "W", 3), format(patch.speed, "mm/min", 4));
  if (!patch.is_line()) out += fmt::format(", lines {} apart", format(patch.spacing, "mm", 3));
  return patch.passes == 1 ? out : out + fmt::format(", {} passes", patch.passes);
}

class Doubts {
 public:
  Doubts(const Coupon& coupon, const Report& report) : report_(report) {
    std::map<int, const Slot*> slots;
    for (const Slot& slot : coupon.slots) slots[slot.number] = &slot;
    for (const Result& result : report.results)
      if (const auto found = slots.find(result.number); found != slots.end() && result.measured())
        told_.push_back({&result, found->second});
  }

  std::vector<std::string> all() {
    contradictions([](const Result& r) { return r.outcome ? int(*r.outcome) : std::nan(""); },
                   [](const Result& r) { return std::string(response::kOutcomeNames[int(*r.outcome)]); }, 0);
    contradictions([this](const Result& r) { return logarithm(r.width); },
                   [](const Result& r) { return format(r.width, "um", 3) + " wide"; }, apart(report_.width_error));
    contradictions([this](const Result& r) { return logarithm(r.depth); },
                   [](const Result& r) { return format(r.depth, "um", 3) + " deep"; }, apart(report_.depth_error));
    exclusions();
    too_small(&Result::width, "width"), too_small(&Result::depth, "depth");
    if (told_.size() == 1)
      out_.push_back("A single patch tells on which side of one threshold it lies, not where that is.");
    else
      alike();
    return std::move(out_);
  }

 private:
  double logarithm(double length) const { return std::log(std::hypot(length, std::max(report_.resolution, 1e-12))); }
  static double apart(double error) { return kClearly * std::sqrt(2.0) * error; }

  // `of` of a result grows with what came out, NaN where that is not told; it has to differ by more than `apart`.
  template <class Of, class Words>
  void contradictions(const Of& of, const Words& words, double apart) {
    std::vector<double> strength;
    for (const Told& one : told_) strength.push_back(of(*one.result));
    std::vector<std::string> sentences;
    size_t count = 0;
    for (size_t i = 0; i < told_.size(); ++i) {
      const Told* other = nullptr;
      double most = strength[i] + apart;
      for (size_t j = 0; j < told_.size(); ++j)
        if (strength[j] > most && got_no_less(told_[i].slot->patch, told_[j].slot->patch))
          other = &told_[j], most = strength[j];
      if (other && ++count <= kMostNamed) sentences.push_back(contradiction(told_[i], *other, words));
    }
    add(sentences, count, "more patches contradict others in the same way");
  }

  template <class Words>
  static std::string contradiction(const Told& weaker, const Told& other, const Words& words) {
    const Patch &one = weaker.slot->patch, &two = other.slot->patch;
    const bool same = got_no_less(two, one);
    return fmt::format("Patch {} came out {}, patch {} {} {}: {} against {}.", weaker.slot->number,
                       words(*weaker.result), other.slot->number, words(*other.result),
                       same ? "with the same settings" : "though it got no more of anything", setting(one),
                       setting(two));
  }

  void exclusions() {
    std::vector<std::string> sentences;
    size_t count = 0;
    const auto add_one = [&](const std::string& sentence) {
      if (++count <= kMostNamed) sentences.push_back(sentence);
    };
    for (const auto& [result, slot] : told_) {
      if (!result->outcome) continue;
      const std::string outcome = response::kOutcomeNames[int(*result->outcome)];
      for (const double length : {result->width, result->depth})
        if (*result->outcome == Outcome::untouched && length > report_.resolution)
          add_one(fmt::format("Patch {} is called untouched, and {} is given as the {} of what was done to it.",
                              slot->number, format(length, "um", 3), length == result->width ? "width" : "depth"));
      if (*result->outcome >= Outcome::marked && result->width == 0)
        add_one(fmt::format("Patch {} is called {}, and its mark is given no width.", slot->number, outcome));
    }
    add(sentences, count, "more patches have such figures");
  }

  void too_small(double Result::*length, const char* name) {
    const auto small = std::count_if(told_.begin(), told_.end(), [&](const Told& one) {
      return one.result->*length > 0 && one.result->*length < report_.resolution;
    });
    if (small > 0)
      out_.push_back(fmt::format("{} {}{} below the resolution of {}: they tell no more than that.", small, name,
                                 small == 1 ? " is" : "s are", format(report_.resolution, "um", 3)));
  }

  void alike() {
    const auto first = std::find_if(told_.begin(), told_.end(), [](const Told& one) { return one.result->outcome; });
    size_t count = 0;
    for (const auto& [result, slot] : told_) {
      if (!result->outcome) continue;
      if (*result->outcome != *first->result->outcome) return;
      ++count;
    }
    if (count < 2) return;
    constexpr const char* kTell[4] = {"a mark needs more than they got; how much more is not told",
                                      "a mark needs more than they got; how much more is not told",
                                      "they lie within the window; where it ends is not told",
                                      "over-burn begins below what they got; how far below is not told"};
    out_.push_back(fmt::format("All {} patches came out {}: {}.", count,
                               response::kOutcomeNames[int(*first->result->outcome)],
                               kTell[int(*first->result->outcome)]));
  }

  void add(const std::vector<std::string>& sentences, size_t count, const char* more) {
    out_.insert(out_.end(), sentences.begin(), sentences.end());
    if (count > sentences.size()) out_.push_back(fmt::format("{} {}.", count - sentences.size(), more));
  }

  const Report& report_;
  std::vector<Told> told_;
  std::vector<std::string> out_;
};

}  // namespace

std::vector<std::string> doubts(const Coupon& coupon, const Report& report) {
  return Doubts(coupon, report).all();
}

}  // namespace circumfluence::calibration
