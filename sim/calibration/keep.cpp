// Records into a file of materials, in place of those of the same names; the rest of it stays to the byte.
//
// A record's text is its tables [material.NAME] and all below them: from the line of a table's header to the
// last line before the next header that is neither blank nor a remark, since remarks above a header belong to
// what follows.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "calibration/fitted.h"
#include "job/material_file.h"
#include "job/toml_value.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::calibration {
namespace {

namespace fs = std::filesystem;
using workpiece::Material;

// Where a string that begins at `at` ends; a line's end where it isn't closed.
size_t after_string(std::string_view text, size_t at) {
  const std::string three(3, text[at]);
  const bool many_lines = text.substr(at).starts_with(three);
  for (size_t i = at + (many_lines ? 3 : 1); i < text.size(); ++i) {
    if (text[at] == '"' && text[i] == '\\') {
      ++i;
    } else if (many_lines && text.substr(i).starts_with(three)) {
      i += 3;
      while (i < text.size() && text[i] == text[at]) ++i;
      return i;
    } else if (!many_lines && (text[i] == text[at] || text[i] == '\n')) {
      return text[i] == '\n' ? i : i + 1;
    }
  }
  return text.size();
}

bool blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

// "[[ material . \"a\" . optics ]]" as "material.a.optics".
std::string path_of(std::string_view header) {
  std::string out;
  for (const char c : header.substr(0, header.find(']')))
    if (!blank(c) && c != '[' && c != '"' && c != '\'') out += c;
  return out;
}

// A line that is more than blanks and remarks, and the table it opens, if any.
struct Line {
  size_t begin, end;  // of the text; `end` after its line feed
  bool opens;
  std::string path;
};

// All lines that say something; a value over several lines is one.
std::vector<Line> lines_of(std::string_view text) {
  std::vector<Line> out;
  for (size_t at = text.starts_with("\xef\xbb\xbf") ? 3 : 0; at < text.size();) {
    const size_t begin = at;
    int depth = 0;
    bool says = false, opens = false;
    for (; at < text.size() && (text[at] != '\n' || depth > 0); ++at) {
      const char c = text[at];
      if (c == '#') {
        at = std::min(text.find('\n', at), text.size()) - 1;
        continue;
      }
      if (!says && !blank(c) && c != '\n') says = true, opens = c == '[';
      if (c == '"' || c == '\'') at = after_string(text, at) - 1;
      if (c == '[' || c == '{') ++depth;
      if ((c == ']' || c == '}') && depth > 0) --depth;
    }
    at = std::min(at + 1, text.size());
    if (says) out.push_back({begin, at, opens, opens ? path_of(text.substr(begin, at - begin)) : ""});
  }
  return out;
}

struct Piece {
  size_t begin, end;
};

bool belongs(const std::string& path, const std::string& name) {
  const std::string own = "material." + name;
  return path == own || path.starts_with(own + ".");
}

std::vector<Piece> pieces_of(const std::vector<Line>& lines, const std::string& name) {
  std::vector<Piece> out;
  bool inside = false;
  for (const Line& line : lines) {
    const bool before = inside;
    if (line.opens) inside = belongs(line.path, name);
    if (!inside) continue;
    if (!before || line.opens)
      out.push_back({line.begin, line.end});
    else
      out.back().end = line.end;
  }
  return out;
}

// Pieces of one record that follow each other with nothing but blanks between are one.
std::vector<Piece> joined(const std::vector<Piece>& pieces, std::string_view text) {
  std::vector<Piece> out;
  for (const Piece& piece : pieces) {
    const auto nothing = [&](size_t from) {
      return std::all_of(text.begin() + long(from), text.begin() + long(piece.begin),
                         [](char c) { return blank(c) || c == '\n'; });
    };
    if (!out.empty() && nothing(out.back().end))
      out.back().end = piece.end;
    else
      out.push_back(piece);
  }
  return out;
}

std::string with(std::string text, const Material& record) {
  const std::vector<Piece> pieces = joined(pieces_of(lines_of(text), record.name), text);
  const std::string written = job::write_material(record);
  if (pieces.empty()) {
    if (!text.empty() && text.back() != '\n') text += '\n';
    return text + (text.empty() ? "" : "\n") + written;
  }
  for (size_t i = pieces.size(); i-- > 0;)
    text.replace(pieces[i].begin, pieces[i].end - pieces[i].begin, i == 0 ? written : "");
  return text;
}

// What was written is what will be read, and nothing else went.
void check(const std::string& text, const std::string& path, const std::vector<Material>& before,
           const std::vector<Material>& records) {
  std::vector<Material> found;
  try {
    found = job::parse_materials(text, path);
  } catch (const quantity::JobError& error) {
    throw quantity::JobError(
        fmt::format("{} (the records cannot be put into this file: {}). Write its tables as [material.NAME], "
                    "or keep the records in another file",
                    path, error.problem()));
  }
  const auto holds = [&found](const Material& record) {
    return std::ranges::any_of(
        found, [&](const Material& m) { return job::write_material(m) == job::write_material(record); });
  };
  const auto renewed = [&records](const Material& m) {
    return std::ranges::find(records, m.name, &Material::name) != records.end();
  };
  for (const Material& record : records)
    if (!holds(record))
      throw quantity::JobError(fmt::format("{} ({} would not be read as it was written)", path, record.name));
  for (const Material& m : before)
    if (!renewed(m) && !holds(m))
      throw quantity::JobError(fmt::format("{} ({} would be altered)", path, m.name));
}

void make_folder(const std::string& path) {
  const fs::path folder = fs::path(path).parent_path();
  std::error_code problem;
  if (!folder.empty()) fs::create_directories(folder, problem);
  if (problem) throw quantity::FileError(folder.string(), "cannot be made (" + problem.message() + ")");
}

}  // namespace

void keep(const std::vector<Material>& records, const std::string& path) {
  if (path.empty())
    throw quantity::FileError("materials.toml", "no home folder. Set CIRCUMFLUENCE_MY_MATERIALS to a file");
  std::error_code problem;
  const bool there = fs::exists(path, problem);
  const std::string old = there ? job::read_text(path) : "";
  const std::vector<Material> before = job::parse_materials(old, path);
  std::string text = old;
  for (const Material& record : records) text = with(std::move(text), record);
  check(text, path, before, records);
  if (!there) make_folder(path);
  quantity::write_whole(path, text);
}

}  // namespace circumfluence::calibration
