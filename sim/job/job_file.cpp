#include "job/job_file.h"

#include <fmt/format.h>

#include <filesystem>
#include <set>

#include "job/material_file.h"
#include "job/section_reader.h"
#include "job/sections.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;
using quantity::Place;

std::vector<std::string> top_keys() {
  std::vector<std::string> keys;
  const Job job;
  for_each_section(job, [&keys](const char* name, const auto&, const auto&) { keys.emplace_back(name); });
  keys.insert(keys.end(), {"material", "materials"});
  return keys;
}

// The section's table; none when it is absent and nothing in it is required.
template <class Section>
const toml::table* section_table(const toml::table& root, const std::string& name,
                                 const quantity::Fields<Section>& fields, const std::string& file) {
  if (const toml::node* node = root.get(name)) {
    const toml::table* table = node->as_table();
    if (!table) refuse(*node, {name, "a section [" + name + "]", file}, kind_of(*node));
    return table;
  }
  std::vector<std::string> required;
  for (const auto& field : fields)
    if (field.required) required.emplace_back(field.key);
  if (required.empty() || may_be_absent(name)) return nullptr;
  throw JobError(fmt::format("[{}] is missing (expected a section with {})", name, listed(required)), {file});
}

// Records of the file named by `materials`; one that the job itself holds stands before one of the same name.
void add_materials_file(const toml::node& node, const std::string& file, Job& job) {
  const Spot spot{"materials", "the name of a materials file", file};
  const std::string path = job.path_to(read_string(node, spot));
  std::vector<workpiece::Material> records;
  try {
    records = read_materials(path);
  } catch (const quantity::FileError& error) {
    refuse(node, spot, error.what());
  }
  std::set<std::string> own;
  for (const workpiece::Material& material : job.materials) own.insert(material.name);
  for (workpiece::Material& record : records)
    if (!own.contains(record.name)) job.materials.push_back(std::move(record));
}

}  // namespace

std::string Job::path_to(const std::string& file) const {
  return (std::filesystem::path(folder) / file).string();  // an absolute one stays as it is
}

Job parse_job(std::string_view text, const std::string& name, const std::string& folder) {
  const toml::table root = parse_toml(text, name);
  refuse_unknown_keys(root, top_keys(), "", name);
  Job job;
  job.folder = folder;
  job.name = name;
  job.text = text;
  const bool has_path = root.contains("path");
  for_each_section(job, [&](const std::string& key, auto& section, const auto& all_fields) {
    const auto fields = asked(all_fields, key, has_path);
    if (const toml::table* table = section_table(root, key, fields, name))
      read_section(*table, {key, "", name}, fields, section);
  });
  if (const toml::node* tables = root.get("material")) job.materials = read_material_tables(*tables, name);
  if (const toml::node* file = root.get("materials")) add_materials_file(*file, name, job);
  try {
    check(job);
  } catch (const JobError& error) {
    throw placed(job, error);
  }
  return job;
}

JobError placed(const Job& job, const JobError& error) {
  if (job.name.empty() || !quantity::text(error.place()).empty()) return error;
  const Place place = place_in(parse_toml(job.text, job.name), error.problem(), job.name);
  return JobError(error.problem(), place.line > 0 ? place : Place{job.name});
}

Job read_job(const std::string& path) {
  const std::string folder = std::filesystem::path(path).parent_path().string();
  return parse_job(read_text(path), path, folder.empty() ? "." : folder);
}

}  // namespace circumfluence::job
