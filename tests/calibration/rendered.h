// Coupons as a camera would see them, rendered from scratch: what each patch looks like, a pinhole camera
// over a plane or a cylinder, blur, stray light, uneven and coloured light, a reflection, noise, clipping,
// sRGB and JPEG.
#pragma once

#include <turbojpeg.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <stdexcept>
#include <vector>

#include "calibration/photo.h"

namespace circumfluence::calibration::rendered {

using response::Outcome;
using Light = std::array<double, 3>;

// What truly became of a slot. under-marked: stripes of marked, their share of the area; over-burned: share
// of over-burned on marked; single lines: the width of their mark, marked.
struct Truth {
  Outcome outcome = Outcome::untouched;
  double share = 1;
  double width = 0;  // [m]
};

struct Subject {
  Coupon coupon;
  std::vector<Truth> truth;
  Light ground{}, marked{}, over{};  // [1] of the light that falls there
  bool ink_over = false;
  double radius = NAN;
  bool marks = true;  // burnt at all
};

struct Camera {
  int width = 1600, height = 1200;
  double fill = 0.8;                        // [1] of the picture's height that the diagonal takes
  double turn = 0, tilt_x = 0, tilt_y = 0;  // [rad]
  double distance = 0.25;                   // [m]
  double shift_x = 0, shift_y = 0;          // [1] of the picture
  double blur = 1;                          // [px] standard deviation
  double noise = 0.004;  // [1] of full light, and as much again of a pixel's own by its root
  double veil = 0.005;   // [1]
  double exposure = 0.9;
  Light cast = {1, 1, 1};
  Light uneven = {0, 0, 0};                                       // [1] across, down, toward the corners
  double glare = 0, glare_x = 0, glare_y = 0, glare_size = 0.05;  // [1] light; of the picture
  bool mirrored = false;
  int jpeg = 0;   // quality
  int parts = 2;  // samples a pixel's side
  unsigned seed = 1;
};

// Rectangles, the later over the earlier ones.
struct Paint {
  Rectangle place;
  double period = 0, share = 1;  // stripes; 0: solid
  bool along_x = true;
  int state = 0, between = 0;  // 0 ground, 1 marked, 2 over-burned
};

class Canvas {
 public:
  explicit Canvas(const Subject& subject) : coupon_(subject.coupon) {
    columns_ = int(coupon_.width / kCell) + 1, rows_ = int(coupon_.height / kCell) + 1;
    cells_.resize(size_t(columns_ * rows_));
    const int ink = subject.ink_over ? 2 : 1;
    for (size_t i = 0; i < coupon_.slots.size(); ++i) {
      paint(coupon_.slots[i], subject.truth[i]);
      if (coupon_.letters > 0) write(coupon_.slots[i], ink);
    }
    for (int mark = 0; mark < 4 && subject.marks; ++mark) {
      const Rectangle r = corner_mark(coupon_, mark);
      add({.place = r, .state = ink});
      if (mark == 0) add({.place = {r.x + r.width / 3, r.y + r.height / 3, r.width / 3, r.height / 3}});
    }
  }

  int state(double x, double y) const {
    const int column = int(std::floor(x / kCell)), row = int(std::floor(y / kCell));
    if (column < 0 || row < 0 || column >= columns_ || row >= rows_) return 0;
    int out = 0;
    for (const int i : cells_[size_t(row * columns_ + column)]) {
      const Paint& p = paints_[size_t(i)];
      const Rectangle& r = p.place;
      if (x < r.x || y < r.y || x >= r.x + r.width || y >= r.y + r.height) continue;
      const double at = p.period > 0 ? (p.along_x ? y - r.y : x - r.x) / p.period : 0;
      out = p.period == 0 || at - std::floor(at) < p.share ? p.state : p.between;
    }
    return out;
  }

 private:
  static constexpr double kCell = 0.5e-3;

