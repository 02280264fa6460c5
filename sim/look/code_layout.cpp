// How the modules of QR codes (ISO/IEC 18004) and Data Matrices (ISO/IEC 16022, ECC 200) are laid out: what
// is fixed, and which codeword the others belong to.
#include <algorithm>
#include <cmath>
#include <utility>

#include "look/code.h"

namespace circumfluence::look {
namespace {

// ---- QR code

// Middles of the alignment patterns, along one side; none in version 1.
std::vector<int> alignment(int version) {
  if (version == 1) return {};
  const int count = version / 7 + 2, side = 17 + 4 * version;
  const int step = (version * 8 + count * 3 + 5) / (count * 4 - 4) * 2;
  std::vector<int> out{6};
  for (int i = count - 2; i >= 0; --i) out.push_back(side - 7 - i * step);
  return out;
}

// Of the finder pattern whose middle lies that far away, with the light ring around it.
std::int8_t finder(int x, int y) {
  const int d = std::max(std::abs(x), std::abs(y));
  return std::int8_t(d <= 1 || d == 3);
}

// What stands in the corners of a QR code: finder patterns, and -1 beyond.
std::int8_t in_corner(int side, int x, int y) {
  const int u = std::min(x, side - 1 - x), v = std::min(y, side - 1 - y);
  const bool corner = u < 8 && v < 8 && !(x >= side - 8 && y >= side - 8);
  return corner ? finder(u - 3, v - 3) : std::int8_t(-1);
}

void add_alignment(int version, std::vector<std::int8_t>& fixed) {
  const int side = 17 + 4 * version;
  const std::vector<int> middles = alignment(version);
  for (const int y : middles)
    for (const int x : middles) {
      if (in_corner(side, x, y) >= 0) continue;
      for (int i = -2; i <= 2; ++i)
        for (int j = -2; j <= 2; ++j)
          fixed[size_t(y + i) * size_t(side) + size_t(x + j)] = std::max(std::abs(i), std::abs(j)) != 1;
    }
}

std::vector<std::int8_t> fixed_qr(int version) {
  const int side = 17 + 4 * version;
  std::vector<std::int8_t> out(size_t(side) * size_t(side), -1);
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < side; ++x) {
      std::int8_t& module = out[size_t(y) * size_t(side) + size_t(x)];
      module = in_corner(side, x, y);
      if (module < 0 && (x == 6 || y == 6)) module = std::int8_t((x + y) % 2 == 0);  // timing
    }
  add_alignment(version, out);
  return out;
}

// Format and version stand there: neither fixed nor data.
bool is_format(int side, int x, int y) {
  if ((y == 8 && (x < 9 || x >= side - 8)) || (x == 8 && (y < 9 || y >= side - 8))) return true;
  return side >= 45 && ((x < 6 && y >= side - 11) || (y < 6 && x >= side - 11));
}

// Upward and downward in pairs of columns from the right, the timing column left out.
std::vector<int> along_bits(int side, const std::vector<std::int8_t>& fixed) {
  std::vector<int> out;
  bool up = true;
  for (int right = side - 1; right >= 1; right -= 2, up = !up) {
    if (right == 6) right = 5;
    for (int i = 0; i < side; ++i)
      for (const int x : {right, right - 1}) {
        const int y = up ? side - 1 - i : i, at = y * side + x;
        if (fixed[size_t(at)] < 0 && !is_format(side, x, y)) out.push_back(at);
      }
  }
  return out;
}

// [1] share of the codewords that can be corrected, by the two bits of the level, which stand left of the
// upper left pattern's lower edge, covered with 10.
double correctable_share(const Symbol& symbol) {
  const size_t row = 8 * size_t(symbol.columns);
  const int bits = (symbol.black(row) ? 2 : 0) | (symbol.black(row + 1) ? 1 : 0);
  constexpr double kShares[] = {0.15, 0.07, 0.30, 0.25};  // 00 M, 01 L, 10 H, 11 Q
  return kShares[bits ^ 2];
}

Codewords codewords_qr(const Symbol& symbol) {
  const std::vector<int> order = along_bits(symbol.columns, fixed_qr((symbol.columns - 17) / 4));
  Codewords out{std::vector<int>(symbol.dark.size(), -1), int(order.size() / 8), 0};
  for (int i = 0; i < 8 * out.count; ++i) out.of[size_t(order[size_t(i)])] = i / 8;
  out.correctable = int(correctable_share(symbol) * out.count);
  return out;
}

// ---- Data Matrix

struct Matrix {
  int columns, rows, regions_across, regions_down, correcting;  // codewords for correction
};
constexpr Matrix kMatrices[] = {
    {10, 10, 1, 1, 5},     {12, 12, 1, 1, 7},     {14, 14, 1, 1, 10},    {16, 16, 1, 1, 12},
    {18, 18, 1, 1, 14},    {20, 20, 1, 1, 18},    {22, 22, 1, 1, 20},    {24, 24, 1, 1, 24},
    {26, 26, 1, 1, 28},    {32, 32, 2, 2, 36},    {36, 36, 2, 2, 42},    {40, 40, 2, 2, 48},
    {44, 44, 2, 2, 56},    {48, 48, 2, 2, 68},    {52, 52, 2, 2, 84},    {64, 64, 4, 4, 112},
    {72, 72, 4, 4, 144},   {80, 80, 4, 4, 192},   {88, 88, 4, 4, 224},   {96, 96, 4, 4, 272},
    {104, 104, 4, 4, 336}, {120, 120, 6, 6, 408}, {132, 132, 6, 6, 496}, {144, 144, 6, 6, 620},
    {18, 8, 1, 1, 7},      {32, 8, 2, 1, 11},     {26, 12, 1, 1, 14},    {36, 12, 2, 1, 18},
    {36, 16, 2, 1, 24},    {48, 16, 2, 1, 28}};

const Matrix* matrix_of(int columns, int rows) {
  const auto at = std::find_if(std::begin(kMatrices), std::end(kMatrices),
                               [=](const Matrix& m) { return m.columns == columns && m.rows == rows; });
  return at == std::end(kMatrices) ? nullptr : at;
}

// Every region has a black edge at its left and below, and a dashed one above and at its right.
std::vector<std::int8_t> fixed_matrix(const Matrix& m) {
  std::vector<std::int8_t> out(size_t(m.columns) * size_t(m.rows), -1);
  const int across = m.columns / m.regions_across, down = m.rows / m.regions_down;
  for (int y = 0; y < m.rows; ++y)
    for (int x = 0; x < m.columns; ++x) {
      const int u = x % across, v = y % down;
      std::int8_t& module = out[size_t(y) * size_t(m.columns) + size_t(x)];
      if (u == 0 || v == down - 1)
        module = 1;
      else if (v == 0)
        module = std::int8_t(u % 2 == 0);
      else if (u == across - 1)
        module = std::int8_t(v % 2 == 1);
    }
  return out;
}

// Codewords lie as slanted tiles of eight modules over the data, region edges left out; tiles over the rim
// come in again at the other side, and four corners have shapes of their own.
class Tiling {
 public:
  explicit Tiling(const Matrix& m)
      : m_(m), rows_(m.rows - 2 * m.regions_down), columns_(m.columns - 2 * m.regions_across) {
    of_.assign(size_t(rows_) * size_t(columns_), -1);
    int row = 4, column = 0;
    do {
      corners(row, column);
      do {
        if (row < rows_ && column >= 0) tile(row, column);
        row -= 2, column += 2;
      } while (row >= 0 && column < columns_);
      row += 1, column += 3;
      do {
        if (row >= 0 && column < columns_) tile(row, column);
        row += 2, column -= 2;
      } while (row < rows_ && column >= 0);
      row += 3, column += 1;
    } while (row < rows_ || column < columns_);
  }

