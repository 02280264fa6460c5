#include "appearance/draw.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <new>

#include "appearance/picture.h"
#include "artwork/png.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::appearance {
namespace {

constexpr Type kTitle{.size = 18.0, .colour = kInk, .bold = true};
constexpr Type kSubtitle{.size = 13.0, .colour = kSoftInk};
constexpr int kTitleRow = 26, kSubtitleRow = 19;
constexpr double kHaloOpacity = 0.85;

std::uint32_t packed(const Colour& colour) {
  return 0xff000000u | std::uint32_t{colour[0]} << 16 | std::uint32_t{colour[1]} << 8 | colour[2];
}

void ink(cairo_t* pen, const Colour& colour, double opacity = 1.0) {
  cairo_set_source_rgba(pen, colour[0] / 255.0, colour[1] / 255.0, colour[2] / 255.0, opacity);
}

}  // namespace

Sheet::Sheet(int width, int height, Colour ground)
    : surface_(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height), cairo_surface_destroy),
      pen_(cairo_create(surface_.get()), cairo_destroy) {
  if (cairo_surface_status(surface_.get()) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();
  ink(pen_.get(), ground);
  cairo_paint(pen_.get());
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_SLIGHT);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_set_font_options(pen_.get(), options);
  cairo_font_options_destroy(options);
}

int Sheet::width() const {
  return cairo_image_surface_get_width(surface_.get());
}
int Sheet::height() const {
  return cairo_image_surface_get_height(surface_.get());
}

void Sheet::choose(const Type& type) const {
  cairo_select_font_face(pen_.get(), "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                         type.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(pen_.get(), type.size);
}

double Sheet::length(std::string_view words, const Type& type) const {
  choose(type);
  cairo_text_extents_t extents;
  cairo_text_extents(pen_.get(), std::string(words).c_str(), &extents);
  return extents.x_advance;
}

void Sheet::text(Point baseline, std::string_view words, const Type& type) {
  const double back = type.anchor == 0.0 ? 0.0 : type.anchor * length(words, type);
  choose(type);
  const std::string letters(words);
  cairo_save(pen_.get());
  cairo_translate(pen_.get(), std::round(baseline.x), std::round(baseline.y));
  cairo_rotate(pen_.get(), -type.turn);
  if (type.halo > 0.0) {
    ink(pen_.get(), kPaper, kHaloOpacity);
    cairo_set_line_width(pen_.get(), 2.0 * type.halo);
    cairo_set_line_join(pen_.get(), CAIRO_LINE_JOIN_ROUND);
    cairo_move_to(pen_.get(), -back, 0.0);
    cairo_text_path(pen_.get(), letters.c_str());
    cairo_stroke(pen_.get());
  }
  ink(pen_.get(), type.colour);
  cairo_move_to(pen_.get(), -back, 0.0);
  cairo_show_text(pen_.get(), letters.c_str());
  cairo_new_path(pen_.get());  // where the text ends nothing begins
  cairo_restore(pen_.get());
}

std::vector<std::string> Sheet::lines(std::string_view words, const Type& type, double room) const {
  std::vector<std::string> done;
  std::string current;
  while (!words.empty()) {
    const size_t space = std::min(words.find(' '), words.size());
    const std::string longer = current + (current.empty() ? "" : " ") + std::string(words.substr(0, space));
    words.remove_prefix(std::min(space + 1, words.size()));
    if (!current.empty() && length(longer, type) > room) {
      done.push_back(current);
      current = longer.substr(current.size() + 1);
    } else {
      current = longer;
    }
  }
  if (!current.empty()) done.push_back(current);
  return done;
}

void Sheet::line(Point from, Point to, Colour colour, double thickness) {
  ink(pen_.get(), colour);
  cairo_set_line_width(pen_.get(), thickness);
  cairo_move_to(pen_.get(), from.x, from.y);
  cairo_line_to(pen_.get(), to.x, to.y);
  cairo_stroke(pen_.get());
}

void Sheet::fill(const Box& box, Colour colour) {
  ink(pen_.get(), colour);
  cairo_rectangle(pen_.get(), box.x, box.y, box.width, box.height);
  cairo_fill(pen_.get());
}

void Sheet::follow(std::span<const Point> line) {
  cairo_new_sub_path(pen_.get());
  for (const Point& point : line) cairo_line_to(pen_.get(), point.x, point.y);
}

void Sheet::trace(std::span<const Point> line, const Stroke& stroke) {
  const double dashes[2] = {3.5 * std::max(stroke.thickness, 1.5), 2.5 * std::max(stroke.thickness, 1.5)};
  cairo_save(pen_.get());
  ink(pen_.get(), stroke.colour, stroke.opacity);
  cairo_set_line_width(pen_.get(), stroke.thickness);
  cairo_set_line_join(pen_.get(), CAIRO_LINE_JOIN_ROUND);
  if (stroke.dashed) cairo_set_dash(pen_.get(), dashes, 2, 0.0);
  follow(line);
  cairo_stroke(pen_.get());
  cairo_restore(pen_.get());
}

void Sheet::fill(std::span<const Point> corners, Colour colour, double opacity) {
  ink(pen_.get(), colour, opacity);
  follow(corners);
  cairo_fill(pen_.get());
}

void Sheet::hatch(std::span<const Point> corners, Colour colour) {
  constexpr double step = 8.0;  // [pixel] level distance from line to line
  if (corners.empty()) return;
  cairo_save(pen_.get());
  follow(corners);
  cairo_clip(pen_.get());
  double left, top, right, bottom;
  cairo_clip_extents(pen_.get(), &left, &top, &right, &bottom);
  ink(pen_.get(), colour);
  cairo_set_line_width(pen_.get(), 1.0);
  const double rise = bottom - top;
  for (double x = step * std::floor((left + top) / step); x < right + bottom; x += step) {
    cairo_move_to(pen_.get(), x - bottom, bottom);
    cairo_line_to(pen_.get(), x - bottom + rise, top);
  }
  cairo_stroke(pen_.get());
  cairo_restore(pen_.get());
}

void Sheet::disc(Point centre, double radius, Colour colour) {
  ink(pen_.get(), colour);
  cairo_new_path(pen_.get());
  cairo_arc(pen_.get(), centre.x, centre.y, radius, 0.0, 4.0 * std::acos(0.0));
  cairo_fill(pen_.get());
}

void Sheet::outline(const Box& box, Colour colour) {
  ink(pen_.get(), colour);
  cairo_set_line_width(pen_.get(), 1.0);
  cairo_rectangle(pen_.get(), box.x - 0.5, box.y - 0.5, box.width + 1.0, box.height + 1.0);
  cairo_stroke(pen_.get());
}

void Sheet::paste(const Pixels& pixels, int x, int y, int zoom) {
  cairo_surface_flush(surface_.get());
  unsigned char* data = cairo_image_surface_get_data(surface_.get());
  const size_t stride = size_t(cairo_image_surface_get_stride(surface_.get()));
  const auto row_at = [&](int row) { return reinterpret_cast<std::uint32_t*>(data + size_t(row) * stride); };
  for (int row = 0; row < pixels.height; ++row) {
    const int top = y + row * zoom;
    std::uint32_t* out = row_at(top) + x;
    const Colour* in = pixels.rgb.data() + size_t(row) * size_t(pixels.width);
    for (int i = 0; i < pixels.width; ++i, out += zoom) std::fill_n(out, zoom, packed(in[i]));
    const std::uint32_t* first = row_at(top) + x;
    for (int copy = 1; copy < zoom; ++copy)
      std::copy(first, first + pixels.width * zoom, row_at(top + copy) + x);
  }
  cairo_surface_mark_dirty(surface_.get());
}

void Sheet::paste(const Pixels& pixels, const Box& box) {
  cairo_surface_flush(surface_.get());
  unsigned char* data = cairo_image_surface_get_data(surface_.get());
  const size_t stride = size_t(cairo_image_surface_get_stride(surface_.get()));
  const int columns = int(box.width), rows = int(box.height);
  for (int row = 0; row < rows; ++row) {
    auto* out = reinterpret_cast<std::uint32_t*>(data + size_t(int(box.y) + row) * stride) + int(box.x);
    const auto from = size_t((2 * row + 1LL) * pixels.height / (2LL * rows));
    const Colour* in = pixels.rgb.data() + from * size_t(pixels.width);
    for (int i = 0; i < columns; ++i) out[i] = packed(in[(2 * i + 1LL) * pixels.width / (2LL * columns)]);
  }
  cairo_surface_mark_dirty(surface_.get());
}

void Sheet::clip(const Box& box, std::span<const Point> except) {
  cairo_save(pen_.get());
  cairo_rectangle(pen_.get(), box.x, box.y, box.width, box.height);
  cairo_clip(pen_.get());
  if (except.empty()) return;
  cairo_set_fill_rule(pen_.get(), CAIRO_FILL_RULE_EVEN_ODD);
  cairo_rectangle(pen_.get(), box.x, box.y, box.width, box.height);
  follow(except);
  cairo_close_path(pen_.get());
  cairo_clip(pen_.get());
}

void Sheet::unclip() {
  cairo_restore(pen_.get());
}

Pixels Sheet::pixels() const {
  cairo_surface_flush(surface_.get());
  const unsigned char* const data = cairo_image_surface_get_data(surface_.get());
  const int stride = cairo_image_surface_get_stride(surface_.get());
  Pixels out{width(), height(), {}};
  out.rgb.reserve(size_t(out.width) * size_t(out.height));
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      std::uint32_t packed = 0;
      std::memcpy(&packed, data + std::ptrdiff_t(y) * stride + 4 * x, sizeof packed);
      out.rgb.push_back({std::uint8_t(packed >> 16), std::uint8_t(packed >> 8), std::uint8_t(packed)});
    }
  return out;
}

