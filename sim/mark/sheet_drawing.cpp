// Drawings of the set-up sheet: the part from its mouth and from its side, in true proportion. In millimetres
// of paper; each view takes the largest usual scale that fits its box, and states it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "mark/set_up.h"
#include "quantity/constants.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using motion::End;
using quantity::kPi;
using Outline = std::vector<std::pair<double, double>>;

constexpr double kHigh = 62, kEndWidth = 62, kSideWidth = 102, kMargin = 6;  // [mm of paper]
constexpr double kUsual[] = {5,       2,       1,        1 / 2.0,  1 / 2.5,  1 / 3.0,  1 / 4.0,
                             1 / 5.0, 1 / 8.0, 1 / 10.0, 1 / 15.0, 1 / 20.0, 1 / 50.0, 1 / 100.0};
constexpr double kAir = 20e-3;  // [m] between surface and head, where the focus distance is not stated
constexpr double kHeadWide = 16e-3, kHeadHigh = 12e-3;  // [m] of the box that stands for the head
constexpr int kPlaces = 401;                            // of an outline that is not straight

bool given(double value) {
  return !std::isnan(value);
}
std::string mm(double length) {
  return quantity::format(std::abs(length) < 5e-10 ? 0.0 : length, "mm", 4);
}

struct Bounds {
  double left, right, bottom, top;  // [m]
};
// Paper with a scale: lengths in metres, upward; `mirrored`: growing to the left.
class Drawing {
 public:
  Drawing(double width, double below, const Bounds& b, bool mirrored = false)
      : width_(width), sign_(mirrored ? -1 : 1) {
    for (const double usual : kUsual) {
      scale_ = 1e3 * usual;
      if (scale_ * (b.right - b.left) <= width - 2 * kMargin &&
          scale_ * (b.top - b.bottom) <= kHigh - kMargin - below)
        break;
    }
    x_ = width / 2 - sign_ * scale_ * (b.left + b.right) / 2;
    y_ = kHigh - below + scale_ * b.bottom;
  }
  double x(double right) const { return x_ + sign_ * scale_ * right; }
  double y(double up) const { return y_ - scale_ * up; }
  double metres(double paper) const { return paper / scale_; }

  void line(double x1, double y1, double x2, double y2, const char* kind = "k") {
    add(R"(<path class="{}" d="M{:.2f} {:.2f}L{:.2f} {:.2f}"/>)", kind, x(x1), y(y1), x(x2), y(y2));
  }
  void circle(double right, double up, double radius, const char* kind = "k") {
    add(R"(<circle class="{}" cx="{:.2f}" cy="{:.2f}" r="{:.2f}"/>)", kind, x(right), y(up), scale_ * radius);
  }
  void dot(double right, double up, const char* kind = "f") { circle(right, up, metres(0.8), kind); }
  void box(const Bounds& b, const char* kind) {
    polygon({{b.left, b.bottom}, {b.right, b.bottom}, {b.right, b.top}, {b.left, b.top}}, kind);
  }
  void polygon(const Outline& corners, const char* kind) {
    std::string path;
    for (const auto& [right, up] : corners)
      path += fmt::format("{}{:.2f} {:.2f}", path.empty() ? "M" : "L", x(right), y(up));
    add(R"(<path class="{}" d="{}Z"/>)", kind, path);
  }
  // Of a line that comes from the direction `from` [rad], anticlockwise from the right.
  void tip(double right, double up, double from) {
    Outline corners = {{right, up}};
    for (const double side : {0.32, -0.32})
      corners.push_back(
          {right + metres(2.2) * std::cos(from + side), up + metres(2.2) * std::sin(from + side)});
    polygon(corners, "f");
  }
  void text(double right, double up, const std::string& words, const char* anchor = "middle") {
    add(R"(<text x="{:.2f}" y="{:.2f}" text-anchor="{}">{}</text>)", x(right), y(up), anchor, words);
  }
  // Lengths with tips at both ends and their words outside, above or below.
  void upright(double right, double from, double to) {
    line(right, from, right, to, "t");
    tip(right, from, kPi / 2), tip(right, to, -kPi / 2);
    text(right + (right > 0 ? 1 : -1) * metres(0.8), (from + to) / 2 - metres(0.9), mm(to - from),
         right > 0 ? "start" : "end");
  }
  void level(double up, double from, double to, bool below) {
    if (to - from < metres(9)) return;  // no room for its words
    line(from, up, to, up, "t");
    tip(from, up, 0), tip(to, up, kPi);
    text((from + to) / 2, up + metres(below ? -2.6 : 0.8), mm(to - from));
  }
  // Turns what follows, anticlockwise about a point, until `straight`.
  void turned(double angle, double right, double up) {
    add(R"_(<g transform="rotate({:.4f} {:.2f} {:.2f})">)_", -sign_ * angle * 180 / kPi, x(right), y(up));
  }
  void straight() { add("</g>"); }
  std::string svg(const std::string& caption) const {
    const double usual = scale_ / 1e3;
    return fmt::format(
        "<figure><svg width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n{2}</svg>"
        "<figcaption>{3}. Scale&#160;{4:.4g}&#160;:&#160;{5:.4g}</figcaption></figure>\n",
        width_, kHigh, body_, caption, std::max(usual, 1.0), std::max(1 / usual, 1.0));
  }

