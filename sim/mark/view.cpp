// The pictures of a mark map: where they lie, what they say, which colours the surface takes.
#include <fmt/format.h>

#include "mark/predict.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

appearance::Colour colour(const workpiece::Material& material, std::string workpiece::Material::*which,
                          const char* key) {
  if ((material.*which).empty())
    throw quantity::ValidityError(
        fmt::format("material {} has no {} (needed to draw what the eye would see). Add it to the record",
                    material.name, key));
  return appearance::parse_colour(material.*which);
}

// What is burnt, in a line.
std::string settings(const Scene& scene) {
  const motion::Scan& scan = scene.job.scan;
  const std::string power = quantity::format(scene.power(), "W", 4), speed = quantity::format(scan.speed, "mm/min", 4);
  if (scene.path) return fmt::format("a tool path, mostly {} at {}", power, speed);
  return fmt::format("{} at {}, lines {} apart, {} pass{}{}", power, speed, quantity::format(scan.spacing, "mm"),
                     scan.passes, scan.passes == 1 ? "" : "es",
                     scan.power_habit == motion::PowerHabit::follows_speed ? ", power follows speed" : "");
}

}  // namespace

appearance::Frame frame(const MarkMap& map) {
  const workpiece::Surface& s = map.surface;
  return {.axial_from = s.axial_from,
          .axial_to = s.axial_from + s.axial * s.cell_axial,
          .around_from = s.around_from,
          .around_to = s.around_from + s.around * s.cell_around,
          .title = fmt::format("Predicted outcome: {}", kRulingNames[int(map.verdict.ruling)]),
          .subtitle = settings(map.scene),
          .legend = true};
}

appearance::Palette palette(const Scene& scene) {
  using workpiece::Material;
  const Material& ground = scene.coat ? *scene.coat : scene.base;
  if (scene.coat && !scene.coat->removal_energy.known())  // a dyed layer stays and bleaches
    return {colour(ground, &Material::ground_colour, "ground_colour"),
            colour(ground, &Material::marked_colour, "marked_colour"),
            colour(ground, &Material::over_colour, "over_colour")};
  // Under a coat the mark is the bare base.
  const auto marked = scene.coat ? colour(scene.base, &Material::ground_colour, "ground_colour")
                                 : colour(scene.base, &Material::marked_colour, "marked_colour");
  return {colour(ground, &Material::ground_colour, "ground_colour"), marked,
          colour(scene.base, &Material::over_colour, "over_colour")};
}

appearance::Pixels pixels(const MarkMap& map, PictureKind kind) {
  return kind == PictureKind::outcome ? appearance::outcome_pixels(map.overview)
                                      : appearance::view_pixels(map.overview, palette(map.scene));
}

void write_picture(const MarkMap& map, PictureKind kind, const std::string& path) {
  appearance::Frame around = frame(map);
  if (kind == PictureKind::view) {
    around.legend = false;
    around.title = "What the eye would see";
  }
  appearance::write_picture(path, pixels(map, kind), around, map.overview);
}

}  // namespace circumfluence::mark
