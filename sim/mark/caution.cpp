#include "mark/verdict.h"

#include <fmt/format.h>

#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

std::string of_light(const beam::Laser& laser) {
  const std::string light = quantity::format(laser.wavelength, "nm", 4);
  const bool seen = laser.wavelength > 400e-9 && laser.wavelength < 700e-9;
  std::string out = laser.rated_power > 0.5 ? fmt::format(
                                                  "Class 4: an open beam of {} harms eyes and skin, also by "
                                                  "stray reflections, and starts fires. ",
                                                  quantity::format(laser.rated_power, "W", 3))
                                            : "";
  out += fmt::format("Work in a closed enclosure, with eyewear rated for {}", light);
  return out + (seen ? ". " : "; this light cannot be seen. ") +
         "A curved bright surface mirrors the beam and spreads it to all sides.";
}

std::string of_the_part(const Scene& scene) {
  const bool water = scene.job.workpiece.behind == workpiece::Behind::water;
  std::string out = water ? "Water behind the wall is for open vessels alone: steam in a closed one bursts it. Keep it off "
                            "the mount and the wiring. Take cells out of torches and lamps first."
                          : "Never burn a sealed, pressurised or filled vessel; take cells out of torches and lamps first.";
  if (scene.base.kind == workpiece::Kind::metal && scene.job.workpiece.wall < 0.6e-3)
    out += " Thin or vacuum-insulated walls warm up quickly and are ruined by melting through.";
  return out;
}

}  // namespace

std::vector<std::string> cautions(const Scene& scene) {
  std::vector<std::string> out = {of_light(scene.job.laser)};
  out.push_back("Extract and filter the fumes. Never burn PVC, or a coat whose make-up is unknown.");
  if (scene.coat && !scene.coat->cautions.empty()) out.push_back(scene.coat->cautions);
  if (!scene.base.cautions.empty()) out.push_back(scene.base.cautions);
  if (scene.base.kind == workpiece::Kind::organic)
    out.push_back("This surface can catch fire: keep an extinguisher at hand and the air assist on.");
  out.push_back(of_the_part(scene));
  out.push_back(
      "Never leave it running unattended. Local rules and the makers' instructions come before this list.");
  return out;
}

}  // namespace circumfluence::mark
