#include "appearance/chart.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "appearance/plot_area.h"
#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

constexpr Type kLetters{.size = 12.0};
constexpr double kHalo = 2.5, kCasing = 1.5;  // [pixel] of paper on either side of letters and lines
constexpr int kTop = 20, kNarrowest = 480;

std::string text(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

[[noreturn]] void refuse(const std::string& problem) {
  throw quantity::ValidityError("chart: " + problem);
}

void check(const std::string& name, const Axis& axis) {
  const std::string range = name + " = " + text(axis.from) + " to " + text(axis.to);
  if (!std::isfinite(axis.from) || !std::isfinite(axis.to))
    refuse(range + " (limits that are not finite; expected two numbers)");
  const double largest = std::max(std::abs(axis.from), std::abs(axis.to));
  if (!(axis.to > axis.from)) refuse(range + " (an empty range; expected the second limit above the first)");
  if (axis.to - axis.from < 1e-9 * largest || largest > 1e12 || largest < 1e-9)
    refuse(range +
           " (no ticks can be written for it; expected limits within 1e-9 to 1e12 and apart by more "
           "than a billionth). Try another unit");
  if (axis.logarithmic && !(axis.from > 0.0))
    refuse(range + " (a logarithmic axis; expected limits above zero)");
}

void check(const Chart& chart) {
  check("x", chart.x);
  check("y", chart.y);
  if (std::min(chart.width, chart.height) < 100 || std::max(chart.width, chart.height) > 4000)
    refuse("size = " + std::to_string(chart.width) + " x " + std::to_string(chart.height) +
           " (of the plot area; expected 100 to 4000 pixels each way)");
  const Pixels& field = chart.field;
  if (field.width < 0 || field.height < 0 || (field.width == 0) != (field.height == 0) ||
      field.rgb.size() != size_t(field.width) * size_t(field.height))
    refuse("field = " + std::to_string(field.width) + " x " + std::to_string(field.height) + " with " +
           std::to_string(field.rgb.size()) + " colours (expected one a pixel)");
  for (const Band& band : chart.bands)
    if (band.lower.size() != band.upper.size())
      refuse("band = " + std::to_string(band.lower.size()) + " and " + std::to_string(band.upper.size()) +
             " points (expected as many below as above)");
  const auto placed = [](double value, const Axis& axis) {
    return std::isfinite(value) && (!axis.logarithmic || value > 0.0);
  };
  for (const Marker& marker : chart.markers)
    if (!placed(marker.at.x, chart.x) || !placed(marker.at.y, chart.y))
      refuse("marker \"" + marker.label + "\" = " + text(marker.at.x) + ", " + text(marker.at.y) +
             " (no place on the axes; expected finite numbers, above zero where an axis is logarithmic)");
  for (const Tick& tick : chart.top)
    if (!placed(tick.value, chart.x))
      refuse("tick \"" + tick.label + "\" = " + text(tick.value) + " (no place on the axis of x)");
}

// Everything on the sheet; the legend grows by the labels that find no place.
class Composition {
 public:
  explicit Composition(const Chart& chart);
  void write(const std::string& path) const;

 private:
  struct Lettering {
    std::string words;
    Plate plate;
    Colour colour;
  };
  struct Leader {
    Point from, to;
    Colour colour;
  };
  void place_marker(const Marker& marker, LabelPlaces& places);
  void place_label(size_t curve, LabelPlaces& places);
  void draw_grid(Sheet& sheet) const;
  void draw_band(Sheet& sheet, const Band& band) const;
  void draw_curves(Sheet& sheet) const;
  void draw_labels(Sheet& sheet) const;
  Point at(Point p) const { return {place(x_, p.x), place(y_, p.y)}; }

  const Chart& chart_;
  const Sheet scrap_{1, 1, kPaper};  // to measure letters on
  Heading heading_;
  Box area_{};
  Ruler x_, y_, top_;
  int width_ = 0;
  double legend_top_ = 0.0;
  std::vector<std::vector<Line>> pieces_;     // of each curve, within the plot area
  std::vector<std::optional<Plate>> plates_;  // of each curve
  std::vector<Lettering> letterings_;
  std::vector<Leader> leaders_;
  std::vector<const Marker*> markers_;
  std::vector<LegendEntry> legend_;
};

Ruler ruler_of(const Axis& axis) {
  return {.from = axis.from, .to = axis.to, .title = axis.title, .logarithmic = axis.logarithmic};
}

bool inside(Point p, const Box& box) {
  return p.x >= box.x && p.x <= box.x + box.width && p.y >= box.y && p.y <= box.y + box.height;
}

Composition::Composition(const Chart& chart)
    : chart_(chart),
      heading_(chart.title, chart.subtitle, std::max(chart.width, kNarrowest)),
      x_(ruler_of(chart.x)),
      y_(ruler_of(chart.y)),
      top_(ruler_of(chart.x)),
      legend_(chart.legend) {
  y_.upright = true;
  y_.start = chart.height, y_.stop = 0.0;  // not yet in place, but as long as it will be
  area_ = {std::ceil(std::max(78.0, reach(scrap_, y_) + 4.0)), 0.0, double(chart.width),
           double(chart.height)};
  x_.start = top_.start = area_.x;
  x_.stop = top_.stop = area_.x + area_.width;
  top_.title = chart.top_title;
  top_.given = chart.top;
  top_.above = true;
  const bool topped = !chart.top.empty();
  area_.y = kTop + heading_.height() + 12 + (topped ? std::ceil(reach(scrap_, top_)) : 0.0);
  y_.start = x_.edge = area_.y + area_.height;
  y_.stop = top_.edge = area_.y;
  y_.edge = area_.x;
  width_ = int(area_.x) + std::max(chart.width, kNarrowest) + 36;
  legend_top_ = x_.edge + std::ceil(reach(scrap_, x_)) + 12.0;

  LabelPlaces places(area_);
  for (const Curve& curve : chart.curves) {
    Line line;
    for (const Point& point : curve.points) line.push_back(at(point));
    pieces_.push_back(cut_line(line, area_));
    places.rather_keep_clear(pieces_.back());
  }
  for (const Marker& marker : chart.markers) {
    if (!inside(at(marker.at), area_)) continue;
    markers_.push_back(&marker);
    places.keep_clear({at(marker.at), 2.0 * kShapeRadius + 6.0, 2.0 * kShapeRadius + 6.0});
  }
  for (const Marker* marker : markers_) place_marker(*marker, places);
  for (size_t i = 0; i < chart.curves.size(); ++i) place_label(i, places);
}

void Composition::place_marker(const Marker& marker, LabelPlaces& places) {
  if (marker.label.empty()) return;
  const double length = scrap_.length(marker.label, kLetters) + 8.0;
  const Point from = at(marker.at);
  const auto plate = places.near_point(from, kShapeRadius + 4.0, {length, kLetters.size + 6.0});
  if (!plate) {
    constexpr Swatch swatches[] = {Swatch::dot, Swatch::ring, Swatch::cross};
    legend_.push_back({marker.label, marker.colour, swatches[int(marker.shape)]});
    return;
  }
  letterings_.push_back({marker.label, *plate, kInk});
  const Point to = nearest(*plate, from);
  if (std::hypot(to.x - from.x, to.y - from.y) < kShapeRadius + 12.0) return;
  leaders_.push_back({from, to, kInk});
  places.rather_keep_clear(std::vector<Line>{{from, to}});
}

void Composition::place_label(size_t curve, LabelPlaces& places) {
  const Curve& c = chart_.curves[curve];
  plates_.emplace_back();
  if (c.label.empty() || pieces_[curve].empty()) return;
  const double length = scrap_.length(c.label, kLetters) + 8.0;
  plates_[curve] = places.on_line(pieces_[curve], {length, kLetters.size + 4.0});
  const Colour colour = lab_from_srgb(c.colour).l > 62.0 ? kInk : c.colour;  // letters must be readable
  if (plates_[curve])
    letterings_.push_back({c.label, *plates_[curve], colour});
  else
    legend_.push_back({c.label, c.colour, c.dashed ? Swatch::dashes : Swatch::line});
}

void Composition::draw_grid(Sheet& sheet) const {
  for (const Ruler* ruler : {&x_, &y_})
    for (const Tick& tick : ticks(scrap_, *ruler)) {
      if (tick.label.empty()) continue;
      const double p = std::floor(place(*ruler, tick.value)) + 0.5;
      if (ruler->upright)
        sheet.line({area_.x, p}, {area_.x + area_.width, p}, kGrid);
      else
        sheet.line({p, area_.y}, {p, area_.y + area_.height}, kGrid);
    }
}

void Composition::draw_band(Sheet& sheet, const Band& band) const {
  const auto above_zero = [](double value, const Axis& axis) {
    return axis.logarithmic && value <= 0.0 ? 1e-6 * axis.from : value;
  };
  Line lower, upper;
  const auto close = [&] {
    lower.insert(lower.end(), upper.rbegin(), upper.rend());
    const Line area = cut_area(lower, area_);
    if (band.hatched)
      sheet.hatch(area, band.colour);
    else
      sheet.fill(area, band.colour, kBandOpacity);
    lower.clear(), upper.clear();
  };
  for (size_t i = 0; i < band.lower.size(); ++i) {
    const auto spot = [&](Point p) { return at({above_zero(p.x, chart_.x), above_zero(p.y, chart_.y)}); };
    const Point low = spot(band.lower[i]), high = spot(band.upper[i]);
    if (std::isfinite(low.x + low.y + high.x + high.y))
      lower.push_back(low), upper.push_back(high);
    else
      close();
  }
  close();
}

// Where a curve's label stands the curve is interrupted; over a field it runs on a pale casing.
void Composition::draw_curves(Sheet& sheet) const {
  const bool cased = !chart_.field.rgb.empty();
  for (const bool casing : {true, false})
    for (size_t i = 0; i < pieces_.size(); ++i) {
      if (casing && !cased) continue;
      const Curve& curve = chart_.curves[i];
      sheet.clip(area_, plates_[i] ? corners(*plates_[i]) : Line{});
      for (const Line& piece : pieces_[i])
        sheet.trace(piece, casing ? Stroke{kPaper, curve.thickness + 2.0 * kCasing, false, 0.6}
                                  : Stroke{curve.colour, curve.thickness, curve.dashed});
      sheet.unclip();
    }
}

void Composition::draw_labels(Sheet& sheet) const {
  for (const Leader& leader : leaders_) {
    const Line line{leader.from, leader.to};
    sheet.trace(line, {kPaper, 1.0 + 2.0 * kCasing, false, 0.7});
    sheet.trace(line, {leader.colour, 1.0});
  }
  for (const Marker* marker : markers_) draw(sheet, marker->shape, at(marker->at), marker->colour);
  for (const Lettering& l : letterings_) {
    const double down = 0.36 * kLetters.size;  // from the middle of the letters to their foot
    const Point foot{l.plate.centre.x + down * std::sin(l.plate.turn),
                     l.plate.centre.y + down * std::cos(l.plate.turn)};
    sheet.text(
        foot, l.words,
        {.size = kLetters.size, .colour = l.colour, .anchor = 0.5, .turn = l.plate.turn, .halo = kHalo});
  }
}

void Composition::write(const std::string& path) const {
  const Legend legend(legend_, std::max(chart_.width, kNarrowest));
  Sheet sheet(width_, int(legend_top_) + legend.height() + 8, kPaper);
  heading_.draw(sheet, {area_.x, kTop});
  if (chart_.field.rgb.empty())
    draw_grid(sheet);
  else
    sheet.paste(chart_.field, area_);
  for (const Band& band : chart_.bands) draw_band(sheet, band);
  draw_curves(sheet);
  sheet.outline(area_, kEdge);
  draw(sheet, x_, kInk);
  draw(sheet, y_, kInk);
  if (!chart_.top.empty()) draw(sheet, top_, kInk);
  draw_labels(sheet);
  legend.draw(sheet, {area_.x, legend_top_});
  sheet.write(path, 0.0, 0.0);
}

}  // namespace

Colour tint(Colour colour, double strength) {
  for (size_t i = 0; i < 3; ++i)
    colour[i] = static_cast<std::uint8_t>(std::lround(kPaper[i] + (colour[i] - kPaper[i]) * strength));
  return colour;
}

void write_chart(const std::string& path, const Chart& chart) {
  check(chart);
  Composition(chart).write(path);
}

}  // namespace circumfluence::appearance
