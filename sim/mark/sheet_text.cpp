// The words of the set-up sheet: its figures, by what is done with them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "mark/set_up.h"
#include "mark/verdict.h"
#include "quantity/constants.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using quantity::kPi;
using Rows = std::vector<std::pair<std::string, std::string>>;

constexpr size_t kMostBands = 6;
constexpr double kSame = 5e-4;  // [1] of a length, from which two count as different
constexpr double kFaint = 15;   // CIE L* below which marks are hard to read: common practice, no source

bool given(double value) {
  return !std::isnan(value);
}

std::string mm(double length, int digits = 4) {
  return format(std::abs(length) < 5e-10 ? 0.0 : length, "mm", digits);
}

std::string lacking(const char* key) {
  return fmt::format("not stated: {}", key);
}

std::string stated(double value, const char* key, const std::string& words) {
  return given(value) ? words : lacking(key);
}

// "40.25 steps/mm"
std::string per_mm(double steps, int digits = 7) {
  return fmt::format("{:.{}g} steps/mm", quantity::in_unit(steps, "1/mm"), digits);
}

std::string measured(const motion::Measure& gap) {
  const std::string spread = gap.spread > 0 ? fmt::format(", give or take {}", mm(gap.spread, 2)) : "";
  if (std::abs(gap.value) < 5e-7) return "closes" + spread;
  return fmt::format("{} {}{}", gap.value > 0 ? "open by" : "overlaps by", mm(std::abs(gap.value), 3),
                     spread);
}

std::string part_words(const SetUp& sheet) {
  const workpiece::Part& part = sheet.job.workpiece;
  const double widest = 2 * workpiece::Profile(part).greatest_radius();
  constexpr const char* kShape[] = {"straight", "tapered", "stepped", "curved"};
  return fmt::format("{}, {}{} across, {} long, wall {}{}", kShape[int(part.shape)],
                     part.shape == workpiece::Shape::straight ? "" : "up to ", mm(widest), mm(part.length),
                     mm(part.wall), part.behind == workpiece::Behind::water ? ", filled with water" : "");
}

Rows job_rows(const SetUp& sheet) {
  const job::Job& job = sheet.job;
  Rows out = {{"part", part_words(sheet)}};
  out.push_back({"surface", sheet.coat.empty()
                                ? sheet.base + ", bare"
                                : fmt::format("{}, {}, on {}", sheet.coat,
                                              format(job.workpiece.coat_thickness, "um", 3), sheet.base)});
  out.push_back({"laser", fmt::format("{}, {} rated", format(job.laser.wavelength, "nm", 5),
                                      format(job.laser.rated_power, "W", 4))});
  out.push_back(
      {"burn", fmt::format("{}{} ({}) at {}", sheet.raster ? "" : "mostly ", format(sheet.power, "W", 4),
                           format(sheet.power / job.laser.rated_power, "%", 4),
                           format(job.scan.speed, "mm/min", 5))});
  if (!sheet.raster) {
    out.push_back({"path", job.path.file});
    return out;
  }
  out.push_back({"lines", fmt::format("{} {}, {} apart, {}, {} pass{}", sheet.raster->lines,
                                      sheet.raster->direction == motion::Direction::axial ? "along the axis"
                                                                                          : "around the part",
                                      mm(job.scan.spacing), job.scan.two_way ? "both ways" : "one way",
                                      job.scan.passes, job.scan.passes == 1 ? "" : "es")});
  return out;
}

std::string drive_words(const motion::Rotary& rotary) {
  if (rotary.drive == motion::Drive::chuck) return "chuck: the part turns with the output";
  return fmt::format(
      "two rollers, {}; {}",
      stated(rotary.roller_diameter, "rotary.roller_diameter", mm(rotary.roller_diameter) + " across"),
      stated(rotary.roller_gap, "rotary.roller_gap", mm(rotary.roller_gap) + " free between them"));
}

std::string set_words(const SetUp& sheet) {
  const double set = sheet.job.rotary.set_steps;
  if (!given(set)) return lacking("rotary.set_steps");
  const auto& steps = sheet.turning->steps;
  if (!steps) return per_mm(set);
  return per_mm(set) + (!set_wrong(sheet) ? ": right for this part"
                                          : fmt::format(": arcs come out {:.4g} times as long as drawn",
                                                        set / steps->exact));
}

