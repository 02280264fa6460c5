// Reports as CSV.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>

#include "calibration/report.h"
#include "job/nearest.h"
#include "job/section_writer.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;

constexpr const char* kColumns[] = {"number", "outcome", "width", "depth", "remark"};

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::string trimmed(std::string_view text) {
  const size_t from = text.find_first_not_of(" \t\r"), to = text.find_last_not_of(" \t\r");
  return from == std::string_view::npos ? "" : std::string(text.substr(from, to + 1 - from));
}

// Small letters alone, so that "Under marked" is "under-marked".
std::string bare(std::string_view word) {
  std::string out;
  for (const char c : lower(word))
    if (c != ' ' && c != '-' && c != '_') out += c;
  return out;
}

response::Outcome outcome_of(const std::string& word, const quantity::Place& place) {
  for (int i = 0; i < 4; ++i)
    if (bare(word) == bare(response::kOutcomeNames[i])) return static_cast<response::Outcome>(i);
  const std::vector<std::string> known(std::begin(response::kOutcomeNames), std::end(response::kOutcomeNames));
  throw JobError(
      fmt::format("outcome = \"{}\" (unknown word; expected {}, {}, {} or {}, or nothing){}", word.substr(0, 64),
                  known[0], known[1], known[2], known[3], job::suggestion(word, known, "\"", "\"")),
      place);
}

// The report's rows of a table.
class Rows {
 public:
  Rows(const Cells& cells, const Coupon& coupon) : cells_(cells), coupon_(coupon) {
    for (size_t i = 0; i < std::size(kColumns); ++i) columns_[i] = cells.find(kColumns[i]);
    what_ = cells.find("what");
    if (!columns_[0]) missing("number");
    if (!columns_[1] && !columns_[2] && !columns_[3]) missing("outcome");
  }

  std::vector<Result> read() {
    std::map<int, Result> found;
    for (size_t row = 0; row < cells_.rows.size(); ++row) {
      if (what_ && lower(text(row, what_)) != "patch" && !text(row, what_).empty()) continue;
      Result result = result_of(row);
      if (!result.told()) continue;
      if (text(row, columns_[0]).empty())
        throw JobError("number is missing (expected that of the patch)", cells_.place(row, *columns_[0]));
      checked(result, row);
      const int number = result.number;
      if (!found.emplace(number, std::move(result)).second)
        throw JobError(fmt::format("number = {} (comes twice; expected each patch once)", number),
                       cells_.place(row, *columns_[0]));
    }
    std::vector<Result> out;
    for (const Slot& slot : coupon_.slots)
      if (const auto at = found.find(slot.number); at != found.end()) out.push_back(std::move(at->second));
    return out;
  }

 private:
  [[noreturn]] void missing(const char* name) const {
    std::vector<std::string> known;
    for (const Cells::Title& title : cells_.titles) known.push_back(title.name);
    throw JobError(fmt::format("column \"{}\" is missing (expected the coupon's table, or columns number, outcome, "
                               "width [um], depth [um], remark){}",
                               name, job::suggestion(name, known, "\"", "\"")),
                   {cells_.file});
  }
  std::string text(size_t row, std::optional<size_t> column) const {
    return column ? cells_.rows[row][*column].text : "";
  }
  double length(size_t row, std::optional<size_t> column) const {
    return column ? cells_.number(row, *column, "um") : std::nan("");
  }

  Result result_of(size_t row) const {
    Result out;
    const double number = cells_.number(row, *columns_[0], "1");
    if (!std::isnan(number) && !(number == std::floor(number) && number >= 1 && number <= 1e9))
      throw JobError(fmt::format("number = {} (expected a whole number, that of the patch)", text(row, columns_[0])),
                     cells_.place(row, *columns_[0]));
    if (!std::isnan(number)) out.number = static_cast<int>(number);
    if (const std::string word = text(row, columns_[1]); !word.empty())
      out.outcome = outcome_of(word, cells_.place(row, *columns_[1]));
    out.width = length(row, columns_[2]), out.depth = length(row, columns_[3]);
    out.remark = text(row, columns_[4]);
    return out;
  }

