// Tables [material.NAME.spectrum] and [material.NAME.oxide_spectrum]: n + ik by wavelength, for colours.
//
//   wavelength = ["400 nm", "420 nm"]
//   n = [1.527, 1.579]
//   k = [2.793, 2.922]
//   source = "who says so"
//
// Read strictly: rising wavelengths, lists of equal length, at least two of each, and a source. What range they must
// cover is asked where a colour is made of them.
#include <fmt/format.h>

#include "job/section_reader.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;
using workpiece::Material;
using workpiece::Spectrum;

constexpr size_t kMost = 1000;
constexpr Range kWavelength{"nm", 200e-9, 20e-6}, kReal{"1", 1e-3, 100}, kImaginary{"1", 0, 300};

struct List {
  const char* key;
  Range range;
  std::vector<double> Spectrum::*member;
};
constexpr List kLists[] = {
    {"wavelength", kWavelength, &Spectrum::wavelengths}, {"n", kReal, &Spectrum::n}, {"k", kImaginary, &Spectrum::k}};

std::string wanted(const List& list) {
  return fmt::format("a list of 2 to {}, each {}", kMost, range_text(list.range));
}

const toml::node& needed(const toml::table& table, const Spot& spot, const char* key, const std::string& what) {
  if (const toml::node* found = table.get(key)) return *found;
  throw JobError(fmt::format("{}.{} is missing (expected {})", spot.address, key, what),
                 place_of(table.source(), spot.file));
}

std::vector<double> read_list(const toml::table& table, const Spot& spot, const List& list) {
  const Spot own{spot.address + "." + list.key, wanted(list), spot.file};
  const toml::node& node = needed(table, spot, list.key, own.expected);
  const toml::array* numbers = node.as_array();
  if (!numbers) refuse(node, own, kind_of(node));
  if (numbers->size() < 2 || numbers->size() > kMost) refuse(node, own, fmt::format("holds {}", numbers->size()));
  std::vector<double> out;
  for (const toml::node& number : *numbers)
    out.push_back(read_quantity(number, {own.address, range_text(list.range), spot.file}, list.range));
  return out;
}

void check(const Spectrum& spectrum, const std::string& address) {
  if (!spectrum.known() && spectrum.n.empty() && spectrum.k.empty()) return;
  for (const List& list : kLists) {
    const std::vector<double>& values = spectrum.*list.member;
    if (values.size() < 2 || values.size() > kMost || values.size() != spectrum.wavelengths.size())
      throw JobError(fmt::format("{}.{} holds {} (expected {}, as many as of wavelength)", address, list.key,
                                 values.size(), wanted(list)));
    for (const double value : values)
      if (!list.range.holds(value))
        throw JobError(fmt::format("{}.{} holds {} (out of range; expected {})", address, list.key,
                                   rounded_text(value, list.range.unit), range_text(list.range)));
  }
  for (size_t i = 1; i < spectrum.wavelengths.size(); ++i)
    if (!(spectrum.wavelengths[i] > spectrum.wavelengths[i - 1]))
      throw JobError(fmt::format("{}.wavelength has {} after {} (expected rising wavelengths)", address,
                                 rounded_text(spectrum.wavelengths[i], "nm"),
                                 rounded_text(spectrum.wavelengths[i - 1], "nm")));
  if (spectrum.source.empty()) throw JobError(address + ".source is missing (expected who says so)");
}

std::string text_of(const Spectrum& spectrum, const std::string& address) {
  if (!spectrum.known()) return {};
  std::string text = "\n[" + address + "]\n";
  for (const List& list : kLists) {
    std::string values;
    for (const double value : spectrum.*list.member) {
      const std::string one = exact_text(value, list.range.unit);
      values += (values.empty() ? "" : ", ") + (list.range.unit == "1" ? one : toml_string(one));
    }
    text += fmt::format("{} = [{}]\n", list.key, values);
  }
  return text + "source = " + toml_string(spectrum.source) + "\n";
}

}  // namespace

Spectrum read_spectrum(const toml::node& node, const Spot& spot) {
  const toml::table* table = node.as_table();
  if (!table) refuse(node, spot, kind_of(node));
  refuse_unknown_keys(*table, {"wavelength", "n", "k", "source"}, spot.address, spot.file);
  Spectrum out;
  for (const List& list : kLists) out.*list.member = read_list(*table, spot, list);
  const std::string what = "who says so: a publication, \"from memory\"";
  out.source = read_string(needed(*table, spot, "source", what), {spot.address + ".source", what, spot.file});
  try {
    check(out, spot.address);
  } catch (const JobError& error) {
    throw JobError(error.problem(), place_of(table->source(), spot.file));
  }
  return out;
}

std::string spectrum_text(const Material& material) {
  const std::string address = "material." + material.name;
  return text_of(material.spectrum, address + ".spectrum") +
         text_of(material.oxide_spectrum, address + ".oxide_spectrum");
}

void check_spectrum(const Material& material) {
  const std::string address = "material." + material.name;
  check(material.spectrum, address + ".spectrum");
  check(material.oxide_spectrum, address + ".oxide_spectrum");
}

}  // namespace circumfluence::job
