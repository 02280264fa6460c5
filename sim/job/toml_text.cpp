// Documents, places and how values look in messages; the typed reads are in toml_value.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "job/nearest.h"
#include "job/toml_value.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;

constexpr int kDeepest = 32;      // brackets in brackets, and dots in one key
constexpr size_t kShown = 60;     // [byte] of a value in a message
constexpr size_t kShownKey = 40;  // [byte] of a key in a message
constexpr std::string_view kBare = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";

// `position` is at a quote; returns the position after the string, or its line's end when it is not closed.
size_t after_string(std::string_view text, size_t position) {
  const char quote = text[position];
  const std::string three(3, quote);
  const bool long_string = text.substr(position).starts_with(three);
  for (size_t i = position + (long_string ? 3 : 1); i < text.size(); ++i) {
    if (quote == '"' && text[i] == '\\') {
      ++i;
    } else if (!long_string && (text[i] == '\n' || text[i] == quote)) {
      return text[i] == quote ? i + 1 : i;
    } else if (long_string && text.substr(i).starts_with(three)) {
      i += 3;  // up to two more quotes belong to the text
      for (int more = 0; more < 2 && i < text.size() && text[i] == quote; ++more) ++i;
      return i;
    }
  }
  return text.size();
}

// Tables nest by brackets and by the dots of a key, and both the parser and the destructor of its tree
// recurse: a file of nothing but dots would exhaust the stack.
void check_nesting(std::string_view text, const std::string& file) {
  int depth = 0, dots = 0, line = 1;
  size_t line_start = 0;
  for (size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (c == '"' || c == '\'') {
      const size_t end = after_string(text, i);
      for (; i < end; ++i)
        if (text[i] == '\n') ++line, line_start = i + 1;
      continue;
    }
    if (c == '#') {
      i = std::min(text.find('\n', i), text.size());
      continue;
    }
    if (c == '\n') ++line, line_start = i + 1, dots = 0;
    if (c == '.') ++dots;
    if (c == '[' || c == '{') ++depth;
    if ((c == ']' || c == '}') && depth > 0) --depth;
    if (depth > kDeepest || dots > kDeepest)
      throw JobError(fmt::format("tables within tables (expected at most {} levels)", kDeepest),
                     {file, line, static_cast<int>(i - line_start) + 1});
    ++i;
  }
}

// A prefix of at most `most` bytes that does not cut a character in two.
std::string shortened(std::string_view text, size_t most) {
  if (text.size() <= most) return std::string(text);
  while (most > 0 && (static_cast<unsigned char>(text[most]) & 0xc0) == 0x80) --most;
  return std::string(text.substr(0, most)) + "...";
}

std::string shown_key(std::string_view key) {
  const bool bare = !key.empty() && key.find_first_not_of(kBare) == std::string_view::npos;
  const std::string text = shortened(key, kShownKey);
  return bare ? text : toml_string(text);
}

}  // namespace

quantity::Place place_of(const toml::source_region& region, const std::string& file) {
  if (file.empty()) return {};
  return {file, static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

quantity::Place place_in(const toml::table& table, std::string_view problem, const std::string& file) {
  const toml::node* node = &table;
  while (const toml::table* inner = node->as_table()) {
    const size_t end = std::min(problem.find_first_not_of(kBare), problem.size());
    const toml::node* next = inner->get(problem.substr(0, end));
    if (!next) break;
    node = next;
    if (end >= problem.size() || problem[end] != '.') break;
    problem.remove_prefix(end + 1);
  }
  return node == &table ? quantity::Place{file} : place_of(node->source(), file);
}

toml::table parse_toml(std::string_view text, const std::string& file) {
  if (text.size() > kLargestFile) throw JobError("larger than 4 MiB (a job file is a page of text)", {file});
  check_nesting(text, file);
  try {
    return toml::parse(text);
  } catch (const toml::parse_error& error) {
    throw JobError(fmt::format("not TOML ({})", shortened(error.description(), 200)),
                   place_of(error.source(), file));
  } catch (const std::exception& error) {
    throw JobError(fmt::format("not TOML ({})", error.what()), {file});
  }
}

std::string read_text(const std::string& path) {
  std::error_code problem;
  if (path.find('\0') != std::string::npos || !std::filesystem::is_regular_file(path, problem))
    throw quantity::FileError(path, "cannot be read (not a file)");
  std::ifstream file(path, std::ios::binary);
  std::string text(kLargestFile + 1, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad() || (file.fail() && !file.eof())) throw quantity::FileError(path, "cannot be read");
  text.resize(static_cast<size_t>(file.gcount()));
  if (text.size() > kLargestFile) throw quantity::FileError(path, "larger than 4 MiB");
  return text;
}

std::string as_written(const toml::node& node) {
  if (const auto* text = node.as_string()) return toml_string(shortened(text->get(), kShown));
  if (node.is_table()) return "{ ... }";
  if (node.is_array()) return node.as_array()->empty() ? "[]" : "[ ... ]";
  std::ostringstream out;
  node.visit([&out](const auto& value) {
    if constexpr (toml::is_value<decltype(value)>) out << value;
  });
  return out.str();
}

std::string kind_of(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a table";
    case toml::node_type::array:
      return "an array";
    case toml::node_type::string:
      return "a text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a number";
    case toml::node_type::boolean:
      return "a boolean";
    default:
      return "a date or time";
  }
}

void refuse(const toml::node& node, const Spot& spot, const std::string& why, const std::string& advice) {
  throw JobError(
      fmt::format("{} = {} ({}; expected {}){}", spot.address, as_written(node), why, spot.expected, advice),
      place_of(node.source(), spot.file));
}

void refuse_unknown_keys(const toml::table& table, const std::vector<std::string>& known,
                         const std::string& section, const std::string& file) {
  const toml::key* first = nullptr;
  const toml::node* value = nullptr;
  const auto earlier = [](const toml::source_position& a, const toml::source_position& b) {
    return a.line != b.line ? a.line < b.line : a.column < b.column;
  };
  for (const auto& [key, node] : table) {
    if (std::find(known.begin(), known.end(), key.str()) != known.end()) continue;
    if (first && !earlier(key.source().begin, first->source().begin)) continue;
    first = &key;
    value = &node;
  }
  if (!first) return;
  const std::string prefix = section.empty() ? "" : section + ".";
  const bool as_section = section.empty() && value->is_table();
  std::string name = prefix + shown_key(first->str());
  if (as_section) name = "[" + name + "]";
  const std::string problem =
      as_section
          ? fmt::format("{} (unknown section; expected one of {})", name, listed(known))
          : fmt::format("{} = {} (unknown key; expected one of {})", name, as_written(*value), listed(known));
  const char* open = as_section ? "[" : "";
  const char* close = as_section ? "]" : "";
  throw JobError(problem + suggestion(first->str(), known, open + prefix, close),
                 place_of(first->source(), file));
}

}  // namespace circumfluence::job
