// From a section to the text of a job file, by its field table.
//
// Values stand in the field's unit with the fewest digits that read back as the same double. Where no number
// in that unit does (multiplying by the unit's factor skips some doubles), the coherent SI unit is written.
#pragma once

#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/field.h"

namespace circumfluence::job {

// What a number may be: from `low` to `high` (SI), spoken of in `unit`.
struct Range {
  std::string_view unit;
  double low = -quantity::kInfinity;
  double high = quantity::kInfinity;

  // With room for the rounding of a bound that was written in its unit.
  bool holds(double si) const;
};

std::string exact_text(double si, std::string_view unit);    // "2500 mm/min"
std::string rounded_text(double si, std::string_view unit);  // six figures, for messages
std::string range_text(const Range& range);                  // "a power from 0 W to 5000 W"
std::string toml_string(std::string_view text);              // quoted, with escapes
std::vector<std::string> words_of(std::string_view choices);
std::string listed(const std::vector<std::string>& words, std::string_view quote = "");  // "a, b, c"
std::string pairs_text(const quantity::Pairs& pairs, std::string_view unit);
std::string figure_text(const quantity::Figure& figure, std::string_view unit);

template <class Section>
Range range_of(const quantity::Field<Section>& field) {
  return {field.unit, field.low, field.high};
}

// A figure that every record must have is a name rather than a measurement, such as the wavelength of a row
// of optics: it may stand as plain text, and is then its own source.
inline constexpr const char* kNominal = "nominal";
template <class Section>
bool is_nominal(const quantity::Field<Section>& field, const quantity::Figure& figure) {
  return field.required && figure.known() && figure.spread == 0.0 && figure.source == kNominal;
}

// What a message or the reference says is expected of a field.
template <class Section>
struct Expected {
  const quantity::Field<Section>& field;

  std::string operator()(double Section::*) const {
    std::string text = range_text(range_of(field));
    if (field.alternative)
      text += ", or " + range_text({field.alternative_unit, 0.0, field.alternative_high});
    return text;
  }
  std::string operator()(int Section::*) const {
    return "a whole number from " + rounded_text(field.low, "1") + " to " + rounded_text(field.high, "1");
  }
  std::string operator()(bool Section::*) const { return "true or false"; }
  std::string operator()(std::string Section::*) const { return "text in quotes"; }
  std::string operator()(quantity::Pairs Section::*) const {
    const std::string unit = field.unit;
    return "rows such as [\"0 " + unit + "\", \"73 " + unit + "\"], each " + range_text(range_of(field));
  }
  std::string operator()(quantity::Figure Section::*) const {
    return (field.required ? "" : "{ value, spread, source } with ") + range_text(range_of(field));
  }
  std::string operator()(const quantity::Choice<Section>&) const {
    return "one of " + listed(words_of(field.choices), "\"");
  }
};

// The word of an enumeration for what a job does not say; it is not written.
inline constexpr std::string_view kUnstated = "unstated";

template <class Section>
std::string expected(const quantity::Field<Section>& field) {
  return std::visit(Expected<Section>{field}, field.member);
}

// The value of a field; empty when it is not given. Quoted as TOML, or bare as `value_at` shows it.
template <class Section>
struct ValueText {
  const quantity::Field<Section>& field;
  const Section& section;
  bool toml = true;

  std::string quoted(const std::string& text) const { return toml ? toml_string(text) : text; }
  std::string number(double si, std::string_view unit) const {
    if (std::isnan(si)) return {};
    const std::string text = exact_text(si, unit);
    return unit == "1" ? text : quoted(text);
  }
  std::string operator()(double Section::*member) const {
    if (field.alternative && !std::isnan(section.*field.alternative))
      return number(section.*field.alternative, field.alternative_unit);
    return number(section.*member, field.unit);
  }
  std::string operator()(int Section::*member) const { return std::to_string(section.*member); }
  std::string operator()(bool Section::*member) const { return section.*member ? "true" : "false"; }
  std::string operator()(std::string Section::*member) const {
    return (section.*member).empty() ? "" : quoted(section.*member);
  }
  std::string operator()(quantity::Pairs Section::*member) const {
    return (section.*member).empty() ? "" : pairs_text(section.*member, field.unit);
  }
  std::string operator()(quantity::Figure Section::*member) const {
    const quantity::Figure& figure = section.*member;
    if (is_nominal(field, figure)) return number(figure.value, field.unit);
    return figure.known() ? figure_text(figure, field.unit) : "";
  }
  std::string operator()(const quantity::Choice<Section>& member) const {
    const std::vector<std::string> words = words_of(field.choices);
    const int index = member.get(section);
    if (toml && index == 0 && words.front() == kUnstated) return "";
    return index < 0 || index >= static_cast<int>(words.size()) ? "" : quoted(words[size_t(index)]);
  }
};

template <class Section>
std::string value_text(const Section& section, const quantity::Field<Section>& field, bool toml = true) {
  return std::visit(ValueText<Section>{field, section, toml}, field.member);
}

// The lines "key = value" of a section, without its header.
template <class Section>
std::string section_text(const Section& section, const quantity::Fields<Section>& fields) {
  std::string text;
  for (const auto& field : fields)
    if (const std::string value = value_text(section, field); !value.empty())
      text += std::string(field.key) + " = " + value + "\n";
  return text;
}

}  // namespace circumfluence::job
