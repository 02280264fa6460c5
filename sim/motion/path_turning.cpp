// Findings about the part's turning: reversals, and places that a second turn burns again.
#include <algorithm>
#include <cmath>

#include "motion/path_check.h"

namespace circumfluence::motion {
namespace {

constexpr double kStill = 1e-9;              // [m]
constexpr double kEnds = 1e-6;               // [m] kept off either end of a piece, where the next begins
constexpr std::int64_t kMostBins = 100'000;  // of one piece

}  // namespace

bool Reversals::take(double around, bool lit, double slack) {
  const int sense = around > kStill ? 1 : around < -kStill ? -1 : 0;
  if (sense != 0 && sense != sense_) {
    pending_ = sense_ != 0;
    sense_ = sense;
    way = 0;
  }
  if (pending_ && way >= slack) pending_ = false;
  const bool found = pending_ && lit;
  if (found)
    pending_ = false;
  else
    way += std::abs(around);
  return found;
}

bool TurnBoxes::Box::meets(const Box& other) const {
  return low <= other.high && other.low <= high && left <= other.right && other.left <= right;
}

void TurnBoxes::Box::add(const Box& other) {
  low = std::min(low, other.low);
  high = std::max(high, other.high);
  left = std::min(left, other.left);
  right = std::max(right, other.right);
}

// One box into its bin of half a degree.
bool TurnBoxes::take(const Box& box, int slot) {
  Bin& bin = bins_[static_cast<size_t>(slot)];
  bool again = bin.earlier && bin.earlier->meets(box);
  Box* mine = nullptr;
  for (int i = 0; i < bin.used; ++i) {
    Box& other = bin.box[static_cast<size_t>(i)];
    if (other.turn == box.turn)
      mine = &other;
    else
      again |= other.meets(box);
  }
  if (mine) {
    mine->add(box);
    return again;
  }
  if (bin.used == kTurns) {
    if (bin.earlier)
      bin.earlier->add(bin.box[0]);
    else
      bin.earlier = bin.box[0];
    std::move(bin.box.begin() + 1, bin.box.end(), bin.box.begin());
    --bin.used;
  }
  bin.box[static_cast<size_t>(bin.used++)] = box;
  return again;
}

bool TurnBoxes::take(const PathPoint& from, const PathPoint& to, double turn) {
  if (bins_.empty()) bins_.resize(kBins);
  const double way = to.around - from.around, size = std::abs(way), width = turn / kBins;
  const double keep = size > 4 * kEnds ? kEnds : 0;
  const double low = std::min(from.around, to.around) + keep, high = std::max(from.around, to.around) - keep;
  const auto first = static_cast<std::int64_t>(std::floor(low / width));
  const auto last = std::min(static_cast<std::int64_t>(std::floor(high / width)), first + kMostBins);
  bool again = false;
  for (std::int64_t bin = first; bin <= last; ++bin) {
    const double begin = std::max(low, static_cast<double>(bin) * width);
    const double end = std::max(begin, std::min(high, static_cast<double>(bin + 1) * width));
    const auto axial = [&](double around) {
      return size > 0 ? from.axial + (around - from.around) / way * (to.axial - from.axial) : from.axial;
    };
    const double a = size > 0 ? axial(begin) : from.axial, b = size > 0 ? axial(end) : to.axial;
    const std::int64_t of = bin >= 0 ? bin / kBins : -((kBins - 1 - bin) / kBins);
    const double start = static_cast<double>(of) * turn;
    again |= take({of, begin - start, end - start, std::min(a, b), std::max(a, b)},
                  static_cast<int>(bin - of * kBins));
  }
  return again;
}

}  // namespace circumfluence::motion
