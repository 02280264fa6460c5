// A small prediction made of plain arithmetic, for the tests of the file of record.
#pragma once

#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <filesystem>
#include <string>
#include <system_error>
#include <vector>

#include "mark/mark_file.h"

namespace circumfluence::mark {

inline FileHeader sample_header(int rows, int columns, bool compact) {
  FileHeader header;
  const double radius = 0.0365;
  for (int i = 0; i < rows; ++i) header.around.push_back((i + 0.5 - 0.5 * rows) * 5e-5);
  for (int j = 0; j < columns; ++j) header.axial.push_back((j + 0.5) * 5e-5);
  for (const double s : header.around) header.angle.push_back(s / radius);
  header.radius.assign(size_t(columns), radius);
  header.title = "bottle of the night sprint, 5 °C";
  header.job_text = "[laser]\npower = \"10 W\"  # rated\n";
  header.materials = "[coat]\nname = \"powder coat\"\n";
  header.compact = compact;
  return header;
}

inline Summary sample_summary() {
  return {{{"duration", "s", 4321.5}, {"width", "m", 0.0123}, {"a_margin", "1", std::nan("")}},
          {{"verdict", "marks, by a factor of 1.2"}, {"advice", ""}}};
}

inline WallMap sample_wall() {
  return {{-0.001, 0.0, 0.001}, {0.0005, 0.0015}, {293.5f, 294.0f, 301.25f, 310.0f, 293.0f, 295.5f}};
}

struct SampleMaps {
  std::vector<float> floats[4];
  std::vector<std::uint8_t> bytes[2];

  SampleMaps(int rows, int columns) {
    for (int layer = 0; layer < 4; ++layer)
      for (int k = 0; k < rows * columns; ++k)
        floats[layer].push_back(layer == 3 && k % 7 == 0 ? NAN
                                                         : float(1000 * layer) + std::sin(0.1f * float(k)));
    for (int layer = 0; layer < 2; ++layer)
      for (int k = 0; k < rows * columns; ++k) bytes[layer].push_back(std::uint8_t(k / 3 % (layer ? 2 : 4)));
  }
  const void* row(Layer layer, int i, int columns) const {
    const auto index = size_t(layer);
    return index < 4 ? static_cast<const void*>(floats[index].data() + size_t(i) * columns)
                     : bytes[index - 4].data() + size_t(i) * columns;
  }
};

// Hands in the stripes from `first_stripe` on, every `step`th.
inline void hand_in(MarkWriter& writer, const SampleMaps& maps, std::pair<int, int> shape,
                    int first_stripe = 0, int step = 1) {
  for (int row = first_stripe * MarkWriter::kStripe; row < shape.first; row += step * MarkWriter::kStripe)
    for (int layer = 0; layer < kLayers; ++layer)
      writer.write_rows(Layer(layer), row, std::min(MarkWriter::kStripe, shape.first - row),
                        maps.row(Layer(layer), row, shape.second));
}

// A folder of its own, gone afterwards.
struct TestFolder {
  std::filesystem::path path;
  TestFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "mark-XXXXXX").string();
    path = ::mkdtemp(name.data());
  }
  ~TestFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  std::string file(const std::string& name) const { return (path / name).string(); }
  std::vector<std::string> names() const {
    std::vector<std::string> out;
    for (const auto& entry : std::filesystem::directory_iterator(path))
      out.push_back(entry.path().filename().string());
    return out;
  }
};

}  // namespace circumfluence::mark
