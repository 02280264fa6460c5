#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "job/job_file.h"
#include "mark/set_up.h"
#include "motion/mount.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using artwork::Extent;
using quantity::format;
using quantity::JobError;

bool turns(const Scene& scene) {
  return scene.job.mount.hold == motion::Hold::turning;
}

bool dots(const Scene& scene) {
  return scene.job.artwork.tone == artwork::ToneUse::halftone;
}

artwork::Mirror flip(const Scene& scene, const FeedWish& wish) {
  return wish.flip.value_or(motion::against(scene.job.mount));
}

motion::Lie lie(const Scene& scene, motion::Truth truth) {
  const Extent& art = scene.art;
  return {truth, (art.axial_from + art.axial_to) / 2, (art.around_from + art.around_to) / 2,
          art.axial_to - art.axial_from, art.around_to - art.around_from};
}

// Whole pixels of one size over an extent.
struct Sheet {
  Extent extent;
  double pixel;  // [m]
  artwork::Canvas canvas;
};

// The finest that is of use, as a whole number of pixels a metre, in which PNG states it; of a halftone so that
// a dot is whole pixels.
double useful_pixel(const Scene& scene) {
  const beam::Laser& laser = scene.job.laser;
  const double finest = std::min(scene.job.scan.spacing, std::min(laser.spot_axial, laser.spot_around) / 3);
  if (dots(scene)) return scene.job.artwork.dot / std::ceil(scene.job.artwork.dot / finest - 1e-6);
  return 1 / std::ceil(1 / finest - 1e-6);
}

// The next coarser of such.
double coarser(const Scene& scene, double pixel) {
  if (!dots(scene)) return 1 / std::floor(0.9 / pixel);
  const double pixels = std::round(scene.job.artwork.dot / pixel);
  return pixels > 1 ? scene.job.artwork.dot / (pixels - 1) : 2 * pixel;
}

double count(const Extent& e, double pixel) {
  return std::ceil((e.axial_to - e.axial_from) / pixel) * std::ceil((e.around_to - e.around_from) / pixel);
}

double chosen_pixel(const Scene& scene, const Extent& art, double wished) {
  double pixel = std::isnan(wished) ? useful_pixel(scene) : wished;
  if (!(pixel > 1e-7 && pixel < 0.1))
    throw JobError(fmt::format("pixel = {} (expected 0.001 mm to 10 mm)", format(pixel, "mm")));
  const double longest = std::max(art.axial_to - art.axial_from, art.around_to - art.around_from);
  // A row and a column to spare for rounding outward.
  const auto fits = [&] {
    return count(art, pixel) < 0.99 * artwork::kMostPixels && longest / pixel < artwork::kMostPixelsASide - 2;
  };
  if (!std::isnan(wished) && !fits())
    throw JobError(fmt::format(
        "pixel = {} (makes {:.3g} pixels; expected at most {} million, {} a side). Use a larger pixel",
        format(pixel, "mm"), count(art, pixel), artwork::kMostPixels / 1'000'000, artwork::kMostPixelsASide));
  while (!fits()) pixel = coarser(scene, pixel);
  return pixel;
}

// `pixels` of them about the middle of from..to, moved into the limits; fewer when they do not fit.
struct Run {
  double from;
  int pixels;
};

Run run(double from, double to, double pixel, double least, double most) {
  const double noise = 1e-6;
  Run out{0, std::max(1, static_cast<int>(std::ceil((to - from) / pixel - noise)))};
  if (out.pixels > 1 && out.pixels * pixel > (most - least) * (1 + 1e-9)) --out.pixels;
  out.from =
      std::clamp((from + to - out.pixels * pixel) / 2, least, std::max(least, most - out.pixels * pixel));
  return out;
}

