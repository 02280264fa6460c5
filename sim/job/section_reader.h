// From a TOML table to a section, by its field table; and the same rules for a section built in code.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "job/toml_value.h"
#include "workpiece/material.h"

namespace circumfluence::job {

// Sets the member of one field from a node.
template <class Section>
struct FieldReader {
  const quantity::Field<Section>& field;
  Section& section;
  const toml::node& node;
  const Spot& spot;

  void operator()(double Section::*member) const {
    if (!field.alternative) {
      section.*member = read_quantity(node, spot, range_of(field));
    } else if (has_dimension(node, field.alternative_unit)) {
      section.*field.alternative =
          read_quantity(node, spot, {field.alternative_unit, 0.0, field.alternative_high});
      section.*member = quantity::kUnset;
    } else {
      section.*member = read_quantity(node, spot, range_of(field));
      section.*field.alternative = quantity::kUnset;
    }
  }
  void operator()(int Section::*member) const { section.*member = read_whole(node, spot, range_of(field)); }
  void operator()(bool Section::*member) const { section.*member = read_bool(node, spot); }
  void operator()(std::string Section::*member) const { section.*member = read_string(node, spot); }
  void operator()(quantity::Pairs Section::*member) const {
    section.*member = read_pairs(node, spot, range_of(field));
  }
  void operator()(quantity::Figure Section::*member) const {
    if (field.required && !node.is_table())
      section.*member = {read_quantity(node, spot, range_of(field)), 0.0, kNominal};
    else
      section.*member = read_figure(node, spot, range_of(field));
  }
  void operator()(const quantity::Choice<Section>& member) const {
    member.set(section, read_choice(node, spot, field.choices));
  }
};

template <class Section>
void read_field(const toml::node& node, const Spot& spot, const quantity::Field<Section>& field,
                Section& section) {
  std::visit(FieldReader<Section>{field, section, node, spot}, field.member);
}

// Sets `section` from `table`, which is called `name` in messages; `more` are keys that someone else reads.
template <class Section>
void read_section(const toml::table& table, const Spot& name, const quantity::Fields<Section>& fields,
                  Section& section, const std::vector<std::string>& more = {}) {
  std::vector<std::string> known;
  for (const auto& field : fields) known.emplace_back(field.key);
  known.insert(known.end(), more.begin(), more.end());
  refuse_unknown_keys(table, known, name.address, name.file);
  for (const auto& field : fields) {
    const Spot spot{name.address + "." + field.key, expected(field), name.file};
    if (const toml::node* node = table.get(field.key))
      read_field(*node, spot, field, section);
    else if (field.required)
      throw quantity::JobError(spot.address + " is missing (expected " + spot.expected + ")",
                               place_of(table.source(), name.file));
  }
}

// Holds a section built in code against its field table.
template <class Section>
struct FieldCheck {
  const quantity::Field<Section>& field;
  const Section& section;
  const std::string& name;

  [[noreturn]] void missing() const {
    throw quantity::JobError(name + "." + field.key + " is missing (expected " + expected(field) + ")");
  }
  void hold(double si, const Range& range) const {
    if (range.holds(si)) return;
    throw quantity::JobError(name + "." + field.key + " = " + rounded_text(si, range.unit) +
                             " (out of range; expected " + expected(field) + ")");
  }
  void operator()(double Section::*member) const {
    const double value = section.*member;
    const double other = field.alternative ? section.*field.alternative : quantity::kUnset;
    if (std::isnan(value) && std::isnan(other)) {
      if (field.required) missing();
    } else if (!std::isnan(value) && !std::isnan(other)) {
      throw quantity::JobError(name + "." + field.key + " is given twice, in " + field.unit + " and in " +
                               field.alternative_unit + ". Keep one of them");
    } else if (std::isnan(value)) {
      hold(other, {field.alternative_unit, 0.0, field.alternative_high});
    } else {
      hold(value, range_of(field));
    }
  }
  void operator()(int Section::*member) const { hold(section.*member, {"1", field.low, field.high}); }
  void operator()(bool Section::*) const {}
  void operator()(std::string Section::*member) const {
    if (field.required && (section.*member).empty()) missing();
  }
  void operator()(quantity::Pairs Section::*member) const {
    if (field.required && (section.*member).empty()) missing();
    for (const auto& [first, second] : section.*member) {
      hold(first, range_of(field));
      hold(second, range_of(field));
    }
  }
  void operator()(quantity::Figure Section::*member) const {
    const quantity::Figure& figure = section.*member;
    if (!figure.known()) {
      if (field.required) missing();
      return;
    }
    hold(figure.value, range_of(field));
    if (!Range{"%", 0.0, kWidestSpread}.holds(figure.spread) || figure.source.empty())
      throw quantity::JobError(name + "." + field.key + " has no source, or a spread outside 0 % to 1000 %");
  }
  void operator()(const quantity::Choice<Section>&) const {
    if (value_text(section, field, false).empty()) missing();
  }
};

template <class Section>
void check_section(const Section& section, const std::string& name, const quantity::Fields<Section>& fields) {
  for (const auto& field : fields) std::visit(FieldCheck<Section>{field, section, name}, field.member);
}

// The records of a table [material], in the order of the file.
std::vector<workpiece::Material> read_material_tables(const toml::node& node, const std::string& file);

// Blocks [[material.NAME.settled]], from and to text, and one built in code against itself.
std::vector<workpiece::Settled> read_settled(const toml::node& node, const Spot& spot);
std::string settled_text(const workpiece::Material& material);
void check_settled(const workpiece::Material& material);

// Tables [material.NAME.spectrum] and [material.NAME.oxide_spectrum], likewise.
workpiece::Spectrum read_spectrum(const toml::node& node, const Spot& spot);
std::string spectrum_text(const workpiece::Material& material);
void check_spectrum(const workpiece::Material& material);

}  // namespace circumfluence::job
