// Jobs: read, built and altered.
#include <fmt/format.h>

#include "beam/caustic.h"
#include "bind.h"
#include "job/job_file.h"
#include "job/nearest.h"
#include "job/reference.h"
#include "job/sections.h"
#include "workpiece/profile.h"

namespace circumfluence::bindings {

using job::Job;

namespace {

void assign(Job& into, const std::string& address, const py::handle& value) {
  if (py::isinstance<py::bool_>(value))
    job::assign(into, address, value.cast<bool>() ? "true" : "false");
  else if (py::isinstance<py::str>(value))
    job::assign(into, address, value.cast<std::string>());
  else if (py::isinstance<py::int_>(value) || py::isinstance<py::float_>(value) ||
           py::hasattr(value, "__float__"))
    job::assign(into, address, py::float_(py::reinterpret_borrow<py::object>(value)).cast<double>());
  else  // rows of a profile: TOML writes lists as Python does, but for the quotes
    job::assign(into, address, py::module_::import("json").attr("dumps")(value).cast<std::string>());
}

// A section on its own, for what needs no more than that.
Job draft(const std::string& section, const py::kwargs& values) {
  Job job;
  for (const auto& [key, value] : values) assign(job, section + "." + key.cast<std::string>(), value);
  return job;
}

// A key of a section that a job may leave out is meant by itself only where no other section has it, so that such
// sections can grow without taking a key from the others.
std::vector<std::string> addresses_of(const std::string& key) {
  std::vector<std::string> always, at_times;
  for (const std::string& address : job::addresses()) {
    const size_t point = address.find('.');
    if (address != key && address.substr(point + 1) != key) continue;
    (job::may_be_absent(address.substr(0, point)) ? at_times : always).push_back(address);
  }
  return always.empty() ? at_times : always;
}

std::string full_address(const std::string& key) {
  const std::vector<std::string> found = addresses_of(key);
  if (found.size() == 1) return found.front();
  if (found.empty()) {
    std::vector<std::string> known;
    for (const std::string& address : job::addresses())
      known.push_back(key.find('.') == std::string::npos ? address.substr(address.find('.') + 1) : address);
    throw quantity::JobError(
        fmt::format("{} (no such parameter of a job){}", key, job::suggestion(key, known)));
  }
  std::string all;
  for (const std::string& address : found) all += (all.empty() ? "" : ", ") + address;
  throw quantity::JobError(fmt::format("{} (more than one section has that key). Say which: {}", key, all));
}

Job replaced(const Job& self, const py::object& changes, const py::kwargs& more) {
  Job copy = self;
  if (!changes.is_none())
    for (const auto& [key, value] : changes.cast<py::dict>())
      assign(copy, full_address(key.cast<std::string>()), value);
  for (const auto& [key, value] : more) assign(copy, full_address(key.cast<std::string>()), value);
  return job::completed(std::move(copy));
}

Job built(const std::string& folder, const py::kwargs& sections) {
  Job job;
  job.folder = folder;
  for (const auto& [section, values] : sections)
    for (const auto& [key, value] : values.cast<py::dict>())
      assign(job, section.cast<std::string>() + "." + key.cast<std::string>(), value);
  return job::completed(std::move(job));
}

py::dict section(const Job& self, const std::string& name) {
  py::dict out;
  for (const std::string& address : job::addresses())
    if (address.starts_with(name + "."))
      if (const std::string value = job::value_at(self, address); !value.empty())
        out[py::str(address.substr(name.size() + 1))] = value;
  if (out.empty()) throw py::key_error(name);
  return out;
}

std::string repr(const Job& j) {
  return fmt::format("<Job {} on {}{}: {} at {}, lines {} apart>", j.artwork.file, j.workpiece.base,
                     j.workpiece.coat.empty() ? "" : " under " + j.workpiece.coat,
                     job::value_at(j, "scan.power"), job::value_at(j, "scan.speed"),
                     job::value_at(j, "scan.spacing"));
}

}  // namespace

void bind_job(py::module_& m) {
  py::class_<Job> jobs(m, "Job",
                       "Everything a prediction depends on. Immutable; `replace` returns an altered copy.");
  for (const char* name : {"laser", "workpiece", "mount", "artwork", "scan", "grid", "outcome"})
    jobs.def_property_readonly(
        name, [name](const Job& j) { return section(j, name); }, "The section as {key: text}.");
  jobs.def_property_readonly(
          "text", [](const Job& j) { return j.text; },
          "The job as TOML: as read, or rewritten after an alteration.")
      .def_property_readonly(
          "folder", [](const Job& j) { return j.folder; }, "Where relative paths start.")
      .def("replace", &replaced, py::arg("changes") = py::none(), py::pos_only(),
           "A copy with parameters altered: replace(power=\"60 %\") or replace({\"scan.power\": "
           "6.0}).\n\nStrings carry units; numbers are SI. A bare key must be of one section only. All "
           "checks are made anew (JobError).")
      .def("section", &section, py::arg("name"), "A section as {key: text}.")
      .def(
          "__getitem__",
          [](const Job& j, const std::string& key) { return job::value_at(j, full_address(key)); },
          py::arg("address"),
          "The value at an address, as it would stand in a job file: job[\"scan.speed\"] is \"2500 mm/min\".")
      .def("__eq__", [](const Job& a, const Job& b) { return job::write_job(a) == job::write_job(b); })
      .def("__hash__", [](const Job& j) { return std::hash<std::string>()(job::write_job(j)); })
      .def("__repr__", &repr)
      .def(py::pickle([](const Job& j) { return py::make_tuple(j.text, j.name, j.folder); },
                      [](const py::tuple& t) {
                        return job::parse_job(t[0].cast<std::string>(), t[1].cast<std::string>(),
                                              t[2].cast<std::string>());
                      }));
  m.def(
      "read_job", [](const py::object& path) { return job::read_job(py::str(path).cast<std::string>()); },
      py::arg("path"), "A job from a TOML file. Raises JobError with line and column, FileError.");
  m.def(
      "parse_job",
      [](const std::string& text, const std::string& folder) { return job::parse_job(text, "job", folder); },
      py::arg("text"), py::arg("folder") = ".", "A job from TOML text; relative paths start at `folder`.");
  m.def("job", &built, py::arg("folder") = ".", py::kw_only(),
        "A job built from dictionaries, one a section: job(laser={...}, workpiece={...}, mount={...}, "
        "artwork={...}, scan={...}, grid={...}).");
  m.def(
      "addresses", [] { return job::addresses(); }, "Every address of a job: \"laser.wavelength\", ...");
  m.def("job_file_reference", &job::job_file_reference, "The page of the job file (Markdown).");
  m.def(
      "caustic", [](const py::kwargs& laser) { return beam::caustic(draft("laser", laser).laser); },
      "The caustic of a laser given by the keys of a job's [laser]: caustic(wavelength=\"450 nm\", "
      "spot_axial=\"80 um\", spot_around=\"80 um\", focus_depth=\"4 mm\").");
  m.def(
      "workpiece",
      [](const py::kwargs& part) { return workpiece::Profile(draft("workpiece", part).workpiece); },
      "The profile of a part given by the keys of a job's [workpiece]: workpiece(shape=\"straight\", "
      "length=\"180 mm\", diameter=\"73 mm\").");
}

}  // namespace circumfluence::bindings
