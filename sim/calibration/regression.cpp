#include "calibration/regression.h"

#include <fmt/format.h>

#include <Eigen/Core>

#include <algorithm>
#include <array>
#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using quantity::kPi;
using quantity::ValidityError;

constexpr double kAlike = 1e-6;     // [1] span of ln energy below which all are one energy
constexpr double kNarrow = 0.6931;  // [1] span of ln energy, a factor of 2
constexpr double kFine = 2e-6;      // [m] about what a microscope resolves
constexpr double kLargest = 1;      // [m]
constexpr size_t kFew = 5;
constexpr size_t kFewForABend = 6;

const char* unit_of(Exposed exposed) {
  return exposed == Exposed::lines ? "J/m" : "uJ";
}

const char* name_of(Exposed exposed) {
  return exposed == Exposed::lines ? "energy of a line" : "energy of a pulse";
}

void hold(bool holds, const std::string& what, const char* expected) {
  if (!holds) throw ValidityError(fmt::format("squared width: {} (expected {})", what, expected));
}

void check(std::span<const LineWidth> widths, Exposed exposed, double error) {
  hold(error > 0 && error < 1, "error of a width = " + format(error, "%", 3), "above 0 %, below 100 %");
  for (const LineWidth& one : widths) {
    hold(std::isfinite(one.energy) && one.energy > 0,
         fmt::format("{} = {}", name_of(exposed), format(one.energy, unit_of(exposed), 4)),
         "a finite one above 0");
    hold(one.width >= 0 && one.width < kLargest, "width = " + format(one.width, "um", 4),
         "one below 1 m; 0 where there is no mark");
  }
}

Points marked(std::span<const LineWidth> widths, Exposed exposed) {
  Points out;
  for (const LineWidth& one : widths) {
    if (one.width == 0) continue;
    out.x.push_back(std::log(one.energy));
    out.y.push_back(one.width * one.width);
  }
  if (out.x.size() < 3)
    throw ValidityError(
        fmt::format("squared width: {} width{} above zero (expected three or more). Measure more {}",
                    out.x.size(), out.x.size() == 1 ? "" : "s", kExposedNames[int(exposed)]));
  return out;
}

double span_of(const std::vector<double>& values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  return *high - *low;
}

// ln w, ln E_th, ln F_th of a straight line, and how they answer to its two coefficients.
struct Logs {
  std::array<double, 3> value;
  Eigen::Matrix<double, 3, 2> slopes;
};

// With y = c0 + c1 u: w^2 = c1 / (2 scale), ln E_th = centre - scale c0 / c1.
Logs logs(const Polynomial& line, Exposed exposed) {
  const double c0 = line.coefficients[0], c1 = line.coefficients[1];
  const double radius = std::log(c1 / (2 * line.scale)) / 2, energy = line.centre - line.scale * c0 / c1;
  const double share = exposed == Exposed::lines ? 1 : 2;  // ln F_th = ln E_th - share ln w + a constant
  const double constant = std::log(exposed == Exposed::lines ? std::sqrt(2 / kPi) : 2 / kPi);
  Logs out;
  out.value = {radius, energy, energy - share * radius + constant};
  out.slopes.row(0) << 0, 1 / (2 * c1);
  out.slopes.row(1) << -line.scale / c1, line.scale * c0 / (c1 * c1);
  out.slopes.row(2) = out.slopes.row(1) - share * out.slopes.row(0);
  return out;
}

Estimate estimate(double log, double variance) {
  return {std::exp(log), std::exp(log) * std::sqrt(variance)};
}

// Student's t that 1 % of draws exceed either way; Cornish and Fisher's expansion in 1 / n, within 10 % from
// n = 3 on.
double student(double n) {
  const double z = 2.5758, cube = z * z * z;
  return z + (cube + z) / (4 * n) + (5 * cube * z * z + 16 * cube + 3 * z) / (96 * n * n);
}

void note_bend(const Points& points, double error, std::vector<std::string>& notes) {
  if (points.x.size() < kFewForABend) return;
  const Polynomial bent = polynomial(points, 2, error);
  const double deviates = bent.coefficients[2] / std::sqrt(bent.covariance.back());
  if (std::abs(deviates) < student(double(points.x.size()) - 3)) return;
  notes.push_back(fmt::format(
      "squared widths bend {} against the logarithm of the energy ({:.1f} standard deviations): the "
      "beam is no Gaussian, or the mark does not begin at one fluence; spot and threshold are those "
      "of a straight line all the same",
      deviates > 0 ? "upward" : "downward", std::abs(deviates)));
}