 private:
  template <class... Values>
  void add(fmt::format_string<Values...> words, Values&&... values) {
    body_ += fmt::format(words, std::forward<Values>(values)...) + "\n";
  }
  double width_, sign_, scale_ = 1, x_ = 0, y_ = 0;
  std::string body_;
};

// Heights above the part's axis where the focus is set [m].
struct Levels {
  double surface, head, bed;  // bed: NaN when it is not known
  std::optional<motion::Seat> seat;
  double roller = 0, rollers = 0;  // radius; height of their axes
  double lowest;

  explicit Levels(const SetUp& sheet)
      : surface(sheet.stack.radius),
        head(surface + (given(sheet.stack.focus) ? sheet.stack.focus : kAir)),
        bed(-sheet.stack.axis),
        lowest(-workpiece::Profile(sheet.job.workpiece).greatest_radius()) {
    if (sheet.turning) seat = sheet.turning->seat;
    if (seat) {
      const double lever = given(seat->contact) ? seat->contact - sheet.focus_at : 0;
      roller = sheet.job.rotary.roller_diameter / 2, rollers = lever * std::tan(seat->tilt) - seat->above;
      lowest = std::min(lowest, rollers - roller);
    }
    if (given(bed)) lowest = std::min(lowest, bed);
  }
};

void draw_head(Drawing& d, double right, const Levels& at) {
  d.box({right - kHeadWide / 2, right + kHeadWide / 2, at.head, at.head + kHeadHigh}, "h");
}

// The part turns against the beam's way over it, 1 to the right or -1 to the left.
void draw_turning(Drawing& d, double radius, double beam) {
  constexpr int kChords = 24;
  const auto angle = [beam](int i) { return kPi / 2 + beam * (0.9 + 1.3 * i / kChords); };
  for (int i = 0; i < kChords; ++i)
    d.line(radius * std::cos(angle(i)), radius * std::sin(angle(i)), radius * std::cos(angle(i + 1)),
           radius * std::sin(angle(i + 1)));
  const double end = angle(kChords);
  d.tip(radius * std::cos(end), radius * std::sin(end), end - beam * (kPi / 2 + 0.12));
  d.text(0, -radius * 0.45, "turns");
}

void draw_heights(Drawing& d, const SetUp& sheet, const Levels& at, double half) {
  const double side = half + d.metres(4);
  if (given(at.bed) || given(sheet.stack.focus)) d.line(0, at.surface, side, at.surface, "t");
  if (given(at.bed)) d.upright(side, at.bed, at.surface), d.upright(-side, at.bed, 0);
  if (!given(sheet.stack.focus)) return;
  d.line(0, at.head, side, at.head, "t");
  d.upright(side, at.surface, at.head);
}

}  // namespace

std::string end_view(const SetUp& sheet) {
  const workpiece::Profile profile(sheet.job.workpiece);
  const Levels at(sheet);
  const double radius = profile.radius(sheet.focus_at), widest = profile.greatest_radius();
  const double apart =
      at.seat ? sheet.job.rotary.roller_gap / 2 + at.roller : 0;  // of a roller's axis from the middle
  const double half = std::max({widest, apart + at.roller, kHeadWide / 2});
  Drawing d(kEndWidth, kMargin, {-1.3 * half, 1.3 * half, at.lowest, at.head + kHeadHigh});
  if (given(at.bed)) d.line(-1.3 * half, at.bed, 1.3 * half, at.bed, "b");
  for (const double side : {-apart, apart})
    if (at.seat) d.circle(side, at.rollers, at.roller), d.dot(side, at.rollers);
  d.circle(0, 0, widest, "p");
  if (radius < widest * 0.9995) d.circle(0, 0, radius);
  d.line(-d.metres(1.5), 0, d.metres(1.5), 0, "t"), d.line(0, -d.metres(1.5), 0, d.metres(1.5), "t");
  // `around` grows to the right over the top, seen from where axial positions end.
  const bool to_the_right = sheet.job.mount.mouth != End::start;
  const double beam = (to_the_right ? 1 : -1) * sheet.job.mount.beam_offset;
  draw_head(d, beam, at);
  d.line(beam, at.head, beam, at.surface, "l");
  d.dot(beam, at.surface);
  const bool against = int(motion::against(sheet.job.mount)) & int(artwork::Mirror::around);
  if (sheet.turning && motion::way_stated(sheet.job.mount))
    draw_turning(d, 0.72 * radius, to_the_right != against ? 1 : -1);
  draw_heights(d, sheet, at, half);
  return d.svg(sheet.job.mount.mouth == End::unstated ? "Seen along the axis, from where axial positions end"
                                                      : "Seen from the mouth");
}

