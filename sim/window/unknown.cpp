#include "window/unknown.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using quantity::Figure;
using workpiece::Material;
using workpiece::Optics;
using Of = Unknown::Of;
using Figures = std::vector<Figure Material::*>;
using OpticFigures = std::vector<Figure Optics::*>;

bool organic(const Scene& scene) {
  return scene.base.kind == workpiece::Kind::organic;
}

bool dyed(const Scene& scene) {
  return scene.body() == response::Body::dyed;
}

void add(Figures& to, std::initializer_list<Figure Material::*> more) {
  to.insert(to.end(), more);
}

constexpr std::initializer_list<Figure Material::*> kHeat = {&Material::density, &Material::heat_capacity,
                                                             &Material::conductivity};

// Of what light removes; an organic body by the steady law whatever the job says.
void add_removal(const Material& film, const Scene& scene, Figures& to) {
  const bool steady =
      film.kind == workpiece::Kind::organic || scene.job.outcome.removal == response::RemovalLaw::steady;
  add(to, {&Material::removal_temperature, steady ? &Material::removal_energy : &Material::removal_depth});
  if (film.threshold.known())
    add(to, {&Material::threshold, &Material::threshold_dwell});
  else
    add(to, kHeat);
}

Figures read_of_coat(const Scene& scene) {
  Figures read = {&Material::emissivity, &Material::softening};
  if (dyed(scene)) {
    add(read, kHeat);
    add(read, {&Material::bleach_rate});
    return read;
  }
  add_removal(*scene.coat, scene, read);
  add(read, {&Material::discolouring});
  return read;
}

void add_limits(const Scene& scene, Figures& to) {
  if (organic(scene)) {
    add(to, {&Material::removal_temperature});
    return;
  }
  add(to, {&Material::solidus});
  if (scene.job.outcome.over_burn == response::OverBurn::liquidus) add(to, {&Material::liquidus});
}

Figures read_of_base(const Scene& scene) {
  Figures read = {&Material::conductivity_slope};
  add(read, kHeat);
  add_limits(scene, read);
  if (scene.coat) return read;
  add(read, {&Material::emissivity});
  if (organic(scene)) {
    add_removal(scene.base, scene, read);
    add(read, {&Material::char_rate});
  } else if (scene.base.oxide_rate.known()) {
    add(read, {&Material::oxide_rate, &Material::oxide_native});
  } else {
    add(read, {&Material::marking_onset});
  }
  return read;
}

// The angle of the light matters where it changes: standing parts, tapers, a beam or an axis beside the
// middle.
bool oblique(const Scene& scene) {
  const motion::Mount& mount = scene.job.mount;
  return mount.hold == motion::Hold::standing || mount.beam_offset != 0 || mount.runout != 0 ||
         !scene.profile.constant(0, scene.profile.length());
}

OpticFigures optics_of_coat(const Scene& scene) {
  if (!dyed(scene)) return {&Optics::absorptivity};
  return {&Optics::absorptivity, &Optics::depth};
}

OpticFigures optics_of_base(const Scene& scene) {
  if (!oblique(scene)) return {&Optics::absorptivity, &Optics::depth};
  return {&Optics::absorptivity, &Optics::depth, &Optics::n, &Optics::k};
}

template <class Section>
void add_figures(const Section& section, const quantity::Fields<Section>& fields,
                 const std::vector<Figure Section::*>& read, const Unknown& like, std::vector<Unknown>& out) {
  for (const auto& field : fields) {
    const auto* const member = std::get_if<Figure Section::*>(&field.member);
    if (member == nullptr || std::ranges::find(read, *member) == read.end()) continue;
    const Figure& figure = section.**member;
    if (!figure.known() || figure.value == 0 || !(figure.spread > 0)) continue;
    Unknown& u = out.emplace_back(like);
    u.name += field.key;
    u.words = words_of(field.key) + like.words;
    u.value = figure.value;
    u.spread = figure.spread;
    u.unit = field.unit;
    if constexpr (std::is_same_v<Section, Material>)
      u.figure = *member;
    else
      u.optic = *member;
  }
}

void add_record(const Material& material, const Scene& scene, Of of, std::vector<Unknown>& out) {
  const double light = scene.job.laser.wavelength;
  Unknown like{.name = material.name + ".",
               .words = " of " + material.title,
               .value = 0,
               .spread = 0,
               .unit = "",
               .relative = true,
               .of = of};
  const bool coat = of == Of::coat;
  add_figures(material, workpiece::material_fields(), coat ? read_of_coat(scene) : read_of_base(scene), like,
              out);
  like.words += ", at " + quantity::format(light, "nm");
  add_figures(workpiece::optics_at(material, light), workpiece::optics_fields(),
              coat ? optics_of_coat(scene) : optics_of_base(scene), like, out);
}

// [m] twice the Rayleigh length, of both directions the geometric mean.
double depth_of(const beam::Laser& laser) {
  const beam::Caustic caustic = beam::caustic(laser);
  return 2 * std::sqrt(caustic.axial.rayleigh * caustic.around.rayleigh);
}

bool stated(double spread) {
  return !std::isnan(spread) && spread > 0;
}

void add_job(const Scene& scene, std::vector<Unknown>& out) {
  const job::Job& job = scene.job;
  const auto put = [&out](Unknown u) {
    if (stated(u.spread) && (!u.relative || u.value > 0)) out.push_back(std::move(u));
  };
  put({"laser.power", "power that arrives", scene.power(), job.laser.power_spread, "W", true, Of::power});
  put({"laser.spot", "size of the spot", std::sqrt(job.laser.spot_axial * job.laser.spot_around),
       job.laser.spot_spread, "um", true, Of::spot});
  put({"laser.shape", "shape of the spot, axial over around", job.laser.spot_axial / job.laser.spot_around,
       job.laser.shape_spread, "1", true, Of::shape});
  put({"laser.depth", "depth of focus", depth_of(job.laser), job.laser.depth_spread, "mm", true, Of::depth});
  if (scene.coat)
    put({"workpiece.coat_thickness", "thickness of the coat", job.workpiece.coat_thickness,
         job.workpiece.coat_spread, "um", true, Of::coat_thickness});
  put({"mount.height", "height of the focus", 0.0, job.mount.height_spread, "mm", false, Of::height});
  if (job.mount.hold == motion::Hold::turning && job.rotary.drive == motion::Drive::rollers)
    put({"rotary.slip", "slip on the rollers", job.rotary.slip, job.rotary.slip_spread, "%", false,
         Of::slip});
}

}  // namespace

double Unknown::at(double deviate) const {
  return relative ? value * std::exp(spread * deviate) : value + spread * deviate;
}

std::vector<Unknown> unknowns(const Scene& scene) {
  std::vector<Unknown> out;
  add_job(scene, out);
  if (scene.coat) add_record(*scene.coat, scene, Of::coat, out);
  add_record(scene.base, scene, Of::base, out);
  return out;
}

}  // namespace circumfluence::window
