// The part in the round: a picture of it with its mark, from any side, under soft light.
//
// Seen from far away (parallel lines of sight), so that measures can be taken from the picture; the middle of the axis is in
// its middle. Each pixel averages four looks at the surface of revolution, whose lines of sight are met in closed form.
// Light: an even sky of radiance S, less what the part hides of itself, and two long soft lamps along the axis, beside the eye.
// Amounts of light are such that a white diffuser facing the eye comes out at 0.9:
//   diffuse   d (S + sum e (rho + A)^2 / (4 rho))    A the cosine between normal and lamp, rho that and the axis' part of the
//                                                    normal in one: a lamp whose light falls off to its ends as cos^2
//   mirrored  m (S + sum L cos^2(elevation) sqrt(a / v) exp(-tan^2(delta / 2) / (2 v)))       v = slope^2 / 2 + a
// delta [rad] from the mirrored line of sight to the lamp's plane, a [1] variance of slopes that show the lamp, L its radiance,
// e = L width sqrt(2 pi) (4/3) / pi: Beckmann's Gaussian slopes, widened by the lamp's, so that light is neither made nor
// lost. Mirrors rise towards grazing as Schlick (1994) has it, at the facets' own angle. Above 0.9 highlights are compressed
// so that none is cut off. Shares of sky and lamps are a choice of display. Left out: what one part of a surface throws on
// another, and lamps hidden behind a step (they dim as the sky does).
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "appearance/picture.h"
#include "look/skin.h"
#include "quantity/bands.h"
#include "workpiece/profile.h"

namespace circumfluence::look {

struct View {
  double turn = 0;          // [rad] azimuth of the surface that faces the eye
  double tilt = 0.17;       // [rad] of the eye above the plane across the axis, toward the end that grows; +-pi/2: onto that end
  int width = 720, height = 960;  // [px], the axis upright in the picture
  bool upright = true;      // the end at which axial positions grow is up; false: it is to the right (width and height as given)
  appearance::Colour backdrop{236, 238, 241};
  int threads = 0;
};

// Throws ValidityError: no pixels, more than 64 million, or angles that are none.
appearance::Pixels render(const Skin& skin, const workpiece::Profile& profile, const View& view = {});
// The same at several turns [rad] in place of the view's; each line of sight is followed once for all of them.
std::vector<appearance::Pixels> render_around(const Skin& skin, const workpiece::Profile& profile, const View& view,
                                              std::span<const double> turns);

// [m] How far a pixel of the picture reaches, across the line of sight: all of the part is in it, with 4 % to spare at each side.
double pixel_of(const workpiece::Profile& profile, const View& view);

struct Turning {
  int frames = 48;          // around
  View view = {.width = 480, .height = 640};
  std::string title = {};
  std::vector<std::string> lines = {};  // said below the picture
  quantity::Progress progress = {};
};

// One HTML file that needs nothing else: the part, turned with mouse, finger or arrow keys; before and after the wipe where
// both are given. Written whole or not at all. Throws FileError, Interrupted.
void write_turning(const std::string& path, const workpiece::Profile& profile, const Skin& wiped, const Skin* unwiped,
                   const Turning& turning = {});

// What pictures are made of.

// In the part's frame as the eye has turned it: along the axis, across it toward growing azimuth (to the left in an upright
// picture), and toward the eye's side.
struct Direction {
  double along, across, toward;
};
struct Eye {
  explicit Eye(double tilt);
  Direction to;  // [1] from the part
};

// Where a line of sight meets the part.
struct Sight {
  double axial, azimuth;  // [m], [rad] from the surface that faces the eye
  Direction normal;
  double open;            // [1] share of an even sky's light that the part leaves it
  bool face;              // of an end or a step, which no mark reaches
};

// A surface of revolution as frusta and flat faces. Kinks are found between places 1/4096 of the length apart; what comes and
// goes between two of them is not seen.
class Solid {
 public:
  explicit Solid(const workpiece::Profile& profile);

  // What is seen at a place of the picture [m]: right of the middle of the axis, and above it.
  std::optional<Sight> front(const Eye& eye, double right, double up) const;
  // [m] how far it reaches from the middle of the axis in the picture.
  double half_width() const { return widest_; }
  double half_height(const Eye& eye) const;

 private:
  struct Frustum {
    double from, to, radius, slope;  // radius where it begins
    double end() const { return radius + slope * (to - from); }
  };
  struct Ray {
    double axial, across, toward;  // [m] where it starts
    Direction to;
  };
  void find_frusta(const workpiece::Profile& profile);
  void open_up();
  double inner(size_t face) const;  // radii of the face before a frustum, or behind the last
  double outer(size_t face) const;
  bool outward(size_t face) const;  // looks to where axial positions grow
  bool hidden(const Ray& ray) const;
  double open_at(size_t element, double share) const;
  double opening(size_t element, double share, int directions) const;
  std::pair<size_t, size_t> reached(const Ray& ray) const;
  std::optional<double> meet(const Frustum& frustum, const Ray& ray) const;
  std::optional<double> meet_face(size_t face, const Ray& ray) const;
  Sight sight(size_t element, const Ray& ray, double reach) const;

  std::vector<Frustum> frusta_;
  double widest_ = 0;  // [m] radius
  std::vector<float> open_;  // [elements: face, frustum, face, ...][places]; empty where nothing hides anything
  int places_ = 0;           // along each element where the open sky is worked out
};

// How a place stands in the light, whatever its shade.
struct Stand {
  float cosine;              // of the angle between normal and eye
  float open, even;          // [1] sky's share; light that falls on a diffuser, over the eye's
  float level;               // [1] cos^2 of the elevation to which it mirrors the eye
  std::array<float, 2> off;  // tan^2(delta / 2) of each lamp
};
Stand stand(const Direction& normal, const Eye& eye, double open);
// Light sent to the eye.
appearance::Linear lit(const Shade& shade, const Stand& stand);

}  // namespace circumfluence::look
