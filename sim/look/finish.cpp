#include "look/finish.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "appearance/picture.h"
#include "appearance/thin_film.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using appearance::kBands;
using appearance::Linear;
using appearance::Reflectance;
using workpiece::Kind;
using workpiece::Material;

constexpr int kLast = Finish::kSteps - 1;
constexpr double kFace = 0.04;                               // [1] mirrored by a face of index 1.5
constexpr double kSoot = 7000, kMiddle = 550e-9;             // [m^2/kg] at [m]
constexpr double kThickest = 400e-9, kEven = 0.25;           // [m] of oxide told apart; [1] where nothing is known
constexpr double kGlossy = 0.15, kDull = 0.4, kBare = 0.25;  // [1] slopes where records have none: guesses

template <class Of>
Linear each(Of of) {
  return {of(0), of(1), of(2)};
}

Linear shown(const Reflectance& reflectance) {
  Linear light = appearance::linear_from_xyz(appearance::seen(reflectance));
  for (double& l : light) l = std::clamp(l, 0.0, 1.0);
  return light;
}

// What is seen through exp(-strength 550 nm / lambda), or, evenly, exp(-strength).
Linear dimmed(double strength, bool evenly) {
  if (strength <= 0) return {1, 1, 1};
  Reflectance r;
  for (int i = 0; i < kBands; ++i)
    r[size_t(i)] = std::exp(-strength * (evenly ? 1 : kMiddle / appearance::wavelength(i)));
  return shown(r);
}

Linear recorded(const Material& material, std::string Material::*which, const char* key) {
  if ((material.*which).empty())
    throw quantity::ValidityError(fmt::format(
        "material {} has no {} (needed to show what the eye would see). Add it to the record", material.name, key));
  return appearance::linear_from_srgb(appearance::parse_colour(material.*which));
}

struct Slopes {
  double ground, marked;
};

class Painter {
 public:
  Painter(const mark::Scene& scene, const response::Model& model, Wipe wipe)
      : base(scene.base),
        coat(scene.coat ? &*scene.coat : nullptr),
        job(scene.job),
        model_(model),
        wiped_(wipe == Wipe::after) {}

  void coated(std::array<Shade, Finish::kSteps + 1>& out);
  void oxidised(std::array<Shade, Finish::kSteps + 1>& out);
  void by_state(std::array<Shade, Finish::kSteps + 1>& out);
  void by_density(std::array<Shade, Finish::kSteps + 1>& out, const Material& body, double whole);
  bool knows_oxide() const {
    return model_.reacting && base.kind == Kind::metal && base.spectrum.known() && base.oxide_spectrum.known();
  }

  const Material& base;
  const Material* coat;
  const job::Job& job;
  double most = std::numeric_limits<double>::infinity();  // [m]
  std::vector<std::string> notes;

 private:
  Linear metal(double oxide) const;  // [m] grown beyond the native
  Linear ground_of(const Material& material);
  Shade shade_of(const Material& material, const Linear& total, double slope) const;
  Slopes slopes_of(const Material& material);
  double optical_thickness(double thickness, bool& scatters);
  void lay_residue(const Material& material, double removed, Shade& shade) const;
  double removed_at(int step) const { return most * step / kLast; }

  const response::Model& model_;
  bool wiped_;
};

Slopes slopes_of_kind(Kind kind) {
  return kind == Kind::metal     ? Slopes{kGlossy, kBare}
         : kind == Kind::organic ? Slopes{kDull, kDull}
                                 : Slopes{kGlossy, kDull};
}

Slopes Painter::slopes_of(const Material& material) {
  Slopes s = slopes_of_kind(material.kind);
  if (material.roughness.known()) s.ground = material.roughness.value;
  if (material.marked_roughness.known()) s.marked = material.marked_roughness.value;
  if (!material.roughness.known() || (!material.marked_roughness.known() && material.kind != Kind::coat))
    notes.push_back(
        fmt::format("The record of {} does not say how rough it is; its gloss is a guess.", material.title));
  return s;
}

// Metals send all they reflect back as a mirror does; other bodies only what their face does.
Shade Painter::shade_of(const Material& material, const Linear& total, double slope) const {
  if (material.kind == Kind::metal) return {{}, total, slope};
  const double face = std::min({kFace, total[0], total[1], total[2]});
  return {each([&](int c) { return total[size_t(c)] - face; }), {face, face, face}, slope};
}

