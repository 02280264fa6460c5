#include <string_view>
#include <utility>

#include "window/unknown.h"

namespace circumfluence::window {

const char* words_of(const char* key) {
  constexpr std::pair<std::string_view, const char*> kWords[] = {
      {"n", "refractive index n"},
      {"k", "extinction index k"},
      {"depth", "depth that absorbs the light"},
      {"heat_capacity", "heat capacity"},
      {"conductivity_slope", "growth of the conductivity with temperature"},
      {"marking_onset", "temperature of the first mark"},
      {"removal_temperature", "temperature of removal"},
      {"removal_energy", "energy of removal"},
      {"removal_depth", "depth of the blow-off law"},
      {"threshold", "threshold of removal"},
      {"threshold_dwell", "dwell of the threshold of removal"},
      {"oxide_rate", "rate of the oxide's growth"},
      {"oxide_native", "oxide before the job"},
      {"bleach_rate", "rate of bleaching"},
      {"char_rate", "rate of charring"},
      {"softening", "temperature of softening"},
      {"discolouring", "temperature of discolouring"}};
  for (const auto& [name, words] : kWords)
    if (name == key) return words;
  return key;
}

}  // namespace circumfluence::window
