#include "job/section_writer.h"

#include <fmt/format.h>

#include <cstdlib>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::job {
namespace {

// Fixed notation where people read it, whatever the number of digits kept.
std::string with_digits(double number, int digits) {
  const std::string rounded = fmt::format("{:.{}e}", number, digits - 1);
  return fmt::format("{}", std::strtod(rounded.c_str(), nullptr) + 0.0);
}

std::string with_unit(const std::string& number, std::string_view unit) {
  return unit.empty() || unit == "1" ? number : fmt::format("{} {}", number, unit);
}

// A unit of factor 1 and the same dimension.
std::string coherent_unit(std::string_view unit) {
  const quantity::Dimension dimension = quantity::parse_unit(unit).dimension;
  for (const char* named : {"1", "m", "m/s", "m/s^2", "W", "Hz", "s", "K", "rad", "J/m^2", "J/m^3"})
    if (quantity::parse_unit(named).dimension == dimension) return named;
  static constexpr const char* kBase[] = {"m", "kg", "s", "K", "rad"};
  std::string product;
  for (size_t i = 0; i < dimension.size(); ++i)
    if (dimension[i] != 0)
      product += fmt::format("{}{}^{}", product.empty() ? "" : " ", kBase[i], dimension[i]);
  return product;
}

}  // namespace

bool Range::holds(double si) const {
  const double room = 1e-12;
  return std::isfinite(si) && si >= low - room * std::abs(low) && si <= high + room * std::abs(high);
}

std::string exact_text(double si, std::string_view unit) {
  const std::string_view like = unit.empty() ? "1" : unit;
  const double number = quantity::in_unit(si, like);
  for (int digits = 1; digits <= 17; ++digits) {
    const std::string text = with_unit(with_digits(number, digits), like);
    if (quantity::parse_quantity(text, like) == si) return text;
  }
  for (const double end : {-quantity::kInfinity, quantity::kInfinity}) {
    const std::string text = with_unit(with_digits(std::nextafter(number, end), 17), like);
    if (quantity::parse_quantity(text, like) == si) return text;
  }
  return fmt::format("{} {}", si, coherent_unit(like));
}

std::string rounded_text(double si, std::string_view unit) {
  return with_unit(with_digits(quantity::in_unit(si, unit.empty() ? "1" : unit), 6), unit);
}

std::string range_text(const Range& range) {
  const std::string name =
      range.unit == "1" ? "a number" : quantity::name_of(quantity::parse_unit(range.unit).dimension);
  const bool low = std::isfinite(range.low), high = std::isfinite(range.high);
  if (low && high)
    return name + " from " + rounded_text(range.low, range.unit) + " to " +
           rounded_text(range.high, range.unit);
  if (low) return name + " of at least " + rounded_text(range.low, range.unit);
  if (high) return name + " up to " + rounded_text(range.high, range.unit);
  return range.unit == "1" ? name : fmt::format("{} in {}", name, range.unit);
}

std::string toml_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\')
      out += {'\\', c};
    else if (c == '\n')
      out += "\\n";
    else if (c == '\t')
      out += "\\t";
    else if (byte < 0x20 || byte == 0x7f)
      out += fmt::format("\\u{:04x}", byte);
    else
      out += c;
  }
  return out + "\"";
}

std::vector<std::string> words_of(std::string_view choices) {
  std::vector<std::string> words;
  while (!choices.empty()) {
    const size_t end = std::min(choices.find(' '), choices.size());
    if (end > 0) words.emplace_back(choices.substr(0, end));
    choices.remove_prefix(std::min(end + 1, choices.size()));
  }
  return words;
}

std::string listed(const std::vector<std::string>& words, std::string_view quote) {
  std::string out;
  for (const std::string& word : words)
    out += fmt::format("{}{}{}{}", out.empty() ? "" : ", ", quote, word, quote);
  return out;
}

std::string pairs_text(const quantity::Pairs& pairs, std::string_view unit) {
  std::string out;
  for (const auto& [first, second] : pairs)
    out += fmt::format("{}[{}, {}]", out.empty() ? "" : ", ", toml_string(exact_text(first, unit)),
                       toml_string(exact_text(second, unit)));
  return "[" + out + "]";
}

std::string figure_text(const quantity::Figure& figure, std::string_view unit) {
  const std::string value = exact_text(figure.value, unit);
  std::string out = "{ value = " + (unit == "1" ? value : toml_string(value));
  if (figure.spread != 0.0) out += ", spread = " + toml_string(exact_text(figure.spread, "%"));
  return out + ", source = " + toml_string(figure.source) + " }";
}

}  // namespace circumfluence::job
