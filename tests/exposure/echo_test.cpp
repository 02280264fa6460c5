// Truth: the sum of the header, written out plainly; lines across the rows must hear what lines along them hear.
#include "exposure/echo.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

namespace circumfluence::exposure {
namespace {

Echo some_echo() {
  Echo echo;
  echo.near = 3;
  echo.moments = {{0, {0.5f, 0.2f, 0.1f}, {0.15f, 0.05f}}, {-1, {0.4f, 0.3f, 0.05f}, {0.1f, 0.02f}},
                  {2, {0.1f, 0.1f, 0.1f}, {0.3f, 0.1f}}};
  return echo;
}

// [J/m] at column c by the formula; `sent` continues its outermost values.
double plain(const Echo& echo, const std::vector<float>& sent, int c) {
  const auto at = [&](int i) { return double(sent[size_t(std::clamp(i, 0, int(sent.size()) - 1))]); };
  double best = 0;
  for (const Echo::Moment& m : echo.moments) {
    double sum = 0;
    for (int n = 0; n < echo.near; ++n) sum += m.near[size_t(n)] * at(c + m.ahead - n);
    int from = echo.near;
    for (const float weight : m.far) {
      double mean = 0;
      for (int n = from; n < 2 * from; ++n) mean += at(c + m.ahead - n) / from;
      sum += weight * mean;
      from *= 2;
    }
    best = std::max(best, sum);
  }
  return best;
}

std::vector<float> uneven(int n) {
  std::vector<float> row(static_cast<size_t>(n));
  for (int i = 0; i < n; ++i) row[size_t(i)] = float((i * 37 + i * i * 11) % 17);
  return row;
}

TEST(Listener, IsTheSumOfTheHeader) {
  const Echo echo = some_echo();
  const int pad = 4;
  const std::vector<float> sent = uneven(60);
  std::vector<float> out(sent.size() - 2 * pad);
  Listener(echo).row(sent, pad, Sense::forth, out);
  for (int c = 0; c < int(out.size()); ++c) EXPECT_NEAR(out[size_t(c)], plain(echo, sent, c + pad), 1e-4) << c;
}

TEST(Across, HearsWhatALineAlongTheRowHears) {
  const Echo echo = some_echo();
  const int places = 80, lines = 5, reach = echo.reach();
  std::vector<std::vector<float>> rows(places);  // [place][line]
  std::vector<std::vector<double>> sums(places, std::vector<double>(lines, 0.0));
  for (int i = 0; i < places; ++i) {
    for (int line = 0; line < lines; ++line) rows[size_t(i)].push_back(float((i * (line + 3) * 7 + i * i) % 13));
    if (i > 0)
      for (size_t line = 0; line < lines; ++line) sums[size_t(i)][line] = sums[size_t(i) - 1][line] + rows[size_t(i) - 1][line];
  }
  for (const Sense sense : {Sense::forth, Sense::back})
    for (const int place : {30, 41, 49}) {
      std::vector<Across::Rows> about;
      for (int k = -reach; k <= reach + 1; ++k)
        about.push_back({rows[size_t(place + k)].data(), sums[size_t(place + k)].data()});
      std::vector<float> out(lines);
      Across(echo, lines).row(about, sense, out);
      for (size_t line = 0; line < lines; ++line) {
        std::vector<float> sent, along(places);
        for (int i = 0; i < places; ++i) sent.push_back(rows[size_t(i)][line]);
        Listener(echo).row(sent, 0, sense, along);
        EXPECT_NEAR(out[line], along[size_t(place)], 1e-4);
      }
    }
}

}  // namespace
}  // namespace circumfluence::exposure
