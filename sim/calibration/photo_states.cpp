// Which state each patch is in, from tones.
//
// A patch lies at a place s on a path: s from 0 to 1 a share s of marked on ground, from 1 to 2 a share s - 1
// of over-burned on marked. Beforehand a patch is untouched (0.25), marked (0.25), over-burned all over
// (0.24), or anywhere between the first two (0.2) or the last two (0.06); a corner mark is marked,
// over-burned or between. What the states look like in this picture (veil, brightness of both burnt looks) is
// a grid of possibilities, weighed by how well all tones fit them. A patch's class has the chance that all of
// this gives it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/photo.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using Channels = std::array<double, 3>;
using Chances = std::array<double, 4>;  // in the order of Outcome

constexpr double kBrightness = 0.2;  // [1] spread of ln of a burnt look's brightness, beforehand
constexpr double kLookError = 0.03;  // [1] of a burnt look, from channel to channel and patch to patch
constexpr double kOverError = 0.10;  // [1] of the over-burned one's brightness: it has many degrees
constexpr double kEven = 0.15;       // [1] of under-marked patches are not striped
constexpr double kUsualVeil = 0.01;  // [1] of full light, mean beforehand
constexpr double kVeils[] = {0, 0.003, 0.006, 0.012, 0.02, 0.035, 0.05};
constexpr int kBrightnesses = 25;  // by 0.04 about 1
constexpr int kShares = 40, kOvers = 16;
constexpr size_t kMostFitted = 60;  // patches that tell how the states look
constexpr size_t kMostViews = 250;  // possibilities kept
constexpr double kStrange = 25;     // -2 ln of misfit beyond which a tone is that of no state

// How the burnt states look in this picture, of the ground.
struct View {
  Channels marked, over;
  double log_prior = 0, weight = 0;
};

double brightness(int i) {
  return 0.04 * (i - kBrightnesses / 2);
}

Channels seen(const Channels& look, const Channels& ground, double bright, double veil) {
  Channels out;
  for (size_t c = 0; c < 3; ++c)
    out[c] = (std::min(1.0, look[c] * std::exp(bright)) + veil) / (ground[c] + veil);
  return out;
}

// Standard deviation of a grating of lines with a share s, of its contrast, after blur (period and blur [m]).
double grating(double share, double period, double blur) {
  double sum = 0;
  for (int k = 1; k <= 4; ++k) {
    const double fade = std::exp(-2 * std::pow(M_PI * k * blur / period, 2));
    sum += std::pow(2 / (M_PI * k) * std::sin(M_PI * k * share) * fade, 2) / 2;
  }
  return std::sqrt(sum);
}

double normal(double value, double sigma) {
  return std::exp(-0.5 * value * value / (sigma * sigma)) / sigma;
}

// One tone against the states.
class Look {
 public:
  Look(const Tone& tone, const Channels& trust, const Patch& patch, double blur)
      : tone_(tone), trust_(trust) {
    const bool lined = patch.spacing > 0 && std::isfinite(tone.stripes_error);
    for (int i = 0; i <= kShares; ++i)
      gratings_[size_t(i)] = lined ? grating(double(i) / kShares, patch.spacing, blur) : 0;
    // Lines that the picture can't show say nothing.
    lined_ = lined && gratings_[kShares / 2] > 0.03;
  }

  // Squares of how far the mean is from `part` of one state and the rest of another, of the errors; `size`:
  // with ln of them. `burnt`: from marked to over-burned, whose brightness strays in all channels alike.
  double away(const Channels& from, const Channels& to, double part, bool burnt, bool size = false) const {
    double sum = 0, along = 0, lever = 1;
    for (size_t c = 0; c < 3; ++c) {
      const double expected = from[c] + (to[c] - from[c]) * part;
      const double look = kLookError * (burnt ? expected : part * to[c]),
                   bright = burnt ? kOverError * part * to[c] : 0;
      const double e = tone_.error[c] * tone_.error[c] + look * look, off = tone_.mean[c] - expected;
      sum += trust_[c] * (off * off / e + (size ? std::log(e) : 0));
      along += trust_[c] * off * bright / e;
      lever += trust_[c] * bright * bright / e;
    }
    return sum - along * along / lever + (size ? std::log(lever) : 0);
  }
  double misfit(const Channels& from, const Channels& to, double part, bool burnt) const {
    return away(from, to, part, burnt, true);
  }

  // Chance (of all shares alike 1) of the stripes seen, for a share of one state on another of that contrast.
  double stripes(double share, double contrast) const {
    if (!lined_) return 1;
    const double rough = std::hypot(tone_.stripes_error, 0.03 * contrast, 0.005);
    const double expected = grating_at(share) * contrast;
    return (1 - kEven) * normal(tone_.stripes - expected, std::hypot(rough, 0.15 * expected)) +
           kEven * normal(tone_.stripes, rough);
  }
  double even(double contrast) const {
    return lined_ ? normal(tone_.stripes, std::hypot(tone_.stripes_error, 0.03 * contrast, 0.005)) : 1;
  }