  void add(const Paint& p) {
    paints_.push_back(p);
    const Rectangle& r = p.place;
    const int top = std::min(rows_ - 1, int((r.y + r.height) / kCell));
    const int right = std::min(columns_ - 1, int((r.x + r.width) / kCell));
    for (int row = std::max(0, int(r.y / kCell)); row <= top; ++row)
      for (int column = std::max(0, int(r.x / kCell)); column <= right; ++column)
        cells_[size_t(row * columns_ + column)].push_back(int(paints_.size()) - 1);
  }

  void paint(const Slot& slot, const Truth& truth) {
    const Rectangle& r = slot.place;
    const bool along_x = slot.patch.direction == motion::Direction::axial;
    const Rectangle line = along_x
                               ? Rectangle{r.x, r.y + r.height / 2 - truth.width / 2, r.width, truth.width}
                               : Rectangle{r.x + r.width / 2 - truth.width / 2, r.y, truth.width, r.height};
    const double h = slot.patch.spacing;
    if (slot.patch.is_line()) {
      if (truth.width > 0) add({.place = line, .state = 1});
    } else if (truth.outcome == Outcome::under_marked) {
      add({.place = r, .period = h, .share = truth.share, .along_x = along_x, .state = 1});
    } else if (truth.outcome == Outcome::marked) {
      add({.place = r, .state = 1});
    } else if (truth.outcome == Outcome::over_burned) {
      add({.place = r, .period = h, .share = truth.share, .along_x = along_x, .state = 2, .between = 1});
    }
  }

  // Strokes as of letters, in the label's room.
  void write(const Slot& slot, int ink) {
    const Rectangle room = label_place(coupon_, slot);
    const double tall = coupon_.letters, pen = 0.14e-3, w = 0.55 * tall;
    std::mt19937 random(unsigned(slot.number));
    for (double y = room.y; y + tall < room.y + room.height + 1e-6; y += kLineAdvance * tall)
      for (double x = room.x; x + w < room.x + room.width; x += kLetterAdvance * tall) {
        if (random() % 6 == 0) continue;
        if (random() % 2) add({.place = {x, y, pen, tall}, .state = ink});
        if (random() % 2) add({.place = {x + w - pen, y, pen, tall}, .state = ink});
        for (int bar = 0; bar < 3; ++bar)
          if (random() % 2) add({.place = {x, y + bar * (tall - pen) / 2, w, pen}, .state = ink});
      }
  }

  const Coupon& coupon_;
  int columns_, rows_;
  std::vector<Paint> paints_;
  std::vector<std::vector<int>> cells_;
};

struct Vector {
  double x, y, z;
  Vector operator+(const Vector& o) const { return {x + o.x, y + o.y, z + o.z}; }
  Vector operator*(double s) const { return {x * s, y * s, z * s}; }
};

// A pinhole over the coupon's middle; the coupon lies at z = 0, a strip's cylinder below it.
class Pinhole {
 public:
  Pinhole(const Subject& subject, const Camera& c) : subject_(subject), camera_(c) {
    const auto turned = [&](Vector v) {
      const auto turn = [](double& a, double& b, double angle) {
        const double p = a * std::cos(angle) - b * std::sin(angle);
        b = a * std::sin(angle) + b * std::cos(angle);
        a = p;
      };
      turn(v.z, v.x, c.tilt_y), turn(v.y, v.z, c.tilt_x), turn(v.x, v.y, c.turn);
      return v;
    };
    right_ = turned({1, 0, 0}), down_ = turned({0, -1, 0}), ahead_ = turned({0, 0, -1});
    eye_ = ahead_ * -c.distance;
    focal_ = c.fill * c.height * c.distance / std::hypot(subject.coupon.width, subject.coupon.height);
  }

