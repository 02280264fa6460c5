#include "mark/predict.h"

#include <memory>
#include <optional>

#include "job/material_file.h"
#include "mark/mark_file.h"
#include "mark/traverse.h"
#include "quantity/error.h"

namespace circumfluence::mark {

Maps::Maps(int around, int axial)
    : fluence(around, axial),
      changed(around, axial),
      peak_temperature(around, axial),
      margin(around, axial),
      outcome(around, axial),
      wanted(around, axial) {}

void* Maps::row(Layer layer, int row) const {
  switch (layer) {
    case Layer::fluence:
      return fluence.row(row).data();
    case Layer::changed:
      return changed.row(row).data();
    case Layer::peak_temperature:
      return peak_temperature.row(row).data();
    case Layer::margin:
      return margin.row(row).data();
    case Layer::outcome:
      return outcome.row(row).data();
    case Layer::wanted:
      return wanted.row(row).data();
  }
  return nullptr;
}

MarkMap predict(const job::Job& job, const Request& request) {
  return predict(prepare(job), request);
}

MarkMap predict(Scene scene, const Request& request) {
  const workpiece::Surface surface = develop(scene);
  const motion::Raster raster = plan(scene);
  const std::unique_ptr<exposure::Exposure> exposure = expose(scene, surface, raster);
  const response::Model model = respond(scene, *exposure);
  const heat::Warmth warmth(model.base, exposure->states());
  const exposure::Echo echo = remember(scene, surface, model.base, *exposure);

  const Background background = request.warming ? warm(scene, raster, *exposure, model, request.threads) : Background{};

  const Maps maps = request.keep ? Maps(surface.around, surface.axial) : Maps();
  if (request.progress && !request.progress(0.0)) throw quantity::Interrupted();  // before a file is begun
  std::optional<MarkWriter> writer;
  if (!request.file.empty()) writer.emplace(request.file, file_header(scene, surface, request.compact));
  const Walk walk{scene,  surface,    *exposure, model, warmth, echo, background, raster,
                  maps, writer ? &*writer : nullptr};
  Tally tally = traverse(walk, request);
  Verdict verdict = judge({scene, surface, raster, model, tally});
  add_cure(walk, request, verdict);
  WallMap wall = wall_map(scene, raster, background);
  if (writer) writer->finish(summary(verdict), wall);
  return {std::move(scene), surface, raster, std::move(tally.overview), maps, std::move(verdict),
          std::move(wall), tally.mark, tally.over};
}

}  // namespace circumfluence::mark
