// What became of a cell.
#pragma once

#include <cstdint>

namespace circumfluence::response {

enum class Outcome : std::uint8_t {
  untouched = 0,     // nothing happened
  under_marked = 1,  // something did, not enough
  marked = 2,        // as a mark should be
  over_burned = 3,   // beyond what the base stands
};

inline constexpr const char* kOutcomeNames[4] = {"untouched", "under-marked", "marked", "over-burned"};

}  // namespace circumfluence::response
