#include <fmt/format.h>

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <set>

#include "calibration/regression.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using quantity::kPi;
using quantity::ValidityError;

constexpr size_t kLeastHeights = 4;
constexpr size_t kHeights = 10;      // ISO 11146-1
constexpr double kLargest = 1;       // [m] of heights and radii
constexpr double kAboutHalf = 0.4;   // [1] what still counts as half
constexpr double kSlack = 1 + 1e-9;  // [1] a height just at a bound counts as within

void hold(bool holds, const std::string& what, const char* expected) {
  if (!holds) throw ValidityError(fmt::format("caustic: {} (expected {})", what, expected));
}

size_t heights_of(std::span<const RadiusAt> radii) {
  std::set<double> heights;
  for (const RadiusAt& one : radii) heights.insert(one.height);
  return heights.size();
}

void check(std::span<const RadiusAt> radii, double wavelength, double error) {
  hold(std::isfinite(wavelength) && wavelength > 0, "wavelength = " + format(wavelength, "nm", 4),
       "a finite one above 0 nm");
  hold(error > 0 && error < 1, "error of a radius = " + format(error, "%", 3), "above 0 %, below 100 %");
  for (const RadiusAt& one : radii) {
    hold(std::abs(one.height) < kLargest, "height = " + format(one.height, "mm", 4),
         "one within 1 m of the focus");
    hold(one.radius > 0 && one.radius < kLargest, "radius = " + format(one.radius, "um", 4),
         "one above 0 um, below 1 m");
  }
  hold(heights_of(radii) >= kLeastHeights, fmt::format("{} heights", heights_of(radii)),
       "four or more, ten for ISO 11146-1");
}

Points squares(std::span<const RadiusAt> radii) {
  Points out;
  for (const RadiusAt& one : radii) {
    out.x.push_back(one.height);
    out.y.push_back(one.radius * one.radius);
  }
  return out;
}

// Of the curve a + b u + c u^2, to first order: slopes of each figure against (a, b, c).
struct Figures {
  double height, waist, rayleigh, m2;
  Eigen::Matrix<double, 4, 3> slopes;
};

Figures figures(const Polynomial& curve, double wavelength) {
  const double a = curve.coefficients[0], b = curve.coefficients[1], c = curve.coefficients[2];
  hold(c > 0, "radii do not grow away from a height between", "radii on both sides of a waist");
  const double square = a - b * b / (4 * c);
  hold(square > 0, "radii fall to nothing between the heights",
       "radii whose squares lie on a parabola above zero; measure nearer to the waist");
  Figures out{.height = curve.centre - curve.scale * b / (2 * c),
              .waist = std::sqrt(square),
              .rayleigh = curve.scale * std::sqrt(square / c),
              .m2 = kPi * std::sqrt(square * c) / (curve.scale * wavelength),
              .slopes = {}};
  const Eigen::RowVector3d waist(1, -b / (2 * c), b * b / (4 * c * c)), bend(0, 0, 1);
  out.slopes.row(0) = curve.scale * Eigen::RowVector3d(0, -1 / (2 * c), b / (2 * c * c));
  out.slopes.row(1) = waist / (2 * out.waist);
  out.slopes.row(2) = out.rayleigh / 2 * (waist / square - bend / c);
  out.slopes.row(3) = out.m2 / 2 * (waist / square + bend / c);
  return out;
}

void note_heights(const CausticFit& fit, std::span<const RadiusAt> radii, std::vector<std::string>& notes) {
  std::set<double> near, far, all;
  for (const RadiusAt& one : radii) {
    const double away = std::abs(one.height - fit.waist_height.value);
    all.insert(one.height);
    if (away <= fit.rayleigh.value * kSlack) near.insert(one.height);
    if (away * kSlack >= 2 * fit.rayleigh.value) far.insert(one.height);
  }
  const double count = double(all.size());
  if (all.size() < kHeights)
    notes.push_back(fmt::format("{} heights; ISO 11146-1 asks for ten or more", all.size()));
  if (double(near.size()) < kAboutHalf * count)
    notes.push_back(
        fmt::format("{} of {} heights lie within a Rayleigh length of the waist; ISO 11146-1 asks for half",
                    near.size(), all.size()));
  if (double(far.size()) < kAboutHalf * count)
    notes.push_back(fmt::format("{} of {} heights lie beyond two Rayleigh lengths; ISO 11146-1 asks for half",
                                far.size(), all.size()));
  if (fit.waist_height.value < *all.begin() || fit.waist_height.value > *all.rbegin())
    notes.push_back("the waist lies outside the heights: it is reckoned on from one side");
}

void note_fit(const CausticFit& fit, double error, std::vector<std::string>& notes) {
  if (fit.m2.value + 2 * fit.m2.error < 1)
    notes.push_back(fmt::format(
        "M2 = {:.2f} is below what light allows: the radii are not 1/e^2 radii, or the heights are off",
        fit.m2.value));
  if (fit.scatter > 2 * error)
    notes.push_back(fmt::format(
        "radii scatter by {} about the curve, more than their error of {}: errors are from the scatter",
        format(fit.scatter, "%", 2), format(error, "%", 2)));
  if (fit.waist.error > fit.waist.value / 2 || fit.rayleigh.error > fit.rayleigh.value / 2)
    notes.push_back("the radii hardly say how small the waist is");
}

std::string estimate_text(const Estimate& one, const char* unit) {
  const double shown = std::abs(one.value) < 1e-6 * one.error ? 0.0 : one.value;
  return fmt::format("{}, give or take {}", format(shown, unit, 4), format(one.error, unit, 2));
}

}  // namespace

double CausticFit::radius_at(double height) const {
  return waist.value * std::hypot(1.0, (height - waist_height.value) / rayleigh.value);
}

CausticFit caustic_fit(std::span<const RadiusAt> radii, double wavelength, double error) {
  check(radii, wavelength, error);
  const Polynomial curve = polynomial(squares(radii), 2, error);
  const Figures found = figures(curve, wavelength);
  const Eigen::Matrix4d covariance =
      found.slopes * Eigen::Matrix3d(curve.covariance.data()) * found.slopes.transpose();
  const auto spread = [&](int which) { return std::sqrt(covariance(which, which)); };
  CausticFit out{.waist = {found.waist, spread(1)},
                 .waist_height = {found.height, spread(0)},
                 .m2 = {found.m2, spread(3)},
                 .rayleigh = {found.rayleigh, spread(2)},
                 .scatter = curve.scatter,
                 .notes = {}};
  hold(std::isfinite(out.waist.error) && std::isfinite(out.rayleigh.error), "radii do not tell a waist",
       "radii on both sides of it");
  note_heights(out, radii, out.notes);
  note_fit(out, error, out.notes);
  return out;
}

std::string text(const CausticFit& fit) {
  std::string out = fmt::format("waist      {} (1/e^2 radius)\n", estimate_text(fit.waist, "um"));
  out += fmt::format("height     {} above the nominal focus\n", estimate_text(fit.waist_height, "mm"));
  out += fmt::format("M2         {:.3g}, give or take {:.2g}\n", fit.m2.value, fit.m2.error);
  out += fmt::format("Rayleigh   {}\n", estimate_text(fit.rayleigh, "mm"));
  out += fmt::format("scatter    {} of the radii\n", format(fit.scatter, "%", 2));
  for (const std::string& note : fit.notes) out += "note       " + note + "\n";
  return out;
}

}  // namespace circumfluence::calibration
