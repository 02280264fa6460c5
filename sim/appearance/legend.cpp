#include "appearance/legend.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace circumfluence::appearance {
namespace {

constexpr Type kType{.size = 12.5, .colour = kInk};
constexpr double kIndent = 30.0, kGap = 28.0, kRow = 24.0, kNextLine = 16.0;
constexpr double kWidth = 20.0, kHeight = 14.0;  // of a swatch

void draw_swatch(Sheet& sheet, const LegendEntry& entry, Point corner) {
  const Box box{corner.x, corner.y, kWidth, kHeight};
  const Point middle{corner.x + 0.5 * kWidth, corner.y + 0.5 * kHeight};
  const std::array<Point, 4> frame = {
      {{box.x, box.y}, {box.x + kWidth, box.y}, {box.x + kWidth, box.y + kHeight}, {box.x, box.y + kHeight}}};
  const std::array<Point, 2> level = {{{box.x - 2.0, middle.y}, {box.x + kWidth + 2.0, middle.y}}};
  switch (entry.swatch) {
    case Swatch::area:
      sheet.fill(box, entry.colour);
      return sheet.outline(box, kEdge);
    case Swatch::hatch:
      sheet.hatch(frame, entry.colour);
      return sheet.outline(box, kEdge);
    case Swatch::line:
    case Swatch::dashes:
      return sheet.trace(level, {entry.colour, 2.0, entry.swatch == Swatch::dashes});
    case Swatch::dot:
      return draw(sheet, Shape::dot, middle, entry.colour);
    case Swatch::ring:
      return draw(sheet, Shape::ring, middle, entry.colour);
    case Swatch::cross:
      return draw(sheet, Shape::cross, middle, entry.colour);
  }
}

}  // namespace

void draw(Sheet& sheet, Shape shape, Point at, Colour colour) {
  constexpr double r = kShapeRadius, pale = 2.0;
  if (shape == Shape::cross) {
    for (const auto& [thickness, ink] : {std::pair{2.5 + 2.0 * pale, kPaper}, {2.5, colour}}) {
      const double arm = 0.85 * r + (ink == kPaper ? pale : 0.0);
      sheet.line({at.x - arm, at.y - arm}, {at.x + arm, at.y + arm}, ink, thickness);
      sheet.line({at.x - arm, at.y + arm}, {at.x + arm, at.y - arm}, ink, thickness);
    }
    return;
  }
  sheet.disc(at, r + pale, kPaper);
  sheet.disc(at, r, colour);
  if (shape == Shape::ring) sheet.disc(at, r - 2.5, kPaper);
}

Legend::Legend(const std::vector<LegendEntry>& entries, double room) {
  const Sheet ruler(1, 1, kPaper);
  for (const LegendEntry& entry : entries) {
    items_.push_back({entry, ruler.lines(entry.text, kType, room - kIndent), 0.0});
    for (const std::string& line : items_.back().lines)
      items_.back().width =
          std::max(items_.back().width, std::ceil(kIndent + ruler.length(line, kType) + kGap));
  }
  // Rows are added until the columns they leave fit side by side.
  for (rows_ = 1; rows_ < items_.size() && lay_columns() > room + kGap;) ++rows_;
  lay_columns();
  for (size_t row = 0; row < std::min(rows_, items_.size()); ++row) {
    tops_.push_back(height_);
    size_t most = 1;
    for (size_t i = row; i < items_.size(); i += rows_) most = std::max(most, items_[i].lines.size());
    height_ += kRow + kNextLine * (double(most) - 1.0);
  }
}

double Legend::lay_columns() {
  double left = 0.0;
  lefts_.clear();
  for (size_t first = 0; first < items_.size(); first += rows_) {
    double widest = 0.0;
    for (size_t i = first; i < std::min(first + rows_, items_.size()); ++i)
      widest = std::max(widest, items_[i].width);
    lefts_.push_back(left);
    left += widest;
  }
  return left;
}

int Legend::height() const {
  return int(height_);
}

void Legend::draw(Sheet& sheet, Point upper_left) const {
  for (size_t i = 0; i < items_.size(); ++i) {
    const Point corner{upper_left.x + lefts_[i / rows_], upper_left.y + tops_[i % rows_]};
    draw_swatch(sheet, items_[i].entry, corner);
    for (size_t row = 0; row < items_[i].lines.size(); ++row)
      sheet.text({corner.x + kIndent, corner.y + 12.0 + kNextLine * double(row)}, items_[i].lines[row],
                 kType);
  }
}

}  // namespace circumfluence::appearance
