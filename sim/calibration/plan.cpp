#include "calibration/plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;

constexpr int kSample = 2048,
              kTruths = 256;       // draws that are weighed, and that are taken for the truth in turn
constexpr double kNothing = 1e-4;  // [bit] that a further patch must tell, ends counted
constexpr double kFewDraws = 8;    // effective ones, below which expectations are rough
constexpr double kDark = 1e-3;     // [bit] told by the best patch: nothing that matters
constexpr size_t kBatch = 16;      // candidates looked at together

std::string in_words(const Patch& patch) {
  return fmt::format("{} and {}", quantity::format(patch.power, "W", 3),
                     quantity::format(patch.speed, "mm/min", 4));
}

void check_wanted(const mark::Scene& scene, const Patch& wanted) {
  const double rated = scene.job.laser.rated_power;
  if (!(wanted.power > 0) || wanted.power > rated * (1 + 1e-9))
    throw ValidityError(fmt::format("plan: wanted power = {} (expected above 0 W, up to the laser's {})",
                                    quantity::format(wanted.power, "W"), quantity::format(rated, "W")));
  const motion::Machine& machine = scene.job.machine;
  const bool axial = wanted.direction == motion::Direction::axial;
  for (const double top : {scene.job.scan.top_speed, axial ? machine.axial_speed : machine.around_speed})
    if (!(wanted.speed > 0) || !std::isfinite(wanted.speed) || wanted.speed > top * (1 + 1e-9))
      throw ValidityError(fmt::format(
          "plan: wanted speed = {} (expected above 0 mm/min{})", quantity::format(wanted.speed, "mm/min"),
          std::isnan(top) ? "" : ", up to the machine's " + quantity::format(top, "mm/min")));
  if (!(wanted.spacing >= 0) || !std::isfinite(wanted.spacing) || !std::isfinite(wanted.focus_offset) ||
      wanted.passes < 1 || wanted.passes > kMostPasses)
    throw ValidityError(
        fmt::format("plan: wanted spacing = {}, passes = {}, focus offset = {} (expected 0 mm or more, 1 to "
                    "{}, a height)",
                    quantity::format(wanted.spacing, "mm"), wanted.passes,
                    quantity::format(wanted.focus_offset, "mm"), kMostPasses));
}

template <class T>
void join(std::vector<T>& to, const std::vector<T>& more) {
  to.insert(to.end(), more.begin(), more.end());
  std::sort(to.begin(), to.end());
  to.erase(std::unique(to.begin(), to.end()), to.end());
}

// The request with all that it leaves open.
PlanRequest settled(const mark::Scene& scene, PlanRequest request) {
  if (request.patches < 1 || request.patches > int(kMostSlots))
    throw ValidityError(fmt::format("plan: patches = {} (expected 1 to {})", request.patches, kMostSlots));
  if (request.wanted.empty()) request.wanted.push_back(job_setting(scene));
  Candidates around;
  for (const Patch& wanted : request.wanted) {
    check_wanted(scene, wanted);
    const Candidates more = candidates_around(scene, wanted);
    join(around.power, more.power), join(around.speed, more.speed), join(around.spacing, more.spacing);
    join(around.focus_offset, more.focus_offset), join(around.passes, more.passes);
  }
  Candidates& own = request.candidates;
  if (own.power.empty()) own.power = around.power;
  if (own.speed.empty()) own.speed = around.speed;
  if (own.spacing.empty()) own.spacing = around.spacing;
  if (own.focus_offset.empty()) own.focus_offset = around.focus_offset;
  if (own.passes.empty()) own.passes = around.passes;
  return request;
}

std::vector<Patch> combined(const mark::Scene& scene, const PlanRequest& request) {
  const Candidates& c = request.candidates;
  double count = 1;
  for (const size_t size :
       {c.power.size(), c.speed.size(), c.spacing.size(), c.focus_offset.size(), c.passes.size()})
    count *= double(size);
  if (count > double(kMostCandidates))
    throw ValidityError(fmt::format("plan: {:.0f} candidates (expected up to {}). Leave some values out",
                                    count, kMostCandidates));
  std::vector<Patch> out;
  for (const double speed : c.speed)
    for (const double spacing : c.spacing)
      for (const double focus_offset : c.focus_offset)
        for (const int passes : c.passes)
          for (const double power : c.power) {
            out.push_back({power, speed, spacing, passes, focus_offset, request.wanted.front().direction});
            check_wanted(scene, out.back());
          }
  return out;
}