Linear Painter::metal(double oxide) const {
  const appearance::Index body = appearance::index_of(base.spectrum, base.title.c_str());
  if (!base.oxide_spectrum.known()) return shown(appearance::bare_reflectance(body));
  const appearance::Index film = appearance::index_of(base.oxide_spectrum, ("the oxide on " + base.title).c_str());
  const double native = base.oxide_native.known() ? base.oxide_native.value : 0;
  return shown(appearance::film_reflectance(
      film, body, {native + oxide, base.oxide_uneven.known() ? base.oxide_uneven.value : kEven}));
}

Linear Painter::ground_of(const Material& material) {
  if (&material == &base && base.kind == Kind::metal && base.spectrum.known()) return metal(0);
  notes.push_back(
      fmt::format("The colour of {} is the one on its record; such colours are mostly chosen by eye.", material.title));
  return recorded(material, &Material::ground_colour, "ground_colour");
}

// 2 t / depth at 550 nm, of a thickness t of the coat.
double Painter::optical_thickness(double thickness, bool& scatters) {
  scatters = luminance(recorded(*coat, &Material::ground_colour, "ground_colour")) > 0.5;
  const workpiece::Optics* nearest = nullptr;
  const auto far = [](const workpiece::Optics* o) { return std::abs(std::log(o->wavelength.value / kMiddle)); };
  for (const workpiece::Optics& o : coat->optics)
    if (o.depth.known() && far(&o) < std::log(2) && (!nearest || far(&o) < far(nearest))) nearest = &o;
  if (nearest) return 2 * thickness / nearest->depth.value * (scatters ? 1 : nearest->wavelength.value / kMiddle);
  notes.push_back(fmt::format(
      "The record of {} has no optical depth near the visible: how it thins to the eye is a guess.", coat->title));
  return 8;
}

void Painter::lay_residue(const Material& material, double removed, Shade& shade) const {
  if (wiped_ || !material.residue.known() || !material.density.known()) return;
  const Linear through = dimmed(2 * kSoot * material.residue.value * material.density.value * removed, false);
  for (size_t c = 0; c < 3; ++c) shade.diffuse[c] *= through[c], shade.mirror[c] *= through[c];
}

double mixed_slope(const Linear& one, double slope_one, const Linear& other, double slope_other) {
  const double a = luminance(one), b = luminance(other);
  return a + b > 0 ? std::sqrt((a * slope_one * slope_one + b * slope_other * slope_other) / (a + b)) : slope_one;
}

// Kubelka and Munk's layer over a base, by channel; header.
Shade layered(const Shade& thick, const Shade& below, const Linear& q) {
  Shade out{};
  Linear face{}, through{};
  for (size_t c = 0; c < 3; ++c) {
    const double r = std::min(thick.diffuse[c], 0.999), b = below.diffuse[c] + below.mirror[c];
    const double all = ((b - r) * q[c] + r * (1 - r * b)) / (1 - r * b + r * (b - r) * q[c]);
    face[c] = thick.mirror[c] * (1 - q[c]);
    through[c] = std::min(all, below.mirror[c] * std::pow(q[c], (1 + r * r) / (1 - r * r)));
    out.diffuse[c] = std::clamp(all - through[c], 0.0, 1.0);
    out.mirror[c] = face[c] + through[c];
  }
  out.slope = mixed_slope(face, thick.slope, through, below.slope);
  return out;
}

void Painter::coated(std::array<Shade, Finish::kSteps + 1>& out) {
  most = job.workpiece.coat_thickness;
  const Slopes own = slopes_of(*coat), under = slopes_of(base);
  const Shade thick = shade_of(*coat, ground_of(*coat), own.ground);
  const Shade below = shade_of(base, ground_of(base), under.marked);
  bool scatters = false;
  const double whole = optical_thickness(most, scatters);
  for (int i = 0; i <= kLast; ++i) {
    out[size_t(i)] = layered(thick, below, dimmed(whole * (kLast - i) / kLast, scatters));
    lay_residue(*coat, removed_at(i), out[size_t(i)]);
  }
  Shade& over = out[kLast + 1] = shade_of(base, recorded(base, &Material::over_colour, "over_colour"), under.marked);
  lay_residue(*coat, most, over);
}

