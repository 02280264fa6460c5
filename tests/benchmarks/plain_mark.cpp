#include "plain_mark.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "beam/fresnel.h"
#include "heat/spot_table.h"
#include "heat/layered_spot.h"
#include "response/threshold.h"

namespace circumfluence::benchmarks {
namespace {

using motion::Pose;

double density(double t) {
  return std::sqrt(2 / M_PI) * std::exp(-2 * t * t);
}
double cumulative(double t) {
  return 0.5 * (1 + std::erf(std::sqrt(2.0) * t));
}
double ramp(double t) {
  return t * cumulative(t) + density(t) / 4;
}

// Mean over a cell of the light of a dot m cells ahead, per unit of its power per length.
double dot_weight(double radius, double cell, int m) {
  const auto r = [&](double y) { return ramp(y / radius); };
  const double half = cell / 2, from = (m - 0.5) * cell, to = (m + 0.5) * cell;
  return radius / cell * (r(half - from) - r(-half - from) - r(half - to) + r(-half - to));
}

struct Rectangle {
  double axial_from, axial_to, around_from, around_to;
};

// Share of a rectangle that the picture wants burnt, pixel by pixel.
double wanted_share(const mark::Scene& scene, const Rectangle& r) {
  const artwork::Image& image = scene.image;
  const double wide = (scene.art.axial_to - scene.art.axial_from) / image.width;
  const double high = (scene.art.around_to - scene.art.around_from) / image.height;
  const double x0 = (r.axial_from - scene.art.axial_from) / wide,
               x1 = (r.axial_to - scene.art.axial_from) / wide;
  const double y0 = (scene.art.around_to - r.around_to) / high,
               y1 = (scene.art.around_to - r.around_from) / high;
  double sum = 0;
  for (int y = std::max(0, int(std::floor(y0))); y < std::min(double(image.height), y1); ++y)
    for (int x = std::max(0, int(std::floor(x0))); x < std::min(double(image.width), x1); ++x) {
      const double area = (std::min(x1, x + 1.0) - std::max(x0, double(x))) *
                          (std::min(y1, y + 1.0) - std::max(y0, double(y)));
      const double tone = image.tone[size_t(y) * image.width + x] / 65535.0;
      if (area > 0) sum += area * (scene.job.artwork.burns == artwork::Burns::dark ? 1 - tone : tone);
    }
  return sum / ((x1 - x0) * (y1 - y0));
}

bool burns(const mark::Scene& scene, const Rectangle& r) {
  return wanted_share(scene, r) >= scene.job.artwork.threshold - 1e-9;  // rounding does not decide a tie
}

// The peak beside a line over a range of heights, each height worked out for itself.
class Warmth {
 public:
  Warmth(const mark::Scene& scene, const response::Model& model, double low, double high)
      : low_(low), high_(high) {
    const int levels = high - low > 1e-9 ? 200 : 1;
    for (int i = 0; i < levels; ++i) {
      const exposure::Radii r = scene.light.radii(levels == 1 ? low : low + (high - low) * i / (levels - 1));
      const double speed = scene.job.scan.speed, k = model.base.solid.conductivity;
      std::vector<float> profile(heat::SpotTable::kNodes);
      const heat::Stack wall{{{model.base.wall, k, k / model.base.solid.diffusivity}}};
      heat::LayeredSpot(wall, {r.axial, r.around, speed}).profile(profile);
      for (float& value : profile) value *= float(model.base.absorptivity * speed);
      profiles_.push_back(std::move(profile));
    }
  }

  double at(double height, double eta) const {
    const auto& profile =
        profiles_[profiles_.size() == 1 ? 0
                                        : size_t(std::lround((height - low_) / (high_ - low_) *
                                                             (double(profiles_.size()) - 1)))];
    const double x = std::min(eta * heat::SpotTable::kStepsPerRadius, heat::SpotTable::kNodes - 2.0);
    const int i = int(x);
    return profile[size_t(i)] + (x - i) * (profile[size_t(i) + 1] - profile[size_t(i)]);
  }

