// Grades of a code on the part, by what a camera sees of its modules.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "look/code.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

constexpr double kAperture = 0.8;  // [1] its diameter over the mean module
constexpr int kPlaces = 24;        // of an aperture
constexpr int kAlong = 16;         // places a module, for its growth
constexpr double kSeen = 0.01;     // [1] symbol contrast from which there are edges

Letter letter(double value, const std::array<double, 4>& least) {
  for (size_t i = 0; i < 4; ++i)
    if (value >= least[i]) return Letter(i);
  return Letter::f;
}

double red(const std::array<float, 3>& light) {
  return double(light[0]);
}

// What the modules of a code look like, and what they should.
struct Modules {
  std::vector<double> light;        // [1]
  std::vector<std::uint8_t> burnt;  // the art wants them burnt
  double least = 0, most = 0;
  bool lighter = false;  // the mark, than its ground
  int hidden = 0;        // beyond the horizon

  double middle() const { return (least + most) / 2; }
  double contrast() const { return most - least; }
  bool should_be_dark(size_t i) const { return (burnt[i] != 0) != lighter; }
  bool flipped(size_t i) const { return (light[i] < middle()) != should_be_dark(i); }
};

// Evenly over the disc, by the golden angle.
double aperture(const Camera& camera, double axial, double across, double radius) {
  constexpr double kGolden = 2.399963229728653;  // [rad] pi (3 - sqrt 5)
  double sum = 0;
  for (int i = 0; i < kPlaces; ++i) {
    const double r = radius * std::sqrt((i + 0.5) / kPlaces), turn = i * kGolden;
    sum += red(camera.at(axial + r * std::cos(turn), across + r * std::sin(turn)));
  }
  return sum / kPlaces;
}

Modules modules(const mark::Scene& scene, const Camera& camera, const Symbol& symbol, const Seat& at) {
  Modules out;
  const Landed landed(scene);
  const double radius = kAperture / 2 * (at.seen_columns + at.seen_rows) / 2;
  const bool burns_dark = scene.job.artwork.burns == artwork::Burns::dark;
  double sums[2] = {};
  long counts[2] = {};
  for (int row = 0; row < symbol.rows; ++row)
    for (int column = 0; column < symbol.columns; ++column) {
      const std::optional<Spot> spot = landed.at(in_picture(symbol, column + 0.5, row + 0.5));
      const bool seen = spot && std::cos(spot->azimuth - at.azimuth) > 0;
      const double across =
          seen ? scene.profile.radius(spot->axial) * std::sin(spot->azimuth - at.azimuth) : 1e9;
      out.light.push_back(aperture(camera, spot ? spot->axial : 0, across, radius));
      const bool burnt = (symbol.dark[out.light.size() - 1] != 0) == burns_dark;
      out.burnt.push_back(burnt);
      out.hidden += !seen;
      sums[burnt] += out.light.back(), ++counts[burnt];
    }
  const auto [least, most] = std::minmax_element(out.light.begin(), out.light.end());
  out.least = *least, out.most = *most;
  out.lighter = sums[1] / double(std::max(1L, counts[1])) > sums[0] / double(std::max(1L, counts[0]));
  return out;
}

// Of the codeword at the limit that error correction leaves.
double modulation(const Symbol& symbol, const Modules& all) {
  const Codewords words = codewords(symbol);
  if (words.count == 0 || !(all.contrast() > 0)) return 0;
  std::vector<double> worst(size_t(words.count), 1e9);
  for (size_t i = 0; i < words.of.size(); ++i) {
    if (words.of[i] < 0) continue;
    const double value = all.flipped(i) ? 0 : 2 * std::abs(all.light[i] - all.middle()) / all.contrast();
    worst[size_t(words.of[i])] = std::min(worst[size_t(words.of[i])], value);
  }
  const auto limit = worst.begin() + std::min(words.correctable, words.count - 1);
  std::nth_element(worst.begin(), limit, worst.end());
  return *limit;
}

double cell_contrast(const Modules& all) {
  double sums[2] = {};
  long counts[2] = {};
  for (const double light : all.light) sums[light >= all.middle()] += light, ++counts[light >= all.middle()];
  if (counts[0] == 0 || counts[1] == 0 || !(sums[1] > 0)) return 0;
  const double dark = sums[0] / double(counts[0]), light = sums[1] / double(counts[1]);
  return (light - dark) / light;
}

