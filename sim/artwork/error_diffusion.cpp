// Error diffusion, from turn to turn.
//
// Errors are kept in parts: e = parts q + rest. A dot hands w q to each neighbour; the rest goes to the next
// of its row, so that nothing is lost to rounding. What a row gets from the two above it is summed beforehand
// with vector lanes; only what goes along the row is taken dot by dot. What falls beyond a side is added to
// the outermost dot, and what the last dot of a row hands on goes to the first of the next, which lies below
// it.
#include <algorithm>
#include <array>
#include <bit>

#include "artwork/halftone.h"
#include "quantity/lanes.h"

namespace circumfluence::artwork {
namespace {

// Weights of the next two dots of the row, and of those two behind to two ahead in the two rows below.
struct Shares {
  int parts;
  int next, second;
  std::array<int, 5> below, beyond;
};

constexpr Shares kFloydSteinberg{16, 7, 0, {0, 3, 5, 1, 0}, {0, 0, 0, 0, 0}};
constexpr Shares kJarvisJudiceNinke{48, 7, 5, {3, 5, 7, 5, 3}, {1, 3, 5, 3, 1}};
constexpr Shares kStucki{42, 8, 4, {2, 4, 8, 4, 2}, {1, 2, 4, 2, 1}};

constexpr int kFull = 65535 << 10, kHalf = kFull / 2;  // a share of one, of one half
constexpr int kNever = 1 << 30;                        // more than any share with its errors
constexpr int kRim = 4;                                // columns beyond the sides that rows are padded with

using Row = std::vector<int>;  // columns -kRim .. width + kRim - 1

// got[x] = sum of weight[j] parts[x + j - 2], from two columns before the first to two after the last.
CIRCUMFLUENCE_LANES
void gather(const int* __restrict parts, const int* __restrict weight, int count, int* __restrict got) {
  const int a = weight[0], b = weight[1], c = weight[2], d = weight[3], e = weight[4];
  for (int i = 0; i < count; ++i)
    got[i] = a * parts[i] + b * parts[i + 1] + c * parts[i + 2] + d * parts[i + 3] + e * parts[i + 4];
}

CIRCUMFLUENCE_LANES
void gather_more(const int* __restrict parts, const int* __restrict weight, int count, int* __restrict got) {
  const int a = weight[0], b = weight[1], c = weight[2], d = weight[3], e = weight[4];
  for (int i = 0; i < count; ++i)
    got[i] += a * parts[i] + b * parts[i + 1] + c * parts[i + 2] + d * parts[i + 3] + e * parts[i + 4];
}

// Adds what is asked, and sets from where a dot is burnt: always for all, never for none.
CIRCUMFLUENCE_LANES
void ask(const std::uint16_t* __restrict tone, int count, int* __restrict got, int* __restrict limit) {
  for (int i = 0; i < count; ++i) {
    const int share = 65535 - tone[i];
    got[i] += share << 10;
    limit[i] = share == 0 ? kNever : share == 65535 ? -kNever : kHalf;
  }
}

template <Shares S>
int in_parts(int error) {
  if constexpr (std::has_single_bit(unsigned(S.parts))) return error >> std::countr_zero(unsigned(S.parts));
  constexpr long kInverse = ((1L << 32) + S.parts / 2) / S.parts;
  return static_cast<int>((error * kInverse) >> 32);
}

// What goes along the row to the next dot and to the one after it.
struct Carry {
  int next = 0, second = 0;
};

struct Line {
  const int* got;
  const int* limit;
  int* parts;
  std::uint16_t* out;
  int width;
};

template <Shares S, int way>
Carry decide(const Line& line, Carry carry) {
  for (int i = 0, x = way > 0 ? 0 : line.width - 1; i < line.width; ++i, x += way) {
    const int share = line.got[x] + carry.next;
    const int burnt = (line.limit[x] - share) >> 31;  // all bits or none
    const int error = share - (kFull & burnt);
    const int q = in_parts<S>(error);
    line.out[x] = static_cast<std::uint16_t>(~burnt);
    line.parts[x] = q;
    carry = {carry.second + error - (S.parts - S.next) * q, S.second * q};
  }
  return carry;
}

template <Shares S>
void diffuse_by(const Image& asked, Image& out) {
  constexpr bool kTwoBelow = S.beyond[2] != 0;
  const int width = asked.width, wide = width + 4;
  std::array<Row, 3> parts;
  for (Row& row : parts) row.assign(size_t(width + 2 * kRim), 0);
  Row got(size_t(wide), 0), limit(size_t(width), 0);
  std::array<int, 5> forth = S.below,
                     back = S.below;  // by where they come from: ahead of the dot was ahead in its row
  std::ranges::reverse(forth);
  Carry carry;
  for (int y = 0; y < asked.height; ++y) {
    const Row &above = parts[size_t(y + 2) % 3], &higher = parts[size_t(y + 1) % 3];
    gather(above.data(), (y % 2 == 1 ? forth : back).data(), wide, got.data());
    if constexpr (kTwoBelow) gather_more(higher.data(), S.beyond.data(), wide, got.data());
    got[2] += got[0] + got[1];
    got[size_t(width) + 1] += got[size_t(width) + 2] + got[size_t(width) + 3];
    ask(&asked.tone[size_t(y) * size_t(width)], width, &got[2], limit.data());
    const Line line{&got[2], limit.data(), &parts[size_t(y) % 3][kRim], &out.tone[size_t(y) * size_t(width)],
                    width};
    carry = y % 2 == 0 ? decide<S, 1>(line, carry) : decide<S, -1>(line, carry);
  }
}

}  // namespace

void diffuse(const Image& asked, Screen screen, Image& dots) {
  if (screen == Screen::jarvis_judice_ninke) return diffuse_by<kJarvisJudiceNinke>(asked, dots);
  if (screen == Screen::stucki) return diffuse_by<kStucki>(asked, dots);
  diffuse_by<kFloydSteinberg>(asked, dots);
}

}  // namespace circumfluence::artwork
