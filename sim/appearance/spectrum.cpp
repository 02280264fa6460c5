#include "appearance/spectrum.h"

#include <fmt/format.h>

#include <algorithm>

#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

struct Row {
  double wavelength, x, y, z, light;  // [nm]
};
constexpr Row kTable[kBands] = {
#include "cie1931_d65.inc"
};
static_assert(kTable[0].wavelength == 380 && kTable[kBands - 1].wavelength == 780);

// What each band adds to X, Y and Z where all is reflected.
using Weights = std::array<Xyz, kBands>;
const Weights& weights() {
  static const Weights made = [] {
    Xyz sum{};
    for (const Row& row : kTable) sum.x += row.light * row.x, sum.y += row.light * row.y, sum.z += row.light * row.z;
    Weights out;
    for (int i = 0; i < kBands; ++i) {
      const Row& row = kTable[i];
      out[size_t(i)] = {kWhite.x * row.light * row.x / sum.x, kWhite.y * row.light * row.y / sum.y,
                        kWhite.z * row.light * row.z / sum.z};
    }
    return out;
  }();
  return made;
}

}  // namespace

Xyz seen(const Reflectance& reflectance) {
  const Weights& of = weights();
  Xyz sum{};
  for (size_t i = 0; i < kBands; ++i) {
    sum.x += of[i].x * reflectance[i];
    sum.y += of[i].y * reflectance[i];
    sum.z += of[i].z * reflectance[i];
  }
  return sum;
}

Index index_of(const workpiece::Spectrum& spectrum, const char* name) {
  const std::vector<double>& at = spectrum.wavelengths;
  constexpr double from = 400.5e-9, to = 699.5e-9;  // [m] half a nanometre for rounding
  if (at.empty() || at.size() != spectrum.n.size() || at.size() != spectrum.k.size() || at.front() > from ||
      at.back() < to)
    throw quantity::ValidityError(
        fmt::format("the spectrum of {} does not reach from 400 nm to 700 nm (needed for its colour; expected n and k "
                    "over all of it). Add wavelengths to the record, with their source",
                    name));
  Index out;
  for (int i = 0; i < kBands; ++i) {
    const double w = std::clamp(wavelength(i), at.front(), at.back());
    const size_t next = std::clamp<size_t>(size_t(std::upper_bound(at.begin(), at.end(), w) - at.begin()), 1,
                                           std::max<size_t>(at.size() - 1, 1));
    const double share = at.size() == 1 ? 0 : (w - at[next - 1]) / (at[next] - at[next - 1]);
    const auto between = [&](const std::vector<double>& v) {
      return at.size() == 1 ? v[0] : v[next - 1] + share * (v[next] - v[next - 1]);
    };
    out[size_t(i)] = {between(spectrum.n), between(spectrum.k)};
  }
  return out;
}

Index even_index(std::complex<double> index) {
  Index out;
  out.fill(index);
  return out;
}

}  // namespace circumfluence::appearance
