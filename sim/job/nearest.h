// The known word that a misspelt one most likely stands for.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace circumfluence::job {

// Single-character insertions, removals, replacements and swaps of neighbours that turn `a` into `b`, capital
// and small letters alike (optimal string alignment).
int edit_distance(std::string_view a, std::string_view b);

// The closest of `known`, the first of equals; empty when none is close: up to a third of the letters may
// differ, or `word` is the beginning of a known one.
std::string nearest(std::string_view word, const std::vector<std::string>& known);

// ". Did you mean X?" with `before` and `after` around the nearest word, or nothing.
std::string suggestion(std::string_view word, const std::vector<std::string>& known,
                       std::string_view before = "", std::string_view after = "");

}  // namespace circumfluence::job
