#include "job/nearest.h"

#include <algorithm>

namespace circumfluence::job {
namespace {

constexpr size_t kLongest = 64;  // nobody misspells a key by a page of text

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

}  // namespace

int edit_distance(std::string_view a, std::string_view b) {
  std::vector<int> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (size_t j = 1; j <= b.size(); ++j) {
      const bool same = lower(a[i - 1]) == lower(b[j - 1]);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (same ? 0 : 1)});
      if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
        row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

std::string nearest(std::string_view word, const std::vector<std::string>& known) {
  if (word.empty() || word.size() > kLongest) return {};
  std::string best;
  int least = static_cast<int>(kLongest);
  for (const std::string& candidate : known) {
    if (candidate.size() > kLongest) continue;
    const int distance = edit_distance(word, candidate);
    const size_t length = std::max(word.size(), candidate.size());
    if (distance > static_cast<int>((length + 1) / 3) || distance >= least) continue;
    best = candidate;
    least = distance;
  }
  if (!best.empty() || word.size() < 3) return best;
  for (const std::string& candidate : known)
    if (candidate.starts_with(word)) return candidate;
  return {};
}

std::string suggestion(std::string_view word, const std::vector<std::string>& known, std::string_view before,
                       std::string_view after) {
  const std::string found = nearest(word, known);
  if (found.empty()) return {};
  return std::string(". Did you mean ").append(before).append(found).append(after).append("?");
}

}  // namespace circumfluence::job