struct Found {
  size_t candidate = 0;
  Telling::Gain gain{};
};

// The candidate that tells most. `bounds`: what each told when last looked at; what it tells is taken not to
// grow, so that only those have to be looked at anew that may still be the best.
Found best(const Telling& telling, std::vector<double>& bounds, int threads) {
  std::vector<size_t> order(bounds.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) { return bounds[a] > bounds[b]; });
  Found out;
  bool any = false;
  for (size_t from = 0; from < order.size(); from += kBatch) {
    if (any && out.gain.total() >= bounds[order[from]]) break;
    const size_t count = std::min(kBatch, order.size() - from);
    std::vector<Telling::Gain> gains(count);
    const auto look = [&](int first, int last, int) {
      for (int i = first; i < last; ++i) gains[size_t(i)] = telling.gain(order[from + size_t(i)]);
    };
    quantity::for_bands({.count = int(count), .band = 1, .threads = threads}, look);
    for (size_t i = 0; i < count; ++i) {
      bounds[order[from + i]] = gains[i].total();
      if (any && gains[i].total() <= out.gain.total()) continue;
      out = {order[from + i], gains[i]}, any = true;
    }
  }
  return out;
}

std::string likeliest(const std::vector<double>& chances) {
  const auto top = std::max_element(chances.begin(), chances.end());
  return fmt::format("{} with a chance of {:.0f} %", response::kOutcomeNames[top - chances.begin()],
                     100 * *top);
}

// [bit]
double entropy(const std::vector<double>& chances) {
  double out = 0;
  for (const double chance : chances) out -= chance > 0 ? chance * std::log2(chance) : 0;
  return out;
}

struct Choice {
  std::vector<size_t> order;
  std::vector<double> entropies;
  double best_gain = 0, effective = 0;
};

Choice choose(Telling& telling, size_t candidates, const PlanRequest& request,
              const quantity::Progress& progress) {
  Choice out;
  std::vector<double> bounds(candidates, quantity::kInfinity);
  double last = telling.entropy();
  for (int i = 0; i < request.patches; ++i) {
    if (progress && !progress(double(i) / request.patches)) throw quantity::Interrupted();
    const Found found = best(telling, bounds, request.threads);
    if (i == 0) out.best_gain = found.gain.outcome;
    if (i > 0 && found.gain.total() < kNothing) break;
    telling.take(found.candidate);
    out.order.push_back(found.candidate);
    // Simulated outcomes scatter; what is learnt never makes less sure.
    out.entropies.push_back(last = std::min(last, telling.entropy()));
  }
  out.effective = telling.effective();
  return out;
}

// Numbers of the slots of those of `patches` that were laid out, in their order.
std::vector<int> numbers(const Coupon& coupon, const std::vector<Patch>& patches) {
  const auto same = [](const Patch& a, const Patch& b) {
    return a.power == b.power && a.speed == b.speed && a.spacing == b.spacing && a.passes == b.passes &&
           a.focus_offset == b.focus_offset && a.direction == b.direction;
  };
  std::vector<bool> taken(coupon.slots.size());
  std::vector<int> out;
  for (const Patch& patch : patches)
    for (size_t i = 0; i < coupon.slots.size(); ++i)
      if (!taken[i] && same(coupon.slots[i].patch, patch)) {
        taken[i] = true, out.push_back(coupon.slots[i].number);
        break;
      }
  return out;
}

void note_choice(const Telling& telling, const Choice& choice, const PlanRequest& request, Planned& out) {
  for (size_t i = 0; i < request.wanted.size(); ++i)
    if (const std::vector<double> chances = telling.outcome(i); entropy(chances) < kSettled)
      out.notes.push_back(fmt::format("The outcome at {} seems sure already: {}. The coupon tests that.",
                                      in_words(request.wanted[i]), likeliest(chances)));
  if (choice.best_gain < kDark && out.entropy_before >= kSettled)
    out.notes.push_back(
        "No patch among the candidates tells anything about the wanted settings: their outcomes are sure, "
        "or have nothing to do with it. Other powers or speeds may.");
  else if (int(choice.order.size()) < request.patches)
    out.notes.push_back(fmt::format("More than {} patches tell nothing more.", choice.order.size()));
  if (choice.effective < kFewDraws)
    out.notes.push_back(
        fmt::format("Only some {:.0f} draws bear out a report of all patches: what is expected of the last "
                    "ones is rough.",
                    choice.effective));
}

