// Events: passages of the beam over a row of cells, in the order of time.
//
// An event's incident fluence at a column is energy * share: the line's energy per length, already blurred
// along the line by the beam's own profile, times the part of the beam's cross-section that falls on the
// cell. Rows are handed out one at a time; no map of events is ever stored.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "exposure/echo.h"
#include "exposure/states.h"
#include "motion/commands.h"

namespace circumfluence::exposure {

struct EventRow {
  const float* energy;   // [J/m] of each column
  const float* heating;  // [J/m] of each column: of the steady line that would get the place as hot (exposure/echo.h)
  bool uniform;         // the values below hold for the whole row; otherwise the arrays do
  float share;          // [1/m] fluence per line energy
  float eta;            // [1] distance of the cell's centre from the line over the beam's radius across it
  float half;           // [1] half the cell's width across the line over that radius
  float angle;          // [1] absorptivity of the bare base against that at normal incidence
  std::uint16_t state;  // index into the exposure's states
  const float* shares;
  const float* etas;
  const float* halves;
  const float* angles;
  const std::uint16_t* states;
  int pass;                   // which pass, from 0
  int line;                   // which line of it, where one line serves the row
  const std::int32_t* lines;  // by column where lines run across the row; -1: none. Else null.

  EventRow from(int column) const;  // the same event, its arrays beginning there
};

// Walks rows of the surface; one a thread. The row it returns is valid until the next call.
class Cursor {
 public:
  virtual ~Cursor() = default;
  virtual std::span<const EventRow> at(int row) = 0;
};

// Every pass brings the events of the first again, in the same order.
void repeat(std::vector<EventRow>& events, int passes);

// Distance from its line, in beam radii, up to which an event is said to warm a cell: peak temperatures
// further away, below a tenth of the line's own, are left out of the map.
inline constexpr double kWarmReach = 4.0;

class Exposure {
 public:
  virtual ~Exposure() = default;
  // The echo has to outlive the cursor; without moments, or without an echo, a line heats as it lights.
  virtual std::unique_ptr<Cursor> cursor(const Echo& echo) const = 0;
  std::unique_ptr<Cursor> cursor() const;
  virtual const std::vector<SpotState>& states() const = 0;
  virtual const motion::Commands& commands() const = 0;  // over the exposure's own columns
};

}  // namespace circumfluence::exposure
