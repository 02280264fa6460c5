// A tool path as the wall feels it: runs along coarse cells, which stand for its lines; and how warm the wall
// is when a piece of it comes by.
#include <algorithm>
#include <cmath>

#include "mark/traverse.h"
#include "quantity/constants.h"

namespace circumfluence::mark {
namespace {

using exposure::Piece;
using motion::Direction;

constexpr int kSteps = 4;             // of a piece, to a coarse cell
constexpr size_t kMostRuns = 20'000;  // more would take seconds; they are then made coarser, up to kCoarsest
constexpr double kCoarsest = 8;       // [1] coarse cells that a run may stray across

// Where the fed plane lies on the tube.
class Developed {
 public:
  Developed(const Scene& scene, const heat::Tube& tube)
      : turning_(scene.job.mount.hold == motion::Hold::turning),
        radius_(tube.circumference / (2 * quantity::kPi)),
        reference_(scene.reference_radius),
        turn_(tube.circumference) {
    const double beside = scene.job.mount.beam_offset / reference_;
    shift_ = turning_ && std::abs(beside) < 1 ? reference_ * std::asin(beside) : 0.0;
  }
  // [m] around the tube, from 0 to a turn.
  double arc(double fed) const {
    const double at = turning_ ? (fed + shift_) * radius_ / reference_
                               : radius_ * std::asin(std::clamp(fed / radius_, -1.0, 1.0));
    return at - std::floor(at / turn_) * turn_;
  }
  // [m] how far apart, the shorter way round.
  double apart(double one, double other) const { return std::abs(std::remainder(one - other, turn_)); }

 private:
  bool turning_;
  double radius_, reference_, turn_, shift_;
};

bool runs_around(const exposure::Path& path) {
  double axial = 0, around = 0;
  for (const Piece& piece : path.pieces())
    axial += std::abs(piece.axial_by), around += std::abs(piece.around_by);
  return around > axial;
}

struct Step {
  double along, across, energy, begin, end;  // [m] of the tube, [J], [s]
  int way;                                   // along, forth: 1, back: -1; across: 0
};

// Puts steps into runs: a run goes on while the steps stay beside its first one and move on along it, one
// way.
class Laying {
 public:
  Laying(const Developed& developed, double cell, double stray, PathRuns& out)
      : developed_(developed), cell_(cell), stray_(stray), out_(out) {}

  std::uint32_t add(const Step& step, int cells, bool on_line) {
    const int here = std::clamp(static_cast<int>(step.along / cell_), 0, cells - 1);
    if (out_.runs.empty() || !goes_on(step, here, on_line)) {
      const double ends = out_.runs.empty() ? step.begin : out_.runs.back().start + out_.runs.back().duration;
      out_.runs.push_back({.across = step.across,
                           .first = here,
                           .cells = 0,
                           .forth = true,
                           .start = std::max(step.begin, ends),
                           .duration = 0,
                           .energies = out_.energies.size()});
      way_ = 0;
    }
    PathRuns::Run& run = out_.runs.back();
    grow(run, here);
    out_.energies[run.energies + size_t(here - run.first)] += static_cast<float>(step.energy / cell_);
    run.duration = std::max({run.duration, step.end - run.start, 1e-6});
    if (way_ == 0) way_ = step.way;
    last_ = here;
    return static_cast<std::uint32_t>(out_.runs.size()) - 1;
  }

 private:
  bool goes_on(const Step& step, int here, bool on_line) const {
    const PathRuns::Run& run = out_.runs.back();
    const int by = here - last_;
    const double apart =
        out_.axial ? developed_.apart(step.across, run.across) : std::abs(step.across - run.across);
    const bool same_way = step.way * way_ >= 0 && by * way_ >= 0 && by * step.way >= 0;
    const bool at_once = step.begin - run.start - run.duration < 2 * (step.end - step.begin);
    return on_line || (apart <= stray_ && same_way && at_once && std::abs(by) <= 1);
  }
  // The newest run's energies are the last ones, so that they can grow at either end.
  void grow(PathRuns::Run& run, int here) {
    if (run.cells == 0) {
      run.cells = 1;
      out_.energies.push_back(0.0f);
      return;
    }
    if (here != last_ && way_ == 0) way_ = here > last_ ? 1 : -1, run.forth = way_ > 0;
    for (; here >= run.first + run.cells; ++run.cells) out_.energies.push_back(0.0f);
    if (here >= run.first) return;
    const int more = run.first - here;
    out_.energies.insert(out_.energies.begin() + std::ptrdiff_t(run.energies), size_t(more), 0.0f);
    run.first = here;
    run.cells += more;
  }

