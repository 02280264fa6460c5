#include "mark/traverse.h"

#include <algorithm>
#include <numeric>
#include <optional>
#include <vector>

#include "quantity/bands.h"

namespace circumfluence::mark {
namespace {

constexpr int kStripe = MarkWriter::kStripe;

// A thread's own copy of the maps, one stripe high, when the maps themselves are not kept.
struct Worker {
  Worker(const Walk& walk, const std::optional<motion::Commands>& commands, bool own) : walker(walk, commands) {
    if (own) stripe = Maps(kStripe, walk.surface.axial);
  }
  RowWalker walker;
  Maps stripe;
};

RowWalker::Cells cells_of(const Maps& maps, int row) {
  return {{maps.fluence.row(row), maps.changed.row(row), maps.peak_temperature.row(row), maps.margin.row(row),
           maps.outcome.row(row)},
          maps.wanted.row(row)};
}

// Which of two extremes counts, whatever thread found it.
bool ahead(double factor, double other, const Spot& at, const Spot& other_at) {
  return factor > other || (factor == other && factor != 0 && at.around < other_at.around);
}

// The art as it was fed is the art as it is wanted, but for a beam beside the axis. None: a path without artwork.
std::optional<motion::Commands> wanted_art(const Walk& walk) {
  const motion::Commands* const told = walk.exposure.commands();
  if (told == nullptr && walk.scene.job.artwork.file.empty()) return std::nullopt;
  artwork::Placement lands = fed(walk.scene);
  const bool as_fed = told != nullptr && lands.around == walk.scene.job.artwork.around;
  lands.around = walk.scene.job.artwork.around;
  const std::vector<double> edges = walk.surface.axial_edges();
  return as_fed ? told->over(edges) : motion::Commands(walk.scene.image, lands, edges);
}

}  // namespace

Tally traverse(const Walk& walk, const Request& request) {
  const workpiece::Surface& surface = walk.surface;
  Tally tally;
  tally.overview = appearance::Overview(surface.around, surface.axial);
  const bool own = walk.maps.outcome.empty();
  // Blocks of the overview are powers of two, so that no two pieces of work share one.
  quantity::Bands bands{
      .count = surface.around, .band = std::max(kStripe, tally.overview.block), .threads = request.threads};
  const std::optional<motion::Commands> commands = wanted_art(walk);
  std::vector<std::unique_ptr<Worker>> workers(quantity::thread_count(bands));

  const auto stripe = [&](int first, int last, Worker& worker) {
    const Maps& into = own ? worker.stripe : walk.maps;
    const int shift = own ? first : 0;
    for (int row = first; row < last; ++row)
      worker.walker.walk(row, cells_of(into, row - shift), tally.overview);
    if (walk.writer == nullptr) return;
    for (int layer = 0; layer < kLayers; ++layer)
      walk.writer->write_rows(Layer(layer), first, last - first, into.row(Layer(layer), first - shift));
  };
  const auto work = [&](int first, int last, int thread) {
    if (!workers[thread]) workers[thread] = std::make_unique<Worker>(walk, commands, own);
    for (int at = first; at < last; at += kStripe) stripe(at, std::min(at + kStripe, last), *workers[thread]);
  };
  quantity::for_bands(bands, work, request.progress);

  for (const auto& worker : workers) {
    if (!worker) continue;
    tally.mark.add(worker->walker.mark());
    tally.over.add(worker->walker.over());
    tally.hottest = std::max(tally.hottest, worker->walker.hottest());
    const Extreme &last = worker->walker.last_to_mark(), &first = worker->walker.first_to_burn();
    if (ahead(last.factor, tally.last_to_mark.factor, last.at, tally.last_to_mark.at))
      tally.last_to_mark = last;
    if (first.factor > 0 &&
        (tally.first_to_burn.factor == 0 ||
         ahead(-first.factor, -tally.first_to_burn.factor, first.at, tally.first_to_burn.at)))
      tally.first_to_burn = first;
  }
  tally.wall_share = walk.warmth.wall_share();
  const std::vector<float>& rises = walk.background.warming.rises;
  tally.wall_capped = walk.background.capped;
  tally.wall_rise = walk.background.warming.greatest;
  if (const workpiece::Material* coat = walk.scene.coat ? &*walk.scene.coat : nullptr; coat && coat->softening.known())
    tally.softened = double(std::count_if(rises.begin(), rises.end(), [&](float rise) {
      return walk.model.start + rise >= coat->softening.value;
    })) / std::max<double>(1, double(rises.size()));
  if (!rises.empty()) tally.wall_mean = std::accumulate(rises.begin(), rises.end(), 0.0) / double(rises.size());
  return tally;
}

}  // namespace circumfluence::mark
