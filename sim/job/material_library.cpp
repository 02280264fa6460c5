// Where material records are found.
#include <dlfcn.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <mutex>
#include <tuple>

#include "job/material_file.h"
#include "job/nearest.h"
#include "job/section_writer.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

namespace fs = std::filesystem;
using workpiece::Material;
using Materials = std::vector<Material>;

std::string environment(const char* name) {
  const char* value = std::getenv(name);
  return value ? value : "";
}

// The file this code was loaded from: the shared library, a Python module or a program.
fs::path own_file() {
  Dl_info info;
  std::error_code problem;
  if (dladdr(reinterpret_cast<void*>(&built_in_materials), &info) && info.dli_fname) {
    const fs::path file = fs::canonical(info.dli_fname, problem);
    if (!problem && fs::is_regular_file(file, problem)) return file;
  }
  return fs::canonical("/proc/self/exe", problem);
}

// An installed tree may have been moved, so what stands beside the library comes before what was built.
std::string built_in_folder() {
  if (std::string folder = environment("CIRCUMFLUENCE_MATERIALS"); !folder.empty()) return folder;
  std::error_code problem;
  fs::path above = own_file().parent_path();
  for (int level = 0; level < 4 && !above.empty(); ++level) {
    const fs::path folder = above / "share" / "circumfluence" / "materials";
    if (fs::is_directory(folder, problem)) return folder.string();
    if (above == above.parent_path()) break;
    above = above.parent_path();
  }
#ifdef CIRCUMFLUENCE_MATERIALS_DIR
  if (fs::is_directory(CIRCUMFLUENCE_MATERIALS_DIR, problem)) return CIRCUMFLUENCE_MATERIALS_DIR;
#endif
  throw quantity::FileError("share/circumfluence/materials",
                            "the built-in materials are not beside the library. Set CIRCUMFLUENCE_MATERIALS "
                            "to their folder");
}

// A file that is not there is one without records: the first that is kept makes it.
const Materials& users_materials() {
  static const Materials none;
  const std::string path = own_materials_path();
  std::error_code problem;
  if (path.empty() || !fs::exists(path, problem)) return none;
  // Read again when it has changed; earlier readings stay, since records are handed out by reference. Its size counts
  // too: two changes may share one tick of the file system's clock.
  using Known = std::tuple<std::string, fs::file_time_type, std::uintmax_t>;
  static std::map<Known, Materials> read;
  static std::mutex mutex;
  const std::lock_guard lock(mutex);
  const Known key(path, fs::last_write_time(path, problem), fs::file_size(path, problem));
  const auto known = read.find(key);
  return known != read.end() ? known->second : read.emplace(key, read_materials(path)).first->second;
}

const Material* named(const std::string& name, const Materials& materials) {
  const auto found = std::find_if(materials.begin(), materials.end(),
                                  [&](const Material& material) { return material.name == name; });
  return found == materials.end() ? nullptr : &*found;
}

}  // namespace

std::string own_materials_path() {
  if (std::string path = environment("CIRCUMFLUENCE_MY_MATERIALS"); !path.empty()) return path;
  const std::string home = environment("HOME");
  return home.empty() ? "" : home + "/.config/circumfluence/materials.toml";
}

Materials read_material_folder(const std::string& folder) {
  std::vector<std::string> files;
  std::error_code problem;
  for (fs::directory_iterator entry(folder, problem), end; !problem && entry != end; entry.increment(problem))
    if (entry->path().extension() == ".toml") files.push_back(entry->path().string());
  if (problem) throw quantity::FileError(folder, "cannot be read (" + problem.message() + ")");
  std::sort(files.begin(), files.end());
  Materials materials;
  for (const std::string& file : files)
    for (Material& material : read_materials(file)) {
      if (const Material* first = named(material.name, materials))
        throw quantity::JobError(
            fmt::format("[material.{}] (a second record of that name; the first is in {})", material.name,
                        first->origin),
            {file});
      materials.push_back(std::move(material));
    }
  std::sort(materials.begin(), materials.end(),
            [](const Material& a, const Material& b) { return a.name < b.name; });
  return materials;
}

const Materials& built_in_materials() {
  static const Materials materials = read_material_folder(built_in_folder());
  return materials;
}

std::vector<std::string> material_names(const Materials& own) {
  std::vector<std::string> names;
  for (const Materials* materials : {&own, &users_materials(), &built_in_materials()})
    for (const Material& material : *materials) names.push_back(material.name);
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

const Material& find_material(const std::string& name, const Materials& own) {
  if (const Material* found = named(name, own)) return *found;
  if (const Material* found = named(name, users_materials())) return *found;
  if (const Material* found = named(name, built_in_materials())) return *found;
  const std::vector<std::string> names = material_names(own);
  throw quantity::JobError(fmt::format("material {} (no such record; expected one of {}){}",
                                       toml_string(name.substr(0, 64)), listed(names),
                                       suggestion(name, names, "\"", "\"")));
}

}  // namespace circumfluence::job
