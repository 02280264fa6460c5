// circumfluence window JOB.toml
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "window/recommend.h"

namespace circumfluence::program {
namespace {

using quantity::format;
using quantity::part;
using quantity::Progress;
using window::Fill;
using window::Outlook;
using window::Setting;
using window::Window;

struct Options {
  std::string job, folder = ".", table;
  std::optional<std::string> power, speed, spacing, focus_offset, passes;
  window::Wish wish;
  window::Draws draws;
  bool cold_wall = false, rank = false, no_picture = false, json = false, many = false;
};

window::Axes axes_of(const job::Job& job, const Options& options) {
  window::Axes axes = window::axes_of(job);
  const auto set = [&](std::vector<double>& axis, const std::optional<std::string>& text,
                       const Range& range) {
    if (text) axis = values(job, range, *text);
  };
  set(axes.power, options.power, {"--power", "W", "0.5 W:10 W:60", ""});
  set(axes.speed, options.speed, {"--speed", "mm/min", "500 mm/min:8000 mm/min:60", "scan.speed", true});
  set(axes.spacing, options.spacing, {"--spacing", "mm", "0.05 mm:0.2 mm:7", "scan.spacing"});
  set(axes.focus_offset, options.focus_offset, {"--focus-offset", "mm", "-2 mm:2 mm:5", "scan.focus_offset"});
  if (options.passes)
    axes.passes = whole_values(job, {"--passes", "1", "1:3", "scan.passes"}, *options.passes);
  if (!options.many && axes.settings() > window::kManySettings)
    throw quantity::JobError(
        fmt::format("{} settings are asked for (expected at most {}). Ask for fewer, or say --many",
                    axes.settings(), window::kManySettings));
  return axes;
}

// All that is found, before anything is written.
struct Answer {
  mark::Scene scene;
  Setting set{};        // the job's own
  window::Ends ends{};  // its own
  Window window{};
  std::vector<Outlook> outlooks{};  // by solution
  Window shown{};                   // the picture's one fill, and its outlooks
  std::vector<Outlook> shown_outlooks{};
  window::Recommendation recommendation{};
  window::Ranking ranking{};
  std::vector<std::string> notes{};
};

void look_at_the_job(Answer& answer, const window::Doubt& doubt, const Options& options) {
  const mark::Scene& scene = answer.scene;
  const double power = scene.power(), speed = scene.job.scan.speed;
  const Fill fill = window::fill_of(scene.job);
  const window::Place place = window::place_of(scene, fill);
  std::vector<window::WallRise> walls;
  if (!options.cold_wall) walls = window::wall_rises(scene, fill, {&speed, 1});
  const Outlook outlook = doubt.over(place, {&speed, 1}, walls).front();
  answer.ends = window::ends(scene, place, {&speed, 1}, walls, options.draws.threads).front();
  const double duration = window::durations(scene, fill, {&speed, 1}).front();
  answer.set = window::appraised({.power = power, .speed = speed, .fill = fill, .duration = duration}, outlook, options.wish,
                                 scene.job.laser.rated_power);
}

// What is asked of the job but not stated.
std::vector<std::string> exact(const job::Job& job) {
  std::vector<std::string> out;
  const auto add = [&](double spread, const char* what, const char* key) {
    if (std::isnan(spread)) out.push_back(fmt::format("The {} is taken as exact; state {}.", what, key));
  };
  add(job.laser.power_spread, "power that arrives", "laser.power_spread");
  add(job.laser.spot_spread, "size of the spot", "laser.spot_spread");
  if (!job.workpiece.coat.empty())
    add(job.workpiece.coat_spread, "thickness of the coat", "workpiece.coat_spread");
  add(job.mount.height_spread, "height of the focus", "mount.height_spread");
  return out;
}

template <class Value>
std::vector<Value> piece(const std::vector<Value>& all, size_t first, size_t count) {
  if (all.empty()) return {};
  return {all.begin() + long(first), all.begin() + long(first + count)};
}

// The fill that is recommended, else the safest.
void choose_shown(Answer& answer) {
  const window::Recommendation& found = answer.recommendation;
  const Fill fill = found.fastest ? found.fastest->fill : found.trade.back().fill;
  const Window& all = answer.window;
  const auto place = [](const auto& axis, auto value) {
    return size_t(std::find(axis.begin(), axis.end(), value) - axis.begin());
  };
  const size_t count = all.axes.speed.size();
  const size_t first =
      all.axes.index(place(all.axes.spacing, fill.spacing), place(all.axes.focus_offset, fill.focus_offset),
                     place(all.axes.passes, fill.passes), 0);
  answer.shown = {{all.axes.power, all.axes.speed, {fill.spacing}, {fill.focus_offset}, {fill.passes}},
                  piece(all.ends, first, count),
                  piece(all.duration, first, count),
                  piece(all.walls, first, count)};
  answer.shown_outlooks = piece(answer.outlooks, first, count);
}

Answer answer_to(const Options& options, const Progress& all) {
  if (!options.no_picture && !std::filesystem::is_directory(options.folder))
    throw quantity::FileError(options.folder, "cannot write (no such folder)");
  const job::Job job = job::read_job(options.job);
  Answer out{.scene = mark::prepare(job)};
  const window::Axes axes = axes_of(out.scene.job, options);
  if (!all(0)) throw quantity::Interrupted();
  const window::Doubt doubt(out.scene, options.draws);
  look_at_the_job(out, doubt, options);
  const Progress first = part(all, 0, 0.2);
  out.window =
      window::window(out.scene, axes, {!options.cold_wall, options.many, options.draws.threads, first});
  out.outlooks = window::outlooks(doubt, out.window, part(all, 0.2, 0.6));
  out.recommendation = window::recommend(doubt, out.window, out.outlooks, options.wish, part(all, 0.6, 0.75));
  if (!options.no_picture && axes.speed.size() > 1) choose_shown(out);
  if (options.rank)
    out.ranking = window::rank(out.scene, window::place_of(out.scene, out.set.fill), options.draws,
                               part(all, 0.75, 0.99));
  out.notes = exact(job);
  return out;
}

bool same(const Fill& a, const Fill& b) {
  return std::abs(a.spacing - b.spacing) < 1e-9 && std::abs(a.focus_offset - b.focus_offset) < 1e-9 &&
         a.passes == b.passes;
}

std::string of_materials(const mark::Scene& scene) {
  if (!scene.coat) return scene.base.title;
  return fmt::format("{} of {}, on {}", format(scene.job.workpiece.coat_thickness, "um", 3),
                     scene.coat->title, scene.base.title);
}

std::string subtitle(const Answer& answer, const Fill& fill, const std::string& more) {
  const beam::Laser& laser = answer.scene.job.laser;
  return fmt::format("An even fill of {}; {}; light of {}, spot {} by {}; {}", window::text(fill),
                     of_materials(answer.scene), format(laser.wavelength, "nm", 4),
                     format(laser.spot_axial, "um", 3), format(laser.spot_around, "um", 3), more);
}

window::WindowPicture picture_of(const Answer& answer, const Options& options, const std::string& name) {
  const window::Axes& axes = answer.shown.axes;
  const Fill fill{axes.spacing.front(), axes.focus_offset.front(), axes.passes.front()};
  const char* wall = options.cold_wall ? "wall taken as cold" : "warmed by its earlier lines";
  window::WindowPicture out{.title = "Process window of " + name,
                            .subtitle = subtitle(answer, fill, wall),
                            .outlooks = answer.shown_outlooks,
                            .chance_marks = options.wish.marks,
                            .chance_burns = options.wish.burns};
  const Setting& set = answer.set;
  if (same(set.fill, fill)) out.marks.push_back({set.power, set.speed, "as set"});
  if (const auto& fastest = answer.recommendation.fastest)
    out.marks.push_back({fastest->power, fastest->speed, "fastest that is safe enough"});
  return out;
}

// The files that were written.
std::vector<std::string> draw(const Answer& answer, const Options& options) {
  std::vector<std::string> out;
  const std::filesystem::path name = std::filesystem::path(options.job).stem();
  const std::string stem = (std::filesystem::path(options.folder) / name).string();
  if (!answer.shown.ends.empty()) {
    out.push_back(stem + ".window.png");
    window::write_picture(out.back(), answer.shown, picture_of(answer, options, name.string()));
  }
  if (options.no_picture) return out;
  const std::string more = "as the job sets it, wall taken as cold";
  for (const auto& [end, word] :
       {std::pair{window::End::marks, "marks"}, std::pair{window::End::burns, "burns"}}) {
    const std::string path = fmt::format("{}.rank-{}.png", stem, word);
    if (window::write_ranking(path, answer.ranking, end, subtitle(answer, answer.set.fill, more)))
      out.push_back(path);
  }
  return out;
}

std::string text(const Answer& answer, const Options& options) {
  const Setting& set = answer.set;
  const window::Ends& ends = answer.ends;
  const auto from = [&](double end) {
    return std::isinf(end) ? "at no power"
                           : fmt::format("from {} ({:.3g} times)", format(end, "W", 3), end / set.power);
  };
  std::string out = fmt::format(
      "as set     an even fill {}; by the bare records it marks {}, over-burns {}\n",
      mark::kRulingNames[int(window::ruling(ends, set.power))], from(ends.marks), from(ends.burns));
  out += window::text(answer.scene, set) + "\n";
  out += window::text(answer.scene, answer.recommendation, options.wish);
  if (const std::string trade = window::trade_text(answer.recommendation); !trade.empty())
    out += "\n" + trade;
  if (options.rank) out += "\n" + window::text(answer.ranking);
  return out + "\n";
}

std::string json(const Answer& answer, const Options& options) {
  const window::Ends& e = answer.ends;
  std::string found = window::json(answer.recommendation, options.wish);
  while (found.ends_with('\n')) found.pop_back();
  return fmt::format(
      "{{\"set\": {}, \"begins\": {}, \"centre\": {}, \"marks\": {}, \"burns\": {}, \"ruling\": {}, "
      "\"recommendation\": {}, \"ranking\": {}, \"notes\": {}, \"cautions\": {}}}\n",
      window::json(answer.set), mark::json_number(e.begins), mark::json_number(e.centre),
      mark::json_number(e.marks), mark::json_number(e.burns),
      mark::json_text(mark::kRulingNames[int(window::ruling(e, answer.set.power))]), found,
      options.rank ? window::json(answer.ranking) : "null", mark::json_list(answer.notes),
      mark::json_list(mark::cautions(answer.scene)));
}

void run(const Options& options) {
  watch_interrupts();
  const Progress all = watched_progress();
  const Answer answer = answer_to(options, all);
  if (!options.table.empty())
    window::write_table(options.table, answer.window, answer.outlooks, part(all, 0.99, 1));
  all(1);
  const std::vector<std::string> drawn = draw(answer, options);
  if (options.json) {
    fmt::print("{}", json(answer, options));
    return;
  }
  fmt::print("{}", text(answer, options));
  for (const std::string& note : answer.notes) fmt::print("note       {}\n", note);
  for (const std::string& caution : mark::cautions(answer.scene)) fmt::print("caution    {}\n", caution);
  for (const std::string& picture : drawn) fmt::print("picture    {}\n", picture);
  if (!options.table.empty()) fmt::print("table      {}\n", options.table);
}

}  // namespace

void add_window(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("window", "How power and speed end: the process window, chances, and what to set");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--power", options->power, "Powers, low:high:count: \"0.5 W:10 W:60\"");
  command->add_option("--speed", options->speed,
                      "Speeds: \"500 mm/min:8000 mm/min:60\", evenly in the logarithm");
  command->add_option("--spacing", options->spacing, "Distances between lines: \"0.05 mm:0.2 mm:7\"");
  command->add_option("--focus-offset", options->focus_offset, "Heights of the focus: \"-2 mm:2 mm:5\"");
  command->add_option("--passes", options->passes, "Numbers of passes: \"1:3\"");
  command->add_option("--marks", options->wish.marks, "Least chance of marking")
      ->capture_default_str()
      ->check(CLI::Range(0.0, 1.0));
  command->add_option("--burns", options->wish.burns, "Greatest chance of over-burning")
      ->capture_default_str()
      ->check(CLI::Range(0.0, 1.0));
  command
      ->add_option("--draws", options->draws.count, "Draws of what is not known exactly, best a power of two")
      ->capture_default_str()
      ->check(CLI::Range(2, 1000000));
  command->add_option("--seed", options->draws.seed, "Which draws")->capture_default_str();
  command->add_flag("--cold-wall", options->cold_wall,
                    "Leave out the heat that earlier lines leave in the wall");
  command->add_flag("--rank", options->rank, "Say which unknowns matter most");
  command->add_option("--folder", options->folder, "Where pictures go")->capture_default_str();
  command->add_flag("--no-picture,--no-pictures", options->no_picture, "Draw no pictures");
  command->add_option("--table", options->table, "Where a table of all settings goes (CSV)");
  command->add_flag("--json", options->json, "Print the answer as JSON, in SI units");
  command->add_flag("--many", options->many, "Allow more than a million settings");
  command->add_option("--threads", options->draws.threads, "Threads; 0 means all")
      ->check(CLI::Range(0, 1024));
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