  // [m] on the coupon; NaN where there is none.
  Spot place(double u, double v) const {
    if (camera_.mirrored) u = camera_.width - u;
    const double a = (u - camera_.width * (0.5 + camera_.shift_x)) / focal_;
    const double b = (v - camera_.height * (0.5 + camera_.shift_y)) / focal_;
    const Vector d = right_ * a + down_ * b + ahead_;
    const double w = subject_.coupon.width / 2, h = subject_.coupon.height / 2, r = subject_.radius;
    if (std::isnan(r)) {
      const Vector p = eye_ + d * (-eye_.z / d.z);
      return {p.x + w, p.y + h};
    }
    // y^2 + (z + r)^2 = r^2, the nearer of both.
    const double aa = d.y * d.y + d.z * d.z, ab = eye_.y * d.y + (eye_.z + r) * d.z;
    const double bb = eye_.y * eye_.y + (eye_.z + r) * (eye_.z + r) - r * r, root = ab * ab - aa * bb;
    if (root < 0) return {NAN, NAN};
    const Vector p = eye_ + d * ((-ab - std::sqrt(root)) / aa);
    return {p.x + w, r * std::atan2(p.y, p.z + r) + h};
  }

 private:
  const Subject& subject_;
  const Camera& camera_;
  Vector right_{}, down_{}, ahead_{}, eye_{};
  double focal_;
};

using Plane = std::vector<std::array<float, 3>>;

// Along lines of `count` samples that are `step` apart.
inline void blur_line(std::array<float, 3>* line, int count, int step, const std::vector<float>& kernel,
                      Plane& padded) {
  const int reach = int(kernel.size() / 2);
  padded.resize(size_t(count + 2 * reach));
  for (int i = -reach; i < count + reach; ++i)
    padded[size_t(i + reach)] = line[std::ptrdiff_t(std::clamp(i, 0, count - 1)) * step];
  for (int i = 0; i < count; ++i) {
    float r = 0, g = 0, b = 0;
    for (size_t k = 0; k < kernel.size(); ++k) {
      const auto& p = padded[size_t(i) + k];
      r += kernel[k] * p[0], g += kernel[k] * p[1], b += kernel[k] * p[2];
    }
    line[std::ptrdiff_t(i) * step] = {r, g, b};
  }
}

inline void blur(Plane& plane, int width, int height, double sigma) {
  const int reach = int(std::ceil(3.5 * sigma));
  if (reach == 0) return;
  std::vector<float> kernel;
  float sum = 0;
  for (int i = -reach; i <= reach; ++i)
    sum += kernel.emplace_back(float(std::exp(-0.5 * i * i / (sigma * sigma))));
  for (float& k : kernel) k /= sum;
  Plane padded;
  for (int row = 0; row < height; ++row)
    blur_line(plane.data() + std::ptrdiff_t(row) * width, width, 1, kernel, padded);
  for (int column = 0; column < width; ++column)
    blur_line(plane.data() + column, height, width, kernel, padded);
}

inline Plane exposed(const Subject& subject, const Camera& camera) {
  const Canvas canvas(subject);
  const Pinhole pinhole(subject, camera);
  const Light looks[4] = {subject.ground, subject.marked, subject.over, {0.3, 0.24, 0.18}};
  const int parts = camera.parts;
  constexpr double kRim = 4e-3;  // [m] of ground around
  Plane plane(size_t(camera.width) * size_t(camera.height));
  std::uint32_t random = camera.seed * 2654435761u + 1;
  const auto uniform = [&] {
    random ^= random << 13, random ^= random >> 17, random ^= random << 5;
    return random * 0x1p-32;
  };
  const auto on = [&](const Spot& at) {
    return at[0] > -kRim && at[1] > -kRim && at[0] < subject.coupon.width + kRim &&
           at[1] < subject.coupon.height + kRim;
  };
  for (int v = 0; v < camera.height; ++v)
    for (int u = 0; u < camera.width; ++u)
      for (int part = 0; part < parts * parts; ++part) {
        const double du = (part % parts + uniform()) / parts, dv = (part / parts + uniform()) / parts;
        const Spot at = pinhole.place(u + du, v + dv);
        const Light& look = looks[on(at) ? canvas.state(at[0], at[1]) : 3];
        for (size_t c = 0; c < 3; ++c)
          plane[size_t(v) * size_t(camera.width) + size_t(u)][c] += float(look[c] / (parts * parts));
      }
  return plane;
}

inline void develop(Plane& plane, const Camera& camera) {
  std::mt19937 random(camera.seed);
  std::normal_distribution<float> normal;
  for (int v = 0; v < camera.height; ++v)
    for (int u = 0; u < camera.width; ++u) {
      const double x = 2.0 * u / camera.width - 1, y = 2.0 * v / camera.height - 1;
      const Light& e = camera.uneven;
      const double fall = std::max(0.2, 1 + e[0] * x + e[1] * y - e[2] * (x * x + y * y));
      const double gx = (double(u) / camera.width - camera.glare_x) / camera.glare_size;
      const double gy = (double(v) - camera.glare_y * camera.height) / camera.width / camera.glare_size;
      const double glare = camera.glare > 0 ? camera.glare * std::exp(-(gx * gx + gy * gy) / 2) : 0;
      auto& pixel = plane[size_t(v) * size_t(camera.width) + size_t(u)];
      for (size_t c = 0; c < 3; ++c) {
        double light = camera.exposure * (camera.cast[c] * (double(pixel[c]) * fall + glare) + camera.veil);
        light += camera.noise * std::sqrt(1 + light) * double(normal(random));
        pixel[c] = float(light);
      }
    }
}

inline void compress(Photo& photo, int quality) {
  tjhandle in = tjInitCompress(), out = tjInitDecompress();
  unsigned char* data = nullptr;
  unsigned long size = 0;
  auto* pixels = photo.pixels.data()->data();
  if (tjCompress2(in, pixels, photo.width, 0, photo.height, TJPF_RGB, &data, &size, TJSAMP_420, quality, 0) !=
          0 ||
      tjDecompress2(out, data, size, pixels, photo.width, 0, photo.height, TJPF_RGB, 0) != 0)
    throw std::runtime_error("JPEG");
  tjFree(data);
  tjDestroy(in);
  tjDestroy(out);
}

inline Photo photograph(const Subject& subject, const Camera& camera) {
  Plane plane = exposed(subject, camera);
  blur(plane, camera.width, camera.height, camera.blur);
  develop(plane, camera);
  Photo photo{camera.width, camera.height, {}, "rendered"};
  photo.pixels.reserve(plane.size());
  for (const auto& light : plane) {
    std::array<std::uint8_t, 3> pixel;
    for (size_t c = 0; c < 3; ++c)
      pixel[c] = std::uint8_t(std::lround(255 * appearance::srgb_from_linear(double(light[c]))));
    photo.pixels.push_back(pixel);
  }
  if (camera.jpeg > 0) compress(photo, camera.jpeg);
  return photo;
}

// ---- Subjects ----

// A grid of square patches with labels below, widths and heights of the coupon as they come.
inline Coupon grid(int columns, int rows, double side, double spacing) {
  Coupon coupon;
  coupon.ink = {.power = 5, .speed = 0.02, .spacing = 0.1e-3};
  coupon.letters = 1.2e-3;
  const double step_x = side + 3.2e-3, step_y = side + 4.6e-3;
  coupon.width = columns * step_x + 3e-3;
  coupon.height = rows * step_y + 2 * coupon.corner + 2e-3;
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      const int number = row * columns + column + 1;
      const Patch patch{.power = 1.0 + column, .speed = 0.01 * (row + 1), .spacing = spacing};
      coupon.slots.push_back(
          {number, patch, {3e-3 + column * step_x, coupon.corner + 4e-3 + row * step_y, side, side}});
    }
  return coupon;
}

