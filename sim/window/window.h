// The process window: what an even fill comes to over power and speed and, on request, line spacing, focus offset and
// passes. Power only scales, so that it is solved once a speed (window/ends.h) and every power read off.
#pragma once

#include <span>
#include <vector>

#include "mark/verdict.h"
#include "quantity/bands.h"
#include "window/chance.h"

namespace circumfluence::window {

struct Axes {
  std::vector<double> power;         // [W] set at the source, rising
  std::vector<double> speed;         // [m/s], rising
  std::vector<double> spacing;       // [m], rising; one: no axis
  std::vector<double> focus_offset;  // [m], rising; one: no axis
  std::vector<int> passes;           // rising; one: no axis

  size_t settings() const { return power.size() * solutions(); }
  size_t solutions() const { return speed.size() * spacing.size() * focus_offset.size() * passes.size(); }
  size_t index(size_t spacing, size_t focus_offset, size_t passes, size_t speed) const;  // of a solution
};

inline constexpr size_t kManySettings = 1'000'000;

// What an axis runs over where nothing is said: powers evenly from 2 % of the rated one to all of it; speeds from a fifth
// of the job's to five times it, or to scan.top_speed, evenly in the logarithm; the job's own fill.
Axes axes_of(const job::Job& job, int powers = 60, int speeds = 60);

// Throws ValidityError naming the axis: empty, not rising, not finite, not positive (a focus offset may be), or more
// settings than kManySettings unless `many` allows them.
void check(const Axes& axes, bool many);

struct Window {
  Axes axes;
  std::vector<Ends> ends;          // by solution, [spacing][focus_offset][passes][speed]
  std::vector<double> duration;    // [s] likewise
  std::vector<WallRise> walls;     // likewise; empty: of a cold wall
};

struct WindowRequest {
  bool warming = false;  // count the heat that earlier lines leave in the wall: some 100 ms more a fill
  bool many = false;
  int threads = 0;
  quantity::Progress progress = {};
};

// Throws what check() and ends() throw; Interrupted.
Window window(const mark::Scene& scene, const Axes& axes, const WindowRequest& request = {});

// What a power [W] comes to between the ends of a setting.
mark::Ruling ruling(const Ends& ends, double power);

// The outlook at every solution of a window, in its order.
std::vector<Outlook> outlooks(const Doubt& doubt, const Window& window, const quantity::Progress& progress = {});

// A chart of a window over power and speed, of its first fill: outcomes as a field, margins as lines, job times on the
// upper edge, settings as markers. Throws FileError.
struct Mark {
  double power, speed;  // [W], [m/s]
  std::string label;
};
struct WindowPicture {
  std::string title = {}, subtitle = {};
  std::vector<Mark> marks = {};
  std::vector<Outlook> outlooks = {};  // by speed, for the lines of chance; may be empty
  double chance_marks = 0.95, chance_burns = 0.05;
};
void write_picture(const std::string& path, const Window& window, const WindowPicture& picture);

// Every setting as a row of CSV, powers within speeds within passes, focus offsets and spacings; "inf" for an end that no
// power reaches. Chances are left empty without outlooks. Whole or not at all. Throws FileError; Interrupted.
void write_table(const std::string& path, const Window& window, std::span<const Outlook> outlooks = {},
                 const quantity::Progress& progress = {});

}  // namespace circumfluence::window
