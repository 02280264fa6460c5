// circumfluence materials [NAME]
#include <fmt/format.h>

#include <memory>
#include <string>

#include "job/material_file.h"
#include "program/commands.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

// One's own records name their file; what a built-in one of the same name says no longer counts.
std::string origin_of(const workpiece::Material& material) {
  for (const workpiece::Material& built_in : job::built_in_materials())
    if (&built_in == &material) return "built in";
  return material.origin;
}

void list() {
  for (const std::string& name : job::material_names({})) {
    const workpiece::Material& material = job::find_material(name, {});
    std::string light;
    for (const workpiece::Optics& optics : material.optics)
      light += (light.empty() ? "" : ", ") + quantity::format(optics.wavelength.value, "nm");
    fmt::print("{:24} {:44} {:28} {}\n", name, material.title, light, origin_of(material));
  }
}

}  // namespace

void add_materials(CLI::App& app) {
  auto name = std::make_shared<std::string>();
  CLI::App* command =
      app.add_subcommand("materials", "List the material records, or show one with its sources");
  command->add_option("name", *name, "Record to show");
  command->callback([name] {
    if (name->empty())
      list();
    else
      fmt::print("{}", job::write_material(job::find_material(*name, {})));
  });
}

}  // namespace circumfluence::program
