#include "job/toml_value.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>

#include "job/nearest.h"
#include "quantity/unit.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;

// Text taken apart for a message: "20 m" is "20" and "m".
struct Taken {
  std::string number;
  std::string unit;
  double value = 0.0;
};

std::optional<Taken> take_apart(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  if (text.starts_with('+')) text.remove_prefix(1);
  Taken taken;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), taken.value);
  if (problem != std::errc() || !std::isfinite(taken.value)) return std::nullopt;
  taken.number = text.substr(0, size_t(end - text.data()));
  text.remove_prefix(taken.number.size());
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  taken.unit = text;
  return taken;
}

std::optional<quantity::Dimension> dimension_of(std::string_view unit) {
  try {
    return quantity::parse_unit(unit).dimension;
  } catch (const JobError&) {
    return std::nullopt;
  }
}

// The same number in the unit that belongs there, if that would be accepted.
std::string with_right_unit(const std::string& number, const Range& range) {
  const std::string text = fmt::format("{} {}", number, range.unit);
  try {
    if (range.holds(quantity::parse_quantity(text, range.unit)))
      return fmt::format(". Did you mean \"{}\"?", text);
  } catch (const JobError&) {  // no advice then
  }
  return {};
}

[[noreturn]] void refuse_quantity(const toml::node& node, const Spot& spot, const Range& range) {
  const std::optional<Taken> taken = take_apart(node.as_string()->get());
  if (!taken) refuse(node, spot, "no finite number");
  if (taken->unit.empty())
    refuse(node, spot, "a number without a unit", with_right_unit(taken->number, range));
  const std::optional<quantity::Dimension> dimension = dimension_of(taken->unit);
  if (!dimension) {
    const std::string unit(range.unit);
    const std::string close =
        range.unit.size() == 1 && edit_distance(taken->unit, unit) == 0 ? unit : nearest(taken->unit, {unit});
    refuse(node, spot, "unknown unit", close.empty() ? "" : with_right_unit(taken->number, range));
  }
  if (*dimension == quantity::parse_unit(range.unit).dimension) refuse(node, spot, "not finite");
  const Spot narrow{spot.address, range_text(range), spot.file};
  refuse(node, narrow, quantity::name_of(*dimension),
         range.unit == "1" ? "" : with_right_unit(taken->number, range));
}

std::optional<double> bare_number(const toml::node& node) {
  if (const auto* whole = node.as_integer()) return static_cast<double>(whole->get());
  if (const auto* number = node.as_floating_point()) return number->get();
  return std::nullopt;
}

std::string shortest(const toml::node& node) {
  return fmt::format("{}", bare_number(node).value_or(0.0));
}

}  // namespace

bool has_dimension(const toml::node& node, std::string_view unit) {
  const auto* text = node.as_string();
  if (!text) return false;
  const std::optional<Taken> taken = take_apart(text->get());
  return taken && !taken->unit.empty() && dimension_of(taken->unit) == dimension_of(unit);
}

double read_quantity(const toml::node& node, const Spot& spot, const Range& range) {
  double si = 0.0;
  if (const std::optional<double> number = bare_number(node)) {
    if (range.unit != "1")
      refuse(node, spot, std::isfinite(*number) ? "a number without a unit" : "no finite number",
             std::isfinite(*number) ? with_right_unit(shortest(node), range) : "");
    if (!std::isfinite(*number)) refuse(node, spot, "no finite number");
    si = *number;
  } else if (const auto* text = node.as_string()) {
    try {
      si = quantity::parse_quantity(text->get(), range.unit);
    } catch (const JobError&) {
      refuse_quantity(node, spot, range);
    }
  } else {
    refuse(node, spot, kind_of(node));
  }
  if (!range.holds(si)) refuse(node, spot, "out of range");
  return si;
}

