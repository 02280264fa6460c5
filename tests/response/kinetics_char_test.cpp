// Truth: the body in one dimension by explicit finite differences, with a surface that recedes; limits.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "quantity/error.h"
#include "response/kinetics.h"

namespace circumfluence::response {
namespace {

constexpr Reaction kBoard{2.0e11, 19240}, kBirch{4.4e9, 16980}, kLeather{4.2e14, 22920};

// Diffusivity near that of board; the surface temperature is the variable of the tests.
CharBody body(double surface, double sensible, double dwell = 1e-3) {
  return {.start = 293, .surface = surface, .dwell = dwell, .diffusivity = 1.1e-7, .sensible = sensible};
}

// Depth to which the dose is 1 below what is left. Frame of the surface, which recedes at u from the moment
// it reaches `surface`: T_t = a T_zz + u T_z, q = -k T_z + u rho H; doses are kept by the body, not by the
// frame. Lengths in sqrt(a dwell), times in dwell, temperatures in (surface - start).
class Slab {
 public:
  Slab(const Reaction& reaction, const CharBody& body, double strength)
      : reaction_(reaction), body_(body), flux_(std::sqrt(M_PI) / 2 * strength) {
    layer_ = strength > 1 ? 1 / strength : 1;
    step_ = layer_ / 40;
    rise_.assign(482, 0);
    dose_.assign(6000, 0);
  }

  double depth() {
    const double tick = 0.2 * step_ * step_;
    const double latent = (1 - body_.sensible) / body_.sensible;
    for (double t = 0; t < 1 + 8 * layer_ * layer_; t += tick) advance(t < 1 ? flux_ : 0, latent, tick);
    size_t i = static_cast<size_t>(gone_ / step_) + 1;
    double before = surface_dose();
    if (before < 1) return 0;
    double at = gone_;
    for (; i < dose_.size(); ++i) {
      if (dose_[i] < 1)
        return (at - gone_ + std::log(before) / std::log(before / dose_[i]) * (double(i) * step_ - at)) *
               std::sqrt(body_.diffusivity * body_.dwell);
      before = dose_[i], at = double(i) * step_;
    }
    return NAN;
  }

 private:
  double surface_dose() const {  // extrapolated from the two below
    const size_t i = static_cast<size_t>(gone_ / step_) + 1;
    const double part = double(i) - gone_ / step_;
    return std::exp(std::log(dose_[i]) + part * std::log(dose_[i] / dose_[i + 1]));
  }

  void advance(double flux, double latent, double tick) {
    std::vector<double>& T = rise_;
    const size_t n = T.size();
    const double ratio = tick / (step_ * step_), slope = (-3 * T[0] + 4 * T[1] - T[2]) / (2 * step_);
    double u = 0;
    if (flux > 0 && T[0] >= 1 && latent > 0) u = std::max(0.0, (flux + slope) / latent);
    std::vector<double>& next = next_;
    next.resize(n);
    next[n - 1] = T[n - 1];
    for (size_t i = 1; i + 1 < n; ++i)
      next[i] =
          T[i] + ratio * (T[i + 1] - 2 * T[i] + T[i - 1]) + u * tick * (T[i + 1] - T[i - 1]) / (2 * step_);
    next[0] = u > 0 ? 1 : std::min(1.0, T[0] + 2 * ratio * (T[1] - T[0] + flux * step_));
    T.swap(next);
    gone_ += u * tick;
    const size_t first = static_cast<size_t>(gone_ / step_) + 1;
    for (size_t i = first; i < dose_.size(); ++i) {
      const double along = double(i) - gone_ / step_;
      const size_t j = static_cast<size_t>(along);
      if (j + 1 >= n) break;
      const double share = T[j] + (along - double(j)) * (T[j + 1] - T[j]);
      if (share < 0.2) break;
      const double now = body_.start + (body_.surface - body_.start) * share;
      dose_[i] += reaction_.rate * std::exp(-reaction_.activation / now) * tick * body_.dwell;
    }
  }

