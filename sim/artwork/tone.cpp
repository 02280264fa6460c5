#include "artwork/tone.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/lanes.h"
#include "quantity/map.h"
#include "quantity/unit.h"

namespace circumfluence::artwork {
namespace {

using Cover = Tone::Cover;

// 0 to 3, anticlockwise.
int quarters(const Placement& placement) {
  const int turns = static_cast<int>(std::lround(placement.turn / (quantity::kPi / 2)));
  return ((turns % 4) + 4) % 4;
}

double positive(const char* key, double size) {
  if (!std::isnan(size) && !(size > 0 && std::isfinite(size)))
    throw quantity::JobError(
        fmt::format("artwork.{} = {} (a size; expected more than 0 mm)", key, quantity::format(size, "mm")));
  return size;
}

// A uniform run of `count` pixels of width `pitch` [m], the first beginning at `from` [m].
struct Ruler {
  double from, pitch;
  int count;

  // Position in pixels; rounding noise does not make a sliver.
  double at(double position) const {
    const double x = (position - from) / pitch;
    const double whole = std::round(x);
    return std::abs(x - whole) < 1e-9 ? whole : x;
  }

  Cover cover(double begin, double end) const {
    const double a = at(begin), b = at(end), beyond = count;
    Cover cover;
    cover.first = static_cast<int>(std::clamp(std::floor(a), -1.0, beyond)) + 1;
    cover.last = static_cast<int>(std::clamp(std::ceil(b) - 1, -1.0, beyond)) + 1;
    if (cover.last <= cover.first) {
      cover.last = cover.first;
      return cover;
    }
    cover.middle = 1 / (b - a);
    cover.head = (cover.first - a) * cover.middle;
    cover.tail = (b - (cover.last - 1)) * cover.middle;
    return cover;
  }
};

struct TwoRows {
  const std::uint16_t* one;
  const std::uint16_t* other;
  double one_weight, other_weight;
};

CIRCUMFLUENCE_LANES
void mix_two(TwoRows rows, std::size_t count, float* __restrict sum) {
  for (std::size_t i = 0; i < count; ++i)
    sum[i] = static_cast<float>(rows.one_weight * rows.one[i] + rows.other_weight * rows.other[i]);
}

// The same with whole rows between the two. Sums of whole pixels are exact: 65500 x 65535 < 2^32.
CIRCUMFLUENCE_LANES
void mix_many(TwoRows rows, const std::uint32_t* __restrict between, double weight, std::size_t count,
              float* __restrict sum) {
  for (std::size_t i = 0; i < count; ++i)
    sum[i] = static_cast<float>(rows.one_weight * rows.one[i] + weight * between[i] +
                                rows.other_weight * rows.other[i]);
}

CIRCUMFLUENCE_LANES
void add_row(const std::uint16_t* __restrict row, std::size_t count, std::uint32_t* __restrict sum) {
  for (std::size_t i = 0; i < count; ++i) sum[i] += row[i];
}

CIRCUMFLUENCE_LANES
void spread_narrow(const float* __restrict sum, const std::int32_t* __restrict first,
                   const float* __restrict second, std::size_t count, float* __restrict out) {
  for (std::size_t i = 0; i < count; ++i) {
    const float here = sum[first[i]];
    const float mean = here + second[i] * (sum[first[i] + 1] - here);
    out[i] = mean < 0 ? 0 : mean > 1 ? 1 : mean;
  }
}

CIRCUMFLUENCE_LANES
void flip_row(const std::uint16_t* __restrict tone, std::uint16_t flip, std::uint16_t* __restrict share,
              std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) share[i] = static_cast<std::uint16_t>(tone[i] ^ flip);
}

// Four running sums, since one would wait for itself at every pixel.
double total(const float* from, const float* to) {
  double lane[4] = {};
  for (; to - from >= 4; from += 4)
    for (int i = 0; i < 4; ++i) lane[i] += from[i];
  for (; from < to; ++from) lane[0] += *from;
  return lane[0] + lane[1] + lane[2] + lane[3];
}

void spread_wide(const float* sum, std::span<const Cover> covers, float* out) {
  for (const Cover& c : covers) {
    double mean = c.head * sum[c.first];
    if (c.last > c.first) mean += c.middle * total(sum + c.first + 1, sum + c.last) + c.tail * sum[c.last];
    *out++ = static_cast<float>(std::clamp(mean, 0.0, 1.0));
  }
}

std::uint64_t next_id() {
  static std::atomic<std::uint64_t> last{0};
  return ++last;
}

}  // namespace