  // Likelihoods of the classes, each with its share of the chances beforehand; `parts`: ground to marked, or
  // marked to over-burned.
  Chances to_marked(const View& view, const std::array<double, 3>& prior) const {
    const Channels ground = {1, 1, 1};
    const double contrast = contrast_of(ground, view.marked);
    Chances out{};
    out[0] += prior[0] * likelihood(misfit(ground, view.marked, 0, false)) * even(contrast);
    out[2] += prior[2] * likelihood(misfit(ground, view.marked, 1, false)) * even(contrast);
    for (int i = 0; i < kShares; ++i) {
      const double s = (i + 0.5) / kShares;
      const size_t where = s < kSeen ? 0 : s < kFull ? 1 : 2;
      out[where] +=
          prior[1] / kShares * likelihood(misfit(ground, view.marked, s, false)) * stripes(s, contrast);
    }
    return out;
  }
  Chances to_over(const View& view, const std::array<double, 2>& prior) const {
    const double contrast = contrast_of(view.marked, view.over), whole = contrast_of({1, 1, 1}, view.marked);
    Chances out{};
    out[3] += prior[1] * likelihood(misfit(view.marked, view.over, 1, true)) * even(whole);
    for (int i = 0; i < kOvers; ++i) {
      const double s = (i + 0.5) / kOvers;
      out[s < kOver ? 2 : 3] +=
          prior[0] / kOvers * likelihood(misfit(view.marked, view.over, s, true)) * stripes(s, contrast);
    }
    return out;
  }
  double contrast_of(const Channels& from, const Channels& to) const {
    double sum = 0, count = 0;
    for (size_t c = 0; c < 3; ++c) sum += trust_[c] * (to[c] - from[c]), count += trust_[c];
    return std::abs(sum / count);
  }

  // How well the best share of marked on ground explains the tone, over that and all over-burned.
  double fits_under(const View& view) const {
    const Channels ground = {1, 1, 1};
    const double contrast = contrast_of(ground, view.marked);
    double most = 0;
    for (int i = 0; i < kShares; ++i) {
      const double s = (i + 0.5) / kShares;
      if (s > kSeen && s < kFull)
        most = std::max(most, likelihood(away(ground, view.marked, s, false)) * stripes(s, contrast));
    }
    const double over = likelihood(away(view.marked, view.over, 1, true)) * even(contrast);
    return most / (most + over + 1e-300);
  }

  // The least misfit of any place on the path, without the errors' own size.
  double strangeness(const View& view) const {
    double least = 1e300;
    for (int i = 0; i <= kShares; ++i)
      least = std::min(least, away({1, 1, 1}, view.marked, double(i) / kShares, false));
    for (int i = 0; i <= kOvers; ++i)
      least = std::min(least, away(view.marked, view.over, double(i) / kOvers, true));
    return least;
  }

 private:
  static double likelihood(double misfit) { return std::exp(-0.5 * misfit); }
  double grating_at(double share) const {
    return gratings_[size_t(std::clamp(int(std::lround(share * kShares)), 0, kShares))];
  }

  const Tone& tone_;
  Channels trust_;
  std::array<double, kShares + 1> gratings_{};
  bool lined_ = false;
};

// Chances beforehand.
constexpr std::array<double, 3> kPatchToMarked = {0.25, 0.2, 0.25}, kInkToMarked = {0, 0, 0.45};
constexpr std::array<double, 2> kPatchToOver = {0.06, 0.24}, kInkToOver = {0.25, 0.3};
constexpr double kNoState = 1e-9;  // chance density of a tone of no state, so that none rules out everything

double total(const Chances& c) {
  return c[0] + c[1] + c[2] + c[3];
}

// All possibilities, weighed by the tones of patches and ink.
class Views {
 public:
  Views(const Looks& looks, const std::vector<Look>& patches, const Look& ink) {
    const Channels ground = appearance::linear_from_srgb(looks.ground);
    const Channels marked = appearance::linear_from_srgb(looks.marked);
    const Channels over = appearance::linear_from_srgb(looks.over_burned);
    for (const double veil : kVeils)
      for (int i = 0; i < kBrightnesses; ++i) weigh(veil, i, {ground, marked, over}, patches, ink);
    keep_best();
  }
  const std::vector<View>& kept() const { return views_; }