 private:
  double low_, high_;
  std::vector<std::vector<float>> profiles_;
};

// What a line is at a column.
struct Meeting {
  double height, along, across, angle;  // [m], 1/e^2 radii [m], absorptivity against that at normal incidence
  double facing;                        // [1] cosine of the azimuth from top dead centre
  double energy, heating;               // [J/m]
};

struct Line {
  Pose pose;
  std::vector<Meeting> columns;
};

struct Cell {
  double fluence = 0, left = 0, rise = 0, absorbed = 0, spent = 0, strongest = 0;
};

class Plain {
 public:
  explicit Plain(const mark::Scene& scene)
      : scene_(scene),
        surface_(mark::develop(scene)),
        raster_(mark::plan(scene)),
        exposure_(mark::expose(scene, surface_, raster_)),
        model_(mark::respond(scene, *exposure_)),
        echo_(mark::remember(scene, surface_, model_.base, *exposure_)) {}

  PlainMaps run();

 private:
  Line line(int number) const;
  void listen(int number, const std::vector<char>& dots, int pad, Line& line) const;
  void pass(int row, const Line& line, const Warmth& warmth, std::vector<Cell>& cells) const;
  void judge(int row, const std::vector<Cell>& cells, PlainMaps& maps) const;

  const mark::Scene& scene_;
  workpiece::Surface surface_;
  motion::Raster raster_;
  std::unique_ptr<exposure::Exposure> exposure_;
  response::Model model_;
  exposure::Echo echo_;
};

// The echo of exposure/echo.h, one place and one moment after the other. Dots beyond those known go on as the last.
void Plain::listen(int number, const std::vector<char>& dots, int pad, Line& line) const {
  const double full = scene_.power() * (1 - scene_.job.laser.losses) / scene_.job.scan.speed;
  const int back = raster_.backward(number) ? -1 : 1;
  const auto dot = [&](int i) { return dots[size_t(std::clamp(i + pad, 0, int(dots.size()) - 1))]; };
  for (int i = 0; i < surface_.axial; ++i) {
    double best = 0;
    for (const exposure::Echo::Moment& m : echo_.moments) {
      double sum = 0;
      for (int n = 0; n < echo_.near; ++n) sum += m.near[size_t(n)] * dot(i + back * (m.ahead - n));
      int width = echo_.near;
      for (const float weight : m.far) {
        for (int n = width; n < 2 * width; ++n) sum += double(weight) / width * dot(i + back * (m.ahead - n));
        width *= 2;
      }
      best = std::max(best, sum);
    }
    line.columns[size_t(i)].heating = full * best;
  }
}

Line Plain::line(int number) const {
  const double cross = raster_.cross(number), cell = surface_.cell_axial;
  Line line{motion::pose(scene_.job.mount, surface_.reference_radius, cross),
            std::vector<Meeting>(size_t(surface_.axial))};
  const workpiece::Optics& optics = workpiece::optics_at(scene_.base, scene_.job.laser.wavelength);
  for (int i = 0; i < surface_.axial; ++i) {
    Meeting& m = line.columns[size_t(i)];
    if (i > 0 && surface_.straight) {
      m = line.columns[0];
      continue;
    }
    const double azimuth = line.pose.azimuth_under_beam(surface_.radius[size_t(i)]);
    m.height = scene_.light.height(surface_.radius[size_t(i)], azimuth, line.pose);
    const exposure::Radii radii = scene_.light.radii(m.height);
    m.along = radii.axial;
    m.across = radii.around;
    m.facing = std::cos(azimuth - line.pose.rotation);
    const double slope = surface_.slope[size_t(i)], around = std::sin(azimuth - line.pose.rotation);
    const double tilt = slope * slope + around * around;
    m.angle = 1;
    if (optics.n.known() && optics.k.known() && tilt > 0)
      m.angle = beam::angle_factor({optics.n.value, optics.k.value}, m.facing / std::hypot(1.0, slope),
                                   slope * slope / tilt, scene_.job.laser.polarisation);
  }
  double most = 0;
  for (const Meeting& m : line.columns) most = std::max(most, m.along);
  const int pad = 2 + int(3 * most / cell);
  std::vector<char> dots;
  for (int i = -pad; i < surface_.axial + pad; ++i) {
    const double from = surface_.axial_from + i * cell;
    dots.push_back(
        burns(scene_, {from, from + cell, cross - raster_.spacing / 2, cross + raster_.spacing / 2}));
  }
  const double full = scene_.power() * (1 - scene_.job.laser.losses) / scene_.job.scan.speed;
  std::vector<double> weights;
  for (int i = 0; i < surface_.axial; ++i) {
    Meeting& m = line.columns[size_t(i)];
    if (i == 0 || !surface_.straight) {
      weights.clear();
      for (int ahead = -pad; ahead <= pad; ++ahead) weights.push_back(dot_weight(m.along, cell, ahead));
    }
    double sum = 0;
    for (int ahead = -pad; ahead <= pad; ++ahead)
      if (dots[size_t(i + ahead + pad)]) sum += weights[size_t(ahead + pad)];
    m.energy = full * sum;
  }
  listen(number, dots, pad, line);
  return line;
}

void Plain::pass(int row, const Line& line, const Warmth& warmth, std::vector<Cell>& cells) const {
  const response::Film& film = *model_.film;
  const double half = surface_.cell_around / surface_.reference_radius / 2, azimuth = surface_.azimuth(row);
  double share = 0, heat_per_energy = 0, threshold = 0;
  for (int i = 0; i < surface_.axial; ++i) {
    const Meeting& m = line.columns[size_t(i)];
    const double radius = surface_.radius[size_t(i)];
    if (i == 0 || !surface_.straight) {
      const double near = line.pose.distance(radius, azimuth - half) / m.across;
      const double far = line.pose.distance(radius, azimuth + half) / m.across;
      const double width = surface_.cell_around * radius / surface_.reference_radius *
                           std::hypot(1.0, surface_.slope[size_t(i)]);
      share = (cumulative(far) - cumulative(near)) / width;
      if (share * m.across < 1e-6) share = 0;
      const double half_width = surface_.straight ? (far - near) / 2
                                                  : surface_.cell_around * radius /
                                                        surface_.reference_radius * m.facing / 2 / m.across;
      heat_per_energy = m.angle * warmth.at(m.height, std::max(0.0, std::abs(near + far) / 2 - half_width));
      threshold = response::threshold(*scene_.coat, model_.start, m.along / scene_.job.scan.speed);
    }
    Cell& c = cells[size_t(i)];
    const double fluence = m.energy * share, absorbed = film.absorptivity * fluence;
    c.fluence += fluence;
    if ((film.need * film.energy + c.spent) * absorbed > threshold * c.absorbed) {
      c.absorbed += absorbed;
      c.spent += threshold;
    }
    if (c.left > 0) c.strongest = std::max(c.strongest, absorbed / threshold);
    double part = 1;  // of the event that falls on the base
    if (c.left > 0) {
      const double excess = std::max(0.0, absorbed - threshold), standing = c.left * film.energy;
      const double taken = std::min(standing, excess);
      c.left = standing - taken > 1e-6 * film.need * film.energy ? (standing - taken) / film.energy : 0;
      part = absorbed > 0 ? (excess - taken) / absorbed : 0;
    }
    c.rise = std::max(c.rise, part * m.heating * heat_per_energy);
  }
}

void Plain::judge(int row, const std::vector<Cell>& cells, PlainMaps& maps) const {
  const response::Film& film = *model_.film;
  for (int i = 0; i < surface_.axial; ++i) {
    const Cell& c = cells[size_t(i)];
    const size_t at = size_t(row) * size_t(surface_.axial) + size_t(i);
    const double rise = heat::true_rise(model_.conductivity, c.rise);
    maps.fluence[at] = float(c.fluence);
    maps.removed[at] = float(film.thickness - c.left);
    maps.peak_temperature[at] = float(model_.start + rise);
    maps.margin[at] = c.absorbed > 0 ? float((c.spent + film.need * film.energy) / c.absorbed)
                                     : std::numeric_limits<float>::infinity();
    const bool clean = c.left <= scene_.job.outcome.coat_left * film.thickness;
    const bool untouched = c.left >= film.thickness && c.strongest < model_.discolours;
    maps.outcome[at] = c.rise >= model_.limit_rise() ? 3 : untouched ? 0 : clean ? 2 : 1;
    const double x = surface_.axial_from + i * surface_.cell_axial, y = surface_.arc(row),
                 half = surface_.cell_around / 2;
    Rectangle r{x, x + surface_.cell_axial, y - half, y + half};
    if (scene_.job.mount.hold == motion::Hold::standing) {
      const double radius = surface_.radius[size_t(i)];
      r.around_from = radius * std::sin(r.around_from / surface_.reference_radius);
      r.around_to = radius * std::sin(r.around_to / surface_.reference_radius);
    }
    maps.wanted[at] = burns(scene_, r);
  }
}

PlainMaps Plain::run() {
  std::vector<Line> lines;
  double low = 1e9, high = -1e9;
  for (int n = 0; n < raster_.lines; ++n) {
    const Pose pose = motion::pose(scene_.job.mount, surface_.reference_radius, raster_.cross(n));
    for (const double radius : {surface_.radius.front(), surface_.radius.back()}) {
      const double height = scene_.light.height(radius, pose.azimuth_under_beam(radius), pose);
      low = std::min(low, height);
      high = std::max(high, height);
    }
  }
  const Warmth warmth(scene_, model_, low, high);
  PlainMaps maps{surface_.around, surface_.axial, {}, {}, {}, {}, {}, {}};
  const size_t size = size_t(surface_.around) * size_t(surface_.axial);
  for (auto* map : {&maps.fluence, &maps.removed, &maps.peak_temperature, &maps.margin}) map->resize(size);
  for (auto* map : {&maps.outcome, &maps.wanted}) map->resize(size);

  int first = 0;  // of the lines that are kept; later rows are not reached by earlier ones
  const bool turning = scene_.job.mount.hold == motion::Hold::turning;
  const double radius = surface_.radius.front(), half = surface_.cell_around / surface_.reference_radius / 2;
  const double reach =
      exposure::kWarmReach * std::max(scene_.light.radii(low).around, scene_.light.radii(high).around);
  // [m] of an azimuth from a line; along the arc, which unlike the chord keeps growing around the part.
  const auto off = [&](const Pose& pose, double azimuth) {
    return turning ? radius * (azimuth - pose.rotation) : pose.distance(radius, azimuth);
  };
  for (int row = 0; row < surface_.around; ++row) {
    std::vector<Cell> cells(size_t(surface_.axial), Cell{.left = model_.film->thickness});
    for (int n = first; n < raster_.lines; ++n) {
      const Pose pose = motion::pose(scene_.job.mount, surface_.reference_radius, raster_.cross(n));
      if (off(pose, surface_.azimuth(row) - half) >= reach) {
        first = n + 1;
        if (!lines.empty()) lines.erase(lines.begin());
        continue;
      }
      if (off(pose, surface_.azimuth(row) + half) <= -reach) break;
      while (int(lines.size()) <= n - first) lines.push_back(line(first + int(lines.size())));
      pass(row, lines[size_t(n - first)], warmth, cells);
    }
    judge(row, cells, maps);
  }
  return maps;
}

}  // namespace

PlainMaps plain_mark(const mark::Scene& scene) {
  return Plain(scene).run();
}

}  // namespace circumfluence::benchmarks
