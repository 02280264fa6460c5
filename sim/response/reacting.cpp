// What a surface turns into by heat alone: the reaction of a bare metal or of a dyed layer, and of the char below an
// organic surface, made ready from the records.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "quantity/unit.h"
#include "response/model.h"

namespace circumfluence::response {
namespace {

using workpiece::Material;
using workpiece::value_of;

constexpr double kFarthest = 4;      // [1] times the limit's rise up to which doses are told apart
constexpr double kLeastFaint = 0.1;  // [1] of a dye that is gone: something is seen

double dwell(const exposure::SpotState& state) {
  return state.along / state.speed;
}

Shape shape_of(const heat::LayeredSpot& spot) {
  Shape shape;
  double most = 0;
  for (const heat::LayeredSpot::Sample& s : spot.cycle()) {
    shape.times.push_back(s.time);
    shape.shares.push_back(s.rise);
    most = std::max(most, s.rise);
  }
  for (double& share : shape.shares) share = std::clamp(share / most, 0.0, 1.0);
  return shape;
}

struct Wanted {
  Reaction reaction;
  double need, faint;  // doses
  double spread;       // of the rate, lognormal
};

// To a hundredth of a kelvin and better: 2^-24 of the range.
double rise_between(const Dose& dose, double wanted, double low, double high) {
  if (!(dose.of(high) >= wanted)) return std::numeric_limits<double>::infinity();
  for (int i = 0; i < 24; ++i) {
    const double middle = (low + high) / 2;
    (dose.of(middle) < wanted ? low : high) = middle;
  }
  return high;
}

Reacting make(const Model& model, const Wanted& wanted, const std::vector<exposure::SpotState>& states) {
  const exposure::SpotState& middle = states[states.size() / 2];
  const heat::LayeredSpot spot(heat::stack_of(model.base), {middle.along, middle.across, middle.speed}, model.base.z,
                               model.base.orders);
  const double greatest = kFarthest * model.limit_rise();
  Reacting out{Dose(wanted.reaction, shape_of(spot), {model.conductivity, model.start}, greatest),
               wanted.need,
               wanted.faint,
               wanted.spread,
               greatest,
               0,
               {},
               {}};
  out.onset_rise = rise_for(out.dose, wanted.need, greatest);
  for (const exposure::SpotState& s : states) out.scale.push_back(static_cast<float>(dwell(s) / dwell(middle)));
  // The inverse, in even steps of log2(dose): single passages a hundred octaves below what is needed, and ten above.
  for (int i = 0; i <= Reacting::kSteps; ++i) {
    const double octaves = Reacting::kLowest + i * Reacting::kOctaves / Reacting::kSteps;
    const double least = out.rises.empty() ? 0 : out.rises.back();
    out.rises.push_back(static_cast<float>(rise_between(out.dose, wanted.need * std::exp2(octaves), least, greatest)));
  }
  return out;
}

}  // namespace

double rise_for(const Dose& dose, double wanted, double greatest) {
  return rise_between(dose, wanted, 0, greatest);
}

std::optional<Reacting> oxidising(const Material& base, const Limits& limits, const Model& model,
                                  const std::vector<exposure::SpotState>& states) {
  if (!base.oxide_rate.known()) return std::nullopt;
  const Reaction reaction{base.oxide_rate.value, value_of(base, &Material::oxide_activation, "the oxide's growth")};
  const double native = base.oxide_native.known() ? base.oxide_native.value : 0;
  const double need = std::max(limits.oxide * limits.oxide - native * native, 0.01 * limits.oxide * limits.oxide);
  Reacting out = make(model, {reaction, need, need * std::exp(-base.oxide_rate.spread), base.oxide_rate.spread}, states);
  out.native = native;
  return out;
}

std::optional<Reacting> bleaching(const Material& coat, const Limits& limits, const Model& model,
                                  const std::vector<exposure::SpotState>& states) {
  const Reaction reaction{coat.bleach_rate.value, value_of(coat, &Material::bleach_activation, "the dye's bleaching")};
  const double left = std::max(limits.coat_left, 1e-3);
  return make(model, {reaction, -std::log(left), -std::log(1 - kLeastFaint), coat.bleach_rate.spread}, states);
}

std::optional<CharDepth> charring(const Material& body, const Model& model,
                                  const std::vector<exposure::SpotState>& states) {
  if (!body.char_rate.known()) return std::nullopt;
  const Reaction reaction{body.char_rate.value, value_of(body, &Material::char_activation, "the depth of char")};
  const exposure::SpotState& middle = states[states.size() / 2];
  const double capacity = model.base.solid.conductivity / model.base.solid.diffusivity;
  CharBody below{.start = model.start,
                 .surface = model.limit,
                 .dwell = dwell(middle),
                 .diffusivity = model.base.solid.diffusivity,
                 .sensible = capacity * (model.limit - model.start) / model.film->energy};
  // Removal temperatures are those of slow heating; a surface that is carried off in a millisecond has charred.
  below.surface = std::max(below.surface, charring_surface(reaction, below));
  return CharDepth(reaction, below);
}

void note_oxide(Model& model, const Material& base) {
  if (!model.reacting || !base.oxide_from.known() || !base.oxide_to.known()) return;
  if (model.onset < base.oxide_from.value || model.onset > base.oxide_to.value)
    model.notes.push_back(fmt::format(
        "The oxide of {} was measured from {} to {}; a mark here asks for {}: the law is stretched beyond what it rests on.",
        base.title, quantity::format(base.oxide_from.value, "degC", 3), quantity::format(base.oxide_to.value, "degC", 3),
        quantity::format(model.onset, "degC", 3)));
  if (base.oxide_rate.spread > 1)
    model.notes.push_back(fmt::format(
        "How fast oxide grows in milliseconds is known to a factor of {:.0f} only, so colour and where it begins are a guess "
        "until a trial piece is burnt; melting is not.",
        std::exp(base.oxide_rate.spread)));
}

}  // namespace circumfluence::response
