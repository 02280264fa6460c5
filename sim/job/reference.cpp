#include "job/reference.h"

#include <fmt/format.h>

#include "job/section_writer.h"
#include "job/sections.h"

namespace circumfluence::job {
namespace {

constexpr const char* kIntroduction = R"(# The job file

This page is made from the library's field tables.

A job file is TOML, at most 4 MiB. Quantities are texts with their unit, `speed = "2500 mm/min"`; any unit
of the same dimension will do (`"41.7 mm/s"`), and a number without a unit is refused unless the unit column
says 1. Unknown keys and sections are refused. Bounds are allowed values themselves.

With a section `[path]` a tool path is burnt in place of the art's own lines: `[artwork]` and `[scan]` may then be left out,
or hold only some of their keys.

At the top, before the first section, `materials = "file.toml"` may name a materials file, relative to the
job file. Materials may also stand in the job itself.
)";

std::string cell(std::string text) {
  for (size_t at = 0; (at = text.find('|', at)) != std::string::npos; at += 2) text.replace(at, 1, "\\|");
  return text;
}

template <class Section>
std::string unit_of(const quantity::Field<Section>& field) {
  std::string unit = field.unit;
  if (field.alternative) unit += std::string(", ") + field.alternative_unit;
  return unit;
}

// What stands when the key is absent.
template <class Section>
std::string absent(const Section& section, const quantity::Field<Section>& field) {
  if (field.required) return "required";
  std::string initial = value_text(section, field, false);
  if (const auto* member = std::get_if<double Section::*>(&field.member); member && !initial.empty())
    initial = rounded_text(section.**member, field.unit);
  return initial.empty() ? "not given" : "`" + initial + "`";
}

template <class Section>
std::string section_page(const std::string& header, const Section& section,
                         const quantity::Fields<Section>& fields, const std::string& about = "") {
  std::string page = "\n## `" + header + "`\n\n" + about + "| key | unit | expected | if absent | meaning |\n";
  page += "| --- | --- | --- | --- | --- |\n";
  for (const auto& field : fields) {
    page += fmt::format("| `{}` | {} | {} | {} | {} |\n", field.key, cell(unit_of(field)),
                        cell(expected(field)), cell(absent(section, field)), cell(field.help));
  }
  return page;
}

}  // namespace

std::string job_file_reference() {
  std::string page = kIntroduction;
  const Job job;
  for_each_section(job, [&page](const std::string& name, const auto& section, const auto& fields) {
    page += section_page("[" + name + "]", section, fields,
                         may_be_absent(name) ? "The section may be left out.\n\n" : "");
  });
  page += section_page("[material.NAME]", workpiece::Material{}, workpiece::material_fields(),
                       "With tables `[material.NAME.spectrum]` and `[material.NAME.oxide_spectrum]`, n + ik over the visible: "
                       "[material files](materials.md#spectra).\n\n");
  page += section_page("[[material.NAME.optics]]", workpiece::Optics{}, workpiece::optics_fields());
  return page;
}

}  // namespace circumfluence::job
