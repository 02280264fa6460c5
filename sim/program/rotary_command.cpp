// circumfluence rotary JOB.toml
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "job/job_file.h"
#include "mark/set_up.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using motion::Measure;
using quantity::format;

struct Options {
  std::string job, asked, got, reading = "0.2 mm", round, tape = "0 mm", askew = "0 deg";
  std::vector<std::string> across, seam_shifts, two_way_shifts;
  int turns = 1, decimals = 3;
};

using Read = double (*)(const char* option, const std::string& text, const char* like);
std::vector<double> lengths_of(const char* option, const std::vector<std::string>& texts, Read read) {
  std::vector<double> out;
  for (const std::string& text : texts) out.push_back(read(option, text, "mm"));
  return out;
}

std::string text(const Measure& measure, const char* unit) {
  return fmt::format("{}, give or take {}", format(measure.value, unit, 5), format(measure.spread, unit, 2));
}

// "0.12 mm open" or "0.12 mm overlap"
constexpr double kNothing = 0.5e-6;  // [m]
std::string gap(const Measure& measure) {
  const double width = std::abs(measure.value);
  const std::string spread =
      measure.spread > 0 ? fmt::format(", give or take {}", format(measure.spread, "mm", 2)) : "";
  if (width < kNothing) return "closes" + spread;
  return fmt::format("{} {}{}", format(width, "mm", 3), measure.value > 0 ? "open" : "overlap", spread);
}

// [m] of the surface that the rotary drives: where rollers touch it, in a chuck where the focus was set.
double own_diameter(const mark::Scene& scene) {
  const motion::Rotary& rotary = scene.job.rotary;
  if (rotary.drive == motion::Drive::chuck) return 2 * scene.profile.radius(scene.focus_at);
  return 2 * (std::isnan(rotary.contact) ? scene.profile.greatest_radius()
                                         : scene.profile.radius(rotary.contact));
}

// What a full turn by the part's own circumference leaves open.
void print_closure(const motion::Rotary& rotary, double diameter, int decimals) {
  const motion::Closure closure = motion::closure(rotary, {.entered = diameter, .decimals = decimals});
  fmt::print("full turn  of {}: {}", format(quantity::kPi * diameter, "mm", 6), gap(closure.sum));
  const std::pair<const char*, const Measure*> causes[] = {{"whole steps", &closure.whole_steps},
                                                           {"steps as set", &closure.set_steps},
                                                           {"slip", &closure.slip},
                                                           {"backlash", &closure.backlash}};
  for (const auto& [name, cause] : causes)
    if (std::abs(cause->value) > kNothing || cause->spread > 0) fmt::print("; {} {}", name, gap(*cause));
  fmt::print("\n");
}

void print_steps(const motion::Rotary& rotary, double diameter, int decimals) {
  if (rotary.motor_steps <= 0 || rotary.microsteps <= 0 || std::isnan(rotary.reduction)) {
    fmt::print("steps      not known (rotary.motor_steps, microsteps and reduction say)\n");
    return;
  }
  if (rotary.drive == motion::Drive::rollers && std::isnan(rotary.roller_diameter)) {
    fmt::print(
        "steps      not known (rotary.roller_diameter says: rollers turn the part by their own "
        "circumference)\n");
    return;
  }
  const motion::Steps steps = motion::steps(rotary, diameter, decimals);
  fmt::print("steps      {} a turn of the output; {} for this part, as stored {}\n",
             format(steps.a_turn, "", 8), format(steps.exact, "1/mm", 8), format(steps.stored, "1/mm", 8));
  if (!std::isnan(rotary.set_steps)) fmt::print("set        {}\n", format(rotary.set_steps, "1/mm", 8));
  if (!std::isnan(rotary.flat_steps))
    fmt::print("put back   {} for the flat axis, afterwards\n", format(rotary.flat_steps, "1/mm", 8));
  fmt::print("travel     {} of surface a turn of the output, {} a step\n", format(steps.travel, "mm", 6),
             format(steps.smallest, "um", 3));
  print_closure(rotary, diameter, decimals);
}

void print_seat(const motion::Seat& seat) {
  fmt::print("seat       axis {} above the rollers', ", format(seat.above, "mm", 4));
  if (seat.tilt == 0)
    fmt::print("level\n");
  else
    fmt::print("tilted by {}; creeps up to {} a turn where one roller alone grips\n",
               format(seat.tilt, "deg", 3), format(std::abs(seat.walk), "mm", 3));
}

// `lie`: [rad] how far the part tilts by itself, on level rollers.
void print_bands(const mark::Scene& scene, double lie) {
  const auto bands =
      motion::bands(scene.job.workpiece, scene.art.axial_from, scene.art.axial_to, scene.reference_radius);
  for (const motion::Band& band : bands) {
    fmt::print("band       {} to {}, diameter {}: art times {:.5g} around", format(band.from, "mm", 5),
               format(band.to, "mm", 5), format(2 * band.radius, "mm", 5), band.scale_around);
    if (std::abs(band.around_from - band.around_to) > 1e-9)
      fmt::print(" ({:.5g} to {:.5g} from end to end), times {:.5g} along; level when {}tilted by {}",
                 band.around_from, band.around_to, band.scale_axial, lie == 0 ? "" : "the rollers are ",
                 format(band.level - lie, "deg", 3));
    fmt::print("\n");
  }
}