void Sheet::write(const std::string& path, double axial_pitch, double around_pitch) const {
  const cairo_status_t status = cairo_status(pen_.get());
  if (status != CAIRO_STATUS_SUCCESS)
    throw quantity::FileError(path, std::string("cannot be drawn (") + cairo_status_to_string(status) +
                                        "). Check that a font is installed");
  cairo_surface_flush(surface_.get());
  quantity::write_whole(path, artwork::png_bytes({.data = cairo_image_surface_get_data(surface_.get()),
                               .width = width(),
                               .height = height(),
                               .stride = size_t(cairo_image_surface_get_stride(surface_.get())),
                               .samples = artwork::Samples::padded,
                               .axial_pitch = axial_pitch,
                               .around_pitch = around_pitch}));
}

Heading::Heading(std::string_view title, std::string_view subtitle, double room) {
  const Sheet ruler(1, 1, kPaper);
  title_ = ruler.lines(title, kTitle, room);
  subtitle_ = ruler.lines(subtitle, kSubtitle, room);
}

int Heading::height() const {
  return kTitleRow * int(title_.size()) + kSubtitleRow * int(subtitle_.size());
}

void Heading::draw(Sheet& sheet, Point upper_left) const {
  double y = upper_left.y + 18.0;
  for (const std::string& line : title_) {
    sheet.text({upper_left.x, y}, line, kTitle);
    y += kTitleRow;
  }
  y -= 4.0;
  for (const std::string& line : subtitle_) {
    sheet.text({upper_left.x, y}, line, kSubtitle);
    y += kSubtitleRow;
  }
}

}  // namespace circumfluence::appearance
