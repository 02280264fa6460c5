// Material files: TOML, a table a material, each figure with its spread and its source.
//
//   [material.aisi_304]
//   title = "stainless steel AISI 304"
//   kind = "metal"
//   density = { value = "7900 kg/m^3", spread = "1 %", source = "..." }
//   [[material.aisi_304.optics]]
//   wavelength = "450 nm"
//   absorptivity = { value = "40 %", spread = "15 %", source = "..." }
//   [material.aisi_304.spectrum]      n + ik over the visible; likewise [material.aisi_304.oxide_spectrum], of its oxide
//   wavelength = ["400 nm", "420 nm"]
//   n = [1.527, 1.579]
//   k = [2.793, 2.922]
//   source = "..."
//   [[material.aisi_304.settled]]     what one fit settled together, each with its correlations with those before it
//   name = "aisi_304.absorptivity"
//   value = "40 %"
//   spread = "15 %"
//   correlations = []
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

// The record's figures against their bounds and each other. Throws JobError.
void check(const workpiece::Material& material);

// Every *.toml of a folder, in order of the materials' names; two records of one name are an error.
std::vector<workpiece::Material> read_material_folder(const std::string& folder);

// The built-in records, in order of name: the *.toml in $CIRCUMFLUENCE_MATERIALS, or else in
// share/circumfluence/materials above the library, or else where it was built.
const std::vector<workpiece::Material>& built_in_materials();

// The user's own file: $CIRCUMFLUENCE_MY_MATERIALS, or ~/.config/circumfluence/materials.toml, whether it is there or not;
// empty where there is no home folder.
std::string own_materials_path();

// By name, first from `own`, then from the user's file (~/.config/circumfluence/materials.toml or
// $CIRCUMFLUENCE_MY_MATERIALS), then built in. Throws JobError with the nearest known name.
const workpiece::Material& find_material(const std::string& name,
                                         const std::vector<workpiece::Material>& own);

// The names that find_material knows, sorted.
std::vector<std::string> material_names(const std::vector<workpiece::Material>& own);

}  // namespace circumfluence::job
