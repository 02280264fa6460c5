// Jobs back to text, and one value of a job by its address.
#include <fmt/format.h>

#include "job/job_file.h"
#include "job/material_file.h"
#include "job/nearest.h"
#include "job/section_reader.h"
#include "job/sections.h"

namespace circumfluence::job {
namespace {

using quantity::Field;
using quantity::JobError;

[[noreturn]] void refuse_address(std::string_view address) {
  throw JobError(fmt::format("{} (no such parameter; expected a section and a key, such as scan.power){}",
                             toml_string(address.substr(0, 64)), suggestion(address, addresses())));
}

// Fields whose values are not quoted in a job file.
template <class Section>
bool stands_bare(const Field<Section>& field) {
  return std::holds_alternative<int Section::*>(field.member) ||
         std::holds_alternative<bool Section::*>(field.member) ||
         std::holds_alternative<quantity::Pairs Section::*>(field.member);
}

template <class Section>
void read_text_value(std::string_view text, const Spot& spot, const Field<Section>& field, Section& section) {
  toml::table holder{{"value", std::string(text)}};
  if (stands_bare(field)) {
    try {
      toml::table bare = parse_toml("value = " + std::string(text), "");
      if (bare.size() == 1) holder = std::move(bare);
    } catch (const JobError&) {  // not TOML: it is refused below, as the text it is
    }
  }
  read_field(*holder.get("value"), spot, field, section);
}

template <class Section>
void set_number(double si, const Spot& spot, const Field<Section>& field, Section& section) {
  if (const auto* member = std::get_if<double Section::*>(&field.member)) {
    section.*(*member) = si;
    if (field.alternative) section.*field.alternative = quantity::kUnset;
    if (!range_of(field).holds(si))
      throw JobError(fmt::format("{} = {} (out of range; expected {})", spot.address,
                                 rounded_text(si, field.unit), spot.expected));
    return;
  }
  if (std::holds_alternative<int Section::*>(field.member) && si == std::round(si) && std::abs(si) < 1e9)
    return read_field(toml::value<int64_t>(static_cast<int64_t>(si)), spot, field, section);
  throw JobError(fmt::format("{} = {} (a number; expected {})", spot.address, si, spot.expected));
}

Job rewritten(Job job) {
  check(job);
  job.text = write_job(job);
  job.name.clear();  // places in the file no longer hold
  return job;
}

}  // namespace

std::vector<std::string> addresses() {
  std::vector<std::string> all;
  const Job job;
  for_each_section(job, [&all](const std::string& name, const auto&, const auto& fields) {
    for (const auto& field : fields) all.push_back(name + "." + field.key);
  });
  return all;
}

std::string write_job(const Job& job) {
  std::string text;
  for_each_section(job, [&text](const std::string& name, const auto& section, const auto& fields) {
    const std::string values = section_text(section, fields);
    if (may_be_absent(name) && values == section_text(std::decay_t<decltype(section)>{}, fields)) return;
    text += (text.empty() ? "[" : "\n[") + name + "]\n" + values;
  });
  for (const workpiece::Material& material : job.materials) text += "\n" + write_material(material);
  return text;
}

void assign(Job& job, std::string_view address, std::string_view value) {
  const bool found = at_address(job, address, [&](auto& section, const auto& field) {
    read_text_value(value, {std::string(address), expected(field), ""}, field, section);
  });
  if (!found) refuse_address(address);
}

void assign(Job& job, std::string_view address, double si) {
  const bool found = at_address(job, address, [&](auto& section, const auto& field) {
    set_number(si, {std::string(address), expected(field), ""}, field, section);
  });
  if (!found) refuse_address(address);
}

Job replaced(const Job& job, std::string_view address, std::string_view value) {
  Job copy = job;
  assign(copy, address, value);
  return rewritten(std::move(copy));
}

Job replaced(const Job& job, std::string_view address, double si) {
  Job copy = job;
  assign(copy, address, si);
  return rewritten(std::move(copy));
}

Job completed(Job job) { return rewritten(std::move(job)); }

std::string value_at(const Job& job, std::string_view address) {
  std::string value;
  const bool found = at_address(job, address, [&value](const auto& section, const auto& field) {
    value = value_text(section, field, false);
  });
  if (!found) refuse_address(address);
  return value;
}

}  // namespace circumfluence::job
