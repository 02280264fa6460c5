// Tables of text, read.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>

#include "calibration/coupon.h"
#include "job/nearest.h"
#include "job/toml_value.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;

constexpr size_t kMostRows = 2 * kMostSlots;
constexpr std::string_view kMark = "\xEF\xBB\xBF";  // byte-order mark

std::string trimmed(std::string_view text) {
  const size_t from = text.find_first_not_of(" \t");
  if (from == std::string_view::npos) return {};
  return std::string(text.substr(from, text.find_last_not_of(" \t") + 1 - from));
}

// How many bytes the letter at the beginning takes; 0: it is none. As RFC 3629, surrogates and overlong forms
// refused.
size_t letter(std::string_view text) {
  const auto byte = [&](size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = byte(0);
  if (first < 0x80) return first >= 0x20 || first == '\t' || first == '\r' || first == '\n' ? 1 : 0;
  const size_t size = first >= 0xC2 && first < 0xE0   ? 2
                      : first >= 0xE0 && first < 0xF0 ? 3
                      : first >= 0xF0 && first < 0xF5 ? 4
                                                      : 0;
  if (size == 0 || text.size() < size) return 0;
  for (size_t i = 1; i < size; ++i)
    if ((byte(i) & 0xC0) != 0x80) return 0;
  const unsigned second = byte(1);
  const bool wrong = (first == 0xE0 && second < 0xA0) || (first == 0xED && second >= 0xA0) ||
                     (first == 0xF0 && second < 0x90) || (first == 0xF4 && second >= 0x90);
  return wrong ? 0 : size;
}

void check_letters(std::string_view text, const std::string& file) {
  int line = 1;
  size_t begin = 0;
  for (size_t at = 0; at < text.size();) {
    const size_t size = letter(text.substr(at));
    if (size == 0)
      throw JobError("a byte that is no letter (expected text in UTF-8). Save the table as CSV in UTF-8",
                     {file, line, static_cast<int>(at - begin) + 1});
    if (text[at] == '\n') ++line, begin = at + 1;
    at += size;
  }
}

bool is_remark(std::string_view line) {
  return line.starts_with('#') || line.starts_with("\"#");
}

// The one that the first line that is neither empty nor a remark has most of.
char separator_of(std::string_view text) {
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find_first_of("\r\n"));
    if (!is_remark(line) && line.find_first_not_of(" \t,;") != std::string_view::npos) {
      const auto count = [&](char c) { return std::count(line.begin(), line.end(), c); };
      return count(';') > count(',') && count(';') >= count('\t') ? ';'
             : count('\t') > count(',')                           ? '\t'
                                                                  : ',';
    }
    const size_t end = text.find('\n');
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
  }
  return ',';
}

class Reader {
 public:
  Reader(std::string_view text, std::string file, char separator)
      : text_(text), file_(std::move(file)), separator_(separator) {}

  bool done() const { return at_ >= text_.size(); }
  bool at_remark() const { return is_remark(text_.substr(at_, 2)); }
  // A remark that a spreadsheet has quoted may go on over lines.
  void skip_remark() {
    if (text_[at_] == '"') {
      record();
      return;
    }
    at_ = std::min(text_.find('\n', at_), text_.size());
    if (take('\n')) ++line_, begin_ = at_;
  }

  std::vector<Cells::Cell> record() {
    std::vector<Cells::Cell> out;
    do {
      if (out.size() == kMostColumns)
        throw JobError(fmt::format("more than {} cells in a row (expected a table of patches)", kMostColumns),
                       place());
      out.push_back(next());
    } while (take(separator_));
    take('\r');
    if (take('\n')) ++line_, begin_ = at_;
    return out;
  }