void note_data(const Points& points, std::span<const LineWidth> widths, std::vector<std::string>& notes) {
  if (points.x.size() < kFew)
    notes.push_back(fmt::format("only {} widths: whether they lie on a straight line can hardly be seen",
                                points.x.size()));
  if (span_of(points.x) < kNarrow)
    notes.push_back(
        fmt::format("energies span a factor of {:.2f} only: spot and threshold are hardly told apart",
                    std::exp(span_of(points.x))));
  const auto fine = std::count_if(widths.begin(), widths.end(),
                                  [](const LineWidth& one) { return one.width > 0 && one.width < kFine; });
  if (fine > 0)
    notes.push_back(fmt::format(
        "{} width{} below 2 um: finer than is seen, their relative error is greater than the others'", fine,
        fine == 1 ? "" : "s"));
}

void note_fit(const SquaredWidth& fit, std::span<const LineWidth> widths, double error,
              std::vector<std::string>& notes) {
  const double threshold = fit.threshold_energy.value;
  for (const LineWidth& one : widths) {
    const bool above = one.energy > threshold;
    if (above != (one.width > 0))
      notes.push_back(fmt::format("{} at {}, {} the threshold found", above ? "no mark" : "a mark",
                                  format(one.energy, unit_of(fit.exposed), 4), above ? "above" : "below"));
  }
  if (fit.scatter > 2 * error)
    notes.push_back(fmt::format(
        "widths scatter by {} about the line, more than their error of {}: errors are from the scatter",
        format(fit.scatter, "%", 2), format(error, "%", 2)));
  if (fit.radius.error > fit.radius.value / 2 || fit.threshold.error > fit.threshold.value / 2)
    notes.push_back("the widths hardly say how large spot and threshold are");
}

std::string estimate_text(const Estimate& one, const char* unit) {
  return fmt::format("{}, give or take {}", format(one.value, unit, 4), format(one.error, unit, 2));
}

}  // namespace

double SquaredWidth::width(double energy) const {
  const double squared = 2 * radius.value * radius.value * std::log(energy / threshold_energy.value);
  return squared > 0 ? std::sqrt(squared) : 0.0;
}

SquaredWidth squared_width(std::span<const LineWidth> widths, Exposed exposed, double error) {
  check(widths, exposed, error);
  const Points points = marked(widths, exposed);
  hold(span_of(points.x) > kAlike, "energies are all alike", "a ladder of them");
  const Polynomial line = polynomial(points, 1, error);
  hold(line.coefficients[1] > 0, "widths do not grow with energy",
       "growing ones; were power or speed taken down the wrong way round?");
  const Logs log = logs(line, exposed);
  const Eigen::Matrix3d covariance =
      log.slopes * Eigen::Matrix2d(line.covariance.data()) * log.slopes.transpose();
  SquaredWidth out{.exposed = exposed,
                   .radius = estimate(log.value[0], covariance(0, 0)),
                   .threshold_energy = estimate(log.value[1], covariance(1, 1)),
                   .threshold = estimate(log.value[2], covariance(2, 2)),
                   .correlation = covariance(0, 2) / std::sqrt(covariance(0, 0) * covariance(2, 2)),
                   .scatter = line.scatter,
                   .notes = {}};
  hold(std::isnormal(out.threshold.value) && std::isnormal(out.threshold_energy.value) &&
           std::isfinite(out.radius.error) && std::isfinite(out.threshold.error),
       "widths do not tell a spot", "widths that grow clearly with energy");
  note_data(points, widths, out.notes);
  note_fit(out, widths, error, out.notes);
  note_bend(points, error, out.notes);
  return out;
}

std::string text(const SquaredWidth& fit) {
  std::string out = fmt::format("radius     {}\n", estimate_text(fit.radius, "um"));
  out += fmt::format("threshold  {}\n", estimate_text(fit.threshold, "J/cm^2"));
  out += fmt::format("begins at  {}\n", estimate_text(fit.threshold_energy, unit_of(fit.exposed)));
  out += fmt::format("scatter    {} of the widths; radius and threshold are correlated by {:.2f}\n",
                     format(fit.scatter, "%", 2), fit.correlation);
  for (const std::string& note : fit.notes) out += "note       " + note + "\n";
  return out;
}

}  // namespace circumfluence::calibration
