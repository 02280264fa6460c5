// A small complete job for the tests of this room: two records of its own, so that no file is needed.
#pragma once

#include <string>
#include <string_view>

namespace circumfluence::job {

inline constexpr std::string_view kSample = R"toml([laser]
wavelength = "450 nm"
rated_power = "10 W"
losses = "5 %"
spot_axial = "80 um"
spot_around = "60 um"
focus_depth = "1.2 mm"

[workpiece]
shape = "straight"
length = "180 mm"
diameter = "73 mm"
wall = "0.5 mm"
base = "steel"
coat = "paint"
coat_thickness = "60 um"
temperature = "20 degC"

[mount]
hold = "turning"

[artwork]
file = "emblem.png"
size_axial = "40 mm"
axial = "90 mm"
burns = "dark"

[scan]
power = "80 %"
speed = "2500 mm/min"
spacing = "0.08 mm"
direction = "axial"
two_way = true
run_up = "2 mm"
acceleration = "500 mm/s^2"
power_habit = "follows_speed"

[grid]
cell = "50 um"

[material.steel]
title = "a test steel"
kind = "metal"
density = { value = "7900 kg/m^3", spread = "1 %", source = "made up for the test" }
conductivity = { value = "15 W/(m K)", source = "made up for the test" }

[[material.steel.optics]]
wavelength = "450 nm"
absorptivity = { value = "40 %", spread = "15 %", source = "made up for the test" }

[material.paint]
title = "a test paint"
kind = "coat"
removal_energy = { value = "3.7 J/mm^3", spread = "30 %", source = "made up for the test" }
)toml";

// The sample with its first `from` turned into `to`.
inline std::string altered(std::string_view from, std::string_view to) {
  std::string text(kSample);
  const size_t at = text.find(from);
  return at == std::string::npos ? "no such text in the sample" : text.replace(at, from.size(), to);
}

}  // namespace circumfluence::job
