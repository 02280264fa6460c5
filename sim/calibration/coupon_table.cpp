// A coupon as a table, written and read.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <string>

#include "calibration/coupon.h"
#include "job/nearest.h"
#include "job/toml_value.h"
#include "quantity/unfinished_file.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;

constexpr std::string_view kHeader =
    "what,number,power [W],speed [mm/min],spacing [mm],passes,focus offset [mm],direction,ground,x [mm],y "
    "[mm],"
    "slot width [mm],slot height [mm],outcome,width [um],depth [um],remark\n";
constexpr const char* kDirections[2] = {"axial", "around"};
constexpr const char* kWhats[3] = {"corner", "letters", "patch"};
constexpr double kSamePlace = 1e-6;  // [m] by which corner marks may be off

std::string setting(const Patch& patch, Ground ground) {
  const auto in = [](double si, const char* unit) {
    return fmt::format("{:.12g}", quantity::in_unit(si, unit));
  };
  return fmt::format("{},{},{},{},{},{},{}", in(patch.power, "W"), in(patch.speed, "mm/min"),
                     in(patch.spacing, "mm"), patch.passes, in(patch.focus_offset, "mm"),
                     kDirections[int(patch.direction)], kGroundNames[int(ground)]);
}

std::string place(const Rectangle& at) {
  return fmt::format("{:.12g},{:.12g},{:.12g},{:.12g}", 1e3 * at.x, 1e3 * at.y, 1e3 * at.width,
                     1e3 * at.height);
}

class TableReader {
 public:
  explicit TableReader(const Cells& cells) : cells_(cells) {}

  Coupon read() {
    (void)column("what");  // of a table without rows too
    std::vector<size_t> corners, patches;
    Coupon out;
    out.letters = 0;
    for (size_t row = 0; row < cells_.rows.size(); ++row) switch (word(row, "what", kWhats)) {
        case 0:
          corners.push_back(row);
          break;
        case 1:
          out.letters = number(row, "slot height", "mm");
          break;
        default:
          patches.push_back(row);
      }
    read_corners(corners, out);
    Coupon one = out;  // to check each slot by itself, where it stands
    for (const size_t row : patches) {
      if (out.slots.size() == kMostSlots)
        throw JobError(fmt::format("more than {} patches (more than a person can look at)", kMostSlots),
                       cells_.place(row, 0));
      out.slots.push_back({whole(row, "number"), patch(row), rectangle(row)});
      one.slots = {out.slots.back()};
      checked(one, cells_.place(row, 0));
    }
    checked(out, {cells_.file});
    return out;
  }

 private:
  static void checked(const Coupon& coupon, const quantity::Place& at) {
    try {
      check(coupon);
    } catch (const quantity::ValidityError& error) {
      throw JobError(error.what(), at);
    }
  }

  size_t column(std::string_view name) const {
    if (const std::optional<size_t> found = cells_.find(name)) return *found;
    std::vector<std::string> known;
    for (const Cells::Title& title : cells_.titles) known.push_back(title.name);
    throw JobError(fmt::format("column \"{}\" is missing (expected the table of a coupon){}", name,
                               job::suggestion(name, known, "\"", "\"")),
                   {cells_.file});
  }