Sheet lay_sheet(const Scene& scene, const Extent& art, double pixel) {
  const double infinity = quantity::kInfinity, middle = (art.around_from + art.around_to) / 2;
  double least = -infinity, most = infinity;
  if (turns(scene)) {
    const double turn = 2 * quantity::kPi * scene.reference_radius;
    if (art.around_to - art.around_from > turn - pixel / 2) pixel = turn / std::ceil(turn / pixel - 1e-6);
    least = middle - turn / 2;
    most = middle + turn / 2;
  }
  const Run along = run(art.axial_from, art.axial_to, pixel, 0, scene.profile.length());
  const Run across = run(art.around_from, art.around_to, pixel, least, most);
  return {{along.from, along.from + along.pixels * pixel, across.from, across.from + across.pixels * pixel},
          pixel,
          {along.pixels, across.pixels}};
}

void check_flank(const Scene& scene, const Extent& sheet) {
  const double widest = std::max(std::abs(sheet.around_from), std::abs(sheet.around_to));
  if (!turns(scene) && widest >= scene.reference_radius)
    throw JobError(
        fmt::format("artwork.size_around = {} (is fed up to {} from top dead centre, beyond a standing part "
                    "of radius {})",
                    format(scene.art.around_to - scene.art.around_from, "mm"), format(widest, "mm", 5),
                    format(scene.reference_radius, "mm")));
}

// The art upright, sampled where each place of the sheet lands.
artwork::Image warped_art(const Scene& scene, const motion::Feed& feed, const Sheet& sheet, int threads) {
  const artwork::Image art = artwork::upright(scene.image, scene.job.artwork, sheet.pixel / 4);
  const double along = scene.art.axial_to - scene.art.axial_from,
               across = scene.art.around_to - scene.art.around_from;
  const double columns = art.width / along, rows = art.height / across;  // [px/m]
  return artwork::warped(
      art, sheet.canvas,
      [&](artwork::PicturePoint at) -> std::optional<artwork::PicturePoint> {
        const auto place = feed.meant({sheet.extent.axial_from + at.column * sheet.pixel,
                                       sheet.extent.around_to - at.row * sheet.pixel});
        if (!place) return std::nullopt;
        return artwork::PicturePoint{(place->along + along / 2) * columns,
                                     (across / 2 - place->around) * rows};
      },
      threads);
}

// Dots stay on or off where a pixel is cut by their edge.
artwork::Image fed_art(const Scene& scene, const motion::Feed& feed, const Sheet& sheet, int threads) {
  artwork::Image out = warped_art(scene, feed, sheet, threads);
  if (dots(scene))
    for (std::uint16_t& tone : out.tone) tone = tone < 32768 ? 0 : 65535;
  return out;
}

std::string scales(const motion::Band& band) {
  std::string around = fmt::format("{:.4f}", band.scale_around);
  if (band.around_from != band.around_to)
    around = fmt::format("{:.4f} to {:.4f}", band.around_from, band.around_to);
  return fmt::format("band       {} to {} along, diameter {}: fed {:.4f} times as long, {} times as wide\n",
                     format(band.from, "mm", 5), format(band.to, "mm", 5), format(2 * band.radius, "mm", 5),
                     band.scale_axial, around);
}

// How far a line straight across the art is fed as an arc.
std::string bend(const motion::Feed& feed, const motion::Lie& lie) {
  const double rise = feed.fed({0, lie.size_around / 2}).axial - feed.fed({0, 0}).axial;
  if (std::abs(rise) < 1e-7) return "";
  return fmt::format(
      "arc        the ends of a line across the middle of the art are fed {} toward the part's {}\n",
      format(std::abs(rise), "mm", 4), rise > 0 ? "end" : "beginning");
}

std::string flip_words(artwork::Mirror flip) {
  if (flip == artwork::Mirror::none) return "";
  const char* way = flip == artwork::Mirror::axial    ? "along"
                    : flip == artwork::Mirror::around ? "around"
                                                      : "both ways";
  return fmt::format("mirror     written mirrored {}: the machine's feed mirrors it back\n", way);
}

