// The light that pictures in the round are made in.
#include <algorithm>
#include <array>
#include <cmath>

#include "look/round.h"

namespace circumfluence::look {
namespace {

constexpr double kFacing = 0.9;    // of a white diffuser that faces the eye
constexpr double kShoulder = 0.9;  // from which highlights are compressed
constexpr double kDielectric =
    0.04;  // surfaces that mirror less at normal incidence rise less towards grazing

struct Lamp {
  double across, toward;  // [1] its direction
  double facing;          // [1] light that a white diffuser facing it sends on
  double width;           // [rad] standard deviation
  double radiance;        // [1]
};

constexpr double kRootTwoPi = 2.5066282746310002, kPi = 3.14159265358979323846;

Lamp lamp(double azimuth, double facing, double width) {
  return {std::sin(azimuth), std::cos(azimuth), facing, width, facing * kPi / (width * kRootTwoPi * 4 / 3)};
}

struct Lights {
  std::array<Lamp, 2> lamps{lamp(0.75, 0.42, 0.15), lamp(-1.0, 0.24, 0.12)};
  double sky = kFacing;
  Lights() {
    for (const Lamp& each : lamps) sky -= each.facing * each.toward;
  }
};

const Lights& lights() {
  static const Lights all;
  return all;
}

double dot(const Direction& a, const Direction& b) {
  return a.along * b.along + a.across * b.across + a.toward * b.toward;
}

double irradiance(const Direction& normal) {
  double sum = lights().sky;
  for (const Lamp& each : lights().lamps) {
    const double facing = normal.across * each.across + normal.toward * each.toward;
    const double all = std::sqrt(facing * facing + normal.along * normal.along);
    if (all > 1e-12) sum += each.facing * (all + facing) * (all + facing) / (4 * all);
  }
  return sum;
}

// Of the rough mirror's surroundings, as it shows them to the eye.
float mirrored(const Stand& stand, float slope) {
  const Lights& all = lights();
  float sum = float(all.sky);
  for (size_t i = 0; i < all.lamps.size(); ++i) {
    const float own = float(all.lamps[i].width * all.lamps[i].width / 4), wide = own + slope * slope / 2;
    const float power = stand.off[i] / (2 * wide);
    if (power < 30)
      sum += float(all.lamps[i].radiance) * stand.level * std::sqrt(own / wide) * std::exp(-power);
  }
  return sum;
}

double compressed(double light) {
  return light <= kShoulder ? light : 1 - (1 - kShoulder) * std::exp((kShoulder - light) / (1 - kShoulder));
}

}  // namespace

Stand stand(const Direction& normal, const Eye& eye, double open) {
  const double cosine = std::max(dot(normal, eye.to), 0.0);
  const Direction to{2 * cosine * normal.along - eye.to.along, 2 * cosine * normal.across - eye.to.across,
                     2 * cosine * normal.toward - eye.to.toward};
  Stand out{float(cosine), float(open), float(irradiance(normal) * open), float(1 - to.along * to.along), {}};
  for (size_t i = 0; i < out.off.size(); ++i) {
    const Lamp& each = lights().lamps[i];
    const double beside = to.across * each.toward - to.toward * each.across;  // sin(delta)
    const double before = std::copysign(std::sqrt(std::max(1 - beside * beside, 0.0)),
                                        to.across * each.across + to.toward * each.toward);
    const double half = beside / std::max(1 + before, 1e-9);
    out.off[i] = float(half * half);
  }
  return out;
}

appearance::Linear lit(const Shade& shade, const Stand& stand) {
  const float slope = float(shade.slope);
  const float grazing = 1 - std::min(std::sqrt(stand.cosine * stand.cosine + slope * slope), 1.0f);
  const double least = std::min({shade.mirror[0], shade.mirror[1], shade.mirror[2]});
  const double rise =
      double(grazing * grazing * grazing * grazing * grazing) * std::min(least / kDielectric, 1.0);
  const double even = stand.even * (1 - rise), around = double(mirrored(stand, slope) * stand.open);
  appearance::Linear out;
  for (size_t i = 0; i < 3; ++i)
    out[i] = compressed(shade.diffuse[i] * even + (shade.mirror[i] + rise * (1 - shade.mirror[i])) * around);
  return out;
}

}  // namespace circumfluence::look
