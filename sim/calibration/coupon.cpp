#include "calibration/coupon.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;

constexpr double kTouching = 1e-9;  // [m] by which slots may overlap: rounding

bool above_zero(double value) {
  return std::isfinite(value) && value > 0;
}

std::string in_words(const Rectangle& place) {
  return fmt::format("{:.6g} x {:.6g} mm at {:.6g}, {:.6g} mm", 1e3 * place.width, 1e3 * place.height,
                     1e3 * place.x, 1e3 * place.y);
}

void check_setting(const Patch& patch, const std::string& whose, bool may_be_line) {
  const auto refuse = [&](const char* what, const std::string& value, const char* expected) {
    throw ValidityError(fmt::format("coupon: {} of {} = {} (expected {})", what, whose, value, expected));
  };
  if (!above_zero(patch.power)) refuse("power", quantity::format(patch.power, "W"), "a power above 0 W");
  if (!above_zero(patch.speed))
    refuse("speed", quantity::format(patch.speed, "mm/min"), "a speed above 0 mm/min");
  if (!above_zero(patch.spacing) && !(may_be_line && patch.is_line()))
    refuse("spacing", quantity::format(patch.spacing, "mm"),
           may_be_line ? "a length above 0 mm, or 0 mm: a single line" : "a length above 0 mm");
  if (patch.passes < 1 || patch.passes > kMostPasses)
    refuse("passes", fmt::format("{}", patch.passes), "a number from 1 to 100");
  if (!std::isfinite(patch.focus_offset))
    refuse("focus offset", quantity::format(patch.focus_offset, "mm"), "a finite height");
}

void check_whole(const Coupon& coupon) {
  if (!above_zero(coupon.width) || !above_zero(coupon.height))
    throw ValidityError(fmt::format("coupon: size = {:.6g} x {:.6g} mm (expected lengths above 0 mm)",
                                    1e3 * coupon.width, 1e3 * coupon.height));
  if (!above_zero(coupon.corner) || 2 * coupon.corner > std::min(coupon.width, coupon.height))
    throw ValidityError(fmt::format("coupon: corner = {} (expected a length above 0 mm and up to half of {})",
                                    quantity::format(coupon.corner, "mm"),
                                    quantity::format(std::min(coupon.width, coupon.height), "mm")));
  if (!(coupon.letters >= 0) || !std::isfinite(coupon.letters))
    throw ValidityError(fmt::format("coupon: letters = {} (expected a height of 0 mm, for none, or more)",
                                    quantity::format(coupon.letters, "mm")));
  if (coupon.slots.empty()) throw ValidityError("coupon: no slots (nothing to burn; expected one or more)");
  if (coupon.slots.size() > kMostSlots)
    throw ValidityError(fmt::format("coupon: {} slots (more than a person can look at; expected up to {})",
                                    coupon.slots.size(), kMostSlots));
}

void check_place(const Coupon& coupon, const Slot& slot) {
  const Rectangle& place = slot.place;
  const bool sized = above_zero(place.width) && above_zero(place.height);
  // Written so that what is not a number fails.
  if (!sized ||
      !(place.x >= -kTouching && place.y >= -kTouching && place.x + place.width <= coupon.width + kTouching &&
        place.y + place.height <= coupon.height + kTouching))
    throw ValidityError(fmt::format("coupon: slot {} is {} (expected within {:.6g} x {:.6g} mm)", slot.number,
                                    in_words(place), 1e3 * coupon.width, 1e3 * coupon.height));
}

bool overlap(const Rectangle& a, const Rectangle& b) {
  return std::min(a.x + a.width, b.x + b.width) - std::max(a.x, b.x) > kTouching &&
         std::min(a.y + a.height, b.y + b.height) - std::max(a.y, b.y) > kTouching;
}

// All that lies on the coupon, by rising x: what can overlap is near in that order.
void check_overlaps(const Coupon& coupon) {
  struct Thing {
    Rectangle place;
    int number;  // 0: a corner mark
  };
  std::vector<Thing> things;
  for (int which = 0; which < 4; ++which) things.push_back({corner_mark(coupon, which), 0});
  for (const Slot& slot : coupon.slots) things.push_back({slot.place, slot.number});
  std::sort(things.begin(), things.end(),
            [](const Thing& a, const Thing& b) { return a.place.x < b.place.x; });
  const auto name = [](const Thing& thing) {
    return thing.number == 0 ? std::string("a corner mark") : fmt::format("slot {}", thing.number);
  };
  for (size_t i = 0; i < things.size(); ++i)
    for (size_t j = i + 1; j < things.size() && things[j].place.x < things[i].place.x + things[i].place.width;
         ++j)
      if (overlap(things[i].place, things[j].place))
        throw ValidityError(fmt::format("coupon: {} overlaps {} (they are {} and {}; expected apart)",
                                        name(things[i]), name(things[j]), in_words(things[i].place),
                                        in_words(things[j].place)));
}

