// How the part is held under the beam, section [mount]; where that puts it; and which way round art lands on it.
#pragma once

#include <array>
#include <string>

#include "artwork/placement.h"
#include "quantity/field.h"

namespace circumfluence::motion {

// turning: a rotary turns the part under a beam that stays; standing: the head moves across a part that
// stays.
enum class Hold { turning, standing };
// In plan, as someone at the front of the machine sees it.
enum class Toward { unstated, left, right, front, back };
enum class End { unstated, start, end };  // of the axial positions: 0, or the part's length

struct Mount {
  Hold hold = Hold::turning;
  double beam_offset = 0.0;   // [m] lateral distance of the beam from the plane of the axis
  double runout = 0.0;        // [m] distance between the part's axis and the turning axis
  double runout_phase = 0.0;  // [rad] azimuth of the part that stands highest
  double drive_diameter =
      quantity::kUnset;  // [m] diameter that the machine believes it turns; NaN: that at focus_at
  double focus_at = quantity::kUnset;  // [m] axial position where the focus was set; NaN: middle of the art
  double height_spread = quantity::kUnset;  // [m] standard deviation of the focus's true height
  double head_height = quantity::kUnset;    // [m] of the head's lower edge above the bed, as the machine stands
  // Which way round the art lands, see Landing; all or none.
  End mouth = End::unstated;                // which end of the part is its mouth, or top
  Toward mouth_faces = Toward::unstated;    // on the machine
  Toward axial_feed = Toward::unstated;     // where the beam goes over the part on positive feed along the axis
  Toward around_feed = Toward::unstated;    // the same around; the top of a part on a rotary turns the other way
};

const quantity::Fields<Mount>& mount_fields();

// Where the part is under the beam: how far it has turned, and the lateral distance of the beam from its
// axis.
//
// A point of azimuth phi on a part turned by `rotation` stands at phi - rotation from top dead centre.
// Run-out moves the whole part: sideways by `aside` and up by `lift`.
struct Pose {
  double rotation;  // [rad]
  double beam;      // [m] lateral position of the beam
  double aside;     // [m] lateral position of the part's axis
  double lift;      // [m] height of the part's axis above the turning axis

  // [m] lateral distance of a surface point of radius and azimuth from the beam.
  double distance(double radius, double azimuth) const;
  // [rad] azimuth of the surface point under the beam; NaN when the beam misses the part.
  double azimuth_under_beam(double radius) const;
};

// The pose when the art's coordinate around (turning) or across (standing) stands at `cross` [m].
Pose pose(const Mount& mount, double reference_radius, double cross);

// Which way round a picture lands on the part: mirrored or not, upside down or not, reading toward the mouth or the base.
//
// Seen from above by someone at the front of the machine, directions are left, right, front and back. The surface frame
// is right-handed seen from outside: with `axial` growing to the right, `around` grows to the back over the top of the
// part. On positive feed around the beam goes over the part's top toward mount.around_feed: on a rotary, whose top turns
// the other way, since the beam stays.
//
// A picture that is fed lands with its right along +axial and its top along +around, as artwork.turn and artwork.mirror
// lay it; a feed that runs against one of the two mirrors it. By geometry alone, no source; all 2 x 2 x 4 x 4 cases are
// tested with a letter that is unlike all its images.
// Along which directions the machine's feed runs against the surface frame; none where nothing is stated. Throws JobError
// where only some of mount.mouth, mouth_faces, axial_feed and around_feed are stated, or where they cannot be: the part's
// axis is that of the mouth, axial_feed lies along it, around_feed across.
artwork::Mirror against(const Mount& mount);
bool way_stated(const Mount& mount);

struct Landing {
  // Where the picture's right and its top point to on the surface, [axial, around], each 0, 1 or -1.
  std::array<int, 2> right, top;
  bool mirrored;
  End mouth;  // whither axial positions have their mouth; unstated: nothing is said of up and down

  bool along() const { return right[0] != 0; }  // its rows run along the axis
};
// `placement` as fed; its mirror and that of the machine both count.
Landing landing(const artwork::Placement& placement, const Mount& mount);

// "The art lands unmirrored. With the mouth up its rows run upwards, from base to mouth." and so on.
std::string words(const Landing& landing);

// The letter F as it lands, 7 x 7, seen from outside with the mouth up ('#' where it is marked); with axial growing upward
// where the mouth is not stated.
std::array<std::string, 7> letter(const Landing& landing);

}  // namespace circumfluence::motion
