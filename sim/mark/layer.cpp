#include "mark/layer.h"

namespace circumfluence::mark {

const std::array<LayerInfo, kLayers>& layers() {
  static const std::array<LayerInfo, kLayers> table = {{
      {"fluence", "J/m^2", "incident energy per area, all events", false, ""},
      {"changed", "m",
       "how deep: coat removed, dyed layer bleached, oxide grown on bare metal, organic body gone or charred", false, ""},
      {"peak_temperature", "K", "highest temperature of the base over all events", false, ""},
      {"margin", "1", "factor on power at which the cell just becomes fully marked", false, ""},
      {"outcome", "1", "what became of the cell", true, "untouched under_marked marked over_burned"},
      {"wanted", "1", "whether the art wants a mark here", true, "no yes"},
  }};
  return table;
}

}  // namespace circumfluence::mark