void check_numbers(const Coupon& coupon) {
  std::vector<int> numbers;
  for (const Slot& slot : coupon.slots) numbers.push_back(slot.number);
  std::sort(numbers.begin(), numbers.end());
  if (numbers.front() < 1)
    throw ValidityError(fmt::format("coupon: a slot's number = {} (expected 1 or more)", numbers.front()));
  if (const auto twice = std::adjacent_find(numbers.begin(), numbers.end()); twice != numbers.end())
    throw ValidityError(
        fmt::format("coupon: number {} stands beside two slots (expected distinct numbers)", *twice));
}

// Whether slots differ in something; only patches that have it are asked.
template <class Of>
bool differ(const Coupon& coupon, const Of& of) {
  std::optional<double> first;
  for (const Slot& slot : coupon.slots) {
    const double value = of(slot.patch);
    if (std::isnan(value)) continue;
    if (first && value != *first) return true;
    first = value;
  }
  return false;
}

struct Varied {
  bool spacing, passes, focus_offset;
};

Varied varied(const Coupon& coupon) {
  return {.spacing = differ(coupon, [](const Patch& p) { return p.is_line() ? std::nan("") : p.spacing; }),
          .passes = differ(coupon, [](const Patch& p) { return double(p.passes); }),
          .focus_offset = differ(coupon, [](const Patch& p) { return p.focus_offset; })};
}

std::string written(const Slot& slot, const Varied& varied) {
  const Patch& patch = slot.patch;
  std::string out = fmt::format("{}: {}\n{}", slot.number, quantity::format(patch.power, "W", 3),
                                quantity::format(patch.speed, "mm/min", 4));
  if (varied.spacing && !patch.is_line()) out += "\n" + quantity::format(patch.spacing, "mm", 3);
  std::string rest;
  if (varied.passes) rest = fmt::format("{}x", patch.passes);
  if (varied.focus_offset)
    rest += fmt::format("{}{:+.3g} mm", rest.empty() ? "" : " ", 1e3 * patch.focus_offset);
  return rest.empty() ? out : out + "\n" + rest;
}

}  // namespace

Rectangle corner_mark(const Coupon& coupon, int which) {
  const bool right = which == 1 || which == 2, upper = which == 2 || which == 3;
  return {right ? coupon.width - coupon.corner : 0, upper ? coupon.height - coupon.corner : 0, coupon.corner,
          coupon.corner};
}

std::string label(const Coupon& coupon, const Slot& slot) {
  return written(slot, varied(coupon));
}

std::vector<std::string> labels(const Coupon& coupon) {
  const Varied what = varied(coupon);
  std::vector<std::string> out;
  for (const Slot& slot : coupon.slots) out.push_back(written(slot, what));
  return out;
}

Rectangle label_place(const Coupon& coupon, const Slot& slot) {
  return label_place(coupon, slot, label(coupon, slot));
}

Rectangle label_place(const Coupon& coupon, const Slot& slot, const std::string& text) {
  size_t longest = 0, from = 0;
  int lines = 1;
  for (size_t end = text.find('\n'); end != std::string::npos; end = text.find('\n', from), ++lines) {
    longest = std::max(longest, end - from);
    from = end + 1;
  }
  longest = std::max(longest, text.size() - from);
  const double width = (double(longest) * kLetterAdvance - (kLetterAdvance - 2.0 / 3)) * coupon.letters;
  const double height = ((lines - 1) * kLineAdvance + 1) * coupon.letters;
  return {slot.place.x, slot.place.y - kLabelGap * coupon.letters - height, width, height};
}

void check(const Coupon& coupon) {
  check_whole(coupon);
  check_setting(coupon.ink, "corner marks and labels", false);
  for (const Slot& slot : coupon.slots) {
    check_setting(slot.patch, fmt::format("slot {}", slot.number), true);
    check_place(coupon, slot);
  }
  check_numbers(coupon);
  check_overlaps(coupon);
}

}  // namespace circumfluence::calibration