  Reaction reaction_;
  CharBody body_;
  double flux_, layer_, step_, gone_ = 0;
  std::vector<double> rise_, next_, dose_;
};

TEST(CharDepth, IsThatOfFiniteDifferences) {
  struct Case {
    Reaction reaction;
    CharBody body;
    double strength;
  };
  const Case cases[] = {
      {kBirch, body(1500, 0.75), 0.85},   {kBirch, body(1500, 0.75), 1.0},
      {kBirch, body(1500, 0.75), 1.3},    {kBirch, body(1500, 0.75), 2.0},
      {kBirch, body(1500, 0.75), 3.0},    {kLeather, body(1000, 0.5), 0.97},
      {kLeather, body(1000, 0.5), 3.0},   {kLeather, body(1000, 0.7), 1.5},
      {kLeather, body(1000, 0.95), 1.5},  {kLeather, body(930, 0.5), 1.5},
      {kBoard, body(1250, 0.9), 1.2},     {kBoard, body(1100, 0.9, 1e-2), 1.7},
      {kBoard, body(1007, 0.9, 2e-3), 1},
  };
  for (const Case& c : cases) {
    const double ours = CharDepth(c.reaction, c.body).of(c.strength);
    const double truth = Slab(c.reaction, c.body, c.strength).depth();
    const double conduction = std::sqrt(c.body.diffusivity * c.body.dwell);
    EXPECT_NEAR(ours, truth, 0.06 * truth + 0.012 * conduction)
        << "strength " << c.strength << ", sensible " << c.body.sensible << ", surface " << c.body.surface;
  }
}

// A stronger beam holds the surface hot for longer, but carries off more of what it heats.
TEST(CharDepth, RisesToOneSummitNearWhereRemovalBegins) {
  for (const double sensible : {0.3, 0.75, 1.0, 1.4}) {
    const CharDepth depth(kBirch, body(1500, sensible));
    double summit = 0, before = 0;
    for (double s = 0.5; s < 100; s *= 1.01) {
      const double now = depth.of(s);
      if (now < before * 0.9999 && summit == 0) summit = s;
      if (summit > 0) {
        EXPECT_LE(now, before) << s;
      }
      before = now;
    }
    EXPECT_GT(summit, 1.0);
    EXPECT_LT(summit, 1.5);
    for (const double s : {0.0, 0.3, double(INFINITY), double(NAN)}) EXPECT_EQ(depth.of(s), 0) << s;
  }
}

// A scale of the problem: four times the dwell and a quarter of the rate chars twice as deep.
TEST(CharDepth, GrowsAsTheRootOfTheDwell) {
  const CharDepth brief(kBirch, body(1500, 0.75)),
      slow({kBirch.rate / 4, kBirch.activation}, body(1500, 0.75, 4e-3));
  for (const double s : {0.9, 1.0, 1.5, 2.5}) EXPECT_NEAR(slow.of(s), 2 * brief.of(s), 1e-9) << s;
}

// A rise as the root of time: the surface's own dose by the trapezoidal rule, cooling included.
TEST(CharringSurface, IsWhereTheRootOfTimeCharsIt) {
  for (const Reaction& reaction : {kBoard, kBirch, kLeather})
    for (const double dwell : {1e-3, 2e-2}) {
      const double needed = charring_surface(reaction, body(0, 0.75, dwell));
      double sum = 0;
      constexpr int kCount = 200000;
      for (int i = 0; i < 2 * kCount; ++i) {
        const double t = (i + 0.5) / kCount, share = std::sqrt(t) - (t > 1 ? std::sqrt(t - 1) : 0);
        sum += std::exp(-reaction.activation / (293 + (needed - 293) * share)) * dwell / kCount;
      }
      EXPECT_NEAR(reaction.rate * sum, 1, 0.01);
      EXPECT_GT(needed, temperature_of(reaction, dwell));
      EXPECT_EQ(CharDepth(reaction, body(needed - 3, 0.75, dwell)).of(1), 0);
      EXPECT_GT(CharDepth(reaction, body(needed + 3, 0.75, dwell)).of(1), 0);
    }
  EXPECT_THROW(charring_surface({1, 1e5}, body(0, 0.75)), quantity::ValidityError);
}

TEST(CharDepth, KeepsTheDeepest) {
  const CharDepth depth(kBirch, body(1500, 0.75));
  std::vector<float> depths = {0, 1};
  depth.raise(std::vector<float>{1, 1}, depths);
  EXPECT_FLOAT_EQ(depths[0], static_cast<float>(depth.of(1)));
  EXPECT_EQ(depths[1], 1);
}

TEST(CharDepth, RefusesWhatIsNoBody) {
  EXPECT_THROW(CharDepth(kBirch, body(290, 0.75)), quantity::ValidityError);
  EXPECT_THROW(CharDepth(kBirch, body(1000, 0)), quantity::ValidityError);
  EXPECT_THROW(CharDepth({0, 1e4}, body(1000, 1)), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::response
