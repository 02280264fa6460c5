#include "mark/mark_file.h"

#include <fmt/format.h>


namespace circumfluence::mark {
namespace {

std::string axis_rows() {
  std::string out;
  for (const AxisInfo& axis : axes())
    out += fmt::format("| `/{}` | float64 | `[{}]` | `{}` | {}{} |\n", axis.name, axis.over, axis.unit,
                       axis.long_name, *axis.letter ? " (dimension scale)" : "");
  return out;
}

std::string layer_rows() {
  std::string out;
  for (const LayerInfo& layer : layers()) {
    std::string meaning = layer.long_name;
    if (layer.flags) {
      const std::string words = layer.meanings;
      int value = 0;
      for (size_t at = 0; at < words.size(); ++value) {
        const size_t end = std::min(words.find(' ', at), words.size());
        meaning += fmt::format("{} {} = {}", value ? "," : ":", value, words.substr(at, end - at));
        at = end + 1;
      }
    }
    out += fmt::format("| `/{}` | {} | `[around, axial]` | `{}` | {} |\n", layer.name,
                       layer.flags ? "uint8" : "float32", layer.unit, meaning);
  }
  return out;
}

std::string entry_rows() {
  std::string out;
  for (const EntryInfo& entry : entries())
    out += fmt::format("| `{}` | `{}` | {} | {} |\n", entry.group, entry.name, entry.type, entry.meaning);
  return out;
}

constexpr const char* kPage = R"(# The mark map file

Format `{name}`, version {version}. This page is generated from the code that writes and reads the file.

One file a prediction: HDF5, and a valid netCDF-4 file under the CF conventions at the same time, so that h5py,
`xarray.open_dataset` (either engine), ParaView, HDFView, `ncdump` and `h5dump` open it with labelled axes and
units. All numbers are SI except the angle, which is in degrees. Rows run around the part, columns along its axis.

## Axes and coordinates

| dataset | type | shape | unit | what |
| --- | --- | --- | --- | --- |
{axes}
`around` and `axial` hold cell centres and increase. Every map names `angle radius` in its `coordinates` attribute.

## Maps

| dataset | type | shape | unit | what |
| --- | --- | --- | --- | --- |
{layers}
Floats are little-endian IEEE 754; a value that is not defined is NaN, which is also their `_FillValue`. Maps of
classes carry `flag_values` and `flag_meanings` and have no fill value. Attributes of every map: `units`,
`long_name`, `coordinates`.

Maps are stored contiguous, or, when asked for, compact: chunks of at most {rows} x {columns} cells through HDF5's
own shuffle (floats only) and deflate filters.

## The wall

Group `/wall`: `temperature` [K], float32 `[around, axial]` over its own axes `around` and `axial` [m, about 1 mm]: the
wall's own temperature when the beam came, from the heat that earlier lines left in it, the highest of each cell; the
temperature before the job where no line passes. Absent when the warming was left out. In Python:
`xarray.open_dataset(path, group="wall")`.

## Single values

Attributes; text has a fixed length and is UTF-8.

| group | attribute | type | what |
| --- | --- | --- | --- |
{entries}
## Summary

The figures of the verdict are scalar float64 datasets of `/{summary}`, each with its `units`; words of the verdict
are text attributes of that group. Which ones there are depends on the job. In Python:
`xarray.open_dataset(path, group="{summary}")`.

## Versions

A reader refuses a file whose `format_version` is higher than its own. Within a version, datasets and attributes are
only ever added. Version 1 had no wall, and called `changed` `removed`: the thickness of a coat or organic body gone;
it is still read. A file appears under its name only when it is complete: until then it is written beside it under a
name that ends in `.tmp`.
)";

}  // namespace

const std::array<AxisInfo, 4>& axes() {
  static const std::array<AxisInfo, 4> table = {{
      {"around", "m", "around", "Y", "arc length around the part from top dead centre"},
      {"axial", "m", "axial", "X", "position along the axis of the part"},
      {"angle", "degree", "around", "", "azimuth from top dead centre"},
      {"radius", "m", "axial", "", "radius of the part"},
  }};
  return table;
}

const std::array<EntryInfo, 9>& entries() {
  static const std::array<EntryInfo, 9> table = {{
      {"/", "Conventions", "text", "the CF conventions the file follows"},
      {"/", "title", "text", "one line about the job"},
      {"/", "source", "text", "program that wrote the file, with its version"},
      {"/", "format", "text", "always the format name above"},
      {"/", "format_version", "int32", "version of the format"},
      {"/record", "version", "text", "version of the library"},
      {"/record", "created", "text", "when, UTC, ISO 8601 (SOURCE_DATE_EPOCH is honoured)"},
      {"/record", "job", "text", "the job as it was read, TOML"},
      {"/record", "materials", "text", "the material records it used, TOML"},
  }};
  return table;
}

const std::array<LayerInfo, kLayers>& layers() {
  static const std::array<LayerInfo, kLayers> table = {{
      {"fluence", "J/m^2", "incident energy per area, all events", false, ""},
      {"changed", "m",
       "how deep: coat removed, dyed layer bleached, oxide grown on bare metal, organic body gone or charred", false, ""},
      {"peak_temperature", "K", "highest temperature of the base over all events", false, ""},
      {"margin", "1", "factor on power at which the cell just becomes fully marked", false, ""},
      {"outcome", "1", "what became of the cell", true, "untouched under_marked marked over_burned"},
      {"wanted", "1", "whether the art wants a mark here", true, "no yes"},
  }};
  return table;
}

std::string mark_format_page() {
  return fmt::format(kPage, fmt::arg("name", kFormatName), fmt::arg("version", kFormatVersion),
                     fmt::arg("axes", axis_rows()), fmt::arg("layers", layer_rows()),
                     fmt::arg("rows", int(MarkWriter::kStripe)), fmt::arg("columns", kChunkColumns),
                     fmt::arg("entries", entry_rows()), fmt::arg("summary", kSummaryGroup));
}

}  // namespace circumfluence::mark