int read_whole(const toml::node& node, const Spot& spot, const Range& range) {
  const auto* whole = node.as_integer();
  if (!whole) {
    const auto* text = node.as_string();
    const std::optional<Taken> taken = text ? take_apart(text->get()) : std::nullopt;
    const bool plain =
        taken && taken->unit.empty() && taken->value == std::round(taken->value) && range.holds(taken->value);
    refuse(node, spot, kind_of(node), plain ? fmt::format(". Did you mean {}?", taken->value) : "");
  }
  const double value = static_cast<double>(whole->get());
  if (!range.holds(value) || std::abs(value) > std::numeric_limits<int>::max())
    refuse(node, spot, "out of range");
  return static_cast<int>(whole->get());
}

bool read_bool(const toml::node& node, const Spot& spot) {
  if (const auto* value = node.as_boolean()) return value->get();
  const auto* text = node.as_string();
  const bool word = text && (text->get() == "true" || text->get() == "false");
  refuse(node, spot, kind_of(node), word ? ". Did you mean " + text->get() + "?" : "");
}

std::string read_string(const toml::node& node, const Spot& spot) {
  const auto* text = node.as_string();
  if (!text) refuse(node, spot, kind_of(node));
  if (text->get().empty()) refuse(node, spot, "empty");
  const auto control = [](unsigned char c) { return (c < 0x20 && c != '\n' && c != '\t') || c == 0x7f; };
  if (std::any_of(text->get().begin(), text->get().end(), control))
    refuse(node, spot, "holds a control character");
  return text->get();
}

int read_choice(const toml::node& node, const Spot& spot, std::string_view choices) {
  const auto* text = node.as_string();
  if (!text) refuse(node, spot, kind_of(node));
  const std::vector<std::string> words = words_of(choices);
  const auto found = std::find(words.begin(), words.end(), text->get());
  if (found == words.end()) refuse(node, spot, "unknown word", suggestion(text->get(), words, "\"", "\""));
  return static_cast<int>(found - words.begin());
}

quantity::Pairs read_pairs(const toml::node& node, const Spot& spot, const Range& range) {
  const toml::array* rows = node.as_array();
  if (!rows) refuse(node, spot, kind_of(node));
  quantity::Pairs pairs;
  for (const toml::node& element : *rows) {
    Spot row = spot;
    row.address += fmt::format(" row {}", pairs.size() + 1);
    const toml::array* pair = element.as_array();
    if (!pair) refuse(element, row, kind_of(element));
    if (pair->size() != 2) refuse(element, row, "not a pair");
    row.expected = range_text(range);
    const double first = read_quantity(*pair->get(0), row, range);
    pairs.emplace_back(first, read_quantity(*pair->get(1), row, range));
  }
  return pairs;
}

quantity::Figure read_figure(const toml::node& node, const Spot& spot, const Range& range) {
  const toml::table* table = node.as_table();
  if (!table)
    refuse(node, spot, kind_of(node),
           fmt::format(". Did you mean {{ value = {}, source = \"...\" }}?", as_written(node)));
  refuse_unknown_keys(*table, {"value", "spread", "source"}, spot.address, spot.file);
  const auto needed = [&](const char* key, const std::string& what) -> const toml::node& {
    if (const toml::node* found = table->get(key)) return *found;
    throw JobError(fmt::format("{}.{} is missing (expected {})", spot.address, key, what),
                   place_of(table->source(), spot.file));
  };
  const std::string who = "who says so: a publication, \"from memory\", or \"common practice, no source\"";
  quantity::Figure figure;
  figure.value = read_quantity(needed("value", range_text(range)),
                               {spot.address + ".value", range_text(range), spot.file}, range);
  const Range spread{"%", 0.0, kWidestSpread};
  if (const toml::node* found = table->get("spread"))
    figure.spread = read_quantity(*found, {spot.address + ".spread", range_text(spread), spot.file}, spread);
  figure.source = read_string(needed("source", who), {spot.address + ".source", who, spot.file});
  return figure;
}

}  // namespace circumfluence::job
