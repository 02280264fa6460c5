#include "workpiece/material.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::workpiece {

const quantity::Fields<Material>& material_fields() {
  static const quantity::Fields<Material> fields = {
      {"title", &Material::title, "", 0, 0, "the material in words"},
      {"kind", quantity::choice<&Material::kind>(), "", 0, 0, "how it answers to heat", true,
       "metal glass organic coat"},
      {"density", &Material::density, "kg/m^3", 1, 3e4, "", false},
      {"heat_capacity", &Material::heat_capacity, "J/(kg K)", 50, 2e4, "", false},
      {"conductivity", &Material::conductivity, "W/(m K)", 1e-3, 5e3, "at 20 degC", false},
      {"conductivity_slope", &Material::conductivity_slope, "W/(m K^2)", -10, 10,
       "growth of the conductivity per kelvin", false},
      {"solidus", &Material::solidus, "K", 200, 5e3, "melting begins", false},
      {"liquidus", &Material::liquidus, "K", 200, 5e3, "wholly molten", false},
      {"marking_onset", &Material::marking_onset, "K", 200, 5e3,
       "peak temperature from which a bare surface is seen to change", false},
      {"removal_temperature", &Material::removal_temperature, "K", 300, 5e3,
       "of the surface while it is removed", false},
      {"removal_energy", &Material::removal_energy, "J/mm^3", 1e6, 1e12, "energy per removed volume", false},
      {"removal_depth", &Material::removal_depth, "um", 1e-9, 1e-2, "optical depth of the blow-off law",
       false},
      {"threshold", &Material::threshold, "J/cm^2", 1, 1e8, "measured absorbed fluence that starts removal",
       false},
      {"threshold_dwell", &Material::threshold_dwell, "ms", 1e-9, 100,
       "spot radius over speed of that measurement", false},
      {"oxide_rate", &Material::oxide_rate, "m^2/s", 1e-30, 1e3,
       "of the square of the oxide's thickness, times exp(-oxide_activation / T)", false},
      {"oxide_activation", &Material::oxide_activation, "K", 100, 2e5, "activation energy over R", false},
      {"oxide_native", &Material::oxide_native, "nm", 0, 1e-6, "oxide before the job", false},
      {"oxide_from", &Material::oxide_from, "K", 200, 5e3, "the oxide's law was measured from here", false},
      {"oxide_to", &Material::oxide_to, "K", 200, 5e3, "and up to here", false},
      {"bleach_rate", &Material::bleach_rate, "1/s", 1e-10, 1e40,
       "of a layer's dye, times exp(-bleach_activation / T)", false},
      {"bleach_activation", &Material::bleach_activation, "K", 100, 2e5, "activation energy over R", false},
      {"char_rate", &Material::char_rate, "1/s", 1e-10, 1e40,
       "of an organic body, times exp(-char_activation / T)", false},
      {"char_activation", &Material::char_activation, "K", 100, 2e5, "activation energy over R", false},
      {"softening", &Material::softening, "K", 200, 5e3, "of a coat that should stay, within seconds", false},
      {"discolouring", &Material::discolouring, "K", 200, 5e3,
       "a coat that should stay changes colour, within minutes", false},
      {"latent_heat", &Material::latent_heat, "kJ/kg", 1e3, 1e7, "of melting", false},
      {"emissivity", &Material::emissivity, "%", 0.001, 1, "total, of the outside near 20 degC", false},
      {"oxide_uneven", &Material::oxide_uneven, "%", 0, 1, "spread of the oxide's thickness within a dot, over its mean", false},
      {"roughness", &Material::roughness, "1", 0.005, 2, "rms slope of the untouched surface", false},
      {"marked_roughness", &Material::marked_roughness, "1", 0.005, 2, "rms slope of the surface burnt or laid bare", false},
      {"residue", &Material::residue, "%", 0, 1, "share of what is removed that lies loose on the mark until wiped", false},
      {"ground_colour", &Material::ground_colour, "", 0, 0, "sRGB of the untouched surface, \"#rrggbb\"",
       false},
      {"marked_colour", &Material::marked_colour, "", 0, 0, "sRGB of the marked surface", false},
      {"over_colour", &Material::over_colour, "", 0, 0, "sRGB of the over-burned surface", false},
      {"cautions", &Material::cautions, "", 0, 0, "what a person must know before burning it", false},
  };
  return fields;
}

const quantity::Fields<Optics>& optics_fields() {
  static const quantity::Fields<Optics> fields = {
      {"wavelength", &Optics::wavelength, "nm", 200e-9, 20e-6, "", true},
      {"absorptivity", &Optics::absorptivity, "%", 0, 1, "share absorbed at normal incidence", false},
      {"n", &Optics::n, "1", 0, 100, "real part of the refractive index", false},
      {"k", &Optics::k, "1", 0, 300, "imaginary part of the refractive index", false},
      {"depth", &Optics::depth, "um", 1e-9, 10, "depth that absorbs 1 - 1/e of the light", false},
  };
  return fields;
}

const Optics& optics_at(const Material& material, double wavelength) {
  std::string known;
  for (const Optics& optics : material.optics) {
    if (std::abs(optics.wavelength.value / wavelength - 1) <= 0.03) return optics;
    known += (known.empty() ? "" : ", ") + quantity::format(optics.wavelength.value, "nm");
  }
  throw quantity::ValidityError(fmt::format(
      "material {} has no optics at {} (on record: {}). Add [[material.{}.optics]] for that wavelength, with "
      "its source",
      material.name, quantity::format(wavelength, "nm"), known.empty() ? "none" : known, material.name));
}

double value_of(const Material& material, quantity::Figure Material::*figure, const char* needed_for) {
  const quantity::Figure& found = material.*figure;
  if (found.known()) return found.value;
  const char* key = "figure";
  for (const auto& field : material_fields())
    if (const auto* member = std::get_if<quantity::Figure Material::*>(&field.member);
        member && *member == figure)
      key = field.key;
  throw quantity::ValidityError(
      fmt::format("material {} has no {} (needed for {}). Add it to the record, with its source",
                  material.name, key, needed_for));
}

}  // namespace circumfluence::workpiece
