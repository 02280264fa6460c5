// Events: passages of the beam over a row of cells, in the order of time; and from plan to events: which lines reach a
// row, and what each brings.
//
// An event's incident fluence at a column is energy * share: the line's energy per length, already blurred
// along the line by the beam's own profile, times the part of the beam's cross-section that falls on the
// cell. Rows are handed out one at a time; no map of events is ever stored.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "beam/laser.h"
#include "exposure/echo.h"
#include "exposure/light.h"
#include "motion/commands.h"
#include "motion/mount.h"
#include "motion/raster.h"
#include "workpiece/surface.h"

namespace circumfluence::exposure {

struct EventRow {
  const float* energy;  // [J/m] of each column
  const float*
      heating;   // [J/m] of each column: of the steady line that would get the place as hot (exposure/echo.h)
  bool uniform;  // the values below hold for the whole row; otherwise the arrays do
  float share;   // [1/m] fluence per line energy
  float eta;     // [1] distance of the cell's centre from the line over the beam's radius across it
  float half;    // [1] half the cell's width across the line over that radius
  float angle;   // [1] absorptivity of the bare base against that at normal incidence
  std::uint16_t state;  // index into the exposure's states
  const float* shares;
  const float* etas;
  const float* halves;
  const float* angles;
  const std::uint16_t* states;
  int pass;                   // which pass, from 0
  int line;                   // which line of it, where one line serves the row; of a path, the piece (or its line's first)
  const std::int32_t* lines;  // by column where lines run across the row; -1: none. Else null.

  EventRow from(int column) const;  // the same event, its arrays beginning there
};

// Walks rows of the surface; one a thread. The row it returns is valid until the next call.
class Cursor {
 public:
  virtual ~Cursor() = default;
  virtual std::span<const EventRow> at(int row) = 0;
  // Without artwork to say it: 1 in the cells of the row that are to be marked, else 0.
  virtual void wanted(int row, std::span<std::uint8_t> out);
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
  // Over its own columns; null: a path, which has none.
  virtual const motion::Commands* commands() const { return nullptr; }
};

// Absorptivity of the base against that at normal incidence, by cosine of incidence and the axial share of
// the tilt (beam/fresnel.h).
using AngleFactor = std::function<double(double incidence, double slope_share)>;

struct Arrangement {
  workpiece::Surface surface;
  motion::Mount mount;
  motion::Raster raster;
  beam::Laser laser;
  Light light;
  double power;  // [W] on the part, at full tone
  double speed;  // [m/s] asked for
  motion::PowerHabit power_habit;
  AngleFactor angle_factor;
  artwork::Image image;
  artwork::Placement placement;
};

// Fluence of an event is the mean over the cell. The beam's radii are those at the height where the line's
// middle meets the part; a line that misses the part with its middle burns nothing. Within 1e-4 of the peak
// of direct integration in time on a cylinder, 1e-3 on tapers, 1e-2 where a steep flank is far out of focus
// or a beam stands far beside the axis of a taper (docs/theory/exposure.md). Energy is conserved to 1e-4 in
// float maps.
std::unique_ptr<Exposure> expose(Arrangement arrangement);

}  // namespace circumfluence::exposure