Rows step_rows(const SetUp& sheet) {
  const motion::Rotary& rotary = sheet.job.rotary;
  Rows out = {{"held by", drive_words(rotary)}};
  const auto& steps = sheet.turning->steps;
  if (steps) {
    const bool chuck = rotary.drive == motion::Drive::chuck;
    out.push_back(
        {"travel per turn", fmt::format("{} of surface a turn of the {}, {:.8g} steps", mm(steps->travel, 6),
                                        chuck ? "chuck" : "rollers", steps->a_turn)});
    out.push_back({"one step", fmt::format("{} of surface", format(steps->smallest, "um", 4))});
    out.push_back({"set for this part",
                   fmt::format("{} (exactly {})", per_mm(steps->stored), per_mm(steps->exact, 9))});
    if (sheet.job.has_path() && sheet.job.path.turn == motion::AxisWord::a)
      out.push_back({"for A in degrees",
                     fmt::format("{:.7g} steps a degree", steps->exact * kPi * sheet.turning->jogged / 360)});
  } else {
    out.push_back({"set for this part", lacking("rotary.motor_steps, microsteps, reduction")});
  }
  const bool slips = steps && rotary.slip > 0;
  if (slips)
    out.push_back({"or, for the slip",
                   fmt::format("{} makes up for {} of slip", per_mm(steps->stored / (1 - rotary.slip), 6),
                               format(rotary.slip, "%", 3))});
  out.push_back({"set now", set_words(sheet)});
  out.push_back(
      {"put back afterwards", given(rotary.flat_steps)
                                  ? per_mm(rotary.flat_steps) + " for the flat bed"
                                  : "write it here first: ______ (" + lacking("rotary.flat_steps") + ")"});
  return out;
}

// "0.95", or "0.95 to 1.05" from end to end of a taper.
std::string range(double from, double to) {
  return std::abs(from / to - 1) < kSame ? fmt::format("{:.4g}", from)
                                         : fmt::format("{:.4g} to {:.4g}", from, to);
}

std::string end_raised(const SetUp& sheet, double level) {
  const motion::End up = level > 0 ? motion::End::end : motion::End::start, mouth = sheet.job.mount.mouth;
  return mouth == motion::End::unstated ? (level > 0 ? "end" : "start") : mouth == up ? "mouth" : "base";
}

void add_band(const SetUp& sheet, const motion::Band& band, Rows& out) {
  const double driven = band.radius * band.scale_around;
  const bool same = std::abs(band.around_from - 1) < kSame && std::abs(band.around_to - 1) < kSame;
  std::string words =
      fmt::format("diameter {} mm: ", range(2e3 * driven / band.around_from, 2e3 * driven / band.around_to));
  words += same ? "as drawn"
                : fmt::format("arcs come out {} times as drawn; draw them {} times",
                              range(1 / band.around_from, 1 / band.around_to),
                              range(band.around_from, band.around_to));
  if (std::abs(band.level) > 1e-6) {
    // Rollers are tilted by what its lie on level ones takes as well.
    const auto& seat = sheet.turning->seat;
    const double level = band.level - (seat ? seat->tilt : 0);
    words += fmt::format(", lengths {:.4g} times; level with {} up by {}", band.scale_axial,
                         (seat ? "the rollers below its " : "its ") + end_raised(sheet, level),
                         format(std::abs(level), "deg", 3));
  }
  out.push_back({fmt::format("{} to {}", mm(band.from), mm(band.to)), words});
}

void add_bands(const SetUp& sheet, Rows& out) {
  const size_t shown = std::min(sheet.bands.size(), kMostBands);
  for (size_t i = 0; i < shown; ++i) add_band(sheet, sheet.bands[i], out);
  if (shown < sheet.bands.size())
    out.push_back(
        {"", fmt::format("and {} more: circumfluence rotary lists them", sheet.bands.size() - shown)});
}

Rows round_rows(const SetUp& sheet) {
  Rows out;
  const Turning& t = *sheet.turning;
  out.push_back(
      {"circumference", fmt::format("{} driven (diameter {})", mm(kPi * t.driven, 6), mm(t.driven, 5))});
  if (std::abs(t.here / t.driven - 1) > kSame)
    out.push_back(
        {"", fmt::format("{} where the focus is set (diameter {})", mm(kPi * t.here, 6), mm(t.here, 5))});
  out.push_back({"art", fmt::format("{} along, {} around", mm(sheet.art.axial_to - sheet.art.axial_from),
                                    mm(sheet.art.around_to - sheet.art.around_from))});
  add_bands(sheet, out);
  if (set_wrong(sheet))
    out.push_back(
        {"once set right",
         fmt::format("draw arcs {:.4g} times what stands above: put rotary.set_steps = \"{:.7g} 1/mm\" "
                     "into the job, and make sheet and art anew",
                     sheet.job.rotary.set_steps / t.steps->stored,
                     quantity::in_unit(t.steps->stored, "1/mm"))});
  if (t.seat && std::abs(t.seat->tilt) > 1e-6)
    out.push_back({"lies", fmt::format("on {}, axis tilted by {}; creeps up to {} a turn: give it a stop",
                                       place(sheet, t.seat->contact), format(t.seat->tilt, "deg", 3),
                                       mm(t.seat->walk, 3))});
  if (t.seam) out.push_back({"seam of the full turn", measured(t.seam->sum)});
  return out;
}

