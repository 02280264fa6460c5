// An even fill seen across its lines, closer than the cells of a map: what becomes of it, and by which factors on power
// it would be otherwise.
//
// All lines burn at one power and have no ends, so that one period stands for the whole fill. Places beside a line, a
// 64th of the spacing apart, go through the laws of response/row.h event by event, as the cells of a map do: a line k
// spacings away brings
//   F = P / (v w) p(y / w) cos(theta)   [J/m^2]        and the linear rise   A P T(y) angle   [K]
// P [W] power on the part, v [m/s] speed, w [m] 1/e^2 radius across the line, p the beam's profile, y [m] the distance,
// cos(theta) of the incidence, T [K/W] the peak rise beside the line (heat/layered_spot.h), A the absorptivity, angle
// [1] its change with the incidence. Factors are found by repeating until they are 1 within 1e-4, hence exact where a
// map's margins are within a few per cent (tested against predictions of whole jobs).
#pragma once

#include <functional>
#include <span>
#include <vector>

#include "beam/spot_profile.h"
#include "mark/scene.h"
#include "response/judge.h"

namespace circumfluence::mark {

// A line as it meets the part.
struct Line {
  double along, across;       // [m] 1/e^2 radii, of the beam's cross-section
  double power, speed;        // [W] on the part, [m/s] over the surface
  beam::SpotProfile profile;  // across
  double incidence = 1;       // [1] cosine of the tilt across the line; distances are seen along the beam
  double angle = 1;           // [1] absorptivity of the bare base against that at normal incidence

  // [J/m^2] incident at a distance from the line.
  double fluence(double distance) const {
    return incidence * power / (speed * across) * profile.density(distance / across);
  }
};

// How the surface stands under the beam.
struct Stand {
  double height;       // [m] above the nominal focus
  double azimuth = 0;  // [rad] from top dead centre
  double slope = 0;    // [1] of the radius along the axis
};
// Under the beam where the job set its focus.
Stand stand_of(const Scene& scene);
// The job's line there, and where the focus was set: what a look at the whole job is made with.
Line line_at(const Scene& scene, const Stand& stand);
Line line_of(const Scene& scene);
// [m] on the surface there, between lines that are fed so far apart: on a turning part that is not as wide as the machine
// believes, or slips, lines along the axis lie r / R as far apart, and lines around run as fast.
double true_spacing(const Scene& scene, double fed);

struct Period {
  double spacing;      // [m]
  int passes = 1;
  double rise = 0;     // [K] linear, of the wall when a line comes
  int interleave = 1;  // as scan.interleave
};

// Factors on the line's power; infinity when no power up to 1e4 times does.
struct Edges {
  double begins;    // something is seen somewhere
  double centre;    // the line's centre is marked
  double required;  // outcome.required of all places are marked
  double burns;     // more than outcome.tolerated of all places over-burn
};

class EvenFill {
 public:
  // `rises`: [K/W] as LayeredSpot::profile gives them for the model's base and the line; worked out where none are given.
  EvenFill(const response::Model& model, const response::Limits& limits, const Line& line,
           std::span<const float> rises = {});

  double centre(const Period& period);
  double required(const Period& period);
  double burns(const Period& period);
  Edges edges(const Period& period);
  // [1] share of all places that is marked, over-burned ones included, with a factor on its power.
  double covered(double factor, const Period& period);
  // [m] of what one line alone marks, with a factor on its power; 0: nothing.
  double width(double factor);
  // [m] thickness removed, charred or grown, mean over all places, with a factor on its power.
  double depth(double factor, const Period& period);
  // [K] linear, of the base under the line, once it lies bare.
  double hottest() const { return line_.power * rises_.front() * scale_; }

 private:
  void lay(int count, double from, double step);
  void begin(double factor, double rise);
  void pass(double line);
  int neighbours(double spacing) const;
  void mark(double factor, const Period& period);
  void burn(double factor, const Period& period);
  double settle(const std::function<double(double)>& look) const;
  double begins(const Period& period, double high);

  const response::Model& model_;
  const response::Limits& limits_;
  Line line_;
  double scale_;  // [1] absorptivity of the base, with the incidence
  std::vector<float> rises_;  // [K/W]
  response::Judge judge_;
  response::Row row_;
  std::vector<double> places_;  // [m]
  std::vector<float> energy_, share_, warmth_, threshold_, background_, factors_;
  std::vector<float> fluence_, changed_, peak_;
  std::vector<std::uint8_t> outcome_;
};

// What an even fill of lines leaves in the wall.
struct FillOfLines {
  const response::Model& model;
  const motion::Raster& raster;
  const Line& line;
};
// [1] by pass: the share of a line's energy that stays as heat, when all lines burn at a share `tone` of their power.
// What a coat takes with it when it goes has left; the rest of what coat and base absorb stays.
std::vector<double> wall_shares(const FillOfLines& fill, double tone);

}  // namespace circumfluence::mark
