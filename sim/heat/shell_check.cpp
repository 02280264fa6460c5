#include <cmath>
#include <string>

#include "heat/shell_parts.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

[[noreturn]] void refuse(const std::string& what, const std::string& why) {
  throw quantity::ValidityError("heating of the wall: " + what + " (" + why + ")");
}

void positive(double value, const char* name) {
  if (!(value > 0) || !std::isfinite(value))
    refuse(std::string(name) + " = " + std::to_string(value), "expected more than zero");
}

void not_negative(double value, const char* name) {
  if (!(value >= 0) || !std::isfinite(value))
    refuse(std::string(name) + " = " + std::to_string(value), "expected zero or more");
}

void check_body(const ShellJob& job) {
  positive(job.wall.thickness, "thickness");
  positive(job.wall.conductivity, "conductivity");
  positive(job.wall.capacity, "capacity");
  positive(job.tube.circumference, "circumference");
  positive(job.tube.length, "length");
  positive(job.tube.around, "cells around");
  positive(job.tube.axial, "axial cells");
  positive(job.beam, "beam radius");
  positive(job.window, "window");
  not_negative(job.wait, "wait");
  not_negative(job.loss.outside, "loss outside");
  not_negative(job.loss.inside, "loss inside");
  if (!job.loss.water) return;
  positive(job.loss.water->transfer, "transfer to the water");
  positive(job.loss.water->capacity, "heat capacity of the water");
}

void check_line(const BurntLine& line, const ShellFrame& frame, const std::string& name) {
  positive(line.duration, (name + ": duration").c_str());
  if (!std::isfinite(line.start)) refuse(name, "expected a start");
  if (line.energies.empty() || line.first < 0 || line.first + std::ssize(line.energies) > frame.along.cells)
    refuse(name + ": cells",
           "expected within the " + std::to_string(frame.along.cells) + " cells of the wall");
  const bool inside = frame.across.closed ? std::isfinite(line.across)
                                          : line.across >= 0 && line.across <= frame.across.length;
  if (!inside) refuse(name + ": across = " + std::to_string(line.across), "expected on the wall");
  for (const float e : line.energies)
    if (!(e >= 0) || !std::isfinite(e)) refuse(name + ": energy", "expected zero or more in every cell");
}

double end_of(const BurntLine& line) {
  return line.start + line.duration;
}

void check_lines(const ShellJob& job, const ShellFrame& frame) {
  for (std::size_t n = 0; n < job.lines.size(); ++n) {
    const std::string name = "line " + std::to_string(n + 1);
    check_line(job.lines[n], frame, name);
    if (n > 0 && job.lines[n].start < end_of(job.lines[n - 1]) - 1e-9 * job.lines[n].duration)
      refuse(name + " starts at " + std::to_string(job.lines[n].start) + " s",
             "expected one line after the other; the line before ends at " +
                 std::to_string(end_of(job.lines[n - 1])) + " s");
  }
}

}  // namespace

void check(const ShellJob& job, const ShellFrame& frame) {
  check_body(job);
  check_lines(job, frame);
}

}  // namespace circumfluence::heat
