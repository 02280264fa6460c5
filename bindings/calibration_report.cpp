// What came out of a coupon, and the coupon as picture, art and path.
#include "calibration/report.h"

#include <algorithm>

#include "calibration/coupon_drawing.h"
#include "calibration_given.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::bindings {

using calibration::Coupon;
using calibration::Report;
using calibration::Result;

namespace {

Result result(int number, const py::kwargs& kwargs) {
  Keywords given("Result", stated(kwargs));
  Result out;
  out.number = number;
  if (given.has("outcome")) out.outcome = outcome_of(given.take("outcome"));
  if (given.has("width")) out.width = given.number("width", "um");
  if (given.has("depth")) out.depth = given.number("depth", "um");
  if (given.has("remark")) out.remark = words("remark", given.take("remark"));
  given.done();
  return out;
}

py::object outcome_name(const std::optional<response::Outcome>& outcome) {
  return outcome ? py::object(py::str(response::kOutcomeNames[int(*outcome)])) : py::object(py::none());
}

std::string told(const Result& r) {
  std::string out = r.outcome ? response::kOutcomeNames[int(*r.outcome)] : "";
  const auto add = [&](const std::string& words) { out += (out.empty() ? "" : ", ") + words; };
  if (!std::isnan(r.width)) add(quantity::format(r.width, "um", 4) + " wide");
  if (!std::isnan(r.depth)) add(quantity::format(r.depth, "um", 4) + " deep");
  if (!r.remark.empty()) add(r.remark);
  return out.empty() ? "nothing told" : out;
}

void bind_result(py::module_& m) {
  py::class_<Result>(m, "Result",
                     "What became of one patch: Result(3, outcome=\"marked\").\n\n"
                     "Further keywords: width (of a single line's mark; 0: none), depth, remark.")
      .def(py::init(&result), py::arg("number"))
      .def_readonly("number", &Result::number)
      .def_property_readonly(
          "outcome", [](const Result& r) { return outcome_name(r.outcome); },
          "\"untouched\", \"under-marked\", \"marked\", \"over-burned\"; None: not told")
      .def_property_readonly(
          "width", [](const Result& r) { return or_none(r.width); }, "[m] or None")
      .def_property_readonly(
          "depth", [](const Result& r) { return or_none(r.depth); }, "[m] or None")
      .def_readonly("remark", &Result::remark)
      .def("__repr__", [](const Result& r) { return fmt::format("<Result {}: {}>", r.number, told(r)); });
}

// In the order of the coupon's slots, as a file is read.
std::vector<Result> in_order(const py::iterable& results, const Coupon& coupon) {
  std::vector<Result> out;
  for (const py::handle& one : results) out.push_back(one_of<Result>(one));
  std::erase_if(out, [](const Result& r) { return !r.told(); });
  const auto place = [&](int number) {
    return std::find_if(coupon.slots.begin(), coupon.slots.end(),
                        [number](const calibration::Slot& s) { return s.number == number; });
  };
  std::stable_sort(out.begin(), out.end(),
                   [&](const Result& a, const Result& b) { return place(a.number) < place(b.number); });
  return out;
}

Report report(const py::iterable& results, const py::kwargs& kwargs) {
  Keywords given("Report", stated(kwargs));
  const py::object of = given.take("coupon");
  const auto& coupon = held<Coupon>("coupon", of);
  Report out;
  out.results = in_order(results, coupon);
  out.width_error = given.number("width_error", "%", out.width_error);
  out.depth_error = given.number("depth_error", "%", out.depth_error);
  out.resolution = given.number("resolution", "um", out.resolution);
  if (given.has("date")) out.date = words("date", given.take("date"));
  if (given.has("origin")) out.origin = words("origin", given.take("origin"));
  given.done();
  calibration::check(out, coupon);
  return out;
}

void bind_report_type(py::module_& m) {
  py::class_<Report>(
      m, "Report",
      "What came out of a coupon: Report([Result(...), ...], coupon=coupon).\n\n"
      "Further keywords: width_error=0.05 and depth_error=0.15 (lognormal), resolution=\"3 um\", date, "
      "origin "
      "(as a record's source\nshould name them). Raises JobError where results and coupon disagree.")
      .def(py::init(&report), py::arg("results"))
      .def_property_readonly("results", [](const Report& r) { return r.results; })
      .def_readonly("width_error", &Report::width_error, "[1]")
      .def_readonly("depth_error", &Report::depth_error, "[1]")
      .def_readonly("resolution", &Report::resolution, "[m]")
      .def_readonly("date", &Report::date)
      .def_readonly("origin", &Report::origin)
      .def("__len__", [](const Report& r) { return r.results.size(); })
      .def("__repr__", [](const Report& r) {
        return fmt::format("<Report of {} patch{}{}{}>", r.results.size(), r.results.size() == 1 ? "" : "es",
                           r.date.empty() ? "" : ", ", r.date);
      });
}

void bind_report_files(py::module_& m) {
  m.def(
      "read_report",
      [](const py::object& path, const Coupon& coupon) {
        return calibration::read_report(file_path(path), coupon);
      },
      py::arg("path"), py::arg("coupon"),
      "A report from a coupon's table that was filled in, or TOML. Raises FileError, JobError.");
  m.def("parse_report_csv", &calibration::parse_report_csv, py::arg("text"), py::arg("name"),
        py::arg("coupon"), "The same from text; `name` is for messages. Raises JobError.");
  m.def("parse_report_toml", &calibration::parse_report_toml, py::arg("text"), py::arg("name"),
        py::arg("coupon"), "The same from text; `name` is for messages. Raises JobError.");
  m.def("filled_table", &calibration::filled_table, py::arg("coupon"), py::arg("report"),
        "The coupon's table with the results in it, CSV.");
  m.def("report_doubts", &calibration::doubts, py::arg("coupon"), py::arg("report"),
        "Where results contradict each other, in sentences.");
}

calibration::Shading shading_of(const py::object& chances) {
  calibration::Shading out;
  if (!chances.is_none()) out.chances = chances.cast<std::vector<std::array<double, 4>>>();
  return out;
}

void bind_drawing(py::module_& m) {
  m.def(
      "write_picture",
      [](const py::object& path, const Coupon& coupon, const py::object& chances) {
        calibration::write_picture(file_path(path), coupon, shading_of(chances));
      },
      py::arg("path"), py::arg("coupon"), py::kw_only(), py::arg("chances") = py::none(),
      "The coupon on paper, PNG; chances: [slot][4] of each outcome, to shade by. Raises FileError.");
  m.def(
      "write_art",
      [](const py::object& path, const Coupon& coupon, const py::object& pixel) {
        calibration::write_art(file_path(path), coupon, si(pixel, "um"));
      },
      py::arg("path"), py::arg("coupon"), py::kw_only(), py::arg("pixel") = 25e-6,
      "The coupon as art, PNG with its size: black burns, each patch with the settings of the table. Raises "
      "FileError.");
  m.def(
      "write_path",
      [](const py::object& path, const Coupon& coupon, const job::Job& job) {
        calibration::write_path(file_path(path), coupon, job);
      },
      py::arg("path"), py::arg("coupon"), py::arg("job"),
      "The coupon as RS-274 words that a controller can run. Raises FileError; JobError for what [path] "
      "lacks.");
  m.def("path_text", &calibration::path_text, py::arg("coupon"), py::arg("job"),
        "The same as text. Raises JobError.");
}

}  // namespace

std::optional<response::Outcome> outcome_of(const py::object& value) {
  if (value.is_none()) return {};
  if (PyIndex_Check(value.ptr()) && !py::isinstance<py::bool_>(value)) {
    const int index = value.cast<int>();
    if (index < 0 || index > 3) throw py::value_error(fmt::format("outcome = {} (expected 0 to 3)", index));
    return response::Outcome(index);
  }
  return response::Outcome(Keywords::chosen("outcome", value, response::kOutcomeNames));
}

void bind_report(py::module_& m) {
  bind_result(m);
  bind_report_type(m);
  bind_report_files(m);
  bind_drawing(m);
}

}  // namespace circumfluence::bindings
