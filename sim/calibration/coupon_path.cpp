// A coupon as RS-274 words.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "calibration/coupon_drawing.h"
#include "motion/raster.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using motion::Direction;
using quantity::format;
using quantity::JobError;

constexpr int kMostLines = 1'000'000;  // burnt, in all
constexpr double kBack = 2e-3;         // [m] a part turns past where it is wanted, to come forward to it
constexpr double kSpare = 1.05;        // [1] of the way that an axis needs to gain its speed

// Numbers as controllers read them, without an exponent.
std::string fixed(double value, int decimals) {
  std::string out = fmt::format("{:.{}f}", value, decimals);
  if (decimals > 0) out.erase(out.find_last_not_of('0') + 1);
  if (out.ends_with('.')) out.pop_back();
  return out == "-0" ? "0" : out;
}
std::string seven_digits(double value) {
  return value > 0 ? fixed(value, std::clamp(6 - static_cast<int>(std::floor(std::log10(value))), 0, 12)) : "0";
}

// Words one after the other, and where they have got to.
class Words {
 public:
  Words(const Lie& lie, const job::Job& job, bool heights)
      : lie_(lie),
        rated_(job.laser.rated_power),
        full_(job.path.full_power_word),
        zero_(job.scan.focus_offset),
        heights_(heights) {
    const bool follows = job.scan.power_habit == motion::PowerHabit::follows_speed;
    const bool m4 =
        job.path.m4_follows_speed == follows || (job.path.m3_follows_speed != follows && job.path.m4_follows_speed);
    beam_ = m4 ? "M4 S0\n" : "M3 S0\n";
  }

  void remark(std::string text) {
    for (char& c : text)
      if (c == '\n') c = ' ';
    out_ += "(" + text + ")\n";
  }
  void add(const char* line) { out_ += line; }
  void focus(double offset) {
    if (!heights_) return;
    const std::string z = fixed(1e3 * (offset - zero_), 4);
    if (z != z_) out_ += "G0 Z" + z + "\n";
    z_ = z;
  }
  // Dark. A part that would turn back is turned back further, and forward again.
  void go(double x, double y) {
    const double around = lie_.around_word(y);
    if (lie_.turns && around < around_ - 1e-9) travel("G0", lie_.along_word(x), around - kBack / lie_.unit);
    travel("G0", lie_.along_word(x), around);
    out_ += '\n';
  }
  void on() { out_ += beam_, power_ = "0"; }
  void off() { out_ += "M5\n"; }
  // `power` [W]; 0: dark. By RS-274 the feed is along the straight axes wherever one of them moves.
  void feed(double x, double y, double speed, double power) {
    const double from_along = along_, from_around = around_;
    travel("G1", lie_.along_word(x), lie_.around_word(y));
    double feed = 60e3 * speed;
    if (lie_.degrees()) {
      const double along = 1e-3 * (along_ - from_along), arc = lie_.unit * (around_ - from_around);
      feed = along == 0 ? 60 * speed / lie_.unit : feed * std::abs(along) / std::hypot(along, arc);
    }
    set('F', seven_digits(feed), feed_);
    set('S', seven_digits(power / rated_ * full_), power_);
    out_ += '\n';
  }
  std::string take() { return std::move(out_); }

 private:
  // Of words as rounded, so that feeds are of the way they make.
  void travel(const char* how, double along, double around) {
    if (!out_.ends_with('\n')) out_ += '\n';
    const std::string one = fixed(along, 4), other = fixed(around, lie_.degrees() ? 5 : 4);
    out_ += fmt::format("{} {}{} {}{}", how, lie_.along, one, lie_.around, other);
    std::from_chars(one.data(), one.data() + one.size(), along_);
    std::from_chars(other.data(), other.data() + other.size(), around_);
  }
  void set(char letter, const std::string& value, std::string& stands) {
    if (value == stands) return;
    out_ += fmt::format(" {}{}", letter, value);
    stands = value;
  }

  Lie lie_;
  double rated_, full_, zero_;
  bool heights_;
  const char* beam_;
  std::string out_, z_ = "0", feed_, power_;
  double along_ = 0, around_ = 0;
};

// A line of a fill: where it is lit, forth.
struct Line {
  Direction direction;
  double cross;
  std::vector<std::array<double, 2>> lit;
  bool back;
};

class Writer {
 public:
  Writer(const Coupon& coupon, const job::Job& job)
      : coupon_(coupon), job_(job), words_(lie_of(coupon, job), job, heights()) {}

  std::string write() {
    words_.remark(fmt::format("coupon of {} patches, {:.6g} x {:.6g} mm, {}", coupon_.slots.size(),
                              1e3 * coupon_.width, 1e3 * coupon_.height, kGroundNames[int(coupon_.ground)]));
    words_.remark(fmt::format("run-ups reach {:.6g} mm beyond its marks", 1e3 * longest_run_up()));
    words_.add("G21 G90 G94\nM5 S0\n");
    words_.focus(coupon_.ink.focus_offset);
    for (int which = 0; which < 4; ++which) {
      words_.remark("corner mark");
      fill(coupon_.ink, corner_mark(coupon_, which), which == 0);
    }
    for (const std::vector<Trace>& label : lettering(coupon_)) write_label(label);
    const std::vector<std::string> names = labels(coupon_);
    for (size_t i = 0; i < names.size(); ++i) {
      const Slot& slot = coupon_.slots[i];
      words_.remark(names[i]);
      words_.focus(slot.patch.focus_offset);
      slot.patch.is_line() ? single(slot) : fill(slot.patch, slot.place, false);
    }
    words_.focus(job_.scan.focus_offset);
    words_.go(0, 0);
    words_.add("M2\n");
    return words_.take();
  }