void print_travel(const Options& options, double set_steps, double reading) {
  if (options.asked.empty() != options.got.empty())
    throw quantity::JobError("--asked and --got go together (a travel asked for, and what was got)");
  if (options.asked.empty()) return;
  const motion::Trial trial{above_zero("--asked", options.asked, "mm"),
                            above_zero("--got", options.got, "mm"), reading};
  const bool known = !std::isnan(set_steps);
  const motion::Correction right = motion::correction(known ? set_steps : 1.0, trial);
  fmt::print("corrected  set {}\n",
             known ? text(right.steps, "1/mm")
                   : fmt::format("{:.5g} times the steps that are set now (rotary.set_steps)",
                                 right.art_scale.value));
  fmt::print(
      "or scale   the art around by {:.5g}, where the steps cannot be changed; {:.2g} % of a travel stay "
      "open\n",
      right.art_scale.value, 100 * right.left);
}

// [1] the steps now set over the right ones of rollers, as far as both are known: they too leave a turn open.
double steps_share(const motion::Rotary& r) {
  const bool known = r.drive == motion::Drive::rollers && r.motor_steps > 0 && r.microsteps > 0 &&
                     !std::isnan(r.reduction) && !std::isnan(r.roller_diameter) && !std::isnan(r.set_steps);
  return known ? r.set_steps / motion::steps(r, r.roller_diameter).exact : 1.0;
}

void print_trials(const Options& options, const mark::Scene& scene, double diameter) {
  const double reading = at_least_zero("--reading", options.reading, "mm");
  if (!options.round.empty()) {
    const motion::Wrapped wrapped{.length = above_zero("--round", options.round, "mm"),
                                  .reading = reading,
                                  .thickness = at_least_zero("--tape", options.tape, "mm"),
                                  .askew = quantity_of("--askew", options.askew, "deg")};
    fmt::print("diameter   {} from round it\n", text(motion::diameter(wrapped), "mm"));
  }
  if (!options.across.empty())
    fmt::print("diameter   {} from across it\n",
               text(motion::diameter(lengths_of("--across", options.across, above_zero)), "mm"));
  print_travel(options, scene.job.rotary.set_steps, reading);
  if (!options.seam_shifts.empty())
    fmt::print("slip       {}\n",
               text(motion::slip(lengths_of("--seam-shift", options.seam_shifts, quantity_of),
                                 {options.turns, {diameter, 0}, reading, steps_share(scene.job.rotary)}),
                    "%"));
  if (!options.two_way_shifts.empty())
    fmt::print(
        "backlash   {}\n",
        text(motion::backlash(lengths_of("--two-way-shift", options.two_way_shifts, quantity_of), reading),
             "mm"));
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  if (scene.job.mount.hold == motion::Hold::standing)
    throw job::placed(
        scene.job,
        quantity::JobError("mount.hold = \"standing\" (nothing turns the part; expected \"turning\")"));
  const motion::Rotary& rotary = scene.job.rotary;
  const double driven = 2 * scene.reference_radius, own = own_diameter(scene);
  fmt::print("driven     diameter {}: {} of arc turn the part once\n", format(driven, "mm", 6),
             format(quantity::kPi * driven, "mm", 6));
  print_steps(rotary, own, options.decimals);
  double lie = 0;
  if (rotary.drive == motion::Drive::rollers && !std::isnan(rotary.roller_gap)) {
    const motion::Seat seat = motion::seat(rotary, scene.profile);
    print_seat(seat);
    lie = seat.tilt;
  }
  print_bands(scene, lie);
  fmt::print("lands      {}\n", motion::words(motion::landing(scene.job.artwork, scene.job.mount)));
  for (const std::string& row : motion::letter(motion::landing(scene.job.artwork, scene.job.mount)))
    fmt::print("           {}\n", row);
  print_trials(options, scene, own);
  for (const std::string& caution : mark::cautions(scene)) fmt::print("caution    {}\n", caution);
}

}  // namespace

void add_rotary(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "rotary", "What to set for the rotary, how the art lands, and what trials say of it");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--decimals", options->decimals, "Decimals of steps a mm that the controller keeps")
      ->capture_default_str()
      ->check(CLI::Range(0, 9));
  command->add_option("--asked", options->asked, "Trial: a travel asked for, \"100 mm\"");
  command->add_option("--got", options->got, "and what was got, \"97.4 mm\"");
  command->add_option("--reading", options->reading, "Standard deviation of a reading")
      ->capture_default_str();
  CLI::Option* round = command->add_option(
      "--round", options->round, "Length once round the part, by strip, string or tape: \"229 mm\"");
  command->add_option("--tape", options->tape, "Thickness of what was laid round it")
      ->capture_default_str()
      ->needs(round);
  command->add_option("--askew", options->askew, "How far it lay from square to the axis")
      ->capture_default_str()
      ->needs(round);
  command->add_option("--across", options->across, "Diameters by caliper, turned against each other");
  CLI::Option* seam = command->add_option("--seam-shift", options->seam_shifts,
                                          "Trial: how far the last mark falls short of the first");
  command->add_option("--turns", options->turns, "after so many full turns")
      ->capture_default_str()
      ->check(CLI::Range(1, 10000))
      ->needs(seam);
  command->add_option("--two-way-shift", options->two_way_shifts,
                      "Trial: how far apart marks lie that were made at one place from both sides");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