 private:
  quantity::Place place() const { return {file_, line_, static_cast<int>(at_ - begin_) + 1}; }
  bool take(char c) {
    if (done() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  bool at_end_of_line() const {
    return done() || text_[at_] == '\n' ||
           (text_[at_] == '\r' && (at_ + 1 == text_.size() || text_[at_ + 1] == '\n'));
  }
  Cells::Cell next() {
    const quantity::Place begin = place();
    std::string text = !done() && text_[at_] == '"' ? quoted(begin) : plain();
    return {trimmed(text), begin.line, begin.column};
  }
  std::string plain() {
    const size_t from = at_;
    while (!at_end_of_line() && text_[at_] != separator_) ++at_;
    return std::string(text_.substr(from, at_ - from));
  }
  std::string quoted(const quantity::Place& begin) {
    std::string out;
    ++at_;
    for (;; ++at_) {
      if (done()) throw JobError("a quote that does not end (expected \" at the cell's end)", begin);
      if (text_[at_] == '\n') ++line_, begin_ = at_ + 1;
      if (text_[at_] != '"') {
        out += text_[at_];
      } else if (at_ + 1 < text_.size() && text_[at_ + 1] == '"') {
        out += text_[++at_];
      } else {
        break;
      }
    }
    ++at_;
    if (!at_end_of_line() && text_[at_] != separator_)
      throw JobError("text after a quoted cell (expected the next cell). Write quotes within a cell twice",
                     place());
    return out;
  }

  std::string_view text_;
  std::string file_;
  char separator_;
  size_t at_ = 0, begin_ = 0;
  int line_ = 1;
};

Cells::Title title(const std::string& text) {
  Cells::Title out{trimmed(text.substr(0, text.find('['))), {}};
  std::transform(out.name.begin(), out.name.end(), out.name.begin(), [](unsigned char c) {
    return c < 0x80 ? static_cast<char>(std::tolower(c)) : static_cast<char>(c);
  });
  if (const size_t from = text.find('['); from != std::string::npos) {
    const size_t to = text.find(']', from);
    out.unit = trimmed(text.substr(from + 1, to == std::string::npos ? to : to - from - 1));
  }
  return out;
}

void take_titles(const std::vector<Cells::Cell>& record, Cells& cells) {
  for (const Cells::Cell& cell : record) {
    Cells::Title next = title(cell.text);
    if (!next.name.empty() && cells.find(next.name))
      throw JobError(fmt::format("column \"{}\" comes twice (expected once)", next.name),
                     {cells.file, cell.line, cell.column});
    cells.titles.push_back(std::move(next));
  }
}

bool empty(const std::vector<Cells::Cell>& record) {
  return std::all_of(record.begin(), record.end(), [](const Cells::Cell& cell) { return cell.text.empty(); });
}

void take_row(std::vector<Cells::Cell> record, Cells& cells) {
  if (cells.rows.size() == kMostRows)
    throw JobError(fmt::format("more than {} rows (expected a table of patches)", kMostRows),
                   {cells.file, record.front().line, 1});
  for (size_t i = cells.titles.size(); i < record.size(); ++i)
    if (!record[i].text.empty())
      throw JobError(fmt::format("\"{}\" (a cell beyond the last column; expected {} cells)", record[i].text,
                                 cells.titles.size()),
                     {cells.file, record[i].line, record[i].column});
  record.resize(cells.titles.size(), {"", record.back().line, record.back().column});
  cells.rows.push_back(std::move(record));
}

// Wholly read as a number, or nothing.
std::optional<double> bare(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double out = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (problem != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return out;
}

}  // namespace

std::optional<size_t> Cells::find(std::string_view name) const {
  const auto found =
      std::find_if(titles.begin(), titles.end(), [&](const Title& title) { return title.name == name; });
  if (found == titles.end()) return std::nullopt;
  return static_cast<size_t>(found - titles.begin());
}

quantity::Place Cells::place(size_t row, size_t column) const {
  const Cell& at = rows.at(row).at(column);
  return {file, at.line, at.column};
}

double Cells::number(size_t row, size_t column, std::string_view like) const {
  std::string text = rows.at(row).at(column).text;
  if (text.empty()) return std::nan("");
  const Title& title = titles.at(column);
  if (comma_is_point) std::replace(text.begin(), text.end(), ',', '.');
  try {
    const std::optional<double> number = bare(text);
    if (!number) return quantity::parse_quantity(text, like);
    if (!std::isfinite(*number)) throw JobError(fmt::format("\"{}\" (expected a finite number)", text));
    if (title.unit.empty() && like != "1")
      throw JobError(fmt::format("{} (a number without a unit). Write the column's title as \"{} [{}]\"",
                                 text, title.name, like));
    // The number goes through the same door as a quantity in a job file.
    return quantity::parse_quantity(fmt::format("{} {}", *number, title.unit.empty() ? "1" : title.unit),
                                    like);
  } catch (const JobError& error) {
    throw JobError(fmt::format("{} = {}", title.name, error.problem()), place(row, column));
  }
}

Cells read_cells(std::string_view text, const std::string& name) {
  if (text.size() > job::kLargestFile)
    throw JobError("larger than 4 MiB (expected a table of patches)", {name});
  if (text.starts_with(kMark)) text.remove_prefix(kMark.size());
  check_letters(text, name);
  const char separator = separator_of(text);
  Cells out{.file = name, .comma_is_point = separator != ',', .titles = {}, .rows = {}};
  for (Reader reader(text, name, separator); !reader.done();) {
    if (reader.at_remark()) {
      reader.skip_remark();
      continue;
    }
    std::vector<Cells::Cell> record = reader.record();
    if (empty(record)) continue;
    out.titles.empty() ? take_titles(record, out) : take_row(std::move(record), out);
  }
  if (out.titles.empty())
    throw JobError("no header row (expected the columns' names in the first row)", {name});
  return out;
}

std::string cell(std::string_view text) {
  const bool blank_ends = !text.empty() && (text.front() == ' ' || text.back() == ' ' || text.front() == '#');
  if (!blank_ends && text.find_first_of(",;\t\"\r\n") == std::string_view::npos) return std::string(text);
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

}  // namespace circumfluence::calibration
