// The sections of a job in file order, each with its name and its field table.
#pragma once

#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "job/job.h"

namespace circumfluence::job {

// Calls visit(name, section, fields) for every section of `job`, which may be const.
template <class AnyJob, class Visit>
void for_each_section(AnyJob& job, Visit&& visit) {
  static_assert(std::is_same_v<std::remove_const_t<AnyJob>, Job>);
  visit("laser", job.laser, beam::laser_fields());
  visit("workpiece", job.workpiece, workpiece::part_fields());
  visit("mount", job.mount, motion::mount_fields());
  visit("rotary", job.rotary, motion::rotary_fields());
  visit("machine", job.machine, motion::machine_fields());
  visit("artwork", job.artwork, artwork::placement_fields());
  visit("scan", job.scan, motion::scan_fields());
  visit("path", job.path, motion::path_fields());
  visit("grid", job.grid, workpiece::grid_fields());
  visit("outcome", job.outcome, response::limits_fields());
}

// Sections of which nothing stands unless they are given.
inline bool may_be_absent(std::string_view name) {
  return name == "rotary" || name == "machine" || name == "path";
}

// The table with nothing required: of the art and its plan, where a tool path is burnt in their place.
template <class Section>
quantity::Fields<Section> asked(quantity::Fields<Section> fields, std::string_view name, bool has_path) {
  if (has_path && (name == "artwork" || name == "scan"))
    for (auto& field : fields) field.required = false;
  return fields;
}

// Calls visit(section, field) for the field at `address`, such as "scan.power"; false when there is none.
template <class AnyJob, class Visit>
bool at_address(AnyJob& job, std::string_view address, Visit&& visit) {
  bool found = false;
  for_each_section(job, [&](std::string_view name, auto& section, const auto& fields) {
    if (found || !address.starts_with(name) || address.substr(name.size()).substr(0, 1) != ".") return;
    for (const auto& field : fields)
      if (address.substr(name.size() + 1) == field.key) {
        found = true;
        visit(section, field);
        return;
      }
  });
  return found;
}

// Every address of a job: "laser.wavelength", ...
std::vector<std::string> addresses();

}  // namespace circumfluence::job
