// Sections compared member by member, and made at random, both by their field tables.
#pragma once

#include <rapidcheck.h>

#include <cmath>
#include <string>
#include <type_traits>

#include "job/section_writer.h"
#include "job/sections.h"

namespace circumfluence::job {

inline bool same(double a, double b) {
  return a == b || (std::isnan(a) && std::isnan(b));
}
inline bool same(const quantity::Figure& a, const quantity::Figure& b) {
  return same(a.value, b.value) && (!a.known() || (a.spread == b.spread && a.source == b.source));
}
template <class T>
bool same(const T& a, const T& b) {
  return a == b;
}

// The key of the first field in which two sections differ, or nothing.
template <class Section>
std::string difference(const Section& a, const Section& b, const quantity::Fields<Section>& fields) {
  for (const auto& field : fields) {
    const bool equal = std::visit(
        [&](const auto& member) {
          using Member = std::decay_t<decltype(member)>;
          if constexpr (std::is_same_v<Member, quantity::Choice<Section>>)
            return member.get(a) == member.get(b);
          else
            return same(a.*member, b.*member);
        },
        field.member);
    if (!equal || (field.alternative && !same(a.*field.alternative, b.*field.alternative))) return field.key;
  }
  return {};
}

inline std::string difference(const workpiece::Material& a, const workpiece::Material& b) {
  if (a.name != b.name) return "name";
  if (a.optics.size() != b.optics.size()) return "number of optics";
  std::string key = difference(a, b, workpiece::material_fields());
  for (size_t i = 0; key.empty() && i < a.optics.size(); ++i)
    key = difference(a.optics[i], b.optics[i], workpiece::optics_fields());
  if (key.empty() && a.settled.size() != b.settled.size()) return "number of settled";
  for (size_t i = 0; key.empty() && i < a.settled.size(); ++i) {
    const workpiece::Settled &one = a.settled[i], &other = b.settled[i];
    if (one.name != other.name || one.value != other.value || one.spread != other.spread || one.correlations != other.correlations)
      key = "settled";
  }
  return key;
}

// The address of the first difference between two jobs; folder, text and origins of materials aside.
inline std::string difference(const Job& a, const Job& b) {
  std::string address;
  for_each_section(a, [&](const std::string& name, const auto& section, const auto& fields) {
    using Section = std::decay_t<decltype(section)>;
    for_each_section(b, [&](const std::string&, const auto& other, const auto&) {
      if constexpr (std::is_same_v<Section, std::decay_t<decltype(other)>>)
        if (const std::string key = difference(section, other, fields); address.empty() && !key.empty())
          address = name + "." + key;
    });
  });
  if (address.empty() && a.materials.size() != b.materials.size()) return "number of materials";
  for (size_t i = 0; address.empty() && i < a.materials.size(); ++i)
    address = difference(a.materials[i], b.materials[i]);
  return address;
}

// A number between the bounds, the bounds themselves and round numbers among them.
inline double random_number(double low, double high) {
  const int how = *rc::gen::inRange(0, 8);
  if (how == 0) return low;
  if (how == 1) return high;
  const double share = static_cast<double>(*rc::gen::inRange<int64_t>(0, int64_t{1} << 53)) * 0x1p-53;
  const double number = low > 0 && how < 5 ? low * std::pow(high / low, share) : low + share * (high - low);
  return std::clamp(number, low, high);
}

inline std::string random_text() {
  return *rc::gen::element<std::string>("a", "two words", "with \"quotes\" and \\", "µm and 日本語",
                                        "line\nline\t.", "'''", "# [x] = {}", "true");
}

template <class Section>
Section random_section(const quantity::Fields<Section>& fields) {
  Section section;
  for (const auto& field : fields) {
    if (!field.required && *rc::gen::arbitrary<bool>()) continue;
    std::visit(
        [&](const auto& member) {
          if constexpr (std::is_same_v<std::decay_t<decltype(member)>, quantity::Choice<Section>>) {
            member.set(section, *rc::gen::inRange<int>(0, int(words_of(field.choices).size())));
          } else {
            using Value = std::decay_t<decltype(section.*member)>;
            Value& value = section.*member;
            if constexpr (std::is_same_v<Value, double>) {
              if (field.alternative && *rc::gen::arbitrary<bool>())
                section.*field.alternative = random_number(0.0, field.alternative_high);
              else
                value = random_number(field.low, field.high);
            } else if constexpr (std::is_same_v<Value, int>) {
              value = *rc::gen::inRange<int>(int(field.low), int(field.high) + 1);
            } else if constexpr (std::is_same_v<Value, bool>) {
              value = *rc::gen::arbitrary<bool>();
            } else if constexpr (std::is_same_v<Value, std::string>) {
              value = random_text();
            } else if constexpr (std::is_same_v<Value, quantity::Pairs>) {
              for (int rows = *rc::gen::inRange(1, 5); rows > 0; --rows)
                value.emplace_back(random_number(field.low, field.high),
                                   random_number(field.low, field.high));
            } else {
              value = {random_number(field.low, field.high), random_number(0.0, 10.0), random_text()};
            }
          }
        },
        field.member);
  }
  return section;
}

}  // namespace circumfluence::job