  template <size_t n>
  size_t word(size_t row, std::string_view name, const char* const (&words)[n]) const {
    const size_t at = column(name);
    std::string text = cells_.rows[row][at].text;
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return char(c < 0x80 ? std::tolower(c) : c); });
    const auto found = std::find(words, words + n, text);
    if (found != words + n) return static_cast<size_t>(found - words);
    const std::vector<std::string> known(words, words + n);
    std::string all = known.front();
    for (size_t i = 1; i < n; ++i) all += (i + 1 < n ? ", " : " or ") + known[i];
    throw JobError(
        fmt::format("{} = \"{}\" (expected {}){}", name, text, all, job::suggestion(text, known, "\"", "\"")),
        cells_.place(row, at));
  }

  double number(size_t row, std::string_view name, std::string_view like) const {
    const size_t at = column(name);
    const double out = cells_.number(row, at, like);
    if (std::isnan(out))
      throw JobError(fmt::format("{} is missing (expected a number)", name), cells_.place(row, at));
    return out;
  }

  int whole(size_t row, std::string_view name) const {
    const double out = number(row, name, "1");
    if (out != std::floor(out) || !(std::abs(out) <= 1e9))
      throw JobError(fmt::format("{} = {} (expected a whole number)", name, out),
                     cells_.place(row, column(name)));
    return static_cast<int>(out);
  }

  Patch patch(size_t row) const {
    return {.power = number(row, "power", "W"),
            .speed = number(row, "speed", "mm/min"),
            .spacing = number(row, "spacing", "mm"),
            .passes = whole(row, "passes"),
            .focus_offset = number(row, "focus offset", "mm"),
            .direction = motion::Direction(word(row, "direction", kDirections))};
  }

  Rectangle rectangle(size_t row) const {
    return {number(row, "x", "mm"), number(row, "y", "mm"), number(row, "slot width", "mm"),
            number(row, "slot height", "mm")};
  }

  // They span the coupon; in any order.
  void read_corners(const std::vector<size_t>& rows, Coupon& out) const {
    if (rows.size() != 4)
      throw JobError(fmt::format("{} corner marks (expected four rows with what = corner)", rows.size()),
                     {cells_.file, rows.empty() ? 0 : cells_.rows[rows.back()].front().line});
    out.ground = Ground(word(rows[0], "ground", kGroundNames));
    out.ink = patch(rows[0]);
    out.corner = rectangle(rows[0]).width;
    for (const size_t row : rows) {
      const Rectangle at = rectangle(row);
      out.width = std::max(out.width, at.x + at.width), out.height = std::max(out.height, at.y + at.height);
    }
    for (int which = 0; which < 4; ++which) {
      const Rectangle wanted = corner_mark(out, which);
      const auto same = [&](size_t row) {
        const Rectangle at = rectangle(row);
        const double off = std::max({std::abs(at.x - wanted.x), std::abs(at.y - wanted.y),
                                     std::abs(at.width - wanted.width), std::abs(at.height - wanted.height)});
        return off <= kSamePlace;
      };
      if (std::none_of(rows.begin(), rows.end(), same))
        throw JobError(
            fmt::format(
                "no corner mark at {:.6g}, {:.6g} mm (expected squares of one size in the four corners)",
                1e3 * wanted.x, 1e3 * wanted.y),
            cells_.place(rows[0], column("x")));
    }
  }

  const Cells& cells_;
};

}  // namespace

std::string table(const Coupon& coupon) {
  check(coupon);
  std::string out = fmt::format(
      "# A coupon of {} patches, {:.6g} x {:.6g} mm. Burn it, look at it, fill in the last four columns.\n"
      "# outcome: untouched, under-marked, marked or over-burned. width: of a single line's mark. depth: of "
      "what is gone.\n"
      "# date =\n",
      coupon.slots.size(), 1e3 * coupon.width, 1e3 * coupon.height);
  out += kHeader;
  const std::string ink = setting(coupon.ink, coupon.ground);
  for (int which = 0; which < 4; ++which)
    out += fmt::format("corner,,{},{},,,,\n", ink, place(corner_mark(coupon, which)));
  if (coupon.letters > 0) out += fmt::format("letters,,{},,,,{:.12g},,,,\n", ink, 1e3 * coupon.letters);
  for (const Slot& slot : coupon.slots)
    out += fmt::format("patch,{},{},{},,,,\n", slot.number, setting(slot.patch, coupon.ground),
                       place(slot.place));
  return out;
}

void write_table(const std::string& path, const Coupon& coupon) {
  quantity::write_whole(path, table(coupon));
}

Coupon parse_coupon(std::string_view text, const std::string& name) {
  const Cells cells = read_cells(text, name);
  return TableReader(cells).read();
}

Coupon read_coupon(const std::string& path) {
  return parse_coupon(job::read_text(path), path);
}

}  // namespace circumfluence::calibration