std::string words(const Scene& scene, const motion::Feed& feed, const FeedWish& wish, const FedArt& art) {
  const Extent& e = art.extent;
  std::string out = fmt::format(
      "fed        {} along by {} around, {} x {} pixels of {}; middle at {} along, {} around\n",
      format(e.axial_to - e.axial_from, "mm", 6), format(e.around_to - e.around_from, "mm", 6),
      art.image.width, art.image.height, format(art.pixel, "mm", 5),
      format((e.axial_from + e.axial_to) / 2, "mm", 6), format((e.around_from + e.around_to) / 2, "mm", 6));
  if (dots(scene))
    out += fmt::format("dots       a halftone, {} from dot to dot\n", format(scene.job.artwork.dot, "mm", 5));
  for (const motion::Band& band : art.bands) out += scales(band);
  if (!turns(scene))
    out += fmt::format("flank      as the head sees it: {:.4f} times as wide at the edge, {} from the top\n",
                       std::cos(feed.farthest()), format(feed.farthest(), "deg", 4));
  if (wish.truth == motion::Truth::developed) out += bend(feed, lie(scene, wish.truth));
  out += flip_words(flip(scene, wish));
  if (art.burns != scene.job.artwork.burns) out += "tones      inverted: black is burnt\n";
  const motion::Mount& mount = scene.job.mount;
  if (mount.beam_offset != 0 || mount.runout != 0)
    out += "note       A beam beside the axis and run-out are faults of the mount and left in.\n";
  return out;
}

}  // namespace

FedArt pre_distort(const Scene& meant, const FeedWish& wish) {
  if (meant.job.has_path())
    throw JobError(fmt::format(
        "path.file = \"{}\" (its moves are burnt as they stand; expected a job that burns its [artwork])",
        meant.job.path.file));
  const motion::Feed feed(meant.job.workpiece, meant.job.mount, meant.reference_radius,
                          lie(meant, wish.truth));
  const Sheet sheet = lay_sheet(meant, feed.extent(), chosen_pixel(meant, feed.extent(), wish.pixel));
  check_flank(meant, sheet.extent);
  const artwork::Mirror mirror = flip(meant, wish);
  FedArt out{
      .image = artwork::turned_over(fed_art(meant, feed, sheet, wish.threads),
                                    mirror == artwork::Mirror::axial || mirror == artwork::Mirror::both,
                                    mirror == artwork::Mirror::around || mirror == artwork::Mirror::both),
      .extent = sheet.extent,
      .pixel = sheet.pixel,
      .burns = wish.invert ? artwork::Burns::dark : meant.job.artwork.burns,
      .bands = {},
      .words = {}};
  if (out.burns == artwork::Burns::light) out.image = artwork::inverted(std::move(out.image));
  if (turns(meant))
    out.bands = motion::bands(meant.job.workpiece, feed.extent().axial_from, feed.extent().axial_to,
                              meant.reference_radius);
  out.words = words(meant, feed, wish, out);
  return out;
}

job::Job fed_job(const Scene& meant, const FedArt& art, const std::string& file) {
  job::Job job = meant.job;
  const Extent& e = art.extent;
  job.artwork.file = file;
  job.artwork.size_axial = e.axial_to - e.axial_from;
  job.artwork.size_around = e.around_to - e.around_from;
  job.artwork.axial = (e.axial_from + e.axial_to) / 2;
  job.artwork.around = (e.around_from + e.around_to) / 2;
  job.artwork.turn = 0;
  job.artwork.mirror = artwork::Mirror::none;
  job.artwork.burns = art.burns;
  if (dots(meant)) job.artwork.tone = artwork::ToneUse::threshold;  // they are in the file
  job.mount.focus_at = meant.focus_at;
  return job::completed(std::move(job));
}

}  // namespace circumfluence::mark