Extent extent(const Placement& placement, const Image& image) {
  check(placement);
  if (!std::isfinite(placement.axial) || !std::isfinite(placement.around))
    throw quantity::JobError("artwork.axial is missing (where the picture's centre goes is not known)");
  const bool sideways = quarters(placement) % 2 == 1;
  const double aspect = sideways ? static_cast<double>(image.height) / image.width
                                 : static_cast<double>(image.width) / image.height;
  double axial = positive("size_axial", placement.size_axial);
  double around = positive("size_around", placement.size_around);
  if (std::isnan(axial)) axial = around * aspect;
  if (std::isnan(around)) around = axial / aspect;
  return {placement.axial - axial / 2, placement.axial + axial / 2, placement.around - around / 2,
          placement.around + around / 2};
}

Tone::Tone(const Image& image, const Placement& placement, Along along, std::span<const double> edges)
    : id_(next_id()) {
  if (image.width < 1 || image.height < 1 ||
      image.tone.size() != static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height))
    throw quantity::ValidityError("artwork tone: a picture without its pixels");
  orient(image, placement, along);

  const Extent all = extent(placement, image);
  const bool axial = along == Along::axial;
  const double from = axial ? all.axial_from : all.around_from;
  const double to = axial ? all.axial_to : all.around_to;
  rows_from_ = axial ? all.around_from : all.axial_from;
  row_pitch_ = ((axial ? all.around_to : all.axial_to) - rows_from_) / rows_;
  columns_from_ = from;
  column_pitch_ = (to - from) / columns_;
  lay_cells(edges);
}

Tone Tone::over(std::span<const double> edges) const {
  Tone other = *this;
  other.id_ = next_id();
  other.first_.clear();
  other.second_.clear();
  other.covers_.clear();
  other.lay_cells(edges);
  return other;
}

void Tone::lay_cells(std::span<const double> edges) {
  const auto falls = std::ranges::adjacent_find(edges, [](double a, double b) { return !(a < b); });
  if (edges.size() < 2 || falls != edges.end() || !std::isfinite(edges.front()) ||
      !std::isfinite(edges.back()))
    throw quantity::ValidityError("artwork tone: edges of cells (expected two or more, strictly rising)");
  const Ruler ruler{columns_from_, column_pitch_, columns_};
  covers_.reserve(edges.size() - 1);
  for (std::size_t i = 0; i + 1 < edges.size(); ++i) covers_.push_back(ruler.cover(edges[i], edges[i + 1]));
  used_from_ = std::max(1, covers_.front().first);
  used_to_ = std::min(columns_, covers_.back().last);
  if (std::ranges::any_of(covers_, [](const Cover& c) { return c.last > c.first + 1; })) return;
  for (const Cover& c : covers_) {
    first_.push_back(c.first);
    second_.push_back(static_cast<float>(c.tail));
  }
  std::vector<Cover>().swap(covers_);
}