 private:
  void weigh(double veil, int bright, const std::array<Channels, 3>& looks, const std::vector<Look>& patches,
             const Look& ink) {
    View view{.marked = seen(looks[1], looks[0], brightness(bright), veil), .over = {}};
    std::vector<double> half;
    for (const Look& p : patches) half.push_back(total(p.to_marked(view, kPatchToMarked)));
    const double ink_half = total(ink.to_marked(view, kInkToMarked));
    const double prior = -veil / kUsualVeil - 0.5 * std::pow(brightness(bright) / kBrightness, 2);
    for (int j = 0; j < kBrightnesses; ++j) {
      view.over = seen(looks[2], looks[0], brightness(j), veil);
      view.log_prior = prior - 0.5 * std::pow(brightness(j) / kBrightness, 2);
      view.weight = view.log_prior + std::log(ink_half + total(ink.to_over(view, kInkToOver)) + 1e-300);
      for (size_t k = 0; k < patches.size(); ++k)
        view.weight += std::log(half[k] + total(patches[k].to_over(view, kPatchToOver)) + kNoState);
      views_.push_back(view);
    }
  }

  void keep_best() {
    std::ranges::sort(views_, std::greater(), &View::weight);
    if (views_.size() > kMostViews) views_.resize(kMostViews);
    const double best = views_[0].weight;
    double sum = 0;
    for (View& v : views_) sum += v.weight = std::exp(v.weight - best);
    for (View& v : views_) v.weight /= sum;
  }

  std::vector<View> views_;
};

void settle(const Look& look, const std::vector<View>& views, const Tone& tone, PatchReading& reading) {
  Chances all{};
  double under = 0;
  for (const View& view : views) {
    under += view.weight * look.fits_under(view);
    const Chances a = look.to_marked(view, kPatchToMarked), b = look.to_over(view, kPatchToOver);
    const double sum = total(a) + total(b) + 1e-300;
    for (size_t i = 0; i < 4; ++i) all[i] += view.weight * (a[i] + b[i]) / sum;
  }
  const auto best = std::ranges::max_element(all);
  reading.outcome = response::Outcome(best - all.begin());
  reading.sure = *best;
  // Over-burned stays open where half-marked looks the same, however unlikely it is to come out just so.
  if (reading.outcome == response::Outcome::over_burned) reading.sure = std::min(reading.sure, 1 - under);
  reading.tone = tone.mean;
}

void check_contrast(const Flat& flat) {
  const double least = std::max(0.03, 5 * flat.scatter);
  if (!(flat.contrast > least))
    throw quantity::JobError(
        fmt::format("the marks hardly differ from the ground (by {:.1f} % of its light; expected more than "
                    "{:.1f} % with a ground as "
                    "uneven as this). Take the picture in even light",
                    100 * flat.contrast, 100 * least));
}

}  // namespace

void tell_states(const Flat& flat, const Coupon& coupon, const Looks& looks, const std::vector<Tone>& tones,
                 Reading& reading) {
  check_contrast(flat);
  const Tone ink = ink_tone(flat, coupon);
  const Look ink_look(ink, flat.trust, {}, 0);
  std::vector<Look> patches;
  std::vector<size_t> which;
  for (size_t i = 0; i < tones.size(); ++i) {
    if (!tones[i].known) continue;
    const Patch& p = coupon.slots[i].patch;
    patches.emplace_back(tones[i], flat.trust, p,
                         p.direction == motion::Direction::axial ? flat.blur_y : flat.blur_x);
    which.push_back(i);
  }
  std::vector<Look> fitted;
  const size_t step = (patches.size() + kMostFitted - 1) / kMostFitted;
  for (size_t i = 0; i < patches.size(); i += step) fitted.push_back(patches[i]);
  const Views views(looks, fitted, ink_look);
  if (ink_look.strangeness(views.kept()[0]) > kStrange)
    throw quantity::JobError(
        fmt::format("the corner marks look like no state of this material (light {:.2f}, {:.2f}, {:.2f} of "
                    "the ground's in red, green "
                    "and blue; marked should be about {:.2f}, {:.2f}, {:.2f}). Is it another material?",
                    ink.mean[0], ink.mean[1], ink.mean[2], views.kept()[0].marked[0],
                    views.kept()[0].marked[1], views.kept()[0].marked[2]));
  int strange = 0;
  for (size_t i = 0; i < patches.size(); ++i) {
    PatchReading& patch = reading.patches[which[i]];
    settle(patches[i], views.kept(), tones[which[i]], patch);
    if (patches[i].strangeness(views.kept()[0]) > kStrange) patch.sure = std::min(patch.sure, 0.5), ++strange;
  }
  if (strange > 0)
    reading.notes.push_back(
        fmt::format("{} like no state of this material: left open",
                    strange == 1 ? "1 patch looks" : fmt::format("{} patches look", strange)));
}

}  // namespace circumfluence::calibration
