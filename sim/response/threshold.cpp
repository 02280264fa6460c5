#include "response/threshold.h"

#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::response {

using workpiece::Material;
using workpiece::value_of;

double threshold(const Material& material, double start_temperature, double dwell) {
  if (material.threshold.known())
    return material.threshold.value *
           std::sqrt(dwell / value_of(material, &Material::threshold_dwell, "its measured threshold"));
  const char* why = "the threshold of removal";
  const double rise = value_of(material, &Material::removal_temperature, why) - start_temperature;
  const double inertia = value_of(material, &Material::conductivity, why) *
                         value_of(material, &Material::density, why) *
                         value_of(material, &Material::heat_capacity, why);
  return std::sqrt(quantity::kPi) / 2 * rise * std::sqrt(inertia * dwell);
}

double thick(const Material& material, double thickness, double dwell) {
  const char* why = "the depth that heat reaches in a coat";
  const double diffusivity =
      value_of(material, &Material::conductivity, why) /
      (value_of(material, &Material::density, why) * value_of(material, &Material::heat_capacity, why));
  return thickness / std::sqrt(diffusivity * dwell);
}

}  // namespace circumfluence::response
