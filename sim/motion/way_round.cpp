#include "motion/mount.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using artwork::Mirror;
using quantity::JobError;

constexpr const char* kToward[] = {"unstated", "left", "right", "front", "back"};

Toward opposite(Toward toward) {
  constexpr Toward kOpposite[] = {Toward::unstated, Toward::right, Toward::left, Toward::back, Toward::front};
  return kOpposite[int(toward)];
}

// A quarter anticlockwise, seen from above.
Toward to_its_left(Toward toward) {
  constexpr Toward kLeft[] = {Toward::unstated, Toward::front, Toward::back, Toward::right, Toward::left};
  return kLeft[int(toward)];
}

void check_stated(const Mount& mount) {
  const std::pair<const char*, bool> keys[] = {{"mouth", mount.mouth != End::unstated},
                                               {"mouth_faces", mount.mouth_faces != Toward::unstated},
                                               {"axial_feed", mount.axial_feed != Toward::unstated},
                                               {"around_feed", mount.around_feed != Toward::unstated}};
  for (const auto& [key, stated] : keys)
    if (!stated)
      throw JobError(fmt::format("mount.{} is missing (mouth, mouth_faces, axial_feed and around_feed say together which "
                                 "way round the art lands). State all four or none",
                                 key));
}

std::array<int, 2> mirrored(std::array<int, 2> direction, Mirror mirror) {
  if (mirror == Mirror::axial || mirror == Mirror::both) direction[0] = -direction[0];
  if (mirror == Mirror::around || mirror == Mirror::both) direction[1] = -direction[1];
  return direction;
}

// With the mouth up: what part of [up, right as the viewer sees it] a direction on the surface is.
struct Seen {
  int up, right;
};
Seen seen(std::array<int, 2> direction, End mouth) {
  const int up = mouth == End::start ? -direction[0] : direction[0];
  // Turning the frame so that axial points up takes around to the left.
  return {up, mouth == End::start ? direction[1] : -direction[1]};
}

}  // namespace

bool way_stated(const Mount& mount) {
  return mount.mouth_faces != Toward::unstated || mount.axial_feed != Toward::unstated ||
         mount.around_feed != Toward::unstated;
}

Mirror against(const Mount& mount) {
  if (!way_stated(mount)) return Mirror::none;
  check_stated(mount);
  const Toward axial = mount.mouth == End::end ? mount.mouth_faces : opposite(mount.mouth_faces);
  const Toward around = to_its_left(axial);
  if (mount.axial_feed != axial && mount.axial_feed != opposite(axial))
    throw JobError(fmt::format("mount.axial_feed = \"{}\" (across the part, whose mouth faces {}; expected \"{}\" or \"{}\")",
                               kToward[int(mount.axial_feed)], kToward[int(mount.mouth_faces)], kToward[int(axial)],
                               kToward[int(opposite(axial))]));
  if (mount.around_feed != around && mount.around_feed != opposite(around))
    throw JobError(fmt::format("mount.around_feed = \"{}\" (along the part, whose mouth faces {}; expected \"{}\" or \"{}\")",
                               kToward[int(mount.around_feed)], kToward[int(mount.mouth_faces)], kToward[int(around)],
                               kToward[int(opposite(around))]));
  const int axial_against = mount.axial_feed != axial, around_against = mount.around_feed != around;
  return Mirror(axial_against + 2 * around_against);
}

Landing landing(const artwork::Placement& placement, const Mount& mount) {
  const int turns = ((static_cast<int>(std::lround(placement.turn / (quantity::kPi / 2))) % 4) + 4) % 4;
  constexpr std::array<int, 2> kQuarter[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
  const Mirror mirror = placement.mirror ^ against(mount);
  Landing out{mirrored(kQuarter[turns], mirror), mirrored(kQuarter[(turns + 1) % 4], mirror), false, mount.mouth};
  out.mirrored = out.right[0] * out.top[1] - out.right[1] * out.top[0] < 0;
  return out;
}

std::string words(const Landing& landing) {
  const std::string mirrored = landing.mirrored ? "The art lands mirrored." : "The art lands unmirrored.";
  if (landing.mouth == End::unstated)
    return mirrored + (landing.along() ? " Its rows run along the axis, toward "
                                       : " Its rows run around the part; its top points toward ") +
           ((landing.along() ? landing.right[0] : landing.top[0]) > 0 ? "growing" : "falling") + " axial positions.";
  const Seen right = seen(landing.right, landing.mouth), top = seen(landing.top, landing.mouth);
  if (landing.along())
    return mirrored + " Its rows run along the axis: with the mouth up they read " +
           (right.up > 0 ? "upwards, from the base to the mouth." : "downwards, from the mouth to the base.");
  return mirrored + (top.up > 0 ? " Its rows run around the part and stand upright with the mouth up."
                                : " Its rows run around the part and stand upside down with the mouth up.");
}

std::array<std::string, 7> letter(const Landing& landing) {
  constexpr const char* kLetter[7] = {".#####.", ".#.....", ".#.....", ".####..", ".#.....", ".#.....", ".#....."};
  std::array<std::string, 7> out;
  out.fill(std::string(7, '.'));
  const End mouth = landing.mouth == End::unstated ? End::end : landing.mouth;
  const Seen right = seen(landing.right, mouth), top = seen(landing.top, mouth);
  for (int row = 0; row < 7; ++row)
    for (int column = 0; column < 7; ++column) {
      const int x = column - 3, y = 3 - row;  // right and up in the picture
      out[size_t(3 - (x * right.up + y * top.up))][size_t(3 + x * right.right + y * top.right)] = kLetter[row][column];
    }
  return out;
}

}  // namespace circumfluence::motion
