// Reports as TOML, and what files of both kinds share.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "calibration/report.h"
#include "job/section_reader.h"
#include "job/toml_value.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;

std::string file_name(const std::string& path) {
  return std::filesystem::path(path).filename().string();
}

// A message about one table of a file, at its place.
template <class Work>
void placed(const toml::table& table, const std::string& file, const Work& work) {
  try {
    work();
  } catch (const JobError& error) {
    if (error.place().line > 0) throw;
    throw JobError(error.problem(), job::place_of(table.source(), file));
  }
}

const toml::array& patches(const toml::table& top, const std::string& file) {
  const toml::node* node = top.get("patch");
  if (!node) throw JobError("patch is missing (expected a table [[patch]] for each patch that is told of)", {file});
  const toml::array* out = node->as_array();
  if (!out) job::refuse(*node, {"patch", "tables [[patch]]", file}, job::kind_of(*node));
  if (out->size() > kMostSlots)
    throw JobError(fmt::format("{} tables [[patch]] (expected at most {})", out->size(), kMostSlots),
                   job::place_of(node->source(), file));
  return *out;
}

Result read_result(const toml::node& node, const std::string& file, const Coupon& coupon) {
  const toml::table* table = node.as_table();
  if (!table) job::refuse(node, {"patch", "a table [[patch]]", file}, job::kind_of(node));
  Result out;
  job::read_section(*table, {"patch", "", file}, result_fields(), out);
  placed(*table, file, [&] { check(out, coupon); });
  return out;
}

std::map<int, size_t> order_of(const Coupon& coupon) {
  std::map<int, size_t> out;
  for (size_t i = 0; i < coupon.slots.size(); ++i) out.emplace(coupon.slots[i].number, i);
  return out;
}

}  // namespace

Report parse_report_toml(std::string_view text, const std::string& name, const Coupon& coupon) {
  const toml::table top = job::parse_toml(text, name);
  std::vector<std::string> known = {"patch"};
  for (const auto& field : report_fields()) known.emplace_back(field.key);
  job::refuse_unknown_keys(top, known, "", name);
  Report out;
  out.origin = file_name(name);
  for (const auto& field : report_fields())
    if (const toml::node* node = top.get(field.key))
      job::read_field(*node, {field.key, job::expected(field), name}, field, out);
  std::map<int, int> lines;
  for (const toml::node& node : patches(top, name)) {
    Result result = read_result(node, name, coupon);
    const auto [first, fresh] = lines.emplace(result.number, int(node.source().begin.line));
    if (!fresh)
      throw JobError(fmt::format("patch.number = {} (stands in line {} already; expected each patch once)",
                                 result.number, first->second),
                     job::place_of(node.source(), name));
    if (result.told()) out.results.push_back(std::move(result));
  }
  const std::map<int, size_t> order = order_of(coupon);
  std::sort(out.results.begin(), out.results.end(),
            [&](const Result& a, const Result& b) { return order.at(a.number) < order.at(b.number); });
  placed(top, name, [&] { check(out, coupon); });
  return out;
}

Report read_report(const std::string& path, const Coupon& coupon) {
  std::string end = std::filesystem::path(path).extension().string();
  std::transform(end.begin(), end.end(), end.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  if (end == ".toml") return parse_report_toml(job::read_text(path), path, coupon);
  if (end == ".csv") return parse_report_csv(job::read_text(path), path, coupon);
  throw quantity::FileError(path, "neither .toml nor .csv (expected a report as one of them)");
}

}  // namespace circumfluence::calibration
