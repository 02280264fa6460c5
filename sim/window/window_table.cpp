// A window as a table.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "quantity/unfinished_file.h"
#include "quantity/error.h"
#include "window/window.h"

namespace circumfluence::window {
namespace {

constexpr std::string_view kHeader =
    "power [W],speed [mm/min],spacing [mm],focus offset [mm],passes,begins [W],centre [W],marks [W],burns "
    "[W],"
    "least factor [1],greatest factor [1],outcome,time [s],chance marks [1],chance spares [1],chance good "
    "[1]\n";

// One solution, that is all powers at a speed with a fill.
struct Solution {
  double speed;
  Fill fill;
  const Ends& ends;
  double duration;
  const Outlook* outlook;
};

std::string rows(const std::vector<double>& powers, const Solution& at) {
  const Ends& e = at.ends;
  const std::string middle = fmt::format("{:.9g},{:.9g},{:.9g},{},{:.9g},{:.9g},{:.9g},{:.9g}",
                                         60e3 * at.speed, 1e3 * at.fill.spacing, 1e3 * at.fill.focus_offset,
                                         at.fill.passes, e.begins, e.centre, e.marks, e.burns);
  std::string out;
  for (const double power : powers) {
    auto end = std::back_inserter(out);
    fmt::format_to(end, "{:.9g},{},{:.9g},{:.9g},{},{:.9g},", power, middle, e.marks / power, e.burns / power,
                   response::kOutcomeNames[int(ruling(e, power))], at.duration);
    if (at.outlook != nullptr) {
      const Chances chances = at.outlook->at(power);
      fmt::format_to(end, "{:.6f},{:.6f},{:.6f}\n", chances.marks, chances.spares, chances.good);
    } else {
      out += ",,\n";
    }
  }
  return out;
}

}  // namespace

void write_table(const std::string& path, const Window& window, std::span<const Outlook> outlooks,
                 const quantity::Progress& progress) {
  const Axes& axes = window.axes;
  const size_t solutions = axes.solutions();
  if (window.ends.size() != solutions || window.duration.size() != solutions ||
      (!outlooks.empty() && outlooks.size() != solutions))
    throw quantity::ValidityError(fmt::format(
        "table of a window: ends = {}, durations = {}, outlooks = {} (expected one a solution, {})",
        window.ends.size(), window.duration.size(), outlooks.size(), solutions));
  quantity::UnfinishedFile file(path);
  std::uint64_t written = 0;
  const auto write = [&](std::string_view text) {
    file.write_at(written, text.data(), text.size());
    written += text.size();
  };
  write(kHeader);
  size_t i = 0;
  for (const double spacing : axes.spacing)
    for (const double focus_offset : axes.focus_offset)
      for (const int passes : axes.passes)
        for (const double speed : axes.speed) {
          if (progress && !progress(double(i) / double(solutions))) throw quantity::Interrupted();
          write(rows(axes.power, {speed,
                                  {spacing, focus_offset, passes},
                                  window.ends[i],
                                  window.duration[i],
                                  outlooks.empty() ? nullptr : &outlooks[i]}));
          ++i;
        }
  file.publish();
}

}  // namespace circumfluence::window
