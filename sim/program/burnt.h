// Coupons with what came out of them, as named on the command line.
#pragma once

#include <fmt/format.h>

#include <string>
#include <vector>

#include "calibration/fit.h"
#include "calibration/report.h"
#include "quantity/error.h"

namespace circumfluence::program {

struct Burnt {
  calibration::Coupon coupon;
  calibration::Report report;
};

// Filled tables (CSV), each its own coupon; or one report (TOML, CSV) of the coupon in a table of its own.
inline std::vector<Burnt> read_burnt(const std::vector<std::string>& reports, const std::string& table) {
  if (!table.empty() && reports.size() != 1)
    throw quantity::JobError(
        fmt::format("--coupon = \"{}\" with {} reports (expected one report of that coupon, or filled tables without it)", table,
                    reports.size()));
  std::vector<Burnt> out;
  for (const std::string& report : reports) {
    const calibration::Coupon coupon = calibration::read_coupon(table.empty() ? report : table);
    out.push_back({coupon, calibration::read_report(report, coupon)});
  }
  return out;
}

// One after the other: what the first left open is what the second starts from. Notes on the earlier ones come first, with
// the file's name.
inline calibration::Fit fit_all(const mark::Scene& scene, const std::vector<Burnt>& burnt, calibration::FitRequest request) {
  calibration::Fit known = calibration::nothing_learnt(scene);
  std::vector<std::string> notes;
  for (const Burnt& one : burnt) {
    request.earlier = &known;
    known = calibration::fit(scene, one.coupon, one.report, request);
    if (&one != &burnt.back())
      for (const std::string& note : known.notes) notes.push_back(one.report.origin + ": " + note);
  }
  known.notes.insert(known.notes.begin(), notes.begin(), notes.end());
  return known;
}

// All results, as the source of a record names them: "2026-05-02, 2026-05-09 (first.csv, second.csv)".
inline calibration::Report together(const std::vector<Burnt>& burnt) {
  calibration::Report out = burnt.front().report;
  const auto join = [](std::string& all, const std::string& one) {
    if (!one.empty() && one != all) all += (all.empty() ? "" : ", ") + one;
  };
  for (size_t i = 1; i < burnt.size(); ++i) {
    const calibration::Report& more = burnt[i].report;
    join(out.date, more.date), join(out.origin, more.origin);
    out.results.insert(out.results.end(), more.results.begin(), more.results.end());
  }
  return out;
}

}  // namespace circumfluence::program
