// Truth: one wave by finite volumes along depth (no exponentials at all); the grammar of errors
// (quantity/error.h); limits that need no number.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <vector>

#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

using testing::AllOf;
using testing::HasSubstr;

const Layer kCoat{30e-6, 0.25, 2.1e6}, kBase{INFINITY, 167, 2.42e6};
const Spot kSpot{40e-6, 40e-6, 0.04};

std::string refusal(const Stack& stack, const Spot& spot = kSpot, double z = 0, const Orders& orders = {}) {
  try {
    LayeredSpot(stack, spot, z, orders);
  } catch (const quantity::ValidityError& error) {
    return error.what();
  }
  return "";
}

TEST(LayeredStack, NamesTheLayerThatIsWrong) {
  for (const double bad : {0.0, -1e-6, double(NAN)}) {
    Stack stack{.layers = {kCoat, kCoat, kBase}};
    stack.layers[1].thickness = bad;
    EXPECT_THAT(refusal(stack), AllOf(HasSubstr("layer 2"), HasSubstr("thickness")));
    stack = {.layers = {kCoat, kBase}};
    stack.layers[1].conductivity = bad;
    EXPECT_THAT(refusal(stack), AllOf(HasSubstr("layer 2"), HasSubstr("conductivity")));
    stack = {.layers = {kCoat, kBase}};
    stack.layers[0].capacity = bad;
    EXPECT_THAT(refusal(stack), AllOf(HasSubstr("layer 1"), HasSubstr("capacity")));
  }
  EXPECT_THAT(refusal({.layers = {kBase, kBase}}), AllOf(HasSubstr("layer 1"), HasSubstr("infinite")));
  EXPECT_THAT(refusal({}), HasSubstr("no layers"));
  EXPECT_EQ(refusal({.layers = {kCoat, kBase}}), "");
}

TEST(LayeredStack, NeedsATransferBehindACooledWall) {
  const Layer wall{0.4e-3, 167, 2.42e6};
  for (const double bad : {0.0, -5.0, double(NAN), double(INFINITY)})
    EXPECT_THAT(refusal({{kCoat, wall}, Back::ambient, bad, 0}), HasSubstr("back transfer"));
  EXPECT_EQ(refusal({{kCoat, wall}, Back::wetted, 500, 0}), "");
  EXPECT_EQ(refusal({{kCoat, kBase}, Back::ambient, 0, 0}), "");  // nothing is behind an endless base
}

TEST(LayeredStack, RefusesSpotsAndDepthsOutsideTheModel) {
  const Stack stack{.layers = {kCoat, {0.4e-3, 167, 2.42e6}}};
  EXPECT_THAT(refusal(stack, {40e-6, 40e-6, -0.1}), HasSubstr("speed"));
  EXPECT_THAT(refusal(stack, {40e-6, 40e-6, NAN}), HasSubstr("speed"));
  EXPECT_THAT(refusal(stack, {0, 40e-6, 0.1}), HasSubstr("radius"));
  EXPECT_THAT(refusal(stack, {40e-6, NAN, 0.1}), HasSubstr("radius"));
  EXPECT_THAT(refusal(stack, kSpot, -1e-6), HasSubstr("depth"));
  EXPECT_THAT(refusal(stack, kSpot, 0.44e-3), HasSubstr("depth"));
  EXPECT_THAT(refusal(stack, kSpot, NAN), HasSubstr("depth"));
  EXPECT_THAT(refusal(stack, kSpot, 0, {1.5, 2}), HasSubstr("order"));
  EXPECT_THAT(refusal(stack, kSpot, 0, {2, 60}), HasSubstr("order"));
  EXPECT_THAT(refusal({.layers = {kCoat, kBase}, .depth = -1e-6}), HasSubstr("optical depth"));
  const LayeredSpot spot(stack, kSpot);
  EXPECT_THROW(spot.rise(NAN, 0), quantity::ValidityError);
  EXPECT_THROW(spot.peak(INFINITY), quantity::ValidityError);
  EXPECT_THROW(spot.peak(1.0), quantity::ValidityError);
  std::vector<float> out(7);
  EXPECT_THROW(spot.profile(out), quantity::ValidityError);
}

TEST(LayeredStack, ASpotAtRestNeedsSomewhereForTheHeatToGo) {
  const Layer wall{0.4e-3, 167, 2.42e6};
  const Spot rest{40e-6, 40e-6, 0};
  EXPECT_THAT(refusal({.layers = {kCoat, wall}}, rest), HasSubstr("no steady state"));
  EXPECT_EQ(refusal({.layers = {kCoat, kBase}}, rest), "");
  EXPECT_EQ(refusal({{kCoat, wall}, Back::ambient, 15, 0}, rest), "");
  EXPECT_THROW(LayeredSpot({.layers = {kCoat, kBase}}, rest).cycle(), quantity::ValidityError);
}

// Thick, thin, sluggish and fast layers: every number is finite, and heat is nowhere negative beyond
// rounding.
TEST(LayeredStack, ExtremesStayFinite) {
  for (const double coat : {1e-9, 1e-6, 1e-2})
    for (const double wall : {1e-6, 1e-1, double(INFINITY)})
      for (const double speed : {1e-6, 0.1, 10.0})
        for (const double depth : {0.0, 1e-8, 1e-3}) {
          const Stack stack{.layers = {{coat, 0.1, 2e6}, {wall, 400, 3.4e6}}, .depth = depth};
          const LayeredSpot spot(stack, {40e-6, 60e-6, speed}, coat);
          const Peak peak = spot.peak();
          EXPECT_TRUE(std::isfinite(peak.rise) && std::isfinite(peak.x))
              << coat << " " << wall << " " << speed;
          std::vector<float> profile(SpotTable::kNodes);
          spot.profile(profile);
          for (const float value : profile) ASSERT_TRUE(std::isfinite(value));
          EXPECT_GE(peak.rise, 0) << coat << " " << wall << " " << speed << " " << depth;
        }
}

