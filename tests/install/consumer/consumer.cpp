// A program outside the tree that uses the installed library.
#include <cstdio>

#include "heat/moving_spot.h"
#include "job/material_file.h"
#include "workpiece/profile.h"

int main() {
  using namespace circumfluence;
  const workpiece::Material& steel = job::find_material("aisi_304", {});
  const double k = steel.conductivity.value;
  const double a = k / steel.density.value / steel.heat_capacity.value;
  const heat::Peak peak = heat::peak({k, a}, {40e-6, 40e-6, 0.04});
  std::printf("%s: %.0f K/W under a moving spot, sagitta %.3f mm\n", steel.title.c_str(), peak.rise,
              1e3 * workpiece::sagitta(0.0365, 0.01));
  return peak.rise > 100 ? 0 : 1;
}
