// The fluence of a moving beam the slow and obvious way: every moment of every line is put on the surface.
#pragma once

#include <cmath>
#include <vector>

#include "exposure/trial.h"
#include "quantity/constants.h"

namespace circumfluence::exposure::slow {

class Beam {
 public:
  explicit Beam(const Trial& trial)
      : t_(trial), job_(arrange(trial)), profile_(trial.part), art_(artwork::extent(trial.art, trial.image)) {
    axial_ = t_.scan.direction == motion::Direction::axial;
    const double radius = profile_.radius(t_.mount.focus_at), offset = turning() ? t_.mount.beam_offset : 0.0;
    focus_ = std::sqrt(radius * radius - offset * offset) + t_.scan.focus_offset;
    list_dots();
  }
  const Arrangement& job() const { return job_; }

  // [J] that leaves the laser: power times the time it is on.
  double energy() const {
    double sum = 0;
    for (const Dot& dot : dots_)
      for (const auto& [x, weight] : kNodes)
        sum += dot.power * weight * (dot.to - dot.from) * slowness(at(dot.from, dot.to, x));
    return sum * t_.scan.passes;
  }

  // [J/m^2] mean over a cell.
  double fluence(int row, int column) const {
    return mean(row, column, [this](double u, double phi) { return fluence_at(u, phi); }) * t_.scan.passes;
  }

  // Mean over the cell's true surface of a quantity by axial position and azimuth.
  template <class At>
  double mean(int row, int column, const At& at_point) const {
    const workpiece::Surface& s = job_.surface;
    double light = 0, area = 0;
    for (const auto& [a, weight_a] : kNodes)
      for (const auto& [c, weight_c] : kNodes) {
        const double u = at(s.position(column) - s.cell_axial / 2, s.position(column) + s.cell_axial / 2, a);
        const double half = s.cell_around / s.reference_radius / 2;
        const double weight = weight_a * weight_c * profile_.radius(u) * std::hypot(1.0, profile_.slope(u));
        light += weight * at_point(u, at(s.azimuth(row) - half, s.azimuth(row) + half, c));
        area += weight;
      }
    return light / area;
  }

  // [1/m^2] share of the power a spot of the surface receives per area while the beam stands somewhere, its focus
  // raised by so much.
  double received(double u, double phi, double beam_axial, double fed, double raised = 0) const {
    const double turned = turning() ? fed / job_.surface.reference_radius : 0.0;
    const double beam = t_.mount.beam_offset + (turning() ? 0.0 : fed);
    const double cosine = std::cos(phi - turned);
    if (cosine <= 0) return 0.0;
    const double r = profile_.radius(u), up = t_.mount.runout_phase - turned;
    const double lateral = r * std::sin(phi - turned) + t_.mount.runout * std::sin(up) - beam;
    const double z = r * cosine + t_.mount.runout * std::cos(up) - focus_ - raised;
    const auto width = [&](double spot, double m2, double waist) {
      const double w = spot / 2, far = (z - waist) * m2 * t_.laser.wavelength / (quantity::kPi * w);
      return std::sqrt(w * w + far * far);
    };
    const double wa = width(t_.laser.spot_axial, t_.laser.m2_axial, t_.laser.waist_offset_axial);
    const double wr = width(t_.laser.spot_around, t_.laser.m2_around, t_.laser.waist_offset_around);
    const double x = (u - beam_axial) / wa, y = lateral / wr;
    if (std::abs(x) > 3.5 || std::abs(y) > 3.5) return 0.0;
    return density(x, t_.laser.order_axial) * density(y, t_.laser.order_around) / (wa * wr) * cosine /
           std::hypot(1.0, profile_.slope(u));
  }

 private:
  struct Dot {
    int line;
    double from, to, power;  // [m] along the line, [W] at full speed
  };
  // Gauss-Legendre, four points on [0, 1].
  static constexpr std::pair<double, double> kNodes[] = {{0.0694318442029737, 0.173927422568727},
                                                         {0.3300094782075719, 0.326072577431273},
                                                         {0.6699905217924281, 0.326072577431273},
                                                         {0.9305681557970263, 0.173927422568727}};
  static double at(double from, double to, double share) { return from + share * (to - from); }
  bool turning() const { return t_.mount.hold == motion::Hold::turning; }