void Painter::oxidised(std::array<Shade, Finish::kSteps + 1>& out) {
  most = kThickest;
  const Slopes slopes = slopes_of(base);
  const double native = base.oxide_native.known() ? base.oxide_native.value : 0;
  const double just = std::max(job.outcome.oxide - native, 1e-9);
  for (int i = 0; i <= kLast; ++i) {
    const double rough = std::min(1.0, removed_at(i) / just), a = slopes.ground, b = slopes.marked;
    out[size_t(i)] = {{}, metal(removed_at(i)), std::sqrt(a * a + (b * b - a * a) * rough)};
  }
  out[kLast + 1] = shade_of(base, recorded(base, &Material::over_colour, "over_colour"), slopes.marked);
  notes.push_back(
      fmt::format("Colours of oxide on {} come from its thickness, which is known to a factor of {:.1f} only: until a "
                  "trial piece is "
                  "burnt the hue is a guess. Within a dot the thickness is taken to vary by {:.0f} % (a guess). Oxide "
                  "as thick as a "
                  "wavelength, and melt, look darker than interference says.",
                  base.title, std::exp(0.5 * base.oxide_rate.spread),
                  100 * (base.oxide_uneven.known() ? base.oxide_uneven.value : kEven)));
}

void Painter::by_state(std::array<Shade, Finish::kSteps + 1>& out) {
  const Slopes slopes = slopes_of(base);
  const Shade from = shade_of(base, ground_of(base), slopes.ground);
  const Shade to = shade_of(base, recorded(base, &Material::marked_colour, "marked_colour"), slopes.marked);
  for (int i = 0; i <= kLast; ++i) {
    const double s = double(i) / kLast;
    const auto mix = [&](const Linear& a, const Linear& b, double t) {
      return each([&](int c) { return (1 - t) * a[size_t(c)] + t * b[size_t(c)]; });
    };
    Linear left = mix(from.mirror, {}, s), come = mix({}, to.mirror, s);
    out[size_t(i)] = {mix(from.diffuse, to.diffuse, s), mix(from.mirror, to.mirror, s),
                      mixed_slope(left, from.slope, come, to.slope)};
  }
  out[kLast + 1] = shade_of(base, recorded(base, &Material::over_colour, "over_colour"), slopes.marked);
  notes.push_back(fmt::format("The colours of {} when marked are those of its record, by state.", base.title));
}

void Painter::by_density(std::array<Shade, Finish::kSteps + 1>& out, const Material& body, double whole) {
  const Slopes slopes = slopes_of(body);
  const Linear from = ground_of(body), to = recorded(body, &Material::marked_colour, "marked_colour");
  const auto log = [](double light) { return std::log(std::max(light, 1e-4)); };
  for (int i = 0; i <= kLast; ++i) {
    const double s = std::min(1.0, removed_at(i) / whole), a = slopes.ground, b = slopes.marked;
    const Linear total = each([&](int c) {
      return s <= 0   ? from[size_t(c)]
             : s >= 1 ? to[size_t(c)]
                      : std::exp((1 - s) * log(from[size_t(c)]) + s * log(to[size_t(c)]));
    });
    out[size_t(i)] = shade_of(body, total, std::sqrt((1 - s) * a * a + s * b * b));
    if (&body == &base) lay_residue(body, removed_at(i), out[size_t(i)]);
  }
  out[kLast + 1] = shade_of(body, recorded(body, &Material::over_colour, "over_colour"), slopes.marked);
  if (&body == &base) lay_residue(body, most, out[kLast + 1]);
}

}  // namespace

Finish::Finish(const mark::Scene& scene, const response::Model& model, Wipe wipe) {
  Painter painter(scene, model, wipe);
  using response::Body;
  const double deep = scene.job.outcome.char_depth;
  double just = std::numeric_limits<double>::infinity();  // [m]
  switch (model.body) {
    case Body::coated:
      painter.coated(shades_);
      break;
    case Body::dyed:
      painter.most = model.layer;
      painter.by_density(shades_, *scene.coat, model.layer);
      break;
    case Body::organic:
      painter.most = 4 * deep, just = deep;
      painter.by_density(shades_, scene.base, deep);
      break;
    case Body::bare:
      by_state_ = !painter.knows_oxide();
      by_state_ ? painter.by_state(shades_) : painter.oxidised(shades_);
      if (!by_state_) just = scene.job.outcome.oxide - model.reacting->native;
  }
  most_ = painter.most;
  per_step_ = by_state_ ? 0.0f : float(kLast / most_);
  if (std::isfinite(just)) marked_ = std::max(1, entry(std::uint8_t(response::Outcome::marked), float(just)));
  notes_ = std::move(painter.notes);
}

}  // namespace circumfluence::look
