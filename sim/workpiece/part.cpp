#include "workpiece/part.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::workpiece {

using quantity::JobError;

const quantity::Fields<Part>& part_fields() {
  static const quantity::Fields<Part> fields = {
      {"shape", quantity::choice<&Part::shape>(), "", 0, 0, "how the diameter runs along the axis", true,
       "straight tapered stepped table"},
      {"length", &Part::length, "mm", 1e-4, 3, "extent along the axis, from axial position 0"},
      {"diameter", &Part::diameter, "mm", 1e-4, 2, "diameter, of a taper that at axial position 0", false},
      {"end_diameter", &Part::end_diameter, "mm", 1e-4, 2, "diameter of a taper at the far end", false},
      {"profile", &Part::profile, "mm", 0, 3,
       "rows of [axial position, diameter] of a stepped part or a table", false},
      {"wall", &Part::wall, "mm", 1e-5, 1, "thickness of the base material"},
      {"behind", quantity::choice<&Part::behind>(), "", 0, 0,
       "what is behind the wall; if absent, insulated: the hottest case", false, "insulated air water"},
      {"base", &Part::base, "", 0, 0, "material of the body"},
      {"coat", &Part::coat, "", 0, 0, "material of the coat; absent on a bare part", false},
      {"coat_thickness", &Part::coat_thickness, "um", 1e-8, 5e-3, "thickness of the coat", false},
      {"coat_spread", &Part::coat_spread, "%", 0, 10, "lognormal spread of the coat's thickness", false},
      {"temperature", &Part::temperature, "degC", 200, 500, "temperature of the part before the job"},
  };
  return fields;
}

namespace {

void need(double value, const char* key, const char* why) {
  if (std::isnan(value)) throw JobError(fmt::format("workpiece.{} is missing ({})", key, why));
}

void check_profile(const Part& part) {
  if (part.profile.size() < 2)
    throw JobError(
        fmt::format("workpiece.profile has {} rows (expected two or more of [axial position, diameter])",
                    part.profile.size()));
  if (part.profile.front().first != 0.0)
    throw JobError("workpiece.profile does not start at axial position \"0 mm\" (the part begins there)");
  for (size_t i = 0; i < part.profile.size(); ++i) {
    const auto [axial, diameter] = part.profile[i];
    if (!(diameter >= 1e-4 && diameter <= 2))
      throw JobError(fmt::format("workpiece.profile row {} = {} (expected a diameter from 0.1 mm to 2000 mm)",
                                 i + 1, quantity::format(diameter, "mm")));
    if (i > 0 && !(axial > part.profile[i - 1].first))
      throw JobError(fmt::format("workpiece.profile row {} lies at {} (expected beyond row {} at {})", i + 1,
                                 quantity::format(axial, "mm"), i,
                                 quantity::format(part.profile[i - 1].first, "mm")));
  }
  const double end = part.profile.back().first;
  if (part.shape == Shape::table ? end < part.length : end >= part.length)
    throw JobError(fmt::format("workpiece.profile ends at {} but the part is {} long",
                               quantity::format(end, "mm"), quantity::format(part.length, "mm")));
}

double least_radius(const Part& part) {
  if (part.shape == Shape::straight) return part.diameter / 2;
  if (part.shape == Shape::tapered) return std::min(part.diameter, part.end_diameter) / 2;
  double least = quantity::kInfinity;
  for (const auto& row : part.profile) least = std::min(least, row.second / 2);
  return least;
}

}  // namespace

void check(const Part& part) {
  switch (part.shape) {
    case Shape::tapered:
      need(part.end_diameter, "end_diameter", "a tapered part needs the diameter at its far end");
      [[fallthrough]];
    case Shape::straight:
      need(part.diameter, "diameter", "the part's diameter is not known");
      break;
    case Shape::stepped:
    case Shape::table:
      check_profile(part);
  }
  if (part.wall > least_radius(part))
    throw JobError(fmt::format("workpiece.wall = {} (thicker than the least radius, {})",
                               quantity::format(part.wall, "mm"),
                               quantity::format(least_radius(part), "mm")));
  if (part.coat.empty() != std::isnan(part.coat_thickness))
    throw JobError(part.coat.empty()
                       ? "workpiece.coat_thickness is given without workpiece.coat. Name the coat"
                       : "workpiece.coat_thickness is missing (the coat's removal depends on it)");
  if (part.coat.empty() && !std::isnan(part.coat_spread))
    throw JobError("workpiece.coat_spread is given without workpiece.coat. Name the coat");
}

}  // namespace circumfluence::workpiece