  const Developed& developed_;
  double cell_, stray_;
  PathRuns& out_;
  int last_ = 0, way_ = 0;
};

// The share of a piece at which a step ends: at a cell's edge along the axis, or after a part of a cell's
// length.
double step_end(double from, double length, double place, double by) {
  double end = std::min(1.0, from + 1 / std::max(1e-9, kSteps * length));
  if (by == 0) return end;
  const double at = place + from * by, edge = by > 0 ? std::floor(at + 1e-9) + 1 : std::ceil(at - 1e-9) - 1;
  end = std::min(end, (edge - place) / by);
  return end > 1 - 1e-9 ? 1.0 : end;
}

PathRuns lay(const exposure::Path& path, const Developed& developed, const heat::Tube& tube, double coarse) {
  PathRuns out;
  out.axial = !runs_around(path);
  const int cells = out.axial ? tube.axial : tube.around;
  const double cell = out.axial ? tube.length / tube.axial : tube.circumference / tube.around;
  Laying laying(developed, cell, 0.5 * cell * coarse, out);
  for (const Piece& piece : path.pieces()) {
    const bool spot = piece.sort() == Piece::Kind::spot;
    const double by = piece.axial_by, around_by = piece.around_by, length = std::hypot(by, around_by);
    const double energy = piece.energy * (spot ? 1.0 : length),
                 time = spot ? path.pause(piece) : length / path.speed(piece);
    const double along_by = out.axial ? by : around_by, per_cell = std::abs(along_by) / cell;
    const int way = per_cell * kSteps < 0.1 * length / cell ? 0 : along_by > 0 ? 1 : -1;
    PathRuns::Of of{};
    double t = 0;
    for (int i = 0; t < 1; ++i) {
      const double end =
          step_end(t, length / cell, out.axial ? piece.axial / cell : 0, out.axial ? by / cell : 0);
      const double middle = (t + end) / 2, u = std::clamp(piece.axial + middle * by, 0.0, tube.length);
      const double s = developed.arc(piece.around + middle * around_by);
      const Step step{out.axial ? u : s,      out.axial ? s : u,        energy * (end - t),
                      piece.start + time * t, piece.start + time * end, way};
      of.last = laying.add(step, cells, piece.follows);
      if (i == 0) of.first = of.last;
      t = end;
    }
    out.of_piece.push_back(of);
  }
  return out;
}

}  // namespace

PathRuns runs_of(const Scene& scene, const heat::Tube& tube) {
  const Developed developed(scene, tube);
  PathRuns runs;
  for (double coarse = 1; coarse <= kCoarsest; coarse *= 2) {
    runs = lay(scene.path->path, developed, tube, coarse);
    if (runs.runs.size() <= kMostRuns) break;
  }
  return runs;
}

// [K] linear, under each column when the piece that an event is told by comes over the row.
void BackgroundRows::path_rises(const exposure::EventRow& event, int row, int first) {
  const Background& b = walk_.background;
  const workpiece::Surface& s = walk_.surface;
  const Developed developed(walk_.scene, b.tube);
  const std::vector<Piece>& pieces = walk_.scene.path->path.pieces();
  const double turn = walk_.scene.path->path.turn(), arc = s.arc(row), around = developed.arc(arc);
  const int last = std::min(first + kPiece, s.axial);
  for (int i = first; i < last; ++i) {
    const int index = event.lines != nullptr ? event.lines[i] : event.line;
    float& out = across_[size_t(i)];
    out = 0.0f;
    if (index < 0) continue;
    const Piece& piece = pieces[size_t(index)];
    const PathRuns::Of& of = b.runs.of_piece[size_t(index)];
    std::uint32_t which = of.first;
    if (of.last > of.first) {
      const double gone =
          turn > 0 ? std::remainder(arc - piece.around - 0.5 * piece.around_by, turn) + 0.5 * piece.around_by
                   : arc - piece.around;
      const double t = std::abs(piece.axial_by) > std::abs(piece.around_by)
                           ? (s.position(i) - piece.axial) / piece.axial_by
                           : gone / piece.around_by;
      which += static_cast<std::uint32_t>(std::lround(std::clamp(t, 0.0, 1.0) * (of.last - of.first)));
    }
    const PathRuns::Run& run = b.runs.runs[which];
    const float* const rises = linear_.data() + b.warming.begins[which];
    const double at =
        std::clamp((b.runs.axial ? s.position(i) : around) / b.cell - run.first - 0.5, 0.0, run.cells - 1.0);
    const int cell = std::min(static_cast<int>(at), std::max(0, run.cells - 2));
    out = rises[cell];
    if (run.cells > 1) out += static_cast<float>(at - cell) * (rises[cell + 1] - rises[cell]);
  }
}

}  // namespace circumfluence::mark
