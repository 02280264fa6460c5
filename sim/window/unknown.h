// What a prediction rests on and is not known exactly, and the scene as it would be at other values of it.
//
// Material figures are lognormal as on record, x = value exp(spread z), z a standard normal deviate; so are
// the power that arrives, the spot's size and the coat's thickness. The height of the focus is normal, x =
// spread z, and so is the rollers' slip, x = slip + spread z. All are independent but those that a fit settled together
// (workpiece::Settled, of the coat's and the base's record): z = L y with independent y, L L^T the matrix of the
// correlations on record. An entry counts where name, value and spread are still those of an unknown, within 1e-6; the
// power that arrives is never among them.
//
// Listed is each known figure of the coat's and the base's record that has a spread and that this job's
// prediction reads (response/model.h, mark/scene.h): what is removed by its law, the heat's way through what
// is warmed, the limits that are judged by. Left out are: optics of other wavelengths; n and k where the
// light falls straight on the part; oxide_from and oxide_to, which bound a measurement; and activation
// temperatures, since of a law of two figures the rate has all the doubt. From the job come laser.power
// (power_spread), laser.spot (spot_spread), laser.shape (shape_spread), laser.depth (depth_spread),
// workpiece.coat_thickness (coat_spread), mount.height (height_spread) and, of a part that turns on rollers, rotary.slip
// (slip_spread), where stated and above 0.
// That nothing listed is idle and nothing unlisted is read is tested by predictions with each figure altered
// in turn.
//
// Bounds that no draw crosses: absorptivity and emissivity stay at 1 or below; temperatures at which
// something happens stay a kelvin above the part's own (or where the record has them, if lower); a liquidus
// is raised to its solidus; a spot is no smaller than the laser's M2 allows (beam/laser.h); slip stays from 0
// to a half.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "mark/scene.h"

namespace circumfluence::window {

struct Unknown {
  enum class Of { power, spot, shape, depth, coat_thickness, height, slip, coat, base };

  std::string name;   // "polyester_powder_black.removal_energy", "laser.power", ...
  std::string words;  // for a person: "absorptivity of black polyester powder coat, at 450 nm"
  double value;       // SI; of a spot the geometric mean of its diameters, of a height 0
  double spread;      // [1] standard deviation of ln(x) where relative, else [SI] of x
  const char* unit;   // to print it in
  bool relative;      // lognormal, else normal
  Of of;
  // Of a record, one of these.
  quantity::Figure workpiece::Material::*figure = nullptr;
  quantity::Figure workpiece::Optics::*optic = nullptr;

  double at(double deviate) const;  // SI, before the bounds above
};

// For a person, a record's field; its key where nobody needs other words.
const char* words_of(const char* key);

// In this order: power, spot, its shape, its focus depth, coat thickness, height, slip, the coat's figures and then its
// optics, those of the base; figures in the order of workpiece::material_fields(). Names are distinct.
std::vector<Unknown> unknowns(const mark::Scene& scene);

// The scene with each unknown at its value for that many standard deviations: figures in `coat` and `base`,
// diameters in job.laser, thickness in job.workpiece, the height added to job.scan.focus_offset, and power as
// job.scan.power [W], which may exceed the rated one; slip as what it does to an even fill, job.scan.spacing
// of lines along the axis, job.scan.speed of those around, times (1 - slip) over that of the job's own slip.
// `light` is made anew. job.text and job.materials stay as they were.
//
// The picture is left out, since a draw would copy millions of pixels: in its place is one pixel that wants
// burning over all of the art's extent, an even fill (job.artwork then states both sizes). A model that looks
// at the art puts it back, drawn.image = scene.image.
//
// Throws ValidityError unless there is one finite deviate an unknown.
mark::Scene drawn(const mark::Scene& scene, std::span<const Unknown> unknowns,
                  std::span<const double> deviates);

// [unknown][unknown] L, lower triangular, rows of unit length; empty where none were settled together. Where coat and base
// both hold an entry of an unknown, the coat's counts.
std::vector<double> settled_factor(const mark::Scene& scene, std::span<const Unknown> unknowns);
// From independent y to the deviates z = L y, in place; as they are where L is empty.
void settle(std::span<const double> factor, std::span<double> deviates);
size_t settled_together(std::span<const double> factor, size_t unknowns);  // how many are not independent

}  // namespace circumfluence::window