 private:
  bool heights() const {
    const auto differs = [this](const Patch& patch) { return patch.focus_offset != job_.scan.focus_offset; };
    return differs(coupon_.ink) || std::any_of(coupon_.slots.begin(), coupon_.slots.end(),
                                               [&](const Slot& slot) { return differs(slot.patch); });
  }

  void write_label(const std::vector<Trace>& label) {
    const Patch& ink = coupon_.ink;
    for (const Trace& trace : label) {
      words_.go(trace.front()[0], trace.front()[1]);
      words_.on();
      for (size_t i = 1; i < trace.size(); ++i) words_.feed(trace[i][0], trace[i][1], ink.speed, ink.power);
      words_.off();
    }
  }

  void single(const Slot& slot) {
    const Rectangle& at = slot.place;
    const bool axial = slot.patch.direction == Direction::axial;
    const double from = axial ? at.x : at.y, to = from + (axial ? at.width : at.height);
    for (int pass = 0; pass < slot.patch.passes; ++pass)
      burn(slot.patch,
           {slot.patch.direction, axial ? at.y + at.height / 2 : at.x + at.width / 2, {{from, to}}, false});
  }

  // Over its slot a patch is planned as the job's art is.
  motion::Raster raster(const Patch& patch, const Rectangle& at) const {
    motion::Scan scan = job_.scan;
    scan.speed = patch.speed, scan.spacing = patch.spacing, scan.passes = patch.passes;
    scan.direction = patch.direction, scan.run_up = run_up(patch), scan.first_line = 0;
    if (std::isnan(scan.acceleration)) scan.acceleration = 1;  // [m/s^2] of times alone, which are not asked for
    return motion::plan(scan, {at.x, at.x + at.width, at.y, at.y + at.height});
  }

  void fill(const Patch& patch, const Rectangle& at, bool blank_middle) {
    const motion::Raster raster = this->raster(patch, at);
    if (!(lines_ + double(raster.lines) * raster.passes <= kMostLines))
      throw JobError(fmt::format("coupon with lines {} apart (makes more than {} lines; expected fewer)",
                                 format(patch.spacing, "mm"), kMostLines));
    const bool axial = patch.direction == Direction::axial;
    const double middle = axial ? at.y + at.height / 2 : at.x + at.width / 2, across = axial ? at.height : at.width;
    const double from = raster.along_from, to = raster.along_to, third = (to - from) / 3;
    for (int pass = 0; pass < raster.passes; ++pass)
      for (int turn = 0; turn < raster.lines; ++turn) {
        const int i = raster.line_of_turn(turn);
        Line line{patch.direction, raster.cross(i), {{from, to}}, raster.backward(i)};
        if (blank_middle && std::abs(line.cross - middle) < across / 6)
          line.lit = {{from, from + third}, {to - third, to}};
        burn(patch, std::move(line));
      }
  }

  void burn(const Patch& patch, Line line) {
    if (line.back) {
      std::reverse(line.lit.begin(), line.lit.end());
      for (auto& [from, to] : line.lit) std::swap(from, to);
    }
    lines_ += 1;
    const double ahead = (line.back ? -1 : 1) * run_up(patch);
    const bool axial = line.direction == Direction::axial;
    const auto x = [&](double along) { return axial ? along : line.cross; };
    const auto y = [&](double along) { return axial ? line.cross : along; };
    double at = line.lit.front()[0] - ahead;
    const auto feed = [&](double to, double power) {
      if (to != at) words_.feed(x(to), y(to), patch.speed, power);
      at = to;
    };
    words_.go(x(at), y(at));
    words_.on();
    for (const auto& [from, to] : line.lit) feed(from, 0), feed(to, patch.power);
    feed(at + ahead, 0);
    words_.off();
  }

  double longest_run_up() const {
    double out = run_up(coupon_.ink);
    for (const Slot& slot : coupon_.slots) out = std::max(out, run_up(slot.patch));
    return out;
  }

  double run_up(const Patch& patch) const {
    const bool axial = patch.direction == Direction::axial;
    const motion::Machine& machine = job_.machine;
    double acceleration = axial ? machine.axial_acceleration : machine.around_acceleration;
    if (std::isnan(acceleration)) acceleration = job_.scan.acceleration;
    const double jerk = std::isnan(machine.jerk) ? job_.scan.jerk : machine.jerk;
    if (std::isnan(acceleration)) return job_.scan.run_up;
    const double needed = motion::Ramp{0, patch.speed, acceleration, jerk > 0 ? jerk : 0}.distance() * kSpare;
    return std::isnan(job_.scan.run_up) ? needed : std::max(needed, job_.scan.run_up);
  }

  const Coupon& coupon_;
  const job::Job& job_;
  Words words_;
  double lines_ = 0;
};

}  // namespace

std::string path_text(const Coupon& coupon, const job::Job& job) {
  check(coupon);
  check_burnable(coupon, job);
  return Writer(coupon, job).write();
}

void write_path(const std::string& path, const Coupon& coupon, const job::Job& job) {
  quantity::write_whole(path, path_text(coupon, job));
}

}  // namespace circumfluence::calibration
