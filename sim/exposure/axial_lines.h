// Events of lines that run along the axis: each row of cells sees a few lines beside it.
#pragma once

#include "exposure/cross_section.h"
#include "exposure/expose.h"

namespace circumfluence::exposure {

class AxialLines : public Exposure {
 public:
  explicit AxialLines(Arrangement arrangement);
  std::unique_ptr<Cursor> cursor(const Echo& echo) const override;
  const std::vector<SpotState>& states() const override { return states_.list(); }
  const motion::Commands* commands() const override { return &commands_; }

 private:
  friend class AxialCursor;
  Radii radii(int line, double radius) const;  // where the line meets a surface of that radius
  void prepare_dots();
  States make_states();
  void list_lines();
  void add_rows(int line, double low, double high);
  double reach_of(int line) const;  // [m]

  Arrangement job_;
  beam::SpotProfile along_, across_;
  CrossSection cross_section_;
  double least_radius_, greatest_radius_;  // [m] of the part, over the grid's columns
  int pad_;                                // dots kept beyond either end of a row
  motion::Commands commands_;
  std::vector<float> dot_energy_;  // [J/m] of a full-tone dot, by column and pad
  std::vector<float> speeds_;      // [m/s] over each column
  bool uniform_;                   // radius and speed the same over all columns
  bool same_lines_;                // every line sees the part alike
  States states_;
  std::vector<std::pair<int, int>> row_line_;  // sorted: row, then time
  std::vector<int> first_of_row_;              // rows + 1
};

// Walks the rows under such lines.
class AxialCursor : public Cursor {
 public:
  AxialCursor(const AxialLines& lines, const Echo& echo);
  std::span<const EventRow> at(int row) override;

 private:
  // What a line brings along its whole length; kept while rows beside it are walked.
  struct LineEnergy {
    int line = -1;
    long used = 0;
    bool dark = false;  // no dot of it burns
    std::vector<float> energy, heating;
    std::vector<float> inverse_radius, angle, half;  // by column, when the row is not uniform
    std::vector<std::uint16_t> state;
  };
  struct Columns {
    std::vector<float> shares, etas;
  };
  struct Edges {
    double low, high;  // [1] lateral position over the part's radius; beyond the flanks nothing is lit
  };
  Edges edges(int row, const motion::Pose& pose) const;
  const LineEnergy& energy_of(int line);
  const float* heating(const LineEnergy& line) const;
  void expose_line(int line, LineEnergy& out);
  void blur_dots(int line, LineEnergy& out);
  void describe_columns(int line, LineEnergy& out);
  EventRow uniform_event(int row, int line, const LineEnergy& energy);
  EventRow varied_event(int row, int line, const LineEnergy& energy, Columns& out);

  const AxialLines& all_;
  Listener listener_;
  std::vector<LineEnergy> kept_;
  std::vector<Columns> columns_;
  std::vector<EventRow> events_;
  std::vector<float> dots_, weights_, near_, far_, inverse_width_;
  std::vector<float> sine_low_, sine_high_;
  motion::Commands::Scratch scratch_;
  long clock_ = 0;
  int weights_line_ = -1;
};

}  // namespace circumfluence::exposure
