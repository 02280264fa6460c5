// Tone curves as a chart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "look/tones.h"

namespace circumfluence::look {
namespace {

using appearance::Point;

constexpr int kPoints = 101;

double lightness(const std::vector<Tone>& tones, double share) {
  size_t i = 1;
  while (i + 1 < tones.size() && tones[i].share < share) ++i;
  const double step = tones[i].share - tones[i - 1].share;
  return std::lerp(tones[i - 1].lab.l, tones[i].lab.l,
                   step > 0 ? std::clamp((share - tones[i - 1].share) / step, 0.0, 1.0) : 1.0);
}

}  // namespace

appearance::Chart tone_chart(const std::vector<ToneCurve>& curves) {
  appearance::Chart chart;
  chart.title = "Tones: what is given against what is seen";
  chart.subtitle =
      "Solid: burnt as it stands. Dashed: corrected, against the darkness that the art asks for.";
  chart.x = {.title = "share given, or asked for [%]", .from = 0, .to = 100};
  double least = 100, most = 0;
  for (size_t c = 0; c < curves.size(); ++c) {
    const ToneCurve& curve = curves[c];
    const appearance::Colour colour = appearance::kSeriesColours[c % std::size(appearance::kSeriesColours)];
    appearance::Curve burnt{.points = {}, .colour = colour, .label = name_of(curve.screen)};
    appearance::Curve corrected{.points = {}, .colour = colour, .thickness = 1.4, .dashed = true};
    for (const Tone& tone : curve.tones) {
      burnt.points.push_back({100 * tone.share, tone.lab.l});
      least = std::min(least, tone.lab.l);
      most = std::max(most, tone.lab.l);
    }
    for (int i = 0; i < kPoints; ++i) {
      const double way = double(i) / (kPoints - 1);
      corrected.points.push_back({100 * way, lightness(curve.tones, given_for(curve, way))});
    }
    chart.curves.push_back(std::move(burnt));
    chart.curves.push_back(std::move(corrected));
  }
  chart.y = {.title = "lightness L* [1]",
             .from = std::max(0.0, 10 * std::floor(least / 10 - 0.2)),
             .to = std::max(10.0, std::min(100.0, 10 * std::ceil(most / 10 + 0.2)))};
  if (curves.empty()) chart.y.from = 0, chart.y.to = 100;
  return chart;
}

}  // namespace circumfluence::look
