#include "window/sobol.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <boost/random/sobol.hpp>
#include <cmath>
#include <cstddef>
#include <limits>
#include <random>

#include "quantity/bands.h"
#include "quantity/error.h"

namespace circumfluence::window {
namespace {

using quantity::ValidityError;

constexpr double kMostNumbers = 2147483648.0;
constexpr double kRounding = 1e-13;  // [1] of the greatest value: a function that varies less doesn't vary

void check(int dimensions, int count) {
  if (dimensions < 1 || dimensions > kMostDimensions)
    throw ValidityError(fmt::format("sobol: dimensions = {} (no such sequence; expected 1 to {})", dimensions,
                                    kMostDimensions));
  if (count < 1 || double(count) * dimensions > kMostNumbers)
    throw ValidityError(fmt::format(
        "sobol: count = {} (no points, or too many of them; expected 1 to {:.0f} in {} dimensions)", count,
        std::min(kMostNumbers - 1, std::floor(kMostNumbers / dimensions)), dimensions));
}

// Strictly between 0 and 1, and as far from 0 as from 1 at its ends.
double open_share(std::uint64_t bits) {
  return (double(bits >> 12) + 0.5) * 0x1p-52;
}

double normal(double share) {
  using namespace boost::math::policies;
  using InDouble = policy<promote_double<false>>;
  return -std::sqrt(2.0) * boost::math::erfc_inv(2 * share, InDouble());
}

// Where f is asked: point `column` of base point `row`; columns are A, B, A_0, A_1, ...
class Design {
 public:
  explicit Design(const Sampling& s)
      : dimensions_(size_t(s.dimensions)),
        points_(s.deviates == Deviates::normal ? normal_points(2 * s.dimensions, s.count, s.seed)
                                               : uniform_points(2 * s.dimensions, s.count, s.seed)) {}

  void point(size_t row, size_t column, std::span<double> out) const {
    const double* const a = points_.data() + row * 2 * dimensions_;
    const double* const b = a + dimensions_;
    std::copy_n(column == 1 ? b : a, dimensions_, out.begin());
    if (column >= 2) out[column - 2] = b[column - 2];
  }

 private:
  size_t dimensions_;
  std::vector<double> points_;
};

void refuse(std::span<const double> answers, std::span<const double> point) {
  const auto wrong = std::ranges::find_if_not(answers, [](double y) { return std::isfinite(y); });
  if (wrong == answers.end()) return;
  std::string where;
  for (size_t i = 0; i < std::min<size_t>(point.size(), 12); ++i)
    where += fmt::format("{}{:.6g}", i == 0 ? "" : ", ", point[i]);
  throw ValidityError(fmt::format(
      "sobol: f = {} at ({}{}) (no variance can be made of it; expected a finite number). Let f answer with "
      "a bounded figure, such as a logarithm held between limits",
      *wrong, where, point.size() > 12 ? ", ..." : ""));
}

// [output][row][column]
std::vector<double> asked(const Answers& f, int outputs, const Sampling& s,
                          const quantity::Progress& progress) {
  const Design design(s);
  const size_t rows = size_t(s.count), columns = size_t(s.dimensions) + 2, wide = size_t(outputs);
  std::vector<double> values(wide * rows * columns);
  const quantity::Bands bands{
      .count = s.count, .band = std::clamp(s.count / 256, 1, 64), .threads = s.threads};
  quantity::for_bands(
      bands,
      [&](int first, int last, int) {
        std::vector<double> point(size_t(s.dimensions)), answers(wide);
        for (size_t row = size_t(first); row < size_t(last); ++row)
          for (size_t column = 0; column < columns; ++column) {
            design.point(row, column, point);
            f(point, answers);
            refuse(answers, point);
            for (size_t k = 0; k < wide; ++k) values[(k * rows + row) * columns + column] = answers[k];
          }
      },
      progress);
  return values;
}

// values: [row][column] as above, of one output; scaled by its greatest so that no square overflows.
Indices indices(std::span<const double> values, int dimensions) {
  const size_t columns = size_t(dimensions) + 2, rows = values.size() / columns;
  Indices out{std::vector<double>(size_t(dimensions)), std::vector<double>(size_t(dimensions))};
  double most = 0;
  for (const double v : values) most = std::max(most, std::abs(v));
  if (most == 0) return out;
  const auto value = [&](size_t row, size_t column) { return values[row * columns + column] / most; };
  double mean = 0, squares = 0;
  for (size_t row = 0; row < rows; ++row) mean += (value(row, 0) + value(row, 1)) / (2 * double(rows));
  for (size_t row = 0; row < rows; ++row)
    for (const size_t half : {0, 1}) squares += (value(row, half) - mean) * (value(row, half) - mean);
  out.mean = mean * most;
  const double variance = squares / (2 * double(rows));
  if (!(variance > kRounding * kRounding)) return out;
  out.variance = variance * most * most;
  for (size_t i = 0; i < size_t(dimensions); ++i) {
    double alone = 0, without = 0;
    for (size_t row = 0; row < rows; ++row) {
      const double change = value(row, i + 2) - value(row, 0);
      alone += (value(row, 1) - mean) * change;
      without += change * change;
    }
    out.first[i] = alone / double(rows) / variance;
    out.total[i] = without / (2 * double(rows)) / variance;
  }
  return out;
}

}  // namespace

std::vector<double> uniform_points(int dimensions, int count, std::uint64_t seed) {
  check(dimensions, count);
  std::mt19937_64 random(seed);
  std::vector<std::uint64_t> shift(static_cast<size_t>(dimensions));
  for (std::uint64_t& s : shift) s = random();
  boost::random::sobol_engine<std::uint64_t, 64> sequence(static_cast<size_t>(dimensions));
  std::vector<double> out(size_t(dimensions) * size_t(count));
  // The engine leaves out the sequence's first point, all zeros: without it no power of two is evenly filled.
  for (size_t i = 0; i < out.size(); ++i)
    out[i] = open_share(i < shift.size() ? shift[i] : sequence() ^ shift[i % shift.size()]);
  return out;
}

std::vector<double> normal_points(int dimensions, int count, std::uint64_t seed) {
  std::vector<double> out = uniform_points(dimensions, count, seed);
  for (double& value : out) value = normal(value);
  return out;
}

std::vector<Indices> sobol_indices(const Answers& f, int outputs, const Sampling& sampling,
                                   const quantity::Progress& progress) {
  if (outputs < 1)
    throw ValidityError(
        fmt::format("sobol: outputs = {} (nothing to explain; expected at least 1)", outputs));
  check(sampling.dimensions, sampling.count);
  const std::vector<double> values = asked(f, outputs, sampling, progress);
  const size_t each = values.size() / size_t(outputs);
  std::vector<Indices> out;
  for (size_t k = 0; k < size_t(outputs); ++k)
    out.push_back(indices(std::span(values).subspan(k * each, each), sampling.dimensions));
  return out;
}

Indices sobol_indices(const std::function<double(std::span<const double>)>& f, const Sampling& sampling,
                      const quantity::Progress& progress) {
  const Answers answers = [&f](std::span<const double> point, std::span<double> out) { out[0] = f(point); };
  return sobol_indices(answers, 1, sampling, progress).front();
}

}  // namespace circumfluence::window