// With axial to the right and around upwards, a turned picture's pixel x (right), y (down) of W x H lies at
//   turn      0          90         180           270
//   axial     x          y          W - 1 - x     H - 1 - y
//   around    H - 1 - y  x          y             W - 1 - x
// and a mirrored one's falls where it grew.
void Tone::orient(const Image& image, const Placement& placement, Along along) {
  const int turn = quarters(placement);
  const bool across_down = (turn % 2 == 0) == (along == Along::axial);  // picture rows stay rows
  const bool axial_falls = placement.mirror == Mirror::axial || placement.mirror == Mirror::both;
  const bool around_falls = placement.mirror == Mirror::around || placement.mirror == Mirror::both;
  const bool x_falls = (turn == 2 || turn == 3) != (turn % 2 == 0 ? axial_falls : around_falls);
  const bool y_falls = (turn == 0 || turn == 3) != (turn % 2 == 0 ? around_falls : axial_falls);
  columns_ = across_down ? image.width : image.height;
  rows_ = across_down ? image.height : image.width;
  const auto pages = quantity::allocate_pages(sizeof(std::uint16_t) * image.tone.size());
  std::uint16_t* const shares = static_cast<std::uint16_t*>(pages.get());
  share_ = {pages, shares};

  const std::uint16_t flip = placement.burns == Burns::dark ? 65535 : 0;
  const std::size_t width = image.width, height = image.height;
  const auto put = [&](std::size_t x, std::size_t y) {
    const std::size_t from = y * width + x;
    std::uint32_t share = image.tone[from] ^ flip;  // 65535 - tone
    if (!image.opacity.empty()) share = (share * image.opacity[from] + 32767u) / 65535u;
    const std::size_t i = x_falls ? width - 1 - x : x;
    const std::size_t j = y_falls ? height - 1 - y : y;
    shares[across_down ? j * width + i : i * height + j] = static_cast<std::uint16_t>(share);
  };
  if (across_down && !x_falls && image.opacity.empty()) {  // as pictures mostly lie: row by row
    for (std::size_t y = 0; y < height; ++y)
      flip_row(image.tone.data() + y * width, flip, shares + (y_falls ? height - 1 - y : y) * width, width);
    return;
  }
  constexpr std::size_t kTile = 64;  // keeps both sides of a transposition in cache
  for (std::size_t y0 = 0; y0 < height; y0 += kTile)
    for (std::size_t x0 = 0; x0 < width; x0 += kTile)
      for (std::size_t y = y0; y < std::min(height, y0 + kTile); ++y)
        for (std::size_t x = x0; x < std::min(width, x0 + kTile); ++x) put(x, y);
}

// Weights are divided by 65535 here, in double: a column of whole pixels comes out as exactly 1.
void Tone::average_rows(const Cover& across, float* sum) const {
  if (used_to_ < used_from_) return;
  const std::size_t count = used_to_ - used_from_ + 1;
  const auto pixels = [&](int row) {  // rows beyond the picture have no weight; any row will do
    const std::size_t inside = std::clamp(row, 1, rows_) - 1;
    return share_.get() + inside * columns_ + used_from_ - 1;
  };
  const TwoRows ends{pixels(across.first), pixels(across.last), across.first < 1 ? 0.0 : across.head / 65535,
                     across.last > rows_ ? 0.0 : across.tail / 65535};
  if (across.last <= across.first + 1) return mix_two(ends, count, sum + used_from_);
  std::vector<std::uint32_t> between(count, 0);
  for (int row = across.first + 1; row < across.last; ++row) add_row(pixels(row), count, between.data());
  mix_many(ends, between.data(), across.middle / 65535, count, sum + used_from_);
}

void Tone::row(double from, double to, std::span<float> out, Scratch& scratch) const {
  const std::size_t cells = first_.empty() ? covers_.size() : first_.size();
  if (!(from < to) || !std::isfinite(from) || !std::isfinite(to))
    throw quantity::ValidityError(
        fmt::format("artwork tone: a row from {} m to {} m (expected from < to)", from, to));
  if (out.size() != cells)
    throw quantity::ValidityError(
        fmt::format("artwork tone: room for {} cells (expected {})", out.size(), cells));
  const Cover across = Ruler{rows_from_, row_pitch_, rows_}.cover(from, to);
  if (across.last < 1 || across.first > rows_) {
    std::ranges::fill(out, 0.0f);
    return;
  }
  if (scratch.tone != id_ || !(scratch.cover == across)) {
    if (scratch.tone != id_) {
      scratch.sum.assign(static_cast<std::size_t>(columns_) + 3, 0.0f);  // 0, columns, n + 1, n + 2
      scratch.cells.resize(cells);
      scratch.cover = {};
      scratch.tone = id_;
    }
    average_rows(across, scratch.sum.data());
    if (first_.empty())
      spread_wide(scratch.sum.data(), covers_, scratch.cells.data());
    else
      spread_narrow(scratch.sum.data(), first_.data(), second_.data(), cells, scratch.cells.data());
    scratch.cover = across;
  }
  std::ranges::copy(scratch.cells, out.begin());
}

}  // namespace circumfluence::artwork
