// Walks the rows under a path: what each piece brings to a cell, put into passages; and what a place on the path remembers.
#pragma once

#include <memory>
#include <span>
#include <unordered_map>
#include <vector>

#include "exposure/path_lines.h"

namespace circumfluence::exposure {

// What a place on the path still feels of its power when it is hottest (exposure/echo.h): counted back along
// the chain, bends and dwells left out, in steps of the grid that on lines along the axis, or around, are
// those of its cells.
class PathEcho {
 public:
  struct Grid {
    double axial_from, cell_axial, around_from, cell_around;  // [m]
  };
  PathEcho(const Path& path, const Echo& echo, const Grid& grid);
  bool listens() const { return !listener_.echo().moments.empty(); }
  // [J/m] of the fed plane, a distance [m] along a piece; between the middles of steps linear.
  float at(const Piece& piece, double distance);
  // The same at each column from `first` on.
  void columns(const Piece& head, int first, std::span<float> out);

 private:
  struct Steps {
    double origin, length;  // [m] of the chain, where step 0 begins
  };
  struct Block {
    std::int32_t link = -1;
    long number = 0, first = 0;  // step of `values`
    Steps steps{};
    std::vector<float> values;
  };
  Steps steps(const Piece& piece) const;
  void hear(std::int32_t link, const Steps& steps, long first, std::span<float> out);
  const Block& block(const Piece& piece, double place);

  const Path& path_;
  Listener listener_;
  Grid grid_;
  std::vector<Block> blocks_;  // by what their link and number hash to
  std::vector<float> sent_;
};

// Walks the rows under a path.
class PathCursor : public Cursor {
 public:
  PathCursor(const PathLines& lines, const Echo& echo);
  std::span<const EventRow> at(int row) override;
  void wanted(int row, std::span<std::uint8_t> out) override;

 private:
  using Sight = PathLines::Sight;
  // Axial pieces on one line; kept while rows beside it are walked.
  struct Line {
    PathLines::Rows columns{};
    bool whole = false;  // an event of its own, over the whole row
    long used = 0;
    std::vector<float> energy, heating, speed;
  };
  struct Layer {
    EventRow event;
    bool whole;
    std::vector<float> energy, heating, light, shares, etas, halves, angles;
    std::vector<std::uint16_t> states;
    std::vector<std::int32_t> lines;
  };
  struct Open {  // the passage that a cell is in
    int chain = -1;
    float axial = 0, around = 0, best = 0;  // the direction in which it began; [J/m] of its strongest piece
    double distance = 0;
  };
  struct Touch {                                  // what a piece brings to a cell
    float energy, light, eta, half, angle, heat;  // [J/m], [J/m^2], heat: heating [J/m]
    std::uint16_t state;
    double distance;
  };
  struct Way {
    double axial, around;  // [m] on the surface, from a piece's beginning to its end
  };
  const Sight& sight(int column, double fed, const Piece& piece);
  double fed(double radius, const Piece& piece);
  PathLines::Span edges(double rotation) const;
  PathLines::Rows columns(double low, double high) const;
  Line& line_of(std::uint32_t head);
  void expose(std::uint32_t head, Line& line);
  void send(const Piece& piece, Line& line);
  bool alone(std::uint32_t head, std::uint32_t end) const;
  void pass_line(std::uint32_t head);
  void whole_line(const Piece& head, const Line& line);
  void pass_around(const Piece& piece);
  void pass_around(const Piece& piece, int stretch, const PathLines::Rows& columns);
  void pass_oblique(const Piece& piece);
  struct Slant;
  Slant slant(const Piece& piece, const Sight& seen, double here) const;
  PathLines::Rows endless(const Piece& piece, const Slant& slant, const PathLines::Rows& near) const;
  void light_endless(const Piece& piece, const Slant& slant, const PathLines::Rows& columns);
  struct Rule;
  void light_panels(const Piece& piece, const Rule& rule);
  void light_dot(double energy, double axial, double around, const Piece& piece);
  void light_row(double energy, double axial, float across, const Sight& seen);
  float row_across(double x, const Sight& seen) const;
  void pass_spot(const Piece& piece);
  void describe(const Piece& piece, const PathLines::Rows& near, const Sight& seen, const Slant& slanted);
  void want(const Piece& piece, std::span<std::uint8_t> out);
  void keep(const Piece& piece, const PathLines::Rows& columns, const Way& way);
  Layer& begin(bool whole);
  std::span<const EventRow> finish();

  const PathLines& all_;
  PathEcho echo_;
  int row_ = 0;
  long clock_ = 0;
  std::unordered_map<std::uint32_t, std::unique_ptr<Line>> lines_;
  std::vector<std::unique_ptr<Line>> idle_;
  std::vector<std::vector<Sight>> sights_;  // [level][column], where every place around sees the beam alike
  Sight sight_;                             // elsewhere the last one
  double fed_ = 0, fed_radius_ = -1;
  int fed_row_ = -1;
  double half_sine_ = 0, half_cosine_ = 1;  // of half a row's angle
  double under_sine_ = 0,
         under_cosine_ = 1;  // of the place under the beam, of a straight part that turns truly
  std::vector<Layer> layers_;
  int laid_ = 0;
  std::vector<int> depth_;  // by column: layers used
  std::vector<Open> open_;
  std::vector<Touch> touch_;
  std::vector<float> light_;
  std::vector<EventRow> events_;
};

}  // namespace circumfluence::exposure
