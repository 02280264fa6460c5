// Material files: TOML, a table a material, each figure with its spread and its source.
//
//   [material.aisi_304]
//   title = "stainless steel AISI 304"
//   kind = "metal"
//   density = { value = "7900 kg/m^3", spread = "1 %", source = "..." }
//   [[material.aisi_304.optics]]
//   wavelength = "450 nm"
//   absorptivity = { value = "40 %", spread = "15 %", source = "..." }
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "workpiece/material.h"

namespace circumfluence::job {

// Throws FileError or JobError (a figure without a source is refused).
std::vector<workpiece::Material> read_materials(const std::string& path);
std::vector<workpiece::Material> parse_materials(std::string_view text, const std::string& name);
std::string write_material(const workpiece::Material& material);

// The built-in records, in order of name: the *.toml beside the library, or in $CIRCUMFLUENCE_MATERIALS.
const std::vector<workpiece::Material>& built_in_materials();

// By name, first from `own`, then from the user's file (~/.config/circumfluence/materials.toml or
// $CIRCUMFLUENCE_MY_MATERIALS), then built in. Throws JobError with the nearest known name.
const workpiece::Material& find_material(const std::string& name,
                                         const std::vector<workpiece::Material>& own);

}  // namespace circumfluence::job