// [modules] by which a run of burnt modules comes out wider than drawn, along rows or along columns: what is
// burnt of the middles of all lines, half a module of the quiet zone with them, less what was drawn, shared
// among the edges.
double growth(const Landed& landed, const Camera& camera, const Symbol& symbol, const Modules& all,
              bool along_rows) {
  if (!(all.contrast() >= kSeen)) return 0;  // no edges to be seen
  const int lines = along_rows ? symbol.rows : symbol.columns;
  const int length = along_rows ? symbol.columns : symbol.rows;
  const bool quiet_burnt = (all.burnt[0] != 0) != symbol.black(0);  // as white modules are
  double burnt = 0, drawn = 0;
  long edges = 0;
  for (int line = 0; line < lines; ++line)
    for (int i = -1; i <= length; ++i) {
      const auto wanted = [&](int k) {
        if (k < 0 || k >= length) return quiet_burnt;
        const int row = along_rows ? line : k, column = along_rows ? k : line;
        return all.burnt[size_t(row) * size_t(symbol.columns) + size_t(column)] != 0;
      };
      edges += i >= 0 && wanted(i) != wanted(i - 1);
      for (int k = i < 0 ? kAlong / 2 : 0; k < (i < length ? kAlong : kAlong / 2); ++k) {
        const double along = i + (k + 0.5) / kAlong, across = line + 0.5;
        const auto spot =
            landed.at(in_picture(symbol, along_rows ? along : across, along_rows ? across : along));
        const bool dark = spot && red(camera.on(*spot)) < all.middle();
        burnt += (dark != all.lighter) / double(kAlong);
        drawn += wanted(i) / double(kAlong);
      }
    }
  return edges == 0 ? 0 : 2 * (burnt - drawn) / double(edges);
}

// From twice as far away.
appearance::Pixels halved(const appearance::Pixels& from) {
  appearance::Pixels out{from.width / 2, from.height / 2, {}};
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      appearance::Linear light{};
      for (const size_t row : {2 * size_t(y), 2 * size_t(y) + 1})
        for (const size_t column : {2 * size_t(x), 2 * size_t(x) + 1}) {
          const appearance::Linear part =
              appearance::linear_from_srgb(from.rgb[row * size_t(from.width) + column]);
          for (size_t i = 0; i < 3; ++i) light[i] += part[i] / 4;
        }
      out.rgb.push_back(appearance::srgb_from_linear(light));
    }
  return out;
}

// A reader is held at more than one distance.
void read(const mark::MarkMap& map, const Skin& skin, CodeGrade& grade) {
  const appearance::Pixels view = code_view(map, skin, grade.symbol);
  for (const bool far : {false, true}) {
    if (grade.reads) break;
    for (const Symbol& found : read_symbols(far ? halved(view) : view))
      if (found.text == grade.symbol.text) (found.inverted ? grade.reads_inverted : grade.reads) = true;
    if (grade.reads || grade.reads_inverted) break;
  }
}

// The beginning of a code's text, fit to be printed: it comes from a picture that nobody vouches for.
std::string shown(const std::string& text) {
  std::string out;
  for (const char c : text.substr(0, 40)) out += c >= ' ' && c < 127 ? c : '?';
  return text.size() > 40 ? out + "..." : out;
}

void add_notes(const mark::MarkMap& map, const Skin& skin, const Seat& at, const Modules& all,
               CodeGrade& grade) {
  const std::string what =
      fmt::format("{} \"{}\"", kSymbologyNames[int(grade.symbol.kind)], shown(grade.symbol.text));
  const auto note = [&](const std::string& text) { grade.notes.push_back(what + ": " + text); };
  const double module = std::min(at.module_axial, at.module_around),
               block = std::max(skin.block_axial, skin.block_around);
  if (block > module / 8 * 1.001)
    note(fmt::format("the map's cells are coarse for its modules of {} (cells of {} would do)",
                     quantity::format(module, "mm"), quantity::format(module / 8, "um")));
  if (grade.symbol.inverted == (all.lighter == (map.scene.job.artwork.burns == artwork::Burns::light)) &&
      all.contrast() > 0)
    note(
        "it comes out light on dark, which not every reader takes. Burnt the other way round "
        "(artwork.burns), with a quiet "
        "zone of four modules around it, it comes out dark on light.");
  const motion::Scan& scan = map.scene.job.scan;
  const double across = scan.direction == motion::Direction::axial ? at.module_around : at.module_axial;
  if (const double lines = across / scan.spacing;
      !map.scene.path && lines < 6 && std::abs(std::remainder(lines, 1)) > 0.05)
    note(
        fmt::format("its modules are {:.2f} lines wide, so runs come out uneven. Whole numbers of lines, {} "
                    "apart, serve better.",
                    lines, quantity::format(scan.spacing, "mm")));
  if (at.mirrored) note("it lands mirrored, which not every reader takes. Check artwork.mirror and [mount].");
  if (all.hidden > 0)
    note(fmt::format("{} of its modules lie beyond what a camera sees of the part at once. Make it smaller.",
                     all.hidden));
  else if (at.turned > quantity::kPi / 5)
    note(fmt::format("its edges lie {:.0f} deg round the curve: modules look {:.0f} % as wide there.",
                     at.turned * 180 / quantity::kPi, 100 * std::cos(at.turned)));
  if (!grade.reads && !grade.reads_inverted) note("it does not read as it is predicted to look.");
}