inline Light light_of(appearance::Colour colour) {
  return appearance::linear_from_srgb(colour);
}

inline Subject subject(const Coupon& coupon, const Looks& looks) {
  return {.coupon = coupon,
          .truth = std::vector<Truth>(coupon.slots.size()),
          .ground = light_of(looks.ground),
          .marked = light_of(looks.marked),
          .over = light_of(looks.over_burned)};
}

inline constexpr Looks kBlackCoat{{29, 29, 31}, {214, 209, 203}, {107, 100, 94}};
inline constexpr Looks kWhiteCoat{{241, 241, 238}, {214, 209, 203}, {107, 100, 94}};
inline constexpr Looks kSteel{{214, 209, 203}, {74, 67, 64}, {107, 100, 94}};
inline constexpr Looks kTitanium{{206, 200, 194}, {90, 95, 122}, {141, 138, 134}};
inline constexpr Looks kBrass{{245, 228, 174}, {163, 137, 79}, {111, 92, 56}};
inline constexpr Looks kCard{{186, 150, 112}, {84, 58, 38}, {30, 24, 20}};

// ---- At random ----

struct Scene {
  Looks looks;  // as recorded; what is rendered strays from it by a tenth
  Subject subject;
  Camera camera;
};

class Chance {
 public:
  explicit Chance(unsigned seed) : random_(seed * 7919u + 3) {}
  double between(double a, double b) { return a + (b - a) * (double(random_()) / 4294967296.0); }
  double normal() { return std::normal_distribution<double>()(random_); }
  int of(int count) { return int(random_() % unsigned(count)); }

