// Blocks [[material.NAME.settled]] of a record: what one fit settled together.
//
// Read strictly: distinct names, quantities with units, as many correlations as entries stand before, and no
// set of correlations that standard deviates cannot have (a matrix that is not positive semi-definite, within
// 1e-6).
#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <set>

#include "job/material_file.h"
#include "job/section_reader.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;
using workpiece::Material;
using workpiece::Settled;

constexpr size_t kMostSettled = 64, kLongestName = 160;
constexpr double kRounding = 1e-6;  // of a pivot: correlations are written rounded

// A number and a known unit, or no unit.
bool is_quantity(std::string_view text) {
  double number = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (problem != std::errc() || !std::isfinite(number)) return false;
  std::string_view unit = text.substr(size_t(end - text.data()));
  while (unit.starts_with(' ')) unit.remove_prefix(1);
  try {
    quantity::parse_quantity(text, unit.empty() ? "1" : unit);
  } catch (const JobError&) {
    return false;
  }
  return true;
}

const toml::node& needed(const toml::table& row, const Spot& spot, const char* key, const std::string& what) {
  if (const toml::node* found = row.get(key)) return *found;
  throw JobError(fmt::format("{}.{} is missing (expected {})", spot.address, key, what),
                 place_of(row.source(), spot.file));
}

std::string text_of(const toml::table& row, const Spot& spot, const char* key, const std::string& what) {
  const Spot own{spot.address + "." + key, what, spot.file};
  const toml::node& node = needed(row, spot, key, what);
  const std::string text = read_string(node, own);
  if (text.size() > kLongestName) refuse(node, own, "too long");
  if (std::string_view(key) != "name" && !is_quantity(text)) refuse(node, own, "no number with a unit");
  return text;
}

std::vector<double> correlations_of(const toml::table& row, const Spot& spot, size_t before) {
  const std::string what = fmt::format("{} correlations from -1 to 1, one with each entry before", before);
  const Spot own{spot.address + ".correlations", what, spot.file};
  if (before == 0 && row.get("correlations") == nullptr) return {};
  const toml::node& node = needed(row, spot, "correlations", what);
  const toml::array* numbers = node.as_array();
  if (!numbers) refuse(node, own, kind_of(node));
  if (numbers->size() != before) refuse(node, own, fmt::format("holds {}", numbers->size()));
  std::vector<double> out;
  for (const toml::node& number : *numbers)
    out.push_back(
        read_quantity(number, {own.address, "a correlation from -1 to 1", spot.file}, {"1", -1.0, 1.0}));
  return out;
}

// Whether deviates can be so correlated: no pivot of the Cholesky factorisation is below 0.
bool possible(const std::vector<Settled>& settled) {
  const size_t n = settled.size();
  std::vector<double> factor(n * n);
  for (size_t i = 0; i < n; ++i)
    for (size_t j = 0; j <= i; ++j) {
      double sum = i == j ? 1.0 : settled[i].correlations[j];
      for (size_t k = 0; k < j; ++k) sum -= factor[i * n + k] * factor[j * n + k];
      const double pivot = factor[j * n + j];
      if (i == j && sum < -kRounding) return false;
      if (i == j)
        factor[i * n + i] = std::sqrt(std::max(sum, 0.0));
      else if (pivot > std::sqrt(kRounding))
        factor[i * n + j] = sum / pivot;
      else if (std::abs(sum) > 2 * std::sqrt(kRounding))
        return false;
    }
  return true;
}

void check_entry(const Settled& entry, size_t before, const std::string& address) {
  if (entry.name.empty() || entry.name.size() > kLongestName)
    throw JobError(fmt::format(
        "{}.name is missing or too long (expected a figure's name such as \"laser.spot\")", address));
  for (const auto& [key, text] : {std::pair("value", &entry.value), std::pair("spread", &entry.spread)})
    if (!is_quantity(*text))
      throw JobError(fmt::format("{}.{} of {} = {} (no number with a unit)", address, key, entry.name,
                                 toml_string(text->substr(0, 40))));
  if (entry.correlations.size() != before)
    throw JobError(fmt::format("{}.correlations of {} are {} (expected {}, one with each entry before)",
                               address, entry.name, entry.correlations.size(), before));
  for (const double rho : entry.correlations)
    if (!(std::abs(rho) <= 1))
      throw JobError(
          fmt::format("{}.correlations of {} hold {} (expected -1 to 1)", address, entry.name, rho));
}

}  // namespace

std::vector<Settled> read_settled(const toml::node& node, const Spot& spot) {
  const toml::array* rows = node.as_array();
  if (!rows) refuse(node, spot, kind_of(node));
  std::vector<Settled> out;
  for (const toml::node& element : *rows) {
    const toml::table* row = element.as_table();
    if (!row) refuse(element, spot, kind_of(element));
    refuse_unknown_keys(*row, {"name", "value", "spread", "correlations"}, spot.address, spot.file);
    if (out.size() >= kMostSettled)
      throw JobError(fmt::format("{} (too many; expected up to {})", spot.address, kMostSettled),
                     place_of(row->source(), spot.file));
    const size_t before = out.size();
    Settled& entry = out.emplace_back();
    entry.name = text_of(*row, spot, "name", "a figure's name such as \"laser.spot\"");
    entry.value = text_of(*row, spot, "value", "the figure's value with its unit");
    entry.spread = text_of(*row, spot, "spread", "its spread with its unit");
    entry.correlations = correlations_of(*row, spot, before);
  }
  return out;
}

std::string settled_text(const Material& material) {
  std::string out;
  for (const Settled& entry : material.settled) {
    out += fmt::format("\n[[material.{}.settled]]\nname = {}\nvalue = {}\nspread = {}\n", material.name,
                       toml_string(entry.name), toml_string(entry.value), toml_string(entry.spread));
    std::string numbers;
    for (const double rho : entry.correlations)
      numbers += fmt::format("{}{}", numbers.empty() ? "" : ", ", rho + 0.0);
    if (!numbers.empty()) out += "correlations = [" + numbers + "]\n";
  }
  return out;
}

void check_settled(const Material& material) {
  const std::string address = "material." + material.name + ".settled";
  if (material.settled.size() > kMostSettled)
    throw JobError(fmt::format("{} (too many; expected up to {})", address, kMostSettled));
  std::set<std::string> names;
  for (size_t i = 0; i < material.settled.size(); ++i) {
    check_entry(material.settled[i], i, address);
    if (!names.insert(material.settled[i].name).second)
      throw JobError(
          fmt::format("{} (holds {} twice. Keep one of the entries)", address, material.settled[i].name));
  }
  if (!possible(material.settled))
    throw JobError(
        fmt::format("{} (no deviates are so correlated: the matrix is not positive semi-definite; expected "
                    "correlations as a fit wrote them)",
                    address));
}

}  // namespace circumfluence::job