CodeGrade ungraded(const Symbol& symbol, const std::string& why) {
  CodeGrade out{};
  out.symbol = symbol;
  out.by_contrast = out.by_modulation = out.by_nonuniformity = out.overall = out.by_cell = Letter::f;
  out.notes = {why};
  return out;
}

CodeGrade graded(const mark::MarkMap& map, const Skin& skin, const Symbol& symbol) {
  const mark::Scene& scene = map.scene;
  const std::optional<Seat> at = symbol.columns > 0 ? seat(scene, symbol) : std::nullopt;
  if (!at)
    return ungraded(symbol, fmt::format("{} \"{}\" is not graded: it reads as drawn, but {}.",
                                        kSymbologyNames[int(symbol.kind)], symbol.text.substr(0, 40),
                                        symbol.columns > 0 ? "the beam misses the part there"
                                                           : "its modules lie on no even grid"));
  const Camera camera{scene.profile, skin, at->azimuth};
  const Landed landed(scene);
  const Modules all = modules(scene, camera, symbol, *at);
  CodeGrade out{};
  out.symbol = symbol;
  out.module_axial = at->module_axial, out.module_around = at->module_around;
  out.turned = at->turned;
  out.spots = at->spots;
  out.growth_axial = growth(landed, camera, symbol, all, at->columns_axial);
  out.growth_around = growth(landed, camera, symbol, all, !at->columns_axial);
  out.symbol_contrast = all.contrast();
  out.modulation = modulation(symbol, all);
  out.nonuniformity = nonuniformity(at->seen_columns, at->seen_rows);
  out.cell_contrast = cell_contrast(all);
  out.by_contrast = by_contrast(out.symbol_contrast), out.by_modulation = by_modulation(out.modulation);
  out.by_nonuniformity = by_nonuniformity(out.nonuniformity), out.by_cell = by_cell(out.cell_contrast);
  out.overall = std::max({out.by_contrast, out.by_modulation, out.by_nonuniformity});
  for (size_t i = 0; i < all.light.size(); ++i) out.flipped += all.flipped(i);
  read(map, skin, out);
  add_notes(map, skin, *at, all, out);
  return out;
}

// [m] an eighth of the least module. What has no grid on the part is looked at as a whole.
double finest_for(const std::vector<Symbol>& symbols, const mark::Scene& scene) {
  double module = scene.reference_radius;
  for (const Symbol& symbol : symbols)
    if (const std::optional<Seat> at = symbol.columns > 0 ? seat(scene, symbol) : std::nullopt)
      module = std::min({module, at->module_axial, at->module_around});
  return module / 8;
}

void check_blocks(const mark::MarkMap& map, const Skin& skin, double finest) {
  const double cell = std::max(map.surface.cell_axial, map.surface.cell_around);
  const double block = std::max(skin.block_axial, skin.block_around);
  if (block > finest * 1.001 && block > 2 * cell)
    throw quantity::ValidityError(
        fmt::format("codes: blocks of {} (expected at most {}, an eighth of a module). Make the skin finer",
                    quantity::format(block, "um"), quantity::format(finest, "um")));
}

constexpr const char* kNotAsDrawn =
    "A QR code was meant in the art, but it does not read as drawn, before any mark. Draw it anew, with a "
    "quiet zone of four "
    "modules and nothing over it.";

}  // namespace

Letter by_contrast(double contrast) {
  return letter(contrast, {0.70, 0.55, 0.40, 0.20});
}
Letter by_modulation(double modulation) {
  return letter(modulation, {0.50, 0.40, 0.30, 0.20});
}
Letter by_nonuniformity(double nonuniformity) {
  return letter(-nonuniformity, {-0.06, -0.08, -0.10, -0.12});
}
Letter by_cell(double contrast) {
  return letter(contrast, {0.30, 0.25, 0.20, 0.15});
}
double nonuniformity(double one, double other) {
  return std::abs(one - other) / ((one + other) / 2);
}

std::vector<CodeGrade> grade_codes(const mark::MarkMap& map, const Skin& skin) {
  const std::vector<Symbol> symbols = find_symbols(map.scene.image);
  if (!symbols.empty()) check_blocks(map, skin, finest_for(symbols, map.scene));
  std::vector<CodeGrade> out;
  for (const Symbol& symbol : symbols) out.push_back(graded(map, skin, symbol));
  if (out.empty() && looks_like_symbol(map.scene.image)) out.push_back(ungraded({}, kNotAsDrawn));
  return out;
}

std::optional<double> finest_for_codes(const mark::Scene& scene) {
  const std::vector<Symbol> symbols = find_symbols(scene.image);
  if (symbols.empty() && !looks_like_symbol(scene.image)) return std::nullopt;
  return finest_for(symbols, scene);
}

}  // namespace circumfluence::look