  void checked(const Result& result, size_t row) const {
    try {
      check(result, coupon_);
    } catch (const JobError& error) {
      size_t column = *columns_[0];
      for (const std::optional<size_t>& at : columns_)
        if (at && error.problem().starts_with(cells_.titles[*at].name)) column = *at;
      throw JobError(error.problem(), cells_.place(row, column));
    }
  }

  const Cells& cells_;
  const Coupon& coupon_;
  std::optional<size_t> columns_[5], what_;
};

void take_remark(std::string_view remark, int line, Report& out) {
  const size_t equals = remark.find('=');
  if (equals == std::string_view::npos) return;
  const std::string key = lower(trimmed(remark.substr(0, equals))), value = trimmed(remark.substr(equals + 1));
  if (value.empty()) return;  // a line to be filled in
  for (const auto& field : report_fields()) {
    if (key != field.key) continue;
    if (const auto* words = std::get_if<std::string Report::*>(&field.member)) {
      out.** words = value;
      continue;
    }
    try {
      out.*std::get<double Report::*>(field.member) = quantity::parse_quantity(value, field.unit);
    } catch (const JobError& error) {
      throw JobError(fmt::format("{} = {}", key, error.problem()), {out.origin, line, 1});
    }
  }
}

// Remarks before the header row say what holds for the whole; a spreadsheet may have put them in quotes, and cells
// after them.
void read_remarks(std::string_view text, Report& out) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  for (int line = 1; !text.empty(); ++line) {
    const size_t end = std::min(text.find('\n'), text.size());
    std::string_view one = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (one.starts_with('"')) one.remove_prefix(1);
    if (!one.starts_with('#') && one.find_first_not_of(" \t\r,;") != std::string_view::npos) return;
    while (!one.empty() && std::string_view("\",;\t \r").find(one.back()) != std::string_view::npos)
      one.remove_suffix(1);
    if (one.starts_with('#')) take_remark(one.substr(1), line, out);
  }
}

// In micrometres, or where no number of them is that length, with its unit.
std::string length_cell(double si) {
  if (std::isnan(si)) return "";
  std::string out = job::exact_text(si, "um");
  if (out.ends_with(" um")) out.resize(out.size() - 3);
  return out;
}

}  // namespace

Report parse_report_csv(std::string_view text, const std::string& name, const Coupon& coupon) {
  const Cells cells = read_cells(text, name);
  Report out;
  out.origin = name;
  read_remarks(text, out);
  out.origin = std::filesystem::path(name).filename().string();
  out.results = Rows(cells, coupon).read();
  try {
    check(out, coupon);
  } catch (const JobError& error) {
    throw JobError(error.problem(), {name});
  }
  return out;
}

std::string filled_table(const Coupon& coupon, const Report& report) {
  check(report, coupon);
  std::string out;
  out += fmt::format("# width_error = {}\n# depth_error = {}\n# resolution = {}\n",
                     job::exact_text(report.width_error, "%"), job::exact_text(report.depth_error, "%"),
                     job::exact_text(report.resolution, "um"));
  std::map<int, const Result*> results;
  for (const Result& result : report.results) results[result.number] = &result;
  const std::string plain = table(coupon);
  constexpr std::string_view kPatch = "patch,", kEmpty = ",,,,";
  for (size_t from = 0; from < plain.size();) {
    const size_t end = plain.find('\n', from);
    const std::string_view row = std::string_view(plain).substr(from, end - from);
    from = end + 1;
    const auto found = row.starts_with(kPatch) ? results.find(std::atoi(row.data() + kPatch.size())) : results.end();
    if (found == results.end()) {
      const bool dated = row == "# date =" && !report.date.empty();
      out += fmt::format("{}{}\n", row, dated ? " " + report.date : "");
      continue;
    }
    const Result& result = *found->second;
    out += fmt::format("{},{},{},{},{}\n", row.substr(0, row.size() - kEmpty.size()),
                       result.outcome ? response::kOutcomeNames[int(*result.outcome)] : "", length_cell(result.width),
                       length_cell(result.depth), cell(result.remark));
  }
  return out;
}

}  // namespace circumfluence::calibration
