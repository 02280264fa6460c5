#include "exposure/echo.h"

#include <algorithm>
#include <cstdlib>

#include "quantity/lanes.h"

namespace circumfluence::exposure {
namespace {

CIRCUMFLUENCE_LANES void add_scaled(const float* values, float factor, float* sum, int n) {
  for (int i = 0; i < n; ++i) sum[i] += factor * values[i];
}

constexpr int kPiece = 512;  // columns at a time, so that sums and boxes stay in the innermost cache

struct Tap {
  const float* values;
  float weight;
};

// best[i] = max(best[i], sum over taps of weight * values[i]); four taps at a time, at most kPiece values.
CIRCUMFLUENCE_LANES void keep_greatest_sum(const Tap* taps, int count, float* best, int n) {
  float sum[kPiece];
  for (int t = 0; t < count; t += 4) {
    const float *a = taps[t].values, *b = taps[t + 1].values, *c = taps[t + 2].values, *d = taps[t + 3].values;
    const float wa = taps[t].weight, wb = taps[t + 1].weight, wc = taps[t + 2].weight, wd = taps[t + 3].weight;
    if (t == 0)
      for (int i = 0; i < n; ++i) sum[i] = wa * a[i] + wb * b[i] + wc * c[i] + wd * d[i];
    else
      for (int i = 0; i < n; ++i) sum[i] += wa * a[i] + wb * b[i] + wc * c[i] + wd * d[i];
  }
  for (int i = 0; i < n; ++i) best[i] = sum[i] > best[i] ? sum[i] : best[i];
}

CIRCUMFLUENCE_LANES void add_box(const double* high, const double* low, float factor, float* sum, int n) {
  for (int i = 0; i < n; ++i) sum[i] += factor * static_cast<float>(high[i] - low[i]);
}

CIRCUMFLUENCE_LANES void keep_greatest(const float* values, float* best, int n) {
  for (int i = 0; i < n; ++i) best[i] = values[i] > best[i] ? values[i] : best[i];
}

}  // namespace

int Echo::reach() const {
  int most = 0;
  for (const Moment& m : moments)
    most = std::max({most, m.ahead + 1, (near << m.far.size()) - m.ahead});
  return most;
}

// sent_ begins `reach` columns before the row, the way the beam goes.
void Listener::lay_out(std::span<const float> sent, int pad, Sense sense, int columns) {
  const int reach = echo_.reach(), size = columns + 2 * reach, last = static_cast<int>(sent.size()) - 1;
  sent_.resize(size_t(size));
  const int before = std::clamp(reach - pad, 0, size), after = std::clamp(reach - pad, 0, size - before);
  const int first = std::max(0, pad - reach), count = size - before - after;
  if (sense == Sense::forth) {
    std::copy_n(sent.begin() + first, count, sent_.begin() + before);
    std::fill_n(sent_.begin(), before, sent.front());
    std::fill_n(sent_.end() - after, after, sent.back());
  } else {
    std::reverse_copy(sent.begin() + first, sent.begin() + first + count, sent_.begin() + before);
    std::fill_n(sent_.begin(), before, sent[size_t(last)]);
    std::fill_n(sent_.end() - after, after, sent.front());
  }
}

// Each box is two of half its width. Where a box would begin before sent_, nothing asks for it.
void Listener::add_up() {
  const int size = static_cast<int>(sent_.size()), octaves = static_cast<int>(echo_.moments.front().far.size());
  boxes_.resize(size_t(octaves));
  for (int k = 0; k < octaves; ++k) {
    std::vector<float>& box = boxes_[size_t(k)];
    box.assign(size_t(size), 0.0f);
    if (k == 0) {
      for (int n = 0; n < echo_.near && n < size; ++n) add_scaled(sent_.data(), 1.0f, box.data() + n, size - n);
      continue;
    }
    const std::vector<float>& half = boxes_[size_t(k) - 1];
    const int width = echo_.near << (k - 1);
    box = half;
    if (width < size) add_scaled(half.data(), 1.0f, box.data() + width, size - width);
  }
}

void Listener::row(std::span<const float> sent, int pad, Sense sense, std::span<float> out) {
  const int columns = static_cast<int>(out.size()), reach = echo_.reach();
  lay_out(sent, pad, sense, columns);
  add_up();
  best_.assign(size_t(columns), 0.0f);
  std::vector<Tap> taps;
  for (int first = 0; first < columns; first += kPiece)
    for (const Echo::Moment& moment : echo_.moments) {
      taps.clear();
      const int own = reach + moment.ahead + first;
      for (int n = 0; n < echo_.near; ++n) taps.push_back({sent_.data() + own - n, moment.near[size_t(n)]});
      for (size_t k = 0; k < moment.far.size(); ++k) {
        const int width = echo_.near << k;
        taps.push_back({boxes_[k].data() + own - width, moment.far[k] / float(width)});
      }
      while (taps.size() % 4 != 0) taps.push_back({sent_.data(), 0.0f});
      keep_greatest_sum(taps.data(), static_cast<int>(taps.size()), best_.data() + first, std::min(kPiece, columns - first));
    }
  if (sense == Sense::forth)
    std::copy(best_.begin(), best_.end(), out.begin());
  else
    std::reverse_copy(best_.begin(), best_.end(), out.begin());
}

void Across::row(std::span<const Rows> rows, Sense sense, std::span<float> out) {
  const int lines = static_cast<int>(out.size()), own = echo_.reach();
  const int back = sense == Sense::forth ? 1 : -1;  // from a row to the one the beam comes to next
  std::fill(out.begin(), out.end(), 0.0f);
  for (const Echo::Moment& moment : echo_.moments) {
    std::fill_n(heard_.begin(), lines, 0.0f);
    const int beam = own + back * moment.ahead;
    for (int n = 0; n < echo_.near; ++n)
      add_scaled(rows[size_t(beam - back * n)].sent, moment.near[size_t(n)], heard_.data(), lines);
    int from = echo_.near;
    for (const float weight : moment.far) {
      const int one = beam - back * from, other = beam - back * (2 * from - 1);
      const int low = std::min(one, other), high = std::max(one, other) + 1;
      add_box(rows[size_t(high)].sums, rows[size_t(low)].sums, weight / float(from), heard_.data(), lines);
      from *= 2;
    }
    keep_greatest(heard_.data(), out.data(), lines);
  }
}

}  // namespace circumfluence::exposure
