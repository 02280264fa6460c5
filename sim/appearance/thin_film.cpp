#include "appearance/thin_film.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::appearance {
namespace {

using Complex = std::complex<double>;
constexpr double kTau = 2 * quantity::kPi;

// cos(t) within a medium, by Snell's law; of the two roots the one whose wave dies away.
Complex cosine_in(Complex index, double sine) {
  const Complex root = std::sqrt(1.0 - (sine / index) * (sine / index));
  return (index * root).imag() < 0 ? -root : root;
}

Complex inverse(Complex z) {
  return std::conj(z) / std::norm(z);
}

// The two faces for one polarisation, and how the phase 2b [rad] grows with thickness.
struct Faces {
  Complex outer[2], inner[2];  // r01, r12: s, p
  Complex phase;               // [rad/m] complex
};

Faces faces(Complex film, Complex body, double wavelength, double cosine) {
  const double c0 = std::clamp(cosine, 1e-9, 1.0), sine = std::sqrt(1 - c0 * c0);
  const Complex c1 = cosine_in(film, sine), c2 = cosine_in(body, sine);
  return {{(c0 - film * c1) / (c0 + film * c1), (film * c0 - c1) / (film * c0 + c1)},
          {(film * c1 - body * c2) / (film * c1 + body * c2), (body * c1 - film * c2) / (body * c1 + film * c2)},
          2 * kTau / wavelength * film * c1};
}

double reflected(const Faces& f, Complex turn, double cosine) {
  const auto one = [&](int p) {
    const Complex there = f.inner[p] * turn;
    return std::norm((f.outer[p] + there) * inverse(1.0 + f.outer[p] * there));
  };
  return cosine >= 1 ? one(0) : 0.5 * (one(0) + one(1));
}

constexpr double kReach = 4;  // [1] standard deviations

// Mean over a normal distribution of thickness, by the trapezoidal rule: as many steps as five harmonics of the
// interference ask for. The turn of the phase from one step to the next is the same all along.
double mean_reflected(const Faces& f, const Layer& layer, double cosine) {
  const double deviation = layer.thickness * layer.uneven;
  const double low = layer.uneven > 0 ? std::max(-kReach, -1 / layer.uneven) : 0;
  const double harmonics = 5 * std::abs(f.phase.real()) * deviation + 8;
  const int steps = std::clamp(int(std::ceil((kReach - low) * harmonics / kTau)), 8, 512);
  const double step = (kReach - low) / steps;
  Complex turn = std::exp(Complex(0, 1) * f.phase * (layer.thickness + low * deviation));
  const Complex on = std::exp(Complex(0, 1) * f.phase * (step * deviation));
  double sum = 0, all = 0;
  for (int i = 0; i <= steps; ++i) {
    const double z = low + i * step, weight = std::exp(-0.5 * z * z) * (i == 0 || i == steps ? 0.5 : 1);
    sum += weight * reflected(f, turn, cosine);
    all += weight;
    turn *= on;
  }
  return sum / all;
}

}  // namespace

double reflectance(const Film& film, double wavelength, double cosine) {
  const Faces f = faces(film.film, film.body, wavelength, cosine);
  return reflected(f, std::exp(Complex(0, 1) * f.phase * film.thickness), cosine);
}

Reflectance film_reflectance(const Index& film, const Index& body, const Layer& layer, double cosine) {
  Reflectance out;
  for (int i = 0; i < kBands; ++i) {
    const size_t b = size_t(i);
    if (layer.thickness * layer.uneven > 0)
      out[b] = mean_reflected(faces(film[b], body[b], wavelength(i), cosine), layer, cosine);
    else
      out[b] = reflectance({film[b], body[b], layer.thickness}, wavelength(i), cosine);
  }
  return out;
}

Reflectance bare_reflectance(const Index& body, double cosine) {
  return film_reflectance(body, body, {}, cosine);
}

}  // namespace circumfluence::appearance
