#include "appearance/draw.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <new>

#include "appearance/picture.h"
#include "appearance/png.h"
#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

constexpr double kLabelSize = 12.0;
constexpr double kLongTick = 7.0, kShortTick = 4.0;

std::uint32_t packed(const Colour& colour) {
  return 0xff000000u | std::uint32_t{colour[0]} << 16 | std::uint32_t{colour[1]} << 8 | colour[2];
}

void ink(cairo_t* pen, const Colour& colour) {
  cairo_set_source_rgb(pen, colour[0] / 255.0, colour[1] / 255.0, colour[2] / 255.0);
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
  ink(pen_.get(), type.colour);
  cairo_save(pen_.get());
  cairo_translate(pen_.get(), std::round(baseline.x), std::round(baseline.y));
  if (type.upright) cairo_rotate(pen_.get(), -std::acos(0.0));
  cairo_move_to(pen_.get(), -back, 0.0);
  cairo_show_text(pen_.get(), std::string(words).c_str());
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

void Sheet::write(const std::string& path, double axial_pitch, double around_pitch) const {
  const cairo_status_t status = cairo_status(pen_.get());
  if (status != CAIRO_STATUS_SUCCESS)
    throw quantity::FileError(path, std::string("cannot be drawn (") + cairo_status_to_string(status) +
                                        "). Check that a font is installed");
  cairo_surface_flush(surface_.get());
  write_whole(path, png_bytes({.data = cairo_image_surface_get_data(surface_.get()),
                               .width = width(),
                               .height = height(),
                               .stride = size_t(cairo_image_surface_get_stride(surface_.get())),
                               .padded = true,
                               .axial_pitch = axial_pitch,
                               .around_pitch = around_pitch}));
}

std::vector<Tick> ticks(double from, double to, double most) {
  const double least = (to - from) / std::max(most, 1.0);
  if (!(least > 0.0)) return {};
  int decade = int(std::floor(std::log10(least)));
  int factor = 1;
  for (const int next : {2, 5, 10})
    if (factor * std::pow(10.0, decade) < least * (1.0 - 1e-9)) factor = next;
  if (factor == 10) factor = 1, ++decade;

  const int parts = factor == 2 ? 4 : 5;
  const double fine = factor * std::pow(10.0, decade) / parts;
  const double slack = 1e-6 * fine;
  std::vector<Tick> found;
  for (auto i = std::llround(std::ceil((from - slack) / fine)); double(i) * fine <= to + slack; ++i) {
    char label[32] = "";
    if (i % parts == 0)
      std::snprintf(label, sizeof label, "%.*f", std::max(0, -decade), i == 0 ? 0.0 : double(i) * fine);
    found.push_back({double(i) * fine, label});
  }
  return found;
}

void draw(Sheet& sheet, const Ruler& ruler, Colour colour) {
  const Type number{.size = kLabelSize, .colour = colour, .anchor = ruler.upright ? 1.0 : 0.5};
  const double scale = (ruler.stop - ruler.start) / (ruler.to - ruler.from);
  const double room = ruler.upright ? 45.0 : 60.0;  // [pixel] from number to number
  for (const Tick& tick : ticks(ruler.from, ruler.to, std::abs(ruler.stop - ruler.start) / room)) {
    const double at = std::floor(ruler.start + (tick.value - ruler.from) * scale) + 0.5;
    const double reach = 1.0 + (tick.label.empty() ? kShortTick : kLongTick);
    if (ruler.upright) {
      sheet.line({ruler.edge - reach, at}, {ruler.edge - 1.0, at}, colour);
      sheet.text({ruler.edge - kLongTick - 5.0, at + 0.36 * kLabelSize}, tick.label, number);
    } else {
      sheet.line({at, ruler.edge + 1.0}, {at, ruler.edge + reach}, colour);
      sheet.text({at, ruler.edge + kLongTick + 4.0 + kLabelSize}, tick.label, number);
    }
  }
  const double middle = 0.5 * (ruler.start + ruler.stop);
  const Type title{.size = kLabelSize, .colour = colour, .anchor = 0.5, .upright = ruler.upright};
  const Point level{middle, ruler.edge + 42.0}, upright{ruler.edge - 52.0, middle};
  sheet.text(ruler.upright ? upright : level, ruler.title, title);
}

}  // namespace circumfluence::appearance
