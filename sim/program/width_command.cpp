// circumfluence width JOB.toml
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/scene.h"
#include "quantity/unfinished_file.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/width.h"

namespace circumfluence::program {
namespace {

using quantity::format;
using window::Strip;
using window::Width;

struct Options {
  std::string job, motif, overlap, table;
  window::WidthLimits limits;
  bool json = false;
};

std::string ends(const window::Station& station) {
  std::string out = fmt::format("ended by {} {} from the top", window::kBoundNames[int(station.bound())],
                                format(station.half_width(), "mm", 4));
  const char* before = " (";
  for (int i = 0; i < 3; ++i)
    if (i != int(station.bound()) && std::isfinite(station.by[i])) {
      out += fmt::format("{}{} at {}", before, window::kBoundNames[i], format(station.by[i], "mm", 4));
      before = ", ";
    }
  return out + (*before == ',' ? ")" : "");
}

std::string text(const Strip& strip) {
  if (!(strip.half_width() > 0)) return "nothing: " + strip.why;
  return fmt::format("{}, {}", format(2 * strip.half_width(), "mm", 4), ends(strip.limiting()));
}

std::string stations(const Strip& strip) {
  std::string out;
  if (strip.stations.size() > 1)
    for (const window::Station& s : strip.stations)
      out += fmt::format("station    {} along, diameter {}: {}, {}{}\n", format(s.axial, "mm", 4),
                         format(2 * s.radius, "mm", 4), format(2 * s.half_width(), "mm", 4), ends(s),
                         &s == &strip.limiting() ? "; this is the narrowest" : "");
  return out;
}

std::string gap(double width) {
  if (std::isinf(width)) return "an edge beside the part";
  return fmt::format("{} {}", width < 0 ? "overlap" : "gap", format(std::abs(width), "um", 3));
}

std::string joints(const Width& width) {
  const window::Joint& joint = width.joint;
  const window::SetupErrors& errors = width.limits.errors;
  return fmt::format(
      "joints     {} without pre-distorted art; with it {} from a diameter entered {} too large, {} "
      "with the axis {} aside, {} when each turn is {} too far\n",
      gap(joint.plain), gap(joint.diameter), format(errors.diameter, "mm", 3), gap(joint.offset),
      format(errors.offset, "mm", 3), gap(joint.index), format(errors.index, "deg", 3));
}

std::string motif(const Width& width) {
  const window::Turns& turns = width.turns;
  const std::string arc = format(width.motif, "mm", 4);
  if (turns.count == 0) return fmt::format("motif      {} around: no number of strips covers it\n", arc);
  if (turns.count == 1) return fmt::format("motif      {} around: one strip holds it\n", arc);
  return fmt::format("motif      {} around: {} strips of {}, {} apart\n", arc, turns.count,
                     format(turns.strip, "mm", 4), format(turns.index, "deg", 6)) +
         joints(width);
}

std::string text(const Width& width) {
  const Strip& best = width.best;
  std::string out = fmt::format("as set     {}\n", text(width.set));
  if (best.focus_offset == width.set.focus_offset)
    out += "best       no other focus makes it wider\n";
  else
    out += fmt::format("best       scan.focus_offset = \"{}\": {}\n", format(best.focus_offset, "mm"),
                       text(best));
  out += stations(best);
  if (!width.table.empty()) {
    const window::ArcRow& edge = width.table.back();
    out += fmt::format(
        "edge       arc {}, {} below the top, stretch {:.4g}, spot within {:.4g} times its waist\n",
        format(edge.arc, "mm", 4), format(edge.drop, "mm", 4), edge.stretch, best.growth);
  }
  return out + motif(width);
}

std::string json(const window::Station& s) {
  return fmt::format(
      R"({{"axial": {}, "radius": {}, "slope": {}, "half_width": {}, "half_angle": {}, "limit": "{}", )"
      R"("chance": {}, "growth": {}, "stretch": {}}})",
      mark::json_number(s.axial), mark::json_number(s.radius), mark::json_number(s.slope), mark::json_number(s.half_width()), mark::json_number(s.half_angle()),
      window::kBoundNames[int(s.bound())], mark::json_number(s.by[0]), mark::json_number(s.by[1]), mark::json_number(s.by[2]));
}

std::string json(const Strip& strip) {
  std::string stations;
  for (const window::Station& s : strip.stations) stations += (stations.empty() ? "" : ", ") + json(s);
  return fmt::format(R"({{"focus_offset": {}, "width": {}, "limit": "{}", "growth": {}, "narrowest": {}, )"
                     R"("least_angle": {}, "why": {}, "stations": [{}]}})",
                     mark::json_number(strip.focus_offset), mark::json_number(2 * strip.half_width()),
                     window::kBoundNames[int(strip.limiting().bound())], mark::json_number(strip.growth),
                     strip.narrowest, strip.least_angle, mark::json_text(strip.why), stations);
}

std::string json(const Width& width, const std::vector<std::string>& cautions) {
  const window::Turns& turns = width.turns;
  const window::Joint& joint = width.joint;
  return fmt::format(
      R"({{"set": {}, "best": {}, "motif": {}, "turns": {}, "index": {}, "strip": {}, "closed": {}, )"
      R"("joint": {{"plain": {}, "diameter": {}, "offset": {}, "index": {}}}, )"
      R"("asked_chance": {}, "notes": {}, "cautions": {}}})"
      "\n",
      json(width.set), json(width.best), mark::json_number(width.motif), turns.count, mark::json_number(turns.index),
      mark::json_number(turns.strip), turns.closed, mark::json_number(joint.plain), mark::json_number(joint.diameter), mark::json_number(joint.offset),
      mark::json_number(joint.index), width.asked_chance, mark::json_list(width.notes), mark::json_list(cautions));
}

// What the curve alone would allow, for settings that are not safe enough anywhere.
void print_geometry(const mark::Scene& scene, const window::WidthLimits& limits) {
  const Strip strip = window::usable_width(scene, limits).best;
  if (strip.half_width() > 0)
    fmt::print("curve      by growth and stretch alone, scan.focus_offset = \"{}\": {}. Settings first: circumfluence window\n",
               format(strip.focus_offset, "mm"), text(strip));
}

void run(Options options) {
  if (!options.motif.empty()) options.limits.motif = quantity_of("--motif", options.motif, "mm");
  if (!options.overlap.empty()) options.limits.overlap = quantity_of("--overlap", options.overlap, "mm");
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const Width width = window::usable_width(scene, options.limits, window::standing_chance(scene, options.limits));
  const bool tabled = !options.table.empty() && !width.table.empty();
  if (tabled) quantity::write_whole(options.table, window::comma_separated(width.table));
  const std::vector<std::string> cautions = mark::cautions(scene);
  if (options.json) {
    fmt::print("{}", json(width, cautions));
    return;
  }
  fmt::print("{}", text(width));
  if (width.asked_chance && !(width.best.half_width() > 0)) print_geometry(scene, options.limits);
  if (!options.table.empty())
    fmt::print("table      {}\n", tabled ? options.table : "none written, for want of a strip");
  for (const std::string& note : width.notes) fmt::print("note       {}\n", note);
  for (const std::string& caution : cautions) fmt::print("caution    {}\n", caution);
}

}  // namespace

void add_width(CLI::App& app) {
  auto options = std::make_shared<Options>();
  window::WidthLimits& limits = options->limits;
  CLI::App* command = app.add_subcommand(
      "width", "How wide art may be on a part that stands still, and where to set the focus for it");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--growth", limits.growth, "Most that the spot may grow, times its waist")
      ->capture_default_str()
      ->check(CLI::Range(1.0, 1000.0));
  command->add_option("--stretch", limits.stretch, "Most that the curve may stretch the art")
      ->capture_default_str()
      ->check(CLI::Range(1.0, 100.0));
  command->add_option("--chance", limits.chance, "Least chance that an even fill comes out marked")
      ->capture_default_str()
      ->check(CLI::Range(0.0, 1.0));
  command->add_option(
      "--motif", options->motif,
      "Arc to cover in strips, the part turned between them: \"120 mm\"; if absent, the art's");
  command->add_option("--overlap", options->overlap, "Arc by which strips overlap: \"0.1 mm\"");
  command->add_option("--table", options->table, "Where the table that pre-distorts art goes (CSV)");
  command->add_flag("--json", options->json, "Print the answer as JSON, in SI units");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
