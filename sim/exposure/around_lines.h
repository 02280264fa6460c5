// Events of lines that run around the part: a row of cells lies across the lines, at one place along them.
#pragma once

#include "exposure/cross_section.h"
#include "exposure/expose.h"

namespace circumfluence::exposure {

class AroundLines : public Exposure {
 public:
  explicit AroundLines(Arrangement arrangement);
  std::unique_ptr<Cursor> cursor(const Echo& echo) const override;
  const std::vector<SpotState>& states() const override { return states_.list(); }
  const motion::Commands* commands() const override { return &commands_; }

 private:
  friend class AroundCursor;
  struct Spot {
    bool lit;
    double azimuth, height, incidence;  // of the surface under the beam, from top dead centre
    double feed;                        // [1] distance a cell moves past the beam per length of fed art
    motion::Pose pose;                  // when the beam is there
    double along;                       // [m] coordinate of the fed art when it is
  };
  // A line over one piece of the part without a step: what it sends is spread by the radius of that piece.
  struct Track {
    int line;
    double radius;  // [m] of the part under the line, or at the end of the piece that is nearest to it
  };
  // How the beam meets the surface of that radius in a row of cells.
  Spot spot(int row, double radius) const;
  States make_states();
  double speed(const Spot& spot, double radius) const;  // [m/s] over the surface
  void index_lines();
  int lay_tracks(int from, int to, double reach);

  Arrangement job_;
  beam::SpotProfile along_, across_;
  CrossSection cross_section_;
  motion::Commands commands_;
  std::vector<Track> tracks_;  // by piece, then by line
  bool same_rows_;             // every row sees the beam alike, but for the head's speed
  double widest_axial_ = 0;    // [m] the beam's greatest radius along the axis
  States states_;
  int slots_ = 0;                                // lines that may reach a column
  std::vector<std::vector<int>> track_of_slot_;  // [slot][column]; as many as there are tracks: none
  std::vector<std::vector<float>> near_, far_;   // [slot][column], [m] of the cell's edges from that line
};

// Walks the rows under such lines.
class AroundCursor : public Cursor {
 public:
  AroundCursor(const AroundLines& lines, const Echo& echo);
  std::span<const EventRow> at(int row) override;

 private:
  // Weights of the dots that reach a cell, the first at index `dot` of the fed art's own grid.
  struct Taps {
    long dot = 0;
    std::vector<float> weights;
  };
  struct DotRow {
    long dot = -1;
    bool known = false;
    std::vector<float> energy;  // [J/m] by line
    std::vector<double> sums;   // [J/m] by line, of the rows from `origin` on before this one
    long origin = -1;
  };
  struct Slot {
    std::vector<float> energy, heating, shares, etas;
    std::vector<std::uint16_t> states;
    std::vector<std::int32_t> lines;
  };
  // Tracks that hear the same row of dots, and how much closer or wider a line's energy falls on them.
  struct Heard {
    int first, last;  // tracks [first, last)
    long dot;
    float density;  // [1]
  };
  Taps taps(double radius, const AroundLines::Spot& spot) const;
  DotRow& dots(long dot);
  void add_dots(int first, int last, const AroundLines::Spot& spot);
  void add_tracks(int first, int last, int row);
  void sum_energy(int row);
  void hear(const Heard& heard);
  void sum_dots(long first, long last);
  void describe_columns(int row);
  bool fill(int slot);

  const AroundLines& all_;
  std::vector<DotRow> kept_;
  Across across_;
  bool listens_;
  long dot_heard_ = -1000000000, origins_ = 0;
  std::vector<Heard> heard_;
  std::vector<Across::Rows> around_;                                  // rows of dots about the one under the beam
  std::vector<float> forth_, back_;                                   // [J/m] by line
  std::vector<float> energy_, heating_;                               // [J/m] by track, one more that stays 0
  std::vector<std::uint16_t> track_state_;                            // by track, one more
  std::vector<float> inverse_radius_, inverse_width_, angle_, half_;  // by column
  std::vector<Slot> slots_;
  std::vector<EventRow> events_;
  motion::Commands::Scratch scratch_;
  bool described_ = false;
};

}  // namespace circumfluence::exposure