  int count() const { return count_; }
  // In the whole symbol.
  std::vector<int> spread() const {
    std::vector<int> out(size_t(m_.rows) * size_t(m_.columns), -1);
    const int down = rows_ / m_.regions_down, across = columns_ / m_.regions_across;
    for (int row = 0; row < rows_; ++row)
      for (int column = 0; column < columns_; ++column) {
        const int y = row + 1 + 2 * (row / down), x = column + 1 + 2 * (column / across);
        out[size_t(y) * size_t(m_.columns) + size_t(x)] =
            of_[size_t(row) * size_t(columns_) + size_t(column)];
      }
    return out;
  }

 private:
  using Places = std::array<std::pair<int, int>, 8>;

  int& at(int row, int column) { return of_[size_t(row) * size_t(columns_) + size_t(column)]; }

  void put(int row, int column) {
    if (row < 0) row += rows_, column += 4 - (rows_ + 4) % 8;
    if (column < 0) column += columns_, row += 4 - (columns_ + 4) % 8;
    at(row, column) = count_;
  }

  void tile(int row, int column) {
    if (at(row, column) >= 0) return;
    for (const auto& [down, right] :
         Places{{{-2, -2}, {-2, -1}, {-1, -2}, {-1, -1}, {-1, 0}, {0, -2}, {0, -1}, {0, 0}}})
      put(row + down, column + right);
    ++count_;
  }

  // Places below 0 count from the far edge.
  void corner(const Places& places) {
    for (const auto& [row, column] : places)
      at(row < 0 ? rows_ + row : row, column < 0 ? columns_ + column : column) = count_;
    ++count_;
  }

  void corners(int row, int column) {
    if (row == rows_ && column == 0)
      corner({{{-1, 0}, {-1, 1}, {-1, 2}, {0, -2}, {0, -1}, {1, -1}, {2, -1}, {3, -1}}});
    if (row == rows_ - 2 && column == 0 && columns_ % 4 != 0)
      corner({{{-3, 0}, {-2, 0}, {-1, 0}, {0, -4}, {0, -3}, {0, -2}, {0, -1}, {1, -1}}});
    if (row == rows_ - 2 && column == 0 && columns_ % 8 == 4)
      corner({{{-3, 0}, {-2, 0}, {-1, 0}, {0, -2}, {0, -1}, {1, -1}, {2, -1}, {3, -1}}});
    if (row == rows_ + 4 && column == 2 && columns_ % 8 == 0)
      corner({{{-1, 0}, {-1, -1}, {0, -3}, {0, -2}, {0, -1}, {1, -3}, {1, -2}, {1, -1}}});
  }

  const Matrix& m_;
  int rows_, columns_, count_ = 0;
  std::vector<int> of_;
};

}  // namespace

std::optional<std::vector<std::int8_t>> fixed_patterns(Symbology kind, int columns, int rows) {
  if (kind == Symbology::data_matrix) {
    const Matrix* m = matrix_of(columns, rows);
    return m ? std::optional(fixed_matrix(*m)) : std::nullopt;
  }
  if (columns != rows || columns < 21 || columns > 177 || columns % 4 != 1) return std::nullopt;
  return fixed_qr((columns - 17) / 4);
}

Codewords codewords(const Symbol& symbol) {
  if (symbol.dark.empty() || !fixed_patterns(symbol.kind, symbol.columns, symbol.rows)) return {};
  if (symbol.kind == Symbology::qr) return codewords_qr(symbol);
  const Matrix& m = *matrix_of(symbol.columns, symbol.rows);
  const Tiling tiling(m);
  return {tiling.spread(), tiling.count(), m.correcting / 2};
}

}  // namespace circumfluence::look