void note_layout(const mark::Scene& scene, const PlanRequest& request, size_t asked, Planned& out) {
  if (const size_t fit = out.coupon.slots.size(); fit < asked)
    out.notes.push_back(fmt::format(
        "{} of {} patches do not fit {} x {}{}; the least telling ones were left out.", asked - fit, asked,
        quantity::format(request.width, "mm", 3), quantity::format(request.height, "mm", 3),
        std::isnan(request.duration) ? "" : " and " + quantity::format(request.duration, "s", 3)));
  if (out.coupon.ink.power < scene.job.laser.rated_power) return;
  if (const Ink ink = ink_for(scene, request); ink.marks < kSurelySeen)
    out.notes.push_back(
        fmt::format("Corner marks and labels may not show: at {} they mark with a chance of {:.0f} %.",
                    in_words(ink.patch), 100 * ink.marks));
}

}  // namespace

Planned plan(const mark::Scene& scene, const PlanRequest& given) {
  PlanRequest request = settled(scene, given);
  const std::vector<Patch> candidates = combined(scene, request);
  std::vector<Patch> patches;
  const Patch& first = request.wanted.front();
  if (request.power_ladder) patches = power_ladder(scene, first);
  if (request.height_ladder)
    for (const Patch& line : height_ladder(scene, first)) patches.push_back(line);
  const size_t ladders = patches.size();
  request.progress = quantity::part(given.progress, 0, 0.6);
  Telling telling(foresee(scene, candidates, request, kSample + kTruths), kTruths, request.seed);
  Planned out;
  out.entropy_before = telling.entropy();
  const Choice choice = choose(telling, candidates.size(), request, quantity::part(given.progress, 0.6, 0.8));
  for (const size_t candidate : choice.order) patches.push_back(candidates[candidate]);
  request.progress = quantity::part(given.progress, 0.8, 1);
  out.coupon = lay_out(scene, patches, request);
  out.chosen = numbers(out.coupon, {patches.begin() + std::ptrdiff_t(ladders), patches.end()});
  out.entropies = choice.entropies;
  out.entropies.resize(out.chosen.size());
  if (request.known && !std::isfinite(request.known->strays))
    out.notes.push_back("Results so far are at odds with each other or with the records: nothing was learnt of them.");
  note_choice(telling, choice, request, out);
  note_layout(scene, request, patches.size(), out);
  return out;
}

Next next(const mark::Scene& scene, const Fit& known, const PlanRequest& given) {
  PlanRequest request = settled(scene, given);
  request.known = &known;
  const std::vector<Patch> candidates = combined(scene, request);
  const Telling telling(foresee(scene, candidates, request, kSample + kTruths), kTruths, request.seed);
  std::vector<double> bounds(candidates.size(), quantity::kInfinity);
  const Found found = best(telling, bounds, request.threads);
  Next out{.patch = candidates[found.candidate],
           .entropy = telling.entropy(),
           .gain = found.gain.outcome,
           .why = {}};
  const std::string now = likeliest(telling.outcome(0));
  if (!std::isfinite(known.strays)) {
    out.why = fmt::format(
        "Look again at what came out, or burn the patches that are at odds again: nothing was learnt of "
        "them. The next "
        "most telling one is {}; as it stands the wanted setting comes out {}.",
        in_words(out.patch), now);
  } else if (out.entropy < kSettled) {
    out.stop = true;
    out.why = fmt::format("Settled: the wanted setting comes out {}.", now);
  } else if (out.gain < kIdle) {
    out.stop = true;
    out.why = fmt::format(
        "No single patch helps much: the best, {}, tells {:.3f} bit of {:.2f}. The wanted setting comes out "
        "{}; what is "
        "left is how the coat strays from place to place, or cannot be told by patches here.",
        in_words(out.patch), out.gain, out.entropy, now);
  } else {
    out.why = fmt::format(
        "A patch at {} tells {:.2f} bit of the {:.2f} that are open; as it stands the wanted setting comes "
        "out {}.",
        in_words(out.patch), out.gain, out.entropy, now);
  }
  return out;
}

}  // namespace circumfluence::calibration