  void list_dots();

  // [s/m] of the fed art at a place on a line, times the power habit's factor.
  double slowness(double along) const {
    const double begin = axial_ ? art_.axial_from : art_.around_from,
                 end = axial_ ? art_.axial_to : art_.around_to;
    if (t_.scan.power_habit == motion::PowerHabit::follows_speed) return 1 / t_.scan.speed;
    const double gone = std::min(along - begin, end - along) + t_.scan.run_up;
    return 1 / std::min(t_.scan.speed, std::sqrt(2 * t_.scan.acceleration * gone));
  }

  static double density(double t, double order) {
    const double a = 0.5 * std::sqrt(std::tgamma(1 / order) / std::tgamma(3 / order));
    return order / (2 * a * std::tgamma(1 / order)) * std::exp(-std::pow(std::abs(t) / a, order));
  }

  double fluence_at(double u, double phi) const {
    double sum = 0;
    for (const Dot& dot : dots_)
      for (const auto& [x, weight] : kNodes) {
        const double along = at(dot.from, dot.to, x), cross = job_.raster.cross(dot.line);
        const double seen = axial_ ? received(u, phi, along, cross) : received(u, phi, cross, along);
        if (seen > 0) sum += dot.power * seen * slowness(along) * weight * (dot.to - dot.from);
      }
    return sum;
  }

  Trial t_;
  Arrangement job_;
  workpiece::Profile profile_;
  artwork::Extent art_;
  bool axial_ = true;
  double focus_ = 0;
  std::vector<Dot> dots_;
};

inline void Beam::list_dots() {
  const workpiece::Surface& s = job_.surface;
  const double origin = axial_ ? s.axial_from : s.around_from, cell = axial_ ? s.cell_axial : s.cell_around;
  const double begin = axial_ ? art_.axial_from : art_.around_from,
               end = axial_ ? art_.axial_to : art_.around_to;
  for (int line = 0; line < job_.raster.lines; ++line) {
    const double low = job_.raster.cross(line) - job_.raster.spacing / 2, high = low + job_.raster.spacing;
    for (long i = std::lround(std::floor((begin - origin) / cell)); origin + double(i) * cell < end; ++i) {
      const double from = origin + double(i) * cell, to = from + cell;
      double share = axial_ ? artwork::slow::reference(t_.image, t_.art, {from, to, low, high})
                            : artwork::slow::reference(t_.image, t_.art, {low, high, from, to});
      if (t_.art.tone == artwork::ToneUse::threshold) share = share >= t_.art.threshold ? 1.0 : 0.0;
      if (share > 0) dots_.push_back({line, from, to, share * t_.scan.power});
    }
  }
}

// Greatest difference between the events' fluence and the slow one over every `stride`th cell, over the peak.
inline double worst(const Trial& trial, int stride) {
  const Beam beam(trial);
  const quantity::Map<double> map = fluence(beam.job());
  double most = 0, peak = 0;
  for (long cell = 0; cell < long(map.size()); cell += stride) {
    const int row = int(cell / map.axial()), column = int(cell % map.axial());
    const double truth = beam.fluence(row, column);
    peak = std::max(peak, truth);
    most = std::max(most, std::isnan(map.row(row)[column]) ? 1e300 : std::abs(map.row(row)[column] - truth));
  }
  return most / peak;
}

// Energy on the surface against the energy sent, minus one.
inline double imbalance(const Trial& trial) {
  const Beam beam(trial);
  const workpiece::Surface& s = beam.job().surface;
  const quantity::Map<double> map = fluence(beam.job());
  double sum = 0;
  for (int row = 0; row < map.around(); ++row)
    for (int i = 0; i < map.axial(); ++i) sum += map.row(row)[i] * s.cell_area(i);
  return sum / beam.energy() - 1;
}

}  // namespace circumfluence::exposure::slow
