#include "job/material_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "job/section_reader.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;
using workpiece::Material;
using workpiece::Optics;

bool is_name(std::string_view text) {
  return !text.empty() && text.size() <= 64 && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
}

std::vector<Optics> read_optics(const toml::node& node, const Spot& spot) {
  const toml::array* rows = node.as_array();
  if (!rows) refuse(node, spot, kind_of(node));
  std::vector<Optics> optics;
  for (const toml::node& row : *rows) {
    const toml::table* table = row.as_table();
    if (!table) refuse(row, spot, kind_of(row));
    read_section(*table, spot, workpiece::optics_fields(), optics.emplace_back());
  }
  std::stable_sort(optics.begin(), optics.end(),
                   [](const Optics& a, const Optics& b) { return a.wavelength.value < b.wavelength.value; });
  return optics;
}

Material read_material(const toml::table& table, const std::string& name, const std::string& file) {
  Material material;
  material.name = name;
  material.origin = file;
  const std::string address = "material." + name;
  read_section(table, {address, "", file}, workpiece::material_fields(), material,
               {"optics", "settled", "spectrum", "oxide_spectrum"});
  if (const toml::node* optics = table.get("optics"))
    material.optics = read_optics(*optics, {address + ".optics", "tables [[" + address + ".optics]]", file});
  if (const toml::node* settled = table.get("settled"))
    material.settled = read_settled(*settled, {address + ".settled", "tables [[" + address + ".settled]]", file});
  for (const auto& [key, member] :
       {std::pair("spectrum", &Material::spectrum), std::pair("oxide_spectrum", &Material::oxide_spectrum)})
    if (const toml::node* spectrum = table.get(key))
      material.*member = read_spectrum(*spectrum, {address + "." + key, "a table [" + address + "." + key + "]", file});
  try {
    check(material);
  } catch (const JobError& error) {
    const std::string_view key = std::string_view(error.problem()).substr(address.size() + 1);
    const quantity::Place place = place_in(table, key, file);
    throw JobError(error.problem(), place.line > 0 ? place : place_of(table.source(), file));
  }
  return material;
}

void check_colour(const Material& material, const std::string& colour, const char* key) {
  const auto is_digit = [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
  };
  if (colour.empty() ||
      (colour.size() == 7 && colour[0] == '#' && std::all_of(colour.begin() + 1, colour.end(), is_digit)))
    return;
  throw JobError(fmt::format("material.{}.{} = {} (no colour; expected red, green and blue as \"#rrggbb\")",
                             material.name, key, toml_string(colour.substr(0, 40))));
}

void check_optics(const Material& material, const Optics& optics) {
  const std::string address = "material." + material.name + ".optics";
  check_section(optics, address, workpiece::optics_fields());
  if (optics.n.known() != optics.k.known())
    throw JobError(fmt::format("{} at {} has n or k without the other (the index n + ik needs both)", address,
                               quantity::format(optics.wavelength.value, "nm")));
}

}  // namespace

void check(const Material& material) {
  if (!is_name(material.name))
    throw JobError(
        fmt::format("[material.{}] (no name; expected up to 64 letters, digits, underscores and hyphens)",
                    toml_string(material.name.substr(0, 64))));
  check_section(material, "material." + material.name, workpiece::material_fields());
  for (const Optics& optics : material.optics) check_optics(material, optics);
  if (material.solidus.known() && material.liquidus.known() &&
      material.solidus.value > material.liquidus.value)
    throw JobError(fmt::format("material.{}.solidus = {} (above the liquidus, {})", material.name,
                               rounded_text(material.solidus.value, "K"),
                               rounded_text(material.liquidus.value, "K")));
  if (material.threshold.known() && !material.threshold_dwell.known())
    throw JobError(fmt::format(
        "material.{}.threshold_dwell is missing (a measured threshold holds for the dwell it was measured "
        "with)",
        material.name));
  if (material.oxide_from.known() && material.oxide_to.known() && material.oxide_from.value > material.oxide_to.value)
    throw JobError(fmt::format("material.{}.oxide_from = {} (above oxide_to, {})", material.name,
                               rounded_text(material.oxide_from.value, "K"), rounded_text(material.oxide_to.value, "K")));
  const auto both = [&](const quantity::Figure& rate, const quantity::Figure& activation, const char* key) {
    if (rate.known() != activation.known())
      throw JobError(fmt::format("material.{}.{}_{} is missing (a rate and its activation belong together)", material.name,
                                 key, rate.known() ? "activation" : "rate"));
  };
  both(material.oxide_rate, material.oxide_activation, "oxide");
  both(material.bleach_rate, material.bleach_activation, "bleach");
  both(material.char_rate, material.char_activation, "char");
  check_colour(material, material.ground_colour, "ground_colour");
  check_colour(material, material.marked_colour, "marked_colour");
  check_colour(material, material.over_colour, "over_colour");
  check_settled(material);
  check_spectrum(material);
}

std::vector<Material> read_material_tables(const toml::node& node, const std::string& file) {
  const toml::table* tables = node.as_table();
  if (!tables) refuse(node, {"material", "tables [material.NAME]", file}, kind_of(node));
  std::vector<std::pair<toml::source_position, Material>> found;
  for (const auto& [key, value] : *tables) {
    const std::string name(key.str());
    if (!is_name(name))
      throw JobError(fmt::format("[material.{}] (no name; expected up to 64 letters, digits, underscores and "
                                 "hyphens)",
                                 toml_string(name.substr(0, 64))),
                     place_of(key.source(), file));
    const toml::table* table = value.as_table();
    if (!table) refuse(value, {"material." + name, "a table [material." + name + "]", file}, kind_of(value));
    found.emplace_back(key.source().begin, read_material(*table, name, file));
  }
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) {
    return a.first.line != b.first.line ? a.first.line < b.first.line : a.first.column < b.first.column;
  });
  std::vector<Material> materials;
  for (auto& [place, material] : found) materials.push_back(std::move(material));
  return materials;
}

std::vector<Material> parse_materials(std::string_view text, const std::string& name) {
  const toml::table root = parse_toml(text, name);
  refuse_unknown_keys(root, {"material"}, "", name);
  const toml::node* tables = root.get("material");
  return tables ? read_material_tables(*tables, name) : std::vector<Material>{};
}

std::vector<Material> read_materials(const std::string& path) {
  return parse_materials(read_text(path), path);
}

std::string write_material(const Material& material) {
  std::string text =
      "[material." + material.name + "]\n" + section_text(material, workpiece::material_fields());
  for (const Optics& optics : material.optics)
    text +=
        "\n[[material." + material.name + ".optics]]\n" + section_text(optics, workpiece::optics_fields());
  return text + spectrum_text(material) + settled_text(material);
}

}  // namespace circumfluence::job
