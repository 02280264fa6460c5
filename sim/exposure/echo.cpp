#include "exposure/echo.h"

#include <algorithm>
#include <cstdlib>

#include "quantity/lanes.h"

namespace circumfluence::exposure {
namespace {

CIRCUMFLUENCE_LANES void add_scaled(const float* values, float factor, float* sum, int n) {
  for (int i = 0; i < n; ++i) sum[i] += factor * values[i];
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

// One moment's sums into heard_; sent_ begins `reach` columns before the row.
void Listener::add(const Echo::Moment& moment, int columns) {
  std::fill_n(heard_.begin(), columns, 0.0f);
  const int own = echo_.reach() + moment.ahead;
  for (int n = 0; n < echo_.near; ++n)
    add_scaled(sent_.data() + own - n, moment.near[size_t(n)], heard_.data(), columns);
  int from = echo_.near;
  for (const float weight : moment.far) {
    add_box(sum_.data() + own - from + 1, sum_.data() + own - 2 * from + 1, weight / float(from), heard_.data(),
            columns);
    from *= 2;
  }
  keep_greatest(heard_.data(), best_.data(), columns);
}

void Listener::row(std::span<const float> sent, int pad, Sense sense, std::span<float> out) {
  const int columns = static_cast<int>(out.size()), reach = echo_.reach();
  sent_.resize(size_t(columns) + 2 * size_t(reach));
  const int last = static_cast<int>(sent.size()) - 1;
  for (int i = 0; i < int(sent_.size()); ++i) {
    const int at = sense == Sense::forth ? pad - reach + i : pad + columns - 1 + reach - i;
    sent_[size_t(i)] = sent[size_t(std::clamp(at, 0, last))];
  }
  sum_.resize(sent_.size() + 1);
  double sum = 0;
  for (size_t i = 0; i < sent_.size(); ++i) {
    sum_[i] = sum;
    sum += sent_[i];
  }
  sum_.back() = sum;
  heard_.resize(size_t(columns));
  best_.assign(size_t(columns), 0.0f);
  for (const Echo::Moment& moment : echo_.moments) add(moment, columns);
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
