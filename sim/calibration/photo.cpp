#include "calibration/photo.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "artwork/image.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr double kMostShown = 4e6;  // [px] of the straightened picture

void check(const Photo& photo, const Coupon& coupon, double radius) {
  if (photo.width < 40 || photo.height < 40)
    throw quantity::JobError(fmt::format("{}: {} x {} pixels (expected 40 or more each way)", photo.name,
                                         photo.width, photo.height));
  if (long(photo.width) * photo.height > artwork::kMostPixels ||
      photo.pixels.size() != size_t(photo.width) * size_t(photo.height))
    throw quantity::JobError(fmt::format("{}: {} x {} pixels (expected at most {} million, all given)",
                                         photo.name, photo.width, photo.height,
                                         artwork::kMostPixels / 1'000'000));
  if (coupon.slots.empty()) throw quantity::ValidityError("coupon: no slots (expected some to read)");
  if (!std::isnan(radius) && !(radius > coupon.height / 2.2))
    throw quantity::JobError(
        fmt::format("{}: radius = {:.3g} mm (the strip is {:.3g} mm long around: its ends can't be seen from "
                    "above; expected more than "
                    "{:.3g} mm). Plan a shorter strip",
                    photo.name, 1e3 * radius, 1e3 * coupon.height, 1e3 * coupon.height / 2.2));
}

// The smallest side of a filled patch, or of a slot where there are only lines.
double least_side(const Coupon& coupon) {
  double filled = INFINITY, any = INFINITY;
  for (const Slot& slot : coupon.slots) {
    const double side = std::min(slot.place.width, slot.place.height);
    any = std::min(any, side);
    if (!slot.patch.is_line()) filled = std::min(filled, side);
  }
  return std::isfinite(filled) ? filled : any;
}

void check_sharp(const Flat& flat, const Coupon& coupon) {
  const double side = least_side(coupon), blur = 2 * std::max(flat.blur_x, flat.blur_y);
  if (blur > side / 3)
    throw quantity::JobError(
        fmt::format("too blurred (to {:.2f} mm; expected less than a third of a patch, {:.2f} mm). "
                    "Hold the camera still and let it focus",
                    1e3 * blur, 1e3 * side / 3));
  if (flat.pixel > side / 8)
    throw quantity::JobError(
        fmt::format("too coarse ({:.2f} mm a pixel; expected less than an eighth of a patch, {:.2f} mm). "
                    "Take the picture from nearer",
                    1e3 * flat.pixel, 1e3 * side / 8));
}

std::array<std::uint8_t, 256 * 16> encoding() {
  std::array<std::uint8_t, 256 * 16> out;
  for (size_t i = 0; i < out.size(); ++i)
    out[i] =
        std::uint8_t(std::lround(255 * appearance::srgb_from_linear(double(i) / double(out.size() - 1))));
  return out;
}

Photo shown(const Flat& flat, const std::string& name) {
  const int part = std::max(1, int(std::ceil(std::sqrt(double(flat.width) * flat.height / kMostShown))));
  static const auto table = encoding();
  Photo out{flat.width / part, flat.height / part, {}, name};
  for (int row = 0; row < out.height; ++row)
    for (int column = 0; column < out.width; ++column) {
      std::array<std::uint8_t, 3> pixel;
      for (size_t c = 0; c < 3; ++c) {
        float sum = 0;
        for (int j = 0; j < part; ++j)
          for (int i = 0; i < part; ++i)
            sum += flat.light[size_t(row * part + j) * size_t(flat.width) + size_t(column * part + i)][c];
        pixel[c] = table[size_t(std::clamp(sum / float(part * part), 0.0f, 1.0f) * float(table.size() - 1))];
      }
      out.pixels.push_back(pixel);
    }
  return out;
}

void note_open(Reading& reading, const std::vector<Tone>& tones) {
  int open = 0, clipped = 0;
  for (size_t i = 0; i < tones.size(); ++i) {
    open += reading.patches[i].sure < kSure;
    clipped += !tones[i].known && (tones[i].clipped > 0 || tones[i].uneven > 0);
  }
  if (clipped > 0)
    reading.notes.push_back(
        fmt::format("{} patches are over-exposed, under a reflection or uneven: left open", clipped));
  if (open > clipped)
    reading.notes.push_back(open == 1
                                ? std::string("1 patch in all is left open: look at it by eye")
                                : fmt::format("{} patches in all are left open: look at them by eye", open));
}

Reading read(const Photo& photo, const Coupon& coupon, const Looks& looks, double radius) {
  const Sighting sighting = find_coupon(photo, coupon, radius);
  Flat flat = straighten(photo, coupon, sighting);
  Reading reading;
  for (int i = 0; i < 4; ++i) {
    const Spot place = mark_corner(coupon, i, i);
    reading.corners[size_t(i)] = sighting.pixel(place[0], place[1]);
  }
  measure_blur(flat, coupon);
  check_sharp(flat, coupon);
  reading.scale = flat.pixel;
  reading.blur = flat.blur_x + flat.blur_y;  // twice their mean
  reading.straightened = shown(flat, photo.name);
  even_light(flat, coupon);
  std::vector<Tone> tones(coupon.slots.size());
  for (size_t i = 0; i < tones.size(); ++i) {
    reading.patches.push_back({.number = coupon.slots[i].number});
    if (coupon.slots[i].patch.is_line()) continue;
    tones[i] = tone_of(flat, coupon, coupon.slots[i]);
    reading.patches[i].tone = tones[i].mean;
  }
  measure_lines(flat, coupon, looks, tones, reading);
  tell_states(flat, coupon, looks, tones, reading);
  note_open(reading, tones);
  return reading;
}

}  // namespace

Photo read_photo(const std::string& path) {
  artwork::Colours colours = artwork::read_colours(path);
  return {colours.width, colours.height, std::move(colours.pixels), path};
}

Reading read_coupon_photo(const Photo& photo, const Coupon& coupon, const Looks& looks, double radius) {
  check(photo, coupon, radius);
  try {
    return read(photo, coupon, looks, radius);
  } catch (const quantity::JobError& error) {
    if (photo.name.empty() || error.problem().starts_with(photo.name)) throw;
    throw quantity::JobError(photo.name + ": " + error.problem());
  } catch (const cv::Exception& error) {
    throw quantity::JobError(
        fmt::format("{}: the picture can't be read as a coupon ({})", photo.name, error.err));
  }
}

Report Reading::report() const {
  Report out;
  std::vector<double> errors;
  for (const PatchReading& patch : patches) {
    Result result{.number = patch.number, .outcome = {}, .remark = {}};
    if (patch.sure >= kSure) result.outcome = patch.outcome;
    if (!std::isnan(patch.width)) {
      result.width = patch.width;
      errors.push_back(patch.width_error / patch.width);
    }
    if (!result.outcome && std::isnan(result.width)) continue;
    out.results.push_back(result);
  }
  if (!errors.empty()) {
    std::ranges::nth_element(errors, errors.begin() + std::ptrdiff_t(errors.size() / 2));
    out.width_error = std::max(0.02, errors[errors.size() / 2]);
  }
  out.resolution = std::max(out.resolution, 0.2 * blur);
  out.origin = straightened.name;
  return out;
}

}  // namespace circumfluence::calibration