Rows standing_rows(const SetUp& sheet) {
  return {{"art", fmt::format("{} along, {} across", mm(sheet.art.axial_to - sheet.art.axial_from),
                              mm(sheet.art.around_to - sheet.art.around_from))},
          {"stretch",
           fmt::format("arcs come out {:.4g} times as drawn at the art's outer edges", sheet.edge_stretch)}};
}

Rows polarity_rows(const SetUp& sheet) {
  if (!sheet.polarity) return {{"marks", "lighter or darker: the records state no colours"}};
  const Polarity& p = *sheet.polarity;
  const bool lighter = p.marked > p.ground, dark = sheet.job.artwork.burns == artwork::Burns::dark;
  Rows out = {{"marks", fmt::format("{} than the ground: L* {:.0f} to {:.0f}, colour difference {:.0f}{}",
                                    lighter ? "lighter" : "darker", p.ground, p.marked, p.difference,
                                    std::abs(p.marked - p.ground) < kFaint ? "; hard to read" : "")}};
  if (sheet.job.artwork.file.empty()) return out;  // a tool path
  out.push_back({"burnt", fmt::format("what is {} in the picture", dark ? "dark" : "light")});
  out.push_back({"reads", p.inverts ? "as a negative: invert the picture if its dark should stay dark"
                                    : "as drawn: dark stays dark"});
  return out;
}

Rows time_rows(const SetUp& sheet) {
  if (!sheet.raster) return {{"in all", clock(sheet.duration)}};
  const motion::Raster& r = *sheet.raster;
  return {{"in all", fmt::format("{} for {} lines", clock(r.duration), r.lines * r.passes)},
          {"each line", fmt::format("{}, then {} to turn round", format(r.sweep.duration(), "s", 3),
                                    format(r.turn_round, "s", 3))}};
}

std::string margins(const TubeTrial& trial) {
  const std::string through = std::isfinite(trial.burns)
                                  ? fmt::format("burns through from {:.2g} times it", trial.burns)
                                  : "never burns through";
  return fmt::format("marks from {:.2g} times this power on, {}", trial.marks, through);
}

Rows trial_rows(const SetUp& sheet) {
  const TubeTrial& t = sheet.trial;
  Rows out = {
      {"tube", fmt::format("card, {} across, wall {}, as long as the part", mm(t.diameter), mm(t.wall, 3))}};
  if (!t.job) {
    out.push_back({"settings", "none: " + t.why});
    return out;
  }
  out.push_back({"settings", fmt::format("{} ({}) at {}, lines as in the job", format(t.power, "W", 3),
                                         format(t.power / sheet.job.laser.rated_power, "%", 3),
                                         format(t.speed, "mm/min", 4))});
  out.push_back({"predicted", margins(t)});
  out.push_back({"in all", clock(t.duration)});
  return out;
}

Rows lacking_rows(const SetUp& sheet) {
  Rows out;
  for (const Lacking& one : sheet.lacking) {
    const auto same =
        std::find_if(out.begin(), out.end(), [&](const auto& row) { return row.second == one.gives; });
    if (same == out.end())
      out.push_back({one.key, one.gives});
    else
      same->first += ", " + one.key.substr(same->first.starts_with(one.key.substr(0, one.key.find('.') + 1))
                                               ? one.key.find('.') + 1
                                               : 0);
  }
  return out;
}

}  // namespace

bool set_wrong(const SetUp& sheet) {
  if (!sheet.turning || !sheet.turning->steps || !given(sheet.job.rotary.set_steps)) return false;
  return std::abs(sheet.job.rotary.set_steps / sheet.turning->steps->exact - 1) >= kSame;
}

std::vector<Block> blocks(const SetUp& sheet) {
  std::vector<Block> out = {{"Job", job_rows(sheet)}};
  if (sheet.turning) {
    out.push_back({"Rotary steps", step_rows(sheet)});
    out.push_back(
        {given(sheet.job.rotary.set_steps) ? "Round the part, with the steps now set" : "Round the part",
         round_rows(sheet)});
  } else {
    out.push_back({"Across the part", standing_rows(sheet)});
  }
  out.push_back(height_block(sheet));
  out.push_back(start_block(sheet));
  out.push_back({"Light or dark", polarity_rows(sheet)});
  out.push_back({"Time", time_rows(sheet)});
  out.push_back({"Trial on a card tube", trial_rows(sheet)});
  if (!sheet.lacking.empty()) out.push_back({"Not stated in the job", lacking_rows(sheet)});
  return out;
}

}  // namespace circumfluence::mark
