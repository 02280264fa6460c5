#include "look/look.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using quantity::part;

void add(std::vector<std::string>& notes, const std::vector<std::string>& more) {
  for (const std::string& note : more)
    if (std::find(notes.begin(), notes.end(), note) == notes.end()) notes.push_back(note);
}

constexpr double kMostCells = 200e6;  // held all at once, 18 bytes each

mark::MarkMap predicted(const job::Job& job, const LookRequest& request) {
  mark::Scene scene = mark::prepare(job);
  const workpiece::Surface surface = mark::develop(scene);
  if (double(surface.around) * surface.axial > kMostCells)
    throw quantity::ValidityError(
        fmt::format("grid.cell = {} (makes {:.3g} million cells; expected at most {:.0f} million to look at). Take coarser "
                    "cells, or a part of the surface",
                    quantity::format(job.grid.cell, "um"), 1e-6 * surface.around * surface.axial, 1e-6 * kMostCells));
  mark::Request wanted;
  wanted.keep = true;
  wanted.threads = request.threads;
  wanted.progress = part(request.progress, 0, 0.4);
  return mark::predict(std::move(scene), wanted);
}

// Both ways in which the job's process can show greys.
std::vector<ToneCurve> curves(const Swatches& swatches, const Finish& finish, const quantity::Progress& progress) {
  const ToneCurve by_power = tone_curve(swatches, finish, {.screen = std::nullopt, .progress = part(progress, 0, 0.5)});
  const ToneCurve by_dots = tone_curve(
      swatches, finish, {.screen = swatches.scene().job.artwork.screen, .progress = part(progress, 0.5, 1)});
  return {by_power, by_dots};
}

// Weak lines lay bare a stripe less wide than a cell; the map then shows bands in place of greys.
void note_cells(const mark::Scene& scene, std::vector<std::string>& notes) {
  const double cell = scene.job.grid.cell, fine = scene.job.scan.spacing / 8;
  if (scene.job.artwork.tone == artwork::ToneUse::grey && cell > fine * (1 + 1e-9))
    notes.push_back(fmt::format("Greys by power lie between the lines: cells of {} show them as bands, cells of {} as they are.",
                                quantity::format(cell, "um", 3), quantity::format(fine, "um", 3)));
}

constexpr double kWarm = 20;  // [K] of a wall, from which it is told

// Where the whole part differs from what is told of a full area, a stroke or a code burnt alone.
void note_whole(const mark::MarkMap& map, std::vector<std::string>& notes) {
  if (!(map.verdict.wanted_area > 0))
    notes.push_back("The art asks for no mark anywhere on the grid: what is told is what marks would look like.");
  const double rise = map.verdict.warmest_wall - map.scene.job.workpiece.temperature;
  if (rise >= kWarm && !map.scene.path)
    notes.push_back(fmt::format("Earlier lines warm the wall by up to {:.0f} K. Pictures and codes in the art show that; contrast, "
                                "greys, strokes and room for codes are told of a cold wall, and come out stronger on the part.",
                                rise));
}

}  // namespace

Look look(const job::Job& job, const LookRequest& request) {
  Look out{.map = predicted(job, request)};
  const mark::Scene& scene = out.map.scene;
  out.skin = skin(out.map, {.threads = request.threads});
  add(out.notes, out.skin.notes);
  note_whole(out.map, out.notes);
  if (const std::optional<double> finest = finest_for_codes(scene)) {
    out.fine = skin(out.map, {.finest = *finest, .threads = request.threads});
    out.codes = grade_codes(out.map, *out.fine);
    for (const CodeGrade& grade : out.codes) add(out.notes, grade.notes);
  } else if (looks_like_symbol(scene.image)) {
    out.notes.push_back("The art seems to hold a code, but none reads as drawn, before any mark: mend the art first.");
  }
  if (scene.path) {
    out.notes.push_back("A tool path's lines are its own: tones, letters and room for codes are told of filled art alone.");
    return out;
  }
  note_cells(scene, out.notes);
  const Swatches swatches(scene);
  const Finish finish(scene, swatches.model()), unwiped(scene, swatches.model(), Wipe::before);
  out.contrast = contrast(swatches, finish);
  out.unwiped = contrast(swatches, unwiped);
  const bool seen = out.contrast.diffuse >= 1;  // of what is not, nothing more is worth saying
  if (request.tones) {
    out.curves = curves(swatches, finish, part(request.progress, 0.4, 0.7));
    if (seen)
      for (const ToneCurve& curve : out.curves) add(out.notes, curve.notes);
    out.smallest = smallest(swatches);
  }
  if (request.letters) {
    out.lettering = lettering(swatches, finish, part(request.progress, 0.7, 0.85));
    if (seen) add(out.notes, out.lettering->notes);
  }
  if (request.codes) out.room = code_room(swatches, finish, part(request.progress, 0.85, 1));
  return out;
}

}  // namespace circumfluence::look
