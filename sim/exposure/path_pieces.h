// The lit part of a tool path as short straight pieces, in the order of time: what its moves bring to the fed
// plane.
//
// A piece carries an even energy per length E' [J/m]: P dt/ds over it at constant power, P / (speed asked
// for) where the power follows the speed, which conserves the energy of the move. Ramps are cut where E'
// would change by more than `energy_step`, or the speed of a power that follows by four times that, down to a
// 32nd of the spot's radius; moves that change the height of the focus where a radius changes by 1 %; arcs
// into pieces with a bend,
//   x = L (t + (8/3) (b/L)^2 (t - 1/2) 4 t (1 - t)),   y = 4 b t (1 - t),   t = 0 to 1 of the time,
// (chord L, sagitta b [m]) that stay within 1e-4 of the spot's radius of the arc and of its pace. A piece
// that strays by less than 4e-5 of a radius from a straight line along the axis, or around, counts as lying
// on it.
//
// A chain is a stretch of path, lit or dark, without a corner sharper than a right angle; within it distances
// are counted on.
#pragma once

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "exposure/light.h"
#include "motion/kinematics.h"

namespace circumfluence::exposure {

// A piece as it is given: of the fed plane, like a move.
struct Segment {
  double axial = 0, around = 0;        // [m] where it begins
  double to_axial = 0, to_around = 0;  // [m] where it ends
  double bend = 0;      // [m] sagitta; positive: to the side that turns from axial towards around
  double height = 0;    // [m] of the focus above where it was set
  double energy = 0;    // [J/m] along the chord; [J] where it has no length
  double speed = 0;     // [m/s]
  double distance = 0;  // [m] along the chain, where it begins
  double start = 0;     // [s]
  int chain = 0;
};

// The same as it is kept.
struct Piece {
  enum class Kind : std::uint8_t { axial, around, oblique, spot };
  double axial, around;       // [m], around modulo a turn
  float axial_by, around_by;  // [m] from there to its end
  float bend, distance;       // [m]; from its link's base
  float start, energy;        // [s]; [J/m] or [J]
  std::int32_t link;
  std::uint32_t level : 12, speed : 17, kind : 2,
      follows : 1;  // follows: lies on the line of the axial piece before it

  Kind sort() const { return Kind(kind); }
};
static_assert(sizeof(Piece) == 48);

struct PathTerms {
  Light light;                // whose radii at a height set what is fine enough
  double power;               // [W] on the part, at full power
  double turn = 0;            // [m] fed length of a turn; 0: the part stands
  double energy_step = 0.01;  // [1]
};

class Path {
 public:
  explicit Path(const PathTerms& terms);

  // Both in the order of time. Throw ValidityError beyond kMostPieces, and on what is no number.
  void take(const motion::Travel& travel);
  void add(const Segment& segment);

  static constexpr size_t kMostPieces = 20'000'000;
  const std::vector<Piece>& pieces() const { return pieces_; }
  // Pieces of one chain that follow each other closely, or lie on one straight line along the axis or around:
  // a line as it was burnt.
  struct Link {
    double base;  // [m] distance along the chain from which its pieces count theirs
    int chain;
    std::uint32_t first;  // piece
  };
  const std::vector<Link>& links() const { return links_; }
  double pause(const Piece& piece) const;  // [s] of a dwell
  double height(const Piece& piece) const { return heights_[piece.level]; }  // [m]
  double speed(const Piece& piece) const;                                    // [m/s]
  double distance(const Piece& piece) const {
    return links_[size_t(piece.link)].base + piece.distance;
  }                                          // [m]
  double energy() const { return energy_; }  // [J] of all pieces
  double turn() const { return terms_.turn; }
  const std::vector<double>& heights() const { return heights_; }

 private:
  struct Cut {
    double from, by;  // [m] along the move
  };
  void follow_corner(const motion::Course& course);
  void cut(const motion::Travel& travel, double length);
  double longest(const motion::Travel& travel, double length) const;
  bool even(const motion::Travel& travel, const Cut& cut) const;
  void burn(const motion::Travel& travel, const Cut& cut, double length);
  void keep(const Segment& segment);
  Piece::Kind kind_of(const Segment& segment) const;
  bool goes_on(const Segment& segment, Piece::Kind kind) const;
  unsigned level(double height);
  double narrowest(double height) const;  // [m] the spot's lesser radius there

  PathTerms terms_;
  std::vector<Piece> pieces_;
  std::vector<Link> links_;
  std::vector<double> heights_;
  std::unordered_map<long, unsigned> level_of_;
  double height_step_, energy_ = 0;
  motion::Heading heading_;
  double distance_ = 0;
  int chain_ = 0;
  Segment head_, last_;  // of the link; the last one
  double shift_ = 0;     // [m] that was taken off it around
};

}  // namespace circumfluence::exposure