using Number = std::complex<double>;

// Temperatures at the lit surface and at each lower face: cells of conduction in series, tridiagonal, solved
// by elimination. `cells` a layer; all layers end.
std::vector<Number> by_volumes(const Stack& stack, Number kx, double ky, double speed, int cells) {
  const size_t n = stack.layers.size() * size_t(cells);
  std::vector<Number> middle(n), source(n);
  std::vector<double> link(n + 1, 0.0);  // conductance above cell i
  double above = 0;
  for (size_t i = 0; i < n; ++i) {
    const Layer& layer = stack.layers[i / size_t(cells)];
    const double dz = layer.thickness / cells, half = dz / (2 * layer.conductivity);
    if (i > 0) link[i] = 1 / (above + half);
    above = half;
    middle[i] = dz * (layer.conductivity * (kx * kx + ky * ky) - Number(0, speed * layer.capacity) * kx);
    const double top = double(i) * dz, mu = stack.depth > 0 ? 1 / stack.depth : 0;
    if (stack.depth > 0 && i < size_t(cells)) source[i] = std::exp(-mu * top) - std::exp(-mu * (top + dz));
  }
  const double rest = stack.depth > 0 ? std::exp(-stack.layers[0].thickness / stack.depth) : 0;
  if (stack.depth == 0) source[0] = 1;
  // The rest enters at the interface: shared by the two cells as their conductances to it.
  const Layer &first = stack.layers[0], &second = stack.layers[1];
  const double up = 2 * first.conductivity * cells / first.thickness,
               down = 2 * second.conductivity * cells / second.thickness;
  source[size_t(cells) - 1] += rest * up / (up + down);
  source[size_t(cells)] += rest * down / (up + down);
  link[n] = stack.back == Back::insulated ? 0 : 1 / (above + 1 / stack.back_transfer);
  for (size_t i = 0; i < n; ++i) middle[i] += link[i] + link[i + 1];
  for (size_t i = 1; i < n; ++i) {
    const Number factor = link[i] / middle[i - 1];
    middle[i] -= factor * link[i];
    source[i] += factor * source[i - 1];
  }
  std::vector<Number> t(n);
  for (size_t i = n; i-- > 0;) t[i] = (source[i] + (i + 1 < n ? link[i + 1] * t[i + 1] : 0.0)) / middle[i];
  std::vector<Number> out{t[0] + (stack.depth > 0 ? 0.0 : 1.0) / up};
  for (size_t j = 1; j < stack.layers.size(); ++j) {  // flux from above, and the rest, meet at the face
    const size_t i = j * size_t(cells);
    const double a = 2 * stack.layers[j - 1].conductivity * cells / stack.layers[j - 1].thickness;
    const double b = 2 * stack.layers[j].conductivity * cells / stack.layers[j].thickness;
    out.push_back((a * t[i - 1] + b * t[i] + (j == 1 ? rest : 0.0)) / (a + b));
  }
  return out;
}

TEST(LayeredStack, OneWaveByFiniteVolumes) {
  const std::vector<Layer> layers{
      {30e-6, 0.25, 2.1e6}, {12e-6, 1.2, 2.4e6}, {80e-6, 167, 2.42e6}, {50e-6, 16.2, 3.95e6}};
  for (const double depth : {0.0, 3e-6, 40e-6})
    for (const Back back : {Back::insulated, Back::wetted})
      for (const Number kx : {Number(3e2, 0), Number(2e4, -6e3), Number(8e4, 3e4)}) {
        const Stack stack{layers, back, 3000, depth};
        const std::vector<double> ky{0, 1e2, 2e3, 1e4, 2e4, 4e4, 8e4, 1.2e5};
        double z = 0;
        for (size_t face = 0; face < layers.size(); z += layers[face++].thickness) {
          std::vector<double> out(16);
          LayeredAnswer(stack, z).at(kx, 0.05, ky, out.data());
          for (size_t i = 0; i < ky.size(); ++i) {
            const std::vector<Number> volumes = by_volumes(stack, kx, ky[i], 0.05, 3000);
            EXPECT_NEAR(std::abs(Number(out[i], out[8 + i]) - volumes[face]) / std::abs(volumes[face]), 0,
                        3e-5)
                << depth << " " << kx << " " << ky[i] << " face " << face;
          }
        }
      }
}

// Where the wave number meets 1 / optical depth both parts of the answer are infinite.
TEST(LayeredStack, OpticalDepthNeverMeetsAWave) {
  const LayeredAnswer answer({.layers = {kCoat, kBase}, .depth = 10e-6}, 0);
  const std::vector<double> ky{0.9e5, 0.99999e5, 1e5 - 1e-6, 1e5, 1e5 + 1e-6, 1.00001e5, 1.1e5, 1.2e5};
  std::vector<double> out(16);
  answer.at(0, 0, ky, out.data());
  for (size_t i = 1; i < 8; ++i) EXPECT_LT(out[i], out[i - 1] * (1 + 1e-4)) << i;
  EXPECT_NEAR(out[3] / (0.5 * (out[1] + out[5])), 1, 1e-4);
}

}  // namespace
}  // namespace circumfluence::heat
