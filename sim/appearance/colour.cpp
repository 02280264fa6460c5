#include "appearance/colour.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::appearance {
namespace {

constexpr double kDegree = quantity::kPi / 180.0;

// CIE 15: the cube root, with its tangent near black.
double lab_curve(double t) {
  constexpr double knee = 6.0 / 29.0;
  return t > knee * knee * knee ? std::cbrt(t) : t / (3.0 * knee * knee) + 4.0 / 29.0;
}

// [deg] 0 to 360; a grey has no hue and is given 0.
double hue(double a, double b) {
  if (a == 0.0 && b == 0.0) return 0.0;
  const double degrees = std::atan2(b, a) / kDegree;
  return degrees < 0.0 ? degrees + 360.0 : degrees;
}

double seventh(double chroma) {
  const double power = std::pow(chroma, 7.0);
  return std::sqrt(power / (power + std::pow(25.0, 7.0)));
}

struct Hues {
  double difference, mean;  // [deg]
};

// Eqs. 10 and 14 of Sharma et al.: the difference the short way round and the hue half way along it.
Hues compare(double one, double other) {
  constexpr double opposite = 180.0 + 1e-9;
  const double step = other - one;
  if (std::abs(step) <= opposite) return {step, 0.5 * (one + other)};
  const double sum = one + other;
  return {step > 0.0 ? step - 360.0 : step + 360.0, 0.5 * (sum < 360.0 ? sum + 360.0 : sum - 360.0)};
}

double squared(double x) {
  return x * x;
}

}  // namespace

double linear_from_srgb(double value) {
  const double c = std::clamp(value, 0.0, 1.0);
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

double srgb_from_linear(double light) {
  const double l = std::clamp(light, 0.0, 1.0);
  return l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1.0 / 2.4) - 0.055;
}

Linear linear_from_srgb(const Colour& colour) {
  Linear light;
  for (int i = 0; i < 3; ++i) light[i] = linear_from_srgb(colour[i] / 255.0);
  return light;
}

Colour srgb_from_linear(const Linear& light) {
  Colour colour;
  for (int i = 0; i < 3; ++i)
    colour[i] = static_cast<std::uint8_t>(std::lround(255.0 * srgb_from_linear(light[i])));
  return colour;
}

Xyz xyz_from_linear(const Linear& light) {
  const auto [r, g, b] = light;
  return {41.24564 * r + 35.75761 * g + 18.04375 * b,  //
          21.26729 * r + 71.51522 * g + 7.21750 * b,   //
          1.93339 * r + 11.91920 * g + 95.03041 * b};
}

Linear linear_from_xyz(const Xyz& xyz) {
  const double x = xyz.x / 100.0, y = xyz.y / 100.0, z = xyz.z / 100.0;
  return {3.2404542 * x - 1.5371385 * y - 0.4985314 * z,   //
          -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,  //
          0.0556434 * x - 0.2040259 * y + 1.0572252 * z};
}

Lab lab_from_xyz(const Xyz& xyz) {
  const double x = lab_curve(xyz.x / kWhite.x);
  const double y = lab_curve(xyz.y / kWhite.y);
  const double z = lab_curve(xyz.z / kWhite.z);
  return {116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)};
}

Lab lab_from_srgb(const Colour& colour) {
  return lab_from_xyz(xyz_from_linear(linear_from_srgb(colour)));
}

double ciede2000(const Lab& one, const Lab& other) {
  const double stretch =
      1.0 + 0.5 * (1.0 - seventh(0.5 * (std::hypot(one.a, one.b) + std::hypot(other.a, other.b))));
  const double a1 = stretch * one.a, a2 = stretch * other.a;
  const double c1 = std::hypot(a1, one.b), c2 = std::hypot(a2, other.b);
  const double h1 = hue(a1, one.b), h2 = hue(a2, other.b);
  const bool grey = c1 * c2 == 0.0;
  const Hues hues = grey ? Hues{0.0, h1 + h2} : compare(h1, h2);

  const double light = squared(0.5 * (one.l + other.l) - 50.0);
  const double chroma = 0.5 * (c1 + c2), h = hues.mean;
  const double tone = 1.0 - 0.17 * std::cos(kDegree * (h - 30.0)) + 0.24 * std::cos(kDegree * 2.0 * h) +
                      0.32 * std::cos(kDegree * (3.0 * h + 6.0)) -
                      0.20 * std::cos(kDegree * (4.0 * h - 63.0));
  const double turn = 60.0 * kDegree * std::exp(-squared((h - 275.0) / 25.0));
  const double dl = (other.l - one.l) / (1.0 + 0.015 * light / std::sqrt(20.0 + light));
  const double dc = (c2 - c1) / (1.0 + 0.045 * chroma);
  const double dh =
      2.0 * std::sqrt(c1 * c2) * std::sin(0.5 * kDegree * hues.difference) / (1.0 + 0.015 * chroma * tone);
  return std::sqrt(dl * dl + dc * dc + dh * dh - 2.0 * seventh(chroma) * std::sin(turn) * dc * dh);
}

}  // namespace circumfluence::appearance