 private:
  std::mt19937 random_;
};

inline Truth any_truth(Chance& chance, bool line) {
  if (line) return {.outcome = Outcome::marked, .width = chance.between(0.05e-3, 0.5e-3)};
  Truth out{.outcome = Outcome(chance.of(4))};
  if (out.outcome == Outcome::under_marked) out.share = chance.between(0.1, 0.9);
  if (out.outcome == Outcome::over_burned && chance.of(2)) out.share = chance.between(0.5, 1);
  return out;
}

// hard: blurred more, noisier, with a reflection in every other picture, lines so close that few pictures
// resolve them.
inline Scene any_scene(unsigned seed, bool hard) {
  static constexpr Looks kAll[] = {kBlackCoat, kWhiteCoat, kSteel, kTitanium, kBrass, kCard};
  Chance chance(seed);
  Scene out{.looks = kAll[chance.of(6)], .subject = {}, .camera = {}};
  Coupon coupon = grid(3 + chance.of(hard ? 4 : 3), 2 + chance.of(hard ? 3 : 2), chance.between(3e-3, 5e-3),
                       chance.between(hard ? 0.06e-3 : 0.12e-3, 0.25e-3));
  for (Slot& slot : coupon.slots) {
    if (chance.of(2)) slot.patch.direction = motion::Direction::around;
    if (chance.of(6) == 0) slot.patch.spacing = 0;
  }
  out.subject = subject(coupon, out.looks);
  for (size_t i = 0; i < coupon.slots.size(); ++i)
    out.subject.truth[i] = any_truth(chance, coupon.slots[i].patch.is_line());
  for (Light* look : {&out.subject.ground, &out.subject.marked, &out.subject.over}) {
    const double brightness = 0.1 * chance.normal();
    for (double& light : *look)
      light = std::min(0.95, light * std::exp(brightness + 0.015 * chance.normal()));
  }
  out.subject.ink_over = chance.of(3) == 0;
  const double warm = chance.between(-0.2, 0.2);
  Camera& c = out.camera;
  c = {.fill = chance.between(0.75, 0.9),
       .turn = chance.between(-3.14, 3.14),
       .tilt_x = chance.between(-0.25, 0.25),
       .tilt_y = chance.between(-0.25, 0.25),
       .blur = chance.between(0.5, hard ? 4 : 1.5),
       .noise = chance.between(0.002, hard ? 0.02 : 0.006),
       .veil = chance.between(0, 0.015),
       .exposure = chance.between(0.5, 0.95) / (1 + std::abs(warm)) / 1.35,
       .cast = {1 + warm, 1, 1 - warm},
       .uneven = {chance.between(-0.2, 0.2), chance.between(-0.2, 0.2), chance.between(0, 0.15)},
       .jpeg = chance.of(2) ? 70 + chance.of(26) : 0,
       .seed = seed + 1};
  if (hard && chance.of(2)) {
    c.glare = chance.between(0.5, 3), c.glare_size = chance.between(0.02, 0.08);
    c.glare_x = chance.between(0.2, 0.8), c.glare_y = chance.between(0.2, 0.8);
  }
  return out;
}

}  // namespace circumfluence::calibration::rendered