namespace {

// Whether axial positions grow to the left, seen from the machine's front.
bool leftward(const motion::Mount& mount) {
  return mount.mouth_faces == (mount.mouth == End::end ? motion::Toward::left : motion::Toward::right);
}

bool across_the_front(const motion::Mount& mount) {
  return mount.mouth_faces == motion::Toward::left || mount.mouth_faces == motion::Toward::right;
}

// The part's edge from `from` to `to`, so many times its radius up.
Outline edge(const workpiece::Profile& profile, double from, double to,
             const std::function<double(double)>& share) {
  Outline out;
  const int last = profile.constant(from, to) ? 1 : kPlaces - 1;
  for (int i = 0; i <= last; ++i) {
    const double axial = from + (to - from) * i / last;
    out.push_back({axial, share(axial) * profile.radius(axial)});
  }
  return out;
}

void draw_between(Drawing& d, const Outline& low, Outline high, const char* kind) {
  high.insert(high.end(), low.rbegin(), low.rend());
  d.polygon(high, kind);
}

// How high a place around stands, as a share of the radius: 1 on top, -1 below.
double height_share(const SetUp& sheet, double around, double radius) {
  if (sheet.turning) return std::cos(2 * around / sheet.turning->driven);
  return std::sqrt(std::max(0.0, 1 - around * around / (radius * radius)));
}

// What of the art can be seen: from the top line down the side in front, `side` = 1 where `around` grows to
// it.
void draw_art(Drawing& d, const SetUp& sheet, const workpiece::Profile& profile, double side) {
  const double half_turn = sheet.turning ? kPi * sheet.turning->driven / 2 : quantity::kInfinity;
  const double one = side * sheet.art.around_from, other = side * sheet.art.around_to;
  const double high = std::max(std::min(one, other), 0.0), low = std::min(std::max(one, other), half_turn);
  if (low <= high) return;
  const double from = std::max(sheet.art.axial_from, 0.0),
               to = std::min(sheet.art.axial_to, profile.length());
  const auto at = [&](double around) {
    return edge(profile, from, to,
                [&](double axial) { return height_share(sheet, around, profile.radius(axial)); });
  };
  draw_between(d, at(low), at(high), "a");
}

void draw_lengths(Drawing& d, const SetUp& sheet, double lowest) {
  const double length = sheet.job.workpiece.length, up = lowest - d.metres(4.5);
  const double places[] = {0.0, sheet.art.axial_from, sheet.art.axial_to, length};
  for (const double axial : places) d.line(axial, lowest, axial, up - d.metres(1), "t");
  for (int i = 0; i < 3; ++i) d.level(up, places[i], places[i + 1], i == 1);
  const End mouth = sheet.job.mount.mouth;
  for (const End end : {End::start, End::end}) {
    const double axial = end == End::start ? 0 : length;
    d.text(axial, up - d.metres(4),
           mouth == End::unstated ? "axial " + mm(axial)
           : mouth == end         ? "mouth"
                                  : "base");
  }
}

void draw_start(Drawing& d, const SetUp& sheet, const Levels& at) {
  const Start& s = *sheet.start;
  d.line(s.head_from, at.head, s.head_to, at.head, "l");
  d.tip(s.head_from, at.head, 0), d.tip(s.head_to, at.head, kPi);
  draw_head(d, s.axial, at);
  d.text(s.axial, at.head + kHeadHigh + d.metres(1), "start");
}

}  // namespace

std::string side_view(const SetUp& sheet) {
  const workpiece::Profile profile(sheet.job.workpiece);
  const Levels at(sheet);
  const double length = profile.length(), side = leftward(sheet.job.mount) ? 1 : -1;
  const double from = sheet.start ? std::min(0.0, sheet.start->head_from) : 0.0;
  const double to = sheet.start ? std::max(length, sheet.start->head_to) : length;
  Drawing d(kSideWidth, 11, {from, to, at.lowest, at.head + kHeadHigh}, side > 0);
  if (given(at.bed)) d.line(from, at.bed, to, at.bed, "b");
  if (at.seat) d.box({0, length, at.rollers - at.roller, at.rollers + at.roller}, "t");
  d.turned(at.seat ? at.seat->tilt : 0, sheet.focus_at, 0);
  const auto whole = [&](double sign) { return edge(profile, 0, length, [sign](double) { return sign; }); };
  draw_between(d, whole(-1), whole(1), "p");
  draw_art(d, sheet, profile, side);
  d.line(0, 0, length, 0, "x");
  if (sheet.start) {
    const double on = std::clamp(sheet.start->axial, 0.0, length), radius = profile.radius(on);
    d.dot(on, radius * height_share(sheet, sheet.start->around, radius),
          side * sheet.start->around >= 0 ? "f" : "k");
  }
  d.straight();
  d.line(sheet.focus_at, at.head, sheet.focus_at, at.surface, "l");
  d.dot(sheet.focus_at, at.surface);
  if (sheet.start) draw_start(d, sheet, at);
  draw_lengths(d, sheet, at.lowest);
  return d.svg(fmt::format(
      "Seen from the {}; shaded: the art, as far as it can be seen; dots: where the focus is set, and where "
      "the first line begins (open: behind)",
      across_the_front(sheet.job.mount) ? "front of the machine" : "side"));
}

}  // namespace circumfluence::mark
